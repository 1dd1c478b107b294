"""The forces on a retaining wall and what follows from them: the kernel of the check.

From the section and the soils to the thrust, the weights, the water, the sums, the reaction
of the base, and the three factors. The rules are stated in :mod:`stability.retaining_wall.check`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np

from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.ground.newmark import newmark_values
from slipmargin.stability.ground.standing_water import MOVING_WATER_HEIGHT, moving_water_thrust
from slipmargin.stability.retaining_wall.bearing_capacity import (
    BearingCapacity,
    Footing,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.equilibrium import (
    ACTIONS,
    Force,
    add_up,
    base_reaction,
)
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.stability.retaining_wall.strips import Region
from slipmargin.stability.retaining_wall.thrust import (
    ThrustPlane,
    WallThrust,
    followed_thrust,
    key_values,
    passive_values,
    wall_thrust,
)
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Numeric

__all__ = [
    "bearing_values",
    "follow_wall",
    "footing_below",
    "retaining_wall",
    "weight_over_heel",
    "yielding",
]


_OUTLINE = (
    "wall_arm",
    "wall_centroid_height",
    "heel_soil_arm",
    "heel_soil_centroid_height",
    "toe_soil_arm",
    "water_on_toe_arm",
)
"""Arms that are measured on an outline of points."""


def retaining_wall(
    wall: RetainingWallInputs,
    section: WallSection | None = None,
    *,
    weighing: Sequence[StripLoad | LineLoad] = (),
) -> RetainingWallValues:
    """The pure computation: every field a scalar or an array that broadcasts.

    Where the theory has no answer the values that hang on it are nan. Of the loads named in
    ``weighing`` the weight over the heel is counted, as bearing may have it.
    """
    section = wall.section() if section is None else section
    levels, plane = _water_levels(wall, section), ThrustPlane.of(wall, section)
    thrust = wall_thrust(wall, plane, levels[0])
    acting = _acting(wall, section, plane, levels, thrust) | _carried(wall, section, levels)
    over_heel = (Force(**weight_over_heel(weighing, section)),) if weighing else ()
    base = on_base(wall, SimpleNamespace(**acting), over_heel)
    return RetainingWallValues(**acting, **base, **yielding(wall, np.nan))


def weight_over_heel(
    loads: Sequence[StripLoad | LineLoad], section: WallSection
) -> dict[str, Numeric]:
    """``vertical``, the weight of strips and lines of load over the heel [kN/m], and ``x``, its
    arm [m].
    """
    parts = [one.weight_within(section.top_to_heel) for one in loads]
    weight = sum((size for size, _ in parts), np.zeros(()))
    moment = sum((size * distance for size, distance in parts), np.zeros(()))
    heavy = weight > 0.0
    edge = section.width - section.top_to_heel
    return {"vertical": weight, "x": edge + moment / np.where(heavy, weight, 1.0)}


def follow_wall(wall: RetainingWallInputs, found: RetainingWallValues) -> RetainingWallValues:
    """The values again: what a search found, or was measured on an outline of points, as it is;
    of a wall that floats, which way it leans likewise.
    """
    section = wall.section()
    drawn = wall.wall.shape == "outline"
    if drawn:
        section = dataclasses.replace(
            section,
            width=found.base_width,
            height=found.wall_height,
            top_to_heel=found.top_to_heel if wall.theory == "rankine" else section.top_to_heel,
            face_head=found.thrust_plane_head,
            face_foot=found.thrust_plane_foot,
            face_batter=found.thrust_plane_batter,
        )
    levels, plane = _water_levels(wall, section), ThrustPlane.of(wall, section)
    thrust = followed_thrust(wall, plane, levels[0], found)
    acting = _acting(wall, section, plane, levels, thrust)
    acting |= _carried(wall, section, levels, found if drawn else None)
    base = on_base(wall, SimpleNamespace(**acting))
    if not base["vertical_force"] > 0.0:
        base["load_inclination"] = found.load_inclination
    moved = yielding(wall, found.yield_seismic_coefficient)
    return RetainingWallValues(**acting, **base, **moved)


def yielding(wall: RetainingWallInputs, at_yield: Numeric) -> dict[str, Numeric]:
    """The yield coefficient, and the displacements that follow from it."""
    return {"yield_seismic_coefficient": at_yield, **newmark_values(wall, at_yield)}


def _carried(
    wall: RetainingWallInputs,
    section: WallSection,
    levels: tuple[Numeric, Numeric, Numeric],
    found: RetainingWallValues | None = None,
) -> dict[str, Numeric]:
    """The wall and what rests on it: areas, weights and their arms. Areas and arms are taken
    from ``found`` where that is given.
    """
    behind, before, _ = levels
    soil, ground = wall.backfill, wall.foundation
    none = Region(0.0, 0.0, 0.0)
    by_rankine, slope = wall.theory == "rankine", wall.backfill_slope_angle
    regions = {
        "wall_area": section.wall,
        "heel_soil_area": section.heel_soil(slope) if by_rankine else none,
        "heel_soil_area_below_water": section.heel_soil(slope, behind) if by_rankine else none,
        "toe_soil_area": section.in_front(wall.embedment),
        "toe_soil_area_below_water": section.in_front(np.minimum(before, wall.embedment)),
        "water_on_toe_area": section.in_front(before),
    }
    if found is not None:
        regions = {name: Region(getattr(found, name), 0.0, 0.0) for name in regions}
    stem, heel, heel_wet, toe, toe_wet, toe_water = regions.values()
    added = soil.weight_below_water - soil.unit_weight
    heel_soil, heel_x, heel_y = _weight(soil.unit_weight, added, heel, heel_wet)
    added = ground.weight_below_water - wall.water_unit_weight - ground.unit_weight
    toe_soil, toe_x, _ = _weight(ground.unit_weight, added, toe, toe_wet)
    values = {name: region.area for name, region in regions.items()} | {
        "wall_weight": wall.wall.unit_weight * stem.area,
        "wall_arm": stem.x,
        "wall_centroid_height": stem.y,
        "heel_soil_weight": heel_soil,
        "heel_soil_arm": heel_x,
        "heel_soil_centroid_height": heel_y,
        "toe_soil_weight": toe_soil,
        "toe_soil_arm": toe_x,
        "water_on_toe": wall.water_unit_weight * toe_water.area,
        "water_on_toe_arm": toe_water.x,
    }
    if found is not None:
        values |= {name: getattr(found, name) for name in _OUTLINE}
    k_h = wall.horizontal_seismic_coefficient
    return values | {
        "wall_inertia": k_h * values["wall_weight"],
        "heel_soil_inertia": k_h * heel_soil,
    }


def _weight(
    moist: Numeric, added: Numeric, whole: Region, wet: Region
) -> tuple[Numeric, Numeric, Numeric]:
    """Weight of a region to which water adds in its wet part [kN/m], and its centre [m]."""
    weight = moist * whole.area + added * wet.area
    some = weight != 0.0
    divisor = np.where(some, weight, 1.0)
    x = (moist * whole.along + added * wet.along) / divisor
    y = (moist * whole.up + added * wet.up) / divisor
    return weight, np.where(some, x, 0.0), np.where(some, y, 0.0)


def _acting(
    wall: RetainingWallInputs,
    section: WallSection,
    plane: ThrustPlane,
    levels: tuple[Numeric, Numeric, Numeric],
    thrust: WallThrust,
) -> dict[str, Numeric]:
    """The thrust, the water, the key and the resistance in front."""
    behind, before, below_base = levels
    k_h, gamma_w, width = (
        wall.horizontal_seismic_coefficient,
        wall.water_unit_weight,
        section.width,
    )
    dry, by_rankine = wall.water_table_depth is None, wall.theory == "rankine"
    theory, least, beside = thrust.theory, thrust.minimum, thrust.beside
    ground, shaken = thrust.profile.ground, thrust.profile.shaken
    pressed, pressed_moment = plane.pressed(wall.loads)
    presses = pressed > 0.0
    k_a, k_m = theory.static_coefficient, np.nan if least is None else least.static_coefficient
    # without shaking the two are one, and it is the static one that is printed
    k_ae, k_me = +k_a, +k_m
    if shaken:
        k_ae, k_me = theory.coefficient, np.nan if least is None else least.coefficient
    turned = plane.inclination
    cos, sin = np.cos(np.radians(turned)), np.sin(np.radians(turned))
    stress_sum, foot_stress = ground.effective_sum, ground.at_base
    lost, at_heel, at_toe = _heads_below(wall, behind, before, width)
    heads = at_heel + at_toe
    push = gamma_w * behind**2 / 2.0
    key, across = section.key_depth, section.key_width
    wet_key = np.maximum(key - below_base, 0.0)
    on_key = key_values(wall, section, foot_stress, heads=(behind, before), wet_depth=wet_key)
    deep = wall.embedment + key
    in_water = 0.0 if dry else np.clip(before + key - below_base, 0.0, deep)
    free = np.maximum(before - wall.embedment, 0.0)
    return {
        "base_width": width,
        "wall_height": section.height,
        "top_to_heel": section.top_to_heel if by_rankine else np.nan,
        "water_height_behind": behind,
        "water_height_in_front": before,
        "water_depth_below_base": np.nan if dry else below_base,
        "thrust_plane_height": plane.height,
        "thrust_plane_batter": plane.batter,
        "thrust_plane_foot": plane.foot,
        "thrust_plane_head": plane.head if wall.loads else np.nan,
        "wall_friction_used": np.nan if by_rankine else plane.friction_angle,
        "thrust_angle": turned,
        "key_weight": (wall.wall.unit_weight * key - gamma_w * wet_key) * across,
        "key_arm": section.key_front + across / 2.0,
        "active_coefficient": k_a,
        "cohesion_coefficient": theory.cohesion_coefficient,
        "surcharge_stress": thrust.profile.surcharge_stress,
        "vertical_stress_at_water": ground.pieces[0].lower,
        "vertical_stress_at_foot": foot_stress,
        "vertical_stress_sum": stress_sum,
        "mean_vertical_stress": stress_sum / plane.height,
        "thrust_from_surcharge": theory.surcharge_thrust,
        "thrust_without_cohesion": k_a * stress_sum,
        "pressure_at_top": theory.pressure_at_top,
        "pressure_at_water": theory.pressure_at_water,
        "pressure_at_foot": theory.pressure_at_base,
        "tension_stress": theory.tension_stress,
        "tension_crack_depth": theory.tension_crack_depth,
        "theory_thrust": np.where(beside, theory.static_thrust, np.nan),
        "theory_thrust_height": np.where(beside, thrust.theory_height, np.nan),
        "trial_wedge_thrust": thrust.wedge,
        "minimum_coefficient": k_m,
        "minimum_thrust": np.nan if least is None else least.static_thrust,
        "minimum_thrust_height": thrust.minimum_height,
        "thrust": thrust.thrust,
        "thrust_height": thrust.height,
        "thrust_arm": plane.arm(thrust.height),
        "thrust_horizontal": thrust.thrust * cos,
        "thrust_vertical": thrust.thrust * sin,
        "seismic_angle": thrust.profile.seismic_angle,
        "seismic_coefficient": k_ae,
        "theory_thrust_with_shaking": np.where(beside, theory.total, np.nan),
        "trial_wedge_thrust_with_shaking": thrust.shaken_wedge,
        "minimum_seismic_coefficient": k_me,
        "minimum_thrust_with_shaking": np.nan if least is None else least.total,
        "thrust_increment": thrust.increment,
        "thrust_increment_height": thrust.increment_height,
        "thrust_increment_arm": plane.arm(thrust.increment_height),
        "thrust_increment_horizontal": thrust.increment * cos,
        "thrust_increment_vertical": thrust.increment * sin,
        "load_thrust": pressed,
        "load_moment": pressed_moment,
        "load_thrust_height": np.where(
            presses, pressed_moment / np.where(presses, pressed, 1.0), 0.0
        ),
        "key_inertia": k_h * wall.wall.unit_weight * key * across,
        **on_key,
        "water_thrust": push,
        "water_on_back": push * np.tan(np.radians(plane.batter)),
        "water_on_back_arm": plane.arm(behind / 3.0),
        "uplift": gamma_w * heads / 2.0 * width,
        "uplift_arm": width * (2.0 * at_heel + at_toe) / (3.0 * np.where(heads > 0.0, heads, 1.0)),
        "creep_gradient": lost,
        "head_at_heel": at_heel,
        "head_at_toe": at_toe,
        "water_thrust_in_front": gamma_w * before**2 / 2.0,
        "moving_water_behind": moving_water_thrust(
            k_h if wall.free_water_behind else 0.0, behind, gamma_w
        ),
        "moving_water_behind_height": MOVING_WATER_HEIGHT * behind,
        "moving_water_in_front": moving_water_thrust(k_h, free, gamma_w),
        "moving_water_in_front_height": wall.embedment + MOVING_WATER_HEIGHT * free,
        **passive_values(wall, deep, in_water),
    }


def _heads_below(
    wall: RetainingWallInputs, behind: Numeric, before: Numeric, width: Numeric
) -> tuple[Numeric, Numeric, Numeric]:
    """Head lost over the length of the path, and heads above the base at heel and toe [m].

    The water goes down behind the wall, along its base and up through the ground in front, and
    loses its head evenly along that line.
    """
    if wall.uplift_method == "hydrostatic":
        return np.nan, +behind, +before
    up = np.minimum(before, wall.embedment)
    lost = (behind - before) / (behind + width + up)
    return lost, behind - lost * behind, before + lost * up


def on_base(
    wall: RetainingWallInputs, acting: Any, further: tuple[Force, ...] = ()
) -> dict[str, Numeric]:
    """From the forces to the factors: sums, reaction of the base, sliding and bearing.

    Parameters
    ----------
    wall
        The check.
    acting
        A record with the values of a wall that come before these.
    further
        Forces beside those.
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


def _water_levels(
    wall: RetainingWallInputs, section: WallSection
) -> tuple[Numeric, Numeric, Numeric]:
    """Water behind and in front, above the base, and depth of the table below it [m]."""
    before = 0.0 if wall.water_level_in_front is None else +wall.water_level_in_front
    if wall.water_table_depth is None:
        return 0.0, before, np.inf
    table = wall.water_table_depth
    behind = np.maximum(section.height - table, 0.0)
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
