"""Fits the failure envelope τ_f = c′ + σ′ tan φ′ to shear tests, with its uncertainty.

Assumptions: every test has equal weight; normal stress is exact against shear stress; the
scatter about the line is normal and the same at every stress. The intercept and the slope
of one fit are strongly and negatively correlated, so their error bars must never be used
apart from each other.

Sources: the statistics are those of a least-squares line (see ``line``). A cautious value
as the lower limit of the mean line follows the idea of EN 1997-1:2004, 2.4.5.2 (7), (11);
the chord that replaces the curved limit is this project's own, on the safe side of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from strength.errors import InputError
from strength.line import Line, fit_line, student_t
from strength.notice import Notice, distinct
from strength.readings import ShearTests
from strength.strength import Strength

__all__ = ["INTERCEPTS", "EnvelopeFit", "Interval", "Pair", "fit_envelope"]

INTERCEPTS = ("non_negative", "free", "zero")
"""How the intercept may be treated."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pair:
    """Cohesion [kPa, or N where no area is known] and friction angle [deg]."""

    cohesion: float
    friction_angle: float


@dataclass(frozen=True, slots=True)
class Interval:
    """Two-sided limits at one confidence; cohesion is ``None`` where it was not fitted."""

    confidence: float
    cohesion: tuple[float, float] | None
    friction_angle: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeFit:
    """A straight envelope and what is known of its doubt.

    Parameters
    ----------
    tests
        The points it was fitted to.
    intercept
        How the intercept was to be treated; ``through_origin`` tells what was done.
    best_fit, cautious
        Pairs; ``cautious`` is ``None`` where the tests cannot give one.
    standard_error_cohesion, standard_error_tan, correlation
        Of the reported line; ``None`` where the tests cannot tell.
    interval
        Two-sided Student-t limits, or ``None``.
    residual_std
        Of the points about the line [unit of the tests], ``None`` without scatter.
    error_std
        Standard deviation the errors rest on: that of the residuals or of the reading
        bands, whichever is larger.
    """

    tests: ShearTests
    intercept: str
    confidence: float
    through_origin: bool
    line: Line
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

    @property
    def degrees_of_freedom(self) -> int:
        """Tests less the number of fitted parameters."""
        return self.line.degrees_of_freedom

    @property
    def normal_range(self) -> tuple[float, float]:
        """Lowest and highest normal stress tested [unit of the tests]."""
        return float(self.tests.normal.min()), float(self.tests.normal.max())

    def strength(self, value: str = "best_fit") -> Strength:
        """The strength a check may use.

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
        pair = self._chosen(value)
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
            caveats=tuple(n for n in self.notices if n.code in _TRAVELLING),
        )

    def _chosen(self, value: str) -> Pair:
        if value == "best_fit":
            return self.best_fit
        if value != "cautious":
            raise InputError("value", value, "allowed: best_fit, cautious")
        if self.cautious is None:
            raise InputError(
                "value",
                "cautious",
                f"{len(self.tests.names)} tests do not give a usable lower limit; use best_fit "
                "or add tests",
            )
        return self.cautious


_TRAVELLING = frozenset({"two-tests", "one-test", "few-tests", "tested-range-unknown"})
"""Notices of the fit that follow its strength into every check."""


def fit_envelope(
    tests: ShearTests,
    *,
    intercept: str = "non_negative",
    confidence: float = 0.95,
    cohesionless: bool = False,
) -> EnvelopeFit:
    """Fit a straight envelope.

    Parameters
    ----------
    tests
        One point a test.
    intercept
        ``free``; ``zero``; or ``non_negative``, which is ``free`` unless that comes out
        below zero, and then ``zero``.
    confidence
        Of the two-sided intervals and the one-sided cautious value, 0.5 to below 1.
    cohesionless
        The soil is declared to have no cohesion; a fitted one then earns a notice.

    Raises
    ------
    InputError
        Too few tests, tests at one stress only, or a strength that does not rise with
        normal stress.
    """
    if intercept not in INTERCEPTS:
        raise InputError("intercept", intercept, "allowed: " + ", ".join(INTERCEPTS))
    if not 0.5 <= confidence < 1.0:
        raise InputError("confidence", confidence, "allowed: from 0.5 to below 1")
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
    if intercept == "non_negative" and line.intercept < 0.0:
        notices.append(
            Notice.caution(
                "negative-intercept-refitted",
                f"The free line meets the axis at {float(line.intercept):.2f} {tests.unit}, "
                "below zero, which no soil does; it was fitted again through the origin.",
            )
        )
        through_origin = True
        line = fit_line(tests.normal, tests.shear, intercept=False)
    if line.slope <= 0.0:
        raise InputError(
            "shear stress",
            f"slope {float(line.slope):.3f}",
            "the strength must rise with normal stress; look for swapped columns or tests",
        )
    error_std, band_governs = _error_std(line, tests)
    errors = _errors(line, error_std, through_origin)
    fit = EnvelopeFit(
        tests=tests,
        intercept=intercept,
        confidence=confidence,
        through_origin=through_origin,
        line=line,
        best_fit=Pair(float(line.intercept), _angle(float(line.slope))),
        cautious=_cautious(line, tests, error_std, confidence, through_origin),
        standard_error_cohesion=errors[0],
        standard_error_tan=errors[1],
        correlation=errors[2],
        interval=_interval(line, errors, confidence, free=intercept == "free"),
        residual_std=None if not line.degrees_of_freedom else math.sqrt(line.residual_variance),
        error_std=error_std,
        r_squared=float(line.r_squared),
        notices=(),
    )
    notices += _doubts(fit, band_governs, cohesionless)
    return replace(fit, notices=distinct(notices))


def _angle(slope: float) -> float:
    return math.degrees(math.atan(slope))


def _error_std(line: Line, tests: ShearTests) -> tuple[float | None, bool]:
    """Standard deviation the errors rest on, and whether the reading bands gave it."""
    if not line.degrees_of_freedom:
        return None, False
    residual = math.sqrt(line.residual_variance)
    if math.isfinite(tests.band_std) and tests.band_std > residual:
        return tests.band_std, True
    return residual, False


def _errors(
    line: Line, error_std: float | None, through_origin: bool
) -> tuple[float | None, float | None, float | None]:
    """Standard errors of intercept and slope, and their correlation."""
    if error_std is None:
        return None, None, None
    of_intercept, of_slope, joint = (float(factor) for factor in line.variance_factors)
    slope_error = error_std * math.sqrt(of_slope)
    if through_origin:
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
        cohesion = (low if free else max(low, 0.0), high)
    return Interval(
        confidence, cohesion, (_angle(slope - t * slope_error), _angle(slope + t * slope_error))
    )


def _cautious(
    line: Line, tests: ShearTests, error_std: float | None, confidence: float, through_origin: bool
) -> Pair | None:
    """Chord of the lower one-sided limit of the mean line across the tested range."""
    if error_std is None:
        return None
    t = student_t(confidence, line.degrees_of_freedom)
    ends = np.array([tests.normal.min(), tests.normal.max()])
    if through_origin:
        slope = float(line.slope) - t * error_std * math.sqrt(float(line.variance_factors[1]))
        return Pair(0.0, _angle(slope)) if slope > 0.0 else None
    low, high = (float(v) for v in line.value(ends) - t * line.standard_error(ends, error_std**2))
    slope = (high - low) / float(ends[1] - ends[0])
    constant = low - slope * float(ends[0])
    if constant < 0.0:
        constant, slope = 0.0, high / float(ends[1])
    return Pair(constant, _angle(slope)) if slope > 0.0 else None


def _doubts(fit: EnvelopeFit, band_governs: bool, cohesionless: bool) -> list[Notice]:
    """What a reader should distrust."""
    tests, unit = fit.tests, fit.tests.unit
    count = len(tests.names)
    notices = []
    if fit.degrees_of_freedom == 0:
        notices.append(
            Notice.caution(
                "one-test" if count == 1 else "two-tests",
                f"{'One test fixes' if count == 1 else 'Two tests fix'} the line but show no "
                "scatter: its uncertainty is unknown, not nil.",
            )
        )
    elif count < 4:
        t = student_t((1.0 + fit.confidence) / 2.0, fit.degrees_of_freedom)
        notices.append(
            Notice.caution(
                "few-tests",
                f"{count} tests leave {fit.degrees_of_freedom} degree(s) of freedom: the limits "
                f"are {t:.1f} standard errors away from the best fit.",
            )
        )
    if band_governs and fit.residual_std is not None and fit.error_std is not None:
        notices.append(
            Notice.info(
                "reading-band-governs",
                f"The points scatter less about the line ({fit.residual_std:.2f} {unit}) than the "
                f"gauge bounced ({fit.error_std:.2f} {unit}); the standard errors rest on the "
                "reading bands.",
            )
        )
    if fit.intercept == "free" and fit.best_fit.cohesion < 0.0:
        notices.append(
            Notice.caution(
                "negative-intercept",
                f"The line meets the axis at {fit.best_fit.cohesion:.2f} {unit}, below zero: no "
                "check accepts this strength.",
            )
        )
    elif cohesionless and fit.best_fit.cohesion > 0.0:
        notices.append(
            Notice.caution(
                "cohesion-in-cohesionless-soil",
                f"The soil is declared cohesionless, yet the line meets the axis at "
                f"{fit.best_fit.cohesion:.2f} {unit}: most often friction in the box, a curved "
                'envelope or chance. Use intercept = "zero".',
            )
        )
    if _could_be_zero(fit):
        notices.append(
            Notice.caution(
                "cohesion-not-distinct-from-zero",
                f"At {fit.confidence:.0%} confidence the intercept of {fit.best_fit.cohesion:.2f} "
                f"{unit} cannot be told from zero; a design that needs it rests on chance.",
            )
        )
    if unit == "N":
        notices.append(
            Notice.caution(
                "tested-range-unknown",
                "The readings are forces and no specimen is given: the angle holds, but the "
                "tested stress range is unknown.",
            )
        )
    return notices


def _could_be_zero(fit: EnvelopeFit) -> bool:
    if fit.standard_error_cohesion is None or fit.best_fit.cohesion <= 0.0:
        return False
    t = student_t((1.0 + fit.confidence) / 2.0, fit.degrees_of_freedom)
    return fit.best_fit.cohesion < t * fit.standard_error_cohesion
