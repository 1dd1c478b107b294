"""Ground given as a line of points, as a planar wedge sees it.

The slip plane starts at the first point, the toe, and counts as far as the place where it
first daylights. A piece of ground hidden from the toe behind the ground in front of it ends
no plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.points import read_ground
from slipmargin.stability.planar_wedge.geometry import (
    CLOSED,
    Block,
    Pencil,
    StraightSlope,
    between,
    cracked_pencil,
)
from slipmargin.strength import InputError, Numeric

__all__ = ["GroundLine", "Slope", "runs_out"]

Array = NDArray[np.float64]

_ROUNDING = 1e-12
_ALONG = 1e-3  # a plane no steeper than that runs along the upper slope [deg]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundLine:
    """Ground given as points from the toe upward, the toe at the origin.

    ``x``, ``y`` [m] are its points, ``area`` [m²] what lies below the ground up to each of them,
    and ``free`` the gradient of the steepest plane that stays in the ground that far. The crest
    is the point that stands highest above the straight line from the toe to the last point; the
    ground behind it has a mean angle, 0 where it falls. See ``geometry`` for the rest.
    """

    x: Array
    y: Array
    area: Array
    free: Array
    height: float
    face_angle: float
    upper_slope_angle: float
    flattest_out: float
    crest_x: float
    end_x: float

    @classmethod
    def of(cls, points: Any) -> GroundLine:
        """Ground line from points as given; ``InputError``: not at least three points (x, y), not
        left to right, crossing itself, or not rising from the toe to the crest.
        """
        place = "ground_line"
        line = read_ground(points, 3)
        x, y = (line - line[0]).T
        if y[1] <= 0.0 or x[-1] <= 0.0 or np.any(y[1:] < 0.0):
            raise InputError(place, points, "the first point is the toe; the ground rises from it")
        crest = int(np.argmax(y * x[-1] - x * y[-1]))
        if crest == 0:
            raise InputError(place, points, "the ground must rise above the line from toe to end")
        with np.errstate(divide="ignore", invalid="ignore"):
            gradients = y / x
        gradients[0] = np.inf
        free = np.minimum.accumulate(gradients)
        climb = max(y[-1] - y[crest], 0.0)
        return cls(
            x=x,
            y=y,
            area=np.concatenate(([0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2.0))),
            free=free,
            height=float(y[crest]),
            face_angle=float(np.degrees(np.arctan2(y[1], x[1]))),
            upper_slope_angle=float(np.degrees(np.arctan2(climb, x[-1] - x[crest]))),
            flattest_out=float(np.degrees(np.arctan(free[-1]))),
            crest_x=float(x[crest]),
            end_x=float(x[-1]),
        )

    @property
    def corners_x(self) -> Array:
        """Where the ground bends [m], one column a corner."""
        return self.x[None, :]

    def taken(self, _part: Any) -> GroundLine:
        """The same line: it holds no samples."""
        return self

    def ground_y(self, x: Numeric) -> Numeric:
        """Height of the ground [m]."""
        return np.interp(x, self.x, self.y)

    def daylight_x(self, gradient: Numeric) -> Numeric:
        """Where a plane first daylights [m]; ``inf`` where it does not."""
        m = np.asarray(gradient, dtype=float)
        # a plane through a point stays there, whatever rounding its angle has been through
        after = np.searchsorted(-self.free, -m * (1.0 + _ROUNDING), side="left")
        last = self.x.size - 1
        k = np.clip(after, 1, last)
        x0, y0, x1, y1 = self.x[k - 1], self.y[k - 1], self.x[k], self.y[k]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.minimum((m * x0 - y0) / (y1 - y0 - m * (x1 - x0)), 1.0)
        return np.where(after <= last, x0 + share * (x1 - x0), np.inf)

    def block(self, gradient: Numeric, crack_x: Numeric | None) -> Block:
        """What a plane cuts off, ended by a crack at x where one stands in its way."""
        run = self.daylight_x(gradient)
        depth: Numeric = 0.0
        if crack_x is not None:
            cracked = crack_x < run
            run = np.where(cracked, crack_x, run)
            depth = np.where(cracked, self.ground_y(run) - run * gradient, 0.0)
        inside = np.minimum(run, self.end_x)
        k = np.clip(np.searchsorted(self.x, inside, side="left"), 1, self.x.size - 1)
        area = self._in_front(k - 1, inside, self.ground_y(inside))
        area = area - 0.5 * gradient * np.square(inside)
        return Block(self.crest_x, run, area, depth)

    def _in_front(self, k: Any, x: Numeric, y: Numeric) -> Numeric:
        """Area below the ground in front of a place on the piece behind the point ``k`` [m²]."""
        area: Numeric = self.area[k] + 0.5 * (x - self.x[k]) * (self.y[k] + y)
        return area

    def pencils(self, crack_x: Numeric | None) -> tuple[Pencil, ...]:
        """All trial planes: one family for each piece of ground seen from the toe."""
        free = self.free
        found = []
        for k in range(1, self.x.size - 1):
            if free[k + 1] >= free[k]:
                continue
            x, y = self.x[k : k + 2].copy(), self.y[k : k + 2].copy()
            # a part of the piece may lie hidden behind the ground in front of it
            if x[0] > 0.0 and y[0] > free[k] * x[0]:
                share = (free[k] * x[0] - y[0]) / (y[1] - y[0] - free[k] * (x[1] - x[0]))
                x[0], y[0] = x[0] + share * (x[1] - x[0]), y[0] + share * (y[1] - y[0])
            high: Numeric = 1.0
            if crack_x is not None:
                high = np.clip((crack_x - x[0]) / (x[1] - x[0]), -1.0, 1.0)
            found.append(
                Pencil(
                    x=between(*x),
                    y=between(*y),
                    area=between(*(self._in_front(k, x, y) - 0.5 * x * y)),
                    divisor=(1.0, 0.0),
                    crack_depth=None,
                    low=CLOSED,
                    high=high,
                )
            )
        if crack_x is not None:
            at = np.searchsorted(self.x, crack_x, side="right") - 1
            top = self.ground_y(crack_x)
            # a plane that only just clears a point in front would count as ending there
            steepest = np.minimum(top / crack_x, free[at] * (1.0 - CLOSED))
            in_front, least = self._in_front(at, crack_x, top), self.upper_slope_angle
            found.append(cracked_pencil(crack_x, top, in_front, steepest=steepest, least=least))
        return tuple(found)


Slope = StraightSlope | GroundLine


def runs_out(slope: Slope, plane_angle: Numeric) -> NDArray[np.bool_]:
    """Whether a plane [deg] runs along the upper slope without end."""
    return np.less(plane_angle, slope.upper_slope_angle + _ALONG)
