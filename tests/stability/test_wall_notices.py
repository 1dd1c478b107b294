"""What a retaining wall refuses, and what it says beside its factors."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from made import cantilever, soil
from made import retaining_wall as check
from numpy.testing import assert_allclose

from slipmargin.stability import Soil
from slipmargin.stability.retaining_wall.balance import retaining_wall
from slipmargin.stability.retaining_wall.bearing_factors import depth_factors
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import InputError, Strength


def codes(result: Any) -> dict[str, str]:
    return {notice.code: str(notice.severity) for notice in result.notices}


BOX = [[0, 0], [2, 0], [2, 4], [0, 4]]
REFUSED = {
    "a backfill steeper than its friction angle": (
        {"backfill_slope_angle": 33.0},
        "backfill_slope_angle",
    ),
    "shaking beyond the theory": (
        {"horizontal_seismic_coefficient": 0.8},
        "horizontal_seismic_coefficient",
    ),
    "water above the top": ({"water_table_depth": -0.1}, "water_table_depth"),
    "water in front above the top": (
        {"water_table_depth": 1.0, "water_level_in_front": 6.0},
        "water_level_in_front",
    ),
    "water in front alone": ({"water_level_in_front": 1.0}, "water_level_in_front"),
    "wall friction beside rankine": ({"wall_friction_angle": 20.0}, "wall_friction_angle"),
    "embedment above the top": ({"embedment": 5.9}, "embedment"),
    "soil lighter than water": (
        {"backfill": soil(0.0, 32.0, 8.0), "water_table_depth": 1.0},
        "backfill.saturated_unit_weight",
    ),
    "an unknown theory": ({"theory": "culmann"}, "theory"),
    "a share above one": ({"passive_fraction": 1.1}, "passive_fraction"),
    "no slab": ({"wall": cantilever(base_thickness=0.0)}, "wall.base_thickness"),
    "a missing field of the shape": ({"wall": cantilever(stem_height=None)}, "wall.stem_height"),
    "a field of another shape": ({"wall": cantilever(height=5.0)}, "wall.height"),
    "a heel left of the toe": ({"wall": cantilever(heel_width=-9.0)}, "wall.heel_width"),
    "a clockwise outline": (
        {"wall": Wall(unit_weight=24.0, shape="outline", points=BOX[::-1])},
        "wall.points",
    ),
    "a crossing outline": (
        {"wall": Wall(unit_weight=24.0, shape="outline", points=[BOX[i] for i in (0, 1, 3, 2)])},
        "wall.points",
    ),
    "an outline on a point": (
        {"wall": Wall(unit_weight=24.0, shape="outline", points=[[0, 0], [1, 4], [-1, 4]])},
        "wall.points",
    ),
    "an outline without points": ({"wall": Wall(unit_weight=24.0, shape="outline")}, "wall.points"),
    "rankine behind an overhang": (
        {
            "wall": Wall(
                unit_weight=24.0, shape="outline", points=[[0, 0], [2, 0], [2.5, 4], [1, 4]]
            )
        },
        "wall.points",
    ),
    "half a key": ({"wall": cantilever(key_depth=0.5)}, "wall.key_width"),
    "a key beyond the base": (
        {"wall": cantilever(key_depth=0.5, key_width=0.5, key_position=3.2)},
        "wall.key_position",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_wall_is_refused_by_the_field_at_fault(name: str) -> None:
    fields, place = REFUSED[name]
    with pytest.raises(InputError) as refusal:
        check(**fields).evaluate(leave_out=("overall",))
    assert refusal.value.place == place
    assert refusal.value.allowed


def test_a_sample_without_an_answer_counts_as_failed() -> None:
    result = check(
        backfill=soil(0.0, np.array([24.0, 36.0]), 18.0), backfill_slope_angle=30.0
    ).evaluate(leave_out=("overall",))
    for factor in result.factors_of_safety.values():
        assert_allclose(factor[0], 0.0, atol=0.0)
        assert factor[1] > 0.0
    assert codes(result)["no-active-pressure"] == "stop"


def test_every_result_says_what_is_not_covered() -> None:
    assert codes(check().evaluate(leave_out=("overall",)))["not-covered"] == "info"


def wide(**more: Any) -> Wall:
    return cantilever(toe_width=0.2, heel_width=0.6, **more)


OWED = {
    "surcharge-only-pushes": {"surcharge": 5.0},
    "toe-soil-not-counted": {},
    "no-water-assumed": {},
    "base-friction-assumed": {},
    "heel-short-for-rankine": {},
    "passive-resistance-counted": {"passive_fraction": 0.3},
    "cohesion-reduces-thrust": {"backfill": soil(5.0)},
    "cohesion-carries-load": {"backfill": soil(15.0)},
    "minimum-thrust-governs": {"backfill": soil(15.0)},
    "trial-wedge-governs": {"backfill_slope_angle": 20.0, "water_table_depth": 1.0},
    "dry-crack-assumed": {"backfill": soil(5.0)},
    "resultant-outside-middle-third": {"wall": cantilever(toe_width=0.2, heel_width=1.9)},
    "resultant-near-edge": {"wall": cantilever(toe_width=0.1, heel_width=1.35)},
    "resultant-outside-base": {"wall": wide()},
    "below-customary-factor": {"wall": wide()},
    "below-one": {"wall": wide()},
    "below-target": {"target": 9.0},
    "no-contact": {"wall": cantilever(unit_weight=1.0, toe_width=6.0), "water_table_depth": 0.0},
    "allowable-bearing-exceeded": {"allowable_bearing": 20.0},
    "adhesion-above-foundation": {"base_adhesion": 50.0},
    "base-friction-above-foundation": {"base_friction_angle": 35.0},
    "coulomb-behind-a-heel": {"theory": "coulomb", "wall_friction_angle": 20.0},
    "smooth-back": {"theory": "coulomb"},
    "wall-friction-above-backfill": {"theory": "coulomb", "wall_friction_angle": 40.0},
    "pseudo-static": {"horizontal_seismic_coefficient": 0.1},
    "hydrodynamic-pressure-left-out": {
        "horizontal_seismic_coefficient": 0.1,
        "water_table_depth": 3.0,
    },
    "water-in-front-counted": {"water_table_depth": 3.0, "water_level_in_front": 0.5},
    "saturated-unit-weight-missing": {"backfill": soil(), "water_table_depth": 3.0},
    "base-key": {"wall": cantilever(key_depth=0.4, key_width=0.4, key_position=1.0)},
}


@pytest.mark.parametrize("code", OWED)
def test_the_notice_is_given(code: str) -> None:
    assert code in codes(check(**OWED[code]).evaluate(leave_out=("overall",)))


@pytest.mark.parametrize(("slope", "said"), [(0.0, False), (20.0, True)])
def test_a_back_flatter_than_the_inner_slip_plane_below_its_slope_is_said(
    slope: float, said: bool
) -> None:
    """The back leans 22°. At φ′ = 32° the inner plane leans 29.0° below level ground and 18.9°
    below a slope of 20°: Das, Principles of Foundation Engineering, ch. 8 (from memory).
    """
    lean = Wall(
        unit_weight=24.0, shape="gravity", height=4.0, top_width=0.6, base_width=2.8,
        back_offset=1.616,
    )  # fmt: skip
    result = check(
        wall=lean, theory="coulomb", wall_friction_angle=20.0, backfill_slope_angle=slope
    ).evaluate(leave_out=("overall",))
    assert ("back-flatter-than-slip-plane" in codes(result)) is said


def test_good_dry_walls_carry_no_caution_for_what_they_do_not_do() -> None:
    result = check(
        wall=cantilever(heel_width=4.5), embedment=0.0, bearing_method="meyerhof"
    ).evaluate(leave_out=("overall",))
    assert set(codes(result).values()) == {"info"}


def test_methods_of_bearing_that_lie_apart_stand_side_by_side_with_the_lowest_named() -> None:
    """Each factor in the notice is that of a check by that method."""
    by_method = {
        name: check(bearing_method=name, embedment=0.0, surcharge=8.0).evaluate(
            leave_out=("overall",)
        )
        for name in ("vesic", "meyerhof", "annex_d")
    }
    found = {name: one.factors_of_safety["bearing"] for name, one in by_method.items()}
    lowest = min(found, key=lambda name: found[name])
    assert max(found.values()) > 1.2 * min(found.values())
    for name, one in by_method.items():
        notice = next(n for n in one.notices if n.code == "bearing-methods-differ")
        assert f"The lowest is {lowest}; this check uses {name}." in notice.text
        for other, factor in found.items():
            assert f"{other} {factor:.2f}" in notice.text
        assert notice.severity == ("info" if name == lowest else "caution")


def test_methods_of_bearing_that_agree_are_not_set_side_by_side() -> None:
    """All have N_c = π + 2 and no weight term here (Prandtl 1921), and the load is steep."""
    clay = check(
        backfill=soil(0.0, 42.0, 18.0),
        foundation=soil(300.0, 0.0, 18.5),
        wall=cantilever(heel_width=9.0),
        base_adhesion=30.0,
    ).evaluate(leave_out=("overall",))
    assert "bearing-methods-differ" not in codes(clay)


@pytest.mark.parametrize("method", ["vesic", "meyerhof"])
def test_depth_factors_count_only_where_they_are_asked_for(method: str) -> None:
    """The terms are printed with d (Vesić 1973; Meyerhof 1963): a base loses exactly its d."""
    deep = {"foundation": soil(0.0, 32.0, 18.5), "embedment": 1.2, "bearing_method": method}
    bare = check(**deep).evaluate(leave_out=("overall",))
    counted = check(bearing_depth_factors=True, **deep).evaluate(leave_out=("overall",))
    v, w = bare.values, counted.values
    assert (v.depth_factor_overburden, v.depth_factor_weight) == (1.0, 1.0)
    factors = depth_factors(method, 32.0, 1.2 / float(w.base_width))
    overburden = v.overburden * v.bearing_factor_overburden * v.inclination_factor_overburden
    gained = overburden * (float(factors.overburden) - 1.0)
    gained += (v.bearing_capacity - overburden) * (float(factors.weight) - 1.0)
    assert_allclose(w.bearing_capacity, v.bearing_capacity + gained, rtol=1e-12)
    assert counted.factors_of_safety["bearing"] > bare.factors_of_safety["bearing"]


def test_strength_used_outside_its_tests_is_said_for_both_soils() -> None:
    tested = Strength(cohesion=0.0, friction_angle=32.0, tested_range=(300.0, 400.0))
    one = Soil(strength=tested, unit_weight=18.0)
    notices = check(backfill=one, foundation=one).evaluate(leave_out=("overall",)).notices
    texts = [n.text for n in notices if n.code == "outside-tested-stress-range"]
    assert len(texts) == 2


def test_a_surcharge_that_would_help_is_not_counted() -> None:
    heavy_heel = Wall(
        unit_weight=24.0,
        shape="gravity",
        height=3.0,
        top_width=0.5,
        base_width=6.0,
        back_offset=0.0,
    )
    bare = check(wall=heavy_heel, foundation=soil(80.0, 0.0, 18.5), base_adhesion=40.0)
    loaded = dataclasses.replace(bare, surcharge=5.0).evaluate(leave_out=("overall",))
    assert float(bare.evaluate(leave_out=("overall",)).values.eccentricity) < 0.0
    assert codes(loaded)["surcharge-helps"] == "caution"
    assert codes(loaded)["bearing-rises"] == "caution"
    assert_allclose(
        loaded.factors_of_safety["bearing"],
        bare.evaluate(leave_out=("overall",)).factors_of_safety["bearing"],
    )


def test_bearing_under_part_of_a_surcharge_may_be_the_lowest() -> None:
    """A resultant toward the heel, and a thrust whose moment is held at its minimum at first."""
    wide = cantilever(
        stem_height=5.0,
        stem_top_thickness=0.3,
        stem_bottom_thickness=0.5,
        toe_width=2.4,
        heel_width=2.5,
        base_thickness=0.4,
    )
    loaded = check(
        wall=wide,
        foundation=soil(27.0, 3.0, 18.5),
        backfill=soil(8.0, 25.0),
        embedment=0.1,
        surcharge=46.0,
    )
    surcharges = 46.0 * np.linspace(0.0, 1.0, 257)
    part = retaining_wall(dataclasses.replace(loaded, surcharge=surcharges)).factor_bearing
    result = loaded.evaluate(leave_out=("overall",))
    assert min(part) < 0.99 * min(part[0], part[-1])
    assert_allclose(result.factors_of_safety["bearing"], min(part), rtol=1e-3)
    text = next(n.text for n in result.notices if n.code == "surcharge-helps")
    assert "lowest under" in text


def test_bearing_that_rises_with_shaking_is_said() -> None:
    heavy_heel = Wall(
        unit_weight=24.0, shape="gravity", height=3.0, top_width=0.5, base_width=6.0,
        back_offset=0.0,
    )  # fmt: skip
    given = {"wall": heavy_heel, "foundation": soil(80.0, 0.0, 18.5), "base_adhesion": 40.0}
    still, shaken = (
        check(**given, horizontal_seismic_coefficient=k).evaluate(leave_out=("overall",))
        for k in (0.0, 0.05)
    )
    before = float(still.factors_of_safety["bearing"])
    assert float(still.values.eccentricity) < 0.0
    assert float(shaken.factors_of_safety["bearing"]) > before
    text = next(n.text for n in shaken.notices if n.code == "bearing-rises")
    assert f"{before:.2f}" in text
    assert "bearing-rises" not in codes(still)
    usual = check(horizontal_seismic_coefficient=0.05).evaluate(leave_out=("overall",))
    assert "bearing-rises" not in codes(usual)


def test_a_surcharge_whose_weight_over_a_long_heel_lowers_bearing_is_cautioned_about() -> None:
    short, long = (
        check(surcharge=10.0, wall=cantilever(heel_width=heel)).evaluate(leave_out=("overall",))
        for heel in (2.0, 7.0)
    )
    assert codes(short)["surcharge-only-pushes"] == "info"
    assert codes(long)["surcharge-only-pushes"] == "caution"
