"""The basis of design in a scenario: global targets, or sets of partial factors."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from slipmargin.cli.questions.strength_map import map_strength
from slipmargin.cli.scenario.read import load

SITE = """\
title = "Basis"
BASIS
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
cohesion = "6 kPa"
friction_angle = "31 deg"

[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "26 deg"
depth = "2.5 m"

[[checks]]
kind = "planar_wedge"
label = "Face"
soil = "bank"
height = "5 m"
face_angle = "50 deg"

[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "bank"
foundation = "bank"
embedment = "0.6 m"
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "gravity"
height = "3 m"
top_width = "0.6 m"
base_width = "1.9 m"
back_offset = "0 m"
"""


def run(slipmargin, folder: Path, basis: str, *words: str):
    path = folder / "site.toml"
    path.write_text(SITE.replace("BASIS", basis), encoding="utf-8")
    return slipmargin("check", path, *words)


def test_customary_targets_stand_in_and_say_so(slipmargin, tmp_path: Path) -> None:
    document = run(slipmargin, tmp_path, '[basis]\nmethod = "global"', "--json").json
    wall = next(c for c in document["checks"] if c["label"] == "Wall")
    assert wall["targets"] == {"sliding": 1.5, "overturning": 2.0, "bearing": 3.0, "overall": 1.5}
    assert "customary-target" in {n["code"] for n in wall["notices"]}


def test_targets_may_be_stated_for_each_limit_state(slipmargin, tmp_path: Path) -> None:
    basis = '[basis]\nmethod = "global"\n[basis.targets]\nslope = 1.05\nbearing = 99.0'
    document = run(slipmargin, tmp_path, basis, "--json").json
    checks = {c["label"]: c for c in document["checks"]}
    assert checks["Bank"]["meets_target"] is True
    assert checks["Wall"]["targets"]["bearing"] == 99.0
    assert checks["Wall"]["meets_target"] is False


def test_sets_of_partial_factors_stand_side_by_side(slipmargin, tmp_path: Path) -> None:
    basis = '[basis]\nmethod = "partial"\nsets = ["DA1-1", "DA1-2", "DA2", "DA3"]'
    document = run(slipmargin, tmp_path, basis, "--json").json
    bank = document["checks"][0]
    assert [design["set"] for design in bank["design"]] == ["DA1-1", "DA1-2", "DA2", "DA3"]
    soil = bank["design"][1]["soils"][0]
    # EN 1997-1:2004, Table A.4: γ_φ′ = γ_c′ = 1.25 in set M2
    expected = math.degrees(math.atan(math.tan(math.radians(31.0)) / 1.25))
    assert soil["design"]["friction_angle_deg"] == pytest.approx(expected)
    assert soil["design"]["cohesion_kpa"] == pytest.approx(6.0 / 1.25)
    face = document["checks"][1]
    for design in face["design"]:
        states = design["limit_states"]
        assert states["rotation"]["utilisation"] > states["sliding"]["utilisation"]


OWN = (
    "permanent_unfavourable",
    "permanent_favourable",
    "variable_unfavourable",
    "tan_friction_angle",
    "cohesion",
    "bearing",
    "sliding",
    "earth_resistance",
    "slope_resistance",
)


def test_a_set_of_ones_own_with_nothing_factored_gives_one_over_the_factor(
    slipmargin, tmp_path: Path
) -> None:
    ones = "\n".join(f"{name} = 1.0" for name in OWN)
    basis = f"""[basis]
method = "partial"
sets = ["bare"]
[basis.own_sets.bare]
{ones}
[basis.own_sets.bare.equilibrium]
{ones}"""
    for check in run(slipmargin, tmp_path, basis, "--json").json["checks"]:
        design = check["design"][0]["limit_states"]
        assert design
        for state, factor in check["factors_of_safety"].items():
            if state in design and state != "overall":  # which has a search of its own
                used = design[state]["utilisation"]
                assert used == pytest.approx(1.0 / factor, rel=1e-9), state


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ('[basis]\nmethod = "partial"', ["basis.sets", "DA1-1", "DA3"]),
        ('[basis]\nmethod = "partial"\nsets = ["DA4"]', ["DA4", "DA1-1"]),
        ('[basis]\nmethod = "globl"', ["basis.method", "globl", "global"]),
        ('[basis]\nmethod = "global"\nsets = ["DA2"]', ["sets", "partial"]),
        ('[basis]\nmethod = "global"\n[basis.targets]\nslide = 1.5', ["targets.slide", "sliding"]),
        ('[basis]\nmethod = "global"\n[basis.targets]\nslope = "1.5"', ["slope", "bare number"]),
    ],
)
def test_a_bad_basis_is_refused_in_one_message(
    slipmargin, tmp_path: Path, basis: str, words: list[str]
) -> None:
    ran = run(slipmargin, tmp_path, basis, "--json")
    assert (ran.code, ran.out) == (2, "")
    for word in words:
        assert word in ran.err


def test_the_working_leads_to_every_utilisation(slipmargin, tmp_path: Path) -> None:
    basis = '[basis]\nmethod = "partial"\nsets = ["DA1-2"]'
    out = run(slipmargin, tmp_path, basis, "--working").out
    for label, states in (
        ("Bank", ["sliding"]),
        ("Face", ["sliding", "rotation"]),
        ("Wall", ["sliding", "bearing", "overall"]),
    ):
        name = f"Working: {label}, partial factors DA1-2"
        assert f"{name}, design strengths" in out
        for state in states:
            assert f"{name}, utilisation in {state}\n" in out
    assert "Working: Wall, partial factors DA1-2, utilisation in overturning, by EQU" in out
    design = math.degrees(math.atan(math.tan(math.radians(31.0)) / 1.25))
    assert f"φ_d = {design:.2f} deg" in out


def test_how_water_is_factored_is_read_from_the_basis(slipmargin, tmp_path: Path) -> None:
    basis = '[basis]\nmethod = "partial"\nsets = ["DA2"]\nwater_factors = "WAY"'
    wet = SITE.replace('embedment = "0.6 m"', 'embedment = "0.6 m"\nwater_table_depth = "1 m"')
    wet = wet.replace('back_offset = "0 m"', 'back_offset = "0.4 m"')
    used = {}
    for way in ("single_source", "by_direction"):
        path = tmp_path / "wet.toml"
        path.write_text(wet.replace("BASIS", basis.replace("WAY", way)), encoding="utf-8")
        wall = slipmargin("check", path, "--json").json["checks"][2]
        used[way] = wall["design"][0]["limit_states"]["sliding"]["utilisation"]
        assert "water-factors" in {notice["code"] for notice in wall["notices"]}
    assert used["single_source"] < used["by_direction"]


SETS = '[basis]\nmethod = "partial"\nsets = ["DA1-1", "DA1-2"]'


def site(folder: Path, **changes: str) -> Path:
    path = folder / "site.toml"
    text = SITE.replace("BASIS", SETS)
    for before, after in changes.items():
        assert before in text
        text = text.replace(before, after)
    path.write_text(text, encoding="utf-8")
    return path


def levels_of_check(slipmargin, path: Path) -> dict[tuple[str, str, str], float]:
    """Utilisation in ``check`` by label, set and limit state."""
    found = {
        (check["label"], design["set"], state): one["utilisation"]
        for check in slipmargin("check", path, "--json").json["checks"]
        for design in check["design"]
        for state, one in design["limit_states"].items()
    }
    # overall stability is a search of its own, and only `check` gives it
    return {key: value for key, value in found.items() if key[2] != "overall"}


def levels_of_answer(label: str, answer: dict, at) -> dict[tuple[str, str, str], float]:
    """The same of a check's entry in another document; ``at`` takes the number out of it."""
    return {
        (label, name, state): at(level)
        for name, states in answer["utilisation"].items()
        for state, level in states.items()
    }


def merged(entries) -> dict[tuple[str, str, str], float]:
    return {key: value for entry in entries for key, value in entry.items()}


def test_a_sweep_answers_for_utilisations(slipmargin, tmp_path: Path) -> None:
    path = site(tmp_path)
    words = ("--vary", "soils.bank.friction_angle", "--from", "25 deg", "--to", "37 deg")
    ran = slipmargin("sweep", path, *words, "--steps", "3", "--json").json["sweeps"][0]
    assert ran["values"][1] == pytest.approx(31.0)
    as_stated = merged(levels_of_answer(c["label"], c, lambda v: v[1]) for c in ran["checks"])
    assert as_stated == pytest.approx(levels_of_check(slipmargin, path), rel=1e-6)
    for check in ran["checks"]:
        every = check["utilisation"]["DA1-2"].values()
        highest = [max(levels) for levels in zip(*every, strict=True)]
        crossing = check["break_even_utilisation"]["DA1-2"]
        assert (crossing is not None) == (highest[0] > 1.0 > highest[2])
        if crossing is not None:
            there = slipmargin("check", site(tmp_path, **{"31 deg": f"{crossing} deg"}), "--json")
            one = next(c for c in there.json["checks"] if c["label"] == check["label"])
            levels = [
                state["utilisation"]
                for name, state in one["design"][1]["limit_states"].items()
                if name != "overall"
            ]
            assert max(levels) == pytest.approx(1.0, abs=1e-4)
    assert any(check["break_even_utilisation"]["DA1-2"] for check in ran["checks"])
    codes = {notice["code"] for check in ran["checks"] for notice in check["notices"]}
    assert "partial-factors-left-out" not in codes
    out = slipmargin("sweep", site(tmp_path), *words, "--steps", "3").out
    assert "Degree of utilisation under DA1-2 over φ′ of bank [deg], at most 1" in out
    assert "Partial factors over φ′ of bank [deg]: highest degree of utilisation" in out


def test_a_sweep_of_two_fields_answers_for_utilisations(slipmargin, tmp_path: Path) -> None:
    path = site(tmp_path)
    table = tmp_path / "two.csv"
    words = ("--vary", "soils.bank.friction_angle", "--from", "29 deg", "--to", "33 deg")
    second = ("--second", "soils.bank.cohesion", "--second-from", "4 kPa", "--second-to", "8 kPa")
    second = (*second, "--second-steps", "3")
    ran = slipmargin("sweep", path, *words, *second, "--steps", "3", "--json", "--csv", table)
    checks = ran.json["sweeps"][0]["checks"]
    middle = merged(levels_of_answer(c["label"], c, lambda v: v[1][1]) for c in checks)
    assert middle == pytest.approx(levels_of_check(slipmargin, path), rel=1e-6)
    header = next(line for line in table.read_text().splitlines() if not line.startswith("#"))
    assert header.endswith("factor_of_safety,utilisation DA1-1,utilisation DA1-2")


def test_a_strength_map_answers_for_utilisations(slipmargin, tmp_path: Path) -> None:
    path = site(tmp_path)
    axes = np.array([6.0]), np.array([31.0])
    found = map_strength(load(path), "bank", axes=axes)
    document = found.document()["checks"]
    there = merged(levels_of_answer(c["label"], c, lambda v: v[0][0]) for c in document)
    wanted = levels_of_check(slipmargin, path)
    assert there == pytest.approx(wanted, rel=1e-6)
    for name in ("DA1-1", "DA1-2"):
        highest = max(level for key, level in wanted.items() if key[1] == name)
        assert found.highest_at_points[name][0] == pytest.approx(highest, rel=1e-6)


def test_every_reading_of_the_tests_has_its_utilisation(slipmargin, tmp_path: Path) -> None:
    check = fitted(slipmargin, tmp_path, "best_fit", "--json").json["checks"][0]
    path = tmp_path / "best_fit.toml"
    bank = slipmargin("interpretations", path, "--json").json["checks"][0]
    used = {row["name"]: row["utilisation"]["DA1-2"] for row in bank["interpretations"]}
    design = check["design"][0]
    assert used["as used"]["sliding"] == design["limit_states"]["sliding"]["utilisation"]
    careful = design["utilisation_on_cautious"]["sliding"]
    assert used["cautious"]["sliding"] == pytest.approx(careful, rel=1e-9)
    out = slipmargin("interpretations", path).out
    assert "of DA1-2 the highest utilisation" in out


READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
1,25,21.2
2,50,34.9
3,100,68.3
4,150,93.8
"""
FITTED = 'readings = "bank.csv"\nvalue = "VALUE"'
STATED = 'cohesion = "6 kPa"\nfriction_angle = "31 deg"'


def fitted(slipmargin, folder: Path, value: str, *words: str):
    (folder / "bank.csv").write_text(READINGS, encoding="utf-8")
    site = SITE.replace(STATED, FITTED.replace("VALUE", value))
    path = folder / f"{value}.toml"
    basis = '[basis]\nmethod = "partial"\nsets = ["DA1-2"]'
    path.write_text(site.replace("BASIS", basis), encoding="utf-8")
    return slipmargin("check", path, *words)


def test_factors_on_a_best_fit_are_stopped_and_the_cautious_value_stands_beside(
    slipmargin, tmp_path: Path
) -> None:
    """EN 1997-1:2004, 2.4.5.2 (from memory): factors belong on a characteristic value."""
    best = fitted(slipmargin, tmp_path, "best_fit", "--json").json["checks"]
    cautious = fitted(slipmargin, tmp_path, "cautious", "--json").json["checks"]
    for one, careful in zip(best, cautious, strict=True):
        code = next(n for n in one["notices"] if n["code"] == "partial-factors-on-best-fit")
        assert (code["severity"], "bank" in code["text"]) == ("stop", True)
        assert "partial-factors-on-best-fit" not in {n["code"] for n in careful["notices"]}
        beside = one["design"][0]["utilisation_on_cautious"]
        assert careful["design"][0]["utilisation_on_cautious"] is None
        for state, found in careful["design"][0]["limit_states"].items():
            assert beside[state] == pytest.approx(found["utilisation"], rel=1e-9)
            assert beside[state] > one["design"][0]["limit_states"][state]["utilisation"]
    out = fitted(slipmargin, tmp_path, "best_fit").out
    assert re.search(r"DA1-2,\s+cautious", out)
    assert out.count("Partial factors are put on a best fit") == 1


def test_strict_fails_where_a_utilisation_is_over_one(slipmargin, tmp_path: Path) -> None:
    basis = '[basis]\nmethod = "partial"\nsets = ["DA2"]'
    ran = run(slipmargin, tmp_path, basis, "--strict")
    assert "OVER" in ran.out
    assert ran.code == 1


def test_a_wall_whose_ground_does_not_hold_misses_its_target(slipmargin, tmp_path: Path) -> None:
    head, *checks = SITE.split("[[checks]]")
    basis = '[basis]\nmethod = "global"\n[basis.targets]\nsliding = 0.1\noverturning = 0.1\n'
    basis += "bearing = 0.1\nslope = TARGET"
    path = tmp_path / "wall.toml"
    found = []
    for target in ("0.5", "9.0"):
        given = head.replace("BASIS", basis.replace("TARGET", target))
        path.write_text(f"{given}[[checks]]{checks[-1]}", encoding="utf-8")
        (wall,) = slipmargin("check", path, "--json").json["checks"]
        assert wall["targets"]["overall"] == float(target)
        found.append((wall["meets_target"], slipmargin("check", path, "--strict").code))
    assert found == [(True, 0), (False, 1)]
    lines = slipmargin("check", path).out.splitlines()
    row = next(line for line in lines if line.split()[:1] == ["overall"])
    assert row.split()[-2:] == ["9.00", "MISSES"]


BASIS = """[basis]
method = "global"
[basis.targets]
slope = 1.9
sliding = 1.4
bearing = 2.5
"""
DOUBT = """
[reliability]
samples = 400
[uncertain."soils.bank.friction_angle"]
distribution = "normal"
mean = "31 deg"
std = "2 deg"
"""


@pytest.fixture
def based(tmp_path: Path) -> Path:
    head, bank, _, wall = SITE.split("[[checks]]")
    path = tmp_path / "based.toml"
    text = f"{head.replace('BASIS', BASIS)}[[checks]]{bank}[[checks]]{wall}{DOUBT}"
    path.write_text(text, encoding="utf-8")
    return path


SWEEP = ("--vary", "soils.bank.friction_angle", "--from", "20 deg", "--to", "50 deg")


@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("sweep", *SWEEP, "--steps", "7"),
        ("interpretations",),
        ("reliability",),
        ("strength-map", "--soil", "bank"),
        ("influence",),
    ],
)
def test_the_targets_of_the_basis_reach_every_question(
    slipmargin, based: Path, command: tuple[str, ...]
) -> None:
    name, *more = command
    document = slipmargin(name, based, *more, "--json").json
    checks = document["sweeps"][0]["checks"] if name == "sweep" else document["checks"]
    bank, wall = checks
    assert (bank["target"], bank["targets"]) == (1.9, {"sliding": 1.9})
    assert wall["targets"] == {"sliding": 1.4, "overturning": 2.0, "bearing": 2.5, "overall": 1.9}
    assert wall["customary_targets"] == ["overturning"]
    match name:
        case "check":
            assert bank["meets_target"] is False
        case "reliability":
            for check in checks:
                for state, factor in check["factors"].items():
                    assert factor["probability_below_target"] is not None, state
        case "influence":
            assert {swing["misses_target"] for swing in bank["swings"]} == {True}
        case _:
            pass


def test_the_target_of_a_wall_is_met_in_a_sweep_where_the_last_limit_state_meets_its_own(
    slipmargin, based: Path
) -> None:
    found = slipmargin("sweep", based, *SWEEP, "--steps", "7", "--json").json["sweeps"][0]
    wall = found["checks"][1]
    crossing = wall["break_even"]["target"]
    by_state = [one["target"] for one in wall["break_even_by_limit_state"].values()]
    assert crossing == pytest.approx(max(value for value in by_state if value is not None))
    text = based.read_text(encoding="utf-8")
    based.write_text(text.replace('"31 deg"', f'"{crossing!r} deg"', 1), encoding="utf-8")
    wall = slipmargin("check", based, "--json").json["checks"][1]
    asked = {s: t for s, t in wall["targets"].items() if s != "overall"}
    shares = [wall["factors_of_safety"][s] / t for s, t in asked.items()]
    assert min(shares) == pytest.approx(1.0, abs=1e-6)


def test_customary_targets_are_shown_as_such(slipmargin, based: Path) -> None:
    out = slipmargin("check", based).out
    (row,) = (line for line in out.splitlines() if line.split()[:1] == ["overturning"])
    assert "customary 2.00" in row
    swept = " ".join(slipmargin("sweep", based, *SWEEP, "--steps", "3").out.split())
    assert "met throughout customary 2.00 met throughout bearing" in swept


def test_a_single_target_is_not_that_of_bearing(slipmargin, based: Path) -> None:
    text = based.read_text(encoding="utf-8").replace(BASIS, "")
    text = text.replace('embedment = "0.6 m"', 'embedment = "0.6 m"\ntarget = 1.1')
    based.write_text(text, encoding="utf-8")
    wall = slipmargin("check", based, "--json").json["checks"][1]
    assert wall["target"] == 1.1
    assert wall["targets"] == {"sliding": 1.1, "overturning": 2.0, "bearing": 3.0, "overall": 1.1}
    assert wall["customary_targets"] == ["overturning", "bearing"]
    judged = [wall["factors_of_safety"][s] >= t for s, t in wall["targets"].items()]
    assert wall["meets_target"] is all(judged)


def test_what_a_slope_requires_is_worked_out_for_the_target_of_the_basis(
    slipmargin, based: Path
) -> None:
    given = slipmargin("check", based, "--json").json["checks"][0]["values"]
    text = based.read_text(encoding="utf-8")
    own = text.replace(BASIS, "").replace('depth = "2.5 m"', 'depth = "2.5 m"\ntarget = 1.9')
    for changed, expected in ((own, given["required_friction_angle_deg"]),
                              (text.replace(BASIS, ""), None)):  # fmt: skip
        based.write_text(changed, encoding="utf-8")
        values = slipmargin("check", based, "--json").json["checks"][0]["values"]
        assert values["required_friction_angle_deg"] == expected
    assert given["required_friction_angle_deg"] > 31.0
