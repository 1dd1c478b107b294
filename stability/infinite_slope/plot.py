"""Draws an infinite slope: a strip of ground, its slip plane, one column and what acts on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import SOILS, WATER, WATER_FILL, Point, Sheet, Window
from slipmargin.stability.drawing.words import factor_words, length, numbers, shown, soil_words
from slipmargin.stability.infinite_slope.check import InfiniteSlope

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_infinite_slope", "infinite_slope_words"]

_COLUMN = 0.9  # width of the column over the thickness of the layer


def draw_infinite_slope(
    check: InfiniteSlope, result: CheckResult, axes: Axes | None = None
) -> Figure:
    """The strip, with the column in its middle and the origin at the ground above its foot."""
    given, v = numbers(check), numbers(result.values)
    beta, depth = given("slope_angle"), given("depth")
    table = depth - v("water_height")
    tan, cos = float(np.tan(np.radians(beta))), float(np.cos(np.radians(beta)))
    half = 3.4 * depth * cos
    # a steep strip leaves the window at its top and bottom, a flat one at its sides
    rise = min(2.0 * half * tan + 2.0 * depth, 1.64 * half)
    window = Window(-half, half, -0.6 * depth - 0.5 * rise, 0.5 * rise - 0.3 * depth)
    sheet = Sheet(window, axes)
    seen = min(half, 0.5 * (rise - depth) / tan)

    def along(below: float) -> list[Point]:
        return [(x, x * tan - below) for x in (window.left, window.right)]

    def at(share: float, below: float = 0.0) -> Point:
        return share * seen, share * seen * tan - below

    ground, slip = along(0.0), along(depth)
    firm = [*slip, (window.right, window.bottom), (window.left, window.bottom)]
    sheet.area(firm, face=SOILS[1])
    sheet.area([*ground, *reversed(slip)], face=SOILS[0])
    if check.submerged:
        _still_water(sheet, tan)
    sheet.line(ground, "ground", name="ground")
    sheet.line(slip, "slip", name="slip surface")
    factor = factor_words(result, "sliding")
    sheet.label(f"slip plane, {factor}", at(0.72, depth), towards=-60.0)
    if table < depth:
        words = f"water table, $d_w$ = {length(table)}"
        sheet.water_level(along(table), at(0.58, table), words)
        theta = v("flow_angle")
        words, turn = f"seepage, $\\theta$ = {theta:.1f}°", np.radians(theta + 180.0)
        ahead = sheet.size(15.0) * np.array([np.cos(turn), np.sin(turn)])
        for share in (0.36, -0.5):
            x, y = ahead + at(share, 0.5 * (table + depth))
            look: dict[str, Any] = {"long": 30.0, "ink": WATER, "width": 1.0, "name": "seepage"}
            sheet.arrow((float(x), float(y)), theta + 180.0, words, **look)
            words = ""
    _column(sheet, check, result, tan, cos)
    sheet.dimension(at(-0.83, depth), at(-0.83), f"$d$ = {length(depth)}")
    corner = at(-0.36)
    sheet.line([corner, (corner[0] - sheet.size(66.0), corner[1])], "thin")
    sheet.angle(corner, 180.0, 180.0 + beta, f"$\\beta$ = {beta:.1f}°", radius=56.0)
    soil = soil_words(check.soil, wet=table < depth or check.submerged)
    if (roots := given("root_cohesion")) > 0.0:
        soil += f"\nroots add $c_r$ = {shown(roots, 'kPa')}"
    sheet.inside(soil, firm)
    return sheet.finish(
        note="The strip goes on without end. Arrows show place and direction, not size."
    )


def _still_water(sheet: Sheet, tan: float) -> None:
    window = sheet.window
    level = window.top - sheet.size(16.0)
    reach = min(window.right, level / tan)
    surface = [(window.left, level), (reach, level)]
    below = [(reach, reach * tan), (window.left, window.left * tan)]
    sheet.area([*surface, *below], face=WATER_FILL, zorder=0.5)
    mark = (0.55 * max(window.left, -reach), level)
    sheet.water_level(surface, mark, "still water over the slope")


def _column(
    sheet: Sheet, check: InfiniteSlope, result: CheckResult, tan: float, cos: float
) -> None:
    given, v = numbers(check), numbers(result.values)
    depth, beta = given("depth"), given("slope_angle")
    half = 0.5 * _COLUMN * depth * cos
    sides = [(-half, -half * tan), (half, half * tan)]
    foot = [(x, y - depth) for x, y in sides]
    column = [*sides, *reversed(foot)]
    sheet.area(column, face="white", hatch="///", edge="#8c8c8c", name="column", zorder=2.0)
    for side in zip(sides, foot, strict=True):
        sheet.line(side, "edge")
    load = ""
    if (surcharge := given("surcharge")) > 0.0:
        load = ", surcharge included"
        loaded = [(2.2 * x, 2.2 * y) for x, y in sides]
        sheet.load(loaded, f"surcharge $q$ = {shown(surcharge, 'kPa')}")
    weight = v("column_weight")
    kind = "buoyant weight" if check.submerged else "weight"
    words = f"{kind} $W$ = {shown(weight, 'kPa')}\nof plan area{load}"
    low, high = (0.0, -0.5 * depth - sheet.size(26.0)), (0.0, -0.5 * depth + sheet.size(8.0))
    sheet.arrow(low, -90.0, long=40.0, name="weight", width=1.9)
    sheet.label(words, high, towards=115.0)
    if (k_h := given("horizontal_seismic_coefficient")) > 0.0:
        words = f"shaking $k_h W$ = {shown(k_h * weight, 'kPa')}"
        sheet.arrow((0.0, -0.5 * depth), 180.0, words, long=46.0, tail=True, name="shaking")
    words = f"normal stress $\\sigma$ = {shown(v('normal_stress'), 'kPa')}"
    if (u := v("pore_pressure")) != 0.0:
        words += f",\nof which water $u$ = {shown(u, 'kPa')},"
        words += f"\neffective $\\sigma'$ = {shown(v('effective_normal_stress'), 'kPa')}"
    sheet.arrow((0.0, -depth), beta + 90.0, words, long=46.0, name="normal stress")
    # just below the plane, on the side of the ground that holds the column back
    below, turn = sheet.size(5.0), np.radians(beta)
    across, down = below * float(np.sin(turn)), below * float(np.cos(turn))
    start = (-0.8 * half + across, -0.8 * half * tan - depth - down)
    long = 0.62 * half / cos / sheet.size(1.0) + 8.0
    sheet.arrow(start, beta, long=long, tail=True, name="shear stress")
    words = f"shear stress $\\tau$ = {shown(v('shear_stress'), 'kPa')},\n"
    words += f"strength $\\tau_f$ = {shown(v('shear_strength'), 'kPa')}"
    sheet.label(words, start, towards=225.0)


def infinite_slope_words(check: InfiniteSlope, result: CheckResult) -> str:
    """The drawing in one sentence."""
    given, v = numbers(check), numbers(result.values)
    depth, height, water = given("depth"), v("water_height"), "no water"
    if check.submerged:
        water = "still water over the whole slope"
    elif height > 0.0:
        water = (
            f"a water table {length(depth - height)} below the ground with seepage at "
            f"{v('flow_angle'):.1f}° below horizontal"
        )
    return (
        f"Section of a long slope at {given('slope_angle'):.1f}°, with a slip plane "
        f"{length(depth)} below the ground and parallel to it, {water}, and one column of "
        f"soil with its weight and the stresses on its base; {factor_words(result, 'sliding')}."
    )
