"""What a layered slope gives besides its factor: the governing surface and its equilibrium."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability.fields import given
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.stability.layered_slope.factors import strengths_on
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles, Slices, crack_water, slices_of
from slipmargin.stability.layered_slope.spencer import (
    Strengths,
    bishop,
    interslice,
    normal_force,
)
from slipmargin.strength import Numeric

__all__ = ["Described", "LayeredSlopeValues", "described", "layered_values"]

_SEARCH = "Found by a search, or as given: the circle with the lowest factor."
_SUM = "Summed over the slices."
_ROUNDING = 1e-9  # of the weight


@dataclass(frozen=True, kw_only=True)
class SurfaceValues:
    """The governing slip surface and the sums of its equilibrium.

    With the weight W, loads and uplift of each slice as V, H, M and U (``slices``), and in
    Spencer's solution n = d / F (``spencer``).
    """

    __slots__ = ()

    slope_height: Numeric = given(
        "m", "H", "Height of the slope, lowest to highest ground.", origin="From the ground line."
    )
    circle_x: Numeric = given("m", "x_c", "Centre of the slip circle.", origin=_SEARCH)
    circle_y: Numeric = given("m", "y_c", "Centre of the slip circle.", origin=_SEARCH)
    circle_radius: Numeric = given("m", "r", "Radius of the slip circle.", origin=_SEARCH)
    exit_x: Numeric = given("m", "x_A", "Lower end of the slip surface.", origin=_SEARCH)
    exit_y: Numeric = given("m", "y_A", "Lower end of the slip surface.", origin=_SEARCH)
    entry_x: Numeric = given(
        "m", "x_B", "Upper end of the slip surface, at the foot of the crack.", origin=_SEARCH
    )
    entry_y: Numeric = given(
        "m", "y_B", "Upper end of the slip surface, at the foot of the crack.", origin=_SEARCH
    )
    crack_depth: Numeric = given(
        "m",
        "z_c",
        "Depth of the tension crack in which the surface ends.",
        origin="As given, or found by the search.",
        hangs_on=("z_c",),
    )
    slip_depth: Numeric = given(
        "m",
        "d",
        "Greatest depth of the slip surface below ground, measured vertically.",
        origin="From circle, firm ground and ground line.",
    )
    weight: Numeric = given("kN/m", "W", "Weight of the moving soil.", origin=_SUM)
    crack_water_height: Numeric = given(
        "m",
        "h_w",
        "Water over the foot of the crack, no lower than the water in the slope.",
        origin="As given, to the brim, or to the water in the slope or the pool.",
        hangs_on=("h_w",),
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
    interslice_tension: Numeric = given(
        "kN/m",
        "E_t",
        "Largest pull between slices that the equilibrium asks for.",
        origin="From the forces between slices.",
        hangs_on=("E_t",),
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


def layered_values(
    section: Section, one: Described, shallow: Float, shape: tuple[int, ...]
) -> LayeredSlopeValues:
    """The values in the shape of the inputs; nan for those that take a search of their own."""
    s, c, t = one.slices, one.held.cohesion, one.held.tan_friction_angle
    known = np.isfinite(one.tangent) & np.isfinite(one.factor)
    f, k = one.factor[..., None], np.where(known, one.tangent, np.nan)[..., None]
    radius = s.radius
    resist, drive = c + t * s.pressing, s.driving
    with np.errstate(invalid="ignore", divide="ignore"):
        share = s.cos + k * s.sin + t * (s.sin - k * s.cos) / f
        arm = k * s.across - s.up
        turned, pushed = _bishop_moments(s, c, t, one.bishop)
        table = {
            "force_resistance": np.sum(resist / share, axis=-1),
            "force_drive": np.sum(drive / share, axis=-1),
            "moment_resistance": radius * np.sum(resist * arm / share, axis=-1),
            "moment_drive": radius * np.sum(drive * arm / share, axis=-1)
            - np.sum(s.moment, axis=-1),
            "bishop_resistance": radius * turned,
            "bishop_drive": radius * pushed,
            "least_share": np.min(share, axis=-1),
            "effective_normal_stress": np.sum(one.normal, axis=-1) / np.sum(s.length, axis=-1),
        }
    pull = -np.min(one.between, axis=-1)
    ax, ay, bx, by = one.circles.ends
    water = crack_water(section, one.circles.crack, s.edge, s.ground)
    held = np.minimum(water, one.circles.crack)
    table |= {
        "circle_x": one.circles.x,
        "circle_y": one.circles.y,
        "circle_radius": one.circles.radius,
        "exit_x": ax,
        "exit_y": ay,
        "entry_x": bx,
        "entry_y": by,
        "crack_depth": one.circles.crack,
        "slip_depth": s.depth,
        "weight": np.sum(s.soil_weight, axis=-1),
        "crack_water_height": water,
        "crack_thrust": section.amounts.water_unit_weight[:, None] * (water - held / 2.0) * held,
        "interslice_angle": np.degrees(np.arctan(k[..., 0])),
        "interslice_tension": np.where(
            pull > _ROUNDING * np.sum(s.soil_weight, axis=-1), pull, 0.0
        ),
        "shallow_factor": np.where(shallow[:, None] < one.factor, shallow[:, None], np.nan),
    }
    exists = np.isfinite(one.factor)
    flat = {
        name: np.where(exists, np.broadcast_to(value, exists.shape), np.nan)
        for name, value in table.items()
    }
    with np.errstate(invalid="ignore", divide="ignore"):
        flat["bishop_factor"] = flat["bishop_resistance"] / flat["bishop_drive"]
        flat["factor_by_forces"] = flat["force_resistance"] / flat["force_drive"]
        flat["factor_by_moments"] = flat["moment_resistance"] / flat["moment_drive"]
    flat["factor_of_safety"] = one.factor
    flat["slope_height"] = np.full(exists.shape, section.size)
    nothing = np.full(exists.shape, np.nan)
    beside = ("yield_seismic_coefficient", "drawdown_factor", *NewmarkValues.__dataclass_fields__)
    flat |= dict.fromkeys(beside, nothing)
    shaped: dict[str, Any] = {name: value[:, 0].reshape(shape)[()] for name, value in flat.items()}
    return LayeredSlopeValues(**shaped)


def _bishop_moments(s: Slices, c: Float, t: Float, factor: Float) -> tuple[Float, Float]:
    """Resisting and driving moment over the radius by Bishop's normal forces [kN/m]."""
    f = factor[..., None]
    normal = (s.vertical - s.uplift * s.cos - c * s.sin / f) / (s.cos + t * s.sin / f)
    turn, lever = s.arms
    push = np.sum(
        s.vertical * s.across + s.horizontal * s.up - (normal + s.uplift) * lever, axis=-1
    )
    return (
        np.sum((c + normal * t) * turn, axis=-1),
        push - np.sum(s.moment, axis=-1) / s.radius,
    )
