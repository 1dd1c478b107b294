"""Draws factors of safety against a swept input."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.drawing.frame import INKS, alike, area, framed, heading, line, scales
from slipmargin.strength.drawing.labels import (
    Label,
    Stroke,
    on_line,
    place_labels,
    written,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Curve", "Panel", "SweepPanel", "plot_curves", "plot_lines"]

Panel = tuple[str, tuple[str, str], tuple[str, str], tuple[Any, Any], Mapping[str, Any], Any]
"""Label, fields, units, values and grids of a check over two inputs, and the grid of its lowest
factor over its target; ``None`` without a target."""

_TOP = 3.2  # what lies far above any target only flattens the rest
_LIMITS = "#c9d8e6"
_STYLES = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)))


@dataclass(frozen=True, slots=True)
class Curve:
    """One factor over the swept values.

    ``tied`` holds values within the limits of a fit and the factor there with the other half of
    the strength moving along, if one does; ``ink`` is the place of the colour of its check.
    """

    label: str
    limit_state: str
    factors: Any
    target: float | None
    tied: Any = None
    ink: int = 0

    @property
    def name(self) -> str:
        """What stands on it."""
        return f"{self.label}: {self.limit_state}" if self.limit_state else self.label


@dataclass(frozen=True, slots=True)
class SweepPanel:
    """One sweep: the input in words, its unit and values, and the curves.

    ``as_used`` is the value in use and ``limits`` those of its fit, if it has any;
    ``moves_along`` names the half of the strength that the tied curves move.
    """

    vary: str
    unit: str
    values: Any
    curves: Sequence[Curve]
    as_used: float | None = None
    limits: tuple[float, float] | None = None
    moves_along: str = ""


def plot_curves(panels: Sequence[SweepPanel]) -> Figure:
    """Draw one panel a sweep.

    A grey field marks factors below 1, a band the limits of the input, and an upright line
    its value in use; targets are thin lines. A check has one ink, its limit states differ by
    line style, and the name of each curve stands on it; a thin line beside it is its factor
    with the other half of the strength moving along.
    """
    every = framed(9.6, [3.2] * len(panels))
    for axes, panel in zip(every, panels, strict=True):
        values = panel.values
        finite = [np.where(np.isfinite(c.factors), c.factors, np.nan) for c in panel.curves]
        reached = [float(np.nanmax(f)) for f in finite if np.any(np.isfinite(f))]
        top = max(min(1.08 * max(reached, default=1.0), _TOP), 1.5)
        axes.set_xlim(values[0], values[-1])
        axes.set_ylim(0.0, top)
        name = f"{panel.vary} [{panel.unit}]" if panel.unit else panel.vary
        if panel.moves_along:
            name += f"; thin lines: {panel.moves_along} moves along as the tests tie the two"
        scales(axes, written(name, 110), "factor of safety")
        area(axes, _band(values[[0, -1]], (0.0, 1.0)), facecolor="#d9d9d9", zorder=0)
        labels, strokes = _mark_input(axes, panel)
        drawn: dict[int, Any] = {}
        above: list[str] = []
        used: Counter[int] = Counter()
        for curve, factors in zip(panel.curves, finite, strict=True):
            if not np.any(factors <= top):
                above.append(written(curve.name, 60))
                continue
            same = next((k for k, one in drawn.items() if alike(one, factors)), None)
            if same is not None:
                text = f"{labels[same].text} = {written(curve.name)}"
                labels[same] = replace(labels[same], text=text)
                continue
            ink = INKS[curve.ink % len(INKS)]
            style = _STYLES[used[curve.ink] % len(_STYLES)]
            used[curve.ink] += 1
            line(axes, values, factors, color=ink, linestyle=style, linewidth=1.8)
            path = np.column_stack((values, factors))[np.isfinite(factors)]
            strokes.append(Stroke(path))
            drawn[len(labels)] = factors
            labels.append(on_line(axes, written(curve.name, 60), [path], ink))
            if curve.tied is not None:
                line(axes, *curve.tied, color=ink, linestyle=style, linewidth=0.8)
                strokes.append(Stroke(np.column_stack(curve.tied)))
        for target in sorted({c.target for c in panel.curves if c.target is not None}):
            path = np.column_stack((values, np.full(values.size, target)))
            line(axes, *path.T, color="#222222", linewidth=0.8, linestyle=(0, (2, 2)))
            labels.append(on_line(axes, f"target {target:g}", [path], "#222222"))
        corner = (float(values[-1]), 1.0)
        labels.append(Label("below 1: does not stand", corner, towards=235.0, leader=False))
        if above:
            words = f"above the picture: {', '.join(above)}"
            middle = (0.5 * float(values[0] + values[-1]), top)
            labels.append(Label(words, middle, towards=-90.0, leader=False))
        place_labels(axes, labels, strokes)
    return every[0].figure  # type: ignore[return-value]


def _mark_input(axes: Axes, panel: SweepPanel) -> tuple[list[Label], list[Stroke]]:
    """The value in use and the limits of its fit, as far as the sweep holds them."""
    low, high = float(panel.values[0]), float(panel.values[-1])
    labels: list[Label] = []
    strokes: list[Stroke] = []
    if panel.limits is not None and panel.limits[0] < high and panel.limits[1] > low:
        ends = np.clip(panel.limits, low, high)
        band = _band(ends, axes.get_ylim())
        area(axes, band, facecolor=_LIMITS, alpha=0.5, zorder=0.1)
        labels.append(Label("limits of the fit", (float(ends[1]), 0.0), towards=20.0, leader=False))
    if panel.as_used is not None and low <= panel.as_used <= high:
        upright = np.array([[panel.as_used, 0.0], [panel.as_used, axes.get_ylim()[1]]])
        line(axes, *upright.T, color="#222222", linewidth=1.0)
        strokes.append(Stroke(upright))
        words = f"as used: {panel.as_used:.4g}"
        labels.append(Label(words, (panel.as_used, 0.0), towards=160.0, leader=False))
    return labels, strokes


def _band(across: Any, up: Any) -> list[tuple[float, float]]:
    (left, right), (low, high) = across, up
    return [(left, low), (right, low), (right, high), (left, high)]


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
        scales(axes, written(names[0], 80), written(names[1], 80))
        heading(axes, [(written(label, 70), 10.0)])
    return every[0].figure  # type: ignore[return-value]
