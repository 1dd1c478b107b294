"""The names outside programs read: commands, JSON keys, exit codes."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.questions.methods import METHODS
from slipmargin.cli.words import CAUTION

FIT_KEYS = {
    "state",
    "envelope",
    "intercept",
    "value",
    "tests",
    "readings",
    "degrees_of_freedom",
    "best_fit",
    "cautious",
    "standard_error",
    "correlation",
    "interval",
    "residual_std_kpa",
    "r_squared",
    "normal_stress_range_kpa",
}

VALUE_KEYS = {
    "infinite_slope": {
        "normal_stress_kpa",
        "pore_pressure_kpa",
        "shear_stress_kpa",
        "shear_strength_kpa",
        "yield_seismic_coefficient",
        "required_friction_angle_deg",
    },
    "planar_wedge": {
        "plane_angle_deg",
        "weight_kn_per_m",
        "base_length_m",
        "uplift_kn_per_m",
        "crack_thrust_kn_per_m",
        "tension_crack_depth_m",
    },
    "rotational": {"stability_number", "pole_x_m", "pole_y_m"},
    "earth_pressure": {
        "coefficient",
        "thrust_kn_per_m",
        "water_thrust_kn_per_m",
        "thrust_height_m",
        "thrust_angle_deg",
        "tension_crack_depth_m",
    },
    "retaining_wall": {
        "thrust_kn_per_m",
        "vertical_force_kn_per_m",
        "horizontal_force_kn_per_m",
        "righting_moment_knm_per_m",
        "overturning_moment_knm_per_m",
        "eccentricity_m",
        "toe_pressure_kpa",
        "heel_pressure_kpa",
        "bearing_capacity_kpa",
        "effective_width_m",
    },
}

FACTORS = {
    "infinite_slope": ["sliding"],
    "planar_wedge": ["sliding"],
    "rotational": ["sliding"],
    "earth_pressure": [],
    "retaining_wall": ["sliding", "overturning", "bearing", "overall"],
}

# The scenario of the contract page, whole: every key on it must be accepted.
WHOLE = """\
title = "Every key"
groundwater_unit_weight = "9.81 kN/m^3"

[soils.bank]
description = "silty sand"
unit_weight = "18.5 kN/m^3"
saturated_unit_weight = "20.0 kN/m^3"
cohesionless = false

[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"

[soils.fill]
unit_weight = "18.0 kN/m^3"
saturated_unit_weight = "20.0 kN/m^3"
[soils.fill.strength]
readings = "fill.csv"
state = "peak"
intercept = "non_negative"
value = "best_fit"
confidence = 0.95
envelope = "line"
[soils.fill.specimen]
shape = "square"
width = "60 mm"
height = "25 mm"
added_normal_force = "0.9 N"

[[checks]]
kind = "infinite_slope"
label = "Upper bank, wet season"
soil = "bank"
slope_angle = "28 deg"
depth = "1.8 m"
water_table_depth = "0.6 m"
seepage_angle = "28 deg"
surcharge = "0 kPa"
root_cohesion = "0 kPa"
horizontal_seismic_coefficient = 0.0
target = 1.5

[[checks]]
kind = "planar_wedge"
label = "Wedge"
soil = "bank"
height = "7 m"
face_angle = "60 deg"
upper_slope_angle = "0 deg"
plane_angle = "38 deg"
tension_crack_distance = "1.5 m"
tension_crack_water_depth = "0 m"
pore_pressure_ratio = 0.0
surcharge = "0 kPa"
horizontal_seismic_coefficient = 0.0
support_force = "0 kN/m"
support_angle = "10 deg"
target = 1.3

[[checks]]
kind = "rotational"
label = "Rotation"
soil = "bank"
height = "7 m"
face_angle = "45 deg"
upper_slope_angle = "0 deg"
pore_pressure_ratio = 0.0
horizontal_seismic_coefficient = 0.0
target = 1.3

[[checks]]
kind = "earth_pressure"
label = "Thrust"
soil = "fill"
height = "5 m"
theory = "coulomb"
side = "active"
wall_friction_angle = "20 deg"
wall_batter = "5 deg"
backfill_slope_angle = "10 deg"
surcharge = "10 kPa"
water_table_depth = "3 m"
tension_crack = true
horizontal_seismic_coefficient = 0.0
vertical_seismic_coefficient = 0.0
target = 1.3

[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "fill"
foundation = "bank"
backfill_slope_angle = "0 deg"
surcharge = "10 kPa"
theory = "rankine"
water_table_depth = "3 m"
embedment = "1.0 m"
passive_fraction = 0.0
base_friction_angle = "20 deg"
base_adhesion = "0 kPa"
bearing_method = "vesic"
allowable_bearing = "200 kPa"
horizontal_seismic_coefficient = 0.0
target = 1.5
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "cantilever"
stem_height = "5.3 m"
stem_top_thickness = "0.3 m"
stem_bottom_thickness = "0.5 m"
toe_width = "0.8 m"
heel_width = "2.2 m"
base_thickness = "0.6 m"

[[sweeps]]
vary = "soils.bank.friction_angle"
from = "24 deg"
to = "36 deg"
steps = 25
"""

FILL = """\
test,normal_force [N],shear_force [N]
1,90,65
2,180,121
2,180,125
3,360,233
4,540,335
"""


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    (tmp_path / "fill.csv").write_text(FILL, encoding="utf-8")
    path = tmp_path / "whole.toml"
    path.write_text(WHOLE, encoding="utf-8")
    return path


def strict(text: str) -> Any:
    """JSON without the extensions that are not JSON."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    return json.loads(text, parse_constant=refuse)


def test_check_prints_the_document_and_nothing_else(slipmargin, whole: Path) -> None:
    ran = slipmargin("check", whole, "--json")
    assert (ran.code, ran.err) == (0, "")
    document = strict(ran.out)
    assert set(document) >= {"schema", "title", "caution", "soils", "checks", "notices"}
    assert document["schema"] == 1
    for words in ("licensed engineer", "local codes", "unsupported excavation", "reliminary"):
        assert words.lower() in document["caution"].lower()
    assert document["soils"]["bank"]["source"] == "stated"
    assert "fit" not in document["soils"]["bank"]
    fill = document["soils"]["fill"]
    assert set(fill) >= {"cohesion_kpa", "friction_angle_deg", "source", "fit"}
    assert set(fill["fit"]) >= FIT_KEYS
    assert (fill["fit"]["tests"], fill["fit"]["readings"]) == (4, 5)
    assert set(fill["fit"]["standard_error"]) == {"cohesion_kpa", "tan_friction_angle"}
    assert set(fill["fit"]["interval"]) == {"confidence", "cohesion_kpa", "friction_angle_deg"}


def test_every_kind_of_check_gives_its_values(slipmargin, whole: Path) -> None:
    checks = slipmargin("check", whole, "--json").json["checks"]
    assert {check["kind"] for check in checks} == set(VALUE_KEYS)
    for check in checks:
        assert set(check) >= {
            "label",
            "kind",
            "soil",
            "factors_of_safety",
            "target",
            "meets_target",
            "values",
            "notices",
        }
        assert list(check["factors_of_safety"]) == FACTORS[check["kind"]]
        assert set(check["values"]) >= VALUE_KEYS[check["kind"]]
        for notice in check["notices"]:
            assert set(notice) >= {"code", "severity", "text"}
            assert notice["severity"] in ("info", "caution", "stop")


def test_a_zero_intercept_has_no_error_of_cohesion_and_no_correlation(
    slipmargin, whole: Path
) -> None:
    whole.write_text(WHOLE.replace('"non_negative"', '"zero"', 1), encoding="utf-8")
    fit = slipmargin("check", whole, "--json").json["soils"]["fill"]["fit"]
    assert fit["standard_error"]["cohesion_kpa"] is None
    assert fit["correlation"] is None
    assert fit["degrees_of_freedom"] == 3


def test_a_cohesion_that_was_assumed_is_called_so_in_text_json_and_sheet(
    slipmargin, whole: Path
) -> None:
    readings = whole.parent / "fill.csv"
    for words, assumed in (
        (["--intercept", "zero"], True),
        (["--cohesionless"], True),
        ([], False),
    ):
        shown = slipmargin("fit", readings, "--specimen", "square 60 mm", *words)
        assert ("assumed" in shown.out) == assumed
        document = slipmargin("fit", readings, "--specimen", "square 60 mm", *words, "--json").json
        assert document["fit"]["cohesion_assumed"] == assumed
        codes = {notice["code"] for notice in document["notices"]}
        assert ("zero-cohesion-assumed" in codes) == assumed
    declared = whole.read_text(encoding="utf-8").replace(
        '[soils.fill]\nunit_weight = "18.0 kN/m^3"',
        '[soils.fill]\ncohesionless = true\nunit_weight = "18.0 kN/m^3"',
    )
    whole.write_text(declared, encoding="utf-8")
    assert "c′ = 0 assumed" in slipmargin("check", whole).out
    sheet = whole.with_name("sheet.md")
    assert slipmargin("report", whole, "-o", sheet).code == 0
    assert "c′ = 0 assumed" in sheet.read_text(encoding="utf-8")


def test_fit_prints_the_document_and_nothing_else(slipmargin, whole: Path) -> None:
    ran = slipmargin("fit", whole.parent / "fill.csv", "--specimen", "square 60 mm", "--json")
    assert (ran.code, ran.err) == (0, "")
    document = strict(ran.out)
    assert set(document) >= {"schema", "fit", "points", "notices"}
    assert set(document["fit"]) >= FIT_KEYS
    assert set(document["points"][0]) >= {
        "test",
        "normal_stress_kpa",
        "shear_stress_kpa",
        "residual_kpa",
    }


def test_forces_without_a_specimen_give_the_angle_and_an_intercept_in_newtons(
    slipmargin, whole: Path
) -> None:
    """Common practice, no source: the slope of force on force is tan φ′, no area in it."""
    bare = slipmargin("fit", whole.parent / "fill.csv", "--json").json["fit"]
    boxed = slipmargin(
        "fit", whole.parent / "fill.csv", "--specimen", "square 60 mm", "--json"
    ).json["fit"]
    assert "cohesion_kpa" not in bare["best_fit"]
    angle = boxed["best_fit"]["friction_angle_deg"]
    assert bare["best_fit"]["friction_angle_deg"] == pytest.approx(angle, rel=1e-12)
    newtons = boxed["best_fit"]["cohesion_kpa"] * 3600.0 / 1000.0
    assert bare["best_fit"]["intercept_n"] == pytest.approx(newtons, rel=1e-9)


def test_sweep_prints_the_document_and_nothing_else(slipmargin, whole: Path) -> None:
    ran = slipmargin("sweep", whole, "--json")
    assert (ran.code, ran.err) == (0, "")
    (sweep,) = strict(ran.out)["sweeps"]
    assert set(sweep) >= {"vary", "unit", "values", "checks"}
    assert (sweep["unit"], len(sweep["values"])) == ("deg", 25)
    for check in sweep["checks"]:
        for factors in check["factors_of_safety"].values():
            assert len(factors) == 25
        assert set(check["break_even"]) == {"1.0", "target"}


def test_a_swept_value_is_that_of_a_single_run(slipmargin, whole: Path) -> None:
    swept = slipmargin(
        "sweep", whole, "--vary", "soils.bank.friction_angle",
        "--from", "31 deg", "--to", "33 deg", "--steps", "3", "--json",
    ).json["sweeps"][0]["checks"]  # fmt: skip
    single = {c["label"]: c for c in slipmargin("check", whole, "--json").json["checks"]}
    for check in swept:
        for state, factors in check["factors_of_safety"].items():
            expected = single[check["label"]]["factors_of_safety"][state]
            assert factors[0] == pytest.approx(expected, rel=1e-6)


def test_a_break_even_value_gives_its_factor_when_put_back(slipmargin, whole: Path) -> None:
    words = ["--vary", "checks.Upper bank, wet season.depth", "--from", "0.7 m", "--to", "9 m"]
    (check,) = slipmargin("sweep", whole, *words, "--json").json["sweeps"][0]["checks"]
    depth = check["break_even"]["1.0"]
    whole.write_text(WHOLE.replace('"1.8 m"', f'"{depth!r} m"', 1), encoding="utf-8")
    first = slipmargin("check", whole, "--json").json["checks"][0]
    assert first["factors_of_safety"]["sliding"] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(("target", "code"), [("1.01", 0), ("9.9", 1)])
def test_strict_exits_with_one_only_when_a_target_is_missed(
    slipmargin, tmp_path: Path, target: str, code: int
) -> None:
    path = tmp_path / "site.toml"
    head, tail = WHOLE.split("[soils.fill]", maxsplit=1)[0], WHOLE.split("[[checks]]")[1]
    path.write_text(
        head + "[[checks]]" + tail.replace('"28 deg"', '"18 deg"').replace("1.5", target),
        encoding="utf-8",
    )
    assert slipmargin("check", path, "--strict").code == code
    assert slipmargin("check", path).code == 0


def test_units_change_nothing(slipmargin, whole: Path) -> None:
    """SI against US customary, the whole path from text to JSON."""
    plain = slipmargin("check", whole, "--json").json["checks"]
    feet = 1.0 / 0.3048
    swapped = (
        WHOLE.replace('"18.5 kN/m^3"', f'"{18.5 / 0.15708746:.12g} pcf"')
        .replace('"1.8 m"', f'"{1.8 * feet:.15g} ft"')
        .replace('"7 m"', f'"{7 * feet:.15g} ft"')
        .replace('"31 deg"', f'"{math.radians(31):.17g} rad"')
        .replace('"4 kPa"', f'"{4 / 0.04788025898:.12g} psf"')
        .replace('"60 mm"', '"6 cm"')
    )
    assert swapped != WHOLE
    whole.write_text(swapped, encoding="utf-8")
    for a, b in zip(plain, slipmargin("check", whole, "--json").json["checks"], strict=True):
        for state, factor in a["factors_of_safety"].items():
            assert b["factors_of_safety"][state] == pytest.approx(factor, rel=1e-6)


def test_the_order_of_checks_and_tests_changes_nothing(slipmargin, whole: Path) -> None:
    plain = {c["label"]: c for c in slipmargin("check", whole, "--json").json["checks"]}
    head, *checks = WHOLE.split("[[checks]]")
    *checks, last = checks
    last, sweeps = last.split("[[sweeps]]")
    shuffled = "[[checks]]".join([head, last, *reversed(checks)]) + "[[sweeps]]" + sweeps
    whole.write_text(shuffled, encoding="utf-8")
    lines = FILL.splitlines()
    upside_down = "\n".join([lines[0], *reversed(lines[1:])]) + "\n"
    (whole.parent / "fill.csv").write_text(upside_down, encoding="utf-8")
    for check in slipmargin("check", whole, "--json").json["checks"]:
        for state, factor in plain[check["label"]]["factors_of_safety"].items():
            assert check["factors_of_safety"][state] == pytest.approx(factor, rel=1e-12)


def test_text_prints_the_factors_of_the_json(slipmargin, whole: Path) -> None:
    text = slipmargin("check", whole).out
    for check in slipmargin("check", whole, "--json").json["checks"]:
        for factor in check["factors_of_safety"].values():
            assert f"{factor:.2f}" in text or f"{factor - 0.005:.2f}" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_every_shipped_scenario_runs(slipmargin, scenarios: Path) -> None:
    paths = sorted(scenarios.rglob("*.toml"))
    assert len(paths) >= 2
    for path in paths:
        assert slipmargin("check", path, "--json").code == 0, path
        assert slipmargin("sweep", path, "--json").code == 0, path


def test_the_caution_goes_with_every_file_and_every_answer(
    slipmargin, scenarios: Path, tmp_path: Path
) -> None:
    """As a real run writes them: a table, the check values, the methods, the starter files."""
    program = Path(sys.executable).with_name("slipmargin")

    def said(*words: object) -> str:
        ran = subprocess.run(
            [str(program), *map(str, words)],
            capture_output=True,
            encoding="utf-8",
            check=True,
            timeout=120,
        )
        return ran.stdout

    table = tmp_path / "table.csv"
    site = next((scenarios / "fennel-rise").glob("*.toml"))
    said("influence", site, "--csv", table)
    first, header, *_ = table.read_text(encoding="utf-8").splitlines()
    assert first == f"# {CAUTION}"
    assert header.startswith("check,input,")
    assert json.loads(said("verify", "infinite_slope", "--json"))["caution"] == CAUTION
    for kind in METHODS:
        assert slipmargin("methods", kind).out.rstrip().endswith(CAUTION)
    said("start", tmp_path / "new")
    for file in (tmp_path / "new").iterdir():
        lines = file.read_text(encoding="utf-8").splitlines()
        comment = [line[2:] for line in takewhile(lambda line: line != "#", lines)]
        assert " ".join(comment) == CAUTION


def test_the_number_of_steps_has_one_limit_everywhere(slipmargin, tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    slipmargin("start", tmp_path)
    text = (tmp_path / "scenario.toml").read_text(encoding="utf-8")
    vary = ["--vary", "checks.Garden wall.surcharge", "--from", "1 kPa", "--to", "2 kPa"]
    for steps in (1, 100_001):
        path.write_text(text.replace("steps = 33", f"steps = {steps}"), encoding="utf-8")
        for words in (["check"], ["sweep"], ["report", "-o", tmp_path / "sheet.html"]):
            ran = slipmargin(words[0], path, *words[1:])
            assert ran.code == 2
            assert f"sweeps[0].steps: '{steps}' cannot be used; allowed: from 2" in ran.err
        ran = slipmargin("sweep", tmp_path / "scenario.toml", *vary, "--steps", steps)
        assert ran.code == 2
        assert f"steps: '{steps}' cannot be used; allowed: from 2 up to 100000" in ran.err
    assert not (tmp_path / "sheet.html").exists()


def test_the_starter_runs_as_it_is(slipmargin, tmp_path: Path) -> None:
    assert slipmargin("start", tmp_path / "site").code == 0
    assert slipmargin("check", tmp_path / "site" / "scenario.toml", "--json").code == 0
    assert slipmargin("sweep", tmp_path / "site" / "scenario.toml", "--json").code == 0


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_plots_are_written_whole_and_the_same_every_time(
    slipmargin, whole: Path, suffix: str
) -> None:
    readings = whole.parent / "fill.csv"
    drawn = []
    for name in ("one", "two"):
        picture = whole.parent / (name + suffix)
        words = ["--specimen", "square 60 mm", "--plot", picture]
        assert slipmargin("fit", readings, *words).code == 0
        drawn.append(picture.read_bytes())
    assert drawn[0] == drawn[1]
    assert not list(whole.parent.glob(".partial-*"))
