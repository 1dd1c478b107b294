"""Pressure against depth on the back of a wall, over layers and a water table.

The effective vertical stress at the wall is piecewise linear in depth: each layer is one
piece above the water table and one below it. A law turns that stress into pressure:

    linear       p = K σ′_v - K_c c        at rest, Rankine on level ground, Coulomb, Annex C
    conjugate    Rankine on a slope with cohesion, where p is curved:
                 p = cos β [(2 cos²β σ + 2 c cos φ sin φ ∓ 2 √Q) / cos²φ - σ],
                 Q = (cos β sin(φ + β) σ + c cos φ) (cos β sin(φ - β) σ + c cos φ)

p is the resultant stress per unit vertical height, in the direction of the thrust. Both
laws rise with σ′_v and change sign at one stress, so tension is cut exactly, at one depth
in each piece. Forces and moments of the linear law are closed forms; of the conjugate law
they are Gauss-Legendre sums over ln(σ + offset), to round-off.

Sources: the conjugate law is the closed form of Mazindrani & Ganjali (1997), J. Geotech.
Geoenviron. Eng. 123(2), its root written as a product; minus is active, plus passive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.fields import amount
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = [
    "ConjugateLaw",
    "Layer",
    "LinearLaw",
    "Overburden",
    "PressureLaw",
    "layer_overburden",
    "pressure_at",
    "tension_depth",
    "thrust_and_moment",
]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)

_LEAST_OFFSET = 1e-7

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A layer of the fill, parallel to the ground."""

    soil: Soil = fields.soil("Soil of the layer.")
    thickness: Numeric = amount("length", "t", "Thickness, measured down the wall.", above=0.0)


@dataclass(frozen=True, slots=True)
class Overburden:
    """Vertical stress of the soil's weight at the wall, linear over each piece.

    Parameters
    ----------
    top, bottom
        Depths of each piece [m]; pieces on the leading axis, two to a layer.
    upper, lower
        Effective vertical stress at those depths [kPa], loads on the ground left out.
    total_upper, total_lower
        The same, total.
    """

    top: Array
    bottom: Array
    upper: Array
    lower: Array
    total_upper: Array
    total_lower: Array

    @property
    def effective_sum(self) -> Array:
        """Effective vertical stress summed over the height [kN/m]."""
        return np.asarray(np.sum(0.5 * (self.upper + self.lower) * (self.bottom - self.top), 0))

    @property
    def total_sum(self) -> Array:
        """Total vertical stress summed over the height [kN/m]."""
        thickness = self.bottom - self.top
        return np.asarray(np.sum(0.5 * (self.total_upper + self.total_lower) * thickness, 0))


def layer_overburden(
    layers: Sequence[Layer],
    *,
    water_table_depth: Numeric | None = None,
    water_unit_weight: Numeric = 9.81,
    shape: tuple[int, ...] | None = None,
) -> Overburden:
    """Vertical stress at the wall under layers, from the top down.

    Parameters
    ----------
    layers
        From the top; their weights and thicknesses broadcast to ``shape``.
    water_table_depth
        Below the top of the wall [m]; ``None`` is dry.
    water_unit_weight
        [kN/m³].
    shape
        Shape of every piece of the result; by default that to which all inputs broadcast.
    """
    table = np.inf if water_table_depth is None else np.asarray(water_table_depth, dtype=float)
    edges, above, total_above = [np.zeros(())], [np.zeros(())], [np.zeros(())]
    for layer in layers:
        base = edges[-1] + layer.thickness
        wet = np.clip(table, edges[-1], base)
        soil = layer.soil
        pieces = (
            (wet - edges[-1], soil.unit_weight, 0.0),
            (base - wet, soil.weight_below_water, water_unit_weight),
        )
        for thickness, weight, water in pieces:
            above.append(above[-1] + thickness * (np.asarray(weight) - water))
            total_above.append(total_above[-1] + thickness * weight)
        edges += [wet, base]
    columns = (edges, above, total_above)
    if shape is None:
        shape = np.broadcast_shapes(*(one.shape for each in columns for one in each))
    depth, effective, total = (
        np.stack([np.broadcast_to(one, shape) for one in each]) for each in columns
    )
    return Overburden(depth[:-1], depth[1:], effective[:-1], effective[1:], total[:-1], total[1:])


class PressureLaw(Protocol):
    """Pressure from vertical stress; parameters carry the pieces on their leading axis."""

    def pressure(self, stress: Array) -> Array:
        """Pressure [kPa] at an effective vertical stress [kPa]."""
        ...

    @property
    def zero_stress(self) -> Array:
        """Effective vertical stress at which the pressure is zero [kPa]."""
        ...

    def integral(self, top: Array, bottom: Array, upper: Array, lower: Array) -> tuple[Array, ...]:
        """Force [kN/m] and moment about zero depth [kN·m/m] of each piece."""
        ...


@dataclass(frozen=True, slots=True)
class LinearLaw:
    """p = coefficient σ′_v - tension, tension in kPa (negative where cohesion adds)."""

    coefficient: Array
    tension: Array

    def pressure(self, stress: Array) -> Array:
        """Pressure [kPa] at an effective vertical stress [kPa]."""
        return self.coefficient * stress - self.tension

    @property
    def zero_stress(self) -> Array:
        """Effective vertical stress at which the pressure is zero [kPa]."""
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = self.tension / self.coefficient
        return np.where(self.tension == 0.0, 0.0, ratio)

    def integral(self, top: Array, bottom: Array, upper: Array, lower: Array) -> tuple[Array, ...]:
        """Force [kN/m] and moment about zero depth [kN·m/m] of each piece."""
        at_top, at_bottom = self.pressure(upper), self.pressure(lower)
        thickness = bottom - top
        force = 0.5 * (at_top + at_bottom) * thickness
        moment = top * force + thickness**2 * (at_top + 2.0 * at_bottom) / 6.0
        return force, moment


@dataclass(frozen=True, slots=True)
class ConjugateLaw:
    """Rankine's pressure below a slope β [deg] in soil with c [kPa] and φ [deg].

    ``sign`` is -1 for the active side and +1 for the passive.
    """

    cohesion: Array
    friction_angle: Array
    slope: Array
    sign: float

    def pressure(self, stress: Array) -> Array:
        """Pressure [kPa], parallel to the slope, at an effective vertical stress [kPa]."""
        phi, beta = np.radians(self.friction_angle), np.radians(self.slope)
        cos, held = np.cos(beta), self.cohesion * np.cos(phi)
        product = (cos * np.sin(phi + beta) * stress + held) * (
            cos * np.sin(phi - beta) * stress + held
        )
        # a slope at φ leaves round-off below zero
        root = np.sqrt(np.maximum(product, 0.0))
        even = cos**2 * stress + held * np.sin(phi)
        return np.asarray(cos * (2.0 * (even + self.sign * root) / np.cos(phi) ** 2 - stress))

    @property
    def zero_stress(self) -> Array:
        """Effective vertical stress at which the pressure is zero [kPa]."""
        if self.sign > 0.0:
            return np.asarray(-np.abs(self.cohesion))
        half = np.radians(45.0 + 0.5 * np.asarray(self.friction_angle))
        return np.asarray(2.0 * self.cohesion * np.tan(half))

    def integral(self, top: Array, bottom: Array, upper: Array, lower: Array) -> tuple[Array, ...]:
        """Force [kN/m] and moment about zero depth [kN·m/m] of each piece."""
        # the root's branch points lie at or below minus this stress; nearer than a tiny
        # share of the load they leave no trace
        offset = self.cohesion * np.cos(np.radians(self.friction_angle))
        offset = np.maximum(offset, _LEAST_OFFSET * lower)
        offset = np.where(offset > 0.0, offset, 1.0)
        low, high = np.log(upper + offset), np.log(lower + offset)
        rise = lower - upper
        per_stress = np.where(rise > 0.0, (bottom - top) / np.where(rise > 0.0, rise, 1.0), 0.0)
        force, moment = np.zeros_like(rise), np.zeros_like(rise)
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            shifted = np.exp(0.5 * (low + high) + 0.5 * (high - low) * node)
            stress = shifted - offset
            share = weight * 0.5 * (high - low) * shifted * per_stress * self.pressure(stress)
            force = force + share
            moment = moment + share * (top + (stress - upper) * per_stress)
        return force, moment


def _cut_depth(law: PressureLaw, ground: Overburden, extra: Array) -> Array:
    """Depth in each piece above which the pressure is negative [m]."""
    rise = ground.lower - ground.upper
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        share = (law.zero_stress - extra - ground.upper) / rise
    share = np.where(rise > 0.0, np.clip(share, 0.0, 1.0), 0.0)
    return np.asarray(ground.top + share * (ground.bottom - ground.top))


def tension_depth(law: PressureLaw, ground: Overburden, extra: Array) -> Array:
    """Depth of the zone below the ground surface where the pressure is negative [m].

    Parameters
    ----------
    law
        Pressure law of the pieces.
    ground
        Vertical stress of the soil's weight.
    extra
        Vertical stress of loads on the ground [kPa].
    """
    below = _cut_depth(law, ground, extra)
    depth, open_above = np.zeros(below.shape[1:]), np.ones(below.shape[1:], dtype=bool)
    for cut, bottom in zip(below, ground.bottom, strict=True):
        depth = np.where(open_above, cut, depth)
        open_above &= cut >= bottom
    return depth


def thrust_and_moment(
    law: PressureLaw, ground: Overburden, extra: Array, *, cut: bool
) -> tuple[Array, Array]:
    """Thrust [kN/m] and its moment about the top of the wall [kN·m/m].

    Parameters
    ----------
    law
        Pressure law of the pieces.
    ground
        Vertical stress of the soil's weight.
    extra
        Vertical stress of loads on the ground [kPa].
    cut
        Leave negative pressure out.
    """
    top, upper = ground.top, ground.upper + extra
    if cut:
        start = _cut_depth(law, ground, extra)
        thickness = ground.bottom - ground.top
        share = np.where(
            thickness > 0.0, (start - top) / np.where(thickness > 0.0, thickness, 1.0), 0.0
        )
        top, upper = start, upper + share * (ground.lower - ground.upper)
    force, moment = law.integral(top, ground.bottom, upper, ground.lower + extra)
    return np.asarray(force.sum(0)), np.asarray(moment.sum(0))


def pressure_at(
    law: PressureLaw, ground: Overburden, extra: Array, depth: float, *, cut: bool
) -> Array:
    """Pressure at one depth [kPa]; at a boundary that of the piece above.

    Parameters
    ----------
    law
        Pressure law of the pieces.
    ground
        Vertical stress of the soil's weight.
    extra
        Vertical stress of loads on the ground [kPa].
    depth
        Below the top of the wall [m].
    cut
        Negative pressure reads as zero.
    """
    thickness = ground.bottom - ground.top
    inside = (thickness > 0.0) & (depth >= ground.top) & (depth <= ground.bottom)
    piece = np.argmax(inside, axis=0)[None]
    share = (depth - ground.top) / np.where(thickness > 0.0, thickness, 1.0)
    stress = ground.upper + share * (ground.lower - ground.upper) + extra
    stress = np.where(inside, stress, 0.0)
    pressure = np.take_along_axis(np.broadcast_to(law.pressure(stress), inside.shape), piece, 0)[0]
    return np.asarray(np.maximum(pressure, 0.0) if cut else pressure)
