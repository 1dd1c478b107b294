"""10,000 series of five tests: one call of the fit against a loop over scipy.stats.linregress.

Prints both times and their ratio; the ratio should be 100 or more. Run it as a script.
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np
from numpy.testing import assert_allclose
from scipy.stats import linregress

from slipmargin.strength import fit_line

SERIES, REPEATS = 10_000, 5


def main() -> None:
    """Time both, check that they agree, print the ratio."""
    rng = np.random.default_rng(1)
    normal = np.array([25.0, 50.0, 100.0, 200.0, 300.0])
    shear = 5.0 + 0.6 * normal + rng.normal(0.0, 3.0, (SERIES, normal.size))

    start = perf_counter()
    loop = [linregress(normal, row) for row in shear]
    looped = perf_counter() - start

    at_once = np.inf
    for _ in range(REPEATS):
        start = perf_counter()
        line = fit_line(normal, shear)
        at_once = min(at_once, perf_counter() - start)

    assert_allclose(line.slope, [one.slope for one in loop], rtol=1e-9)
    assert_allclose(line.intercept, [one.intercept for one in loop], rtol=1e-6, atol=1e-9)
    errors = np.sqrt(line.residual_variance * line.variance_factors[1])
    assert_allclose(errors, [one.stderr for one in loop], rtol=1e-6)
    sys.stdout.write(
        f"{SERIES} series of {normal.size} tests: loop {looped:.3f} s, one call "
        f"{1e3 * at_once:.2f} ms, ratio {looped / at_once:.0f}\n"
    )


if __name__ == "__main__":
    main()
