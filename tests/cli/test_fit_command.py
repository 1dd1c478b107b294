"""``fit``: raw readings by options or by a scenario, and a line drawn by eye beside them."""

from __future__ import annotations

from pathlib import Path

import pytest

from slipmargin.cli.page.blocks import Table
from slipmargin.cli.page.equations import mathml
from slipmargin.cli.questions.fit import fit_soil
from slipmargin.cli.scenario.read import load
from slipmargin.cli.sheet.laboratory import laboratory_section

RAW = "test,hanger_load [kg],dial [div]\nA,2,78\nB,4,129\nC,8,228\nD,12,330\n"
RING = "dial [div],load [N]\n0,0\n400,740\n"
SITE = """\
title = "Class"
[soils.sand]
unit_weight = "17 kN/m^3"
[soils.sand.strength]
readings = "raw.csv"
value = "cautious"
[soils.sand.specimen]
shape = "square"
width = "60 mm"
[soils.sand.apparatus]
lever_ratio = 10
ring_constant = "1.85 N/div"
dial_zero = "12 div"
[soils.clay]
unit_weight = "17 kN/m^3"
strength = {cohesion = "3 kPa", friction_angle = "25 deg"}
[[checks]]
kind = "infinite_slope"
soil = "sand"
slope_angle = "1V:2H"
depth = "2 m"
"""
LEVER = ["--lever-ratio", "10", "--dial-zero", "12 div"]
OPTIONS = [*LEVER, "--ring-constant", "1.85 N/div", "--specimen", "square 60 mm"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("raw.csv", RAW), ("ring.csv", RING), ("site.toml", SITE)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def refusal(ran) -> str:
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.strip().splitlines()) == 1
    return ran.err


def test_options_and_scenario_give_one_fit(slipmargin, folder: Path) -> None:
    by_options = slipmargin("fit", folder / "raw.csv", *OPTIONS, "--json").json
    by_soil = slipmargin("fit", folder / "site.toml", "--soil", "sand", "--json").json
    checked = slipmargin("check", folder / "site.toml", "--json").json["soils"]["sand"]
    assert by_soil["points"] == by_options["points"]
    assert by_soil["fit"] == checked["fit"]
    assert by_soil["fit"] == {**by_options["fit"], "value": "cautious"}
    assert "mass-read-as-weight" in {one["code"] for one in by_soil["notices"]}


def test_a_table_of_calibration_may_stand_in_either_place(slipmargin, folder: Path) -> None:
    words = [*OPTIONS, "--ring-calibration", folder / "ring.csv"]
    words[4:6] = []
    by_options = slipmargin("fit", folder / "raw.csv", *words, "--json").json
    with_constant = slipmargin("fit", folder / "raw.csv", *OPTIONS, "--json").json
    for one, other in zip(by_options["points"], with_constant["points"], strict=True):
        assert one["shear_stress_kpa"] == pytest.approx(other["shear_stress_kpa"])
    site = folder / "site.toml"
    site.write_text(
        SITE.replace('ring_constant = "1.85 N/div"', 'ring_calibration = "ring.csv"'), "utf-8"
    )
    assert (
        slipmargin("fit", site, "--soil", "sand", "--json").json["points"] == by_options["points"]
    )
    (folder / "ring.csv").write_text(RING.replace("400", "200"), encoding="utf-8")
    assert "raw.csv: row 4, column dial [div]: '228'" in refusal(slipmargin("check", site))
    (folder / "ring.csv").unlink()
    assert "soils.sand.apparatus.ring_calibration" in refusal(slipmargin("check", site))


CASES = {
    "scenario without a soil": (
        ["site.toml"],
        "--soil is missing: add it; soils with readings: sand; to run its checks: slipmargin check",
    ),
    "unknown soil": (["site.toml", "--soil", "snad"], "did you mean 'sand'"),
    "stated soil": (["site.toml", "--soil", "clay"], "its strength is stated"),
    "what the scenario says": (
        ["site.toml", "--soil", "sand", "--state", "peak"],
        "--state: 'peak' cannot be used; leave it out",
    ),
    "soil of a table": (["raw.csv", "--soil", "sand"], "belongs to a scenario"),
    "no lever": (["raw.csv"], "lever_ratio is missing"),
    "constant without unit": (
        ["raw.csv", *LEVER, "--ring-constant", "1.85"],
        "--ring-constant: '1.85' cannot be used; it has no unit; give a force per division",
    ),
    "constant and table": (
        ["raw.csv", *OPTIONS, "--ring-calibration", "ring.csv"],
        "not both",
    ),
    "half a line by eye": (["raw.csv", *OPTIONS, "--stated", "4 kPa"], 'such as "4 kPa 31 deg"'),
    "line by eye without units": (["raw.csv", *OPTIONS, "--stated", "4 31"], "no unit"),
    "line by eye over forces": (
        ["raw.csv", *OPTIONS[:6], "--stated", "4 kPa 31 deg"],
        "give the specimen's shape and width to compare it",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_words_that_do_not_belong_together_are_refused(
    slipmargin, folder: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(folder)
    words, message = CASES[name]
    assert message in refusal(slipmargin("fit", *words))


@pytest.mark.parametrize("text", ["4 kPa 31 deg", "4 kPa, 31 deg", "0.004 MPa; 31 deg"])
def test_a_line_drawn_by_eye_is_held_against_the_fit(slipmargin, folder: Path, text: str) -> None:
    for words in (["raw.csv", *OPTIONS], ["site.toml", "--soil", "sand"]):
        ran = slipmargin("fit", folder / words[0], *words[1:], "--stated", text, "--json")
        (stated,) = ran.json["laboratory"]["stated"]
        assert (stated["cohesion_kpa"], stated["friction_angle_deg"]) == (4.0, 31.0)
        assert stated["misses"] == ["A", "B", "C", "D"]


def test_a_line_drawn_by_eye_is_drawn_printed_and_put_on_the_sheet(
    slipmargin, folder: Path
) -> None:
    site = folder / "site.toml"
    stated = (
        '[soils.sand.strength.stated_by]\nwho = "the class"\n'
        'cohesion = "4 kPa"\nfriction_angle = "31 deg"\n[soils.sand.specimen]'
    )
    site.write_text(SITE.replace("[soils.sand.specimen]", stated), encoding="utf-8")
    words = "Stated by the class: c′ = 4.0 kPa, φ′ = 31.0 deg"
    assert words in slipmargin("fit", site, "--soil", "sand").out
    entry = fit_soil(site, "sand", None, variant=None, allow_outside=False)
    _, names = entry.laboratory.plot().axes[0].get_legend_handles_labels()
    assert any("stated by the class" in one for one in names)
    assert slipmargin("report", site, "-o", folder / "sheet.md").code == 0
    sheet = (folder / "sheet.md").read_text(encoding="utf-8")
    assert sheet.count(words) == 2  # below the picture, and in the words for it
    assert "Mass on the hanger" in sheet
    assert "a lever of ratio 10. The shear force is that of a ring of 1.85 N a division" in sheet


def test_a_sound_soil_is_fitted_whatever_the_checks_say(slipmargin, folder: Path) -> None:
    site = folder / "site.toml"
    site.write_text(SITE.replace("depth", "dpeth"), encoding="utf-8")
    assert slipmargin("check", site).code == 2
    assert slipmargin("fit", site, "--soil", "sand").code == 0


def test_a_symbol_with_two_subscripts_is_set_as_one() -> None:
    set_ = mathml("S_2,1 = k * (D_2,1 - D_0)")
    assert set_.count("2,1") == 2
    assert "max" in mathml("x = max(a, 2)")


RECORDS = Path(__file__).resolve().parents[2] / "scenarios" / "fennel-rise"


def test_the_points_of_a_record_stand_in_the_json_as_in_the_table(slipmargin) -> None:
    words = ["fit", RECORDS / "bank-records.csv", "--specimen", "square 60 mm", "--area-correction"]
    records = slipmargin(*words, "--json").json["records"]
    rows = [line.split() for line in slipmargin(*words).out.splitlines() if " maximum " in line]
    printed = [row for row in rows if row[0] in ("R1", "R2", "R3", "R4")]
    assert len(printed) == len(records) == 4
    for row, found in zip(printed, records, strict=True):
        peak, end = found["peak"], found["end_of_test"]
        shown = [
            peak["shear_stress_kpa"],
            peak["displacement_mm"],
            peak["dilation_angle_deg"],
            end["shear_stress_kpa"],
            end["displacement_mm"],
        ]
        assert [float(cell) for cell in row[2:]] == pytest.approx(shown, abs=0.051)
        assert peak["area_in_contact"] == pytest.approx(1.0 - peak["displacement_mm"] / 60.0)
        assert (found["rows"], found["residual"], peak["found_by"]) == (61, None, "largest")


def test_the_points_of_a_record_stand_on_the_sheet() -> None:
    section = laboratory_section(load(RECORDS / "lower-bench.toml"))
    blocks = [block for leaf in section.leaves for block in leaf.blocks]
    (table,) = [
        block
        for block in blocks
        if isinstance(block, Table) and block.caption.startswith("Points read from the records")
    ]
    assert table.headers[2:5] == ("Peak [kPa]", "At [mm]", "ψ [deg]")
    assert [row[0] for row in table.rows] == ["R1", "R2", "R3", "R4"]
