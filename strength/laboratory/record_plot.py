"""Draws stress-displacement records with the points that were picked from them.

Tests differ by line style and colour, picked points by marker, so that the picture survives
a photocopier and colour blindness.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.picked_points import PickedTest

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["has_rise", "plot_records"]

# colours that the colour-blind tell apart: Okabe and Ito (2008)
_COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#806A00", "#56B4E9")
_STYLES: tuple[Any, ...] = ("-", "--", "-.", (0, (1, 1.2)), (0, (6, 2, 1, 2, 1, 2)), (0, (8, 3)))
_PEAK = {
    "largest": ("o", "peak"),
    "ten_percent": ("D", "at 10 % relative displacement"),
    "end": ("v", "no peak: end of the record"),
}


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
    if axes is None:
        rises = has_rise(details)
        from slipmargin.strength.drawn import DrawnFigure

        drawn = DrawnFigure(figsize=(7.2, 6.6 if rises else 4.6), layout="constrained")
        if rises:
            axes, below = drawn.subplots(2, 1, sharex=True, height_ratios=(2.4, 1.0))
        else:
            axes = drawn.subplots()
    figure = axes.get_figure(root=True)
    assert figure is not None
    for index, test in enumerate(details):
        _draw_test(axes, test, index)
        if below is not None and test.record.vertical_displacement is not None:
            part = test.traverses[0]
            rows = slice(part.start, part.stop)
            below.plot(
                test.record.displacement[rows],
                test.record.vertical_displacement[rows],
                color=_COLOURS[index % len(_COLOURS)],
                linestyle=_STYLES[index % len(_STYLES)],
                linewidth=1.3,
            )
    _finish(axes, below, details)
    return figure


def has_rise(details: Sequence[PickedTest]) -> bool:
    """Whether the rise of the cap was read in some test."""
    return any(test.record.vertical_displacement is not None for test in details)


def _draw_test(axes: Axes, test: PickedTest, index: int) -> None:
    colour = _COLOURS[index % len(_COLOURS)]
    style = _STYLES[index % len(_STYLES)]
    record = test.record
    for part in test.traverses:
        rows = slice(part.start, part.stop)
        axes.plot(
            record.displacement[rows],
            record.shear[rows] / test.overlap(record.displacement[rows]),
            ".",
            markersize=2.5,
            color=colour,
            alpha=0.45,
        )
    label = f"test {test.name}, {test.peak.normal:.4g} {record.unit}"
    axes.plot(
        test.smooth_displacement,
        test.smooth_shear / test.overlap(test.smooth_displacement),
        color=colour,
        linestyle=style,
        linewidth=1.4,
        label=label,
    )
    for word, end in (("", test.end), ("residual", test.residual)):
        if end is not None:
            axes.plot(
                [end.start, end.displacement],
                [end.shear, end.shear],
                color=colour,
                linewidth=3.2,
                solid_capstyle="butt",
                zorder=3,
            )
            if word:
                axes.annotate(
                    word,
                    (end.displacement, end.shear),
                    textcoords="offset points",
                    xytext=(0, -4),
                    horizontalalignment="right",
                    verticalalignment="top",  # the end of the first traverse is above
                    fontsize=8,
                )
    axes.plot(
        test.peak.displacement,
        test.peak.shear,
        _PEAK[test.peak.found_by][0],
        markersize=7,
        markerfacecolor="white",
        markeredgecolor=colour,
        markeredgewidth=1.6,
        zorder=4,
    )


def _finish(axes: Axes, below: Axes | None, details: Sequence[PickedTest]) -> None:
    what = "stress" if details[0].record.unit == "kPa" else "force"
    for found_by in dict.fromkeys(test.peak.found_by for test in details):
        marker, words = _PEAK[found_by]
        axes.plot(
            [],
            [],
            marker,
            markerfacecolor="white",
            markeredgecolor="#000000",
            label=words,
        )
    axes.plot([], [], color="#000000", linewidth=3.2, label="mean over the last part")
    on_area = "" if details[0].corrected is None else "\non the area in contact"
    axes.set_ylabel(f"Shear {what}{on_area} [{details[0].record.unit}]")
    axes.set_ylim(bottom=0.0)
    axes.set_xlim(left=0.0)
    axes.grid(visible=True, color="#DDDDDD", linewidth=0.6)
    lowest = axes if below is None else below
    lowest.set_xlabel("Displacement of the box [mm]")
    lowest.legend(
        *axes.get_legend_handles_labels(),
        fontsize=8,
        ncols=2,
        loc="upper center",
        bbox_to_anchor=(0.5, 0.0),
        borderaxespad=5.0,  # below the axis and its name, whatever the height
    )
    if below is not None:
        below.set_xlim(axes.get_xlim())
        axes.tick_params(labelbottom=False)
        below.axhline(0.0, color="#888888", linewidth=0.7)
        below.set_ylabel("Rise of the cap [mm]")
        below.grid(visible=True, color="#DDDDDD", linewidth=0.6)
