"""Degrees of utilisation beside factors, where a scenario is held to sets of partial factors."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from slipmargin.cli.as_json import number
from slipmargin.cli.scenario.read import Scenario
from slipmargin.cli.words import BESIDE
from slipmargin.stability import Check
from slipmargin.stability.check import factors_alone
from slipmargin.stability.planar_wedge.rotation_beside import rotation_of
from slipmargin.strength import Numeric

__all__ = [
    "Levels",
    "answers",
    "flat",
    "highest",
    "inverse",
    "level_columns",
    "level_fields",
    "level_headers",
    "levels_of",
    "margins",
    "parted",
]

Levels = Mapping[str, Mapping[str, Any]]
"""Degree of utilisation by set and limit state, as arrays of one shape."""


def levels_of(
    scenario: Scenario, check: Check, rotation: Check | None = None
) -> dict[str, dict[str, Numeric]]:
    """Levels of a check under every set asked for, those of the rotation beside it among them;
    empty for any other basis.

    Raises
    ------
    InputError
        As the check's own ``evaluate``, also for its design strengths.
    """
    basis = scenario.basis
    if basis is None or not basis.sets:
        return {}
    found = {name: dict(states) for name, states in basis.utilisations(check).items()}
    if rotation is not None:
        for name, states in basis.utilisations(rotation).items():
            found[name][BESIDE] = states["sliding"]
    return found


def answers(scenario: Scenario) -> Callable[[Check], dict[Any, Numeric]]:
    """What gives the factors of a check by limit state, and its levels by set and limit state."""

    def of(check: Check) -> dict[Any, Numeric]:
        return {**factors_alone(check), **flat(levels_of(scenario, check))}

    return of


def flat(levels: Levels) -> dict[Any, Any]:
    """Levels by set and limit state in one."""
    return {
        (name, state): level for name, states in levels.items() for state, level in states.items()
    }


def parted(found: Mapping[Any, Any]) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """Factors, and levels by set, out of what ``answers`` gave."""
    factors = {key: value for key, value in found.items() if isinstance(key, str)}
    levels: dict[str, dict[str, Any]] = {}
    for key, value in found.items():
        if not isinstance(key, str):
            levels.setdefault(key[0], {})[key[1]] = value
    return factors, levels


def highest(states: Mapping[str, Any]) -> Any:
    """Highest level over the limit states."""
    return np.max(np.stack(np.broadcast_arrays(*states.values())), axis=0)


def inverse(level: Numeric) -> Any:
    """One over a level, 0 where nothing resists: above 1 while there is something left."""
    value = np.asarray(level, dtype=float)
    with np.errstate(divide="ignore"):
        return np.where(np.isnan(value), np.nan, 1.0 / value)


def margins(scenario: Scenario, name: str) -> Callable[[Check], dict[str, Numeric]]:
    """What gives one over the highest level of a check under one set."""

    def of(check: Check) -> dict[str, Numeric]:
        states = levels_of(scenario, check, rotation_of(check))[name]
        return {"all": inverse(highest(states))}

    return of


def level_fields(levels: Levels) -> dict[str, Any]:
    """The levels in a document, under names of their own; nothing without a set."""
    if not levels:
        return {}
    beside = {name: number(states[BESIDE]) for name, states in levels.items() if BESIDE in states}
    return {
        "utilisation": {
            name: {state: number(level) for state, level in states.items() if state != BESIDE}
            for name, states in levels.items()
        },
        "rotation_utilisation": beside or None,
    }


def level_headers(every: Sequence[Levels]) -> list[str]:
    """Sets that any of some levels have, in order: a column of a table each."""
    return list(dict.fromkeys(name for levels in every for name in levels))


def level_columns(levels: Levels, state: str, sets: Sequence[str]) -> list[Any]:
    """Levels of one limit state under every set; ``None`` where it has none."""
    return [levels.get(name, {}).get(state) for name in sets]
