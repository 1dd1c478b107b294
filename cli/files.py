"""Writes files whole or not at all."""

from __future__ import annotations

import csv
import io
import math
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from strength import InputError

__all__ = ["refuse_existing", "spreadsheet_safe", "table_csv", "write_whole"]


def refuse_existing(path: Path, *, force: bool) -> None:
    """Refuse a path that is taken, or lies in no folder, before any work is done.

    Raises
    ------
    InputError
        With what to do about it.
    """
    if path.is_dir():
        raise InputError("output", str(path), "it is a folder; name a file")
    if not path.parent.is_dir():
        raise InputError("output", str(path), "its folder does not exist")
    if path.exists() and not force:
        raise InputError("output", str(path), "it exists; name another file or add --force")


def write_whole(path: Path, content: bytes, *, force: bool) -> None:
    """Write to a temporary file beside the target, then rename.

    Raises
    ------
    InputError
        The target exists and ``force`` is not given, or it cannot be written.
    """
    refuse_existing(path, force=force)
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".partial-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
        temporary = None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("output", str(path), f"it cannot be written: {reason}") from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def spreadsheet_safe(text: str) -> str:
    """Text that a spreadsheet will not take for a formula."""
    return "'" + text if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def table_csv(header: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
    """A table as text that is safe to open in a spreadsheet."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow(
            [
                spreadsheet_safe(cell)
                if isinstance(cell, str)
                else ("" if cell is None or not math.isfinite(cell) else repr(float(cell)))
                for cell in row
            ]
        )
    return stream.getvalue()
