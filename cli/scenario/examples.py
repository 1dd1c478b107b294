"""An example for every key of a check, from the examples that the checks give of themselves.

They stand in the JSON Schema and in the scenario that ``start --kind`` writes.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from slipmargin.stability import KINDS, fields
from slipmargin.stability.check import examples_of
from slipmargin.strength import InputError
from slipmargin.strength.quantities import DIMENSIONS

__all__ = ["example_of", "examples_given", "key_words", "needed_fields", "toml", "written_value"]

_POINTS = [[0.0, 0.0], [10.0, 4.0], [40.0, 6.0]]
_RATIOS = (0.1, 1.0)


def examples_given(kind: str) -> tuple[Any, ...]:
    """The examples that a kind of check gives of itself."""
    return examples_of(KINDS[kind])


def example_of(name: str, declaration: Any, records: Sequence[Any]) -> Any:
    """What a key may hold, as a file writes it: as the first of some records that holds more
    than the default has it, or else of its dimension.
    """
    for record in records:
        default = next(d for field, _, d in fields.of(record) if field == name)
        held = getattr(record, name)
        plain = np.ndim(held) == np.ndim(default) == 0
        if held is not None and not (plain and held == default):
            return written_value(declaration, held)
    return _of_dimension(declaration)


def _of_dimension(declaration: Any) -> Any:
    found: Any = _POINTS
    match declaration:
        case fields.Amount(dimension="ratio"):
            low, high = declaration.ends
            found = next((r for r in _RATIOS if low <= r <= high), (low + high) / 2.0)
        case fields.Amount():
            found = DIMENSIONS[declaration.dimension].examples.split('"')[1]
        case fields.Choice(options=options):
            found = options[0]
        case fields.Flag():
            found = True
        case fields.SoilField():
            found = "bank"
        case _:
            pass
    return found


def written_value(declaration: Any, held: Any) -> Any:
    """A value of a check as a file writes it."""
    match declaration:
        case fields.Amount(dimension="ratio"):
            return float(held)
        case fields.Amount() if not isinstance(held, str):
            return f"{float(held):.4g} {DIMENSIONS[declaration.dimension].canonical}"
        case fields.SoilField():
            return held.name
        case fields.Ground():
            return np.asarray(held, dtype=float).tolist()
        case _:
            return held


def key_words(declaration: Any) -> str:
    """What a key means: its sign, its axes, its limits."""
    text: str = declaration.says.rstrip(".")
    match declaration:
        case fields.Amount():
            allowed = declaration.allowed.removeprefix("allowed: ")
            return f"{text} ({allowed})." if np.isfinite(declaration.ends[0]) else f"{text}."
        case fields.Choice(options=options):
            return f"{text}: {', '.join(options)}."
        case fields.Ground():
            return f"{text}. Points [x, y] in metres, x to the right, y upward."
        case _:
            return f"{text}."


def needed_fields(example: Any) -> set[str]:
    """The fields that a check cannot do without, and its target."""
    spare = {
        name: default
        for name, _, default in fields.of(example)
        if default is not dataclasses.MISSING and name != "target"
    }
    needed = {name for name, *_ in fields.of(example)} - {*spare}
    kept = example
    for name, default in spare.items():
        without = dataclasses.replace(kept, **{name: default})
        if _answers(without):
            kept = without
        else:
            needed.add(name)
    return needed


def _answers(check: Any) -> bool:
    try:
        check.factors_alone(leave_out=check.SLOW)
    except InputError:
        return False
    return True


def toml(value: Any) -> str:
    """A plain value in TOML, which writes text, numbers and lists as JSON does."""
    return json.dumps(value, ensure_ascii=False)
