"""A line of points as it is given, read and held against what a line can be."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import InputError

__all__ = ["read_points", "touches_itself"]


def read_points(place: str, given: Any, fewest: int) -> NDArray[np.float64]:
    """Points [m] of shape (n, 2).

    Parameters
    ----------
    place
        Name of the field, for the message.
    given
        What it holds.
    fewest
        Least number of points that make such a line.

    Raises
    ------
    InputError
        Not that many finite points (x, y).
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


def touches_itself(line: NDArray[np.float64]) -> bool:
    """Whether a line of points, shape (n, 2), crosses or touches itself."""
    from shapely import LineString  # noqa: PLC0415  (a plain slope needs none of it)

    return not LineString(line).is_simple
