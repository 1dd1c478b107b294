"""A drawing to scale: soil, water, slip surfaces, forces and dimensions on one sheet.

One scale on both axes, in metres. Lengths are true; a force is an arrow that shows where it
acts and which way, its value is written. Kinds differ by line and hatch, not by ink alone,
so the drawing survives a photocopier and a colour-blind reader.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.drawing.frame import area, framed, key, line, scales
from slipmargin.strength.drawing.labels import Label, Stroke, place_labels

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "CONCRETE",
    "EARTH",
    "EARTH_FILL",
    "INK",
    "QUIET",
    "SLIP",
    "SOILS",
    "WATER",
    "WATER_FILL",
    "Point",
    "Sheet",
    "Window",
    "between",
    "centroid",
    "pairs",
]

Point = tuple[float, float]

INK, QUIET = "#1a1a1a", "#5c5c5c"
WATER, WATER_FILL = "#1b6ca8", "#dce9f2"
SLIP, SECOND = "#b3541e", "#1b3a57"
EARTH, EARTH_FILL = "#6b5a2b", "#efe8d6"
SOILS = ("#f3f1ea", "#e7e3d8", "#f7f4ec", "#ddd8ca")
CONCRETE = "#d3d6d9"
_STYLES = {
    "ground": {"color": INK, "linewidth": 1.8, "zorder": 4.0},
    "slip": {"color": SLIP, "linewidth": 2.4, "zorder": 5.0},
    "second": {"color": SECOND, "linewidth": 2.0, "linestyle": (0, (6, 3)), "zorder": 5.0},
    "water": {"color": WATER, "linewidth": 1.4, "linestyle": (0, (9, 2, 1.5, 2)), "zorder": 4.5},
    "crack": {"color": INK, "linewidth": 1.6, "linestyle": (0, (1, 1)), "zorder": 5.0},
    "edge": {"color": QUIET, "linewidth": 0.9, "zorder": 3.0},
    "thin": {"color": QUIET, "linewidth": 0.7, "zorder": 3.0},
    "radius": {"color": QUIET, "linewidth": 0.9, "linestyle": (0, (4, 3)), "zorder": 3.5},
}
NARROW, WIDE = 5.8, 6.8
"""Widths of a figure [in]: of a slope, and of a wall, beside which more has to be said."""

_LEFT, _RIGHT, _BELOW, _ABOVE = 0.62, 0.2, 0.72, 0.42  # around the axes [in]
_LOWEST = 2.4  # height of the axes [in]
_STEEPEST = 0.86  # height over width of a window, beyond which it is widened


@dataclass(frozen=True, slots=True)
class Window:
    """What is shown [m]."""

    left: float
    right: float
    bottom: float
    top: float

    @classmethod
    def around(
        cls,
        points: Sequence[Point],
        *,
        left: float = 0.1,
        right: float = 0.1,
        bottom: float = 0.1,
        top: float = 0.1,
    ) -> Window:
        """The box of points, and on each side a share of its larger side.

        Of a tall and narrow box the sides move outward, so that it fills the width of a page.
        """
        xy = np.asarray(points, dtype=float)
        (x0, y0), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
        size = max(x1 - x0, y1 - y0)
        x0, x1 = x0 - left * size, x1 + right * size
        y0, y1 = y0 - bottom * size, y1 + top * size
        wider = max((y1 - y0) / _STEEPEST - (x1 - x0), 0.0)
        return cls(float(x0 - 0.4 * wider), float(x1 + 0.6 * wider), float(y0), float(y1))

    @property
    def width(self) -> float:
        """[m]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """[m]."""
        return self.top - self.bottom


class Sheet:
    """A drawing being made: draw on it, then ``finish`` it, which writes the labels."""

    def __init__(self, window: Window, axes: Axes | None = None, width: float = NARROW) -> None:
        """Open a sheet on a window, on own axes in a figure of a width or on those given."""
        self.window = window
        self.axes = _own_axes(window, width) if axes is None else axes
        self.axes.set_xlim(window.left, window.right)
        self.axes.set_ylim(window.bottom, window.top)
        self.axes.set_aspect("equal", adjustable="box")
        self.axes.apply_aspect()
        self._labels: list[Label] = []
        self._strokes: list[Stroke] = []
        self._handles: list[Any] = []
        box = self.axes.get_window_extent()
        self._metres = window.width / (box.width * 72.0 / self.axes.figure.dpi)

    def size(self, points: float) -> float:
        """A length of print [pt] in metres of the drawing."""
        return points * self._metres

    def speck(self, points: Sequence[Point]) -> bool:
        """Whether a line is too small to be seen."""
        return bool(np.max(np.ptp(np.asarray(points), axis=0)) < self.size(5.0))

    def line(
        self, points: Any, style: str, *, name: str = "", key: str = "", **change: Any
    ) -> None:
        """A line; ``name`` tells what it is, ``key`` puts it in the key."""
        x, y = np.asarray(points, dtype=float).T
        look: dict[str, Any] = {"solid_capstyle": "round", **_STYLES[style], **change}
        drawn = line(self.axes, x, y, label=name or "_", **look)
        self._strokes.append(Stroke(tuple(points), 1.0 if look["linewidth"] > 1.0 else 0.6))
        if key:
            self._handles.append((drawn, key))

    def dot(self, at: Point, *, ink: str = INK, hollow: bool = False) -> None:
        """A point: a centre of gravity, or hollow a pole."""
        look = {"markersize": 5.0, "markerfacecolor": "white"} if hollow else {"markersize": 3.2}
        line(self.axes, *np.array([at]).T, marker="o", color=ink, zorder=6 if hollow else 8, **look)

    def area(
        self,
        points: Sequence[Point],
        *,
        face: str = "none",
        hatch: str = "",
        edge: str = "none",
        name: str = "",
        zorder: float = 1.0,
    ) -> None:
        """A filled or hatched area."""
        # the hatch takes the ink of the edge, so an area without an edge has no hatch
        look = {"facecolor": face, "edgecolor": edge, "hatch": hatch, "zorder": zorder}
        wide = 0.8 if edge != "none" else 0.0
        area(self.axes, points, linewidth=wide, label=name or "_", **look)
        if hatch:
            self._strokes.append(Stroke((*points, points[0]), 0.5))

    def remark(self, words: str) -> None:
        """Words in the key that belong to no line."""
        self._handles.append((None, words))

    def water_level(self, points: Sequence[Point], mark: Point, words: str) -> None:
        """A water surface with the mark of the trade, a triangle standing on it."""
        self.line(points, "water", name="water")
        x, y = mark
        step = self.size(4.0)
        triangle = [(x, y), (x + step, y + 1.7 * step), (x - step, y + 1.7 * step)]
        self.area(triangle, face="white", edge=WATER, zorder=6.0)
        for part, width in ((0.7, 0.9), (1.4, 0.45)):
            ends = [(x - width * step, y - part * step), (x + width * step, y - part * step)]
            self.line(ends, "thin", color=WATER, zorder=6.0)
        self._strokes.append(Stroke((*triangle, triangle[0]), 2.0))
        self.label(words, (x, y + 1.7 * step), towards=90.0, ink=WATER)

    def arrow(
        self,
        tip: Point,
        angle: float,
        words: str = "",
        *,
        long: float = 42.0,
        ink: str = INK,
        width: float = 1.6,
        tail: bool = False,
        name: str = "",
    ) -> None:
        """An arrow that points at an angle [deg] and ends at ``tip``, or starts there.

        ``long`` is its length in print [pt]; words stand at its free end.
        """
        turn, reach = np.radians(angle), self.size(long)
        step = np.array([np.cos(turn), np.sin(turn)]) * reach
        start, end = np.asarray(tip) - step, np.asarray(tip)
        if tail:
            start, end = end, np.asarray(tip) + step
        self._shaft([start, end], ink, width, head=(7.0, 2.7), name=name)
        ends = ((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
        self._strokes.append(Stroke(ends, 2.0))
        if words:
            free = ends[1] if tail else ends[0]
            self.label(words, free, towards=angle if tail else angle + 180.0, ink=ink)

    def _shaft(
        self,
        ways: Sequence[Any],
        ink: str,
        width: float,
        *,
        head: tuple[float, float],
        both: bool = False,
        name: str = "",
    ) -> None:
        """Arrows from each first to each second of some points, as one shape.

        ``width`` is that of the shaft, ``head`` the length of the head and half of what it is
        wider [pt].
        """
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        shapes = []
        for tail, tip in zip(ways[::2], ways[1::2], strict=True):
            way = np.asarray(tip) - np.asarray(tail)
            long = float(np.hypot(*way)) or 1.0
            along, across = way / long, np.array([-way[1], way[0]]) / long
            half = self.size(0.5 * width)
            neck = min(self.size(head[0]), long / (2.0 if both else 1.0)) * along
            wide = self.size(head[1] + 0.5 * width) * across
            side = [tip - neck + half * across, tip - neck + wide]
            if both:
                side = [tail, tail + neck + wide, tail + neck + half * across, *side]
            else:
                side = [tail + half * across, *side]
            # the other side is the first one mirrored in the way
            other = [one - 2.0 * ((one - tail) @ across) * across for one in side[::-1]]
            corners = [*side, tip, *other]
            shapes.append(Path(np.array([*corners, corners[0]]), closed=True))
        patch = PathPatch(
            Path.make_compound_path(*shapes),
            facecolor=ink,
            linewidth=0.0,
            zorder=8 if not both else 6,
            clip_on=False,
            label=name or "_",
        )
        self.axes.add_artist(patch)

    def load(self, surface: Sequence[Point], words: str) -> None:
        """A load spread over a surface: a row of arrows under a bar."""
        xy = np.asarray(surface, dtype=float)
        rise = self.size(17.0)
        self.line(xy + np.array([0.0, rise]), "thin", color=INK, linewidth=1.0, name="load")
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))))
        count = int(min(max(along[-1] / rise, 1.0), 60.0))
        at = np.linspace(0.0, along[-1], count + 1)
        feet = np.column_stack([np.interp(at, along, one) for one in xy.T])
        ways = [way for foot in feet for way in (foot + np.array([0.0, rise]), foot)]
        self._shaft(ways, INK, 0.8, head=(6.4, 2.5))
        self._strokes += [Stroke(way, 2.0) for way in zip(ways[::2], ways[1::2], strict=True)]
        middle = 0.5 * along[-1]
        x, y = (float(np.interp(middle, along, one)) for one in xy.T)
        self.label(words, (x, y + rise), towards=90.0)

    def dimension(
        self, start: Point, end: Point, words: str, *, away: float = 0.0, feet: bool = True
    ) -> None:
        """A dimension between two points, drawn ``away`` [pt] to the left of the way."""
        a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        way = (b - a) / np.hypot(*(b - a))
        side = np.array([-way[1], way[0]]) * np.sign(away or 1.0)
        off = side * self.size(abs(away))
        if feet and away:
            for foot in (a, b):
                self.line([_pair(foot + 0.2 * off), _pair(foot + 1.12 * off)], "thin")
        self._shaft([a + off, b + off], QUIET, 0.7, head=(4.5, 1.4), both=True)
        self._strokes.append(Stroke((_pair(a + off), _pair(b + off)), 0.8))
        towards = float(np.degrees(np.arctan2(side[1], side[0])))
        self.label(words, _pair(0.5 * (a + b) + off), towards=towards, ink=QUIET)

    def angle(self, at: Point, start: float, end: float, words: str, *, radius: float) -> None:
        """An angle at a point from one direction to another [deg], ``radius`` in print [pt]."""
        reach = self.size(radius)
        turns = np.radians(np.linspace(start, end, 25))
        points = pairs(at[0] + reach * np.cos(turns), at[1] + reach * np.sin(turns))
        self.line(points, "thin", linewidth=1.0)
        self.label(words, points[12], towards=0.5 * (start + end), ink=QUIET)

    def label(
        self,
        words: str,
        at: Point,
        *,
        towards: float = 90.0,
        ink: str = INK,
        spots: Sequence[Point] = (),
        leader: bool = True,
    ) -> None:
        """Words that belong to a point, placed when the sheet is finished.

        Of a point outside the window they belong to the place nearest to it.
        """
        window = self.window
        x, y = min(max(at[0], window.left), window.right), max(at[1], window.bottom)
        near = (x, min(y, window.top))
        self._labels.append(Label(words, near, towards, 8.0, ink, tuple(spots), leader))

    def inside(self, words: str, *areas: Sequence[Point]) -> None:
        """Words that stand somewhere inside an area, or else in the next one."""
        from matplotlib.path import Path

        window = self.window
        x = np.linspace(window.left, window.right, 33)[1:-1]
        y = np.linspace(window.bottom, window.top, 33)[1:-1]
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        spots: list[Point] = []
        for one in areas:
            held = grid[Path(np.asarray(one, dtype=float)).contains_points(grid)]
            # the middle of what is shown comes first
            far = np.hypot(*(held - held.mean(axis=0)).T) if held.size else np.zeros(0)
            spots += pairs(*held[np.argsort(far, kind="stable")].T)
            self._strokes.append(Stroke([*one, one[0]], 0.4))
        at = spots[0] if spots else _pair(np.mean(np.asarray(areas[0], dtype=float), axis=0))
        self.label(words, at, spots=spots)

    def firm_ground(self, level: float) -> None:
        """Ground that nothing slides in, below a level."""
        window = self.window
        left, right, floor = window.left, window.right, max(level - self.size(7.0), window.bottom)
        if floor >= level:
            return
        band = [(left, level), (right, level), (right, floor), (left, floor)]
        self.area(band, face="#c9c9c9", hatch="xxx", edge="#6b6b6b", zorder=2.5)
        self.line(band[:2], "edge", name="firm ground")
        self.label("firm ground", (left + 0.12 * window.width, level), towards=90.0)

    def shaking(self, mass: Sequence[Point], words: str, *, long: float = 46.0) -> None:
        """Shaking outward, at the middle of what it moves."""
        self.arrow(centroid(mass), 180.0, words, long=long, tail=True, name="shaking")

    def finish(
        self,
        *,
        across: str = "distance [m]",
        up: str = "height [m]",
        note: str = "Arrows show place and direction, not size.",
    ) -> Figure:
        """Write axes, key and labels, and give the figure."""
        axes = self.axes
        named = across + (f"\n{note}" if note else "")
        scales(axes, named, up, size=7.5, ink=INK, edge=QUIET)
        figure: Any = axes.figure
        high = self.window.height / self._metres
        taken = key(axes, self._handles, left=4.0, top=high - 4.0, size=8.0)
        place_labels(axes, self._labels, self._strokes, taken)
        return figure  # type: ignore[no-any-return]


def centroid(area: Sequence[Point]) -> Point:
    """The middle of an area."""
    from shapely import Polygon

    middle = Polygon(area).centroid
    return float(middle.x), float(middle.y)


def between(start: Point, end: Point, share: float = 0.5) -> Point:
    """A point on the way from one to another."""
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def pairs(x: Any, y: Any) -> list[Point]:
    """Points from their coordinates."""
    return list(zip(np.asarray(x).tolist(), np.asarray(y).tolist(), strict=True))


def _pair(point: Any) -> Point:
    return float(point[0]), float(point[1])


def _own_axes(window: Window, paper: float) -> Axes:
    """Axes whose box has the shape of the window, on a figure cut to fit."""
    width = paper - _LEFT - _RIGHT
    height = width * window.height / window.width
    # a wide, low window leaves paper above and below
    spare = 0.5 * max(_LOWEST - height, 0.0)
    below, above = _BELOW + spare, _ABOVE + spare
    (axes,) = framed(paper, [height], left=_LEFT, right=_RIGHT, below=below, above=above)
    return axes
