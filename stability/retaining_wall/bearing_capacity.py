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
from typing import Any

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

__all__ = [
    "BearingCapacity",
    "Footing",
    "bearing_capacity",
    "superposed_capacity",
    "unit_weight_below_base",
]

_NONE = Terms(1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingCapacity:
    """Gross ultimate bearing pressure on the effective area [kPa], with N, s, d, i and g of the
    three terms [-].
    """

    capacity: Numeric
    factors: Terms
    shape: Terms
    depth: Terms
    inclination: Terms
    ground: Terms


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
    by_term = [
        cohesion * factors.cohesion,
        overburden * factors.overburden,
        unit_weight * width * factors.weight,
    ]
    for one in modifiers:
        by_term[0] = by_term[0] * one.cohesion
        by_term[1] = by_term[1] * one.overburden
        by_term[2] = by_term[2] * one.weight
    return by_term[0] + by_term[1] + by_term[2] / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """A base and the ground below and beside it, whatever its load: see :meth:`of`.

    ``factors``, ``depth`` and ``ground`` are its N factors, its depth factors, and those for ground
    that falls away.
    """

    method: str
    friction: Friction
    cohesion: Numeric
    overburden: Numeric
    unit_weight: Numeric
    factors: Terms
    depth: Terms
    ground: Terms = _NONE

    @classmethod
    def of(
        cls,
        method: str,
        *,
        friction_angle: Numeric,
        cohesion: Numeric,
        overburden: Numeric,
        unit_weight: Numeric,
        width: Numeric,
        depth: Numeric | None = None,
        ground_fall: Numeric = 0.0,
    ) -> Footing:
        """A footing by its sizes and its soil.

        Parameters
        ----------
        method
            ``vesic``, ``meyerhof`` or ``annex_d``; ``InputError`` for another.
        friction_angle, cohesion
            Strength of the foundation soil, φ′ [deg] and c′ [kPa].
        overburden, unit_weight
            Effective vertical stress beside the base [kPa], effective unit weight below [kN/m³].
        width
            B [m].
        depth
            Founding depth whose soil lends its strength, by the depth factors [m]; ``None``
            leaves them out: 1.
        ground_fall
            Angle at which the ground beside the base falls away from it [deg].
        """
        friction = Friction.of(friction_angle)
        factors, ground = bearing_factors(method, friction), _NONE
        if np.ndim(ground_fall) > 0 or bool(ground_fall > 0.0):
            ground = ground_factors(friction, ground_fall)
            # without friction the ground that is missing in front weighs against the base
            missing = -2.0 * np.sin(np.radians(ground_fall))
            weight = np.where(friction.angle > 0.0, factors.weight, missing)
            factors = replace(factors, weight=weight)
        return cls(
            method=method,
            friction=friction,
            cohesion=cohesion,
            overburden=overburden,
            unit_weight=unit_weight,
            factors=factors,
            ground=ground,
            depth=_NONE
            if depth is None or method == "annex_d"
            else depth_factors(method, friction, depth / width),
        )

    def bearing(
        self,
        *,
        effective_width: Numeric,
        vertical_force: Numeric,
        horizontal_force: Numeric = 0.0,
        effective_length: Numeric | None = None,
    ) -> BearingCapacity:
        """Its capacity under a load.

        Parameters
        ----------
        effective_width, effective_length
            B′ = B - 2e and L′ [m]; the capacity is 0 where B′ is, ``None`` is a strip.
        vertical_force, horizontal_force
            Load on the base, H along the width [kN], [kN/m] for a strip; downward positive. H
            tilts the load as much into the fill, as of water in front, as away from it.
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
            modifiers=(shape, self.depth, inclination, self.ground),
        )
        return BearingCapacity(
            capacity=np.where(effective_width > 0.0, np.maximum(capacity, 0.0), 0.0),
            factors=self.factors,
            shape=shape,
            depth=self.depth,
            inclination=inclination,
            ground=self.ground,
        )


def bearing_capacity(
    method: str,
    *,
    effective_width: Numeric,
    vertical_force: Numeric,
    horizontal_force: Numeric = 0.0,
    effective_length: Numeric | None = None,
    **footing: Any,
) -> BearingCapacity:
    """Gross ultimate bearing pressure on the effective area, with its factors: that of
    :meth:`Footing.of` ``footing`` under the load of :meth:`Footing.bearing`.
    """
    return Footing.of(method, **footing).bearing(
        effective_width=effective_width,
        vertical_force=vertical_force,
        horizontal_force=horizontal_force,
        effective_length=effective_length,
    )
