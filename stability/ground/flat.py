"""The numbers of a slope check, brought to one shape, laid flat, and some of them taken."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.strength import Numeric

__all__ = ["CHUNK", "COLUMN", "flattened", "joined", "pieces", "shape_of", "taken"]

COLUMN = (slice(None), None)
"""Part of an array of samples that is all of them, one a row."""

CHUNK = 1 << 14
"""Samples at once: what they hold stays in the processor's cache, and memory flat."""

Record = TypeVar("Record")


def shape_of(check: Any) -> tuple[int, ...]:
    """Shape to which the numbers of a check, of a part of it and of its soils broadcast."""
    held = [one for _, kind, one in fields.held_in(check) if isinstance(kind, fields.Amount)]
    for soil in fields.soils(check):
        strength = soil.strength
        held += [strength.cohesion, strength.friction_angle]
        held += [soil.unit_weight, soil.weight_below_water]
        if strength.curve is not None:
            held += [strength.curve.coefficient, strength.curve.exponent]
    return np.broadcast_shapes(*map(np.shape, held))


def flattened(shape: tuple[int, ...]) -> Callable[[Numeric], NDArray[np.float64]]:
    """Gives a number in one row of its own, and an array in the rows of ``shape``."""

    def flat(value: Numeric) -> NDArray[np.float64]:
        array = np.asarray(value, dtype=float)
        return array.reshape(1) if array.size == 1 else np.broadcast_to(array, shape).reshape(-1)

    return flat


def taken(record: Record, part: Any) -> Record:
    """The record with ``part`` of every array of several rows; scalars and single rows stay."""
    kind: Any = type(record)
    arrays = {}
    for name in _names(kind):
        value = getattr(record, name)
        if isinstance(value, np.ndarray) and value.ndim and len(value) > 1:
            arrays[name] = value[part]
    return dataclasses.replace(record, **arrays) if arrays else record  # type: ignore[type-var]


def joined(records: Sequence[Record]) -> Record:
    """Records of arrays as one, their rows behind each other; ``None`` and scalars stay."""
    kind: Any = type(records[0])
    columns = {name: [getattr(record, name) for record in records] for name in _names(kind)}
    whole: Record = kind(
        **{
            name: np.concatenate(one) if np.ndim(one[0]) else one[0]
            for name, one in columns.items()
        }
    )
    return whole


def pieces(size: int, chunk: int = CHUNK) -> Iterator[slice]:
    """Slices that together cover ``size`` samples."""
    for start in range(0, size, chunk):
        yield slice(start, min(start + chunk, size))


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(entry.name for entry in dataclasses.fields(kind) if entry.init)
