"""Turns signals that end a program into an exception, so that what is open is put in order."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

__all__ = ["Stopped", "heeding_signals", "signals_held"]

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
    before = _handlers()
    asked: list[Stopped] = []

    def stop(number: int, _frame: FrameType | None) -> None:
        for one in before:
            signal.signal(one, signal.SIG_IGN)
        asked.append(Stopped(number))
        raise asked[0]

    try:
        for one in before:
            signal.signal(one, stop)
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)
        # a library that was loading just then may have made another error of it, or none
        if asked:
            raise asked[0] from None


@contextmanager
def signals_held() -> Iterator[None]:
    """Let signals that end a program wait until something is done that may not be left half."""
    before = _handlers()
    waiting: list[int] = []
    try:
        for one in before:
            signal.signal(one, lambda number, _frame: waiting.append(number))
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)
        for number in waiting[:1]:
            signal.raise_signal(number)


def _handlers() -> dict[int, Any]:
    """How the signals that end a program are met now; none that is ignored.

    Only the main thread may change that: elsewhere there are none.
    """
    if threading.current_thread() is not threading.main_thread():
        return {}
    found = {one: signal.getsignal(one) for one in _SIGNALS}
    return {one: handler for one, handler in found.items() if handler not in (signal.SIG_IGN, None)}
