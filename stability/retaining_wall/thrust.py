"""What the ground presses on a wall, behind it, in front of it and on its key.

The thrust is that of the earth pressure check, on the plane that the theory of the wall takes:
see :class:`ThrustPlane`. Where the routes of that check part, the largest thrust is taken, and no
smaller moment about the foot:

    the theory's;
    a trial wedge's under a level water table, behind a slope or a battered back where there
    is water or cohesion, at the height of the theory's;
    the minimum earth pressure, where the fill has cohesion.

Shaking adds the difference of the largest with it and without it, at 0.6 of the height
(Seed & Whitman 1970). Strips and lines of load press by elastic theory, unshaken. In front, the
passive side of the same check: level ground, no wall friction; no coefficient above the static
one, and none where shaking exceeds the friction. Shaking of the ground in front and under the base
takes hold of its saturated weight below water, as it does behind. Hydrodynamic pressure is left
out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.coefficients import (
    bell_cohesion,
    coulomb,
    rankine,
    seismic_angle,
)
from slipmargin.stability.earth_pressure.profile import LinearLaw, thrust_of
from slipmargin.stability.earth_pressure.surcharge import Load, loads_together
from slipmargin.stability.earth_pressure.thrust import INCREMENT_HEIGHT, loosened, minimum_thrust
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, profile_thrust
from slipmargin.stability.earth_pressure.wedge_route import compared_thrust
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.strength import Numeric
from slipmargin.strength.traced import worded

__all__ = ["ThrustPlane", "key_values", "passive_values", "thrust_values"]

_LEAST_DEPTH = 1e-9  # in front; less holds nothing [m]
_ROUND_OFF = 1e-9
_CURVED = "Integrated down the plane, since the pressure is curved."
_CURVED_SHAKEN = (
    "The static thrust, and what Mononobe-Okabe adds on the same plane, δ = β, cohesion counted."
)
_WEDGE = "By a trial wedge, which presses harder than its coefficient says."


@dataclass(frozen=True, slots=True)
class ThrustPlane:
    """The plane on which the thrust is taken: its vertical height [m], its batter from vertical
    and the angle δ of the thrust from its normal [deg]. Its ``foot`` is at the level of the base
    [m from the toe], its ``head`` so far behind the back edge of the wall's top [m].
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
            beta, reach = wall.backfill_slope_angle, section.top_to_heel
            height = section.height + reach * np.tan(np.radians(beta))
            return cls(height, 0.0, beta, +section.width, +reach)
        friction = 0.0 if wall.wall_friction_angle is None else wall.wall_friction_angle
        # no wall holds more than the soil beside it
        held = np.minimum(friction, wall.backfill.strength.friction_angle)
        foot, head = section.face_foot, section.face_head
        return cls(+section.height, section.face_batter, held, foot, head)

    def pressed(self, loads: Iterable[Load]) -> tuple[Numeric, Numeric]:
        """What strips and lines of load press on the plane [kN/m], and its moment about the
        level of the foot [kN·m/m]. One nearer to the wall than the plane is moved there, whole:
        it presses no less than from the back of the wall, nor than its part behind the plane.
        """
        moved = (replace(one, distance=np.maximum(one.distance - self.head, 0.0)) for one in loads)
        return loads_together(moved, self.height)

    def arm(self, level: Numeric) -> Numeric:
        """Distance of the plane from the toe at a level above the base [m]."""
        return self.foot - level * np.tan(np.radians(self.batter))


def thrust_values(
    wall: RetainingWallInputs, plane: ThrustPlane, water_height: Numeric, found: Any = None
) -> dict[str, Numeric]:
    """Thrust of the backfill by the names of the values; nan where the theory has no answer.
    ``water_height`` stands above the foot of the plane [m]. ``found``: the thrust again, what is
    searched or integrated being that of these values.
    """
    profile = _profile_of(wall, plane, water_height)
    ground, shaken = profile.ground, profile.shaken
    if found is None:
        theory, minimum = profile_thrust(profile), minimum_thrust(profile)
        wedge, wedge_shaken = compared_thrust(profile)
    else:
        theory, minimum = _followed(profile, found)
        wedge = found.trial_wedge_thrust
        wedge_shaken = found.trial_wedge_thrust_with_shaking

    def of_minimum(name: str) -> Numeric:
        return minimum.get(name, np.nan)

    least = least_height = of_minimum("static_thrust")
    if minimum:
        # without cohesion the pressure grows as the stress does
        stress = thrust_of((LinearLaw(1.0, 0.0),), ground, cut=False)
        least_height = np.where(np.isnan(least), np.nan, stress.moment / ground.effective_sum)
    static = theory["static_thrust"]
    level = np.where(static > 0.0, theory["static_thrust_height"], 0.0)
    # the curved law gives a number below a slope that does not stand, its coefficient none
    own = np.where(np.isnan(theory["static_coefficient"]), np.nan, static)
    thrust = _largest(own, wedge, least)
    moment = _largest(own * level, wedge * level, least * least_height)
    height = _over(moment, thrust)
    increment = _largest(theory["total"], wedge_shaken, of_minimum("total")) - thrust
    increment_height = INCREMENT_HEIGHT * plane.height

    k_a, k_m = theory["static_coefficient"], of_minimum("static_coefficient")
    # without shaking the two are one, and it is the static one that is printed
    k_ae = theory["coefficient"] if shaken else +k_a
    k_me = of_minimum("coefficient") if shaken else +k_m
    beside = np.isfinite(wedge) | np.isfinite(least)
    by_rankine, turned = wall.theory == "rankine", plane.friction_angle + plane.batter
    cos, sin = np.cos(np.radians(turned)), np.sin(np.radians(turned))
    pressed, pressed_moment = plane.pressed(wall.loads)
    return {
        "thrust_plane_height": plane.height,
        "thrust_plane_batter": plane.batter,
        "thrust_plane_foot": plane.foot,
        "thrust_plane_head": plane.head if wall.loads else np.nan,
        "wall_friction_used": np.nan if by_rankine else plane.friction_angle,
        "thrust_angle": turned,
        "active_coefficient": k_a,
        "cohesion_coefficient": theory["cohesion_coefficient"],
        "surcharge_stress": profile.surcharge_stress,
        "vertical_stress_at_water": ground.pieces[0].lower,
        "vertical_stress_at_foot": ground.at_base,
        "vertical_stress_sum": ground.effective_sum,
        "mean_vertical_stress": ground.effective_sum / plane.height,
        "thrust_from_surcharge": theory["surcharge_thrust"],
        "thrust_without_cohesion": k_a * ground.effective_sum,
        "pressure_at_top": theory["pressure_at_top"],
        "pressure_at_water": theory["pressure_at_water"],
        "pressure_at_foot": theory["pressure_at_base"],
        "tension_stress": theory["tension_stress"],
        "tension_crack_depth": theory["tension_crack_depth"],
        "theory_thrust": np.where(beside, static, np.nan),
        "theory_thrust_height": np.where(beside, level, np.nan),
        "trial_wedge_thrust": wedge,
        "minimum_coefficient": k_m,
        "minimum_thrust": least,
        "minimum_thrust_height": least_height,
        "thrust": thrust,
        "thrust_height": height,
        "thrust_arm": plane.arm(height),
        "thrust_horizontal": thrust * cos,
        "thrust_vertical": thrust * sin,
        "seismic_angle": profile.seismic_angle,
        "seismic_coefficient": k_ae,
        "theory_thrust_with_shaking": np.where(beside, theory["total"], np.nan),
        "trial_wedge_thrust_with_shaking": wedge_shaken,
        "minimum_seismic_coefficient": k_me,
        "minimum_thrust_with_shaking": of_minimum("total"),
        "thrust_increment": increment,
        "thrust_increment_height": increment_height,
        "thrust_increment_arm": plane.arm(increment_height),
        "thrust_increment_horizontal": increment * cos,
        "thrust_increment_vertical": increment * sin,
        "load_thrust": pressed,
        "load_moment": pressed_moment,
        "load_thrust_height": _over(pressed_moment, pressed),
    }


def _over(moment: Numeric, thrust: Numeric) -> Numeric:
    """Height at which a thrust acts [m]; 0 where there is none."""
    pushes = thrust > 0.0
    return np.where(pushes, moment / np.where(pushes, thrust, 1.0), 0.0)


def _followed(profile: WallProfile, found: Any) -> tuple[dict[str, Numeric], dict[str, Numeric]]:
    """Thrust by the theory, and the minimum, with what is searched or integrated ``found``."""
    theory, bare = profile_thrust(profile), loosened(profile)
    if profile.curved:
        static = worded(found.theory_thrust, _CURVED)
        shaken = worded(found.theory_thrust_with_shaking, _CURVED_SHAKEN)
        theory["static_thrust"], theory["total"] = static, shaken if profile.shaken else static
        theory["static_thrust_height"] = worded(found.theory_thrust_height, _CURVED)
    if bare is None:
        return theory, {}
    minimum = profile_thrust(bare)
    for name, searched in (
        ("static_thrust", found.minimum_thrust),
        ("total", found.minimum_thrust_with_shaking),
    ):
        minimum[name] = _harder(searched, minimum[name])
    return theory, minimum


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


def _largest(found: Numeric, *others: Numeric) -> Numeric:
    """The largest thrust; nan where the first, the theory, has no answer."""
    for one in others:
        found = np.where(np.isnan(one), found, np.maximum(found, one))
    return found


def passive_values(
    wall: RetainingWallInputs, depth: Numeric, water_height: Numeric
) -> dict[str, Numeric]:
    """Passive resistance of the foundation soil in front over a depth D, with water up to
    ``water_height`` above its foot [m], by the names of the values: K_p ∫ σ′_v dz + 2 c′ √K_p D,
    K_p of the static case in the second term; the first is 0 where shaking exceeds the friction.
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

    The head at the key lies on the straight line from behind the heel to the toe, as the uplift
    does. Where shaking exceeds the friction the whole stress presses. ``foot_stress`` is at the
    foot of the thrust plane [kPa], ``heads`` stand behind and in front, above the base, and
    ``wet_depth`` of the key lies in water [m].
    """
    soil, gamma_w, k_h = (
        wall.foundation,
        wall.water_unit_weight,
        wall.horizontal_seismic_coefficient,
    )
    phi, depth, (behind, before) = soil.strength.friction_angle, section.key_depth, heads
    moist, deep = soil.unit_weight, depth > 0.0
    wet = wet_depth**2 / (2.0 * np.where(deep, depth, 1.0))
    stress = foot_stress + moist * depth / 2.0 + (soil.weight_below_water - gamma_w - moist) * wet
    water = gamma_w * (behind + wet)
    psi = seismic_angle(k_h * (1.0 + water / stress), 0.0)
    still = rankine(phi)
    k_a = np.where(k_h > 0.0, coulomb(phi, seismic_angle=psi), still)
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
