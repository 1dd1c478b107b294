"""What a layered slope gives besides its factor: the governing surface and its equilibrium."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability.fields import given, given_if_any
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.stability.layered_slope.factors import strengths_on
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles, Slices, slices_of
from slipmargin.stability.layered_slope.spencer import (
    Strengths,
    bishop,
    interslice,
    normal_force,
)
from slipmargin.strength import Numeric

__all__ = ["Described", "LayeredSlopeValues", "crack_thrust", "described", "surface_columns"]

_SEARCH = "Found by a search, or as given: the circle with the lowest factor."
_SUM = "Summed over the slices."
_CENTRE, _LOWER = "Centre of the slip circle.", "Lower end of the slip surface."
_UPPER = "Upper end of the slip surface, at the foot of the crack."
_ROUNDING = 1e-9  # of the weight


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class SurfaceValues:
    """The governing slip surface and the sums of its equilibrium.

    With the weight W, loads and uplift of each slice as V, H, M and U (``slices``), and in
    Spencer's solution n = d / F (``spencer``).
    """

    __slots__ = ()

    slope_height: Numeric = given(
        "m", "H", "Height of the slope, lowest to highest ground.", origin="From the ground line."
    )
    circle_x: Numeric = given("m", "x_c", _CENTRE, origin=_SEARCH)
    circle_y: Numeric = given("m", "y_c", _CENTRE, origin=_SEARCH)
    circle_radius: Numeric = given("m", "r", "Radius of the slip circle.", origin=_SEARCH)
    exit_x: Numeric = given("m", "x_A", _LOWER, origin=_SEARCH)
    exit_y: Numeric = given("m", "y_A", _LOWER, origin=_SEARCH)
    entry_x: Numeric = given("m", "x_B", _UPPER, origin=_SEARCH)
    entry_y: Numeric = given("m", "y_B", _UPPER, origin=_SEARCH)
    crack_depth: Numeric = given_if_any(
        "m",
        "z_c",
        "Depth of the tension crack in which the surface ends.",
        origin="As given, or found by the search.",
    )
    slip_depth: Numeric = given(
        "m",
        "d",
        "Greatest depth of the slip surface below ground, measured vertically.",
        origin="From circle, firm ground and ground line.",
    )
    weight: Numeric = given("kN/m", "W", "Weight of the moving soil.", origin=_SUM)
    crack_water_height: Numeric = given_if_any(
        "m",
        "h_w",
        "Water over the foot of the crack, no lower than the water in the slope.",
        origin="As given, to the brim, or to the water in the slope or the pool.",
    )
    crack_thrust: Numeric = given(
        "kN/m", "P_w", "Thrust of water in the crack.", hangs_on=("h_w", "z_c")
    )
    interslice_angle: Numeric = given(
        "deg",
        "θ",
        "Inclination of the forces between slices, Spencer's second unknown.",
        origin="Found together with F, so that forces and moments are in equilibrium.",
    )
    force_resistance: Numeric = given(
        "kN/m",
        "S_R",
        "Strength along the slip surface for the equilibrium of forces: Σ R_i / n_i over the "
        "slices.",
        origin=_SUM,
    )
    force_drive: Numeric = given(
        "kN/m",
        "S_D",
        "Drive along the slip surface for the equilibrium of forces: Σ D_i / n_i over the slices.",
        origin=_SUM,
    )
    moment_resistance: Numeric = given(
        "kN·m/m",
        "M_R",
        "Strength for the equilibrium of moments about the centre: r Σ R_i m_i / n_i.",
        origin=_SUM,
    )
    moment_drive: Numeric = given(
        "kN·m/m",
        "M_D",
        "Drive for the equilibrium of moments about the centre: r Σ D_i m_i / n_i - Σ M_i.",
        origin=_SUM,
    )
    bishop_resistance: Numeric = given(
        "kN·m/m",
        "M_RB",
        "Moment of the strength about the centre, by Bishop's simplified normal forces.",
        origin=_SUM,
    )
    bishop_drive: Numeric = given(
        "kN·m/m", "M_DB", "Moment of weight, loads and water about the centre.", origin=_SUM
    )
    bishop_factor: Numeric = given(
        "", "F_B", "Bishop's simplified factor of the same surface.", source="Bishop (1955)"
    )
    factor_by_forces: Numeric = given(
        "", "F_f", "Factor by the equilibrium of forces.", source="Spencer (1967)"
    )
    factor_by_moments: Numeric = given(
        "", "F_m", "Factor by the equilibrium of moments, which has to be the same."
    )
    factor_of_safety: Numeric = given("", "F", "Factor of safety against sliding.")
    least_share: Numeric = given(
        "",
        "n_min",
        "Least n over the slices; near zero a base would carry without limit.",
        origin="From the slices.",
    )
    effective_normal_stress: Numeric = given(
        "kPa",
        "σ′_n",
        "Mean effective normal stress on the slip surface.",
        origin="From the normal forces on the slices, over its length.",
    )
    interslice_tension: Numeric = given_if_any(
        "kN/m",
        "E_t",
        "Largest pull between slices that the equilibrium asks for.",
        origin="From the forces between slices.",
    )
    shallow_factor: Numeric = given(
        "",
        "F_s",
        "Lowest factor of surfaces shallower than the least depth, where that is lower.",
        origin="Found by the search.",
    )
    yield_seismic_coefficient: Numeric = given(
        "",
        "k_y",
        "Horizontal coefficient at which the lowest factor is 1; 0 where it is below 1 without "
        "shaking. Of a single slope with shaking or a motion, elsewhere nan.",
        origin="Found by searches: the root of the circle that governs there.",
    )
    drawdown_factor: Numeric = given(
        "",
        "F_d",
        "Factor with the pool gone and the water still in the ground; no pool: nan.",
        origin="Found as F, on the circle that governs then.",
        hangs_on=("h_p",),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LayeredSlopeValues(NewmarkValues, SurfaceValues):
    """The governing slip surface, its equilibrium, and displacements in shaking.

    ``next_lowest`` holds a few other surfaces with low factors, as points from exit to entry,
    for drawing; of arrays there are none.
    """

    next_lowest: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class Described:
    """A surface of each sample with its slices and forces, for values and notices.

    ``normal`` is the effective normal force on each base [kN/m] and ``between`` the horizontal
    force between slices at each side, positive in compression [kN/m].
    """

    circles: Circles
    slices: Slices
    held: Strengths
    factor: Float
    tangent: Float
    normal: Float
    between: Float
    bishop: Float

    @property
    def share(self) -> Float:
        """The share n = d / F on each base in Spencer's solution [-]."""
        s, k, f = self.slices, self.tangent[..., None], self.factor[..., None]
        lost: Float = self.held.tan_friction_angle * (s.sin - k * s.cos) / f
        return s.cos + k * s.sin + lost


def described(
    section: Section, circles: Circles, factor: Float, tangent: Float, count: int
) -> Described:
    """Slices and forces of one circle a sample; arrays of shape (samples, 1)."""
    slices = slices_of(section, circles, count)
    lam = np.where(np.isfinite(tangent), tangent, 0.0)
    held = strengths_on(section, slices, factor, lam)
    other, share = bishop(slices, held, steps=60)
    other = np.where(share > 0.0, other, np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        normal = normal_force(slices, held, factor, lam)
        e = interslice(slices, held, factor, lam)
    forces = np.cumsum(e[..., ::-1], axis=-1)[..., ::-1]
    between = np.concatenate((forces, np.zeros_like(forces[..., :1])), axis=-1)
    return Described(circles, slices, held, factor, tangent, normal, between, other)


def surface_columns(section: Section, one: Described, shallow: Float) -> dict[str, Float]:
    """The values of surfaces by name, each of shape (samples,); nan where there is no factor."""
    s, held, circles, factor = one.slices, one.held, one.circles, one.factor
    resist = held.cohesion + held.tan_friction_angle * s.pressing
    weight = np.sum(s.soil_weight, axis=-1)
    pull = -np.min(one.between, axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        share, arm = one.share, one.tangent[..., None] * s.across - s.up
        turned, pushed = _bishop_moments(s, held, one.bishop)
        table = {
            "circle_x": circles.x,
            "circle_y": circles.y,
            "circle_radius": circles.radius,
            **dict(zip(("exit_x", "exit_y", "entry_x", "entry_y"), circles.ends, strict=True)),
            "crack_depth": circles.crack,
            "slip_depth": s.depth,
            "weight": weight,
            "crack_water_height": s.crack_water,
            "crack_thrust": crack_thrust(
                section.amounts.water_unit_weight[:, None], s.crack_water, circles.crack
            ),
            "interslice_angle": np.degrees(np.arctan(one.tangent)),
            "force_resistance": np.sum(resist / share, axis=-1),
            "force_drive": np.sum(s.driving / share, axis=-1),
            "moment_resistance": s.radius * np.sum(resist * arm / share, axis=-1),
            "moment_drive": s.radius * np.sum(s.driving * arm / share, axis=-1)
            - np.sum(s.moment, axis=-1),
            "bishop_resistance": s.radius * turned,
            "bishop_drive": s.radius * pushed,
            "least_share": np.min(share, axis=-1),
            "effective_normal_stress": np.sum(one.normal, axis=-1) / np.sum(s.length, axis=-1),
            "interslice_tension": np.where(pull > _ROUNDING * weight, pull, 0.0),
            "shallow_factor": np.where(shallow[:, None] < factor, shallow[:, None], np.nan),
        }
        exists = np.isfinite(factor)
        flat = {
            name: np.where(exists, np.broadcast_to(value, exists.shape), np.nan)[:, 0]
            for name, value in table.items()
        }
        flat["bishop_factor"] = flat["bishop_resistance"] / flat["bishop_drive"]
        flat["factor_by_forces"] = flat["force_resistance"] / flat["force_drive"]
        flat["factor_by_moments"] = flat["moment_resistance"] / flat["moment_drive"]
    flat["factor_of_safety"] = factor[:, 0]
    flat["slope_height"] = np.full(len(factor), section.size)
    return flat


def crack_thrust(water_unit_weight: Numeric, deep: Numeric, crack: Numeric) -> Numeric:
    """Thrust of water of a depth over the foot of a crack [kN/m]; a pool stands above its brim."""
    whole = water_unit_weight * deep**2 / 2.0
    return np.where(deep > crack, whole - water_unit_weight * (deep - crack) ** 2 / 2.0, whole)


def _bishop_moments(s: Slices, held: Strengths, factor: Float) -> tuple[Float, Float]:
    """Resisting and driving moment over the radius by Bishop's normal forces [kN/m]."""
    f, c, t = factor[..., None], held.cohesion, held.tan_friction_angle
    normal = (s.vertical - s.uplift * s.cos - c * s.sin / f) / (s.cos + t * s.sin / f)
    turn, lever = s.arms
    push = np.sum(
        s.vertical * s.across + s.horizontal * s.up - (normal + s.uplift) * lever, axis=-1
    )
    return (
        np.sum((c + normal * t) * turn, axis=-1),
        push - np.sum(s.moment, axis=-1) / s.radius,
    )
