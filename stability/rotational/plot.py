"""Draws the section of a rotational slide: ground, log-spiral, pole and radii, water, loads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import (
    QUIET,
    SOILS,
    WATER,
    Point,
    Sheet,
    Window,
    between,
    pairs,
)
from slipmargin.stability.drawing.slope_ground import (
    SlopeGround,
    crack,
    loads_in_words,
    shaken,
    support,
    water_line,
)
from slipmargin.stability.drawing.words import factor_words, length, scalar, shown, soil_words
from slipmargin.stability.ground.ground_line import Ground
from slipmargin.stability.rotational.check import Rotational

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["crack_top", "draw_rotational", "rotational_ground", "rotational_words", "spiral_points"]

_STATIONS = 121
_FAR = 2.6  # a pole farther off than this many sizes of the mass stays outside the drawing


def spiral_points(values: Any) -> list[Point]:
    """The slip surface from exit to entry [m]; empty where no single surface governs."""
    names = ("pole_x", "pole_y", "exit_x", "exit_y", "entry_x", "entry_y", "opening_angle")
    px, py, ax, ay, bx, by, opening = (scalar(name, getattr(values, name)) for name in names)
    if not np.all(np.isfinite([px, py, ax, ay, bx, by, opening])):
        return []
    tan = np.tan(np.radians(scalar("reduced_friction_angle", values.reduced_friction_angle)))
    turn = np.radians(opening) * np.linspace(0.0, 1.0, _STATIONS)
    curve = complex(px, py) + complex(ax - px, ay - py) * np.exp((1j - tan) * turn)
    return [(ax, ay), *pairs(curve.real, curve.imag)[1:-1], (bx, by)]


def crack_top(values: Any) -> list[Point]:
    """The top of the crack that the slip surface ends in [m]; empty where it ends in none."""
    points = spiral_points(values)
    depth = scalar("tension_crack_depth", values.tension_crack_depth)
    return [(points[-1][0], points[-1][1] + depth)] if points and depth > 0.0 else []


def rotational_ground(check: Rotational) -> SlopeGround:
    """The ground of the check; a surcharge lies behind its last steep piece."""
    if check.ground_line is None:
        return SlopeGround.plain(check.height, check.face_angle, check.upper_slope_angle)
    line = np.asarray(check.ground_line, dtype=float)
    ground = Ground.through(line[None, :, 0] + 1j * line[:, 1], np.zeros(1))
    last = ground.steep_pieces[-1]
    return SlopeGround.surveyed(line, (float(line[last, 0]), float(line[last, 1])))


def draw_rotational(check: Rotational, result: CheckResult, axes: Axes | None = None) -> Figure:
    """The slope with the critical spiral, seen along the slope."""
    values = result.values
    ground = rotational_ground(check)
    spiral = spiral_points(values)
    pole = (scalar("pole_x", values.pole_x), scalar("pole_y", values.pole_y))
    top = crack_top(values)
    points = [*ground.points, *spiral, *top]
    size = float(np.max(np.ptp(np.asarray(points), axis=0)))
    reach = np.max(np.abs(np.asarray(points) - np.asarray(pole))) if spiral else np.inf
    near = bool(reach <= _FAR * size)
    firm = None
    if check.firm_ground_depth is not None:
        lowest = min(y for _, y in ground.points)
        firm = lowest - scalar("firm_ground_depth", check.firm_ground_depth)
        points.append((points[0][0], max(firm, lowest - size)))
    if near:
        points.append(pole)
    window = Window.around(points, left=0.3, right=0.3, bottom=0.17, top=0.1 if near else 0.25)
    sheet = Sheet(window, axes)
    soil = ground.draw(sheet)
    if spiral:
        mass = [*reversed(spiral), *ground.between(spiral[0], (top or spiral)[-1])]
        sheet.area(mass, face=SOILS[1], hatch="///", edge="#a8a8a8", name="mass", zorder=1.5)
        sheet.line(spiral, "slip", name="slip surface")
        middle = spiral[len(spiral) // 2]
        words = f"slip surface, {factor_words(result, 'sliding')}"
        words += ",\ntoo small to see" if sheet.speck(spiral) else ""
        sheet.label(words, middle, towards=-50.0)
        _pole(sheet, pole, spiral, values, near=near)
        if top:
            _crack(sheet, check, values, spiral[-1], top[0][1] - spiral[-1][1])
    else:
        at = (0.5 * (window.left + window.right), window.top - sheet.size(8.0))
        words = f"{factor_words(result, 'sliding')}: no single slip surface governs"
        sheet.label(words, at, towards=-90.0, leader=False)
    highest = max(ground.points, key=lambda point: point[1])
    ground.measure(sheet, highest, check.face_angle, check.upper_slope_angle)
    _loads(sheet, check, ground)
    if firm is not None and firm > window.bottom:
        sheet.firm_ground(firm)
    if spiral:
        shaken(sheet, check, mass)
    below = _below(sheet, soil, ground, [*spiral, *top], firm)
    sheet.inside(_soil_words(check), *([below, mass] if spiral else [below]))
    return sheet.finish()


def _soil_words(check: Rotational) -> str:
    pooled = scalar("standing_water_level", check.standing_water_level)
    words = soil_words(check.soil, wet=check.water_line is not None or pooled > 0.0)
    r_u = scalar("pore_pressure_ratio", check.pore_pressure_ratio)
    return words + (f"\npore pressure ratio $r_u$ = {r_u:.2f}" if r_u > 0.0 else "")


def _loads(sheet: Sheet, check: Rotational, ground: SlopeGround) -> None:
    ground.load(sheet, check.surcharge, check.surcharge_setback, check.surcharge_width)
    toe, deep = ground.points[0], scalar("standing_water_level", check.standing_water_level)
    ground.pool(sheet, toe[1] + deep, f"pool, {length(deep)} deep")
    if check.support_height is not None:
        foot = min(y for _, y in ground.points)
        tip = ground.on_face(foot + scalar("support_height", check.support_height))
        support(sheet, check, tip)
    if check.water_line is not None:
        _water(sheet, check)


def _below(
    sheet: Sheet, soil: list[Point], ground: SlopeGround, spiral: list[Point], firm: float | None
) -> list[Point]:
    """The soil that does not move."""
    window = sheet.window
    floor = window.bottom if firm is None else max(firm, window.bottom)
    if not spiral:
        return [*soil[:-2], (window.right, floor), (window.left, floor)]
    left = ground.between(ground.at(window.left), spiral[0])
    right = ground.between(spiral[-1], ground.at(window.right))
    return [*left, *spiral, *right, (window.right, floor), (window.left, floor)]


def _pole(sheet: Sheet, pole: Point, spiral: list[Point], values: Any, *, near: bool) -> None:
    for foot, symbol, name, towards in (
        (spiral[0], "$r_A$", "exit_radius", 180.0),
        (spiral[-1], "$r_B$", "entry_radius", 0.0),
    ):
        sheet.line([pole, foot], "radius", name=name, clip_on=True)
        at = between(foot, pole, 0.42) if near else _leaving(sheet, foot, pole)
        words = f"{symbol} = {length(scalar(name, getattr(values, name)))}"
        sheet.label(words, at, towards=towards, ink=QUIET)
    opening = scalar("opening_angle", values.opening_angle)
    if near:
        sheet.dot(pole, ink=QUIET, hollow=True)
        above = (pole[0], pole[1] + sheet.size(5.0))
        sheet.label(f"pole ({pole[0]:.2f}, {pole[1]:.2f})", above, towards=90.0)
        ends = np.asarray([spiral[0], spiral[-1]]) - np.asarray(pole)
        start, end = np.degrees(np.arctan2(ends[:, 1], ends[:, 0])).tolist()
        # counter-clockwise from exit to entry
        start -= 360.0 * (start > end)
        sheet.angle(pole, start, end, f"$\\Delta$ = {opening:.1f}°", radius=30.0)
    else:
        top = (0.5 * (sheet.window.left + sheet.window.right), sheet.window.top - sheet.size(6.0))
        words = f"pole outside the drawing, at ({pole[0]:.2f}, {pole[1]:.2f}) m"
        words += f"; $\\Delta$ = {opening:.1f}°"
        sheet.label(words, top, towards=-90.0, leader=False)


def _leaving(sheet: Sheet, start: Point, end: Point) -> Point:
    """Two thirds of the way to where a line leaves the window."""
    window = sheet.window
    share = 1.0
    limits = ((window.left, window.right), (window.bottom, window.top))
    for one, other, (low, high) in zip(start, end, limits, strict=True):
        if other > high:
            share = min(share, (high - one) / (other - one))
        elif other < low:
            share = min(share, (low - one) / (other - one))
    return between(start, end, share * 2.0 / 3.0)


def _crack(sheet: Sheet, check: Rotational, values: Any, foot: Point, deep: float) -> None:
    thrust = scalar("crack_thrust", values.crack_thrust)
    weight = scalar("water_unit_weight", check.water_unit_weight)
    wet = min(float(np.sqrt(2.0 * thrust / weight)), deep)
    crack(sheet, foot, deep, wet)
    if thrust > 0.0:
        tip, words = (foot[0], foot[1] + wet / 3.0), f"water thrust $V$ = {shown(thrust, 'kN/m')}"
        sheet.arrow(tip, 180.0, words, long=30.0, ink=WATER, name="crack thrust")


def _water(sheet: Sheet, check: Rotational) -> None:
    x, y = np.asarray(check.water_line, dtype=float).T
    at = np.unique([*x, sheet.window.left, sheet.window.right])
    water_line(sheet, at, np.interp(at, x, y + scalar("water_line_rise", check.water_line_rise)))


def rotational_words(check: Rotational, result: CheckResult) -> str:
    """The drawing in one sentence."""
    values = result.values
    ground = rotational_ground(check)
    spiral = spiral_points(values)
    rise = max(y for _, y in ground.points) - min(y for _, y in ground.points)
    surface = "no single slip surface, since none governs"
    if spiral:
        (ax, ay), (bx, by) = spiral[0], spiral[-1]
        surface = (
            f"a log-spiral slip surface from ({ax:.2f}, {ay:.2f}) to ({bx:.2f}, {by:.2f}) m "
            "about its pole"
        )
    shape = ""
    if check.ground_line is None:
        shape = f" with a face at {scalar('face_angle', check.face_angle):.1f}°"
    depth = scalar("tension_crack_depth", values.tension_crack_depth)
    if spiral and depth > 0.0:
        surface += f", ending in a tension crack {length(depth)} deep"
        surface += ", water in it" if scalar("crack_thrust", values.crack_thrust) > 0.0 else ""
    beside = "".join(f", {one}" for one in loads_in_words(check))
    firm = ", firm ground below" if check.firm_ground_depth is not None else ""
    return (
        f"Section of a slope {length(rise)} high{shape}, with {surface}{beside}{firm}; "
        f"{factor_words(result, 'sliding')}."
    )
