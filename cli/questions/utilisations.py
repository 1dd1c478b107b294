"""Degrees of utilisation beside factors, where a scenario is held to sets of partial factors."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from slipmargin.cli.questions.as_used import asked_of
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.stability import Check
from slipmargin.strength import InputError, Numeric

__all__ = [
    "Levels",
    "answers",
    "flat",
    "highest",
    "inverse",
    "levels_of",
    "parted",
    "room",
    "with_gaps",
]

Levels = Mapping[str, Mapping[str, Any]]
"""Degree of utilisation by set and limit state, as arrays of one shape."""


def levels_of(scenario: Scenario, check: Check) -> dict[str, dict[str, Numeric]]:
    """Levels of a check under every set asked for; empty for any other basis.

    Raises as ``evaluate`` of the check, also for its design strengths.
    """
    return {} if scenario.basis is None else scenario.basis.utilisations(check)


def answers(scenario: Scenario, check: Check) -> Callable[[Check], dict[Any, Numeric]]:
    """What gives the factors of a check with other values in it by limit state, and its levels
    by set and limit state.
    """
    factors_of = asked_of(check)

    def of(moved: Check) -> dict[Any, Numeric]:
        return {**factors_of(moved), **flat(levels_of(scenario, moved))}

    return of


def with_gaps(ask: Callable[[slice], Mapping[Any, Any]], count: int) -> dict[Any, Any]:
    """What is asked of so many strengths together, which stand along the last axis; nan for those
    that the theory refuses, such as angles below that of the backfill. ``InputError``: it refuses
    all of them.
    """
    try:
        return dict(ask(slice(None)))
    except InputError as error:
        refused = error
    parts: list[Mapping[Any, Any]] = []
    for place in range(count):
        try:
            parts.append(ask(slice(place, place + 1)))
        except InputError:
            parts.append({})
    gaps = {key: np.full_like(found, np.nan) for part in parts for key, found in part.items()}
    if not gaps:
        raise refused
    return {
        key: np.concatenate([p.get(key, gap) for p in parts], axis=-1) for key, gap in gaps.items()
    }


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


def room(entry: CheckEntry, factors: Mapping[str, Any], levels: Levels) -> Any:
    """Least of the factors over their targets, and of 1 over the levels: 1 where a check just
    meets all that is asked of it; ``None`` where nothing is.
    """
    shares = [] if (held := entry.margin(factors)) is None else [held]
    shares += [inverse(highest(states)) for states in levels.values() if states]
    return np.min(np.stack(np.broadcast_arrays(*shares)), axis=0) if shares else None
