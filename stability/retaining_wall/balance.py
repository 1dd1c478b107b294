"""The forces on a retaining wall and what follows from them: the kernel of the check.

From the section and the soils to the thrust, the weights, the water, the sums, the reaction
of the base, and the three factors. The rules are stated in :mod:`stability.retaining_wall.check`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.surcharge import Load
from slipmargin.stability.ground.newmark import newmark_values
from slipmargin.stability.ground.standing_water import MOVING_WATER_HEIGHT, moving_water_thrust
from slipmargin.stability.retaining_wall.equilibrium import Force, base_values
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.stability.retaining_wall.strips import Region
from slipmargin.stability.retaining_wall.thrust import (
    ThrustPlane,
    key_values,
    passive_values,
    thrust_values,
)
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Numeric

__all__ = ["answers", "retaining_wall", "weight_over_heel", "yielding"]

_Levels = tuple[Numeric, Numeric, Numeric]


def retaining_wall(
    wall: RetainingWallInputs,
    *,
    weighing: Sequence[Load] = (),
    found: RetainingWallValues | None = None,
) -> RetainingWallValues:
    """The pure computation: every field a scalar or an array that broadcasts.

    Where the theory has no answer the values that hang on it are nan. Of the loads named in
    ``weighing`` the weight over the heel is counted, as bearing may have it. ``found``: the values
    again, what a search found, or was measured on an outline of points, being that of these; of a
    wall that floats, which way it leans likewise.
    """
    section, drawn = wall.section(), found if wall.wall.shape == "outline" else None
    if drawn is not None:
        section = replace(
            section,
            width=drawn.base_width,
            height=drawn.wall_height,
            top_to_heel=drawn.top_to_heel if wall.theory == "rankine" else section.top_to_heel,
            face_head=drawn.thrust_plane_head,
            face_foot=drawn.thrust_plane_foot,
            face_batter=drawn.thrust_plane_batter,
        )
    levels = _water_levels(wall, section)
    acting = _acting(wall, section, levels, found) | _carried(wall, section, levels, drawn)
    over_heel = (weight_over_heel(wall, weighing),) if weighing else ()
    base = base_values(wall, SimpleNamespace(**acting), over_heel)
    if found is not None and not base["vertical_force"] > 0.0:
        base["load_inclination"] = found.load_inclination
    moved = yielding(wall, np.nan if found is None else found.yield_seismic_coefficient)
    return RetainingWallValues(**acting, **base, **moved)


def answers(values: RetainingWallValues) -> NDArray[np.bool_]:
    """Where the theory has a thrust, without shaking and with it."""
    still, shaken = values.active_coefficient, values.seismic_coefficient
    return np.asarray(np.isfinite(still) & np.isfinite(shaken))


def weight_over_heel(wall: RetainingWallInputs, loads: Sequence[Load]) -> Force:
    """The weight of strips and lines of load over the heel."""
    section = wall.section()
    parts = [one.weight_within(section.top_to_heel) for one in loads]
    weight = sum((size for size, _ in parts), np.zeros(()))
    moment = sum((size * distance for size, distance in parts), np.zeros(()))
    edge = section.width - section.top_to_heel
    return Force(vertical=weight, x=edge + moment / np.where(weight > 0.0, weight, 1.0))


def yielding(wall: RetainingWallInputs, at_yield: Numeric) -> dict[str, Numeric]:
    """The yield coefficient, and the displacements that follow from it."""
    return {"yield_seismic_coefficient": at_yield, **newmark_values(wall, at_yield)}


def _carried(
    wall: RetainingWallInputs,
    section: WallSection,
    levels: _Levels,
    found: RetainingWallValues | None,
) -> dict[str, Numeric]:
    """The wall and what rests on it: areas and arms, which ``found`` has where it is given, and
    weights.
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
        arms = [name for name in values if name.endswith(("_arm", "_height"))]
        values |= {name: getattr(found, name) for name in arms}
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
    levels: _Levels,
    found: RetainingWallValues | None,
) -> dict[str, Numeric]:
    """The thrust, the water, the key and the resistance in front."""
    behind, before, below_base = levels
    plane = ThrustPlane.of(wall, section)
    thrust = thrust_values(wall, plane, behind, found)
    k_h, gamma_w = wall.horizontal_seismic_coefficient, wall.water_unit_weight
    dry, width = wall.water_table_depth is None, section.width
    lost, at_heel, at_toe = _heads_below(wall, behind, before, width)
    heads = at_heel + at_toe
    push = gamma_w * behind**2 / 2.0
    key, across = section.key_depth, section.key_width
    wet_key = np.maximum(key - below_base, 0.0)
    foot_stress = thrust["vertical_stress_at_foot"]
    deep = wall.embedment + key
    in_water = 0.0 if dry else np.clip(before + key - below_base, 0.0, deep)
    free = np.maximum(before - wall.embedment, 0.0)
    moving = k_h if wall.free_water_behind else 0.0
    return {
        "base_width": width,
        "wall_height": section.height,
        "top_to_heel": section.top_to_heel if wall.theory == "rankine" else np.nan,
        "water_height_behind": behind,
        "water_height_in_front": before,
        "water_depth_below_base": np.nan if dry else below_base,
        "key_weight": (wall.wall.unit_weight * key - gamma_w * wet_key) * across,
        "key_arm": section.key_front + across / 2.0,
        "key_inertia": k_h * wall.wall.unit_weight * key * across,
        **thrust,
        **key_values(wall, section, foot_stress, heads=(behind, before), wet_depth=wet_key),
        "water_thrust": push,
        "water_on_back": push * np.tan(np.radians(plane.batter)),
        "water_on_back_arm": plane.arm(behind / 3.0),
        "uplift": gamma_w * heads / 2.0 * width,
        "uplift_arm": width * (2.0 * at_heel + at_toe) / (3.0 * np.where(heads > 0.0, heads, 1.0)),
        "creep_gradient": lost,
        "head_at_heel": at_heel,
        "head_at_toe": at_toe,
        "water_thrust_in_front": gamma_w * before**2 / 2.0,
        "moving_water_behind": moving_water_thrust(moving, behind, gamma_w),
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


def _water_levels(wall: RetainingWallInputs, section: WallSection) -> _Levels:
    """Water behind and in front, above the base, and depth of the table below it [m]."""
    before = 0.0 if wall.water_level_in_front is None else +wall.water_level_in_front
    if wall.water_table_depth is None:
        return 0.0, before, np.inf
    table = wall.water_table_depth
    behind = np.maximum(section.height - table, 0.0)
    below_base = np.where((behind > 0.0) | (before > 0.0), 0.0, table - section.height)
    return behind, before, below_base
