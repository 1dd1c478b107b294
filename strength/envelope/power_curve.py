"""A curved envelope through the origin: τ = A pa (σ′/pa)^n, with its uncertainty.

Real envelopes bend: they pass through the origin in a soil without true cohesion and
flatten as the stress grows, 0 < n <= 1. With n = 1 the curve is a line through the origin
and A is tan φ′. It is fitted by least squares on the shear stress, every test with equal
weight, as the line is.

Assumptions: no strength at zero effective stress; normal stress exact against shear stress;
scatter normal and the same at every stress. The errors are those of the linearised problem,
covariance s² (JᵀJ)⁻¹ with s² = Σ r² / (m - 2) over m tests, carried to the shear strength
by the same linearisation (delta method):

    var τ = (∂τ/∂A)² var A + 2 (∂τ/∂A)(∂τ/∂n) cov(A, n) + (∂τ/∂n)² var n

The tangent at σ′ is the pair a check may use near that stress: slope n τ/σ′, intercept
(1 - n) τ. The secant is the line from the origin to the curve.

Sources: the form as in Baker (2004), J. Geotech. Geoenviron. Eng. 130(11), and older work;
the fit is checked against the certified set DanielWood of the NIST Statistical Reference
Datasets.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy  # its submodules load on first use, which keeps start-up light
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.line import student_t
from slipmargin.strength.pair import Numeric, Pair
from slipmargin.strength.traced import value_of

__all__ = ["ATMOSPHERIC_PRESSURE", "Parameter", "PowerCurve", "fit_power_curve"]

ATMOSPHERIC_PRESSURE = 101.325
"""Standard atmosphere [kPa], by definition (CGPM 1954); pa of the curve."""

Floats = NDArray[np.float64]

_FURTHEST = 100.0
"""Logarithm of the largest ratio of strengths a curve is carried over."""
_NEWTON, _LONGEST = 20, 1.0


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of an envelope [unit]; ``None`` for what the tests cannot tell.

    ``assumed`` where it was stated beforehand and not found.
    """

    name: str
    unit: str
    best_fit: Numeric
    standard_error: float | None
    limits: tuple[float, float] | None
    cautious: Numeric | None
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCurve:
    """A curve τ = A pa (σ′/pa)^n.

    Parameters
    ----------
    coefficient, exponent
        A and n [-], above zero; scalars, or arrays that broadcast with a stress.
    tested_range
        Lowest and highest effective normal stress behind it [kPa], above zero.
    variances
        var A, var n and cov(A, n) [-]; nan where the tests cannot tell.
    residual_std
        Of the tests about the curve [kPa]; nan without degrees of freedom.
    degrees_of_freedom
        Tests less two.
    reference_pressure
        pa [kPa].

    Raises
    ------
    InputError
        A coefficient or exponent not above zero, or a range that is none.

    Examples
    --------
    >>> from slipmargin.strength import PowerCurve
    >>> curve = PowerCurve(coefficient=0.8, exponent=0.9, tested_range=(20.0, 200.0))
    >>> round(float(curve.shear_strength(curve.reference_pressure) / curve.reference_pressure), 6)
    0.8
    """

    coefficient: Numeric
    exponent: Numeric
    tested_range: tuple[float, float]
    variances: tuple[float, float, float] = (math.nan, math.nan, math.nan)
    residual_std: float = math.nan
    degrees_of_freedom: int = 0
    reference_pressure: float = ATMOSPHERIC_PRESSURE

    def __post_init__(self) -> None:
        for name in ("coefficient", "exponent"):
            values = np.asarray(getattr(self, name), dtype=float)
            if not np.all(np.isfinite(values) & (values > 0.0)):
                raise InputError(name, getattr(self, name), "allowed: above 0")
        low, high = self.tested_range
        if not 0.0 < low < high < math.inf:
            raise InputError("tested_range", self.tested_range, "allowed: 0 < lowest < highest kPa")

    @property
    def equation(self) -> str:
        """The curve in words, for one curve."""
        return (
            f"τ = {float(self.coefficient):.3f} pa (σ′/pa)^{float(self.exponent):.3f}, "
            f"pa = {self.reference_pressure:g} kPa"
        )

    def shear_strength(self, normal_stress: Numeric) -> Numeric:
        """Shear strength [kPa] at an effective normal stress [kPa]; 0 at zero and below."""
        ratio = np.maximum(normal_stress, 0.0) / self.reference_pressure
        strength: Numeric = self.coefficient * self.reference_pressure * ratio**self.exponent
        return strength

    def tangent_at(self, normal_stress: Numeric) -> Pair:
        """Tangent at an effective normal stress above 0 kPa.

        It lies above the curve everywhere else where n < 1: use it at that stress alone.

        Raises
        ------
        InputError
            A stress not above zero, where the tangent stands upright.
        """
        if not np.all(np.asarray(value_of(normal_stress)) > 0.0):
            raise InputError("normal_stress", normal_stress, "allowed: above 0 kPa")
        strength = self.shear_strength(normal_stress)
        slope = self.exponent * strength / normal_stress
        return Pair.of_tangent((1.0 - self.exponent) * strength, slope)

    @property
    def chord(self) -> Pair:
        """The pair that stands for the curve where a check needs one line.

        For n <= 1 it joins the curve at the ends of the tested range, and so lies below it
        in between and above it outside. For n > 1 it is the secant at the lowest tested
        stress, below the curve from there upward.
        """
        low, high = self.tested_range
        at_low, at_high = self.shear_strength(low), self.shear_strength(high)
        slope = (at_high - at_low) / (high - low)
        bends_down = np.asarray(self.exponent) <= 1.0
        slope = np.where(bends_down, slope, at_low / low)[()]
        cohesion = np.where(bends_down, np.maximum(at_low - slope * low, 0.0), 0.0)[()]
        return Pair.of_tangent(cohesion, slope)

    def standard_error(self, normal_stress: Numeric) -> Numeric:
        """Standard error of the curve's height [kPa], by linearisation; nan if unknown."""
        stress = np.maximum(np.asarray(normal_stress, dtype=float), 0.0)
        # the height falls to zero faster than its logarithm grows
        ratio = np.where(stress > 0.0, stress, 1.0) / self.reference_pressure
        strength = self.shear_strength(stress)
        by_coefficient = strength / self.coefficient
        by_exponent = strength * np.log(ratio)
        of_coefficient, of_exponent, joint = self.variances
        variance = (
            by_coefficient**2 * of_coefficient
            + 2.0 * by_coefficient * by_exponent * joint
            + by_exponent**2 * of_exponent
        )
        error: Numeric = np.sqrt(np.maximum(variance, 0.0))
        return error

    @property
    def standard_errors(self) -> tuple[float, float]:
        """Standard errors of A and n; nan without a degree of freedom."""
        return math.sqrt(self.variances[0]), math.sqrt(self.variances[1])

    def parameters(
        self, confidence: float = 0.95, cautious: PowerCurve | None = None
    ) -> tuple[Parameter, ...]:
        """What is known of A and n, with two-sided limits, beside those of a cautious curve."""
        freedom, found = self.degrees_of_freedom, []
        fields = ("coefficient A", "coefficient"), ("exponent n", "exponent")
        for (name, field), known in zip(fields, self.standard_errors, strict=True):
            value, error, limits = float(getattr(self, field)), None, None
            if freedom:
                error = known
                margin = student_t((1.0 + confidence) / 2.0, freedom) * error
                limits = (value - margin, value + margin)
            held = None if cautious is None else float(getattr(cautious, field))
            found.append(Parameter(name, "", value, error, limits, held))
        return tuple(found)

    def cautious(self, confidence: float = 0.95) -> PowerCurve | None:
        """A power curve nowhere above the lower one-sided limit in the tested range.

        Against the logarithm of the stress, the relative standard error is the length of a
        vector that grows linearly, hence convex; so the logarithm of the limit is concave,
        and its chord, a power curve through the limit at both ends of the range, lies below
        it in between. Where that chord would bend upward (n > 1), the secant of the limit at
        the lowest tested stress takes its place: it is below the limit from there upward.

        It has no variances. ``None`` where the limit is unknown, not above zero, or falls with
        stress.
        """
        if not self.degrees_of_freedom:
            return None
        t = student_t(confidence, self.degrees_of_freedom)
        ends = np.array(self.tested_range)
        limit = np.asarray(self.shear_strength(ends)) - t * np.asarray(self.standard_error(ends))
        if not np.all(limit > 0.0):
            return None
        exponent = float(np.log(limit[1] / limit[0]) / np.log(ends[1] / ends[0]))
        if exponent <= 0.0:
            return None
        exponent = min(exponent, 1.0)
        ratio = float(ends[0]) / self.reference_pressure
        return PowerCurve(
            coefficient=float(limit[0]) / (self.reference_pressure * ratio**exponent),
            exponent=exponent,
            tested_range=self.tested_range,
            reference_pressure=self.reference_pressure,
        )


def fit_power_curve(
    normal_stress: ArrayLike,
    shear_stress: ArrayLike,
    *,
    band_std: float = math.nan,
    reference_pressure: float = ATMOSPHERIC_PRESSURE,
) -> PowerCurve:
    """Fit the curve to one series of tests [kPa], shape (m,).

    The errors rest on the standard deviation of the readings, ``band_std`` [kPa], where it is
    known and larger than that of the residuals.

    Raises
    ------
    InputError
        A normal stress not above zero, fewer than two different ones, or a strength that
        does not rise with normal stress.
    """
    normal = np.asarray(normal_stress, dtype=float)
    shear = np.asarray(shear_stress, dtype=float)
    if not np.all(normal > 0.0):
        raise InputError(
            "normal stress",
            f"{normal.min():g} kPa",
            "a power curve through the origin takes only tests above 0 kPa; leave that test out "
            'or use envelope = "line"',
        )
    if np.ptp(normal) <= 1e-9 * normal.max():
        raise InputError(
            "normal stress",
            f"{normal[0]:g} kPa",
            "a power curve needs at least two different normal stresses",
        )
    # parameters at the middle of the data, where they are all but independent
    middle = float(np.exp(np.mean(np.log(normal))))
    height, exponent = _least_squares(np.log(normal / middle), shear)
    if not (height > 0.0 and exponent > 0.0):
        raise InputError(
            "shear stress",
            f"exponent {exponent:.3f}",
            "the strength must rise with normal stress; look for swapped columns or tests",
        )
    log_ratio = math.log(middle / reference_pressure)
    if abs(exponent * log_ratio) > _FURTHEST:
        raise InputError(
            "normal stress",
            f"{middle:.3g} kPa",
            f"it lies too far from {reference_pressure:g} kPa for a power curve of exponent "
            f"{exponent:.3g}; look at the units",
        )
    curve = PowerCurve(
        coefficient=height / reference_pressure * math.exp(-exponent * log_ratio),
        exponent=exponent,
        tested_range=(float(normal.min()), float(normal.max())),
        degrees_of_freedom=normal.size - 2,
        reference_pressure=reference_pressure,
    )
    return _with_errors(curve, normal, shear, band_std)


@np.errstate(over="ignore", invalid="ignore")  # a step too wide is taken back
def _least_squares(log_ratio: Floats, shear: Floats) -> tuple[float, float]:
    """Height B and exponent n of τ = B exp(n log_ratio).

    Newton's method on n, the best B for each n being known; where its steps do not lead down
    to a rest, as where no curve fits, a damped method decides.
    """
    exponent, squares = 1.0, math.inf
    for _ in range(_NEWTON):
        power = np.exp(exponent * log_ratio)
        by_log = log_ratio * power
        height = float(shear @ power) / float(power @ power)
        residual = height * power - shear
        now = float(residual @ residual)
        if not now <= squares * (1.0 + 1e-12):
            break
        squares = now
        # half the rate of the sum of squares with n, and the rate of that, B following n
        slope = height * float(residual @ by_log)
        turn = float((residual + height * power) @ by_log)
        bend = (
            height**2 * float(by_log @ by_log)
            + height * float(residual @ (log_ratio * by_log))
            - turn**2 / float(power @ power)
        )
        if not bend > 0.0:
            break
        step = slope / bend
        exponent -= step
        if abs(step) < 1e-9 * abs(exponent):  # the next would be its square
            power = np.exp(exponent * log_ratio)
            return float(shear @ power) / float(power @ power), exponent
        if not abs(step) < _LONGEST:
            break
    return _damped(log_ratio, shear)


def _damped(log_ratio: Floats, shear: Floats) -> tuple[float, float]:
    scale = float(np.max(np.abs(shear))) or 1.0

    def residuals(parameters: Floats) -> Floats:
        result: Floats = parameters[0] * np.exp(parameters[1] * log_ratio) - shear / scale
        return result

    def jacobian(parameters: Floats) -> Floats:
        power = np.exp(parameters[1] * log_ratio)
        return np.stack([power, parameters[0] * log_ratio * power], axis=-1)

    start = np.array([float(np.mean(shear)) / scale, 1.0])
    found = scipy.optimize.least_squares(
        residuals, start, jacobian, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    if not (found.success and np.all(np.isfinite(found.x))):
        raise InputError(
            "tests", f"{shear.size} tests", 'no power curve fits them; use envelope = "line"'
        )
    return float(found.x[0]) * scale, float(found.x[1])


def _with_errors(curve: PowerCurve, normal: Floats, shear: Floats, band_std: float) -> PowerCurve:
    """The curve with the variances of its parameters."""
    if curve.degrees_of_freedom == 0:
        return curve
    strength = np.asarray(curve.shear_strength(normal))
    squares = float(np.sum((shear - strength) ** 2))
    residual_std = math.sqrt(squares / curve.degrees_of_freedom)
    error_std = max(residual_std, band_std) if math.isfinite(band_std) else residual_std
    by_exponent = strength * np.log(normal / curve.reference_pressure)
    jacobian = np.stack([strength / curve.coefficient, by_exponent], axis=-1)
    try:
        covariance = error_std**2 * np.linalg.inv(jacobian.T @ jacobian)
    except np.linalg.LinAlgError:
        raise InputError(
            "tests",
            f"{shear.size} tests",
            'they do not tell the power curve from others; use envelope = "line"',
        ) from None
    variances = (float(covariance[0, 0]), float(covariance[1, 1]), float(covariance[0, 1]))
    return replace(curve, variances=variances, residual_std=residual_std)
