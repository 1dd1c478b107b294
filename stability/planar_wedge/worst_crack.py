"""The place of a tension crack with the lowest factor, on planes that are given.

Over each stretch of a plane (``along_plane``) block, water and load are polynomials of degree two
or less in the place of the crack, so that the lowest factor of the stretch is found by
``fractional_search``. A crack stands between the crest and the place where the plane comes out,
and is no deeper than the strength holds open.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.surcharge_strip import loaded_between
from slipmargin.stability.planar_wedge.along_plane import Height, Stretches, stretches
from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.forces import Loads
from slipmargin.stability.planar_wedge.fractional_search import lowest_ratio, plus, times
from slipmargin.stability.planar_wedge.geometry import between
from slipmargin.strength import Numeric

__all__ = ["worst_crack"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_CLOSED = 1e-12  # of a plane's length; shorter stretches are none


def worst_crack(case: Case, gradient: Array) -> tuple[Array, Array, Flags]:
    """Crack at x [m] with the lowest factor, that factor, and whether the search ended, for a
    plane of a gradient on each of n slopes; x is nan where no crack is shallow enough.
    """
    size = gradient.size
    end = np.minimum(case.slope.daylight_x(gradient), case.slope.end_x)
    crest = np.broadcast_to(np.asarray(case.slope.crest_x, dtype=float), (size,))
    edges = [np.broadcast_to(one, (size, one.shape[1])) for one in case.inner_edges]
    water = np.asarray(case.loads.crack_water_depth, dtype=float)
    asked = np.where(np.isfinite(water), water, 0.0)
    depths = [case.deepest_crack(), case.deepest_crack(np.inf)]
    depths += [asked] if np.any(asked > 0.0) else []
    cut = stretches(case.slope, case.water, gradient, end, also=edges, depths=tuple(depths))
    low, high = _held_open(case, cut, size)
    allowed = (cut.length * (high - low) > _CLOSED * end[:, None]) & (cut.start >= crest[:, None])
    plane, _ = rows = np.nonzero(allowed)
    part = low[rows], high[rows]
    ratio, place, ended = _lowest_on(case.taken(plane), gradient[plane], cut, rows, part)
    factor, crack_x = np.full(allowed.shape, np.inf), np.full(allowed.shape, np.nan)
    factor[rows], crack_x[rows] = ratio, place
    converged = np.ones(allowed.shape, dtype=bool)
    converged[rows] = ended
    of, best = np.arange(size), np.argmin(factor, axis=1)
    # where nothing drives any of them, any place will do
    best = np.where(np.isinf(factor[of, best]), np.argmax(allowed, axis=1), best)
    factor, crack_x = factor[of, best], crack_x[of, best]
    # a strength that holds no crack open leaves one of no depth, where the plane comes out
    shut = np.flatnonzero(~np.any(allowed, axis=1) & (case.slope.daylight_x(gradient) <= end))
    if shut.size:
        own, angle = case.taken(shut), np.degrees(np.arctan(gradient[shut]))
        crack_x[shut] = end[shut]
        factor[shut] = own.sought(own.forces(angle, None))
    return crack_x, factor, np.all(converged, axis=1)


def _held_open(case: Case, cut: Stretches, size: int) -> tuple[Array, Array]:
    """Part of each stretch, from v to v, in which a crack is no deeper than the strength holds
    open; none where it ends before it begins.
    """
    own = case.taken(np.repeat(np.arange(size), cut.start.shape[1]))
    first, second = (
        (ground - np.reshape(own.open_crack(wet.ravel()), ground.shape))
        for ground, wet in (
            (cut.ground.at_start, cut.wet.at_start),
            (cut.ground.at_end, cut.wet.at_end),
        )
    )
    if case.any_crack:
        first = second = np.full(first.shape, -1.0)
    # both depths are straight over a stretch
    changes = (first > 0.0) != (second > 0.0)
    with np.errstate(invalid="ignore"):
        turn = np.where(changes, first / np.where(changes, first - second, 1.0), 0.0)
    low = np.where(changes & (first > 0.0), turn, 0.0)
    high = np.where(changes & (second > 0.0), turn, 1.0)
    middle = (cut.ground.at_start + cut.ground.at_end) / 2.0
    deepest = np.broadcast_to(own.deepest_crack(np.inf), (middle.size,)).reshape(middle.shape)
    none = ((first > 0.0) & (second > 0.0)) | (middle > deepest)
    return low, np.where(none, 0.0, high)


def _lowest_on(
    case: Case, m: Array, cut: Stretches, rows: tuple[Any, ...], part: tuple[Array, Array]
) -> tuple[Array, Array, Flags]:
    """Lowest factor, place and convergence on a part of each of some stretches; v goes from 0 to 1
    over the whole of each.
    """
    loads = case.loads
    start, length = cut.start[rows], cut.length[rows]
    x = start, length
    ground, area = _forms(cut.ground, rows, length)
    wet, wet_area = _forms(cut.wet, rows, length)
    _, head_area = _forms(cut.head, rows, length)
    soil = plus(
        times([loads.unit_weight], area),
        times([loads.saturated_unit_weight - np.asarray(loads.unit_weight)], wet_area),
    )
    weight = plus(soil, times([loads.surcharge], _loaded(case, start, length)))
    water = _held_water(loads, ground, wet)
    lift = plus(
        times([loads.water_unit_weight], head_area),
        times([0.5 * loads.water_unit_weight], plus(water, times([-1.0], wet)), x),
        times([loads.pore_pressure_ratio], soil),
    )
    pushed, pressed = loads.pool_on(cut.pool_area[rows[0]], 0.0)
    stretch = 1.0 + m**2  # length over run, squared
    # per cos ψ, so that sines and cosines become gradients
    top, bottom = case.sought_forms(
        x=[1.0],
        y=[m],
        held=times([case.cohesion * stretch], x),
        weight=weight,
        pressed=[pressed],
        outward=plus(times([0.5 * loads.water_unit_weight], water, water), [-1.0 * pushed]),
        lift=times([stretch], lift),
        unit=[1.0],
    )
    ratio, v, ended = lowest_ratio(top, bottom, *part)
    return ratio, start + v * length, ended


def _forms(height: Height, rows: Any, length: Array) -> tuple[tuple[Any, Any], tuple[Any, ...]]:
    """A height above the plane, and its area up to there, in v."""
    start, growth = between(height.at_start[rows], height.at_end[rows])
    return (start, growth), (height.area_in_front[rows], start * length, 0.5 * growth * length)


def _loaded(case: Case, start: Array, length: Array) -> tuple[Any, Any]:
    """Loaded length up to v: no edge of the load lies inside a stretch."""
    near, far = case.load_edges
    crest = case.slope.crest_x
    return between(
        loaded_between(near, far, crest, start), loaded_between(near, far, crest, start + length)
    )


def _held_water(loads: Loads, ground: tuple[Any, Any], wet: tuple[Any, Any]) -> tuple[Any, Any]:
    """Water in the crack: what was asked for, no less than that of the slope, no more than
    the crack; which of them holds does not change inside a stretch.
    """
    middle = [one[0] + one[1] / 2.0 for one in (ground, wet)]
    water: Numeric = loads.crack_water_depth
    full, higher = np.greater_equal(water, middle[0]), np.less_equal(water, middle[1])
    finite = np.where(np.isfinite(water), water, 0.0)
    held: list[Any] = [
        np.where(full, ground[power], np.where(higher, wet[power], asked))
        for power, asked in ((0, finite), (1, 0.0))
    ]
    return held[0], held[1]
