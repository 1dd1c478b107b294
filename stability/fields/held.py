"""What the declared fields of a record hold: read, changed, held against their limits."""

from __future__ import annotations

import dataclasses
import operator
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

import numpy as np

from slipmargin.stability.fields.declared import Amount, Choice, Ground, Part, SoilField, of
from slipmargin.strength import InputError
from slipmargin.strength.errors import need_record
from slipmargin.strength.traced import some

__all__ = [
    "amounts",
    "changed",
    "elements",
    "held_in",
    "refuse",
    "soils",
    "validate",
]

T = TypeVar("T")


def held_in(record: Any, prefix: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Path, declaration and value of each field that is given, groups opened."""
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        match declaration:
            case _ if held is None:
                pass
            case Part(many=True):
                for index, one in enumerate(held):
                    yield from held_in(one, f"{prefix}{name}.{index}.")
            case Part():
                yield from held_in(held, f"{prefix}{name}.")
            case _:
                yield prefix + name, declaration, held


def amounts(record: Any) -> Iterator[tuple[str, Amount, float]]:
    """Path, declaration and value of each scalar quantity that is given, groups included."""
    for path, declaration, held in held_in(record):
        if isinstance(declaration, Amount) and np.ndim(held) == 0 and not isinstance(held, str):
            yield path, declaration, float(held)


def soils(record: Any) -> Iterator[Any]:
    """Each soil that is given, groups included."""
    return (held for _, kind, held in held_in(record) if isinstance(kind, SoilField))


def changed(record: T, change: Callable[[str, Any, Any], Any]) -> T:
    """The record with what ``change`` gives for the name, declaration and value of each field that
    is given, groups opened; the record itself where nothing changes.
    """
    new: dict[str, Any] = {}
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        match declaration:
            case _ if held is None:
                now = None
            case Part(many=True):
                now = tuple(changed(one, change) for one in held)
                now = now if any(map(operator.is_not, now, held)) else held
            case Part():
                now = changed(held, change)
            case _:
                now = change(name, declaration, held)
        if now is not held:
            new[name] = now
    return dataclasses.replace(record, **new) if new else record  # type: ignore[type-var]


def elements(record: Any, rows: Any, shape: tuple[int, ...]) -> Any:
    """A check, or group of fields, soils and strengths included, with some elements of its arrays:
    ``rows`` of the flat array of the ``shape`` to which they broadcast. Scalars and lines of points
    stay.
    """
    lines = {name for name, declaration, _ in of(record) if isinstance(declaration, Ground)}
    changes = {}
    for entry in dataclasses.fields(record):
        held = getattr(record, entry.name)
        if entry.name in lines or not entry.init:
            continue
        if isinstance(held, np.ndarray) and held.ndim:
            changes[entry.name] = np.broadcast_to(held, shape).reshape(-1)[rows]
        elif dataclasses.is_dataclass(held) and not isinstance(held, type):
            some = elements(held, rows, shape)
            if some is not held:
                changes[entry.name] = some
        elif isinstance(held, tuple) and held and dataclasses.is_dataclass(held[0]):
            changes[entry.name] = tuple(elements(one, rows, shape) for one in held)
    return dataclasses.replace(record, **changes) if changes else record


def validate(record: Any) -> None:
    """Hold every declared field of an input record against its limits.

    Raises
    ------
    InputError
        Naming the field, what it holds and what is allowed. ``None`` passes where it is
        the default.
    """
    for name, declaration, default in of(record):
        value = getattr(record, name)
        if value is None and default is None:
            continue
        match declaration:
            case Amount():
                declaration.check(name, value)
            case Choice(options=options):
                if value not in options:
                    raise InputError(name, value, "allowed: " + ", ".join(options))
            case SoilField():
                need_record(name, value, "a Soil")
            case Part(many=many):
                for index, one in enumerate(value if many else (value,)):
                    try:
                        validate(one)
                    except InputError as error:
                        place = f"{name}[{index}]" if many else name
                        raise error.within(place) from None
            case _:
                pass


def refuse(record: Any, name: str, where: Any, allowed: str) -> None:
    """Raise ``InputError`` on a field of a record if ``where`` holds in any case."""
    if some(where):
        raise InputError(name, getattr(record, name), allowed)
