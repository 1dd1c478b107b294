"""Versions of a scenario side by side, as plain text."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from slipmargin.cli.questions.compare import Factor, SideBySide
from slipmargin.cli.scenario.inputs import Given
from slipmargin.cli.terminal.as_text import level_cell, print_notices, table
from slipmargin.cli.words import CAUTION
from slipmargin.stability.factor_text import factor_text

__all__ = ["print_side_by_side"]

_MOST_COLUMNS = 4


def print_side_by_side(out: Console, found: SideBySide) -> None:
    """Inputs that differ, every factor in each version, and what only a later one warns of."""
    for index, name in enumerate(found.names[1:], start=1):
        _print_inputs(out, found, index, name)
    for start in range(1, len(found.names), _MOST_COLUMNS - 1):
        columns = [0, *range(start, min(start + _MOST_COLUMNS - 1, len(found.names)))]
        _print_factors(out, found, columns)
    for index, name in enumerate(found.names[1:], start=1):
        new = found.new_notices(index)
        if new:
            out.print(Text(f"New with {name}", style="bold"))
            print_notices(out, new, every_notice=False)
    out.print(Text(CAUTION, style="bold"))


def _print_inputs(out: Console, found: SideBySide, index: int, name: str) -> None:
    differing = found.inputs[index]
    if not differing:
        out.print(Text(f"{name}: no input differs from {found.names[0]}."))
        out.print()
        return
    grid = table("input", found.names[0], name)
    for path, (before, after) in differing.items():
        grid.add_row(path, _given(before), _given(after))
    out.print(grid)
    out.print()


def _given(one: Given | None) -> str:
    return "left out" if one is None else one.text


def _print_factors(out: Console, found: SideBySide, columns: list[int]) -> None:
    headers = [found.names[index] for index in columns]
    grid = table("check", "limit state", *headers, right=headers)
    last = ""
    for (label, state), row in found.rows.items():
        grid.add_row("" if label == last else label, state, *(_factor(row[i]) for i in columns))
        last = label
    out.print(grid)
    out.print()


def _factor(one: Factor | None) -> str:
    if one is None:
        return "-"
    if one.is_level:
        return level_cell(one.value)
    return factor_text(one.value) + ("" if one.meets is not False else " MISSES")
