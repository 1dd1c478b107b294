"""Moment balance of a rigid mass on a logarithmic spiral.

The mass lies between the ground and the spiral

    r(α) = r_A exp(-(α - α_A) tan φ)

from its exit A, the lower end at the left, to its entry B; α runs counter-clockwise about
the pole. Every ray from the pole meets the spiral at the angle φ to its normal, so that the
resultant of a normal stress σ′ and its friction σ′ tan φ passes through the pole, whatever
σ′ is. The moment about the pole therefore needs no stress distribution: with S the first
moments of the mass about the pole, x + i y,

    c ∫ r² dα = γ Re[(1 + i k_h) S] + moment of the surcharge + tan φ ∫ u r² dα

where the last term is the friction that pore pressure takes away. The cohesion c for which
this holds is what the mechanism requires; the largest over all spirals is what the slope
requires.

A spiral is given by the stations of its ends on the ground, its opening angle Δ and tan φ.
With z the position of A from the pole, B lies at z exp((i - tan φ) Δ) from it, so that
z = (B - A) / (exp((i - tan φ) Δ) - 1), and ∫ r³ exp(iα) dα and ∫ r² dα are closed too.

Sources: Rendulic (1935), Der Bauingenieur 16, for the spiral and its moment; Chen (1975),
Limit Analysis and Soil Plasticity, ch. 9, for the same as a kinematic bound; Michalowski
(1995), Géotechnique 45(2), for the pore pressure term.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Complex, Float, Ground, Table, across, cross
from slipmargin.stability.rotational.spiral import LoadedSlope, Spiral
from slipmargin.stability.rotational.spiral_loads import load_moments

__all__ = ["Balance", "cohesion_required", "water_at"]

_UPRIGHT = 1e-12
_CROSSING_STEPS, _NEXT_TO_NOTHING = 10, 1e-8  # what is left is its square
_SHORTEST, _NO_LENGTH = 1e-3, 1e-200
_PANEL = 16


class Balance(NamedTuple):
    """What each spiral requires: ``cohesion`` [kPa] at its own friction angle, -inf where it rises
    above the ground; the ``driving`` moment [kN·m/m], the pore pressure term included; and the
    mean ``depth`` [m] of its mass, area over chord.
    """

    cohesion: Float
    driving: Float
    depth: Float


def cohesion_required(slope: LoadedSlope, spiral: Spiral, water_points: int) -> Balance:
    """Moment balance of each spiral.

    The first axis of the slope is that of the spirals; ``water_points`` is how many Gauss points
    are taken along a spiral below a phreatic line.
    """
    ndim = spiral.arm.ndim
    k_h = across(slope.seismic_coefficient, ndim)
    resisting = spiral.square(spiral.opening)
    area, moments = _mass(spiral, resisting)
    driving = across(slope.unit_weight, ndim) * (moments.real - k_h * moments.imag)
    driving = load_moments(slope, spiral, driving)
    tan = spiral.tan_friction_angle
    if slope.wet:
        friction_lost, added = _water_moments(slope, spiral, water_points)
        driving = driving + added + tan * friction_lost
    elif np.any(slope.pore_pressure_ratio > 0.0):
        lost = across(slope.unit_weight * slope.pore_pressure_ratio, ndim)
        driving = driving + tan * lost * _depth_integral(slope.ground, spiral)
    chord = spiral.foot.point - spiral.exit.point
    length = np.abs(chord)
    # neither a pole below the exit nor an overhanging entry; a chord of nothing is noise
    sound = (chord.real > 0.0) & (length > _SHORTEST * across(slope.height, ndim))
    sound = sound & (spiral.arm.imag < 0.0) & spiral.upright & np.isfinite(driving)
    sound &= (resisting > 0.0) & ~_above_ground(slope.ground, spiral)
    ratio = driving / np.where(sound, resisting, 1.0)
    depth = np.fmax(area / np.maximum(length, _NO_LENGTH), 0.0)
    return Balance(np.where(sound, ratio, -np.inf), driving, depth)


def water_at(slope: LoadedSlope, point: Complex) -> tuple[Float, Float]:
    """Pore pressure [kPa] at points x + i y [m], and the height of soil below water over them
    [m]; the first axis runs over the slopes.
    """
    ground = slope.ground.level(point.real)
    if slope.wet:
        return _pressure(slope, point, ground)
    ratio = across(slope.unit_weight * slope.pore_pressure_ratio, point.ndim)
    return ratio * (ground - point.imag), np.zeros(1)


def _pressure(slope: LoadedSlope, point: Complex, ground: Float) -> tuple[Float, Float]:
    """Pore pressure [kPa] at points, and how deep [m] they lie below the water in the ground.

    It is that of water at rest below the higher of water line and pool. A pore pressure
    ratio beside a pool counts from the ground, under the water that stands on it; the higher
    of the two pressures is taken.
    """
    ndim = point.ndim
    level = slope.water_level(point.real)
    above = np.zeros(1)
    if slope.pool_level is not None:
        pool = across(slope.pool_level, ndim)
        level = np.maximum(level, pool)
        if slope.pool_stands:
            above = np.maximum(pool - ground, 0.0)
    level = np.minimum(level, ground + above)
    weight = across(slope.water_unit_weight, ndim)
    pressure = weight * np.maximum(level - point.imag, 0.0)
    if np.any(slope.pore_pressure_ratio > 0.0):
        ratio = across(slope.unit_weight * slope.pore_pressure_ratio, ndim)
        pressure = np.maximum(pressure, ratio * (ground - point.imag) + weight * above)
    return pressure, np.maximum(np.minimum(level, ground) - point.imag, 0.0)


def _mass(spiral: Spiral, sector: Float) -> tuple[Float, Complex]:
    """Area of the mass and its first moments about the pole: of the part under the chord AB, a
    sector (twice its area is given) less a triangle, and of the part between chord and ground,
    taken about A and moved to the pole.
    """
    start, end = spiral.exit, spiral.foot
    near, far = spiral.arm, spiral.far
    triangle = cross(near, far)
    under = spiral.cube(spiral.opening) / 3.0 - triangle * (near + far) / 6.0
    closing = cross(end.point, start.point)
    area = start.area - end.area - closing / 2.0
    about_origin = start.moment - end.moment - closing * (start.point + end.point) / 6.0
    over = about_origin - start.point * area + near * area
    return (sector - triangle) / 2.0 + area, under + over


def _depth_integral(ground: Ground, spiral: Spiral) -> Float:
    """∫ (depth below ground) r² dα [m³], closed on every piece of ground between the angles
    at which the spiral passes below its ends.
    """
    ndim, pole = spiral.arm.ndim, spiral.pole
    last = ground.vertices.shape[1]
    total = np.zeros(np.broadcast_shapes(pole.shape, np.shape(spiral.opening)))
    square0, cube0 = np.zeros_like(total), np.zeros_like(total, dtype=complex)
    for k in range(last + 1):
        if k < last:
            angle = _angle_below(spiral, across(ground.vertices[:, k], ndim).real)
        else:
            angle = np.broadcast_to(spiral.opening, total.shape)
        square, cube = spiral.square(angle), spiral.cube(angle)
        anchor = across(ground.vertices[:, max(k - 1, 0)], ndim)
        way = across(ground.directions[:, k], ndim)
        slope = way.imag / np.where(np.abs(way.real) < _UPRIGHT, np.inf, way.real)
        above_pole = anchor.imag + slope * (pole.real - anchor.real) - pole.imag
        step = cube - cube0
        total = total + above_pole * (square - square0) + slope * step.real - step.imag
        square0, cube0 = square, cube
    return total


def _angle_below(spiral: Spiral, x: Float) -> Float:
    """Angle from A [rad] at which the spiral passes x, held between 0 and the opening."""
    start, end = spiral.exit.point.real, spiral.entry.point.real
    opening = spiral.opening
    share = np.clip((x - start) / np.where(end > start, end - start, 1.0), 0.0, 1.0)
    shape = np.broadcast_shapes(share.shape, spiral.arm.shape)
    angle = np.array(np.broadcast_to(share * opening, shape))
    # a spiral that overhangs passes x twice, or never, and is left out anyway
    crossed = (share > 0.0) & (share < 1.0) & spiral.upright & (spiral.arm.imag < 0.0)
    crossed = np.broadcast_to(crossed, shape)
    if not np.any(crossed):
        return angle

    def of(values: Table) -> Table:
        chosen: Table = np.broadcast_to(values, crossed.shape)[crossed]
        return chosen

    angle[crossed] = _turn_to(
        of(x - spiral.pole.real), of(spiral.arm), of(spiral.rate), of(angle), of(opening)
    )
    return angle


def _turn_to(aim: Float, arm: Complex, rate: Complex, angle: Float, high: Float) -> Float:
    """Angles from A at which spirals stand ``aim`` [m] to the right of their poles, by Newton's
    method between bounds, from where a circle of nearly that radius does.
    """
    low, start, radius = np.zeros_like(angle), np.angle(arm), np.abs(arm)
    for _ in range(2):
        reach = np.maximum(radius * np.exp(rate.real * angle), np.abs(aim) + 1e-300)
        angle = np.clip(-np.arccos(aim / reach) - start, low, high)
    for _ in range(_CROSSING_STEPS):
        here = arm * np.exp(rate * angle)
        over, speed = here.real - aim, (rate * here).real
        low, high = np.where(over < 0.0, angle, low), np.where(over > 0.0, angle, high)
        moving = speed > _UPRIGHT * np.abs(arm)
        newton = angle - np.where(moving, over, 0.0) / np.where(moving, speed, 1.0)
        inside = moving & (newton >= low) & (newton <= high)
        before, angle = angle, np.where(inside, newton, (low + high) / 2.0)
        if np.all(np.abs(angle - before) < _NEXT_TO_NOTHING):
            break
    return angle


def _water_moments(slope: LoadedSlope, spiral: Spiral, points: int) -> tuple[Float, Float]:
    """∫ u r² dα [kN·m/m] and the moment of the weight that water adds to the soil below it."""
    node, weight = _gauss(points)
    opening = np.asarray(spiral.opening)[..., None]
    rate = np.asarray(spiral.rate)[..., None]
    from_pole = spiral.arm[..., None] * np.exp(rate * (opening * node))
    here = spiral.pole[..., None] + from_pole
    ground = slope.ground.level(here.real)
    pressure, under = _pressure(slope, here, ground)
    share = opening * weight
    ndim = spiral.arm.ndim
    # what a pore pressure ratio gives is closed, so that the sum is of the rest alone
    ratio = slope.unit_weight * slope.pore_pressure_ratio
    closed = np.any(ratio > 0.0)
    if closed:
        pressure = pressure - across(ratio, here.ndim) * (ground - here.imag)
    lost = np.sum(share * pressure * np.abs(from_pole) ** 2, axis=-1)
    if closed:
        lost = lost + across(ratio, ndim) * _depth_integral(slope.ground, spiral)
    heavier = across(slope.saturated_unit_weight - slope.unit_weight, ndim)
    k_h = across(slope.seismic_coefficient, ndim + 1)
    width = share * (rate * from_pole).real
    added = np.sum(under * (from_pole.real - k_h * (from_pole.imag + under / 2.0)) * width, axis=-1)
    return lost, heavier * added


@cache
def _gauss(points: int) -> tuple[Float, Float]:
    """Places between 0 and 1 and their weights: panels of up to 16 Gauss-Legendre points."""
    each = min(points, _PANEL)
    node, weight = np.polynomial.legendre.leggauss(each)
    panels = -(-points // each)
    left = np.arange(panels)[:, None] / panels
    return (left + (node + 1.0) / (2.0 * panels)).ravel(), np.tile(weight / (2.0 * panels), panels)


def _above_ground(ground: Ground, spiral: Spiral) -> NDArray[np.bool_]:
    """Whether the spiral leaves the ground between its ends. It is convex, so it can only do
    so at a re-entrant corner of the ground that lies below the chord.
    """
    ndim = spiral.arm.ndim
    start, chord = spiral.exit.point, spiral.foot.point - spiral.exit.point
    outside = np.zeros(spiral.arm.shape, dtype=bool)
    for k in ground.turns_up:
        corner, station = across(ground.vertices[:, k], ndim), across(ground.stations[:, k], ndim)
        low = (spiral.exit.station < station) & (station < spiral.entry.station)
        low = low & (cross(chord, corner - start) < -_UPRIGHT * np.square(np.abs(chord)))
        if not low.any():
            continue
        seen = np.where(low, corner - spiral.pole, 1.0) / np.where(low, spiral.arm, 1.0)
        angle = np.angle(seen)
        beyond = np.log(np.abs(seen)) > -spiral.tan_friction_angle * angle
        outside |= low & ((angle < 0.0) | (angle > spiral.opening) | beyond)
    return outside
