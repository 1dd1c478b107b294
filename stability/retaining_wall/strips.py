"""Areas and moments of the regions of a wall's section.

Every region is a sum of strips between an upright line and an edge, of the widths a below and b
above over the height h,

    A = (a + b) h / 2,    ∫ (distance from the line) dA = (a² + a b + b²) h / 6,

and the part of it below a water level is the same sum over strips cut off at that level. The
strips of an outline of points stand on its edges, which is Green's theorem.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from slipmargin.strength import Numeric

__all__ = ["Chain", "Region", "Strip", "region", "strips_on"]

Chain = tuple[tuple[Numeric, Numeric], ...]
"""Points (x, y) [m] in order; each coordinate a scalar or an array that broadcasts."""


@dataclass(frozen=True, slots=True)
class Region:
    """A region of the section: area [m²], and its moments ∫ x dA and ∫ y dA [m³]."""

    area: Numeric
    along: Numeric
    up: Numeric

    @property
    def x(self) -> Numeric:
        """Centroid from the toe [m]; 0 where there is no area."""
        return self._arm(self.along)

    @property
    def y(self) -> Numeric:
        """Centroid above the base [m]; 0 where there is no area."""
        return self._arm(self.up)

    def _arm(self, moment: Numeric) -> Numeric:
        some = self.area != 0.0
        return np.where(some, moment / np.where(some, self.area, 1.0), 0.0)


@dataclass(frozen=True, slots=True)
class Strip:
    """What lies between an upright ``line`` [m from the toe] and an edge: behind the line where
    ``toward`` is +1, before it where -1.

    It rises from a ``bottom`` level over a ``height``, with the widths ``lower`` and ``upper``
    at its ends [m], and adds to a region or is taken off.
    """

    line: Numeric
    toward: float
    bottom: Numeric
    height: Numeric
    lower: Numeric
    upper: Numeric
    adds: bool = True

    @classmethod
    def on(
        cls, start: tuple[Any, Any], end: tuple[Any, Any], line: Numeric = 0.0, toward: float = 1.0
    ) -> Strip:
        """On an edge of a chain; one that runs down takes off."""
        (x1, y1), (x2, y2) = start, end
        widths = [toward * (x - line) for x in (x1, x2)]
        if np.all(y2 < y1):
            return cls(line, toward, y2, y1 - y2, widths[1], widths[0], adds=False)
        return cls(line, toward, y1, y2 - y1, widths[0], widths[1])

    @property
    def off(self) -> Strip:
        """The same, taken off."""
        return replace(self, adds=not self.adds)

    def below(self, level: Numeric) -> Strip:
        """Its part below a level [m above the base]."""
        left = level - self.bottom
        held = np.where(left < self.height, np.maximum(left, 0.0), self.height)
        cut = (held < self.height) & (self.lower != self.upper)
        share = held / np.where(self.height > 0.0, self.height, 1.0)
        upper = np.where(cut, self.lower + (self.upper - self.lower) * share, self.upper)
        return replace(self, height=held, upper=upper)

    def region(self) -> Region:
        """Its area and moments."""
        a, b, height = self.lower, self.upper, self.height
        even = a == b
        area = np.where(even, a * height, (a + b) / 2.0 * height)
        reach = np.where(even, a**2 / 2.0 * height, (a**2 + a * b + b**2) / 6.0 * height)
        rise = np.where(even, a / 2.0 * height**2, (a + 2.0 * b) / 6.0 * height**2)
        along = self.line * area + reach if self.toward > 0.0 else self.line * area - reach
        return Region(area, along, self.bottom * area + rise)


def region(strips: Sequence[Strip], below: Numeric | None = None) -> Region:
    """The region that strips side by side or on top of each other make up, or what of it lies
    ``below`` a level [m].
    """
    area: Numeric = 0.0
    along: Numeric = 0.0
    up: Numeric = 0.0
    for strip in strips:
        one = (strip if below is None else strip.below(below)).region()
        if strip.adds:
            area, along, up = area + one.area, along + one.along, up + one.up
        else:
            area, along, up = area - one.area, along - one.along, up - one.up
    return Region(area, along, up)


def strips_on(chain: Chain, line: Numeric = 0.0, toward: float = 1.0) -> tuple[Strip, ...]:
    """The strips between an upright line and the edges of a chain."""
    return tuple(Strip.on(start, end, line, toward) for start, end in pairwise(chain))
