"""Draws what each input moves: one bar an input, widest on top."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipmargin.stability.uncertainty.field_words import field_words
from slipmargin.stability.uncertainty.influence import NOT_BOUNDED, Swing
from slipmargin.strength.drawing.frame import area, framed, heading, line, scales
from slipmargin.strength.drawing.labels import written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plot_swings"]

_MOST, _LONGEST = 12, 40


def plot_swings(panels: Sequence[tuple[str, float, float | None, Sequence[Swing]]]) -> Figure:
    """Draw one panel a check: label, its factor, its target, its swings.

    The end of a bar that the low value gives is hatched, so that the sense of the influence
    is seen without colour.
    """
    from slipmargin.strength.drawing.lettering import setting

    shown = [[one for one in swings if one.bounded][:_MOST] for *_, swings in panels]
    names = [
        [_short(field_words(one.name, label=label)) for one in swings]
        for (label, *_), swings in zip(panels, shown, strict=True)
    ]
    widest = max((setting(name, 9.0).width for one in names for name in one), default=0.0)
    heights = [0.3 + 0.34 * len(swings) for swings in shown]
    every = framed(8.6, heights, left=0.25 + widest / 72.0, below=0.35, above=0.35)
    for axes, panel, swings, words in zip(every, panels, shown, names, strict=True):
        label, base, target, given = panel
        ends = [base, 1.0, *([] if target is None else [target])]
        ends += [float(end) for one in swings for end in (one.at_low, one.at_high)]
        room = 0.05 * (max(ends) - min(ends)) or 0.1
        axes.set_xlim(min(ends) - room, max(ends) + room)
        axes.set_ylim(-0.65, len(swings) - 0.35)
        for place, swing in enumerate(reversed(swings)):
            for factor, hatch in ((swing.at_low, "////"), (swing.at_high, "")):
                low, high = place - 0.31, place + 0.31
                bar = [(base, low), (factor, low), (factor, high), (base, high)]
                face = "#d7e2ea" if hatch else "#5b7a94"
                area(axes, bar, facecolor=face, edgecolor="#1b3a57", linewidth=0.8, hatch=hatch)
        for at, style, ink in (
            (base, "-", "black"),
            (1.0, ":", "black"),
            (target, "--", "#b3541e"),
        ):
            if at is not None:
                line(axes, [at, at], axes.get_ylim(), color=ink, linewidth=1.1, linestyle=style)
        title = written(label, 70)
        if unbounded := [one.name for one in given if not one.bounded]:
            title = f"{title}; {NOT_BOUNDED}: {written(', '.join(unbounded), 200)}"
        heading(axes, [(title, 10.0)])
        last = axes is every[-1]
        across = "lowest factor (hatched: at the low value; dashed: target; dotted: 1)"
        scales(axes, across if last else "", "", rows=words[::-1])
    return every[0].figure  # type: ignore[return-value]


def _short(name: str) -> str:
    """The end of a name, which tells it from others."""
    return written(name if len(name) <= _LONGEST else "…" + name[1 - _LONGEST :])
