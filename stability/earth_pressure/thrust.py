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

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.inputs import EarthPressureInputs
from slipmargin.stability.earth_pressure.profile import LinearLaw, thrust_of, total
from slipmargin.stability.earth_pressure.surcharge import loads_together
from slipmargin.stability.earth_pressure.trial_wedge import Side, WedgeResult, trial_wedge
from slipmargin.stability.earth_pressure.values import SEARCHED, EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, uniform
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric, Strength
from slipmargin.strength.traced import worded

__all__ = [
    "INCREMENT_HEIGHT",
    "MINIMUM_FRICTION",
    "EarthThrust",
    "compared_thrust",
    "earth_thrust",
    "followed_thrust",
    "loosened",
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
    """What a route to the thrust gives, by the names of the values; ``total`` is the thrust with
    shaking [kN/m], and the pressures are those of one soil by a coefficient.
    """

    weight_thrust: Numeric
    surcharge_thrust: Numeric
    static_thrust: Numeric
    seismic_thrust: Numeric
    total: Numeric
    static_thrust_height: Numeric
    tension_crack_depth: Numeric
    tension_stress: Numeric
    coefficient: Numeric
    static_coefficient: Numeric
    cohesion_coefficient: Numeric
    adhesion_force: Numeric
    pressure_at_top: Numeric = np.nan
    pressure_at_water: Numeric = np.nan
    pressure_at_base: Numeric = np.nan
    wedge: WedgeResult | None = None


_SHARED = tuple(one.name for one in fields(EarthThrust) if one.name not in ("total", "wedge"))


def profile_thrust(profile: WallProfile) -> EarthThrust:
    """Thrust from pressure against depth."""
    check, ground, cut = profile.check, profile.ground, profile.cracks
    load = profile.surcharge_stress
    layers = tuple(zip(profile.layers, ground.sums, profile.coefficients, strict=True))
    laws = profile.laws()
    still = thrust_of(laws, ground, cut=cut)
    increment: Numeric = 0.0
    together = still.force
    if profile.shaken:
        shaken = thrust_of(profile.straight_laws(shaken=True), ground, cut=cut).force
        straight, together = still.force, shaken
        if profile.curved:
            straight = thrust_of(profile.straight_laws(shaken=False), ground, cut=cut).force
            together = still.force + (shaken - straight)
        increment = shaken - straight
    with np.errstate(divide="ignore", invalid="ignore"):
        height = still.moment / still.force
    top, table, base = still.pressures[0] if len(layers) == 1 else (np.nan, np.nan, np.nan)
    adhesion = check.wall_adhesion
    if check.theory == "annex_c":
        tan_delta = np.tan(np.radians(check.wall_friction_angle))
        adhesion = uniform(
            [one.soil.strength.cohesion * tan_delta / one.soil.strength.tan_friction_angle
             for one in profile.layers]
        )  # fmt: skip
    return EarthThrust(
        weight_thrust=total(
            one.still * (stress_sum - load * layer.thickness) for layer, stress_sum, one in layers
        ),
        surcharge_thrust=total(one.still * load * layer.thickness for layer, _, one in layers),
        static_thrust=still.force,
        seismic_thrust=increment,
        total=together,
        static_thrust_height=height,
        tension_crack_depth=still.tension_depth if check.side == "active" else 0.0,
        tension_stress=_at_zero_pressure(profile, still.zero_stress),
        coefficient=uniform([one.weight for one in profile.coefficients]),
        static_coefficient=uniform([one.still for one in profile.coefficients]),
        cohesion_coefficient=uniform([one.cohesion for one in profile.coefficients]),
        adhesion_force=adhesion * check.height / np.cos(np.radians(check.wall_batter)),
        pressure_at_top=top,
        pressure_at_water=table,
        pressure_at_base=base,
    )


def _at_zero_pressure(profile: WallProfile, by_layer: Sequence[Numeric]) -> Numeric:
    """The effective vertical stress of no pressure, of all layers alike; active side only."""
    return uniform(by_layer) if profile.check.side == "active" else np.nan


def wedge_thrust(profile: WallProfile) -> EarthThrust:
    """Thrust from the trial wedge; one soil."""
    check, soil = profile.check, profile.layers[0].soil
    wall = _WedgeWall.of(profile, check.wall_friction_angle)
    shaking = _shaking(check)
    result = wall.thrust(**wall.water, **wall.loads, **wall.held)
    static = wall.kept(result.thrust)
    moment = _moment_about_base(wall, np.shape(static))
    if profile.shaken:
        result = wall.thrust(**wall.water, **wall.loads, **wall.held, **shaking)
    weight = wall.thrust(**wall.water).thrust
    dry = 0.5 * np.asarray(soil.unit_weight) * np.asarray(check.height) ** 2
    lift = 1.0 - np.asarray(check.vertical_seismic_coefficient)
    leaning = {**shaking, "k_h": lift * np.tan(np.radians(profile.seismic_angle))}
    straight = check.ground_line is None
    with np.errstate(divide="ignore", invalid="ignore"):
        height = moment / static
    return EarthThrust(
        weight_thrust=weight,
        surcharge_thrust=wall.thrust(**wall.water, **wall.loads).thrust - weight,
        static_thrust=static,
        seismic_thrust=wall.kept(result.thrust) - static,
        total=wall.kept(result.thrust),
        static_thrust_height=height,
        coefficient=wall.thrust(**leaning).thrust / (dry * lift) if straight else np.nan,
        static_coefficient=wall.thrust().thrust / dry if straight else np.nan,
        wedge=result,
        **_wedge_crack(profile),
    )


def _wedge_crack(profile: WallProfile) -> dict[str, Any]:
    """What a trial wedge needs no search for: Rankine's tension zone, adhesion below it."""
    check, strength = profile.check, profile.layers[0].soil.strength
    half = np.tan(np.radians(45.0 + strength.friction_angle / 2.0))
    stress = 2.0 * strength.cohesion * half
    law = LinearLaw(1.0, stress)
    tension = thrust_of((law,), profile.ground, cut=False).tension_depth
    crack = tension if profile.cracks else 0.0
    face = (check.height - crack) / np.cos(np.radians(check.wall_batter))
    return {
        "tension_crack_depth": tension if check.side == "active" else 0.0,
        "tension_stress": _at_zero_pressure(profile, [stress]),
        "adhesion_force": check.wall_adhesion * face,
        "cohesion_coefficient": np.nan,
    }


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
    crack: Numeric

    @classmethod
    def of(cls, profile: WallProfile, wall_friction_angle: Numeric) -> _WedgeWall:
        check, soil = profile.check, profile.layers[0].soil
        crack = _wedge_crack(profile)["tension_crack_depth"] if profile.cracks else 0.0
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
            crack=crack,
        )

    def thrust(self, height: Numeric | None = None, **given: Any) -> WedgeResult:
        """The governing wedge behind the wall, or behind the upper part of it."""
        wall = self.height if height is None else height
        return trial_wedge(self.side, height=wall, **self.geometry, **given)

    def kept(self, force: Array) -> Array:
        """The thrust, where soil that cracks cannot pull."""
        return np.maximum(force, 0.0) if self.cuts else force


def _shaking(check: EarthPressureInputs) -> dict[str, Any]:
    return {
        "k_h": check.horizontal_seismic_coefficient,
        "k_v": check.vertical_seismic_coefficient,
    }


def _moment_about_base(wall: _WedgeWall, shape: tuple[int, ...]) -> Array:
    """Moment of the static thrust: the thrusts on upper parts of the wall, summed down it."""
    height = np.asarray(wall.height)
    top = np.clip(wall.water["water_table_depth"], wall.crack, height)
    moment = np.zeros(())
    for ends in ((wall.crack, top), (top, height)):
        low, high = (np.broadcast_to(end, shape) for end in ends)
        depth = 0.5 * (low + high) + 0.5 * np.multiply.outer(_HEIGHT_NODES, high - low)
        depth = np.maximum(depth, _LEAST_DEPTH)
        part = wall.kept(wall.thrust(depth, **wall.water, **wall.loads, **wall.held).thrust)
        part = np.where(high > low, part, 0.0)
        moment = moment + 0.5 * (high - low) * np.tensordot(_HEIGHT_WEIGHTS, part, axes=1)
    return moment


def loosened(profile: WallProfile) -> WallProfile | None:
    """The same wall and ground with φ′ = 40° and no cohesion where soil has cohesion.

    ``None`` where no soil has cohesion, on the passive side and at rest.
    """
    check = profile.check
    if check.side != "active" or check.theory == "at_rest" or not profile.cohesive:
        return None

    def loose(soil: Soil) -> Soil:
        cohesive = soil.strength.cohesion > 0.0
        kept = np.where(cohesive, MINIMUM_FRICTION, soil.strength.friction_angle)
        return replace(soil, strength=Strength(cohesion=0.0, friction_angle=kept))

    layers = tuple(replace(layer, soil=loose(layer.soil)) for layer in check.layers)
    soil = None if check.soil is None else loose(check.soil)
    return profile.of_soils(replace(check, soil=soil, layers=layers, wall_adhesion=0.0))


def minimum_thrust(profile: WallProfile) -> EarthThrust | None:
    """The least thrust that is customary to count on where soil has cohesion: that of the same
    wall with φ′ = 40° and no cohesion; by a trial wedge where that presses harder.

    ``None`` where no soil has cohesion, on the passive side and at rest; nan in single cases
    without cohesion. Source: DIN 4085, minimum earth pressure, and EAB, EB 4 (from memory).
    """
    bare = loosened(profile)
    if bare is None:
        return None
    by_wedge = profile.check.theory == "trial_wedge"
    found = wedge_thrust(bare) if by_wedge else profile_thrust(bare)
    held = np.any(profile.cohesion > 0.0, axis=0)
    still, shaken = compared_thrust(bare)
    static = np.where(held, np.fmax(found.static_thrust, still), np.nan)
    total = np.where(held, np.fmax(found.total, shaken), np.nan)
    return replace(
        found,
        static_thrust=static,
        seismic_thrust=total - static,
        total=total,
        static_thrust_height=np.where(held, found.static_thrust_height, np.nan),
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
    none = np.asarray(np.nan)
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


def _tail(check: EarthPressureInputs) -> Numeric:
    """Slope of the ground beyond the last given point [deg]."""
    if check.ground_line is None:
        return check.backfill_slope_angle
    (x1, y1), (x2, y2) = check.ground_line[-2:]
    return float(np.degrees(np.arctan2(y2 - y1, x2 - x1)))


def _water(profile: WallProfile, tension: Numeric) -> tuple[Numeric, Numeric, Numeric]:
    """Height of water in the crack [m], thrust of it and of the water table, normal to the back
    [kN/m], and its height above the base [m].
    """
    check, wet = profile.check, profile.ground.water_height
    held, table = check.tension_crack_water_depth, check.water_table_depth
    in_crack = np.where(tension > 0.0, np.minimum(held, tension), 0.0)
    shared: Numeric = 0.0
    if table is not None:
        # where the table stands higher than the water in the crack, it rules there
        shared = np.where(tension > table, np.minimum(tension - table, in_crack), 0.0)
    squares = wet**2 + in_crack**2 - shared**2
    force = check.water_unit_weight * squares / (2.0 * np.cos(np.radians(check.wall_batter)))
    foot = check.height - tension
    cubes = wet**3 / 3.0 + in_crack**2 * (foot + in_crack / 3.0)
    cubes = cubes - shared**2 * (foot + shared / 3.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        of_two = cubes / squares
    # one triangle presses at its third
    lever = np.where(wet > 0.0, np.where(in_crack > 0.0, of_two, wet / 3.0), foot + in_crack / 3.0)
    return in_crack, force, np.where(squares > 0.0, lever, np.nan)


def earth_thrust(profile: WallProfile) -> EarthPressureValues:
    """Every value of an earth pressure check."""
    by_wedge = profile.check.theory == "trial_wedge"
    earth = wedge_thrust(profile) if by_wedge else profile_thrust(profile)
    least = minimum_thrust(profile)
    return _values(
        profile,
        earth,
        trial_wedge_thrust=compared_thrust(profile)[1],
        minimum_thrust=np.nan if least is None else least.total,
        plane_angle=np.nan if earth.wedge is None else earth.wedge.plane_angle,
        exit_distance=np.nan if earth.wedge is None else earth.wedge.exit_distance,
    )


_SUMMED = "Summed over the layers."
_CURVED = "Integrated down the wall, since the pressure is curved."
_PARTS = "Integrated from the thrusts on upper parts of the wall."
_AT_WALL = "From the ground at the wall."


def followed_thrust(profile: WallProfile, found: EarthPressureValues) -> EarthPressureValues:
    """The values again; what is searched, integrated or summed over layers is ``found``."""
    check = profile.check
    layered = len(profile.layers) > 1

    def taken(words: str, *names: str) -> dict[str, Any]:
        return {name: worded(getattr(found, name), words) for name in names}

    if check.theory == "trial_wedge":
        crack = _wedge_crack(profile)
        if check.ground_line is not None:
            crack |= taken(_AT_WALL, "tension_crack_depth")
        parts = ("weight_thrust", "surcharge_thrust", "static_thrust", "seismic_thrust")
        searched = taken(SEARCHED, *parts, "coefficient", "static_coefficient", "earth_thrust")
        total_thrust = searched.pop("earth_thrust")
        level = taken(_PARTS, "static_thrust_height")
        earth = EarthThrust(total=total_thrust, **crack, **searched, **level)
    else:
        earth = profile_thrust(profile)
        if layered or profile.curved:
            words = _SUMMED if layered else _CURVED
            earth = replace(earth, **taken(words, "static_thrust", "static_thrust_height"))
        if layered:
            shaken = "As the static thrust, with K (1 - k_v) in place of K_s, and less that."
            earth = replace(
                earth,
                **taken(_SUMMED, "weight_thrust", "surcharge_thrust"),
                **taken(shaken, "seismic_thrust"),
                **taken("Followed down the layers.", "tension_crack_depth"),
            )
    names = ("trial_wedge_thrust", "minimum_thrust", "plane_angle", "exit_distance")
    values = _values(profile, earth, **{name: getattr(found, name) for name in names})
    stresses = ("effective_stress_at_water", "effective_stress_at_base", "effective_stress_sum")
    if check.ground_line is not None:
        return replace(values, **taken(_AT_WALL, *stresses))
    return values


def _values(profile: WallProfile, earth: EarthThrust, **compared: Numeric) -> EarthPressureValues:
    """Every value, from a route to the thrust and what stands beside it."""
    check = profile.check
    by_wedge = check.theory == "trial_wedge"
    height, ground = check.height, profile.ground
    slope, batter = check.backfill_slope_angle, check.wall_batter
    if check.theory in ("at_rest", "rankine"):
        angle = +slope if check.side == "active" else -slope
    else:
        delta = check.wall_friction_angle
        angle = delta + batter if check.side == "active" else delta - batter
    load, load_lever = loads_together(() if by_wedge else check.loads, height)
    turn = np.radians(angle)
    thrust = earth.static_thrust + earth.seismic_thrust
    horizontal, vertical = thrust * np.cos(turn) + load, thrust * np.sin(turn)
    # no negative zero, which would turn the angle to the other side
    resultant = np.where(load > 0.0, np.degrees(np.arctan2(vertical + 0.0, horizontal)), +angle)
    along = np.radians(resultant)
    own = np.where(
        earth.static_thrust == 0.0, 0.0, earth.static_thrust * earth.static_thrust_height
    )
    raised = INCREMENT_HEIGHT * height if check.side == "active" else earth.static_thrust_height
    shaking = np.where(earth.seismic_thrust == 0.0, 0.0, earth.seismic_thrust * raised)
    in_crack, water, water_height = _water(profile, earth.tension_crack_depth)
    alone = (load == 0.0) & (earth.seismic_thrust == 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        lever = ((own + shaking) * np.cos(turn) + load_lever) / horizontal
    irregular = check.ground_line is not None
    one_soil = len(profile.layers) == 1
    slips = [one.curved_slip for one in profile.coefficients]

    def of_slip(name: str) -> Numeric:
        return np.nan if None in slips else uniform([getattr(one, name) for one in slips])

    return EarthPressureValues(
        surcharge_stress=np.nan if irregular else profile.surcharge_stress,
        water_height=ground.water_height,
        effective_stress_at_water=ground.pieces[0].lower if one_soil else np.nan,
        effective_stress_at_base=ground.at_base,
        effective_stress_sum=ground.effective_sum,
        seismic_angle=profile.seismic_angle,
        slip_line_angle_at_ground=of_slip("at_ground"),
        slip_line_angle_at_wall=of_slip("at_wall"),
        slip_line_turn=of_slip("turn"),
        surface_load_coefficient=of_slip("surface_load"),
        annex_c_coefficient=of_slip("coefficient"),
        cohesion_thrust=earth.static_thrust - earth.weight_thrust - earth.surcharge_thrust,
        earth_thrust=thrust,
        earth_thrust_angle=angle,
        load_thrust=load,
        load_moment=load_lever,
        horizontal_thrust=horizontal,
        vertical_thrust=vertical,
        thrust_angle=resultant,
        thrust=horizontal * np.cos(along) + vertical * np.sin(along),
        thrust_height=np.where(alone, earth.static_thrust_height, lever),
        crack_water_height=in_crack,
        water_thrust=water,
        water_thrust_height=water_height,
        **{name: getattr(earth, name) for name in _SHARED},
        **compared,
    )
