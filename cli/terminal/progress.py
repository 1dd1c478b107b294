"""A line on standard error for what takes long; silent in a pipe."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

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
    from rich.console import Console
    from rich.progress import Progress

    # results go to standard output past the line, never through it
    bar = Progress(
        console=Console(stderr=True), transient=True, redirect_stdout=False, redirect_stderr=False
    )
    tasks = {"": bar.add_task(_shown(doing), total=None)}

    def report(label: str, done: int, wanted: int) -> None:
        if label not in tasks:
            tasks[label] = bar.add_task(_shown(label), total=wanted)
            bar.update(tasks[""], visible=bar.live.is_started)
        bar.update(tasks[label], completed=done)

    timer = threading.Timer(_PATIENCE, bar.start)
    timer.daemon = True
    timer.start()
    try:
        yield report
    finally:
        timer.cancel()
        timer.join()  # it may be at it just now
        if bar.live.is_started:
            bar.stop()


def _shown(words: str) -> str:
    from rich.markup import escape

    from slipmargin.cli.visible_text import visible

    return escape(visible(words[:40]))
