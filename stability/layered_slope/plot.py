"""Draws the section of a layered slope: ground, layers, water, slip surface, loads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import QUIET, SOILS, WIDE, Point, Sheet, Window, pairs
from slipmargin.stability.drawing.slope_ground import (
    SlopeGround,
    crack,
    loads_in_words,
    shaken,
    support,
    water_line,
)
from slipmargin.stability.drawing.words import factor_words, length, numbers, scalar, soil_words
from slipmargin.stability.layered_slope.check import LayeredSlope
from slipmargin.stability.layered_slope.ground import section_of
from slipmargin.stability.layered_slope.section import Section

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_layered_slope", "layered_slope_words"]

_STATIONS = 121


def draw_layered_slope(
    check: LayeredSlope, result: CheckResult, axes: Axes | None = None
) -> Figure:
    """The slope with its governing slip surface, and a few others with low factors."""
    values = result.values
    section = section_of(check, ())
    surface = _surface(section, values)
    crest = _crest(check, section)
    ground = SlopeGround.surveyed(np.column_stack((section.ground.x, section.ground.y)), crest)
    window = _window(check, section, surface)
    sheet = Sheet(window, axes, WIDE)
    ground.draw(sheet)
    areas = _layers(sheet, check, section)
    ground.pool(sheet, float(section.amounts.pool[0]), "pool")
    for points in values.next_lowest:
        sheet.line(list(points), "thin", name="next lowest")
    if surface:
        x_crack = [(surface[-1][0], ground.level(surface[-1][0]))]
        top = ground.between(surface[0], x_crack[0])
        mass = [*reversed(surface), *top]
        sheet.area(mass, hatch="///", edge="#a8a8a8", name="mass", zorder=1.7)
        sheet.line(surface, "slip", name="slip surface")
        words = f"slip surface, {factor_words(result, 'sliding')}"
        if values.next_lowest:
            words += "\n(thin: others with low factors)"
        sheet.label(words, surface[int(0.45 * len(surface))], towards=-70.0)
        deep, water = (numbers(values)(n) for n in ("crack_depth", "crack_water_height"))
        if deep > 0.0:
            crack(sheet, surface[-1], deep, water)
        _centre(sheet, values)
        shaken(sheet, check, mass)
    highest = max(ground.points, key=lambda point: point[1])
    if highest[0] < window.right:
        ground.measure(sheet, highest, None, 0.0)
    ground.load(sheet, check.surcharge, check.surcharge_setback, check.surcharge_width)
    _water(sheet, section)
    at = section.amounts.support_x[0], section.amounts.support_y[0]
    support(sheet, check, (float(at[0]), float(at[1])))
    if section.amounts.firm[0] > window.bottom:
        sheet.firm_ground(float(section.amounts.firm[0]))
    for layer, area in areas:
        wet = check.water_line is not None or scalar("pool", check.standing_water_level) > 0.0
        sheet.inside(soil_words(layer.soil, wet=wet, flat=True), area)
    return sheet.finish()


def _surface(section: Section, values: Any) -> list[Point]:
    """The slip surface from exit to entry [m]; empty where nothing slides."""
    names = ("circle_x", "circle_y", "circle_radius", "exit_x", "entry_x")
    x, y, radius, left, right = (scalar(name, getattr(values, name)) for name in names)
    if not np.isfinite(radius):
        return []
    start, end = np.arcsin(np.clip((np.array([left, right]) - x) / radius, -1.0, 1.0)).tolist()
    turn = np.linspace(start, end, _STATIONS)
    arc = y - radius * np.cos(turn)
    foot = np.maximum(arc, section.amounts.firm[0])
    return pairs(x + radius * np.sin(turn), foot)


def _crest(check: LayeredSlope, section: Section) -> Point:
    near = float(section.amounts.load_start[0]) - scalar("setback", check.surcharge_setback)
    return near, float(section.ground.level(np.array(near)))


def _window(check: LayeredSlope, section: Section, surface: list[Point]) -> Window:
    line, size = section.ground, section.size
    rising = np.flatnonzero(np.diff(line.y) > 0.05 * np.diff(line.x))
    rising = rising if rising.size else np.flatnonzero(np.diff(line.y) > 0.0)
    left, right = float(line.x[rising[0]]), float(line.x[rising[-1] + 1])
    points: list[Point] = [(left - size, float(np.min(line.y))), *surface]
    points.append((right + 1.5 * size, float(np.max(line.y))))
    if scalar("surcharge", check.surcharge) > 0.0:
        near, far = float(section.amounts.load_start[0]), float(section.amounts.load_end[0])
        points.append((min(far, near + 1.5 * size), float(np.max(line.y))))
    lowest = min(y for _, y in points)
    if np.isfinite(section.amounts.firm[0]):
        lowest = min(lowest, float(section.amounts.firm[0]))
    for top in section.tops:
        deep = float(np.min(top.level(np.array([left, right]))))
        lowest = min(lowest, max(deep, lowest - 0.5 * size))
    points.append((left, lowest))
    return Window.around(points, left=0.08, right=0.08, bottom=0.1, top=0.16)


def _layers(sheet: Sheet, check: LayeredSlope, section: Section) -> list[tuple[Any, list[Point]]]:
    """The layers, each with its own ground and hatch; gives what is to be named."""
    window = sheet.window
    lines = [section.ground, *section.tops]
    x = np.unique(
        np.concatenate([np.linspace(window.left, window.right, 241), *(line.x for line in lines)])
    )
    x = x[(x >= window.left) & (x <= window.right)]
    ground = section.ground.level(x)
    firm = section.amounts.firm[0]
    floor = np.full(x.shape, max(float(firm), window.bottom))
    bounds = [np.minimum(top.level(x), ground) for top in section.tops]
    for index in range(len(bounds) - 2, -1, -1):
        bounds[index] = np.maximum(bounds[index], bounds[index + 1])
    uppers, lowers = [ground, *bounds], [*bounds, floor]
    named = []
    for index, layer in enumerate(check.layers):
        upper, lower = np.maximum(uppers[index], floor), np.maximum(lowers[index], floor)
        if not np.any(upper - lower > sheet.size(1.0)):
            continue
        area = [*pairs(x, upper), *pairs(x, lower)[::-1]]
        sheet.area(area, face=SOILS[index % len(SOILS)], name=layer.soil.name, zorder=1.2)
        if index:
            shown_at = upper > floor + sheet.size(0.5)
            if np.count_nonzero(shown_at) > 1:
                edge = pairs(x[shown_at], upper[shown_at])
                sheet.line(edge, "edge", name="top of layer")
        named.append((layer, area))
    return named


def _centre(sheet: Sheet, values: Any) -> None:
    x, y = scalar("circle_x", values.circle_x), scalar("circle_y", values.circle_y)
    radius = scalar("circle_radius", values.circle_radius)
    window = sheet.window
    words = f"centre ({x:.2f}, {y:.2f}) m, radius {length(radius)}".replace("-", "−")
    inside = window.left < x < window.right and window.bottom < y < window.top
    if inside:
        sheet.dot((x, y), ink=QUIET, hollow=True)
        sheet.label(words, (x, y + sheet.size(5.0)), towards=90.0, ink=QUIET)
    else:
        sheet.remark(words)


def _water(sheet: Sheet, section: Section) -> None:
    if section.water is None:
        return
    window = sheet.window
    rise = float(section.amounts.water_rise[0])
    corners = [section.water.x, section.ground.x, np.array([window.left, window.right])]
    x = np.unique(np.concatenate(corners))
    water_line(sheet, x, np.minimum(section.water.level(x) + rise, section.ground.level(x)))


def layered_slope_words(check: LayeredSlope, result: CheckResult) -> str:
    """The drawing in one sentence."""
    values = result.values
    section = section_of(check, ())
    surface = _surface(section, values)
    where = "no slip surface"
    if surface:
        (ax, ay), (bx, by) = surface[0], surface[-1]
        where = f"a circular slip surface from ({ax:.2f}, {ay:.2f}) to ({bx:.2f}, {by:.2f}) m"
    names = ", ".join(dict.fromkeys(layer.soil.name for layer in check.layers))
    beside = "".join(f", {one}" for one in loads_in_words(check))
    firm = ", firm ground below" if check.firm_ground_depth is not None else ""
    depth = scalar("crack_depth", values.crack_depth)
    crack = f" that ends in a tension crack {length(depth)} deep" if depth > 0.0 else ""
    return (
        f"Section of a slope {length(section.size)} high in layers ({names}), with {where}{crack}"
        f"{beside}{firm}; {factor_words(result, 'sliding')}."
    )
