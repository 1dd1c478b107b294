"""The verdict on a check: over every reading of the tests, and over their 95 % region.

One soil is read otherwise at a time, as ``interpretations`` does. A limit state that takes
seconds (``SLOW``) is judged by one strength that bounds all the others: the lowest c′ and φ′ of
every reading and region together where it is met as used, the highest where it is missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipmargin.cli.questions.angle_needed import AngleNeeded, AngleSweep
from slipmargin.cli.questions.check import CheckOutcome
from slipmargin.cli.questions.interpretations import Row
from slipmargin.cli.questions.joint_region import over_outline, region_of
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
from slipmargin.stability.uncertainty.sweep import with_soil_strength
from slipmargin.strength import InputError

__all__ = ["judge"]


def judge(
    scenario: Scenario,
    outcome: CheckOutcome,
    rows: Sequence[Row],
    sampled: CheckReliability | None,
) -> CheckReview:
    """The verdict on every limit state of a check.

    Parameters
    ----------
    scenario, outcome
        Where the check stands, and what it gave.
    rows, sampled
        What ``interpretations`` and ``reliability`` give for it.
    """
    entry = outcome.entry
    names = list(dict.fromkeys(entry.soils.values()))
    outlines = {name: region_of(scenario.soils[name]) for name in names}
    regions = [over_outline(scenario, entry, one) for one in outlines.values() if one is not None]
    sweeps = [one for name in names if (one := AngleSweep.of(scenario, entry, name)) is not None]
    fitted = [name for name in names if scenario.soils[name].fit is not None]
    unknown = [name for name in fitted if outlines[name] is None]
    said = ""
    if unknown:
        said = f"the tests of {', '.join(unknown)} give no 95 % region"
    elif not fitted:
        said = "the strength is stated, so that no test says how well it is known"
    states = []
    for state, used, target in outcome.judged:
        slow = state in entry.check.SLOW
        bound = _Bound(scenario, entry, rows, state) if slow else None
        factor = _judged(
            "",
            used,
            (None, "") if target is None else (float(np.max(target.value)), target.text),
            [Reading(r.reading.name, r.soil, r.factors[state]) for r in rows if state in r.factors],
            [one[state] for one in regions if state in one],
            None if target is None else _nearest(sweeps, state, None),
            known=not unknown,
            bound=bound,
        )
        levels = [
            _judged(
                name := design.factor_set.name,
                float(design.utilisation[state]),
                (1.0, "1"),
                [
                    Reading(r.reading.name, r.soil, r.levels[name][state])
                    for r in rows
                    if state in r.levels.get(name, {})
                ],
                [one[name, state] for one in regions if (name, state) in one],
                _nearest(sweeps, state, name),
                known=not unknown,
                bound=bound,
            )
            for design in outcome.designs
            if state in design.utilisation
        ]
        doubt = None if sampled is None else sampled.factors.get(state)
        every = (factor, *levels)
        unbounded = slow and all(one.lowest is None and one.highest is None for one in every)
        why = "what other strengths give is not worked out" if unbounded and fitted else said
        states.append(StateReview(state, factor, tuple(levels), doubt, why))
    return CheckReview(entry, tuple(states), outcome.notices)


def _nearest(sweeps: Sequence[AngleSweep], state: str, by_set: str | None) -> AngleNeeded | None:
    """Of the angles of several soils the one fewest standard errors away."""
    found = [one for sweep in sweeps if (one := sweep.needed(state, by_set)) is not None]
    away = [np.inf if one.standard_errors is None else abs(one.standard_errors) for one in found]
    return found[int(np.argmin(away))] if found else None


def _judged(
    by_set: str,
    used: float,
    asked: tuple[float | None, str],
    readings: Sequence[Reading],
    regions: Sequence[Any],
    needed: AngleNeeded | None,
    *,
    known: bool,
    bound: _Bound | None,
) -> Judged:
    least, text = asked
    by_value = sorted(readings, key=lambda one: one.value)
    careful = [one.value for one in readings if one.name == "cautious"]
    over = np.concatenate([np.asarray(one, dtype=float) for one in regions]) if regions else None
    found = Judged(
        by_set=by_set,
        used=used,
        asked=least,
        asked_text=text,
        lowest=by_value[0] if by_value else None,
        highest=by_value[-1] if by_value else None,
        cautious=(max(careful) if by_set else min(careful)) if careful else None,
        over_region=None if over is None else _ends(over, nothing=np.inf if by_set else -np.inf),
        needed=needed,
        verdict=None,
    )
    if least is None:
        return found
    if bound is not None:
        return bound.judge(found)
    values = [used, *(one.value for one in readings), *(found.over_region or ())]
    met = [found.meets(value) for value in values]
    verdict = HOLDS if all(met) and known else HANGS if any(met) else MISSES
    return replace(found, verdict=verdict)


def _ends(values: Any, *, nothing: float) -> tuple[float, float]:
    """Least and most; a strength that the theory refuses is as bad as can be."""
    values = np.where(np.isnan(values), nothing, values)
    return float(np.min(values)), float(np.max(values))


@dataclass(frozen=True, slots=True)
class _Bound:
    """Judges a slow limit state by one strength that bounds all that could be meant."""

    scenario: Scenario
    entry: CheckEntry
    rows: Sequence[Row]
    state: str

    def judge(self, one: Judged) -> Judged:
        """The same with its bound among the readings, and the verdict that follows."""
        met = one.meets(one.used)
        value = self._value(one.by_set, lowest=met)
        if value is None:
            return replace(one, verdict=HANGS)
        which = "lowest" if met else "highest"
        reading = Reading(f"{which} c′ and φ′ of all readings together", "", value)
        verdict = HANGS if one.meets(value) != met else HOLDS if met else MISSES
        low = met != bool(one.by_set)
        return replace(
            one,
            lowest=reading if low else one.lowest,
            highest=one.highest if low else reading,
            verdict=verdict,
        )

    def _value(self, by_set: str, *, lowest: bool) -> float | None:
        check = self.entry.check
        for name in dict.fromkeys(self.entry.soils.values()):
            soil = self.scenario.soils[name]
            outline = region_of(soil)
            unknown = soil.fit is not None and outline is None
            if unknown or soil.soil.strength.curve is not None:
                return None
            own = [row.reading for row in self.rows if row.soil == name]
            pairs = [np.array([one.cohesion, one.friction_angle]) for one in own]
            if outline is not None:
                pairs += list(np.column_stack(outline.pairs))
            corner = np.min(pairs, axis=0) if lowest else np.max(pairs, axis=0)
            check = with_soil_strength(check, name, float(corner[0]), float(corner[1]))
        try:
            return self._of(check, by_set)
        except InputError:
            return None

    def _of(self, check: Check, by_set: str) -> float | None:
        if not by_set:
            others = {*check.limit_states} - {self.state}
            return float(np.asarray(check.factors_alone(leave_out=others)[self.state]))
        basis = self.scenario.basis
        assert basis is not None
        design = next(one for one in basis.design(check) if one.factor_set.name == by_set)
        return float(np.asarray(design.utilisation[self.state]))
