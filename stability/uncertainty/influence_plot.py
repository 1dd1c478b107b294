"""Draws what each input moves: one bar an input, widest on top."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipmargin.stability.drawing.frame import framed
from slipmargin.stability.drawing.labels import written
from slipmargin.stability.uncertainty.field_words import field_words
from slipmargin.stability.uncertainty.influence import NOT_BOUNDED, Swing

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plot_swings"]

_MOST, _LONGEST = 12, 40


def plot_swings(panels: Sequence[tuple[str, float, float | None, Sequence[Swing]]]) -> Figure:
    """Draw one panel a check: label, its factor, its target, its swings.

    The end of a bar that the low value gives is hatched, so that the sense of the influence
    is seen without colour.
    """
    from slipmargin.stability.drawing.lettering import setting

    shown = [[one for one in swings if one.bounded][:_MOST] for *_, swings in panels]
    names = [
        [_short(field_words(one.name, label=label)) for one in swings]
        for (label, *_), swings in zip(panels, shown, strict=True)
    ]
    widest = max((setting(name, 8.0).width for one in names for name in one), default=0.0)
    heights = [0.3 + 0.34 * len(swings) for swings in shown]
    every = framed(8.6, heights, left=0.25 + widest / 72.0, below=0.35, above=0.35)
    for axes, panel, swings, words in zip(every, panels, shown, names, strict=True):
        label, base, target, given = panel
        for place, swing in enumerate(reversed(swings)):
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
        axes.set_yticks(range(len(swings)), words[::-1], fontsize=8)
        title = written(label, 70)
        if unbounded := [one.name for one in given if not one.bounded]:
            title = f"{title}; {NOT_BOUNDED}: {written(', '.join(unbounded), 200)}"
        axes.set_title(title, loc="left", fontsize=10)
    every[-1].set_xlabel("lowest factor (hatched: at the low value; dashed: target; dotted: 1)")
    return every[0].figure  # type: ignore[return-value]


def _short(name: str) -> str:
    """The end of a name, which tells it from others."""
    return written(name if len(name) <= _LONGEST else "…" + name[1 - _LONGEST :])
