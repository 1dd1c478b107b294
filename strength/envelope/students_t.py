"""Student's t in two variates: its draws, its spread, and its regions of confidence.

The squared distance r² of a pair from the centre, in units of the scale, is exceeded with the
probability (1 + r² / ν)^(-ν/2), and all directions are alike.

Source: r²/2 follows F(2, ν); Kotz & Nadarajah, Multivariate t-distributions (2004), from memory.
"""

from __future__ import annotations

import math

import numpy as np
import scipy
from numpy.typing import NDArray

__all__ = ["Bivariate", "drawn_t", "outline"]

Floats = NDArray[np.float64]


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
        """Pairs for points of the unit square.

        The points have the shape (n, 2), each number strictly between 0 and 1; evenly spread
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

    For points of the unit square, shape (n, 2), each strictly between 0 and 1: the probability
    of a larger distance, and the direction as a share of a full turn.
    """
    nu, (beyond, turned) = degrees_of_freedom, uniforms.T
    distance = np.sqrt(nu * np.expm1(-2.0 / nu * np.log(beyond)))
    turn = 2.0 * np.pi * turned
    return np.stack([distance * np.cos(turn), distance * np.sin(turn)], axis=1)
