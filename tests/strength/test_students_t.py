"""Draws of the bivariate t against the distributions that scipy gives."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats
from scipy.stats import qmc

from slipmargin.strength.envelope.students_t import drawn_t

FREEDOM = [1, 2, 3, 12, 200]


@pytest.mark.parametrize("freedom", FREEDOM)
def test_the_distance_is_that_of_an_f_distribution(freedom: int) -> None:
    beyond = np.array([3e-6, 1e-3, 0.01, 0.5, 0.99, 1.0 - 1e-6])
    pairs = drawn_t(freedom, np.stack([beyond, np.linspace(0.0, 0.9, beyond.size)], axis=1))
    # r²/2 of a bivariate t follows F(2, ν): Kotz & Nadarajah (2004), from memory
    assert_allclose(np.sum(pairs**2, axis=1) / 2.0, stats.f.isf(beyond, 2, freedom), rtol=1e-8)


@pytest.mark.parametrize("freedom", FREEDOM)
def test_each_half_is_a_t_of_its_own(freedom: int) -> None:
    points = qmc.Sobol(2, scramble=True, rng=np.random.default_rng(freedom)).random(1 << 15)
    for half in drawn_t(freedom, np.clip(points, 1e-15, None)).T:
        for level in (0.01, 0.2, 0.5, 0.9, 0.999):
            share = np.mean(half < stats.t.ppf(level, freedom))
            assert share == pytest.approx(level, abs=2e-4 + 2e-3 * min(level, 1.0 - level))
