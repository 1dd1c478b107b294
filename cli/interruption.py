"""Turns signals that end a program into an exception, so that what is open is put in order."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

__all__ = ["Stopped", "drop_output", "heeding_signals"]

_SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)


class Stopped(BaseException):
    """A signal asked the program to end; ``code`` is the exit code that says so."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.code = 128 + number


@contextmanager
def heeding_signals() -> Iterator[None]:
    """Raise ``Stopped`` on the first signal, and let nothing disturb the tidying after it.

    A signal that is ignored already (as behind ``nohup``) stays ignored.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, _frame: FrameType | None) -> None:
        for one in heeded:
            signal.signal(one, signal.SIG_IGN)
        raise Stopped(number)

    before = {one: signal.getsignal(one) for one in _SIGNALS}
    heeded = [one for one, handler in before.items() if handler not in (signal.SIG_IGN, None)]
    try:
        for one in heeded:
            signal.signal(one, stop)
        yield
    finally:
        for one in heeded:
            signal.signal(one, before[one])


def drop_output() -> None:
    """Send what is still to be written to standard output nowhere."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
