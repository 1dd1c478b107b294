"""Draws factors of safety against a swept input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.drawing.frame import INKS, alike, framed, scales
from slipmargin.stability.drawing.labels import (
    Label,
    Stroke,
    on_line,
    place_labels,
    stroke,
    written,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Curve", "Panel", "plot_curves", "plot_lines"]

Panel = tuple[str, tuple[str, str], tuple[str, str], tuple[Any, Any], Mapping[str, Any], Any]
"""Label, fields, units, values and grids of a check over two inputs, and the grid of its lowest
factor over its target; ``None`` without a target."""

_TOP = 3.2  # what lies far above any target only flattens the rest
_STYLES = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)))


@dataclass(frozen=True, slots=True)
class Curve:
    """One factor over the swept values."""

    label: str
    limit_state: str
    factors: Any
    target: float | None


def plot_curves(panels: Sequence[tuple[str, str, Any, Sequence[Curve]]]) -> Figure:
    """Draw one panel a sweep: name of the input, its unit, its values, and the curves.

    A grey field marks factors below 1; targets are thin lines. Each curve differs by line
    style as well as by ink, and its name stands on it.
    """
    every = framed(9.6, [3.6] * len(panels))
    for axes, (vary, unit, values, curves) in zip(every, panels, strict=True):
        finite = [np.where(np.isfinite(c.factors), c.factors, np.nan) for c in curves]
        reached = [float(np.nanmax(f)) for f in finite if np.any(np.isfinite(f))]
        top = max(min(1.08 * max(reached, default=1.0), _TOP), 1.5)
        axes.set_xlim(values[0], values[-1])
        axes.set_ylim(0.0, top)
        scales(axes, written(f"{vary} [{unit}]" if unit else vary, 80), "factor of safety")
        axes.axhspan(0.0, 1.0, color="#d9d9d9", zorder=0)
        labels: list[Label] = []
        strokes: list[Stroke] = []
        drawn: list[Any] = []
        above: list[str] = []
        for number, (curve, factors) in enumerate(zip(curves, finite, strict=True)):
            name = f"{curve.label}: {curve.limit_state}" if curve.limit_state else curve.label
            if not np.any(factors <= top):
                above.append(written(name, 60))
                continue
            same = next((k for k, one in enumerate(drawn) if alike(one, factors)), None)
            if same is not None:
                labels[same] = replace(labels[same], text=f"{labels[same].text} = {written(name)}")
                continue
            ink, style = INKS[number % len(INKS)], _STYLES[number % len(_STYLES)]
            axes.plot(values, factors, color=ink, linestyle=style, linewidth=1.8)
            path = np.column_stack((values, factors))[np.isfinite(factors)]
            strokes.append(stroke(path))
            labels.append(on_line(axes, written(name, 60), [path], ink))
            drawn.append(factors)
        for target in sorted({c.target for c in curves if c.target is not None}):
            axes.axhline(target, color="#222222", linewidth=0.8, linestyle=(0, (2, 2)))
            path = np.column_stack((values, np.full(values.size, target)))
            labels.insert(0, on_line(axes, f"target {target:g}", [path], "#222222"))
        corner = (float(values[-1]), 1.0)
        labels.append(Label("below 1: does not stand", corner, towards=235.0, leader=False))
        if above:
            words = f"above the picture: {', '.join(above)}"
            middle = (0.5 * float(values[0] + values[-1]), top)
            labels.append(Label(words, middle, towards=-90.0, leader=False))
        place_labels(axes, labels, strokes)
    return every[0].figure  # type: ignore[return-value]


def plot_lines(panels: Sequence[Panel]) -> Figure:
    """Draw lines of equal lowest factor over two inputs, one panel a check.

    Heavy where the factor is 1, dashed where the last of the targets is met.
    """
    from matplotlib.ticker import MaxNLocator

    every = framed(7.0, [4.1] * len(panels), above=0.35)
    for axes, (label, vary, units, values, grids, margin) in zip(every, panels, strict=True):
        lowest = np.min(np.stack(list(grids.values())), axis=0)
        shown = np.ma.masked_invalid(np.where(np.isinf(lowest), np.nan, lowest)).T
        ticks = np.setdiff1d(MaxNLocator(12).tick_values(shown.min(), shown.max()), [1.0])
        thin = axes.contour(*values, shown, levels=ticks, colors="#5b7a94", linewidths=0.7)
        axes.clabel(thin, fontsize=7, fmt="%.2f")
        lines = [(shown, "-", 2.4, "F = 1")]
        if margin is not None:
            share = np.where(np.isfinite(margin), margin, np.nan)
            lines.append((np.ma.masked_invalid(share).T, "--", 1.8, "target"))
        for over, style, width, words in lines:
            if over.min() < 1.0 < over.max():
                line = axes.contour(
                    *values, over, levels=[1.0], colors="black", linestyles=style,
                    linewidths=width,
                )  # fmt: skip
                axes.clabel(line, fontsize=9, fmt=words)
        names = [f"{v} [{u}]" if u else v for v, u in zip(vary, units, strict=True)]
        axes.set_xlabel(written(names[0], 80))
        axes.set_ylabel(written(names[1], 80))
        axes.set_title(written(label, 70), loc="left", fontsize=10)
    return every[0].figure  # type: ignore[return-value]
