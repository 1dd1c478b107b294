"""The first page: what holds, what hangs on the reading of the tests, what misses."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from slipmargin.cli.page.blocks import Block, NoticeList, Section, Words, WrittenNotice
from slipmargin.cli.page.notices import by_kind, words_of
from slipmargin.cli.questions.check import Outcome, factors_table, utilisation_table
from slipmargin.cli.questions.interpretations import Interpretations
from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.questions.review import review
from slipmargin.cli.sheet.checks import section_of
from slipmargin.strength import Severity

__all__ = ["review_section"]

_MOST = 4
"""Notices on the first page."""


def _opening(one: WrittenNotice) -> WrittenNotice:
    """A caution by its first sentence; what says stop stands whole."""
    if one.notice.severity == Severity.STOP:
        return one
    sentence = re.match(r".*?[.](?=\s|$)", one.notice.text, re.DOTALL)
    text = sentence.group() if sentence else one.notice.text
    return replace(one, notice=replace(one.notice, text=text, ground=""))


def review_section(
    outcome: Outcome,
    notices: Sequence[WrittenNotice],
    readings: Callable[[], Interpretations] | None = None,
) -> Section:
    """The verdict on every limit state, the picture that decides, the notices of most weight."""
    blocks: list[Block] = []
    if any(check.entry.check.LIMIT_STATES for check in outcome.checks):
        found = review(outcome.scenario, readings=readings().checks if readings else None)
        worst = min(found.checks, key=lambda one: one.decides.severity)
        decides = next(one for one in outcome.checks if one.entry.label == worst.entry.label)
        blocks = [found.table(), section_of(decides, "review")]
    else:
        blocks.append(factors_table(outcome.checks))
    if outcome.checks and outcome.checks[0].designs:
        blocks.insert(1, utilisation_table(outcome.checks))
    heavy = by_kind(
        one
        for one in sorted(notices, key=lambda one: one.notice.severity != Severity.STOP)
        if one.notice.severity != Severity.INFO and one.notice.code not in SHOWN_BY_THE_FACTORS
    )
    stops = sum(one.notice.severity == Severity.STOP for one in heavy)
    first = heavy[: max(_MOST, stops)]
    if first:
        where = "Cautions by their first sentence, in full in the part Notices"
        named = [words_of(one.notice) for one in heavy[len(first) :]]
        where += f"; further: {', '.join(dict.fromkeys(named))}." if named else "."
        blocks.insert(0, Words(where, "aside"))
        blocks.append(NoticeList(tuple(map(_opening, first))))
    return Section("Review", blocks)
