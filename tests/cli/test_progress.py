"""The line on standard error that shows how far a long run is."""

from __future__ import annotations

import io
import sys

import pytest

from slipmargin.cli.terminal import progress as progress_module
from slipmargin.cli.terminal.progress import progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


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
    line = progress_module._Line("writing the sheet")
    line.show()
    line.report("Cut face", 1, 2)
    line.close()
    line.show()  # late: the line stays away
    assert "writing the sheet" in terminal.getvalue()
    assert "Cut face" in terminal.getvalue()
