"""Equations of a retaining wall for the case at hand, where it departs from what the values
declare: theory, shape, water, tension, shaking.
"""

from __future__ import annotations

import math
from typing import Any

from slipmargin.stability.earth_pressure.pressure_equations import (
    PressurePieces,
    coulomb_active,
    coulomb_cohesion,
    curved_pressure,
    rankine,
)
from slipmargin.stability.fields import Follows
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section_equations import section_equations

__all__ = ["wall_equations"]

_CURVED = Follows(words="Integrated down the plane, since the pressure is curved.")
_NO_WEDGE = Follows(words="0: a face steeper back than the slip plane holds no wedge.")
_LEAST = "40"
_ROUND_OFF = 1e-9
_BUOYANT = "(γ_sat_2 - γ_w)"


def wall_equations(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    """How values follow in the case at hand, by field name; scalars only."""
    return (
        section_equations(check, values)
        | _plane(check)
        | _coefficients(check, values)
        | _thrust(check, values)
        | _shaking(check, values)
        | _key(check, values)
        | _passive(check, values)
    )


def _plane(check: RetainingWallInputs) -> dict[str, Follows]:
    if check.theory == "rankine":
        return {}
    found = {"thrust_plane_height": Follows("H"), "thrust_angle": Follows("θ")}
    if check.wall_friction_angle is not None:
        # no wall holds more than the soil beside it
        found["thrust_angle"] = Follows("min(δ, φ′_1) + θ")
    match check.wall.shape:
        case "cantilever":
            batter, foot = Follows(), Follows("b_toe + b_sb")
        case "gravity":
            batter, foot = Follows("atan(b_off / H)"), Follows("b_base")
        case _:
            face = "Of the tallest straight part of the outline's back."
            batter = foot = Follows(words=face)
    return found | {"thrust_plane_batter": batter, "thrust_plane_foot": foot}


def _coefficients(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    found: dict[str, Follows] = {}
    for phi, end in (("φ′_1", ("active", "seismic")), (_LEAST, ("minimum", "minimum_seismic"))):
        k_a, k_ae = (coulomb_active(phi, "ω - θ", "ω", shaken=shaken) for shaken in (False, True))
        if check.theory == "rankine":
            k_a = rankine(phi)
        for name, one in zip(end, (k_a, k_ae), strict=True):
            holds = getattr(values, f"{name}_coefficient") == 0.0
            found[f"{name}_coefficient"] = _NO_WEDGE if holds else one
    for name, k in (
        ("minimum_thrust", values.minimum_coefficient),
        ("minimum_thrust_with_shaking", values.minimum_seismic_coefficient),
    ):
        by_plane = k * values.mean_vertical_stress * values.thrust_plane_height
        if getattr(values, name) > by_plane * (1.0 + _ROUND_OFF):
            found[name] = Follows(words="By a trial wedge, which presses harder than K_m says.")
    found["cohesion_coefficient"] = coulomb_cohesion("φ′_1", "φ′_1 + ω - β")
    return found


def _thrust(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    wet = bool(values.water_height_behind > 0.0)
    cohesive, curved = bool(check.backfill.strength.cohesion > 0.0), _curved(check)
    beside = [
        (symbol, level)
        for symbol, level, value in (
            ("P_tw", "y_th", values.trial_wedge_thrust),
            ("P_m", "y_m", values.minimum_thrust),
        )
        if not math.isnan(value)
    ]
    shape: dict[str, Any] = {"wet": wet, "height": "H_p", "water": "h_w", "crack": "z_c"}
    pieces = PressurePieces(
        pressures=(
            float(values.pressure_at_top),
            float(values.pressure_at_water),
            float(values.pressure_at_foot),
        ),
        thrust="P_th" if beside else "P_a",
        **shape,
    )
    force, level = (_CURVED, _CURVED) if curved else (pieces.force, pieces.level)
    found = {"thrust": force, "thrust_height": level}
    if beside:
        largest = ", ".join(["P_th", *(symbol for symbol, _ in beside)])
        moments = ", ".join(["P_th * y_th", *(f"{one} * {at}" for one, at in beside)])
        found = {
            "theory_thrust": force,
            "theory_thrust_height": level,
            "thrust": Follows(f"max({largest})"),
            "thrust_height": Follows(f"max({moments}) / P_a"),
        }
    stresses = ("σ_q", "σ′_w", "σ′_f")
    found["minimum_thrust_height"] = PressurePieces(
        pressures=(0.0, 1.0, 1.0), thrust="(σ′_m * H_p)", names=stresses, **shape
    ).level
    if wet:
        mean = "((σ_q + σ′_w) / 2 * (H_p - h_w) + (σ′_w + σ′_f) / 2 * h_w) / H_p"
        found |= {
            "vertical_stress_at_foot": Follows("σ′_w + (γ_sat_1 - γ_w) * h_w"),
            "mean_vertical_stress": Follows(mean),
        }
        if values.tension_stress > values.vertical_stress_at_water:
            below = "min(H_p - h_w + (σ_t - σ′_w) / (γ_sat_1 - γ_w), H_p)"
            found["tension_crack_depth"] = Follows(below)
    names = ("pressure_at_top", "pressure_at_water", "pressure_at_foot")
    for name, stress in zip(names, stresses, strict=True):
        if curved:
            found[name] = curved_pressure(stress, "φ′_1", "c′_1")
        elif cohesive:
            found[name] = Follows(f"K_a * {stress} - K_c * c′_1")
    if curved:
        found["tension_stress"] = Follows("2 * c′_1 * tan(45 + φ′_1 / 2)")
    return found


def _curved(check: RetainingWallInputs) -> bool:
    """Whether the pressure follows Rankine's conjugate stresses."""
    sloping = check.theory == "rankine" and check.backfill_slope_angle > 0.0
    return bool(sloping and check.backfill.strength.cohesion > 0.0)


def _shaking(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    found: dict[str, Follows] = {}
    beside = {
        "P_the": values.theory_thrust_with_shaking,
        "P_twe": values.trial_wedge_thrust_with_shaking,
        "P_me": values.minimum_thrust_with_shaking,
    }
    there = [symbol for symbol, value in beside.items() if not math.isnan(value)]
    if there:
        found["thrust_increment"] = Follows(f"max({', '.join(there)}) - P_a")
    cohesion, k_ae = float(check.backfill.strength.cohesion), values.seismic_coefficient
    still = values.cohesion_coefficient * cohesion
    with_shaking = Follows(words="As the static thrust, with K_ae in place of K_a.")
    if cohesion == 0.0:
        with_shaking = Follows("P_th + (K_ae - K_a) * σ′_m * H_p")
    elif _curved(check):
        with_shaking = Follows(
            words="The static thrust, and what Mononobe-Okabe adds on the same plane, δ = β, "
            "cohesion counted."
        )
    elif still <= k_ae * values.surcharge_stress:
        with_shaking = Follows("(K_ae * σ′_m - K_c * c′_1) * H_p")
    elif not values.water_height_behind > 0.0:
        with_shaking = Follows("K_ae * max(σ′_f - K_c * c′_1 / K_ae, 0)^2 / (2 * γ_1)")
    found["theory_thrust_with_shaking"] = with_shaking
    if values.water_height_behind > 0.0:
        share = "1 + γ_w * h_w^2 / (2 * σ′_m * H_p)"
        found["seismic_angle"] = Follows(f"atan(k_h * ({share}))")
    return found


def _key(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    wet = "max(d_k - z_b, 0)"
    found = {"key_active_coefficient": Follows("(1 - sin(φ′_2)) / (1 + sin(φ′_2))")}
    if check.horizontal_seismic_coefficient > 0.0:
        found["key_active_coefficient"] = _level_shaken("ψ_k", "+")
        if values.key_seismic_angle > check.foundation.strength.friction_angle:
            found["key_active_coefficient"] = Follows(words="1: shaking exceeds the friction.")
    if check.wall.key_depth is None or not values.water_depth_below_base < check.wall.key_depth:
        return found
    under = f"({_BUOYANT} - γ_2) * {wet}^2 / (2 * d_k)"
    found["key_weight"] = Follows(f"(γ_c * d_k - γ_w * {wet}) * b_k")
    found["key_vertical_stress"] = Follows(f"σ′_f + γ_2 * d_k / 2 + {under}")
    water = f"γ_w * (h_w + {wet}^2 / (2 * d_k))"
    found["key_seismic_angle"] = Follows(f"atan(k_h * (1 + {water} / σ′_k))")
    return found


def _level_shaken(leaning: str, sign: str) -> Follows:
    """Mononobe-Okabe on a smooth vertical plane, level ground: + active, - passive."""
    root = f"sqrt(sin(φ′_2) * sin(φ′_2 - {leaning}) / cos({leaning}))"
    return Follows(
        f"cos(φ′_2 - {leaning})^2 / (cos({leaning})^2 * (1 {sign} {root})^2)",
        "Okabe (1926), Mononobe & Matsuo (1929)",
    )


def _passive(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    k_p = Follows("(1 + sin(φ′_2)) / (1 - sin(φ′_2))", "Rankine (1857)")
    if check.horizontal_seismic_coefficient > 0.0:
        k_p = _level_shaken("ψ_p", "-")
        if values.passive_coefficient == 0.0:
            k_p = Follows(words="0: shaking exceeds the friction.")
    key = check.wall.key_depth is not None
    found = {"passive_coefficient": k_p}
    if key:
        found["passive_depth"] = Follows("D + d_k")
    if values.passive_water_height > 0.0:
        level = "h_t + d_k - z_b" if key else "h_t - z_b"
        found["passive_water_height"] = Follows(f"min({level}, D_p)")
        weight = f"(γ_2 * (D_p - h_p)^2 / 2 + γ_2 * (D_p - h_p) * h_p + {_BUOYANT} * h_p^2 / 2)"
        found["passive_seismic_angle"] = Follows(f"atan(k_h * (1 + γ_w * h_p^2 / (2 * {weight})))")
        found["passive_resistance"] = Follows(
            f"K_p * {weight} + 2 * c′_2 * tan(45 + φ′_2 / 2) * D_p"
        )
    return found
