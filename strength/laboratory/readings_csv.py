"""Reads a readings file: tidy CSV, one row a reading, units in the header.

Header names carry their unit in brackets: ``normal_force [N]``. Lines that begin with ``#``
are comments. See ``COLUMNS`` for what is known. A file in which a test has many rows with
``displacement`` is a stress-displacement record (``Readings.is_record``): there the shear
gauge may read below zero, which it does at the start of a test and when the box is pushed
back. Anywhere else a negative reading is refused.

Loads on a hanger and divisions of a dial become forces by the apparatus that is given beside
the file.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from slipmargin.strength.errors import MISSING, InputError, need_path
from slipmargin.strength.laboratory.apparatus import Apparatus, Floats, Gauges, RingCalibration
from slipmargin.strength.laboratory.csv_table import (
    Column,
    cells_of,
    number,
    read_columns,
    read_rows,
)
from slipmargin.strength.laboratory.readings import STATES, Readings
from slipmargin.strength.laboratory.triaxial import triaxial_readings
from slipmargin.strength.notice import Notice, distinct

__all__ = ["COLUMNS", "read_readings", "read_ring_calibration"]

COLUMNS: dict[str, str] = {
    "test": "",
    "state": "",
    "normal_stress": "stress",
    "normal_force": "force",
    "hanger_load": "force",
    "shear_stress": "stress",
    "shear_force": "force",
    "shear_stress_low": "stress",
    "shear_stress_high": "stress",
    "shear_force_low": "force",
    "shear_force_high": "force",
    "dial": "divisions",
    "dial_low": "divisions",
    "dial_high": "divisions",
    "displacement": "displacement",
    "vertical_displacement": "displacement",
    "rate": "rate",
    "cell_pressure": "stress",
    "deviator_stress": "stress",
    "pore_pressure": "stress",
}
"""Columns of a readings file, and the kind of quantity in each.

``displacement`` is the travel of the moving half of the box from the start of shearing;
``vertical_displacement`` is positive upward (the specimen dilates).
"""

_MOVEMENT = ("displacement", "vertical_displacement", "rate")
_TRIAXIAL = ("cell_pressure", "deviator_stress", "pore_pressure")
_OF_TRIAXIAL = ("cell_pressure", "deviator_stress")
_LOADS = ("normal", "shear", "low", "high")
_NORMAL = ("normal_stress", "normal_force", "hanger_load")
_SHEAR = ("shear_stress", "shear_force", "dial")
_PAIRS = {
    "shear_stress": ("normal_stress",),
    "shear_force": _NORMAL,
    "dial": _NORMAL,
}
"""Normal loads that may stand beside each shear load."""


def read_readings(path: str | Path, apparatus: Apparatus | None = None) -> Readings:
    """Read a readings file.

    Parameters
    ----------
    path
        The table.
    apparatus
        Lever and ring, for columns ``hanger_load`` and ``dial``.

    Raises
    ------
    InputError
        With row and column of the first thing that cannot be used. The file's name is
        left to the caller.
    """
    path = need_path("path", path)
    rows = read_rows(path)
    header = next(rows, (0, []))[1]
    if not header:
        raise InputError("file", path.name, "it holds no header line")
    columns, notices = read_columns(header, COLUMNS)
    names = {column.name for column in columns}
    kind = _kind(names)
    apparatus = apparatus or Apparatus()
    apparatus.refuse_unused(names)
    notices += apparatus.notices

    tests: list[str] = []
    states: list[str] = []
    numbers: dict[str, list[float]] = {name: [] for name in (*_LOADS, *_MOVEMENT, *_TRIAXIAL)}
    written: list[tuple[str, ...]] = []
    lines: list[int] = []
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
        lines.append(line)
        tests.append(test)
        states.append(state)
        _reading(values, kind, line, numbers)
        written.append(tuple(row))
    if not tests:
        raise InputError("file", path.name, "it holds a header but no reading")
    loads = {name: np.array(numbers[name]) for name in _LOADS}
    masses = any(column.from_mass for column in columns if column.name == "hanger_load")
    gauges = _gauges(loads, kind, apparatus, masses, lines)
    notices += gauges.notices if gauges else []
    below_zero = below_zero or _below_dial_zero(loads, gauges, lines)
    moved = {name: np.array(numbers[name]) for name in _MOVEMENT if name in names}
    labels = tuple(tests), tuple(states)
    try:
        if kind == _OF_TRIAXIAL:
            readings = _of_triaxial(labels, numbers, notices)
        else:
            readings = _of_a_box(labels, kind, loads | moved, gauges, notices)
    except InputError:
        if below_zero is not None:
            raise below_zero from None  # it names the row of the file
        raise
    if readings.is_record:  # its rows may be below zero, and are alike wherever the box rests
        _refuse_states(names)
        return readings
    if below_zero is not None:
        raise below_zero
    copies = _copies(lines, written)
    return replace(readings, notices=distinct([*readings.notices, *copies])) if copies else readings


def _refuse_states(names: set[str]) -> None:
    """A record has no column of states."""
    if "state" in names:
        raise InputError(
            "header",
            "state",
            "leave the column out of a stress-displacement record: peak, end of test and "
            "residual are picked from the curve",
        )


def _of_triaxial(
    labels: tuple[tuple[str, ...], tuple[str, ...]],
    numbers: dict[str, list[float]],
    notices: list[Notice],
) -> Readings:
    cell, deviator, pore = (numbers[name] for name in _TRIAXIAL)
    return triaxial_readings(labels[0], cell, deviator, pore, state=labels[1], notices=notices)


def _of_a_box(
    labels: tuple[tuple[str, ...], tuple[str, ...]],
    kind: tuple[str, str],
    columns: dict[str, Floats],
    gauges: Gauges | None,
    notices: list[Notice],
) -> Readings:
    beside_force = kind[0] == "normal_stress" and kind[1] != "shear_stress"
    return Readings(
        test=labels[0],
        state=labels[1],
        normal=columns["normal"],
        shear=columns["shear"],
        low=columns["low"],
        high=columns["high"],
        displacement=columns.get("displacement"),
        vertical_displacement=columns.get("vertical_displacement"),
        rate=columns.get("rate"),
        unit="kPa" if kind[1] == "shear_stress" else "N",
        normal_unit="kPa" if beside_force else None,
        gauges=gauges,
        notices=distinct(notices),
    )


def _labels(cells: dict[str, str], line: int) -> tuple[str, str]:
    if not cells["test"]:
        raise InputError(f"row {line}, column test", "", "name the test")
    state = cells.get("state", "peak")
    if state not in STATES:
        raise InputError(f"row {line}, column state", state, "allowed: " + ", ".join(STATES))
    return cells["test"], state


def _signed(column: Column) -> bool:
    """Whether a number below zero may stand in this column, in some file."""
    signed = (*_MOVEMENT[:2], "pore_pressure")
    return column.name.startswith(("shear", "dial")) or column.name in signed


def _below_zero(
    values: dict[str, float], cells: dict[str, str], columns: list[Column], line: int
) -> InputError | None:
    """The refusal that a negative number earns unless the file is a record."""
    for column in columns:
        name = column.name
        if name == "rate" and values[name] == 0.0:
            raise InputError(f"row {line}, column {column.header}", cells[name], "allowed: above 0")
        if name not in ("vertical_displacement", "pore_pressure") and values.get(name, 0.0) < 0.0:
            return InputError(
                f"row {line}, column {column.header}", cells[name], "allowed: from 0 upward"
            )
    return None


def _copies(lines: list[int], written: list[tuple[str, ...]]) -> list[Notice]:
    """That rows are the same as earlier ones."""
    first: dict[tuple[str, ...], int] = {}
    copies = []
    for line, row in zip(lines, written, strict=True):
        if first.setdefault(row, line) != line:
            copies.append((first[row], line))
    if not copies:
        return []
    pairs = ", ".join(f"{first} and {second}" for first, second in copies[:3])
    more = f" (and {len(copies) - 3} more pairs)" if len(copies) > 3 else ""
    return [
        Notice.caution(
            "duplicate-reading",
            f"Rows {pairs}{more} of the readings are the same to the last digit; if one was "
            "copied by mistake, take it out.",
        )
    ]


def _kind(names: set[str]) -> tuple[str, str]:
    """The columns of the normal and of the shear load, or those of a triaxial test."""
    if "test" not in names:
        raise InputError("column test", MISSING, "it names each test")
    if names & set(_TRIAXIAL):
        return _triaxial_kind(names)
    shear = [name for name in _SHEAR if {name, f"{name}_low", f"{name}_high"} & names]
    normal = [name for name in _NORMAL if name in names]
    for given, known, what in ((normal, _NORMAL, "normal"), (shear, _SHEAR, "shear")):
        if not given:
            place = f"column {known[0]}"
            raise InputError(place, MISSING, f"or another {what} load: {', '.join(known[1:])}")
        if len(given) > 1:
            raise InputError("header", ", ".join(given), f"keep one column of the {what} load")
    if normal[0] not in _PAIRS[shear[0]]:
        allowed = "give normal_stress with shear_stress, or normal_force with shear_force"
        raise InputError("header", f"{normal[0]}, {shear[0]}", allowed)
    band = {f"{shear[0]}_low", f"{shear[0]}_high"}
    if 0 < len(band & names) < len(band):
        raise InputError(f"column {(band - names).pop()}", MISSING, "a band has both ends")
    return normal[0], shear[0]


def _gauges(
    loads: dict[str, Floats],
    kind: tuple[str, str],
    apparatus: Apparatus,
    masses: bool,
    lines: list[int],
) -> Gauges | None:
    """The readings of the gauges, if any, whose places in ``loads`` the forces take."""
    read = dict(loads)
    hung, by_dial = kind[0] == "hanger_load", kind[1] == "dial"
    if not (hung or by_dial):
        return None
    if hung:
        loads["normal"] = apparatus.normal_force(read["normal"])
    for name in _LOADS[1:] if by_dial else ():
        column = "dial" if name == "shear" else f"dial_{name}"
        places = [f"row {line}, column {column}" for line in lines]
        loads[name] = apparatus.shear_force(read[name], places)
    return Gauges(
        apparatus=apparatus,
        hanger_load=read["normal"] if hung else None,
        from_mass=masses,
        dial=read["shear"] if by_dial else None,
        dial_low=read["low"] if by_dial else None,
        dial_high=read["high"] if by_dial else None,
    )


def _below_dial_zero(
    loads: dict[str, Floats], gauges: Gauges | None, lines: list[int]
) -> InputError | None:
    """The refusal that a force below zero earns unless the file is a record."""
    negative = np.flatnonzero(loads["shear"] < 0.0)
    if gauges is None or gauges.dial is None or not negative.size:
        return None
    first, zero = int(negative[0]), gauges.apparatus.zero
    return InputError(
        f"row {lines[first]}, column dial",
        f"{gauges.dial[first]:g}",
        f"allowed: from the dial_zero, {zero:g} div, upward",
    )


def _triaxial_kind(names: set[str]) -> tuple[str, str]:
    """Whether a table of triaxial tests is whole."""
    if others := sorted(names - {"test", "state", *_TRIAXIAL}):
        raise InputError(
            "header", ", ".join(others), "a table of triaxial tests has no such column"
        )
    for name in _OF_TRIAXIAL:
        if name not in names:
            raise InputError(
                f"column {name}", MISSING, "triaxial tests need cell_pressure and deviator_stress"
            )
    return _OF_TRIAXIAL


def _stresses(values: dict[str, float], line: int, numbers: dict[str, list[float]]) -> None:
    """Sort one row of a triaxial test into its columns."""
    for name in _TRIAXIAL:
        value = values.get(name, math.nan)
        if math.isnan(value) and name != "pore_pressure":
            raise InputError(f"row {line}, column {name}", "", "give a number")
        numbers[name].append(value)


def _reading(
    values: dict[str, float], kind: tuple[str, str], line: int, numbers: dict[str, list[float]]
) -> None:
    """Sort one row into its columns, taking the middle of a band where no value stands."""
    if kind == _OF_TRIAXIAL:
        _stresses(values, line, numbers)
        return
    of_normal, of_shear = kind
    normal = values[of_normal]
    shear = values.get(of_shear, math.nan)
    low = values.get(f"{of_shear}_low", math.nan)
    high = values.get(f"{of_shear}_high", math.nan)
    place = f"row {line}, column {of_shear}"
    if math.isnan(normal):
        raise InputError(f"row {line}, column {of_normal}", MISSING, "give a number")
    if math.isnan(low) != math.isnan(high):
        end = "low" if math.isnan(low) else "high"
        raise InputError(f"{place}_{end}", MISSING, "a band has both ends")
    if low > high:
        raise InputError(
            f"{place}_low", f"{low:g}", f"swap the two: it is above its high, {high:g}"
        )
    if math.isnan(shear):
        if math.isnan(low):
            raise InputError(place, MISSING, "give a number, or a band")
        shear = (low + high) / 2.0
    elif not math.isnan(low) and not low <= shear <= high:
        allowed = f"it is outside its band; allowed: {low:g} to {high:g}"
        raise InputError(place, f"{shear:g}", allowed)
    for name, value in (("normal", normal), ("shear", shear), ("low", low), ("high", high)):
        numbers[name].append(value)
    for name in _MOVEMENT:
        numbers[name].append(values.get(name, math.nan))


def read_ring_calibration(path: Path) -> tuple[RingCalibration, tuple[Notice, ...]]:
    """Read the calibration of a proving ring: columns ``dial [div]`` and ``load [N]``.

    Raises
    ------
    InputError
        With row and column of the first thing that cannot be used.
    """
    rows = read_rows(path)
    known = {"dial": "divisions", "load": "force"}
    columns, notices = read_columns(next(rows, (0, []))[1], known)
    for name, unit in (("dial", "div"), ("load", "N")):
        if name not in {column.name for column in columns}:
            raise InputError(f"column {name} [{unit}]", MISSING, "a ring calibration has both")
    values: dict[str, list[float]] = {name: [] for name in known}
    for line, row in rows:
        cells = cells_of(line, row, columns)
        for column in columns:
            value = number(cells[column.name], column, line, signed=True)
            if math.isnan(value):
                raise InputError(f"row {line}, column {column.header}", MISSING, "give a number")
            values[column.name].append(value)
    table = RingCalibration(np.array(values["dial"]), np.array(values["load"]))
    return table, tuple(notices)
