"""What each reading of the same tests gives, and how a stated strength sits against them.

Peak, end of test and residual are different points of the same tests; zero intercept,
cautious and the power curve are different uses of one point. All are fitted under the rules
of ``envelope_fit``. A reviewer sees in one table how much of the strength is a choice.
How a stated strength sits against the tests is in ``stated_strength``.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping

from slipmargin.strength.envelope.fit import EnvelopeFit, fit_envelope
from slipmargin.strength.envelope.fitted import Interpretation
from slipmargin.strength.envelope.strength import Strength
from slipmargin.strength.errors import InputError, need, need_one_of
from slipmargin.strength.laboratory.readings import STATES, Readings
from slipmargin.strength.laboratory.specimen import Specimen
from slipmargin.strength.laboratory.stress_displacement import reduce_tests
from slipmargin.strength.pair import Pair

__all__ = ["Interpretation", "interpretations", "stated_as_read"]


def interpretations(
    readings: Readings,
    specimen: Specimen | None = None,
    *,
    confidence: float = 0.95,
    state: str = "peak",
    intercept: str = "non_negative",
    envelope: str = "line",
    area_correction: bool = False,
    stated: Mapping[str, Pair] | None = None,
    operating_stress: float | None = None,
) -> tuple[Interpretation, ...]:
    """Every interpretation the readings allow; the others are left out.

    Parameters
    ----------
    readings, specimen
        As they come, of a shear box or of triaxial tests. Forces without a specimen give the
        angle alone, through the origin.
    confidence
        Of the cautious value.
    state
        Point of the tests for zero intercept, cautious and power curve; the first one the
        readings hold where they do not hold it.
    intercept
        Rule for the intercept of all but ``zero intercept``.
    envelope
        ``line`` or ``power``: what the cautious value lies below.
    area_correction
        As in ``reduce_tests``.
    stated
        Pairs that others stated, by who stated them.
    operating_stress
        Effective normal stress [kPa] at which the power curve is taken; the middle of the
        tested range where it is not given.

    Raises
    ------
    InputError
        Readings that give no line at all, or an operating stress not above zero.

    Examples
    --------
    >>> from slipmargin.strength import Readings, interpretations
    >>> readings = Readings(
    ...     test="1234", normal=[25.0, 50.0, 100.0, 150.0], shear=[20.3, 35.2, 65.8, 94.9]
    ... )
    >>> for one in interpretations(readings, operating_stress=20.0):
    ...     print(f"{one.name}: {float(one.cohesion):.1f} kPa, {float(one.friction_angle):.1f} deg")
    peak: 5.4 kPa, 30.9 deg
    zero intercept: 0.0 kPa, 32.9 deg
    cautious: 4.5 kPa, 30.8 deg
    power curve: 1.8 kPa, 35.1 deg
    """
    need("readings", readings, Readings, "Readings, such as read_readings(path) gives")
    if operating_stress is not None and not 0.0 < operating_stress < math.inf:
        raise InputError("operating_stress", operating_stress, "allowed: above 0 kPa")
    need_one_of("state", state, STATES)
    # a record may yield any state; a table says which it holds
    present = [word for word in STATES if readings.is_record or word in readings.state]
    chosen = state if state in present or not present else present[0]
    force_only = readings.unit == "N" and specimen is None
    rule = "zero" if force_only else intercept
    fits: dict[str, EnvelopeFit] = {}
    for word in present or [chosen]:
        try:
            tests = reduce_tests(readings, specimen, state=word, area_correction=area_correction)
            fits[word] = fit_envelope(tests, intercept=rule, confidence=confidence)
        except InputError:
            if word == chosen:
                raise
    rows = [
        _row(
            word.replace("_", " "),
            fit.best_fit,
            f"best fit to {len(fit.tests.names)} test(s){fit.origin_words}",
        )
        for word, fit in fits.items()
        if fit.best_fit.cohesion >= 0.0
    ]
    main = fits[chosen]
    rows += _uses_of_one_point(main, envelope, operating_stress)
    rows += [stated_as_read(who, pair) for who, pair in (stated or {}).items()]
    return tuple(rows)


def stated_as_read(who: str, pair: Pair) -> Interpretation:
    """A pair that somebody stated, beside what the readings give."""
    return _row(f"stated by {who}", pair, "not from these readings")


def _uses_of_one_point(
    fit: EnvelopeFit, envelope: str, operating_stress: float | None
) -> list[Interpretation]:
    tests, confidence = fit.tests, fit.confidence
    zero = fit_envelope(tests, intercept="zero", confidence=confidence)
    try:
        bent = fit_envelope(tests, envelope="power", confidence=confidence)
    except InputError:
        bent = None
    words = tests.state.replace("_", " ")
    below = f"{words}, below the mean {{}} at {confidence:.0%} confidence in the tested range"
    rows = [_row("zero intercept", zero.best_fit, words + zero.origin_words)]
    if envelope == "power":
        if bent is not None and bent.cautious_curve is not None:
            cautious = bent.strength("cautious")
            rows.append(_along("cautious", cautious, operating_stress, below.format("curve")))
    elif fit.cautious is not None:
        rows.append(_row("cautious", fit.cautious, below.format("line")))
    # of a curve that bends upward the tangent has no cohesion a check would take
    if bent is not None and bent.curve is not None and bent.curve.exponent <= 1.0:
        rows.append(_along("power curve", bent.strength(), operating_stress, words))
    return rows


def _along(
    name: str, strength: Strength, operating_stress: float | None, words: str
) -> Interpretation:
    """A strength along a curve, and its tangent."""
    curve = strength.curve
    assert curve is not None
    low, high = curve.tested_range
    stress = (low + high) / 2.0 if operating_stress is None else operating_stress
    beyond = "" if low <= stress <= high else ", outside the tested range"
    note = f"{words}, tangent at {stress:.1f} kPa{beyond}; holds near there only"
    return dataclasses.replace(_row(name, curve.tangent_at(stress), note), curve=strength)


def _row(name: str, pair: Pair, note: str) -> Interpretation:
    return Interpretation(name, float(pair.cohesion), float(pair.friction_angle), note)
