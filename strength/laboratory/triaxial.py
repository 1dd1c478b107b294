"""Triaxial failure points as stress-path pairs: a line through them, turned into c′ and φ′.

With axial and radial effective stress at failure σ′₁ and σ′₃,

    s′ = (σ′₁ + σ′₃)/2,    t = (σ′₁ - σ′₃)/2,    t = a + s′ tan α
    sin φ′ = tan α,        c′ = a / cos φ′

    p′ = (σ′₁ + 2 σ′₃)/3,  q = σ′₁ - σ′₃,        q = k + M p′   (triaxial compression)
    sin φ′ = 3 M / (6 + M),  c′ = k (3 - sin φ′) / (6 cos φ′)

Both are the Mohr-Coulomb line, so a fit to either is a fit of c′ and φ′. The line is the
least-squares one of ``line``; its covariance is carried over to first order (the delta
method), with the correlation of the two.

Limits: compression only. The normal stress on the plane of failure, s′ - t sin φ′, is what a
check must be compared with, and is what ``tested_range`` holds.

Source: the transformation stands in any text on soil mechanics; Das, Principles of
Geotechnical Engineering, 7th ed., sect. 12, for the worked points it is checked against.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.envelope.cautious import cautious_line
from slipmargin.strength.envelope.fit import INTERCEPTS
from slipmargin.strength.envelope.fitted import Interval
from slipmargin.strength.envelope.strength import Strength, chosen_strength
from slipmargin.strength.errors import InputError
from slipmargin.strength.line import Line, fit_line, student_t
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Pair

__all__ = [
    "FORMS",
    "TriaxialFit",
    "failure_plane_stresses",
    "fit_triaxial",
    "line_covariance_to_strength",
    "line_to_strength",
    "stress_path_pair",
]

Form = Literal["s_t", "p_q"]
FORMS: tuple[Form, ...] = ("s_t", "p_q")
"""Pairs in which failure points may be given."""

Floats = NDArray[np.float64]


def stress_path_pair(
    major: ArrayLike, minor: ArrayLike, *, pore_pressure: ArrayLike = 0.0, form: Form = "s_t"
) -> tuple[Floats, Floats]:
    """(s′, t) or (p′, q) [kPa] of principal stresses in triaxial compression.

    Parameters
    ----------
    major, minor
        Axial and radial total stress [kPa], or effective with no pore pressure.
    pore_pressure
        At failure [kPa]. All broadcast.
    form
        ``s_t`` or ``p_q``.
    """
    _known_form(form)
    axial = np.asarray(major, dtype=float) - pore_pressure
    radial = np.asarray(minor, dtype=float) - pore_pressure
    if form == "s_t":
        return np.asarray((axial + radial) / 2.0), np.asarray((axial - radial) / 2.0)
    return np.asarray((axial + 2.0 * radial) / 3.0), np.asarray(axial - radial)


def failure_plane_stresses(
    major: ArrayLike, minor: ArrayLike, friction_angle: ArrayLike
) -> tuple[Floats, Floats]:
    """Normal and shear stress [kPa] on the plane at 45° + φ/2 to the major principal plane.

    Principal stresses [kPa] and friction angle [deg] broadcast.
    """
    s, t = stress_path_pair(major, minor)
    phi = np.radians(np.asarray(friction_angle, dtype=float))
    return np.asarray(s - t * np.sin(phi)), np.asarray(t * np.cos(phi))


def line_to_strength(
    intercept: ArrayLike, slope: ArrayLike, form: Form = "s_t"
) -> tuple[Floats, Floats]:
    """c′ [kPa] and φ′ [deg] of a line through failure points.

    Parameters
    ----------
    intercept
        a or k [kPa].
    slope
        tan α or M [-]; they broadcast.
    form
        ``s_t`` or ``p_q``.

    Returns
    -------
    cohesion, friction_angle
        nan where no friction angle has such a slope (tan α of 1, M of 3, and beyond).
    """
    a, b = np.asarray(intercept, dtype=float), np.asarray(slope, dtype=float)
    sine, per_intercept = _sine(b, form)
    cosine = np.sqrt(1.0 - sine**2)
    cohesion = a / cosine if form == "s_t" else a * per_intercept / cosine
    return np.asarray(cohesion), np.asarray(np.degrees(np.arcsin(sine)))


def line_covariance_to_strength(
    intercept: ArrayLike,
    slope: ArrayLike,
    covariance: tuple[ArrayLike, ArrayLike, ArrayLike],
    form: Form = "s_t",
) -> tuple[Floats, Floats, Floats]:
    """Variances of c′ and tan φ′, and their covariance, to first order.

    Parameters
    ----------
    intercept, slope
        Of the line, as in ``line_to_strength``.
    covariance
        Variance of the intercept, variance of the slope, their covariance.
    form
        ``s_t`` or ``p_q``.

    Returns
    -------
    var_cohesion, var_tan, covariance
        [kPa²], [-], [kPa].
    """
    a, b = np.asarray(intercept, dtype=float), np.asarray(slope, dtype=float)
    var_a, var_b, cov = (np.asarray(part, dtype=float) for part in covariance)
    sine, per_intercept = _sine(b, form)
    cosine = np.sqrt(1.0 - sine**2)
    tan_slope = 1.0 / cosine**3
    if form == "s_t":
        # dc/da = 1/cos φ′; dc/db = a sin φ′ / cos³ φ′; d tan φ′/db = 1/cos³ φ′.
        by_a, by_b = 1.0 / cosine, a * sine / cosine**3
    else:
        # With s = sin φ′: ds/dM = 18/(6 + M)², c = k (3 - s)/(6 cos φ′).
        sine_slope = 18.0 / (6.0 + b) ** 2
        by_a = per_intercept / cosine
        by_b = a * sine_slope * (3.0 * sine - 1.0) / (6.0 * cosine**3)
        tan_slope = tan_slope * sine_slope
    return (
        np.asarray(by_a**2 * var_a + 2.0 * by_a * by_b * cov + by_b**2 * var_b),
        np.asarray(tan_slope**2 * var_b),
        np.asarray(tan_slope * (by_a * cov + by_b * var_b)),
    )


def _sine(slope: Floats, form: Form) -> tuple[Floats, Floats]:
    """Sine of φ′, and c′ cos φ′ per unit intercept; nan where there is no such angle."""
    _known_form(form)
    sine = slope if form == "s_t" else 3.0 * slope / (6.0 + slope)
    sine = np.where(np.abs(sine) < 1.0, sine, np.nan)
    return sine, (3.0 - sine) / 6.0


def _known_form(form: str) -> None:
    if form not in FORMS:
        raise InputError("form", form, "allowed: " + ", ".join(FORMS))


@dataclass(frozen=True, slots=True, kw_only=True)
class TriaxialFit:
    """A straight envelope through triaxial failure points.

    Parameters
    ----------
    form, line, through_origin
        The pairs fitted, the line through them, and whether it was held to the origin.
    error_line
        The line that errors, limits and cautious value belong to: another one only where a
        free intercept below zero was put to zero, see ``envelope_fit``.
    best_fit, cautious
        c′ [kPa] and φ′ [deg]; the cautious pair is that of the chord of the lower one-sided
        limit of the line across the tested range, ``None`` where the tests give none.
    standard_error_cohesion, standard_error_tan, correlation
        Of c′ [kPa] and tan φ′ [-], to first order; ``None`` where the tests cannot tell.
    interval
        Two-sided Student-t limits, or ``None``.
    tested_range
        Lowest and highest effective normal stress on the planes of failure [kPa].
    """

    form: Form
    line: Line
    error_line: Line
    through_origin: bool
    best_fit: Pair
    cautious: Pair | None
    standard_error_cohesion: float | None
    standard_error_tan: float | None
    correlation: float | None
    interval: Interval | None
    tested_range: tuple[float, float]
    notices: tuple[Notice, ...] = ()

    def strength(self, value: str = "best_fit") -> Strength:
        """The strength a check may use, ``best_fit`` or ``cautious``.

        Raises
        ------
        InputError
            A cautious value the tests cannot give, or a negative cohesion.
        """
        return chosen_strength(self._strength, value)

    def _strength(self, value: str) -> Strength:
        if value not in ("best_fit", "cautious"):
            raise InputError("value", value, "allowed: best_fit, cautious")
        pair = self.best_fit if value == "best_fit" else self.cautious
        if pair is None:
            raise InputError("value", value, "the tests do not give a usable lower limit")
        if pair.cohesion < 0.0:
            raise InputError(
                "intercept",
                "free",
                f"it gives a negative cohesion, {pair.cohesion:.2f} kPa, which no check accepts; "
                "use non_negative or zero",
            )
        travelling = {"two-tests", "one-test", "few-tests"}
        return Strength(
            cohesion=pair.cohesion,
            friction_angle=pair.friction_angle,
            tested_range=self.tested_range,
            caveats=tuple(notice for notice in self.notices if notice.code in travelling),
        )


def fit_triaxial(
    mean_stress: Sequence[float] | Floats,
    deviator: Sequence[float] | Floats,
    *,
    form: Form = "s_t",
    intercept: str = "non_negative",
    confidence: float = 0.95,
) -> TriaxialFit:
    """Fit c′ and φ′ to failure points of triaxial compression tests.

    Parameters
    ----------
    mean_stress, deviator
        s′ and t, or p′ and q [kPa], one element a test.
    form
        ``s_t`` or ``p_q``.
    intercept
        ``free``, ``zero``, or ``non_negative``: ``free`` unless that comes out below zero.
    confidence
        Of the two-sided intervals and the one-sided cautious value, 0.5 to below 1.

    Raises
    ------
    InputError
        Unequal or too few points, values not above zero, one stress only, or a line too flat
        or too steep to have a friction angle.
    """
    _known_form(form)
    if intercept not in INTERCEPTS:
        raise InputError("intercept", intercept, "allowed: " + ", ".join(INTERCEPTS))
    if not 0.5 <= confidence < 1.0:
        raise InputError("confidence", confidence, "allowed: from 0.5 to below 1")
    x, y = np.asarray(mean_stress, dtype=float), np.asarray(deviator, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or x.size < (1 if intercept == "zero" else 2):
        raise InputError(
            "tests", f"{x.shape} and {y.shape}", "give one pair a test, and two tests or more"
        )
    if not (np.all(np.isfinite(x) & (x > 0.0)) and np.all(np.isfinite(y) & (y > 0.0))):
        raise InputError("stresses", "a value", "allowed: finite and above 0 kPa")
    minor = x - y if form == "s_t" else x - y / 3.0
    if np.any(minor < 0.0):
        raise InputError(
            "stresses",
            f"{float(minor.min()):.4g} kPa of radial effective stress",
            "allowed: from 0 upward; look for swapped columns or pairs of the other form",
        )
    notices = []
    through_origin = intercept == "zero"
    line = fit_line(x, y, intercept=not through_origin)
    error_line = line
    if intercept == "non_negative" and line.intercept < 0.0:
        notices.append(
            Notice.caution(
                "negative-intercept-refitted",
                f"The free line meets the axis at {float(line.intercept):.2f} kPa, below zero, "
                "which no soil does; it was fitted again through the origin. Errors, limits and "
                "cautious value are those of the free line, cut at c′ = 0.",
            )
        )
        through_origin = True
        line = fit_line(x, y, intercept=False)
    best = _pair(float(line.intercept), float(line.slope), form)
    if best is None:
        raise InputError(
            "stresses",
            f"slope {float(line.slope):.3f}",
            "no friction angle has it; look for swapped columns, total stresses, or tests at "
            f"one stress only (allowed: above 0 and below {1 if form == 's_t' else 3})",
        )
    if error_line.degrees_of_freedom < 2:
        notices.append(_few_tests(x.size, error_line.degrees_of_freedom))
    errors = _errors(error_line, form)
    normal, _ = failure_plane_stresses(
        minor + (2.0 * y if form == "s_t" else y), minor, best.friction_angle
    )
    return TriaxialFit(
        form=form,
        line=line,
        error_line=error_line,
        through_origin=through_origin,
        best_fit=best,
        cautious=_cautious(line, error_line, x, form, confidence),
        standard_error_cohesion=errors[0],
        standard_error_tan=errors[1],
        correlation=errors[2],
        interval=_interval(error_line, errors, form, confidence, free=intercept == "free"),
        tested_range=(float(normal.min()), float(normal.max())),
        notices=tuple(notices),
    )


def _pair(intercept: float, slope: float, form: Form) -> Pair | None:
    cohesion, angle = line_to_strength(intercept, slope, form)
    usable = math.isfinite(float(angle)) and float(angle) > 0.0
    return Pair(float(cohesion), float(angle)) if usable else None


def _few_tests(count: int, freedom: int) -> Notice:
    if freedom == 0:
        return Notice.caution(
            "one-test" if count == 1 else "two-tests",
            f"{'One test fixes' if count == 1 else 'Two tests fix'} the line but show no "
            "scatter: its uncertainty is unknown, not nil.",
        )
    return Notice.caution(
        "few-tests", f"{count} tests leave one degree of freedom: the limits are very wide."
    )


def _errors(line: Line, form: Form) -> tuple[float | None, float | None, float | None]:
    if not line.degrees_of_freedom:
        return None, None, None
    factors = [float(part * line.residual_variance) for part in line.variance_factors]
    var_c, var_tan, cov = line_covariance_to_strength(
        line.intercept, line.slope, (factors[0], factors[1], factors[2]), form
    )
    if line.through_origin:
        return None, math.sqrt(var_tan), None
    product = math.sqrt(var_c * var_tan)
    return (
        math.sqrt(var_c),
        math.sqrt(var_tan),
        float(cov) / product if product > 0.0 else None,
    )


def _interval(
    line: Line,
    errors: tuple[float | None, float | None, float | None],
    form: Form,
    confidence: float,
    *,
    free: bool,
) -> Interval | None:
    """φ′ from the limits of the slope, which it follows; c′ to first order."""
    if errors[1] is None:
        return None
    t = student_t((1.0 + confidence) / 2.0, line.degrees_of_freedom)
    reach = t * math.sqrt(float(line.residual_variance * line.variance_factors[1]))
    largest = 1.0 if form == "s_t" else 3.0
    slopes = np.clip(np.array([-reach, reach]) + line.slope, 0.0, largest * (1.0 - 1e-12))
    low, high = line_to_strength(0.0, slopes, form)[1]
    cohesion = None
    if errors[0] is not None:
        middle, reach = float(line_to_strength(line.intercept, line.slope, form)[0]), t * errors[0]
        ends = (middle - reach, middle + reach)
        cohesion = ends if free else (max(ends[0], 0.0), max(ends[1], 0.0))
    return Interval(confidence, cohesion, (float(low), float(high)))


def _cautious(
    line: Line, error_line: Line, x: Floats, form: Form, confidence: float
) -> Pair | None:
    """The cautious line in the fitted pairs, as c′ and φ′."""
    if not error_line.degrees_of_freedom:
        return None
    scatter = np.sqrt(error_line.residual_variance)
    constant, slope = cautious_line(
        error_line, x.min(), x.max(), scatter, confidence, reported=line
    )
    return _pair(float(constant), float(slope), form)
