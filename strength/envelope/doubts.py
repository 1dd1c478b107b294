"""What the fit of an envelope leaves uncertain, said in notices."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from slipmargin.strength.envelope.fitted import FittedEnvelope
from slipmargin.strength.line import fit_line, student_t
from slipmargin.strength.notice import Notice
from slipmargin.strength.rare_values import rare_fit

__all__ = ["fit_doubts"]


def fit_doubts(fit: FittedEnvelope, cohesionless: bool) -> Iterator[Notice]:
    """Notices of what a reader should distrust in a fit."""
    tests, unit = fit.tests, fit.tests.unit
    count = len(tests.names)
    if fit.degrees_of_freedom == 0:
        yield Notice.caution(
            "one-test" if count == 1 else "two-tests",
            f"{'One test fixes' if count == 1 else 'Two tests fix'} the line but show no "
            "scatter: its uncertainty is unknown, not zero.",
        )
    elif count < 4:
        yield Notice.caution(
            "few-tests",
            f"{count} tests leave {fit.degrees_of_freedom} degree(s) of freedom: the limits "
            f"are {_reach(fit):.1f} standard errors away from the best fit.",
        )
    yield from _scatter_replaced(fit)
    if fit.cohesion_assumed:
        yield from _assumed(fit)
    elif fit.through_origin:
        yield from _refitted(fit)
    if fit.intercept == "free" and fit.best_fit.cohesion < 0.0:
        yield Notice.caution(
            "negative-intercept",
            f"The line meets the axis at {fit.best_fit.cohesion:.2f} {unit}, below zero: no "
            "check accepts this strength.",
        )
    elif cohesionless and fit.best_fit.cohesion > 0.0:
        yield Notice.caution(
            "cohesion-in-cohesionless-soil",
            f"The soil is declared cohesionless, yet the line meets the axis at "
            f"{fit.best_fit.cohesion:.2f} {unit}: most often friction in the box, a curved "
            'envelope or chance. Use intercept = "zero".',
        )
    error = fit.standard_error_cohesion
    if error is not None and 0.0 < fit.best_fit.cohesion < _reach(fit) * error:
        yield Notice.caution(
            "cohesion-not-distinct-from-zero",
            f"At {fit.confidence:.0%} confidence the intercept of {fit.best_fit.cohesion:.2f} "
            f"{unit} cannot be told from zero; a design that needs it rests on chance.",
        )
    if unit == "N":
        yield Notice.caution(
            "tested-range-unknown",
            "The readings are forces and no specimen is given: the angle holds, but the "
            "tested stress range is unknown.",
        )
    yield from _curve_doubts(fit)
    yield from rare_fit(fit)


def _scatter_replaced(fit: FittedEnvelope) -> Iterator[Notice]:
    """What the errors rest on, where it is not the scatter about the line."""
    residual, error, tests = fit.residual_std, fit.error_std, fit.tests
    if residual is None or error is None or error <= residual:
        return
    points = f"The points scatter less about the line ({residual:.2f} {tests.unit})"
    if error == tests.band_std:
        yield Notice.info(
            "reading-band-governs",
            f"{points} than the gauge bounced ({error:.2f} {tests.unit}); the standard errors "
            "rest on the reading bands.",
        )
        return
    yield Notice.info(
        "spread-of-repeats-governs",
        f"{points} than the spread of repeated readings allows their means ({error:.2f} "
        f"{tests.unit}): so close a line is chance, and the standard errors rest on the "
        "repeats.",
    )


def _refitted(fit: FittedEnvelope) -> Iterator[Notice]:
    """A free intercept below zero, and what the line through the origin hides of it."""
    unit, free = fit.tests.unit, float(fit.error_line.intercept)
    yield Notice.caution(
        "negative-intercept-refitted",
        f"The free line meets the axis at {free:.2f} {unit}, below zero, which no soil does; "
        "it was fitted again through the origin. What the tests know of c′ and φ′ is no more "
        "for that: errors, limits and cautious value are those of the free line, cut at "
        "c′ = 0.",
    )
    limits = _intercept_limits(fit)
    if limits is not None and limits[1] < 0.0:
        yield Notice.caution(
            "intercept-below-zero",
            f"At {fit.confidence:.0%} confidence the intercept of the tests lies below zero, "
            f"{limits[0]:.1f} to {limits[1]:.1f} {unit}: a line through the origin overstates "
            "the strength at low stress. Look at area, zero reading and friction taken off, "
            "and for an envelope that bends.",
        )


def _assumed(fit: FittedEnvelope) -> Iterator[Notice]:
    """That c′ = 0 was stated, and whether the tests speak against it."""
    tests, unit = fit.tests, fit.tests.unit
    yield Notice.info(
        "zero-cohesion-assumed",
        "c′ = 0 is assumed, not found from the tests: the limits are those of a line through "
        "the origin and allow for no cohesion, nor for an intercept below zero.",
    )
    limits = _intercept_limits(fit)
    if limits is not None and not limits[0] <= 0.0 <= limits[1]:
        free = float(fit_line(tests.normal, tests.shear).intercept)
        where = "low" if free < 0.0 else "high"
        yield Notice.caution(
            "zero-cohesion-against-tests",
            f"c′ = 0 is assumed, yet the free line meets the axis at {free:.2f} {unit}, and at "
            f"{fit.confidence:.0%} confidence the intercept is not zero ({limits[0]:.1f} to "
            f"{limits[1]:.1f} {unit}): a line through the origin overstates the strength at "
            f"{where} stress.",
        )


def _intercept_limits(fit: FittedEnvelope) -> tuple[float, float] | None:
    """Two-sided limits of the free intercept, not cut; ``None`` where the tests give none."""
    if len(fit.tests.names) < 3 or fit.error_std is None:
        return None
    line = fit_line(fit.tests.normal, fit.tests.shear)
    variance = np.fmax(line.residual_variance, fit.tests.least_std**2)
    reach = student_t((1.0 + fit.confidence) / 2.0, line.degrees_of_freedom) * float(
        line.standard_error(0.0, variance)
    )
    middle = float(line.intercept)
    return (middle - reach, middle + reach) if math.isfinite(reach) else None


def _curve_doubts(fit: FittedEnvelope) -> Iterator[Notice]:
    curve = fit.curve
    if curve is None:
        return
    low, high = curve.tested_range
    chord = curve.chord
    yield Notice.caution(
        "curved-envelope-used",
        f"The strength is the curve {curve.equation}. A check that needs one "
        f"pair, and says so, takes its chord from {low:.1f} to {high:.1f} kPa, "
        f"c′ = {chord.cohesion:.2f} kPa and φ′ = {chord.friction_angle:.1f} deg; outside that "
        "range the chord overstates it.",
    )
    if curve.exponent > 1.0:
        yield Notice.caution(
            "power-exponent-above-one",
            f"The exponent came out at {curve.exponent:.3f}, above 1: the curve bends upward, "
            "which no soil does. It overstates the strength above the tested range; use the "
            "line, or look for a test that does not belong.",
        )


def _reach(fit: FittedEnvelope) -> float:
    """How many standard errors the two-sided limits lie away."""
    return student_t((1.0 + fit.confidence) / 2.0, fit.degrees_of_freedom)
