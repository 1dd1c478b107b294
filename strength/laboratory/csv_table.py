"""Plain tables: comma-separated text in UTF-8 or a workbook, one header with units in brackets.

Lines that begin with ``#`` are comments; blank rows, and blank columns after the last, are
skipped. Capitals, blanks and round brackets in the header are read. Whatever cannot be read
without guessing is refused with its row and column: decimal commas, semicolons, UTF-16, ragged
rows, a file far larger than any shear test fills.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import MISSING, InputError
from slipmargin.strength.laboratory.workbook import workbook_rows
from slipmargin.strength.notice import Notice
from slipmargin.strength.quantities import (
    DIMENSIONS,
    LARGEST,
    NUMBER,
    STANDARD_GRAVITY,
    unit_factor,
)

__all__ = [
    "LARGEST_FILE",
    "Column",
    "Known",
    "Table",
    "check_text_file",
    "number",
    "read_table",
]

LARGEST_FILE = 4 * 1024 * 1024
"""A larger file [bytes] is refused: no shear test fills it."""

MOST_ROWS = 100_000
"""More rows are refused: a reading a second for a whole day."""

_HEADER = re.compile(r"\s*([^\[\]()]+?)\s*(?:\[([^\]]*)\]|\(([^)]*)\))?\s*")
_ELEMENT = re.compile(r"(\w+)\[(\d+)\]$")
_FORMATS = {b"\xd0\xcf\x11\xe0": "a workbook in the old .xls format", b"%PDF": "a PDF document"}
"""First bytes of files that are no table, and what they are."""

_ARCHIVE = b"PK\x03\x04"
"""First bytes of a zip archive, as every workbook is one."""

_PLAIN = "separate columns by commas and write decimals with a point"
_EXAMPLE = "such as test,normal_stress [kPa],shear_stress [kPa]"


class Known(NamedTuple):
    """A column that a table may have: the kind of quantity in it, none for words.

    ``like`` is a pattern of other names for it, for a header that is not known.
    """

    dimension: str = ""
    like: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A known column: its name, its header as written, and the factor to the program's unit.

    The factor is zero where the column holds words. ``from_mass`` says that masses stand for
    forces.
    """

    name: str
    header: str
    factor: float
    from_mass: bool = False


def check_text_file(path: Path) -> None:
    """Refuse what cannot be a table of readings: no file, too large, UTF-16, another document."""
    if not path.is_file():
        raise InputError("file", path.name or ".", "there is no file of that name to read")
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise InputError(
            "file", f"{size / 1e6:.0f} MB", f"allowed: up to {LARGEST_FILE // 2**20} MiB"
        )
    start = _start(path)
    if start[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError("file", "UTF-16 text", "save it as UTF-8 text")
    if (what := _FORMATS.get(start)) is not None:
        raise InputError("file", path.name, f"it is {what}: save the readings as CSV (UTF-8)")


def _start(path: Path) -> bytes:
    with path.open("rb") as stream:
        return stream.read(4)


@dataclass(frozen=True, slots=True)
class Table:
    """A table as read: the number of each row in its file, and its cells by column."""

    columns: Mapping[str, Column]
    lines: list[int]
    cells: list[dict[str, str]]
    notices: list[Notice]

    def place(self, name: str, row: int) -> str:
        """Where a cell stands."""
        header = self.columns[name].header if name in self.columns else name
        return f"row {self.lines[row]}, column {header}"

    def words(self, name: str, default: str = "") -> tuple[str, ...]:
        """Cells of a column of words."""
        return tuple(row.get(name, default) for row in self.cells)

    def numbers(self, name: str) -> NDArray[np.float64]:
        """Numbers of a column in the program's unit; nan where blank, or without the column."""
        column = self.columns.get(name)
        if column is None:
            return np.full(len(self.lines), np.nan)
        pairs = zip(self.cells, self.lines, strict=True)
        return np.array([number(row[name], column, line, signed=True) for row, line in pairs])

    def located(self, error: InputError, columns: Mapping[str, str]) -> InputError:
        """An error that names an element, as ``shear[3]``, with the cell it stands in.

        ``columns`` gives the column of a name where it is another; an error of another form stays
        as it is.
        """
        found = _ELEMENT.search(error.place)
        if found is None:
            return error
        name, row = columns.get(found[1], found[1]), int(found[2])
        value = self.cells[row].get(name, "") or MISSING
        allowed = (
            "give a number" if value is MISSING and "finite" in error.allowed else error.allowed
        )
        return InputError(self.place(name, row), value, allowed)


def read_table(path: Path, known: Mapping[str, Known]) -> Table:
    """Read a table with some of the columns that are ``known``.

    Raises
    ------
    InputError
        No such file, a file too large, not UTF-8, not comma-separated, a workbook that cannot be
        read; no header or no row; a column that is not known or stands twice, a unit that is
        missing or of another kind; a row that is longer or shorter than the header.
    """
    rows = _rows(path)
    header = next(rows, (0, []))[1]
    if not header:
        raise InputError("file", path.name, "it holds no header line")
    columns, notices = _columns(header, known)
    lines, cells = [], []
    for line, row in rows:
        lines.append(line)
        cells.append(_cells(line, row, columns))
    if not lines:
        raise InputError("file", path.name, "it holds a header but no reading")
    return Table({column.name: column for column in columns}, lines, cells, notices)


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Number and fields of each row that is neither blank nor a comment, the header first.

    Blank fields beyond the last name of the header are left out.
    """
    check_text_file(path)
    archive = _start(path) == _ARCHIVE
    width, rows = 0, 0
    for line, row in workbook_rows(path, MOST_ROWS) if archive else _text_rows(path):
        while len(row) > width and not row[-1].strip():
            row.pop()
        if not any(cell.strip() for cell in row) or row[0].lstrip().startswith("#"):
            continue
        width = width or len(row)
        rows += 1
        if rows > MOST_ROWS:
            allowed = f"allowed: up to {MOST_ROWS}; take fewer readings of each test"
            raise InputError(f"row {line}", "one row too many", allowed)
        yield line, row


def _text_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
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


def _columns(header: list[str], known: Mapping[str, Known]) -> tuple[list[Column], list[Notice]]:
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        raise InputError("header", header[0], _PLAIN)
    if len(header) > 1 and all(NUMBER.fullmatch(field.strip()) for field in header[1:]):
        raise InputError("header", ",".join(header), f"begin with a row of names, {_EXAMPLE}")
    columns: list[Column] = []
    notices: list[Notice] = []
    for field in header:
        text = field.strip()
        match = _HEADER.fullmatch(field)
        name = "_".join((match[1] if match else text).lower().replace("-", " ").split())
        unit = match[2] or match[3] if match else None
        if name not in known:
            raise InputError("header", text, _remedy(name, unit or "", known))
        if any(column.name == name for column in columns):
            raise InputError("header", text, "give each column once")
        factor, notice = _factor(name, text, unit, known[name].dimension)
        columns.append(Column(name, text, factor, notice is not None))
        if notice is not None:
            notices.append(notice)
    return columns, notices


def _remedy(name: str, unit: str, known: Mapping[str, Known]) -> str:
    """The column that a name is nearest to, by its letters or by what the trade calls it."""
    if not name:
        return "a column has no name: name it, or clear it"
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.75)
    near += [column for column, of in known.items() if of.like and re.match(of.like, name)]
    near += difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    every = "known: " + ", ".join(known)
    if not near:
        return every
    meant = near[0]
    if meant.endswith("_stress") and _of_dimension(unit, "force"):
        meant = meant.replace("_stress", "_force")
    return f"did you mean {meant}? {every}"


def _of_dimension(unit: str, dimension: str) -> bool:
    try:
        unit_factor(unit, dimension)
    except InputError:
        return False
    return True


def _factor(name: str, text: str, unit: str | None, dimension: str) -> tuple[float, Notice | None]:
    if not dimension:
        if unit is not None:
            raise InputError("header", text, f"{name} takes no unit")
        return 0.0, None
    if not unit:
        wanted = f"{name} [{DIMENSIONS[dimension].canonical}]"
        raise InputError("header", text, f"put its unit in brackets, such as {wanted}")
    try:
        factor, from_mass = unit_factor(unit, dimension)
    except InputError as error:
        raise InputError("header", text, error.allowed) from None
    if not from_mass:
        return factor, None
    return factor, Notice.info(
        "mass-read-as-weight",
        f"Column {text} holds masses; each was taken as its weight at {STANDARD_GRAVITY} m/s².",
    )


def _cells(line: int, row: list[str], columns: list[Column]) -> dict[str, str]:
    """Cells of one row by the name of their column."""
    if len(row) != len(columns):
        fields = f"{len(row)} field{'' if len(row) == 1 else 's'}"
        allowed = f"it has {fields} where the header has {len(columns)}; {_PLAIN}"
        raise InputError(f"row {line}", ",".join(row), allowed)
    return {column.name: cell.strip() for column, cell in zip(columns, row, strict=True)}


def number(cell: str, column: Column, line: int, *, signed: bool = False) -> float:
    """Finite number in a cell, in the program's unit; nan where the cell is empty."""
    if not cell:
        return math.nan
    place = f"row {line}, column {column.header}"
    if not NUMBER.fullmatch(cell):
        unit = NUMBER.match(cell) and cell[-1].isalpha()
        where = "; put its unit in the header" if unit else ""
        raise InputError(place, cell, f"give a number with a decimal point{where}")
    value = float(cell) * column.factor
    if not math.isfinite(value):
        raise InputError(place, cell, "give a finite number")
    if abs(value) > LARGEST:
        raise InputError(place, cell, "it is too large for any reading")
    if value < 0.0 and not signed:
        raise InputError(place, cell, "allowed: from 0 upward")
    return value
