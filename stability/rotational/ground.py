"""The ground, water and loads of a rotational check, read from its fields."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from slipmargin.stability.ground.flat import flattened
from slipmargin.stability.ground.ground_line import Float, Ground
from slipmargin.stability.ground.points import Line, read_ground
from slipmargin.stability.ground.surcharge_strip import strip_edges
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE, open_crack_depth
from slipmargin.stability.rotational.crest_edge import with_load_foot
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.spiral import LEAST_SHARE, LoadedSlope
from slipmargin.strength import InputError, Numeric

__all__ = ["loaded_slope"]

_OVER = 1e-9
_FAR_BELOW = 1e4  # heights; where no pool stands beside slopes with one

Flat = Callable[[Numeric], Float]


def loaded_slope(check: RotationalInputs, shape: tuple[int, ...]) -> LoadedSlope:
    """The slope of a check, arrays flattened from ``shape``.

    Raises
    ------
    InputError
        Fields that contradict each other, ground or water that cannot be.
    """
    flat = flattened(shape)
    height, ground = _plain(check, flat) if check.ground_line is None else _surveyed(check)
    crest = load_foot = ground.steep_pieces[-1]
    near = far = None
    if np.any(np.asarray(check.surcharge) > 0.0):
        setback, width = flat(check.surcharge_setback), check.surcharge_width
        if np.any(setback < LEAST_SHARE * ground.drop(crest)):
            before = ground.vertices.shape[1]
            ground, load_foot = with_load_foot(ground, crest)
            crest += ground.vertices.shape[1] - before
        edge = ground.vertices[:, crest].real
        begins, ends = strip_edges(edge, setback, None if width is None else flat(width))
        near = np.maximum(ground.station(np.asarray(begins)), ground.stations[:, crest])
        far = None if width is None else ground.station(np.asarray(ends))
    water = _water(check, ground)
    lowest = np.min(ground.vertices.imag, axis=1)
    firm = None if check.firm_ground_depth is None else lowest - flat(check.firm_ground_depth)
    pool, deep = None, flat(check.standing_water_level)
    if np.any(deep > 0.0):
        pool = np.where(deep > 0.0, lowest + deep, lowest - _FAR_BELOW * height)
    soil = check.soil
    wet = check.water_line is not None or pool is not None
    below = soil.weight_below_water if wet else soil.unit_weight
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
        load_near=near,
        load_far=far,
        water=water,
        water_rise=None if water is None else flat(check.water_line_rise),
        firm_level=firm,
        pool_level=pool,
        on_face=_on_face(check),
        **_support(check, ground, lowest, flat),
        **_crack(check, ground, crest, height, flat),
    )


def _on_face(check: RotationalInputs) -> bool:
    """Whether ends on the face are worth a look: water, firm ground and loads with a place of
    their own do not shrink with a part of the slope.
    """
    fixed = (check.ground_line, check.water_line, check.firm_ground_depth)
    water = check.tension_crack_water_depth
    placed = (check.standing_water_level, check.support_force, check.surcharge_setback)
    return (
        any(one is not None for one in fixed)
        or isinstance(water, str)
        or any(bool(np.any(np.asarray(one) > 0.0)) for one in (*placed, water))
    )


def _crack(
    check: RotationalInputs, ground: Ground, crest: int, height: Float, flat: Flat
) -> dict[str, Any]:
    """The deepest crack that a spiral may end in, if there is one. One that is stated may be
    used by a surface only in part; one that is searched for is no deeper than the full
    strength, and water in it, holds open, and half the height.
    """
    stated, searched = check.tension_crack_depth, check.search_tension_crack
    distance, filled = check.tension_crack_distance, check.tension_crack_water_depth
    water = np.array([np.inf]) if isinstance(filled, str) else flat(filled)
    if stated is not None:
        depth = flat(stated)
        if searched:
            raise InputError(
                "search_tension_crack", True, "give tension_crack_depth or have it searched"
            )
        if np.any(depth >= height):
            raise InputError(
                "tension_crack_depth",
                f"{float(np.max(stated)):g} m",
                f"shallower than the slope is high, {float(np.min(height)):.2f} m",
            )
        if np.any(np.isfinite(water) & (water > depth)):
            raise InputError(
                "tension_crack_water_depth",
                f"{float(np.max(water)):g} m",
                f'no deeper than the crack, {float(np.min(stated)):.2f} m, or "full"',
            )
        if not np.any(depth > 0.0):
            return {}
    elif searched:
        strength = check.soil.strength
        open_to = open_crack_depth(
            flat(strength.cohesion),
            flat(strength.tan_friction_angle),
            unit_weight=flat(check.soil.unit_weight),
            water_unit_weight=flat(check.water_unit_weight),
            water_depth=water,
        )
        depth = np.asarray(np.minimum(open_to, DEEPEST_SHARE * height))
    elif distance is not None:
        raise InputError(
            "tension_crack_distance",
            distance,
            "give the depth of the crack, tension_crack_depth, or have it searched",
        )
    elif np.any(water > 0.0):
        raise InputError(
            "tension_crack_water_depth", filled, "give the crack it stands in: tension_crack_depth"
        )
    else:
        return {}
    found = {"crack_depth": depth, "crack_water": water}
    if distance is not None:
        place = ground.vertices[:, crest].real + flat(distance)
        found["crack_station"] = np.maximum(ground.station(place), ground.stations[:, crest])
    return found


def _support(check: RotationalInputs, ground: Ground, lowest: Float, flat: Flat) -> dict[str, Any]:
    if not np.any(np.asarray(check.support_force) > 0.0):
        return {}
    height = check.support_height
    if height is None:
        raise InputError(
            "support_height", None, "say how high above the toe the support force meets the face"
        )
    station = ground.first_at_level(lowest + flat(height))
    if np.any(np.isnan(station)):
        raise InputError(
            "support_height",
            f"{float(np.max(height)):g} m",
            "the support force meets the face between toe and crest",
        )
    return {
        "support_force": flat(check.support_force),
        "support_angle": flat(check.support_angle),
        "support_station": station,
    }


def _plain(check: RotationalInputs, flat: Flat) -> tuple[Float, Ground]:
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
    assert check.height is not None and check.face_angle is not None  # noqa: PT018
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
    x, y = read_ground(given, 2).T
    if y[-1] <= y[0]:
        raise InputError(place, given, "the slope rises to the right: mirror the points")
    return np.array([np.ptp(y)]), Ground.through((x + 1j * y)[None, :], np.zeros(1))


def _water(check: RotationalInputs, ground: Ground) -> Line | None:
    if check.water_line is None and np.any(np.asarray(check.water_line_rise) != 0.0):
        raise InputError("water_line_rise", check.water_line_rise, "give the water_line it raises")
    if check.water_line is None:
        return None
    place, given = "water_line", check.water_line
    if np.any(np.asarray(check.pore_pressure_ratio) > 0.0):
        raise InputError(place, given, "give a water_line or a pore_pressure_ratio, not both")
    water = Line.of("water_line", given)
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
