"""Fields put into a check, sweeps, and where a factor crosses a level."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import EarthPressure, InfiniteSlope, RetainingWall, Soil
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.stability.uncertainty.replaced import with_field, with_soil_field
from slipmargin.stability.uncertainty.sweep import break_even, sweep
from slipmargin.strength import InputError, Strength


def soil(name: str) -> Soil:
    return Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name=name)


SLOPE = InfiniteSlope(soil=soil("bank"), slope_angle=25.0, depth=2.0)
LAYERED = EarthPressure(
    height=4.0,
    layers=(Layer(soil=soil("fill"), thickness=1.0), Layer(soil=soil("clay"), thickness=3.0)),
)
WALL = RetainingWall(
    backfill=soil("fill"),
    foundation=soil("clay"),
    embedment=1.0,
    wall=Wall(
        unit_weight=24.0,
        shape="gravity",
        height=4.0,
        top_width=0.8,
        base_width=2.4,
        back_offset=0.0,
    ),
)


def test_a_soil_in_a_list_is_changed_where_it_lies_and_nowhere_else() -> None:
    changed = with_soil_field(LAYERED, "clay", "unit_weight", 20.0)
    assert [layer.soil.unit_weight for layer in changed.layers] == [18.0, 20.0]
    assert changed.layers[0] is LAYERED.layers[0]
    assert with_soil_field(LAYERED, "rock", "unit_weight", 20.0) is LAYERED


def test_a_field_of_a_group_or_of_one_in_a_list_is_changed_by_its_path() -> None:
    wider = with_field(WALL, ("wall", "base_width"), 3.0)
    assert wider.wall.base_width == 3.0
    assert WALL.wall.base_width == 2.4
    thicker = with_field(LAYERED, ("layers", "1", "thickness"), 5.0)
    assert [layer.thickness for layer in thicker.layers] == [1.0, 5.0]


@pytest.mark.parametrize(
    ("check", "path"),
    [
        (SLOPE, ("angle",)),
        (SLOPE, ("depth", "more")),
        (SLOPE, ("submerged",)),
        (WALL, ("wall",)),
        (WALL, ("wall", "shape")),
        (LAYERED, ("layers", "2", "thickness")),
        (LAYERED, ("layers", "first", "thickness")),
        (LAYERED, ("layers", "1")),
    ],
)
def test_what_is_no_number_of_the_check_is_refused(check: Any, path: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match="numeric fields here"):
        with_field(check, path, 1.0)


def with_depth(value: Any) -> InfiniteSlope:
    return dataclasses.replace(SLOPE, depth=value, slope_angle=38.0)


def test_the_elasticity_of_cohesion_over_weight_is_minus_one() -> None:
    """Without friction F = c / (γ d sin β cos β): a share more depth is that share less factor."""
    clay = dataclasses.replace(
        SLOPE,
        soil=dataclasses.replace(SLOPE.soil, strength=Strength(cohesion=20.0, friction_angle=0.0)),
    )
    swept = sweep(lambda value: dataclasses.replace(clay, depth=value), np.linspace(1.0, 3.0, 41))
    assert_allclose(swept.elasticity, -1.0, rtol=1e-6)
    two = sweep(lambda value: dataclasses.replace(clay, depth=value), np.array([1.0, 2.0]))
    assert np.isnan(two.elasticity).all()


def test_a_crossing_is_found_between_two_values_and_put_back() -> None:
    values = np.linspace(0.5, 6.0, 12)
    factors = sweep(with_depth, values).lowest
    for state in (None, "sliding"):
        depth = break_even(with_depth, values, factors, 1.1, state)
        assert depth is not None
        assert float(with_depth(depth).evaluate().lowest) == pytest.approx(1.1, rel=1e-10)
    assert break_even(with_depth, values, factors, 50.0) is None


@pytest.mark.parametrize("place", [0, 4, 11])
def test_a_level_met_at_a_value_of_the_sweep_is_that_value(place: int) -> None:
    values = np.linspace(0.5, 6.0, 12)
    factors = sweep(with_depth, values).lowest
    level = float(with_depth(float(values[place])).evaluate().lowest)
    exact = factors.copy()
    exact[place] = level
    assert break_even(with_depth, values, exact, level) == pytest.approx(values[place], rel=1e-9)


def test_a_gap_in_the_sweep_is_not_crossed() -> None:
    values = np.array([0.5, 6.0])
    assert break_even(with_depth, values, np.array([np.inf, 0.9]), 1.1) is None
