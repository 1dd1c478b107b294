"""Equations of a retaining wall for the case at hand, where it departs from what the values
declare: theory, shape, water, tension, shaking, a base that lifts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from stability.bearing_equations import BaseLoad, bearing_equations, inclination_equations
from stability.fields import Follows
from stability.pressure_equations import (
    PressurePieces,
    coulomb_active,
    coulomb_cohesion,
    rankine,
)
from stability.wall_section_equations import section_equations

if TYPE_CHECKING:
    from stability.retaining_wall import RetainingWall
    from stability.retaining_wall_values import RetainingWallValues

__all__ = ["wall_equations"]

_LEAVES = Follows(words="0: the resultant leaves the base.")
_UNLOADED = Follows(words="Nothing presses on the base.")
_BUOYANT = "(γ_sat_2 - γ_w)"


def wall_equations(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    """How values follow in the case at hand, by field name; scalars only."""
    return (
        section_equations(check, values)
        | _plane(check)
        | _coefficients(check, values)
        | _thrust(check, values)
        | _shaking(values)
        | _key(check, values)
        | _base(check, values)
        | _passive(check, values)
        | _bearing(check, values)
        | _factors(values)
    )


def _plane(check: RetainingWall) -> dict[str, Follows]:
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


def _coefficients(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    k_a, k_ae = (coulomb_active("φ′_1", "ω - θ", "ω", shaken=shaken) for shaken in (False, True))
    if check.theory == "rankine":
        k_a = rankine("φ′_1")
    holds = Follows(words="0: a face steeper back than the plane of slip holds no wedge.")
    return {
        "active_coefficient": k_a if values.active_coefficient > 0.0 else holds,
        "cohesion_coefficient": coulomb_cohesion("φ′_1", "φ′_1 + ω - β"),
        "seismic_coefficient": k_ae if values.seismic_coefficient > 0.0 else holds,
    }


def _thrust(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    wet = bool(values.water_height_behind > 0.0)
    pieces = PressurePieces(
        pressures=(
            float(values.pressure_at_top),
            float(values.pressure_at_water),
            float(values.pressure_at_foot),
        ),
        wet=wet,
        height="H_p",
        water="h_w",
        crack="z_c",
        thrust="P_a",
    )
    found = {
        "tension_crack_depth": pieces.depth_of_tension,
        "thrust": pieces.force,
        "thrust_height": pieces.level,
    }
    if wet:
        mean = "((σ_q + σ′_w) / 2 * (H_p - h_w) + (σ′_w + σ′_f) / 2 * h_w) / H_p"
        found |= {
            "vertical_stress_at_foot": Follows("σ′_w + (γ_sat_1 - γ_w) * h_w"),
            "mean_vertical_stress": Follows(mean),
        }
    if check.backfill.strength.cohesion > 0.0:
        found |= {
            "pressure_at_top": Follows("K_a * σ_q - K_c * c′_1"),
            "pressure_at_water": Follows("K_a * σ′_w - K_c * c′_1"),
            "pressure_at_foot": Follows("K_a * σ′_f - K_c * c′_1"),
        }
    return found


def _shaking(values: RetainingWallValues) -> dict[str, Follows]:
    if not values.water_height_behind > 0.0:
        return {}
    share = "1 + γ_w * h_w^2 / (2 * σ′_m * H_p)"
    return {"seismic_angle": Follows(f"atan(k_h * ({share}))")}


def _key(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    found = {"key_active_coefficient": Follows("(1 - sin(φ′_2)) / (1 + sin(φ′_2))")}
    if check.horizontal_seismic_coefficient > 0.0:
        leaning = math.degrees(math.atan(check.horizontal_seismic_coefficient))
        found["key_active_coefficient"] = _level_shaken("+")
        if leaning > check.foundation.strength.friction_angle:
            found["key_active_coefficient"] = Follows(words="1: shaking exceeds the friction.")
    if values.water_depth_below_base == 0.0:
        found["key_weight"] = Follows("(γ_c - γ_w) * d_k * b_k")
    return found


def _level_shaken(sign: str) -> Follows:
    """Mononobe-Okabe on a smooth vertical plane, level ground: + active, - passive."""
    leaning = "atan(k_h)"
    root = f"sqrt(sin(φ′_2) * sin(φ′_2 - {leaning}) / cos({leaning}))"
    return Follows(
        f"cos(φ′_2 - {leaning})^2 / (cos({leaning})^2 * (1 {sign} {root})^2)",
        "Okabe (1926), Mononobe & Matsuo (1929)",
    )


def _base(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    found: dict[str, Follows] = {}
    if check.base_friction_angle is not None:
        found["sliding_friction_angle"] = Follows("δ_b")
    if not values.vertical_force > 0.0:
        return found | {
            "base_resistance": Follows("max(V, 0) * tan(δ_s) + a_b * B"),
            "effective_width": _UNLOADED,
            "load_inclination": _UNLOADED,
        }
    if not values.effective_width > 0.0:
        found["effective_width"] = _LEAVES
    sixth, eccentricity = values.base_width / 6.0, values.eccentricity
    if eccentricity > sixth:
        found["toe_pressure"] = Follows("2 * V / (3 * (B / 2 - e))")
        found["heel_pressure"] = Follows("V / B * max(1 - 6 * e / B, 0)")
    elif eccentricity < -sixth:
        found["toe_pressure"] = Follows("V / B * max(1 + 6 * e / B, 0)")
        found["heel_pressure"] = Follows("2 * V / (3 * (B / 2 + e))")
    return found


def _passive(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    phi = math.radians(check.foundation.strength.friction_angle)
    static = (1.0 + math.sin(phi)) / (1.0 - math.sin(phi))
    k_p = Follows("(1 + sin(φ′_2)) / (1 - sin(φ′_2))", "Rankine (1857)")
    if check.horizontal_seismic_coefficient > 0.0:
        if values.passive_coefficient == 0.0:
            k_p = Follows(words="0: shaking exceeds the friction.")
        elif values.passive_coefficient < static * (1.0 - 1e-9):
            k_p = _level_shaken("-")
    key = check.wall.key_depth is not None
    found = {"passive_coefficient": k_p}
    if key:
        found["passive_depth"] = Follows("D + d_k")
    if values.passive_water_height > 0.0:
        level = "h_t + d_k - z_b" if key else "h_t - z_b"
        found["passive_water_height"] = Follows(f"min({level}, D_p)")
        weight = "γ_2 * (D_p - h_p)^2 / 2 + γ_2 * (D_p - h_p) * h_p"
        found["passive_resistance"] = Follows(
            f"K_p * ({weight} + {_BUOYANT} * h_p^2 / 2) + 2 * c′_2 * tan(45 + φ′_2 / 2) * D_p"
        )
    return found


def _bearing(check: RetainingWall, values: RetainingWallValues) -> dict[str, Follows]:
    phi = float(check.foundation.strength.friction_angle)
    cohesion = float(check.foundation.strength.cohesion)
    depth_over_width = None
    if check.bearing_depth_factors:
        depth_over_width = float(check.embedment / values.base_width)
    vertical, horizontal = float(values.vertical_force), float(values.horizontal_force)
    found = bearing_equations(check.bearing_method, phi, depth_over_width)
    below = values.water_depth_below_base
    if below == 0.0:
        found["unit_weight_below_base"] = Follows("γ_sat_2 - γ_w")
    elif not math.isnan(below):
        found["unit_weight_below_base"] = Follows(
            f"{_BUOYANT} + min(z_b / B, 1) * (γ_2 - {_BUOYANT})"
        )
    if values.water_height_in_front > 0.0:
        wet = "min(h_t, D)"
        found["overburden"] = Follows(f"γ_2 * (D - {wet}) + {_BUOYANT} * {wet}")
    alone = BaseLoad(
        vertical=vertical, horizontal=horizontal, held=cohesion * float(values.effective_width)
    )
    loaded = BaseLoad(
        vertical=vertical + float(values.toe_soil_weight),
        horizontal=horizontal,
        held=cohesion * float(values.effective_width_with_toe_soil),
        load="(V + W_t)",
        width="B′_t",
        mark="t",
    )
    for base, end in ((alone, ""), (loaded, "_with_toe_soil")):
        factors = inclination_equations(check.bearing_method, phi, base)
        for name, one in zip(("overburden", "cohesion", "weight"), factors, strict=True):
            found[f"inclination_factor_{name}{end}"] = one
    if not values.effective_width > 0.0:
        found |= dict.fromkeys(("bearing_capacity", "factor_bearing"), _LEAVES)
    if not values.effective_width_with_toe_soil > 0.0:
        names = ("effective_width", "bearing_capacity", "bearing_factor")
        found |= {f"{name}_with_toe_soil": _LEAVES for name in names}
    return found


def _factors(values: RetainingWallValues) -> dict[str, Follows]:
    found = {}
    if values.toe_pressure == 0.0:
        found["allowable_share"] = Follows(words="Nothing presses at the toe.")
    if not values.horizontal_force > 0.0:
        found["factor_sliding"] = Follows(words="Nothing drives the wall outward.")
    if not values.overturning_moment > 0.0:
        found["factor_overturning"] = Follows(words="Nothing turns the wall over.")
    return found
