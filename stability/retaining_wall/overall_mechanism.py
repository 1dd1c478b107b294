"""A rigid rotation that takes a wall with it: the kernel of the check of overall stability.

The slip surface leaves the ground at A, level with the ground in front and at or before the
toe; passes below the base; comes up past the heel at b, on the level of the underside; and
meets the backfill's surface at E. Below that level lies the foundation soil, above it,
behind the wall, the backfill. About one pole the surface is a log-spiral in each soil, with
the friction angle of that soil,

    r = r_A exp(-ψ tan φ_2) from A to b,    r = r_b exp(-(ψ - ψ_b) tan φ_1) from b to E

so that σ′ and its friction σ′ tan φ pass through the pole on either side, and the moment
about the pole needs no stress distribution:

    Σ c ∫ r² dψ = M(weights, surcharge, shaking) + Σ tan φ ∫ u r² dψ

with c and tan φ already divided by the factor of safety. Wall and soil on the heel are
weights inside the mass. Loads on the backfill and soil on the toe count where they drive only.

Areas and first moments are closed: sectors ∫ r³ exp(iα) dα / 3 and triangles. Pore pressure
and the weight that water adds are Gauss sums along the two arcs.

Sources: Chen (1975), Limit Analysis and Soil Plasticity, ch. 9, for the rotation about one
pole in layers as a kinematic bound, each layer with its own spiral; otherwise as
:mod:`stability.rotational.log_spiral`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Rotation", "WallInGround", "rotation"]

Float = NDArray[np.float64]
Complex = NDArray[np.complex128]

_BISECTIONS, _NEWTON = 10, 5
_NODES, _WEIGHTS = (part / 2.0 for part in np.polynomial.legendre.leggauss(32))
_NODES = _NODES + 0.5  # on an arc from 0 to 1
_TOUCH = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class WallInGround:
    """Walls in their ground: every array of shape (walls, 1).

    Parameters
    ----------
    width, height
        Of the wall, from the underside [m].
    embedment
        Ground in front, above the underside [m].
    top, rise
        Back edge of the top from the toe [m], and tangent of the backfill's slope.
    corners
        Corners of the wall and its key, x + i y [m], shape (walls, 1, corners).
    block, block_centre
        Weight of the wall, its key (less the soil in its place) and the soil on the heel
        [kN/m], and its centre, x + i y [m].
    toe_soil, toe_centre
        The same of the soil on the toe.
    unit_weights, wet_unit_weights
        Of backfill and foundation [kN/m³], above water and below it.
    behind, before
        Level of the water behind the heel and in front of the toe, above the underside [m];
        -inf is dry.
    water_unit_weight, seismic_coefficient
        [kN/m³], [-].
    strips
        Loads on the backfill: near and far edge from the toe [m] and pressure [kPa].
    tangents, cohesions
        tan φ [-] and c [kPa] of backfill and foundation.
    """

    width: Float
    height: Float
    embedment: Float
    top: Float
    rise: Float
    corners: Complex
    block: Float
    block_centre: Complex
    toe_soil: Float
    toe_centre: Complex
    unit_weights: tuple[Float, Float]
    wet_unit_weights: tuple[Float, Float]
    behind: Float
    before: Float
    water_unit_weight: Float
    strips: tuple[tuple[Float, Float, Float], ...]
    seismic_coefficient: Float
    tangents: tuple[Float, Float]
    cohesions: tuple[Float, Float]

    @property
    def edged(self) -> bool:
        """Whether a load ends on the backfill: what a rotation lacks has a kink there."""
        return any(bool(np.any(np.isfinite(far))) for _, far, _ in self.strips)

    def take(self, rows: NDArray[np.intp] | slice) -> WallInGround:
        """Some of the walls."""

        def some(value: object) -> object:
            if isinstance(value, tuple):
                return tuple(some(one) for one in value)
            return value[rows]  # type: ignore[index]

        return WallInGround(**{f.name: some(getattr(self, f.name)) for f in fields(self)})  # type: ignore[arg-type]

    def reduced(self, factor: Float) -> WallInGround:
        """The same with strengths divided by a factor of each wall."""
        (tan_1, tan_2), (c_1, c_2), by = self.tangents, self.cohesions, factor.reshape(-1, 1)
        return replace(self, tangents=(tan_1 / by, tan_2 / by), cohesions=(c_1 / by, c_2 / by))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotation:
    """Rotations of walls, shape (walls, rotations): [m], [kN·m/m] and [m²].

    Parameters
    ----------
    missing_cohesion
        Cohesion along the whole surface that the balance lacks [kPa]: below 0 where the
        ground holds more than is asked for, -inf where the surface is none.
    pole, exit, heel, entry
        x + i y.
    opening, opening_behind
        Angles at the pole from A to b and from b to E [rad].
    driving
        Moment of weights, surcharge, shaking and of the friction that water takes away.
    resisting
        ∫ r² dψ in the foundation and in the backfill.
    """

    missing_cohesion: Float
    pole: Complex
    exit: Complex
    heel: Complex
    entry: Complex
    opening: Float
    opening_behind: Float
    driving: Float
    resisting: tuple[Float, Float]


def _deep(value: NDArray[Any]) -> NDArray[Any]:
    """With an axis for corners, or for places along an arc."""
    return value[..., None]


def _cross(p: Complex, q: Complex) -> Float:
    return p.real * q.imag - p.imag * q.real


def _triangle(p: Complex, q: Complex) -> Complex:
    """First moment about the pole of the triangle it forms with two points."""
    moment: Complex = _cross(p, q) * (p + q) / 6.0
    return moment


def _square(arm: Complex, tan: Float, angle: Float) -> Float:
    decay = -2.0 * tan * angle
    even = np.abs(decay) < 1e-12
    mean = np.where(even, 1.0, np.expm1(decay) / np.where(even, 1.0, decay))
    square: Float = np.abs(arm) ** 2 * angle * mean
    return square


def _sector(arm: Complex, tan: Float, angle: Float) -> Complex:
    rate = 1j - 3.0 * tan
    moment: Complex = arm * np.abs(arm) ** 2 * np.expm1(rate * angle) / rate / 3.0
    return moment


@dataclass(frozen=True, slots=True)
class _Spirals:
    """Arms from the pole to A, b and E, and the angles at it from A to b and from b to E [rad]."""

    pole: Complex
    a: Complex
    b: Complex
    e: Complex
    opening: Float
    beyond: Float


def rotation(wall: WallInGround, ahead: Float, behind: Float, opening: Float) -> Rotation:
    """Moment balance of rotations, of shape (walls, rotations): A is ``ahead`` of the toe and b
    ``behind`` the heel [m], with the angle ``opening`` at the pole between them [rad].
    """
    tan_1, tan_2 = wall.tangents
    start = -ahead + 1j * wall.embedment
    heel: Complex = np.asarray(wall.width + behind, dtype=complex)
    with np.errstate(all="ignore"):
        arm = (heel - start) / np.expm1((1j - tan_2) * opening)
        pole = start - arm
        arm_b = heel - pole
        beyond, meets = _to_surface(wall, pole, arm_b)
        arm_e = arm_b * np.exp((1j - tan_1) * beyond)
        spirals = _Spirals(pole, arm, arm_b, arm_e, opening, beyond)
        entry = pole + arm_e
        sound = meets & (arm.imag < 0.0) & (entry.real >= wall.top) & ~_cuts_wall(wall, spirals)
        below, above = _first_moments(wall, spirals)
        gamma_1, gamma_2 = wall.unit_weights
        mass = gamma_2 * below + gamma_1 * above + wall.block * (wall.block_centre - pole)
        k_h = wall.seismic_coefficient
        driving = mass.real - k_h * mass.imag
        on_toe = wall.toe_soil * (wall.toe_centre - pole)
        driving = driving + np.maximum(on_toe.real - k_h * on_toe.imag, 0.0)
        driving = driving + _load_moment(wall, pole, entry)
        if np.any(np.isfinite(wall.behind)):
            for one, angle, tan in ((arm, opening, tan_2), (arm_b, beyond, tan_1)):
                lost, added = _water(wall, pole, one, tan, angle)
                driving = driving + tan * lost + added
        resisting = (_square(arm, tan_2, opening), _square(arm_b, tan_1, beyond))
        held = wall.cohesions[1] * resisting[0] + wall.cohesions[0] * resisting[1]
        whole = resisting[0] + resisting[1]
        missing = (driving - held) / whole
    sound &= np.isfinite(missing) & (whole > 0.0)
    return Rotation(
        missing_cohesion=np.where(sound, missing, -np.inf),
        pole=pole,
        exit=start,
        heel=heel,
        entry=entry,
        opening=opening,
        opening_behind=beyond,
        driving=driving,
        resisting=resisting,
    )


def _to_surface(wall: WallInGround, pole: Complex, arm: Complex) -> tuple[Float, NDArray[np.bool_]]:
    """Angle [rad] from b to the backfill's surface, and whether the spiral gets there.

    Its height above that surface grows until it runs parallel to it, back over the mass.
    """
    tan = wall.tangents[0]
    slope = np.arctan(wall.rise)
    turned = np.exp(-1j * slope)
    level = ((wall.top + 1j * wall.height - pole) * turned).imag
    rate = 1j - tan
    furthest = slope + np.pi / 2.0 - np.arctan(tan) - np.angle(arm)

    def over(angle: Float) -> Float:
        height: Float = (arm * np.exp(rate * angle) * turned).imag - level
        return height

    meets = (furthest > 0.0) & (over(np.zeros_like(furthest)) < 0.0) & (over(furthest) >= 0.0)
    low, high = np.zeros_like(furthest), np.maximum(furthest, 0.0)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        under = over(middle) < 0.0
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    angle = 0.5 * (low + high)
    for _ in range(_NEWTON):
        here = arm * np.exp(rate * angle)
        speed = (rate * here * turned).imag
        step = ((here * turned).imag - level) / np.where(speed != 0.0, speed, np.inf)
        angle = np.clip(angle - step, low, high)
    return angle, meets


def _cuts_wall(wall: WallInGround, spirals: _Spirals) -> NDArray[np.bool_]:
    """Whether a corner of the wall lies outside the spirals."""
    seen = wall.corners - _deep(spirals.pole)
    turn = np.angle(seen / _deep(spirals.a))
    past = turn - _deep(spirals.opening)
    # a corner on the toe may itself be the exit
    first = (turn > 0.0) & (past <= 0.0)
    second = (past > 0.0) & (past <= _deep(spirals.beyond))
    in_first = np.abs(_deep(spirals.a)) * np.exp(-_deep(wall.tangents[1]) * turn)
    in_second = np.abs(_deep(spirals.b)) * np.exp(-_deep(wall.tangents[0]) * past)
    reach = np.abs(seen) * (1.0 - _TOUCH)
    cut = (first & (reach > in_first)) | (second & (reach > in_second))
    return np.asarray(np.any(cut, axis=-1))


def _first_moments(wall: WallInGround, spirals: _Spirals) -> tuple[Complex, Complex]:
    """Of the mass below the underside and in front, and of the backfill behind the heel."""
    a, b, e, pole = spirals.a, spirals.b, spirals.e, spirals.pole
    toe, toe_ground = -pole, 1j * wall.embedment - pole
    below = _sector(a, wall.tangents[1], spirals.opening)
    below = below + _triangle(b, toe) + _triangle(toe, toe_ground) + _triangle(toe_ground, a)
    heel = wall.width - pole
    surface = wall.height + (wall.width - wall.top) * wall.rise
    over_heel = wall.width + 1j * surface - pole
    above = _triangle(heel, b) + _sector(b, wall.tangents[0], spirals.beyond)
    above = above + _triangle(e, over_heel) + _triangle(over_heel, heel)
    return below, above


def _load_moment(wall: WallInGround, pole: Complex, entry: Complex) -> Float:
    """Of loads on the backfill: their weight where it drives, their shaking in full."""
    moment = np.zeros_like(entry.real)
    for near, far, pressure in wall.strips:
        left, right = np.maximum(near, pole.real), np.minimum(entry.real, far)
        drives = np.maximum(right - left, 0.0)
        weight = drives * (0.5 * (right + left) - pole.real)
        loaded = np.maximum(right - near, 0.0)
        level = wall.height + (near - wall.top + 0.5 * loaded) * wall.rise
        shaking = wall.seismic_coefficient * loaded * (pole.imag - level)
        moment = moment + pressure * (weight + np.maximum(shaking, 0.0))
    return moment


def _water(
    wall: WallInGround, pole: Complex, arm: Complex, tan: Float, angle: Float
) -> tuple[Float, Float]:
    """∫ u r² dψ along one arc, and the moment of the weight that water adds above it."""
    rate = _deep(1j - tan)
    from_pole = _deep(arm) * np.exp(rate * (_deep(angle) * _NODES))
    point = _deep(pole) + from_pole
    x, y = point.real, point.imag
    share = np.clip(x / _deep(wall.width), 0.0, 1.0)
    wet = np.isfinite(wall.behind) & np.isfinite(wall.before)
    before = _deep(np.where(wet, wall.before, 0.0))
    level = before + share * (_deep(np.where(wet, wall.behind, 0.0)) - before)
    level = np.where(_deep(wet), level, -np.inf)
    pressure = _deep(wall.water_unit_weight) * np.maximum(level - y, 0.0)
    step = _deep(angle) * _WEIGHTS
    lost = np.sum(pressure * np.abs(from_pole) ** 2 * step, axis=-1)
    ceiling = np.where(x < 0.0, _deep(wall.embedment), 0.0)
    k_h = _deep(wall.seismic_coefficient)
    width = step * (rate * from_pole).real
    added = np.zeros_like(lost)
    # the backfill: right of the heel, or up past it
    in_fill = (x > _deep(wall.width)) | ((x > 0.0) & (y > 0.0))
    for number, (floor, top) in enumerate(
        ((np.maximum(y, 0.0), np.where(in_fill, level, -np.inf)), (y, np.minimum(level, ceiling)))
    ):
        heavier = _deep(wall.wet_unit_weights[number] - wall.unit_weights[number])
        column = np.maximum(np.where(np.isfinite(top), top, floor) - floor, 0.0)
        arm_y = floor + 0.5 * column - _deep(pole.imag)
        added = added + np.sum(heavier * column * (from_pole.real - k_h * arm_y) * width, axis=-1)
    return lost, added
