"""The picture of a sweep over two inputs: what is drawn has the factor it is labelled with."""

from __future__ import annotations

import numpy as np
import pytest

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.stability.uncertainty.strength_map import factor_map
from slipmargin.stability.uncertainty.sweep_plot import plot_lines
from slipmargin.strength import Strength

BANK = Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name="bank")
SLOPE = InfiniteSlope(soil=BANK, slope_angle=30.0, depth=2.5)
COHESION, ANGLE = np.linspace(0.0, 20.0, 41), np.linspace(15.0, 40.0, 51)
GRIDS = factor_map(SLOPE, "bank", COHESION, ANGLE)


def panel(target: float | None, **more: np.ndarray) -> tuple[object, ...]:
    share = None if target is None else GRIDS["sliding"] / target
    fields, units = ("bank.cohesion", "bank.friction_angle"), ("kPa", "deg")
    return ("the bank", fields, units, (COHESION, ANGLE), GRIDS | more, share)


def drawn(figure: object, style: str) -> np.ndarray:
    """Corners of the black lines of one style."""
    points = []
    for line in figure.axes[0].collections:  # type: ignore[attr-defined]
        if not hasattr(line, "get_linestyles") or line.get_edgecolor()[0][:3].any():
            continue
        solid = line.get_linestyles()[0][1] is None
        if solid == (style == "solid"):
            points += [path.vertices for path in line.get_paths()]
    return np.concatenate(points) if points else np.empty((0, 2))


def factor(cohesion: float, angle: float) -> float:
    return float(
        factor_map(SLOPE, "bank", np.array([cohesion]), np.array([angle]))["sliding"][0, 0]
    )


def test_the_heavy_line_is_a_factor_of_one_and_the_dashed_one_the_target() -> None:
    figure = plot_lines([panel(1.3)])  # type: ignore[list-item]
    for style, level in (("solid", 1.0), ("dashed", 1.3)):
        corners = drawn(figure, style)
        assert len(corners) > 10
        for cohesion, angle in corners[::5]:
            assert factor(cohesion, angle) == pytest.approx(level, abs=2e-3)
    axes = figure.axes[0]
    assert (axes.get_xlabel(), axes.get_ylabel()) == (
        "bank.cohesion [kPa]",
        "bank.friction_angle [deg]",
    )


def test_without_a_target_nothing_is_dashed_and_the_lowest_state_counts() -> None:
    half = {"overturning": 0.5 * GRIDS["sliding"]}
    figure = plot_lines([panel(None, **half)])  # type: ignore[list-item]
    assert drawn(figure, "dashed").size == 0
    for cohesion, angle in drawn(figure, "solid")[::5]:
        assert factor(cohesion, angle) == pytest.approx(2.0, abs=4e-3)


def test_each_check_has_a_panel_and_a_long_name_is_cut() -> None:
    long = ("x" * 90, *panel(None)[1:])
    figure = plot_lines([panel(1.3), long])  # type: ignore[list-item]
    assert len(figure.axes) == 2
    assert "x" * 69 + "…" in [one.get_gid() for one in figure.axes[1].patches]
