"""Reads a readings file: tidy CSV, one row a reading, units in the header.

Header names carry their unit in brackets: ``normal_force [N]``. Lines that begin with ``#``
are comments. See ``COLUMNS`` for what is known.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strength.errors import InputError
from strength.notice import Notice, distinct
from strength.quantities import STANDARD_GRAVITY, unit_factor
from strength.readings import STATES, Readings

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
}
"""Columns of a readings file, and the kind of quantity in each."""

LARGEST_FILE = 32 * 1024 * 1024
"""A larger file [bytes] is refused: no shear test fills it."""

_HEADER = re.compile(r"\s*([A-Za-z_ ]+?)\s*(?:\[([^\]]*)\])?\s*")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class _Column:
    name: str
    header: str
    factor: float


def read_readings(path: Path) -> Readings:
    """Read a readings file.

    Raises
    ------
    InputError
        With row and column of the first thing that cannot be used. The file's name is
        left to the caller.
    """
    rows = _rows(path)
    try:
        _, header = next(rows)
    except StopIteration:
        raise InputError("file", path.name, "it holds no header line") from None
    columns, notices = _columns(header)
    names = {column.name for column in columns}
    kind = _kind(names)

    tests: list[str] = []
    states: list[str] = []
    numbers: dict[str, list[float]] = {"normal": [], "shear": [], "low": [], "high": []}
    seen: dict[tuple[str, ...], int] = {}
    for line, row in rows:
        if len(row) != len(columns):
            raise InputError(
                f"row {line}",
                ",".join(row),
                f"it has {len(row)} fields where the header has {len(columns)}; "
                "separate columns by commas and write decimals with a point",
            )
        cells = {column.name: cell.strip() for column, cell in zip(columns, row, strict=True)}
        if not cells["test"]:
            raise InputError(f"row {line}, column test", "", "name the test")
        state = cells.get("state", "peak")
        if state not in STATES:
            raise InputError(f"row {line}, column state", state, "allowed: " + ", ".join(STATES))
        values = {
            column.name: _number(cells[column.name], column, line)
            for column in columns
            if column.factor
        }
        tests.append(cells["test"])
        states.append(state)
        _reading(values, kind, line, numbers)
        key = tuple(row)
        if key in seen:
            notices.append(
                Notice.caution(
                    "duplicate-reading",
                    f"Rows {seen[key]} and {line} of the readings are the same to the last "
                    "digit; if one was copied by mistake, take it out.",
                )
            )
        seen.setdefault(key, line)
    if not tests:
        raise InputError("file", path.name, "it holds a header but no reading")
    return Readings(
        test=tuple(tests),
        state=tuple(states),
        normal=np.array(numbers["normal"]),
        shear=np.array(numbers["shear"]),
        low=np.array(numbers["low"]),
        high=np.array(numbers["high"]),
        unit="kPa" if kind == "stress" else "N",
        notices=distinct(notices),
    )


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Number and fields of each line that is neither empty nor a comment."""
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise InputError(
            "file", f"{size / 1e6:.0f} MB", f"allowed: up to {LARGEST_FILE // 2**20} MiB"
        )
    try:
        with path.open(encoding="utf-8-sig", newline="") as handle:
            for line, text in enumerate(handle, start=1):
                if "\0" in text:
                    raise InputError(f"row {line}", "a NUL byte", "give a text file in UTF-8")
                if not text.strip() or text.lstrip().startswith("#"):
                    continue
                yield line, next(csv.reader([text], strict=True))
    except UnicodeDecodeError as error:
        raise InputError(
            "file", f"byte {error.object[error.start]:#04x}", "save it as UTF-8 text"
        ) from None
    except csv.Error as error:
        raise InputError("file", str(error), "give plain comma-separated rows") from None


def _columns(header: list[str]) -> tuple[list[_Column], list[Notice]]:
    columns: list[_Column] = []
    notices: list[Notice] = []
    if len(header) == 1 and ";" in header[0]:
        raise InputError(
            "header", header[0], "separate columns by commas and write decimals with a point"
        )
    for text in header:
        match = _HEADER.fullmatch(text)
        name = match[1].strip() if match else text.strip()
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1, cutoff=0.5)
            hint = f"did you mean {near[0]}? " if near else ""
            raise InputError("header", text.strip(), hint + "known: " + ", ".join(COLUMNS))
        if any(column.name == name for column in columns):
            raise InputError("header", text.strip(), "give each column once")
        dimension = COLUMNS[name]
        unit = match[2] if match else None
        factor = 0.0
        if dimension:
            wanted = f"put its unit in brackets, such as {name} [{_example(dimension)}]"
            if not unit:
                raise InputError("header", text.strip(), wanted)
            try:
                factor, from_mass = unit_factor(unit, dimension)
            except InputError as error:
                raise InputError("header", text.strip(), error.allowed) from None
            if from_mass:
                notices.append(
                    Notice.info(
                        "mass-read-as-weight",
                        f"Column {text.strip()} holds masses; each was taken as its weight at "
                        f"{STANDARD_GRAVITY} m/s².",
                    )
                )
        elif unit is not None:
            raise InputError("header", text.strip(), f"{name} takes no unit")
        columns.append(_Column(name, text.strip(), factor))
    return columns, notices


def _example(dimension: str) -> str:
    return "kPa" if dimension == "stress" else "N"


def _kind(names: set[str]) -> str:
    """Whether the table holds stresses or forces."""
    if "test" not in names:
        raise InputError("header", "test", "a column test is needed: it names each test")
    kinds = {COLUMNS[name] for name in names if COLUMNS[name]}
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


def _number(cell: str, column: _Column, line: int) -> float:
    if not cell:
        return math.nan
    place = f"row {line}, column {column.header}"
    if not _NUMBER.fullmatch(cell):
        raise InputError(place, cell, "give a number with a decimal point")
    value = float(cell) * column.factor
    if not math.isfinite(value):
        raise InputError(place, cell, "give a finite number")
    if value < 0.0:
        raise InputError(place, cell, "allowed: from 0 upward")
    return value


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
