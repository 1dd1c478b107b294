"""Draws the section of a retaining wall: outline, soil, water, forces, pressure on the base.

The origin is the toe, at the underside of the base. The pressure under the base and the
uplift hang below it, to one scale.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import (
    CONCRETE,
    EARTH,
    EARTH_FILL,
    INK,
    SLIP,
    SOILS,
    WATER,
    WATER_FILL,
    WIDE,
    Point,
    Sheet,
    Window,
    between,
)
from slipmargin.stability.drawing.slope_ground import SlopeGround
from slipmargin.stability.drawing.words import length, numbers, scalar, shown, soil_words
from slipmargin.stability.earth_pressure.plot import draw_loads, load_words
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.stability.retaining_wall.strips import Chain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_retaining_wall", "retaining_wall_words"]

_GAP, _DIAGRAM, _NEXT = 0.24, 0.22, 0.1  # below the base: space, diagram, space [heights]
_DRAWN = 1e-6  # forces smaller than this share of the vertical force are none


def _chain(points: Chain) -> list[Point]:
    return [(scalar("x", x), scalar("y", y)) for x, y in points]


def draw_retaining_wall(
    check: RetainingWall, result: CheckResult, axes: Axes | None = None
) -> Figure:
    """The wall with what stands on it and what presses on it."""
    values, section = result.values, check.section()
    width, height = scalar("width", section.width), scalar("height", section.height)
    back, front = _chain(section.back), _chain(section.front)
    tan = float(np.tan(np.radians(scalar("slope", check.backfill_slope_angle))))
    key = scalar("key_depth", section.key_depth)
    top = back[-1]
    right = max(width, *(x for x, _ in back)) + height
    right = max(right, min(_furthest_load(check, top[0]) + 0.2 * height, right + 2.0 * height))
    ground = top[1] + (right - top[0]) * tan
    hanging = _hanging(check, values)
    below = -key - (_GAP + len(hanging) * (_DIAGRAM + _NEXT)) * height
    known = [(-0.75 * height, below), (right, max(height, min(ground, 1.7 * height)))]
    window = Window.around(known, left=0.02, right=0.02, bottom=0.06, top=0.12)
    sheet = Sheet(window, axes, WIDE)
    surface = [top, (window.right, top[1] + (window.right - top[0]) * tan)]
    _soil(sheet, check, section, surface)
    outline = [front[0], *back, *reversed(front)]
    sheet.area(outline, face=CONCRETE, edge=INK, name="wall", zorder=3.0)
    if key > 0.0:
        x = scalar("key_position", check.wall.key_position)
        wide = scalar("key_width", check.wall.key_width)
        corners = [(x, 0.0), (x, -key), (x + wide, -key), (x + wide, 0.0)]
        sheet.area(corners, face=CONCRETE, edge=INK, name="key", zorder=2.9)
    _plane(sheet, check, values, section)
    _water(sheet, check, values, width)
    end = window.right - sheet.size(6.0)
    draw_loads(sheet, check, SlopeGround((top,), tan, top), end)
    _thrusts(sheet, check, values)
    _weights(sheet, check, values)
    _base(sheet, values, width)
    for number, name in enumerate(hanging):
        level = -key - (_GAP + number * (_DIAGRAM + _NEXT)) * height
        _diagram(sheet, name, hanging, level, width, _DIAGRAM * height)
    depth = scalar("embedment", check.embedment)
    floor = below + 0.8 * _NEXT * height
    sheet.dimension((width, floor), (0.0, floor), f"$B$ = {length(width)}", feet=False)
    side = window.left + sheet.size(14.0)
    if depth > 0.0:
        near = side + sheet.size(30.0)
        sheet.dimension((near, 0.0), (near, depth), f"$D$ = {length(depth)}", feet=False)
    sheet.dimension((side, 0.0), (side, height), f"$H$ = {length(height)}", feet=False)
    for level in (0.0, height):
        edge = front[-1][0] if level else 0.0
        sheet.line([(side - sheet.size(5.0), level), (edge - sheet.size(3.0), level)], "thin")
    corner = (window.left + sheet.size(2.0), window.top - sheet.size(2.0))
    said = "factors of safety:\n" + _factors(result, "\n")
    sheet.label(said, corner, towards=-45.0, leader=False)
    note = "Pressures under the base are to one scale. Arrows show place and direction, not size."
    return sheet.finish(
        across="distance from the toe [m]", up="height above the base [m]", note=note
    )


def _furthest_load(check: RetainingWall, top: float) -> float:
    """Where the last strip or line of load ends."""
    ends = [one.distance + one.width for one in check.strip_loads]
    ends += [one.distance for one in check.line_loads]
    return top + max((scalar("end", one) for one in ends), default=0.0)


def _soil(sheet: Sheet, check: RetainingWall, section: WallSection, surface: list[Point]) -> None:
    window, width = sheet.window, scalar("width", section.width)
    left, right, floor = window.left, window.right, window.bottom
    back, front = _chain(section.back), _chain(section.front)
    depth = scalar("embedment", check.embedment)
    fill = [*back, *surface[1:], (right, 0.0)]
    sheet.area(fill, face=SOILS[0], name="backfill")
    under = [(left, 0.0), (right, 0.0), (right, floor), (left, floor)]
    sheet.area(under, face=SOILS[1], name="foundation")
    sheet.line([(width, 0.0), (right, 0.0)], "thin", linestyle=(0, (2, 3)))
    edge = _front_up_to(front, depth)
    if depth > 0.0:
        outside = [(left, 0.0), *edge, (left, depth)]
        sheet.area(outside, face=SOILS[1], name="soil in front")
    sheet.line([(left, depth), edge[-1]], "ground", name="ground in front")
    sheet.line(surface, "ground", name="ground")
    if check.theory == "rankine" and width - surface[0][0] > 1e-9:
        share = (width - surface[0][0]) / (right - surface[0][0])
        soil, hatch = (
            [*back, between(surface[0], surface[1], share)],
            {"hatch": "///", "edge": "#a8a8a8"},
        )
        sheet.area(soil, face=SOILS[2], name="soil on the heel", zorder=1.5, **hatch)
    table = check.water_table_depth is not None
    highest = max(y for x, y in fill if x >= width - 1e-9)
    free = [(width, 0.0), (width, highest), *surface[1:], (right, 0.0)]
    sheet.inside(f"backfill: {soil_words(check.backfill, wet=table)}", free)
    near, top = 1.1 * width, -sheet.size(4.0)
    below = [(right, top), (right, floor), (near, floor), (near, top)]
    sheet.inside(f"foundation: {soil_words(check.foundation, wet=table)}", below)


def _front_up_to(front: list[Point], level: float) -> list[Point]:
    """The front from the toe up to a level."""
    found = [front[0]]
    for start, end in pairwise(front):
        rise = end[1] - start[1]
        if end[1] >= level and rise > 0.0:
            return [*found, between(start, end, (level - start[1]) / rise)]
        found.append(end)
    return found


def _plane(sheet: Sheet, check: RetainingWall, values: Any, section: WallSection) -> None:
    """The plane on which the thrust is taken."""
    v = numbers(values)
    rise = v("thrust_plane_height")
    foot = scalar("foot", section.width if check.theory == "rankine" else section.face_foot)
    lean = float(np.tan(np.radians(v("thrust_plane_batter"))))
    head = (foot - rise * lean, rise)
    sheet.line([(foot, 0.0), head], "radius", name="thrust plane", color=INK)
    crack = v("tension_crack_depth")
    if crack > 0.0:
        end = rise - min(crack, rise)
        at = (foot - end * lean, end)
        sheet.line([head, at], "crack", name="tension crack")
        words = f"tension crack {length(min(crack, rise))}"
        sheet.label(words, between(head, at), towards=0.0)


def _water(sheet: Sheet, check: RetainingWall, values: Any, width: float) -> None:
    window, v = sheet.window, numbers(values)
    behind = v("water_height_behind")
    if behind > 0.0:
        back = _chain(check.section().back)
        start = (float(np.interp(behind, *np.array([(y, x) for x, y in back]).T)), behind)
        mark = (0.72 * window.right + 0.28 * width, behind)
        depth = scalar("water_table_depth", check.water_table_depth)
        words = f"water table, $d_w$ = {length(depth)}"
        sheet.water_level([start, (window.right, behind)], mark, words)
    before = v("water_height_in_front")
    if before > 0.0:
        front = _chain(check.section().front)
        edge = _front_up_to(front, before)[-1]
        soil = scalar("embedment", check.embedment)
        if before > soil:
            shore = _front_up_to(front, soil)[-1]
            pool = [(window.left, soil), shore, edge, (window.left, before)]
            sheet.area(pool, face=WATER_FILL, zorder=0.9, name="water in front")
        words = f"water in front, $h_f$ = {length(before)}"
        sheet.water_level([(window.left, before), edge], (0.35 * window.left, before), words)


def _thrusts(sheet: Sheet, check: RetainingWall, values: Any) -> None:
    v = numbers(values)
    angle = 180.0 + v("thrust_angle")
    lean = f", {angle - 180.0:.1f}° below horizontal" if angle > 180.0 else ""
    tan = float(np.tan(np.radians(v("thrust_plane_batter"))))
    depth = scalar("key_depth", check.wall.key_depth or 0.0)
    behind_key = v("key_arm") + 0.5 * scalar("key_width", check.wall.key_width or 0.0)

    def on_plane(level: float) -> Point:
        return v("thrust_plane_foot") - level * tan, level

    behind, before = v("water_height_behind") / 3.0, v("water_height_in_front") / 3.0
    moving = [v(f"moving_water_{place}_height") for place in ("behind", "in_front")]
    for name, called, words, tip, turn, long, ink in (
        ("thrust", "thrust", f"thrust $P_a$ = {{}}{lean}", (v("thrust_arm"), v("thrust_height")),
         angle, 58.0, EARTH),
        ("thrust_increment", "thrust of shaking", "from shaking $P_e$ = {}",
         (v("thrust_increment_arm"), v("thrust_increment_height")), angle, 46.0, EARTH),
        ("load_thrust", "thrust of loads", "from strips and lines $P_L$ = {}",
         on_plane(v("load_thrust_height")), 180.0, 46.0, EARTH),
        ("water_thrust", "water thrust", "water thrust $P_w$ = {}", on_plane(behind), 180.0, 44.0,
         WATER),
        ("water_thrust_in_front", "water thrust in front", "water in front {}", (0.0, before), 0.0,
         40.0, WATER),
        ("moving_water_behind", "moving water", "moving water $P_{{wd}}$ = {}",
         (v("thrust_arm"), moving[0]), 180.0, 36.0, WATER),
        ("moving_water_in_front", "moving water in front", "moving water in front = {}",
         (0.0, moving[1]), 180.0, 36.0, WATER),
        ("key_thrust", "thrust on the key", "thrust on the key $P_k$ = {}",
         (behind_key, -0.5 * depth), 180.0, 44.0, EARTH),
    ):  # fmt: skip
        if v(name) > _DRAWN * abs(v("vertical_force")):
            said, wide = words.format(shown(v(name), "kN/m")), 2.4 if name == "thrust" else 1.6
            sheet.arrow(tip, turn, said, long=long, width=wide, ink=ink, name=called)
    counted = scalar("passive_fraction", check.passive_fraction)
    if counted > 0.0:
        force = counted * v("passive_resistance")
        words = f"passive resistance counted,\n{counted:.0%} of $P_p$: {shown(force, 'kN/m')}"
        deep = scalar("embedment", check.embedment)
        sheet.arrow((0.0, deep / 3.0), 0.0, words, long=44.0, ink=EARTH, name="passive resistance")


def _weights(sheet: Sheet, check: RetainingWall, values: Any) -> None:
    v = numbers(values)

    def shaking(inertia: float, long: float) -> None:
        if inertia > 0.0:
            words = f"shaking {shown(inertia, 'kN/m')}"
            sheet.arrow(at, 180.0, words, long=long, tail=True, name="shaking")

    for part, words, towards in (
        ("wall", "wall\n$W_w$", 150.0),
        ("heel_soil", "soil on the heel\n$W_s$", 90.0),
    ):
        weight = v(f"{part}_weight")
        if weight > 0.0:
            at = (v(f"{part}_arm"), v(f"{part}_centroid_height"))
            sheet.arrow(at, -90.0, long=44.0, tail=True, name="weight", width=1.9)
            sheet.label(f"{words} = {shown(weight, 'kN/m')}", at, towards=towards)
            sheet.dot(at)
            shaking(v(f"{part}_inertia"), 34.0)
    key = v("key_weight")
    if key > 0.0:
        at = (v("key_arm"), -0.4 * scalar("key_depth", check.wall.key_depth))
        words = f"key $W_k$ = {shown(key, 'kN/m')}"
        sheet.arrow(at, -90.0, words, long=26.0, tail=True, name="weight")
        shaking(v("key_inertia"), 26.0)


def _base(sheet: Sheet, values: Any, width: float) -> None:
    """The middle third of the base, and the resultant where it meets the base."""
    third, v = width / 3.0, numbers(values)
    sheet.line([(0.0, 0.0), (width, 0.0)], "ground", name="base", linewidth=1.2)
    sheet.line([(third, 0.0), (2.0 * third, 0.0)], "ground", linewidth=4.2, name="middle third",
               solid_capstyle="butt")  # fmt: skip
    sheet.label("middle third", (2.0 * third, 0.0), towards=-20.0)
    distance = v("resultant_distance")
    if not np.isfinite(distance):
        return
    words = (
        f"resultant on the base:\n$V$ = {shown(v('vertical_force'), 'kN/m')},\n"
        f"$T$ = {shown(v('horizontal_force'), 'kN/m')},\n"
        f"$e$ = {length(v('eccentricity'))}"
    )
    if sheet.window.left < distance < sheet.window.right:
        turn = 270.0 - v("load_inclination")
        look: dict[str, Any] = {"long": 44.0, "width": 2.4, "ink": SLIP, "name": "resultant"}
        sheet.arrow((distance, 0.0), turn, words, tail=True, **look)
    if not 0.0 < distance < width:
        sheet.label("the resultant leaves the base", (0.0, 0.0), towards=-135.0)


def _hanging(check: RetainingWall, values: Any) -> dict[str, list[Point]]:
    """Pressures under the base: distance from the toe [m] and pressure [kPa], by name."""
    found: dict[str, list[Point]] = {}
    v = numbers(values)
    width, toe, heel = (v(name) for name in ("base_width", "toe_pressure", "heel_pressure"))
    if np.isfinite(toe) and np.isfinite(heel):
        carried = 2.0 * v("vertical_force") / (toe + heel)
        # of a triangle the base carries a part only
        carried = min(carried, width) if min(toe, heel) == 0.0 else width
        left = 0.0 if toe >= heel else width - carried
        found["pressure under the base"] = [(left, toe), (left + carried, heel)]
    if v("uplift") > 0.0:
        gamma = scalar("water_unit_weight", check.water_unit_weight)
        found["uplift"] = [(0.0, gamma * v("head_at_toe")), (width, gamma * v("head_at_heel"))]
    return found


def _diagram(
    sheet: Sheet,
    name: str,
    hanging: dict[str, list[Point]],
    level: float,
    width: float,
    deep: float,
) -> None:
    most = max(pressure for ends in hanging.values() for _, pressure in ends)
    ends = hanging[name]
    low = [(x, level - pressure / most * deep) for x, pressure in ends]
    look = {"face": EARTH_FILL, "hatch": "|||", "edge": EARTH}
    if name == "uplift":
        look = {"face": WATER_FILL, "hatch": "---", "edge": WATER}
    sheet.area([(ends[0][0], level), *low, (ends[1][0], level)], name=name, zorder=2.0, **look)
    sheet.line([(0.0, level), (width, level)], "edge")
    for (_, pressure), corner, towards in zip(ends, low, (180.0, 0.0), strict=True):
        if pressure > 0.0:
            sheet.label(shown(pressure, "kPa"), corner, towards=towards, leader=False)
    words = "uplift on the base" if name == "uplift" else name
    sheet.label(words, (width, level), towards=0.0, leader=False)


def _factors(result: CheckResult, between: str) -> str:
    found = {name: scalar(name, factor) for name, factor in result.factors_of_safety.items()}
    return between.join(
        f"{name} {factor_text(factor)}" if np.isfinite(factor) else f"{name}: nothing drives it"
        for name, factor in found.items()
    )


def retaining_wall_words(check: RetainingWall, result: CheckResult) -> str:
    """The drawing in one sentence."""
    v = numbers(result.values)
    shape = "wall" if check.wall.shape == "outline" else f"{check.wall.shape} wall"
    slope = scalar("backfill_slope_angle", check.backfill_slope_angle)
    parts = [f"backfill rising at {slope:.1f}°" if slope > 0.0 else "level backfill"]
    parts += load_words(check)
    if (behind := v("water_height_behind")) > 0.0:
        parts.append(f"water {length(behind)} above the base behind it")
    parts.append(f"a thrust of {shown(v('thrust'), 'kN/m')}")
    distance, width = v("resultant_distance"), v("base_width")
    if np.isfinite(distance):
        place = "inside" if width <= 3.0 * distance <= 2.0 * width else "outside"
        where = f"{length(distance)} from the toe, {place} the middle third"
        parts.append(f"the resultant on the base {where}")
    if np.isfinite(v("toe_pressure")):
        toe, heel = (shown(v(f"{end}_pressure"), "kPa") for end in ("toe", "heel"))
        parts.append(f"pressures of {toe} at the toe and {heel} at the heel")
    factors = _factors(result, ", ")
    return (
        f"Section of a {shape} {length(v('wall_height'))} high on a base "
        f"{length(width)} wide, with {', '.join(parts)}; factors of safety: {factors}."
    )
