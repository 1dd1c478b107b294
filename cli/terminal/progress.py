"""A line on standard error for what takes long; silent in a pipe."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

__all__ = ["progress"]

_PATIENCE = 3.0  # seconds before the line shows


@contextmanager
def progress(doing: str = "at work") -> Iterator[Callable[[str, int, int], None] | None]:
    """A function that takes a label, the number done and the number wanted.

    The line shows by itself, with what is being done and the time it has taken, and a bar for
    each label that is told of.
    """
    if not sys.stderr.isatty():
        yield None
        return
    line = _Line(doing)
    timer = threading.Timer(_PATIENCE, line.show)
    timer.daemon = True
    timer.start()
    try:
        yield line.report
    finally:
        timer.cancel()
        line.close()


class _Line:
    """What has been told so far, and the line itself once it shows."""

    def __init__(self, doing: str) -> None:
        self._doing = doing
        self._told: dict[str, tuple[int, int]] = {}
        self._tasks: dict[str, Any] = {}
        self._bar: Any = None
        self._closed = False
        self._lock = threading.Lock()

    def show(self) -> None:
        """Begin to draw."""
        from rich.console import Console
        from rich.progress import Progress

        with self._lock:
            if self._closed:
                return
            # results go to standard output past the line, never through it
            self._bar = Progress(
                console=Console(stderr=True),
                transient=True,
                redirect_stdout=False,
                redirect_stderr=False,
            )
            self._bar.start()
            if not self._told:
                self._tasks[""] = self._bar.add_task(_shown(self._doing), total=None)
            for label in self._told:
                self._draw(label)

    def report(self, label: str, done: int, wanted: int) -> None:
        """Tell how far one thing is."""
        with self._lock:
            self._told[label] = (done, wanted)
            if self._bar is not None:
                self._draw(label)

    def close(self) -> None:
        """Take the line away."""
        with self._lock:
            self._closed = True
            if self._bar is not None:
                self._bar.stop()

    def _draw(self, label: str) -> None:
        done, wanted = self._told[label]
        if label not in self._tasks:
            self._tasks[label] = self._bar.add_task(_shown(label), total=wanted)
        self._bar.update(self._tasks[label], completed=done)


def _shown(words: str) -> str:
    from rich.markup import escape

    from slipmargin.cli.visible_text import visible

    return escape(visible(words[:40]))
