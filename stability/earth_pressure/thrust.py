"""The thrust on the back of a wall and its parts: the pure computation behind earth pressure.

Two routes give the same record. Theories with a coefficient turn the vertical stress at the
wall into pressure, layer by layer; the trial wedge searches the ground. In both

- P_γ, P_q and P_c are the thrust of weight alone, what loads add, what cohesion changes;
- water presses on its own, and below it the soil has its buoyant weight;
- with shaking, the static thrust keeps its height and the active increment acts at 0.6 H
  (Seed & Whitman 1970, ASCE Conf. Lateral Stresses, from memory), the passive decrement at
  the height of the static thrust.

The trial wedge takes its crack from Rankine's tension zone, 2 c tan(45 + φ/2) of vertical
stress; its height of thrust comes from the thrusts P(z) on the upper part of the wall,
since the moment about the base is the integral of P(z) down the wall.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.profile import LinearLaw, tension_depth, thrust_and_moment
from slipmargin.stability.earth_pressure.surcharge import (
    LineLoad,
    StripLoad,
    load_moment,
    load_thrust,
)
from slipmargin.stability.earth_pressure.trial_wedge import Side, WedgeResult, trial_wedge
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, by_piece, uniform
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric, Strength

if TYPE_CHECKING:
    from slipmargin.stability.earth_pressure.check import EarthPressure

__all__ = [
    "INCREMENT_HEIGHT",
    "MINIMUM_FRICTION",
    "EarthThrust",
    "compared_thrust",
    "earth_thrust",
    "minimum_thrust",
    "profile_thrust",
]

Array = NDArray[np.float64]

_HEIGHT_NODES, _HEIGHT_WEIGHTS = np.polynomial.legendre.leggauss(16)
_LEAST_DEPTH = 1e-9  # a wall of no height has no wedge [m]
INCREMENT_HEIGHT = 0.6  # of the wall, Seed & Whitman (1970)
MINIMUM_FRICTION = 40.0  # of the minimum earth pressure [deg], DIN 4085; EAB, EB 4 (from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthThrust:
    """What a route to the thrust gives: parts [kN/m], height of the static thrust [m], and of
    one soil by a coefficient the pressure at top, water table and base [kPa].
    """

    weight: Array
    surcharge: Array
    static: Array
    total: Array
    static_height: Array
    tension_depth: Array
    tension_stress: Array
    coefficient: Array
    static_coefficient: Array
    cohesion_coefficient: Array
    adhesion: Array
    pressures: tuple[Numeric, Numeric, Numeric] = (np.nan, np.nan, np.nan)
    wedge: WedgeResult | None = None


def profile_thrust(profile: WallProfile) -> EarthThrust:
    """Thrust from pressure against depth."""
    check, ground = profile.check, profile.ground
    extra, none = profile.surcharge_stress, np.zeros(profile.shape)
    own = profile.weight_law()
    weight, _ = thrust_and_moment(own, ground, none, cut=False)
    loaded, _ = thrust_and_moment(own, ground, extra, cut=False)
    law = profile.law()
    static, moment = thrust_and_moment(law, ground, extra, cut=profile.cracks)
    psi, k_v = profile.seismic_angle, check.vertical_seismic_coefficient
    total = static
    if profile.shaken:
        still, shaken = (
            thrust_and_moment(one, ground, extra, cut=profile.cracks)[0]
            for one in (profile.straight_law(), profile.straight_law(psi, k_v))
        )
        total = static + (shaken - still)
    with np.errstate(divide="ignore", invalid="ignore"):
        height = check.height - moment / static
    tension = tension_depth(law, ground, extra) if check.side == "active" else none
    pressures: tuple[Numeric, Numeric, Numeric] = (np.nan, np.nan, np.nan)
    if len(profile.layers) == 1:
        lower = law.pressure(ground.lower + extra)
        pressures = law.pressure(ground.upper + extra)[0], lower[0], lower[1]
    adhesion: Array = np.asarray(check.wall_adhesion, dtype=float)
    if check.theory == "annex_c":
        ratio = np.tan(np.radians(check.wall_friction_angle)) / np.tan(
            np.radians(profile.friction_angle)
        )
        adhesion = uniform(profile.cohesion * ratio)
    turned = psi if profile.shaken else 0.0
    return EarthThrust(
        weight=weight,
        surcharge=loaded - weight,
        static=static,
        total=total,
        static_height=height,
        tension_depth=tension,
        tension_stress=_at_zero_pressure(profile, law.zero_stress),
        coefficient=uniform(profile.coefficient(check.theory, turned)),
        static_coefficient=uniform(profile.coefficient(check.theory)),
        cohesion_coefficient=uniform(profile.cohesion_coefficient()),
        adhesion=adhesion * check.height / np.cos(np.radians(check.wall_batter)),
        pressures=pressures,
    )


def _at_zero_pressure(profile: WallProfile, stress: Array) -> Array:
    """The effective vertical stress of no pressure, of all pieces alike; active side only."""
    return uniform(stress) if profile.check.side == "active" else np.full(profile.shape, np.nan)


def wedge_thrust(profile: WallProfile) -> EarthThrust:
    """Thrust from the trial wedge; one soil."""
    check, soil = profile.check, profile.layers[0].soil
    wall = _WedgeWall.of(profile, check.wall_friction_angle)
    shaking = _shaking(check)
    result = wall.thrust(**wall.water, **wall.loads, **wall.held)
    static = wall.kept(result.thrust)
    moment = _moment_about_base(profile, wall)
    if profile.shaken:
        result = wall.thrust(**wall.water, **wall.loads, **wall.held, **shaking)
    weight = wall.thrust(**wall.water).thrust
    dry = 0.5 * np.asarray(soil.unit_weight) * np.asarray(check.height) ** 2
    lift = 1.0 - np.asarray(check.vertical_seismic_coefficient)
    leaning = {**shaking, "k_h": lift * np.tan(np.radians(profile.seismic_angle))}
    none = np.full(profile.shape, np.nan)
    straight = check.ground_line is None
    with np.errstate(divide="ignore", invalid="ignore"):
        height = moment / static
    face = (check.height - wall.crack) / np.cos(np.radians(check.wall_batter))
    return EarthThrust(
        weight=weight,
        surcharge=wall.thrust(**wall.water, **wall.loads).thrust - weight,
        static=static,
        total=wall.kept(result.thrust),
        static_height=height,
        tension_depth=wall.tension if check.side == "active" else np.zeros(profile.shape),
        tension_stress=_at_zero_pressure(profile, wall.tension_stress),
        coefficient=wall.thrust(**leaning).thrust / (dry * lift) if straight else none,
        static_coefficient=wall.thrust().thrust / dry if straight else none,
        cohesion_coefficient=none,
        adhesion=check.wall_adhesion * face,
        wedge=result,
    )


@dataclass(frozen=True, slots=True)
class _WedgeWall:
    """Arguments of the trial wedge, in the groups that are switched on one by one."""

    side: Side
    cuts: bool
    height: Numeric
    geometry: dict[str, Any]
    water: dict[str, Any]
    loads: dict[str, Any]
    held: dict[str, Any]
    tension_stress: Array
    tension: Array
    crack: Array

    @classmethod
    def of(cls, profile: WallProfile, wall_friction_angle: Numeric) -> _WedgeWall:
        check, soil = profile.check, profile.layers[0].soil
        half = np.tan(np.radians(45.0 + 0.5 * profile.friction_angle))
        stress = by_piece(2.0 * profile.cohesion * half)
        tension = tension_depth(
            LinearLaw(np.ones_like(profile.ground.upper), stress),
            profile.ground,
            profile.surcharge_stress,
        )
        crack = tension if profile.cracks else np.zeros(profile.shape)
        by_wedge = check.theory == "trial_wedge"
        table = check.water_table_depth
        return cls(
            "passive" if check.side == "passive" else "active",
            profile.cracks,
            check.height,
            geometry={
                "friction_angle": soil.strength.friction_angle,
                "unit_weight": soil.unit_weight,
                "wall_friction_angle": wall_friction_angle,
                "wall_batter": check.wall_batter,
                "backfill_slope_angle": _tail(check),
                "ground_line": ((0.0, 0.0),) if check.ground_line is None else check.ground_line,
            },
            water={
                "saturated_unit_weight": soil.weight_below_water,
                "water_table_depth": np.inf if table is None else table,
                "water_unit_weight": check.water_unit_weight,
            },
            loads={
                "surcharge": check.surcharge,
                "strip_loads": check.strip_loads if by_wedge else (),
                "line_loads": check.line_loads if by_wedge else (),
            },
            held={
                "cohesion": soil.strength.cohesion,
                "wall_adhesion": check.wall_adhesion,
                "crack_depth": crack,
            },
            tension_stress=stress,
            tension=tension,
            crack=crack,
        )

    def thrust(self, height: Numeric | None = None, **given: Any) -> WedgeResult:
        """The governing wedge behind the wall, or behind the upper part of it."""
        wall = self.height if height is None else height
        return trial_wedge(self.side, height=wall, **self.geometry, **given)

    def kept(self, force: Array) -> Array:
        """The thrust, where soil that cracks cannot pull."""
        return np.maximum(force, 0.0) if self.cuts else force


def _shaking(check: EarthPressure) -> dict[str, Any]:
    return {
        "k_h": check.horizontal_seismic_coefficient,
        "k_v": check.vertical_seismic_coefficient,
    }


def _moment_about_base(profile: WallProfile, wall: _WedgeWall) -> Array:
    """Moment of the static thrust: the thrusts on upper parts of the wall, summed down it."""
    height = np.asarray(wall.height)
    top = np.clip(wall.water["water_table_depth"], wall.crack, height)
    moment = np.zeros(profile.shape)
    for low, high in ((wall.crack, top), (top, height)):
        depth = 0.5 * (low + high) + 0.5 * np.multiply.outer(_HEIGHT_NODES, high - low)
        depth = np.maximum(depth, _LEAST_DEPTH)
        part = wall.kept(wall.thrust(depth, **wall.water, **wall.loads, **wall.held).thrust)
        part = np.where(high > low, part, 0.0)
        moment += 0.5 * (high - low) * np.tensordot(_HEIGHT_WEIGHTS, part, axes=1)
    return moment


def minimum_thrust(profile: WallProfile) -> EarthThrust | None:
    """The least thrust that is customary to count on where soil has cohesion: that of the same
    wall with φ′ = 40° and no cohesion; by a trial wedge where that presses harder.

    ``None`` where no soil has cohesion, on the passive side and at rest; nan in single cases
    without cohesion. Source: DIN 4085, minimum earth pressure, and EAB, EB 4 (from memory).
    """
    check = profile.check
    cohesive = np.any(profile.cohesion > 0.0)
    if check.side != "active" or check.theory == "at_rest" or not cohesive:
        return None

    def loose(soil: Soil) -> Soil:
        phi = np.asarray(soil.strength.friction_angle)
        kept = np.where(np.asarray(soil.strength.cohesion) > 0.0, MINIMUM_FRICTION, phi)
        return replace(soil, strength=Strength(cohesion=0.0, friction_angle=kept))

    layers = tuple(replace(layer, soil=loose(layer.soil)) for layer in check.layers)
    soil = None if check.soil is None else loose(check.soil)
    bare = WallProfile.of(replace(check, soil=soil, layers=layers, wall_adhesion=0.0))
    found = wedge_thrust(bare) if check.theory == "trial_wedge" else profile_thrust(bare)
    held = np.any(profile.cohesion > 0.0, axis=0)
    still, shaken = compared_thrust(bare)
    return replace(
        found,
        static=np.where(held, np.fmax(found.static, still), np.nan),
        total=np.where(held, np.fmax(found.total, shaken), np.nan),
        static_height=np.where(held, found.static_height, np.nan),
        coefficient=np.where(held, found.coefficient, np.nan),
        static_coefficient=np.where(held, found.static_coefficient, np.nan),
    )


def compared_thrust(profile: WallProfile) -> tuple[Array, Array]:
    """Active thrust by the trial wedge under a level water table, without shaking and with it
    [kN/m]; nan where the two routes agree by theory, or do not compare.

    A profile takes the buoyancy at the wall, as if the water table rose with the ground,
    and its crack at the wall; behind a slope or a batter a wedge can press harder.
    """
    check = profile.check
    none = np.full(profile.shape, np.nan)
    plain = check.side == "active" and check.theory in ("rankine", "coulomb")
    table = np.inf if check.water_table_depth is None else check.water_table_depth
    inclined = (np.asarray(check.backfill_slope_angle) != 0.0) | (
        np.asarray(check.wall_batter) != 0.0
    )
    parts = inclined & ((table < np.asarray(check.height)) | np.any(profile.cohesion > 0.0, axis=0))
    if not plain or len(profile.layers) > 1 or not np.any(parts):
        return none, none
    # on the vertical plane of Rankine the thrust is parallel to the ground
    friction = check.wall_friction_angle
    if check.theory == "rankine":
        friction = check.backfill_slope_angle
    wall = _WedgeWall.of(profile, friction)
    given = {**wall.water, **wall.loads, **wall.held}
    still = np.where(parts, wall.kept(wall.thrust(**given).thrust), np.nan)
    if not profile.shaken:
        return still, still
    shaken = wall.kept(wall.thrust(**given, **_shaking(check)).thrust)
    return still, np.where(parts, shaken, np.nan)


def _tail(check: EarthPressure) -> Numeric:
    """Slope of the ground beyond the last given point [deg]."""
    if check.ground_line is None:
        return check.backfill_slope_angle
    (x1, y1), (x2, y2) = check.ground_line[-2:]
    return float(np.degrees(np.arctan2(y2 - y1, x2 - x1)))


def _water(profile: WallProfile, tension: Array) -> tuple[Array, Array, Array, Array]:
    """Height of the water table above the base and of water in the crack [m], thrust of both,
    normal to the back [kN/m], and its height above the base [m].
    """
    check, height = profile.check, np.asarray(profile.check.height)
    table = np.inf if check.water_table_depth is None else np.asarray(check.water_table_depth)
    wet = np.maximum(height - table, 0.0)
    in_crack = np.minimum(check.tension_crack_water_depth, tension)
    # where the table stands higher than the water in the crack, it rules there
    shared = np.clip(tension - table, 0.0, in_crack)
    per_square = 0.5 * np.asarray(check.water_unit_weight) / np.cos(np.radians(check.wall_batter))
    force = per_square * (wet**2 + in_crack**2 - shared**2)
    foot = height - tension
    lever = wet**3 / 3.0 + in_crack**2 * (foot + in_crack / 3.0)
    lever = lever - shared**2 * (foot + shared / 3.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return wet, in_crack, force, per_square * lever / force


def earth_thrust(profile: WallProfile) -> EarthPressureValues:
    """Every value of an earth pressure check."""
    check = profile.check
    by_wedge = check.theory == "trial_wedge"
    earth = wedge_thrust(profile) if by_wedge else profile_thrust(profile)
    height = np.asarray(check.height, dtype=float)

    slope, batter = np.asarray(check.backfill_slope_angle), np.asarray(check.wall_batter)
    if check.theory in ("at_rest", "rankine"):
        angle = profile.sign * slope
    else:
        angle = check.wall_friction_angle + profile.sign * batter
    increment = earth.total - earth.static
    raised = INCREMENT_HEIGHT * height if check.side == "active" else earth.static_height
    elastic: tuple[StripLoad | LineLoad, ...] = (*check.strip_loads, *check.line_loads)
    elastic = () if by_wedge else elastic
    load = sum((load_thrust(one, height) for one in elastic), np.zeros(()))
    load_lever = sum(
        (load_thrust(one, height) * height - load_moment(one, height) for one in elastic),
        np.zeros(()),
    )
    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    horizontal, vertical = earth.total * cos + load, earth.total * sin
    resultant = np.where(load > 0.0, np.degrees(np.arctan2(vertical, horizontal)), angle)
    turn = np.radians(resultant)
    own = earth.static * np.where(earth.static == 0.0, 0.0, earth.static_height)
    lever = (own + np.where(increment == 0.0, 0.0, increment * raised)) * cos + load_lever
    wet, in_crack, water, water_height = _water(profile, earth.tension_depth)
    wedge, ground, stress = earth.wedge, profile.ground, profile.surcharge_stress
    least = minimum_thrust(profile)
    one_soil = len(profile.layers) == 1
    with np.errstate(divide="ignore", invalid="ignore"):
        thrust_height = lever / horizontal
    irregular = check.ground_line is not None
    values: dict[str, Any] = {
        "surcharge_stress": np.nan if irregular else stress,
        "water_height": wet,
        "effective_stress_at_water": ground.lower[0] + stress if one_soil else np.nan,
        "effective_stress_at_base": ground.lower[-1] + stress,
        "effective_stress_sum": ground.effective_sum + stress * height,
        "seismic_angle": profile.seismic_angle,
        **_curved_slip(profile),
        "coefficient": earth.coefficient,
        "static_coefficient": earth.static_coefficient,
        "cohesion_coefficient": earth.cohesion_coefficient,
        "pressure_at_top": earth.pressures[0],
        "pressure_at_water": earth.pressures[1],
        "pressure_at_base": earth.pressures[2],
        "tension_stress": earth.tension_stress,
        "tension_crack_depth": earth.tension_depth,
        "weight_thrust": earth.weight,
        "surcharge_thrust": earth.surcharge,
        "static_thrust": earth.static,
        "cohesion_thrust": earth.static - earth.weight - earth.surcharge,
        "seismic_thrust": increment,
        "earth_thrust": earth.total,
        "earth_thrust_angle": angle,
        "load_thrust": load,
        "load_moment": load_lever,
        "horizontal_thrust": horizontal,
        "vertical_thrust": vertical,
        "thrust_angle": resultant,
        "thrust": horizontal * np.cos(turn) + vertical * np.sin(turn),
        "static_thrust_height": earth.static_height,
        "thrust_height": thrust_height,
        "adhesion_force": earth.adhesion,
        "crack_water_height": in_crack,
        "water_thrust": water,
        "water_thrust_height": water_height,
        "trial_wedge_thrust": compared_thrust(profile)[1],
        "minimum_thrust": np.nan if least is None else least.total,
        "plane_angle": np.nan if wedge is None else wedge.plane_angle,
        "exit_distance": np.nan if wedge is None else wedge.exit_distance,
    }
    return EarthPressureValues(**values)


def _curved_slip(profile: WallProfile) -> dict[str, Array]:
    """Annex C's slip line and coefficient, on the passive side."""
    names = (
        "slip_line_angle_at_ground",
        "slip_line_angle_at_wall",
        "slip_line_turn",
        "surface_load_coefficient",
        "annex_c_coefficient",
    )
    if profile.check.side != "passive":
        return dict.fromkeys(names, np.full(profile.shape, np.nan))
    parts = (*profile.slip_line(), profile.coefficient("annex_c"))
    return {name: uniform(part) for name, part in zip(names, parts, strict=True)}
