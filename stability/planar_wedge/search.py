"""The plane, and the place of the tension crack, with the lowest factor of safety.

Along a pencil of planes strength and drive, each times the plane's length and the square of
the pencil's divisor, are polynomials of degree three or less, so that the lowest factor of
a pencil is found in closed form or in a few steps, and for the whole pencil. Pencils are split
where an edge of the load or the water in a crack changes the polynomials. With a phreatic line, a
pool, or a crack that is searched for (``worst_crack``) planes are scanned one by one
(``plane_scan``). The yield coefficient is a ratio of the same kind and found the same way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import CHUNK, joined, pieces
from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.forces import Loads
from slipmargin.stability.planar_wedge.fractional_search import (
    Polynomial,
    lowest_ratio,
    plus,
    polynomial_value,
    times,
)
from slipmargin.stability.planar_wedge.geometry import Pencil
from slipmargin.stability.planar_wedge.plane_scan import SCANNED, lowest_plane
from slipmargin.stability.planar_wedge.worst_crack import worst_crack
from slipmargin.strength import Numeric

__all__ = ["Surface", "critical_surface"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Surface:
    """Plane angle [deg], distance of the crack from the toe [m] (``None`` for no crack) and
    factor of safety, or yield coefficient where that is sought, each of shape (n,) but for a
    crack that was given; ``converged`` says whether the search ended.
    """

    plane_angle: Array
    crack_x: Any
    factor: Array
    converged: NDArray[np.bool_]


def critical_surface(case: Case, size: int) -> Surface:
    """Surface with the lowest factor of safety for each of ``size`` samples."""
    parts = pieces(size, CHUNK // SCANNED if _is_scanned(case) else CHUNK)
    return joined([_critical_surface(case.taken(one), one.stop - one.start) for one in parts])


def _is_scanned(case: Case) -> bool:
    """Whether planes have to be looked at one by one."""
    return case.plane_angle is None and (case.search_crack or case.water is not None)


def _critical_surface(case: Case, size: int) -> Surface:
    if _is_scanned(case):
        return _on_planes(case, _lowest_plane(case, size))
    if case.plane_angle is None:
        return _worst_plane(case, size)
    return _on_planes(case, np.broadcast_to(np.asarray(case.plane_angle, dtype=float), (size,)))


def _on_planes(case: Case, angle: Array) -> Surface:
    """Given planes, each with its worst crack where one is searched for."""
    if case.search_crack:
        return Surface(angle, *worst_crack(case, np.tan(np.radians(angle))))
    value = np.broadcast_to(case.sought(case.forces(angle, case.crack_x)), angle.shape)
    return Surface(angle, case.crack_x, value, np.ones(angle.shape, dtype=bool))


def _lowest_plane(case: Case, size: int) -> Array:
    """Plane with the lowest factor [deg], from looking at them one by one."""
    slope, cracked = case.slope, case.search_crack or case.crack_x is not None
    # without a crack to end in, a plane has to come out
    flattest = (
        slope.upper_slope_angle
        if cracked
        else np.maximum(slope.upper_slope_angle, slope.flattest_out)
    )
    least, steepest = (
        np.broadcast_to(np.asarray(end, dtype=float), (size,))
        for end in (flattest, slope.face_angle)
    )

    def value_at(angles: Array) -> Array:
        of = np.repeat(np.arange(size), angles.shape[1])
        value: Array = _on_planes(case.taken(of), angles.ravel()).factor.reshape(angles.shape)
        return value

    bends = np.broadcast_to(case.bends, (size, case.bends.shape[1]))
    return lowest_plane(value_at, least, steepest, bends)


def _worst_plane(case: Case, size: int) -> Surface:
    """Lowest factor over all pencils of planes."""
    factor, angle = np.full(size, np.inf), np.full(size, np.nan)
    converged = np.ones(size, dtype=bool)
    for cut, full in _by_water(case.slope.pencils(case.crack_x), case.loads):
        for pencil, loaded in _by_load(cut, case):
            low, high = np.broadcast_to(pencil.low, (size,)), np.broadcast_to(pencil.high, (size,))
            there = low <= high
            if not np.any(there):
                continue
            top, bottom = _pencil_forms(case, pencil, loaded, full)
            ratio, v, ended = lowest_ratio(top, bottom, np.minimum(low, high), high)
            ratio = np.where(there, ratio, np.inf)
            x, y = polynomial_value(pencil.x, v), polynomial_value(pencil.y, v)
            lower = there & ((ratio < factor) | np.isnan(angle))
            factor = np.where(lower, ratio, factor)
            angle = np.where(lower, np.degrees(np.arctan2(y, x)), angle)
            converged &= ended | ~there
    return Surface(angle, case.crack_x, factor, converged)


def _by_water(pencils: tuple[Pencil, ...], loads: Loads) -> Iterator[tuple[Pencil, bool]]:
    """Pencils that end in a crack, split where the water just fills it; with ``full`` true
    for the part in which the crack is brim-full.
    """
    water = np.asarray(loads.crack_water_depth, dtype=float)
    full = bool(np.all(np.isinf(water)))
    for pencil in pencils:
        if pencil.crack_depth is None or not np.any(water > 0.0):
            yield pencil, False
            continue
        if full:
            yield pencil, True
            continue
        least, growth = pencil.crack_depth
        with np.errstate(divide="ignore", invalid="ignore"):
            filled = np.where(growth > 0.0, (water - least) / growth, np.inf)
        empty = np.asarray(pencil.high) < pencil.low
        yield replace(pencil, low=np.maximum(filled, pencil.low)), False
        held = np.minimum(filled, pencil.high)
        yield replace(pencil, high=np.where(empty, -1.0, held)), True


def _by_load(pencil: Pencil, case: Case) -> Iterator[tuple[Pencil, Any]]:
    """A pencil split where its planes come out at an edge of the load, each part with the
    loaded length on its blocks, times the divisor.
    """
    near, far = case.load_edges
    if not np.any(case.loads.surcharge > 0.0):
        yield pencil, (0.0,)
        return
    reaches_near, reaches_far = _reaching(pencil, near), _reaching(pencil, far)
    yield replace(pencil, high=np.minimum(pencil.high, reaches_near)), (0.0,)
    low = np.maximum(pencil.low, reaches_near)
    on_it = plus(pencil.x, times([-1.0 * near], pencil.divisor))
    yield replace(pencil, low=low, high=np.minimum(pencil.high, reaches_far)), on_it
    if np.any(np.isfinite(far)):
        width = np.where(np.isfinite(far), far - near, 0.0)
        low = np.maximum(pencil.low, reaches_far)
        yield replace(pencil, low=low), times([width], pencil.divisor)


def _reaching(pencil: Pencil, place: Numeric) -> Any:
    """Where along a pencil its planes come out at a place; they come out further from there."""
    (start, growth), (whole, lost) = pencil.x, pencil.divisor
    finite = np.where(np.isfinite(place), place, 0.0)
    short, gain = finite * whole - start, growth - finite * lost
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(gain > 0.0, short / np.where(gain > 0.0, gain, 1.0), 0.0)
    never = np.where(short <= 0.0, -1.0, 2.0)
    share = np.where(gain > 0.0, np.clip(share, -1.0, 2.0), never)
    return np.where(np.isfinite(place), share, 2.0)


def _pencil_forms(case: Case, pencil: Pencil, loaded: Any, full: bool) -> tuple[Any, Any]:
    """What is sought along a pencil, both terms times L and the divisor squared.

    With a pore pressure ratio both are also times x, which clears x from under U L.
    """
    loads = case.loads
    x, y = pencil.x, pencil.y
    divisor: Polynomial = pencil.divisor
    soil = times([loads.unit_weight], pencil.area)
    weight = plus(soil, times([loads.surcharge], loaded))
    length_squared = plus(times(x, x), times(y, y))
    held = times([case.cohesion], length_squared)
    outward: Polynomial = [0.0]
    lift: Polynomial = [0.0]
    if pencil.crack_depth is not None:
        water = pencil.crack_depth if full else [loads.crack_water_depth]
        pressing = times([0.5 * loads.water_unit_weight], water)
        outward, lift = times(pressing, water), times(pressing, length_squared)
    if np.any(loads.pore_pressure_ratio > 0.0):
        held, weight, outward, lift, divisor = (
            times(one, x) for one in (held, weight, outward, lift, divisor)
        )
        lift = plus(lift, times([loads.pore_pressure_ratio], soil, length_squared))
    return case.sought_forms(
        x=x, y=y, held=held, weight=weight, outward=outward, lift=lift, unit=divisor
    )
