"""Thrust of a backfill on a plane behind a wall, and the resistance of the soil in front.

The plane has the vertical height H and leans by the batter θ from vertical (positive where
the fill rests on it). At a depth z below its top the active pressure on it, per unit of
vertical height and at δ from its normal, is

    p = K_a (f_q q + σ′_v) - K_c c′, and 0 where this is negative,

σ′_v being the effective weight of the soil above (moist above the water level, buoyant
below) and f_q = cos θ cos β / cos(θ - β) for a load q on plan area. K_c is that of Coulomb's
wedge without adhesion for either theory (Rankine: δ = β, θ = 0). It is Bell's 2 √K_a on
level ground; on a slope it takes less off the thrust than the conjugate stresses of
Rankine's own c-φ solution, which is the safe side.

Shaking: Mononobe-Okabe with its increment (K_ae - K_a) ∫ (f_q q + σ′_v) dz at 0.6 H (Seed &
Whitman 1970). Below water the force belongs to the saturated weight and the support to the
effective one; ψ = atan(k_h ∫ σ_v dz / ∫ σ′_v dz) does that, which for soil wholly under water
is EN 1998-5, E.6 (from memory). Hydrodynamic pressure is left out.

In front of the wall: Rankine's passive pressure, level ground, no wall friction; with
shaking Mononobe-Okabe's.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stability.pressure_coefficients import (
    bell_cohesion,
    coulomb_active,
    coulomb_cohesion_active,
    coulomb_passive,
    rankine_active,
    rankine_passive,
    seismic_angle,
)
from stability.soil import Soil
from strength import Numeric

__all__ = [
    "BackfillThrust",
    "ThrustPlane",
    "backfill_thrust",
    "passive_resistance",
    "rupture_angle",
    "stress_over_depth",
    "surcharge_share",
]

_INCREMENT_HEIGHT = 0.6  # of H above the base: Seed & Whitman (1970)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrustPlane:
    """The plane on which the thrust is taken.

    Parameters
    ----------
    height
        Vertical height [m].
    batter
        Angle from vertical [deg].
    friction_angle
        Angle of the thrust from the normal of the plane, δ [deg].
    foot
        Where the plane meets the level of the base [m from the toe].
    """

    height: Numeric
    batter: Numeric
    friction_angle: Numeric
    foot: Numeric

    @property
    def inclination(self) -> Numeric:
        """Angle of the thrust below horizontal [deg]."""
        return self.friction_angle + np.asarray(self.batter)

    def arm(self, level: Numeric) -> Numeric:
        """Distance of the plane from the toe at a level above the base [m]."""
        return self.foot - level * np.tan(np.radians(self.batter))


@dataclass(frozen=True, slots=True, kw_only=True)
class BackfillThrust:
    """Thrust on a plane; nan where the theory has no answer.

    Parameters
    ----------
    coefficient, cohesion_coefficient, seismic_coefficient
        K_a, K_c and K_ae [-].
    seismic_angle
        ψ [deg].
    surcharge_share
        f_q [-].
    tension_crack_depth
        Depth down to which the pressure would be tension [m].
    thrust, height
        Static thrust of the soil with the surcharge [kN/m], and its height above the base [m].
    from_surcharge, without_cohesion
        What the surcharge adds, and the thrust of the soil without cohesion [kN/m].
    increment, increment_height
        What shaking adds [kN/m], and its height above the base [m].
    mean_vertical_stress
        Mean effective vertical stress down the plane [kPa].
    vertical_stresses, pressures
        Effective vertical stress, the surcharge's share in it, and static pressure before
        tension is cut, at the top, at the water level (the foot, where dry) and at the foot
        [kPa].
    """

    coefficient: NDArray[np.float64]
    cohesion_coefficient: NDArray[np.float64]
    seismic_coefficient: NDArray[np.float64]
    seismic_angle: NDArray[np.float64]
    surcharge_share: NDArray[np.float64]
    tension_crack_depth: NDArray[np.float64]
    thrust: NDArray[np.float64]
    height: NDArray[np.float64]
    from_surcharge: NDArray[np.float64]
    without_cohesion: NDArray[np.float64]
    increment: NDArray[np.float64]
    increment_height: NDArray[np.float64]
    mean_vertical_stress: NDArray[np.float64]
    vertical_stresses: tuple[NDArray[np.float64], ...]
    pressures: tuple[NDArray[np.float64], ...]

    @property
    def foot_vertical_stress(self) -> NDArray[np.float64]:
        """Effective vertical stress at the foot of the plane [kPa]."""
        return self.vertical_stresses[-1]


def surcharge_share(wall_batter: Numeric, backfill_slope_angle: Numeric) -> NDArray[np.float64]:
    """f_q [-]: load on plan area as an equal vertical stress; angles [deg]."""
    theta, beta = np.radians(wall_batter), np.radians(backfill_slope_angle)
    return np.asarray(np.cos(theta) * np.cos(beta) / np.cos(theta - beta))


def rupture_angle(friction_angle: Numeric, backfill_slope_angle: Numeric) -> NDArray[np.float64]:
    """Angle from vertical of Rankine's inner plane of slip, up from the heel [deg].

    η = 45 + β/2 - φ/2 - ½ asin(sin β / sin φ), as in Das, Principles of Foundation
    Engineering, ch. 8 (from memory).
    """
    sin_phi = np.sin(np.radians(np.asarray(friction_angle, dtype=float)))
    sin_beta = np.sin(np.radians(backfill_slope_angle))
    ratio = np.where(sin_phi > 0.0, sin_beta / np.where(sin_phi > 0.0, sin_phi, 1.0), 0.0)
    turned = 0.5 * np.degrees(np.arcsin(np.clip(ratio, -1.0, 1.0)))
    return np.asarray(45.0 + 0.5 * (np.asarray(backfill_slope_angle) - friction_angle) - turned)


def stress_over_depth(
    above: Numeric, below: Numeric, depth: Numeric, water_height: Numeric
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Vertical stress at a depth [kPa], and its integral down to there [kN/m].

    Parameters
    ----------
    above, below
        Unit weights above and below the water level [kN/m³].
    depth, water_height
        Depth, and height of the water level above it [m].
    """
    dry = np.asarray(depth, dtype=float) - water_height
    at_water = np.asarray(above) * dry
    at_foot = at_water + below * np.asarray(water_height)
    total = 0.5 * at_water * dry + 0.5 * (at_water + at_foot) * water_height
    return np.asarray(at_foot), np.asarray(total)


def backfill_thrust(
    soil: Soil,
    plane: ThrustPlane,
    *,
    rankine: bool,
    backfill_slope_angle: Numeric,
    surcharge: Numeric,
    water_height: Numeric,
    water_unit_weight: Numeric,
    horizontal_seismic_coefficient: Numeric,
) -> BackfillThrust:
    """Active thrust of a soil on a plane, static and with shaking.

    Parameters
    ----------
    soil
        The backfill.
    plane
        Where the thrust is taken. Rankine's plane is vertical, with δ = β.
    rankine
        Take Rankine's coefficient instead of Coulomb's.
    backfill_slope_angle
        β [deg].
    surcharge
        Load on plan area [kPa].
    water_height
        Water level above the base [m], not above the top of the plane.
    water_unit_weight
        [kN/m³].
    horizontal_seismic_coefficient
        k_h [-].
    """
    phi, height = soil.strength.friction_angle, np.asarray(plane.height, dtype=float)
    below = soil.weight_below_water
    share = surcharge_share(plane.batter, backfill_slope_angle)
    load = share * surcharge
    dry = height - water_height
    own, own_over = stress_over_depth(
        soil.unit_weight, np.asarray(below) - water_unit_weight, height, water_height
    )
    _, total_over = stress_over_depth(soil.unit_weight, below, height, water_height)
    foot, effective, total = own + load, own_over + load * height, total_over + load * height

    delta, theta, beta = plane.friction_angle, plane.batter, backfill_slope_angle
    static = coulomb_active(
        phi, wall_friction_angle=delta, wall_batter=theta, backfill_slope_angle=beta
    )
    k_a = rankine_active(phi, backfill_slope_angle=beta) if rankine else static
    k_c = coulomb_cohesion_active(
        phi, wall_friction_angle=delta, wall_batter=theta, backfill_slope_angle=beta
    )
    psi = seismic_angle(horizontal_seismic_coefficient * total / effective, 0.0)
    k_ae = coulomb_active(
        phi,
        wall_friction_angle=delta,
        wall_batter=theta,
        backfill_slope_angle=beta,
        seismic_angle=psi,
    )

    held = k_c * soil.strength.cohesion
    stresses = (load, load + soil.unit_weight * dry, foot)
    pressures = tuple(k_a * stress - held for stress in stresses)
    thrust, moment, crack = _without_tension(
        pressures, (dry, np.asarray(water_height, dtype=float))
    )
    pushes = thrust > 0.0
    return BackfillThrust(
        coefficient=k_a,
        cohesion_coefficient=k_c,
        seismic_coefficient=k_ae,
        seismic_angle=psi,
        surcharge_share=share,
        tension_crack_depth=crack,
        thrust=thrust,
        height=np.where(pushes, moment / np.where(pushes, thrust, 1.0), 0.0),
        from_surcharge=k_a * load * height,
        without_cohesion=k_a * effective,
        increment=(k_ae - static) * effective,
        increment_height=np.asarray(_INCREMENT_HEIGHT * height),
        mean_vertical_stress=effective / height,
        vertical_stresses=stresses,
        pressures=pressures,
    )


def _without_tension(
    pressures: tuple[NDArray[np.float64], ...], lengths: tuple[NDArray[np.float64], ...]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Force, moment about the foot and depth of tension of a pressure in two straight pieces."""
    force = moment = crack = np.zeros(())
    torn = pressures[0] < 0.0
    above_foot = lengths[0] + lengths[1]
    for (top, bottom), length in zip(pairwise(pressures), lengths, strict=True):
        change = np.where(bottom == top, 1.0, bottom - top)
        crossing = np.clip(-top / change, 0.0, 1.0) * length
        upper = np.where(top >= 0.0, 0.0, np.where(bottom >= 0.0, crossing, length))
        lower = np.where(bottom >= 0.0, length, np.where(top >= 0.0, crossing, length))
        p_upper, p_lower, span = np.maximum(top, 0.0), np.maximum(bottom, 0.0), lower - upper
        part = 0.5 * (p_upper + p_lower) * span
        force = force + part
        moment = moment + part * (above_foot - lower) + span**2 * (2.0 * p_upper + p_lower) / 6.0
        crack = crack + np.where(torn, upper, 0.0)
        torn = torn & (bottom < 0.0)
        above_foot = above_foot - length
    unknown = np.isnan(pressures[0])
    force, moment, crack = (np.where(unknown, np.nan, one) for one in (force, moment, crack))
    return force, moment, crack


def passive_resistance(
    soil: Soil,
    *,
    depth: Numeric,
    water_height: Numeric,
    water_unit_weight: Numeric,
    horizontal_seismic_coefficient: Numeric,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Passive coefficient [-] and resistance [kN/m], level ground, no wall friction.

    P_p = K_p ∫ σ′_v dz + 2 c′ √K_p D, K_p of the static case in the second term. Where
    shaking exceeds what the friction can hold the first term is 0.

    Parameters
    ----------
    soil
        Soil in front of the wall.
    depth
        Depth D over which it acts [m].
    water_height
        Water level above the foot of that depth [m].
    water_unit_weight
        [kN/m³].
    horizontal_seismic_coefficient
        k_h [-].
    """
    phi = soil.strength.friction_angle
    static = rankine_passive(phi)
    psi = seismic_angle(horizontal_seismic_coefficient, 0.0)
    shaken = coulomb_passive(phi, seismic_angle=psi)
    shaken = np.where(np.isnan(shaken), 0.0, shaken)
    k_p = np.where(psi == 0.0, static, np.minimum(shaken, static))
    buoyant = np.asarray(soil.weight_below_water) - water_unit_weight
    _, weight = stress_over_depth(soil.unit_weight, buoyant, depth, water_height)
    held = bell_cohesion(static) * soil.strength.cohesion * depth
    return k_p, np.asarray(k_p * weight + held)
