"""The forces on a retaining wall and what follows from them: the kernel of the check.

From the section and the soils to the thrust, the weights, the water, the sums, the reaction
of the base, and the three factors. The rules are stated in :mod:`stability.retaining_wall.check`.
"""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.retaining_wall.bearing_capacity import (
    BearingCapacity,
    Footing,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.equilibrium import (
    Force,
    add_up,
    base_reaction,
)
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import Region, WallSection
from slipmargin.stability.retaining_wall.thrust import (
    ThrustPlane,
    key_thrust,
    passive_resistance,
    wall_thrust,
)
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Numeric

__all__ = ["bearing_values", "follow_balance", "footing_below", "retaining_wall"]


def _weight(
    above: Numeric, below: Numeric, whole: Region, wet: Region
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Weight of a region partly under water, and its centre."""
    extra = np.asarray(below) - above
    weight = above * whole.area + extra * wet.area
    some = weight != 0.0
    divisor = np.where(some, weight, 1.0)
    x = (above * whole.area * whole.x + extra * wet.area * wet.x) / divisor
    y = (above * whole.area * whole.y + extra * wet.area * wet.y) / divisor
    return weight, np.where(some, x, 0.0), np.where(some, y, 0.0)


def retaining_wall(
    wall: RetainingWallInputs, section: WallSection | None = None
) -> RetainingWallValues:
    """The pure computation: every field a scalar or an array that broadcasts.

    Where the theory has no answer the values that hang on it are nan.
    """
    section = wall.section() if section is None else section
    backfill, foundation, k_h = (
        wall.backfill,
        wall.foundation,
        wall.horizontal_seismic_coefficient,
    )
    gamma_w, width = wall.water_unit_weight, section.width
    dry = wall.water_table_depth is None
    behind, before, below_base = _water_levels(wall, section)

    plane = ThrustPlane.of(wall, section)
    thrust = wall_thrust(wall, plane, behind)
    theory, least, beside = thrust.theory, thrust.minimum, thrust.beside
    cos, sin = np.cos(np.radians(plane.inclination)), np.sin(np.radians(plane.inclination))

    if wall.theory == "rankine":
        whole = section.heel_soil(wall.backfill_slope_angle)
        wet = section.heel_soil(wall.backfill_slope_angle, below=behind)
    else:
        whole = wet = Region(area=np.zeros(()), x=np.zeros(()), y=np.zeros(()))
    soil, soil_x, soil_y = _weight(backfill.unit_weight, backfill.weight_below_water, whole, wet)
    toe_whole = section.in_front(wall.embedment)
    toe_wet = section.in_front(np.minimum(before, wall.embedment))
    toe_soil, toe_x, _ = _weight(
        foundation.unit_weight,
        np.asarray(foundation.weight_below_water) - gamma_w,
        toe_whole,
        toe_wet,
    )
    toe_water = section.in_front(before)
    concrete = wall.wall.unit_weight * section.wall.area
    heads = behind + before
    static = Force(
        horizontal=thrust.thrust * cos,
        vertical=thrust.thrust * sin,
        x=plane.arm(thrust.height),
        y=thrust.height,
    )
    shaken = Force(
        horizontal=thrust.increment * cos,
        vertical=thrust.increment * sin,
        x=plane.arm(thrust.increment_height),
        y=thrust.increment_height,
    )
    push = 0.5 * gamma_w * behind**2
    water = Force(
        horizontal=push,
        vertical=push * np.tan(np.radians(plane.batter)),
        x=plane.arm(behind / 3.0),
        y=behind / 3.0,
    )
    uplift = Force(
        vertical=0.5 * gamma_w * heads * width,
        x=width * (heads + behind) / (3.0 * np.where(heads > 0.0, heads, 1.0)),
    )
    water_before = Force(horizontal=0.5 * gamma_w * before**2, y=before / 3.0)
    on_wall = Force(
        horizontal=k_h * concrete, vertical=concrete, x=section.wall.x, y=section.wall.y
    )
    on_soil = Force(horizontal=k_h * soil, vertical=soil, x=soil_x, y=soil_y)
    on_key = key_thrust(
        wall, section, thrust.stress_at_foot, heads=(behind, before), water_depth=below_base
    )
    key_inertia = k_h * wall.wall.unit_weight * section.key.area
    on_toe = Force(vertical=gamma_w * toe_water.area, x=toe_water.x)
    deep = np.asarray(wall.embedment) + section.key_depth
    deep_in_water = np.zeros(())
    if not dry:
        deep_in_water = np.clip(before + section.key_depth - below_base, 0.0, deep)
    front = passive_resistance(wall, deep, deep_in_water)
    acting = SimpleNamespace(
        base_width=width,
        wall_height=section.height,
        top_to_heel=section.top_to_heel if wall.theory == "rankine" else np.nan,
        water_height_behind=behind,
        water_height_in_front=before,
        water_depth_below_base=np.nan if dry else below_base,
        thrust_plane_height=plane.height,
        thrust_plane_batter=plane.batter,
        thrust_plane_foot=plane.foot,
        thrust_angle=plane.inclination,
        wall_area=section.wall.area,
        wall_weight=concrete,
        wall_arm=section.wall.x,
        wall_centroid_height=section.wall.y,
        key_weight=_key_weight(wall, section, below_base),
        key_arm=section.key.x,
        heel_soil_area=whole.area,
        heel_soil_area_below_water=wet.area,
        heel_soil_weight=soil,
        heel_soil_arm=soil_x,
        heel_soil_centroid_height=soil_y,
        toe_soil_area=toe_whole.area,
        toe_soil_area_below_water=toe_wet.area,
        toe_soil_weight=toe_soil,
        toe_soil_arm=toe_x,
        active_coefficient=theory.static_coefficient,
        cohesion_coefficient=theory.cohesion_coefficient,
        surcharge_stress=thrust.profile.surcharge_stress,
        vertical_stress_at_water=thrust.profile.ground.pieces[0].lower,
        vertical_stress_at_foot=thrust.stress_at_foot,
        mean_vertical_stress=thrust.mean_stress,
        thrust_from_surcharge=theory.surcharge,
        thrust_without_cohesion=theory.weight + theory.surcharge,
        pressure_at_top=theory.pressures[0],
        pressure_at_water=theory.pressures[1],
        pressure_at_foot=theory.pressures[2],
        tension_stress=theory.tension_stress,
        tension_crack_depth=theory.tension_depth,
        theory_thrust=np.where(beside, theory.static, np.nan),
        theory_thrust_height=np.where(beside, thrust.theory_height, np.nan),
        trial_wedge_thrust=thrust.wedge,
        minimum_coefficient=np.nan if least is None else least.static_coefficient,
        minimum_thrust=np.nan if least is None else least.static,
        minimum_thrust_height=np.nan if least is None else least.static_height,
        thrust=thrust.thrust,
        thrust_height=thrust.height,
        thrust_arm=static.x,
        thrust_horizontal=static.horizontal,
        thrust_vertical=static.vertical,
        seismic_angle=thrust.profile.seismic_angle,
        seismic_coefficient=theory.coefficient,
        theory_thrust_with_shaking=np.where(beside, theory.total, np.nan),
        trial_wedge_thrust_with_shaking=thrust.shaken_wedge,
        minimum_seismic_coefficient=np.nan if least is None else least.coefficient,
        minimum_thrust_with_shaking=np.nan if least is None else least.total,
        thrust_increment=thrust.increment,
        thrust_increment_height=thrust.increment_height,
        thrust_increment_arm=shaken.x,
        thrust_increment_horizontal=shaken.horizontal,
        thrust_increment_vertical=shaken.vertical,
        wall_inertia=on_wall.horizontal,
        key_inertia=key_inertia,
        heel_soil_inertia=on_soil.horizontal,
        key_vertical_stress=on_key.stress,
        key_seismic_angle=on_key.seismic_angle,
        key_active_coefficient=on_key.coefficient,
        key_head=on_key.head,
        key_thrust=on_key.thrust,
        water_thrust=push,
        water_on_back=water.vertical,
        water_on_back_arm=water.x,
        uplift=uplift.vertical,
        uplift_arm=uplift.x,
        water_thrust_in_front=water_before.horizontal,
        water_on_toe_area=toe_water.area,
        water_on_toe=on_toe.vertical,
        water_on_toe_arm=on_toe.x,
        passive_depth=deep,
        passive_water_height=deep_in_water,
        passive_seismic_angle=front.seismic_angle,
        passive_coefficient=front.coefficient,
        passive_resistance=front.resistance,
    )
    return RetainingWallValues(**vars(acting), **on_base(wall, acting))


def on_base(wall: RetainingWallInputs, acting: Any) -> dict[str, Numeric]:
    """From the forces to the factors: sums, reaction of the base, sliding and bearing.

    Parameters
    ----------
    wall
        The check.
    acting
        A record with the values of a wall that come before these.
    """
    v, width = acting, acting.base_width
    usual = (
        Force(
            horizontal=v.wall_inertia,
            vertical=v.wall_weight,
            x=v.wall_arm,
            y=v.wall_centroid_height,
        ),
        Force(
            horizontal=v.heel_soil_inertia,
            vertical=v.heel_soil_weight,
            x=v.heel_soil_arm,
            y=v.heel_soil_centroid_height,
        ),
        Force(horizontal=v.key_inertia, vertical=v.key_weight, x=v.key_arm),
        # on a key both act below the toe and are left out of the moments
        Force(horizontal=v.key_thrust),
        Force(
            horizontal=v.thrust_horizontal,
            vertical=v.thrust_vertical,
            x=v.thrust_arm,
            y=v.thrust_height,
        ),
        Force(
            horizontal=v.thrust_increment_horizontal,
            vertical=v.thrust_increment_vertical,
            x=v.thrust_increment_arm,
            y=v.thrust_increment_height,
        ),
        Force(
            horizontal=v.water_thrust,
            vertical=v.water_on_back,
            x=v.water_on_back_arm,
            y=v.water_height_behind / 3.0,
        ),
        Force(vertical=v.water_on_toe, x=v.water_on_toe_arm),
    )
    opposite = (
        Force(vertical=v.uplift, x=v.uplift_arm),
        Force(horizontal=v.water_thrust_in_front, y=v.water_height_in_front / 3.0),
    )
    sums = add_up(usual, opposite)
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


def follow_balance(wall: RetainingWallInputs, found: RetainingWallValues) -> RetainingWallValues:
    """The values again from the forces on; of a wall that floats, which way it leans as found."""
    values = on_base(wall, found)
    if not values["vertical_force"] > 0.0:
        values["load_inclination"] = found.load_inclination
    return dataclasses.replace(found, **values)


def _key_weight(
    wall: RetainingWallInputs, section: WallSection, water_depth: Numeric
) -> NDArray[np.float64]:
    """Weight of the key less its buoyancy [kN/m]; water_depth is below the base."""
    depth = np.asarray(section.key_depth)
    wet = np.clip(depth - water_depth, 0.0, depth) / np.where(depth > 0.0, depth, 1.0)
    return np.asarray((wall.wall.unit_weight - wall.water_unit_weight * wet) * section.key.area)


def _water_levels(
    wall: RetainingWallInputs, section: WallSection
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Water behind and in front, above the base, and depth of the table below it [m]."""
    table = np.inf if wall.water_table_depth is None else np.asarray(wall.water_table_depth)
    behind = np.maximum(section.height - table, 0.0)
    before = np.asarray(0.0 if wall.water_level_in_front is None else wall.water_level_in_front)
    below_base = np.where((behind > 0.0) | (before > 0.0), 0.0, table - section.height)
    return behind, before, below_base


def _over(resistance: Numeric, drive: Numeric) -> Numeric:
    """Their quotient; inf where nothing drives."""
    still = drive <= 0.0
    with np.errstate(over="ignore"):
        return np.where(still, np.inf, resistance / np.where(still, 1.0, drive))


def footing_below(wall: RetainingWallInputs, values: Any) -> Footing:
    """The base of a wall as a footing.

    Parameters
    ----------
    wall
        The check, for its soil, embedment and method.
    values
        A record with the width of its base, the water in front above it, and the depth of the
        water table below it [m].
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
