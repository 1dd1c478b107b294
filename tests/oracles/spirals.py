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
WATER = 9.81
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
    load_to: float = np.inf
    crack: float = 0.0  # depth of the deepest crack [m], and of the water in it
    crack_water: float = 0.0
    pool: float = -np.inf  # its level [m]
    saturated_unit_weight: float | None = None
    support: tuple[float, float, float] | None = None  # force, degrees below horizontal, height

    def level(self, x: Floats) -> Floats:
        return np.interp(x, self.ground[:, 0], self.ground[:, 1])


def needed_cohesion(
    hill: Hill,
    tan: float,
    left: Floats,
    right: Floats,
    turn: Floats,
    pieces: int = FINE,
    share: Floats = 0.0,
) -> Floats:
    """Cohesion [kPa] of spirals from exit x to entry x, turning by an angle [rad]; none where
    the surface leaves the ground or overhangs. ``share`` of the deepest crack stands at the
    entry.
    """
    a = left + 1j * hill.level(left)
    cracked = np.minimum(share * hill.crack, 0.5 * (hill.level(right) - a.imag))
    b = right + 1j * (hill.level(right) - cracked)
    ratio = np.exp(turn * (1j - tan))
    pole = (b - ratio * a) / (1.0 - ratio)
    steps = np.linspace(0.0, 1.0, pieces + 1)
    path = pole[:, None] + (a - pole)[:, None] * np.exp(steps[None, :] * turn[:, None] * (1j - tan))
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
    begins = np.maximum(right_side - width, hill.load_from)
    ends = np.minimum(right_side, hill.load_to)
    loaded = np.maximum(ends - begins, 0.0)
    out = (ends + begins) / 2.0 - pole.real[:, None]
    over = hill.surcharge * loaded
    drive += np.sum(over * (out - hill.shaking * (arm.imag + thick)), axis=1)
    # water presses square to each piece, into the mass, which lies on the left of the path
    pressure = hill.pore_pressure_ratio * hill.unit_weight * thick
    if np.isfinite(hill.pool):
        pressure = hill.pore_pressure_ratio * hill.unit_weight * thick
        over = np.maximum(hill.pool - hill.level(middle.real), 0.0)
        still = WATER * np.maximum(hill.pool - middle.imag, 0.0)
        pressure = np.maximum(still, pressure + WATER * over)
        drive += _soaked(hill, middle, arm, width)
        drive += _pool(hill, left, right, pole, pieces)
    drive += _crack(hill, right, cracked, pole)
    if hill.support is not None:
        drive -= _support(hill, hill.support, left, pole)
    force = pressure * step * 1j
    drive -= np.sum((np.conj(arm) * force).imag, axis=1)
    held = np.sum((np.conj(arm) * step).imag * 1.0, axis=1)  # ∫ r² dα
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = drive / held
    return np.where(sound & (held > 0.0), needed, NONE)


def _soaked(hill: Hill, middle: Floats, arm: Floats, width: Floats) -> Floats:
    """Moment of what saturation adds to the slices below the pool."""
    heavier = (hill.saturated_unit_weight or hill.unit_weight) - hill.unit_weight
    wet = np.maximum(np.minimum(hill.level(middle.real), hill.pool) - middle.imag, 0.0)
    return np.sum(
        heavier * wet * width * (arm.real - hill.shaking * (arm.imag + wet / 2.0)), axis=1
    )


def _pool(hill: Hill, left: Floats, right: Floats, pole: Floats, pieces: int) -> Floats:
    """Clockwise moment of the pool on the ground between exit and entry, piece by piece."""
    share = np.linspace(0.0, 1.0, 4 * pieces + 1)
    x = left[:, None] + share * (right - left)[:, None]
    ground = x + 1j * hill.level(x)
    step, middle = np.diff(ground, axis=1), (ground[:, 1:] + ground[:, :-1]) / 2.0
    force = WATER * np.maximum(hill.pool - middle.imag, 0.0) * step * -1j
    return -np.sum((np.conj(middle - pole[:, None]) * force).imag, axis=1)


def _crack(hill: Hill, right: Floats, depth: Floats, pole: Floats) -> Floats:
    """Clockwise moment of water in the crack, and of a pool over it, pushing to the left."""
    top = hill.level(right)
    foot = top - depth
    level = np.maximum(np.minimum(foot + hill.crack_water, top), hill.pool)
    share = (np.arange(200) + 0.5) / 200
    at = foot[:, None] + share * depth[:, None]
    push = WATER * np.maximum(level[:, None] - at, 0.0) * depth[:, None] / 200
    return -np.sum(push * (at - pole.imag[:, None]), axis=1)


def _support(hill: Hill, support: tuple[float, float, float], left: Floats, pole: Floats) -> Floats:
    """Counter-clockwise moment of a support force on what comes out below it."""
    force, below, height = support
    x = np.interp(height, *_rising(hill.ground[:, ::-1]))
    angle = np.radians(below)
    r = x + 1j * height - pole
    moment = force * (r.real * -np.sin(angle) - r.imag * np.cos(angle))
    return np.where(hill.level(left) < height, moment, 0.0)


def _rising(points: Floats) -> tuple[Floats, Floats]:
    """Levels and x of the ground, each level higher than the one before."""
    climbs = np.diff(points[:, 0]) > 0.0
    kept = np.concatenate(([False], climbs)) | np.concatenate((climbs, [False]))
    return points[kept, 0], points[kept, 1]


def hardest(
    hill: Hill,
    tan: float,
    height: float,
    rng: np.random.Generator,
    tries: int = 30_000,
    crest: float | None = None,
) -> float:
    """Highest cohesion that any spiral needs at a reduced tan φ."""
    crest = hill.load_from if crest is None else crest

    def of(x: Floats, pieces: int = FINE) -> Floats:
        x = np.atleast_2d(x)
        left = np.minimum(x[:, 0], 0.97 * crest)
        right = crest + np.exp(np.clip(x[:, 1], -5.0, 2.0)) * height
        turn, share = np.exp(np.clip(x[:, 2], -4.0, 1.1)), np.clip(x[:, 3], 0.0, 1.0)
        return needed_cohesion(hill, tan, left, right, turn, pieces, share)

    low = np.array([-1.5 * height, np.log(0.02), np.log(0.05), 0.0])
    high = np.array([0.5 * crest, np.log(4.0), np.log(2.8), 1.0])
    drawn = low + (high - low) * rng.random((tries, 4))
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
