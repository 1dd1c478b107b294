"""A slope with its loads, and logarithmic spirals through its ground.

A spiral is given by the stations of its ends on the ground, its opening angle Δ, tan φ and the
depth of the vertical crack in which it ends, if there is one: its upper end B then lies that
far below the ground. ``log_spiral`` has the equations.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import taken
from slipmargin.stability.ground.ground_line import (
    Complex,
    Float,
    Ground,
    Place,
    Table,
    across,
)
from slipmargin.stability.ground.points import Line
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE
from slipmargin.strength import Numeric

__all__ = [
    "LEAST_SHARE",
    "WIDEST_OPENING",
    "LoadedSlope",
    "Spiral",
    "spiral_through",
    "swept",
]

WIDEST_OPENING = 3.0
"""Largest opening angle [rad]; the spiral stays convex and its ends apart up to π."""

LEAST_SHARE = 0.1
"""Least drop from the edge of a load to where a mass under it comes out, as a share of the
drop from the edge to the lowest ground in front of it."""

Flags = NDArray[np.bool_]

_NO_DECAY = -1e-15  # less than rounding, as without friction
_BISECTIONS = 40
_NEWTON_STEPS = 12
_AT_CRACK = 1e-9  # heights


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedSlope:
    """A slope without its strength: ground, weights, water, loads.

    Arrays have shape (slopes,) or (1,). ``firm_level`` is the height below which no spiral
    reaches; ``height`` the scale of the search.

    The surcharge lies between the stations ``load_near`` and ``load_far`` [m], by default
    from the vertex ``crest`` on; a mass that comes out between the vertex ``load_foot`` and
    the crest is without it. ``pool_level`` [m] is that of standing water, whose pressure is
    in the ground in any case, and on it where ``pool_stands``. A support force [kN/m] at an
    angle [deg] below horizontal acts at a station. ``crack_depth`` [m] is that of the
    deepest crack, and water stands ``crack_water`` [m] deep in it, or to the brim; it stands
    at ``crack_station`` [m], or anywhere. ``water_rise`` [m] raises the water line.

    ``on_face`` says whether ends on the pieces between the first and the last vertex are worth
    a look where no load stands above. A plain slope under its own weight is similar to its
    upper part, and the larger of the two is worse.
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
    load_near: Float | None = None
    load_far: Float | None = None
    water: Line | None = None
    water_rise: Float | None = None
    firm_level: Float | None = None
    pool_level: Float | None = None
    pool_stands: bool = True
    support_force: Float | None = None
    support_angle: Float | None = None
    support_station: Float | None = None
    crack_depth: Float | None = None
    crack_water: Float | None = None
    crack_station: Float | None = None
    on_face: bool = False

    @property
    def load_begins(self) -> Float:
        """Station at which the surcharge begins [m]."""
        crest = self.ground.stations[:, self.crest]
        return crest if self.load_near is None else self.load_near

    @property
    def crack_share(self) -> Float:
        """Deepest crack over the rise from exit to entry: a mass that comes out on the face is
        no more cracked than the slope. Else a crack close behind the face breaks off crumbs.
        """
        deepest = np.zeros(1) if self.crack_depth is None else self.crack_depth
        return np.maximum(DEEPEST_SHARE, deepest / self.height)

    @property
    def load_apart(self) -> Flags:
        """Whether the load stands too far behind the crest to break off mere crumbs of it."""
        back = self.load_begins - self.ground.stations[:, self.crest]
        return np.asarray(back >= LEAST_SHARE * self.ground.drop(self.crest))

    def water_level(self, x: Float) -> Float:
        """Height of the raised water line [m] over x [m] of shape (slopes, ...)."""
        if self.water is None:
            return np.full(x.shape, -np.inf)
        level = np.asarray(self.water.level(x))
        return level if self.water_rise is None else level + across(self.water_rise, x.ndim)

    @property
    def wet(self) -> bool:
        """Whether pore pressure has to be summed along a spiral."""
        return self.water is not None or self.pool_level is not None

    @property
    def scales(self) -> bool:
        """Whether loads and water grow with γ and the size of the slope; then no edge of them
        makes a ridge of what spirals require either.
        """
        fixed = (self.water, self.firm_level, self.pool_level, self.support_force, self.crack_depth)
        return all(one is None for one in fixed) and not np.any(self.surcharge > 0.0)

    def take(self, rows: slice | NDArray[np.intp]) -> LoadedSlope:
        """Some of the slopes."""
        some, ground = taken(self, rows), self.ground
        return some if len(ground.vertices) == 1 else replace(some, ground=taken(ground, rows))


def swept(radius: Numeric, angle: Numeric, tan_friction_angle: Numeric) -> Float:
    """∫ r² dα [m²] over an angle [rad] from where the radius is that [m]."""
    decay = np.minimum(-2.0 * tan_friction_angle * angle, _NO_DECAY)
    return np.square(radius) * angle * (np.expm1(decay) / decay)


@dataclass(frozen=True, slots=True)
class Spiral:
    """Spirals and their ends: ``arm`` is A seen from the pole, x + i y [m]. ``foot`` is the
    upper end B, at the foot of the crack whose top is the ``entry`` on the ground; the same
    place where there is no crack.
    """

    exit: Place
    entry: Place
    foot: Place
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
        turned: Complex = self.arm * np.square(np.abs(self.arm)) * (np.expm1(rate * angle) / rate)
        return turned

    @property
    def far(self) -> Complex:
        """B seen from the pole [m]."""
        return self.arm + self.foot.point - self.exit.point

    @property
    def upright(self) -> Flags:
        """Whether the spiral still goes to the right at its entry, and so nowhere overhangs."""
        far = self.far
        return np.asarray(far.imag + self.tan_friction_angle * far.real < 0.0)

    @property
    def lowest(self) -> Float:
        """Height of the lowest point [m]."""
        ends = np.minimum(self.exit.point.imag, self.foot.point.imag)
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
    crack: Float | None = None,
    upright: bool = False,
) -> Spiral:
    """Spirals from exit to entry stations [m]; shapes broadcast, the first axis runs over the
    slopes. The opening [rad] is cut where the spiral would pass into firm ground, and with
    ``upright`` also where it would overhang at its entry. ``crack`` is the depth [m] of the
    crack that each ends in, as far as one can stand there.
    """
    exit_, entry = slope.ground.at(start), slope.ground.at(end)
    foot = entry if crack is None else _foot(slope, exit_, entry, crack)
    spiral = _spiral(exit_, entry, foot, opening, tan_friction_angle)
    if slope.firm_level is not None:
        firm = across(slope.firm_level, spiral.arm.ndim)
        spiral = _narrowed(spiral, spiral.lowest < firm, _opening_to_firm, firm)
    if upright:
        spiral = _narrowed(spiral, ~spiral.upright, _opening_to_upright)
    return spiral


def _spiral(exit_: Place, entry: Place, foot: Place, opening: Float, tan: Float) -> Spiral:
    chord = foot.point - exit_.point
    return Spiral(exit_, entry, foot, opening, tan, chord / np.expm1((1j - tan) * opening))


def _foot(slope: LoadedSlope, exit_: Place, entry: Place, crack: Float) -> Place:
    """The place below the entry, the way down the crack counted as ground. No crack stands in
    a steep piece of ground.
    """
    ndim = entry.station.ndim
    on_flat = np.ones(entry.station.shape, dtype=bool)
    for k in slope.ground.steep_pieces:
        before = across(slope.ground.stations[:, k - 1], ndim)
        after = across(slope.ground.stations[:, k], ndim)
        on_flat &= (entry.station <= before) | (entry.station >= after)
    if slope.crack_station is not None:
        place = across(slope.crack_station, ndim)
        on_flat &= np.abs(entry.station - place) <= _AT_CRACK * across(slope.height, ndim)
    most = across(slope.crack_share, ndim) * (entry.point.imag - exit_.point.imag)
    depth = np.where(on_flat, np.clip(crack, 0.0, np.maximum(most, 0.0)), 0.0)
    return entry.straight_to(entry.point - 1j * depth, entry.station)


def _narrowed(spiral: Spiral, where: Flags, widest: Callable[..., Float], *given: Float) -> Spiral:
    """Spirals with the widest opening that fits, ``where`` they do not fit as they are."""
    if not np.any(where):
        return spiral

    def of(values: Table) -> Table:
        chosen: Table = np.broadcast_to(values, where.shape)[where]
        return chosen

    start, end = of(spiral.exit.point), of(spiral.foot.point)
    tan = of(spiral.tan_friction_angle)
    opening = np.array(np.broadcast_to(spiral.opening, where.shape))
    opening[where] = widest(start, end, of(spiral.opening), tan, *map(of, given))
    return _spiral(spiral.exit, spiral.entry, spiral.foot, opening, spiral.tan_friction_angle)


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
