"""The project's own exceptions: what was given, what is wrong with it, what is allowed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import is_dataclass
from enum import Enum
from math import inf, isfinite
from numbers import Real
from os import PathLike
from pathlib import Path

__all__ = [
    "MISSING",
    "InputError",
    "SlipmarginError",
    "need",
    "need_number",
    "need_one_of",
    "need_path",
    "need_record",
    "shown_value",
]


class _Absent(Enum):
    MISSING = "missing"


MISSING = _Absent.MISSING
"""Stands for the value of an ``InputError`` where nothing was given at all."""


class SlipmarginError(Exception):
    """Base of every error this project raises on purpose."""


class InputError(SlipmarginError):
    """A value that cannot be used.

    Parameters
    ----------
    place
        The field, column or row that holds the value, in the words of the input.
    value
        What was found there; ``MISSING`` where nothing was.
    allowed
        What would be accepted, as a phrase a person can act on.
    """

    def __init__(self, place: str, value: object, allowed: str) -> None:
        self.place = place
        self.value = value
        self.allowed = allowed
        super().__init__(place, value, allowed)

    def __str__(self) -> str:
        place, shown = _cut(self.place, 200), _cut(shown_value(self.value), 80)
        if self.value is MISSING:
            wanted = f"; {_cut(self.allowed, 1000)}" if self.allowed else ""
            return f"{place} is missing: add it{wanted}"
        return f"{place}: {shown!r} cannot be used; {_cut(self.allowed, 1000)}"

    def within(self, parent: str) -> InputError:
        """The same error, with its place read from one level further out."""
        return InputError(f"{parent}.{self.place}", self.value, self.allowed)


def shown_value(value: object) -> str:
    """A value as it stands in a message: text as it is, an array as a list, else its repr."""
    if isinstance(value, str):
        return value
    listed = None if isinstance(value, type) else getattr(value, "tolist", None)
    try:
        return repr(value if listed is None else listed())
    except (ValueError, RecursionError):  # an integer of thousands of digits, a deep list
        return f"a value too large to show ({type(value).__name__})"


def _cut(text: str, length: int) -> str:
    # the end of a path is what tells one file from another
    half = (length - 3) // 2
    return text if len(text) <= length else f"{text[:half]}...{text[-half:]}"


def need(place: str, value: object, kind: type | tuple[type, ...], wanted: str) -> None:
    """Refuse an argument of another kind than a function takes."""
    if not isinstance(value, kind):
        raise InputError(place, value, f"give {wanted}")


def need_one_of(place: str, word: object, known: Iterable[str]) -> None:
    """Refuse a word that is not known, with those that are."""
    every = list(known)
    if word not in every:
        raise InputError(place, word, "allowed: " + ", ".join(every))


def need_number(
    place: str, value: object, unit: str = "", *, least: float = -inf, above: float = -inf
) -> None:
    """Refuse what is no single finite number, of at least one value or above another."""
    in_unit = f" {unit}" if unit else ""
    if isinstance(value, bool) or not isinstance(value, Real):
        raise InputError(place, value, f"give a bare number{' in' + in_unit if unit else ''}")
    size = float(value)
    if not (isfinite(size) and size >= least and size > above):
        allowed = "a finite number" + (" in" + in_unit if unit else "")
        if above > -inf:
            allowed = f"above {above:g}{in_unit}"
        elif least > -inf:
            allowed = f"from {least:g}{in_unit} upward"
        raise InputError(place, value, f"allowed: {allowed}")


def need_path(value: object) -> Path:
    """A path that may be given as text."""
    need("path", value, (str, PathLike), "a path, as text or as a Path")
    return Path(str(value))


def need_record(place: str, value: object, wanted: str) -> None:
    """Refuse what is no record with named fields where one is wanted."""
    if not is_dataclass(value) or isinstance(value, type):
        raise InputError(place, value, f"give {wanted}")
