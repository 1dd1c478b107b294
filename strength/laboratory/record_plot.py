"""Draws stress-displacement records with the points that were picked from them.

Tests differ by line style and colour, picked points by marker, so that the picture survives
a photocopier and colour blindness.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.drawing.frame import Box, cut_below, framed, key, line, scales
from slipmargin.strength.drawing.labels import Label, place_labels, written
from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.picked_points import PickedTest

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["plot_records", "record_panels"]

# colours that the colour-blind tell apart: Okabe and Ito (2008)
_COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#806A00", "#56B4E9")
_STYLES: tuple[Any, ...] = ("-", "--", "-.", (0, (1, 1.2)), (0, (6, 2, 1, 2, 1, 2)), (0, (8, 3)))
_PEAK = {
    "largest": ("o", "peak"),
    "ten_percent": ("D", "at 10 % relative displacement"),
    "end": ("v", "no peak: end of the record"),
}
_GRID = "#DDDDDD"


def record_panels(details: Sequence[PickedTest]) -> tuple[list[float], list[float]]:
    """Heights of the panels of records, and the paper below each [in]: the second is the rise
    of the cap, where it was read in some test.
    """
    rises = any(test.record.vertical_displacement is not None for test in details)
    words = 0.75 + 0.17 * ((len(details) + 5) // 2)
    return ([3.2, 1.3], [0.3, words]) if rises else ([3.2], [words])


def plot_records(
    details: Sequence[PickedTest], *, axes: Axes | None = None, below: Axes | None = None
) -> Figure:
    """Draw shear stress, and the rise of the cap where measured, against displacement.

    The tests are those of ``ShearTests.details``; a record is drawn over the same area as its
    points. The rise is left out without ``below``; without ``axes`` a new figure is made. No test
    at all is an ``InputError``.
    """
    if not details:
        raise InputError("details", "none", "only stress-displacement records can be drawn")
    own = axes is None
    if axes is None:
        heights, margins = record_panels(details)
        axes, *rise = framed(7.2, heights, below=margins, above=0.12)
        below = rise[0] if rise else None
    labels = [
        label for index, test in enumerate(details) for label in _draw_test(axes, test, index)
    ]
    every = np.concatenate([np.asarray(one.get_xydata()) for one in axes.lines])
    right, top = (1.04 * np.nanmax(every, axis=0)).tolist()
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    record = details[0].record
    what = "stress" if record.unit == "kPa" else "force"
    on_area = "" if details[0].corrected is None else "\non the area in contact"
    across, up = "Displacement of the box [mm]", f"Shear {what}{on_area} [{record.unit}]"
    scales(axes, across if below is None else "", up, grid=_GRID)
    if below is not None:
        _rise(below, details, right)
        scales(below, across, "Rise of the cap [mm]", grid=_GRID)
    place_labels(axes, labels, ())
    boxes = _key(axes, axes if below is None else below, details)
    figure: Any = axes.get_figure(root=True)
    return cut_below(boxes, figure) if own else figure


def _look(index: int) -> dict[str, Any]:
    return {
        "color": _COLOURS[index % len(_COLOURS)],
        "linestyle": _STYLES[index % len(_STYLES)],
    }


def _draw_test(axes: Axes, test: PickedTest, index: int) -> list[Label]:
    look, record = _look(index), test.record
    plain = {"color": look["color"], "label": "_"}
    for part in test.traverses:
        rows = slice(part.start, part.stop)
        shear = record.shear[rows] / test.overlap(record.displacement[rows])
        line(axes, record.displacement[rows], shear, marker=".", linestyle="None", markersize=2.5,
             alpha=0.45, **plain)  # fmt: skip
    name = f"test {written(test.name)}, {test.peak.normal:.4g} {record.unit}"
    shear = test.smooth_shear / test.overlap(test.smooth_displacement)
    line(axes, test.smooth_displacement, shear, linewidth=1.4, label=name, **look)
    labels = []
    for word, end in (("", test.end), ("residual", test.residual)):
        if end is not None:
            line(axes, [end.start, end.displacement], [end.shear, end.shear], linewidth=3.2,
                 solid_capstyle="butt", zorder=3, **plain)  # fmt: skip
            if word:  # the end of the first traverse is above
                labels.append(Label(word, (end.displacement, end.shear), towards=-135.0))
    line(axes, [test.peak.displacement], [test.peak.shear], marker=_PEAK[test.peak.found_by][0],
         markersize=7, markerfacecolor="white", markeredgewidth=1.6, zorder=4,
         **plain)  # fmt: skip
    return labels


def _rise(below: Axes, details: Sequence[PickedTest], right: float) -> None:
    for index, test in enumerate(details):
        if test.record.vertical_displacement is not None:
            rows = slice(test.traverses[0].start, test.traverses[0].stop)
            x, y = test.record.displacement[rows], test.record.vertical_displacement[rows]
            line(below, x, y, linewidth=1.3, **_look(index))
    heights = np.concatenate([np.asarray(one.get_ydata()) for one in below.lines])
    low, high = min(float(np.nanmin(heights)), 0.0), max(float(np.nanmax(heights)), 0.0)
    room = 0.06 * (high - low) or 1.0
    below.set_xlim(0.0, right)
    below.set_ylim(low - room, high + room)
    line(below, [0.0, right], [0.0, 0.0], color="#888888", linewidth=0.7)


def _key(axes: Axes, lowest: Axes, details: Sequence[PickedTest]) -> list[Box]:
    """The names of tests, of picked points and of means, below the lowest axis."""
    from matplotlib.lines import Line2D

    entries = list(zip(*axes.get_legend_handles_labels(), strict=True))
    for found_by in dict.fromkeys(test.peak.found_by for test in details):
        marker, words = _PEAK[found_by]
        look: dict[str, Any] = {"marker": marker, "markerfacecolor": "white", "linestyle": "None"}
        entries.append((Line2D([], [], color="#000000", **look), words))
    entries.append((Line2D([], [], color="#000000", linewidth=3.2), "mean over the last part"))
    return key(lowest, entries, left=-36.0, top=-36.0, size=8.0, most=2)
