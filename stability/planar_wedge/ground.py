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

from slipmargin.stability.ground.points import read_points, touches_itself
from slipmargin.stability.planar_wedge.geometry import (
    CLOSED,
    Block,
    Pencil,
    between,
    cracked_pencil,
)
from slipmargin.strength import InputError, Numeric

__all__ = ["GroundLine"]

_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class GroundLine:
    """Ground given as points [m], shape (n, 2), from the toe upward, the toe at the origin.

    The crest is the point that stands highest above the straight line from the toe to the
    last point.
    """

    points: NDArray[np.float64]

    @classmethod
    def of(cls, points: Any) -> GroundLine:
        """Ground line from points as given.

        Raises
        ------
        InputError
            Not at least three points (x, y), not left to right, crossing itself, or not
            rising from the toe to the crest.
        """
        place = "ground_line"
        line = read_points(place, points, 3)
        line = line - line[0]
        steps = np.diff(line, axis=0)
        if np.any(steps[:, 0] < 0.0) or np.any(np.all(steps == 0.0, axis=1)):
            raise InputError(place, points, "points run from left to right, none twice")
        if touches_itself(line):
            raise InputError(place, points, "the ground line must not touch itself")
        if steps[0, 1] <= 0.0 or line[-1, 0] <= 0.0 or np.any(line[1:, 1] < 0.0):
            raise InputError(place, points, "the first point is the toe; the ground rises from it")
        ground = cls(line)
        if ground._crest == 0:
            raise InputError(
                place,
                points,
                "the ground must rise above the line from toe to end",
            )
        return ground

    @property
    def _x(self) -> NDArray[np.float64]:
        return self.points[:, 0]

    @property
    def _y(self) -> NDArray[np.float64]:
        return self.points[:, 1]

    @property
    def _crest(self) -> int:
        return int(np.argmax(self._y * self._x[-1] - self._x * self._y[-1]))

    @property
    def _areas(self) -> NDArray[np.float64]:
        strips = np.diff(self._x) * (self._y[1:] + self._y[:-1]) / 2.0
        areas: NDArray[np.float64] = np.concatenate(([0.0], np.cumsum(strips)))
        return areas

    @property
    def _steepest_free(self) -> NDArray[np.float64]:
        """Gradient of the steepest plane that stays in the ground up to each point."""
        with np.errstate(divide="ignore", invalid="ignore"):
            gradients = self._y / self._x
        gradients[0] = np.inf
        return np.minimum.accumulate(gradients)

    @property
    def rise(self) -> Numeric:
        """Height of the crest above the toe [m]."""
        return float(self._y[self._crest])

    @property
    def crest_x(self) -> Numeric:
        """Horizontal distance from toe to crest [m]."""
        return float(self._x[self._crest])

    @property
    def least_plane(self) -> Numeric:
        """Mean angle of the ground behind the crest, or 0 where it falls [deg]."""
        run, climb = self.points[-1] - self.points[self._crest]
        return float(np.degrees(np.arctan2(max(climb, 0.0), run)))

    @property
    def flattest_out(self) -> Numeric:
        """Angle of the flattest plane that comes out on the ground that is given [deg]."""
        return float(np.degrees(np.arctan(self._steepest_free[-1])))

    @property
    def steepest_plane(self) -> Numeric:
        """Angle of the lowest piece of the face [deg]."""
        return float(np.degrees(np.arctan2(self._y[1], self._x[1])))

    @property
    def corners_x(self) -> NDArray[np.float64]:
        """Where the ground bends [m], one column a corner."""
        return self._x[None, :]

    @property
    def end_x(self) -> float:
        """Where the ground that is given ends [m]."""
        return float(self._x[-1])

    def taken(self, _part: Any) -> GroundLine:
        """The same line: it holds no samples."""
        return self

    def ground_y(self, x: Numeric) -> Numeric:
        """Height of the ground [m]."""
        return np.interp(x, self._x, self._y)

    def daylight_x(self, gradient: Numeric) -> Numeric:
        """Where a plane first daylights [m]; ``inf`` where it does not."""
        m = np.asarray(gradient, dtype=float)
        # a plane through a point stays there, whatever rounding its angle has been through
        after = np.searchsorted(-self._steepest_free, -m * (1.0 + _ROUNDING), side="left")
        last = self._x.size - 1
        k = np.clip(after, 1, last)
        (x0, y0), (x1, y1) = self.points[k - 1].T, self.points[k].T
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
        inside = np.minimum(run, self._x[-1])
        k = np.clip(np.searchsorted(self._x, inside, side="left"), 1, self._x.size - 1)
        x0, y0 = self._x[k - 1], self._y[k - 1]
        area = self._areas[k - 1] + 0.5 * (inside - x0) * (y0 + self.ground_y(inside))
        area = area - 0.5 * gradient * np.square(inside)
        return Block(self.crest_x, run, area, depth)

    def pencils(self, crack_x: Numeric | None) -> tuple[Pencil, ...]:
        """All trial planes: one family for each piece of ground seen from the toe."""
        free = self._steepest_free
        found = []
        for k in range(2, self._x.size):
            if free[k] >= free[k - 1]:
                continue
            (x0, y0), (x1, y1) = self.points[k - 1], self.points[k]
            # a part of the piece may lie hidden behind the ground in front of it
            if x0 > 0.0 and y0 > free[k - 1] * x0:
                share = (free[k - 1] * x0 - y0) / (y1 - y0 - free[k - 1] * (x1 - x0))
                x0, y0 = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            found.append(self._daylighting(np.array([x0, y0]), np.array([x1, y1]), k, crack_x))
        if crack_x is not None:
            at = np.searchsorted(self._x, crack_x, side="right") - 1
            top = self.ground_y(crack_x)
            # a plane that only just clears a point in front would count as ending there
            steepest = np.minimum(top / crack_x, free[at] * (1.0 - CLOSED))
            in_front = self._areas[at] + 0.5 * (crack_x - self._x[at]) * (self._y[at] + top)
            found.append(cracked_pencil(self, crack_x, top, in_front, steepest))
        return tuple(found)

    def _daylighting(
        self, start: NDArray[np.float64], end: NDArray[np.float64], k: int, crack_x: Numeric | None
    ) -> Pencil:
        """The planes that daylight between two points of one piece of ground."""
        high: Numeric = 1.0
        if crack_x is not None:
            high = np.clip((crack_x - start[0]) / (end[0] - start[0]), -1.0, 1.0)
        areas, x, y = self._areas, self._x, self._y
        area_in_front = [
            areas[k - 1] + 0.5 * (point[0] - x[k - 1]) * (y[k - 1] + point[1])
            for point in (start, end)
        ]
        return Pencil(
            x=between(start[0], end[0]),
            y=between(start[1], end[1]),
            area=between(
                area_in_front[0] - 0.5 * start[0] * start[1],
                area_in_front[1] - 0.5 * end[0] * end[1],
            ),
            divisor=(1.0, 0.0),
            crack_depth=None,
            low=CLOSED,
            high=high,
        )
