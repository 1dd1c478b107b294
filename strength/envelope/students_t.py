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

__all__ = ["Bivariate", "drawn_t", "outline"]

Floats = NDArray[np.float64]

_FAR, _STEP = 4.5, 1.0 / 400.0  # normal scores of the table


class Bivariate:
    """Two numbers that follow a bivariate t; who inherits says which pair lies at a shift."""

    __slots__ = ()
    degrees_of_freedom: int

    def at(self, shift: Floats) -> tuple[Floats, Floats]:
        """The pairs at shifts from the centre, shape (n, 2), in units of the scale."""
        raise NotImplementedError

    @property
    def moments(self) -> int:
        """How many moments the distribution has, two at most: ν - 1 for a t.

        With none it has no mean, with one no standard deviation.
        """
        return min(self.degrees_of_freedom - 1, 2)

    def draw(self, uniforms: Floats) -> tuple[Floats, Floats]:
        """Pairs for points of the unit cube.

        The points have the shape (n, 3), each number strictly between 0 and 1; evenly spread
        ones give an evenly spread sample.
        """
        return self.at(drawn_t(self.degrees_of_freedom, uniforms))

    def around(self) -> list[tuple[tuple[float, float], tuple[float, float]]]:
        """The pairs one standard deviation either way along each principal direction.

        The standard deviation is that of the scale where there is none.
        """
        nu = self.degrees_of_freedom
        spread = math.sqrt(nu / (nu - 2)) if nu > 2 else 1.0
        ends = spread * np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
        up, down, right, left = zip(*(one.tolist() for one in self.at(ends)), strict=True)
        return [(one, other) for one, other in ((up, down), (right, left)) if one != other]


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
