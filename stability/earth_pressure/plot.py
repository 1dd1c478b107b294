"""Draws an earth pressure: back face, ground, layers, water, thrusts, and pressure against depth.

The wall stands left of its back face and is drawn as a strip only, since the check knows
no more of it. Pressure diagrams stand in front of it, at the heights to which they belong.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.drawing.sheet import (
    CONCRETE,
    EARTH,
    SOILS,
    WATER,
    WIDE,
    Point,
    Sheet,
    Window,
    between,
)
from slipmargin.stability.drawing.slope_ground import SlopeGround
from slipmargin.stability.drawing.words import length, numbers, scalar, shown, soil_words
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.diagram_plot import (
    DIAGRAM_GAP,
    DIAGRAM_WIDTH,
    draw_diagrams,
    pressure_diagrams,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_earth_pressure", "draw_loads", "earth_pressure_words", "load_words"]

_THEORIES = {
    "at_rest": "at rest",
    "rankine": "Rankine",
    "coulomb": "Coulomb",
    "annex_c": "EN 1997-1, Annex C",
    "trial_wedge": "trial wedge",
}
_STRIP = 0.09  # thickness of the strip that stands for the wall [heights]


@dataclass(frozen=True, slots=True)
class _BackFace:
    """The back face: top at x = 0, heel at the right where it leans, and the ground behind."""

    height: float
    lean: float
    ground: SlopeGround

    @classmethod
    def of(cls, check: EarthPressure) -> _BackFace:
        height = scalar("height", check.height)
        lean, rise = (
            float(np.tan(np.radians(scalar(name, angle))))
            for name, angle in (
                ("wall_batter", check.wall_batter),
                ("backfill_slope_angle", check.end_slope),
            )
        )
        line = tuple((float(x), height + float(y)) for x, y in check.corners)
        return cls(height, lean, SlopeGround(line, rise, line[0]))

    def face(self, level: float) -> Point:
        """Point of the back face at a level above the base."""
        return (self.height - level) * self.lean, level

    def surface(self, right: float) -> list[Point]:
        """The ground from the top of the wall to x."""
        return self.ground.between(self.ground.points[0], self.ground.at(right))

    def band(self, start: float, end: float, far: float) -> list[Point]:
        """Corners of a layer between two depths up to x: it runs parallel to the ground."""
        upper, lower = self.face(self.height - start), self.face(self.height - end)
        ends = ((far, y + (far - x) * self.ground.gradient) for x, y in (upper, lower))
        return [upper, *ends, lower]


def draw_earth_pressure(
    check: EarthPressure, result: CheckResult, axes: Axes | None = None
) -> Figure:
    """The wall's back with what presses on it; levels are above the base of the wall."""
    values, wall = result.values, _BackFace.of(check)
    height = wall.height
    heel = wall.face(0.0)
    reach = max(heel[0], 0.0) + 1.4 * height
    slip = _slip_surface(values, wall)
    if slip:
        reach = max(reach, min(slip[-1][0] + 0.3 * height, 3.5 * height))
    strip = [wall.face(0.0), wall.face(height)]
    outside = [(x - _STRIP * height, y) for x, y in reversed(strip)]
    diagrams = pressure_diagrams(check, values)
    first = min(x for x, _ in outside) - 0.16 * height
    left = first - 0.02 * height - len(diagrams) * (DIAGRAM_WIDTH + DIAGRAM_GAP) * height
    top = max(y for _, y in wall.surface(reach))
    known = [(left, -0.02 * height), (reach, min(top, height)), (reach, max(top, height))]
    window = Window.around(known, left=0.03, right=0.02, bottom=0.06, top=0.13)
    sheet = Sheet(window, axes, WIDE)
    fill = _fill(sheet, check, wall)
    sheet.area([*strip, *outside], face=CONCRETE, hatch="\\\\\\", edge="#8c8c8c", name="wall")
    sheet.line(strip, "ground", name="back face")
    _water_table(sheet, check, wall)
    if slip:
        sheet.line(slip, "slip", name="slip surface")
        words = f"governing plane {numbers(values)('plane_angle'):.1f}°"
        sheet.label(words, between(slip[0], slip[1]), towards=-30.0)
    end = window.right - sheet.size(24.0)
    draw_loads(sheet, check, wall.ground, end)
    _cracks(sheet, check, values, wall)
    _thrusts(sheet, check, values, wall)
    _soils(sheet, check, wall, fill, slip)
    draw_diagrams(sheet, diagrams, first, height)
    side = window.left + sheet.size(52.0)
    sheet.dimension((side, 0.0), (side, height), f"$H$ = {length(height)}", feet=False)
    note = "Arrows show place and direction, not size."
    if diagrams:
        note = f"Pressure diagrams are to one scale among themselves. {note}"
    across, up = "distance from the top of the back face [m]", "height above the base [m]"
    return sheet.finish(across=across, up=up, note=note)


def _slip_surface(values: Any, wall: _BackFace) -> list[Point]:
    """Heel, end of the plane, and the ground above it where a crack ends the plane."""
    rho, exit_x = numbers(values)("plane_angle"), numbers(values)("exit_distance")
    if not np.isfinite(rho) or not np.isfinite(exit_x):
        return []
    heel = wall.face(0.0)
    end = (exit_x, heel[1] + (exit_x - heel[0]) * float(np.tan(np.radians(rho))))
    surface = (exit_x, wall.ground.level(exit_x))
    cracked = surface[1] - end[1] > 1e-6 * wall.height
    return [heel, end, surface] if cracked else [heel, surface]


def _fill(sheet: Sheet, check: EarthPressure, wall: _BackFace) -> list[Point]:
    window = sheet.window
    surface = wall.surface(window.right)
    heel = wall.face(0.0)
    fill = [heel, *surface, (window.right, 0.0)]
    sheet.area(fill, face=SOILS[0])
    left = heel[0] - _STRIP * wall.height
    base = [(left, 0.0), (window.right, 0.0), (window.right, window.bottom), (left, window.bottom)]
    sheet.area(base, face=SOILS[1])
    layers = _layers(check)
    for number, (start, end) in enumerate(layers):
        corners = wall.band(start, end, window.right)
        deep = max(corners[2][1], 0.0) if number + 1 < len(layers) else 0.0
        corners[2] = (window.right, deep)
        sheet.area(corners, face=SOILS[number % len(SOILS)], zorder=1.1)
        if number:
            sheet.line(corners[:2], "edge", name="layer boundary")
    sheet.line(surface, "ground", name="ground")
    sheet.line([heel, (window.right, 0.0)], "thin", linestyle=(0, (2, 3)))
    return fill


def _layers(check: EarthPressure) -> list[tuple[float, float]]:
    """Depths of each layer below the top of the wall [m]."""
    edges = [0.0]
    for layer in check.layers:
        edges.append(edges[-1] + scalar("thickness", layer.thickness))
    return list(pairwise(edges))


def _water_table(sheet: Sheet, check: EarthPressure, wall: _BackFace) -> None:
    if check.water_table_depth is None:
        return
    depth = scalar("water_table_depth", check.water_table_depth)
    if depth >= wall.height:
        return
    start = wall.face(wall.height - depth)
    end = (sheet.window.right, start[1])
    words = f"water table, $d_w$ = {length(depth)}"
    sheet.water_level([start, end], between(start, end, 0.66), words)


def draw_loads(sheet: Sheet, check: Any, ground: SlopeGround, end: float) -> None:
    """The surcharge up to x = ``end``, strips and lines on the ground behind a wall, at whose
    top the ground starts.
    """
    q, start, raised = scalar("surcharge", check.surcharge), ground.points[0][0], 0.0

    def surface(near: float, far: float) -> list[Point]:
        along = ground.between(ground.at(near), ground.at(far))
        return [(x, y + raised) for x, y in along]

    if q > 0.0:
        sheet.load(surface(start, end), f"surcharge $q$ = {shown(q, 'kPa')}")
        raised = sheet.size(22.0)
    for strip in check.strip_loads:
        near = start + scalar("distance", strip.distance)
        pressure = scalar("pressure", strip.pressure)
        loaded = surface(near, near + scalar("width", strip.width))
        sheet.load(loaded, f"strip load {shown(pressure, 'kPa')}")
    for one in check.line_loads:
        x = start + scalar("distance", one.distance)
        words = f"line load {shown(scalar('force', one.force), 'kN/m')}"
        sheet.arrow(ground.at(x), -90.0, words, long=40.0, width=2.2, name="line load")


def load_words(check: Any) -> list[str]:
    """Surcharge, strips and lines on the ground behind a wall, each in words."""
    q = scalar("surcharge", check.surcharge)
    strips = [shown(scalar("pressure", one.pressure), "kPa") for one in check.strip_loads]
    lines = [shown(scalar("force", one.force), "kN/m") for one in check.line_loads]
    return [
        *([f"a surcharge of {shown(q, 'kPa')}"] if q > 0.0 else []),
        *(f"a strip load of {one}" for one in strips),
        *(f"a line load of {one}" for one in lines),
    ]


def _cracks(sheet: Sheet, check: EarthPressure, values: Any, wall: _BackFace) -> None:
    depth = scalar("tension_crack_depth", values.tension_crack_depth)
    if not depth > 0.0 or check.side == "passive":
        return
    side, deep = sheet.size(5.0), min(depth, wall.height)
    x, y = wall.face(wall.height - deep)
    top = wall.face(wall.height)[0] + side
    words = f"tension crack $z_t$ = {length(depth)}"
    if not check.tension_crack:
        words = f"tension down to $z_t$ = {length(depth)},\ncounted in the thrust"
    sheet.line([(top, wall.ground.level(top)), (x + side, y)], "crack", name="tension crack")
    sheet.label(words, (x + side, y + 0.35 * deep), towards=0.0)


def _thrusts(sheet: Sheet, check: EarthPressure, values: Any, wall: _BackFace) -> None:
    v = numbers(values)
    height, thrust, angle = v("thrust_height"), v("thrust"), v("thrust_angle")
    if np.isfinite(height) and thrust > 0.0:
        # on the wall: below horizontal, or above it on the passive side
        turn = 180.0 + angle if check.side == "active" else 180.0 - angle
        sense = "below" if turn >= 180.0 else "above"
        lean = f"{abs(angle):.1f}° {sense} horizontal, " if angle else "horizontal, "
        words = f"thrust $P$ = {shown(thrust, 'kN/m')},\n{lean}at {length(height)}"
        look: dict[str, Any] = {"long": 64.0, "width": 2.4, "ink": EARTH, "name": "thrust"}
        sheet.arrow(wall.face(height), turn, words, **look)
    elif thrust == 0.0:
        sheet.label("no thrust of the soil", wall.face(0.4 * wall.height), towards=0.0)
    water, level = v("water_thrust"), v("water_thrust_height")
    if water > 0.0 and np.isfinite(level):
        turn = 180.0 + scalar("wall_batter", check.wall_batter)
        words = f"water thrust $P_w$ = {shown(water, 'kN/m')}"
        sheet.arrow(wall.face(level), turn, words, long=44.0, ink=WATER, name="water thrust")


def _soils(
    sheet: Sheet, check: EarthPressure, wall: _BackFace, fill: list[Point], slip: list[Point]
) -> None:
    wet = check.water_table_depth is not None
    wet = wet and scalar("water_table_depth", check.water_table_depth) < wall.height
    if check.soil is not None:
        sheet.inside(soil_words(check.soil, wet=wet), [*slip, *fill[-2:]] if slip else fill)
    for layer, (start, end) in zip(check.layers, _layers(check), strict=True):
        # the words inside the layer
        inside = wall.band(start, end, sheet.window.right - sheet.size(20.0))
        sheet.inside(soil_words(layer.soil, wet=wet, flat=True), inside)


def earth_pressure_words(check: EarthPressure, result: CheckResult) -> str:
    """The drawing in one sentence."""
    v = numbers(result.values)
    side = "earth pressure at rest"
    if check.theory != "at_rest":
        side = f"{check.side} earth pressure by {_THEORIES[check.theory]}"
    parts = [f"{len(check.layers)} layers of soil"] if check.layers else []
    if check.water_table_depth is not None:
        depth = scalar("water_table_depth", check.water_table_depth)
        parts.append(f"a water table {length(depth)} below the top of the wall")
    parts += load_words(check)
    if (crack := v("tension_crack_depth")) > 0.0 and check.side == "active":
        parts.append(f"tension down to {length(crack)}")
    height = v("thrust_height")
    place = f" at {length(height)} above the base" if np.isfinite(height) else ""
    parts.append(f"a thrust of the soil of {shown(v('thrust'), 'kN/m')}{place}")
    if (water := v("water_thrust")) > 0.0:
        parts.append(f"a thrust of water of {shown(water, 'kN/m')}")
    diagram = "" if check.theory == "trial_wedge" else ", and the pressure against depth"
    listed = ", ".join(parts)
    return (
        f"Section of the back of a wall {length(scalar('height', check.height))} high with "
        f"{side}: {listed}{diagram}."
    )
