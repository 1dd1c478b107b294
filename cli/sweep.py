"""Sweeps of a scenario: finds the field, runs every check it moves, finds break-evens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from cli.as_json import SCHEMA, number
from cli.files import table_csv
from cli.scenario import CheckEntry, FileError, Scenario, SweepEntry
from cli.varied import find_field, read_value
from cli.words import CAUTION
from stability import Check, fields
from stability.sensitivity import Sweep, break_even, sweep
from strength import InputError, Numeric

__all__ = ["CheckSweep", "SweepOutcome", "as_csv", "asked_for", "run_sweep", "sweep_document"]

MOST_STEPS = 100_000
"""More steps than this in one sweep are refused."""


@dataclass(frozen=True, slots=True)
class CheckSweep:
    """One check over the swept values."""

    entry: CheckEntry
    sweep: Sweep
    break_even: dict[str, float | None]
    by_limit_state: dict[str, dict[str, float | None]]


@dataclass(frozen=True, slots=True)
class SweepOutcome:
    """One sweep over every check it moves."""

    vary: str
    unit: str
    values: Any
    checks: tuple[CheckSweep, ...]


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
        values = _values(asked, target.dimension)
        swept = []
        for entry, with_value in target.movers:
            try:
                swept.append(_one(entry, with_value, values))
            except InputError as error:
                raise error.within(f"checks ({entry.label}) over the sweep") from None
        return SweepOutcome(asked.vary, fields.UNITS[target.dimension], values, tuple(swept))
    except InputError as error:
        raise FileError(scenario.path, error) from None


def _one(entry: CheckEntry, with_value: Callable[[Numeric], Check], values: Any) -> CheckSweep:
    found = sweep(with_value, values)
    levels: dict[str, float] = {"1.0": 1.0}
    target = getattr(entry.check, "target", None)
    if target is not None:
        levels["target"] = float(target)
    by_state = {
        state: {
            name: break_even(with_value, values, np.asarray(factors), level, state)
            for name, level in levels.items()
        }
        for state, factors in found.factors_of_safety.items()
    }
    if len(by_state) == 1:
        lowest = next(iter(by_state.values()))
    else:
        lowest = {
            name: break_even(with_value, values, found.lowest, level)
            for name, level in levels.items()
        }
    return CheckSweep(
        entry, found, {"1.0": lowest["1.0"], "target": lowest.get("target")}, by_state
    )


def _values(asked: SweepEntry, dimension: fields.Dimension) -> Any:
    if not 2 <= asked.steps <= MOST_STEPS:
        raise InputError("steps", asked.steps, f"allowed: from 2 up to {MOST_STEPS}")
    ends = []
    for place, text in (("from", asked.start), ("to", asked.stop)):
        ends.append(read_value(text, dimension, place))
    if not ends[0] < ends[1]:
        raise InputError("to", asked.stop, "it must be above from")
    return np.linspace(ends[0], ends[1], asked.steps)


def sweep_document(outcomes: list[SweepOutcome]) -> dict[str, Any]:
    """The document of ``sweep``."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "sweeps": [
            {
                "vary": one.vary,
                "unit": one.unit,
                "values": number(one.values),
                "checks": [
                    {
                        "label": check.entry.label,
                        "factors_of_safety": {
                            name: number(factors)
                            for name, factors in check.sweep.factors_of_safety.items()
                        },
                        "target": number(getattr(check.entry.check, "target", None)),
                        "break_even": check.break_even,
                        "break_even_by_limit_state": check.by_limit_state,
                    }
                    for check in one.checks
                ],
            }
            for one in outcomes
        ],
    }


def as_csv(outcomes: list[SweepOutcome]) -> str:
    """One row a value, check and limit state."""
    header = ["vary", "unit", "value", "check", "limit_state", "factor_of_safety"]
    rows = [
        [one.vary, one.unit, float(value), check.entry.label, state, float(factor)]
        for one in outcomes
        for check in one.checks
        for state, factors in check.sweep.factors_of_safety.items()
        for value, factor in zip(one.values, factors, strict=True)
    ]
    return table_csv(header, rows)


def asked_for(
    scenario: Scenario, vary: str | None, start: str | None, stop: str | None, steps: int
) -> list[SweepEntry]:
    """The sweep of the command line, or else those of the scenario.

    Raises
    ------
    InputError
        Only part of a sweep on the command line.
    FileError
        Nothing on the command line and no sweep in the scenario.
    """
    given = {"--vary": vary, "--from": start, "--to": stop}
    missing = [name for name, value in given.items() if value is None]
    if vary is not None and start is not None and stop is not None:
        return [SweepEntry(vary, start, stop, steps)]
    if len(missing) < len(given):
        raise InputError(missing[0], "missing", "give --vary, --from and --to together")
    if not scenario.sweeps:
        problem = InputError(
            "sweeps", "none", "add a [[sweeps]] table, or give --vary, --from and --to"
        )
        raise FileError(scenario.path, problem)
    return list(scenario.sweeps)
