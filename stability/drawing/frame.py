"""The figure of a diagram: panels one below the other, sized in inches, open above and right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["INKS", "alike", "framed", "scales"]

INKS = ("#1b3a57", "#b3541e", "#3f7d58", "#7a4b8c", "#8a6d00", "#4d4d4d")
"""Colours of lines, one a check."""

_TICK = 3.0  # [pt]


def framed(
    width: float,
    heights: Sequence[float],
    *,
    left: float = 0.75,
    right: float = 0.2,
    below: float = 0.55,
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
        Paper about each of them [in].
    """
    from slipmargin.strength.drawn import DrawnFigure

    total = sum(heights) + len(heights) * (below + above)
    figure = DrawnFigure(figsize=(width, total))
    found, top = [], total
    for height in heights:
        top -= above + height
        place = (left / width, top / total, (width - left - right) / width, height / total)
        axes = figure.add_axes(place)
        axes.spines[["top", "right"]].set_visible(False)
        found.append(axes)
        top -= below
    return found


def alike(one: Any, other: Any) -> bool:
    """Whether two curves, or grids, give lines that no eye could tell apart."""
    apart = np.abs(one - other) / (1.0 + np.abs(other))
    return bool(np.nanmax(apart, initial=0.0) < 1e-6)


def scales(
    axes: Axes, across: str, up: str, *, size: float = 9.0, ink: str = "black", edge: str = "black"
) -> None:
    """Numbers along two settled axes, and what stands along them.

    They are one shape for the whole picture: ticks and texts one by one take most of the time
    that a picture takes.

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
    """
    from matplotlib.lines import Line2D
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    from slipmargin.stability.drawing.lettering import setting

    axes.set_xlabel(across)
    axes.set_ylabel(up)
    for one in (axes.xaxis, axes.yaxis):
        one.set_visible(False)
    points = 72.0 / axes.figure.dpi
    frame = axes.get_window_extent()
    corner, far = np.array([frame.p0, frame.p1]) * points
    limits = np.array([axes.get_xlim(), axes.get_ylim()])
    shapes: list[Any] = []
    codes: list[Any] = []
    marks: list[Any] = []

    def put(words: str, x: float, y: float, *, turned: bool = False) -> None:
        outline = setting(words, size).outline
        shape = np.asarray(outline.vertices)
        shapes.append((shape[:, ::-1] * [-1.0, 1.0] if turned else shape) + [x, y])
        codes.append(outline.codes)

    clear, out = [0.0, 0.0], np.array([_TICK, _TICK])
    for axis, room in enumerate((3.0, 2.0)):
        values = _ticks(limits[axis], (far - corner)[axis] / (room * size))
        for value, words in zip(values, _numbers(values), strict=True):
            share = (value - limits[axis, 0]) / np.ptp(limits[axis])
            at = corner + share * (far - corner) * np.eye(2)[axis]
            wide, high = setting(words, size).width, setting(words, size).height
            off = _TICK + 2.0 + 0.5 * (high if axis == 0 else wide)
            put(words, *(at - off * np.eye(2)[1 - axis]))
            clear[axis] = max(clear[axis], off + 0.5 * (high if axis == 0 else wide))
            marks += [at, at - out * np.eye(2)[1 - axis], [np.nan, np.nan]]
    middle = 0.5 * (corner + far)
    put(across, middle[0], corner[1] - clear[0] - 3.0 - 0.5 * setting(across, size).height)
    put(up, corner[0] - clear[1] - 3.0 - 0.5 * setting(up, size).height, middle[1], turned=True)
    to_data = axes.transData.inverted()
    outline = Path(to_data.transform(np.concatenate(shapes) / points), np.concatenate(codes))
    axes.add_artist(PathPatch(outline, facecolor=ink, linewidth=0.0, clip_on=False, zorder=2.5))
    x, y = to_data.transform(np.array(marks) / points).T
    axes.add_artist(Line2D(x, y, color=edge, linewidth=0.8, clip_on=False, zorder=2.4))


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
