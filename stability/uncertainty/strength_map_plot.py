"""Draws the strength map: the uncertainty of the laboratory line under the lines of the factors.

Across stands the friction angle, up stands the cohesion. The joint region of the fit is the
blue shape. Where every target is met the ground of the map is green, where some factor is below
1 it is grey, and both say so. Each check draws the line on which it just meets what is asked of
it: heavy where that line decides, thin where another check asks for more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.drawing.frame import INKS, alike, area, framed, heading, line, scales
from slipmargin.strength.drawing.labels import (
    Label,
    Stroke,
    inside,
    on_line,
    place_labels,
    written,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MapLayer", "plot_map"]

Floats = NDArray[np.float64]

_MET, _FALLEN, _REGION = "#e4f0e2", "#e6e6e6", ("#8fb0ca", "#cfdfea")
_MARKERS = ("o", "s", "^", "D", "v", "P", "X")
_SEEN = 0.005
"""A smaller share of the map is not worth a name."""


@dataclass(frozen=True, slots=True)
class MapLayer:
    """Lowest factor of one check over the grid, shape (cohesions, angles).

    ``margin`` is 1 where the check just meets what is asked of it and more where it has room,
    and ``asked`` is that in words; none without a target. ``ink`` is the place of its colour.
    """

    label: str
    lowest: Any
    margin: Any = None
    asked: str = ""
    ink: int = 0


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of the map, and the part of it on which it decides."""

    name: str
    ink: str
    paths: list[Floats]
    decides: list[NDArray[np.bool_]]


def plot_map(
    soil: str,
    cohesion: Any,
    friction_angle: Any,
    layers: Sequence[MapLayer],
    *,
    regions: Mapping[str, tuple[Any, Any]],
    points: Mapping[str, tuple[float, float]],
    failed: tuple[str, Any, Any] | None = None,
    below: str = "",
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
    below
        What stands below the title, such as a verdict.
    axes
        Where to draw, settled in its figure; a new figure without it.
    """
    if axes is None:
        (axes,) = framed(5.5, [4.0], above=0.75)
    axes.set_xlim(friction_angle[0], friction_angle[-1])
    axes.set_ylim(cohesion[0], cohesion[-1])
    scales(axes, "friction angle φ′ [deg]", "cohesion c′ [kPa]")
    strokes: list[Stroke] = []
    labels: list[Label] = []
    axis = np.asarray(friction_angle, dtype=float), np.asarray(cohesion, dtype=float)
    labels += _draw_grounds(axes, axis, layers)
    labels += _draw_regions(axes, regions, strokes)
    lines, everywhere = _lines(axes, axis, layers)
    labels += [_draw_line(axes, one, strokes) for one in lines]
    if failed is not None:
        label, c, phi = failed
        labels += _draw_failure(axes, label, np.column_stack((phi, c)), strokes)
    labels += _draw_points(axes, points, strokes)
    notes = [*below.splitlines(), *everywhere]
    heading(axes, [(f"Strength map of {written(soil)}", 11.0), *((one, 8.0) for one in notes)])
    place_labels(axes, labels, strokes)
    drawn: Figure = axes.figure  # type: ignore[assignment]
    return drawn


def _finite(grid: Any) -> Floats:
    """A grid in which no resistance is nothing, and what the theory refuses meets nothing."""
    found: Floats = np.nan_to_num(np.asarray(grid, dtype=float), nan=0.0, posinf=1e6)
    return found


def _least(grids: Sequence[Any]) -> Floats | None:
    found: Floats | None = np.min([_finite(one) for one in grids], axis=0) if grids else None
    return found


def _draw_grounds(
    axes: Axes, axis: tuple[Floats, Floats], layers: Sequence[MapLayer]
) -> list[Label]:
    """Shade where every target is met, and where some factor is below 1."""
    margin = _least([one.margin for one in layers if one.margin is not None])
    lowest = _least([one.lowest for one in layers])
    labels = []
    for grid, over, ink, words in (
        (lowest, False, _FALLEN, "a factor is below 1"),
        (margin, True, _MET, "every target is met"),
    ):
        if grid is None:
            continue
        held = grid >= 1.0 if over else grid < 1.0
        if np.mean(held) < _SEEN:
            continue
        levels = [1.0, np.inf] if over else [-np.inf, 1.0]
        axes.contourf(*axis, grid, levels, colors=[ink], zorder=0)
        spot = _deepest(axis, held)
        labels.append(Label(words, spot, size=9.5, ink="#3c4a3c", spots=(spot,), leader=False))
    return labels


def _deepest(axis: tuple[Floats, Floats], inside: NDArray[np.bool_]) -> tuple[float, float]:
    """The place in an area that is farthest from its edge."""
    edge = np.pad(inside, 1)
    depth = np.zeros(inside.shape, dtype=int)
    while np.any(edge):
        depth += edge[1:-1, 1:-1]
        shrunk = edge.copy()
        shrunk[1:-1, 1:-1] &= edge[:-2, 1:-1] & edge[2:, 1:-1] & edge[1:-1, :-2] & edge[1:-1, 2:]
        edge = shrunk
    i, j = np.unravel_index(int(np.argmax(depth)), depth.shape)
    return float(axis[0][j]), float(axis[1][i])


def _draw_regions(
    axes: Axes, regions: Mapping[str, tuple[Any, Any]], strokes: list[Stroke]
) -> list[Label]:
    labels = []
    for index, (level, (c, phi)) in reversed(list(enumerate(regions.items()))):
        if not c.size:
            continue
        shade, path = _REGION[index % 2], np.column_stack((phi, c))
        if c.size == 2:
            wide = 10 - 4 * index
            line(axes, phi, c, color=shade, linewidth=wide, solid_capstyle="butt", clip_on=False)
        else:
            area(axes, path, facecolor=shade, edgecolor="#5b7a94", linewidth=0.8)
        strokes.append(Stroke(path))
        words = f"{level} joint region" if index else level
        labels.append(on_line(axes, words, [path], "#3d5a73"))
    return labels


def _lines(
    axes: Axes, axis: tuple[Floats, Floats], layers: Sequence[MapLayer]
) -> tuple[list[_Line], list[str]]:
    """The lines on which checks just meet what is asked, those that are one drawn once; and
    what is met, or missed, all over the map.
    """
    groups: list[tuple[list[MapLayer], Floats, str]] = []
    for one in (layer for layer in layers if layer.margin is not None):
        margin = _finite(one.margin)
        same = next((group for group in groups if alike(group[1], margin)), None)
        if same is None:
            groups.append(([one], margin, INKS[one.ink % len(INKS)]))
        else:
            same[0].append(one)
    lines, notes = [], []
    for group, margin, ink in groups:
        name = " = ".join(written(one.label, 30) for one in group) + f": {group[0].asked}"
        if margin.min() > 1.0 or margin.max() < 1.0:
            notes.append(f"{'met' if margin.min() > 1.0 else 'missed'} all over this map: {name}")
            continue
        others = _least([grid for _, grid, _ in groups if grid is not margin])
        paths = _contour(axes, axis, margin)
        decides = [
            np.ones(len(path), dtype=bool)
            if others is None
            else _at(axis, others, path) >= 1.0 - 1e-9
            for path in paths
        ]
        lines.append(_Line(name, ink, paths, decides))
    return lines, notes


def _contour(axes: Axes, axis: tuple[Floats, Floats], grid: Floats) -> list[Floats]:
    """Where a grid is 1, as lines of points (angle, cohesion)."""
    found = axes.contour(*axis, grid, [1.0])
    found.remove()
    return [np.asarray(path, dtype=float) for path in found.allsegs[0]]


def _at(axis: tuple[Floats, Floats], grid: Floats, path: Floats) -> Floats:
    """A grid between its nodes, along a path."""
    (i, right), (j, high) = (_cell(nodes, at) for nodes, at in zip(axis, path.T, strict=True))
    left, low = 1.0 - right, 1.0 - high
    found: Floats = low * (left * grid[j, i] + right * grid[j, i + 1])
    found += high * (left * grid[j + 1, i] + right * grid[j + 1, i + 1])
    return found


def _cell(nodes: Floats, at: Floats) -> tuple[NDArray[np.intp], Floats]:
    """The node before each place, and how far it is to the next one, as a share."""
    before = np.clip(np.searchsorted(nodes, at) - 1, 0, nodes.size - 2)
    return before, np.clip((at - nodes[before]) / (nodes[before + 1] - nodes[before]), 0.0, 1.0)


def _draw_line(axes: Axes, one: _Line, strokes: list[Stroke]) -> Label:
    for path, decides in zip(one.paths, one.decides, strict=True):
        line(axes, *path.T, color=one.ink, linewidth=0.9)
        heavy = np.where(decides[:, None], path, np.nan)
        line(axes, *heavy.T, color=one.ink, linewidth=2.6, solid_capstyle="round")
        strokes.append(Stroke(path))
    decided = [path[mask] for path, mask in zip(one.paths, one.decides, strict=True)]
    places = [path for path in decided if len(path)] or one.paths
    return on_line(axes, one.name, places, one.ink)


def _draw_failure(axes: Axes, label: str, path: Floats, strokes: list[Stroke]) -> list[Label]:
    shown = path[inside(axes, path)]
    if not len(shown):
        return []
    line(axes, *shown.T, color="black", linewidth=3.4, alpha=0.4)
    strokes.append(Stroke(shown, 1.0))
    return [on_line(axes, f"explains the failure of {written(label, 30)}", [shown], "black")]


def _draw_points(
    axes: Axes, points: Mapping[str, tuple[float, float]], strokes: list[Stroke]
) -> list[Label]:
    """Known pairs; those that are one share a marker and a label."""
    named: dict[tuple[float, float], list[str]] = {}
    for name, (c, phi) in points.items():
        named.setdefault((round(phi, 6), round(c, 6)), []).append(name)
    labels = []
    for index, (at, names) in enumerate(named.items()):
        line(
            axes,
            *np.array([at]).T,
            marker=_MARKERS[index % len(_MARKERS)],
            markersize=9 if "as used" in names else 6,
            markerfacecolor="white" if index % 2 else "black",
            markeredgecolor="black",
            linestyle="none",
            clip_on=False,
            zorder=6 - 0.1 * index,
        )
        strokes.append(Stroke([at, at], weight=30.0))
        labels.append(Label(written(", ".join(names)), at, towards=20.0, clear=3.0))
    return labels
