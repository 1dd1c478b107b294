"""What slope checks share of the ground, against areas, integrals and limits written here."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from slipmargin.stability.ground.standing_water import pool_pressure
from slipmargin.stability.ground.support import support_components, support_moment
from slipmargin.stability.ground.surcharge_strip import (
    centre_between,
    loaded_between,
    strip_edges,
)
from slipmargin.stability.ground.water_line import WaterLine
from slipmargin.strength import InputError

GROUND_X = np.array([-6.0, 0.0, 3.0, 5.0, 9.0, 12.0])
GROUND_Y = np.array([0.0, 0.0, 4.0, 3.5, 3.5, 8.0])


@pytest.mark.parametrize("level", [0.0, 2.0, 3.7, 5.0, 20.0])
def test_a_pool_presses_as_its_pressure_integrated_along_the_ground(level: float) -> None:
    def over(piece: int, what: int) -> float:
        start = complex(GROUND_X[piece], GROUND_Y[piece])
        way = complex(GROUND_X[piece + 1], GROUND_Y[piece + 1]) - start

        def density(share: float) -> float:
            at = start + share * way
            force = 10.0 * max(level - at.imag, 0.0) * way * -1j  # at a right angle, into it
            return (force.real, -force.imag, at.real * force.imag - at.imag * force.real)[what]

        kink = np.clip((level - start.imag) / way.imag, 0.0, 1.0) if way.imag else 0.5
        return float(quad(density, 0.0, kink)[0] + quad(density, kink, 1.0)[0])

    pool = pool_pressure(GROUND_X, GROUND_Y, level, 10.0)
    found = (pool.into_slope, pool.downward, pool.moment)
    for what, value in enumerate(found):
        assert_allclose(value, sum(over(k, what) for k in range(5)), rtol=1e-9, atol=1e-9)


def test_a_pool_on_many_grounds_is_that_on_each() -> None:
    heights = np.array([2.0, 5.0, 9.0])
    x = np.stack([np.zeros(3), heights / np.tan(np.radians(50.0))], axis=1)
    y = np.stack([np.zeros(3), heights], axis=1)
    levels = np.array([1.0, 5.0, 3.0])
    together = pool_pressure(x, y, levels, 9.81)
    for k in range(3):
        alone = pool_pressure(x[k], y[k], levels[k], 9.81)
        assert_allclose(together.into_slope[k], alone.into_slope)
        assert_allclose(together.moment[k], alone.moment)
    assert_allclose(together.into_slope, 9.81 * levels**2 / 2.0)


def test_parts_of_a_strip_add_up_to_the_strip() -> None:
    near, far = strip_edges(2.0, 1.5, 4.0)
    places = np.array([0.0, 3.0, 4.5, 6.0, 7.2, 30.0])
    parts = loaded_between(near, far, places[:-1], places[1:])
    assert_allclose(parts, [0.0, 1.0, 1.5, 1.2, 0.3])
    middles = centre_between(near, far, places[:-1], places[1:])
    assert_allclose(np.sum(parts * middles), 4.0 * 5.5)


def test_a_load_without_a_width_has_no_end() -> None:
    near, far = strip_edges(2.0, 1.0, None)
    assert_allclose(loaded_between(near, far, 0.0, np.array([2.0, 3.0, 50.0])), [0.0, 0.0, 47.0])


def test_a_support_force_turns_by_its_arm() -> None:
    along, up = support_components(100.0, 30.0)
    assert_allclose((along, up), (100.0 * np.sqrt(0.75), -50.0))
    # about a point on its own line of action it does not turn
    assert_allclose(support_moment(100.0, 30.0, 2.0 * np.sqrt(3.0), -2.0), 0.0, atol=1e-12)
    assert_allclose(support_moment(100.0, 0.0, 7.0, 2.0), -200.0)


def test_a_water_line_is_raised_as_a_whole() -> None:
    line = WaterLine.of([[0, 0], [10, 4]], rise=np.array([0.0, 0.5]))
    assert_allclose(line.level(5.0), [2.0, 2.5])
    assert_allclose(line.level(-3.0), [0.0, 0.5])
    assert_allclose(line.depth_below(5.0, 2.2), [0.0, 0.3])


@pytest.mark.parametrize("given", ["flat", [[0, 0, 1]], [[1, 0], [0, 1]], [[0, np.nan]], []])
def test_a_water_line_that_is_none_is_refused(given: object) -> None:
    with pytest.raises(InputError, match="water_line"):
        WaterLine.of(given)
