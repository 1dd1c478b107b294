"""Runs a notebook without a kernel, or one command, and gives what a reader would see.

The cells run one after another under one set of names, in the folder they stand in, as a
kernel runs them: what is printed is caught, and the value of a last expression shows itself.
A cell that begins with ``!slipmargin`` runs the program.
"""

from __future__ import annotations

import ast
import contextlib
import io
import json
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

__all__ = ["Cell", "Shown", "commanded", "read_cells", "run_cells"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: ``markdown`` or ``code``, and its text."""

    kind: str
    source: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A cell, the text it printed, and its value: ``None`` where it has none."""

    cell: Cell
    printed: str = ""
    value: Any = None


def read_cells(path: Path) -> list[Cell]:
    """The cells of a notebook file, of version 4."""
    document = json.loads(path.read_text(encoding="utf-8"))
    return [Cell(one["cell_type"], "".join(one["source"])) for one in document["cells"]]


def run_cells(path: Path) -> Iterator[Shown]:
    """Run a notebook in its folder, cell by cell; the last holds the names as its value.

    What a cell raises goes through, with the number of the cell as its file.
    """
    names: dict[str, Any] = {"__name__": "__main__"}
    for number, cell in enumerate(read_cells(path), start=1):
        if cell.kind != "code":
            yield Shown(cell)
            continue
        if cell.source.startswith("!"):
            yield Shown(cell, commanded(cell.source.removeprefix("!"), path.parent))
            continue
        with _caught(path.parent) as printed:
            value = _evaluated(cell.source, names, f"{path.name}, cell {number}")
        yield Shown(cell, printed.getvalue(), value)
    yield Shown(Cell("names", ""), value=names)


def _evaluated(source: str, names: dict[str, Any], place: str) -> Any:
    """Run a cell; the value of its last line where that is an expression."""
    tree = ast.parse(source, place)
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, place, "exec"), names)
    if not isinstance(last, ast.Expr):
        return None
    return eval(compile(ast.Expression(last.value), place, "eval"), names)


def commanded(line: str, folder: Path) -> str:
    """What a command that begins with ``slipmargin`` prints, given in a folder."""
    # found by name: the program holds the handbook, which this is a part of
    program = import_module("slipmargin.cli.main").app
    with _caught(folder) as printed:
        program(shlex.split(line.removeprefix("slipmargin ")), standalone_mode=False)
    return printed.getvalue()


@contextlib.contextmanager
def _caught(folder: Path) -> Iterator[io.StringIO]:
    printed = io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(printed):
        yield printed
