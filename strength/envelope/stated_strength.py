"""A strength that someone stated, held against the tests it is said to come from.

With C the covariance of the fitted intercept and slope, and d the difference of the stated
pair (c, tan φ) from them, dᵀ C⁻¹ d / 2 follows Fisher's F with 2 and n - 2 degrees of freedom
for the true pair. The two errors of one fit are strongly correlated, so a pair can be far
off while each of its numbers looks fair, and the reverse.

Source: the joint confidence region of a regression line, as in any text on regression
(Draper & Smith, Applied Regression Analysis).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc, stdtr

from slipmargin.strength.envelope.fit import EnvelopeFit, carried_errors
from slipmargin.strength.errors import InputError, need
from slipmargin.strength.line import Line, fit_line
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Pair
from slipmargin.strength.stress_plane import StressPlane

__all__ = ["MISSED_BEYOND", "StatedAgainstFit", "stated_against_fit"]

MISSED_BEYOND = 2.0
"""A test is missed beyond so many standard deviations: this project's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedAgainstFit:
    """A stated pair in standard errors of the fit.

    Parameters
    ----------
    who, stated
        Whose pair it is, and the pair.
    cohesion_errors, tan_errors
        Stated less fitted, in standard errors of each alone; ``None`` where it is unknown.
    cohesion_probability, tan_probability
        Two-sided p-value of each alone.
    distance
        Joint distance, √(dᵀ C⁻¹ d).
    probability
        p-value of the pair, by Fisher's F: how often a true pair would lie so far out.
    misses
        Stated strength less test [unit of the tests], by name, of the tests it misses:
        those outside their reading band by more than twice the scatter.
    notices
        What follows from it.
    """

    who: str
    stated: Pair
    cohesion_errors: float | None
    tan_errors: float | None
    cohesion_probability: float | None
    tan_probability: float | None
    distance: float | None
    probability: float | None
    misses: tuple[tuple[str, float], ...]
    notices: tuple[Notice, ...]

    def words(self, unit: str = "kPa") -> str:
        """The pair and how far from the fit it lies, in one sentence; ``unit`` of the tests."""
        name = "c′" if unit == "kPa" else "intercept"
        pair = (
            f"Stated by {self.who}: {name} = {float(self.stated.cohesion):.1f} {unit}, "
            f"φ′ = {float(self.stated.friction_angle):.1f} deg"
        )
        if self.distance is None or self.probability is None:
            return f"{pair}."
        return (
            f"{pair}, {self.distance:.1f} standard errors from the fit, the pair taken together "
            f"(p = {self.probability:.2g})."
        )


def stated_against_fit(fit: EnvelopeFit, stated: Pair, who: str) -> StatedAgainstFit:
    """Hold a stated pair against a fit.

    A pair without cohesion is compared by its angle alone where the fit too takes c′ = 0 as
    stated. Any other pair is compared with the free line through the same tests, whatever the
    rule for the intercept: it claims an intercept of its own.

    Parameters
    ----------
    fit
        Of the tests.
    stated
        Cohesion [unit of the tests] and friction angle [deg].
    who
        Who stated it, for the text.

    Raises
    ------
    InputError
        A negative cohesion, or an angle outside 0 to 90 deg.
    """
    need("fit", fit, EnvelopeFit, "the fit that fit_envelope gives")
    need("stated", stated, Pair, "a Pair of cohesion and friction angle")
    cohesion, angle = float(stated.cohesion), float(stated.friction_angle)
    if not 0.0 <= cohesion < math.inf:
        raise InputError("cohesion", cohesion, "allowed: from 0 kPa upward")
    if not 0.0 <= angle < 90.0:
        raise InputError("friction_angle", angle, "allowed: from 0 to below 90 deg")
    tests = fit.tests
    line = fit.error_line
    if line.through_origin and cohesion > 0.0:
        line = fit_line(tests.normal, tests.shear)
    freedom = line.degrees_of_freedom
    errors = _errors(line, tests.least_std)
    if errors is None:
        result = _Judged(None, None, None, None)
    else:
        result = _judge(line, fit.plane, Pair(cohesion, angle), errors)
    constant, slope = (float(part) for part in fit.plane.line(Pair(cohesion, angle)))
    misses = _misses(fit, constant, slope, errors)
    alone = [
        None if value is None else float(2.0 * stdtr(freedom, -abs(value)))
        for value in (result.cohesion, result.tan)
    ]
    above = bool(np.any(constant + slope * tests.normal > line.value(tests.normal)))
    return StatedAgainstFit(
        who=who,
        stated=Pair(cohesion, angle),
        cohesion_errors=result.cohesion,
        tan_errors=result.tan,
        cohesion_probability=alone[0],
        tan_probability=alone[1],
        distance=result.distance,
        probability=result.probability,
        misses=misses,
        notices=_notices(fit, result, misses, who, above),
    )


@dataclass(frozen=True, slots=True)
class _Judged:
    cohesion: float | None
    tan: float | None
    distance: float | None
    probability: float | None


def _errors(line: Line, least_std: float) -> float | None:
    """Standard deviation the errors rest on, as in the fit."""
    if not line.degrees_of_freedom or not math.isfinite(line.slope):
        return None
    error = float(np.fmax(math.sqrt(line.residual_variance), least_std))
    return error if error > 0.0 else None


def _judge(line: Line, plane: StressPlane, stated: Pair, error_std: float) -> _Judged:
    fitted = Pair.of_tangent(*plane.strength(line.intercept, line.slope))
    of_cohesion, of_tan, _ = carried_errors(line, plane, error_std)
    shift = stated.tan_friction_angle - fitted.tan_friction_angle
    constant, slope = plane.line(stated)
    squared = float(line.distance(constant, slope, error_std**2))
    parameters = line.count - line.degrees_of_freedom
    return _Judged(
        cohesion=None
        if of_cohesion is None
        else float((stated.cohesion - fitted.cohesion) / of_cohesion),
        tan=None if of_tan is None else float(shift / of_tan),
        distance=math.sqrt(squared),
        probability=float(fdtrc(parameters, line.degrees_of_freedom, squared / parameters)),
    )


def _misses(
    fit: EnvelopeFit, constant: float, slope: float, error_std: float | None
) -> tuple[tuple[str, float], ...]:
    tests = fit.tests
    strength = constant + slope * tests.normal
    low = np.where(np.isfinite(tests.low), tests.low, tests.shear)
    high = np.where(np.isfinite(tests.high), tests.high, tests.shear)
    # the scatter says nothing where two tests fix the line: then the band alone counts
    allowed = MISSED_BEYOND * error_std if error_std is not None else 0.02 * tests.shear
    missed = (strength > high + allowed) | (strength < low - allowed)
    return tuple(
        (tests.names[i], float(strength[i] - tests.shear[i])) for i in np.flatnonzero(missed)
    )


def _notices(
    fit: EnvelopeFit,
    result: _Judged,
    misses: tuple[tuple[str, float], ...],
    who: str,
    above: bool,
) -> tuple[Notice, ...]:
    unit = fit.tests.unit
    listed = ", ".join(f"{name} ({offset:+.1f} {unit})" for name, offset in misses)
    missed = f" It misses test(s) {listed}." if misses else ""
    notices = []
    if result.probability is None:
        notices.append(
            Notice.info(
                "stated-strength-untested",
                f"The tests show no scatter, so the strength stated by {who} cannot be judged by "
                f"it.{missed}",
            )
        )
        if not misses:
            return tuple(notices)
    if result.probability is not None and result.probability < 1.0 - fit.confidence:
        text = (
            f"The strength stated by {who} lies {result.distance:.1f} standard errors from the "
            f"fit, the pair taken together: a true pair would do so with probability "
            f"{result.probability:.2g}.{missed}"
        )
        if above:
            notices.append(Notice.caution("stated-strength-doubtful", text))
        else:
            notices.append(
                Notice.info(
                    "stated-strength-below-tests", text + " It is below the line at every test."
                )
            )
    elif misses:
        over = [offset for _, offset in misses if offset > 0.0]
        text = (
            f"The line stated by {who} misses test(s) {listed}, though so few tests cannot rule "
            "it out."
        )
        notices.append(
            Notice.caution("stated-strength-misses-tests", text)
            if over
            else Notice.info("stated-strength-misses-tests", text)
        )
    return tuple(notices)
