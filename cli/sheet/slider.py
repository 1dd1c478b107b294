"""The grid behind the sliders: factors of every check over the strength of one soil.

The program computes every factor on a grid of round strengths and on the points midway
between them. The page holds the grid alone and takes the points between by bilinear
interpolation. Its sliders stop nowhere but on these points, so that the largest difference
found there bounds every factor the page can show.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from slipmargin.cli.page.slider import NO_LIMIT, Floats, SliderData, SliderRow, between
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.questions.strength_map import StrengthMap, map_strength
from slipmargin.stability.factor_text import factor_text

__all__ = ["slider_of"]

_MOST_NODES = 61
_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_FIGURES = 5


def slider_of(outcome: Outcome, name: str) -> tuple[SliderData, StrengthMap] | None:
    """The grid of one soil, and its strength map over the same range; ``None`` where no check with
    a factor uses the soil. ``InputError``: a check that has no answer anywhere on the grid.
    """
    entries = tuple(one for one in outcome.scenario.judged if name in one.soil_names)
    if not entries:
        return None
    site = dataclasses.replace(outcome.scenario, checks=entries[:1])
    reach = map_strength(site, name, cells=2)
    axes = _nodes(reach.cohesion), _nodes(reach.friction_angle)
    site = dataclasses.replace(site, checks=entries)
    fine = map_strength(site, name, axes=(between(axes[0]), between(axes[1])))
    rows, lost = [], []
    by_label = {one.entry.label: one.factors for one in fine.checks}
    for one in outcome.checks:
        label = one.entry.label
        if label not in by_label:
            continue
        for state, used, _ in one.judged:
            factors = by_label[label].get(state)
            if factors is None:
                lost.append(f"{label}: {state}, {factor_text(used)}")
                continue
            grid = _rounded(factors[::2, ::2])
            bounds = _bounds(grid, factors)
            target = one.entry.target(state)
            asked = one.entry.asked([state]).removeprefix("target ")
            if np.all(np.isfinite(bounds)):
                rows.append(SliderRow(label, state, target, asked, used, grid, bounds))
            else:
                lost.append(f"{label}: {state}, {factor_text(used)}")
    soil = outcome.scenario.soils[name].soil
    strength = soil.strength
    data = SliderData(
        soil=name,
        cohesion=axes[0],
        friction_angle=axes[1],
        used=(float(strength.cohesion), float(strength.friction_angle)),
        cohesionless=soil.cohesionless,
        rows=tuple(rows),
        not_interpolated=tuple(lost),
    )
    return data, fine


def _nodes(reach: Floats) -> Floats:
    """Round values across a range, no more than ``_MOST_NODES``."""
    low, high = float(reach[0]), float(reach[-1])
    step = next(s for s in _STEPS if (high - low) / s <= _MOST_NODES - 1)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return np.round(np.arange(first, last + 1) * step, 6)


def _rounded(grid: Floats) -> Floats:
    """Factors with the digits the page holds; ``NO_LIMIT`` for infinity."""
    with np.errstate(divide="ignore", invalid="ignore"):
        places = np.floor(np.log10(np.abs(grid)))
        scale = 10.0 ** (_FIGURES - 1 - places)
        short = np.round(grid * scale) / scale
    return np.where(np.isposinf(grid), NO_LIMIT, np.where(grid == 0.0, 0.0, short))


def _bounds(grid: Floats, computed: Floats) -> Floats:
    """Largest relative differences; infinite where the page would show what has no value."""
    shown = between(grid)
    held = np.isfinite(shown)
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = np.abs(shown - computed) / np.abs(computed)
    apart = np.where(shown == computed, 0.0, np.where(np.isfinite(apart), apart, np.inf))
    rows = np.max(np.where(held, apart, 0.0), axis=1)
    if not np.any(held):
        rows[:] = np.inf
    result: Floats = np.maximum.reduce([rows[:-2:2], rows[1::2], rows[2::2]])
    return result
