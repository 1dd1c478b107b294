"""The verdict on a check: over every reading of the tests, and over their 95 % region.

One soil is read otherwise at a time, as ``interpretations`` does; the regions of several soils are
looked at one at a time and all at once, each where it is worst by itself. A limit state that takes
seconds (``SLOW``) is judged by one strength that bounds all the others: the lowest c′ and φ′ of
every reading and region together where it is met as used, the highest where it is missed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from slipmargin.cli.questions.angle_needed import AngleNeeded, angle_needed, over_angles
from slipmargin.cli.questions.check import CheckOutcome
from slipmargin.cli.questions.interpretations import Row
from slipmargin.cli.questions.joint_region import over_all_outlines, region_of
from slipmargin.cli.questions.one_field import OneField
from slipmargin.cli.questions.reliability import CheckReliability
from slipmargin.cli.questions.verdicts import (
    HANGS,
    HOLDS,
    MISSES,
    CheckReview,
    Judged,
    Reading,
    StateReview,
)
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.strength import InputError

__all__ = ["judge"]


def judge(
    scenario: Scenario,
    outcome: CheckOutcome,
    rows: Sequence[Row],
    sampled: CheckReliability | None,
) -> CheckReview:
    """The verdict on every limit state of a check, from what ``check``, ``interpretations`` and
    ``reliability`` give for it.
    """
    entry = outcome.entry
    names = entry.soil_names
    outlines = {name: region_of(scenario.soils[name]) for name in names}
    known = [one for one in outlines.values() if one is not None]
    regions = over_all_outlines(scenario, entry, known)
    angles = [one for name in names if (one := over_angles(scenario, entry, name)) is not None]
    fitted = [name for name in names if scenario.soils[name].fit is not None]
    unknown = [name for name in fitted if outlines[name] is None]
    said = ""
    if unknown:
        said = f"the tests of {', '.join(unknown)} give no 95 % region"
    elif not fitted:
        said = "the strength is stated, so that no test says how well it is known"

    def judged(state: str, by_set: str, used: float, asked: float | None, text: str) -> Judged:
        every = ((row, row.gives(state, by_set)) for row in rows)
        readings = [
            Reading(r.reading.name, r.soil, value) for r, value in every if value is not None
        ]
        key = (by_set, state) if by_set else state
        over = [np.asarray(one[key], dtype=float) for one in regions if key in one]
        needed = None if asked is None else _nearest(angles, state, by_set)
        found = _read(by_set, used, asked, text, readings, over, needed)
        if asked is None:
            return found
        if state in entry.check.SLOW:
            return _bounded(found, scenario, entry, rows, state)
        values = [used, *(one.value for one in readings), *(found.over_region or ())]
        met = [found.meets(value) for value in values]
        verdict = HOLDS if all(met) and not unknown else HANGS if any(met) else MISSES
        return replace(found, verdict=verdict)

    states = []
    for state, used, target in outcome.judged:
        asked = (None, "") if target is None else (float(np.max(target.value)), target.text)
        factor = judged(state, "", used, *asked)
        levels = tuple(
            judged(state, design.factor_set.name, float(design.utilisation[state]), 1.0, "1")
            for design in outcome.designs
            if state in design.utilisation
        )
        every = (factor, *levels)
        bare = state in entry.check.SLOW and not any(one.lowest or one.highest for one in every)
        why = "what other strengths give is not worked out" if bare and fitted else said
        doubt = None if sampled is None else sampled.factors.get(state)
        states.append(StateReview(state, factor, levels, doubt, why))
    return CheckReview(entry, tuple(states), outcome.notices)


def _nearest(sweeps: Sequence[OneField], state: str, by_set: str = "") -> AngleNeeded | None:
    """Of the angles of several soils the one fewest standard errors away."""
    found = [one for over in sweeps if (one := angle_needed(over, state, by_set)) is not None]
    away = [np.inf if one.standard_errors is None else abs(one.standard_errors) for one in found]
    return found[int(np.argmin(away))] if found else None


def _read(
    by_set: str,
    used: float,
    asked: float | None,
    text: str,
    readings: Sequence[Reading],
    regions: Sequence[Any],
    needed: AngleNeeded | None,
) -> Judged:
    """What readings and regions say, before the verdict."""
    by_value = sorted(readings, key=lambda one: one.value)
    careful = [one.value for one in readings if one.name == "cautious"]
    over = None
    if regions:
        # a strength that the theory refuses is as bad as can be
        values = np.concatenate(regions)
        values = np.where(np.isnan(values), np.inf if by_set else -np.inf, values)
        over = float(np.min(values)), float(np.max(values))
    return Judged(
        by_set=by_set,
        used=used,
        asked=asked,
        asked_text=text,
        lowest=by_value[0] if by_value else None,
        highest=by_value[-1] if by_value else None,
        cautious=(max(careful) if by_set else min(careful)) if careful else None,
        over_region=over,
        needed=needed,
        verdict=None,
    )


def _bounded(
    one: Judged, scenario: Scenario, entry: CheckEntry, rows: Sequence[Row], state: str
) -> Judged:
    """Judges a slow limit state by one strength that bounds all that could be meant; it stands
    among the readings.
    """
    met = one.meets(one.used)
    check = _at_bound(scenario, entry, rows, np.min if met else np.max)
    value = None if check is None else _of_slow(scenario, check, state, one.by_set)
    if value is None:
        return replace(one, verdict=HANGS)
    which = "lowest" if met else "highest"
    reading = Reading(f"{which} c′ and φ′ of all readings together", "", value)
    verdict = HANGS if one.meets(value) != met else HOLDS if met else MISSES
    if met != bool(one.by_set):
        return replace(one, lowest=reading, verdict=verdict)
    return replace(one, highest=reading, verdict=verdict)


def _at_bound(
    scenario: Scenario, entry: CheckEntry, rows: Sequence[Row], bound: Callable[..., Any]
) -> Check | None:
    """The check at the least or most of every c′ and φ′; ``None`` where a soil has no such pair."""
    check = entry.check
    for name in entry.soil_names:
        soil = scenario.soils[name]
        outline = region_of(soil)
        unknown = soil.fit is not None and outline is None
        if unknown or soil.soil.strength.curve is not None:
            return None
        own = [row.reading for row in rows if row.soil == name]
        pairs = [np.array([one.cohesion, one.friction_angle]) for one in own]
        if outline is not None:
            pairs += list(np.column_stack(outline.pairs))
        corner = bound(pairs, axis=0)
        check = with_soil_strength(check, name, float(corner[0]), float(corner[1]))
    return check


def _of_slow(scenario: Scenario, check: Check, state: str, by_set: str) -> float | None:
    """Factor of a slow limit state, or its level under a set; ``None`` where it has none."""
    try:
        if not by_set:
            others = {*check.limit_states} - {state}
            return float(np.asarray(check.factors_alone(leave_out=others)[state]))
        assert scenario.basis is not None
        design = next(d for d in scenario.basis.design(check) if d.factor_set.name == by_set)
        return float(np.asarray(design.utilisation[state]))
    except InputError:
        return None
