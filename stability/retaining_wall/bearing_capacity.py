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

Limits: general shear in one deep layer below a level base, with level ground beside it. A
strip (the default) is a footing of endless length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.retaining_wall.bearing_factors import (
    Terms,
    bearing_factors,
    depth_factors,
    inclination_factors,
    shape_factors,
)
from slipmargin.strength import Numeric

__all__ = [
    "BearingCapacity",
    "bearing_capacity",
    "superposed_capacity",
    "unit_weight_below_base",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingCapacity:
    """The capacity with its factors.

    Parameters
    ----------
    capacity
        Gross ultimate bearing pressure on the effective area [kPa].
    factors, shape, depth, inclination
        N, s, d and i of the three terms.
    """

    capacity: NDArray[np.float64]
    factors: Terms
    shape: Terms
    depth: Terms
    inclination: Terms


def unit_weight_below_base(
    unit_weight: Numeric,
    buoyant_unit_weight: Numeric,
    water_depth: Numeric,
    width: Numeric,
) -> NDArray[np.float64]:
    """Unit weight for the third term when water lies below the base [kN/m³].

    γ′ + (z / B) (γ - γ′): buoyant with water at the base, moist with water at least a width
    below it. As in Das, Principles of Foundation Engineering, ch. 3 (from memory).

    Parameters
    ----------
    unit_weight
        Moist [kN/m³].
    buoyant_unit_weight
        Saturated less water [kN/m³].
    water_depth
        Depth of the water table below the base z [m]; ``inf`` is dry, below 0 counts as 0.
    width
        Width of the base [m].
    """
    share = np.clip(np.asarray(water_depth) / np.asarray(width, dtype=float), 0.0, 1.0)
    return np.asarray(buoyant_unit_weight + share * (unit_weight - np.asarray(buoyant_unit_weight)))


def superposed_capacity(
    *,
    cohesion: Numeric,
    overburden: Numeric,
    unit_weight: Numeric,
    width: Numeric,
    factors: Terms,
    modifiers: tuple[Terms, ...] = (),
) -> NDArray[np.float64]:
    """The three terms added up [kPa]: Terzaghi's (1943) superposition.

    Parameters
    ----------
    cohesion
        c′ [kPa].
    overburden
        Effective vertical stress beside the base q [kPa].
    unit_weight
        Effective unit weight below the base γ [kN/m³].
    width
        Width that carries, B′ [m].
    factors
        N factors [-].
    modifiers
        Shape, depth, inclination and any other factors [-].
    """
    by_term = [
        np.asarray(cohesion) * factors.cohesion,
        np.asarray(overburden) * factors.overburden,
        0.5 * np.asarray(unit_weight) * width * factors.weight,
    ]
    for one in modifiers:
        by_term[0] = by_term[0] * one.cohesion
        by_term[1] = by_term[1] * one.overburden
        by_term[2] = by_term[2] * one.weight
    return np.asarray(by_term[0] + by_term[1] + by_term[2])


def bearing_capacity(
    method: str,
    *,
    friction_angle: Numeric,
    cohesion: Numeric,
    overburden: Numeric,
    unit_weight: Numeric,
    width: Numeric,
    effective_width: Numeric,
    depth: Numeric | None = None,
    vertical_force: Numeric,
    horizontal_force: Numeric = 0.0,
    effective_length: Numeric = np.inf,
) -> BearingCapacity:
    """Gross ultimate bearing pressure on the effective area, with its factors.

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof`` or ``annex_d``.
    friction_angle, cohesion
        Strength of the foundation soil, φ′ [deg] and c′ [kPa].
    overburden
        Effective vertical stress beside the base [kPa].
    unit_weight
        Effective unit weight below the base [kN/m³].
    width, effective_width
        B and B′ = B - 2e [m]; the capacity is 0 where B′ is.
    depth
        Founding depth whose soil lends its strength, by the depth factors [m]; ``None`` leaves
        them out: 1.
    vertical_force, horizontal_force
        Load on the base, H along the width [kN], [kN/m] for a strip.
    effective_length
        L′ [m]; ``inf`` is a strip.

    Returns
    -------
    BearingCapacity
        Arrays of the broadcast shape of the inputs they depend on.

    Raises
    ------
    InputError
        An unknown method.
    """
    carrying = np.maximum(np.asarray(effective_width, dtype=float), 0.0)
    length = np.asarray(effective_length, dtype=float)
    ratio = carrying / length
    factors = bearing_factors(method, friction_angle)
    shape = shape_factors(method, friction_angle, ratio)
    none = np.ones(np.shape(friction_angle))
    depths = (
        Terms(none, none, none)
        if depth is None
        else depth_factors(method, friction_angle, np.asarray(depth) / width)
    )
    inclination = inclination_factors(
        method,
        friction_angle,
        cohesion=cohesion,
        vertical_force=vertical_force,
        horizontal_force=horizontal_force,
        area=carrying * np.where(np.isfinite(length), length, 1.0),
        width_over_length=ratio,
    )
    capacity = superposed_capacity(
        cohesion=cohesion,
        overburden=overburden,
        unit_weight=unit_weight,
        width=carrying,
        factors=factors,
        modifiers=(shape, depths, inclination),
    )
    return BearingCapacity(
        capacity=np.where(carrying > 0.0, capacity, 0.0),
        factors=factors,
        shape=shape,
        depth=depths,
        inclination=inclination,
    )
