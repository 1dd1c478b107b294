"""Design values of an infinite slope on a curved envelope, by root of the factor itself."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.infinite_slope.column import floating, infinite_slope
from slipmargin.stability.infinite_slope.inputs import InfiniteSlopeInputs
from slipmargin.strength import Numeric

__all__ = ["along_curve"]

_HALVINGS = 100


def along_curve(slope: InfiniteSlopeInputs) -> dict[str, Numeric]:
    """Design values of a curved envelope, by root of the factor itself.

    A curve has no cohesion or angle of its own to ask for, so these are nan.
    """
    level = np.asarray(1.0 if slope.target is None else slope.target, dtype=float)
    now = infinite_slope(slope)
    shape = np.broadcast_shapes(np.shape(now.factor_of_safety), level.shape)
    nothing = np.full(shape, np.nan)[()]

    def where(field: str, level: Numeric, low: Numeric, high: Numeric) -> Numeric:
        """Value of one field at which the factor is a level; nan where there is none between.

        By halving, with every slope in every step: any of the inputs may be an array.
        """

        def gap(value: Numeric) -> NDArray[np.float64]:
            moved: Any = dataclasses.replace(slope, **{field: value})  # type: ignore[arg-type]
            return np.broadcast_to(infinite_slope(moved).factor_of_safety - level, shape)

        low, high = (np.broadcast_to(np.asarray(end, dtype=float), shape) for end in (low, high))
        at_low = gap(low)
        crossed = at_low * gap(high) <= 0.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            if np.all((middle == low) | (middle == high)):
                break
            near = gap(middle) * at_low > 0.0
            low, high = np.where(near, middle, low), np.where(near, high, middle)
        return np.where(crossed, high, np.nan)[()]

    # a push into the slope of W tan β leaves nothing to drive the layer
    share = now.column_weight / (now.column_weight + floating(slope) * np.asarray(slope.depth))
    inward = -0.999999 * np.tan(np.radians(slope.slope_angle)) * share
    return {
        "required_friction_angle": nothing,
        "required_cohesion": nothing,
        "spare_strength": nothing,
        "yield_seismic_coefficient": where("horizontal_seismic_coefficient", 1.0, inward, 2.0),
        "critical_depth": where("depth", level, 1e-6, 1e4),
        "critical_water_table_depth": (
            nothing if slope.submerged else where("water_table_depth", level, 0.0, slope.depth)
        ),
    }
