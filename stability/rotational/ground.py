"""The ground, water and loads of a rotational check, read from its fields."""

from __future__ import annotations

from typing import Any

import numpy as np
from shapely import LineString

from slipmargin.stability.ground.ground_line import Complex, Float, Ground
from slipmargin.stability.ground.points import read_points
from slipmargin.stability.ground.water_line import WaterLine
from slipmargin.stability.rotational.crest_edge import with_load_foot
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.log_spiral import LoadedSlope
from slipmargin.strength import InputError, Numeric

__all__ = ["loaded_slope"]

_OVER = 1e-9


def loaded_slope(check: RotationalInputs, shape: tuple[int, ...]) -> LoadedSlope:
    """The slope of a check, arrays flattened from ``shape``.

    Raises
    ------
    InputError
        Fields that contradict each other, ground or water that cannot be.
    """

    def flat(value: Numeric) -> Float:
        array = np.asarray(value, dtype=float)
        if array.size == 1:
            return array.reshape(1)
        return np.broadcast_to(array, shape).reshape(-1)

    if check.ground_line is None:
        height, ground = _plain(check, flat)
    else:
        height, ground = _surveyed(check)
    crest = load_foot = _crest(ground)
    before = ground.vertices.shape[1]
    if np.any(np.asarray(check.surcharge) > 0.0):
        ground, load_foot = with_load_foot(ground, crest)
        crest += ground.vertices.shape[1] - before
    water = _water(check, ground)
    firm = None
    if check.firm_ground_depth is not None:
        firm = np.min(ground.vertices.imag, axis=1) - flat(check.firm_ground_depth)
    soil = check.soil
    below = soil.weight_below_water if check.water_line is not None else soil.unit_weight
    return LoadedSlope(
        ground=ground,
        height=height,
        unit_weight=flat(soil.unit_weight),
        saturated_unit_weight=flat(below),
        pore_pressure_ratio=flat(check.pore_pressure_ratio),
        seismic_coefficient=flat(check.horizontal_seismic_coefficient),
        surcharge=flat(check.surcharge),
        water_unit_weight=flat(check.water_unit_weight),
        crest=crest,
        load_foot=load_foot,
        water=water,
        firm_level=firm,
    )


def _plain(check: RotationalInputs, flat: Any) -> tuple[Float, Ground]:
    for name in ("height", "face_angle"):
        if getattr(check, name) is None:
            raise InputError(name, None, "give height and face_angle, or a ground_line")
    if np.any(np.asarray(check.upper_slope_angle) >= np.asarray(check.face_angle)):
        raise InputError(
            "upper_slope_angle",
            check.upper_slope_angle,
            "the ground above the crest must be flatter than the face; a slope of one angle "
            "is an infinite slope",
        )
    height, face = flat(check.height), np.radians(flat(check.face_angle))
    # an upright face has no run at all, not a rounding of one
    run = np.where(face < np.pi / 2.0, np.cos(face) / np.sin(face), 0.0)
    crest = height * (run + 1j)
    points = np.stack((np.zeros_like(crest), crest), axis=1)
    beyond = np.radians(flat(check.upper_slope_angle))
    rows = max(points.shape[0], beyond.size)
    return height, Ground.through(
        np.broadcast_to(points, (rows, 2)), np.broadcast_to(beyond, (rows,))
    )


def _points(place: str, given: Any, fewest: int) -> Complex:
    line = read_points(place, given, fewest)
    return np.asarray(line[:, 0] + 1j * line[:, 1])


def _surveyed(check: RotationalInputs) -> tuple[Float, Ground]:
    place, given = "ground_line", check.ground_line
    if check.height is not None or check.face_angle is not None:
        raise InputError(place, given, "give it instead of height and face_angle")
    if np.any(np.asarray(check.upper_slope_angle) != 0.0):
        raise InputError(
            "upper_slope_angle",
            check.upper_slope_angle,
            "leave it out beside a ground_line, whose points say how the ground goes on",
        )
    points = _points(place, given, 2)
    steps = np.diff(points)
    if np.any(steps.real < 0.0) or np.any(steps == 0.0):
        raise InputError(place, given, "points run from left to right, none twice")
    if not LineString(np.column_stack((points.real, points.imag))).is_simple:
        raise InputError(place, given, "the ground line must not touch itself")
    if points[-1].imag <= points[0].imag:
        raise InputError(place, given, "the slope rises to the right: mirror the points")
    return (
        np.array([np.ptp(points.imag)]),
        Ground.through(points[None, :], np.zeros(1)),
    )


def _crest(ground: Ground) -> int:
    """Upper end of the last piece at least half as steep as the steepest."""
    way = np.abs(np.angle(ground.directions[0, 1:-1])) * (ground.directions[0, 1:-1].imag > 0.0)
    return int(np.flatnonzero(way >= 0.5 * np.max(way))[-1]) + 1


def _water(check: RotationalInputs, ground: Ground) -> WaterLine | None:
    if check.water_line is None:
        return None
    place, given = "water_line", check.water_line
    if np.any(np.asarray(check.pore_pressure_ratio) > 0.0):
        raise InputError(place, given, "give a water_line or a pore_pressure_ratio, not both")
    water = WaterLine.of(given)
    # both lines are straight between points, so that it is enough to look there
    slack = _OVER * np.max(np.abs(ground.vertices)) + _OVER
    at_corner = water.level(ground.vertices.real) - ground.vertices.imag
    row = np.broadcast_to(water.x, (ground.vertices.shape[0], water.x.size))
    at_point = water.y - ground.level(row)
    if np.any(at_corner > slack) or np.any(at_point > slack):
        raise InputError(
            place,
            given,
            "the water stands above the ground (beyond its ends the line goes on level); water "
            "on the face or in front of it is not modelled, so let the line come out at the toe",
        )
    return water
