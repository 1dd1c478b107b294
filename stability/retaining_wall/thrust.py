"""What the ground presses on a wall, behind it, in front of it and on its key.

The thrust is that of the earth pressure check, on the plane that the theory of the wall takes:
``rankine`` the vertical one through the heel, ``coulomb`` the back face. Where the routes of
that check part, the largest thrust is taken, and no smaller moment about the foot:

    the theory's;
    a trial wedge's under a level water table, behind a slope or a battered back where there
    is water or cohesion, at the height of the theory's;
    the minimum earth pressure, where the fill has cohesion.

Shaking adds the difference of the largest with it and without it, at 0.6 of the height
(Seed & Whitman 1970). Strips and lines of load press by elastic theory, unshaken. In front, the
passive side of the same check: level ground, no wall
friction; no coefficient above the static one, and none where shaking exceeds the friction.
Shaking of the ground in front and under the base takes hold of its saturated weight below
water, as it does behind. Hydrodynamic pressure is left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.coefficients import (
    bell_cohesion,
    coulomb_active,
    rankine_active,
    seismic_angle,
)
from slipmargin.stability.earth_pressure.profile import LinearLaw, thrust_of
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad, loads_together
from slipmargin.stability.earth_pressure.thrust import (
    INCREMENT_HEIGHT,
    EarthThrust,
    compared_thrust,
    loosened,
    minimum_thrust,
    profile_thrust,
)
from slipmargin.stability.earth_pressure.wall_profile import WallProfile
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.strength import Numeric
from slipmargin.strength.traced import worded

__all__ = [
    "ThrustPlane",
    "WallThrust",
    "followed_thrust",
    "key_values",
    "passive_values",
    "wall_thrust",
]

_LEAST_DEPTH = 1e-9  # in front; less holds nothing [m]
_ROUND_OFF = 1e-9
_CURVED = "Integrated down the plane, since the pressure is curved."
_CURVED_SHAKEN = (
    "The static thrust, and what Mononobe-Okabe adds on the same plane, δ = β, cohesion counted."
)
_WEDGE = "By a trial wedge, which presses harder than its coefficient says."


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
    head
        How far its head stands behind the back edge of the wall's top [m].
    """

    height: Numeric
    batter: Numeric
    friction_angle: Numeric
    foot: Numeric
    head: Numeric

    @classmethod
    def of(cls, wall: RetainingWallInputs, section: WallSection) -> ThrustPlane:
        """Where the theory of a wall takes the thrust."""
        if wall.theory == "rankine":
            beta = wall.backfill_slope_angle
            rise = section.top_to_heel * np.tan(np.radians(beta))
            return cls(
                height=section.height + rise,
                batter=0.0,
                friction_angle=beta,
                foot=+section.width,
                head=+section.top_to_heel,
            )
        friction = 0.0 if wall.wall_friction_angle is None else wall.wall_friction_angle
        most = wall.backfill.strength.friction_angle
        return cls(
            height=+section.height,
            batter=section.face_batter,
            # no wall holds more than the soil beside it
            friction_angle=np.minimum(friction, most),
            foot=section.face_foot,
            head=section.face_head,
        )

    @property
    def inclination(self) -> Numeric:
        """Angle of the thrust below horizontal [deg]."""
        return self.friction_angle + self.batter

    def pressed(self, loads: Iterable[StripLoad | LineLoad]) -> tuple[Numeric, Numeric]:
        """What strips and lines of load press on the plane [kN/m], and its moment about the
        level of the foot [kN·m/m]. One nearer to the wall than the plane is moved there, whole:
        it presses no less than from the back of the wall, nor than its part behind the plane.
        """
        return loads_together(
            (replace(one, distance=np.maximum(one.distance - self.head, 0.0)) for one in loads),
            self.height,
        )

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
    theory_height, minimum_height
        Their heights above the foot [m]; the theory's is 0 where nothing pushes.
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
    theory_height: Numeric
    minimum_height: Numeric
    wedge: Numeric
    shaken_wedge: Numeric
    thrust: Numeric
    height: Numeric
    increment: Numeric
    increment_height: Numeric

    @property
    def beside(self) -> NDArray[np.bool_]:
        """Whether another thrust stands beside that of the theory."""
        least = np.nan if self.minimum is None else self.minimum.static_thrust
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
    profile = _profile_of(wall, plane, water_height)
    return _largest_thrust(
        plane,
        profile,
        profile_thrust(profile),
        minimum_thrust(profile),
        compared_thrust(profile),
    )


def followed_thrust(
    wall: RetainingWallInputs, plane: ThrustPlane, water_height: Numeric, found: Any
) -> WallThrust:
    """The thrust again; what is searched or integrated is ``found``, the values of the wall."""
    profile = _profile_of(wall, plane, water_height)
    theory = profile_thrust(profile)
    if profile.curved:
        static = worded(found.theory_thrust, _CURVED)
        shaken = worded(found.theory_thrust_with_shaking, _CURVED_SHAKEN)
        theory = replace(
            theory,
            static_thrust=static,
            static_thrust_height=worded(found.theory_thrust_height, _CURVED),
            total=shaken if profile.shaken else static,
        )
    bare, minimum = loosened(profile), None
    if bare is not None:
        minimum = profile_thrust(bare)
        minimum = replace(
            minimum,
            static_thrust=_harder(found.minimum_thrust, minimum.static_thrust),
            total=_harder(found.minimum_thrust_with_shaking, minimum.total),
        )
    wedges = (found.trial_wedge_thrust, found.trial_wedge_thrust_with_shaking)
    return _largest_thrust(plane, profile, theory, minimum, wedges)


def _harder(found: Any, own: Any) -> Any:
    """The minimum by its coefficient, unless a trial wedge presses harder."""
    return worded(found, _WEDGE) if float(found) > float(own) * (1.0 + _ROUND_OFF) else own


def _profile_of(
    wall: RetainingWallInputs, plane: ThrustPlane, water_height: Numeric
) -> WallProfile:
    """The plane as the earth pressure check sees it."""
    dry, by_rankine = wall.water_table_depth is None, wall.theory == "rankine"
    return WallProfile.of(
        EarthPressure(
            soil=wall.backfill,
            height=plane.height,
            theory=wall.theory,
            wall_friction_angle=0.0 if by_rankine else plane.friction_angle,
            wall_batter=plane.batter,
            backfill_slope_angle=wall.backfill_slope_angle,
            surcharge=wall.surcharge,
            water_table_depth=None if dry else plane.height - water_height,
            horizontal_seismic_coefficient=wall.horizontal_seismic_coefficient,
            water_unit_weight=wall.water_unit_weight,
        )
    )


def _largest_thrust(
    plane: ThrustPlane,
    profile: WallProfile,
    theory: EarthThrust,
    minimum: EarthThrust | None,
    wedges: tuple[Numeric, Numeric],
) -> WallThrust:
    wedge, shaken_wedge = wedges
    level = np.where(theory.static_thrust > 0.0, theory.static_thrust_height, 0.0)
    # the curved law gives a number below a slope that does not stand, its coefficient none
    own = np.where(np.isnan(theory.static_coefficient), np.nan, theory.static_thrust)
    least_height: Numeric = np.nan
    still: list[Numeric] = [own, wedge]
    shaken: list[Numeric] = [theory.total, shaken_wedge]
    moments: list[Numeric] = [own * level, wedge * level]
    if minimum is not None:
        still.append(minimum.static_thrust)
        shaken.append(minimum.total)
        # without cohesion its pressure grows as the stress does
        stress = thrust_of((LinearLaw(1.0, 0.0),), profile.ground, cut=False)
        least_height = stress.moment / profile.ground.effective_sum
        least_height = np.where(np.isnan(minimum.static_thrust), np.nan, least_height)
        moments.append(minimum.static_thrust * least_height)
    thrust, moment = _largest(still), _largest(moments)
    pushes = thrust > 0.0
    return WallThrust(
        profile=profile,
        theory=theory,
        minimum=minimum,
        theory_height=level,
        minimum_height=least_height,
        wedge=wedge,
        shaken_wedge=shaken_wedge,
        thrust=thrust,
        height=np.where(pushes, moment / np.where(pushes, thrust, 1.0), 0.0),
        increment=_largest(shaken) - thrust,
        increment_height=INCREMENT_HEIGHT * plane.height,
    )


def _largest(routes: list[Numeric]) -> Numeric:
    """The largest; nan where the first, the theory, has no answer."""
    found = routes[0]
    for one in routes[1:]:
        found = np.where(np.isnan(one), found, np.maximum(found, one))
    return found


def passive_values(
    wall: RetainingWallInputs, depth: Numeric, water_height: Numeric
) -> dict[str, Numeric]:
    """Passive resistance of the foundation soil in front, by the names of the values: K_p ∫ σ′_v dz
    + 2 c′ √K_p D, K_p of the static case in the second term; the first term is 0 where shaking
    exceeds the friction.

    Parameters
    ----------
    wall
        The check.
    depth
        Depth D over which it acts [m].
    water_height
        Water level above the foot of that depth [m].
    """
    soil = wall.foundation
    profile = WallProfile.of(
        EarthPressure(
            soil=soil,
            height=depth,
            side="passive",
            water_table_depth=depth - water_height,
            horizontal_seismic_coefficient=wall.horizontal_seismic_coefficient,
            water_unit_weight=wall.water_unit_weight,
        )
    )
    own, stress_sum = profile.coefficients[0], profile.ground.effective_sum
    coefficient = np.where(np.isfinite(own.weight), own.weight, 0.0)
    return {
        "passive_depth": depth,
        "passive_water_height": water_height,
        "passive_stress_sum": stress_sum,
        "passive_seismic_angle": np.where(depth > _LEAST_DEPTH, profile.seismic_angle, 0.0),
        "passive_coefficient": coefficient,
        "passive_resistance": coefficient * stress_sum
        + own.cohesion * soil.strength.cohesion * depth,
    }


def key_values(
    wall: RetainingWallInputs,
    section: WallSection,
    foot_stress: Numeric,
    *,
    heads: tuple[Numeric, Numeric],
    wet_depth: Numeric,
) -> dict[str, Numeric]:
    """Active pressure of the foundation soil, and of water, on the back of a key, by the names
    of the values.

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
    wet_depth
        How much of the depth of the key lies in water [m].
    """
    soil, gamma_w, k_h = (
        wall.foundation,
        wall.water_unit_weight,
        wall.horizontal_seismic_coefficient,
    )
    phi, (behind, before) = soil.strength.friction_angle, heads
    depth, moist = section.key_depth, soil.unit_weight
    deep = depth > 0.0
    wet = wet_depth**2 / (2.0 * np.where(deep, depth, 1.0))
    stress = foot_stress + moist * depth / 2.0 + (soil.weight_below_water - gamma_w - moist) * wet
    water = gamma_w * (behind + wet)
    psi = seismic_angle(k_h * (1.0 + water / stress), 0.0)
    still = rankine_active(phi)
    k_a = np.where(k_h > 0.0, coulomb_active(phi, seismic_angle=psi), still)
    k_a = np.where(np.isnan(k_a), 1.0, k_a)
    pressure = np.maximum(k_a * stress - bell_cohesion(still) * soil.strength.cohesion, 0.0)
    back = section.key_front + section.key_width
    head = np.maximum(behind - before, 0.0) * back / section.width
    return {
        "key_vertical_stress": stress,
        "key_seismic_angle": np.where(deep, psi, 0.0),
        "key_active_coefficient": k_a,
        "key_head": head,
        "key_thrust": depth * (pressure + gamma_w * head),
    }
