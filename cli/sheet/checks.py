"""Checks on the sheet: factors against targets, the section, the working, the notices."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from slipmargin.cli.page.blocks import (
    Block,
    Cell,
    Factor,
    Leaf,
    Picture,
    Section,
    Table,
    Verdict,
    Words,
    Working,
    WrittenNotice,
)
from slipmargin.cli.page.cells import verdict
from slipmargin.cli.page.notices import written
from slipmargin.cli.page.text import words_of
from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.cli.sheet.designs import design_tables, design_workings
from slipmargin.cli.sheet.inputs import inputs_table
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.check import in_words
from slipmargin.stability.design.customary_targets import Target
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.working import given_steps, left_out, result_steps
from slipmargin.strength import Severity
from slipmargin.strength.working import Step, printed

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "all_notices",
    "checks_section",
    "section_picture",
    "summary_table",
    "working_section",
]


def all_notices(outcome: Outcome) -> tuple[WrittenNotice, ...]:
    """Every notice of the scenario, its soils and its checks."""
    items = [("", notice) for notice in outcome.scenario.notices]
    items += [(s.name, notice) for s in outcome.scenario.soils.values() for notice in s.notices]
    items += [(c.entry.label, notice) for c in outcome.checks for notice in c.notices]
    return written(items)


def _factors(outcome: CheckOutcome) -> list[tuple[str, float, Target | None, Verdict]]:
    """Limit state, factor, target and verdict."""
    return [
        (state, factor, target, verdict(factor, None if target is None else float(target.value)))
        for state, factor, target in outcome.judged
    ]


def _against(factor: float, target: Target | None) -> tuple[Factor, str]:
    """A factor and its target, as cells."""
    if target is None:
        return Factor(factor, None), ""
    return Factor(factor, float(target.value)), target.text


def summary_table(outcome: Outcome) -> Table:
    """Every factor against its target; thrusts where a check has no factor."""
    rows: list[tuple[Cell, ...]] = []
    for check in outcome.checks:
        soils = ", ".join(dict.fromkeys(check.entry.soils.values()))
        label = check.entry.label
        found = _factors(check)
        if not found:
            thrust = float(np.asarray(check.result.values.thrust))
            what = f"thrust {printed(thrust, 'kN/m')} kN/m"
            rows.append((label, soils, what, "", "", Verdict("no factor", "open")))
        for state, factor, target, judged in found:
            rows.append((label, soils, state, *_against(factor, target), judged))
    return Table(
        "Factors of safety against their targets, at the strengths used",
        ("Check", "Soils", "Limit state", "Factor", "Target", "Verdict"),
        tuple(rows),
        frozenset({3, 4}),
        ruler=True,
    )


def checks_section(outcome: Outcome) -> Section:
    """Each check with its drawing, inputs, factors, and what holds for it."""
    leaves = tuple(_leaf(check, number) for number, check in enumerate(outcome.checks, start=1))
    return Section("Checks", (), leaves)


def _leaf(outcome: CheckOutcome, number: int) -> Leaf:
    entry = outcome.entry
    blocks: list[Block] = [
        section_picture(outcome, str(number)),
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
        blocks = _working(check.entry.check, check.result)
        for state, part in check.result.parts.items():
            blocks.append(Words(f"Working of {in_words(state)}:", "strong"))
            blocks += _working(part.check, part.result)
        leaves.append(Leaf(check.entry.label, (*blocks, *design_workings(check))))
    return Section(
        "Appendix: working, step by step",
        (
            Words(
                "Numbers stand in the working with six significant digits and results below "
                "them with four, so that each line can be worked again by hand. A value "
                "without an equation says in words where it comes from. Angles are in degrees, "
                "forces per metre run.",
                "aside",
            ),
        ),
        tuple(leaves),
    )


def _working(check: Check, result: CheckResult) -> list[Block]:
    steps = Working(tuple(given_steps(check)), tuple(_plain(result_steps(check, result))))
    absent = left_out(check, result)
    return [steps, Words(absent, "aside")] if absent else [steps]


def _plain(steps: Sequence[Step]) -> list[Step]:
    """Steps without what their words say of values that do not exist: those are left out."""
    return [dataclasses.replace(s, says=re.sub(r"[;,][^;,]*: nan\.", ".", s.says)) for s in steps]


def section_picture(outcome: CheckOutcome, number: str) -> Picture:
    """The section to scale."""
    from slipmargin.stability.drawing.section import plot_section, section_words

    entry, result = outcome.entry, outcome.result

    def draw() -> Figure:
        return plot_section(entry.check, result)

    return Picture(
        f"section-{number}",
        f"Section to scale: {entry.label}",
        section_words(entry.check, result),
        draw,
    )
