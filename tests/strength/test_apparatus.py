"""From hanger and dial to stresses: what a student works by hand, worked again here by hand."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.strength import (
    Apparatus,
    Choices,
    InputError,
    Readings,
    RingCalibration,
    Specimen,
    read_readings,
    reduce_tests,
    strength_from_readings,
)
from slipmargin.strength.laboratory.readings_csv import read_ring_calibration

BOX = Apparatus(lever_ratio=10.0, ring_constant=1.85, dial_zero=12.0)
SQUARE = Specimen(shape="square", width=60.0, added_normal_force=0.9)
RAW = """\
test,hanger_load [kg],dial [div],dial_low [div],dial_high [div]
A,2,78,76,80
B,4,131,,
B,4,127,,
C,8,,226,230
"""


def raw(folder: Path, text: str = RAW, apparatus: Apparatus | None = BOX) -> Readings:
    (folder / "raw.csv").write_text(text, encoding="utf-8")
    return read_readings(folder / "raw.csv", apparatus)


def test_hanger_and_dial_become_the_forces_worked_by_hand(tmp_path: Path) -> None:
    found = raw(tmp_path)
    # 2 kg · 9.80665 m/s² · 10 = 196.133 N; (78 - 12) · 1.85 = 122.1 N
    assert_allclose(found.normal, [196.133, 392.266, 392.266, 784.532])
    assert_allclose(found.shear, [122.1, 220.15, 212.75, 399.6])
    assert_allclose(found.low[[0, 3]], [118.4, 395.9])
    assert [notice.code for notice in found.notices] == ["mass-read-as-weight"]
    tests = reduce_tests(found, SQUARE)
    # (196.133 + 0.9) N / 3600 mm² = 54.7314 kPa
    assert_allclose(tests.normal, [197.033 / 3.6, 393.166 / 3.6, 785.432 / 3.6])
    assert_allclose(tests.shear, [122.1 / 3.6, 216.45 / 3.6, 399.6 / 3.6])
    assert_allclose(tests.band_std, 3.7 / 3.6 / np.sqrt(3.0))


def test_every_step_from_mass_and_division_stands_in_the_working(tmp_path: Path) -> None:
    steps = strength_from_readings(raw(tmp_path), SQUARE).working()
    shown = {step.symbol: (step.substituted, step.value) for step in steps}
    assert shown["m_1"] == ("", pytest.approx(2.0))
    assert shown["W_1"] == ("9.80665 * 2", pytest.approx(19.6133))
    assert shown["N_1"] == ("10 * 19.6133", pytest.approx(196.133))
    assert shown["σ′_1"] == ("1000 * (196.133 + 0.9) / 3600", pytest.approx(54.731389))
    assert shown["D_1"] == ("", 78.0)
    assert shown["S_1"] == ("1.85 * (78 - 12)", pytest.approx(122.1))
    assert shown["τ_1"] == ("1000 * 122.1 / 3600", pytest.approx(33.916667))
    assert shown["S_2,2"] == ("1.85 * (127 - 12)", pytest.approx(212.75))
    assert shown["S_2"] == ("(220.15 + 212.75) / 2", pytest.approx(216.45))
    assert "sum(N_2) / n" not in {step.equation for step in steps}  # one load, not a mean of two
    middle = "Dial of test C, the middle of the band in which it bounced."
    assert [step.value for step in steps if step.says == middle] == [228.0]


def test_a_calibration_stands_in_place_of_the_constant_and_shows_its_rows(tmp_path: Path) -> None:
    ring = tmp_path / "ring.csv"
    ring.write_text("dial [div],load [kgf]\n0,0\n100,18\n220,42\n", encoding="utf-8")
    table, notices = read_ring_calibration(ring)
    assert notices == ()
    box = Apparatus(lever_ratio=10.0, dial_zero=12.0, ring_calibration=table)
    found = raw(tmp_path, apparatus=box)
    # 116 div lies 16 of 120 above the row of 100: 18 + 24 · 16/120 = 21.2 kgf
    assert_allclose(
        found.shear[[0, 1]], np.array([18.0 * 0.66, 18.0 + 24.0 * 19.0 / 120.0]) * 9.80665
    )
    steps = strength_from_readings(found, SQUARE).working()
    line = next(step for step in steps if step.symbol == "S_2,2")
    assert line.substituted == "176.52 + (127 - 12 - 100) * (411.879 - 176.52) / (220 - 100)"
    assert "100 div, 176.52 N, and 220 div, 411.879 N" in line.says
    with pytest.raises(InputError, match=r"row 5, column dial .*'233'.*from 12 to 232 div"):
        raw(tmp_path, RAW.replace(",,226,230", ",233,,"), box)
    short = RingCalibration(table.divisions + np.array([75.0, 0.0, 0.0]), table.loads)
    box = Apparatus(lever_ratio=10.0, dial_zero=12.0, ring_calibration=short)
    with pytest.raises(InputError, match=r"row 2, column dial_low.*from 87 to 232 div"):
        raw(tmp_path, RAW.replace("78,76,80", "90,86,94"), box)


def test_masses_in_a_calibration_say_so(tmp_path: Path) -> None:
    ring = tmp_path / "ring.csv"
    ring.write_text("Dial (div),Load (kg)\n0,0\n400,80\n", encoding="utf-8")
    table, notices = read_ring_calibration(ring)
    assert_allclose(table.loads, [0.0, 80.0 * 9.80665])
    box = Apparatus(lever_ratio=10.0, ring_calibration=table, notices=notices)
    assert "Load (kg)" in raw(tmp_path, apparatus=box).notices[1].text


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("dial [div],load [N]\n0,0\n", "1 row'.*two rows or more"),
        ("dial [div]\n0\n", r"column load \[N\] is missing: add it"),
        ("dial [div],load [N]\n0,0\n50,\n", r"row 3, column load \[N\] is missing"),
        (
            "dial [div],load [N]\n0,0\n100,183\n80,190\n",
            r"row 4, column dial \[div\].*'80'.*must rise",
        ),
        (
            "dial [div],load [N]\n0,0\n100,183\n120,180\n",
            r"row 4, column load \[N\].*'180'.*must rise",
        ),
        ("dial [mm],load [N]\n0,0\n", r"dial \[mm\].*divisions"),
        ("", "no header line"),
    ],
)
def test_a_calibration_that_is_none_is_refused(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "ring.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        read_ring_calibration(tmp_path / "ring.csv")


MIXED = "test,normal_stress [kPa],dial [div]\nA,50,78\nB,100,131\nC,200,228\n"


def test_a_normal_stress_stands_beside_a_shear_force_where_the_plane_is_known(
    tmp_path: Path,
) -> None:
    ring = Apparatus(ring_constant=1.85, dial_zero=12.0)
    found = raw(tmp_path, MIXED, ring)
    box = Specimen(shape="square", width=60.0, apparatus_friction=3.6)
    laboratory = strength_from_readings(found, box)
    assert_allclose(laboratory.fit.tests.normal, [50.0, 100.0, 200.0])
    assert_allclose(laboratory.fit.tests.shear, [118.5 / 3.6, 216.55 / 3.6, 396.0 / 3.6])
    shown = {step.symbol: step.substituted for step in laboratory.working()}
    assert shown["σ′_1"] == ""
    assert shown["τ_1"] == "1000 * (122.1 - 3.6) / 3600"
    with pytest.raises(InputError, match="specimen is missing: add it"):
        strength_from_readings(found)
    with pytest.raises(InputError, match=r"added_normal_force.*leave it out"):
        strength_from_readings(found, SQUARE)
    assert raw(tmp_path, MIXED.replace("dial [div]", "shear_force [N]"), None).normal_unit == "kPa"


def test_a_record_of_the_dial_is_read_from_its_start(tmp_path: Path) -> None:
    body = "".join(
        f"{test},{mass},{12 + 80 * mass * (1 - np.exp(-i / 4.0)):.2f},{0.25 * i}\n"
        for test, mass in (("A", 2), ("B", 4))
        for i in range(30)
    )
    found = raw(tmp_path, "test,hanger_load [kg],dial [div],displacement [mm]\n" + body)
    assert found.is_record
    assert found.shear[0] == 0.0
    laboratory = strength_from_readings(found, SQUARE)
    assert_allclose(laboratory.fit.tests.normal, [197.033 / 3.6, 393.166 / 3.6])
    shown = {step.symbol: step for step in laboratory.working()}
    assert shown["N_2"].value == pytest.approx(392.266)
    assert "at 6 mm" in shown["D_1"].says  # a tenth of the box, no peak standing out


def test_a_mixed_record_brings_only_its_shear_to_stresses(tmp_path: Path) -> None:
    body = "".join(f"A,80,{20 * (1 - 0.7**i):.3f},{i}\n" for i in range(12))
    found = raw(
        tmp_path, f"test,normal_stress [kPa],shear_force [N],displacement [mm]\n{body}", None
    )
    tests = reduce_tests(found, Specimen(shape="square", width=60.0), state="end_of_test")
    assert_allclose(tests.normal, [80.0])
    assert 5.0 < tests.shear[0] < 20.0 / 3.6


REFUSED = {
    "no apparatus": (RAW, None, r"lever_ratio is missing: add it"),
    "no ring": (RAW, Apparatus(lever_ratio=10.0), r"ring_constant is missing: add it.*N/div"),
    "below the zero": (
        RAW.replace("78,76,80", "11,,"),
        BOX,
        "row 2, column dial.*'11'.*from the dial_zero, 12 div",
    ),
    "two normal loads": (
        "test,normal_force [N],hanger_load [N],dial [div]\nA,1,1,20\n",
        BOX,
        "normal_force, hanger_load.*keep one column of the normal load",
    ),
    "stress of shear on a hanger": (
        "test,hanger_load [kg],shear_stress [kPa]\nA,1,1\n",
        BOX,
        "hanger_load, shear_stress.*give normal_stress with shear_stress",
    ),
    "a lever that nothing hangs on": (
        "test,normal_force [N],dial [div]\nA,90,80\n",
        BOX,
        "lever_ratio: '10.0'.*column hanger_load",
    ),
    "a ring without a dial": (
        "test,hanger_load [N],shear_force [N]\nA,90,80\n",
        BOX,
        "ring_constant: '1.85'.*column dial",
    ),
    "divisions without their unit": (
        RAW.replace("dial [div]", "dial"),
        BOX,
        r"such as dial \[div\]",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_raw_readings_that_lack_something_are_refused(tmp_path: Path, name: str) -> None:
    text, apparatus, message = REFUSED[name]
    with pytest.raises(InputError, match=message):
        raw(tmp_path, text, apparatus)


def test_one_reading_at_no_load_is_taken_off_once(tmp_path: Path) -> None:
    box = Specimen(shape="square", width=60.0, zero_reading=5.0)
    with pytest.raises(InputError, match=r"zero_reading.*dial_zero, 12 div.*leave out one"):
        strength_from_readings(raw(tmp_path), box)
    bare = Apparatus(lever_ratio=10.0, ring_constant=1.85)
    assert strength_from_readings(raw(tmp_path, apparatus=bare), box).fit.tests.shear.size == 3


def test_a_dial_whose_zero_is_not_given_says_what_that_does(tmp_path: Path) -> None:
    bare = Apparatus(lever_ratio=10.0, ring_constant=1.85)
    found = strength_from_readings(raw(tmp_path, apparatus=bare), SQUARE)
    assert "dial-zero-not-given" in {one.code for one in found.strength().caveats}
    zeroed = Apparatus(lever_ratio=10.0, ring_constant=1.85, dial_zero=0.0)
    same = strength_from_readings(raw(tmp_path, apparatus=zeroed), SQUARE)
    assert "dial-zero-not-given" not in {one.code for one in same.notices}
    assert_allclose(same.fit.tests.shear, found.fit.tests.shear)
    assert "D_0" not in {step.symbol for step in same.working()}


def test_a_normal_stress_as_read_is_not_printed_for_a_corrected_one(tmp_path: Path) -> None:
    moved = MIXED.replace("dial [div]\n", "dial [div],displacement [mm]\n")
    moved = moved.replace("78\n", "78,3\n").replace("131\n", "131,3\n").replace("228\n", "228,3\n")
    found = raw(tmp_path, moved, Apparatus(ring_constant=1.85, dial_zero=12.0))
    box = Specimen(shape="square", width=60.0)
    steps = strength_from_readings(found, box, choices=Choices(area_correction=True)).working()
    first = next(step for step in steps if step.symbol == "σ′_1")
    assert first.value == pytest.approx(50.0 / 0.95)
    assert "as read" not in first.says


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"lever_ratio": 0.0}, "lever_ratio.*above 0"),
        ({"ring_constant": -1.0}, "ring_constant.*above 0"),
        ({"dial_zero": float("nan")}, "dial_zero.*finite"),
        ({"lever_ratio": "10"}, "lever_ratio.*bare number"),
    ],
)
def test_an_impossible_apparatus_is_refused(values: dict[str, float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        Apparatus(**values)


@pytest.mark.parametrize(("lever", "asked"), [(10.0, False), (1.0, True)])
def test_an_angle_no_soil_has_asks_for_the_lever(tmp_path: Path, lever: float, asked: bool) -> None:
    box = Apparatus(lever_ratio=lever, ring_constant=1.85, dial_zero=12.0)
    found = strength_from_readings(raw(tmp_path, apparatus=box), SQUARE)
    said = [notice.text for notice in found.notices if notice.code == "lever-or-constant-forgotten"]
    assert bool(said) is asked
    if asked:
        assert re.search("lever ratio.*ring constant", said[0])
        assert "lever-or-constant-forgotten" in {one.code for one in found.strength().caveats}
