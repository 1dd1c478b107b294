"""Draws the strength map: the doubt of the laboratory line under the lines of the factors.

Across stands the friction angle, up stands the cohesion. The joint region of the fit is the
shaded shape; every check draws the line on which its factor is 1 (solid) and the one on
which it meets its target (dashed). Below and left of a solid line the check does not stand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MapLayer", "plot_map"]

_INKS = ("#1b3a57", "#b3541e", "#3f7d58", "#7a4b8c", "#8a6d00", "#4d4d4d")
_LONGEST = 46
_MARKERS = ("o", "s", "^", "D", "v", "P", "X")


@dataclass(frozen=True, slots=True)
class MapLayer:
    """Lowest factor of one check over the grid, shape (cohesions, angles).

    ``margin`` is the lowest factor over its target, and ``asked`` the targets in words; none
    without a target.
    """

    label: str
    lowest: Any
    margin: Any = None
    asked: str = ""


def plot_map(
    soil: str,
    cohesion: Any,
    friction_angle: Any,
    layers: Sequence[MapLayer],
    *,
    regions: Mapping[str, tuple[Any, Any]],
    points: Mapping[str, tuple[float, float]],
    failed: tuple[str, Any, Any] | None = None,
    axes: Axes | None = None,
) -> Figure:
    """Draw the map of one soil.

    Parameters
    ----------
    soil
        Its name.
    cohesion, friction_angle
        Axes of the grid [kPa] and [deg].
    layers
        One a check.
    regions
        Outlines of the joint region (cohesion, angle), by confidence, widest last.
    points
        Known pairs (cohesion, angle).
    failed
        Label, cohesions and angles of the pairs that explain a failure.
    axes
        Where to draw; a new figure without it.
    """
    from matplotlib.figure import Figure

    if axes is None:
        figure = Figure(figsize=(8.6, 6.2), layout="constrained")
        axes = figure.add_subplot()
    handles: list[Any] = []
    _draw_regions(axes, regions, handles)
    for index, layer in enumerate(layers):
        _draw_layer(axes, cohesion, friction_angle, layer, _INKS[index % len(_INKS)], handles)
    if failed is not None:
        label, c, phi = failed
        inside = (c <= cohesion[-1]) & (phi >= friction_angle[0]) & (phi <= friction_angle[-1])
        (line,) = axes.plot(
            phi[inside],
            c[inside],
            color="black",
            linewidth=3.2,
            alpha=0.35,
            label=_plain(f"explains the failure of {label}"),
        )
        handles.append(line)
    for index, (name, (c, phi)) in enumerate(points.items()):
        (marker,) = axes.plot(
            phi,
            c,
            marker=_MARKERS[index % len(_MARKERS)],
            markersize=9 if name == "as used" else 6,
            markerfacecolor="white" if index % 2 else "black",
            markeredgecolor="black",
            linestyle="none",
            clip_on=False,
            zorder=6 - 0.1 * index,
            label=_plain(name),
        )
        handles.append(marker)
    axes.set_xlim(friction_angle[0], friction_angle[-1])
    axes.set_ylim(cohesion[0], cohesion[-1])
    axes.set_xlabel("friction angle φ′ [deg]")
    axes.set_ylabel("cohesion c′ [kPa]")
    axes.set_title(_plain(f"Strength map of {soil}"), loc="left", fontsize=11)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(
        handles=handles, fontsize=8, frameon=False, loc="upper left", bbox_to_anchor=(1.0, 1.0)
    )
    drawn: Figure = axes.figure  # type: ignore[assignment]
    return drawn


def _plain(text: str) -> str:
    """Text that is not taken for mathematics."""
    return _short(text).replace("$", r"\$")


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _draw_regions(axes: Axes, regions: Mapping[str, tuple[Any, Any]], handles: list[Any]) -> None:
    shades = ("#9fb8cc", "#d7e2ea")
    for index, (level, (c, phi)) in reversed(list(enumerate(regions.items()))):
        if not c.size:
            continue
        label = f"joint region, {level}"
        if c.size == 2:
            (line,) = axes.plot(
                phi,
                c,
                color=shades[index % 2],
                linewidth=10 - 4 * index,
                solid_capstyle="butt",
                label=label,
                clip_on=False,
            )
            handles.append(line)
        else:
            (patch,) = axes.fill(
                phi, c, facecolor=shades[index % 2], edgecolor="#5b7a94", linewidth=0.8, label=label
            )
            handles.append(patch)


def _draw_layer(
    axes: Axes, cohesion: Any, friction_angle: Any, layer: MapLayer, ink: str, handles: list[Any]
) -> None:
    from matplotlib.lines import Line2D

    lines: list[tuple[Any, str, Any, float]] = [(layer.lowest, "F = 1", "-", 1.8)]
    if layer.margin is not None:
        lines.append((layer.margin, layer.asked, "--", 1.4))
    for shares, words, style, width in lines:
        name = f"{_short(layer.label)}: {words}"
        grid = np.ma.masked_invalid(np.where(np.isinf(shares), 1e6, shares))
        if grid.min() <= 1.0 <= grid.max():
            axes.contour(
                friction_angle,
                cohesion,
                grid,
                [1.0],
                colors=[ink],
                linestyles=[style],
                linewidths=[width],
            )
        else:
            name += " (everywhere above)" if grid.min() > 1.0 else " (everywhere below)"
        handles.append(
            Line2D(
                [], [], color=ink, linestyle=style, linewidth=width, label=name.replace("$", r"\$")
            )
        )
