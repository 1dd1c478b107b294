"""Draws an infinite slope: a strip of ground, its slip plane, one column and what acts on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import SOILS, WATER, WATER_FILL, Point, Sheet, Window
from slipmargin.stability.drawing.words import factor_words, length, scalar, shown, soil_words
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
    values = result.values
    beta = scalar("slope_angle", check.slope_angle)
    depth = scalar("depth", check.depth)
    table = depth - scalar("water_height", values.water_height)
    tan, cos = float(np.tan(np.radians(beta))), float(np.cos(np.radians(beta)))
    half = 3.4 * depth * cos
    # a steep strip leaves the window at its top and bottom, a flat one at its sides
    rise = min(2.0 * half * tan + 2.0 * depth, 1.64 * half)
    window = Window(-half, half, -0.6 * depth - 0.5 * rise, 0.5 * rise - 0.3 * depth)
    sheet = Sheet(window, axes)
    seen = min(half, 0.5 * (rise - depth) / tan)

    def along(below: float, left: float = window.left, right: float = window.right) -> list[Point]:
        return [(left, left * tan - below), (right, right * tan - below)]

    firm = [*along(depth), (window.right, window.bottom), (window.left, window.bottom)]
    sheet.area(firm, face=SOILS[1])
    layer = [*along(0.0), *reversed(along(depth))]
    sheet.area(layer, face=SOILS[0])
    if check.submerged:
        _still_water(sheet, tan)
    sheet.line(along(0.0), "ground", name="ground")
    sheet.line(along(depth), "slip", name="slip surface")
    sheet.label(
        f"slip plane, {factor_words(result, 'sliding')}",
        (0.72 * seen, 0.72 * seen * tan - depth),
        towards=-60.0,
    )
    if table < depth:
        _seepage(sheet, check, values, along(table), table, seen)
    _column(sheet, check, result, tan, cos)
    x = -0.83 * seen
    sheet.dimension((x, x * tan - depth), (x, x * tan), f"$d$ = {length(depth)}")
    corner = (-0.36 * seen, -0.36 * seen * tan)
    sheet.line([corner, (corner[0] - sheet.size(66.0), corner[1])], "thin")
    sheet.angle(corner, 180.0, 180.0 + beta, f"$\\beta$ = {beta:.1f}°", radius=56.0)
    soil = soil_words(check.soil, wet=table < depth or check.submerged)
    roots = scalar("root_cohesion", check.root_cohesion)
    if roots > 0.0:
        soil += f"\nroots add $c_r$ = {shown(roots, 'kPa')}"
    sheet.inside(soil, firm)
    return sheet.finish(
        across="distance [m]",
        up="height [m]",
        note="The strip goes on without end. Arrows show place and direction, not size.",
    )


def _still_water(sheet: Sheet, tan: float) -> None:
    window = sheet.window
    level = window.top - sheet.size(16.0)
    reach = min(window.right, level / tan)
    shore = max(window.left, -reach)
    surface = [(window.left, level), (reach, level)]
    below = [(reach, reach * tan), (window.left, window.left * tan)]
    sheet.area([*surface, *below], face=WATER_FILL, zorder=0.5)
    sheet.water_level(surface, (0.55 * shore, level), "still water over the slope")


def _seepage(
    sheet: Sheet, check: InfiniteSlope, values: Any, water: list[Point], table: float, seen: float
) -> None:
    tan = float(np.tan(np.radians(scalar("slope", check.slope_angle))))
    x = 0.58 * seen
    sheet.water_level(water, (x, x * tan - table), f"water table, $d_w$ = {length(table)}")
    theta = scalar("flow_angle", values.flow_angle)
    depth = scalar("depth", check.depth)
    words = f"seepage, $\\theta$ = {theta:.1f}°"
    for share in (0.36, -0.5):
        x = share * seen
        middle = x * tan - 0.5 * (table + depth)
        turn = np.radians(theta + 180.0)
        half = sheet.size(15.0)
        tip = (x + half * float(np.cos(turn)), middle + half * float(np.sin(turn)))
        sheet.arrow(tip, theta + 180.0, words, long=30.0, ink=WATER, width=1.0, name="seepage")
        words = ""


def _column(
    sheet: Sheet, check: InfiniteSlope, result: CheckResult, tan: float, cos: float
) -> None:
    values = result.values
    depth, beta = scalar("depth", check.depth), scalar("slope_angle", check.slope_angle)
    half = 0.5 * _COLUMN * depth * cos
    sides = [(-half, -half * tan), (half, half * tan)]
    foot = [(half, half * tan - depth), (-half, -half * tan - depth)]
    sheet.area(
        [*sides, *foot], face="white", hatch="///", edge="#8c8c8c", name="column", zorder=2.0
    )
    for top, base in zip(sides, reversed(foot), strict=True):
        sheet.line([top, base], "edge")
    surcharge = scalar("surcharge", check.surcharge)
    if surcharge > 0.0:
        sheet.load(
            [(-2.2 * half, -2.2 * half * tan), (2.2 * half, 2.2 * half * tan)],
            f"surcharge $q$ = {shown(surcharge, 'kPa')}",
        )
    weight = scalar("column_weight", values.column_weight)
    kind = "buoyant weight" if check.submerged else "weight"
    load = ", surcharge included" if surcharge > 0.0 else ""
    middle = (0.0, -0.5 * depth)
    sheet.arrow((0.0, -0.5 * depth - sheet.size(26.0)), -90.0, long=40.0, name="weight", width=1.9)
    sheet.label(
        f"{kind} $W$ = {shown(weight, 'kPa')}\nof plan area{load}",
        (0.0, -0.5 * depth + sheet.size(8.0)),
        towards=115.0,
    )
    k_h = scalar("horizontal_seismic_coefficient", check.horizontal_seismic_coefficient)
    if k_h > 0.0:
        sheet.arrow(
            middle,
            180.0,
            f"shaking $k_h W$ = {shown(k_h * weight, 'kPa')}",
            long=46.0,
            tail=True,
            name="shaking",
        )
    sigma = scalar("normal_stress", values.normal_stress)
    u = scalar("pore_pressure", values.pore_pressure)
    words = f"normal stress $\\sigma$ = {shown(sigma, 'kPa')}"
    if u != 0.0:
        effective = scalar("effective_normal_stress", values.effective_normal_stress)
        words += f",\nof which water $u$ = {shown(u, 'kPa')},"
        words += f"\neffective $\\sigma'$ = {shown(effective, 'kPa')}"
    sheet.arrow((0.0, -depth), beta + 90.0, words, long=46.0, name="normal stress")
    tau = scalar("shear_stress", values.shear_stress)
    strength = scalar("shear_strength", values.shear_strength)
    # just below the plane, on the side of the ground that holds the column back
    below = sheet.size(5.0)
    turn = np.radians(beta)
    start = (
        -0.8 * half + below * float(np.sin(turn)),
        -0.8 * half * tan - depth - below * float(np.cos(turn)),
    )
    sheet.arrow(start, beta, long=0.62 * half / cos / sheet.size(1.0) + 8.0, tail=True,
                name="shear stress")  # fmt: skip
    words = f"shear stress $\\tau$ = {shown(tau, 'kPa')},\n"
    words += f"strength $\\tau_f$ = {shown(strength, 'kPa')}"
    sheet.label(words, start, towards=225.0)


def infinite_slope_words(check: InfiniteSlope, result: CheckResult) -> str:
    """The drawing in one sentence."""
    depth = scalar("depth", check.depth)
    height = scalar("water_height", result.values.water_height)
    water = "no water"
    if check.submerged:
        water = "still water over the whole slope"
    elif height > 0.0:
        water = (
            f"a water table {length(depth - height)} below the ground with seepage at "
            f"{scalar('flow_angle', result.values.flow_angle):.1f}° below horizontal"
        )
    return (
        f"Section of a long slope at {scalar('slope_angle', check.slope_angle):.1f}°, with a slip "
        f"plane {length(depth)} below the ground and parallel to it, {water}, and one column of "
        f"soil with its weight and the stresses on its base; {factor_words(result, 'sliding')}."
    )
