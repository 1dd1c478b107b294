"""Where the ends of a spiral are tried: stations on the ground, close together near its
corners, where a small step changes most.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.spiral import LoadedSlope

__all__ = ["REACH", "Ends", "Pairs", "entries", "exits", "tops"]

REACH = 300.0
"""How far in front of the toe and behind the crest a spiral is looked for [heights]. With
φ = 0 and a flat face no spiral is the worst; at this size the factor is within 1e-5 of its
limit."""

Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

_LEVEL = 1e-6
_FRONT, _BACK = np.geomspace(0.03, REACH, 12), np.geomspace(5e-4, REACH, 16)
_EXIT, _ENTRY, _SHARE, _LAST, _RATIO = 1e-2, 1e-3, 0.2, 0.95, 3.0


@dataclass(frozen=True, slots=True)
class Ends:
    """Places tried for one end: the station of a vertex and the distance from it [m], shape
    (slopes or 1, places). The first ``free`` of them may move, and stand in the order of the
    ground; the others are held, at distance 0.
    """

    vertex: Float
    distance: Float
    free: int


def exits(slope: LoadedSlope) -> Ends:
    """To the left of each vertex but the last, and at it; of a slope that is not ``on_face`` to
    the left of the first and of those that a load reaches down to. At a support force, which
    does not hold what comes out there, and below a crack.
    """
    stations = slope.ground.stations
    last = stations.shape[1] - 1
    pieces = last if slope.on_face else slope.load_foot if np.any(slope.surcharge > 0.0) else 0
    free = [(stations[:, :1], slope.height[:, None] * _FRONT[::-1])]
    free += [
        (stations[:, k + 1 : k + 2], _clustered(slope, k, _EXIT)[:, ::-1]) for k in range(pieces)
    ]
    held = [stations[:, k] for k in range(last)]
    if slope.support_station is not None:
        held.append(slope.support_station)
    if slope.on_face and slope.crack_depth is not None:
        held.append(_below_crack(slope, slope.crack_depth))
    return _ends(free, held)


def _crack_place(slope: LoadedSlope) -> Float:
    """Where a crack stands, or the crest, where water in it pushes on the least soil."""
    crest = slope.ground.stations[:, slope.crest]
    return crest if slope.crack_station is None else slope.crack_station


def _below_crack(slope: LoadedSlope, depth: Float) -> Float:
    """Where the least mass comes out that the crack cuts to its full depth."""
    top = slope.ground.at(_crack_place(slope)[:, None]).point.imag[:, 0]
    found = slope.ground.first_at_level(top - depth / slope.crack_share)
    return np.where(np.isfinite(found), found, slope.ground.stations[:, 0])


def entries(slope: LoadedSlope) -> Ends:
    """Where a load begins and ends, a support force, which does not hold what ends there, and a
    crack stand, if there are any; then to the right of the last vertex, or of any, in the order
    of the ground.
    """
    stations = slope.ground.stations
    last = stations.shape[1] - 1
    held = []
    if np.any(slope.surcharge > 0.0):
        held += [slope.load_begins] + ([] if slope.load_far is None else [slope.load_far])
    if slope.support_station is not None:
        held.append(slope.support_station)
    if slope.crack_depth is not None and (slope.on_face or slope.crack_station is not None):
        held.append(_crack_place(slope))
    pieces = last if slope.on_face else 0
    free = [(stations[:, k : k + 1], _clustered(slope, k, _ENTRY)) for k in range(pieces)]
    return _ends([*free, (stations[:, last:], slope.height[:, None] * _BACK)], held)


def _clustered(slope: LoadedSlope, piece: int, first_height: float) -> Float:
    """Distances from one end of a piece of ground [m], close together there: from a share of
    the height of the slope up to nearly the length of the piece. A shorter piece than that of
    another slope has its last place more than once.
    """
    length = np.diff(slope.ground.stations[:, piece : piece + 2])
    first = np.minimum(first_height * slope.height[:, None], _SHARE * length)
    last = _LAST * length
    count = int(np.ceil(np.log(np.max(last / first)) / np.log(_RATIO))) + 1
    places: Float = np.minimum(first * _RATIO ** np.arange(count), last)
    return places


def _ends(free: list[tuple[Float, Float]], held: list[Float]) -> Ends:
    groups = free + [(station[:, None], np.zeros((1, 1))) for station in held]
    rows = max(len(part) for group in groups for part in group)
    sizes = [distance.shape[1] for _, distance in groups]

    def joined(parts: list[Float]) -> Float:
        return np.hstack([np.broadcast_to(p, (rows, n)) for p, n in zip(parts, sizes, strict=True)])

    return Ends(
        vertex=joined([vertex for vertex, _ in groups]),
        distance=joined([distance for _, distance in groups]),
        free=sum(sizes[: len(free)]),
    )


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of places that a spiral is tried between: numbers of the places, stations [m] of
    shape (slopes or 1, pairs), and where the ground rises from exit to entry: ground that
    does not rise holds itself.
    """

    exit: Index
    entry: Index
    start: Float
    end: Float
    rising: Flags

    @classmethod
    def of(cls, slope: LoadedSlope, out: Ends, back: Ends) -> Pairs:
        """The pairs of which the ground of some slope rises."""
        start, end = out.vertex - out.distance, back.vertex + back.distance
        low, high = (slope.ground.at(station).point.imag for station in (start, end))
        rising = high[:, None, :] - low[:, :, None] > _LEVEL * np.max(slope.height)
        i, j = np.nonzero(np.any(rising, axis=0))
        return cls(i, j, start[:, i], end[:, j], rising[:, i, j])

    def take(self, rows: slice | Index) -> Pairs:
        """The pairs of some of the slopes."""
        tables: tuple[Any, ...] = self.start, self.end, self.rising
        start, end, rising = (table[rows] if len(table) > 1 else table for table in tables)
        return Pairs(self.exit, self.entry, start, end, rising)


def tops(values: Float, axis: int, count: int) -> Flags:
    """Which of the first places along an axis are higher than those beside them; all others."""
    moved = np.moveaxis(values, axis, 0)
    top = np.ones(moved.shape, dtype=bool)
    first = moved[:count]
    top[1:count] &= first[1:] > first[:-1]
    top[: count - 1] &= first[:-1] >= first[1:]
    return np.moveaxis(top, 0, axis)
