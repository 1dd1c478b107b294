"""Blocks, columns and walls by vector statics on polygons: no equation of the checks is used.

x runs into the slope (or the fill) and y upward; forces are vectors [kN/m] on the body that
may move, toward smaller x. Nothing here imports the program.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from scipy.optimize import minimize_scalar
from shapely.geometry import LineString, Point, Polygon, box

FAR = 1e4
Vector = Any


def vector(x: float, y: float) -> Vector:
    return np.array([x, y])


def turned(degrees: float) -> Vector:
    """Unit vector at an angle above the x axis."""
    return vector(np.cos(np.radians(degrees)), np.sin(np.radians(degrees)))


def left_of(direction: Vector) -> Vector:
    """A quarter turn counter-clockwise."""
    return vector(-direction[1], direction[0])


def planar_block(ground: list[Vector], angle: float, crack_x: float | None) -> Any:
    """Polygon between the ground and a plane through the toe, up to a vertical crack."""
    toe, end = ground[0], ground[-1]
    below = Polygon([*ground, (end[0], -FAR), (toe[0], -FAR)])
    up = turned(angle)
    above = Polygon([toe, toe + FAR * up, toe + FAR * up + (0.0, FAR), (toe[0], FAR)])
    cut = below.intersection(above)
    if crack_x is not None:
        cut = cut.intersection(box(-FAR, -FAR, crack_x, FAR))
    parts = [cut] if cut.geom_type == "Polygon" else list(cut.geoms)
    parts = [part for part in parts if part.geom_type == "Polygon" and part.area > 0.0]
    return min(parts, key=lambda part: part.distance(Point(toe)))


def planar_factor(
    ground: list[Vector],
    angle: float,
    *,
    cohesion: float,
    friction_angle: float,
    unit_weight: float,
    crest_x: float,
    crack_x: float | None = None,
    crack_water: float = 0.0,
    pore_pressure_ratio: float = 0.0,
    surcharge: float = 0.0,
    shaking: float = 0.0,
    support: float = 0.0,
    support_angle: float = 0.0,
    water: float = 9.81,
) -> float:
    """Factor of the block on one plane: strength over drive, of the vector sum of its loads."""
    block = planar_block(ground, angle, crack_x)
    up = turned(angle)
    outward = left_of(up)
    reach = max(x for x, _ in block.exterior.coords)
    length = (reach - ground[0][0]) / up[0]
    loaded = max(reach - crest_x, 0.0)
    soil = unit_weight * block.area
    weight = soil + surcharge * loaded
    line = LineString(ground)
    top = line.intersection(LineString([(reach, -FAR), (reach, FAR)]))
    highest = max(np.atleast_2d(np.array(top.coords))[:, 1])
    crack = highest - (ground[0][1] + reach * np.tan(np.radians(angle)))
    standing = min(crack_water, crack) if crack_x is not None and crack > 1e-9 else 0.0
    forces = [
        vector(0.0, -weight),
        vector(-shaking * weight, 0.0),
        vector(-water * standing**2 / 2.0, 0.0),
        outward * water * standing * length / 2.0,
        outward * pore_pressure_ratio * soil / up[0],
        support * turned(-support_angle),
    ]
    total = np.sum(forces, axis=0)
    normal, drive = -total @ outward, -total @ up
    strength = cohesion * length + normal * np.tan(np.radians(friction_angle))
    return float(strength / drive) if drive > 0.0 else np.inf


def critical_plane(ground: list[Vector], low: float, high: float, **loads: Any) -> float:
    """Lowest factor over the planes from one angle to below another, one by one and then closer."""
    angles = np.linspace(low, high, 600)[:-1]
    factors = [planar_factor(ground, one, **loads) for one in angles]
    best = int(np.argmin(factors))
    around = angles[max(best - 1, 0)], angles[min(best + 1, angles.size - 1)]
    closer = minimize_scalar(
        lambda one: planar_factor(ground, one, **loads),
        bounds=around,
        method="bounded",
        options={"xatol": 1e-7},
    )
    return float(min(closer.fun, factors[best]))


def column_factor(
    *,
    slope_angle: float,
    depth: float,
    cohesion: float,
    friction_angle: float,
    unit_weight: float,
    saturated: float,
    water_table: float | None = None,
    seepage_angle: float | None = None,
    submerged: bool = False,
    surcharge: float = 0.0,
    shaking: float = 0.0,
    water: float = 9.81,
) -> float:
    """Factor of a column of an endless slope, one metre in plan, on its base.

    Soil forces on its two sides cancel, as every column is the same. Water presses on every
    side of the column below still water; with flow, on its base, by the head at the water
    table where the equipotential through the base comes out.
    """
    up = turned(slope_angle)
    outward = left_of(up)
    tan = up[1] / up[0]
    corners = [vector(0.0, -depth), vector(1.0, tan - depth), vector(1.0, tan), vector(0.0, 0.0)]
    wet = depth if submerged else 0.0 if water_table is None else max(depth - water_table, 0.0)
    weight = unit_weight * (depth - wet) + saturated * wet + surcharge
    forces = [vector(0.0, -weight), vector(-shaking * weight, 0.0)]
    if submerged:
        level = tan + 3.0
        forces += [_water_on(a, b, level, water) for a, b in pairwise(corners)]
        forces.append(_water_on(corners[-1], corners[0], level, water))
    elif wet > 0.0:
        down = turned(slope_angle if seepage_angle is None else seepage_angle)
        across = left_of(down)  # an equipotential, square to the flow
        # base point (0, -depth); water table y = tan x - depth + wet
        along = wet / (across[1] - tan * across[0])
        pressure = water * along * across[1]
        forces.append(outward * pressure / up[0])
    total = np.sum(forces, axis=0)
    normal, drive = -total @ outward, -total @ up
    return float((cohesion / up[0] + normal * np.tan(np.radians(friction_angle))) / drive)


def _water_on(start: Vector, end: Vector, level: float, water: float) -> Vector:
    """Still water on one side of a body, its corners taken counter-clockwise."""
    side = end - start
    pressure = water * (level - (start[1] + end[1]) / 2.0)
    return pressure * left_of(side)


def wedge_thrust(
    ground: list[Vector],
    *,
    active: bool,
    friction_angle: float,
    unit_weight: float,
    wall_friction: float = 0.0,
    cohesion: float = 0.0,
    adhesion: float = 0.0,
    surcharge: float = 0.0,
    shaking: float = 0.0,
    lift: float = 0.0,
) -> float:
    """Thrust on a back face by the force polygons of trial wedges, worst of all.

    ``ground`` starts at the heel, goes up the back face to its top and on along the ground,
    which ends far away. The thrust stands at the wall friction from the normal of the face.
    """
    heel, top = np.asarray(ground[0]), np.asarray(ground[1])
    face = (top - heel) / np.hypot(*(top - heel))
    into = -left_of(face)
    sign = 1.0 if active else -1.0
    wall = into + sign * np.tan(np.radians(wall_friction)) * face
    outline = LineString(ground[1:])

    def thrust(angle: float) -> float:
        up = turned(angle)
        met = outline.intersection(LineString([heel, heel + 10.0 * FAR * up]))
        if met.is_empty:
            return -np.inf * sign
        end = np.array(met.coords[0] if met.geom_type == "Point" else met.geoms[0].coords[0])
        on_wedge = [point for point in ground[1:] if point[0] < end[0] - 1e-12]
        wedge = Polygon([heel, *on_wedge, end])
        weight = unit_weight * wedge.area + surcharge * (end[0] - top[0])
        length = np.hypot(*(end - heel))
        base = left_of(up) + sign * np.tan(np.radians(friction_angle)) * up
        given = vector(-sign * shaking * weight, -(1.0 - lift) * weight)
        given = given + sign * cohesion * length * up
        given = given + sign * adhesion * np.hypot(*(top - heel)) * face
        normal, reaction = np.linalg.solve(np.column_stack([wall, base]), -given)
        if reaction < 0.0 or (not active and normal < 0.0):
            return -np.inf * sign
        return float(normal * np.hypot(*wall))

    steepest = np.degrees(np.arctan2(face[1], face[0])) if face[0] > 0.0 else 90.0
    angles = np.linspace(2.0, min(steepest, 90.0) - 0.5, 800)
    tried = np.array([sign * thrust(one) for one in angles])
    best = int(np.argmax(tried))
    around = angles[max(best - 1, 0)], angles[min(best + 1, angles.size - 1)]
    closer = minimize_scalar(
        lambda one: -sign * thrust(one), bounds=around, method="bounded", options={"xatol": 1e-9}
    )
    return sign * max(-float(closer.fun), float(tried[best]))


def conjugate_thrust(
    *,
    height: float,
    slope: float,
    active: bool,
    friction_angle: float,
    cohesion: float,
    unit_weight: float,
) -> float:
    """Rankine's thrust on a vertical plane from circles of stress at many depths.

    At each depth the circle through the stress on the plane parallel to the ground touches
    the strength; of the two the smaller is active. Tension is left out of an active thrust.
    """
    phi, beta = np.radians(friction_angle), np.radians(slope)
    steps = 4000
    depth = (np.arange(steps) + 0.5) * height / steps
    normal = unit_weight * depth * np.cos(beta) ** 2
    shear = unit_weight * depth * np.cos(beta) * np.sin(beta)
    # radius = c cos φ + s sin φ, with (σ - s)² + τ² = radius²: a quadratic in the centre s
    a = np.cos(phi) ** 2
    b = -2.0 * (normal + cohesion * np.cos(phi) * np.sin(phi))
    c = normal**2 + shear**2 - (cohesion * np.cos(phi)) ** 2
    root = np.sqrt(np.maximum(b**2 - 4.0 * a * c, 0.0))
    centre = (-b - root) / (2.0 * a) if active else (-b + root) / (2.0 * a)
    along = 2.0 * centre - normal  # normal stress on the plane square to the ground
    # traction on a vertical plane, whose normal makes β with the ground's direction
    across = np.stack([along * np.cos(beta) - shear * np.sin(beta),
                       shear * np.cos(beta) - normal * np.sin(beta)])  # fmt: skip
    pressure = np.hypot(*across) * np.sign(across[0])
    if active:
        pressure = np.maximum(pressure, 0.0)
    return float(np.sum(pressure) * height / steps)


def moment_about(origin: Vector, place: Vector, force: Vector) -> float:
    """Counter-clockwise."""
    arm = np.asarray(place) - origin
    return float(arm[0] * force[1] - arm[1] * force[0])
