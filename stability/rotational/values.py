"""What a rotational check gives besides its factor: the critical spiral and what it carries."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipmargin.stability.fields import given
from slipmargin.stability.ground.flat import taken
from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.stability.rotational.critical_spiral import Critical
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.log_spiral import water_at
from slipmargin.stability.rotational.spiral import LoadedSlope, Spiral, swept
from slipmargin.stability.rotational.spiral_loads import crack_thrust
from slipmargin.strength import Numeric
from slipmargin.strength.traced import worded, written_as

__all__ = ["RotationalValues", "at_failure", "follow_spiral", "spiral_values"]

_STATIONS, _AT_ONCE = 128, 4096
_TANGENT = "By a tangent to the curved envelope."
_SEARCH = "Found by a search: the spiral with the lowest factor."


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class SpiralValues:
    """The critical spiral and what it carries.

    Spiral and stresses are nan where no single spiral governs (no cohesion, endless ground, a
    surface without a worst size), and in large runs over strengths alone. The spiral runs
    from the exit radius, turning counter-clockwise by the opening angle, to the entry radius.
    """

    __slots__ = ()

    slope_height: Numeric = given(
        "m", "H", "Height of the slope, lowest to highest ground.", origin="From the ground."
    )
    factor_of_safety: Numeric = given(
        "",
        "F",
        "Factor of safety against sliding.",
        origin="Found by a search: the lowest over all spirals that the strength reduced by it "
        "just holds.",
    )
    effective_normal_stress: Numeric = given(
        "kPa",
        "σ′_n",
        "Mean effective normal stress on the slip surface, weighted by the square of its "
        "distance from the pole.",
        origin="From the change of the cohesion that the surface needs with tan φ_m: by virtual "
        "work it is that change.",
    )
    reduced_cohesion: Numeric = given("kPa", "c_m", "Cohesion at failure.", origin=_TANGENT)
    reduced_friction_angle: Numeric = given(
        "deg", "φ_m", "Friction angle at failure.", origin=_TANGENT
    )
    stability_number: Numeric = given(
        "",
        "N",
        "γH/c at failure for the reduced strength; no cohesion: nan.",
        source="Taylor (1937), the inverse of his number",
    )
    pole_x: Numeric = given("m", "x_P", "Pole of the spiral.", origin=_SEARCH)
    pole_y: Numeric = given("m", "y_P", "Pole of the spiral.", origin=_SEARCH)
    exit_x: Numeric = given("m", "x_A", "Lower end of the slip surface.", origin=_SEARCH)
    exit_y: Numeric = given("m", "y_A", "Lower end of the slip surface.", origin=_SEARCH)
    entry_x: Numeric = given("m", "x_B", "Upper end of the slip surface.", origin=_SEARCH)
    entry_y: Numeric = given("m", "y_B", "Upper end of the slip surface.", origin=_SEARCH)
    exit_radius: Numeric = given("m", "r_A", "Pole to exit.")
    entry_radius: Numeric = given("m", "r_B", "Pole to entry.")
    opening_angle: Numeric = given(
        "deg", "Δ", "Angle at the pole from exit to entry.", origin=_SEARCH
    )
    depth_below_toe: Numeric = given(
        "m",
        "d_t",
        "Depth of the slip surface below the lowest ground; 0: it stays above.",
        origin="From the lowest point of the spiral.",
        hangs_on=("d_t",),
    )
    tension_crack_depth: Numeric = given(
        "m",
        "z_B",
        "Depth below the ground at which the slip surface ends in the crack.",
        origin=_SEARCH,
        hangs_on=("z_B",),
    )
    crack_thrust: Numeric = given(
        "kN/m",
        "V",
        "Thrust of the water in the crack.",
        origin="Triangle of pressure from its level down to the slip surface.",
        hangs_on=("V",),
    )
    driving_moment: Numeric = given(
        "kN·m/m",
        "M_d",
        "Moment of all loads about the pole, water included.",
        origin="Integrated over the mass and along the spiral.",
    )
    resisting_area: Numeric = given("m²", "A_r", "∫ r² dα along the spiral.")
    resisting_moment: Numeric = given(
        "kN·m/m", "M_r", "Moment of the reduced cohesion about the pole."
    )
    mean_effective_stress: Numeric = given(
        "kPa",
        "σ′_mean",
        "Estimate: vertical weight above the slip surface less pore pressure, mean over its "
        "length.",
        origin="Integrated along the spiral.",
    )
    highest_effective_stress: Numeric = given(
        "kPa",
        "σ′_max",
        "The same estimate where it is highest.",
        origin="Found by a search along the spiral.",
    )

    yield_seismic_coefficient: Numeric = given(
        "",
        "k_y",
        "Horizontal coefficient at which the factor is 1.",
        origin="Found by a search: the root over the hardest spirals at the full strength.",
    )
    drawdown_factor: Numeric = given(
        "",
        "F_d",
        "Factor with the pool gone and the water still in the ground; no pool: nan.",
        origin="Found by a search, as F.",
        hangs_on=("h_p",),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RotationalValues(NewmarkValues, SpiralValues):
    """The critical spiral, what it carries, and displacements in shaking."""


def follow_spiral(slope: RotationalInputs, found: RotationalValues) -> RotationalValues:
    """The values again, with what the search found taken from ``found``."""
    strength = slope.soil.strength
    pair: Any = strength
    if strength.curve is not None:
        if not found.effective_normal_stress > 0.0:
            return found
        pair = strength.curve.tangent_at(found.effective_normal_stress)
    height = found.slope_height
    if slope.height is not None:
        height = worded(slope.height, "As given.")
    factor = found.factor_of_safety
    reduced, turned = at_failure(pair.cohesion, pair.tan_friction_angle, factor)
    exit_radius = _radius(found.exit_x, found.exit_y, found.pole_x, found.pole_y)
    entry_radius = _radius(found.entry_x, found.entry_y, found.pole_x, found.pole_y)
    opening = np.radians(found.opening_angle)
    area = _between(exit_radius, entry_radius, np.tan(np.radians(turned)), opening)
    with np.errstate(divide="ignore"):
        number = slope.soil.unit_weight * height / reduced
    if float(turned) == 0.0:
        area = exit_radius**2 * opening
    return replace(
        found,
        slope_height=height,
        reduced_cohesion=reduced,
        reduced_friction_angle=turned,
        stability_number=number,
        exit_radius=exit_radius,
        entry_radius=entry_radius,
        resisting_area=area,
        resisting_moment=reduced * area,
    )


def at_failure(cohesion: Numeric, tan: Numeric, factor: Numeric) -> tuple[Numeric, Numeric]:
    """Cohesion [kPa] and friction angle [deg] of a strength divided by its factor of safety."""
    return cohesion / factor, np.degrees(np.arctan(tan / factor))


def _radius(x: Numeric, y: Numeric, pole_x: Numeric, pole_y: Numeric) -> Numeric:
    return np.sqrt((pole_x - x) ** 2 + (pole_y - y) ** 2)


@written_as("({0}^2 - {1}^2) / (2 * {2})")
def _between(
    exit_radius: Numeric, entry_radius: Numeric, tan: Numeric, opening: Numeric
) -> Numeric:
    """∫ r² dα [m²] between two radii of a spiral [m], over an angle [rad]."""
    del entry_radius  # it follows from the other and the angle
    return swept(exit_radius, opening, tan)


def spiral_values(slope: LoadedSlope, critical: Critical, tan: Float) -> dict[str, Float]:
    """The values of critical spirals, for unreduced tan φ′ of shape (slopes,)."""
    parts = []
    for first in range(0, tan.size, _AT_ONCE):
        rows = slice(first, first + _AT_ONCE)
        some, one = slope.take(rows), taken(critical, rows)
        spiral = one.spirals(some, tan[rows] * one.inverse)
        found = _described(some, spiral) | {"driving_moment": one.driving[:, None]}
        shape = spiral.arm.shape
        parts.append({name: np.broadcast_to(v, shape)[:, 0] for name, v in found.items()})
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def _described(slope: LoadedSlope, spiral: Spiral) -> dict[str, Float]:
    """Values of shape (slopes, 1)."""
    stress, length = _overburden(slope, spiral)
    a, b, pole = spiral.exit.point, spiral.foot.point, spiral.pole
    floor = np.min(slope.ground.vertices.imag, axis=1, keepdims=True)
    return {
        "pole_x": pole.real,
        "pole_y": pole.imag,
        "exit_x": a.real,
        "exit_y": a.imag,
        "entry_x": b.real,
        "entry_y": b.imag,
        "exit_radius": _radius(a.real, a.imag, pole.real, pole.imag),
        "entry_radius": _radius(b.real, b.imag, pole.real, pole.imag),
        "opening_angle": np.degrees(spiral.opening),
        "depth_below_toe": np.maximum(floor - spiral.lowest, 0.0),
        "tension_crack_depth": spiral.entry.point.imag - spiral.foot.point.imag,
        "crack_thrust": crack_thrust(slope, spiral),
        "resisting_area": spiral.square(spiral.opening),
        "mean_effective_stress": np.average(stress, axis=1, weights=length, keepdims=True),
        "highest_effective_stress": np.max(stress, axis=1, keepdims=True),
    }


def _overburden(slope: LoadedSlope, spiral: Spiral) -> tuple[Float, Float]:
    """Vertical effective stress [kPa] at even angles along each spiral, and the length [m]
    that each of them stands for, up to a factor.
    """
    column = (slice(None), None)
    angle = spiral.opening * (np.arange(_STATIONS) + 0.5) / _STATIONS
    point = spiral.point(angle)
    ground = slope.ground.level(point.real)
    pressure, soaked = water_at(slope, point)
    heavier = slope.saturated_unit_weight - slope.unit_weight
    stress = slope.unit_weight[column] * (ground - point.imag) - pressure
    stress = stress + heavier[column] * soaked
    if slope.pool_level is not None and slope.pool_stands:
        over = np.maximum(slope.pool_level[column] - ground, 0.0)
        stress = stress + slope.water_unit_weight[column] * over
    loaded = point.real > slope.ground.at(slope.load_begins[column]).point.real
    if slope.load_far is not None:
        loaded &= point.real < slope.ground.at(slope.load_far[column]).point.real
    return stress + slope.surcharge[column] * loaded, np.abs(point - spiral.pole)
