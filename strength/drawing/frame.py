"""The paper of a picture: panels one below the other, sized in inches, with scales by hand.

Axes are bare: the numbers along them, and what stands about them, are a few shapes for a whole
panel. Ticks and texts one by one take most of the time that a picture takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

__all__ = [
    "INKS",
    "Box",
    "alike",
    "area",
    "cut_below",
    "framed",
    "heading",
    "key",
    "line",
    "room",
    "scales",
    "script",
]

Box = tuple[float, float, float, float]
"""Left, bottom, right and top [pt of the figure]."""

INKS = ("#1b3a57", "#b3541e", "#3f7d58", "#7a4b8c", "#8a6d00", "#4d4d4d")
"""Colours of lines, one a check."""

_TICK, _SAMPLE = 3.0, 20.0  # [pt]
_GAP = np.full((1, 2), np.nan)  # between lines of one shape


def framed(
    width: float,
    heights: Sequence[float],
    *,
    left: float = 0.75,
    right: float = 0.2,
    below: float | Sequence[float] = 0.55,
    above: float = 0.25,
) -> list[Axes]:
    """Axes on a figure of their own.

    Parameters
    ----------
    width
        Of the figure [in].
    heights
        Of the axes, from the top down [in].
    left, right, below, above
        Paper about each of them [in]; ``below`` of each, or of all.
    """
    from slipmargin.strength.drawing.figure import DrawnFigure

    margins = np.broadcast_to(below, len(heights)).tolist()
    total = sum(heights) + sum(margins) + len(heights) * above
    figure = DrawnFigure(figsize=(width, total))
    found, top = [], total
    for height, margin in zip(heights, margins, strict=True):
        top -= above + height
        place = (left / width, top / total, (width - left - right) / width, height / total)
        found.append(figure.add_axes(place))
        top -= margin
    return found


def cut_below(boxes: Sequence[Box], figure: Any) -> Figure:
    """Cut the paper of a figure below the lowest of some boxes, or add to it there."""
    wide, high = figure.get_size_inches()
    more = 0.12 - min(bottom for _, bottom, *_ in boxes) / 72.0
    places = [axes.get_position().bounds for axes in figure.axes]
    figure.set_size_inches(wide, high + more)
    share = high / (high + more)
    for axes, (x, y, width, height) in zip(figure.axes, places, strict=True):
        axes.set_position((x, 1.0 - share * (1.0 - y), width, share * height))
    found: Figure = figure
    return found


def alike(one: Any, other: Any) -> bool:
    """Whether two curves, or grids, give lines that no eye could tell apart."""
    apart = np.abs(one - other) / (1.0 + np.abs(other))
    return bool(np.nanmax(apart, initial=0.0) < 1e-6)


def line(axes: Axes, x: Any, y: Any, **look: Any) -> Line2D:
    """A line, or markers, on axes whose limits are settled."""
    from matplotlib.lines import Line2D

    drawn = Line2D(x, y, **look)
    axes.add_artist(drawn)
    return drawn


def area(axes: Axes, corners: Any, **look: Any) -> None:
    """A filled area on axes whose limits are settled; without an edge if none is told."""
    from matplotlib.patches import Polygon

    axes.add_artist(Polygon(np.asarray(corners, dtype=float), **{"linewidth": 0.0, **look}))


def script(
    axes: Axes,
    words: Sequence[tuple[str, float, float, float, float]],
    *,
    size: float = 8.0,
    ink: str = "black",
    turned: bool = False,
) -> None:
    """Words about axes as one shape.

    Parameters
    ----------
    axes
        Its place is settled.
    words
        Each with its place from the lower left corner of the axes [pt], and which part of it
        stands there, from 0 at its left, or its foot, to 1.
    size
        Of the words [pt].
    ink
        Of the words.
    turned
        To read upward; places are then along the left edge, and away from it.
    """
    from matplotlib.patches import PathPatch
    from matplotlib.transforms import Affine2D, ScaledTranslation

    from slipmargin.strength.drawing.lettering import Outline, setting

    letters = []
    for text, x, y, across, up in words:
        one = setting(text, size)
        dx, dy = x + (0.5 - across) * one.width, y + (0.5 - up) * one.height
        letters += [(sign, a + dx, b + dy, much) for sign, a, b, much in one.outline.letters]
    figure: Any = axes.figure
    corner: Any = axes.transAxes
    to_page = Affine2D().rotate_deg(90.0 if turned else 0.0).scale(1.0 / 72.0)
    place = to_page + figure.dpi_scale_trans + ScaledTranslation(0.0, 0.0, corner)
    shape = PathPatch(Outline(tuple(letters)), facecolor=ink, linewidth=0.0, zorder=9.0)
    shape.set(clip_on=False, transform=place, gid="\n".join(text for text, *_ in words))
    axes.add_artist(shape)


def heading(axes: Axes, lines: Sequence[tuple[str, float]]) -> None:
    """Lines above axes from their left end, each with its size [pt]."""
    _, up = room(axes)
    up += 4.0
    for words, size in reversed(lines):
        script(axes, [(words, 0.0, up, 0.0, 0.0)], size=size)
        up += 1.25 * size


def key(
    axes: Axes,
    entries: Sequence[tuple[Any, str]],
    *,
    left: float,
    top: float,
    size: float = 7.5,
    most: int = 1,
) -> list[Box]:
    """Samples of lines and areas beside their names; gives the boxes they take.

    Parameters
    ----------
    axes
        Its limits and place are settled.
    entries
        What is drawn, or none, and its name.
    left, top
        Corner from the lower left one of the axes [pt].
    size
        Of the names [pt].
    most
        Columns, as far as the paper holds them.
    """
    from slipmargin.strength.drawing.lettering import setting

    step, before = 1.5 * size, _SAMPLE + 5.0
    corner = np.asarray(axes.get_window_extent().p0) * 72.0 / axes.figure.dpi
    paper = axes.figure.get_figwidth() * 72.0 - corner[0] - left  # type: ignore[union-attr]
    wide = [before + setting(name, size).width for _, name in entries]
    for columns in range(most, 0, -1):
        rows = max(-(-len(entries) // columns), 1)
        widest = [max(wide[k : k + rows]) + 10.0 for k in range(0, len(entries), rows)]
        if sum(widest) <= paper:
            break
    words, boxes = [], []
    for number, (drawn, name) in enumerate(entries):
        column, row = divmod(number, rows)
        x, y = left + sum(widest[:column]), top - (row + 0.5) * step
        words.append((name, x + before, y, 0.0, 0.5))
        if drawn is not None:
            _sample(axes, drawn, x, y)
        x, y = x + corner[0], y + corner[1]
        boxes.append((x, y - 0.5 * step, x + wide[number], y + 0.5 * step))
    script(axes, words, size=size)
    return boxes


def _sample(axes: Axes, drawn: Any, x: float, y: float) -> None:
    """What is drawn once more, as a short piece from a place on [pt]."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Polygon

    ends = np.array([[x, y], [x + _SAMPLE, y]])
    if not isinstance(drawn, Line2D):
        ends = ends[[0, 1, 1, 0]] + np.array([[0.0, -3.0]] * 2 + [[0.0, 3.0]] * 2)
    elif drawn.get_marker() == "_":  # bars stand upright
        ends = ends.mean(axis=0) + np.array([[0.0, -4.0], [0.0, 4.0]])
    elif drawn.get_linestyle() == "None":
        ends = ends.mean(axis=0, keepdims=True)
    at = (axes.transAxes - axes.transData).transform(ends / room(axes))
    sample: Any = Line2D(*at.T) if isinstance(drawn, Line2D) else Polygon(at)
    sample.update_from(drawn)
    sample.set(label="_", transform=axes.transData, clip_on=False, zorder=9.0)
    axes.add_artist(sample)


def room(axes: Axes) -> Any:
    """Width and height of axes [pt]."""
    return np.asarray(axes.get_window_extent().size) * 72.0 / axes.figure.dpi


def scales(
    axes: Axes,
    across: str,
    up: str,
    *,
    size: float = 9.0,
    ink: str = "black",
    edge: str = "black",
    grid: str = "",
    rows: Sequence[str] | None = None,
) -> None:
    """Numbers along two settled axes, and what stands along them, in place of their own.

    Parameters
    ----------
    axes
        Its limits and place are settled.
    across, up
        Names of the axes, with their units.
    size
        Of the words [pt].
    ink, edge
        Of the words, and of the ticks.
    grid
        Colour of a grid; of squares where both axes have one scale.
    rows
        Names of rows at 0, 1, 2 and so on, in place of the numbers upward.
    """
    from matplotlib.ticker import FixedLocator

    from slipmargin.strength.drawing.lettering import setting

    axes.set_xlabel(across)
    axes.set_ylabel(up)
    axes.set_axis_off()
    far = room(axes)
    limits = np.array([axes.get_xlim(), axes.get_ylim()])
    marks = [np.array([[0.0, far[1]], [0.0, 0.0], [far[0], 0.0]])]
    squares: list[Any] = []
    words: list[tuple[str, float, float, float, float]] = []
    away, step = [0.0, 0.0], 0.0
    for axis, apart in enumerate((3.0, 2.0)):
        values = _ticks(limits[axis], far[axis] / (apart * size))
        if axis and grid and axes.get_aspect() == 1.0:
            values = step * np.arange(np.ceil(limits[1, 0] / step), limits[1, 1] / step + 1e-9)
        names = _numbers(values)
        if axis and rows is not None:
            values, names = np.arange(len(rows)), list(rows)
        step = float(values[1] - values[0]) if len(values) > 1 else float(np.ptp(limits[axis]))
        (axes.xaxis, axes.yaxis)[axis].set_major_locator(FixedLocator(values))
        for value, text in zip(values, names, strict=True):
            at, off = (value - limits[axis, 0]) / np.ptp(limits[axis]) * far[axis], _TICK + 2.0
            ends = np.array([[at, 0.0], [at, -_TICK], [at, far[1 - axis]]])
            ends = ends[:, ::-1] if axis else ends
            marks += [_GAP, ends[:2]]
            squares += [_GAP, ends[::2]]
            words.append((text, -off, at, 1.0, 0.5) if axis else (text, at, -off, 0.5, 1.0))
            one = setting(text, size)
            away[axis] = max(away[axis], off + (one.width if axis else one.height))
    words.append((across, 0.5 * far[0], -away[0] - 3.0, 0.5, 1.0))
    script(axes, words, size=size, ink=ink)
    script(axes, [(up, 0.5 * far[1], away[1] + 3.0, 0.5, 0.0)], size=size, ink=ink, turned=True)
    to_data = axes.transAxes - axes.transData
    for pieces, colour, width, order in ((squares, grid, 0.6, 0.5), (marks, edge, 0.8, 2.4)):
        if colour:
            x, y = to_data.transform(np.concatenate(pieces) / far).T
            line(axes, x, y, color=colour, linewidth=width, zorder=order, clip_on=False)


def _ticks(limits: Any, most: float) -> Any:
    """Round values between limits, no more than so many."""
    from matplotlib.ticker import MaxNLocator

    locator = MaxNLocator(nbins=int(np.clip(most, 1, 9)), steps=[1, 2, 2.5, 5, 10])
    values = np.asarray(locator.tick_values(*limits))
    slack = 1e-9 * np.ptp(limits)
    return values[(values >= limits[0] - slack) & (values <= limits[1] + slack)]


def _numbers(values: Any) -> list[str]:
    """Values with as many decimals as the finest of them needs."""
    step = np.min(np.diff(values)) if len(values) > 1 else 1.0
    short = (d for d in range(7) if np.all(np.abs(np.round(values, d) - values) < 1e-6 * step))
    digits = next(short, 7)
    return [f"{value:.{digits}f}".replace("-", "−") for value in values + 0.0]
