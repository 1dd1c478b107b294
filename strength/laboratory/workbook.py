"""Rows of a workbook (.xlsx) as text, as a table of readings takes them.

A workbook is known by its first bytes, not by its name. It is read with ``openpyxl``, an
optional extra that is loaded when a workbook is met. Of formulas the values are taken that
stood in the cells when the workbook was saved.
"""

from __future__ import annotations

import warnings
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import closing
from datetime import date, time
from pathlib import Path
from xml.etree.ElementTree import ParseError

from slipmargin.strength.errors import InputError

__all__ = ["workbook_rows"]

_LARGEST_INSIDE = 64 * 1024 * 1024
"""More unpacked content [bytes] is refused: no table of readings fills it."""

_DAMAGE = (
    zipfile.BadZipFile, zlib.error, ParseError, LookupError, ValueError, TypeError,
    AttributeError, EOFError, OSError, NotImplementedError,
)  # fmt: skip
"""What the library raises of a workbook that is not whole."""

_SAVE_AS = "save the sheet of readings as CSV (UTF-8)"


def workbook_rows(path: Path, most: int) -> Iterator[tuple[int, list[str]]]:
    """Number and cells of every row, up to ``most``, of the one sheet that holds any.

    Raises
    ------
    InputError
        An archive that is no workbook, one that is damaged or too large, the library missing,
        several sheets with content, a row too many, or a date in a cell.
    """
    _refuse_others(path)
    try:
        import openpyxl  # noqa: PLC0415  (an optional extra)
    except ImportError:
        raise InputError(
            "file",
            path.name,
            f"it is an Excel workbook: {_SAVE_AS}, or have it read as it is with the optional "
            "extra: pip install 'slipmargin[xlsx]'",
        ) from None
    try:
        with path.open("rb") as stream, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and pictures, which say nothing here
            with closing(openpyxl.load_workbook(stream, read_only=True, data_only=True)) as book:
                sheets = {sheet.title: list(_cells(sheet, most)) for sheet in book.worksheets}
    except _DAMAGE:
        raise InputError("file", path.name, f"the workbook is damaged; {_SAVE_AS}") from None
    filled = {title: rows for title, rows in sheets.items() if rows}
    if len(filled) > 1:
        allowed = "keep the sheet of readings alone, or save it as CSV (UTF-8)"
        raise InputError("file", "sheets " + ", ".join(filled), allowed)
    for rows in filled.values():
        yield from rows


def _refuse_others(path: Path) -> None:
    """Name what is no workbook, and refuse what would not fit in memory."""
    try:
        with zipfile.ZipFile(path) as archive:
            inside = {item.filename: item.file_size for item in archive.infolist()}
    except _DAMAGE:
        raise InputError("file", path.name, "it is a damaged archive; give a CSV table") from None
    if "xl/workbook.xml" not in inside:
        sheet = "content.xml" in inside and "mimetype" in inside
        what = "an OpenDocument file" if sheet else "an archive, not a table"
        raise InputError("file", path.name, f"it is {what}; {_SAVE_AS}")
    if sum(inside.values()) > _LARGEST_INSIDE:
        size = f"{sum(inside.values()) / 1e6:.0f} MB unpacked"
        raise InputError("file", size, f"allowed: up to {_LARGEST_INSIDE // 2**20} MiB")


def _cells(sheet: object, most: int) -> Iterator[tuple[int, list[str]]]:
    sheet.reset_dimensions()  # type: ignore[attr-defined]  # what it claims may be a million rows
    for line, row in enumerate(sheet.iter_rows(values_only=True), start=1):  # type: ignore[attr-defined]
        if line > most:
            raise InputError(f"row {line}", "one row too many", f"allowed: up to {most}")
        cells = [_text(value, line) for value in row]
        if any(cells):
            yield line, cells


def _text(value: object, line: int) -> str:
    if value is None:
        return ""
    if isinstance(value, (date, time)):  # of which a datetime is one
        raise InputError(f"row {line}", str(value), "a date was made of it; format it as text")
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()
