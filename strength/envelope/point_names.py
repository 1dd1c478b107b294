"""The names of tests beside their points, so that those of close tests do not collide."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.envelope.fitted import FittedEnvelope

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["place_names", "plain"]

_SIZE = 8.0  # [pt] of the names of tests
_UP = 10.0  # [pt] of a step of height
_PLACES = (
    (-1, 1), (1, -1), (1, 1), (-1, -1), (0, 1), (0, -1), (-1, 2.4), (1, -2.4), (1, 2.4), (-1, -2.4),
    (0, 3.8), (0, -3.8), (-1, 5.2), (1, -5.2), (1, 5.2), (-1, -5.2),
)  # fmt: skip
"""Where a name may stand about its point: side, and steps of height."""


def place_names(
    axes: Axes, fit: FittedEnvelope, taken: Sequence[tuple[float, float, float, float]]
) -> None:
    """The names of the tests, each in the first place about its point that is free."""
    tests = fit.tests
    # of a circle at its centre, where no line runs
    circles = fit.plane.has_circles
    above = sorted((one for one in _PLACES if one[1] > 0), key=lambda one: (one[1], one[0] != 0))
    places = above if circles else _PLACES
    stresses = (tests.normal, 0.0 * tests.shear) if circles else fit.on_sliding_plane
    points = np.column_stack(stresses)
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    figure = axes.get_figure(root=True)
    assert figure is not None
    room = axes.get_position().width * figure.get_figwidth() * 72.0
    unit = right / room  # of the axes a point of type, on both
    boxes = [np.array(box) for box in taken]
    boxes += [np.array([x - 5 * unit, y - 5 * unit, x + 5 * unit, y + 5 * unit]) for x, y in points]
    for (x, y), name in zip(points, tests.names, strict=True):
        text = plain(name)
        wide, high = 0.6 * _SIZE * len(name[:40]) * unit, 1.1 * _SIZE * unit
        best, least = places[0], np.inf
        for side, step in places:
            box = _box(x, y, side, step, wide, high, unit)
            over = sum(_shared(box, other) for other in boxes)
            outside = max(left - box[0], box[2] - right, bottom - box[1], box[3] - top, 0.0)
            if over + outside < least:
                best, least = (side, step), over + outside
            if least == 0.0:
                break
        side, step = best
        boxes.append(_box(x, y, side, step, wide, high, unit))
        axes.annotate(
            text,
            (x, y),
            xytext=(6.0 * side, _UP * step),
            textcoords="offset points",
            ha=("right", "center", "left")[side + 1],
            va="center",
            fontsize=_SIZE,
            zorder=8,
            arrowprops={"arrowstyle": "-", "linewidth": 0.5, "color": "#000000", "shrinkB": 4.0}
            if abs(step) > 2.0
            else None,
        )


def _box(
    x: float, y: float, side: float, step: float, wide: float, high: float, unit: float
) -> Any:
    """The corners of a name in the units of the axes."""
    middle = y + _UP * step * unit
    start = x + 6.0 * side * unit + wide * (side - 1.0) / 2.0
    return np.array([start, middle - high / 2.0, start + wide, middle + high / 2.0])


def _shared(one: Any, other: Any) -> float:
    """Area that two boxes have in common."""
    sides = np.minimum(one[2:], other[2:]) - np.maximum(one[:2], other[:2])
    return float(np.prod(np.maximum(sides, 0.0)))


def plain(text: str) -> str:
    """A name as it stands in a picture: cut, and no mathematics."""
    return text[:40].replace("$", r"\$")
