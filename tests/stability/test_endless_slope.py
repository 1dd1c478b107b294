"""The friction angle that ground without end needs, against the infinite slope."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import InfiniteSlope, Rotational, Soil
from slipmargin.stability.rotational.endless_slope import (
    deep_tangent,
    endless_tangent,
    skin_tangent,
)
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.strength import Strength

GAMMA, SATURATED, WATER = 18.0, 20.0, 9.81


def soil() -> Soil:
    strength = Strength(cohesion=0.0, friction_angle=30.0)
    return Soil(strength=strength, unit_weight=GAMMA, saturated_unit_weight=SATURATED)


def needed_by_infinite_slope(angle: float, k_h: float, pressure_ratio: float) -> float:
    """tan φ for a factor of 1; water flowing out level makes u the unit weight times depth."""
    values: Any = (
        InfiniteSlope(
            soil=Soil(strength=soil().strength, unit_weight=GAMMA, saturated_unit_weight=GAMMA),
            slope_angle=angle,
            depth=2.0,
            water_table_depth=0.0,
            seepage_angle=0.0,
            water_unit_weight=max(pressure_ratio, 1e-12) * GAMMA,
            horizontal_seismic_coefficient=k_h,
            target=1.0,
        )
        .evaluate()
        .values
    )
    return math.tan(math.radians(float(values.required_friction_angle)))


@pytest.mark.parametrize("angle", [1.0, 15.0, 35.0])
@pytest.mark.parametrize(("k_h", "ratio"), [(0.0, 0.0), (0.15, 0.0), (0.0, 0.3), (0.1, 0.2)])
def test_it_is_what_the_infinite_slope_needs(angle: float, k_h: float, ratio: float) -> None:
    way = np.exp(1j * np.radians([angle]))
    found = endless_tangent(way, np.array([k_h]), np.array([ratio]))
    assert_allclose(found, needed_by_infinite_slope(angle, k_h, ratio), rtol=1e-9)


def test_ground_that_water_lifts_needs_more_friction_than_there_is() -> None:
    way = np.exp(1j * np.radians([60.0]))
    assert endless_tangent(way, np.zeros(1), np.array([0.3]))[0] == np.inf


def loaded(**fields: Any) -> Any:
    return loaded_slope(Rotational(soil=soil(), **fields), ())


FACE = math.degrees(math.atan(0.5))
LINE = [[-10.0, 0.0], [0.0, 0.0], [10.0, 5.0], [30.0, 5.0]]


def test_the_skin_of_the_steepest_face_decides() -> None:
    found = skin_tangent(loaded(ground_line=LINE, horizontal_seismic_coefficient=0.1))
    assert_allclose(found, needed_by_infinite_slope(FACE, 0.1, 0.0), rtol=1e-9)
    ratio = skin_tangent(loaded(height=5.0, face_angle=FACE, pore_pressure_ratio=0.25))
    assert_allclose(ratio, needed_by_infinite_slope(FACE, 0.0, 0.25), rtol=1e-9)


def test_a_water_line_in_the_face_fills_its_skin_and_one_below_does_not() -> None:
    wet = skin_tangent(loaded(ground_line=LINE, water_line=LINE))
    assert_allclose(wet, needed_by_infinite_slope(FACE, 0.0, WATER / SATURATED), rtol=1e-9)
    lower = [[x, y - 1.0] for x, y in LINE]
    dry = skin_tangent(loaded(ground_line=LINE, water_line=lower))
    assert_allclose(dry, math.tan(math.radians(FACE)), rtol=1e-9)


def test_deep_down_the_ground_behind_or_in_front_decides() -> None:
    shaken = {"horizontal_seismic_coefficient": 0.12}
    level = deep_tangent(loaded(height=5.0, face_angle=40.0, **shaken))
    assert_allclose(level, 0.12)  # level ground without end slides at k_h
    rising = deep_tangent(loaded(height=5.0, face_angle=40.0, upper_slope_angle=18.0))
    assert_allclose(rising, math.tan(math.radians(18.0)))
    assert_allclose(deep_tangent(loaded(height=5.0, face_angle=40.0)), 0.0)


def test_firm_ground_stops_what_lies_deep_in_front_of_it() -> None:
    firm = {"firm_ground_depth": 2.0}
    shaken = {"horizontal_seismic_coefficient": 0.12}
    assert_allclose(deep_tangent(loaded(height=5.0, face_angle=40.0, **shaken, **firm)), 0.0)
    rising = loaded(height=5.0, face_angle=40.0, upper_slope_angle=18.0, **firm)
    assert_allclose(deep_tangent(rising), math.tan(math.radians(18.0)))


def test_water_counts_deep_down_where_the_ground_is_level() -> None:
    """Shaken level ground under water to its surface needs k_h / (1 - γ_w / γ_sat)."""
    shaken = loaded(ground_line=LINE, water_line=LINE, horizontal_seismic_coefficient=0.1)
    assert_allclose(deep_tangent(shaken), 0.1 / (1.0 - WATER / SATURATED))
