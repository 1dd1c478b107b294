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

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Complex, Float, Ground, Place, Table, cross
from slipmargin.stability.ground.water_line import WaterLine
from slipmargin.strength import Numeric

__all__ = [
    "LoadedSlope",
    "Spiral",
    "cohesion_required",
    "mean_depth",
    "pore_pressure",
    "spiral_through",
    "swept",
]

WIDEST_OPENING = 3.0
"""Largest opening angle [rad]; the spiral stays convex and its ends apart up to π."""

Flags = NDArray[np.bool_]

_UPRIGHT = 1e-12
_CROSSING_STEPS, _NEXT_TO_NOTHING = 10, 1e-8  # what is left is its square
_BISECTIONS = 40
_NEWTON_STEPS = 12
_SHORTEST = 1e-3
_PANEL = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedSlope:
    """A slope without its strength: ground, weights, water, loads.

    Arrays have shape (slopes,) or (1,). ``crest`` is the vertex beyond which the surcharge
    lies; a mass that comes out between the vertex ``load_foot`` and the crest is without it.
    ``firm_level`` is the height below which no spiral reaches; ``height`` the scale of the
    search.
    """

    ground: Ground
    height: Float
    unit_weight: Float
    saturated_unit_weight: Float
    pore_pressure_ratio: Float
    seismic_coefficient: Float
    surcharge: Float
    water_unit_weight: Float
    crest: int
    load_foot: int
    water: WaterLine | None = None
    firm_level: Float | None = None

    def take(self, rows: slice | NDArray[np.intp]) -> LoadedSlope:
        """Some of the slopes."""
        changed: dict[str, Any] = {"ground": self.ground.take(rows)}
        for entry in fields(self):
            value = getattr(self, entry.name)
            per_slope = entry.name not in ("ground", "crest", "load_foot", "water")
            if per_slope and value is not None and value.size > 1:
                changed[entry.name] = value[rows]
        return replace(self, **changed)


def swept(radius: Numeric, angle: Numeric, tan_friction_angle: Numeric) -> Float:
    """∫ r² dα [m²] over an angle [rad] from where the radius is that [m]."""
    decay = -2.0 * np.asarray(tan_friction_angle) * angle
    even = np.abs(decay) < 1e-12
    mean = np.where(even, 1.0, np.expm1(decay) / np.where(even, 1.0, decay))
    return np.square(radius) * angle * mean


@dataclass(frozen=True, slots=True)
class Spiral:
    """Spirals and their ends: ``arm`` is A seen from the pole, x + i y [m]."""

    exit: Place
    entry: Place
    opening: Float
    tan_friction_angle: Float
    arm: Complex

    @property
    def pole(self) -> Complex:
        """The pole, x + i y [m]."""
        return self.exit.point - self.arm

    @property
    def rate(self) -> Complex:
        """The number i - tan φ: the position from the pole is arm · exp(rate · angle from A)."""
        return np.asarray(1j - self.tan_friction_angle, dtype=complex)

    def point(self, angle: Float) -> Complex:
        """Point of the spiral at an angle [rad] counter-clockwise from A."""
        return self.pole + self.arm * np.exp(self.rate * angle)

    def square(self, angle: Float) -> Float:
        """∫ r² dα [m²] from A up to an angle [rad]."""
        return swept(np.abs(self.arm), angle, self.tan_friction_angle)

    def cube(self, angle: Float) -> Complex:
        """∫ r³ exp(iα) dα [m³] from A up to an angle [rad]."""
        rate = 1j - 3.0 * self.tan_friction_angle
        turned: Complex = self.arm * np.abs(self.arm) ** 2 * np.expm1(rate * angle) / rate
        return turned

    @property
    def upright(self) -> Flags:
        """Whether the spiral still goes to the right at its entry, and so nowhere overhangs."""
        at_entry = self.arm * np.exp(self.rate * self.opening)
        return np.asarray((self.rate * at_entry).real > 0.0)

    @property
    def lowest(self) -> Float:
        """Height of the lowest point [m]."""
        ends = np.minimum(self.exit.point.imag, self.entry.point.imag)
        return _lowest(self.pole, self.arm, self.opening, self.tan_friction_angle, ends)


def _lowest(pole: Complex, arm: Complex, opening: Float, tan: Float, ends: Float) -> Float:
    """Height of the lowest point of spirals [m], ``ends`` that of their lower ends."""
    bottom = -np.pi / 2.0 - np.arctan(tan) - np.angle(arm)
    inside = (bottom > 0.0) & (bottom < opening)
    point = pole + arm * np.exp((1j - tan) * np.where(inside, bottom, 0.0))
    return np.where(inside, point.imag, ends)


def spiral_through(
    slope: LoadedSlope,
    start: Float,
    end: Float,
    opening: Float,
    tan_friction_angle: Float,
    *,
    upright: bool = False,
) -> Spiral:
    """Spirals from exit to entry stations [m]; shapes broadcast, the first axis runs over the
    slopes. The opening [rad] is cut where the spiral would pass into firm ground, and with
    ``upright`` also where it would overhang at its entry.
    """
    exit_, entry = slope.ground.at(start), slope.ground.at(end)
    spiral = _spiral(exit_, entry, opening, tan_friction_angle)
    if slope.firm_level is not None:
        firm = _across(slope.firm_level, spiral.arm.ndim)
        spiral = _narrowed(spiral, spiral.lowest < firm, _opening_to_firm, firm)
    if upright:
        spiral = _narrowed(spiral, ~spiral.upright, _opening_to_upright)
    return spiral


def _spiral(exit_: Place, entry: Place, opening: Float, tan: Float) -> Spiral:
    chord = entry.point - exit_.point
    return Spiral(exit_, entry, opening, tan, chord / np.expm1((1j - tan) * opening))


def _narrowed(spiral: Spiral, where: Flags, widest: Callable[..., Float], *given: Float) -> Spiral:
    """Spirals with the widest opening that fits, ``where`` they do not fit as they are."""
    if not np.any(where):
        return spiral

    def of(values: Table) -> Table:
        chosen: Table = np.broadcast_to(values, where.shape)[where]
        return chosen

    start, end = of(spiral.exit.point), of(spiral.entry.point)
    tan = of(spiral.tan_friction_angle)
    opening = np.array(np.broadcast_to(spiral.opening, where.shape))
    opening[where] = widest(start, end, of(spiral.opening), tan, *map(of, given))
    return _spiral(spiral.exit, spiral.entry, opening, spiral.tan_friction_angle)


def _opening_to_firm(start: Complex, end: Complex, most: Float, tan: Float, firm: Float) -> Float:
    """Opening at which the spiral touches firm ground; it goes deeper as it opens."""
    low, high = np.full(most.shape, 1e-6), most
    ends = np.minimum(start.imag, end.imag)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        arm = (end - start) / np.expm1((1j - tan) * middle)
        above = _lowest(start - arm, arm, middle, tan, ends) >= firm
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return low


def _opening_to_upright(start: Complex, end: Complex, most: Float, tan: Float) -> Float:
    """Opening at which the spiral is upright at its entry.

    With χ the dip of the chord plus φ it is the root other than 0 of
    exp(Δ tan φ) sin(Δ + χ) = sin χ. The logarithm of this is concave, so that Newton's
    method closes in from beyond the root; without friction the first guess is exact.
    """
    chi = np.angle(end - start) + np.arctan(tan)
    top = np.maximum(np.pi / 2.0 + np.arctan(tan) - chi, 1e-6)
    last = np.maximum(np.pi - chi, 2e-6)
    with np.errstate(divide="ignore", invalid="ignore"):
        opening = np.minimum(2.0 * top, (top + last) / 2.0)
        for _ in range(_NEWTON_STEPS):
            over = tan * opening + np.log(np.sin(opening + chi) / np.sin(chi))
            step = over / (tan + 1.0 / np.tan(opening + chi))
            before, opening = opening, np.clip(opening - step, top, (opening + last) / 2.0)
            if np.all(np.abs(opening - before) < 1e-12):
                break
    return np.clip(np.nan_to_num(opening) * (1.0 - 1e-9), 1e-6, most)


def cohesion_required(slope: LoadedSlope, spiral: Spiral, water_points: int) -> tuple[Float, Float]:
    """Cohesion [kPa] that each spiral requires at its own friction angle.

    Parameters
    ----------
    slope
        The slope; its first axis is that of the spirals.
    spiral
        The spirals.
    water_points
        Gauss points along a spiral below a phreatic line.

    Returns
    -------
    cohesion
        -inf where the spiral rises above the ground.
    driving
        Driving moment [kN·m/m], the pore pressure term included.
    """
    ndim = spiral.arm.ndim
    k_h = _across(slope.seismic_coefficient, ndim)
    moments = _first_moments(spiral)
    driving = _across(slope.unit_weight, ndim) * (moments.real - k_h * moments.imag)
    if np.any(slope.surcharge > 0.0):
        driving = driving + _surcharge_moment(slope, spiral)
    tan = spiral.tan_friction_angle
    if slope.water is not None:
        friction_lost, added = _water_moments(slope, slope.water, spiral, water_points)
        driving = driving + added + tan * friction_lost
    elif np.any(slope.pore_pressure_ratio > 0.0):
        lost = _across(slope.unit_weight * slope.pore_pressure_ratio, ndim)
        driving = driving + tan * lost * _depth_integral(slope.ground, spiral)
    resisting = spiral.square(spiral.opening)
    sound = (
        np.isfinite(driving)
        & (resisting > 0.0)
        & (spiral.entry.point.real > spiral.exit.point.real)
    )
    # neither a pole below the exit nor an overhanging entry; a chord of nothing is noise
    sound &= (spiral.arm.imag < 0.0) & spiral.upright
    chord = np.abs(spiral.entry.point - spiral.exit.point)
    sound &= chord > _SHORTEST * _across(slope.height, ndim)
    inside = sound & ~_above_ground(slope.ground, spiral)
    ratio = driving / np.where(resisting > 0.0, resisting, 1.0)
    return np.where(inside, ratio, -np.inf), driving


def mean_depth(spiral: Spiral) -> Float:
    """Area of the mass over the length of its chord [m]."""
    start, end = spiral.exit, spiral.entry
    near, far = spiral.arm, spiral.arm + end.point - start.point
    under = (spiral.square(spiral.opening) - cross(near, far)) / 2.0
    over = start.area - end.area - cross(end.point, start.point) / 2.0
    depth: Float = (under + over) / np.abs(end.point - start.point)
    return depth


def pore_pressure(slope: LoadedSlope, point: Complex) -> Float:
    """Pore pressure [kPa] at points x + i y [m]; the first axis runs over the slopes."""
    if slope.water is not None:
        under = slope.water.level(point.real) - point.imag
        return _across(slope.water_unit_weight, point.ndim) * np.maximum(under, 0.0)
    depth = slope.ground.level(point.real) - point.imag
    return _across(slope.unit_weight * slope.pore_pressure_ratio, point.ndim) * depth


def _across(values: Float | None, ndim: int) -> Float:
    return np.asarray(values).reshape((-1,) + (1,) * (ndim - 1))


def _first_moments(spiral: Spiral) -> Complex:
    """First moments of the mass about the pole: the part under the chord AB, a sector less a
    triangle, and the part between chord and ground, taken about A and moved to the pole.
    """
    start, end = spiral.exit, spiral.entry
    near, far = spiral.arm, spiral.arm + end.point - start.point
    under = spiral.cube(spiral.opening) / 3.0 - cross(near, far) * (near + far) / 6.0
    closing = cross(end.point, start.point)
    area = start.area - end.area - closing / 2.0
    about_origin = start.moment - end.moment - closing * (start.point + end.point) / 6.0
    over: Complex = about_origin + (near - start.point) * area
    return under + over


def _surcharge_moment(slope: LoadedSlope, spiral: Spiral) -> Float:
    """Moment of the load between the crest, or the exit if that lies beyond, and the entry;
    of none on a mass that comes out above the foot of the load.
    """
    ndim = spiral.arm.ndim
    ground, k = slope.ground, slope.crest
    station = spiral.exit.station
    counts = station <= ground.column(ground.stations, slope.load_foot, ndim)
    counts |= station >= ground.column(ground.stations, k, ndim)
    corner = ground.column(ground.vertices, k, ndim)
    beyond = spiral.exit.point.real > corner.real
    left = np.where(beyond, spiral.exit.point, corner)
    left_area = np.where(beyond, spiral.exit.area, ground.column(ground.areas, k, ndim))
    right = spiral.entry.point
    loaded = (right.real > left.real) & counts
    pole = spiral.pole
    arm = ((right.real - pole.real) ** 2 - (left.real - pole.real) ** 2) / 2.0
    under = (right.real * right.imag - left.real * left.imag) / 2.0
    under = under - (spiral.entry.area - left_area)
    down = pole.imag * (right.real - left.real) - under
    k_h = _across(slope.seismic_coefficient, ndim)
    return np.where(loaded, _across(slope.surcharge, ndim) * (arm + k_h * down), 0.0)


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
            angle = _angle_below(spiral, ground.column(ground.vertices, k, ndim).real)
        else:
            angle = np.broadcast_to(spiral.opening, total.shape)
        square, cube = spiral.square(angle), spiral.cube(angle)
        anchor = ground.column(ground.vertices, max(k - 1, 0), ndim)
        way = ground.column(ground.directions, k, ndim)
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


def _water_moments(
    slope: LoadedSlope, line: WaterLine, spiral: Spiral, points: int
) -> tuple[Float, Float]:
    """∫ u r² dα [kN·m/m] and the moment of the weight that water adds to the soil below it."""
    node, weight = _gauss(points)
    opening = np.asarray(spiral.opening)[..., None]
    rate = np.asarray(spiral.rate)[..., None]
    from_pole = spiral.arm[..., None] * np.exp(rate * (opening * node))
    here = spiral.pole[..., None] + from_pole
    under = np.maximum(line.level(here.real) - here.imag, 0.0)
    share = opening * weight
    ndim = spiral.arm.ndim
    water = _across(slope.water_unit_weight, ndim)
    lost = water * np.sum(share * under * np.abs(from_pole) ** 2, axis=-1)
    heavier = _across(slope.saturated_unit_weight - slope.unit_weight, ndim)
    k_h = _across(slope.seismic_coefficient, ndim + 1)
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
    way = ground.directions
    turns_up = np.any(cross(way[:, :-1], way[:, 1:]) > _UPRIGHT, axis=0)
    start, end = spiral.exit.point, spiral.entry.point
    outside = np.zeros(np.broadcast_shapes(spiral.arm.shape), dtype=bool)
    for k in np.flatnonzero(turns_up):
        corner = ground.column(ground.vertices, int(k), ndim)
        low = cross(end - start, corner - start) < -1e-12 * np.abs(end - start) ** 2
        station = ground.column(ground.stations, int(k), ndim)
        low &= (spiral.exit.station < station) & (station < spiral.entry.station)
        if not np.any(low):
            continue
        seen = np.where(low, corner - spiral.pole, 1.0) / np.where(low, spiral.arm, 1.0)
        angle = np.angle(seen)
        beyond = np.log(np.abs(seen)) > -spiral.tan_friction_angle * angle
        outside |= low & ((angle < 0.0) | (angle > spiral.opening) | beyond)
    return outside
