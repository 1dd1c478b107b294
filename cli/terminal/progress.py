"""A progress bar on standard error for what takes long; silent in a pipe."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["progress"]

_PATIENCE = 1.0  # seconds before the bar shows


@contextmanager
def progress() -> Iterator[Callable[[str, int, int], None] | None]:
    """A function that takes a label, the number done and the number wanted."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import Progress

    from slipmargin.cli.visible_text import visible

    # results go to standard output past the bar, never through it
    bar = Progress(
        console=Console(stderr=True), transient=True, redirect_stdout=False, redirect_stderr=False
    )
    tasks: dict[str, object] = {}
    begun = time.monotonic()
    running = False

    def report(label: str, done: int, wanted: int) -> None:
        nonlocal running
        if not running and time.monotonic() - begun > _PATIENCE:
            bar.start()
            running = True
        if label not in tasks:
            tasks[label] = bar.add_task(escape(visible(label[:40])), total=wanted)
        bar.update(tasks[label], completed=done)  # type: ignore[arg-type]

    try:
        yield report
    finally:
        if running:
            bar.stop()
