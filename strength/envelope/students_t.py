"""Student's t in two variates: its draws, its spread, and its regions of confidence.

A draw is two normal ones, both stretched by √(ν / χ²). The inverse of χ² takes longer than all
the rest of it. So its logarithm is read off a table over the normal score of its probability,
where it is smooth: cubics through four neighbours are good to 1e-11. Far out in the tails, where
few draws lie, it is worked out outright.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import scipy
from numpy.typing import NDArray

__all__ = ["drawn_t", "moments", "outline", "spread"]

Floats = NDArray[np.float64]

_FAR, _STEP = 4.5, 1.0 / 400.0  # normal scores of the table


def moments(degrees_of_freedom: int) -> int:
    """How many moments it has, two at most: without one no mean, without two no deviation."""
    return min(degrees_of_freedom - 1, 2)


def spread(degrees_of_freedom: int) -> float:
    """Standard deviation in units of the scale; 1 where there is none."""
    nu = degrees_of_freedom
    return math.sqrt(nu / (nu - 2)) if nu > 2 else 1.0


def outline(degrees_of_freedom: int, confidence: float, judged: int, points: int) -> Floats:
    """Circle about a region of confidence in units of the scale, shape (points, 2).

    ``judged`` is how many numbers are judged by it: with one, its shadows on the axes are their
    intervals.
    """
    reach = math.sqrt(judged * float(scipy.special.fdtri(judged, degrees_of_freedom, confidence)))
    turn = np.linspace(0.0, 2.0 * np.pi, points)
    return reach * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def drawn_t(degrees_of_freedom: int, uniforms: Floats) -> Floats:
    """Pairs of a t distribution with independent halves and one χ², shape (n, 2).

    For points of the unit cube, shape (n, 3), each strictly between 0 and 1.
    """
    scores = scipy.special.ndtri(uniforms)
    pairs: Floats = scores[:, :2] * _stretch(degrees_of_freedom, scores[:, 2])[:, None]
    return pairs


def _stretch(degrees_of_freedom: int, scores: Floats) -> Floats:
    """√(ν / χ²) at normal scores of χ²."""
    table = _stretch_table(degrees_of_freedom)
    place = (scores + _FAR) / _STEP
    inside = np.abs(scores) < _FAR
    at = np.where(inside, place, 1.0).astype(np.intp)
    t = place - at
    before, here, after, beyond = (table[at + shift] for shift in range(4))
    # through four neighbours (Lagrange), t from the second to the third
    near = here * (1.0 - t) + after * t
    low, high = before - 2.0 * here + after, here - 2.0 * after + beyond
    stretch = np.exp(near - t * (1.0 - t) * (low * (2.0 - t) + high * (1.0 + t)) / 6.0)
    if not np.all(inside):
        stretch[~inside] = _outright(degrees_of_freedom, scores[~inside])
    return stretch


@lru_cache(maxsize=16)
def _stretch_table(degrees_of_freedom: int) -> Floats:
    count = round(2.0 * _FAR / _STEP)
    scores: Floats = _STEP * np.arange(-1.0, count + 2.0) - _FAR
    return np.log(_outright(degrees_of_freedom, scores))


def _outright(degrees_of_freedom: int, scores: Floats) -> Floats:
    squared = scipy.special.chdtri(degrees_of_freedom, scipy.special.ndtr(scores))
    result: Floats = np.sqrt(degrees_of_freedom / squared)
    return result
