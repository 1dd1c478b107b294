"""What the fit of an envelope leaves in doubt, said in notices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strength.line import student_t
from strength.notice import Notice

if TYPE_CHECKING:
    from strength.envelope_fit import EnvelopeFit

__all__ = ["TRAVELLING", "fit_doubts"]

TRAVELLING = frozenset(
    {
        "two-tests",
        "one-test",
        "few-tests",
        "tested-range-unknown",
        "curved-envelope-used",
        "power-exponent-above-one",
    }
)
"""Notices of the fit that follow its strength into every check."""


def fit_doubts(fit: EnvelopeFit, band_governs: bool, cohesionless: bool) -> list[Notice]:
    """Notices of what a reader should distrust in a fit."""
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
    return notices + _curve_doubts(fit)


def _curve_doubts(fit: EnvelopeFit) -> list[Notice]:
    curve = fit.curve
    if curve is None:
        return []
    low, high = curve.tested_range
    chord = curve.chord
    notices = [
        Notice.caution(
            "curved-envelope-used",
            f"The strength is the curve τ = {curve.coefficient:.3f} pa (σ′/pa)^"
            f"{curve.exponent:.3f}, pa = {curve.reference_pressure:g} kPa. A check that needs one "
            f"pair takes its chord from {low:.1f} to {high:.1f} kPa, c′ = {chord.cohesion:.2f} kPa "
            f"and φ′ = {chord.friction_angle:.1f} deg; outside that range the chord overstates it.",
        )
    ]
    if curve.exponent > 1.0:
        notices.append(
            Notice.caution(
                "power-exponent-above-one",
                f"The exponent came out at {curve.exponent:.3f}, above 1: the curve bends upward, "
                "which no soil does. It overstates the strength above the tested range; use the "
                "line, or look for a test that does not belong.",
            )
        )
    return notices


def _could_be_zero(fit: EnvelopeFit) -> bool:
    if fit.standard_error_cohesion is None or fit.best_fit.cohesion <= 0.0:
        return False
    t = student_t((1.0 + fit.confidence) / 2.0, fit.degrees_of_freedom)
    return bool(fit.best_fit.cohesion < t * fit.standard_error_cohesion)
