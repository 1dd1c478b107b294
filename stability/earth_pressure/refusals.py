"""What an earth pressure check refuses, in words: fields that do not go together, and cases
in which a theory has no answer.
"""

from __future__ import annotations

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.earth_pressure.inputs import EarthPressureInputs
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.strength import InputError
from slipmargin.strength.traced import some

__all__ = ["refuse_misuse", "refuse_no_answer"]

_ROUND_OFF = 1e-9
_AT_WATER = 1e-3  # share of the height within which the search has stopped at the water
_PLANES = ("coulomb", "trial_wedge")
_WITH_WALL = ("coulomb", "annex_c", "trial_wedge")


def refuse_misuse(check: EarthPressureInputs) -> None:
    """Raise ``InputError`` where fields do not go together or the theory does not reach."""
    _refuse_soil(check)
    _refuse_theory(check)
    if check.ground_line is not None:
        _refuse_line(check)
    place = "backfill_slope_angle" if check.ground_line is None else "ground_line"
    slope, soils = np.abs(check.end_slope), list(fields.soils(check))
    for soil in soils:
        phi = soil.strength.friction_angle
        if some(slope > phi + _ROUND_OFF):
            raise InputError(
                place,
                f"{float(np.max(slope)):g} deg",
                f"ground steeper than the friction angle of {soil.name}, "
                f"{float(np.min(phi)):g} deg, does not stand without end",
            )
    for soil in soils:
        slips = f"of {soil.name}: the soil slips in itself first"
        rough = check.wall_friction_angle > soil.strength.friction_angle
        fields.refuse(check, "wall_friction_angle", rough, f"not above the friction angle {slips}")
        sticks = check.wall_adhesion > soil.strength.cohesion
        fields.refuse(check, "wall_adhesion", sticks, f"not above the cohesion {slips}")
    if check.water_table_depth is not None and some(check.water_table_depth < check.height):
        for soil in soils:
            soil.need_heavier_than_water(check.water_unit_weight)
    whole = check.side == "passive" or check.theory == "at_rest" or not check.tension_crack
    held = whole and check.tension_crack_water_depth > 0.0
    cracked = "allowed on the active side with tension_crack = true"
    fields.refuse(check, "tension_crack_water_depth", held, cracked)
    for soil in soils if check.theory == "annex_c" else ():
        smooth = soil.strength.friction_angle == 0.0
        fields.refuse(check, "theory", smooth, f"{soil.name} has no friction; coulomb serves there")
        sloping = (check.backfill_slope_angle != 0.0) & (soil.strength.cohesion > 0.0)
        level = "annex_c takes cohesion on level ground only; trial_wedge takes both"
        fields.refuse(check, "backfill_slope_angle", sloping, level)


def _refuse_soil(check: EarthPressureInputs) -> None:
    if check.soil is None and not check.layers:
        raise InputError("soil", None, "name the soil behind the wall, or give its layers")
    if check.soil is not None and check.layers:
        raise InputError("layers", len(check.layers), "give either soil or layers, not both")
    if not check.layers:
        return
    if check.theory == "trial_wedge":
        one_soil = "a trial wedge takes one soil; coulomb takes layers"
        raise InputError("layers", len(check.layers), one_soil)
    total = sum((np.asarray(layer.thickness) for layer in check.layers), np.zeros(()))
    if some(np.abs(total - check.height) > _ROUND_OFF * check.height):
        height = f"{float(np.max(check.height)):g} m"
        allowed = f"their thicknesses must add up to the height of the wall, {height}"
        raise InputError("layers", f"{float(np.max(total)):g} m in all", allowed)


def _refuse_theory(check: EarthPressureInputs) -> None:
    theory, passive = check.theory, check.side == "passive"
    still = theory == "at_rest"
    fields.refuse(check, "side", still and passive, "leave it out at rest: the wall does not move")
    beyond = theory == "annex_c" and not passive
    fields.refuse(check, "theory", beyond, "allowed for the passive side only")
    for names, takers in (
        (("horizontal_seismic_coefficient", "vertical_seismic_coefficient"), None),
        (("wall_friction_angle", "wall_batter"), _WITH_WALL),
        (("wall_adhesion",), _PLANES),
    ):
        allowed = f"{theory} has no shaking; coulomb and trial_wedge do"
        if takers is not None:
            allowed = f"{theory} does not take it; {' and '.join(takers)} do"
        for name in names:
            given = theory not in (takers or _PLANES) and getattr(check, name) != 0.0
            fields.refuse(check, name, given, allowed)
    ratio = not still and check.overconsolidation_ratio != 1.0
    fields.refuse(check, "overconsolidation_ratio", ratio, "only at_rest takes it")
    elastic = "elastic pressure is no passive resistance; trial_wedge counts such loads"
    for name in ("strip_loads", "line_loads"):
        if getattr(check, name) and passive and theory != "trial_wedge":
            raise InputError(name, len(getattr(check, name)), elastic)


def _refuse_line(check: EarthPressureInputs) -> None:
    line = check.ground_line
    if check.theory != "trial_wedge":
        raise InputError("ground_line", check.theory, "only theory trial_wedge takes a ground line")
    said_twice = "leave it out beside a ground_line, which says it all"
    sloping = check.backfill_slope_angle != 0.0
    fields.refuse(check, "backfill_slope_angle", sloping, said_twice)
    points = np.asarray(line, dtype=float)
    if points.ndim != 2 or points.shape[0] < 2 or points.shape[1] != 2:
        raise InputError("ground_line", line, "two points (x, y) or more")
    first = "the first point is (0, 0), the top of the back face"
    for wrong, allowed in (
        (~np.isfinite(points), first),
        (points[0] != 0.0, first),
        (np.diff(points[:, 0]) <= 0.0, "x must rise from point to point"),
        (points[:, 1] <= -np.min(check.height), "the ground must stay above the base of the wall"),
    ):
        fields.refuse(check, "ground_line", wrong, allowed)


def refuse_no_answer(check: EarthPressureInputs, values: EarthPressureValues) -> None:
    """Raise ``InputError`` where the theory has found no thrust."""
    sign = -1.0 if check.side == "passive" else 1.0
    for soil in fields.soils(check):
        least = values.seismic_angle + sign * np.asarray(check.end_slope) - _ROUND_OFF
        leans = (
            f"the body force leans {float(np.max(values.seismic_angle)):.1f} deg from vertical; "
            "with the slope of the ground that is more than the friction angle of "
            f"{soil.name}, and no wedge is in balance"
        )
        weak = soil.strength.friction_angle < least
        fields.refuse(check, "horizontal_seismic_coefficient", weak, leans)
    if check.theory == "trial_wedge" and check.water_table_depth is not None:
        _refuse_ground_below_water(check, values)
    balance = (
        "no wedge is in balance with this wall friction, batter and slope of the ground; lower one "
        "of them"
    )
    fields.refuse(check, "wall_friction_angle", ~np.isfinite(values.thrust), balance)


def _refuse_ground_below_water(check: EarthPressureInputs, values: EarthPressureValues) -> None:
    points, table = np.asarray(check.corners), np.asarray(check.water_table_depth)
    distance = np.asarray(values.exit_distance)
    level = np.interp(distance, points[:, 0], points[:, 1])
    beyond = np.maximum(distance - points[-1, 0], 0.0)
    level = level + beyond * np.tan(np.radians(check.end_slope))
    at_water = ~(level + table > _AT_WATER * check.height)
    falling = (np.asarray(check.end_slope) < 0.0) | some(np.diff(points[:, 1]) < 0.0)
    reached = (
        "the governing wedge reaches to where the ground falls below the water, and a trial wedge "
        "goes no further"
    )
    wet = table < check.height
    fields.refuse(check, "water_table_depth", wet & falling & at_water, reached)
