"""Draws of Student's t against the inverse of χ² itself."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slipmargin.strength.envelope.students_t import drawn_t


@pytest.mark.parametrize("freedom", [1, 2, 3, 12, 200])
def test_the_table_gives_what_the_inverse_of_chi_squared_gives(freedom: int) -> None:
    rng = np.random.default_rng(freedom)
    far = np.array([1e-300, 1e-12, 3e-6, 0.5, 1.0 - 4e-6, 1.0 - 1e-9])
    uniforms = rng.random((2000 + far.size, 3))
    uniforms[: far.size, 2] = far
    chi2 = stats.chi2.isf(uniforms[:, 2], freedom)
    wanted = stats.norm.ppf(uniforms[:, :2]) * np.sqrt(freedom / chi2)[:, None]
    # one less than a number near 1 is known to 1e-16 / 1e-9 only
    assert_allclose(drawn_t(freedom, uniforms)[: far.size], wanted[: far.size], rtol=1e-6)
    assert_allclose(drawn_t(freedom, uniforms)[far.size :], wanted[far.size :], rtol=1e-10)
