"""Notices that follow from a diagnosis of the line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import scipy

from slipmargin.strength.laboratory.soil_class import COHESION_SOURCE, FRICTION_SOURCE, SoilClass
from slipmargin.strength.line import student_t
from slipmargin.strength.notice import Notice, distinct

if TYPE_CHECKING:
    from slipmargin.strength.envelope.diagnosis import Diagnosis, Influence
    from slipmargin.strength.envelope.fit import EnvelopeFit

__all__ = ["ANGLE_SHIFT", "STRESS_SPREAD", "diagnostic_notices"]

ANGLE_SHIFT = 2.0
"""Change of φ′ [deg] that is worth a notice: this project's own."""

STRESS_SPREAD = 0.5
"""Range over mean of the normal stresses below which they are too close: this project's own."""

OWN = "threshold of this project's own"
ENOUGH_STRESSES = 3
FIRST_TESTS_WITH_A_PATTERN = 5  # four residuals of a line bend one way or the other by chance


def diagnostic_notices(
    fit: EnvelopeFit, diagnosis: Diagnosis, published: SoilClass | None
) -> tuple[Notice, ...]:
    """What a reader should know before the line is used."""
    notices = [
        *_spread(fit),
        *_influence(fit, diagnosis),
        *_shape(fit, diagnosis),
        *_robust(fit, diagnosis),
        *_scatter(fit),
    ]
    if published is not None:
        notices += _class_range(fit, published)
    return distinct(notices)


def _spread(fit: EnvelopeFit) -> Iterator[Notice]:
    normal, unit = fit.tests.normal, fit.tests.unit
    steps = np.diff(normal) > 0.02 * normal[1:]
    different = 1 + int(np.sum(steps))
    if different < ENOUGH_STRESSES:
        several = f"Two {fit.plane.normal_plural} were"
        if different == 1:
            several = f"One {fit.plane.normal_words} was"
        yield Notice.caution(
            "few-normal-stresses",
            f"{several} tested: nothing here can show whether the envelope is straight.",
            "ASTM D3080-11, 1.6: three or more specimens, each at another normal load",
        )
    if different > 1 and np.ptp(normal) < STRESS_SPREAD * normal.mean():
        yield Notice.caution(
            "tests-close-in-stress",
            f"The {fit.plane.normal_plural}, {normal[0]:.1f} to {normal[-1]:.1f} {unit}, span "
            "less than half their mean: slope and intercept are traded against each other, "
            "and neither is well known.",
            OWN,
        )


def _influence(fit: EnvelopeFit, diagnosis: Diagnosis) -> Iterator[Notice]:
    tests = diagnosis.influences
    parameters = len(tests) - fit.degrees_of_freedom
    yield from (
        Notice.info(
            "high-leverage-test",
            f"Test {test.name} has a high leverage: {test.leverage:.0%} of an error in it goes "
            "into the strength at its stress.",
            "Hoaglin & Welsch (1978): leverage above 2 p / n",
        )
        for test in tests
        if fit.degrees_of_freedom and test.leverage > 2.0 * parameters / len(tests)
    )
    best = fit.best_fit
    shifted = [
        (abs(float(test.without.friction_angle - best.friction_angle)), test.name, test.without)
        for test in tests
        if test.without is not None and fit.degrees_of_freedom
    ]
    shift, name, pair = max(shifted, key=lambda one: one[0], default=(0.0, "", best))
    if shift >= ANGLE_SHIFT:
        yield Notice.caution(
            "test-decides-strength",
            f"Without test {name}, φ′ is {pair.friction_angle:.1f} deg and the "
            f"intercept {pair.cohesion:.1f} {fit.tests.unit}, against "
            f"{best.friction_angle:.1f} deg and {best.cohesion:.1f} {fit.tests.unit} with it.",
            f"a change of {ANGLE_SHIFT:g} deg or more: {OWN}",
        )
    yield from _outliers(fit, tests)


def _outliers(fit: EnvelopeFit, tests: tuple[Influence, ...]) -> Iterator[Notice]:
    spare = fit.degrees_of_freedom - 1
    if spare < 1:
        return
    limit = student_t(1.0 - (1.0 - fit.confidence) / (2.0 * len(tests)), spare)
    yield from (
        Notice.caution(
            "test-off-line",
            f"Test {test.name} lies {test.residual:+.1f} {fit.tests.unit} from the line, "
            f"{min(abs(test.deleted_residual), 999.0):.1f} times the scatter of the others (limit "
            f"{limit:.1f}). Look for its cause before it is left out.",
            "Cook & Weisberg (1982): largest deleted residual at the Bonferroni limit",
        )
        for test in tests
        if test.deleted_residual is not None and abs(test.deleted_residual) > limit
    )


def _shape(fit: EnvelopeFit, diagnosis: Diagnosis) -> Iterator[Notice]:
    curvature, comparison = diagnosis.curvature, diagnosis.comparison
    if curvature is not None and curvature.probability < 1.0 - fit.confidence:
        if curvature.quadratic >= 0.0:
            yield Notice.caution(
                "envelope-bends-upward",
                f"The envelope bends upward (p = {curvature.probability:.3f}), which no soil "
                "does: look for a test with other density, or area, or drainage.",
            )
        elif fit.curve is None:  # else the curve that it asks for is fitted
            yield Notice.caution(
                "envelope-curved",
                f"The envelope bends down (p = {curvature.probability:.3f}): the line "
                "overstates the strength outside the tested range, and its intercept is not "
                f"cohesion. {fit.plane.where_bent}",
            )
    elif _ends_low(diagnosis):
        yield Notice.info(
            "residuals-hint-at-curvature",
            "The lowest and the highest tests lie below the line and those between above it: "
            "the envelope may bend, though the scatter does not prove it.",
        )
    if comparison.line is not None and comparison.power is not None:
        better = comparison.preferred == "power"
        yield Notice.info(
            "power-curve-predicts-better" if better else "line-predicts-better",
            f"Left out in turn, a test is predicted within {comparison.line:.1f} "
            f"{fit.tests.unit} by the line and {comparison.power:.1f} by a power curve "
            "through the origin (root mean square).",
            "Allen (1974): prediction sum of squares",
        )


def _ends_low(diagnosis: Diagnosis) -> bool:
    residuals = np.array([test.residual for test in diagnosis.influences])
    if residuals.size < FIRST_TESTS_WITH_A_PATTERN:
        return False
    return bool(residuals[0] < 0.0 and residuals[-1] < 0.0 and np.all(residuals[1:-1] > 0.0))


def _robust(fit: EnvelopeFit, diagnosis: Diagnosis) -> Iterator[Notice]:
    robust = diagnosis.robust
    if robust is None or not fit.degrees_of_freedom:
        return
    if abs(float(robust.friction_angle) - float(fit.best_fit.friction_angle)) < ANGLE_SHIFT:
        return
    yield Notice.caution(
        "robust-line-differs",
        f"The Theil-Sen line gives {robust.cohesion:.1f} {fit.tests.unit} and "
        f"{robust.friction_angle:.1f} deg where least squares gives "
        f"{fit.best_fit.cohesion:.1f} and {fit.best_fit.friction_angle:.1f}: one or two tests "
        "pull the line.",
        f"a difference of {ANGLE_SHIFT:g} deg or more: {OWN}",
    )


def _scatter(fit: EnvelopeFit) -> Iterator[Notice]:
    band, residual = fit.tests.band_std, fit.residual_std
    if residual is None or not math.isfinite(band) or band <= 0.0:
        return
    freedom = fit.degrees_of_freedom
    most = float(scipy.special.chdtri(freedom, 1.0 - fit.confidence))
    if freedom * (residual / band) ** 2 <= most:
        return
    yield Notice.info(
        "scatter-beyond-readings",
        f"The points scatter by {residual:.2f} {fit.tests.unit} about the line, more than the "
        f"gauge explains ({band:.2f}): the specimens differ, or the envelope is not straight.",
        "chi-squared test of the residual variance against that of the reading bands",
    )


def _class_range(fit: EnvelopeFit, published: SoilClass) -> Iterator[Notice]:
    angle, (low, high) = float(fit.best_fit.friction_angle), published.friction_angle
    if angle > high:
        yield Notice.caution(
            "friction-angle-above-class-range",
            f"φ′ = {angle:.1f} deg is above what is published for {published.symbol}, "
            f"{low:g} to {high:g} deg: check area, units, and rate of shearing.",
            FRICTION_SOURCE,
        )
    elif angle < low and fit.tests.state == "peak":
        yield Notice.info(
            "friction-angle-below-class-range",
            f"φ′ = {angle:.1f} deg is below what is published for {published.symbol}, "
            f"{low:g} to {high:g} deg at peak.",
            FRICTION_SOURCE,
        )
    soaked, compacted = published.cohesion_saturated, published.cohesion_compacted
    cohesion = float(fit.best_fit.cohesion)
    if fit.tests.unit == "kPa" and soaked is not None and cohesion > soaked:
        yield Notice.caution(
            "cohesion-above-class-range",
            f"c′ = {cohesion:.1f} kPa is above the {soaked:.0f} kPa typical of compacted "
            f"{published.symbol} when soaked ({compacted:.0f} kPa as compacted): suction, "
            "cementation, a curved envelope or chance. Do not count on it where the soil can "
            "get wet.",
            COHESION_SOURCE,
        )
