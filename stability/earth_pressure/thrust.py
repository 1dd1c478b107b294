"""The thrust on the back of a wall and its parts: the pure computation behind earth pressure.

Theories with a coefficient and the trial wedge give the same record. In both

- P_γ, P_q and P_c are the thrust of weight alone, what loads add, what cohesion changes;
- water presses on its own, and below it the soil has its buoyant weight;
- with shaking, the static thrust keeps its height and the active increment acts at 0.6 H
  (Seed & Whitman 1970, ASCE Conf. Lateral Stresses, from memory), the passive decrement at
  the height of the static thrust.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from slipmargin.stability.earth_pressure.surcharge import loads_together
from slipmargin.stability.earth_pressure.values import SEARCHED, EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, profile_thrust, uniform
from slipmargin.stability.earth_pressure.wedge_route import (
    compared_thrust,
    thrust_by_theory,
    wedge_crack,
)
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric, Strength
from slipmargin.strength.traced import worded

__all__ = [
    "INCREMENT_HEIGHT",
    "MINIMUM_FRICTION",
    "earth_thrust",
    "followed_thrust",
    "loosened",
    "minimum_thrust",
]

INCREMENT_HEIGHT = 0.6  # of the wall, Seed & Whitman (1970)
MINIMUM_FRICTION = 40.0  # of the minimum earth pressure [deg], DIN 4085; EAB, EB 4 (from memory)
_OF_WEDGES = ("plane_angle", "exit_distance")
_OF_COEFFICIENTS = ("pressure_at_top", "pressure_at_water", "pressure_at_base")


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


def minimum_thrust(profile: WallProfile) -> dict[str, Numeric]:
    """The least thrust that is customary to count on where soil has cohesion: that of the same
    wall with φ′ = 40° and no cohesion; by a trial wedge where that presses harder.

    Its thrusts without and with shaking and its coefficients, by the names of the values; nothing
    where no soil has cohesion, on the passive side and at rest, nan in single cases without
    cohesion. Source: DIN 4085, minimum earth pressure, and EAB, EB 4 (from memory).
    """
    bare = loosened(profile)
    if bare is None:
        return {}
    found = thrust_by_theory(bare)
    held = np.any(profile.cohesion > 0.0, axis=0)
    still, shaken = compared_thrust(bare)
    pressed = {
        "static_thrust": np.fmax(found["static_thrust"], still),
        "total": np.fmax(found["total"], shaken),
        "coefficient": found["coefficient"],
        "static_coefficient": found["static_coefficient"],
    }
    return {name: np.where(held, one, np.nan) for name, one in pressed.items()}


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
    least, wedge = minimum_thrust(profile).get("total", np.nan), compared_thrust(profile)[1]
    return _values(profile, thrust_by_theory(profile), wedge, least)


_SUMMED = "Summed over the layers."
_SHAKEN = "As the static thrust, with K (1 - k_v) in place of K_s, and less that."
_CURVED = "Integrated down the wall, since the pressure is curved."
_AT_WALL = "From the ground at the wall."


def followed_thrust(profile: WallProfile, found: EarthPressureValues) -> EarthPressureValues:
    """The values again; what is searched, integrated or summed over layers is ``found``."""
    check = profile.check
    by_wedge, irregular = check.theory == "trial_wedge", check.ground_line is not None
    parts, static = ("weight_thrust", "surcharge_thrust"), ("static_thrust", "static_thrust_height")
    words: dict[str, str] = {}
    if by_wedge:
        rest, plane = ("seismic_thrust", "coefficient", "static_coefficient"), _OF_WEDGES
        words = dict.fromkeys((*parts, *static, *rest, *plane), SEARCHED)
        words["static_thrust_height"] = "Integrated from the thrusts on upper parts of the wall."
    elif len(profile.layers) > 1:
        words = dict.fromkeys((*parts, *static), _SUMMED) | {"seismic_thrust": _SHAKEN}
        words["tension_crack_depth"] = "Followed down the layers."
    elif profile.curved:
        words = dict.fromkeys(static, _CURVED)
    if irregular:
        words["tension_crack_depth"] = _AT_WALL

    def taken(words: dict[str, str]) -> dict[str, Any]:
        return {name: worded(getattr(found, name), said) for name, said in words.items()}

    earth = wedge_crack(profile) if by_wedge else profile_thrust(profile)
    earth |= taken(words)
    values = _values(profile, earth, found.trial_wedge_thrust, found.minimum_thrust)
    stresses = ("effective_stress_at_water", "effective_stress_at_base", "effective_stress_sum")
    return replace(values, **taken(dict.fromkeys(stresses, _AT_WALL))) if irregular else values


def _values(
    profile: WallProfile, earth: dict[str, Numeric], wedge: Numeric, least: Numeric
) -> EarthPressureValues:
    """Every value, from a route to the thrust, and the thrusts for comparison."""
    check = profile.check
    height, ground = check.height, profile.ground
    slope, batter = check.backfill_slope_angle, check.wall_batter
    if check.theory in ("at_rest", "rankine"):
        angle = +slope if check.side == "active" else -slope
    else:
        delta = check.wall_friction_angle
        angle = delta + batter if check.side == "active" else delta - batter
    apart = () if check.theory == "trial_wedge" else check.loads
    load, load_lever = loads_together(apart, height)
    turn = np.radians(angle)
    static, level = earth["static_thrust"], earth["static_thrust_height"]
    increment = earth["seismic_thrust"]
    thrust = static + increment
    horizontal, vertical = thrust * np.cos(turn) + load, thrust * np.sin(turn)
    # no negative zero, which would turn the angle to the other side
    resultant = np.where(load > 0.0, np.degrees(np.arctan2(vertical + 0.0, horizontal)), +angle)
    along = np.radians(resultant)
    own = np.where(static == 0.0, 0.0, static * level)
    raised = INCREMENT_HEIGHT * height if check.side == "active" else level
    shaking = np.where(increment == 0.0, 0.0, increment * raised)
    in_crack, water, water_height = _water(profile, earth["tension_crack_depth"])
    alone = (load == 0.0) & (increment == 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        lever = ((own + shaking) * np.cos(turn) + load_lever) / horizontal
    slips = [one.curved_slip for one in profile.coefficients]
    other: dict[str, Numeric] = dict.fromkeys((*_OF_WEDGES, *_OF_COEFFICIENTS), np.nan)

    def of_slip(name: str) -> Numeric:
        return np.nan if None in slips else uniform([getattr(one, name) for one in slips])

    return EarthPressureValues(
        surcharge_stress=profile.surcharge_stress if check.ground_line is None else np.nan,
        water_height=ground.water_height,
        effective_stress_at_water=np.nan if len(profile.layers) > 1 else ground.pieces[0].lower,
        effective_stress_at_base=ground.at_base,
        effective_stress_sum=ground.effective_sum,
        seismic_angle=profile.seismic_angle,
        slip_line_angle_at_ground=of_slip("at_ground"),
        slip_line_angle_at_wall=of_slip("at_wall"),
        slip_line_turn=of_slip("turn"),
        surface_load_coefficient=of_slip("surface_load"),
        annex_c_coefficient=of_slip("coefficient"),
        cohesion_thrust=static - earth["weight_thrust"] - earth["surcharge_thrust"],
        earth_thrust=thrust,
        earth_thrust_angle=angle,
        load_thrust=load,
        load_moment=load_lever,
        horizontal_thrust=horizontal,
        vertical_thrust=vertical,
        thrust_angle=resultant,
        thrust=horizontal * np.cos(along) + vertical * np.sin(along),
        thrust_height=np.where(alone, level, lever),
        crack_water_height=in_crack,
        water_thrust=water,
        water_thrust_height=water_height,
        **{name: one for name, one in (other | earth).items() if name != "total"},
        trial_wedge_thrust=wedge,
        minimum_thrust=least,
    )
