"""Slices of one circle in layered ground, one circle at a time, and a search by trial.

Written from the equations of Bishop (1955) and Spencer (1967) alone: strips of equal width, the
base at the circle, its slope the tangent there, one layer a base.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize

__all__ = ["Section", "Strips", "lowest_circle"]

Floats = np.ndarray[Any, np.dtype[np.float64]]
_STRIPS = 400


@dataclass
class Section:
    """Ground and tops of layers as (x, y) lines; of each layer c [kPa], tan φ and γ [kN/m³]."""

    ground: Floats
    tops: list[Floats]
    cohesion: list[float]
    tangent: list[float]
    weight: list[float]
    firm: float = -np.inf
    ratio: float = 0.0  # of pore pressure
    shaking: float = 0.0
    load: tuple[float, float, float] = (0.0, 0.0, 0.0)  # kPa, from x, to x

    def level(self, x: Any) -> Any:
        return np.interp(x, self.ground[:, 0], self.ground[:, 1])


class Strips:
    """Strips of a circle through two points of the ground, of an arc of a half angle."""

    def __init__(self, section: Section, exit_x: float, entry_x: float, half: float) -> None:
        ay, by = float(section.level(exit_x)), float(section.level(entry_x))
        run, climb = entry_x - exit_x, by - ay
        chord, slope = np.hypot(run, climb), np.arctan2(climb, run)
        self.real = bool(run > 0.05 and climb > 0.05 and half > 0.02 and slope + half < 1.5)
        self.real &= slope - half > -0.8
        if not self.real:
            return
        r = chord / (2.0 * np.sin(half))
        x0, y0 = exit_x - r * np.sin(slope - half), ay + r * np.cos(slope - half)
        edges = np.linspace(exit_x, entry_x, _STRIPS + 1)
        b, x = np.diff(edges), (edges[1:] + edges[:-1]) / 2.0
        root = np.sqrt(np.maximum(r * r - (x - x0) ** 2, 1e-12))
        arc, top = y0 - root, section.level(x)
        cut = arc < section.firm
        base = np.where(cut, section.firm, arc)
        alpha = np.where(cut, 0.0, np.arctan2(x - x0, root))
        self.depth = float(np.max(top - base))
        self.real = bool(np.min(top - base) > -1e-3)
        bounds = [top, *(np.interp(x, line[:, 0], line[:, 1]) for line in section.tops)]
        which = np.zeros(x.size, dtype=int)
        soil = arm = np.zeros(x.size)
        for index, gamma in enumerate(section.weight):
            below = np.full(x.size, -np.inf)
            for later in bounds[index + 1 :]:
                below = np.maximum(below, later)
            upper = np.minimum(np.maximum(bounds[index], below) if index else top, top)
            lower = np.maximum(np.minimum(below, top), base)
            part = gamma * np.maximum(upper - lower, 0.0) * b
            soil = soil + part
            arm = arm + part * ((upper + lower) / 2.0 - base)
            which = np.where(bounds[index] >= base - 1e-9, index, which)
        q, start, end = section.load
        loaded = q * np.maximum(np.minimum(edges[1:], end) - np.maximum(edges[:-1], start), 0.0)
        self.a, self.l = alpha, b / np.cos(alpha)
        self.v, self.h = soil + loaded, section.shaking * (soil + loaded)
        self.m = section.shaking * (arm + loaded * (top - base))
        self.u = section.ratio * soil / b * self.l
        self.c = np.asarray(section.cohesion)[which]
        self.t = np.asarray(section.tangent)[which]
        self.x, self.y = x - x0, base - y0

    def bishop(self) -> float:
        """Bishop's simplified factor."""
        a, sin, cos = self.a, np.sin(self.a), np.cos(self.a)
        arm, lever = self.x * sin - self.y * cos, self.x * cos + self.y * sin
        load = np.sum(self.v * self.x - self.h * self.y - self.m)
        factor = 1.0
        for _ in range(30):
            share = cos + self.t * sin / factor
            if np.min(share) < 0.05:
                return np.inf
            normal = (self.v - self.u * cos - self.c * self.l * sin / factor) / share
            drive = load - np.sum((normal + self.u) * lever)
            if drive <= 0.0:
                return np.inf
            last = factor
            factor = max(float(np.sum((self.c * self.l + normal * self.t) * arm) / drive), 0.05)
            if abs(factor - last) < 1e-8 * factor:
                break
        del a
        return factor

    def spencer(self) -> float:
        """Spencer's factor by roots one inside the other; nan where there is no bracket."""

        def push(factor: float, theta: float) -> Floats:
            free = self.v * np.cos(self.a) - self.h * np.sin(self.a) - self.u
            drive = self.v * np.sin(self.a) + self.h * np.cos(self.a)
            resist = (self.c * self.l + self.t * free) / factor
            bend = np.cos(self.a - theta) + self.t * np.sin(self.a - theta) / factor
            found: Floats = (drive - resist) / bend
            return found

        def by_forces(theta: float) -> float:
            limit = -self.t * np.tan(self.a - theta)
            low = max(0.05, 1.001 * float(np.max(limit)))
            return float(brentq(lambda f: float(np.sum(push(f, theta))), low, 60.0, xtol=1e-11))

        def gap(theta: float) -> float:
            q = push(by_forces(theta), theta)
            turned = q * (self.x * np.sin(theta) - self.y * np.cos(theta))
            return float(np.sum(turned - self.m))

        try:
            theta = float(brentq(gap, -0.1, 0.8, xtol=1e-9))
        except ValueError:
            return np.nan
        return by_forces(theta)


def lowest_circle(
    section: Section, reach: tuple[float, float], least_depth: float, rng: np.random.Generator
) -> list[Strips]:
    """Circles of low Bishop factor, by trial and downhill from the best, between two x."""

    def factor(place: Floats) -> float:
        strips = Strips(section, *place)
        if not strips.real or strips.depth < least_depth:
            return 1e3
        return min(strips.bishop(), 1e3)

    low, high = reach
    places = rng.uniform([low, low, 0.03], [high, high, 1.4], (700, 3))
    factors = np.array([factor(place) for place in places])
    found = []
    for best in np.argsort(factors)[:3]:
        down = minimize(factor, places[best], method="Nelder-Mead", options={"maxfev": 160})
        found.append(Strips(section, *down.x))
    return [one for one in found if one.real]
