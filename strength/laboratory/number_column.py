"""Columns as they are handed over: of one length, with nothing impossible in them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import InputError, need_one_of

__all__ = ["UNITS", "hold_columns", "known_unit", "number_column", "word_column"]

UNITS = ("kPa", "N")
"""Units of shear tests: of stresses, or of forces where no area is known."""


def known_unit(unit: str) -> None:
    """Refuse a unit that is not one of ``UNITS``."""
    if unit not in UNITS:
        turn = "turn other units into one of them"
        raise InputError("unit", unit, f"allowed: {', '.join(UNITS)}; {turn}")


def word_column(name: str, words: Sequence[str], count: int, known: Sequence[str] = ()) -> None:
    """Refuse a column of another length, or a word in it that is not known."""
    if len(words) != count:
        raise InputError(name, f"{len(words)} values", f"give {count}, as in the first column")
    for index, word in enumerate(words if known else ()):
        need_one_of(f"{name}[{index}]", word, known)


def number_column(
    name: str,
    values: ArrayLike,
    count: int,
    *,
    least: float = -np.inf,
    above: bool = False,
    blank: bool = False,
) -> NDArray[np.float64]:
    """A column of so many finite numbers, none below ``least``, nor with ``above`` equal to it.

    With ``blank``, nan may stand for what is not known. The first value that cannot be is named
    in the ``InputError``.
    """
    try:
        column = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise InputError(name, values, "give numbers") from None
    if column.shape != (count,):
        given = f"{column.size} values" if column.ndim == 1 else f"shape {column.shape}"
        raise InputError(name, given, f"give {count}, one for each row")
    known = np.isfinite(column) | (np.isnan(column) if blank else False)
    for index in np.flatnonzero(~known | (column < least) | (above & (column == least))).tolist():
        allowed = f"above {least:g}" if above else f"from {least:g} upward"
        if least == -np.inf or not known[index]:
            allowed = "a finite number"
        raise InputError(f"{name}[{index}]", f"{column[index]:g}", f"allowed: {allowed}")
    return column


def hold_columns(record: object, count: int, *, optional: Sequence[str]) -> None:
    """Put the loads of a table of shear tests, checked, into a record of them.

    Of ``low`` and ``high``, and of the ``optional`` columns, nan stands for what is not known; a
    band that is ``None`` becomes all nan, another column is left so.
    """
    for name in ("normal", "shear", "low", "high", *optional):
        values = getattr(record, name)
        if values is None and name in optional:
            continue
        given = np.full(count, np.nan) if values is None else values
        least, blank = 0.0 if name == "normal" else -np.inf, name not in ("normal", "shear")
        column = number_column(name, given, count, least=least, blank=blank)
        object.__setattr__(record, name, column)
