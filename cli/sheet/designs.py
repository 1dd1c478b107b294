"""Partial factors on the sheet: design strengths, effects against resistances, utilisation."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Table, Words, Working
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.stability.design.result import DesignResult
from slipmargin.stability.design.working import design_steps
from slipmargin.strength.working import printed

__all__ = [
    "design_tables",
    "design_workings",
    "exceeded",
    "utilisation_table",
]


def exceeded(outcome: Outcome) -> tuple[int, int]:
    """Limit states beyond their design resistance, and all that were held to a set."""
    passes = [
        bool(np.all(state.passes))
        for check in outcome.checks
        for design in check.designs
        for state in design.limit_states.values()
    ]
    return passes.count(False), len(passes)


def utilisation_table(outcome: Outcome) -> Table | None:
    """Degree of utilisation under every set asked for, side by side."""
    held = [check for check in outcome.checks if check.designs]
    if not held:
        return None
    careful = any(one.on_cautious for check in held for one in check.designs)
    sets = [one.factor_set.name for one in held[0].designs]
    sets = [
        text for name in sets for text in ([name, f"{name}, cautious value"] if careful else [name])
    ]
    rows: list[tuple[Cell, ...]] = []
    for check in held:
        for state in check.designs[0].limit_states:
            rows.append((check.entry.label, state, *_levels(check.designs, state, careful)))
    return Table(
        "Partial factors: degree of utilisation, at most 1",
        ("Check", "Limit state", *sets),
        tuple(rows),
        frozenset(range(2, 2 + len(sets))),
    )


def _levels(designs: Sequence[DesignResult], state: str, careful: bool) -> list[Cell]:
    """Levels of one limit state, with those on the cautious value beside them if asked."""
    cells: list[Cell] = []
    for design in designs:
        level = design.utilisation.get(state)
        cells.append(level_verdict(level))
        if careful:
            cells.append(level_verdict(design.on_cautious.get(state, level)))
    return cells


def design_tables(outcome: CheckOutcome) -> list[Block]:
    """Design effects against design resistances of a check, a table a set."""
    return [_limit_states(design, _title(design)) for design in _held(outcome)]


def design_workings(outcome: CheckOutcome) -> list[Block]:
    """The working of a check under each set."""
    blocks: list[Block] = []
    for design in _held(outcome):
        blocks.append(Words(f"{_title(design)}. {design.factor_set.source}".rstrip(), "strong"))
        blocks.append(Working((), tuple(design_steps(design))))
    return blocks


def _held(outcome: CheckOutcome) -> list[DesignResult]:
    return [design for design in outcome.designs if design.limit_states]


def _title(design: DesignResult) -> str:
    return f"Partial factors, set {design.factor_set.name}"


def _limit_states(design: DesignResult, title: str) -> Table:
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
        f"{title}: design effects against design resistances",
        ("Limit state", "Effect", "Resistance", "Utilisation", "Partial factors", "What they are"),
        tuple(rows),
        frozenset({1, 2, 3}),
    )


def _shown(value: object, unit: str) -> str:
    number = float(np.asarray(value))
    return "not available" if math.isnan(number) else f"{printed(number, unit)} {unit}".strip()
