"""Draws the section of a planar wedge: ground, block, plane, crack, water, loads and forces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import (
    SOILS,
    WATER,
    WATER_FILL,
    Point,
    Sheet,
    Window,
    between,
    centroid,
    pairs,
)
from slipmargin.stability.drawing.slope_ground import (
    SlopeGround,
    loads_in_words,
    support,
    water_line,
)
from slipmargin.stability.drawing.words import factor_words, length, scalar, shown, soil_words
from slipmargin.stability.planar_wedge.case import slope_of, water_of
from slipmargin.stability.planar_wedge.check import PlanarWedge
from slipmargin.stability.planar_wedge.ground import GroundLine
from slipmargin.stability.rotational.plot import crack_top, spiral_points

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_planar_wedge", "planar_wedge_words"]

_DIAGRAM = 30.0  # depth of the uplift diagram [pt]


def _ground(check: PlanarWedge) -> SlopeGround:
    if check.ground_line is None:
        return SlopeGround.plain(check.height, check.face_angle, check.upper_slope_angle)
    line = GroundLine.of(check.ground_line)
    x, y = np.asarray(check.ground_line, dtype=float)[0]
    crest = (x + scalar("crest", line.crest_x), y + scalar("crest", line.height))
    return SlopeGround.surveyed(check.ground_line, crest)


def draw_planar_wedge(check: PlanarWedge, result: CheckResult, axes: Axes | None = None) -> Figure:
    """The slope with the block on its plane, and its rotation where there is one."""
    values, ground = result.values, _ground(check)
    toe = ground.points[0]
    run = scalar("plane_run", values.plane_run)
    psi = scalar("plane_angle", values.plane_angle)
    end = (toe[0] + run, toe[1] + run * float(np.tan(np.radians(psi))))
    depth = scalar("tension_crack_depth", values.tension_crack_depth)
    top = (end[0], end[1] + depth)
    turned = result.parts.get("rotation")
    rotation = []
    if turned is not None:
        rotation = [*spiral_points(turned.result.values), *crack_top(turned.result.values)]
    known = [*ground.points, end, top, *rotation]
    key = 0.0 if turned is None else 0.06
    window = Window.around(known, left=0.3, right=0.26, bottom=0.2, top=0.2 + key)
    sheet = Sheet(window, axes)
    ground.draw(sheet)
    block = [*ground.between(toe, top), end]
    sheet.area(block, face=SOILS[1], hatch="///", edge="#a8a8a8", name="block", zorder=1.5)
    factor = factor_words(result, "sliding")
    keyed = "" if turned is None else f"plane: {factor}"
    sheet.line([toe, end], "slip", name="slip surface", key=keyed)
    if turned is None:
        sheet.label(f"slip plane, {factor}", between(toe, end, 0.7), towards=-40.0)
    else:
        _rotation(sheet, result, rotation)
    if depth > 0.0:
        _crack(sheet, check, values, end, top, ground.crest)
    _uplift(sheet, check, values, toe, end)
    ground.measure(sheet, ground.crest, check.face_angle, check.upper_slope_angle)
    sheet.angle(toe, 0.0, psi, f"plane at {psi:.1f}°", radius=74.0)
    sheet.line([toe, (toe[0] + sheet.size(84.0), toe[1])], "thin")
    ground.load(sheet, check.surcharge, check.surcharge_setback, check.surcharge_width)
    deep = scalar("standing_water_level", check.standing_water_level)
    ground.pool(sheet, toe[1] + deep, f"pool, {length(deep)} deep")
    _water_line(sheet, check, toe)
    _forces(sheet, check, values, block, ground)
    words = soil_words(check.soil, wet=scalar("wet_area", values.wet_area) > 0.0)
    r_u = scalar("pore_pressure_ratio", check.pore_pressure_ratio)
    if r_u > 0.0:
        words += f"\npore pressure ratio $r_u$ = {r_u:.2f}"
    rear = ground.between(top, ground.at(window.right))
    foot = [(window.right, window.bottom), (window.left, window.bottom)]
    below = [*ground.between(ground.at(window.left), toe), end, *rear, *foot]
    sheet.inside(words, below)
    return sheet.finish()


def _rotation(sheet: Sheet, result: CheckResult, rotation: list[Point]) -> None:
    words = f"rotation: {factor_words(result, 'rotation')}"
    if rotation:
        if sheet.speck(rotation):
            x, y = rotation[0]
            words += f", too small to see, at ({x:.2f}, {y:.2f})"
        sheet.line(rotation, "second", name="second slip surface", key=words)
    else:
        sheet.remark(f"{words}, no single slip surface")


def _crack(
    sheet: Sheet, check: PlanarWedge, values: Any, end: Point, top: Point, crest: Point
) -> None:
    sheet.line([end, top], "crack", name="crack")
    if (distance := top[0] - crest[0]) > 0.0:
        level = max(crest[1], top[1])
        ends, words = ((crest[0], level), (top[0], level)), f"$b$ = {length(distance)}"
        sheet.dimension(*ends, words, away=46.0, feet=False)
        for x, y in (crest, top):
            sheet.line([(x, y + sheet.size(4.0)), (x, level + sheet.size(50.0))], "thin")
    side = end[0] + sheet.size(96.0)
    words = f"$z$ = {length(top[1] - end[1])}"
    sheet.dimension((side, top[1]), (side, end[1]), words, feet=False)
    for _, y in (top, end):
        sheet.line([(end[0] + sheet.size(3.0), y), (side + sheet.size(9.6), y)], "thin")
    water = scalar("crack_water_depth", values.crack_water_depth)
    if water == 0.0:
        return
    pressure = scalar("water_unit_weight", check.water_unit_weight) * water
    surface, corner = (end[0], end[1] + water), (end[0] + sheet.size(_DIAGRAM), end[1])
    look: dict[str, Any] = {"face": WATER_FILL, "hatch": "---", "edge": WATER, "zorder": 2.5}
    sheet.area([end, corner, surface], name="crack water pressure", **look)
    sheet.line([end, surface], "water", linewidth=2.6, linestyle="-", name="crack water")
    sheet.label(shown(pressure, "kPa"), corner, towards=-10.0, ink=WATER)
    words = f"water thrust $V$ = {shown(scalar('crack_thrust', values.crack_thrust), 'kN/m')}"
    tip = between(end, surface, 1.0 / 3.0)
    sheet.arrow(tip, 180.0, long=_DIAGRAM + 14.0, ink=WATER, name="crack thrust")
    at = (tip[0] + sheet.size(_DIAGRAM + 14.0), tip[1])
    sheet.label(words, at, towards=0.0, ink=WATER)


def _uplift(sheet: Sheet, check: PlanarWedge, values: Any, toe: Point, end: Point) -> None:
    """Water pressure on the plane, square to it and to one scale along it."""
    uplift = scalar("uplift", values.uplift)
    if uplift <= 0.0:
        return
    share, pressure = _pressure(check, values, end[0] - toe[0], end[1] - toe[1])
    way = np.asarray(end) - np.asarray(toe)
    normal = np.array([way[1], -way[0]]) / np.hypot(*way)
    on_plane = np.asarray(toe) + share[:, None] * way
    scale = sheet.size(_DIAGRAM) / pressure.max()
    foot = on_plane + normal * (pressure * scale)[:, None]
    outline = [*pairs(*on_plane.T), *pairs(*foot[::-1].T)]
    sheet.area(outline, face=WATER_FILL, hatch="---", edge=WATER, name="uplift", zorder=2.0)
    most = int(np.argmax(pressure))
    highest = float(foot[most, 0]), float(foot[most, 1])
    sheet.label(f"$u$ = {shown(float(pressure[most]), 'kPa')}", highest, towards=-70.0, ink=WATER)
    even = np.linspace(0.0, 1.0, 201)
    along = np.interp(even, share, pressure)
    centre = float(np.sum(even * along) / np.sum(along))
    tip = between(toe, end, centre)
    deep = float(np.interp(centre, share, pressure)) / float(pressure.max()) * _DIAGRAM
    angle = float(np.degrees(np.arctan2(-normal[1], -normal[0])))
    words = f"uplift $U$ = {shown(uplift, 'kN/m')}"
    sheet.arrow(tip, angle, words, long=deep + 16.0, ink=WATER, name="uplift force")


def _pressure(check: PlanarWedge, values: Any, run: float, rise: float) -> tuple[Any, Any]:
    """Places along the plane, as shares of it, and the water pressure there [kPa]."""
    share = np.linspace(0.0, 1.0, 401)
    level, water = _levels(check, share * run)
    r_u = scalar("pore_pressure_ratio", check.pore_pressure_ratio)
    stress = scalar("unit_weight", check.soil.unit_weight) * np.maximum(level - share * rise, 0.0)
    more = scalar("crack_water_depth", values.crack_water_depth)
    more -= scalar("crack_head", values.crack_head)
    heads = np.maximum(water - share * rise, 0.0) + more * share
    return share, scalar("water_unit_weight", check.water_unit_weight) * heads + r_u * stress


def _levels(check: PlanarWedge, x: Any) -> tuple[Any, Any]:
    """Height of the ground and of the water in it over x from the toe [m]; -inf for none."""
    ground = np.asarray(slope_of(check, np.asarray).ground_y(x))
    water = water_of(check, np.asarray)
    return ground, np.full(x.shape, -np.inf) if water is None else water.in_slope(x, ground)


def _water_line(sheet: Sheet, check: PlanarWedge, toe: Point) -> None:
    """The water in the slope, behind its face."""
    x = np.linspace(0.0, sheet.window.right - toe[0], 400)
    surface, level = _levels(check, x)
    level = np.where(level <= surface, level, np.nan)
    water_line(sheet, x + toe[0], level + toe[1], "water in the slope")


def _forces(
    sheet: Sheet, check: PlanarWedge, values: Any, block: list[Point], ground: SlopeGround
) -> None:
    weight = scalar("weight", values.weight)
    loaded = ",\nsurcharge included" if scalar("surcharge", check.surcharge) > 0.0 else ""
    words = f"weight $W$ = {shown(weight, 'kN/m')}{loaded}"
    sheet.arrow(centroid(block), -90.0, words, tail=True, name="weight", width=1.9)
    shaking = scalar("seismic_force", values.seismic_force)
    if shaking > 0.0:
        sheet.shaking(block, f"shaking $K_h$ = {shown(shaking, 'kN/m')}", long=54.0)
    toe, crest, height = ground.points[0], ground.crest, check.support_height
    above = 0.5 * (crest[1] - toe[1]) if height is None else scalar("support_height", height)
    support(sheet, check, ground.on_face(toe[1] + above))


def planar_wedge_words(check: PlanarWedge, result: CheckResult) -> str:
    """The drawing in one sentence."""
    values, ground = result.values, _ground(check)
    rise = ground.crest[1] - ground.points[0][1]
    psi = scalar("plane_angle", values.plane_angle)
    shape = ""
    if check.ground_line is None:
        shape = f" with a face at {scalar('face_angle', check.face_angle):.1f}°"
    parts = [f"a block on a slip plane through the toe at {psi:.1f}°"]
    depth = scalar("tension_crack_depth", values.tension_crack_depth)
    if depth > 0.0:
        water = scalar("crack_water_depth", values.crack_water_depth)
        standing = f" with {length(water)} of water in it" if water > 0.0 else ""
        parts.append(f"a tension crack {length(depth)} deep{standing}")
    parts += loads_in_words(check)
    if scalar("uplift", values.uplift) > 0.0:
        parts.append("the water pressure on the plane")
    parts.append(f"its weight of {shown(scalar('weight', values.weight), 'kN/m')}")
    words = (
        f"Section of a slope {length(rise)} high{shape}, with {', '.join(parts[:-1])} and "
        f"{parts[-1]}; {factor_words(result, 'sliding')}"
    )
    if "rotation" in result.parts:
        words += (
            "; the slip surface of the rotation of the same slope is dashed, "
            f"{factor_words(result, 'rotation')}"
        )
    return f"{words}."
