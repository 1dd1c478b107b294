"""The figure of a diagram: panels one below the other, sized in inches, open above and right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["INKS", "alike", "framed"]

INKS = ("#1b3a57", "#b3541e", "#3f7d58", "#7a4b8c", "#8a6d00", "#4d4d4d")
"""Colours of lines, one a check."""


def framed(
    width: float,
    heights: Sequence[float],
    *,
    left: float = 0.75,
    right: float = 0.2,
    below: float = 0.55,
    above: float = 0.25,
) -> list[Axes]:
    """Axes on a figure of their own.

    Parameters
    ----------
    width
        Of the figure [in].
    heights
        Of the axes, from the top down [in].
    left, right, below, above
        Paper about each of them [in].
    """
    from slipmargin.strength.drawn import DrawnFigure

    total = sum(heights) + len(heights) * (below + above)
    figure = DrawnFigure(figsize=(width, total))
    found, top = [], total
    for height in heights:
        top -= above + height
        place = (left / width, top / total, (width - left - right) / width, height / total)
        axes = figure.add_axes(place)
        axes.spines[["top", "right"]].set_visible(False)
        found.append(axes)
        top -= below
    return found


def alike(one: Any, other: Any) -> bool:
    """Whether two curves, or grids, give lines that no eye could tell apart."""
    apart = np.abs(one - other) / (1.0 + np.abs(other))
    return bool(np.nanmax(apart, initial=0.0) < 1e-6)
