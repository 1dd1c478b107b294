"""Overall stability of a wall against a check of its own kind, and against shapes drawn out."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
import shapely
from made import UNFACTORED, most_cohesion_missing
from numpy.testing import assert_allclose

from slipmargin.stability import RetainingWall, Rotational, Soil
from slipmargin.stability.design.overall import design_overall
from slipmargin.stability.design.partial_factors import RECOMMENDED
from slipmargin.stability.retaining_wall.overall_stability import (
    MOST_WALLS,
    OverallStability,
    OverallStabilityValues,
)
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import InputError, Strength


def soil(c: Any = 0.0, phi: Any = 34.0, gamma: Any = 18.0, sat: Any = None) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


KEYED = Wall(
    unit_weight=24.0,
    stem_height=5.3,
    stem_top_thickness=0.3,
    stem_bottom_thickness=0.5,
    toe_width=0.8,
    heel_width=2.2,
    base_thickness=0.6,
    key_depth=0.5,
    key_width=0.4,
    key_position=1.6,
)


def check(**fields: Any) -> RetainingWall:
    usual: dict[str, Any] = {
        "backfill": soil(0.0, 34.0, 18.0, 20.0),
        "foundation": soil(3.0, 30.0, 18.5, 20.5),
        "wall": KEYED,
        "embedment": 1.0,
    }
    return RetainingWall(**(usual | fields))


def found(wall: RetainingWall) -> OverallStabilityValues:
    values: OverallStabilityValues = OverallStability(wall=wall).evaluate().values
    return values


@pytest.mark.parametrize("more", [{"surcharge": 8.0}, {"horizontal_seismic_coefficient": 0.05}])
def test_a_wall_shaped_like_a_slope_of_its_own_soil_is_that_slope(more: dict[str, float]) -> None:
    """Where the critical spiral of the slope passes below the wall anyway, by the other search."""
    ground, height, face = soil(25.0, 6.0), 6.0, 30.0
    run = height / math.tan(math.radians(face))
    wedge = Wall(
        unit_weight=18.0,
        shape="outline",
        points=[[0, 0], [run, 0], [run, height], [run - 1e-6, height]],
    )
    wall = found(RetainingWall(backfill=ground, foundation=ground, wall=wedge, **more))
    slope = Rotational(soil=ground, height=height, face_angle=face, **more).evaluate()
    assert slope.values.exit_x < 0.0
    assert_allclose(wall.factor_of_safety, slope.factors_of_safety["sliding"], rtol=1e-5)
    for name in ("pole_x", "pole_y", "exit_x", "entry_x"):
        assert_allclose(getattr(wall, name), getattr(slope.values, name), rtol=5e-3)


HARD = {
    "backfill": soil(4.0, 31.0, 17.5, 20.0),
    "foundation": soil(12.0, 24.0, 18.5, 20.5),
    "surcharge": 10.0,
    "water_table_depth": 2.4,
    "water_level_in_front": 0.6,
    "backfill_slope_angle": 7.0,
    "horizontal_seismic_coefficient": 0.06,
}


def section_of(w: Wall) -> tuple[float, float, float, float, Any]:
    """Back of the stem, heel, top of the slab, top of the wall, and its outline."""
    stem = w.toe_width + w.stem_bottom_thickness
    base, slab = stem + w.heel_width, w.base_thickness
    top = slab + w.stem_height
    concrete = shapely.Polygon(
        [(0, 0), (base, 0), (base, slab), (stem, slab), (stem, top),
         (stem - w.stem_top_thickness, top), (w.toe_width, slab), (0, slab)]
    )  # fmt: skip
    return stem, base, slab, top, concrete


def drawn(wall: RetainingWall, result: OverallStabilityValues) -> tuple[float, float]:
    """Driving moment and Σ c ∫ r² dα of the reported surface, point by point."""
    factor = result.factor_of_safety
    fill, ground = wall.backfill, wall.foundation
    tan_1, tan_2 = (
        math.tan(math.radians(s.strength.friction_angle)) / factor for s in (fill, ground)
    )
    pole = complex(result.pole_x, result.pole_y)
    start = complex(result.exit_x, result.exit_y) - pole
    turn_2, turn_1 = math.radians(result.opening_angle), math.radians(result.opening_angle_behind)
    psi_2, psi_1 = np.linspace(0.0, turn_2, 40_001), np.linspace(0.0, turn_1, 40_001)
    arc_2 = start * np.exp((1j - tan_2) * psi_2)
    arc_1 = arc_2[-1] * np.exp((1j - tan_1) * psi_1)
    w = wall.wall
    stem, base, slab, top, concrete = section_of(w)
    rise = math.tan(math.radians(wall.backfill_slope_angle))
    left = w.key_position
    key = shapely.box(left, -w.key_depth, left + w.key_width, 0.0)
    entry = arc_1[-1] + pole
    surface = [(z.real, z.imag) for z in np.concatenate((arc_2, arc_1[1:])) + pole]
    # from the entry down the backfill, over the wall and back along the ground in front
    over = [(stem, top), (stem - w.stem_top_thickness, top), (0.0, top), (0.0, wall.embedment)]
    mass = shapely.Polygon([*surface, *over]).buffer(0.0)
    assert entry.imag == pytest.approx(top + (entry.real - stem) * rise, abs=1e-6)
    far = 1e3
    behind = shapely.Polygon(
        [(stem, slab), (base, slab), (base, 0), (far, 0), (far, far), (stem, far)]
    )
    soil_1 = mass.intersection(behind).difference(concrete)
    below = shapely.box(-far, -far, far, 0.0).union(shapely.box(-far, -1.0, 0.0, wall.embedment))
    soil_2 = mass.intersection(below).difference(key)
    level_behind, level_before = top - wall.water_table_depth, wall.water_level_in_front
    wet = shapely.Polygon(
        [(-far, -far), (far, -far), (far, level_behind), (base, level_behind),
         (0.0, level_before), (-far, level_before)]
    )  # fmt: skip
    # soil on the heel is wet up to the level behind, as in the check itself
    wet_1 = shapely.box(-far, -far, far, level_behind)
    k_h = wall.horizontal_seismic_coefficient

    def moment(shape: Any, weight: float) -> float:
        away = complex(shape.centroid.x, shape.centroid.y) - pole
        return float(weight * shape.area * (away.real - k_h * away.imag))

    driving = moment(concrete, w.unit_weight) + moment(key, w.unit_weight)
    driving += moment(soil_1, fill.unit_weight) + moment(soil_2, ground.unit_weight)
    driving += moment(soil_1.intersection(wet_1), fill.saturated_unit_weight - fill.unit_weight)
    driving += moment(soil_2.intersection(wet), ground.saturated_unit_weight - ground.unit_weight)
    x = np.linspace(stem, entry.real, 200_001)
    drives = np.maximum(x - pole.real, 0.0) * (x >= pole.real)
    lever = k_h * (pole.imag - (top + (x - stem) * rise))
    driving += wall.surcharge * float(np.trapezoid(drives + lever, x))
    on_toe = shapely.box(0.0, slab, w.toe_width, wall.embedment)
    driving += max(moment(on_toe, ground.unit_weight), 0.0)
    for arc, psi, tan in ((arc_2, psi_2, tan_2), (arc_1, psi_1, tan_1)):
        point = arc + pole
        share = np.clip(point.real / base, 0.0, 1.0)
        level = level_before + share * (level_behind - level_before)
        pressure = wall.water_unit_weight * np.maximum(level - point.imag, 0.0)
        driving += tan * float(np.trapezoid(pressure * np.abs(arc) ** 2, psi))
    held = [
        float(np.trapezoid(np.abs(arc) ** 2, psi)) for arc, psi in ((arc_2, psi_2), (arc_1, psi_1))
    ]
    resisting = ground.strength.cohesion * held[0] + fill.strength.cohesion * held[1]
    return driving, resisting / factor


def test_the_moments_close_on_the_surface_drawn_out() -> None:
    wall = check(**HARD)
    result = found(wall)
    driving, resisting = drawn(wall, result)
    assert_allclose(result.driving_moment, driving, rtol=1e-3)
    assert_allclose(driving, resisting, rtol=1e-3)
    assert abs(float(result.residual)) < 1e-4


def test_no_rotation_found_otherwise_is_worse() -> None:
    """A general search over the same three unknowns, at the factor that was found."""
    wall = check()
    factor = float(found(wall).factor_of_safety)
    missing = most_cohesion_missing(wall, factor)
    assert missing <= 1e-4
    assert missing == pytest.approx(0.0, abs=1e-2)


def test_no_surface_cuts_the_wall() -> None:
    """A deep key at the toe forces the surface down."""
    deep = dataclasses.replace(KEYED, key_depth=2.5, key_position=0.0)
    wall = check(wall=deep)
    result = found(wall)
    pole = complex(result.pole_x, result.pole_y)
    start = complex(result.exit_x, result.exit_y) - pole
    tan = math.tan(math.radians(30.0)) / result.factor_of_safety
    turn = np.linspace(0.0, math.radians(result.opening_angle), 9999)
    arc = pole + start * np.exp((1j - tan) * turn)
    reached = [float(np.interp(x, arc.real, arc.imag)) for x in (0.0, 0.4)]
    assert max(reached) <= -2.5 + 1e-4
    assert max(reached) == pytest.approx(-2.5, abs=1e-2)
    assert result.factor_of_safety > found(check()).factor_of_safety
    assert result.exit_x <= 0.0
    assert result.heel_x >= 3.5


def test_the_factor_grows_with_the_strength_in_proportion() -> None:
    def strong(by: float) -> RetainingWall:
        def times(one: Soil) -> Soil:
            s = one.strength
            angle = math.degrees(math.atan(by * math.tan(math.radians(s.friction_angle))))
            return soil(by * s.cohesion, angle, one.unit_weight, one.saturated_unit_weight)

        plain = check()
        return check(backfill=times(plain.backfill), foundation=times(plain.foundation))

    one, more = found(strong(1.0)), found(strong(1.2))
    assert_allclose(more.factor_of_safety, 1.2 * one.factor_of_safety, rtol=1e-5)


def test_what_loads_the_ground_lowers_the_factor() -> None:
    wet = found(check(water_table_depth=np.array([5.0, 1.0]))).factor_of_safety
    assert np.all(np.diff(wet) < 1e-9)
    for name, rising in (
        ("surcharge", [0.0, 20.0]),
        ("horizontal_seismic_coefficient", [0.0, 0.1]),
        ("embedment", [1.2, 0.0]),
    ):
        factors = found(check(**{name: np.array(rising)})).factor_of_safety
        assert factors[1] < factors[0], name


def test_arrays_give_what_each_wall_gives() -> None:
    phi, depth = np.array([[28.0], [36.0]]), np.array([0.4, 1.2])
    whole = found(check(foundation=soil(3.0, phi), embedment=depth))
    assert whole.factor_of_safety.shape == (2, 2)
    for i in range(2):
        for j in range(2):
            one = found(check(foundation=soil(3.0, float(phi[i, 0])), embedment=float(depth[j])))
            assert_allclose(whole.factor_of_safety[i, j], one.factor_of_safety, rtol=1e-6)
            assert_allclose(whole.exit_x[i, j], one.exit_x, rtol=1e-2)


def test_a_wall_has_the_ground_around_it_among_its_limit_states() -> None:
    result = check().evaluate()
    assert list(result.factors_of_safety) == ["sliding", "overturning", "bearing", "overall"]
    values = result.parts["overall"].result.values
    assert result.factors_of_safety["overall"] == values.factor_of_safety
    assert set(result.parts["overall"].result.notices) <= set(result.notices)


def test_overall_stability_that_is_left_out_is_not_run() -> None:
    result = check().evaluate(leave_out=("overall",))
    assert list(result.factors_of_safety) == ["sliding", "overturning", "bearing"]
    assert not result.parts


def test_for_more_walls_than_a_search_is_worth_it_is_left_out_and_said() -> None:
    many = check(surcharge=np.zeros(MOST_WALLS + 1))
    result = many.evaluate()
    assert list(result.factors_of_safety) == ["sliding", "overturning", "bearing"]
    assert "overall-not-run" in {one.code for one in result.notices}
    with pytest.raises(InputError, match=str(MOST_WALLS)):
        design_overall(many, UNFACTORED)


def test_partial_factors_act_as_on_a_slope() -> None:
    wall = check(surcharge=10.0)
    plain = design_overall(wall, UNFACTORED)
    assert_allclose(plain.utilisation, 1.0 / found(wall).factor_of_safety, rtol=1e-12)
    bare = check()
    factor = found(bare).factor_of_safety
    second = design_overall(bare, RECOMMENDED["DA2"])
    assert_allclose(second.utilisation, 1.35 * 1.1 / factor, rtol=1e-12)
    first = design_overall(bare, RECOMMENDED["DA1-2"])
    # c′ and tan φ′ divided alike is strength reduction itself
    assert_allclose(first.utilisation, 1.25 / factor, rtol=1e-5)


def test_the_result_says_what_it_is() -> None:
    def said(wall: RetainingWall) -> set[str]:
        return {one.code for one in OverallStability(wall=wall).evaluate().notices}

    codes = said(check(foundation=soil(6.0, 0.0), backfill_slope_angle=5.0))
    assert {
        "overall-stability-approximate",
        "ground-in-front-counted",
        "slope-above-not-covered",
        "below-one",
        "below-customary-factor",
        "overall-stability-unbounded",
    } <= codes
    sound = said(check(embedment=0.0, foundation=soil(20.0, 36.0)))
    assert sound == {"overall-stability-approximate"}


def test_a_field_beyond_its_limits_is_refused() -> None:
    with pytest.raises(InputError, match="embedment"):
        found(dataclasses.replace(check(), embedment=-1.0))
