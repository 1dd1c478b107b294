"""The plane, and the place of the tension crack, with the lowest factor of safety.

Along a pencil of planes strength and drive, each times the plane's length and the square of
the pencil's divisor, are polynomials of degree three or less, so that the lowest factor of
a pencil is found in closed form or in a few steps, and for the whole pencil. The place of
the crack on one plane is a problem of the same kind. Plane and crack together are searched
plane by plane, each with its worst crack: a scan, and narrower scans about its hollows. A
searched crack is no deeper than the soil holds it open (``tension_crack``), and no deeper than
half the height.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.forces import Loads
from slipmargin.stability.planar_wedge.fractional_search import (
    lowest_ratio,
    plus,
    polynomial_value,
    times,
)
from slipmargin.stability.planar_wedge.geometry import CLOSED, Pencil

__all__ = ["Surface", "critical_surface", "pieces"]

Array = NDArray[np.float64]

_CHUNK = 1 << 14  # stays in the processor's cache, and keeps memory flat
_NEAR_END = 1e-4
_SCAN = 40
_ZOOM = 17
_ZOOMS = 5


@dataclass(frozen=True, slots=True)
class Surface:
    """Plane angle [deg], distance of the crack from the toe [m] (``None`` for no crack) and
    factor of safety, each of shape (n,) but for a crack that was given; ``converged`` says
    whether the search ended.
    """

    plane_angle: Array
    crack_x: Any
    factor: Array
    converged: NDArray[np.bool_]


def pieces(size: int, chunk: int = _CHUNK) -> Iterator[slice]:
    """Slices that together cover ``size`` samples."""
    for start in range(0, size, chunk):
        yield slice(start, min(start + chunk, size))


def critical_surface(case: Case, size: int) -> Surface:
    """Surface with the lowest factor of safety for each of ``size`` samples."""
    parts = []
    both = case.search_crack and case.plane_angle is None
    for part in pieces(size, _CHUNK // _SCAN if both else _CHUNK):
        parts.append(_critical_surface(case.taken(part), part.stop - part.start))
    crack_x = np.concatenate([p.crack_x for p in parts]) if case.search_crack else case.crack_x
    return Surface(
        np.concatenate([part.plane_angle for part in parts]),
        crack_x,
        np.concatenate([part.factor for part in parts]),
        np.concatenate([part.converged for part in parts]),
    )


def _critical_surface(case: Case, size: int) -> Surface:
    if case.search_crack and case.plane_angle is None:
        return _plane_and_crack(case, size)
    if case.search_crack:
        angle = np.broadcast_to(np.asarray(case.plane_angle, dtype=float), (size,))
        factor, crack_x, converged = _worst_crack(case, np.tan(np.radians(angle)))
        return Surface(angle, crack_x, factor, converged)
    if case.plane_angle is None:
        return _worst_plane(case, size)
    angle = np.broadcast_to(np.asarray(case.plane_angle, dtype=float), (size,))
    factor = np.broadcast_to(case.forces(angle, case.crack_x).factor_of_safety, (size,))
    return Surface(angle, case.crack_x, factor, np.ones(size, dtype=bool))


def _worst_plane(case: Case, size: int) -> Surface:
    """Lowest factor over all pencils of planes."""
    factor, angle = np.full(size, np.inf), np.full(size, np.nan)
    converged = np.ones(size, dtype=bool)
    for pencil, full in _by_water(case.slope.pencils(case.crack_x), case.loads):
        low, high = np.broadcast_to(pencil.low, (size,)), np.broadcast_to(pencil.high, (size,))
        strength, drive = _pencil_forms(case, pencil, full)
        ratio, v, ended = lowest_ratio(strength, drive, np.minimum(low, high), high)
        ratio = np.where(low <= high, ratio, np.inf)
        at = np.degrees(np.arctan2(polynomial_value(pencil.y, v), polynomial_value(pencil.x, v)))
        lower = (low <= high) & ((ratio < factor) | np.isnan(angle))
        factor, angle = np.where(lower, ratio, factor), np.where(lower, at, angle)
        converged &= ended | (low > high)
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


def _pencil_forms(case: Case, pencil: Pencil, full: bool) -> tuple[Any, Any]:
    """Strength and drive along a pencil, both times L and the divisor squared.

    With a pore pressure ratio both are also times x, which clears x from under U L.
    """
    loads = case.loads
    x, y, divisor = pencil.x, pencil.y, pencil.divisor
    support = np.radians(loads.support_angle)
    along = loads.support_force * np.cos(support)
    down = loads.support_force * np.sin(support)
    soil = times([loads.unit_weight], pencil.area)
    weight = plus(soil, times([loads.surcharge], pencil.loaded_length))
    k = loads.seismic_coefficient
    length_squared = plus(times(x, x), times(y, y))
    normal = plus(
        times(weight, plus(x, times([-k], y))),
        times(divisor, plus(times([down], x), times([along], y))),
    )
    drive = plus(
        times(weight, plus(y, times([k], x))),
        times(divisor, plus(times([-along], x), times([down], y))),
    )
    if pencil.crack_depth is not None:
        water = pencil.crack_depth if full else [loads.crack_water_depth]
        pressing = times([0.5 * loads.water_unit_weight], water)
        thrust = times(pressing, water)
        lost = plus(times(thrust, y), times(pressing, length_squared))
        normal = plus(normal, times([-1.0], lost))
        drive = plus(drive, times(thrust, x))
    strength = plus(
        times([case.cohesion], length_squared), times([case.tan_friction_angle], normal)
    )
    if np.any(np.asarray(loads.pore_pressure_ratio) > 0.0):
        share = -case.tan_friction_angle * np.asarray(loads.pore_pressure_ratio)
        strength = plus(times(strength, x), times([share], soil, length_squared))
        drive = times(drive, x)
    return strength, drive


def _worst_crack(case: Case, gradient: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Lowest factor over the places of the crack, for one plane a sample."""
    size, loads, m = gradient.size, case.loads, gradient
    deepest = np.broadcast_to(case.deepest_crack, (size,))
    factor, crack_x = np.full(size, np.inf), np.full(size, np.nan)
    converged = np.ones(size, dtype=bool)
    daylight = case.slope.daylight_x(m)
    water = np.asarray(loads.crack_water_depth, dtype=float)
    support = np.radians(loads.support_angle)
    along = loads.support_force * np.cos(support)
    down = loads.support_force * np.sin(support)
    k = loads.seismic_coefficient
    stretch = 1.0 + m**2  # length over run, squared
    for piece in case.slope.upper_pieces():
        reach = np.minimum(piece.end, daylight) - piece.x
        rise = piece.gradient * reach
        x = (piece.x, reach)
        area = plus((piece.area, piece.y * reach, 0.5 * rise * reach), times([-0.5 * m], x, x))
        soil = times([loads.unit_weight], area)
        loaded = (piece.x - case.slope.crest_x, reach)
        weight = plus(soil, times([loads.surcharge], loaded))
        depth = (piece.y - m * piece.x, rise - m * reach)
        open_low, open_high = _open_range(depth, deepest)
        for full, low, high in _water_ranges(depth, water):
            low, high = np.maximum(low, open_low), np.minimum(high, open_high)  # noqa: PLW2901
            held = depth if full else [water]
            pressing = times([0.5 * loads.water_unit_weight], held)
            thrust = times(pressing, held)
            # per cos ψ, so that sines and cosines become gradients
            normal = plus(
                times([1.0 - k * m], weight),
                times([-loads.pore_pressure_ratio * stretch], soil),
                [down + along * m],
                times([-m], thrust),
                times([-stretch], pressing, x),
            )
            drive = plus(times([m + k], weight), thrust, [down * m - along])
            strength = plus(
                times([case.cohesion * stretch], x), times([case.tan_friction_angle], normal)
            )
            there = (reach >= 0.0) & (low <= high)
            ratio, v, ended = lowest_ratio(strength, drive, np.minimum(low, high), high)
            lower = there & ((ratio < factor) | np.isnan(crack_x))
            factor = np.where(lower, ratio, factor)
            crack_x = np.where(lower, polynomial_value(x, v), crack_x)
            converged &= ended | ~there
    return factor, crack_x, converged


def _open_range(depth: tuple[Array, Array], deepest: Array) -> tuple[Array, Array]:
    """Range of the crack's place in which it is no deeper than a depth."""
    at_start, growth = depth
    at_end = at_start + growth
    most = deepest + 1e-12 * (np.abs(at_start) + np.abs(growth))
    with np.errstate(divide="ignore", invalid="ignore"):
        reached = np.clip(np.nan_to_num((deepest - at_start) / growth), CLOSED, 1.0)
    low = np.where(at_start <= most, CLOSED, np.where(at_end <= most, reached, 2.0))
    high = np.where(at_end <= most, 1.0, np.where(at_start <= most, reached, -1.0))
    return low, high


def _water_ranges(depth: tuple[Array, Array], water: Array) -> Iterator[tuple[bool, Array, Array]]:
    """Ranges of the crack's place in which it holds the water, and in which it is brim-full."""
    at_start, growth = depth
    low, high = np.full(at_start.size, CLOSED), np.ones(at_start.size)
    if not np.any(water > 0.0) or np.all(np.isinf(water)):
        yield bool(np.any(water > 0.0)), low, high
        return
    with np.errstate(divide="ignore", invalid="ignore"):
        filled = np.clip(np.nan_to_num((water - at_start) / growth), 0.0, 1.0)
    deeper_first = growth <= 0.0
    holds_first, holds_last = water <= at_start, water <= at_start + growth
    start = np.where(deeper_first, low, np.where(holds_last, filled, 2.0))
    end = np.where(deeper_first, np.where(holds_first, filled, -1.0), high)
    yield False, start, np.where(growth == 0.0, np.where(holds_first, high, -1.0), end)
    start = np.where(deeper_first, np.where(holds_last, 2.0, filled), low)
    end = np.where(deeper_first, high, np.where(holds_first, -1.0, filled))
    yield True, start, np.where((growth == 0.0) & holds_first, -1.0, end)


def _plane_and_crack(case: Case, size: int) -> Surface:
    """Lowest factor over planes, each with its worst crack."""
    least = np.broadcast_to(np.asarray(case.slope.least_plane, dtype=float), (size,))
    range_ = np.asarray(case.slope.steepest_plane) - least

    def tried(shares: Array) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
        """Angle, factor, crack and convergence for rows of trials, shape (size, trials)."""
        of = np.repeat(np.arange(size), shares.shape[1])
        # closer together toward both ends, where the factor changes fastest
        angle = least[of] + range_[of] * np.sin(0.5 * np.pi * shares.ravel()) ** 2
        factor, crack_x, converged = _worst_crack(case.taken(of), np.tan(np.radians(angle)))
        shape = shares.shape
        rows = angle.reshape(shape), factor.reshape(shape), crack_x.reshape(shape)
        return *rows, converged.reshape(shape)

    step = (1.0 - 2.0 * _NEAR_END) / (_SCAN - 1)
    shares = np.broadcast_to(_NEAR_END + step * np.arange(_SCAN), (size, _SCAN))
    scanned = tried(shares)[1]
    walled = np.pad(scanned, ((0, 0), (1, 1)), constant_values=np.inf)
    hollow = (scanned <= walled[:, :-2]) & (scanned <= walled[:, 2:])
    # the two lowest hollows of the scan, either of which may hold the lowest factor
    lowest = np.argsort(np.where(hollow, scanned, np.inf), axis=1)[:, :2]
    centre = np.take_along_axis(shares, lowest, axis=1)
    for _ in range(_ZOOMS):
        around = centre[:, :, None] + step * np.linspace(-1.0, 1.0, _ZOOM)
        around = np.clip(around, _NEAR_END, 1.0 - _NEAR_END)
        factor = tried(around.reshape(size, -1))[1].reshape(around.shape)
        best = np.argmin(factor, axis=2)[:, :, None]
        centre = np.take_along_axis(around, best, axis=2)[:, :, 0]
        step *= 2.0 / (_ZOOM - 1)
    angle, factor, crack_x, converged = tried(centre)
    rows, best = np.arange(size), np.argmin(factor, axis=1)
    return Surface(
        angle[rows, best], crack_x[rows, best], factor[rows, best], converged[rows, best]
    )
