"""Where the ends of a spiral are tried: stations on the ground, close together near its
corners, where a small step changes most.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.spiral import LoadedSlope

__all__ = ["REACH", "Ends", "entries", "exits"]

REACH = 300.0
"""How far in front of the toe and behind the crest a spiral is looked for [heights]. With
φ = 0 and a flat face no spiral is the worst; at this size the factor is within 1e-5 of its
limit."""

_FRONT = np.split(np.geomspace(0.03, REACH, 12), (3, 6))
_BACK = np.geomspace(5e-4, REACH, 16)
_EXIT, _ENTRY, _SHARE, _LAST, _RATIO = 1e-2, 1e-3, 0.2, 0.95, 3.0


@dataclass(frozen=True, slots=True)
class Ends:
    """Places tried for one end: the station of a vertex and the distance from it [m], 0 for the
    vertex itself; shape (slopes or 1, places). ``groups`` are the places on one piece of ground.
    """

    vertex: Float
    distance: Float
    groups: tuple[slice, ...]


def exits(slope: LoadedSlope, on_face: bool) -> Ends:
    """To the left of each vertex but the last, and at it; without ``on_face`` to the left of
    those that a load reaches down to, and of the first. At a support force, which does not
    hold what comes out there, and below a crack.
    """
    stations = slope.ground.stations
    last = stations.shape[1] - 1
    loaded = slope.load_foot if np.any(slope.surcharge > 0.0) else 0
    here = np.zeros((1, 1))
    groups = [(stations[:, :1], slope.height[:, None] * part) for part in _FRONT]
    for k in range(last):
        groups.append((stations[:, k : k + 1], here))
        if on_face or k < loaded:
            groups.append((stations[:, k + 1 : k + 2], _clustered(slope, k, _EXIT)))
    if slope.support_station is not None:
        groups.append((slope.support_station[:, None], here))
    if on_face and slope.crack_depth is not None:
        groups.append((_below_crack(slope, slope.crack_depth)[:, None], here))
    return _ends(groups)


def _crack_place(slope: LoadedSlope) -> Float:
    """Where a crack stands, or the crest, where water in it pushes on the least soil."""
    crest = slope.ground.stations[:, slope.crest]
    return crest if slope.crack_station is None else slope.crack_station


def _below_crack(slope: LoadedSlope, depth: Float) -> Float:
    """Where the least mass comes out that the crack cuts to its full depth."""
    top = slope.ground.at(_crack_place(slope)[:, None]).point.imag[:, 0]
    found = slope.ground.first_at_level(top - depth / slope.crack_share)
    return np.where(np.isfinite(found), found, slope.ground.stations[:, 0])


def entries(slope: LoadedSlope, on_face: bool) -> Ends:
    """Where a load begins and ends and a crack stands, if there are any; then to the right of
    the last vertex, or of any, in the order of the ground.
    """
    stations = slope.ground.stations
    last = stations.shape[1] - 1
    groups = []
    if np.any(slope.surcharge > 0.0):
        ends = [slope.load_begins] + ([] if slope.load_far is None else [slope.load_far])
        groups += [(end[:, None], np.zeros((1, 1))) for end in ends]
    if slope.crack_depth is not None and (on_face or slope.crack_station is not None):
        groups.append((_crack_place(slope)[:, None], np.zeros((1, 1))))
    if on_face:
        groups += [(stations[:, k : k + 1], _clustered(slope, k, _ENTRY)) for k in range(last)]
    groups.append((stations[:, last:], slope.height[:, None] * _BACK))
    return _ends(groups)


def _clustered(slope: LoadedSlope, piece: int, first_height: float) -> Float:
    """Distances from one end of a piece of ground [m], close together there: from a share of
    the height of the slope up to nearly the length of the piece.
    """
    length = np.diff(slope.ground.stations[:, piece : piece + 2])
    first = np.minimum(first_height * slope.height[:, None] / length, _SHARE)
    span = _LAST / first
    count = int(np.ceil(np.log(np.max(span)) / np.log(_RATIO))) + 1
    return length * first * span ** np.linspace(0.0, 1.0, count)


def _ends(groups: list[tuple[Float, Float]]) -> Ends:
    rows = max(len(part) for group in groups for part in group)
    sizes = [distance.shape[1] for _, distance in groups]
    edges = np.cumsum([0, *sizes])

    def joined(parts: list[Float]) -> Float:
        return np.hstack([np.broadcast_to(p, (rows, n)) for p, n in zip(parts, sizes, strict=True)])

    return Ends(
        vertex=joined([vertex for vertex, _ in groups]),
        distance=joined([distance for _, distance in groups]),
        groups=tuple(slice(a, b) for a, b in pairwise(edges)),
    )
