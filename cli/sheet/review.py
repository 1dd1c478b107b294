"""The first page: what holds, what hangs on the reading of the tests, what misses."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from slipmargin.cli.page.blocks import (
    Block,
    Cell,
    NoticeList,
    Section,
    Table,
    Verdict,
    Words,
    WrittenNotice,
)
from slipmargin.cli.page.notices import by_kind
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.questions.interpretations import CheckInterpretations
from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.questions.review import HANGS, HOLDS, MISSES, Judged, Reading, Review, review
from slipmargin.cli.questions.review_words import check_sentence, value_text
from slipmargin.cli.sheet.checks import section_picture, summary_table
from slipmargin.cli.sheet.designs import utilisation_table
from slipmargin.cli.terminal.uncertainty_text import probability_text
from slipmargin.strength import Severity

__all__ = ["review_section"]

_VERDICTS: dict[str | None, Verdict] = {
    HOLDS: Verdict("holds", "good"),
    HANGS: Verdict("hangs on the reading", "open"),
    MISSES: Verdict("misses", "bad"),
    None: Verdict("no target", "open"),
}
_MOST = 4
"""Notices on the first page."""


def review_section(
    outcome: Outcome,
    notices: Sequence[WrittenNotice],
    readings: Callable[[], Sequence[CheckInterpretations]] | None = None,
) -> Section:
    """The verdict on every limit state, the picture that decides, the notices of most weight."""
    blocks: list[Block] = []
    if any(check.entry.check.LIMIT_STATES for check in outcome.checks):
        found = review(outcome.scenario, readings=readings() if readings else None)
        worst = min(found.checks, key=lambda one: one.decides.severity)
        decides = next(one for one in outcome.checks if one.entry.label == worst.entry.label)
        said = tuple((check_sentence(one),) for one in found.checks)
        blocks = [
            _table(found),
            section_picture(decides, "review"),
            Table("In words, check by check", ("What there is to say",), said),
        ]
    else:
        blocks.append(summary_table(outcome))
    if (levels := utilisation_table(outcome)) is not None:
        blocks.insert(1, levels)
    heavy = by_kind(
        one
        for one in sorted(notices, key=lambda one: one.notice.severity != Severity.STOP)
        if one.notice.severity != Severity.INFO and one.notice.code not in SHOWN_BY_THE_FACTORS
    )
    stops = sum(one.notice.severity == Severity.STOP for one in heavy)
    first = heavy[: max(_MOST, stops)]
    if first:
        blocks.append(NoticeList(first))
        blocks.append(Words("All notices stand in the part named Notices.", "aside"))
    return Section("Review", tuple(blocks))


def _table(found: Review) -> Table:
    """A line a limit state."""
    rows: list[tuple[Cell, ...]] = []
    for check in found.checks:
        for state in check.states:
            one = state.judged
            below = None if state.sampled is None else state.sampled.probability_below_target
            needed = one.needed
            errors = None if needed is None else needed.standard_errors
            rows.append(
                (
                    f"{check.entry.label}: {state.state}" + (f", {one.by_set}" * bool(one.by_set)),
                    value_text(one, one.used),
                    "at most 1" if one.by_set else one.asked_text,
                    _end(one, one.lowest),
                    _end(one, one.highest),
                    "" if one.cautious is None else value_text(one, one.cautious),
                    "" if below is None or one.by_set else probability_text(below, found.samples),
                    "" if needed is None else f"{needed.friction_angle:.1f}",
                    "" if errors is None else f"{errors:+.1f}",
                    _VERDICTS[state.verdict],
                )
            )
    return Table(
        "Every limit state as used and over the readings of the same tests. Misses with: the "
        "probability of missing what is asked; φ′: where it is just met with c′ held; s.e.: its "
        "standard errors from the fit",
        (
            "Limit state",
            "Used",
            "Asked",
            "Lowest reading",
            "Highest reading",
            "Cautious",
            "Misses with",
            "φ′ [deg]",
            "s.e.",
            "Verdict",
        ),
        tuple(rows),
        frozenset({1, 2, 5, 6, 7, 8}),
    )


def _end(one: Judged, end: Reading | None) -> str:
    return "" if end is None else f"{value_text(one, end.value)} {end.name}"
