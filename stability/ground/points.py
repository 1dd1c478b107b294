"""A line of points as it is given, read and held against what a line can be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import InputError, Notice

__all__ = ["GROUND_LINE_SHORT", "Line", "read_ground", "read_points", "run_to_the_right"]

GROUND_LINE_SHORT = Notice.caution(
    "ground-line-short",
    "The worst surface reaches beyond the ground line, which was taken to go on level at both "
    "ends. Add points there.",
)


def read_points(place: str, given: Any, fewest: int) -> NDArray[np.float64]:
    """Points [m] of shape (n, 2), of a field named ``place`` that holds what is ``given``;
    ``InputError``: not the ``fewest`` finite points (x, y) that make such a line.
    """
    try:
        line = np.asarray(given, dtype=float)
    except (TypeError, ValueError):
        raise InputError(place, given, "give points as [[x, y], ...] in metres") from None
    if (
        line.ndim != 2
        or line.shape[0] < fewest
        or line.shape[1] != 2
        or not np.isfinite(line).all()
    ):
        raise InputError(place, given, f"give at least {fewest} points [x, y] in metres")
    return line


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points [m] from left to right, level beyond its ends."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]

    @classmethod
    def of(cls, place: str, given: Any) -> Line:
        """A line from the points that a field named ``place`` holds; ``InputError``: not a point
        (x, y), or points that do not run from left to right.
        """
        x, y = read_points(place, given, 1).T
        if np.any(np.diff(x) <= 0.0):
            allowed = "points run from left to right, each further than the last"
            raise InputError(place, given, allowed)
        return cls(x, y)

    def level(self, x: Any) -> NDArray[np.float64]:
        """Height of the line [m] over x [m] of any shape."""
        level: NDArray[np.float64] = np.interp(x, self.x, self.y)
        return level


def run_to_the_right(given: Any, fewest: int) -> NDArray[np.float64]:
    """The points [m] of a ``ground_line``, shape (n, 2), faces upright or not; ``InputError``: not
    that many finite points (x, y), or not from left to right.
    """
    line = read_points("ground_line", given, fewest)
    steps = np.diff(line, axis=0)
    if np.any(steps[:, 0] < 0.0) or np.any(np.all(steps == 0.0, axis=1)):
        raise InputError("ground_line", given, "points run from left to right, none twice")
    return line


def read_ground(given: Any, fewest: int) -> NDArray[np.float64]:
    """The same; ``InputError`` also for a line that crosses or touches itself."""
    from shapely import LineString  # noqa: PLC0415  (a plain slope needs none of it)

    line = run_to_the_right(given, fewest)
    if not LineString(line).is_simple:
        raise InputError("ground_line", given, "the ground line must not touch itself")
    return line
