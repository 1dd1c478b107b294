"""Runs the program as a user would, in this process."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.main import run

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Ran:
    """Exit code and the two streams."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def slipmargin(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Ran]:
    def call(*words: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["slipmargin", *map(str, words)])
        capsys.readouterr()
        code = 0
        try:
            run()
        except SystemExit as stop:
            code = int(stop.code or 0)
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return call


@pytest.fixture
def scenarios() -> Path:
    return ROOT / "scenarios"
