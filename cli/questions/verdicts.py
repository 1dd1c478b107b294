"""What a review says of a limit state: its factor over the readings, the verdict, the words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipmargin.cli.questions.angle_needed import AngleNeeded
from slipmargin.cli.scenario.read import CheckEntry
from slipmargin.stability.design.result import level_text
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.reliability import FactorDoubt
from slipmargin.strength import Notice

__all__ = [
    "HANGS",
    "HOLDS",
    "MISSES",
    "CheckReview",
    "Judged",
    "Reading",
    "StateReview",
    "check_sentence",
    "state_sentence",
    "value_text",
    "verdict_line",
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
    def worst(self) -> Reading | None:
        """The reading least favourable to what is asked."""
        return self.highest if self.by_set else self.lowest

    @property
    def best(self) -> Reading | None:
        """The reading most favourable to it."""
        return self.lowest if self.by_set else self.highest

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


_VERBS: dict[str | None, tuple[str, str]] = {
    HOLDS: ("holds", "hold"),
    HANGS: ("hangs on the reading", "hang on the reading"),
    MISSES: ("misses", "miss"),
    None: ("has no target", "have no target"),
}
_MISSED = ("misses as used and hangs on the reading", "miss as used and hang on the reading")
_LEAST = 0.01  # probability of a factor below 1 that is said


def value_text(one: Judged, value: float) -> str:
    """A factor, or a degree of utilisation, as it is shown."""
    return level_text(value) if one.by_set else factor_text(value)


def check_sentence(one: CheckReview, *, brief: bool = False) -> str:
    """What decides a check, in one sentence that begins with its name; ``brief`` leaves out the
    friction angle that its table holds.
    """
    decides = one.decides
    several = f", {decides.state}" if len(one.states) > 1 else ""
    rest = f" {_others(one)}" if len(one.states) > 1 else ""
    below = decides.sampled.probability_below_one if decides.sampled else 0.0
    failing = f" Below 1 with a probability of {below:.2g}." if below >= _LEAST else ""
    said = state_sentence(decides, brief=brief)
    return f"{one.entry.label}{several}: {said}{failing}{rest}"


def _verbs(state: StateReview) -> tuple[str, str]:
    one = state.judged
    missed = state.verdict == HANGS and not one.meets(one.used)
    return _MISSED if missed else _VERBS[state.verdict]


def verdict_line(one: CheckReview) -> str:
    """The verdict on a check, with the limit state that decides it."""
    decides = one.decides
    state = f", {decides.state}" if len(one.states) > 1 else ""
    value = value_text(decides.judged, decides.judged.used)
    return f"{one.entry.label}{state} ({value}): {_verbs(decides)[0]}"


def _others(one: CheckReview) -> str:
    """How the limit states that do not decide stand."""
    by_verdict: dict[tuple[str, str], list[str]] = {}
    for state in one.states:
        if state is not one.decides:
            by_verdict.setdefault(_verbs(state), []).append(state.state)
    said = []
    for verbs, states in by_verdict.items():
        *first, last = states
        text = f"{', '.join(first)} and {last}" if first else last
        said.append(f"{text} {verbs[bool(first)]}")
    text = "; ".join(said)
    return text[:1].upper() + text[1:] + "."


def state_sentence(state: StateReview, *, brief: bool = False) -> str:
    """What there is to say of one limit state, in one sentence without its name."""
    one = state.judged
    used = value_text(one, one.used)
    why = f"; {state.not_varied}." if state.not_varied else "."
    if one.verdict is None:
        return f"{used}{_spread(one)}; no target is given{why}"
    what = f"utilisation {used} under {one.by_set}" if one.by_set else used
    asked = "1" if one.by_set else one.asked_text
    met = one.meets(one.used)
    angle = "" if brief else _angle(one.needed, met=met)
    if one.verdict == HANGS:
        way = "meets" if met else "misses"
        return f"{what} {way} {asked} as used{_turning(one, met=met)}{angle}{why}"
    return f"{what} {one.verdict} {asked}{_all_readings(one)}{angle}{why}"


def _spread(one: Judged) -> str:
    if one.lowest is None or one.highest is None or one.lowest.value == one.highest.value:
        return ""
    low, high = (value_text(one, end.value) for end in (one.lowest, one.highest))
    return f", {low} ({one.lowest.name}) to {high} ({one.highest.name})"


def _all_readings(one: Judged) -> str:
    """Over what the verdict stands."""
    end = (one.worst if one.verdict == HOLDS else None) or one.best
    if end is None or (end.name == "as used" and one.over_region is None):
        return ""
    values = [end.value, *(one.over_region or ())]
    down = (one.verdict == HOLDS) != bool(one.by_set)
    value = value_text(one, min(values) if down else max(values))
    if not end.soil:
        return f" even with the {end.name}, {value}"
    region = " and over the 95 % region" if one.over_region is not None else ""
    return f" under every reading of these tests{region}, {'down' if down else 'up'} to {value}"


def _turning(one: Judged, *, met: bool) -> str:
    """Which readings say otherwise than the factor as used."""
    other = one.worst if met else one.best
    way = "misses" if met else "meets"
    if other is not None and one.meets(other.value) != met:
        named = f", but {value_text(one, other.value)} ({other.name}) {way} it"
        return named + (", and the 95 % region lies on both sides" if one.crosses else "")
    if one.crosses:
        return f", but part of the 95 % region {way} it"
    if one.over_region is not None and one.meets(one.over_region[0]) != met:
        return f", but the 95 % region {way} it"
    return ""


def _angle(needed: AngleNeeded | None, *, met: bool) -> str:
    """The friction angle at which it is just met, and how far from the fit that is."""
    if needed is None:
        return "" if met else "; no φ′ meets it with c′ held"
    says = "may fall to" if met else "would have to be"
    said = f"; φ′ of {needed.soil} {says} {needed.friction_angle:.1f}°"
    errors = needed.standard_errors
    if errors is not None:
        side = "above" if errors >= 0.0 else "below"
        away = f"{abs(errors):.{0 if abs(errors) >= 10.0 else 1}f}"
        said += f", {away} standard errors {side} the fit"
    return f"{said} before it is missed" if met else said
