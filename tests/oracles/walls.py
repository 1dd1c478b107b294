"""A cantilever wall by summing the forces on its polygons. Nothing here imports the program."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import statics
from shapely.geometry import Polygon, box

STEPS = 20_000


@dataclass(frozen=True)
class CantileverWall:
    """Sizes [m]: stem above the slab and its thicknesses, slab before and behind the stem."""

    stem: float
    slab: float
    top: float
    foot: float
    toe: float
    heel: float
    unit_weight: float


@dataclass(frozen=True)
class Fill:
    """Fill behind the wall, without cohesion, and the load on it."""

    friction_angle: float
    unit_weight: float
    saturated: float
    slope: float
    surcharge: float


def wall_factors(
    wall: CantileverWall,
    fill: Fill,
    *,
    table: float | None,
    shaking: float,
    base_friction: float,
    passive: float,
    embedment: float,
    below: float,
    water: float = 9.81,
) -> dict[str, float]:
    """Sliding and overturning about the toe, at the origin.

    The vertical plane through the heel carries the thrust, parallel to the ground; what
    shaking adds to it acts at 0.6 of the height (Seed & Whitman 1970). Uplift falls from the
    heel to nothing at the toe. ``below`` is the friction angle in front of the wall.
    """
    height, width = wall.stem + wall.slab, wall.toe + wall.foot + wall.heel
    back = wall.toe + wall.foot
    rise = np.tan(np.radians(fill.slope))
    stem = [(wall.toe, wall.slab), (back, wall.slab), (back, height), (back - wall.top, height)]
    behind = [(back, wall.slab), (width, wall.slab), (width, height + wall.heel * rise),
              (back, height)]  # fmt: skip
    level = -1.0 if table is None else height - table
    far = 1e3
    bodies = [
        (box(0.0, 0.0, width, wall.slab), wall.unit_weight),
        (Polygon(stem), wall.unit_weight),
        (Polygon(behind).intersection(box(-far, level, far, far)), fill.unit_weight),
        (Polygon(behind).intersection(box(-far, -far, far, level)), fill.saturated),
    ]
    vertical = righting = overturning = horizontal = 0.0
    for body, unit_weight in bodies:
        if body.area > 0.0:
            weight = unit_weight * body.area
            vertical += weight
            righting += weight * body.centroid.x
            horizontal += shaking * weight
            overturning += shaking * weight * body.centroid.y
    tall = height + wall.heel * rise
    end = 80.0 * tall

    def pressed(k: float) -> float:
        """Coefficient of the pressure on the plane, from one force polygon."""
        corners = [(0.0, 0.0), (0.0, tall), (end, tall + end * rise)]
        held = statics.wedge_thrust(
            [np.array(corner) for corner in corners], active=True, shaking=k, unit_weight=1.0,
            friction_angle=fill.friction_angle, wall_friction=fill.slope,
        )  # fmt: skip
        return 2.0 * held / tall**2

    thin = tall / STEPS
    y = (np.arange(STEPS) + 0.5) * thin
    own = np.where(y > level, fill.unit_weight, fill.saturated - water) * thin
    stress = np.cumsum(own[::-1])[::-1] - own / 2.0 + fill.surcharge
    still = pressed(0.0)
    parts = [(still * stress * thin, y)]
    if shaking > 0.0:
        more = (pressed(shaking) - still) * float(np.sum(stress * thin))
        parts.append((np.array([more]), np.array([0.6 * tall])))
    for pressure, at in parts:
        across = pressure * np.cos(np.radians(fill.slope))
        down = pressure * np.sin(np.radians(fill.slope))
        vertical += float(down.sum())
        righting += float(down.sum()) * width
        overturning += float((across * at).sum())
        horizontal += float(across.sum())
    if level > 0.0:
        horizontal += water * level**2 / 2.0
        overturning += water * level**3 / 6.0
        uplift = water * level * width / 2.0
        vertical -= uplift
        overturning += uplift * width * 2.0 / 3.0
    resistance = vertical * np.tan(np.radians(base_friction))
    if passive > 0.0:
        # ground in front: buoyant where the water behind leaves at the underside of the base
        corners = [(0.0, 0.0), (0.0, embedment), (end, embedment)]
        resistance += passive * statics.wedge_thrust(
            [np.array(corner) for corner in corners], active=False, shaking=shaking,
            unit_weight=fill.unit_weight, friction_angle=below,
        )  # fmt: skip
    return {"sliding": resistance / horizontal, "overturning": righting / overturning}
