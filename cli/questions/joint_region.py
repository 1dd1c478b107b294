"""The 95 % joint region of a fit, carried through the checks that stand on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.questions.utilisations import answers, with_gaps
from slipmargin.cli.scenario.doubts import curve_putter
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.strength import InputError, JointStrength
from slipmargin.strength.envelope.joint_curve import JointCurve

__all__ = ["CONFIDENCE", "Outline", "over_all_outlines", "over_outline", "region_of"]

CONFIDENCE = 0.95
"""Of the region that a verdict asks for."""

_ENDS = (np.argmin, np.argmax)


@dataclass(frozen=True, slots=True)
class Outline:
    """The outline of the joint region of one soil, shape (n,), and how a check takes it.

    ``pairs`` holds cohesions [kPa] and angles [deg]; of a curved envelope, which has none, the
    two are coefficient and exponent.
    """

    pairs: tuple[Any, Any]
    put: Callable[[Check, Any, Any], Check]


def region_of(
    soil: SoilEntry, confidence: float = CONFIDENCE, points: int = 180, *, single: bool = False
) -> Outline | None:
    """The outline for one soil; ``None`` where nothing is known of it: stated strengths, too
    few tests, readings in forces. ``points`` and ``single`` are as in ``JointStrength.region``.
    """
    fit, name = soil.fit, soil.name
    if fit is None:
        return None
    try:
        joint = JointStrength.of(fit) if fit.curve is None else JointCurve(fit.curve)
        pairs = joint.region(confidence, points, single=single)
    except InputError:
        return None
    if fit.curve is None:
        return Outline(pairs, lambda check, c, phi: with_soil_strength(check, name, c, phi))
    put = curve_putter(name, fit.curve)
    return Outline(pairs, lambda check, a, n: put(check, {"coefficient": a, "exponent": n}))


def over_outline(scenario: Scenario, entry: CheckEntry, outline: Outline) -> Mapping[Any, Any]:
    """Factors of a check by limit state, and levels by set and limit state, along an outline.

    A strength that the theory of the check refuses gives nan, which meets nothing.
    """
    answer = answers(scenario, entry.check)
    first, second = outline.pairs

    def ask(part: slice) -> Mapping[Any, Any]:
        found = answer(outline.put(entry.check, first[part], second[part]))
        shape = first[part].shape
        return {key: np.broadcast_to(np.asarray(one, float), shape) for key, one in found.items()}

    try:
        return with_gaps(ask, first.size)
    except InputError:
        return {}


def over_all_outlines(
    scenario: Scenario, entry: CheckEntry, outlines: Sequence[Outline]
) -> list[Mapping[Any, Any]]:
    """What ``over_outline`` gives for each soil, and, of several, for all at once: each where its
    outline is worst by itself, and each where it is best.

    The tests of two soils are independent, so that both can be as bad.
    """
    alone = [over_outline(scenario, entry, one) for one in outlines]
    known = [(one, found) for one, found in zip(outlines, alone, strict=True) if found]
    if len(known) < 2:
        return alone
    answer = answers(scenario, entry.check)
    keys = list(known[0][1])
    ends = [[pick(found[key]) for key in keys for pick in _ENDS] for _, found in known]

    def ask(part: slice) -> Mapping[Any, Any]:
        check, count = entry.check, len(ends[0][part])
        for (outline, _), places in zip(known, ends, strict=True):
            first, second = outline.pairs
            check = outline.put(check, first[places[part]], second[places[part]])
        found = answer(check)
        return {key: np.broadcast_to(np.asarray(one, float), count) for key, one in found.items()}

    try:
        together = with_gaps(ask, len(ends[0]))
    except InputError:
        together = {key: np.array([np.nan]) for key in keys}
    return [*alone, together]
