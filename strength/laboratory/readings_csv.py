"""Reads a readings file: tidy CSV, one row a reading, units in the header.

Header names carry their unit in brackets: ``normal_force [N]``. Lines that begin with ``#``
are comments. See ``COLUMNS`` for what is known. A file in which a test has many rows with
``displacement`` is a stress-displacement record (``Readings.is_record``): there the shear
gauge may read below zero, which it does at the start of a test and when the box is pushed
back. Anywhere else a negative reading is refused.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from slipmargin.strength.errors import MISSING, InputError
from slipmargin.strength.laboratory.csv_table import (
    Column,
    cells_of,
    number,
    read_columns,
    read_rows,
)
from slipmargin.strength.laboratory.readings import STATES, Readings
from slipmargin.strength.notice import Notice, distinct

__all__ = ["COLUMNS", "read_readings"]

COLUMNS: dict[str, str] = {
    "test": "",
    "state": "",
    "normal_stress": "stress",
    "normal_force": "force",
    "shear_stress": "stress",
    "shear_force": "force",
    "shear_stress_low": "stress",
    "shear_stress_high": "stress",
    "shear_force_low": "force",
    "shear_force_high": "force",
    "displacement": "displacement",
    "vertical_displacement": "displacement",
    "rate": "rate",
}
"""Columns of a readings file, and the kind of quantity in each.

``displacement`` is the travel of the moving half of the box from the start of shearing;
``vertical_displacement`` is positive upward (the specimen dilates).
"""

_MOVEMENT = ("displacement", "vertical_displacement", "rate")
_LOADS = ("normal", "shear", "low", "high")


def read_readings(path: Path) -> Readings:
    """Read a readings file.

    Raises
    ------
    InputError
        With row and column of the first thing that cannot be used. The file's name is
        left to the caller.
    """
    rows = read_rows(path)
    try:
        _, header = next(rows)
    except StopIteration:
        raise InputError("file", path.name, "it holds no header line") from None
    columns, notices = read_columns(header, COLUMNS)
    names = {column.name for column in columns}
    kind = _kind(names)

    tests: list[str] = []
    states: list[str] = []
    numbers: dict[str, list[float]] = {name: [] for name in (*_LOADS, *_MOVEMENT)}
    seen: dict[tuple[str, ...], int] = {}
    copies: list[tuple[int, int]] = []
    below_zero: InputError | None = None
    for line, row in rows:
        cells = cells_of(line, row, columns)
        test, state = _labels(cells, line)
        values = {
            column.name: number(cells[column.name], column, line, signed=_signed(column))
            for column in columns
            if column.factor
        }
        below_zero = below_zero or _below_zero(values, cells, columns, line)
        tests.append(test)
        states.append(state)
        _reading(values, kind, line, numbers)
        key = tuple(row)
        if key in seen:
            copies.append((seen[key], line))
        seen.setdefault(key, line)
    if not tests:
        raise InputError("file", path.name, "it holds a header but no reading")
    if copies:
        notices.append(_copies_notice(copies))
    try:
        readings = Readings(
            test=tuple(tests),
            state=tuple(states),
            **{name: np.array(numbers[name]) for name in _LOADS},
            **{name: np.array(numbers[name]) for name in _MOVEMENT if name in names},
            unit="kPa" if kind == "stress" else "N",
            notices=distinct(notices),
        )
    except InputError:
        if below_zero is not None:
            raise below_zero from None  # it names the row of the file
        raise
    if not readings.is_record and below_zero is not None:
        raise below_zero
    if readings.is_record and "state" in names:
        raise InputError(
            "header",
            "state",
            "leave the column out of a stress-displacement record: peak, end of test and "
            "residual are picked from the curve",
        )
    return readings


def _labels(cells: dict[str, str], line: int) -> tuple[str, str]:
    if not cells["test"]:
        raise InputError(f"row {line}, column test", "", "name the test")
    state = cells.get("state", "peak")
    if state not in STATES:
        raise InputError(f"row {line}, column state", state, "allowed: " + ", ".join(STATES))
    return cells["test"], state


def _signed(column: Column) -> bool:
    """Whether a stress-displacement record may go below zero in this column."""
    return column.name.startswith("shear") or column.name in _MOVEMENT[:2]


def _below_zero(
    values: dict[str, float], cells: dict[str, str], columns: list[Column], line: int
) -> InputError | None:
    """The refusal that a negative number earns unless the file is a record."""
    for column in columns:
        name = column.name
        if name == "rate" and values[name] == 0.0:
            raise InputError(f"row {line}, column {column.header}", cells[name], "allowed: above 0")
        if name != "vertical_displacement" and values.get(name, 0.0) < 0.0:
            return InputError(
                f"row {line}, column {column.header}", cells[name], "allowed: from 0 upward"
            )
    return None


def _copies_notice(copies: list[tuple[int, int]]) -> Notice:
    pairs = ", ".join(f"{first} and {second}" for first, second in copies[:3])
    more = f" (and {len(copies) - 3} more pairs)" if len(copies) > 3 else ""
    return Notice.caution(
        "duplicate-reading",
        f"Rows {pairs}{more} of the readings are the same to the last digit; if one was copied "
        "by mistake, take it out.",
    )


def _kind(names: set[str]) -> str:
    """Whether the table holds stresses or forces."""
    if "test" not in names:
        raise InputError("column test", MISSING, "it names each test")
    kinds = {COLUMNS[name] for name in names} & {"stress", "force"}
    if len(kinds) != 1:
        raise InputError(
            "header",
            ", ".join(sorted(names)),
            "give normal_stress with shear_stress, or normal_force with shear_force",
        )
    kind = kinds.pop()
    if f"normal_{kind}" not in names:
        raise InputError("header", f"normal_{kind}", "this column is needed")
    band = {f"shear_{kind}_low", f"shear_{kind}_high"}
    if 0 < len(band & names) < len(band):
        raise InputError("header", ", ".join(band & names), "give both ends of the band")
    if f"shear_{kind}" not in names and not band <= names:
        raise InputError("header", f"shear_{kind}", "this column, or both ends of its band")
    return kind


def _reading(
    values: dict[str, float], kind: str, line: int, numbers: dict[str, list[float]]
) -> None:
    """Sort one row into its columns, taking the middle of a band where no value stands."""
    normal = values[f"normal_{kind}"]
    shear = values.get(f"shear_{kind}", math.nan)
    low = values.get(f"shear_{kind}_low", math.nan)
    high = values.get(f"shear_{kind}_high", math.nan)
    place = f"row {line}"
    if math.isnan(normal):
        raise InputError(f"{place}, column normal_{kind}", "", "give a number")
    if math.isnan(low) != math.isnan(high):
        raise InputError(f"{place}, column shear_{kind}_low", "", "give both ends of the band")
    if low > high:
        raise InputError(
            f"{place}, column shear_{kind}_low", f"{low:g}", f"above its high, {high:g}"
        )
    if math.isnan(shear):
        if math.isnan(low):
            raise InputError(f"{place}, column shear_{kind}", "", "give a number, or a band")
        shear = (low + high) / 2.0
    elif not math.isnan(low) and not low <= shear <= high:
        raise InputError(
            f"{place}, column shear_{kind}",
            f"{shear:g}",
            f"it is outside its band, {low:g} to {high:g}",
        )
    for name, value in (("normal", normal), ("shear", shear), ("low", low), ("high", high)):
        numbers[name].append(value)
    for name in _MOVEMENT:
        numbers[name].append(values.get(name, math.nan))
