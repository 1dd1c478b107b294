"""Standard streams whose reader may leave: ``| head`` ends the printing, not the run."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO, cast

__all__ = ["drop", "lasting_streams", "reader_left"]


class _Stream:
    """A stream that falls silent once its reader has left."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.left = False

    def write(self, text: str) -> int:
        try:
            return self._stream.write(text)
        except BrokenPipeError:
            self._leave()
            return len(text)

    def flush(self) -> None:
        try:
            self._stream.flush()
        except BrokenPipeError:
            self._leave()

    def _leave(self) -> None:
        self.left = True
        drop(self._stream)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def lasting_streams() -> Iterator[None]:
    """Write UTF-8, whatever becomes of who reads it; a stream that is closed goes nowhere."""
    before = sys.stdout, sys.stderr
    with open(os.devnull, "w", encoding="utf-8") as nowhere:  # noqa: PTH123 - it may be no path
        for stream in before:
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="backslashreplace")
        sys.stdout, sys.stderr = (cast("TextIO", _Stream(stream or nowhere)) for stream in before)
        try:
            yield
        finally:
            sys.stdout, sys.stderr = before


def reader_left() -> bool:
    """Whether nobody reads standard output any more."""
    return getattr(sys.stdout, "left", False)


def drop(stream: TextIO) -> None:
    """Send what is still to be written to a stream nowhere."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
