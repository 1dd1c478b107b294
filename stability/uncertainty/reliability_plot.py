"""Draws how far each factor of safety spreads under the doubts that were sampled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slipmargin.stability.drawing.frame import framed
from slipmargin.stability.drawing.labels import written
from slipmargin.stability.factor_text import factor_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["FactorRange", "plot_ranges"]

_FAR, _WELL_ABOVE = 6.0, 1.5


@dataclass(frozen=True, slots=True)
class FactorRange:
    """Percentiles of one factor, its probability of lying below 1, its target, and the factor
    of the values as used.
    """

    label: str
    percentiles: Mapping[str, float]
    probability_below_one: float
    target: float | None
    used: float


def plot_ranges(rows: Sequence[FactorRange]) -> Figure:
    """Draw one bar a factor: 5 to 95 % thin, 25 to 75 % thick, the median a tick."""
    from slipmargin.stability.drawing.lettering import setting

    names = [written(row.label, 60) for row in reversed(rows)]
    wide = max(setting(name, 9.0).width for name in names) / 72.0
    height = 0.3 + 0.5 * len(rows)
    (axes,) = framed(8.6, [height], left=0.25 + wide, right=1.25, below=0.85, above=0.1)
    left, right = _reach(rows)
    axes.axvspan(min(left, 0.0), 1.0, color="#d9d9d9", zorder=0)
    for index, row in enumerate(rows):
        place = len(rows) - 1 - index
        p = {level: min(value, 2.0 * _FAR) for level, value in row.percentiles.items()}
        axes.plot([p["5"], p["95"]], [place, place], color="#1b3a57", linewidth=2)
        axes.plot(
            [p["25"], p["75"]], [place, place], color="#1b3a57", linewidth=9, solid_capstyle="butt"
        )
        axes.plot(p["50"], place, marker="|", color="white", markersize=11, markeredgewidth=1.5)
        axes.plot(row.used, place + 0.24, marker="v", color="black", markersize=5, linestyle="none")
        if p["50"] > right:
            asked = "" if row.target is None else f", target {factor_text(row.target)}"
            axes.annotate(
                f"median {factor_text(row.percentiles['50'])}{asked} →",
                (right, place),
                xytext=(-4, 0),
                textcoords="offset points",
                ha="right",
                va="center",
                fontsize=8,
            )
        if row.target is not None and row.target <= right:
            axes.plot(row.target, place, marker="d", color="#b3541e", markersize=8)
        axes.annotate(
            f"P(F < 1) = {row.probability_below_one:.2g}"
            if row.probability_below_one > 0.0
            else "F < 1: in no sample",
            (1.0, place),
            xycoords=("axes fraction", "data"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
        )
    axes.set_yticks(range(len(rows)), names, fontsize=9)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(left, right)
    axes.set_xlabel(
        "factor of safety\n5 to 95 % thin, 25 to 75 % thick, white the median\n"
        "triangle: as used; diamond: target"
    )
    return axes.figure  # type: ignore[return-value]


def _reach(rows: Sequence[FactorRange]) -> tuple[float, float]:
    """Ends of the axis: what is drawn of the factors near what is asked, 1, and a little beside.

    A factor far above what is asked would press the others together.
    """
    ends = [1.0]
    for row in [one for one in rows if not _far(one)] or rows:
        ends += [row.percentiles["5"], row.percentiles["95"], row.used]
        ends += [] if row.target is None else [row.target]
    low, high = min(ends), min(max(ends), _FAR)
    room = 0.06 * (high - low) or 0.1
    return max(low - room, 0.0), high + room


def _far(row: FactorRange) -> bool:
    return row.percentiles["5"] > _WELL_ABOVE * (1.5 if row.target is None else row.target)
