"""What stands above a slip plane, cut into stretches over which it is straight.

Ground, phreatic line, pool and plane are straight between their corners and the places where
two of them cross. Over a stretch from one such place to the next, the depth of the ground above
the plane, the depth of water in it and the head of water on the plane are linear in x, and areas
up to any place are exact sums.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import COLUMN, taken
from slipmargin.stability.ground.water_line import SlopeWater
from slipmargin.stability.planar_wedge.ground import Slope
from slipmargin.strength import Numeric

__all__ = ["Height", "Stretches", "stretches"]

Array = NDArray[np.float64]

_FIRST, _SECOND = 0.25, 0.75  # places inside a stretch, where nothing has two values


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the plane over each stretch, and its area in front of the stretch.

    ``at_start``, ``at_end`` [m] and ``area_in_front`` [m²] have shape (planes, stretches);
    ``area`` [m²] is that above the whole plane, shape (planes,).
    """

    at_start: Array
    at_end: Array
    area_in_front: Array
    area: Array


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches of planes, shape (planes, stretches), some of no length: where each starts, and
    its length in plan [m]; the height above the plane of the ground, of the wet part of it, and of
    the water that presses on the plane; and the area of the pool above each block [m²].
    """

    start: Array
    length: Array
    ground: Height
    wet: Height
    head: Height
    pool_area: Array


def stretches(
    slope: Slope,
    water: SlopeWater | None,
    gradient: Array,
    end: Array,
    *,
    also: Sequence[Array] = (),
    depths: tuple[Numeric, ...] = (),
) -> Stretches:
    """Cut planes of a gradient, up to their ``end`` [m], into stretches.

    Slope and water are scalars or of shape (planes,). ``also`` are further places at which to
    cut [m], of shape (planes, any), ``depths`` such depths below ground [m].
    """
    planes = gradient.size
    slope = slope.taken(COLUMN)
    corners = [np.zeros((planes, 1)), slope.corners_x, end[:, None], *also]
    if water is not None and water.line is not None:
        corners.append(water.line.x)
    water = None if water is None else taken(water, COLUMN)
    cuts = [np.broadcast_to(one, (planes, np.shape(one)[-1])) for one in corners]
    nodes = np.sort(np.clip(np.concatenate(cuts, axis=1), 0.0, end[:, None]), axis=1)
    lifts = [np.broadcast_to(depth, (planes,))[:, None] for depth in depths]

    def crossing(x: Array) -> list[Array]:
        """Differences of height that change sign where two surfaces cross; no ground lies
        below a plane in front of its end.
        """
        plane, ground = gradient[:, None] * x, np.asarray(slope.ground_y(x))
        lifted = [plane + lift for lift in lifts]
        levels = [] if water is None else _levels(water, x)
        found = [ground - one for one in (*lifted, *levels)]
        found += [level - one for level in levels for one in (plane, *lifted)]
        return [*found, levels[1] - levels[0]] if len(levels) > 1 else found

    nodes = _cut_where_they_cross(nodes, crossing)
    start, length = nodes[:, :-1], np.diff(nodes, axis=1)
    first, second = start + _FIRST * length, start + _SECOND * length

    def heights(x: Array) -> tuple[Array, Array, Array, Array]:
        plane, ground = gradient[:, None] * x, np.asarray(slope.ground_y(x))
        if water is None:
            nothing = np.zeros_like(x)
            return ground - plane, nothing, nothing, nothing
        head = np.maximum(water.in_slope(x, ground) - plane, 0.0)
        in_front = x < slope.crest_x
        pool = np.where(in_front, np.maximum(water.pool - ground, 0.0), 0.0)
        return ground - plane, np.minimum(head, ground - plane), head, pool

    found = [_height(length, *pair) for pair in zip(heights(first), heights(second), strict=True)]
    ground, wet, head, pool = found
    return Stretches(start, length, ground, wet, head, pool.area)


def _levels(water: SlopeWater, x: Array) -> list[Array]:
    """Height over x [m] of the phreatic line and of the pool, as far as there are any."""
    found = [] if water.line is None else [np.asarray(water.line.level(x) + water.rise)]
    pooled = np.any(water.pool > 0.0)
    return [*found, np.asarray(water.pool + np.zeros_like(x))] if pooled else found


def _cut_where_they_cross(nodes: Array, crossing: Callable[[Array], list[Array]]) -> Array:
    start, length = nodes[:, :-1], np.diff(nodes, axis=1)
    first, second = crossing(start + _FIRST * length), crossing(start + _SECOND * length)
    cuts = [nodes]
    for before, after in zip(first, second, strict=True):
        closing = before - after
        level = closing == 0.0
        share = _FIRST + (_SECOND - _FIRST) * before / np.where(level, 1.0, closing)
        cuts.append(start + np.clip(np.where(level, 0.0, share), 0.0, 1.0) * length)
    return np.sort(np.concatenate(cuts, axis=1), axis=1)


def _height(length: Array, first: Array, second: Array) -> Height:
    """From its values inside each stretch."""
    half = (second - first) / 2.0 / (_SECOND - _FIRST)
    mean = (first + second) / 2.0
    areas = np.cumsum(length * mean, axis=1)
    in_front = np.concatenate((np.zeros((areas.shape[0], 1)), areas[:, :-1]), axis=1)
    return Height(mean - half, mean + half, in_front, areas[:, -1])
