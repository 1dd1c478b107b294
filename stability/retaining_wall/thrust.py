"""What the ground presses on a wall, behind it, in front of it and on its key.

The thrust is that of the earth pressure check, on the plane that the theory of the wall takes:
``rankine`` the vertical one through the heel, ``coulomb`` the back face. Where the routes of
that check part, the largest thrust is taken, and no smaller moment about the foot:

    the theory's;
    a trial wedge's under a level water table, behind a slope or a battered back where there
    is water or cohesion, at the height of the theory's;
    the minimum earth pressure, where the fill has cohesion.

Shaking adds the difference of the largest with it and without it, at 0.6 of the height
(Seed & Whitman 1970). In front, the passive side of the same check: level ground, no wall
friction; no coefficient above the static one, and none where shaking exceeds the friction.
Shaking of the ground in front and under the base takes hold of its saturated weight below
water, as it does behind. Hydrodynamic pressure is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.coefficients import (
    bell_cohesion,
    coulomb_active,
    rankine_active,
    seismic_angle,
)
from slipmargin.stability.earth_pressure.profile import Layer, layer_overburden
from slipmargin.stability.earth_pressure.thrust import (
    INCREMENT_HEIGHT,
    EarthThrust,
    compared_thrust,
    minimum_thrust,
    profile_thrust,
)
from slipmargin.stability.earth_pressure.wall_profile import WallProfile
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.strength import Numeric

__all__ = [
    "KeyThrust",
    "PassiveResistance",
    "ThrustPlane",
    "WallThrust",
    "key_thrust",
    "passive_resistance",
    "wall_thrust",
]

Array = NDArray[np.float64]

_LEAST_DEPTH = 1e-9  # in front; less holds nothing [m]


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

    @classmethod
    def of(cls, wall: RetainingWallInputs, section: WallSection) -> ThrustPlane:
        """Where the theory of a wall takes the thrust."""
        if wall.theory == "rankine":
            beta = wall.backfill_slope_angle
            rise = section.top_to_heel * np.tan(np.radians(beta))
            return cls(
                height=section.height + rise, batter=0.0, friction_angle=beta, foot=section.width
            )
        friction = 0.0 if wall.wall_friction_angle is None else wall.wall_friction_angle
        return cls(
            height=section.height,
            batter=section.face_batter,
            # no wall holds more than the soil beside it
            friction_angle=np.minimum(friction, wall.backfill.strength.friction_angle),
            foot=section.face_foot,
        )

    @property
    def inclination(self) -> Numeric:
        """Angle of the thrust below horizontal [deg]."""
        return self.friction_angle + np.asarray(self.batter)

    def arm(self, level: Numeric) -> Numeric:
        """Distance of the plane from the toe at a level above the base [m]."""
        return self.foot - level * np.tan(np.radians(self.batter))


@dataclass(frozen=True, slots=True, kw_only=True)
class WallThrust:
    """Thrust on the plane, without shaking and with it; nan where the theory has no answer.

    Parameters
    ----------
    profile
        The plane as the earth pressure check sees it.
    theory, minimum
        Thrust by the theory, and the minimum earth pressure where the fill has cohesion.
    theory_height
        Height of the theory's thrust above the foot [m], 0 where nothing pushes.
    wedge, shaken_wedge
        Trial wedge without shaking and with it [kN/m]; nan where it is not compared.
    thrust, height
        Static thrust that is taken [kN/m], and its height above the foot [m].
    increment, increment_height
        What shaking adds [kN/m], and its height above the foot [m].
    """

    profile: WallProfile
    theory: EarthThrust
    minimum: EarthThrust | None
    theory_height: Array
    wedge: Array
    shaken_wedge: Array
    thrust: Array
    height: Array
    increment: Array
    increment_height: Array

    @property
    def stress_at_foot(self) -> Array:
        """Effective vertical stress at the foot of the plane [kPa]."""
        return np.asarray(self.profile.ground.at_base)

    @property
    def mean_stress(self) -> Array:
        """Mean effective vertical stress on the plane [kPa]."""
        return np.asarray(self.profile.ground.effective_sum / self.profile.check.height)

    @property
    def beside(self) -> NDArray[np.bool_]:
        """Whether another thrust stands beside that of the theory."""
        least = np.nan if self.minimum is None else self.minimum.static
        return np.isfinite(self.wedge) | np.isfinite(least)


def wall_thrust(wall: RetainingWallInputs, plane: ThrustPlane, water_height: Numeric) -> WallThrust:
    """Thrust of the backfill.

    Parameters
    ----------
    wall
        The check.
    plane
        Where the thrust is taken.
    water_height
        Water behind, above the foot of the plane [m].
    """
    by_rankine = wall.theory == "rankine"
    profile = WallProfile.of(
        EarthPressure(
            soil=wall.backfill,
            height=plane.height,
            theory=wall.theory,
            wall_friction_angle=0.0 if by_rankine else plane.friction_angle,
            wall_batter=plane.batter,
            backfill_slope_angle=wall.backfill_slope_angle,
            surcharge=wall.surcharge,
            water_table_depth=None
            if wall.water_table_depth is None
            else np.asarray(plane.height - water_height),
            horizontal_seismic_coefficient=wall.horizontal_seismic_coefficient,
            water_unit_weight=wall.water_unit_weight,
        )
    )
    theory, minimum = profile_thrust(profile), minimum_thrust(profile)
    wedge, shaken_wedge = compared_thrust(profile)
    level = np.where(theory.static > 0.0, theory.static_height, 0.0)
    # the curved law gives a number below a slope that does not stand, its coefficient none
    own = np.where(np.isnan(theory.static_coefficient), np.nan, theory.static)
    still: list[Numeric] = [own, wedge]
    shaken: list[Numeric] = [theory.total, shaken_wedge]
    moments: list[Numeric] = [own * level, wedge * level]
    if minimum is not None:
        still.append(minimum.static)
        shaken.append(minimum.total)
        moments.append(minimum.static * minimum.static_height)
    thrust, moment = _largest(still), _largest(moments)
    pushes = thrust > 0.0
    return WallThrust(
        profile=profile,
        theory=theory,
        minimum=minimum,
        theory_height=level,
        wedge=wedge,
        shaken_wedge=shaken_wedge,
        thrust=thrust,
        height=np.where(pushes, moment / np.where(pushes, thrust, 1.0), 0.0),
        increment=_largest(shaken) - thrust,
        increment_height=np.asarray(INCREMENT_HEIGHT * np.asarray(plane.height)),
    )


def _largest(routes: list[Numeric]) -> Array:
    """The largest; nan where the first, the theory, has no answer."""
    found = np.asarray(routes[0])
    for one in routes[1:]:
        found = np.where(one > found, one, found)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class PassiveResistance:
    """Resistance in front: depth [m], water above the foot of it [m], angle of the body force
    [deg], coefficient [-], resistance [kN/m].
    """

    depth: Array
    water_height: Array
    seismic_angle: Array
    coefficient: Array
    resistance: Array


def passive_resistance(
    wall: RetainingWallInputs, depth: Numeric, water_height: Numeric
) -> PassiveResistance:
    """Passive resistance of the foundation soil in front: K_p ∫ σ′_v dz + 2 c′ √K_p D, K_p of
    the static case in the second term; the first term is 0 where shaking exceeds the friction.

    Parameters
    ----------
    wall
        The check.
    depth
        Depth D over which it acts [m].
    water_height
        Water level above the foot of that depth [m].
    """
    profile = WallProfile.of(
        EarthPressure(
            soil=wall.foundation,
            height=depth,
            theory="coulomb",
            side="passive",
            water_table_depth=np.maximum(np.asarray(depth) - water_height, 0.0),
            horizontal_seismic_coefficient=wall.horizontal_seismic_coefficient,
            water_unit_weight=wall.water_unit_weight,
        )
    )
    found = profile_thrust(profile)
    holds = np.isfinite(found.coefficient)
    lost = found.static - found.weight
    return PassiveResistance(
        depth=np.asarray(depth),
        water_height=np.asarray(water_height),
        seismic_angle=np.where(np.asarray(depth) > _LEAST_DEPTH, profile.seismic_angle, 0.0),
        coefficient=np.where(holds, found.coefficient, 0.0),
        resistance=np.where(holds, found.total, lost),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyThrust:
    """On the back of a key: mean effective vertical stress there [kPa], angle of the body force
    [deg], active coefficient [-], difference of head [m], thrust of soil and water [kN/m].
    """

    stress: Array
    seismic_angle: Array
    coefficient: Array
    head: Array
    thrust: Array


def key_thrust(
    wall: RetainingWallInputs,
    section: WallSection,
    foot_stress: Numeric,
    *,
    heads: tuple[Numeric, Numeric],
    water_depth: Numeric,
) -> KeyThrust:
    """Active pressure of the foundation soil, and of water, on the back of a key.

    The head at the key lies on the straight line from behind the heel to the toe, as the
    uplift does. Where shaking exceeds the friction the whole stress presses.

    Parameters
    ----------
    wall, section
        The check and its section.
    foot_stress
        Effective vertical stress at the foot of the thrust plane [kPa].
    heads
        Water behind and in front, above the base [m].
    water_depth
        Water table below the base [m], ``inf`` where dry.
    """
    strength, gamma_w = wall.foundation.strength, wall.water_unit_weight
    depth, behind = np.asarray(section.key_depth), np.asarray(heads[0])
    own = layer_overburden(
        (Layer(soil=wall.foundation, thickness=depth),),
        water_table_depth=water_depth,
        water_unit_weight=gamma_w,
    )
    deep = depth > 0.0
    span = np.where(deep, depth, 1.0)
    stress = np.asarray(foot_stress + own.effective_sum / span)
    total = foot_stress + gamma_w * behind + (own.effective_sum + own.water_sum) / span
    psi = seismic_angle(wall.horizontal_seismic_coefficient * total / stress, 0.0)
    k_a = coulomb_active(strength.friction_angle, seismic_angle=psi)
    k_a = np.where(np.isnan(k_a), 1.0, k_a)
    held = bell_cohesion(rankine_active(strength.friction_angle)) * strength.cohesion
    pressure = np.maximum(k_a * stress - held, 0.0)
    share = np.asarray(section.key_back) / section.width
    head = np.maximum(behind - heads[1], 0.0) * share
    return KeyThrust(
        stress=stress,
        seismic_angle=np.where(deep, psi, 0.0),
        coefficient=k_a,
        head=np.asarray(head),
        thrust=np.asarray(depth * (pressure + gamma_w * head)),
    )
