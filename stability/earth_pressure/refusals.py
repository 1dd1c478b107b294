"""What an earth pressure check refuses, in words: fields that do not go together, and cases
in which a theory has no answer.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slipmargin.stability.earth_pressure.inputs import EarthPressureInputs
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric

__all__ = ["refuse_misuse", "refuse_no_answer"]

_ROUND_OFF = 1e-9
_AT_WATER = 1e-3  # share of the height within which the search has stopped at the water
_PLANES = ("coulomb", "trial_wedge")
_WITH_WALL = ("coulomb", "annex_c", "trial_wedge")


def _some(condition: object) -> bool:
    return bool(np.any(np.asarray(condition)))


def refuse_misuse(check: EarthPressureInputs) -> None:
    """Raise ``InputError`` where fields do not go together or the theory does not reach."""
    _refuse_soil(check)
    soils = [layer.soil for layer in check.layers] if check.soil is None else [check.soil]
    _refuse_theory(check)
    _refuse_loads(check)
    _refuse_ground(check, soils)
    _refuse_wall(check, soils)
    _refuse_water(check, soils)
    if check.theory == "annex_c":
        _refuse_annex_c(check, soils)


def _refuse_soil(check: EarthPressureInputs) -> None:
    if check.soil is None and not check.layers:
        raise InputError("soil", None, "name the soil behind the wall, or give its layers")
    if check.soil is not None and check.layers:
        raise InputError("layers", len(check.layers), "give either soil or layers, not both")
    if not check.layers:
        return
    if check.theory == "trial_wedge":
        raise InputError(
            "layers", len(check.layers), "a trial wedge takes one soil; coulomb takes layers"
        )
    total = sum((np.asarray(layer.thickness) for layer in check.layers), np.zeros(()))
    height = np.asarray(check.height)
    if _some(np.abs(total - height) > _ROUND_OFF * height):
        raise InputError(
            "layers",
            f"{float(np.max(total)):g} m in all",
            f"their thicknesses must add up to the height of the wall, {float(np.max(height)):g} m",
        )


def _refuse_theory(check: EarthPressureInputs) -> None:
    theory, passive = check.theory, check.side == "passive"
    if theory == "at_rest" and passive:
        raise InputError("side", check.side, "leave it out at rest: the wall does not move")
    if theory == "annex_c" and not passive:
        raise InputError("theory", theory, "allowed for the passive side only")
    for name in ("horizontal_seismic_coefficient", "vertical_seismic_coefficient"):
        if theory not in _PLANES and _some(np.asarray(getattr(check, name)) != 0.0):
            raise InputError(
                name, getattr(check, name), f"{theory} has no shaking; coulomb and trial_wedge do"
            )
    for name in ("wall_friction_angle", "wall_batter", "wall_adhesion"):
        takes = _PLANES if name == "wall_adhesion" else _WITH_WALL
        if theory not in takes and _some(np.asarray(getattr(check, name)) != 0.0):
            raise InputError(
                name,
                getattr(check, name),
                f"{theory} does not take it; {' and '.join(takes)} do",
            )
    if theory != "at_rest" and _some(np.asarray(check.overconsolidation_ratio) != 1.0):
        raise InputError(
            "overconsolidation_ratio", check.overconsolidation_ratio, "only at_rest takes it"
        )


def _refuse_loads(check: EarthPressureInputs) -> None:
    for name in ("strip_loads", "line_loads"):
        if getattr(check, name) and check.side == "passive" and check.theory != "trial_wedge":
            raise InputError(
                name,
                len(getattr(check, name)),
                "elastic pressure is no passive resistance; trial_wedge counts such loads",
            )


def _refuse_ground(check: EarthPressureInputs, soils: Sequence[Soil]) -> None:
    slope: Numeric = check.backfill_slope_angle
    place = "backfill_slope_angle"
    if check.ground_line is not None:
        place = "ground_line"
        slope = _end_slope(check)
    for soil in soils:
        phi = np.asarray(soil.strength.friction_angle)
        if _some(np.abs(slope) > phi + _ROUND_OFF):
            raise InputError(
                place,
                f"{float(np.max(np.abs(slope))):g} deg",
                f"ground steeper than the friction angle of {soil.name}, "
                f"{float(np.min(phi)):g} deg, does not stand without end",
            )


def _end_slope(check: EarthPressureInputs) -> float:
    line = check.ground_line
    if check.theory != "trial_wedge":
        raise InputError("ground_line", check.theory, "only theory trial_wedge takes a ground line")
    if _some(np.asarray(check.backfill_slope_angle) != 0.0):
        raise InputError(
            "backfill_slope_angle",
            check.backfill_slope_angle,
            "leave it out beside a ground_line, which says it all",
        )
    points = np.asarray(line, dtype=float)
    if points.ndim != 2 or points.shape[0] < 2 or points.shape[1] != 2:
        raise InputError("ground_line", line, "two points (x, y) or more")
    if not np.all(np.isfinite(points)) or _some(points[0] != 0.0):
        raise InputError("ground_line", line, "the first point is (0, 0), the top of the back face")
    if _some(np.diff(points[:, 0]) <= 0.0):
        raise InputError("ground_line", line, "x must rise from point to point")
    if _some(points[:, 1] <= -np.min(check.height)):
        raise InputError("ground_line", line, "the ground must stay above the base of the wall")
    run, rise = points[-1] - points[-2]
    return float(np.degrees(np.arctan2(rise, run)))


def _refuse_wall(check: EarthPressureInputs, soils: Sequence[Soil]) -> None:
    for soil in soils:
        if _some(np.asarray(check.wall_friction_angle) > soil.strength.friction_angle):
            raise InputError(
                "wall_friction_angle",
                check.wall_friction_angle,
                f"not above the friction angle of {soil.name}: the soil slips in itself first",
            )
        if _some(np.asarray(check.wall_adhesion) > soil.strength.cohesion):
            raise InputError(
                "wall_adhesion",
                check.wall_adhesion,
                f"not above the cohesion of {soil.name}: the soil slips in itself first",
            )


def _refuse_water(check: EarthPressureInputs, soils: Sequence[Soil]) -> None:
    if check.water_table_depth is not None and _some(
        np.asarray(check.water_table_depth) < check.height
    ):
        for soil in soils:
            soil.need_heavier_than_water(check.water_unit_weight)
    if _some(np.asarray(check.tension_crack_water_depth) > 0.0) and (
        check.side == "passive" or check.theory == "at_rest" or not check.tension_crack
    ):
        raise InputError(
            "tension_crack_water_depth",
            check.tension_crack_water_depth,
            "allowed on the active side with tension_crack = true",
        )


def _refuse_annex_c(check: EarthPressureInputs, soils: Sequence[Soil]) -> None:
    sloping = np.asarray(check.backfill_slope_angle) != 0.0
    for soil in soils:
        if _some(np.asarray(soil.strength.friction_angle) == 0.0):
            raise InputError(
                "theory", check.theory, f"{soil.name} has no friction; coulomb serves there"
            )
        if _some(sloping & (np.asarray(soil.strength.cohesion) > 0.0)):
            raise InputError(
                "backfill_slope_angle",
                check.backfill_slope_angle,
                "annex_c takes cohesion on level ground only; trial_wedge takes both",
            )


def refuse_no_answer(check: EarthPressureInputs, values: EarthPressureValues) -> None:
    """Raise ``InputError`` where the theory has found no thrust."""
    soils = [layer.soil for layer in check.layers] if check.soil is None else [check.soil]
    slope = check.backfill_slope_angle
    if check.ground_line is not None:
        slope = _end_slope(check)
    sign = -1.0 if check.side == "passive" else 1.0
    for soil in soils:
        phi = np.asarray(soil.strength.friction_angle)
        if _some(phi < values.seismic_angle + sign * np.asarray(slope) - _ROUND_OFF):
            raise InputError(
                "horizontal_seismic_coefficient",
                check.horizontal_seismic_coefficient,
                f"the body force leans {float(np.max(values.seismic_angle)):.1f} deg from "
                "vertical; with the slope of the ground that is more than the friction angle "
                f"of {soil.name}, and no wedge is in balance",
            )
    if check.theory == "trial_wedge" and check.water_table_depth is not None:
        _refuse_ground_below_water(check, values)
    if _some(~np.isfinite(np.asarray(values.thrust))):
        raise InputError(
            "wall_friction_angle",
            check.wall_friction_angle,
            "no wedge is in balance with this wall friction, batter and slope of the ground; "
            "lower one of them",
        )


def _refuse_ground_below_water(check: EarthPressureInputs, values: EarthPressureValues) -> None:
    points = np.asarray(((0.0, 0.0),) if check.ground_line is None else check.ground_line)
    tail = check.backfill_slope_angle if check.ground_line is None else _end_slope(check)
    distance = np.asarray(values.exit_distance)
    level = np.interp(distance, points[:, 0], points[:, 1])
    level = level + np.maximum(distance - points[-1, 0], 0.0) * np.tan(np.radians(tail))
    table = np.asarray(check.water_table_depth)
    at_water = ~(level + table > _AT_WATER * np.asarray(check.height))
    falling = np.asarray(tail) < 0.0
    falling = falling | bool(np.any(np.diff(points[:, 1]) < 0.0))
    if _some((table < np.asarray(check.height)) & falling & at_water):
        raise InputError(
            "water_table_depth",
            check.water_table_depth,
            "the governing wedge reaches to where the ground falls below the water, and a trial "
            "wedge goes no further",
        )
