"""Sweeps of a scenario, of one field or of two: every check that they move, and its break-evens."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from slipmargin.cli.questions.one_field import OneField, over_one_field
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.result import of_check, of_its_file
from slipmargin.cli.questions.tied import Tied, both_ways, limits_of, tied_to
from slipmargin.cli.questions.utilisations import Levels, levels_of
from slipmargin.cli.scenario.paths import FieldPath
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SweepEntry
from slipmargin.cli.scenario.varied import VariedField, find_field, read_value
from slipmargin.stability import fields
from slipmargin.stability.uncertainty.field_words import field_words
from slipmargin.stability.uncertainty.sweep import sweep
from slipmargin.strength import InputError, Notice
from slipmargin.strength.errors import MISSING

__all__ = [
    "CheckGrid",
    "CheckSweep",
    "SweepOutcome",
    "TwoWayOutcome",
    "asked_for",
    "held_value",
    "run_sweep",
]

At: TypeAlias = dict[str, float | None]
"""By ``1.0`` and ``target``: of what the lowest factor is 1, and the last of the targets is met;
of one limit state, where its factor is and does.
"""


@dataclass(frozen=True, slots=True)
class CheckSweep:
    """One check over the swept values.

    ``elasticity`` is d ln F / d ln x of the lowest factor; ``standard_errors`` tells how many
    standard errors each break-even value lies above the value of the fit. ``levels`` are the
    degrees of utilisation under sets of partial factors, and ``used_up`` tells where the highest
    of them is 1. ``held`` and ``tied`` are the factors over the limits of the fit, with the
    other half of the strength held and moving along; empty where nothing does.
    """

    entry: CheckEntry
    factors: Mapping[str, Any]
    break_even: At
    by_limit_state: dict[str, At]
    elasticity: Any
    standard_errors: At
    errors_by_limit_state: dict[str, At]
    notices: tuple[Notice, ...]
    levels: Levels
    used_up: dict[str, float | None]
    held: Mapping[str, Any]
    tied: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class CheckGrid:
    """One check over two fields: factors by limit state, and levels by set and limit state."""

    entry: CheckEntry
    factors: Mapping[str, Any]
    levels: Levels
    notices: tuple[Notice, ...]


class InWords:
    """Names the fields of a sweep as a person reads them."""

    __slots__ = ()
    checks: tuple[CheckSweep, ...] | tuple[CheckGrid, ...]

    def words(self, vary: str, unit: str = "") -> str:
        """A field in words, with a unit where one is given."""
        words = field_words(vary, labels=[check.entry.label for check in self.checks])
        return f"{words} [{unit}]" if unit else words


@dataclass(frozen=True, slots=True)
class SweepOutcome(InWords):
    """One sweep over every check it moves.

    ``as_used`` is what the field holds in the scenario, ``limits`` are those of the fit it
    stands in. ``tied`` is what moves along where the tests tie it to the swept half.
    """

    vary: str
    unit: str
    values: Any
    checks: tuple[CheckSweep, ...]
    as_used: float | None
    limits: tuple[float, float] | None
    tied: Tied | None


@dataclass(frozen=True, slots=True)
class Axis:
    """A field and the values it takes."""

    vary: str
    unit: str
    values: Any


@dataclass(frozen=True, slots=True)
class TwoWayOutcome(InWords):
    """Factors over two fields; arrays are rows of the first, columns of the second."""

    vary: str
    unit: str
    values: Any
    second: Axis
    checks: tuple[CheckGrid, ...]


@of_its_file
def run_sweep(scenario: Scenario, asked: SweepEntry) -> SweepOutcome | TwoWayOutcome:
    """Run one sweep, of one field or of two. ``FileError``: a field that does not exist, a range
    that is empty or reversed, a value the checks cannot use, or no check that both fields move.
    """
    first = find_field(scenario, asked.vary)
    if asked.second is None:
        return _over_one(scenario, asked, first)
    return _over_two(scenario, asked, first, asked.second, find_field(scenario, asked.second.vary))


def _over_one(scenario: Scenario, asked: SweepEntry, varied: VariedField) -> SweepOutcome:
    values = _values(asked, varied)
    tied = tied_to(scenario, varied)
    swept = []
    for entry in varied.entries:
        with of_check(entry, " over the sweep"):
            swept.append(_swept(over_one_field(scenario, entry, varied, values), tied))
    return SweepOutcome(
        vary=asked.vary,
        unit=fields.UNITS[varied.dimension],
        values=values,
        checks=tuple(swept),
        as_used=held_value(scenario, varied.entries[0], varied.path),
        limits=limits_of(scenario, varied),
        tied=tied,
    )


def _swept(one: OneField, tied: Tied | None) -> CheckSweep:
    entry, factors = one.entry, one.swept.factors_of_safety
    by_state: dict[str, At] = {
        state: {"1.0": one.where(state, 1.0), "target": one.where(state, entry.target(state))}
        for state in factors
    }
    held, moving = ({}, {}) if tied is None else both_ways(tied, one)
    if len(by_state) == 1:
        (crossings,) = by_state.values()
    else:
        crossings = {"1.0": one.where_lowest_is_one(), "target": one.where_all_meet()}

    def errors_of(found: At) -> At:
        return {name: one.errors_away(value) for name, value in found.items()}

    levels = one.levels()
    return CheckSweep(
        entry=entry,
        factors=factors,
        break_even=crossings,
        by_limit_state=by_state,
        elasticity=one.swept.elasticity,
        standard_errors=errors_of(crossings),
        errors_by_limit_state={state: errors_of(found) for state, found in by_state.items()},
        notices=owed(one.scenario, entry, by_state, by_sets=True, samples=one.swept.values.size),
        levels=levels,
        used_up={
            name: one.where_used_up(levels, name) for name, states in levels.items() if states
        },
        held=held,
        tied=moving,
    )


def held_value(scenario: Scenario, entry: CheckEntry, path: FieldPath) -> float | None:
    """What a field holds; ``None`` where it holds nothing or no scalar."""
    found: Any = entry.check
    if path.soil:
        soil = scenario.soils[path.soil].soil
        # a curved envelope, which has no pair of its own to vary, was refused before
        found = soil.strength if path.field in ("cohesion", "friction_angle") else soil
    for step in path.steps:
        found = found[int(step)] if step.isdigit() else getattr(found, step)
    return float(found) if found is not None and np.ndim(found) == 0 else None


def _over_two(
    scenario: Scenario, first: SweepEntry, one: VariedField, second: SweepEntry, two: VariedField
) -> TwoWayOutcome:
    entries = [entry for entry in one.entries if any(entry is e for e in two.entries)]
    if first.vary == second.vary or not entries:
        raise InputError("second", second.vary, "no check is moved by both, as two fields")
    down, across = _values(first, one), _values(second, two)
    shape = (down.size, across.size)
    a, b = (axis.ravel() for axis in np.meshgrid(down, across, indexing="ij"))

    def grid(found: Mapping[str, Any]) -> dict[str, Any]:
        return {s: np.broadcast_to(each, a.shape).reshape(shape) for s, each in found.items()}

    grids = []
    for entry in entries:
        check = two.put(one.put(entry.check, a), b)
        with of_check(entry, " over the sweep"):
            factors = grid(sweep(lambda _, check=check: check, a).factors_of_safety)  # type: ignore[misc]
            levels = {name: grid(states) for name, states in levels_of(scenario, check).items()}
        said = owed(scenario, entry, factors, by_sets=True, samples=a.size)
        grids.append(CheckGrid(entry, factors, levels, said))
    axis = Axis(second.vary, fields.UNITS[two.dimension], across)
    return TwoWayOutcome(first.vary, fields.UNITS[one.dimension], down, axis, tuple(grids))


def _values(asked: SweepEntry, varied: VariedField) -> Any:
    """The values of a field, in the program's own unit."""
    low, high = (
        read_value(text, varied.dimension, place)
        for place, text in (("from", asked.start), ("to", asked.stop))
    )
    if not low < high:
        raise InputError("to", asked.stop, "it must be above from")
    return np.linspace(low, high, asked.steps)


Range: TypeAlias = tuple[str | None, str | None, str | None, int]
"""A field of the command line, its first and its last value, each where it is given, and steps."""


def asked_for(scenario: Scenario, first: Range, second: Range) -> Sequence[SweepEntry]:
    """The sweep of the command line, of one field or two, or else those of the scenario.
    ``InputError``: only part of a sweep on the command line. ``FileError``: nothing on the command
    line and no sweep in the scenario.
    """
    other = _entry("--second", "--second-", second)
    asked = _entry("--vary", "--", first, other)
    if asked is not None:
        return [asked]
    if not scenario.sweeps:
        problem = InputError(
            "sweeps", "none", "add a [[sweeps]] table, or give --vary, --from and --to"
        )
        raise FileError(scenario.path, problem)
    return scenario.sweeps


def _entry(
    option: str, before: str, asked: Range, second: SweepEntry | None = None
) -> SweepEntry | None:
    """A field of the command line; ``None`` where none of its options is given."""
    vary, start, stop, steps = asked
    if vary is not None and start is not None and stop is not None:
        return SweepEntry(vary, start, stop, steps, second)
    given = {option: vary, f"{before}from": start, f"{before}to": stop}
    missing = [name for name, value in given.items() if value is None]
    if len(missing) < len(given):
        raise InputError(missing[0], MISSING, "give " + ", ".join(given) + " together")
    return None
