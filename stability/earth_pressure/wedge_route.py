"""Thrust by trial wedges, of one soil, and what they give beside a coefficient.

The crack is Rankine's tension zone, 2 c tan(45 + φ/2) of vertical stress. The height of the
thrust comes from the thrusts P(z) on the upper part of the wall, since the moment about the base
is the integral of P(z) down the wall.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.profile import LinearLaw, thrust_of
from slipmargin.stability.earth_pressure.trial_wedge import WedgeResult, trial_wedge
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, profile_thrust
from slipmargin.strength import Numeric

__all__ = ["compared_thrust", "thrust_by_theory", "wedge_crack"]

Array = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_LEAST_DEPTH = 1e-9  # a wall of no height has no wedge [m]
_ALL = ("water", "loads", "cohesion")


def thrust_by_theory(profile: WallProfile) -> dict[str, Numeric]:
    """Thrust by the theory of the check, from a coefficient or a trial wedge, by the names of the
    values; what only the other of the two has is left out.
    """
    return _by_wedge(profile) if profile.check.theory == "trial_wedge" else profile_thrust(profile)


def _by_wedge(profile: WallProfile) -> dict[str, Numeric]:
    """Thrust from the trial wedge; one soil."""
    check, shaking = profile.check, _shaking(profile)
    result = _wedge(profile)
    static = _kept(profile, result)
    moment = _moment_about_base(profile, np.shape(static))
    if profile.shaken:
        result = _wedge(profile, **shaking)
    weight = _wedge(profile, ("water",)).thrust
    loaded = _wedge(profile, ("water", "loads")).thrust
    own: Numeric = np.nan
    still: Numeric = np.nan
    if check.ground_line is None:
        lift = 1.0 - np.asarray(check.vertical_seismic_coefficient)
        dry = 0.5 * np.asarray(profile.layers[0].soil.unit_weight) * np.asarray(check.height) ** 2
        leaning = shaking | {"k_h": lift * np.tan(np.radians(profile.seismic_angle))}
        own = _wedge(profile, (), **leaning).thrust / (dry * lift)
        still = _wedge(profile, ()).thrust / dry
    with np.errstate(divide="ignore", invalid="ignore"):
        height = moment / static
    return {
        "weight_thrust": weight,
        "surcharge_thrust": loaded - weight,
        "static_thrust": static,
        "seismic_thrust": _kept(profile, result) - static,
        "total": _kept(profile, result),
        "static_thrust_height": height,
        "coefficient": own,
        "static_coefficient": still,
        "plane_angle": result.plane_angle,
        "exit_distance": result.exit_distance,
        **wedge_crack(profile),
    }


def wedge_crack(profile: WallProfile) -> dict[str, Any]:
    """What a trial wedge needs no search for: Rankine's tension zone, adhesion below it."""
    check, strength = profile.check, profile.layers[0].soil.strength
    half = np.tan(np.radians(45.0 + strength.friction_angle / 2.0))
    stress = 2.0 * strength.cohesion * half
    tension = thrust_of((LinearLaw(1.0, stress),), profile.ground, cut=False).tension_depth
    crack = tension if profile.cracks else 0.0
    face = (check.height - crack) / np.cos(np.radians(check.wall_batter))
    active = check.side == "active"
    return {
        "tension_crack_depth": tension if active else 0.0,
        "tension_stress": stress if active else np.nan,
        "adhesion_force": check.wall_adhesion * face,
        "cohesion_coefficient": np.nan,
    }


def _wedge(
    profile: WallProfile,
    acting: tuple[str, ...] = _ALL,
    *,
    height: Numeric | None = None,
    **shaking: Numeric,
) -> WedgeResult:
    """The governing wedge behind the wall, or behind the upper part of it, under those of
    ``_ALL`` that act.
    """
    check, soil = profile.check, profile.layers[0].soil
    by_rankine = check.theory == "rankine"
    given: dict[str, Any] = dict(shaking)
    if "water" in acting:
        table = check.water_table_depth
        given["saturated_unit_weight"] = soil.weight_below_water
        given["water_table_depth"] = np.inf if table is None else table
        given["water_unit_weight"] = check.water_unit_weight
    if "loads" in acting:
        given["surcharge"] = check.surcharge
        if check.theory == "trial_wedge":
            given |= {"strip_loads": check.strip_loads, "line_loads": check.line_loads}
    if "cohesion" in acting:
        given["cohesion"] = soil.strength.cohesion
        given["wall_adhesion"] = check.wall_adhesion
        given["crack_depth"] = _crack(profile)
    return trial_wedge(
        check.side,
        height=check.height if height is None else height,
        friction_angle=soil.strength.friction_angle,
        unit_weight=soil.unit_weight,
        # on the vertical plane of Rankine the thrust is parallel to the ground
        wall_friction_angle=check.end_slope if by_rankine else check.wall_friction_angle,
        wall_batter=check.wall_batter,
        backfill_slope_angle=check.end_slope,
        ground_line=check.corners,
        **given,
    )


def _crack(profile: WallProfile) -> Numeric:
    depth: Numeric = wedge_crack(profile)["tension_crack_depth"] if profile.cracks else 0.0
    return depth


def _kept(profile: WallProfile, wedge: WedgeResult) -> Array:
    """The thrust, where soil that cracks cannot pull."""
    return np.maximum(wedge.thrust, 0.0) if profile.cracks else wedge.thrust


def _shaking(profile: WallProfile) -> dict[str, Any]:
    check = profile.check
    return {"k_h": check.horizontal_seismic_coefficient, "k_v": check.vertical_seismic_coefficient}


def _moment_about_base(profile: WallProfile, shape: tuple[int, ...]) -> Array:
    """Moment of the static thrust: the thrusts on upper parts of the wall, summed down it."""
    check, crack = profile.check, _crack(profile)
    height, table = np.asarray(check.height), check.water_table_depth
    top = np.clip(np.inf if table is None else table, crack, height)
    moment = np.zeros(())
    for ends in ((crack, top), (top, height)):
        low, high = (np.broadcast_to(end, shape) for end in ends)
        depth = 0.5 * (low + high) + 0.5 * np.multiply.outer(_NODES, high - low)
        found = _kept(profile, _wedge(profile, height=np.maximum(depth, _LEAST_DEPTH)))
        part = np.where(high > low, found, 0.0)
        moment = moment + 0.5 * (high - low) * np.tensordot(_WEIGHTS, part, axes=1)
    return moment


def compared_thrust(profile: WallProfile) -> tuple[Array, Array]:
    """Active thrust by the trial wedge under a level water table, without shaking and with it
    [kN/m]; nan where the two routes agree by theory, or do not compare.

    A profile takes the buoyancy at the wall, as if the water table rose with the ground,
    and its crack at the wall; behind a slope or a batter a wedge can press harder.
    """
    check, none = profile.check, np.asarray(np.nan)
    plain = check.side == "active" and check.theory in ("rankine", "coulomb")
    table = np.inf if check.water_table_depth is None else check.water_table_depth
    slope, batter = np.asarray(check.backfill_slope_angle), np.asarray(check.wall_batter)
    held = (table < np.asarray(check.height)) | np.any(profile.cohesion > 0.0, axis=0)
    parts = ((slope != 0.0) | (batter != 0.0)) & held
    if not plain or len(profile.layers) > 1 or not np.any(parts):
        return none, none

    def thrust(**shaking: Any) -> Array:
        return np.where(parts, _kept(profile, _wedge(profile, **shaking)), np.nan)

    still = thrust()
    return still, thrust(**_shaking(profile)) if profile.shaken else still
