"""Sweeps as plain text."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from rich.console import Console
from rich.text import Text

from slipmargin.cli.questions.sweep import CheckSweep, SweepOutcome
from slipmargin.cli.questions.sweeps import Sweeps
from slipmargin.cli.questions.two_way_sweep import TwoWayOutcome
from slipmargin.cli.questions.utilisations import highest, inverse, level_headers
from slipmargin.cli.terminal.as_text import level_cell, print_notices, table
from slipmargin.cli.words import CAUTION
from slipmargin.stability.design.customary_targets import margin
from slipmargin.stability.design.result import level_text
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.field_words import field_words

__all__ = ["evenly", "never_crossed", "print_sweeps"]


_MOST_STEPS = 7
"""Between the values that a table shows: eight of them stand on 80 columns."""


def print_sweeps(out: Console, sweeps: Sweeps) -> None:
    """A short table of each sweep, with its break-even values."""
    for two in sweeps.two_way:
        _print_two_way(out, two)
    for one in sweeps.single:
        unit = f" [{one.unit}]" if one.unit else ""
        words = field_words(one.vary, labels=[check.entry.label for check in one.checks])
        out.print(Text.assemble((f"{words}{unit}", "bold"), f"  ({one.vary})"))
        _print_over(out, one, [(check.entry.label, check.factors) for check in one.checks])
        for name in level_headers([check.levels for check in one.checks]):
            out.print(Text(f"Degree of utilisation under {name}, at most 1; * is over it"))
            rows = [(check.entry.label, check.levels.get(name, {})) for check in one.checks]
            _print_over(out, one, rows, _level)
        for check in one.checks:
            for level in ("1.0", "target"):
                for line in _crossings(check, level, unit):
                    out.print(Text(line))
            for name in check.used_up:
                out.print(Text(_used_up(check, name, unit)))
        out.print()
    print_notices(
        out,
        [(c.entry.label, n) for one in sweeps.single for c in one.checks for n in c.notices]
        + [
            (e.label, n)
            for two in sweeps.two_way
            for e, _ in two.checks
            for n in two.notices[e.label]
        ],
        every_notice=False,
    )
    if any(one.vary.endswith((".cohesion", ".friction_angle")) for one in sweeps.single):
        out.print(Text("One of c′ and φ′ was moved and the other held; in a fit the two are tied."))
    out.print(Text(CAUTION, style="bold"))


def _print_over(
    out: Console,
    one: SweepOutcome,
    rows: Sequence[tuple[str, Mapping[str, Any]]],
    shown: Callable[[float], str] = factor_text,
) -> None:
    """A line a check and limit state, over some of the values, which stand across."""
    places = evenly(len(one.values))
    headers = [f"{one.values[index]:.4g}" for index in places]
    grid = table("check", "limit state", *headers, right=headers)
    for label, states in rows:
        for number, (state, found) in enumerate(states.items()):
            cells = [shown(float(found[index])) for index in places]
            grid.add_row("" if number else label, state, *cells)
    out.print(grid)
    out.print()


def _level(level: float) -> str:
    return level_text(level) + "*" * (level > 1.0)


def evenly(count: int) -> list[int]:
    """Places of at most eight values out of many, the first and the last among them, with one
    step between them wherever their number allows it.
    """
    steps = next((n for n in range(_MOST_STEPS, 3, -1) if (count - 1) % n == 0), _MOST_STEPS)
    places = np.linspace(0, count - 1, min(steps, count - 1) + 1)
    return [int(place) for place in places.round()]


def _used_up(check: CheckSweep, name: str, unit: str) -> str:
    """Where the highest degree of utilisation under one set is 1."""
    value, text = check.used_up[name], f"{check.entry.label}: utilisation of 1 under {name}"
    if value is not None:
        return f"{text} at {value:.4g}{unit}"
    return f"{text} is {never_crossed(inverse(highest(check.levels[name])), 1.0)}"


def never_crossed(factors: Any, level: float) -> str:
    """What to say where a level is not crossed."""
    usable = np.asarray(factors)[np.isfinite(factors)]
    if usable.size and np.all(usable < level):
        return "not reached in this range"
    if np.all(np.asarray(factors) >= level):
        return "met all over this range"
    return "not crossed in this range"


def _crossings(check: CheckSweep, level: str, unit: str) -> list[str]:
    """Where the lowest factor of a check meets a level."""
    entry, swept = check.entry, check.sweep.factors_of_safety
    if level == "1.0":
        return [_crossing(check, level, "a factor of 1", check.sweep.lowest, unit)]
    asked = entry.asked(swept)
    if not asked:
        return []
    words, _, several = asked.partition("targets: ")
    name = f"the last of its targets ({several})" if several else f"the {words}"
    return [_crossing(check, level, name, margin(swept, entry.targets), unit)]


def _crossing(check: CheckSweep, level: str, name: str, shares: Any, unit: str) -> str:
    """Where a factor over its level is 1, and how far that is from a fitted strength."""
    value = check.break_even[level]
    if value is None:
        return f"{check.entry.label}: {name} is {never_crossed(shares, 1.0)}"
    text = f"{check.entry.label}: {name} at {value:.4g}{unit}"
    errors = check.standard_errors[level]
    if errors is None:
        return text
    way = "may fall" if errors > 0.0 else "would have to rise"
    until = "before it is missed" if errors > 0.0 else "to meet it"
    return f"{text}; the fitted value {way} {abs(errors):.1f} standard errors {until}"


def _print_two_way(out: Console, two: TwoWayOutcome) -> None:
    """The lowest factor, and the highest utilisation, of every check over a coarse grid."""
    labels = [entry.label for entry, _ in two.checks]
    words = [field_words(path, labels=labels) for path in two.vary]
    names = [f"{w} [{u}]" if u else w for w, u in zip(words, two.units, strict=True)]
    rows, columns = (evenly(len(values)) for values in two.values)

    def print_grid(title: str, cells: Any, shown: Callable[[float], str]) -> None:
        out.print(Text(f"{title}, down {names[0]}, across {names[1]}"))
        headers = [f"{two.values[1][j]:.4g}" for j in columns]
        grid = table("", *headers, right=("", *headers))
        for i in rows:
            line = [shown(float(cells[i, j])) for j in columns]
            grid.add_row(f"{two.values[0][i]:.4g}", *line)
        out.print(grid)
        out.print()

    for entry, grids in two.checks:
        lowest = np.min(np.stack(list(grids.values())), axis=0)
        print_grid(f"{entry.label}: lowest factor", lowest, factor_text)
        for name, states in two.levels[entry.label].items():
            if states:
                title = f"{entry.label}: highest utilisation under {name}"
                print_grid(title, highest(states), level_cell)
