"""Moments about the pole of what acts on a sliding mass besides its own weight.

A force (f_x, f_y) at (x, y) from the pole drives with y f_x - x f_y: clockwise, down the
slope. Only what stands on the mass counts: the part of a load between exit and entry, the
pool over the mass, a support force that meets the face above the exit, the water in the crack
that the surface ends in.
"""

from __future__ import annotations

import numpy as np

from slipmargin.stability.ground.ground_line import Float, across
from slipmargin.stability.ground.standing_water import pool_thrust
from slipmargin.stability.ground.support import support_moment
from slipmargin.stability.rotational.spiral import LoadedSlope, Spiral

__all__ = ["crack_thrust", "load_moments"]


def load_moments(slope: LoadedSlope, spiral: Spiral, driving: Float) -> Float:
    """A driving moment [kN·m/m] with that of the loads added."""
    if np.any(slope.surcharge > 0.0):
        driving = driving + _surcharge_moment(slope, spiral)
    if slope.support_force is not None:
        driving = driving - _support_moment(slope, spiral)
    if slope.pool_level is not None and slope.pool_stands:
        driving = driving + _pool_moment(slope, slope.pool_level, spiral)
    if slope.crack_depth is not None:
        driving = driving + _crack_moment(slope, spiral)
    return driving


def _surcharge_moment(slope: LoadedSlope, spiral: Spiral) -> Float:
    """Moment of the part of the load between exit and entry; of none on a mass that comes out
    above the foot of the load.
    """
    ndim = spiral.arm.ndim
    ground = slope.ground
    out = spiral.exit.station
    counts = out <= across(ground.stations[:, slope.load_foot], ndim)
    counts |= out >= across(ground.stations[:, slope.crest], ndim)
    counts |= across(slope.load_apart, ndim)
    near = np.maximum(out, across(slope.load_begins, ndim))
    left, right = ground.at(near), spiral.entry
    if slope.load_far is not None:
        right = ground.at(np.minimum(right.station, across(slope.load_far, ndim)))
    loaded = (right.station > left.station) & counts
    pole = spiral.pole
    a, b = left.point, right.point
    arm = ((b.real - pole.real) ** 2 - (a.real - pole.real) ** 2) / 2.0
    under = (b.real * b.imag - a.real * a.imag) / 2.0 - (right.area - left.area)
    down = pole.imag * (b.real - a.real) - under
    k_h = across(slope.seismic_coefficient, ndim)
    return np.where(loaded, across(slope.surcharge, ndim) * (arm + k_h * down), 0.0)


def _support_moment(slope: LoadedSlope, spiral: Spiral) -> Float:
    """Moment of the support force, counter-clockwise; of none below the exit. At the exit itself
    it is not counted: a surface just above it is without it.
    """
    ndim = spiral.arm.ndim
    station = across(slope.support_station, ndim)
    at = slope.ground.at(station).point - spiral.pole
    force = across(slope.support_force, ndim)
    angle = across(slope.support_angle, ndim)
    held = (station > spiral.exit.station) & (station < spiral.entry.station)
    return np.where(held, support_moment(force, angle, at.real, at.imag), 0.0)


def _pool_moment(slope: LoadedSlope, level: Float, spiral: Spiral) -> Float:
    """Moment of the pressure p of the pool on the ground above the mass.

    On a piece dz of the ground, seen from the pole at z, it is p d|z|²/2, which is a product
    of two linear functions along a straight piece of ground.
    """
    ndim = spiral.arm.ndim
    ground, pole, top = slope.ground, spiral.pole, across(level, ndim)
    start, end = spiral.exit.station, spiral.entry.station
    total = np.zeros(np.broadcast_shapes(pole.shape, start.shape, end.shape))
    count = ground.stations.shape[1]
    for k in range(count + 1):
        before = -np.inf if k == 0 else across(ground.stations[:, k - 1], ndim)
        after = np.inf if k == count else across(ground.stations[:, k], ndim)
        left, right = np.clip(start, before, after), np.clip(end, before, after)
        anchor = across(ground.vertices[:, max(k - 1, 0)], ndim)
        fixed = across(ground.stations[:, max(k - 1, 0)], ndim)
        way = across(ground.directions[:, k], ndim)
        # cut off where the ground comes out of the water
        climbs = np.abs(way.imag) > 1e-12
        shore = fixed + (top - anchor.imag) / np.where(climbs, way.imag, 1.0)
        left = np.where(climbs & (way.imag < 0.0), np.maximum(left, shore), left)
        right = np.where(climbs & (way.imag > 0.0), np.minimum(right, shore), right)
        wet = (right > left) & (climbs | (anchor.imag < top))
        left, right = np.where(wet, left, 0.0), np.where(wet, right, 0.0)
        a, b = (anchor + (one - fixed) * way - pole for one in (left, right))
        p_a, p_b = (top - pole.imag - one.imag for one in (a, b))
        step = b - a
        q_a, q_b = ((one.conjugate() * step).real for one in (a, b))
        piece = (2.0 * (p_a * q_a + p_b * q_b) + p_a * q_b + p_b * q_a) / 6.0
        total = total + np.where(wet, piece, 0.0)
    return across(slope.water_unit_weight, ndim) * total


def crack_thrust(slope: LoadedSlope, spiral: Spiral) -> Float:
    """Thrust of the water in the crack [kN/m]."""
    if slope.crack_depth is None:
        return np.zeros(1)
    deep, shallow = _crack_water(slope, spiral)
    weight = across(slope.water_unit_weight, spiral.arm.ndim)
    return np.asarray(pool_thrust(deep, shallow, weight))


def _crack_water(slope: LoadedSlope, spiral: Spiral) -> tuple[Float, Float]:
    """Depth of water over the foot and over the top of the crack [m]. The water in the slope, or
    a pool, fills it.
    """
    ndim = spiral.arm.ndim
    foot, top = spiral.foot.point.imag, spiral.entry.point.imag
    level = np.minimum(foot + across(slope.crack_water, ndim), top)
    if slope.water is not None:
        level = np.maximum(level, np.minimum(slope.water_level(spiral.entry.point.real), top))
    if slope.pool_level is not None:
        pool = across(slope.pool_level, ndim)
        level = np.maximum(level, pool if slope.pool_stands else np.minimum(pool, top))
    return np.maximum(level - foot, 0.0), np.maximum(level - top, 0.0)


def _crack_moment(slope: LoadedSlope, spiral: Spiral) -> Float:
    """Moment of the water in the crack on the wall of the mass."""
    deep, shallow = _crack_water(slope, spiral)
    below = deep + spiral.foot.point.imag - spiral.pole.imag
    squares, cubes = (deep**2 - shallow**2) / 2.0, (deep**3 - shallow**3) / 3.0
    return -across(slope.water_unit_weight, spiral.arm.ndim) * (below * squares - cubes)
