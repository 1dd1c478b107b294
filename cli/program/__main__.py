"""Starts the program, and lets an interruption end it quietly while it is still loading."""

from __future__ import annotations

import gc
import os
import signal
from types import FrameType

__all__ = ["run"]


def run() -> None:
    """Entry point; see ``cli.main.run``."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)
    gc.set_threshold(300_000, 20, 20)  # a short run, and its start, leave little garbage behind
    from slipmargin.cli.main import run as program

    program()


def _leave(number: int, _frame: FrameType | None) -> None:
    # nothing is open yet, or all is closed again
    os.write(2, b"slipmargin: interrupted\n")
    os._exit(128 + number)


if __name__ == "__main__":
    run()
