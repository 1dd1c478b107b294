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

import functools
import operator
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.fields import Amount
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric
from slipmargin.strength.traced import sourced

__all__ = [
    "ConjugateLaw",
    "Layer",
    "LinearLaw",
    "Overburden",
    "Piece",
    "PressureLaw",
    "Thrust",
    "layer_overburden",
    "pressure_at",
    "thrust_of",
    "total",
]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)

_LEAST_OFFSET = 1e-7

Array = NDArray[np.float64]
Ends = tuple[Numeric, Numeric]  # of a piece, the upper and the lower


def total(numbers: Iterable[Any]) -> Any:
    """Sum; of one number that number itself."""
    return functools.reduce(operator.add, numbers)


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A layer of the fill, parallel to the ground."""

    soil: Annotated[Soil, fields.SoilField("Soil of the layer.")]
    thickness: Annotated[
        Numeric, Amount("length", "t", "Thickness, measured down the wall.", above=0.0)
    ]


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a layer above or below the water table: depths of its top and bottom and the way
    between [m], its effective unit weight [kN/m³], and the effective vertical stress at its upper
    and its lower end [kPa].
    """

    top: Numeric
    thickness: Numeric
    bottom: Numeric
    weight: Numeric
    upper: Numeric
    lower: Numeric


@dataclass(frozen=True, slots=True)
class Overburden:
    """Effective vertical stress at the wall, linear over each piece, from the top down.

    Each of the ``layers`` has a piece above the water table and one below it; ``sums`` are
    their stresses summed over the thickness, ``effective_sum`` over the height [kN/m].
    ``water_height`` is above the base [m], 0 where the water table lies below.
    """

    layers: tuple[tuple[Piece, Piece], ...]
    sums: tuple[Numeric, ...]
    effective_sum: Numeric
    water_height: Numeric

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """All pieces, two to a layer."""
        return tuple(piece for layer in self.layers for piece in layer)

    @property
    def at_base(self) -> Numeric:
        """Effective vertical stress at the base [kPa]."""
        return self.layers[-1][1].lower


def layer_overburden(
    layers: Sequence[Layer],
    load: Numeric,
    *,
    water_table_depth: Numeric | None,
    water_unit_weight: Numeric,
) -> Overburden:
    """Vertical stress at the wall under layers, from the top, that carry a ``load`` [kPa].

    ``water_table_depth`` is below the top of the wall [m], ``None`` is dry.
    """
    height = total(layer.thickness for layer in layers)
    water: Numeric = 0.0
    if water_table_depth is not None:
        water = np.where(water_table_depth < height, height - water_table_depth, 0.0)
    found, sums = [], []
    top: Numeric = 0.0
    stress = load
    for index, layer in enumerate(layers):
        soil, thickness = layer.soil, layer.thickness
        under: Numeric = 0.0
        if index + 1 < len(layers):
            under = total(one.thickness for one in layers[index + 1 :])
        reach = np.where(water - under < thickness, water - under, thickness)
        below = np.where(water > under, reach, 0.0)
        above = np.where(below > 0.0, thickness - below, thickness)
        base, pair = top + thickness, []
        for part, weight, bottom in (
            (above, soil.unit_weight, top + above),
            (below, soil.weight_below_water - water_unit_weight, base),
        ):
            # a piece of no height leaves the stress as it is
            lower = np.where(part > 0.0, stress + weight * part, stress)
            pair.append(Piece(top, part, bottom, weight, stress, lower))
            top, stress = bottom, lower
        found.append((pair[0], pair[1]))
        sums.append(total((one.upper + one.lower) / 2.0 * one.thickness for one in pair))
    return Overburden(tuple(found), tuple(sums), total(sums), water)


@dataclass(frozen=True, slots=True)
class LinearLaw:
    """p = coefficient σ′_v - tension, tension in kPa (negative where cohesion adds)."""

    coefficient: Numeric
    tension: Numeric

    def pressure(self, stress: Numeric) -> Numeric:
        """Pressure [kPa] at an effective vertical stress [kPa]."""
        return self.coefficient * stress - self.tension

    @property
    def zero_stress(self) -> Numeric:
        """Effective vertical stress at which the pressure is zero [kPa]."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(self.tension == 0.0, 0.0, self.tension / self.coefficient)

    def integral(self, thickness: Numeric, _: Ends, pressures: Ends) -> tuple[Numeric, Numeric]:
        """Force [kN/m] of a piece and moment about its lower end [kN·m/m]."""
        upper, lower = pressures
        return (upper + lower) / 2.0 * thickness, thickness**2 * (2.0 * upper + lower) / 6.0


@dataclass(frozen=True, slots=True)
class ConjugateLaw:
    """Rankine's pressure below a slope β [deg] in soil with c [kPa] and φ [deg].

    ``sign`` is -1 for the active side and +1 for the passive.
    """

    cohesion: Numeric
    friction_angle: Numeric
    slope: Numeric
    sign: float

    def pressure(self, stress: Numeric) -> Numeric:
        """Pressure [kPa], parallel to the slope, at an effective vertical stress [kPa]."""
        phi, beta = np.radians(self.friction_angle), np.radians(self.slope)
        cos, held = np.cos(beta), self.cohesion * np.cos(phi)
        product = (cos * np.sin(phi + beta) * stress + held) * (
            cos * np.sin(phi - beta) * stress + held
        )
        # a slope at φ leaves round-off below zero
        root = np.sqrt(np.maximum(product, 0.0))
        even = cos**2 * stress + held * np.sin(phi)
        both = even + root if self.sign > 0.0 else even - root
        found = cos * (2.0 * both / np.cos(phi) ** 2 - stress)
        return sourced(found, "Mazindrani & Ganjali (1997)")  # type: ignore[no-any-return]

    @property
    def zero_stress(self) -> Numeric:
        """Effective vertical stress at which the pressure is zero [kPa]."""
        if self.sign > 0.0:
            return -self.cohesion
        return 2.0 * self.cohesion * np.tan(np.radians(45.0 + self.friction_angle / 2.0))

    def integral(self, thickness: Numeric, stresses: Ends, _: Ends) -> tuple[Numeric, Numeric]:
        """Force [kN/m] of a piece and moment about its lower end [kN·m/m]."""
        upper, lower = stresses
        # the root's branch points lie at or below minus this stress; nearer than a tiny
        # share of the load they leave no trace
        offset = self.cohesion * np.cos(np.radians(self.friction_angle))
        offset = np.maximum(offset, _LEAST_OFFSET * lower)
        offset = np.where(offset > 0.0, offset, 1.0)
        low, high = np.log(upper + offset), np.log(lower + offset)
        rise = lower - upper
        per_stress = np.where(rise > 0.0, thickness / np.where(rise > 0.0, rise, 1.0), 0.0)
        force: Numeric = 0.0
        moment: Numeric = 0.0
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            shifted = np.exp(0.5 * (low + high) + 0.5 * (high - low) * node)
            stress = shifted - offset
            share = weight * 0.5 * (high - low) * shifted * per_stress * self.pressure(stress)
            force = force + share
            moment = moment + share * (lower - stress) * per_stress
        return force, moment


PressureLaw = LinearLaw | ConjugateLaw


@dataclass(frozen=True, slots=True)
class Thrust:
    """What a pressure adds up to: force [kN/m], and moment about the base [kN·m/m].

    ``tension_depth`` is that of the zone below the ground where the pressure is negative [m].
    Of each layer ``zero_stress`` is the effective vertical stress of no pressure, and
    ``pressures`` are those at its top, at the water table, or without one at the base, and at
    its base [kPa].
    """

    force: Numeric
    moment: Numeric
    tension_depth: Numeric
    zero_stress: tuple[Numeric, ...]
    pressures: tuple[tuple[Numeric, Numeric, Numeric], ...]


def thrust_of(laws: Sequence[PressureLaw], ground: Overburden, *, cut: bool) -> Thrust:
    """Thrust and moment of the pressure that each layer's law gives, and where it is negative;
    ``cut`` leaves negative pressure out.
    """
    pressures, parts = [], []
    zeros = tuple(law.zero_stress for law in laws)
    depth: Numeric | None = None
    for law, zero, layer in zip(laws, zeros, ground.layers, strict=True):
        at = [law.pressure(layer[0].upper)]
        for piece in layer:
            upper = at[-1]
            lower = np.where(piece.thickness > 0.0, law.pressure(piece.lower), upper)
            at.append(lower)
            tense = _tension(zero, piece)
            start = piece.top + tense
            if depth is None:
                depth = start
            else:
                through = (depth >= piece.top) & (piece.thickness > 0.0)
                depth = np.where(through, start, depth)
            parts.append((law, piece, tense, start, upper, lower))
        pressures.append((at[0], at[1], at[2]))
    forces, moments = [], []
    height: Numeric = 0.0
    for law, piece, tense, start, upper, lower in reversed(parts):
        left, stress, pressure = piece.thickness, piece.upper, upper
        if cut:
            cracked = tense > 0.0
            stress = np.where(cracked, stress + piece.weight * tense, stress)
            pressure = np.where(cracked, 0.0, upper)
            held = np.where(tense < piece.thickness, piece.bottom - start, 0.0)
            left = np.where(cracked, held, piece.thickness)
        force, moment = law.integral(left, (stress, piece.lower), (pressure, lower))
        forces.append(force)
        moments.append(force * height + moment)
        height = height + piece.thickness
    force, moment = total(reversed(forces)), total(reversed(moments))
    return Thrust(force, moment, 0.0 if depth is None else depth, zeros, tuple(pressures))


def _tension(zero_stress: Numeric, piece: Piece) -> Numeric:
    """Height of the part of a piece, from its top, in which the pressure is negative [m]."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        depth = (zero_stress - piece.upper) / piece.weight
    rises = (piece.weight > 0.0) & (piece.thickness > 0.0)
    return np.where(rises, np.clip(depth, 0.0, piece.thickness), 0.0)


def pressure_at(
    laws: Sequence[PressureLaw], ground: Overburden, depth: float, *, cut: bool
) -> Array:
    """Pressure [kPa] at one depth below the top of the wall [m]; at a boundary that of the piece
    above. ``cut`` reads negative pressure as zero.
    """
    found: Numeric = np.nan
    for law, layer in zip(laws, ground.layers, strict=True):
        for piece in layer:
            inside = (piece.thickness > 0.0) & (depth >= piece.top) & (depth <= piece.bottom)
            stress = np.where(inside, piece.upper + piece.weight * (depth - piece.top), 0.0)
            found = np.where(inside & np.isnan(found), law.pressure(stress), found)
    return np.asarray(np.maximum(found, 0.0) if cut else found)
