"""The class exercise, from kilograms and divisions to a factor of safety, worked again plainly."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

MASSES = np.array([1.0, 2.0, 4.0, 6.0])
DIALS = np.array([54.0, 88.0, 160.0, 229.0])  # the second is the mean of 86 and 90


def factor(shear_forces: np.ndarray, water: float = 0.0) -> float:
    """Of the face, 1V:2H and 1.5 m deep, with water so high above the plane."""
    slope, cohesion = np.polyfit((MASSES * 9.80665 * 10.0 + 1.2) / 3.6, shear_forces / 3.6, 1)
    weight = 17.5 * (1.5 - water) + 19.5 * water
    cos, sin = 2.0 / math.sqrt(5.0), 1.0 / math.sqrt(5.0)
    effective = (weight - 9.81 * water) * cos**2
    return (cohesion + effective * slope) / (weight * sin * cos)


@pytest.mark.parametrize("calibrated", [False, True])
def test_the_factors_are_those_of_plain_arithmetic(
    slipmargin, scenarios: Path, calibrated: bool
) -> None:
    path = scenarios / "linnet-pit" / "class-exercise.toml"
    words = ["--variant", "ring by its calibration"] if calibrated else []
    document = slipmargin("check", path, *words, "--json").json
    forces = (DIALS - 12.0) * 1.85
    if calibrated:
        # each repeat becomes a force before the mean is taken
        table = [0.0, 60.0, 120.0, 180.0, 240.0], [0.0, 109.0, 220.0, 333.0, 448.0]
        forces = np.interp(DIALS - 12.0, *table)
        forces[1] = np.interp([74.0, 78.0], *table).mean()
    found = [check["factors_of_safety"]["sliding"] for check in document["checks"]]
    assert found == pytest.approx([factor(forces), factor(forces, 0.6)], rel=1e-9)
    assert [check["meets_target"] for check in document["checks"]] == [True, not calibrated]


def test_every_step_is_printed(slipmargin, scenarios: Path) -> None:
    path = scenarios / "linnet-pit" / "class-exercise.toml"
    steps = [
        "W_1 = 9.80665 * 1",
        "N_1 = 10 * 9.80665",
        "σ′_1 = 1000 * (98.0665 + 1.2) / 3600",
        "S_4 = 1.85 * (229 - 12)",
        "τ_4 = 1000 * 401.45 / 3600",
        "φ′ = atan(0.662824)",
    ]
    printed = [
        slipmargin("check", path, "--working").out,
        slipmargin("fit", path, "--soil", "sand", "--working").out,
    ]
    for step in steps:
        assert all(step in text for text in printed), step
    assert "F = 17.0691 / 10.5" in printed[0]
