"""The base of a wall: from the forces on it to its reaction, sliding and bearing."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipmargin.stability.retaining_wall.bearing_capacity import (
    BearingCapacity,
    Footing,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.equilibrium import ACTIONS, Force, add_up, base_reaction
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.strength import Numeric

__all__ = ["base_values", "bearing_values", "footing_below"]


def base_values(
    wall: RetainingWallInputs, acting: Any, further: tuple[Force, ...] = ()
) -> dict[str, Numeric]:
    """From the forces to the factors: sums, reaction of the base, sliding and bearing, by the
    names of the values; ``acting`` has those that come before, ``further`` are forces beside them.
    """
    v, width = acting, acting.base_width
    usual = [one.force(v) for one in ACTIONS if not one.opposite]
    sums = add_up([*usual, *further], [one.force(v) for one in ACTIONS if one.opposite])
    down, out, righting, turning = sums.vertical, sums.horizontal, sums.righting, sums.overturning
    reaction = base_reaction(down, righting, turning, width)
    footing = footing_below(wall, v)
    bearing, pressure, bearing_factor = _pressed(footing, down, out, reaction.effective_width)
    down_with_toe = down + v.toe_soil_weight
    right_with_toe = righting + v.toe_soil_weight * v.toe_soil_arm
    with_toe = base_reaction(down_with_toe, right_with_toe, turning, width)
    bearing_with_toe, _, factor_with_toe = _pressed(
        footing, down_with_toe, out, with_toe.effective_width
    )

    # where no angle is given, 2/3 of that below the base: Das, ch. 8
    friction = 2.0 * wall.foundation.strength.friction_angle / 3.0
    if wall.base_friction_angle is not None:
        friction = +wall.base_friction_angle
    base = np.maximum(down, 0.0) * np.tan(np.radians(friction)) + wall.base_adhesion * width
    resistance = base + wall.passive_fraction * v.passive_resistance
    allowable = wall.allowable_bearing
    return {
        "vertical_force": down,
        "horizontal_force": out,
        "righting_moment": righting,
        "overturning_moment": turning,
        "resultant_distance": reaction.resultant_distance,
        "eccentricity": reaction.eccentricity,
        "effective_width": reaction.effective_width,
        "toe_pressure": reaction.toe_pressure,
        "heel_pressure": reaction.heel_pressure,
        "bearing_pressure": pressure,
        "sliding_friction_angle": friction,
        "base_resistance": base,
        "sliding_resistance": resistance,
        "load_inclination": np.degrees(np.arctan2(out, down)),
        **bearing_values(footing, bearing, bearing_with_toe),
        "effective_width_with_toe_soil": with_toe.effective_width,
        "bearing_factor_with_toe_soil": factor_with_toe,
        "allowable_share": (
            np.nan if allowable is None else _over(allowable, reaction.toe_pressure)
        ),
        "factor_sliding": _over(resistance, out),
        "factor_overturning": _over(righting, turning),
        "factor_bearing": bearing_factor,
    }


def _over(resistance: Numeric, drive: Numeric) -> Numeric:
    """Their quotient; inf where nothing drives."""
    still = drive <= 0.0
    with np.errstate(over="ignore"):
        return np.where(still, np.inf, resistance / np.where(still, 1.0, drive))


def footing_below(wall: RetainingWallInputs, values: Any) -> Footing:
    """The base of a wall as a footing; of ``values`` its width, the water in front and the depth
    of the water table below it are read.
    """
    soil, width = wall.foundation, values.base_width
    buoyant = soil.weight_below_water - wall.water_unit_weight
    wet = np.minimum(values.water_height_in_front, wall.embedment)
    unit_weight = +soil.unit_weight  # a number of its own, with its own symbol
    if wall.water_table_depth is not None:
        unit_weight = unit_weight_below_base(
            unit_weight, buoyant, values.water_depth_below_base, width
        )
    return Footing.of(
        wall.bearing_method,
        friction_angle=soil.strength.friction_angle,
        cohesion=soil.strength.cohesion,
        overburden=soil.unit_weight * (wall.embedment - wet) + buoyant * wet,
        unit_weight=unit_weight,
        width=width,
        depth=wall.embedment if wall.bearing_depth_factors else None,
        ground_fall=wall.ground_fall_in_front,
    )


def _pressed(
    footing: Footing, vertical: Numeric, horizontal: Numeric, effective_width: Numeric
) -> tuple[BearingCapacity, Numeric, Numeric]:
    """Capacity; pressure on the effective width [kPa], nan where the resultant leaves the base;
    factor against bearing failure [-], 0 there.
    """
    found = footing.bearing(
        effective_width=effective_width, vertical_force=vertical, horizontal_force=horizontal
    )
    carries = effective_width > 0.0
    pressure = np.where(carries, vertical / np.where(carries, effective_width, 1.0), np.nan)
    return (
        found,
        pressure,
        np.where(carries, found.capacity / np.where(carries, pressure, 1.0), 0.0),
    )


def bearing_values(
    footing: Footing, alone: BearingCapacity, with_toe: BearingCapacity
) -> dict[str, Numeric]:
    """What stands of the bearing in the values of a wall, by their names."""
    terms = {
        "bearing_factor_{}": alone.factors,
        "shape_factor_{}": alone.shape,
        "depth_factor_{}": alone.depth,
        "ground_factor_{}": alone.ground,
        "inclination_factor_{}": alone.inclination,
        "inclination_factor_{}_with_toe_soil": with_toe.inclination,
    }
    return {
        "overburden": footing.overburden,
        "unit_weight_below_base": footing.unit_weight,
        "bearing_capacity": alone.capacity,
        "bearing_capacity_with_toe_soil": with_toe.capacity,
    } | {
        name.format(term): getattr(three, term)
        for name, three in terms.items()
        for term in ("overburden", "cohesion", "weight")
    }
