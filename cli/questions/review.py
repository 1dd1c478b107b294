"""The reviewer's question: what holds, what hangs on the reading of the tests, what misses.

Nothing is worked out a second time here. The factors as used are those of ``check``, the other
readings of the same data those of ``interpretations``, the probabilities those of
``reliability``, and the friction angle at which a target is met that of a sweep with the
cohesion held. What is added is the outline of the 95 % joint region of each fit, carried
through the same checks, and the verdict:

- ``holds``: met as used, under every interpretation and over the whole of the region;
- ``misses``: missed by all of them;
- ``hangs_on_the_reading``: neither, and also where tests are too few to give a region.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slipmargin.cli.as_json import document
from slipmargin.cli.page.blocks import Block, Cell, Table, Verdict, Words
from slipmargin.cli.page.cells import number_cell, probability_text
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.check import evaluate, variants_words
from slipmargin.cli.questions.interpretations import CheckInterpretations, interpret
from slipmargin.cli.questions.judging import judge
from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.questions.reliability import CheckReliability, run_reliability
from slipmargin.cli.questions.result import Result, notices_at, of_its_file
from slipmargin.cli.questions.strength_map import map_strength
from slipmargin.cli.questions.verdicts import (
    HANGS,
    HOLDS,
    MISSES,
    CheckReview,
    Judged,
    Reading,
    StateReview,
    check_sentence,
    state_sentence,
    value_text,
    verdict_line,
)
from slipmargin.cli.scenario.read import FileError, Scenario
from slipmargin.strength import InputError, Notice

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Review", "review"]

_SHORT = {
    "as used": "used",
    "peak": "peak",
    "end of test": "end",
    "residual": "res.",
    "zero intercept": "zero",
    "cautious": "caut",
    "power curve": "curv",
}
"""Readings as a narrow table names them."""

_TOO_WIDE = 99.995

_VERDICTS: dict[str | None, Verdict] = {
    HOLDS: Verdict("holds", "good"),
    HANGS: Verdict("hangs on the reading", "open"),
    MISSES: Verdict("misses", "bad"),
    None: Verdict("no target", "open"),
}


@dataclass(frozen=True, slots=True)
class Review(Result):
    """A whole scenario."""

    scenario: Scenario
    checks: tuple[CheckReview, ...]
    samples: int

    def document(self) -> dict[str, Any]:
        """The document of ``review``."""
        checks = [
            {
                "label": one.entry.label,
                "verdict": one.decides.verdict,
                "says": check_sentence(one),
                "factors": {state.state: _state_document(state) for state in one.states},
                "notices": one.notices,
            }
            for one in self.checks
        ]
        return document({"samples": self.samples, "checks": checks}, self.scenario)

    @property
    def every_notice(self) -> list[tuple[str, Notice]]:
        """Of the scenario, its soils and its checks, each with its place."""
        return notices_at(self.checks, self.scenario)

    def blocks(self) -> Iterator[Block]:
        """A sentence a check, a line a limit state, and what must not be parted from them."""
        yield Words(self.scenario.title, "strong")
        yield self.table(brief=True)
        yield Words(self._legend(), "aside")
        yield notice_list(
            (where, _FALLEN if n.code == "below-one" else n)
            for where, n in self.every_notice
            if n.code not in SHOWN_BY_THE_FACTORS
        )
        yield from variants_words(self.scenario)

    def table(self, *, brief: bool = False) -> Table:
        """A line a limit state under what there is to say of its check; ``brief`` is for a
        narrow screen.
        """
        rows: list[tuple[Cell, ...]] = []
        above = []
        states = [state for one in self.checks for state in one.states]
        sampled = any(state.sampled and not state.judged.by_set for state in states)
        for check in self.checks:
            above.append((len(rows), check_sentence(check, brief=brief)))
            rows += [self._row(state, sampled=sampled, brief=brief) for state in check.states]
        share = ["Miss"] if sampled else []
        heads = [
            "Limit state",
            "Used",
            "Asked",
            "Lowest",
            "Highest",
            "Caut." if brief else "Cautious",
        ]
        heads += [*share, "φ′" if brief else "φ′ [deg]", "s.e.", "95 %", "Verdict"]
        caption = (
            "Miss: probability of missing what is asked; φ′: where it is just met, c′ held; s.e.: "
            "how many standard errors of tan φ′ alone above the fit; 95 %: whether the joint "
            "region lies on both sides; hangs: readings or parts of it disagree; *: customary. "
            "Factors are cut, not rounded"
        )
        right = {1, 2, *range(5, len(heads) - 1), *([3, 4] if brief else [])}
        return Table("" if brief else caption, heads, rows, right, above=above)

    def _row(self, state: StateReview, *, sampled: bool, brief: bool) -> tuple[Cell, ...]:
        one, needed = state.judged, state.judged.needed

        def shown(value: float) -> str:
            return ">99" if brief and value >= _TOO_WIDE else value_text(one, value)

        def end(reading: Reading | None) -> str:
            if reading is None:
                return ""
            name = reading.name if reading.soil else "all readings"
            if brief:
                name = _SHORT.get(name, "said" if name.startswith("stated") else "all")
            return f"{shown(reading.value)} {name}"

        asked = "≤ 1" if one.by_set else one.asked_text
        if one.asked is not None and not one.by_set:
            asked = f"{one.asked:.2f}" + "*" * asked.startswith("customary")
        below = None if state.sampled is None else state.sampled.probability_below_target
        share = "" if one.by_set else probability_text(below, self.samples)
        errors = None if needed is None else needed.standard_errors
        places = "+.0f" if errors is not None and abs(errors) >= 10.0 else "+.1f"
        verdict = _VERDICTS[state.verdict]
        if state.verdict == HANGS:
            met = one.meets(one.used)
            way = "meets" if met else "misses"
            words = "hangs" if brief else f"hangs, {way}"
            verdict = Verdict(words, "open" if met else "bad")
        return (
            state.state + (f", {one.by_set}" if one.by_set else ""),
            shown(one.used),
            asked,
            end(one.lowest),
            end(one.highest),
            "" if one.cautious is None else shown(one.cautious),
            *([share] if sampled else []),
            "" if needed is None else f"{needed.friction_angle:.1f}",
            number_cell(errors, places),
            "" if one.crosses is None else "yes" if one.crosses else "no",
            verdict,
        )

    def _legend(self) -> str:
        """What the words of the narrow table stand for."""
        every = [state.judged for one in self.checks for state in one.states]
        ends = {end.name for one in every for end in (one.lowest, one.highest) if end is not None}
        named = [
            f"{short} {name}" for name, short in _SHORT.items() if name in ends and name != short
        ]
        named += ["said stated by others"] * any(name.startswith("stated") for name in ends)
        slow = sorted(
            {s.state for one in self.checks for s in one.states if s.state in one.entry.check.SLOW}
        )
        named += [
            f"all {name}, by which alone {' and '.join(slow)} is judged"
            for name in sorted(ends)
            if "together" in name
        ]
        words = [f"Readings: {', '.join(named)}."] if named else []
        words += ["Miss: probability of missing what is asked."] if self.samples else []
        words += [
            "φ′ [deg]: where it is just met, c′ held; s.e.: standard errors of tan φ′ alone above "
            "the fit. 95 %: whether the joint region lies on both sides."
        ]
        hangs = any(one.verdict == HANGS for one in every)
        words += ["Readings disagree: hangs meets as used, HANGS misses."] * hangs
        words += ["* customary."] * any(one.asked_text.startswith("customary") for one in every)
        return " ".join(words)

    def figure(self) -> Figure:
        """The strength map of every soil that has one, each under the verdicts on its checks.
        ``FileError``: no soil has one: their envelopes are curved.
        """
        from slipmargin.strength.drawing.frame import framed

        scenario = self.scenario
        soils = dict.fromkeys(name for one in self.checks for name in one.entry.soil_names)
        flat = [name for name in soils if scenario.soils[name].soil.strength.curve is None]
        if not flat:
            problem = InputError("--plot", "curved envelopes", "they have no strength map to draw")
            raise FileError(scenario.path, problem)
        every = framed(8.6, [5.2] * len(flat), below=0.63, above=1.15)
        for axes, name in zip(every, flat, strict=True):
            lines = [verdict_line(one) for one in self.checks if name in one.entry.soil_names]
            map_strength(scenario, name).figure(axes=axes, below="\n".join(lines))
        return every[0].figure  # type: ignore[return-value]


_FALLEN = Notice.stop("below-one", "Below 1 as used: by this model it does not stand.")


def _state_document(state: StateReview) -> dict[str, Any]:
    sampled = state.sampled
    found = {
        **_judged_document(state.factor, "factor"),
        "probability_below_target": None if sampled is None else sampled.probability_below_target,
        "probability_below_one": None if sampled is None else sampled.probability_below_one,
        "verdict": state.verdict,
        "says": state_sentence(state),
    }
    if state.levels:
        found["utilisation"] = {
            one.by_set: {**_judged_document(one, "utilisation"), "verdict": one.verdict}
            for one in state.levels
        }
    return found


def _judged_document(one: Judged, name: str) -> dict[str, Any]:
    def reading(end: Reading | None) -> dict[str, Any] | None:
        if end is None:
            return None
        return {"name": end.name, "soil": end.soil or None, name: end.value}

    return {
        name: one.used,
        "target": one.asked,
        "readings": {"lowest": reading(one.lowest), "highest": reading(one.highest)},
        "cautious": one.cautious,
        "over_region": one.over_region,
        "region_crosses_target": one.crosses,
        "break_even": one.needed,
    }


@of_its_file
def review(
    scenario: Scenario,
    *,
    readings: Sequence[CheckInterpretations] | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Review:
    """Judge every limit state of every check of a scenario.

    ``readings`` is what ``interpretations`` gives, where it is at hand already. ``FileError`` as
    ``check``, ``interpretations`` and ``reliability``; no check with a factor of safety.
    """
    outcomes = [one for one in evaluate(scenario).checks if one.entry.check.LIMIT_STATES]
    if not outcomes:
        raise InputError("checks", "none", "no check here has a factor of safety to review")
    rows = {
        one.entry.label: one.rows
        for one in (interpret(scenario).checks if readings is None else readings)
    }
    sampled, samples = _sampled(scenario, progress)
    judged = (
        judge(scenario, one, rows[one.entry.label], sampled.get(one.entry.label))
        for one in outcomes
    )
    return Review(scenario, tuple(judged), samples)


def _sampled(
    scenario: Scenario, progress: Callable[[str, int, int], None] | None
) -> tuple[dict[str, CheckReliability], int]:
    try:
        found = run_reliability(scenario, progress=progress, shares=False)
    except InputError as error:
        if error.place == "uncertain":
            return {}, 0  # no check carries a doubt
        raise
    return {one.entry.label: one for one in found.checks}, found.samples
