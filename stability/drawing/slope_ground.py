"""The ground of a slope in a drawing: a face between level ground and an upper slope."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from slipmargin.stability.drawing.sheet import QUIET, SOILS, WATER_FILL, Point, Sheet, pairs
from slipmargin.stability.drawing.words import length, scalar, shown

__all__ = ["SlopeGround", "crack", "loads_in_words", "shaken", "support", "water_line"]


@dataclass(frozen=True, slots=True)
class SlopeGround:
    """Points of the ground from the toe up [m], and the rise of the ground behind the last.

    ``crest`` is the point behind which a surcharge lies.
    """

    points: tuple[Point, ...]
    gradient: float
    crest: Point

    @classmethod
    def plain(cls, height: Any, face_angle: Any, upper_slope_angle: Any) -> SlopeGround:
        """Straight face, straight upper slope, the toe at the origin; angles [deg]."""
        rise, face = scalar("height", height), scalar("face_angle", face_angle)
        run = 0.0 if face == 90.0 else rise / float(np.tan(np.radians(face)))
        upper = scalar("upper_slope_angle", upper_slope_angle)
        crest = (run, rise)
        return cls(((0.0, 0.0), crest), float(np.tan(np.radians(upper))), crest)

    @classmethod
    def surveyed(cls, line: Any, crest: Point) -> SlopeGround:
        """Through points, level beyond them."""
        return cls(tuple(pairs(*np.asarray(line, dtype=float).T)), 0.0, crest)

    def level(self, x: float) -> float:
        """Height of the ground [m]; the top of a vertical face."""
        (x0, y0), (x1, y1) = self.points[0], self.points[-1]
        if x < x0:
            return y0
        if x >= x1:
            return y1 + (x - x1) * self.gradient
        after = next(k for k, point in enumerate(self.points) if point[0] > x)
        (xa, ya), (xb, yb) = self.points[after - 1], self.points[after]
        return ya + (x - xa) / (xb - xa) * (yb - ya)

    def at(self, x: float) -> Point:
        """Point of the ground over x; the top of a vertical face."""
        return x, self.level(x)

    def on_face(self, level: float) -> Point:
        """Where the face passes a level [m]; its crest where it does not."""
        for (xa, ya), (xb, yb) in pairwise(self.points):
            if ya <= level <= yb and yb > ya:
                return xa + (level - ya) / (yb - ya) * (xb - xa), level
        return self.crest

    def between(self, start: Point, end: Point) -> list[Point]:
        """The ground from one of its points to another."""
        # of a vertical face, points with one x follow each other upward
        inner = [p for p in self.points if start < p < end]
        return [start, *inner, end]

    def draw(self, sheet: Sheet) -> list[Point]:
        """Soil and surface over the window; gives the outline of the soil."""
        window = sheet.window
        surface = self.between(self.at(window.left), self.at(window.right))
        soil = [*surface, (window.right, window.bottom), (window.left, window.bottom)]
        sheet.area(soil, face=SOILS[0])
        sheet.line(surface, "ground", name="ground")
        return soil

    def measure(self, sheet: Sheet, top: Point, face_angle: Any, upper_slope_angle: Any) -> None:
        """Height up to a point, and the angles of a plain slope where there are some."""
        foot = min(self.points, key=lambda point: point[1])
        x = foot[0] - sheet.size(68.0)
        sheet.dimension((x, foot[1]), (x, top[1]), f"$H$ = {length(top[1] - foot[1])}", feet=False)
        sheet.line([(x - sheet.size(5.0), top[1]), (top[0] - sheet.size(4.0), top[1])], "thin")
        if face_angle is not None:
            face = scalar("face_angle", face_angle)
            middle = (0.62 * foot[0] + 0.38 * top[0], 0.62 * foot[1] + 0.38 * top[1])
            sheet.label(f"face at {face:.1f}°", middle, towards=face + 90.0, ink=QUIET)
        upper = scalar("upper_slope_angle", upper_slope_angle)
        if upper > 0.0:
            at = self.at(0.3 * top[0] + 0.7 * sheet.window.right)
            sheet.label(f"upper slope at {upper:.1f}°", at, towards=90.0 + upper, ink=QUIET)

    def load(
        self, sheet: Sheet, surcharge: Any, setback: Any = 0.0, width: Any | None = None
    ) -> None:
        """The surcharge, from its setback behind the crest over its width."""
        q = scalar("surcharge", surcharge)
        if q <= 0.0:
            return
        near = self.crest[0] + scalar("surcharge_setback", setback)
        edge = sheet.window.right - sheet.size(4.0)
        far = edge if width is None else near + scalar("surcharge_width", width)
        if near < edge:
            start = self.crest if near == self.crest[0] else self.at(near)
            surface = self.between(start, self.at(min(far, edge)))
            sheet.load(surface, f"surcharge $q$ = {shown(q, 'kPa')}")

    def pool(self, sheet: Sheet, level: float, words: str) -> None:
        """A pool against the face, up to a level [m]."""
        left = sheet.window.left
        bed = [self.at(left)]
        if level <= bed[0][1]:
            return
        beyond = [point for point in self.points if point[0] > left]
        for x, y in [*beyond, self.at(sheet.window.right)]:
            last = bed[-1]
            if y >= level:
                share = (level - last[1]) / (y - last[1])
                bed.append((last[0] + share * (x - last[0]), level))
                break
            bed.append((x, y))
        shore = bed[-1][0]
        sheet.area([*bed, (shore, level), (left, level)], face=WATER_FILL, name="pool", zorder=1.1)
        sheet.water_level([(left, level), (shore, level)], (0.6 * left + 0.4 * shore, level), words)


def water_line(sheet: Sheet, x: Any, level: Any, words: str = "water line") -> None:
    """Water in the ground over x, where it has a level."""
    inside = (x >= sheet.window.left) & (x <= sheet.window.right) & np.isfinite(level)
    if np.count_nonzero(inside) > 1:
        mark = float(x[inside][-1]) - 0.12 * sheet.window.width
        at = mark, float(np.interp(mark, x[inside], level[inside]))
        sheet.water_level(pairs(x[inside], level[inside]), at, words)


def crack(sheet: Sheet, foot: Point, deep: float, water: float) -> None:
    """A tension crack from its foot up, and the depth of water in it [m]."""
    x, y = foot
    sheet.line([foot, (x, y + deep)], "crack", name="crack")
    wet = f",\nwater {length(water)}" if water > 0.0 else ", dry"
    sheet.label(f"crack {length(deep)} deep{wet}", (x, y + 0.6 * deep), towards=-5.0)
    if water > 0.0:
        ends = [foot, (x, y + water)]
        sheet.line(ends, "water", linewidth=2.6, linestyle="-", name="crack water")


def support(sheet: Sheet, check: Any, tip: Point) -> None:
    """The support force of a slope, where there is one, with its head at a point."""
    force, alpha = (scalar(n, getattr(check, n)) for n in ("support_force", "support_angle"))
    if force > 0.0:
        words = f"support $T$ = {shown(force, 'kN/m')},\n{alpha:.1f}° below horizontal"
        sheet.arrow(tip, -alpha, words, long=50.0, name="support")


def shaken(sheet: Sheet, check: Any, mass: Sequence[Point]) -> None:
    """The shaking of what moves, where there is any."""
    k_h = scalar("horizontal_seismic_coefficient", check.horizontal_seismic_coefficient)
    if k_h > 0.0:
        sheet.shaking(mass, f"shaking $k_h$ = {k_h:.2f}, outward")


def loads_in_words(check: Any) -> list[str]:
    """Water, loads and support of a slope, as a sentence lists them."""
    amounts = ("standing_water_level", "surcharge", "support_force")
    pool, q, force = (scalar(name, getattr(check, name)) for name in amounts)
    found = ["a water line"] if check.water_line is not None else []
    found += [f"a pool {length(pool)} deep against it"] * (pool > 0.0)
    found += [f"a surcharge of {shown(q, 'kPa')} behind the crest"] * (q > 0.0)
    found += [f"a support force of {shown(force, 'kN/m')}"] * (force > 0.0)
    return found
