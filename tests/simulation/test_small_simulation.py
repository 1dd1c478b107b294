"""A short run of the simulation; ``printed_probabilities.py`` beside this file is the long one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from printed_probabilities import BINS, SIZES, simulate

SERIES = 500


@pytest.mark.parametrize("tests", SIZES)
def test_what_is_printed_as_so_many_percent_happens_about_that_often(tests: int) -> None:
    """c′ = 3 kPa and a scatter of 4 kPa: a free intercept is below zero in many series."""
    found = simulate(tests, 3.0, SERIES, np.random.default_rng([tests, 3]))
    for name in ("region", "cohesion_limits", "cautious_below"):
        assert getattr(found, name) >= 0.95 - 3.0 * math.sqrt(0.95 * 0.05 / SERIES), name
    for at_depth in found.printed:
        for share, (least, most) in zip(at_depth, BINS, strict=True):
            due = most - least
            chance = 3.0 * math.sqrt(due * (1.0 - due) / SERIES)
            # the rule at c′ = 0 moves the shares by up to a third of themselves
            assert 0.67 * due - chance <= share <= 1.33 * due + chance
