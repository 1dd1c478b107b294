"""Checks on the sheet: the section, inputs, factors against targets, partial factors, working."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any

import numpy as np

from slipmargin.cli.page.blocks import (
    Block,
    Cell,
    Leaf,
    Picture,
    Section,
    Table,
    Words,
    WrittenNotice,
)
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.page.notices import held_here, written
from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.cli.questions.working import HOW, check_workings
from slipmargin.stability import Check, CheckResult, fields
from slipmargin.stability.design.result import DesignResult
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength.working import printed

__all__ = [
    "all_notices",
    "checks_section",
    "inputs_table",
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
    blocks += held_here(outcome.notices)
    blocks += [_limit_states(design) for design in outcome.designs if design.limit_states]
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
    return Section("Appendix: working, step by step", (Words(HOW, "aside"),), leaves)


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


def inputs_table(check: Check, label: str) -> Table:
    """What a check was given, coordinates included, so that it can be redone from paper."""
    return Table(f"Inputs of: {label}", ("Input", "Symbol", "Value"), tuple(_rows(check)))


def _rows(record: Any, before: str = "", number: str = "") -> Iterator[tuple[str, str, str]]:
    for name, declaration, default in fields.of(record):
        held = getattr(record, name)
        if held is None or held is False:
            continue
        says = before + name.replace("_", " ")
        match declaration:
            case fields.Amount(symbol=symbol, unit=unit):
                # a load or an angle of zero that nobody gave says nothing
                if isinstance(held, str) or np.any(np.asarray(held) != 0.0) or default != 0.0:
                    yield says, symbol + number, _amount(held, unit)
            case fields.Choice():
                yield says, "", str(held).replace("_", " ")
            case fields.Flag():
                yield says, "", "yes"
            case fields.SoilField():
                yield says, "", held.name
            case fields.Ground():
                yield f"{says}, x and y", "", _points(held)
            case fields.Part(many=True):
                for index, one in enumerate(held, start=1):
                    yield from _rows(one, f"{says} {index}: ", f"_{index}")
            case fields.Part():
                yield from _rows(held, f"{says}: ", number)
            case _:
                pass


def _amount(held: Any, unit: str) -> str:
    if isinstance(held, str):
        return held
    values = np.atleast_1d(np.asarray(held, dtype=float))
    return ", ".join(f"{value:.6g}" for value in values) + (f" {unit}" if unit else "")


def _points(held: Any) -> str:
    return ", ".join(f"({x:.6g}, {y:.6g})" for x, y in np.asarray(held, dtype=float)) + " m"


def _limit_states(design: DesignResult) -> Table:
    """Design effects against design resistances under one set of partial factors."""
    rows: list[tuple[Cell, ...]] = []
    for name, state in design.limit_states.items():
        factors = ", ".join(
            f"{key.replace('_', ' ')} {value:g}" for key, value in state.factors.items()
        )
        rows.append(
            (
                name,
                _shown(state.effect, state.unit),
                _shown(state.resistance, state.unit),
                level_verdict(state.utilisation),
                factors,
                state.says,
            )
        )
    return Table(
        f"Partial factors, set {design.factor_set.name}: design effects against design "
        f"resistances. {design.factor_set.source}".rstrip(),
        ("Limit state", "Effect", "Resistance", "Utilisation", "Partial factors", "What they are"),
        rows,
        {1, 2, 3},
    )


def _shown(value: object, unit: str) -> str:
    number = float(np.asarray(value))
    return "not available" if math.isnan(number) else f"{printed(number, unit)} {unit}".strip()
