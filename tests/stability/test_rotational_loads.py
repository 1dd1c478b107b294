"""Cracks, pools, loads and support in the rotation: limits, and sums written apart from it."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import Rotational, Soil
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import spiral_through
from slipmargin.strength import InputError, Strength

sys.path.insert(0, str(Path(__file__).parents[1] / "oracles"))
import spirals

GAMMA, SATURATED, WATER = 18.0, 20.0, 9.81
HEIGHT, FACE = 7.0, 65.0
RUN = HEIGHT / np.tan(np.radians(FACE))


def check(c: Any = 10.0, phi: Any = 25.0, **fields: Any) -> Rotational:
    soil = Soil(
        strength=Strength(cohesion=c, friction_angle=phi),
        unit_weight=GAMMA,
        saturated_unit_weight=SATURATED,
    )
    return Rotational(soil=soil, **{"height": HEIGHT, "face_angle": FACE, **fields})


def factor(c: Any = 10.0, phi: Any = 25.0, **fields: Any) -> Any:
    return check(c, phi, **fields).factors_alone()["sliding"]


def codes(**fields: Any) -> set[str]:
    return {notice.code for notice in check(**fields).evaluate().notices}


SUPPORT = {"support_force": 40.0, "support_angle": 10.0, "support_height": 3.0}

CASES: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "a dry crack": ({"tension_crack_depth": 1.5}, {"crack": 1.5}),
    "water in a crack": (
        {"tension_crack_depth": 2.0, "tension_crack_water_depth": 1.2},
        {"crack": 2.0, "crack_water": 1.2},
    ),
    "a load where it stands": (
        {"surcharge": 30.0, "surcharge_setback": 1.5, "surcharge_width": 2.0},
        {"surcharge": 30.0, "load_from": RUN + 1.5, "load_to": RUN + 3.5},
    ),
    "a pool": ({"standing_water_level": 4.0}, {"pool": 4.0}),
    "a support force": (SUPPORT, {"support": (40.0, 10.0, 3.0)}),
    "all at once": (
        {
            "tension_crack_depth": 1.0, "tension_crack_water_depth": "full",
            "surcharge": 20.0, "surcharge_setback": 2.0, "standing_water_level": 2.0,
            "pore_pressure_ratio": 0.1, "horizontal_seismic_coefficient": 0.1, **SUPPORT,
        },
        {
            "crack": 1.0, "crack_water": 1.0, "surcharge": 20.0, "load_from": RUN + 2.0,
            "pool": 2.0, "pore_pressure_ratio": 0.1, "shaking": 0.1, "support": (40.0, 10.0, 3.0),
        },
    ),
}  # fmt: skip


def hill(**loads: Any) -> spirals.Hill:
    far = 500.0
    line = np.array([[-far, 0.0], [0.0, 0.0], [RUN, HEIGHT], [far, HEIGHT]])
    given = {"load_from": RUN, "saturated_unit_weight": SATURATED, **loads}
    return spirals.Hill(ground=line, unit_weight=GAMMA, **given)


@pytest.mark.parametrize("name", CASES)
def test_slices_along_the_spiral_need_the_cohesion_that_is_given(name: str) -> None:
    fields, loads = CASES[name]
    found = check(**fields).evaluate().values
    ends = (np.array([float(v)]) for v in (found.exit_x, found.entry_x))
    turn = np.radians([float(found.opening_angle)])
    share = float(found.tension_crack_depth) / loads.get("crack", 1.0)
    tan = np.tan(np.radians(25.0)) / float(found.factor_of_safety)
    needed = spirals.needed_cohesion(hill(**loads), tan, *ends, turn, 6000, share)
    assert_allclose(needed, float(found.reduced_cohesion), rtol=2e-6)


@pytest.mark.parametrize("name", CASES)
def test_no_spiral_out_of_many_needs_more_cohesion(name: str) -> None:
    fields, loads = CASES[name]
    found = float(factor(**fields))
    rng, tan = np.random.default_rng(3), np.tan(np.radians(25.0)) / found
    needed = spirals.hardest(hill(**loads), tan, HEIGHT, rng, tries=4_000, crest=RUN)
    assert needed <= 10.0 / found * (1.0 + 1e-4)


@pytest.mark.parametrize(
    "nothing",
    [
        {"tension_crack_depth": 0.0},
        {"standing_water_level": 0.0},
        {"support_force": 0.0, "support_angle": 10.0, "support_height": 2.0},
        {"surcharge": 20.0, "surcharge_setback": 15.0},
        {"surcharge": 0.0, "surcharge_setback": 1.0, "surcharge_width": 2.0},
    ],
)
def test_what_is_not_there_or_stands_beyond_the_slip_changes_nothing(
    nothing: dict[str, Any],
) -> None:
    assert_allclose(factor(**nothing), factor(), rtol=1e-9)


def test_a_deeper_crack_and_more_water_in_it_never_raise_the_factor() -> None:
    depth = np.array([0.0, 0.7, 1.4, 2.1, 2.8, 3.5])
    assert np.all(np.diff(factor(tension_crack_depth=depth)) <= 1e-9)
    water = np.linspace(0.0, 2.0, 6)
    wet = factor(tension_crack_depth=2.0, tension_crack_water_depth=water)
    assert np.all(np.diff(wet) < 0.0)
    full = factor(tension_crack_depth=2.0, tension_crack_water_depth="full")
    assert_allclose(wet[-1], full, rtol=1e-7)


def test_a_dry_crack_lowers_steep_slopes_with_friction_by_four_to_twelve_percent() -> None:
    # the range that Michalowski (2013) and Utili (2013) give for the height (from memory)
    for face, phi in ((75.0, 20.0), (90.0, 20.0), (90.0, 30.0)):
        lower = 1.0 - factor(10.0, phi, face_angle=face, search_tension_crack=True) / factor(
            10.0, phi, face_angle=face
        )
        assert 0.04 < lower < 0.125


def test_a_searched_crack_is_as_deep_as_the_full_strength_holds_open() -> None:
    held = 2.0 * 10.0 / GAMMA * np.tan(np.radians(45.0 + 25.0 / 2.0))
    assert_allclose(factor(search_tension_crack=True), factor(tension_crack_depth=held), rtol=1e-9)
    deep = factor(40.0, 25.0, search_tension_crack=True)
    assert_allclose(deep, factor(40.0, 25.0, tension_crack_depth=HEIGHT / 2.0), rtol=1e-9)


def test_a_slope_under_a_pool_is_a_slope_of_buoyant_soil() -> None:
    light = Soil(
        strength=Strength(cohesion=10.0, friction_angle=25.0), unit_weight=SATURATED - WATER
    )
    dry = Rotational(soil=light, height=HEIGHT, face_angle=FACE)
    wet = factor(standing_water_level=np.array([HEIGHT, 2.0 * HEIGHT]))
    assert_allclose(wet, float(dry.evaluate().lowest), rtol=1e-6)


def test_a_pool_drawn_down_leaves_the_slope_with_its_water_line() -> None:
    level = 3.0
    result = check(standing_water_level=level).evaluate()
    shore = level / np.tan(np.radians(FACE))
    line = [[0.0, 0.0], [shore, level], [90.0, level]]
    kept = factor(water_line=line)
    assert_allclose(result.values.drawdown_factor, kept, rtol=1e-5)
    assert kept < float(result.lowest)
    assert "rapid-drawdown" in {notice.code for notice in result.notices}


@pytest.mark.parametrize("line", [None, [[0.0, 0.0], [20.0, 4.0], [90.0, 4.0]]])
def test_what_a_pool_leaves_out_is_said_beside_any_water_line(line: Any) -> None:
    pool = {"standing_water_level": 2.0, "horizontal_seismic_coefficient": 0.05}
    assert {"pool-holds-the-slope", "pool-still-in-shaking"} <= codes(water_line=line, **pool)


def test_a_support_force_does_not_hold_what_comes_out_above_it() -> None:
    low = check(support_force=5000.0, support_height=1e-3, support_angle=0.0).evaluate()
    assert float(low.lowest) <= float(factor()) * 1.001
    high = [float(factor(**{**SUPPORT, "support_force": force})) for force in (0.0, 20.0, 40.0)]
    assert high[0] < high[1] < high[2]


def test_a_support_force_does_not_hold_the_face_below_it() -> None:
    high = check(0.6, 18.5, height=2.4, face_angle=26.0, support_force=4.4, support_angle=18.0,
                 support_height=1.6)  # fmt: skip
    found = float(high.evaluate().lowest)
    slope, tan = loaded_slope(high, ()), np.tan(np.radians([[18.5]])) / found
    assert slope.support_station is not None
    opening = np.linspace(0.1, 2.0, 400)[None]
    below = spiral_through(slope, np.zeros((1, 1)), slope.support_station[:, None], opening, tan)
    assert np.max(cohesion_required(slope, below, 16)[0]) <= 0.6 / found * (1.0 + 1e-6)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"tension_crack_depth": 1.5, "tension_crack_water_depth": "full"},
        {"search_tension_crack": True},
        {"standing_water_level": 3.0},
        {"surcharge": 15.0, "surcharge_setback": 1.0, **SUPPORT},
    ],
)
def test_at_the_yield_coefficient_the_factor_is_one(fields: dict[str, Any]) -> None:
    yields = float(check(14.0, 28.0, **fields).evaluate().values.yield_seismic_coefficient)
    shaken = factor(14.0, 28.0, horizontal_seismic_coefficient=yields, **fields)
    assert yields > 0.0
    assert_allclose(shaken, 1.0, rtol=1e-6)


def test_a_slope_that_does_not_stand_yields_below_zero() -> None:
    assert float(check(2.0, 20.0).evaluate().values.yield_seismic_coefficient) < 0.0


@pytest.mark.parametrize("fields", [{"tension_crack_depth": 1.5}, {"search_tension_crack": True}])
def test_many_strengths_by_curves_agree_with_a_search_of_each(
    fields: dict[str, Any],
) -> None:
    rng = np.random.default_rng(2)
    c, phi = rng.uniform(8.0, 12.0, 420), rng.uniform(24.0, 30.0, 420)
    by_curve = factor(c, phi, **fields)
    assert_allclose(by_curve[:12], factor(c[:12], phi[:12], **fields), rtol=2e-4)


def test_the_notice_of_no_crack_goes_where_one_stands() -> None:
    assert "no-tension-crack" in codes()
    for crack in ({"tension_crack_depth": 1.0}, {"search_tension_crack": True}):
        assert "no-tension-crack" not in codes(**crack)
    full = codes(tension_crack_depth=1.0, tension_crack_water_depth="full")
    assert "crack-water-alone" in full


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"tension_crack_water_depth": 1.0}, "give the crack"),
        ({"tension_crack_depth": 7.0}, "shallower than the slope"),
        ({"tension_crack_depth": 1.0, "search_tension_crack": True}, "or have it searched"),
        ({"tension_crack_depth": 1.0, "tension_crack_water_depth": 2.0}, "no deeper than the"),
        ({"tension_crack_distance": 1.0}, "give the depth of the crack"),
        ({"support_force": 10.0}, "how high above the toe"),
        ({"support_force": 10.0, "support_height": 8.0}, "between toe and crest"),
        ({"water_line_rise": 1.0}, "give the water_line"),
    ],
)
def test_fields_that_contradict_each_other_are_refused(fields: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        check(**fields).evaluate()


def test_limits_count_on_the_crack_that_the_cohesion_of_the_limit_holds_open() -> None:
    cracked = check(search_tension_crack=True, target=1.0)
    needed = float(cracked.limits().required_cohesion)
    assert needed > float(check(target=1.0).limits().required_cohesion)
    assert_allclose(factor(needed, 25.0, search_tension_crack=True), 1.0, rtol=1e-6)
    stated = dataclasses.replace(cracked, search_tension_crack=False, tension_crack_depth=1.0)
    assert np.isnan(stated.limits().maximum_height)
