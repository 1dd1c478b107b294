"""The line on standard error that shows how far a long run is."""

from __future__ import annotations

import io
import sys
import threading

import pytest

from slipmargin.cli.terminal import progress as progress_module
from slipmargin.cli.terminal.progress import progress


class Terminal(io.StringIO):
    def __init__(self) -> None:
        super().__init__()
        self.written = threading.Event()

    def isatty(self) -> bool:
        return True

    def write(self, text: str) -> int:
        self.written.set()
        return super().write(text)


def test_nothing_is_drawn_where_standard_error_is_no_terminal(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with progress("review") as report:
        assert report is None
    assert capsys.readouterr().err == ""


def test_a_short_run_in_a_terminal_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress("review") as report:
        assert report is not None
        report("Cut face", 1, 2)
    assert terminal.getvalue() == ""


def test_a_long_run_says_what_it_is_at_before_anything_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr(progress_module, "_PATIENCE", 0.0)
    with progress("writing the sheet") as report:
        assert terminal.written.wait(30.0)
        assert report is not None
        report("Cut face", 1, 2)
    shown = terminal.getvalue()
    assert shown.index("writing the sheet") < shown.index("Cut face")
