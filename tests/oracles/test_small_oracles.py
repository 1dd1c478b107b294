"""A short run of the oracles and of the laws; ``run.py`` beside this file is the long one."""

from __future__ import annotations

import ast
from pathlib import Path

import compare
import laws
import numpy as np
import pytest

ORACLES = ("statics", "spirals", "slices", "walls", "lines")


@pytest.mark.parametrize("kind", compare.KINDS)
def test_the_program_agrees_with_mechanics_written_apart_from_it(kind: str) -> None:
    found = compare.compare(kind, 3 if kind.startswith(("rotation", "layered")) else 12, seed=7)
    assert found.cases >= 2
    assert not found.misses


@pytest.mark.parametrize("name", laws.LAWS)
def test_a_factor_moves_the_way_it_must(name: str) -> None:
    law = laws.LAWS[name]
    found = laws.check(law, 800, seed=7)
    assert found.pairs > 0.6 * 800 / law.share
    assert not found.broken, f"worst by {found.worst:.2g}"


def test_joint_regions_hold_the_truth_as_often_as_they_say() -> None:
    series = 400
    share = compare.joint_regions(np.random.default_rng(7), series)
    assert share == pytest.approx(0.95, abs=3.0 * (0.95 * 0.05 / series) ** 0.5)


@pytest.mark.parametrize("name", ORACLES)
def test_an_oracle_knows_nothing_of_the_program(name: str) -> None:
    tree = ast.parse((Path(__file__).parent / f"{name}.py").read_text())
    imported = {
        word.partition(".")[0]
        for node in ast.walk(tree)
        for word in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert not imported & {"slipmargin", "strength", "stability", "cli"}


def test_a_wrong_law_is_found_out() -> None:
    wrong = laws.Law(laws._dry, laws._INFINITE, "surcharge", 20.0, 1)
    assert laws.check(wrong, 400, seed=7).broken > 300
