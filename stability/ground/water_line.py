"""A phreatic line through points, level beyond its ends.

Pore pressure is hydrostatic below it: γ_w times the depth below the line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.points import Line
from slipmargin.strength import Notice, Numeric

__all__ = [
    "HYDROSTATIC",
    "NO_WATER",
    "WATER_LINE_SHORT",
    "SlopeWater",
    "WaterLineInputs",
    "WaterWeightInputs",
    "high_pore_pressure_ratio",
]

Array = NDArray[np.float64]

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


def high_pore_pressure_ratio(ratio: Numeric) -> Iterator[Notice]:
    """The notice owed where a pore pressure ratio is more than water up to the ground gives."""
    most = float(np.max(ratio))
    if most > _HIGH_RATIO:
        yield Notice.caution(
            "high-pore-pressure-ratio",
            f"A pore pressure ratio of {most:.2g} is more than still water up to the ground would "
            "give, about 0.5. Check where it comes from.",
        )


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class WaterWeightInputs:
    """The weight of water, given once for a whole scenario."""

    __slots__ = ()

    water_unit_weight: Annotated[
        Numeric, Amount("unit_weight", "γ_w", "Unit weight of water.", above=0.0, everywhere=True)
    ] = 9.81


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
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
class SlopeWater:
    """The water of a slope: ``line`` as given, or none; the level of the pool [m].

    ``rise`` [m] raises the line as a whole; it and ``pool`` are scalars or arrays that broadcast
    with the places that are asked for.
    """

    line: Line | None
    rise: Numeric
    pool: Numeric

    def in_slope(self, x: Array, ground: Array) -> Array:
        """Height of the water in the slope [m] over x [m], where the ground stands so high: that
        of the line, no higher than the ground, and nowhere lower than the pool, since ground that
        a pool has stood against fills from it.
        """
        if self.line is None:
            return self.pool + np.zeros_like(x)
        # water that would stand above the ground runs off
        line: Array = np.minimum(self.line.level(x) + self.rise, ground)
        return np.maximum(line, self.pool)
