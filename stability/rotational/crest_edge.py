"""The edge of a loaded crest, kept apart from the slope below it.

A load that begins at the edge of a crest may break pieces off it that are of no size. Of
pieces of one shape the required cohesion is a share of the load and a share of the weight,
and so linear in their size; over all shapes at one corner the largest is convex in the size,
and the worst is a crumb or the slope as a whole, nothing in between. To make the factor that
of the slope, the load on a mass counts where the mass comes out at least ``LEAST_SHARE`` of
the drop in front of the edge below that edge. A smaller mass counts by its weight alone, so
that a load never hides what fails without it; what the load does to it is the edge's own.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from slipmargin.stability.ground.ground_line import Ground
from slipmargin.stability.rotational.critical_spiral import critical_spirals, hardest_spirals
from slipmargin.stability.rotational.spiral import LEAST_SHARE, LoadedSlope

__all__ = ["LEAST_SHARE", "edge_factor", "with_load_foot"]

_CRUMB = 1e-4
_WEAKER = 1.01
_SEARCHED = 1e-3  # of the piece of face at the edge: the search looks 300 times further


def with_load_foot(ground: Ground, crest: int) -> tuple[Ground, int]:
    """The ground with one more vertex, straight between its neighbours, at the least drop
    below the vertex ``crest``; and which vertex that is.
    """
    level = ground.vertices.imag
    wanted = level[:, crest] - LEAST_SHARE * ground.drop(crest)
    # the same piece in every row: rows differ in size and face angle only
    below = int(np.flatnonzero(np.all(level[:, :crest] <= wanted[:, None], axis=0))[-1])
    foot, top = ground.vertices[:, below], ground.vertices[:, below + 1]
    share = (wanted - foot.imag) / (top - foot).imag
    vertices = np.insert(ground.vertices, below + 1, foot + share * (top - foot), axis=1)
    return Ground.through(vertices, np.angle(ground.directions[:, -1])), below + 1


def edge_factor(
    slope: LoadedSlope, cohesion: float, tan_friction_angle: float, factor: float
) -> float | None:
    """Factor of a crumb at the edge of the crest of one slope, under its load; ``None`` where
    it is no lower than the slope's ``factor``.
    """
    if slope.load_apart[0]:
        return None
    tan = np.array([tan_friction_angle])
    if slope.load_begins[0] > slope.ground.stations[0, slope.crest]:
        whole = replace(slope, load_foot=slope.crest, on_face=True)
        found = critical_spirals(whole, np.array([cohesion]), tan)
        lower = float(1.0 / found.inverse[0])
        return lower if lower * _WEAKER < factor else None
    if cohesion == 0.0:
        return 0.0  # a load on a piece of no weight
    ground, crest = slope.ground, slope.crest
    piece = ground.stations[0, crest] - ground.stations[0, crest - 1]
    weighs_as_the_load = slope.surcharge[0] / slope.unit_weight[0]
    size = np.minimum(_CRUMB * weighs_as_the_load, _SEARCHED * piece).reshape(1)
    face, above = ground.directions[0, crest], ground.directions[0, crest + 1]
    corner = Ground.through(np.array([[-size[0] * face, 0.0]]), np.angle([above]), face)
    local = replace(
        slope,
        ground=corner,
        height=size,
        crest=1,
        load_foot=1,
        load_near=None,
        load_far=None,
        water=None,
        firm_level=None,
        pool_level=None,
        support_force=None,
        support_station=None,
        crack_depth=None,
        on_face=False,
    )
    at_factor = hardest_spirals(local, tan / factor)
    if at_factor.cohesion[0] * factor <= cohesion * _WEAKER:
        return None
    found = critical_spirals(local, np.array([cohesion]), tan)
    return float(1.0 / found.inverse[0])
