"""The basis of design in a scenario: global targets, or sets of partial factors."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

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
    assert wall["targets"] == {"sliding": 1.5, "overturning": 2.0, "bearing": 3.0}
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
    assert [d["set"] for d in face["design_beside"]] == ["DA1-1", "DA1-2", "DA2", "DA3"]
    for one, other in zip(face["design"], face["design_beside"], strict=True):
        worse = other["limit_states"]["sliding"]["utilisation"]
        assert worse > one["limit_states"]["sliding"]["utilisation"]


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
        for state, factor in check["factors_of_safety"].items():
            used = check["design"][0]["limit_states"][state]["utilisation"]
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
        ("Face, rotation beside it", ["sliding"]),
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
    assert "DA1-2 cautious" in out
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
        assert wall["overall"]["target"] == float(target)
        assert wall["meets_target"] is True
        strict = slipmargin("check", path, "--strict").code
        found.append((wall["overall"]["meets_target"], strict))
    assert found == [(True, 0), (False, 1)]
    row = next(
        line for line in slipmargin("check", path).out.splitlines() if "overall (approx" in line
    )
    assert row.split()[-2:] == ["9.00", "MISSES"]
