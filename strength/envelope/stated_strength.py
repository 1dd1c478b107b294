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
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.strength.envelope.fit import EnvelopeFit, carried_errors, error_std
from slipmargin.strength.errors import InputError, need
from slipmargin.strength.line import Line, fit_line
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Pair
from slipmargin.strength.stress_plane import StressPlane

__all__ = ["MISSED_BEYOND", "StatedAgainstFit", "stated_against_fit"]

Floats = NDArray[np.float64]

MISSED_BEYOND = 2.0
"""A test is missed beyond so many standard deviations: this project's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedAgainstFit:
    """A stated pair in standard errors of the fit.

    ``cohesion_errors`` and ``tan_errors`` are stated less fitted, in standard errors of each
    alone; ``distance`` is the joint one, √(dᵀ C⁻¹ d), and ``probability`` the p-value of the pair
    by Fisher's F: how often a true pair would lie so far out. ``None`` where unknown. ``misses``
    names the tests it misses, those outside their reading band by more than twice the scatter,
    with stated strength less test [unit of the tests].
    """

    who: str
    stated: Pair
    misses: tuple[tuple[str, float], ...]
    cohesion_errors: float | None = None
    tan_errors: float | None = None
    distance: float | None = None
    probability: float | None = None
    notices: tuple[Notice, ...] = ()

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
    pair = Pair(cohesion, angle)
    std = (error_std(line, tests) or None) if math.isfinite(line.slope) else None
    constant, slope = (float(part) for part in fit.plane.line(pair))
    strength = constant + slope * tests.normal
    found = StatedAgainstFit(
        who=who,
        stated=pair,
        misses=_misses(fit, strength, std),
        **({} if std is None else _judged(line, fit.plane, pair, std)),
    )
    above = bool(np.any(strength > line.value(tests.normal)))
    return replace(found, notices=tuple(_notices(fit, found, above=above)))


def _judged(line: Line, plane: StressPlane, stated: Pair, std: float) -> dict[str, Any]:
    """Each of the two in its standard errors, and both together, with the p-value."""
    fitted = Pair.of_tangent(*plane.strength(line.intercept, line.slope))
    of_cohesion, of_tan, _ = carried_errors(line, plane, std)
    shift, turn = (
        stated.cohesion - fitted.cohesion,
        stated.tan_friction_angle - fitted.tan_friction_angle,
    )
    squared = float(line.distance(*plane.line(stated), std**2))
    freedom, parameters = line.degrees_of_freedom, line.count - line.degrees_of_freedom
    return {
        "cohesion_errors": None if of_cohesion is None else float(shift / of_cohesion),
        "tan_errors": None if of_tan is None else float(turn / of_tan),
        "distance": math.sqrt(squared),
        "probability": float(scipy.special.fdtrc(parameters, freedom, squared / parameters)),
    }


def _misses(fit: EnvelopeFit, strength: Floats, std: float | None) -> tuple[tuple[str, float], ...]:
    tests = fit.tests
    low = np.where(np.isfinite(tests.low), tests.low, tests.shear)
    high = np.where(np.isfinite(tests.high), tests.high, tests.shear)
    # the scatter says nothing where two tests fix the line: then the band alone counts
    allowed = 0.02 * tests.shear if std is None else MISSED_BEYOND * std
    missed = (strength > high + allowed) | (strength < low - allowed)
    return tuple(
        (tests.names[i], float(strength[i] - tests.shear[i])) for i in np.flatnonzero(missed)
    )


def _notices(fit: EnvelopeFit, found: StatedAgainstFit, *, above: bool) -> Iterator[Notice]:
    unit, who, misses = fit.tests.unit, found.who, found.misses
    listed = ", ".join(f"{name} ({offset:+.1f} {unit})" for name, offset in misses)
    listed += ", line minus test" if misses else ""
    missed = f" It misses test(s) {listed}." if misses else ""
    if found.probability is None:
        yield Notice.info(
            "stated-strength-untested",
            f"The tests show no scatter, so the strength stated by {who} cannot be judged by "
            f"it.{missed}",
        )
    elif found.probability < 1.0 - fit.confidence:
        text = (
            f"The strength stated by {who} lies {found.distance:.1f} standard errors from the "
            f"fit, the pair taken together: a true pair would do so with probability "
            f"{found.probability:.2g}.{missed}"
        )
        if above:
            yield Notice.caution("stated-strength-doubtful", text)
        else:
            text += " It is below the line at every test."
            yield Notice.info("stated-strength-below-tests", text)
        return
    if misses:
        over = any(offset > 0.0 for _, offset in misses)
        yield (Notice.caution if over else Notice.info)(
            "stated-strength-misses-tests",
            f"The line stated by {who} misses test(s) {listed}; so few tests cannot rule it out.",
        )
