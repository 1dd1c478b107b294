"""A phreatic line through points, level beyond its ends.

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
from slipmargin.strength import InputError, Notice, Numeric

__all__ = [
    "HYDROSTATIC",
    "NO_WATER",
    "WATER_LINE_SHORT",
    "WaterLine",
    "WaterLineInputs",
    "WaterWeightInputs",
    "high_pore_pressure_ratio",
]

HYDROSTATIC = Notice.info(
    "pressure-below-water-line",
    "Pore pressure is taken as hydrostatic under the water line; suction above it and the easing "
    "of the pressure where flow is inclined are not counted on.",
)

NO_WATER = Notice.caution(
    "no-water-assumed",
    "No water is in this check. Most slides come with rain; run a wet case as well.",
)

WATER_LINE_SHORT = Notice.caution(
    "water-line-short",
    "The worst surface reaches beyond the ends of the water line, which was taken to go on level "
    "there.",
)

_HIGH_RATIO = 0.6  # γ_w/γ is about 0.5 (common practice, no source)


def high_pore_pressure_ratio(ratio: Numeric) -> tuple[Notice, ...]:
    """The notice owed where a pore pressure ratio is more than water up to the ground gives."""
    most = float(np.max(ratio))
    if most <= _HIGH_RATIO:
        return ()
    return (
        Notice.caution(
            "high-pore-pressure-ratio",
            f"A pore pressure ratio of {most:.2g} is more than still water up to the ground would "
            "give, about 0.5. Check where it comes from.",
        ),
    )


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


@dataclass(frozen=True, slots=True)
class WaterLine:
    """A phreatic line through points [m], level beyond its ends."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]

    @classmethod
    def of(cls, given: Any) -> WaterLine:
        """A line from points as given.

        Raises
        ------
        InputError
            Not a point (x, y), or points that do not run from left to right.
        """
        x, y = read_points("water_line", given, 1).T
        if np.any(np.diff(x) <= 0.0):
            raise InputError(
                "water_line", given, "points run from left to right, each further than the last"
            )
        return cls(x, y)

    def level(self, x: Numeric) -> Numeric:
        """Height of the line [m] over x [m]."""
        return np.interp(x, self.x, self.y)
