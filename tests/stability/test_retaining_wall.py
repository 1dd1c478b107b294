"""The retaining wall against printed drawings, and against itself done by hand."""

from __future__ import annotations

import math
from typing import Any

from made import cantilever, soil
from made import retaining_wall as check
from numpy.testing import assert_allclose

from slipmargin.stability.earth_pressure.coefficients import coulomb
from slipmargin.stability.retaining_wall.bearing_factors import depth_factors
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import footing_below
from slipmargin.stability.retaining_wall.section import Wall, wall_section


def das_soils(phi: float, gamma: float, phi2: float, c2: float, gamma2: float) -> dict[str, Any]:
    """Das takes two thirds of the foundation's φ and c on the base."""
    return {
        "backfill": soil(0.0, phi, gamma),
        "foundation": soil(c2, phi2, gamma2),
        "base_friction_angle": 2.0 / 3.0 * phi2,
        "base_adhesion": 2.0 / 3.0 * c2,
    }


def test_the_gravity_wall_comes_out_from_its_outline_too() -> None:
    """Das Ex 8.2: 5.7 m wall on a 0.8 m base; the drawn back is 15.03 deg, the book says 15."""
    outline = [
        [0, 0], [3.5, 0], [3.5, 0.8], [3.2, 0.8], [1.67, 6.5], [1.07, 6.5], [0.8, 0.8], [0, 0.8],
    ]  # fmt: skip
    v = (
        check(
            wall=Wall(unit_weight=23.58, shape="outline", points=outline),
            theory="coulomb",
            wall_friction_angle=2.0 / 3.0 * 32.0,
            embedment=1.5,
            passive_fraction=1.0,
            **das_soils(32.0, 18.5, 24.0, 30.0, 18.0),
        )
        .evaluate(leave_out=("overall",))
        .values
    )
    printed = {
        "thrust": 157.22,
        "thrust_horizontal": 126.65,
        "vertical_force": 360.77,
        "righting_moment": 731.54,
        "overturning_moment": 274.45,
        "factor_overturning": 2.67,
        "factor_sliding": 2.84,
        "eccentricity": 0.483,
        "toe_pressure": 188.43,
    }
    for line, value in printed.items():
        assert_allclose(getattr(v, line), value, rtol=0.004, err_msg=line)
    assert_allclose(v.wall_weight, 102.81 + 80.64 + 18.16 + 66.02, rtol=0.001)
    assert_allclose(v.thrust_arm, 2.83, rtol=0.002)
    assert_allclose(v.passive_resistance, 186.5925, rtol=0.001)


def test_the_cantilever_in_feet_comes_out_from_its_drawing_too() -> None:
    """Das Ex 8.1 (US) and the depth factor of overburden printed in its Ex 8.2; feet, kip."""
    wall = cantilever(
        unit_weight=0.15,
        stem_height=18.0,
        stem_top_thickness=1.5,
        stem_bottom_thickness=2.5,
        toe_width=4.0,
        heel_width=6.0,
        base_thickness=2.75,
    )
    phi1 = 34.0  # inferred: Rankine's coefficient at 10 deg is the printed 0.294
    v = (
        check(
            wall=wall,
            backfill_slope_angle=10.0,
            embedment=4.0,
            **das_soils(phi1, 0.117, 18.0, 0.9, 0.107),
        )
        .evaluate(leave_out=("overall",))
        .values
    )
    assert_allclose(v.active_coefficient, 0.294, rtol=0.002)
    assert_allclose(v.thrust_plane_height, 20.75 + 6.0 * math.tan(math.radians(10.0)), rtol=1e-9)
    assert_allclose(v.wall_weight, 4.05 + 1.35 + 5.156, rtol=0.001)
    assert_allclose(v.heel_soil_weight, 13.01, rtol=0.001)
    assert_allclose(v.thrust_vertical, 1.42, rtol=0.003)
    assert_allclose(v.vertical_force, 24.986, rtol=0.002)
    # the book takes the soil's weight at the middle of the heel, 0.03 ft short of its centroid
    assert_allclose(v.factor_overturning, 3.47, rtol=0.005)
    assert_allclose(v.toe_pressure, 2.44, rtol=0.005)
    depth = depth_factors("vesic", 18.0, 4.0 / v.effective_width)
    assert_allclose(depth.overburden, 1.107, rtol=0.001)


def test_equal_water_on_both_sides_leaves_the_weight_buoyant() -> None:
    level = 2.0
    wall = cantilever()
    height = 5.9
    v = (
        check(wall=wall, water_table_depth=height - level, water_level_in_front=level)
        .evaluate(leave_out=("overall",))
        .values
    )
    assert_allclose(v.water_thrust, v.water_thrust_in_front)
    section = wall_section(wall)
    wet_soil = section.heel_soil(0.0, below=level).area
    moist = section.heel_soil(0.0).area - wet_soil
    below = float(v.base_width) * level - float(wet_soil) - float(section.in_front(level).area)
    weight = 24.0 * section.wall.area - 9.81 * below + 18.0 * moist + (20.0 - 9.81) * wet_soil
    assert_allclose(v.vertical_force, weight)


def test_a_key_helps_by_the_counted_share_of_passive_resistance_only() -> None:
    key = cantilever(key_depth=0.6, key_width=0.4, key_position=1.2)
    without, idle = check(), check(wall=key)
    counted = check(wall=key, passive_fraction=1.0)
    plain = check(passive_fraction=1.0)

    def sliding(one: RetainingWall) -> float:
        return float(one.evaluate(leave_out=("overall",)).factors_of_safety["sliding"])

    assert sliding(idle) < sliding(without)
    assert sliding(counted) > sliding(plain)


def test_shaking_wholly_under_water_follows_the_buoyant_rule() -> None:
    """EN 1998-5 E.6 (from memory): tan ψ = k_h γ_sat / (γ_sat - γ_w) on the buoyant weight."""
    k_h = 0.06
    v = (
        check(water_table_depth=0.0, horizontal_seismic_coefficient=k_h, embedment=0.5)
        .evaluate(leave_out=("overall",))
        .values
    )
    psi = math.degrees(math.atan(k_h * 20.0 / (20.0 - 9.81)))
    k_ae = coulomb(32.0, seismic_angle=psi)
    assert_allclose(v.thrust + v.thrust_increment, 0.5 * (20.0 - 9.81) * 5.9**2 * k_ae)
    assert_allclose(v.thrust_increment_height, 0.6 * 5.9)


def test_a_push_into_the_fill_tilts_the_load_on_the_base_as_much_as_one_away_from_it() -> None:
    """The inclination factors hang on the size of H (EN 1997-1:2004, annex D.4)."""
    wet = check(water_table_depth=5.0, water_level_in_front=5.0)
    v = wet.evaluate(leave_out=("overall",)).values
    assert v.horizontal_force < 0.0
    footing = footing_below(wet, v)
    same, none = (
        footing.bearing(
            effective_width=v.effective_width,
            vertical_force=v.vertical_force,
            horizontal_force=push,
        ).capacity
        for push in (-v.horizontal_force, 0.0)
    )
    assert_allclose(v.bearing_capacity, same)
    assert same < 0.9 * none
