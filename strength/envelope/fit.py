"""Fits the failure envelope to shear tests, with its uncertainty.

The straight line τ_f = c′ + σ′ tan φ′ is always fitted; a power curve through the origin
(see ``power_curve``) beside it where it is asked for.

Assumptions: every test has equal weight; normal stress is exact against shear stress; the
scatter about the line is normal and the same at every stress. The intercept and the slope
of one fit are strongly and negatively correlated, so their error bars must never be used
apart from each other.

A few points may lie close to a line by chance. So the standard deviation s that errors,
limits and cautious value rest on is the largest of three: the scatter about the line; what
the reading bands give, half-width over √3; and what repeated readings give the points,
pooled over the tests, where a mean of m readings has the m-th part of the variance of one. A
single repeated pair can decide it. A notice says where it is not the scatter.

Where the free intercept comes out below zero, the line through the origin is the best
estimate that soil allows. The tests know no more of the intercept for that: errors, limits
and cautious value stay those of the free line, cut at c′ >= 0. Only who states that c′ is
zero gets those of a line through the origin.

Of triaxial tests the line goes through s′ and t and is carried over; see ``stress_plane``.

Sources: the statistics are those of a least-squares line (see ``line``); the cautious value
is the lower limit of the mean line, on the safe side of it (see ``cautious``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.envelope.cautious import cautious_line
from slipmargin.strength.envelope.doubts import fit_doubts
from slipmargin.strength.envelope.fitted import FittedEnvelope, Interpretation, Interval
from slipmargin.strength.envelope.plot import plot_envelope
from slipmargin.strength.envelope.power_curve import fit_power_curve
from slipmargin.strength.envelope.working import fit_steps
from slipmargin.strength.errors import InputError, need, need_number, need_one_of
from slipmargin.strength.laboratory.shear_tests import ShearTests
from slipmargin.strength.line import Line, fit_line, student_t
from slipmargin.strength.notice import distinct
from slipmargin.strength.pair import Pair
from slipmargin.strength.stress_plane import StressPlane
from slipmargin.strength.working import Steps

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["ENVELOPES", "INTERCEPTS", "EnvelopeFit", "carried_errors", "error_std", "fit_envelope"]

ENVELOPES = ("line", "power")
"""Forms of the envelope."""

INTERCEPTS = ("non_negative", "free", "zero")
"""How the intercept may be treated."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class EnvelopeFit(FittedEnvelope):
    """An envelope and its uncertainty: the fields are those of ``FittedEnvelope``."""

    def plot(
        self, *, axes: Axes | None = None, interpretations: Sequence[Interpretation] = ()
    ) -> Figure:
        """Draw it over its tests; see ``plot_envelope``."""
        return plot_envelope(self, axes=axes, interpretations=interpretations)

    def working(self) -> Steps:
        """Every step from the tests to c′ and φ′, with its numbers."""
        return Steps(fit_steps(self))


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
    >>> from slipmargin.strength import ShearTests, fit_envelope
    >>> tests = ShearTests.of([25.0, 50.0, 100.0, 150.0], [20.3, 35.2, 65.8, 94.9])
    >>> fit = fit_envelope(tests)
    >>> round(float(fit.best_fit.cohesion), 2), round(float(fit.best_fit.friction_angle), 2)
    (5.43, 30.9)
    >>> [round(limit, 1) for limit in fit.interval.friction_angle]
    [30.0, 31.7]
    """
    _refuse_other_choices(tests, intercept, confidence, envelope)
    if cohesionless and intercept == "non_negative":
        intercept = "zero"
    count, through_origin = len(tests.names), intercept == "zero"
    if count < 2 and not through_origin:
        needs = 'a line needs two tests or more (one will do for intercept = "zero")'
        raise InputError("tests", f"{count} test", needs)
    line = fit_line(tests.normal, tests.shear, intercept=not through_origin)
    if not math.isfinite(line.slope):
        needs = "a normal stress above zero"
        if not through_origin:
            needs = "at least two different normal stresses"
        given = f"{tests.normal[0]:g} {tests.unit}"
        raise InputError("normal stress", given, f"the tests need {needs}")
    error_line = line
    if intercept == "non_negative" and line.intercept < 0.0:
        through_origin = True
        line = fit_line(tests.normal, tests.shear, intercept=False)
    best_fit = _best_fit(line, error_line, tests.plane)
    std = error_std(error_line, tests)
    errors = carried_errors(error_line, tests.plane, std)
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
        best_fit=best_fit,
        cautious=_cautious(line, error_line, tests, std, confidence),
        standard_error_cohesion=errors[0],
        standard_error_tan=errors[1],
        correlation=errors[2],
        interval=_interval(
            error_line, tests.plane, std, errors[0], confidence, free=intercept == "free"
        ),
        residual_std=None if std is None else math.sqrt(error_line.residual_variance),
        error_std=std,
        r_squared=float(line.r_squared),
        notices=(),
        envelope=envelope,
        curve=curve,
        cautious_curve=None if curve is None else curve.cautious(confidence),
    )
    return replace(fit, notices=distinct([*tests.notices, *fit_doubts(fit, cohesionless)]))


def _refuse_other_choices(
    tests: ShearTests, intercept: str, confidence: float, envelope: str
) -> None:
    need("tests", tests, ShearTests, "ShearTests, such as ShearTests.of(normal, shear)")
    need_number("confidence", confidence)
    need_one_of("envelope", envelope, ENVELOPES)
    if envelope == "power" and not (tests.plane.takes_curve and tests.unit == "kPa"):
        needs = "stresses; give the specimen's width or diameter"
        if not tests.plane.takes_curve:
            needs = "points on the sliding plane; of triaxial tests a line is fitted"
        raise InputError("envelope", envelope, f"a power curve needs {needs}")
    need_one_of("intercept", intercept, INTERCEPTS)
    if not 0.5 <= confidence < 1.0:
        raise InputError("confidence", confidence, "allowed: from 0.5 to below 1")


def _best_fit(line: Line, error_line: Line, plane: StressPlane) -> Pair:
    pair = plane.pair(line.intercept, line.slope)
    if pair is not None and error_line.slope < plane.steepest:
        return pair
    slope = float(line.slope)
    allowed = "the strength must rise with normal stress; look for swapped columns or tests"
    if slope > 0.0:
        slope = max(slope, float(error_line.slope))
        allowed = (
            f"no friction angle has a slope of {plane.steepest:g} or more; look for swapped "
            "columns or a pore pressure that is too high"
        )
    raise InputError(plane.shear_words, f"slope {slope:.3f}", allowed)


def error_std(line: Line, tests: ShearTests) -> float | None:
    """Standard deviation the errors rest on; ``None`` where the line leaves no scatter."""
    if not line.degrees_of_freedom:
        return None
    return float(np.fmax(math.sqrt(line.residual_variance), tests.least_std))


def carried_errors(
    line: Line, plane: StressPlane, std: float | None
) -> tuple[float | None, float | None, float | None]:
    """Standard errors of c′ and tan φ′, and their correlation, of a line on a plane.

    Each is ``None`` where the tests, or a line through the origin, cannot tell.
    """
    if std is None:
        return None, None, None
    covariance = plane.covariance(line.intercept, line.slope, line.variance_factors)
    of_cohesion, of_tan, joint = map(float, covariance)
    tan_error = std * math.sqrt(of_tan)
    if line.through_origin:
        return None, tan_error, None
    return std * math.sqrt(of_cohesion), tan_error, joint / math.sqrt(of_cohesion * of_tan)


def _interval(
    line: Line,
    plane: StressPlane,
    std: float | None,
    cohesion_error: float | None,
    confidence: float,
    *,
    free: bool,
) -> Interval | None:
    """The angle has the limits of the slope, which it follows; c′ those of its error."""
    if std is None:
        return None
    t = student_t((1.0 + confidence) / 2.0, line.degrees_of_freedom)
    reach = t * std * math.sqrt(line.variance_factors[1])
    steepest = plane.steepest * (1.0 - 1e-12)
    slopes = np.clip(line.slope + np.array([-reach, reach]), -steepest, steepest)
    low_angle, high_angle = np.degrees(np.arctan(plane.strength(0.0, slopes)[1])).tolist()
    cohesion = None
    if cohesion_error is not None:
        middle = float(plane.strength(line.intercept, line.slope)[0])
        low, high = middle - t * cohesion_error, middle + t * cohesion_error
        cohesion = (low, high) if free else (max(low, 0.0), max(high, 0.0))
    return Interval(confidence, cohesion, (low_angle, high_angle))


def _cautious(
    line: Line, error_line: Line, tests: ShearTests, std: float | None, confidence: float
) -> Pair | None:
    if std is None:
        return None
    constant, slope = cautious_line(
        error_line, tests.normal.min(), tests.normal.max(), std, confidence, reported=line
    )
    return tests.plane.pair(constant, slope)
