"""Planes, cracks and ground that do not go together in a planar wedge, refused in words."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.fields import refuse
from slipmargin.stability.ground.flat import COLUMN
from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.geometry import StraightSlope
from slipmargin.stability.planar_wedge.ground import GroundLine
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.strength import InputError, Numeric

__all__ = ["ROUNDING_OF_DEPTH", "refuse_impossible"]

ROUNDING_OF_DEPTH = 0.0051
"""Depths are read off, and printed, to the centimetre: water deeper than its crack by no more
than that is brim-full [m]."""

_OVER = 1e-9  # of the height of the ground
_SLACK = 1.0 + 1e-12  # rounding of a limit that is met exactly


def refuse_impossible(wedge: PlanarWedgeInputs, case: Case) -> None:
    """Hold plane, crack and water against the ground; ``InputError``: fields that contradict each
    other, a plane outside the slope, a crack behind the place where the plane daylights, water
    deeper than its crack.
    """
    slope, plane, crack_x = case.slope, case.plane_angle, case.crack_x
    water = np.asarray(case.loads.crack_water_depth)
    cracked = crack_x is not None or case.search_crack
    sloped = isinstance(slope, GroundLine) and np.asarray(wedge.upper_slope_angle) != 0.0
    refuse(wedge, "upper_slope_angle", sloped, "leave it out beside a ground_line")
    if isinstance(slope, StraightSlope):
        steep = slope.upper_slope_angle >= np.asarray(slope.face_angle)
        _refuse(case, "upper_slope_angle", steep, "the upper slope must be flatter than the face")
    twice = crack_x is not None and case.search_crack
    searched = "leave it out where search_tension_crack is true"
    refuse(wedge, "tension_crack_distance", twice, searched)
    by_ratio = np.any(case.loads.pore_pressure_ratio > 0.0)
    either = "give crack water or a pore pressure ratio, not both"
    refuse(wedge, "pore_pressure_ratio", by_ratio and np.any(water > 0.0), either)
    _refuse_water(wedge, case)
    if not cracked:
        _refuse(case, "tension_crack_water_depth", water > 0.0, "give the crack it stands in")
    if crack_x is not None:
        behind = "behind a vertical face a crack stands above 0 m behind the crest"
        _refuse(case, "tension_crack_distance", np.asarray(crack_x) <= 0.0, behind)
        beyond = np.asarray(crack_x) >= slope.end_x
        ends = "the ground line ends in front of the crack"
        _refuse(case, "tension_crack_distance", beyond, ends)
    by_pencils = plane is None and not case.search_crack
    if by_pencils and isinstance(slope, GroundLine) and not slope.pencils(crack_x):
        raise InputError(
            "ground_line",
            f"it ends {slope.end_x:g} m from the toe",
            "no plane from the toe comes out on it; give more of the ground behind the crest",
        )
    steepest: Numeric = slope.upper_slope_angle
    if plane is not None:
        steepest = plane
        _refuse_plane(case, np.asarray(plane))
    place = slope.crest_x if crack_x is None else crack_x
    depth = slope.ground_y(place) - np.asarray(place) * np.tan(np.radians(steepest))
    if cracked:
        over = np.isfinite(water) & (water > depth + ROUNDING_OF_DEPTH)
        brim = f'no deeper than the crack, {float(np.min(depth)):.2f} m, or "full"'
        _refuse(case, "tension_crack_water_depth", over, brim)


def _refuse_water(wedge: PlanarWedgeInputs, case: Case) -> None:
    """Hold phreatic line and pool against the ground."""
    slope, pool = case.slope, np.asarray(case.loads.pool_level)
    raised = wedge.water_line is None and np.asarray(wedge.water_line_rise) != 0.0
    refuse(wedge, "water_line_rise", raised, "give the water_line it raises")
    if case.water is None:
        return
    given = "water_line" if wedge.water_line is not None else "standing_water_level"
    beside = f"leave it out beside a {given}, which gives the pore pressure"
    by_ratio = np.asarray(case.loads.pore_pressure_ratio) > 0.0
    refuse(wedge, "pore_pressure_ratio", by_ratio, beside)
    crest = f"no higher than the crest, {float(np.min(slope.height)):g} m"
    _refuse(case, "standing_water_level", pool > np.asarray(slope.height), crest)
    line = case.water.line
    if line is None:
        return
    ground = slope.taken(COLUMN)
    # both are straight between points, so that it is enough to look there
    corners = np.concatenate((np.zeros_like(ground.corners_x), ground.corners_x), axis=1)
    points = line.x[(line.x >= 0.0) & (line.x <= slope.end_x)]
    for x in (corners, points[None, :]):
        stands = np.maximum(ground.ground_y(x), np.asarray(pool).reshape(-1, 1))
        refuse(
            wedge,
            "water_line",
            line.level(x) > stands + _OVER * (1.0 + np.max(np.abs(stands), initial=0.0)),
            "the water stands above the ground (beyond its ends the line goes on level): let "
            "it come out at the toe, or give the pool there as standing_water_level",
        )


def _refuse_plane(case: Case, plane: NDArray[np.float64]) -> None:
    slope, crack_x = case.slope, case.crack_x
    face, upper = np.asarray(slope.face_angle), np.asarray(slope.upper_slope_angle)
    below = f"below the angle of the face, {float(np.min(face)):g} deg"
    _refuse(case, "plane_angle", plane >= face, below)
    flat = f"not flatter than the upper slope, {float(np.max(upper)):g} deg"
    _refuse(case, "plane_angle", plane < upper, flat)
    daylight = slope.daylight_x(np.tan(np.radians(plane)))
    if crack_x is None:
        endless = (isinstance(slope, StraightSlope) or not case.search_crack) & np.isinf(daylight)
        _refuse(case, "plane_angle", endless, "the plane must daylight on the ground given")
    else:
        in_front = "the plane daylights in front of the crack: move the crack forward"
        behind = crack_x > np.asarray(daylight) * _SLACK
        _refuse(case, "tension_crack_distance", behind, in_front)


def _refuse(case: Case, name: str, bad: Any, allowed: str) -> None:
    """Raise for the first value of a field that is refused."""
    if not np.any(bad):
        return
    value = {
        "upper_slope_angle": case.slope.upper_slope_angle,
        "plane_angle": case.plane_angle,
        "tension_crack_distance": case.crack_distance,
        "tension_crack_water_depth": case.loads.crack_water_depth,
        "standing_water_level": case.loads.pool_level,
    }[name]
    refused, values = np.broadcast_arrays(bad, np.asarray(value, dtype=float))
    first = float(values[refused].flat[0])
    unit = "deg" if name.endswith("angle") else "m"
    raise InputError(name, f"{first:g} {unit}" if np.isfinite(first) else "full", allowed)
