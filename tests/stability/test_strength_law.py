"""The curve of a strength law against mechanisms whose factor is known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability.strength_law import StrengthLaw

SCALE = 90.0
RESISTING, PRESSED, DRIVING = 12.0, 500.0, 400.0  # [m], [kN/m], [kN/m]: any plane


def law_of_a_plane(nodes: int) -> StrengthLaw:
    """(c R + tan φ N) / D over c + s tan φ is R t + N (1 - t) / s over D: a parabola in √t."""
    root = np.sqrt(StrengthLaw.nodes(nodes))
    value = (RESISTING * root**2 + PRESSED / SCALE * (1.0 - root**2)) / DRIVING
    slope = 2.0 * root * (RESISTING - PRESSED / SCALE) / DRIVING
    return StrengthLaw(SCALE, value, slope)


def factor_of_the_plane(cohesion: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return (cohesion * RESISTING + np.tan(np.radians(angle)) * PRESSED) / DRIVING


def test_nodes_lie_evenly_in_the_root_from_no_cohesion_to_no_friction() -> None:
    assert_allclose(StrengthLaw.nodes(5), [0.0, 1 / 16, 4 / 16, 9 / 16, 1.0])


@pytest.mark.parametrize("nodes", [2, 3, 9])
def test_one_plane_is_met_to_round_off_between_the_nodes_too(nodes: int) -> None:
    c, phi = np.meshgrid([0.0, 0.01, 1.0, 30.0, 900.0], [0.0, 0.5, 20.0, 45.0, 80.0])
    some = (c > 0.0) | (phi > 0.0)
    found = law_of_a_plane(nodes).factor(c[some], np.tan(np.radians(phi[some])))
    assert_allclose(found, factor_of_the_plane(c[some], phi[some]), rtol=1e-12)


def test_no_strength_at_all_gives_no_factor() -> None:
    assert law_of_a_plane(9).factor(0.0, 0.0) == 0.0


def test_samples_beyond_one_block_come_out_in_their_order() -> None:
    rng = np.random.default_rng(1)
    c, phi = rng.uniform(0.0, 40.0, 100_001), rng.uniform(1.0, 45.0, 100_001)
    found = law_of_a_plane(9).factor(c, np.tan(np.radians(phi)))
    assert_allclose(found, factor_of_the_plane(c, phi), rtol=1e-12)
    assert law_of_a_plane(9).factor(c[:6].reshape(2, 3), 0.6).shape == (2, 3)


def test_between_its_nodes_a_law_is_a_cubic() -> None:
    """Where value and slope at the nodes are those of a cubic in √t, so is the law."""

    def cubic(root: np.ndarray) -> np.ndarray:
        return 0.02 - 0.03 * root + 0.05 * root**2 - 0.015 * root**3

    root = np.linspace(0.0, 1.0, 4)
    law = StrengthLaw(SCALE, cubic(root), -0.03 + 0.1 * root - 0.045 * root**2)
    c, phi = np.array([0.0, 3.0, 20.0, 80.0]), np.array([35.0, 30.0, 15.0, 0.0])
    tan = np.tan(np.radians(phi))
    combined = c + SCALE * tan
    assert_allclose(law.factor(c, tan), combined * cubic(np.sqrt(c / combined)), rtol=1e-12)
