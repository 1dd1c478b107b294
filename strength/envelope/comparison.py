"""Line or curve? How well each predicts a test it has not seen.

Each test is left out in turn, the envelope is fitted to the others, and its error at the
test left out is taken; the root mean square of these errors is the criterion. A straight
line with intercept and a power curve have two parameters each, so criteria that charge for
parameters (AIC and its small-sample form) do no more than compare residuals here, and the
small-sample form does not exist below five tests. Leaving one out needs no such theory and
judges what matters: the lowest and the highest test are predicted by extrapolation.

With fewer than four tests the fits that remain have no degree of freedom; nothing is said.

Source: Allen (1974), Technometrics 16(1), the prediction sum of squares; for a line the
error is r / (1 - h), r the residual and h the leverage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.envelope.power_curve import fit_power_curve
from slipmargin.strength.errors import InputError
from slipmargin.strength.line import fit_line

__all__ = ["EnvelopeComparison", "compare_envelopes"]

FEWEST_TESTS = 4

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EnvelopeComparison:
    """Root-mean-square error at a test left out, in the unit of the tests.

    ``None`` where it cannot be had; ``preferred`` is ``line``, ``power`` or ``None``.
    """

    line: float | None
    power: float | None

    @property
    def preferred(self) -> str | None:
        """The envelope with the smaller error."""
        if self.line is None or self.power is None:
            return None
        return "power" if self.power < self.line else "line"


def compare_envelopes(
    normal_stress: ArrayLike,
    shear_stress: ArrayLike,
    *,
    through_origin: bool = False,
    curve: bool = True,
) -> EnvelopeComparison:
    """Set the line, with its intercept or without, and the power curve side by side.

    ``curve`` tells whether one may be fitted to the points at all.
    """
    normal = np.asarray(normal_stress, dtype=float)
    shear = np.asarray(shear_stress, dtype=float)
    if normal.size < FEWEST_TESTS:
        return EnvelopeComparison(None, None)
    line = fit_line(normal, shear, intercept=not through_origin)
    with np.errstate(divide="ignore", invalid="ignore"):
        errors = line.residuals / (1.0 - line.leverage(normal))
    return EnvelopeComparison(_rms(errors), _rms(_curve_errors(normal, shear)) if curve else None)


def _curve_errors(normal: Floats, shear: Floats) -> Floats:
    errors = np.full(normal.shape, np.nan)
    for left_out in range(normal.size):
        kept = np.arange(normal.size) != left_out
        try:
            curve = fit_power_curve(normal[kept], shear[kept])
        except InputError:
            return errors
        errors[left_out] = shear[left_out] - curve.shear_strength(float(normal[left_out]))
    return errors


def _rms(errors: Floats) -> float | None:
    value = math.sqrt(float(np.mean(errors**2)))
    return value if math.isfinite(value) else None
