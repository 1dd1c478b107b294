"""Fits the failure envelope to shear tests, with its uncertainty.

The straight line τ_f = c′ + σ′ tan φ′ is always fitted; a power curve through the origin
(see ``power_curve``) beside it where it is asked for.

Assumptions: every test has equal weight; normal stress is exact against shear stress; the
scatter about the line is normal and the same at every stress. The intercept and the slope
of one fit are strongly and negatively correlated, so their error bars must never be used
apart from each other.

Where the free intercept comes out below zero, the line through the origin is the best
estimate that soil allows. The tests know no more of the intercept for that: errors, limits
and cautious value stay those of the free line, cut at c′ >= 0. Only who states that c′ is
zero gets those of a line through the origin.

Sources: the statistics are those of a least-squares line (see ``line``); the cautious value
is the lower limit of the mean line, on the safe side of it (see ``cautious``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.envelope.cautious import cautious_line
from slipmargin.strength.envelope.doubts import TRAVELLING, fit_doubts
from slipmargin.strength.envelope.line import Line, fit_line, student_t
from slipmargin.strength.envelope.power_curve import PowerCurve, fit_power_curve
from slipmargin.strength.envelope.strength import Strength, chosen_strength
from slipmargin.strength.envelope.table import fit_table
from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.readings import ShearTests
from slipmargin.strength.notice import Notice, distinct
from slipmargin.strength.pair import Numeric, Pair

__all__ = ["ENVELOPES", "INTERCEPTS", "EnvelopeFit", "Interval", "Pair", "fit_envelope"]

ENVELOPES = ("line", "power")
"""Forms of the envelope."""

INTERCEPTS = ("non_negative", "free", "zero")
"""How the intercept may be treated."""

Floats = NDArray[np.float64]
_Form = TypeVar("_Form", Pair, PowerCurve)


@dataclass(frozen=True, slots=True)
class Interval:
    """Two-sided limits at one confidence; cohesion is ``None`` where it was not fitted."""

    confidence: float
    cohesion: tuple[float, float] | None
    friction_angle: tuple[float, float]


@dataclass(frozen=True, slots=True)
class CurveParameter:
    """One parameter of a power curve [-]; ``None`` for what the tests cannot tell."""

    name: str
    best_fit: float
    standard_error: float | None
    limits: tuple[float, float] | None
    cautious: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeFit:
    """An envelope and what is known of its doubt.

    All figures are of the straight line, except ``curve`` and ``cautious_curve``.

    Parameters
    ----------
    tests
        The points it was fitted to.
    intercept
        How the intercept was treated; ``through_origin`` tells what came of it.
    line, error_line
        The line reported, and the line that errors, limits and cautious value belong to:
        another one only where a free intercept below zero was put to zero.
    best_fit, cautious
        Pairs; ``cautious`` is ``None`` where the tests cannot give one.
    standard_error_cohesion, standard_error_tan, correlation
        Of ``error_line``; ``None`` where the tests cannot tell.
    interval
        Two-sided Student-t limits, or ``None``.
    residual_std
        Of the points about ``error_line`` [unit of the tests], ``None`` without scatter.
    error_std
        Standard deviation the errors rest on: the largest of that of the residuals, of the
        reading bands, and of the means of repeated readings.
    envelope, curve, cautious_curve
        ``line`` or ``power``, and the power curves; ``None`` for a line, and the cautious
        one where the tests cannot give it.
    """

    tests: ShearTests
    intercept: str
    confidence: float
    through_origin: bool
    line: Line
    error_line: Line
    best_fit: Pair
    cautious: Pair | None
    standard_error_cohesion: float | None
    standard_error_tan: float | None
    correlation: float | None
    interval: Interval | None
    residual_std: float | None
    error_std: float | None
    r_squared: float
    notices: tuple[Notice, ...]
    envelope: str = "line"
    curve: PowerCurve | None = None
    cautious_curve: PowerCurve | None = None

    @property
    def cohesion_assumed(self) -> bool:
        """Whether c′ = 0 was stated beforehand and not found."""
        return self.intercept == "zero"

    @property
    def origin_words(self) -> str:
        """How the line came to start at the origin, to follow other words; empty if not."""
        if self.cohesion_assumed:
            return ", c′ = 0 assumed"
        return ", line through the origin" if self.through_origin else ""

    @property
    def degrees_of_freedom(self) -> int:
        """Tests less the number of parameters of ``error_line``."""
        return self.error_line.degrees_of_freedom

    @property
    def normal_range(self) -> tuple[float, float]:
        """Lowest and highest normal stress tested [unit of the tests]."""
        return float(self.tests.normal.min()), float(self.tests.normal.max())

    @property
    def curve_parameters(self) -> tuple[CurveParameter, ...]:
        """What is known of A and n of a power curve; nothing of a line."""
        curve, cautious = self.curve, self.cautious_curve
        if curve is None:
            return ()
        errors, limits = curve.standard_errors, curve.parameter_limits(self.confidence)
        return tuple(
            CurveParameter(
                name,
                float(getattr(curve, field)),
                None if errors is None else errors[i],
                None if limits is None else limits[i],
                None if cautious is None else float(getattr(cautious, field)),
            )
            for i, (name, field) in enumerate(
                (("coefficient A", "coefficient"), ("exponent n", "exponent"))
            )
        )

    def residual(self, test: int) -> float:
        """How far a test lies above the envelope, line or curve [unit of the tests]."""
        if self.curve is None:
            return float(self.line.residuals[test])
        at = float(self.tests.normal[test])
        return float(self.tests.shear[test] - self.curve.shear_strength(at))

    def mean_limits(self, normal_stress: Numeric) -> tuple[Numeric, Numeric] | None:
        """Two-sided limits of the mean line at a normal stress [unit of the tests].

        They are those of ``error_line``; ``None`` where the tests cannot tell.
        """
        if self.error_std is None:
            return None
        t = student_t((1.0 + self.confidence) / 2.0, self.degrees_of_freedom)
        margin = t * self.error_line.standard_error(normal_stress, self.error_std**2)
        height = self.error_line.value(normal_stress)
        return height - margin, height + margin

    def strength(self, value: str = "best_fit") -> Strength:
        """The strength a check may use, along the line or the curve as it was asked for.

        Parameters
        ----------
        value
            ``best_fit`` or ``cautious``.

        Raises
        ------
        InputError
            A cautious value the tests cannot give, a negative cohesion, or an intercept
            that is only known as a force.
        """
        return chosen_strength(self._strength, value)

    def _strength(self, value: str) -> Strength:
        caveats = tuple(n for n in self.notices if n.code in TRAVELLING)
        if self.curve is not None:
            return Strength.from_curve(
                self._chosen(value, self.curve, self.cautious_curve), caveats
            )
        pair = self._chosen(value, self.best_fit, self.cautious)
        if self.tests.unit == "N" and pair.cohesion != 0.0:
            raise InputError(
                "specimen",
                "none",
                "the readings are forces, and a cohesion in kPa needs the specimen's width or "
                'diameter (or set intercept = "zero")',
            )
        if pair.cohesion < 0.0:
            raise InputError(
                "intercept",
                "free",
                f"it gives a negative cohesion, {pair.cohesion:.2f} kPa, which no check accepts; "
                "use non_negative or zero",
            )
        return Strength(
            cohesion=pair.cohesion,
            friction_angle=pair.friction_angle,
            tested_range=self.normal_range if self.tests.unit == "kPa" else None,
            caveats=caveats,
        )

    def __repr__(self) -> str:
        return fit_table(self, self.notices).text()

    def _repr_html_(self) -> str:
        """The line, its doubt and the notices, for a notebook."""
        return fit_table(self, self.notices).html()

    def _chosen(self, value: str, best_fit: _Form, cautious: _Form | None) -> _Form:
        if value == "best_fit":
            return best_fit
        if value != "cautious":
            raise InputError("value", value, "allowed: best_fit, cautious")
        if cautious is None:
            raise InputError(
                "value",
                "cautious",
                f"{len(self.tests.names)} tests do not give a usable lower limit; use best_fit "
                "or add tests",
            )
        return cautious


def fit_envelope(
    tests: ShearTests,
    *,
    intercept: str = "non_negative",
    confidence: float = 0.95,
    cohesionless: bool = False,
    envelope: str = "line",
) -> EnvelopeFit:
    """Fit an envelope.

    Parameters
    ----------
    tests
        One point a test.
    intercept
        ``free``; ``zero``; or ``non_negative``, which is ``free`` unless that comes out
        below zero: then the best fit goes through the origin, with the errors, limits and
        cautious value of the free line, cut at zero.
    confidence
        Of the two-sided intervals and the one-sided cautious value, 0.5 to below 1.
    cohesionless
        The soil is declared to have no cohesion, which makes ``zero`` of ``non_negative``; an
        intercept that the tests show all the same earns a notice.
    envelope
        ``line``, or ``power`` for a power curve through the origin beside the line.

    Raises
    ------
    InputError
        Too few tests, tests at one stress only, a strength that does not rise with normal
        stress; a power curve through forces or through a test at zero normal stress.

    Examples
    --------
    >>> import numpy as np
    >>> from slipmargin.strength import Readings, fit_envelope, reduce_readings
    >>> unknown = np.full(4, np.nan)
    >>> readings = Readings(
    ...     test=("1", "2", "3", "4"),
    ...     state=("peak",) * 4,
    ...     normal=np.array([25.0, 50.0, 100.0, 150.0]),
    ...     shear=np.array([20.3, 35.2, 65.8, 94.9]),
    ...     low=unknown,
    ...     high=unknown,
    ...     unit="kPa",
    ... )
    >>> fit = fit_envelope(reduce_readings(readings))
    >>> round(float(fit.best_fit.cohesion), 2), round(float(fit.best_fit.friction_angle), 2)
    (5.43, 30.9)
    >>> [round(limit, 1) for limit in fit.interval.friction_angle]
    [30.0, 31.7]
    """
    if envelope not in ENVELOPES:
        raise InputError("envelope", envelope, "allowed: " + ", ".join(ENVELOPES))
    if envelope == "power" and tests.unit != "kPa":
        raise InputError(
            "envelope",
            envelope,
            "a power curve needs stresses; give the specimen's width or diameter",
        )
    if intercept not in INTERCEPTS:
        raise InputError("intercept", intercept, "allowed: " + ", ".join(INTERCEPTS))
    if not 0.5 <= confidence < 1.0:
        raise InputError("confidence", confidence, "allowed: from 0.5 to below 1")
    if cohesionless and intercept == "non_negative":
        intercept = "zero"
    count = len(tests.names)
    if count < 2 and intercept != "zero":
        raise InputError(
            "tests",
            f"{count} test",
            'a line needs two tests or more (one will do for intercept = "zero")',
        )
    notices = list(tests.notices)
    through_origin = intercept == "zero"
    line = fit_line(tests.normal, tests.shear, intercept=not through_origin)
    if not math.isfinite(line.slope):
        raise InputError(
            "normal stress",
            f"{tests.normal[0]:g} {tests.unit}",
            "the tests need at least two different normal stresses"
            if not through_origin
            else "the tests need a normal stress above zero",
        )
    error_line = line
    if intercept == "non_negative" and line.intercept < 0.0:
        through_origin = True
        line = fit_line(tests.normal, tests.shear, intercept=False)
    if line.slope <= 0.0:
        raise InputError(
            "shear stress",
            f"slope {float(line.slope):.3f}",
            "the strength must rise with normal stress; look for swapped columns or tests",
        )
    error_std = _error_std(error_line, tests)
    errors = _errors(error_line, error_std)
    curve = None
    if envelope == "power":
        curve = fit_power_curve(tests.normal, tests.shear, band_std=tests.least_std)
    fit = EnvelopeFit(
        tests=tests,
        intercept=intercept,
        confidence=confidence,
        through_origin=through_origin,
        line=line,
        error_line=error_line,
        best_fit=Pair(float(line.intercept), _angle(float(line.slope))),
        cautious=_cautious(line, error_line, tests, error_std, confidence),
        standard_error_cohesion=errors[0],
        standard_error_tan=errors[1],
        correlation=errors[2],
        interval=_interval(error_line, errors, confidence, free=intercept == "free"),
        residual_std=_residual_std(error_line),
        error_std=error_std,
        r_squared=float(line.r_squared),
        notices=(),
        envelope=envelope,
        curve=curve,
        cautious_curve=None if curve is None else curve.cautious(confidence),
    )
    notices += fit_doubts(fit, cohesionless)
    return replace(fit, notices=distinct(notices))


def _angle(slope: float) -> float:
    return math.degrees(math.atan(slope))


def _residual_std(line: Line) -> float | None:
    return math.sqrt(line.residual_variance) if line.degrees_of_freedom else None


def _error_std(line: Line, tests: ShearTests) -> float | None:
    """Standard deviation the errors rest on."""
    residual = _residual_std(line)
    return None if residual is None else float(np.fmax(residual, tests.least_std))


def _errors(line: Line, error_std: float | None) -> tuple[float | None, float | None, float | None]:
    """Standard errors of intercept and slope, and their correlation."""
    if error_std is None:
        return None, None, None
    of_intercept, of_slope, joint = (float(factor) for factor in line.variance_factors)
    slope_error = error_std * math.sqrt(of_slope)
    if line.through_origin:
        return None, slope_error, None
    return (
        error_std * math.sqrt(of_intercept),
        slope_error,
        joint / math.sqrt(of_intercept * of_slope),
    )


def _interval(
    line: Line,
    errors: tuple[float | None, float | None, float | None],
    confidence: float,
    *,
    free: bool,
) -> Interval | None:
    intercept_error, slope_error, _ = errors
    if slope_error is None:
        return None
    t = student_t((1.0 + confidence) / 2.0, line.degrees_of_freedom)
    slope, constant = float(line.slope), float(line.intercept)
    cohesion = None
    if intercept_error is not None:
        low, high = constant - t * intercept_error, constant + t * intercept_error
        cohesion = (low, high) if free else (max(low, 0.0), max(high, 0.0))
    return Interval(
        confidence, cohesion, (_angle(slope - t * slope_error), _angle(slope + t * slope_error))
    )


def _cautious(
    line: Line, error_line: Line, tests: ShearTests, error_std: float | None, confidence: float
) -> Pair | None:
    if error_std is None:
        return None
    constant, slope = cautious_line(
        error_line, tests.normal.min(), tests.normal.max(), error_std, confidence, reported=line
    )
    return Pair(float(constant), _angle(float(slope))) if math.isfinite(slope) else None
