"""Thrust by a coefficient: vertical stress at the wall turned into pressure, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipmargin.stability.earth_pressure.profile import thrust_of, total
from slipmargin.stability.earth_pressure.trial_wedge import WedgeResult
from slipmargin.stability.earth_pressure.wall_profile import WallProfile, uniform
from slipmargin.strength import Numeric

__all__ = ["EarthThrust", "profile_thrust"]


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
        tension_stress=uniform(still.zero_stress) if check.side == "active" else np.nan,
        coefficient=uniform([one.weight for one in profile.coefficients]),
        static_coefficient=uniform([one.still for one in profile.coefficients]),
        cohesion_coefficient=uniform([one.cohesion for one in profile.coefficients]),
        adhesion_force=adhesion * check.height / np.cos(np.radians(check.wall_batter)),
        pressure_at_top=top,
        pressure_at_water=table,
        pressure_at_base=base,
    )
