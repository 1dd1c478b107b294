"""Draws factors of safety against a swept input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Curve", "Panel", "plot_curves", "plot_lines"]

Panel = tuple[str, tuple[str, str], tuple[str, str], tuple[Any, Any], Mapping[str, Any], Any]
"""Label, fields, units, values and grids of a check over two inputs, and the grid of its lowest
factor over its target; ``None`` without a target."""

_TOP = 3.2  # what lies far above any target only flattens the rest
_INKS = ("#1b3a57", "#b3541e", "#3f7d58", "#7a4b8c", "#8a6d00", "#4d4d4d")
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
    style as well as by ink and is named at its end.
    """
    from slipmargin.strength.drawn import DrawnFigure

    figure = DrawnFigure(figsize=(9.6, 4.4 * len(panels)), layout="constrained")
    for index, (vary, unit, values, curves) in enumerate(panels):
        axes = figure.add_subplot(len(panels), 1, index + 1)
        finite = [np.where(np.isfinite(c.factors), c.factors, np.nan) for c in curves]
        reached = [float(np.nanmax(f)) for f in finite if np.any(np.isfinite(f))]
        top = max(min(1.08 * max(reached, default=1.0), _TOP), 1.5)
        for number, (curve, factors) in enumerate(zip(curves, finite, strict=True)):
            name = f"{curve.label}: {curve.limit_state}" if curve.limit_state else curve.label
            name = name[:60]
            if not np.any(factors <= top):
                name += " (above the picture)"
            axes.plot(
                values,
                factors,
                color=_INKS[number % len(_INKS)],
                linestyle=_STYLES[number % len(_STYLES)],
                linewidth=1.8,
                label=name.replace("$", r"\$"),
            )
        for target in sorted({c.target for c in curves if c.target is not None}):
            axes.axhline(target, color="#222222", linewidth=0.8, linestyle=(0, (2, 2)))
            axes.annotate(
                f"target {target:g}",
                (values[0], target),
                xytext=(3, 2),
                textcoords="offset points",
                fontsize=8,
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
            )
        axes.axhspan(0.0, 1.0, color="#d9d9d9", zorder=0)
        axes.annotate(
            "below 1: does not stand",
            (values[-1], 1.0),
            xytext=(-3, -3),
            textcoords="offset points",
            ha="right",
            va="top",
            fontsize=8,
        )
        axes.set_ylim(0.0, top)
        axes.set_xlim(values[0], values[-1])
        axes.set_xlabel((f"{vary} [{unit}]" if unit else vary).replace("$", r"\$"))
        axes.set_ylabel("factor of safety")
        axes.legend(frameon=False, fontsize=8, loc="upper left", bbox_to_anchor=(1.0, 1.0))
        axes.spines[["top", "right"]].set_visible(False)
    return figure


def plot_lines(panels: Sequence[Panel]) -> Figure:
    """Draw lines of equal lowest factor over two inputs, one panel a check.

    Heavy where the factor is 1, dashed where the last of the targets is met.
    """
    from matplotlib.ticker import MaxNLocator

    from slipmargin.strength.drawn import DrawnFigure

    figure = DrawnFigure(figsize=(7.0, 5.0 * len(panels)), layout="constrained")
    for index, (label, vary, units, values, grids, margin) in enumerate(panels):
        axes = figure.add_subplot(len(panels), 1, index + 1)
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
        axes.set_xlabel(names[0].replace("$", r"\$"))
        axes.set_ylabel(names[1].replace("$", r"\$"))
        title = label if len(label) <= 70 else label[:69] + "…"
        axes.set_title(title.replace("$", r"\$"), loc="left", fontsize=10)
        axes.spines[["top", "right"]].set_visible(False)
    return figure
