"""Sums of forces, and pressures under a base that put the resultant back where it was."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability.retaining_wall.equilibrium import Force, add_up, base_reaction

WIDTH = 3.0


def reaction_of(toe: float, heel: float) -> tuple[float, float]:
    """Force and its distance from the toe, by summing strips of the pressure on the base."""
    edges = np.linspace(0.0, WIDTH, 300_001)
    x = 0.5 * (edges[1:] + edges[:-1])
    # where one edge is bare, the triangle is as long as the force on it asks for
    pressure = np.maximum(toe + (heel - toe) * x / WIDTH, 0.0)
    strip = WIDTH / x.size
    force = float(np.sum(pressure) * strip)
    return force, float(np.sum(pressure * x) * strip / force)


@pytest.mark.parametrize("place", [1.0, 1.2, 1.5, 1.7, 2.0])
def test_within_the_middle_third_the_pressures_carry_the_force_where_it_acts(place: float) -> None:
    found = base_reaction(120.0, 120.0 * place + 35.0, 35.0, WIDTH)
    assert_allclose(found.resultant_distance, place)
    assert_allclose(found.eccentricity, 1.5 - place, atol=1e-12)
    assert_allclose(found.effective_width, 2.0 * min(place, WIDTH - place))
    force, at = reaction_of(float(found.toe_pressure), float(found.heel_pressure))
    assert_allclose([force, at], [120.0, place], rtol=1e-6)


@pytest.mark.parametrize("place", [0.05, 0.4, 0.99])
@pytest.mark.parametrize("side", ["toe", "heel"])
def test_outside_it_a_triangle_carries_it_and_the_far_edge_is_bare(place: float, side: str) -> None:
    from_toe = place if side == "toe" else WIDTH - place
    found = base_reaction(120.0, 120.0 * from_toe, 0.0, WIDTH)
    pressed = float(getattr(found, f"{side}_pressure"))
    bare = found.heel_pressure if side == "toe" else found.toe_pressure
    assert_allclose(bare, 0.0)
    contact = 3.0 * place  # the centre of a triangle lies a third of its length from its edge
    assert_allclose(0.5 * pressed * contact, 120.0)
    assert_allclose(found.effective_width, 2.0 * place)
    assert math.copysign(1.0, float(found.eccentricity)) == (1.0 if side == "toe" else -1.0)


def test_a_resultant_at_an_edge_or_beyond_it_has_no_pressure_and_no_width() -> None:
    places = np.array([-0.5, 0.0, 3.0, 3.5])
    found = base_reaction(120.0, 120.0 * places, 0.0, WIDTH)
    assert_allclose(found.resultant_distance, places)
    assert_allclose(found.effective_width, 0.0)
    assert np.isnan([found.toe_pressure, found.heel_pressure]).all()


@pytest.mark.parametrize("vertical", [0.0, -20.0])
def test_a_wall_that_does_not_press_has_no_reaction(vertical: float) -> None:
    found = base_reaction(vertical, 50.0, 20.0, WIDTH)
    assert math.isnan(float(found.resultant_distance))
    assert math.isnan(float(found.eccentricity))
    assert found.effective_width == 0.0
    assert math.isnan(float(found.toe_pressure))
    assert math.isnan(float(found.heel_pressure))


def test_a_light_wall_reacts_as_a_heavy_one() -> None:
    light = base_reaction(0.4, 0.4 * 1.2, 0.0, WIDTH)
    heavy = base_reaction(400.0, 400.0 * 1.2, 0.0, WIDTH)
    assert_allclose(light.resultant_distance, heavy.resultant_distance)
    assert_allclose(1000.0 * light.toe_pressure, heavy.toe_pressure)


def test_each_moment_stands_on_its_own_side() -> None:
    """Weight and thrust, uplift and water in front: none is netted against another."""
    weight = Force(vertical=100.0, x=1.5)
    thrust = Force(horizontal=40.0, vertical=10.0, x=3.0, y=2.0)
    water = Force(horizontal=6.0, y=0.5, opposite=True)
    uplift = Force(vertical=20.0, x=1.4, opposite=True)
    sums = add_up((weight, thrust, water, uplift))
    assert_allclose(sums.vertical, 90.0)
    assert_allclose(sums.horizontal, 34.0)
    assert_allclose(sums.righting, 150.0 + 30.0 + 3.0)
    assert_allclose(sums.overturning, 80.0 + 28.0)
    nothing = add_up(())
    assert_allclose([nothing.vertical, nothing.righting], 0.0)
