"""Shear box and triaxial results from the AGS4 transfer format; the files are invented."""

from __future__ import annotations

import logging
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.strength import InputError, fit_envelope, reduce_readings
from slipmargin.strength.laboratory import ags as ags_module
from slipmargin.strength.laboratory.ags import kinds_held, read_ags
from slipmargin.strength.laboratory.drainage import drainage_notices

DATA = Path(__file__).parent / "data"
SOUND = DATA / "fennel_rise.ags"
BOTH = DATA / "both_kinds.ags"


def installed() -> int:
    try:
        return int(version("python-ags4").split(".")[0])
    except PackageNotFoundError:
        return 0


needs_library = pytest.mark.skipif(
    installed() < 1, reason="the optional extra slipmargin[ags] (python-ags4 >= 1.0) is missing"
)


@needs_library
@pytest.mark.parametrize("path", sorted(DATA.glob("*.ags")), ids=lambda path: path.name)
def test_the_files_pass_the_checker_of_the_library(path: Path) -> None:
    from python_ags4 import AGS4

    logging.getLogger("python_ags4").addHandler(logging.NullHandler())
    log = AGS4.check_file(str(path))
    assert AGS4.count_errors(log)[0] == 0, log
    assert "Validator Process Error" not in log


@needs_library
def test_a_sample_gives_readings_and_what_the_laboratory_states() -> None:
    readings, stated = read_ags(SOUND, "TL-017")
    assert readings.unit == "kPa"
    tests = reduce_readings(readings)
    assert tests.names == ("1", "2", "3")
    assert_allclose(tests.normal, [50, 100, 200])
    assert_allclose(tests.shear, [34.9, 65.2, 121.8])
    residual = reduce_readings(readings, state="residual")
    assert_allclose(residual.shear, [22.4, 44.1, 89.6])
    assert stated.who == "Larkfield Soil Laboratory"
    assert stated.peak is not None
    assert (stated.peak.cohesion, stated.peak.friction_angle) == (6.0, 30.5)
    assert stated.pair("residual") == stated.residual
    assert stated.pair("end_of_test") is None
    # c′ and φ′ of the fit are its own: the laboratory's are not mixed in
    assert fit_envelope(tests).best_fit.cohesion == pytest.approx(6.4, abs=0.3)


@needs_library
def test_rates_and_displacements_reach_the_drainage_rule() -> None:
    tests = reduce_readings(read_ags(SOUND, "TL-017")[0])
    (notice,) = drainage_notices(
        rate=tests.rate, displacement_at_failure=tests.displacement, soil_class="CL"
    )
    assert notice.code == "tested-too-fast"
    assert "89.6 min" in notice.text  # 2.15 mm at 0.024 mm/min


@needs_library
def test_a_specimen_without_identifier_is_asked_for_by_its_place() -> None:
    one, stated = read_ags(SOUND, "BH5 B2 2.00/1")
    other, named = read_ags(SOUND, "BH5  B2 2.00/2")
    assert (len(one.test), len(other.test)) == (1, 3)
    assert stated.peak is None
    assert stated.who == "Larkfield Soil Laboratory"  # from TRAN_PROD
    assert named.peak is not None
    assert named.residual is None


@needs_library
@pytest.mark.parametrize(
    ("sample", "message"),
    [
        ("TL-018", "TL-017/1, BH5 B2 2.00/1, BH5 B2 2.00/2"),
        ("BH5 B2 2.00", "several specimens"),
        (None, "name one of"),
    ],
)
def test_a_sample_that_is_not_there_or_not_one_is_refused(sample: str | None, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_ags(SOUND, sample)


@needs_library
def test_a_missing_group_is_named() -> None:
    with pytest.raises(InputError, match=r"group SHBT is missing: add it.*LOCA.*SHBG"):
        read_ags(DATA / "no_results.ags", "TL-017")


def changed(tmp_path: Path, *swaps: tuple[str, str]) -> Path:
    text = SOUND.read_bytes().decode()
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "changed.ags"
    path.write_bytes(text.encode())
    return path


@needs_library
@pytest.mark.parametrize(
    ("swap", "message"),
    [
        (('"GROUP","SHBG"', '"GROUP","SHBX"'), "group SHBG is missing"),
        (('"34.9"', '"34,9"'), "test 1, SHBT_PEAK: '34,9'.*decimal point"),
        (('"34.9"', '"-34.9"'), "test 1, SHBT_PEAK.*from 0 upward"),
        (('"34.9"', '"nan"'), "test 1, SHBT_PEAK"),
        (('"30.5"', '"steep"'), "SHBG_PHI"),
        (('"1","50","0.024"', '"1","","0.024"'), "give the normal stress"),
        (('"m","","kPa","mm/min"', '"m","","","mm/min"'), "a stress with its unit"),
        (('"34.9","22.4",', '"34.9",'), "not in the AGS4 format"),
        (('"GROUP","ABBR"', '"GROUP","SHBT"'), "duplicated"),
    ],
)
def test_a_damaged_file_is_refused_with_its_place(
    tmp_path: Path, swap: tuple[str, str], message: str, capfd: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(InputError, match=message):
        read_ags(changed(tmp_path, swap), "TL-017")
    assert capfd.readouterr() == ("", "")


@needs_library
def test_other_units_in_the_unit_row_are_converted(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        ('"kPa","mm/min","mm/min","","kPa","kPa"', '"MPa","mm/min","mm/min","","kPa","kPa"'),
    )
    normal = read_ags(path, "TL-017")[0].normal
    assert_allclose(normal[0], 50_000.0)


@needs_library
@pytest.mark.parametrize("content", [b"", b"a,b\r\n1,2\r\n", b"\xff\xfe\x00", b'"HEADING"\r\n'])
def test_what_is_not_the_format_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.ags"
    path.write_bytes(content)
    with pytest.raises(InputError):
        read_ags(path, "TL-017")


@needs_library
def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    path = tmp_path / "marked.ags"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.read_bytes())
    assert read_ags(path, "TL-017")[0].test == read_ags(SOUND, "TL-017")[0].test


@needs_library
def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.ags"
    with path.open("wb") as handle:
        handle.truncate(200_000_000)
    with pytest.raises(InputError, match="200 MB"):
        read_ags(path, "TL-017")


@needs_library
def test_the_library_waits_until_a_file_is_read() -> None:
    import subprocess

    code = "import sys, slipmargin.strength.laboratory.ags; print('python_ags4' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"


@pytest.mark.skipif(installed() >= 1, reason="the optional extra is installed")
def test_without_the_library_the_message_names_the_extra() -> None:
    with pytest.raises(InputError, match=r"slipmargin\[ags\]"):
        read_ags(SOUND, "TL-017")


def test_units_of_every_heading_are_known() -> None:
    headings: dict[str, Any] = ags_module._DIMENSIONS
    assert set(headings.values()) <= {"stress", "displacement", "rate", "angle"}
    assert np.all([heading[:4] in ("SHBT", "SHBG", "TREG", "TRET") for heading in headings])


@needs_library
def test_triaxial_results_give_circles_and_what_the_laboratory_states() -> None:
    readings, stated = read_ags(BOTH, "TL-031", "triaxial")
    tests = reduce_readings(readings)
    assert_allclose(tests.normal, [175.0, 284.0, 455.5])
    assert_allclose(tests.shear, [80.0, 124.0, 195.5])
    assert stated.peak is not None
    assert (stated.peak.cohesion, stated.peak.friction_angle) == (8.0, 25.0)
    assert stated.residual is None
    (criterion,) = (n for n in readings.notices if n.code == "failure-criterion")
    assert "Maximum deviator stress" in criterion.text


@needs_library
def test_the_kind_of_test_is_named_where_a_sample_has_both() -> None:
    assert kinds_held(BOTH, "TL-031") == ("direct_shear", "triaxial")
    with pytest.raises(InputError, match=r"test_kind is missing.*direct_shear and triaxial"):
        read_ags(BOTH, "TL-031")
    box, stated = read_ags(BOTH, "TL-031", "direct_shear")
    assert_allclose(box.shear, [31.6, 57.8, 107.4])
    assert stated.peak is not None
    assert stated.peak.friction_angle == 27.0
    alone, _ = read_ags(BOTH, "TL-032")  # has triaxial tests only
    assert alone.plane.has_circles
    with pytest.raises(InputError, match="TL-031/1, TL-031/2, TL-032/1"):
        read_ags(BOTH, "TL-099")
    with pytest.raises(InputError, match="allowed: direct_shear, triaxial"):
        read_ags(BOTH, "TL-031", "vane")


@needs_library
def test_the_back_pressure_of_a_drained_test_is_taken_off_the_cell_pressure() -> None:
    readings, _ = read_ags(BOTH, "TL-032")
    assert_allclose(readings.normal - readings.shear, [50.0, 100.0, 200.0])
    assert "back-pressure-taken-off" in {notice.code for notice in readings.notices}


@needs_library
@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (None, None, "TRET_PWPF is missing.*type CU"),
        ('"CU","","","",""', '"","","","",""', None),
        ('"1","350","98","",""\n', '"1","","98","0",""\n', "test 1, TRET_CELL is missing"),
        ('"1","350","98","",""\n', '"1","350","x","0",""\n', "TRET_DEVF: 'x'"),
    ],
)
def test_a_triaxial_test_without_what_it_needs_is_refused(
    tmp_path: Path, old: str | None, new: str | None, says: str | None
) -> None:
    text = BOTH.read_text(encoding="utf-8")
    if old is not None and new is not None:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "lab.ags"
    path.write_text(text, encoding="utf-8")
    if says is None:
        readings, _ = read_ags(path, "TL-033")
        assert "pore-pressure-not-given" in {notice.code for notice in readings.notices}
        return
    with pytest.raises(InputError, match=says):
        read_ags(path, "TL-033")


@needs_library
def test_a_back_pressure_without_pore_pressure_is_asked_about_where_drainage_is_unknown(
    tmp_path: Path,
) -> None:
    path = tmp_path / "lab.ags"
    path.write_text(BOTH.read_text(encoding="utf-8").replace('"CD"', '""'), encoding="utf-8")
    with pytest.raises(InputError, match=r"TRET_PWPF is missing.*back pressure"):
        read_ags(path, "TL-032")
