"""What the sliders of a page hold: factors over a grid of strengths, and how they interpolate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.factor_text import factor_text

__all__ = ["NO_LIMIT", "Floats", "SliderData", "SliderRow", "between"]

Floats = NDArray[np.float64]

NO_LIMIT = -1.0
"""Stands in the grid where nothing drives the movement; no factor is below zero."""


@dataclass(frozen=True, slots=True)
class SliderRow:
    """One factor over the grid.

    Parameters
    ----------
    label, state
        Check and limit state.
    target, asked, used
        Factor asked for, as a number and in words, and the program's own at the strengths used.
    grid
        Rows of cohesion, columns of friction angle; nan where the theory has no answer,
        ``NO_LIMIT`` where nothing drives the movement.
    bounds
        Largest relative difference between interpolated and computed factor at any place
        the sliders can stand, for each interval between two cohesions, shape (m - 1,).
    """

    label: str
    state: str
    target: float | None
    asked: str
    used: float
    grid: Floats
    bounds: Floats

    @property
    def bound(self) -> float:
        """The largest of the bounds."""
        return float(np.max(self.bounds))

    @property
    def used_text(self) -> str:
        """The program's own factor as it is printed."""
        return factor_text(self.used)


@dataclass(frozen=True, slots=True)
class SliderData:
    """The sliders of one soil; axes [kPa] and [deg] are those of the grid.

    ``cohesionless`` tells what must be said beside the sliders; ``not_interpolated`` names
    factors that the grid does not hold, with their value as used.
    """

    soil: str
    cohesion: Floats
    friction_angle: Floats
    used: tuple[float, float]
    cohesionless: bool
    rows: tuple[SliderRow, ...]
    not_interpolated: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """What the page holds; numbers as short as their error bound allows."""
        return {
            "soil": self.soil,
            "cohesion": self.cohesion.tolist(),
            "friction_angle": self.friction_angle.tolist(),
            "used": list(self.used),
            "rows": [
                {
                    "label": row.label,
                    "state": row.state,
                    "target": row.target,
                    "used": row.used if math.isfinite(row.used) else None,
                    "used_text": row.used_text,
                    "bounds": [math.ceil(bound * 1e6) / 1e6 for bound in row.bounds],
                    "grid": [
                        [None if math.isnan(value) else value for value in line]
                        for line in row.grid.tolist()
                    ],
                }
                for row in self.rows
            ],
        }


def between(grid: Floats) -> Floats:
    """Bilinear interpolation halfway between nodes, as the page does it.

    Of a grid of shape (m, n), as in ``SliderRow``, or one of its axes, shape (m,), it has the shape
    (2 m - 1, 2 n - 1), or (2 m - 1,); nan where a neighbour has no factor, or not all have a limit.
    """
    held = np.where(grid == NO_LIMIT, np.nan, grid)
    for axis in range(grid.ndim):
        lines = np.moveaxis(held, axis, 0)
        fine = np.empty((2 * lines.shape[0] - 1, *lines.shape[1:]))
        fine[::2] = lines
        fine[1::2] = (lines[:-1] + lines[1:]) / 2.0
        held = np.moveaxis(fine, 0, axis)
    return held
