"""Draws how far each factor of safety spreads under the doubts that were sampled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slipmargin.stability.factor_text import factor_text
from slipmargin.strength.drawing.frame import area, framed, line, room, scales, script
from slipmargin.strength.drawing.labels import written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["FactorRange", "plot_ranges"]

_FAR, _WELL_ABOVE = 6.0, 1.5
_INK = "#1b3a57"


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
    from slipmargin.strength.drawing.lettering import setting

    names = [written(row.label, 60) for row in reversed(rows)]
    widest = max(setting(name, 9.0).width for name in names) / 72.0
    height = 0.3 + 0.5 * len(rows)
    (axes,) = framed(8.6, [height], left=0.25 + widest, right=1.25, below=0.85, above=0.1)
    left, right = _reach(rows)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(left, right)
    across = (
        "factor of safety\n5 to 95 % thin, 25 to 75 % thick, white the median\n"
        "triangle: as used; diamond: target"
    )
    scales(axes, across, "", rows=names)
    bottom, top = axes.get_ylim()
    fallen = [(min(left, 0.0), bottom), (1.0, bottom), (1.0, top), (min(left, 0.0), top)]
    area(axes, fallen, facecolor="#d9d9d9", zorder=0)
    wide, high = room(axes)
    words = []
    for place, row in enumerate(reversed(rows)):
        p = {level: min(value, 2.0 * _FAR) for level, value in row.percentiles.items()}
        for first, last, thick in (("5", "95", 2.0), ("25", "75", 9.0)):
            ends = [p[first], p[last]]
            line(axes, ends, [place] * 2, color=_INK, linewidth=thick, solid_capstyle="butt")
        for x, y, marker, size, ink in (
            (p["50"], place, "|", 11.0, "white"),
            (row.used, place + 0.24, "v", 5.0, "black"),
            (row.target, place, "d", 8.0, "#b3541e"),
        ):
            if x is not None and x <= right:
                line(axes, [x], [y], marker=marker, color=ink, markersize=size, zorder=2.1,
                     markeredgewidth=1.5 if marker == "|" else 1.0)  # fmt: skip
        up = (place + 0.6) / (top - bottom) * high
        if p["50"] > right:
            asked = "" if row.target is None else f", target {factor_text(row.target)}"
            said = f"median {factor_text(row.percentiles['50'])}{asked} →"
            words.append((said, wide - 4.0, up, 1.0, 0.5))
        chance = f"P(F < 1) = {row.probability_below_one:.2g}"
        said = chance if row.probability_below_one > 0.0 else "F < 1: in no sample"
        words.append((said, wide + 4.0, up, 0.0, 0.5))
    script(axes, words)
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
    beside = 0.06 * (high - low) or 0.1
    return max(low - beside, 0.0), high + beside


def _far(row: FactorRange) -> bool:
    return row.percentiles["5"] > _WELL_ABOVE * (1.5 if row.target is None else row.target)
