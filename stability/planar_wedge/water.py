"""Water in and against a slope with a planar wedge: a phreatic line and a pool.

The water in the slope stands at the phreatic line, no higher than the ground, and nowhere lower
than the pool: ground that a pool has stood against fills from it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.points import Line
from slipmargin.stability.planar_wedge.ground import Slope
from slipmargin.strength import Numeric

__all__ = ["SlopeWater"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SlopeWater:
    """The water of a slope: ``line`` as given, or none; the level of the pool [m], 0 for none.

    ``line_rise`` [m] raises the line as a whole; it and ``pool`` are scalars or of shape (n,).
    """

    line: Line | None
    line_rise: Numeric
    pool: Numeric

    def levels(self, x: Array) -> tuple[Array, ...]:
        """Height over x [m] of the phreatic line and of the pool, as far as there are any."""
        found: list[Array] = []
        if self.line is not None:
            found.append(np.asarray(self.line.level(x) + self.line_rise))
        if np.any(np.asarray(self.pool) > 0.0):
            found.append(np.asarray(self.pool + np.zeros_like(x)))
        return tuple(found)

    def in_slope(self, x: Array, ground: Array) -> Array:
        """Height of the water in the slope [m] over x [m], where the ground stands so high."""
        if self.line is None:
            return self.pool + np.zeros_like(x)
        line: Array = np.minimum(self.line.level(x) + self.line_rise, ground)
        return np.maximum(line, self.pool)

    def reaches_ground(self, slope: Slope) -> bool:
        """Whether a line that was raised stands at the ground or above it anywhere."""
        if self.line is None or not np.any(np.asarray(self.line_rise) > 0.0):
            return False
        slope = slope.taken((slice(None), None))
        rise = np.asarray(self.line_rise, dtype=float).reshape(-1, 1)
        places = (slope.corners_x, self.line.x[(self.line.x > 0.0) & (self.line.x <= slope.end_x)])
        return any(bool(np.any(self.line.level(x) + rise > slope.ground_y(x))) for x in places)
