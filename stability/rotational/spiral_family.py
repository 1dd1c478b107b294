"""The hardest spirals of one slope over the friction angle.

From one angle to the next they are much the same. Where they are not, one search may have
stopped on an edge of the ground or of a load that the other got past: each is tried at the
other angle too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slipmargin.stability.ground.flat import joined, taken
from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.critical_spiral import (
    Critical,
    Search,
    in_chunks,
    put_better,
)
from slipmargin.stability.rotational.spiral import LoadedSlope
from slipmargin.stability.rotational.spiral_polish import Lanes

__all__ = ["Family", "hardest_along"]

_ROUNDS, _NO_LOWER = 30, 1e-8


@dataclass(frozen=True, slots=True)
class Family:
    """The hardest spirals of one slope at friction angles, from the largest tan φ_m on, and the
    lane that each was found in.
    """

    tan: Float
    hardest: Critical
    lanes: Lanes


def hardest_along(slope: LoadedSlope, tan: Float, known: Family | None = None) -> Family:
    """Hardest spirals of one slope at more friction angles. What is found at one angle is tried
    at those beside it as well, where another is found there.
    """
    parts = [(tan, *in_chunks(slope, np.zeros(tan.size), tan, reduce=False))]
    fresh = np.ones(tan.size, dtype=bool)
    if known is not None:
        parts.append((known.tan, known.hardest, known.lanes))
        fresh = np.append(fresh, np.zeros(known.tan.size, dtype=bool))
    whole = np.concatenate([part[0] for part in parts])
    order = np.argsort(-whole, kind="stable")
    tan, fresh, rows = whole[order], fresh[order], np.arange(order.size)
    hardest = taken(joined([part[1] for part in parts]), order)
    lanes = replace(joined([part[2] for part in parts]).take(order), slope=rows)
    stress = slope.unit_weight * slope.height
    for _ in range(_ROUNDS):
        pair = np.flatnonzero((fresh[1:] | fresh[:-1]) & lanes.unlike_next())
        if not pair.size:
            break
        to, of = np.concatenate((pair, pair + 1)), np.concatenate((pair + 1, pair))
        tried = np.unique(to)
        search = Search(slope, np.maximum(hardest.cohesion, 0.0)[tried], tan[tried], reduce=False)
        trial = joined([lanes.take(of), lanes.take(tried)])
        trial = replace(trial, slope=np.searchsorted(tried, np.concatenate((to, tried))))
        order = np.argsort(trial.slope, kind="stable")
        better, again = search.settled(trial.take(order), np.ones(tried.size), order < to.size)
        before = hardest.cohesion[tried]
        more = better.cohesion > before
        put_better(hardest, lanes, tried, better, again, more)
        fresh = np.zeros(rows.size, dtype=bool)
        least = _NO_LOWER * (np.abs(before) + stress * tan[tried])
        fresh[tried] = better.cohesion > before + least
    return Family(tan, hardest, lanes)
