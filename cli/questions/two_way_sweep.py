"""Sweeps of two fields at once: the lowest factor of every check over a grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.sweep import swept_values
from slipmargin.cli.questions.utilisations import Levels, levels_of
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SweepEntry
from slipmargin.cli.scenario.varied import find_field
from slipmargin.stability import fields
from slipmargin.strength import InputError, Notice

__all__ = ["Axis", "CheckGrid", "TwoWayOutcome", "run_two_way"]


@dataclass(frozen=True, slots=True)
class CheckGrid:
    """One check over both fields: factors by limit state, and levels by set and limit state."""

    entry: CheckEntry
    factors: Mapping[str, Any]
    levels: Levels
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """A field and the values it takes."""

    vary: str
    unit: str
    values: Any


@dataclass(frozen=True, slots=True)
class TwoWayOutcome:
    """Factors over two fields; arrays are rows of the first, columns of the second."""

    vary: str
    unit: str
    values: Any
    second: Axis
    checks: tuple[CheckGrid, ...]


def run_two_way(scenario: Scenario, first: SweepEntry, second: SweepEntry) -> TwoWayOutcome:
    """Run a sweep of two fields over every check that both move.

    Raises
    ------
    FileError
        As for one field; no check that both move.
    """
    try:
        one, two = find_field(scenario, first.vary), find_field(scenario, second.vary)
        entries = [entry for entry in one.entries if any(entry is e for e in two.entries)]
        if first.vary == second.vary or not entries:
            raise InputError("second", second.vary, "no check is moved by both, as two fields")
        across = swept_values(first, one.dimension)
        along = swept_values(second, two.dimension)
        a, b = np.meshgrid(across, along, indexing="ij")
        grids = []
        for entry in entries:
            check = two.put(one.put(entry.check, a.ravel()), b.ravel())
            try:
                factors = check.evaluate(leave_out=check.SLOW).factors_of_safety
                used = levels_of(scenario, check)
            except InputError as error:
                raise error.within(f"checks ({entry.label}) over the sweep") from None

            def grid_of(found: Mapping[str, Any]) -> dict[str, Any]:
                return {
                    state: np.broadcast_to(np.asarray(one, dtype=float), a.size).reshape(a.shape)
                    for state, one in found.items()
                }

            found = grid_of(factors)
            levels = {name: grid_of(states) for name, states in used.items()}
            said = owed(scenario, entry, found, by_sets=True)
            grids.append(CheckGrid(entry, found, levels, said))
    except InputError as error:
        raise FileError(scenario.path, error) from None
    axis = Axis(second.vary, fields.UNITS[two.dimension], along)
    return TwoWayOutcome(first.vary, fields.UNITS[one.dimension], across, axis, tuple(grids))
