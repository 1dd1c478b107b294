"""Rotations by brute force: the moment of a mass above a log-spiral, by slices along it.

The cohesion that a spiral needs at a reduced friction angle φ is its driving moment over
∫ r² dα, both summed over short pieces. Effective normal stress and friction together point
at the pole and have no moment; water has one, summed piece by piece. Many spirals are drawn
at random, and the hardest few are improved by a simplex. Nothing here imports the program.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize

Floats = Any
COARSE, FINE = 60, 600
NONE = -1e6  # kPa; where no spiral can pass


@dataclass(frozen=True)
class Hill:
    """Ground from left to right, level in front and behind, with its loads; r_u of the soil."""

    ground: Floats
    unit_weight: float
    surcharge: float = 0.0
    load_from: float = 0.0
    shaking: float = 0.0
    pore_pressure_ratio: float = 0.0

    def level(self, x: Floats) -> Floats:
        return np.interp(x, self.ground[:, 0], self.ground[:, 1])


def needed_cohesion(
    hill: Hill, tan: float, left: Floats, right: Floats, turn: Floats, pieces: int = FINE
) -> Floats:
    """Cohesion [kPa] of spirals from exit x to entry x, turning by an angle [rad]; none where
    the surface leaves the ground or overhangs.
    """
    a = left + 1j * hill.level(left)
    b = right + 1j * hill.level(right)
    ratio = np.exp(turn * (1j - tan))
    pole = (b - ratio * a) / (1.0 - ratio)
    share = np.linspace(0.0, 1.0, pieces + 1)
    path = pole[:, None] + (a - pole)[:, None] * np.exp(share[None, :] * turn[:, None] * (1j - tan))
    depth = hill.level(path.real) - path.imag
    length = np.abs(b - a)
    sound = np.all(depth[:, 1:-1] > -1e-9 * length[:, None], axis=1)
    sound &= np.all(np.diff(path.real, axis=1) > 0.0, axis=1)
    middle, step = (path[:, :-1] + path[:, 1:]) / 2.0, np.diff(path, axis=1)
    arm = middle - pole[:, None]
    thick = hill.level(middle.real) - middle.imag
    width = step.real
    # vertical slices: weight and shaking of each at its own middle
    weight = hill.unit_weight * thick * width
    drive = np.sum(weight * (arm.real - hill.shaking * (arm.imag + thick / 2.0)), axis=1)
    # the load begins within a slice: its own part, at its own middle
    right_side = path.real[:, 1:]
    loaded = np.clip(right_side - hill.load_from, 0.0, width)
    out = right_side - loaded / 2.0 - pole.real[:, None]
    over = hill.surcharge * loaded
    drive += np.sum(over * (out - hill.shaking * (arm.imag + thick)), axis=1)
    # water presses square to each piece, into the mass, which lies on the left of the path
    pressure = hill.pore_pressure_ratio * hill.unit_weight * thick
    force = pressure * step * 1j
    drive -= np.sum((np.conj(arm) * force).imag, axis=1)
    held = np.sum((np.conj(arm) * step).imag * 1.0, axis=1)  # ∫ r² dα
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = drive / held
    return np.where(sound & (held > 0.0), needed, NONE)


def hardest(
    hill: Hill, tan: float, height: float, rng: np.random.Generator, tries: int = 30_000
) -> float:
    """Highest cohesion that any spiral needs at a reduced tan φ."""
    crest = hill.load_from

    def of(x: Floats, pieces: int = FINE) -> Floats:
        x = np.atleast_2d(x)
        left = np.minimum(x[:, 0], 0.97 * crest)
        right = crest + np.exp(np.clip(x[:, 1], -5.0, 2.0)) * height
        return needed_cohesion(hill, tan, left, right, np.exp(np.clip(x[:, 2], -4.0, 1.1)), pieces)

    low = np.array([-1.5 * height, np.log(0.02), np.log(0.05)])
    high = np.array([0.5 * crest, np.log(4.0), np.log(2.8)])
    drawn = low + (high - low) * rng.random((tries, 3))
    drawn[: tries // 3, 0] = 0.0  # through the toe
    found = np.concatenate([of(part, COARSE) for part in np.array_split(drawn, 10)])
    best = -np.inf
    for start in drawn[np.argsort(found)[-4:]]:
        result = minimize(
            lambda x: -float(of(x)[0]),
            start,
            method="Nelder-Mead",
            options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 900},
        )
        best = max(best, -float(result.fun))
    return best
