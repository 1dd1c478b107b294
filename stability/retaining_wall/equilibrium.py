"""Forces on a wall, their sum, the reaction under its base, and sliding and bearing there.

Axes as in the section: x from the toe towards the fill, y up from the underside. A force
usually pushes outward (towards the toe) and downward. Moments are about the toe.

    x_R = (M_r - M_o) / V,    e = B/2 - x_R,    B′ = B - 2 |e|
    p = V/B (1 ± 6 e / B) within the middle third, else a triangle 3 (B/2 - |e|) long
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability.retaining_wall.bearing_capacity import (
    BearingCapacity,
    Footing,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.strength import Numeric

__all__ = [
    "ACTIONS",
    "Action",
    "BaseReaction",
    "Force",
    "Sums",
    "add_up",
    "base_reaction",
    "base_values",
    "bearing_values",
    "footing_below",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A force on a metre of wall [kN/m] and where it acts [m].

    Both parts are sizes. A usual force pushes outward and presses down, as weights, thrusts and
    inertia do; an ``opposite`` one pushes inward or lifts, as water in front and uplift do.
    """

    horizontal: Numeric = 0.0
    vertical: Numeric = 0.0
    x: Numeric = 0.0
    y: Numeric = 0.0
    opposite: bool = False


@dataclass(frozen=True, slots=True)
class Action:
    """What acts on a wall, by the names of its values: its parts, their arms, and the group whose
    partial factor it takes.

    ``triangle``: its height is a third of the one that is named. ``opposite``: see :class:`Force`.
    """

    group: str
    horizontal: str = ""
    vertical: str = ""
    x: str = ""
    y: str = ""
    triangle: bool = False
    opposite: bool = False

    def force(self, values: Any) -> Force:
        """The force with its numbers."""
        along, down, x, y = (
            getattr(values, name) if name else 0.0
            for name in (self.horizontal, self.vertical, self.x, self.y)
        )
        y = y / 3.0 if self.triangle else y
        return Force(horizontal=along, vertical=down, x=x, y=y, opposite=self.opposite)


def _mass(group: str, name: str) -> Action:
    """The weight of a part and its shaking."""
    return Action(
        group, f"{name}_inertia", f"{name}_weight", f"{name}_arm", f"{name}_centroid_height"
    )


def _thrust(name: str) -> Action:
    """A thrust on the plane, which leans."""
    return Action(
        "ground", f"{name}_horizontal", f"{name}_vertical", f"{name}_arm", f"{name}_height"
    )


ACTIONS = (
    _mass("wall", "wall"),
    _mass("ground", "heel_soil"),
    Action("wall", "key_inertia", "key_weight", "key_arm"),
    # the thrust on a key and its shaking act below the toe and are left out of the moments
    Action("ground", "key_thrust"),
    _thrust("thrust"),
    _thrust("thrust_increment"),
    Action(
        "water",
        "water_thrust",
        "water_on_back",
        "water_on_back_arm",
        "water_height_behind",
        triangle=True,
    ),
    Action("water", vertical="water_on_toe", x="water_on_toe_arm"),
    Action("water", "moving_water_behind", y="moving_water_behind_height"),
    Action("water", "moving_water_in_front", y="moving_water_in_front_height"),
    Action("load", "load_thrust", y="load_thrust_height"),
    Action("water", vertical="uplift", x="uplift_arm", opposite=True),
    Action(
        "water", "water_thrust_in_front", y="water_height_in_front", triangle=True, opposite=True
    ),
)
"""Every action on a wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """Sums of the forces [kN/m] and of their moments about the toe [kN·m/m].

    Neither moment is a difference: uplift is overturning, water in front is righting.
    """

    vertical: Numeric
    horizontal: Numeric
    righting: Numeric
    overturning: Numeric


@dataclass(frozen=True, kw_only=True)
class BaseReaction:
    """What the ground gives back: nan where the resultant leaves the base, or nothing presses.

    The resultant is measured from the toe, its eccentricity from the middle of the base,
    positive toward the toe [m]; B′ is 0 where the resultant leaves the base [m]; pressures are
    those at the edges [kPa].
    """

    resultant_distance: Numeric
    eccentricity: Numeric
    effective_width: Numeric
    toe_pressure: Numeric
    heel_pressure: Numeric


def add_up(forces: Iterable[Force]) -> Sums:
    """Forces and their moments, added up."""
    down: Numeric = 0.0
    out: Numeric = 0.0
    righting: Numeric = 0.0
    turning: Numeric = 0.0
    for one in forces:
        across, along = one.vertical * one.x, one.horizontal * one.y
        if one.opposite:
            down, out = down - one.vertical, out - one.horizontal
            righting, turning = righting + along, turning + across
        else:
            down, out = down + one.vertical, out + one.horizontal
            righting, turning = righting + across, turning + along
    return Sums(vertical=down, horizontal=out, righting=righting, overturning=turning)


def base_reaction(
    vertical: Numeric, righting: Numeric, overturning: Numeric, width: Numeric
) -> BaseReaction:
    """Reaction of a level base of width B [m] that takes no tension, under V [kN/m] and the sums of
    moments about the toe [kN·m/m].
    """
    half, presses = width / 2.0, vertical > 0.0
    distance = np.where(
        presses, (righting - overturning) / np.where(presses, vertical, 1.0), np.nan
    )
    eccentricity = half - distance
    carries = presses & (np.abs(eccentricity) < half)
    within = np.where(carries, eccentricity, 0.0)
    mean, tilt = vertical / width, 6.0 * within / width
    toe = np.maximum(mean * (1.0 + tilt), 0.0)
    heel = np.maximum(mean * (1.0 - tilt), 0.0)
    toe = np.where(tilt > 1.0, 2.0 * vertical / (3.0 * (half - within)), toe)
    heel = np.where(tilt < -1.0, 2.0 * vertical / (3.0 * (half + within)), heel)
    return BaseReaction(
        resultant_distance=distance,
        eccentricity=eccentricity,
        effective_width=np.where(carries, width - 2.0 * np.abs(within), 0.0),
        toe_pressure=np.where(carries, toe, np.nan),
        heel_pressure=np.where(carries, heel, np.nan),
    )


def base_values(
    wall: RetainingWallInputs, acting: Any, further: tuple[Force, ...] = ()
) -> dict[str, Numeric]:
    """From the forces to the factors: sums, reaction of the base, sliding and bearing, by the
    names of the values; ``acting`` has those that come before, ``further`` are forces beside them.
    """
    v, width = acting, acting.base_width
    sums = add_up([*(one.force(v) for one in ACTIONS), *further])
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
        **vars(reaction),
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
    return Footing(
        method=wall.bearing_method,
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
        "depth_factor_{}": footing.deep,
        "ground_factor_{}": footing.ground,
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
