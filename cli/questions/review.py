"""The reviewer's question: what holds, what hangs on the reading of the tests, what misses.

Nothing is worked out a second time here. The factors as used are those of ``check``, the other
readings of the same data those of ``interpretations``, the probabilities those of
``reliability``, and the friction angle at which a target is met that of a sweep with the
cohesion held. What is added is the outline of the 95 % joint region of each fit, carried
through the same checks, and the verdict:

- ``holds``: met as used, under every interpretation and over the whole of the region;
- ``misses``: missed by all of them;
- ``hangs_on_the_reading``: neither, and also where tests are too few to give a region.

One soil is read otherwise at a time, as ``interpretations`` does. A limit state that takes
seconds (``SLOW``) is judged by one strength that bounds all the others: the lowest c′ and φ′ of
every reading and region together where it is met as used, the highest where it is missed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipmargin.cli.questions.angle_needed import AngleNeeded, AngleSweep
from slipmargin.cli.questions.check import CheckOutcome, evaluate
from slipmargin.cli.questions.interpretations import CheckInterpretations, Row, interpret
from slipmargin.cli.questions.joint_region import over_outline, region_of
from slipmargin.cli.questions.reliability import CheckReliability, run_reliability
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.reliability import FactorDoubt
from slipmargin.stability.uncertainty.sweep import with_soil_strength
from slipmargin.strength import InputError, Notice

__all__ = [
    "HANGS",
    "HOLDS",
    "MISSES",
    "CheckReview",
    "Judged",
    "Reading",
    "Review",
    "StateReview",
    "review",
]

HOLDS, HANGS, MISSES = "holds", "hangs_on_the_reading", "misses"
"""Verdicts, in the words of the document."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one reading of the data of one soil gives."""

    name: str
    soil: str
    value: float


@dataclass(frozen=True, slots=True)
class Judged:
    """One factor of safety, or degree of utilisation, and what is asked of it.

    Parameters
    ----------
    by_set
        Name of the set of partial factors; empty for a factor of safety.
    used
        As ``check`` gives it.
    asked, asked_text
        The least factor, or the highest utilisation, and the same as it is written; ``None``
        and empty where nothing is asked.
    lowest, highest, cautious
        Over the readings of the same data, and the lowest factor (the highest utilisation) of
        cautious strengths; ``None`` where there is no other reading.
    over_region
        Least and most over the 95 % regions; ``None`` where no fit gives one.
    needed
        The friction angle at which it is just met; ``None`` where none does it.
    verdict
        One of the three; ``None`` where nothing is asked.
    """

    by_set: str
    used: float
    asked: float | None
    asked_text: str
    lowest: Reading | None
    highest: Reading | None
    cautious: float | None
    over_region: tuple[float, float] | None
    needed: AngleNeeded | None
    verdict: str | None

    def meets(self, value: float) -> bool:
        """Whether a value is what is asked."""
        asked = 1.0 if self.asked is None else self.asked
        return bool(value <= asked if self.by_set else value >= asked)

    @property
    def crosses(self) -> bool | None:
        """Whether the 95 % region lies on both sides of what is asked."""
        if self.over_region is None or self.asked is None:
            return None
        low, high = self.over_region
        return self.meets(low) != self.meets(high)

    @property
    def margin(self) -> float:
        """Over what is asked, as used: below 1 where it is missed."""
        if self.by_set:
            return np.inf if self.used <= 0.0 else 1.0 / self.used
        return self.used / self.asked if self.asked else np.inf


@dataclass(frozen=True, slots=True)
class StateReview:
    """One limit state: its factor of safety, and its degree of utilisation under each set.

    ``not_varied`` says why the verdict rests on less than tests could show: a stated strength,
    tests that give no region; empty otherwise.
    """

    state: str
    factor: Judged
    levels: tuple[Judged, ...]
    sampled: FactorDoubt | None
    not_varied: str = ""

    @property
    def judged(self) -> Judged:
        """The one of them that decides: the worst verdict, then the least margin."""
        held = [one for one in (self.factor, *self.levels) if one.verdict is not None]
        return min(held, key=_severity) if held else self.factor

    @property
    def severity(self) -> tuple[int, float]:
        """Smaller is more severe: by verdict, then by margin."""
        return _severity(self.judged)

    @property
    def verdict(self) -> str | None:
        """The verdict on all that is asked of the limit state."""
        return self.judged.verdict


def _severity(one: Judged) -> tuple[int, float]:
    order = {MISSES: 0, HANGS: 1, HOLDS: 2, None: 3}
    return order[one.verdict], one.margin


@dataclass(frozen=True, slots=True)
class CheckReview:
    """One check, limit state by limit state."""

    entry: CheckEntry
    states: tuple[StateReview, ...]
    notices: tuple[Notice, ...]

    @property
    def decides(self) -> StateReview:
        """The limit state that decides."""
        return min(self.states, key=lambda one: one.severity)


@dataclass(frozen=True, slots=True)
class Review:
    """A whole scenario."""

    scenario: Scenario
    checks: tuple[CheckReview, ...]
    samples: int


def review(
    scenario: Scenario,
    *,
    readings: Sequence[CheckInterpretations] | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Review:
    """Judge every limit state of every check of a scenario.

    ``readings`` is what ``interpretations`` gives, where it is at hand already.

    Raises
    ------
    FileError
        As ``check``, ``interpretations`` and ``reliability``; no check with a factor of safety.
    """
    outcomes = [one for one in evaluate(scenario).checks if one.entry.check.LIMIT_STATES]
    if not outcomes:
        problem = InputError("checks", "none", "no check here has a factor of safety to review")
        raise FileError(scenario.path, problem)
    rows = {
        one.entry.label: one.rows for one in (interpret(scenario) if readings is None else readings)
    }
    sampled, samples = _sampled(scenario, progress)
    try:
        return Review(
            scenario,
            tuple(
                _check(scenario, one, rows[one.entry.label], sampled.get(one.entry.label))
                for one in outcomes
            ),
            samples,
        )
    except FileError:
        raise
    except InputError as error:
        raise FileError(scenario.path, error) from None


def _sampled(
    scenario: Scenario, progress: Callable[[str, int, int], None] | None
) -> tuple[dict[str, CheckReliability], int]:
    try:
        found, samples, _ = run_reliability(scenario, progress=progress, shares=False)
    except InputError as error:
        if error.place == "uncertain":
            return {}, 0  # no check carries a doubt
        raise
    return {one.entry.label: one for one in found}, samples


def _check(
    scenario: Scenario,
    outcome: CheckOutcome,
    rows: Sequence[Row],
    sampled: CheckReliability | None,
) -> CheckReview:
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
