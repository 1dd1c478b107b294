"""A drawing to scale: soil, water, slip surfaces, forces and dimensions on one sheet.

One scale on both axes, in metres. Lengths are true; a force is an arrow that shows where it
acts and which way, its value is written. Kinds differ by line and hatch, not by ink alone,
so the drawing survives a photocopier and a colour-blind reader.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.drawing.labels import Label, Stroke, place_labels

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
_WIDTH = 8.4  # of a figure [in]
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

    def __init__(self, window: Window, axes: Axes | None = None) -> None:
        """Open a sheet on a window, on own axes or on those given."""
        self.window = window
        self.axes = _own_axes(window) if axes is None else axes
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
        self, points: Sequence[Point], style: str, *, name: str = "", key: str = "", **change: Any
    ) -> None:
        """A line; ``name`` tells what it is, ``key`` puts it in the key."""
        x, y = np.asarray(points, dtype=float).T
        look: dict[str, Any] = {"solid_capstyle": "round", **_STYLES[style], **change}
        (drawn,) = self.axes.plot(x, y, **look)
        drawn.set_label(name or "_")
        self._strokes.append(Stroke(tuple(points), 1.0 if look["linewidth"] > 1.0 else 0.6))
        if key:
            self._handles.append((drawn, key))

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
        from matplotlib.patches import Polygon

        # the hatch takes the ink of the edge, so an area without an edge has no hatch
        patch = Polygon(
            np.asarray(points, dtype=float),
            closed=True,
            facecolor=face,
            edgecolor=edge,
            hatch=hatch,
            linewidth=0.8 if edge != "none" else 0.0,
            zorder=zorder,
        )
        patch.set_label(name or "_")
        self.axes.add_patch(patch)
        if hatch:
            self._strokes.append(Stroke((*points, points[0]), 0.5))

    def remark(self, words: str) -> None:
        """Words in the key that belong to no line."""
        from matplotlib.lines import Line2D

        self._handles.append((Line2D([], [], linestyle="none"), words))

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
        drawn = self.axes.annotate(
            "",
            (float(end[0]), float(end[1])),
            xytext=(float(start[0]), float(start[1])),
            zorder=8,
            arrowprops={
                "arrowstyle": "-|>,head_length=0.55,head_width=0.2",
                "color": ink,
                "linewidth": width,
                "shrinkA": 0.0,
                "shrinkB": 0.0,
                "mutation_scale": 11.0,
            },
        )
        drawn.set_label(name or "_")
        ends = ((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
        self._strokes.append(Stroke(ends, 2.0))
        if words:
            free = ends[1] if tail else ends[0]
            self.label(words, free, towards=angle if tail else angle + 180.0, ink=ink)

    def load(self, surface: Sequence[Point], words: str) -> None:
        """A load spread over a surface: a row of arrows under a bar."""
        xy = np.asarray(surface, dtype=float)
        rise = self.size(17.0)
        bar = [(float(x), float(y) + rise) for x, y in xy]
        self.line(bar, "thin", color=INK, linewidth=1.0, name="load")
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))))
        count = int(min(max(along[-1] / self.size(17.0), 1.0), 60.0))
        for at in np.linspace(0.0, along[-1], count + 1):
            foot = (float(np.interp(at, along, xy[:, 0])), float(np.interp(at, along, xy[:, 1])))
            self.arrow(foot, -90.0, long=17.0, width=0.8)
        middle = 0.5 * along[-1]
        at = (
            float(np.interp(middle, along, xy[:, 0])),
            float(np.interp(middle, along, xy[:, 1])) + rise,
        )
        self.label(words, at, towards=90.0)

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
        self.axes.annotate(
            "",
            _pair(b + off),
            xytext=_pair(a + off),
            zorder=6,
            arrowprops={
                "arrowstyle": "<|-|>,head_length=0.4,head_width=0.12",
                "color": QUIET,
                "linewidth": 0.7,
                "shrinkA": 0.0,
                "shrinkB": 0.0,
                "mutation_scale": 10.0,
            },
        )
        self._strokes.append(Stroke((_pair(a + off), _pair(b + off)), 0.8))
        towards = float(np.degrees(np.arctan2(side[1], side[0])))
        self.label(words, _pair(0.5 * (a + b) + off), towards=towards, ink=QUIET)

    def angle(self, at: Point, start: float, end: float, words: str, *, radius: float) -> None:
        """An angle at a point from one direction to another [deg], ``radius`` in print [pt]."""
        from matplotlib.patches import Arc

        reach = self.size(radius)
        arc = Arc(
            at,
            2.0 * reach,
            2.0 * reach,
            theta1=min(start, end),
            theta2=max(start, end),
            color=QUIET,
        )
        self.axes.add_patch(arc)
        turns = np.radians(np.linspace(start, end, 9))
        points = [
            (at[0] + reach * float(np.cos(turn)), at[1] + reach * float(np.sin(turn)))
            for turn in turns
        ]
        self._strokes.append(Stroke(tuple(points), 0.8))
        self.label(words, points[4], towards=0.5 * (start + end), ink=QUIET)

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
        near = (
            min(max(at[0], window.left), window.right),
            min(max(at[1], window.bottom), window.top),
        )
        self._labels.append(Label(words, near, towards, 8.0, ink, tuple(spots), leader))

    def inside(self, words: str, *areas: Sequence[Point]) -> None:
        """Words that stand somewhere inside an area, or else in the next one."""
        from matplotlib.path import Path

        window = self.window
        grid = np.stack(
            np.meshgrid(
                np.linspace(window.left, window.right, 33)[1:-1],
                np.linspace(window.bottom, window.top, 33)[1:-1],
            ),
            axis=-1,
        ).reshape(-1, 2)
        spots: list[Point] = []
        for area in areas:
            held = grid[Path(np.asarray(area, dtype=float)).contains_points(grid)]
            # the middle of what is shown comes first
            far = np.hypot(*(held - held.mean(axis=0)).T) if held.size else np.zeros(0)
            spots += [_pair(one) for one in held[np.argsort(far, kind="stable")]]
            self._strokes += [Stroke(pair, 0.4) for pair in pairwise((*area, area[0]))]
        at = spots[0] if spots else _pair(np.mean(np.asarray(areas[0], dtype=float), axis=0))
        self.label(words, at, spots=spots)

    def finish(self, *, across: str, up: str, note: str = "") -> Figure:
        """Write axes, key and labels, and give the figure."""
        axes = self.axes
        axes.set_xlabel(across + (f"\n{note}" if note else ""), fontsize=8.0, color=INK)
        axes.set_ylabel(up, fontsize=8.0, color=INK)
        axes.tick_params(labelsize=7.5, length=3.0, color=QUIET)
        axes.spines[["top", "right"]].set_visible(False)
        axes.spines[["left", "bottom"]].set_color(QUIET)
        figure: Any = axes.figure
        place_labels(axes, self._labels, self._strokes, self._key())
        return figure  # type: ignore[no-any-return]

    def _key(self) -> list[tuple[float, float, float, float]]:
        """Draw the key of the slip surfaces and give the box that it takes [pt]."""
        if not self._handles:
            return []
        drawn, names = zip(*self._handles, strict=True)
        legend = self.axes.legend(
            drawn, names, loc="upper left", fontsize=8.0, frameon=False, handlelength=3.6
        )
        legend.set_zorder(9)
        points = 72.0 / self.axes.figure.dpi
        box = legend.get_window_extent()
        return [(box.x0 * points, box.y0 * points, box.x1 * points, box.y1 * points)]


def _pair(point: Any) -> Point:
    return float(point[0]), float(point[1])


def _own_axes(window: Window) -> Axes:
    """Axes whose box has the shape of the window, on a figure cut to fit."""
    from slipmargin.strength.drawn import DrawnFigure

    width = _WIDTH - _LEFT - _RIGHT
    height = width * window.height / window.width
    # a wide, low window leaves paper above and below
    spare = max(_LOWEST - height, 0.0)
    total = height + spare + _BELOW + _ABOVE
    figure = DrawnFigure(figsize=(_WIDTH, total))
    return figure.add_axes(
        (_LEFT / _WIDTH, (_BELOW + 0.5 * spare) / total, width / _WIDTH, height / total)
    )
