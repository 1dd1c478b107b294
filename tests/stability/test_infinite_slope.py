"""The infinite slope against closed forms and a plain-loop twin."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import InputError, PowerCurve, Strength


def soil(c: Any = 0.0, phi: Any = 30.0, gamma: Any = 19.0, sat: Any = None, **more: Any) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi, **more)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def slope(c: Any = 0.0, phi: Any = 30.0, gamma: Any = 19.0, **fields: Any) -> InfiniteSlope:
    return InfiniteSlope(soil=soil(c, phi, gamma, gamma), **({"depth": 3.0} | fields))


def factor(check: InfiniteSlope) -> float:
    return float(check.evaluate().factors_of_safety["sliding"])


def test_an_array_of_friction_angles_gives_an_array_of_factors_in_one_call() -> None:
    angles = np.linspace(20.0, 40.0, 201)
    factors = slope(4.0, angles, slope_angle=28.0).evaluate().factors_of_safety["sliding"]
    assert np.shape(factors) == (201,)
    singles = [factor(slope(4.0, float(angle), slope_angle=28.0)) for angle in angles]
    assert_allclose(factors, singles, rtol=1e-14)


def test_clay_below_a_softer_layer_slides_at_the_printed_depth() -> None:
    # GATE Civil 2013: 5 m of 40 kPa and 16 kN/m³ on 60 kPa and 20 kN/m³, at 25 deg: 8.832 m
    upper = slope(40.0, 0.0, 16.0, slope_angle=25.0, depth=5.0).evaluate().values
    assert upper.critical_depth > 5.0
    lower = slope(60.0, 0.0, 20.0, slope_angle=25.0, surcharge=5.0 * 16.0).evaluate().values
    assert_allclose(5.0 + lower.critical_depth, 8.832, rtol=0.0005)


def twin(check: InfiniteSlope) -> float:
    """The same slope by a force triangle on one column, in plain floats."""
    b = math.radians(check.slope_angle)
    above = min(check.water_table_depth, check.depth)
    below = check.depth - above
    weight = check.soil.unit_weight * above + check.soil.weight_below_water * below
    weight += check.surcharge
    push = check.horizontal_seismic_coefficient * weight
    area = 1.0 / math.cos(b)
    normal = weight * math.cos(b) - push * math.sin(b)
    along = weight * math.sin(b) + push * math.cos(b)
    theta = math.radians(check.seepage_angle)
    uplift = check.water_unit_weight * below / (1 + math.tan(b) * math.tan(theta)) * area
    c = check.soil.strength.cohesion + check.root_cohesion
    phi = math.radians(check.soil.strength.friction_angle)
    return (c * area + (normal - uplift) * math.tan(phi)) / along


def test_the_force_triangle_of_a_column_gives_the_same_factor() -> None:
    rng = np.random.default_rng(3)
    for _ in range(200):
        check = InfiniteSlope(
            soil=soil(rng.uniform(0, 20), rng.uniform(15, 42), 18.0, 20.0),
            slope_angle=rng.uniform(5, 45),
            depth=rng.uniform(0.5, 8),
            water_table_depth=rng.uniform(0, 4),
            seepage_angle=rng.uniform(0, 45),
            surcharge=rng.uniform(0, 20),
            root_cohesion=rng.uniform(0, 5),
            horizontal_seismic_coefficient=rng.uniform(0, 0.2),
        )
        expected = twin(check)
        if expected > 0.0:
            assert factor(check) == pytest.approx(expected, rel=1e-12)


def test_every_value_for_a_target_meets_the_target_when_put_back() -> None:
    target = 1.3
    base = {"slope_angle": 26.0, "depth": 2.5, "water_table_depth": 1.0, "target": target}
    values = slope(6.0, 32.0, 19.0, **base).evaluate().values
    phi = float(values.required_friction_angle)
    assert factor(slope(6.0, phi, 19.0, **base)) == pytest.approx(target, rel=1e-12)
    c = float(values.required_cohesion)
    assert factor(slope(c, 32.0, 19.0, **base)) == pytest.approx(target, rel=1e-12)
    depth = {"depth": float(values.critical_depth)}
    assert factor(slope(6.0, 32.0, 19.0, **base | depth)) == pytest.approx(target, rel=1e-12)
    k_y = {"horizontal_seismic_coefficient": float(values.yield_seismic_coefficient)}
    assert factor(slope(6.0, 32.0, 19.0, **base | k_y)) == pytest.approx(1.0, rel=1e-12)


def test_the_critical_water_table_meets_the_target_when_put_back() -> None:
    base = {"slope_angle": 24.0, "depth": 2.5, "target": 1.3}
    check = slope(5.0, 31.0, 19.0, **base, water_table_depth=1.0)
    table = float(check.evaluate().values.critical_water_table_depth)
    assert 0.0 < table < 2.5
    at_table = slope(5.0, 31.0, 19.0, **base, water_table_depth=table)
    assert factor(at_table) == pytest.approx(1.3, rel=1e-12)


def test_no_friction_angle_meets_a_target_where_water_carries_the_weight() -> None:
    values = (
        slope(slope_angle=44.0, gamma=15.0, water_table_depth=0.0, seepage_angle=0.0, target=1.3)
        .evaluate()
        .values
    )
    assert float(values.effective_normal_stress) < 0.0
    assert math.isnan(float(values.required_friction_angle))


def test_without_a_target_no_strength_is_required() -> None:
    check = slope(6.0, 32.0, 19.0, slope_angle=26.0, depth=2.5, water_table_depth=1.0)
    values = check.evaluate().values
    assert math.isnan(float(values.required_friction_angle))
    assert math.isnan(float(values.required_cohesion))
    # the limits of the slope are those of standing at all
    at_limit = dataclasses.replace(check, depth=float(values.critical_depth))
    assert factor(at_limit) == pytest.approx(1.0, rel=1e-12)


def codes(check: InfiniteSlope) -> set[str]:
    return {notice.code for notice in check.evaluate().notices}


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"slope_angle": 40.0}, "below-one"),
        ({"slope_angle": 25.0, "target": 1.5}, "below-target"),
        ({"slope_angle": 20.0}, "no-water-assumed"),
        ({"slope_angle": 20.0, "root_cohesion": 3.0}, "root-cohesion-counted"),
        ({"slope_angle": 20.0, "horizontal_seismic_coefficient": 0.1}, "pseudo-static"),
        (
            {"slope_angle": 44.0, "gamma": 15.0, "water_table_depth": 0.0, "seepage_angle": 0.0},
            "no-effective-stress",
        ),
    ],
)
def test_what_a_user_must_know_is_said(fields: dict[str, Any], code: str) -> None:
    assert code in codes(slope(**fields))


def test_a_stress_outside_the_tested_range_is_said_with_how_far() -> None:
    check = InfiniteSlope(
        soil=soil(4.0, 31.0, tested_range=(50.0, 200.0)), slope_angle=26.0, depth=1.0
    )
    notice = next(n for n in check.evaluate().notices if n.code == "outside-tested-stress-range")
    below = 50.0 - 19.0 * math.cos(math.radians(26.0)) ** 2
    assert f"{below:.1f} kPa below the lowest" in notice.text


def test_a_missing_saturated_weight_is_said_only_where_water_is() -> None:
    wet = InfiniteSlope(soil=soil(), slope_angle=20.0, depth=3.0, water_table_depth=1.0)
    assert "saturated-unit-weight-missing" in codes(wet)
    deep = InfiniteSlope(soil=soil(), slope_angle=20.0, depth=3.0, water_table_depth=5.0)
    assert "saturated-unit-weight-missing" not in codes(deep)


def test_a_water_table_in_a_submerged_slope_is_refused() -> None:
    with pytest.raises(InputError, match="submerged"):
        slope(slope_angle=20.0, submerged=True, water_table_depth=0.0).evaluate()


def curved(n: Any = 0.8, **more: Any) -> InfiniteSlope:
    """A slope on a power curve through the origin: τ = 0.75 · 101.325 (σ′/101.325)ⁿ."""
    strength = Strength.from_curve(
        PowerCurve(coefficient=0.75, exponent=n, tested_range=(20.0, 200.0))
    )
    soil_ = Soil(strength=strength, unit_weight=19.0, saturated_unit_weight=19.0)
    return InfiniteSlope(soil=soil_, **({"slope_angle": 28.0, "depth": 3.0} | more))


def test_a_curved_envelope_is_used_at_the_stress_on_the_plane() -> None:
    stress = 19.0 * 3.0 * math.cos(math.radians(28.0)) ** 2
    strength = 0.75 * 101.325 * (stress / 101.325) ** 0.8
    shear = 19.0 * 3.0 * math.sin(math.radians(28.0)) * math.cos(math.radians(28.0))
    assert factor(curved()) == pytest.approx(strength / shear, rel=1e-12)


def test_design_values_of_a_curved_envelope_meet_the_target_when_put_back() -> None:
    base = {"slope_angle": 24.0, "water_table_depth": 2.0, "target": 1.4}
    values = curved(**base).evaluate().values
    depth = {"depth": float(values.critical_depth)}
    assert factor(curved(**base | depth)) == pytest.approx(1.4, rel=1e-8)
    table = {"water_table_depth": float(values.critical_water_table_depth)}
    assert factor(curved(**base | table)) == pytest.approx(1.4, rel=1e-8)
    k_y = {"horizontal_seismic_coefficient": float(values.yield_seismic_coefficient)}
    assert factor(curved(**base | k_y)) == pytest.approx(1.0, rel=1e-8)
    assert math.isnan(float(values.required_friction_angle))


def test_a_curved_envelope_takes_arrays() -> None:
    angles = np.array([20.0, 28.0, 33.0])
    many = curved(slope_angle=angles, target=1.3).evaluate()
    for i, angle in enumerate(angles):
        one = curved(slope_angle=float(angle), target=1.3).evaluate()
        assert many.factors_of_safety["sliding"][i] == pytest.approx(
            factor(curved(slope_angle=float(angle)))
        )
        assert_allclose(many.values.critical_depth[i], one.values.critical_depth, rtol=1e-8)


def test_under_still_water_the_buoyant_weight_presses_and_drives() -> None:
    """F = c / (γ′ d sin β cos β) + tan φ / tan β, γ′ = 20 - 9.81."""
    beta = math.radians(24.0)
    sin, cos = math.sin(beta), math.cos(beta)
    check = slope(6.0, 31.0, slope_angle=24.0, depth=2.0, submerged=True)
    check = dataclasses.replace(check, soil=soil(6.0, 31.0, 18.0, 20.0))
    weight = (20.0 - 9.81) * 2.0
    assert float(check.evaluate().values.column_weight) == pytest.approx(weight)
    expected = 6.0 / (weight * sin * cos) + math.tan(math.radians(31.0)) / math.tan(beta)
    assert factor(check) == pytest.approx(expected, rel=1e-12)


def shaken_below_still_water(beta: float, k: float, c: float, phi: float, d: float) -> float:
    """A column by its saturated weight and every water pressure on it, none of them buoyancy.

    The water stands level, 7 m above the ground at the foot of the column.
    """
    gamma, water = 20.0, 9.81
    tan = math.tan(beta)
    # water pressure times area on the ground, the plane and both sides; +x out of the slope,
    # the ground falling toward it over a run of 1
    at = {"foot": 7.0, "head": 7.0 - tan}
    ground = water * (at["foot"] + at["head"]) / 2.0
    plane = ground + water * d
    sides = water * ((at["head"] + d / 2.0) - (at["foot"] + d / 2.0)) * d
    out = k * gamma * d + (plane - ground) * tan + sides
    down = gamma * d - (plane - ground)
    normal = down * math.cos(beta) - out * math.sin(beta)
    along = down * math.sin(beta) + out * math.cos(beta)
    return (c / math.cos(beta) + normal * math.tan(phi)) / along


@pytest.mark.parametrize("k", [0.0, 0.15, 0.3])
@pytest.mark.parametrize("c", [0.0, 6.0])
def test_under_still_water_the_saturated_weight_shakes(c: float, k: float) -> None:
    beta, phi = math.radians(15.0), math.radians(30.0)
    check = slope(c, 30.0, 20.0, slope_angle=15.0, submerged=True, horizontal_seismic_coefficient=k)
    expected = shaken_below_still_water(beta, k, c, phi, 3.0)
    assert factor(check) == pytest.approx(expected, rel=1e-12)


def test_design_values_under_still_water_meet_their_target_when_put_back() -> None:
    base = {"slope_angle": 15.0, "submerged": True, "surcharge": 4.0, "target": 1.3}
    for check in (slope(3.0, 30.0, 20.0, **base), curved(**base)):
        shaken = dataclasses.replace(check, horizontal_seismic_coefficient=0.15)
        values = shaken.evaluate().values
        depth = dataclasses.replace(shaken, depth=float(values.critical_depth))
        assert factor(depth) == pytest.approx(1.3, rel=1e-8)
        k_y = float(values.yield_seismic_coefficient)
        at_yield = dataclasses.replace(check, horizontal_seismic_coefficient=k_y)
        assert factor(at_yield) == pytest.approx(1.0, rel=1e-8)


@pytest.mark.parametrize(
    ("table", "where"), [(0.5, "below the water table"), (6.0, "above the water table")]
)
def test_the_critical_depth_meets_the_target_when_put_back(table: float, where: str) -> None:
    base = {"slope_angle": 36.0, "target": 1.2, "water_table_depth": table}
    depth = float(slope(10.0, 30.0, 19.0, depth=8.0, **base).evaluate().values.critical_depth)
    assert (depth > table) == (where == "below the water table")
    assert factor(slope(10.0, 30.0, 19.0, depth=depth, **base)) == pytest.approx(1.2, rel=1e-9)


@pytest.mark.parametrize("table", [None, 0.0, 1.0])
@pytest.mark.parametrize("phi", [38.0, 25.0])  # with 25 the depth hardly helps below water
def test_a_slope_flat_enough_at_any_depth_has_no_critical_one(
    phi: float, table: float | None
) -> None:
    check = slope(3.0, phi, 19.0, slope_angle=12.0, depth=4.0, water_table_depth=table)
    assert factor(dataclasses.replace(check, depth=1e4)) > 1.0
    assert math.isnan(float(check.evaluate().values.critical_depth))


def test_a_load_that_already_fails_at_the_surface_leaves_no_depth() -> None:
    check = slope(2.0, 20.0, 19.0, slope_angle=35.0, depth=1.0, surcharge=60.0)
    assert factor(dataclasses.replace(check, depth=1e-6)) < 1.0
    assert float(check.evaluate().values.critical_depth) == 0.0


def test_a_curved_envelope_has_a_critical_depth_within_the_first_metre_too() -> None:
    steep = {"slope_angle": 55.0, "target": 1.5}
    depth = float(curved(**steep).evaluate().values.critical_depth)
    assert 0.01 < depth < 1.0
    assert factor(curved(**steep, depth=depth)) == pytest.approx(1.5, rel=1e-8)


def test_a_curved_envelope_under_still_water_has_no_water_table_to_fall() -> None:
    values = curved(submerged=True, target=1.2).evaluate().values
    assert math.isnan(float(values.critical_water_table_depth))
    assert math.isfinite(float(values.critical_depth))


@pytest.mark.parametrize(
    "fields",
    [
        {"horizontal_seismic_coefficient": 1.01},
        {"slope_angle": 90.0},
        {"depth": 0.0},
        {"water_table_depth": -0.01},
        {"surcharge": -1.0},
        {"root_cohesion": -1.0},
        {"water_unit_weight": 0.0},
        {"target": 0.0},
    ],
    ids=lambda fields: next(iter(fields)),
)
def test_a_slope_that_cannot_be_is_refused_by_the_name_of_its_field(fields: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refused:
        slope(**({"slope_angle": 20.0} | fields)).evaluate()
    assert refused.value.place == next(iter(fields))


def test_water_that_drains_into_the_slope_is_not_counted_in_silence() -> None:
    codes = {}
    for angle in (25.0, 60.0):
        slope = InfiniteSlope(
            soil=Soil(
                strength=Strength(cohesion=4.0, friction_angle=30.0),
                unit_weight=18.0,
                saturated_unit_weight=20.0,
            ),
            slope_angle=25.0,
            depth=2.0,
            water_table_depth=0.5,
            seepage_angle=angle,
        )
        codes[angle] = {notice.code for notice in slope.evaluate().notices}
    assert "seepage-into-the-slope" not in codes[25.0]
    assert "seepage-into-the-slope" in codes[60.0]


def test_a_list_is_refused_by_name() -> None:
    slope = dataclasses.replace(InfiniteSlope.example(), slope_angle=[24.0, 28.0])
    with pytest.raises(InputError, match="slope_angle"):
        slope.evaluate()
