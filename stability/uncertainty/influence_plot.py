"""Draws what each input moves: one bar an input, widest on top."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipmargin.stability.uncertainty.field_words import field_words
from slipmargin.stability.uncertainty.influence import NOT_BOUNDED, Swing

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plot_swings"]

_MOST = 12


def plot_swings(panels: Sequence[tuple[str, float, float | None, Sequence[Swing]]]) -> Figure:
    """Draw one panel a check: label, its factor, its target, its swings.

    The end of a bar that the low value gives is hatched, so that the sense of the influence
    is seen without colour.
    """
    from slipmargin.strength.drawn import DrawnFigure

    bounded = [sum(swing.bounded for swing in swings) for *_, swings in panels]
    heights = [1.0 + 0.34 * min(count, _MOST) for count in bounded]
    figure = DrawnFigure(figsize=(8.6, sum(heights)), layout="constrained")
    grid = figure.subplots(len(panels), 1, height_ratios=heights, squeeze=False)
    for axes, (label, base, target, swings) in zip(grid[:, 0], panels, strict=True):
        shown = [swing for swing in swings if swing.bounded][:_MOST]
        for index, swing in enumerate(shown):
            place = len(shown) - 1 - index
            for factor, hatch in ((swing.at_low, "////"), (swing.at_high, "")):
                axes.barh(
                    place,
                    factor - base,
                    left=base,
                    height=0.62,
                    color="#d7e2ea" if hatch else "#5b7a94",
                    edgecolor="#1b3a57",
                    linewidth=0.8,
                    hatch=hatch,
                )
        axes.axvline(base, color="black", linewidth=1.0)
        axes.axvline(1.0, color="black", linewidth=1.0, linestyle=":")
        if target is not None:
            axes.axvline(target, color="#b3541e", linewidth=1.2, linestyle="--")
        shorter = [field_words(swing.name, label=label) for swing in shown]
        names = [name if len(name) <= 40 else "…" + name[-39:] for name in shorter]
        axes.set_yticks(
            range(len(shown) - 1, -1, -1), [n.replace("$", r"\$") for n in names], fontsize=8
        )
        title = label if len(label) <= 70 else label[:69] + "…"
        if unbounded := [swing.name for swing in swings if not swing.bounded]:
            title = f"{title}; {NOT_BOUNDED}: {', '.join(unbounded)}"
        axes.set_title(title.replace("$", r"\$"), loc="left", fontsize=10)
        axes.spines[["top", "right"]].set_visible(False)
    grid[-1, 0].set_xlabel("lowest factor (hatched: at the low value; dashed: target; dotted: 1)")
    return figure
