"""The house as it is built: imports run in no circle, and a room holds what it says."""

from __future__ import annotations

import ast
import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

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


@pytest.mark.parametrize("script", ["mutation", "alteration"])
def test_the_kernels_that_a_script_alters_and_the_tests_it_asks_are_there(script: str) -> None:
    """Neither script runs daily, so that a module that moved would be missed there."""
    text = (ROOT / "tests" / script / "run.py").read_text(encoding="utf-8")
    files = {Path(name) for name in re.findall(r"\b(?:tests|strength|stability)/[\w/]+\.py", text)}
    dotted = re.findall(r"\b(?:strength|stability)(?:\.[a-z_]+)+(?=[ \"])", text)
    files |= {Path(*name.split(".")).with_suffix(".py") for name in dotted}
    assert len(files) > 15
    assert [str(one) for one in sorted(files) if not (ROOT / one).is_file()] == []
