"""Writes files whole or not at all.

The one place that writes. A file is made beside its target under another name and then put
in its place, so that neither a full disk nor an interruption leaves half of one. A file of
lines, which grows while a long run goes on, holds whole lines at any time.
"""

from __future__ import annotations

import csv
import io
import math
import os
import re
import secrets
import sys
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from slipmargin.cli.visible_text import visible
from slipmargin.cli.words import CAUTION
from slipmargin.strength import InputError

__all__ = [
    "LineFile",
    "refuse_existing",
    "refuse_outputs",
    "spreadsheet_safe",
    "table_csv",
    "write_whole",
]


def refuse_existing(path: Path, *, force: bool) -> None:
    """Refuse a path that is taken, or lies in no folder, before any work is done."""
    try:
        if path.is_dir():
            raise InputError("output", str(path), "it is a folder; name a file")
        if not path.parent.is_dir():
            raise InputError("output", str(path), "its folder does not exist")
        taken = path.exists()
        if taken and not path.is_file():
            raise InputError("output", str(path), "it is a device or a pipe; name a plain file")
    except OSError as error:
        raise _unwritable(path, error) from None
    except ValueError:
        raise InputError("output", str(path), "it is no name a file can have") from None
    if taken and not force:
        raise InputError("output", str(path), "it exists; name another file or add --force")


def refuse_outputs(*outputs: Path | None, force: bool, inputs: Iterable[Path]) -> None:
    """Refuse the outputs of a run where one cannot be written, or would take an input's place.

    An output that was not asked for is ``None``. With ``force`` they may replace files that exist,
    but never one of ``inputs``, by whatever name.
    """
    known = {}
    for path in inputs:
        with suppress(OSError, ValueError):
            known[_identity(path)] = path
    wanted = [path for path in outputs if path is not None]
    for index, path in enumerate(wanted):
        with suppress(OSError, ValueError):
            taken = known.get(_identity(path))
            if taken is not None:
                allowed = f"it is an input of this run ({taken.name}); name another file"
                raise InputError("output", str(path), allowed)
        refuse_existing(path, force=force)
        if any(path.absolute() == other.absolute() for other in wanted[:index]):
            raise InputError("output", str(path), "two outputs need a file each")


def _identity(path: Path) -> tuple[int, int]:
    """What tells one file from another, whatever links lead to it."""
    status = path.stat()
    return status.st_dev, status.st_ino


def write_whole(path: Path, content: bytes, *, force: bool) -> None:
    """Write to a temporary file beside the target, then rename. ``InputError``: the target exists
    and ``force`` is not given, or it cannot be written.
    """
    refuse_existing(path, force=force)
    # named before it is made, so that an interruption at any moment finds it to remove
    temporary = path.parent / f".partial-{secrets.token_hex(8)}"
    try:
        with temporary.open("xb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(path)
    except OSError as error:
        raise _unwritable(path, error) from None
    finally:
        temporary.unlink(missing_ok=True)


def _unwritable(path: Path, error: OSError) -> InputError:
    reason = (error.strerror or str(error)).lower()
    return InputError("output", str(path), f"it cannot be written: {reason}")


class _Claim:
    """The sole right to write a file, held by a lock on another beside it.

    The lock ends with the process, however it ends.
    """

    def __init__(self, path: Path) -> None:
        self._place = path.parent / f".{path.name}.in-use"
        try:
            while not self._taken():
                os.close(self._handle)  # who held it has just taken it away
        except BlockingIOError:
            os.close(self._handle)
            raise InputError(
                "output", str(path), "another run is writing it; wait, or name another file"
            ) from None
        except OSError as error:
            raise _unwritable(path, error) from None

    def _taken(self) -> bool:
        self._handle = os.open(self._place, os.O_RDWR | os.O_CREAT, 0o666)
        _lock(self._handle)
        with suppress(FileNotFoundError):
            return os.path.samestat(os.fstat(self._handle), self._place.stat())
        return False

    def release(self) -> None:
        """Give it back."""
        with suppress(OSError):
            self._place.unlink(missing_ok=True)
        os.close(self._handle)


def _lock(handle: int) -> None:
    """Lock a file, or raise ``BlockingIOError`` at once."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(error.errno, error.strerror) from None
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


class LineFile:
    """A file of lines that grows, and holds whole lines at any time.

    Until ``settle`` it is made beside its target, and a file that stands there is left alone.

    Parameters
    ----------
    path
        Where it is to lie.
    force
        Put it in the place of a file that exists.

    Raises
    ------
    InputError
        It cannot be made, another run is writing it, or (by ``add`` and ``settle``) it cannot
        be written; the lines before that stand, and a file without any is taken away again.
    """

    def __init__(self, path: Path, *, force: bool) -> None:
        refuse_existing(path, force=force)
        self.path = path
        self._place = path.parent / f".partial-{secrets.token_hex(8)}"
        self._end = 0
        self._settled = False
        self._claim = _Claim(path)
        try:
            self._handle = self._open(os.O_CREAT | os.O_EXCL)
        except InputError:
            self._claim.release()
            raise

    def _open(self, more: int = 0) -> int:
        try:
            return os.open(self._place, os.O_WRONLY | getattr(os, "O_BINARY", 0) | more, 0o666)
        except OSError as error:
            raise _unwritable(self.path, error) from None

    def add(self, line: str) -> None:
        """Write one line, whole or not at all."""
        rest = memoryview(line.encode("utf-8") + b"\n")
        length = len(rest)
        try:
            while rest:
                rest = rest[os.write(self._handle, rest) :]
            self._end += length
        except OSError as error:
            raise _unwritable(self.path, error) from None
        finally:
            if rest:
                os.ftruncate(self._handle, self._end)
                os.lseek(self._handle, self._end, os.SEEK_SET)

    def settle(self) -> None:
        """Put it in its place; it goes on growing there."""
        if self._settled:
            return
        os.close(self._handle)
        try:
            self._place.replace(self.path)
        except OSError as error:
            raise _unwritable(self.path, error) from None
        self._place, self._settled = self.path, True
        self._handle = self._open(os.O_APPEND)

    def close(self) -> None:
        """End it."""
        with suppress(OSError):
            os.close(self._handle)
        if not (self._settled and self._end):
            self._place.unlink(missing_ok=True)
        self._claim.release()

    def __enter__(self) -> LineFile:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
_NEXT_CELL = re.compile(f"(;\\s*)(?=[{''.join(map(re.escape, _FORMULA))}])")


def spreadsheet_safe(text: str) -> str:
    """One line of text that no spreadsheet takes for a formula.

    An apostrophe stands before what begins one: at the start, behind blanks, and behind a
    semicolon, which parts cells where the comma is the decimal sign.
    """
    text = _NEXT_CELL.sub(r"\1'", visible(text))
    return "'" + text if text.lstrip().startswith(_FORMULA) else text


def table_csv(header: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
    """A table as text that is safe to open in a spreadsheet, below the caution as a comment."""
    stream = io.StringIO()
    stream.write(f"# {CAUTION}\n")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([spreadsheet_safe(cell) for cell in header])
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
