"""Sweeps of two fields at once: the lowest factor of every check over a grid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.as_json import by_state, notices, number, targets_asked
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.sweep import swept_values
from slipmargin.cli.questions.utilisations import Levels, level_columns, level_fields, levels_of
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SweepEntry
from slipmargin.cli.scenario.varied import find_field
from slipmargin.stability import fields
from slipmargin.strength import InputError, Notice

__all__ = ["TwoWayOutcome", "run_two_way", "two_way_document", "two_way_rows"]


@dataclass(frozen=True, slots=True)
class TwoWayOutcome:
    """Factors over two fields; arrays are rows of the first, columns of the second."""

    vary: tuple[str, str]
    units: tuple[str, str]
    values: tuple[Any, Any]
    checks: tuple[tuple[CheckEntry, Mapping[str, Any]], ...]
    notices: Mapping[str, tuple[Notice, ...]]
    levels: Mapping[str, Levels]


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
        found = []
        said: dict[str, tuple[Notice, ...]] = {}
        levels: dict[str, Levels] = {}
        for entry in entries:
            check = two.put(one.put(entry.check, a.ravel()), b.ravel())
            try:
                factors = check.evaluate(leave_out=check.SLOW).factors_of_safety
                used = levels_of(scenario, check)
            except InputError as error:
                raise error.within(f"checks ({entry.label}) over the sweep") from None

            def grids_of(found: Mapping[str, Any]) -> dict[str, Any]:
                return {
                    state: np.broadcast_to(np.asarray(one, dtype=float), a.size).reshape(a.shape)
                    for state, one in found.items()
                }

            grids = grids_of(factors)
            levels[entry.label] = {name: grids_of(states) for name, states in used.items()}
            found.append((entry, grids))
            said[entry.label] = owed(scenario, entry, grids, by_sets=True)
    except InputError as error:
        raise FileError(scenario.path, error) from None
    units = (fields.UNITS[one.dimension], fields.UNITS[two.dimension])
    return TwoWayOutcome(
        (first.vary, second.vary), units, (across, along), tuple(found), said, levels
    )


def two_way_document(outcome: TwoWayOutcome) -> dict[str, Any]:
    """One entry of the document of ``sweep``: factors are lists of rows."""
    return {
        "vary": outcome.vary[0],
        "unit": outcome.units[0],
        "values": number(outcome.values[0]),
        "second": {
            "vary": outcome.vary[1],
            "unit": outcome.units[1],
            "values": number(outcome.values[1]),
        },
        "checks": [
            {
                "label": entry.label,
                **targets_asked(entry),
                "factors_of_safety": by_state(grids),
                **level_fields(outcome.levels[entry.label]),
                "notices": notices(outcome.notices[entry.label]),
            }
            for entry, grids in outcome.checks
        ],
    }


def two_way_rows(outcome: TwoWayOutcome, sets: Sequence[str]) -> list[list[Any]]:
    """One row a pair of values, check and limit state, with a column a set of partial factors."""
    return [
        [
            outcome.vary[0],
            float(x),
            outcome.vary[1],
            float(y),
            entry.label,
            state,
            float(grid[i, j]),
            *(
                None if u is None else float(u[i, j])
                for u in level_columns(outcome.levels[entry.label], state, sets)
            ),
        ]
        for entry, grids in outcome.checks
        for state, grid in grids.items()
        for i, x in enumerate(outcome.values[0])
        for j, y in enumerate(outcome.values[1])
    ]
