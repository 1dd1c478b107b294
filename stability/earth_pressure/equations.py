"""Equations of an earth pressure for the case at hand: theory and side, water, tension,
shaking, loads on the ground; layers are summed and keep the words of their declarations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from slipmargin.stability.earth_pressure.pressure_equations import (
    PressurePieces,
    coulomb_active,
    coulomb_cohesion,
    coulomb_passive,
    curved_pressure,
    rankine,
)
from slipmargin.stability.fields import Follows

if TYPE_CHECKING:
    from slipmargin.stability.earth_pressure.check import EarthPressure
    from slipmargin.stability.earth_pressure.values import EarthPressureValues

__all__ = ["earth_pressure_equations"]

_AT_REST = "Jaky (1944); Mayne & Kulhawy (1982); slope as in EN 1997-1:2004, 9.5.2"
_SEARCH = Follows(words="Found by a search: the slip plane that governs.")
_SUMMED = Follows(words="Summed over the layers.")
_CURVED = Follows(words="Integrated down the wall, since the pressure is curved.")
_PARTS = Follows(words="Integrated from the thrusts on upper parts of the wall.")


def earth_pressure_equations(
    check: EarthPressure, values: EarthPressureValues
) -> dict[str, Follows]:
    """How values follow in the case at hand, by field name; scalars only."""
    layered = len(check.layers) > 0
    found = (
        _stress(check, values, layered=layered)
        | _coefficients(check, values, "_1" if layered else "")
        | _pressures(check, values)
        | _thrusts(check, values, layered=layered)
        | _shaking(check, values, layered=layered)
        | _loads(check)
        | _directions(check, values)
        | _water(check, values)
    )
    return found | (_by_wedge(check) if check.theory == "trial_wedge" else {})


def _stress(
    check: EarthPressure, values: EarthPressureValues, *, layered: bool
) -> dict[str, Follows]:
    if check.ground_line is not None:
        at_wall = Follows(words="From the ground at the wall.")
        names = ("effective_stress_at_water", "effective_stress_at_base", "effective_stress_sum")
        return dict.fromkeys(names, at_wall)
    wet = bool(values.water_height > 0.0)
    if layered:
        found = dict.fromkeys(("effective_stress_at_base", "effective_stress_sum"), _SUMMED)
        if not wet:
            count = range(1, len(check.layers) + 1)
            weights = " + ".join(f"γ_{i} * t_{i}" for i in count)
            found["effective_stress_at_base"] = Follows(f"σ_q + {weights}")
        return found
    if not wet:
        return {}
    return {
        "effective_stress_at_base": Follows("σ′_w + (γ_sat - γ_w) * H_w"),
        "effective_stress_sum": Follows("(σ_q + σ′_w) / 2 * (H - H_w) + (σ′_w + σ′_v) / 2 * H_w"),
    }


def _coefficients(
    check: EarthPressure, values: EarthPressureValues, number: str
) -> dict[str, Follows]:
    phi, c, passive = f"φ′{number}", f"c′{number}", check.side == "passive"
    found = {
        name: Follows(equation.replace("φ′", phi))
        for name, equation in {
            "slip_line_angle_at_ground": "(90 + asin(sin(β) / sin(φ′)) - φ′ - β) / 2",
            "slip_line_angle_at_wall": "(90 - asin(sin(δ) / sin(φ′)) - φ′ - δ) / 2",
            "surface_load_coefficient": "(1 + sin(φ′) * sin(2 * m_w + φ′))"
            " / (1 - sin(φ′) * sin(2 * m_t + φ′)) * exp(π / 90 * v * tan(φ′))",
        }.items()
    }
    match check.theory:
        case "at_rest":
            rising = "(1 + max(sin(β), 0))"
            k = Follows(f"(1 - sin({phi})) * OCR^sin({phi}) * {rising}", _AT_REST)
            return found | {"coefficient": k}
        case "rankine":
            return found | {
                "coefficient": rankine(phi, passive=passive),
                "cohesion_coefficient": Follows("2 * sqrt(K)", "Bell (1915)"),
            }
        case "annex_c":
            k_c = f"(K_n - 1) / (tan({phi}) * cos(θ) * cos(δ))"
            return found | {
                "coefficient": Follows("K_C"),
                "cohesion_coefficient": Follows(k_c),
                "adhesion_force": Follows(f"{c} * tan(δ) / tan({phi}) * H / cos(θ)"),
            }
        case _:
            return found | _coulomb(check, values, phi, c)


def _coulomb(
    check: EarthPressure, values: EarthPressureValues, phi: str, c: str
) -> dict[str, Follows]:
    shaken = bool(values.seismic_angle > 0.0)
    adhesion = f"a / {c}" if check.wall_adhesion > 0.0 else ""
    if check.side == "passive":
        k, static = (coulomb_passive(phi, "δ", "δ - θ", shaken=one) for one in (shaken, False))
        k_c = coulomb_cohesion(phi, f"θ - {phi} - δ - β", adhesion, "(-δ)")
    else:
        k, static = (coulomb_active(phi, "δ", "δ + θ", shaken=one) for one in (shaken, False))
        k_c = coulomb_cohesion(phi, f"{phi} + θ + δ - β", adhesion, "δ")
    holds = Follows(words="0: a face steeper back than the slip plane holds no wedge.")
    return {
        "coefficient": k if values.coefficient != 0.0 else holds,
        "static_coefficient": static if shaken else Follows("K"),
        "cohesion_coefficient": k_c,
    }


def _cohesion(check: EarthPressure) -> float:
    return 0.0 if check.soil is None else float(check.soil.strength.cohesion)


def _curved(check: EarthPressure) -> bool:
    """Whether the pressure follows Rankine's conjugate stresses."""
    held = any(layer.soil.strength.cohesion > 0.0 for layer in check.layers)
    held = held or _cohesion(check) > 0.0
    return check.theory == "rankine" and held and check.backfill_slope_angle != 0.0


def _pressures(check: EarthPressure, values: EarthPressureValues) -> dict[str, Follows]:
    stresses = {
        "pressure_at_top": "σ_q",
        "pressure_at_water": "σ′_w",
        "pressure_at_base": "σ′_v",
    }
    passive = check.side == "passive"
    found: dict[str, Follows] = {}
    if _curved(check):
        for name, stress in stresses.items():
            found[name] = curved_pressure(stress, "φ′", "c′", passive=passive)
    elif _cohesion(check) > 0.0 and check.theory != "at_rest":
        sign = "+" if passive else "-"
        for name, stress in stresses.items():
            found[name] = Follows(f"K_s * {stress} {sign} K_c * c′")
        found["tension_stress"] = Follows("K_c * c′ / K_s")
    if values.water_height > 0.0 and values.tension_stress > values.effective_stress_at_water:
        found["tension_crack_depth"] = Follows("min(H - H_w + (σ_t - σ′_w) / (γ_sat - γ_w), H)")
    return found


def _thrusts(
    check: EarthPressure, values: EarthPressureValues, *, layered: bool
) -> dict[str, Follows]:
    if layered:
        return {}
    if _curved(check):
        return dict.fromkeys(("static_thrust", "static_thrust_height"), _CURVED)
    pieces = PressurePieces(
        pressures=(
            float(values.pressure_at_top),
            float(values.pressure_at_water),
            float(values.pressure_at_base),
        ),
        wet=bool(values.water_height > 0.0),
        cut=check.side == "active" and check.tension_crack,
        height="H",
        water="H_w",
        crack="z_t",
        thrust="P_st",
    )
    return {"static_thrust": pieces.force, "static_thrust_height": pieces.level}


def _shaking(
    check: EarthPressure, values: EarthPressureValues, *, layered: bool
) -> dict[str, Follows]:
    found: dict[str, Follows] = {}
    if values.water_height > 0.0:
        lifted = "1 + γ_w * H_w^2 / (2 * S_v)"
        found["seismic_angle"] = Follows(f"atan(k_h * ({lifted}) / (1 - k_v))")
    active = check.side == "active" and check.tension_crack
    held = _cohesion(check) > 0.0 or any(one.soil.strength.cohesion > 0.0 for one in check.layers)
    if not (active and held):
        return found
    found["seismic_thrust"] = Follows()
    if layered:
        return found
    at_zero = values.cohesion_coefficient * _cohesion(check)
    at_zero = at_zero / (values.coefficient * (1.0 - check.vertical_seismic_coefficient))
    none = 0.0 if values.surcharge_stress != values.surcharge_stress else values.surcharge_stress
    if at_zero <= none:
        found["seismic_thrust"] = Follows("K * (1 - k_v) * S_v - K_c * c′ * H - P_st")
    elif not values.water_height > 0.0:
        left = "max(σ′_v - K_c * c′ / (K * (1 - k_v)), 0)"
        found["seismic_thrust"] = Follows(f"K * (1 - k_v) * {left}^2 / (2 * γ) - P_st")
    return found


def _loads(check: EarthPressure) -> dict[str, Follows]:
    if check.theory == "trial_wedge" or not (check.strip_loads or check.line_loads):
        return {}
    thrusts, moments = [], []
    for i, strip in enumerate(check.strip_loads, start=1):
        far, near = f"(a_s_{i} + b_s_{i})", f"a_s_{i}"
        thrusts.append(f"q_s_{i} * H / 90 * (atan({far} / H) - atan({near} / H))")
        within = _edge(far) + (f" - ({_edge(near)})" if strip.distance > 0.0 else "")
        moments.append(f"q_s_{i} / π * ({within})")
    for i, _ in enumerate(check.line_loads, start=1):
        square = f"(x_Q_{i}^2 + H^2)"
        thrusts.append(f"2 / π * Q_{i} * H^2 / {square}")
        moments.append(
            f"2 / π * Q_{i} * x_Q_{i} * (π / 180 * atan(H / x_Q_{i}) - x_Q_{i} * H / {square})"
        )
    return {
        "load_thrust": Follows(" + ".join(thrusts), "Boussinesq (1885), doubled"),
        "load_moment": Follows(f"P_L * H - ({' + '.join(moments)})"),
    }


def _edge(x: str) -> str:
    return f"π / 180 * (H^2 * atan({x} / H) + {x}^2 * atan(H / {x})) - {x} * H"


def _directions(check: EarthPressure, values: EarthPressureValues) -> dict[str, Follows]:
    passive = check.side == "passive"
    found: dict[str, Follows] = {}
    if check.theory in ("at_rest", "rankine"):
        found["earth_thrust_angle"] = Follows("-β" if passive else "β")
    else:
        found["earth_thrust_angle"] = Follows("δ - θ" if passive else "δ + θ")
    loaded, shaken = values.load_thrust > 0.0, values.seismic_thrust != 0.0
    if loaded:
        turned = " - 180" if values.thrust_angle < 0.0 else " + 180"
        pulls = values.horizontal_thrust < 0.0
        found["thrust_angle"] = Follows(f"atan(P_v / P_h){turned if pulls else ''}")
    if loaded or shaken:
        parts = ["P_st * h_st"] if values.static_thrust != 0.0 else []
        if shaken:
            parts.append("P_E * h_st" if passive else "P_E * 0.6 * H")
        moment = f"({' + '.join(parts)}) * cos(α_s)" if parts else "0"
        moment = f"({moment} + M_L)" if loaded else moment
        found["thrust_height"] = Follows(f"{moment} / P_h")
    return found


def _water(check: EarthPressure, values: EarthPressureValues) -> dict[str, Follows]:
    if not values.crack_water_height > 0.0:
        return {}
    table, shared = check.water_table_depth, ""
    if table is not None and values.tension_crack_depth > table:
        shared = "min(z_t - d_w, h_cr)"
    if not values.water_height > 0.0:
        return {
            "water_thrust": Follows("γ_w * h_cr^2 / (2 * cos(θ))"),
            "water_thrust_height": Follows("H - z_t + h_cr / 3"),
        }
    squares, cubes = "H_w^2 + h_cr^2", "H_w^3 / 3 + h_cr^2 * (H - z_t + h_cr / 3)"
    if shared:
        squares += f" - {shared}^2"
        cubes += f" - {shared}^2 * (H - z_t + {shared} / 3)"
    return {
        "water_thrust": Follows(f"γ_w * ({squares}) / (2 * cos(θ))"),
        "water_thrust_height": Follows(f"({cubes}) / ({squares})"),
    }


def _by_wedge(check: EarthPressure) -> dict[str, Follows]:
    searched = (
        "coefficient",
        "static_coefficient",
        "weight_thrust",
        "surcharge_thrust",
        "static_thrust",
        "seismic_thrust",
    )
    found = dict.fromkeys(searched, _SEARCH) | {"static_thrust_height": _PARTS}
    found["tension_stress"] = Follows("2 * c′ * tan(45 + φ′ / 2)")
    if check.ground_line is not None:
        at_wall = Follows(words="From the ground at the wall.")
        found |= {"tension_crack_depth": at_wall}
    if check.side == "active" and check.tension_crack:
        found["adhesion_force"] = Follows("a * (H - z_t) / cos(θ)")
    return found
