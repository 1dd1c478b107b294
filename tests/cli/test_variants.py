"""Variants of a scenario, one check of it alone, and versions side by side."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.scenario.paths import field_path
from slipmargin.cli.scenario.read import FileError, load
from slipmargin.strength import InputError

Run = Callable[..., Any]

SITE = """
title = "A bank in two versions"

[soils.bank]
unit_weight = "18 kN/m^3"
[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"

[[checks]]
kind = "infinite_slope"
label = "Bank, 1.5 m"
soil = "bank"
slope_angle = "26 deg"
depth = "1.5 m"
target = 1.5

[[checks]]
kind = "infinite_slope"
soil = "bank"
slope_angle = "20 deg"
depth = "150 cm"
water_table_depth = "1 m"

[[variants]]
name = "flatter"
[variants.set]
"checks.Bank, 1.5 m.slope_angle" = "1V:3H"
"checks.infinite slope 2.depth" = "1.5 m"

[[variants]]
name = "drained"
leave_out = ["checks.infinite slope 2.water_table_depth"]
[variants.set]
"soils.bank.strength" = {cohesion = "2 kPa", friction_angle = "33 deg"}
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(SITE, encoding="utf-8")
    return path


def test_a_variant_is_the_file_with_its_fields_replaced(
    slipmargin: Run, site: Path, tmp_path: Path
) -> None:
    by_hand = tmp_path / "by-hand.toml"
    by_hand.write_text(SITE.replace('"26 deg"', '"1V:3H"'), encoding="utf-8")
    asked = slipmargin("check", site, "--variant", "flatter", "--json").json
    written = slipmargin("check", by_hand, "--json").json
    assert asked["variant"] == "flatter"
    assert asked["checks"] == written["checks"]
    assert "variant 'flatter'" in slipmargin("check", site, "--variant", "flatter").out


def test_a_field_can_be_left_out_and_a_whole_table_replaced(site: Path) -> None:
    drained = load(site, variant="drained")
    assert drained.checks[1].check.water_table_depth is None  # type: ignore[attr-defined]
    assert drained.soils["bank"].soil.strength.cohesion == 2.0
    assert load(site).soils["bank"].soil.strength.cohesion == 4.0


def test_the_plain_check_names_the_variants(slipmargin: Run, site: Path) -> None:
    assert "Variants: flatter, drained" in slipmargin("check", site).out
    assert slipmargin("check", site, "--json").json["variants"] == ["flatter", "drained"]


@pytest.mark.parametrize(
    ("right", "wrong", "hint"),
    [
        ("1.5 m.slope_angle", "1.5 m.slope_angel", "did you mean 'slope_angle'?"),
        ("checks.Bank, 1.5 m.sl", "checks.Bnak, 1.5 m.sl", "did you mean 'Bank, 1.5 m'?"),
        ('"soils.bank.strength', '"soil.bank.strength', "did you mean 'soils'?"),
        ('"soils.bank.strength', '"soils.bank.strenth', "did you mean 'strength'?"),
        ('"soils.bank.strength', '"soils.bank', "soils.bank.FIELD"),
        ("slope 2.water_table_depth", "slope 2.surcharge", "not there to be left out"),
        ('name = "drained"', 'name = "flatter"', "its own name"),
    ],
)
def test_a_wrong_path_is_refused_with_the_nearest_known_even_unasked(
    slipmargin: Run, site: Path, right: str, wrong: str, hint: str
) -> None:
    text = SITE.replace(right, wrong)
    assert text != SITE
    site.write_text(text, encoding="utf-8")
    ran = slipmargin("check", site)
    assert (ran.code, hint in ran.err) == (2, True), ran.err


def test_an_unknown_variant_and_an_impossible_value_are_refused(
    slipmargin: Run, site: Path
) -> None:
    assert "did you mean 'flatter'?" in slipmargin("sweep", site, "--variant", "flattr").err
    site.write_text(SITE.replace('"1V:3H"', '"95 deg"'), encoding="utf-8")
    assert slipmargin("check", site).code == 0
    assert "variant 'flatter'" in slipmargin("check", site, "--variant", "flatter").err


def test_every_command_of_a_scenario_takes_a_variant(
    slipmargin: Run, scenarios: Path, tmp_path: Path
) -> None:
    site = tmp_path / "site"
    shutil.copytree(scenarios / "linnet-pit", site)
    file = site / "class-exercise.toml"
    text = file.read_text(encoding="utf-8")
    change = '"checks.Face of the pit, dry.depth" = "2 m"'
    file.write_text(f'{text}\n[[variants]]\nname = "thin"\n[variants.set]\n{change}\n')
    for words in (
        ["sweep"],
        ["interpretations"],
        ["influence"],
        ["reliability", "--samples", "200"],
        ["strength-map", "--soil", "sand"],
        ["back-analysis", "--check", "Face of the pit, dry"],
    ):
        ran = slipmargin(words[0], file, *words[1:], "--variant", "thin", "--json")
        assert ran.json["variant"] == "thin", words
    sheet = tmp_path / "sheet.md"
    assert slipmargin("report", file, "-o", sheet, "--variant", "thin").code == 0
    assert "(variant 'thin')" in sheet.read_text(encoding="utf-8").splitlines()[0]


def test_compare_says_which_inputs_differ_and_what_that_does(slipmargin: Run, site: Path) -> None:
    document = slipmargin("compare", site, "--variant", "flatter", "--json").json
    assert [one["field"] for one in document["inputs"]] == ["checks.Bank, 1.5 m.slope_angle"]
    assert document["inputs"][0]["before"] == 26.0
    assert document["inputs"][0]["after"] == pytest.approx(18.4349, rel=1e-5)
    first, second = document["checks"]
    before, after = (
        slipmargin("check", site, *words, "--json").json["checks"][0]["factors_of_safety"]
        for words in ((), ("--variant", "flatter"))
    )
    assert first["factors"]["sliding"] == {"before": before["sliding"], "after": after["sliding"]}
    assert second["factors"]["sliding"]["before"] == second["factors"]["sliding"]["after"]


def test_readings_that_changed_under_one_name_are_a_difference(
    slipmargin: Run, scenarios: Path, tmp_path: Path
) -> None:
    for name in ("a", "b"):
        shutil.copytree(scenarios / "linnet-pit", tmp_path / name)
    readings = tmp_path / "b" / "class-readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8") + "# read again\n", encoding="utf-8")
    pair = [tmp_path / name / "class-exercise.toml" for name in ("a", "b")]
    found = slipmargin("compare", *pair, "--json").json["inputs"]
    assert [one["field"] for one in found] == ["soils.sand.strength.readings"]


def test_a_soil_and_a_check_that_one_version_lacks_are_one_line_each(
    slipmargin: Run, site: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(SITE[: SITE.index("[[variants]]")].replace("Bank, 1.5 m", "Slope"))
    document = slipmargin("compare", site, other, "--json").json
    lines = {one["field"]: (one["before"], one["after"]) for one in document["inputs"]}
    assert lines == {
        "checks.Bank, 1.5 m": ("infinite slope", None),
        "checks.Slope": (None, "infinite slope"),
    }
    factors = {one["label"]: one["factors"] for one in document["checks"]}
    assert factors["Slope"]["sliding"]["before"] is None


def test_all_variants_stand_side_by_side(slipmargin: Run, site: Path) -> None:
    names = ["as written", "flatter", "drained"]
    versions = slipmargin("check", site, "--variants", "--json").json["versions"]
    assert [one["name"] for one in versions] == names
    assert all(name in slipmargin("check", site, "--variants").out for name in names)


def test_a_version_is_compared_with_another_or_with_itself(slipmargin: Run, site: Path) -> None:
    assert slipmargin("compare", site).code == 2
    same = slipmargin("compare", site, site, "--json").json
    assert (same["inputs"], same["new_notices"]) == ([], [])


def test_one_check_alone_gives_what_it_gives_among_others(slipmargin: Run, scenarios: Path) -> None:
    file = scenarios / "fennel-rise" / "cut-and-wall.toml"
    label = "Bank above the cut, wet season"
    both = slipmargin("sweep", file, "--json").json["sweeps"][0]["checks"]
    alone = slipmargin("sweep", file, "--check", label, "--json").json["sweeps"][0]["checks"]
    assert alone == [one for one in both if one["label"] == label]
    ran = slipmargin("sweep", file, "--check", "Foot wal")
    assert (ran.code, "did you mean 'Foot wall'?" in ran.err) == (2, True)


def test_names_with_dots_are_told_apart_by_the_longest() -> None:
    found = field_path("checks.Cut.north.height", [], ["Cut", "Cut.north"], place="vary")
    assert (found.label, found.field) == ("Cut.north", "height")
    with pytest.raises(InputError, match=r"write soils\.NAME\.FIELD"):
        field_path("wall.height", [], [], place="vary")


def test_the_paths_of_a_hostile_variant_are_refused_in_words(site: Path) -> None:
    for path in ("checks.Bank, 1.5 m.depth.x", "soils", "checks", "variants", "", "reliability.x"):
        site.write_text(f"{SITE}\n[[variants]]\nname='v'\n[variants.set]\n'{path}' = 1\n")
        with pytest.raises(FileError, match=r"variants\[2\]"):
            load(site)
