"""Maps and lines over the plane of c′ and φ′."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import InfiniteSlope, PlanarWedge, Rotational, Soil
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.stability.uncertainty.strength_map import factor_line, factor_map
from slipmargin.stability.uncertainty.strength_map_plot import MapLayer, plot_map
from slipmargin.strength import Strength

BANK = Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name="bank")
SLOPES = {
    "infinite": InfiniteSlope(soil=BANK, slope_angle=35.0, depth=2.0),
    "plane": PlanarWedge(soil=BANK, height=6.0, face_angle=60.0),
    "rotation": Rotational(soil=BANK, height=6.0, face_angle=60.0),
}


@pytest.mark.parametrize("name", SLOPES)
def test_a_map_is_rows_of_cohesion_and_columns_of_angle(name: str) -> None:
    c, phi = np.array([1.0, 4.0, 9.0]), np.array([20.0, 30.0])
    grid = factor_map(SLOPES[name], "bank", c, phi)["sliding"]
    assert grid.shape == (3, 2)
    one = with_soil_strength(SLOPES[name], "bank", 9.0, 20.0).evaluate()
    assert grid[2, 0] == pytest.approx(float(one.factors_of_safety["sliding"]), rel=1e-6)
    assert np.all(np.diff(grid, axis=0) > 0.0)
    assert np.all(np.diff(grid, axis=1) > 0.0)


@pytest.mark.parametrize("name", SLOPES)
@pytest.mark.parametrize("level", [1.0, 1.4])
def test_every_pair_on_a_line_gives_its_factor(name: str, level: float) -> None:
    c, phi = factor_line(SLOPES[name], "bank", np.linspace(5.0, 30.0, 11), level)
    assert c.size == 11
    for one_c, one_phi in zip(c, phi, strict=True):
        single = with_soil_strength(SLOPES[name], "bank", float(one_c), float(one_phi)).evaluate()
        assert float(single.lowest) == pytest.approx(level, abs=1e-6)


def test_the_line_of_an_infinite_slope_is_its_closed_form() -> None:
    """c′ = W (sin β cos β - cos²β tan φ′) at a factor of 1, from the force balance."""
    phi = np.linspace(5.0, 30.0, 11)
    c, _ = factor_line(SLOPES["infinite"], "bank", phi)
    beta = math.radians(35.0)
    expected = 36.0 * (
        math.sin(beta) * math.cos(beta) - math.cos(beta) ** 2 * np.tan(np.radians(phi))
    )
    assert_allclose(c, expected, rtol=1e-9)


def test_angles_that_need_no_cohesion_are_left_out() -> None:
    _, phi = factor_line(SLOPES["infinite"], "bank", np.array([30.0, 34.0, 36.0, 40.0]))
    assert_allclose(phi, [30.0, 34.0])


def test_a_slope_that_stands_without_cohesion_has_no_line() -> None:
    c, phi = factor_line(SLOPES["infinite"], "bank", np.array([40.0, 45.0]))
    assert c.size == phi.size == 0


def test_a_soil_that_is_not_in_the_check_has_no_line() -> None:
    """No cohesion of it, however high, moves the factor."""
    c, phi = factor_line(SLOPES["infinite"], "rock", np.array([10.0, 20.0]), 3.0)
    assert c.size == phi.size == 0


def test_a_high_cohesion_is_found_too() -> None:
    deep = InfiniteSlope(soil=BANK, slope_angle=35.0, depth=500.0)
    c, phi = factor_line(deep, "bank", np.array([20.0]), 2.0)
    assert c[0] > 1000.0
    assert float(with_soil_strength(deep, "bank", c[0], phi[0]).evaluate().lowest) == (
        pytest.approx(2.0)
    )


def test_the_map_names_its_areas_and_its_lines_where_they_are() -> None:
    cohesion, angle = np.linspace(0.0, 10.0, 21), np.linspace(20.0, 40.0, 21)
    c, phi = np.meshgrid(cohesion, angle, indexing="ij")
    easy, hard = c / 10.0 + phi / 30.0, c / 10.0 + phi / 40.0
    figure = plot_map(
        "bank",
        cohesion,
        angle,
        [
            MapLayer("Easy", easy, easy / 1.2, "target 1.20"),
            MapLayer("Hard", hard, hard / 1.5, "target 1.50"),
            MapLayer("Never", hard, hard / 9.0, "target 9.00"),
        ],
        regions={},
        points={"as used": (5.0, 30.0)},
    )
    axes = figure.axes[0]
    said = {text.get_text() for text in axes.texts}
    said |= {line for one in axes.patches for line in (one.get_gid() or "").splitlines()}
    assert {"Easy: target 1.20", "Hard: target 1.50", "as used", "a factor is below 1"} <= said
    assert "missed all over this map: Never: target 9.00" in said
    assert "every target is met" not in said  # one of them is missed everywhere
    heavy = [line for line in axes.lines if line.get_linewidth() > 2.0 and len(line.get_xdata())]
    assert not any(np.any(np.isfinite(line.get_xdata())) for line in heavy)
