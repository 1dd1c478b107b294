"""What slope checks share of the ground, against lengths and limits written here."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability.ground.points import Line
from slipmargin.stability.ground.support import support_components, support_moment
from slipmargin.stability.ground.surcharge_strip import (
    loaded_between,
    strip_edges,
)
from slipmargin.strength import InputError


def test_parts_of_a_strip_add_up_to_the_strip() -> None:
    near, far = strip_edges(2.0, 1.5, 4.0)
    places = np.array([0.0, 3.0, 4.5, 6.0, 7.2, 30.0])
    parts = loaded_between(near, far, places[:-1], places[1:])
    assert_allclose(parts, [0.0, 1.0, 1.5, 1.2, 0.3])


def test_a_load_without_a_width_has_no_end() -> None:
    near, far = strip_edges(2.0, 1.0, None)
    assert_allclose(loaded_between(near, far, 0.0, np.array([2.0, 3.0, 50.0])), [0.0, 0.0, 47.0])


def test_a_support_force_turns_by_its_arm() -> None:
    along, up = support_components(100.0, 30.0)
    assert_allclose((along, up), (100.0 * np.sqrt(0.75), -50.0))
    # about a point on its own line of action it does not turn
    assert_allclose(support_moment(100.0, 30.0, 2.0 * np.sqrt(3.0), -2.0), 0.0, atol=1e-12)
    assert_allclose(support_moment(100.0, 0.0, 7.0, 2.0), -200.0)


def test_a_water_line_goes_on_level_beyond_its_ends() -> None:
    line = Line.of("water_line", [[0, 0], [10, 4]])
    assert_allclose(line.level(np.array([-3.0, 5.0, 12.0])), [0.0, 2.0, 4.0])


@pytest.mark.parametrize("given", ["flat", [[0, 0, 1]], [[1, 0], [0, 1]], [[0, np.nan]], []])
def test_a_water_line_that_is_none_is_refused(given: object) -> None:
    with pytest.raises(InputError, match="water_line"):
        Line.of("water_line", given)
