"""Bearing capacity of a shallow footing under a vertical and inclined load.

    q_ult = c N_c s_c d_c i_c + q N_q s_q d_q i_q + ½ γ B′ N_γ s_γ d_γ i_γ

with q the effective vertical stress beside the base and γ the effective unit weight below
it. An eccentric load is carried by the effective width B′ = B - 2e (Meyerhof 1953), which
also stands in the shape and the inclination factors; the depth factors keep the full width,
which gives the lower capacity (Vesić 1975; Das, Principles of Foundation Engineering, ch. 3,
keeps it too, but puts B′ there for walls: from memory). Depth factors count on the strength
of the soil beside the base, which may be dug away: they stand in the sum only where the depth
is given for them.

Methods: ``vesic``, ``meyerhof`` and ``annex_d``; their factors and sources are in
:mod:`stability.retaining_wall.bearing_factors`.

Ground that falls away beside the base takes a further factor g in each term (Vesić 1975).

Limits: general shear in one deep layer below a level base. A strip (the default) is a footing of
endless length.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from slipmargin.stability.retaining_wall.bearing_factors import (
    Friction,
    Terms,
    bearing_factors,
    depth_factors,
    ground_factors,
    inclination_factors,
    shape_factors,
)
from slipmargin.strength import Numeric

__all__ = ["BearingCapacity", "Footing", "superposed_capacity", "unit_weight_below_base"]

_NONE = Terms(1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class BearingCapacity:
    """Gross ultimate bearing pressure on the effective area [kPa], with its N, s and i [-]."""

    capacity: Numeric
    factors: Terms
    shape: Terms
    inclination: Terms


def unit_weight_below_base(
    unit_weight: Numeric, buoyant_unit_weight: Numeric, water_depth: Numeric, width: Numeric
) -> Numeric:
    """Unit weight for the third term when water lies below the base [kN/m³].

    γ′ + (z / B) (γ - γ′): buoyant with water at the base, moist with water at least a width
    below it. As in Das, Principles of Foundation Engineering, ch. 3 (from memory). The depth of
    the water table below the base z [m] is ``inf`` where it is dry; below 0 it counts as 0.
    """
    share = np.clip(water_depth / width, 0.0, 1.0)
    between = buoyant_unit_weight + share * (unit_weight - buoyant_unit_weight)
    return np.where(water_depth >= width, unit_weight, between)


def superposed_capacity(
    *,
    cohesion: Numeric,
    overburden: Numeric,
    unit_weight: Numeric,
    width: Numeric,
    factors: Terms,
    modifiers: tuple[Terms, ...] = (),
) -> Numeric:
    """The three terms added up [kPa]: Terzaghi's (1943) superposition.

    c′ N_c + q N_q + ½ γ B′ N_γ with ``overburden`` q beside the base [kPa], ``unit_weight`` γ
    below it [kN/m³] and ``width`` B′ [m]; ``modifiers`` are shape, depth, inclination and any
    other factors.
    """
    c, q, weight = cohesion, overburden, unit_weight * width
    for one in (factors, *modifiers):
        c, q, weight = c * one.cohesion, q * one.overburden, weight * one.weight
    return c + q + weight / 2.0


@dataclass(frozen=True, kw_only=True)
class Footing:
    """A base of width B [m] and the ground below and beside it, whatever its load.

    ``friction_angle`` and ``cohesion`` are those of the soil below [deg], [kPa], ``overburden`` the
    effective vertical stress beside the base [kPa], ``unit_weight`` the effective one below it
    [kN/m³]. The soil over the ``depth`` [m] lends its strength by the depth factors; ``None``
    leaves them out: 1. Beside the base the ground falls away by ``ground_fall`` [deg].
    ``InputError``: a ``method`` that is none of the three.
    """

    method: str
    friction_angle: Numeric
    cohesion: Numeric
    overburden: Numeric
    unit_weight: Numeric
    width: Numeric
    depth: Numeric | None = None
    ground_fall: Numeric = 0.0

    @cached_property
    def friction(self) -> Friction:
        """φ′ and its functions."""
        return Friction.of(self.friction_angle)

    @cached_property
    def factors(self) -> Terms:
        """N of the three terms."""
        found = bearing_factors(self.method, self.friction)
        if self.ground is _NONE:
            return found
        # without friction the ground that is missing in front weighs against the base
        missing = -2.0 * np.sin(np.radians(self.ground_fall))
        return replace(found, weight=np.where(self.friction_angle > 0.0, found.weight, missing))

    @cached_property
    def deep(self) -> Terms:
        """Depth factors."""
        if self.depth is None or self.method == "annex_d":
            return _NONE
        return depth_factors(self.method, self.friction, self.depth / self.width)

    @cached_property
    def ground(self) -> Terms:
        """Factors of ground that falls away."""
        falls = np.ndim(self.ground_fall) > 0 or bool(self.ground_fall > 0.0)
        return ground_factors(self.friction, self.ground_fall) if falls else _NONE

    def bearing(
        self,
        *,
        effective_width: Numeric,
        vertical_force: Numeric,
        horizontal_force: Numeric = 0.0,
        effective_length: Numeric | None = None,
    ) -> BearingCapacity:
        """Its capacity on B′ = B - 2e and L′ [m], ``None`` for a strip, under V downward and H
        along the width [kN], [kN/m] for a strip; 0 where B′ is. H tilts the load as much into
        the fill, as of water in front, as away from it.
        """
        area, shape = effective_width, _NONE
        ratio: Numeric = 0.0
        if effective_length is not None:
            area, ratio = effective_width * effective_length, effective_width / effective_length
            shape = shape_factors(self.method, self.friction, ratio)
        inclination = inclination_factors(
            self.method,
            self.friction,
            cohesion=self.cohesion,
            vertical_force=vertical_force,
            horizontal_force=np.where(horizontal_force < 0.0, -horizontal_force, horizontal_force),
            area=area,
            width_over_length=ratio,
        )
        capacity = superposed_capacity(
            cohesion=self.cohesion,
            overburden=self.overburden,
            unit_weight=self.unit_weight,
            width=effective_width,
            factors=self.factors,
            modifiers=(shape, self.deep, inclination, self.ground),
        )
        capacity = np.where(effective_width > 0.0, np.maximum(capacity, 0.0), 0.0)
        return BearingCapacity(capacity, self.factors, shape, inclination)
