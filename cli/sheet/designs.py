"""Partial factors on the sheet: design strengths, effects against resistances, utilisation."""

from __future__ import annotations

import math

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Table
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.questions.check import CheckOutcome
from slipmargin.stability.design.result import DesignResult
from slipmargin.strength.working import printed

__all__ = ["design_tables"]


def design_tables(outcome: CheckOutcome) -> list[Block]:
    """Design effects against design resistances of a check, a table a set."""
    return [_limit_states(design) for design in outcome.designs if design.limit_states]


def _limit_states(design: DesignResult) -> Table:
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
        tuple(rows),
        frozenset({1, 2, 3}),
    )


def _shown(value: object, unit: str) -> str:
    number = float(np.asarray(value))
    return "not available" if math.isnan(number) else f"{printed(number, unit)} {unit}".strip()
