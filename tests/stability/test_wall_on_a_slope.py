"""A wall above ground that falls away: Vesić's factors, their limits, and what is said."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import RetainingWall
from slipmargin.stability.retaining_wall.bearing_capacity import Footing
from slipmargin.stability.retaining_wall.bearing_factors import (
    METHODS,
    bearing_factors,
    ground_factors,
)
from slipmargin.strength import InputError

LEVEL = replace(RetainingWall.example(), passive_fraction=0.0)


def test_the_factors_of_falling_ground_are_those_of_vesic() -> None:
    for phi, beta in ((30.0, 10.0), (38.0, 26.6), (20.0, 15.0)):
        found = ground_factors(phi, beta)
        g_q = (1.0 - math.tan(math.radians(beta))) ** 2
        n_c_tan = float(bearing_factors("vesic", phi).cohesion) * math.tan(math.radians(phi))
        assert_allclose(found.overburden, g_q)
        assert_allclose(found.weight, g_q)
        assert_allclose(found.cohesion, g_q - (1.0 - g_q) / n_c_tan)


def test_level_ground_has_factors_of_one_and_none_is_below_zero() -> None:
    for phi in (0.0, 25.0):
        found = ground_factors(phi, 0.0)
        assert (found.cohesion, found.overburden, found.weight) == (1.0, 1.0, 1.0)
    steep = ground_factors(np.array([5.0, 0.0, 1e-9]), 44.0)
    assert np.all(steep.cohesion >= 0.0)
    assert np.all(steep.overburden >= 0.0)


def test_without_friction_the_limit_is_that_of_a_little_friction() -> None:
    little, none = ground_factors(1e-4, 20.0), ground_factors(0.0, 20.0)
    assert_allclose(none.cohesion, 1.0 - 2.0 * math.radians(20.0) / (math.pi + 2.0))
    # Vesić's two formulas do not meet: the lower one stands on each side
    assert little.cohesion <= none.cohesion


def test_missing_ground_weighs_against_a_base_without_friction() -> None:
    found = Footing(
        method="vesic", friction_angle=0.0, cohesion=40.0, overburden=15.0, unit_weight=18.0,
        width=2.0, ground_fall=15.0,
    ).bearing(effective_width=2.0, vertical_force=100.0)  # fmt: skip
    beta = math.radians(15.0)
    cohesive = 40.0 * (math.pi + 2.0) * (1.0 - 2.0 * beta / (math.pi + 2.0))
    g_q = (1.0 - math.tan(beta)) ** 2
    weight = 0.5 * 18.0 * 2.0 * -2.0 * math.sin(beta) * g_q
    assert_allclose(found.capacity, cohesive + 15.0 * g_q + weight)


@pytest.mark.parametrize("method", METHODS)
def test_bearing_falls_with_the_ground_and_nothing_else_does(method: str) -> None:
    level = replace(LEVEL, bearing_method=method)
    falls = np.array([0.0, 5.0, 15.0, 25.0])
    found = replace(level, ground_fall_in_front=falls).evaluate(leave_out=("overall",))
    bearing = found.factors_of_safety["bearing"]
    still = level.evaluate(leave_out=("overall",)).factors_of_safety
    assert_allclose(bearing[0], still["bearing"])
    assert np.all(np.diff(bearing) < 0.0)
    assert_allclose(found.factors_of_safety["sliding"], still["sliding"])


def test_overall_stability_is_not_given_where_the_ground_falls_away() -> None:
    falling = replace(LEVEL, ground_fall_in_front=10.0)
    assert "overall" not in falling.limit_states
    result = falling.evaluate()
    assert "overall" not in result.factors_of_safety
    assert "ground-falls-away" in {one.code for one in result.notices}
    steep = replace(LEVEL, ground_fall_in_front=40.0).evaluate(leave_out=("overall",))
    assert "ground-in-front-too-steep" in {one.code for one in steep.notices}


def test_passive_resistance_of_falling_ground_is_refused() -> None:
    with pytest.raises(InputError, match="passive_fraction"):
        replace(LEVEL, passive_fraction=0.5, ground_fall_in_front=10.0).evaluate()
