"""Checks on the sheet: factors against targets, the section, the working, the notices."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from slipmargin.cli.page.blocks import (
    Block,
    Leaf,
    Picture,
    Section,
    Words,
    WrittenNotice,
)
from slipmargin.cli.page.notices import written
from slipmargin.cli.page.text import words_of
from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.cli.questions.working import HOW, check_workings
from slipmargin.cli.sheet.designs import design_tables
from slipmargin.cli.sheet.inputs import inputs_table
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import Severity

__all__ = [
    "all_notices",
    "checks_section",
    "section_of",
    "section_picture",
    "working_section",
]


def all_notices(outcome: Outcome) -> tuple[WrittenNotice, ...]:
    """Every notice of the scenario, its soils and its checks."""
    return written(outcome.every_notice)


def checks_section(outcome: Outcome) -> Section:
    """Each check with its drawing, inputs, factors, and what holds for it."""
    leaves = tuple(_leaf(check, number) for number, check in enumerate(outcome.checks, start=1))
    return Section("Checks", (), leaves)


def _leaf(outcome: CheckOutcome, number: int) -> Leaf:
    entry = outcome.entry
    blocks: list[Block] = [
        section_of(outcome, str(number)),
        inputs_table(entry.check, entry.label),
    ]
    found = [
        f"{state} {factor_text(factor)}" + (f", {target.text} asked" if target else "")
        for state, factor, target in outcome.judged
    ]
    if found:
        blocks.append(Words(f"Factors of safety: {'; '.join(found)}.", "strong"))
    names = dict.fromkeys(words_of(n) for n in outcome.notices if n.severity != Severity.INFO)
    if names:
        blocks.append(Words(f"Notices that hold here: {'; '.join(names)}."))
    blocks += design_tables(outcome)
    kind = entry.kind.replace("_", " ")
    return Leaf(
        entry.label if kind in entry.label.lower() else f"{entry.label} ({kind})", tuple(blocks)
    )


def working_section(outcome: Outcome, laboratory: Iterable[Leaf]) -> Section:
    """Every step of the fits and of the checks, for whoever works them again."""
    leaves = [*laboratory]
    for check in outcome.checks:
        (label, blocks), *others = check_workings(check)
        for title, part in others:
            blocks += (Words(f"Working of {title.removeprefix(f'{label}, ')}:", "strong"), *part)
        leaves.append(Leaf(label, blocks))
    return Section("Appendix: working, step by step", (Words(HOW, "aside"),), tuple(leaves))


def section_of(outcome: CheckOutcome, number: str) -> Picture:
    """The section to scale of a check of the sheet."""
    entry = outcome.entry
    caption = f"Section to scale: {entry.label}"
    return section_picture(entry.check, outcome.result, f"section-{number}", caption)


def section_picture(check: Check, result: CheckResult, key: str, caption: str) -> Picture:
    """The section to scale."""
    from slipmargin.stability.drawing.section import plot_section, section_words

    words = section_words(check, result)
    return Picture(key, caption, words, partial(plot_section, check, result))
