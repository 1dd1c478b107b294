"""A phreatic line through points, level beyond its ends, raised or lowered as a whole.

Pore pressure is hydrostatic below it: γ_w times the depth below the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.points import read_points
from slipmargin.strength import InputError, Numeric

__all__ = ["WaterLine", "WaterLineInputs", "WaterWeightInputs", "level_over"]


@dataclass(frozen=True, kw_only=True)
class WaterWeightInputs:
    """The weight of water, given once for a whole scenario."""

    __slots__ = ()

    water_unit_weight: Annotated[
        Numeric, Amount("unit_weight", "γ_w", "Unit weight of water.", above=0.0, everywhere=True)
    ] = 9.81


@dataclass(frozen=True, kw_only=True)
class WaterLineInputs:
    """A phreatic line and how far it is raised; the rise a scalar or an array."""

    __slots__ = ()

    water_line: Annotated[
        Any,
        fields.Ground(
            "Phreatic line from left to right, instead of a pore pressure ratio; it goes on level "
            "at both ends."
        ),
    ] = None
    water_line_rise: Annotated[
        Numeric,
        Amount(
            "length",
            "Δ_w",
            "Raises the water line as a whole, no higher than the ground; below zero lowers it.",
        ),
    ] = 0.0


def level_over(x: Numeric, points_x: Numeric, points_y: Numeric) -> Numeric:
    """Height of a line through points [m] over x [m], level beyond its ends."""
    return np.interp(x, points_x, points_y)


@dataclass(frozen=True, slots=True)
class WaterLine:
    """A phreatic line through points [m], level beyond its ends.

    ``rise`` [m] raises it as a whole: a scalar, or an array that broadcasts with the places
    asked for.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    rise: Numeric = 0.0

    @classmethod
    def of(cls, given: Any, rise: Numeric = 0.0, place: str = "water_line") -> WaterLine:
        """A line from points as given.

        Raises
        ------
        InputError
            Not a point (x, y), or points that do not run from left to right.
        """
        line = read_points(place, given, 1)
        if np.any(np.diff(line[:, 0]) <= 0.0):
            raise InputError(
                place, given, "points run from left to right, each further than the last"
            )
        return cls(line[:, 0], line[:, 1], rise)

    def level(self, x: Numeric) -> Numeric:
        """Height of the line [m] over x [m]."""
        return level_over(x, self.x, self.y) + self.rise
