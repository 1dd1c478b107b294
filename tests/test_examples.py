"""The example scripts: they run, import the public surface only, and say what is so."""

from __future__ import annotations

import ast
import math
import runpy
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

FOLDER = Path(__file__).resolve().parents[1] / "scenarios" / "examples"
SCRIPTS = sorted(FOLDER.glob("*.py"))


def run(name: str, capsys: pytest.CaptureFixture[str]) -> tuple[dict[str, object], str]:
    names = runpy.run_path(str(FOLDER / f"{name}.py"), run_name="__main__")
    return names, capsys.readouterr().out


def test_there_is_one_for_each_user() -> None:
    assert [path.stem for path in SCRIPTS] == ["junior", "reviewer", "student"]


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_an_example_imports_the_public_surface_only(path: Path) -> None:
    from slipmargin import stability, strength

    public = {room.__name__: room.__all__ for room in (strength, stability)}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.module in public
            assert {alias.name for alias in node.names} <= set(public[node.module])
        elif isinstance(node, ast.Import):
            assert [alias.name for alias in node.names] == ["numpy"]


def test_the_junior_gets_factor_working_and_what_was_left_out(capsys) -> None:
    names, out = run("junior", capsys)
    strength = names["bank"].strength
    # the same by hand: 0.4 m of moist and 1.2 m of saturated soil, flow along the slope
    beta, weight = math.radians(26.6), 18.3 * 0.4 + 19.9 * 1.2
    normal, shear = weight * math.cos(beta) ** 2, weight * math.sin(beta) * math.cos(beta)
    pore = 9.81 * 1.2 * math.cos(beta) ** 2
    held = strength.cohesion + (normal - pore) * math.tan(math.radians(strength.friction_angle))
    assert_allclose(float(names["wet"].lowest), held / shear, rtol=1e-12)
    assert f"{normal:.2f} kPa" in out
    assert f"{pore:.2f} kPa" in out
    assert "is below its target of 1.3" in out
    assert "Preliminary" in out


def test_the_reviewer_sees_what_hangs_on_the_friction_angle(capsys) -> None:
    names, out = run("reviewer", capsys)
    swept = np.asarray(names["swept"])
    assert np.all(np.diff(swept) > 0.0)
    assert out.count("φ′ = ") == len(swept)
    assert "stated by the report" in out
    share = float(np.mean(np.asarray(names["factors"]) < 1.3))
    assert f"{share:.0%} of the draws" in out


def test_the_student_finds_every_figure_by_hand(capsys) -> None:
    names, out = run("student", capsys)
    slope, intercept = np.polyfit(names["normal"], names["shear"], 1)[:2]
    assert_allclose([names["slope"], names["intercept"]], [slope, intercept], rtol=1e-9)
    assert_allclose(names["by_hand"], float(names["result"].lowest), rtol=1e-12)
    ratio = f"{slope / math.tan(math.radians(24.0)):.4f}"
    assert out.count(ratio) == 4
