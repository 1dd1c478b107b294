"""The joint uncertainty of the coefficient and the exponent of one power curve.

In place of the coefficient stands the height of the curve at the stress where, by the
linearised problem, height and exponent are not correlated. The two follow a bivariate t with
the standard errors of the fit; each pair is a curve again.

A draw with an exponent above 1 bends upward, which no soil does: it is put to exponent 1 at
the same height, which is what least squares gives where the exponent is held at 1, as the two
are not correlated. A draw that falls with stress is put to the level line of its height, and
one whose height is not above zero has no strength. No draw is thrown away.

Source: the linearisation is that of ``power_curve``; the sampling that of ``students_t``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.strength.envelope.power_curve import PowerCurve
from slipmargin.strength.envelope.students_t import Bivariate, outline
from slipmargin.strength.errors import InputError

__all__ = ["JointCurve"]

Floats = NDArray[np.float64]

_LEAST = 1e-5
"""Least coefficient and exponent of a draw: a curve takes both above 0."""


@dataclass(frozen=True, slots=True)
class JointCurve(Bivariate):
    """The distribution of (A, n) of one fitted curve.

    Raises
    ------
    InputError
        A curve without variances, or one that bends upward.
    """

    curve: PowerCurve
    degrees_of_freedom: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "degrees_of_freedom", self.curve.degrees_of_freedom)
        if not (self.curve.degrees_of_freedom > 0 and np.all(np.isfinite(self.curve.variances))):
            raise InputError(
                "tests", "none to spare", "too few tests to know the uncertainty of a curve"
            )
        if not float(self.curve.exponent) <= 1.0:
            raise InputError("exponent", f"{self.curve.exponent:.3f}", "the curve bends upward")

    @property
    def centre(self) -> tuple[float, float]:
        """A and n of the fit."""
        return float(self.curve.coefficient), float(self.curve.exponent)

    @property
    def log_ratio(self) -> float:
        """Logarithm of the stress, over pa, at which height and exponent are uncorrelated."""
        _, of_exponent, joint = self.curve.variances
        if of_exponent == 0.0:
            return 0.0
        return -joint / (float(self.curve.coefficient) * of_exponent)

    @property
    def exponent_error(self) -> float:
        """Standard error of the exponent."""
        return math.sqrt(self.curve.variances[1])

    @property
    def share_bent_upward(self) -> float:
        """Share of the draws whose exponent lies above 1 and is put to 1."""
        if self.exponent_error == 0.0:
            return 0.0
        score = (self.centre[1] - 1.0) / self.exponent_error
        return float(scipy.special.stdtr(self.degrees_of_freedom, score))

    def region(
        self, confidence: float, points: int = 180, *, single: bool = False
    ) -> tuple[Floats, Floats]:
        """Coefficients and exponents on the outline of ``JointStrength.region``, each a curve."""
        judged = 1 if single else 2
        return self.at(outline(self.degrees_of_freedom, confidence, judged, points))

    def at(self, shift: Floats) -> tuple[Floats, Floats]:
        """A and n at (n, 2) standard errors of height and exponent, each pair a strength."""
        stress = self.curve.reference_pressure * math.exp(self.log_ratio)
        relative = self.curve.standard_error(stress) / self.curve.shear_strength(stress)
        height = 1.0 + float(relative) * shift[:, 0]
        exponent = self.centre[1] + self.exponent_error * shift[:, 1]
        held = np.clip(exponent, _LEAST, 1.0)
        coefficient = self.centre[0] * height * np.exp((self.centre[1] - held) * self.log_ratio)
        return np.maximum(coefficient, _LEAST), held
