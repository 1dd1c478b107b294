"""Triaxial tests through every question that a scenario can be asked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

DATA = Path(__file__).resolve().parents[1] / "strength" / "data"

TRIAXIAL = """test,cell_pressure [kPa],deviator_stress [kPa],pore_pressure [kPa]
1,150,160,55
2,250,248,90
3,400,391,140
4,550,520,200
"""
BOX = """test,normal_stress [kPa],shear_stress [kPa]
a,50,31.6
b,100,57.8
c,150,81
d,200,107.4
"""
SCENARIO = """title = "Both kinds"
[soils.bank]
unit_weight = "19 kN/m^3"
[soils.bank.strength]
readings = "triaxial.csv"
beside = "box.csv"
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "22 deg"
depth = "8 m"
target = 1.3
"""
Run = Callable[..., Any]


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "triaxial.csv").write_text(TRIAXIAL, encoding="utf-8")
    (tmp_path / "box.csv").write_text(BOX, encoding="utf-8")
    path = tmp_path / "site.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    return path


def test_a_fit_names_its_kind_of_test(site: Path, slipmargin: Run) -> None:
    found = slipmargin("fit", site.parent / "triaxial.csv", "--json").json
    assert found["fit"]["test_kind"] == "triaxial"
    assert found["points"][0]["mean_stress_kpa"] == 175.0
    assert found["points"][0]["half_deviator_stress_kpa"] == 80.0
    assert found["fit"]["normal_stress_range_kpa"][0] == found["points"][0]["normal_stress_kpa"]
    box = slipmargin("fit", site.parent / "box.csv", "--json").json
    assert box["fit"]["test_kind"] == "direct_shear"
    assert "mean_stress_kpa" not in box["points"][0]


def test_both_kinds_of_test_stand_side_by_side(site: Path, slipmargin: Run) -> None:
    found = slipmargin("interpretations", site, "--json").json["checks"][0]["interpretations"]
    rows = {row["name"]: row for row in found}
    assert {"peak", "cautious", "shear box: peak", "shear box: cautious"} <= rows.keys()
    alone = slipmargin("fit", site.parent / "box.csv", "--json").json["fit"]["best_fit"]
    assert rows["shear box: peak"]["friction_angle_deg"] == alone["friction_angle_deg"]
    soil = slipmargin("check", site, "--json").json["soils"]["bank"]
    assert "test-kinds-beside" in {one["code"] for one in soil["notices"]}


def test_tests_set_beside_bring_the_caution_that_they_were_sheared_too_fast(
    site: Path, slipmargin: Run
) -> None:
    times = 'width = "60 mm"\nshape = "square"\ntime_to_failure = "5 min"\nt50 = "2 min"\n'
    text = SCENARIO.replace("[[checks]]", f"[soils.bank.specimen]\n{times}[[checks]]")
    site.write_text(text, encoding="utf-8")
    soil = slipmargin("check", site, "--json").json["soils"]["bank"]
    assert "tested-too-fast" in {one["code"] for one in soil["notices"]}


def test_triaxial_tests_serve_reliability_map_and_sheet(site: Path, slipmargin: Run) -> None:
    ran = slipmargin("reliability", site, "--samples", 2000, "--json")
    assert ran.json["checks"][0]["factors"]["sliding"]["percentiles"]["50"] == pytest.approx(
        slipmargin("check", site, "--json").json["checks"][0]["factors_of_safety"]["sliding"],
        rel=0.01,
    )
    assert "95%" in slipmargin("strength-map", site, "--soil", "bank", "--json").json["regions"]
    assert slipmargin("report", site, "-o", site.parent / "sheet.md", "--working").code == 0
    sheet = (site.parent / "sheet.md").read_text(encoding="utf-8")
    for words in ("Cell pressure", "4 triaxial tests", "Radius of the Mohr circle"):
        assert words in sheet


def test_the_specimen_of_box_tests_beside_is_not_said_to_be_unused(
    site: Path, slipmargin: Run
) -> None:
    box = '[soils.bank.specimen]\nshape = "square"\nwidth = "60 mm"\n[[checks]]'
    site.write_text(SCENARIO.replace("[[checks]]", box), encoding="utf-8")
    found = slipmargin("fit", site, "--soil", "bank", "--json").json
    assert "specimen-not-used" not in {one["code"] for one in found["notices"]}
    alone = site.read_text(encoding="utf-8").replace('beside = "box.csv"\n', "")
    site.write_text(alone, encoding="utf-8")
    found = slipmargin("fit", site, "--soil", "bank", "--json").json
    assert "specimen-not-used" in {one["code"] for one in found["notices"]}


def test_a_transfer_file_with_both_kinds_sets_the_other_beside(site: Path, slipmargin: Run) -> None:
    pytest.importorskip("python_ags4")
    (site.parent / "lab.ags").write_bytes((DATA / "both_kinds.ags").read_bytes())
    lines = 'readings = "lab.ags"\nsample = "TL-031"\ntest_kind = "triaxial"'
    text = SCENARIO.replace('readings = "triaxial.csv"\nbeside = "box.csv"', lines)
    site.write_text(text, encoding="utf-8")
    found = slipmargin("interpretations", site, "--json").json["checks"][0]["interpretations"]
    names = {row["name"] for row in found}
    assert {"stated by Larkfield Soil Laboratory", "shear box: peak"} <= names


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('beside = "box.csv"', 'beside = "triaxial.csv"', "it holds triaxial tests too"),
        ('beside = "box.csv"', 'beside = "none.csv"', "strength.beside"),
        ('beside = "box.csv"', 'test_kind = "direct_shear"', "the table holds triaxial tests"),
        ('beside = "box.csv"', 'test_kind = "vane"', "known: direct_shear, triaxial"),
        ('beside = "box.csv"', 'envelope = "power"', "power curve needs points"),
    ],
)
def test_what_cannot_be_set_side_by_side_is_refused(
    site: Path, slipmargin: Run, old: str, new: str, says: str
) -> None:
    site.write_text(SCENARIO.replace(old, new), encoding="utf-8")
    ran = slipmargin("check", site)
    assert ran.code == 2
    assert says in ran.err
