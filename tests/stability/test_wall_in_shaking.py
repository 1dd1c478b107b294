"""A wall in shaking: water that moves by itself, and the yield coefficient."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from slipmargin.stability import RetainingWall
from slipmargin.stability.ground.standing_water import MOVING_WATER_HEIGHT, moving_water_thrust

WALL = replace(
    RetainingWall.example(),
    water_table_depth=1.0,
    water_level_in_front=2.0,
    horizontal_seismic_coefficient=0.08,
)


def evaluated(wall: RetainingWall) -> Any:
    return wall.evaluate(leave_out=("overall",))


def test_moving_water_is_the_parabola_added_up() -> None:
    depth, k_h = 5.0, 0.2

    def pressure(below: float) -> float:
        return 7.0 / 8.0 * k_h * 9.81 * float(np.sqrt(depth * below))

    thrust = quad(pressure, 0.0, depth)[0]
    assert_allclose(moving_water_thrust(k_h, depth, 9.81), thrust, rtol=1e-9)
    about_bed = quad(lambda below: (depth - below) * pressure(below), 0.0, depth)[0]
    assert_allclose(MOVING_WATER_HEIGHT * depth, about_bed / thrust, rtol=1e-9)


def test_water_in_front_pulls_above_the_ground_there_alone() -> None:
    values = evaluated(WALL).values
    assert_allclose(values.moving_water_in_front, 7 / 12 * 0.08 * 9.81 * (2.0 - 1.0) ** 2)
    assert_allclose(values.moving_water_in_front_height, 1.0 + 0.4)
    assert values.moving_water_behind == 0.0
    buried = evaluated(replace(WALL, water_level_in_front=0.9)).values
    assert buried.moving_water_in_front == 0.0
    still = evaluated(replace(WALL, horizontal_seismic_coefficient=0.0)).values
    assert still.moving_water_in_front == 0.0


def test_free_water_behind_adds_its_thrust_and_moment() -> None:
    held, free = evaluated(WALL), evaluated(replace(WALL, free_water_behind=True))
    depth = float(held.values.water_height_behind)
    added = 7 / 12 * 0.08 * 9.81 * depth**2
    assert_allclose(free.values.horizontal_force - held.values.horizontal_force, added, rtol=1e-9)
    assert_allclose(
        free.values.overturning_moment - held.values.overturning_moment,
        added * 0.4 * depth,
        rtol=1e-9,
    )
    assert free.factors_of_safety["sliding"] < held.factors_of_safety["sliding"]
    left_out = "hydrodynamic-pressure-left-out"
    assert left_out in {one.code for one in held.notices}
    assert left_out not in {one.code for one in free.notices}


@pytest.mark.parametrize("fields", [{}, {"theory": "coulomb", "surcharge": 0.0}])
def test_shaken_by_its_yield_coefficient_a_wall_just_slides(fields: dict[str, Any]) -> None:
    wall = replace(
        WALL, water_table_depth=3.0, water_level_in_front=None, peak_acceleration=0.4, **fields
    )
    result = evaluated(wall)
    at_yield = result.values.yield_seismic_coefficient
    assert 0.02 < at_yield < 0.4
    shaken = replace(wall, horizontal_seismic_coefficient=at_yield)
    assert_allclose(evaluated(shaken).factors_of_safety["sliding"], 1.0, atol=2e-5)
    assert result.values.displacement_jibson > 0.0
    assert "displacement-of-sliding-alone" in {one.code for one in result.notices}
    assert np.isnan(evaluated(replace(wall, peak_acceleration=None)).values.displacement_jibson)


def test_yield_coefficients_of_many_walls_are_those_of_each() -> None:
    adhesion = np.array([0.0, 5.0, 20.0])
    wall = replace(WALL, base_adhesion=adhesion, peak_acceleration=0.4)
    together = evaluated(wall).values.yield_seismic_coefficient
    each = [
        evaluated(replace(wall, base_adhesion=one)).values.yield_seismic_coefficient
        for one in adhesion
    ]
    assert_allclose(together, each, rtol=1e-9)
    assert together[0] == 0.0 or np.all(np.diff(together) > 0.0)
