"""Declared fields in words: docstrings of input records, and lists of what a check takes."""

from __future__ import annotations

import dataclasses
import inspect
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from slipmargin.stability.fields.declared import Amount, Choice, Flag, Part, SoilField, of

__all__ = ["Described", "described", "documented"]

T = TypeVar("T")


def documented(kind: type[T]) -> type[T]:
    """A record of inputs whose docstring lists its fields as they are declared."""
    kind.__doc__ = _Docstring(kind.__doc__)  # type: ignore[assignment]
    return kind


@dataclass(frozen=True, slots=True)
class _Docstring:
    """The docstring of a record, written when it is read."""

    says: str | None

    def __get__(self, _: object, owner: type) -> str:
        text = inspect.cleandoc(self.says or "")
        head, examples, rest = text.partition("\n\nExamples\n")
        listed = "\n".join(_listed(owner))
        return f"{head}\n\nParameters\n----------\n{listed}{examples}{rest}\n"


def _listed(kind: type) -> Iterator[str]:
    for name, declaration, default in of(kind):
        told = declaration.says
        match declaration:
            case Amount(symbol=symbol, unit=unit, allowed=allowed):
                held = "Numeric"
                told = f"{symbol}{f' [{unit}]' if unit else ''}: {told} A{allowed[1:]}."
            case Choice(options=options):
                held, told = "str", f"{told} Allowed: {', '.join(options)}."
            case Flag():
                held = "bool"
            case SoilField():
                held = "Soil"
            case Part(kind=part, many=many):
                held = f"tuple of {part.__name__}" if many else part.__name__
            case _:
                held = "points"
        stands = "" if default is dataclasses.MISSING else f", default {default!r}"
        yield f"{name} : {held}{stands}"
        yield textwrap.fill(told, 88, initial_indent="    ", subsequent_indent="    ")


@dataclass(frozen=True, slots=True)
class Described:
    """A field in words: its path, and what it means and takes.

    In a path ``[]`` stands behind a list of groups of fields. ``everywhere`` marks one that is
    given once for a whole scenario.
    """

    path: str
    symbol: str
    unit: str
    says: str
    takes: str
    everywhere: bool


def described(kind: Any, before: str = "") -> Iterator[Described]:
    """Each field that a check may be given, groups followed by the fields in them."""
    for name, declaration, _ in of(kind):
        path, symbol, unit, takes = before + name, "", "", ""
        match declaration:
            case Amount():
                symbol, unit = declaration.symbol, declaration.unit
                takes = declaration.allowed.removeprefix("allowed: ")
            case Choice(options=options):
                takes = ", ".join(options)
            case Part(many=many):
                takes = "a list" if many else "a table"
            case _:
                pass
        everywhere = isinstance(declaration, Amount) and declaration.everywhere
        yield Described(path, symbol, unit, declaration.says, takes, everywhere)
        if isinstance(declaration, Part):
            inner = f"{path}[]." if declaration.many else f"{path}."
            yield from described(declaration.kind, inner)
