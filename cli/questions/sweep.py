"""Sweeps of a scenario: finds the field, runs every check it moves, finds break-evens."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.questions.as_used import asked_of
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.tied import Tied, both_ways, limits_of, tied_to
from slipmargin.cli.questions.utilisations import (
    Levels,
    highest,
    inverse,
    levels_of,
    margins,
)
from slipmargin.cli.scenario.paths import FieldPath
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SweepEntry
from slipmargin.cli.scenario.varied import VariedField, find_field, read_value
from slipmargin.stability import Check, fields
from slipmargin.stability.design.customary_targets import margin
from slipmargin.stability.uncertainty.sweep import Sweep, break_even, sweep
from slipmargin.strength import InputError, Notice, Numeric
from slipmargin.strength.errors import MISSING

__all__ = [
    "CheckSweep",
    "SweepOutcome",
    "asked_for",
    "crossing",
    "errors_away",
    "held_value",
    "other_field",
    "run_sweep",
    "swept_values",
]


@dataclass(frozen=True, slots=True)
class CheckSweep:
    """One check over the swept values.

    ``elasticity`` is d ln F / d ln x of the lowest factor; ``break_even`` tells where that
    factor is 1 and where the last of the targets is met; ``standard_errors`` how many standard
    errors each of these lies above the value of the fit. ``levels`` are the degrees
    of utilisation under sets of partial factors, and ``used_up`` tells where the highest of
    them is 1. ``held`` and ``tied`` are the factors over the limits of the fit, with the
    other half of the strength held and moving along; empty where nothing does.
    """

    entry: CheckEntry
    factors: Mapping[str, Any]
    break_even: dict[str, float | None]
    by_limit_state: dict[str, dict[str, float | None]]
    elasticity: Any
    standard_errors: dict[str, float | None]
    errors_by_limit_state: dict[str, dict[str, float | None]]
    notices: tuple[Notice, ...]
    levels: Levels
    used_up: dict[str, float | None]
    held: Mapping[str, Any]
    tied: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SweepOutcome:
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


def run_sweep(scenario: Scenario, asked: SweepEntry) -> SweepOutcome:
    """Run one sweep.

    Raises
    ------
    FileError
        A field that does not exist, a range that is empty or reversed, or a value the
        checks cannot use.
    """
    try:
        target = find_field(scenario, asked.vary)
        values = swept_values(asked, target.dimension)
        tied = tied_to(scenario, target)
        swept = []
        for entry, with_value in target.movers:
            try:
                swept.append(_one(scenario, target, entry, with_value, values, tied))
            except InputError as error:
                raise error.within(f"checks ({entry.label}) over the sweep") from None
        return SweepOutcome(
            vary=asked.vary,
            unit=fields.UNITS[target.dimension],
            values=values,
            checks=tuple(swept),
            as_used=held_value(scenario, target.entries[0], target.path),
            limits=limits_of(scenario, target),
            tied=tied,
        )
    except InputError as error:
        raise FileError(scenario.path, error) from None


def _one(
    scenario: Scenario,
    varied: VariedField,
    entry: CheckEntry,
    with_value: Callable[[Numeric], Check],
    values: Any,
    tied: Tied | None,
) -> CheckSweep:
    found = sweep(with_value, values)
    by_state = {
        state: _crossings(entry, state, with_value, values, factors)
        for state, factors in found.factors_of_safety.items()
    }
    held, moving = ({}, {}) if tied is None else both_ways(tied, varied, with_value)
    crossings = (
        next(iter(by_state.values()))
        if len(by_state) == 1
        else _crossings_of_all(entry, with_value, found)
    )

    def errors_of(found: Mapping[str, float | None]) -> dict[str, float | None]:
        return {name: errors_away(scenario, varied, value) for name, value in found.items()}

    utilised = {
        name: {state: np.broadcast_to(level, values.shape) for state, level in states.items()}
        for name, states in levels_of(scenario, with_value(values)).items()
    }
    return CheckSweep(
        entry=entry,
        factors=found.factors_of_safety,
        break_even=crossings,
        by_limit_state=by_state,
        elasticity=found.elasticity,
        standard_errors=errors_of(crossings),
        errors_by_limit_state={state: errors_of(found) for state, found in by_state.items()},
        notices=owed(scenario, entry, by_state, by_sets=True),
        levels=utilised,
        used_up={
            name: break_even(
                with_value,
                values,
                inverse(highest(states)),
                1.0,
                factors_of=margins(scenario, name),
            )
            for name, states in utilised.items()
            if states
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


def _crossings(
    entry: CheckEntry,
    state: str,
    with_value: Callable[[Numeric], Check],
    values: Any,
    factors: Any,
) -> dict[str, float | None]:
    """Where one factor is 1, and where it meets its target."""
    return {
        name: crossing(entry, state, with_value, values, factors, level)
        for name, level in (("1.0", 1.0), ("target", entry.target(state)))
    }


def crossing(
    entry: CheckEntry,
    state: str,
    with_value: Callable[[Numeric], Check],
    values: Any,
    factors: Any,
    level: float | None,
) -> float | None:
    """Value at which the factor of one limit state has a level; ``None`` where it never has."""
    if level is None:
        return None
    factors_of = asked_of(entry.check, state)
    return break_even(with_value, values, np.asarray(factors), level, state, factors_of=factors_of)


def _crossings_of_all(
    entry: CheckEntry, with_value: Callable[[Numeric], Check], found: Sweep
) -> dict[str, float | None]:
    """Where the lowest factor is 1, and where the last of the targets is met."""
    held = {s: entry.targets[s] for s in found.factors_of_safety if s in entry.targets}
    left_out = {*entry.check.limit_states} - {*found.factors_of_safety}

    def factors_of(check: Check) -> Mapping[str, Numeric]:
        return check.factors_alone(leave_out=left_out)

    def shares(check: Check) -> dict[str, Numeric]:
        return {"all": margin(factors_of(check), held)}

    return {
        "1.0": break_even(with_value, found.values, found.lowest, 1.0, factors_of=factors_of),
        "target": break_even(
            with_value,
            found.values,
            np.asarray(margin(found.factors_of_safety, held)),
            1.0,
            factors_of=shares,
        )
        if held
        else None,
    }


def errors_away(scenario: Scenario, varied: VariedField, value: float | None) -> float | None:
    """Standard errors from the fitted value up to a break-even; below zero if it is below."""
    fit = varied.fit(scenario)
    if value is None or fit is None:
        return None
    if varied.path.field == "friction_angle" and fit.standard_error_tan:
        best = float(fit.best_fit.tan_friction_angle)
        return (math.tan(math.radians(value)) - best) / fit.standard_error_tan
    if varied.path.field == "cohesion" and fit.standard_error_cohesion:
        return (value - float(fit.best_fit.cohesion)) / fit.standard_error_cohesion
    return None


def swept_values(asked: SweepEntry, dimension: fields.Dimension) -> Any:
    """The values of one sweep, in the program's own unit.

    Raises
    ------
    InputError
        Ends that are reversed or cannot be read.
    """
    ends = []
    for place, text in (("from", asked.start), ("to", asked.stop)):
        ends.append(read_value(text, dimension, place))
    if not ends[0] < ends[1]:
        raise InputError("to", asked.stop, "it must be above from")
    return np.linspace(ends[0], ends[1], asked.steps)


def _together(given: Mapping[str, str | None]) -> bool:
    """Whether options that belong together are given.

    Raises
    ------
    InputError
        Only part of them.
    """
    missing = [name for name, value in given.items() if value is None]
    if 0 < len(missing) < len(given):
        raise InputError(missing[0], MISSING, "give " + ", ".join(given) + " together")
    return not missing


def other_field(
    vary: str | None, start: str | None, stop: str | None, steps: int
) -> SweepEntry | None:
    """The second field of the command line, if one is given.

    Raises
    ------
    InputError
        Only part of it.
    """
    given = {"--second": vary, "--second-from": start, "--second-to": stop}
    return SweepEntry(str(vary), str(start), str(stop), steps) if _together(given) else None


def asked_for(
    scenario: Scenario,
    vary: str | None,
    start: str | None,
    stop: str | None,
    steps: int,
    second: SweepEntry | None = None,
) -> list[SweepEntry]:
    """The sweep of the command line, or else those of the scenario.

    Raises
    ------
    InputError
        Only part of a sweep on the command line.
    FileError
        Nothing on the command line and no sweep in the scenario.
    """
    if _together({"--vary": vary, "--from": start, "--to": stop}):
        return [SweepEntry(str(vary), str(start), str(stop), steps, second)]
    if not scenario.sweeps:
        problem = InputError(
            "sweeps", "none", "add a [[sweeps]] table, or give --vary, --from and --to"
        )
        raise FileError(scenario.path, problem)
    return list(scenario.sweeps)
