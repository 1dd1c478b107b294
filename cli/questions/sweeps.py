"""All the sweeps that were asked for, of one field or two, as one result."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Factor, Table, Words
from slipmargin.cli.page.cells import level_verdict, number_cell
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.result import Result, factors_csv, notices_at
from slipmargin.cli.questions.sweep import SweepOutcome, TwoWayOutcome, run_sweep
from slipmargin.cli.questions.utilisations import highest, inverse
from slipmargin.cli.scenario.read import Scenario, SweepEntry

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Sweeps", "break_even_tables", "run_sweeps", "tied_table"]

_MOST_STEPS = 7
"""Between the values that a table shows: eight of them stand on 80 columns."""

_TIED = (
    "Held, {} stays as used. Moving, it is the mean of what the tests allow beside each value: "
    "their line turns about its middle. Far outside the limits they exclude every pair."
)

Outcome = SweepOutcome | TwoWayOutcome


@dataclass(frozen=True, slots=True)
class Sweeps(Result):
    """Sweeps in the order asked for."""

    outcomes: tuple[Outcome, ...]

    @property
    def single(self) -> list[SweepOutcome]:
        """Those of one field."""
        return [one for one in self.outcomes if isinstance(one, SweepOutcome)]

    @property
    def two_way(self) -> list[TwoWayOutcome]:
        """Those of two fields."""
        return [one for one in self.outcomes if isinstance(one, TwoWayOutcome)]

    def csv(self) -> str:
        """One row a value (or pair of values), check and limit state."""

        def moved(one: Outcome) -> list[Any]:
            if isinstance(one, TwoWayOutcome):
                return [one.vary, one.values[:, None], one.second.vary, one.second.values]
            return [one.vary, one.values, "", None]

        return factors_csv(
            ["vary", "value", "second", "second_value", "check"],
            [
                ([*moved(one), check.entry.label], check.factors, check.levels)
                for one in self.outcomes
                for check in one.checks
            ],
        )

    def blocks(self) -> Iterator[Block]:
        """Of each sweep the factors over some of its values, and its break-even values."""
        for two in self.two_way:
            yield from _grids(two)
        for one in self.single:
            yield from _over(one)
            yield from break_even_tables(one)
            yield from tied_table(one)
        yield notice_list(found for one in self.outcomes for found in notices_at(one.checks))
        for one in self.single:
            if one.tied is not None:
                yield Words(_TIED.format(one.words(one.tied.vary)))
            elif one.vary.endswith((".cohesion", ".friction_angle")):
                yield Words("One of c′ and φ′ was moved and the other held.")

    def figure(self) -> Figure:
        """Factor against input, one panel a sweep; lines of equal factor for two inputs."""
        from slipmargin.stability.uncertainty.sweep_plot import (
            Curve,
            SweepPanel,
            plot_curves,
            plot_lines,
        )

        if self.two_way:
            return plot_lines(
                [
                    (
                        grid.entry.label,
                        (two.words(two.vary), two.words(two.second.vary)),
                        (two.unit, two.second.unit),
                        (two.values, two.second.values),
                        grid.factors,
                        grid.entry.margin(grid.factors),
                    )
                    for two in self.two_way
                    for grid in two.checks
                ]
            )
        return plot_curves(
            [
                SweepPanel(
                    vary=one.words(one.vary),
                    unit=one.unit,
                    values=one.values,
                    curves=[
                        Curve(
                            label=check.entry.label,
                            limit_state=state if len(check.factors) > 1 else "",
                            factors=factors,
                            target=check.entry.target(state),
                            tied=None if one.tied is None else (one.tied.at, check.tied[state]),
                            ink=check.entry.place,
                        )
                        for check in one.checks
                        for state, factors in check.factors.items()
                    ],
                    as_used=one.as_used,
                    limits=one.limits,
                    moves_along="" if one.tied is None else one.words(one.tied.vary),
                )
                for one in self.single
            ]
        )


def run_sweeps(scenario: Scenario, asked: Sequence[SweepEntry]) -> Sweeps:
    """Run every sweep asked for; ``FileError`` for the first that cannot be run."""
    return Sweeps(tuple(run_sweep(scenario, one) for one in asked))


def evenly(count: int) -> list[int]:
    """Places of at most eight values out of many, the first and the last among them, with one
    step between them wherever their number allows it.
    """
    steps = next((n for n in range(_MOST_STEPS, 3, -1) if (count - 1) % n == 0), _MOST_STEPS)
    places = np.linspace(0, count - 1, min(steps, count - 1) + 1)
    return [int(place) for place in places.round()]


def _over(one: SweepOutcome) -> Iterator[Table]:
    """A line a check and limit state, over some of the values, which stand across; one table
    more for each set of partial factors.
    """
    places = evenly(len(one.values))
    heads = ("Check", "Limit state", *(f"{one.values[place]:.4g}" for place in places))
    right = range(2, len(heads))
    moved = one.words(one.vary, one.unit)
    yield Table(
        f"Factors over {moved}  ({one.vary})",
        heads,
        tuple(
            (
                c.entry.label,
                state,
                *(Factor(float(found[i]), c.entry.target(state)) for i in places),
            )
            for c in one.checks
            for state, found in c.factors.items()
        ),
        right,
    )
    for name in dict.fromkeys(name for check in one.checks for name in check.levels):
        yield Table(
            f"Degree of utilisation under {name} over {moved}, at most 1",
            heads,
            tuple(
                (check.entry.label, state, *(level_verdict(level[i]) for i in places))
                for check in one.checks
                for state, level in check.levels.get(name, {}).items()
            ),
            right,
        )


def break_even_tables(one: SweepOutcome) -> Iterator[Table]:
    """Where each factor is 1 and meets its target, how many standard errors above the fit that
    is, and where the highest degree of utilisation is 1.
    """
    moved = one.words(one.vary, one.unit)
    fitted = any(
        away is not None
        for check in one.checks
        for found in check.errors_by_limit_state.values()
        for away in found.values()
    )
    rows: list[Sequence[Cell]] = []
    used: list[tuple[Cell, ...]] = []
    for check in one.checks:
        for state, factors in check.factors.items():
            target = check.entry.target(state)
            ends = (Factor(float(factors[end]), target) for end in (0, -1))
            cells: list[Cell] = [check.entry.label, state, *ends]
            for name, level in (("1.0", 1.0), ("target", target)):
                value = check.by_limit_state[state][name]
                if name == "target":
                    cells.append("none" if target is None else check.entry.targets[state].text)
                cells.append("" if level is None else _crossing(value, factors, level))
                if fitted:
                    cells.append(number_cell(check.errors_by_limit_state[state][name], "+.1f"))
            rows.append(cells)
        for name, value in check.used_up.items():
            level = highest(check.levels[name])
            at = _crossing(value, inverse(level), 1.0)
            used.append((check.entry.label, name, *map(level_verdict, level[[0, -1]]), at))
    away = ("s.e.",) if fitted else ()
    heads = ("Check", "Limit state", "At start", "At end", "1 at", *away, "Target", "Met at", *away)
    told = "; s.e.: its standard errors above the fit" if fitted else ""
    title = f"Break-even values of {moved}{told}"
    yield Table(title, heads, rows, range(2, len(heads)))
    if used:
        yield Table(
            f"Partial factors over {moved}: highest degree of utilisation, at most 1",
            ("Check", "Set", "At start", "At end", "It is 1 at"),
            tuple(used),
            {2, 3, 4},
        )


def tied_table(one: SweepOutcome) -> Iterator[Table]:
    """Factors over the limits of the fit, the other half of the strength held, and moving along
    as the tests tie the two; those alone that the other half moves.
    """
    if one.tied is None:
        return
    places = range(0, len(one.tied.at), 2)
    other = one.words(one.tied.vary)
    half = other.partition(" ")[0]
    heads = ("Check", "Limit state", half, *(f"{one.tied.at[place]:.4g}" for place in places))
    along = (f"{one.tied.values[place]:.3g}" for place in places)
    rows: list[tuple[Cell, ...]] = [(one.words(one.tied.vary, one.tied.unit), "", "moving", *along)]
    for check in one.checks:
        for state, moving in check.tied.items():
            held, target = check.held[state], check.entry.target(state)
            if np.array_equal(held, moving):
                continue
            for name, found in (("held", held), ("moving", moving)):
                factors = (Factor(float(found[place]), target) for place in places)
                rows.append((check.entry.label, "" if found is moving else state, name, *factors))
    title = f"Over the limits of {one.words(one.vary, one.unit)}, {other} held or moving"
    yield Table(title, heads, rows, range(3, len(heads)))


def _crossing(value: float | None, factors: Any, level: float) -> str:
    """Where a level is crossed, or why nowhere."""
    if value is not None:
        return f"{value:.4g}"
    usable = np.asarray(factors)[np.isfinite(factors)]
    if usable.size and np.all(usable < level):
        return "not met here"
    return "met throughout" if np.all(np.asarray(factors) >= level) else "not crossed"


def _grids(two: TwoWayOutcome) -> Iterator[Table]:
    """The lowest factor, and the highest utilisation, of every check over a coarse grid."""
    values = (two.values, two.second.values)
    down, across = two.words(two.vary, two.unit), two.words(two.second.vary, two.second.unit)
    rows, columns = (evenly(len(one)) for one in values)
    heads = ("", *(f"{values[1][j]:.4g}" for j in columns))

    def table(title: str, cells: Any, shown: Callable[[float], Cell]) -> Table:
        lines = [
            (f"{values[0][i]:.4g}", *(shown(float(cells[i, j])) for j in columns)) for i in rows
        ]
        title = f"{title}, down {down}, across {across}"
        return Table(title, heads, lines, range(len(heads)))

    for grid in two.checks:
        label, lowest = grid.entry.label, np.min(np.stack(list(grid.factors.values())), axis=0)
        yield table(f"{label}: lowest factor", lowest, lambda value: Factor(value, None))
        for name, states in grid.levels.items():
            if states:
                title = f"{label}: highest utilisation under {name}"
                yield table(title, highest(states), level_verdict)
