"""Pressure against depth beside the back of a wall: of the soil, of loads on it, of water.

All diagrams of a wall have one scale. What stands in them is the pressure that the check
integrates, read at many depths and on both sides of every boundary.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.drawing.sheet import (
    EARTH,
    EARTH_FILL,
    INK,
    WATER,
    WATER_FILL,
    Sheet,
    pairs,
)
from slipmargin.stability.drawing.words import scalar, shown
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.profile import pressure_at
from slipmargin.stability.earth_pressure.wall_profile import WallProfile

__all__ = ["DIAGRAM_WIDTH", "PressureDiagram", "draw_diagrams", "pressure_diagrams"]

Floats = NDArray[np.float64]

DIAGRAM_WIDTH = 0.36
"""Width of the widest diagram, and"""
DIAGRAM_GAP = 0.25
"""the gap between diagrams, as shares of the height of the wall."""

_DEPTHS = 161


@dataclass(frozen=True, slots=True)
class PressureDiagram:
    """Pressure [kPa] against depth [m], and the depths at which it is written."""

    name: str
    title: str
    depth: Floats
    pressure: Floats
    look: dict[str, str]


def pressure_diagrams(check: EarthPressure, values: Any) -> list[PressureDiagram]:
    """The diagrams of a check, the soil's first; a trial wedge has none for the soil."""
    height = scalar("height", check.height)
    found = []
    if check.theory != "trial_wedge":
        depth, pressure = _earth(check, height)
        shaken = any(
            scalar("seismic_coefficient", one) != 0.0
            for one in (check.horizontal_seismic_coefficient, check.vertical_seismic_coefficient)
        )
        title = "soil, at rest" if check.theory == "at_rest" else f"soil, {check.side}"
        title += ",\nwithout shaking" if shaken else ""
        look = {"face": EARTH_FILL, "hatch": "///", "edge": EARTH}
        found.append(PressureDiagram("earth pressure", title, depth, pressure, look))
        if check.loads:
            depth = np.linspace(0.0, height, _DEPTHS)
            parts = [np.asarray(one.load_pressure(depth)) for one in check.loads]
            look = {"face": "white", "hatch": "++", "edge": INK}
            title = "strip and\nline loads"
            total = np.asarray(np.sum(parts, axis=0), dtype=float)
            found.append(PressureDiagram("load pressure", title, depth, total, look))
    depth, pressure = _water(check, values, height)
    if np.any(pressure > 0.0):
        look = {"face": WATER_FILL, "hatch": "---", "edge": WATER}
        found.append(PressureDiagram("water pressure", "water", depth, pressure, look))
    return found


def _earth(check: EarthPressure, height: float) -> tuple[Floats, Floats]:
    """Effective pressure of the soil, both sides of every boundary."""
    profile = WallProfile.of(check)
    ends = [0.0, *(piece.bottom for piece in profile.ground.pieces)]
    edges = np.unique(np.clip(np.array(ends, dtype=float), 0.0, height))
    small = 1e-9 * height
    depths = np.unique(
        np.concatenate((np.linspace(0.0, height, _DEPTHS), edges, edges[:-1] + small))
    )
    laws, ground = profile.laws(), profile.ground
    pressure = [float(pressure_at(laws, ground, depth, cut=profile.cracks)) for depth in depths]
    return depths, np.array(pressure)


def _water(check: EarthPressure, values: Any, height: float) -> tuple[Floats, Floats]:
    """Pressure of standing water: below the table, and in a crack that holds some."""
    table = np.inf
    if check.water_table_depth is not None:
        table = scalar("water_table_depth", check.water_table_depth)
    foot = scalar("tension_crack_depth", values.tension_crack_depth)
    held = min(scalar("crack_water", check.tension_crack_water_depth), foot)
    small = 1e-9 * height
    edges = np.array([table, foot - held, foot, foot + small])
    edges = edges[(edges > 0.0) & (edges < height)]
    depth = np.unique(np.concatenate((np.linspace(0.0, height, _DEPTHS), edges)))
    head = np.maximum(depth - table, 0.0) if np.isfinite(table) else np.zeros_like(depth)
    if held > 0.0:
        head = np.maximum(head, np.where(depth <= foot, np.maximum(depth - foot + held, 0.0), 0.0))
    return depth, head * scalar("water_unit_weight", check.water_unit_weight)


def draw_diagrams(sheet: Sheet, diagrams: list[PressureDiagram], x: float, height: float) -> None:
    """Draw diagrams one beside the other, the first ending at x [m], the others to its left."""
    spans = [
        (max(float(one.pressure.max()), 0.0), max(-float(one.pressure.min()), 0.0))
        for one in diagrams
    ]
    most = max((left + right for left, right in spans), default=0.0)
    scale = DIAGRAM_WIDTH * height / most if most > 0.0 else 0.0
    for diagram, (left, right) in zip(diagrams, spans, strict=True):
        x -= right * scale
        across = x - diagram.pressure * scale
        points = pairs(across, height - diagram.depth)
        outline = [(x, height), *points, (x, 0.0)]
        sheet.area(outline, name=diagram.name, zorder=2.0, **diagram.look)
        sheet.line([(x, height), (x, 0.0)], "edge")
        for at in _written_at(diagram, height):
            value = float(diagram.pressure[at])
            sheet.label(shown(value, "kPa"), points[at], towards=190.0, leader=False)
        sheet.label(diagram.title, (x, height), towards=90.0, leader=False)
        x -= max(left * scale, 0.12 * height) + DIAGRAM_GAP * height


def _written_at(diagram: PressureDiagram, height: float) -> list[int]:
    """Places worth a figure: the ends, jumps and kinks, well apart from each other."""
    depth, pressure = diagram.depth, diagram.pressure
    last = depth.size - 1
    small = 1e-6 * height
    jumps = [
        k for k in range(last)
        if depth[k + 1] - depth[k] < small and abs(pressure[k + 1] - pressure[k]) > 1e-6
    ]  # fmt: skip
    places = [0, *(k for jump in jumps for k in (jump, jump + 1)), last]
    step = np.diff(depth)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = np.where(step > small, np.diff(pressure) / step, np.nan)
    highest = float(np.nanmax(np.abs(rate))) if np.any(np.isfinite(rate)) else 0.0
    if diagram.name == "load pressure":
        return [int(np.argmax(pressure))]
    most = float(np.max(np.abs(pressure)))
    for k in range(1, last):
        before, after = rate[k - 1], rate[k] if step[k] > small else rate[min(k + 1, last - 1)]
        bend = abs(after - before) > 0.02 * highest
        apart = all(abs(depth[k] - depth[one]) > 0.04 * height for one in places)
        if bend and apart:
            places.append(k)
    # that it starts from nothing is seen
    return sorted({k for k in places if abs(pressure[k]) > 0.004 * most})
