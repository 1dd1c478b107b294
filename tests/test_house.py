"""The house as it is built: imports run in no circle, and a room holds what it says."""

from __future__ import annotations

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("strength", "stability", "cli")


def modules() -> dict[str, Path]:
    """Every module by its name under ``slipmargin``."""
    found = {}
    for room in ROOMS:
        for path in (ROOT / room).rglob("*.py"):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts).removesuffix(".__init__")] = path
    return found


def imported(path: Path, known: dict[str, Path]) -> set[str]:
    """The modules a file names in its imports, those for types alone included."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("slipmargin."):
            home = (node.module or "").removeprefix("slipmargin.")
            within = {f"{home}.{alias.name}" for alias in node.names} & known.keys()
            # of a package that is asked for its modules, only these are meant
            found |= within if len(within) == len(node.names) else {home, *within}
    return found


def graph() -> dict[str, set[str]]:
    known = modules()
    return {name: imported(path, known) - {name} for name, path in known.items()}


def test_imports_run_in_no_circle() -> None:
    try:
        TopologicalSorter(graph()).prepare()
    except CycleError as error:
        raise AssertionError(" <- ".join(error.args[1])) from None


def test_at_most_a_dozen_modules_stand_beside_the_checks() -> None:
    beside = {path.stem for path in (ROOT / "stability").glob("*.py")} - {"__init__"}
    assert len(beside) <= 12
