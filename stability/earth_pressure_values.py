"""What an earth pressure check gives; each theory has its own equation of the coefficient."""

from __future__ import annotations

from dataclasses import dataclass

from stability.fields import given
from strength import Numeric

__all__ = ["EarthPressureValues", "values_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressureValues:
    """Thrust on the back of a wall, with its parts; nan where a value does not exist.

    Angles of thrust are those of the force on the wall: below horizontal at rest and on the
    active side, above horizontal on the passive side.
    """

    seismic_angle: Numeric = given(
        "deg",
        "ψ",
        "Angle of the body force from vertical; below water shaking takes hold of the "
        "saturated weight, which raises it.",
        source="Ebeling & Morrison (1992), water that moves with the soil",
    )
    coefficient: Numeric = given(
        "", "K", "Coefficient of the soil's own weight, shaking included; layers differ: nan."
    )
    static_coefficient: Numeric = given("", "K_s", "The same without shaking.")
    cohesion_coefficient: Numeric = given(
        "", "K_c", "Pressure that one unit of cohesion takes off (active) or adds (passive)."
    )
    annex_c_coefficient: Numeric = given(
        "",
        "K_C",
        "Passive coefficient on a curved slip surface, without shaking, for comparison.",
        source="EN 1997-1:2004, Annex C.2",
    )
    surcharge_stress: Numeric = given(
        "kPa",
        "σ_q",
        "Vertical stress at the wall from the surcharge.",
        "q * cos(β) * cos(θ) / cos(β - θ)",
    )
    effective_stress_at_base: Numeric = given(
        "kPa", "σ′_v", "Effective vertical stress at the base of the wall, surcharge included."
    )
    tension_crack_depth: Numeric = given(
        "m", "z_t", "Depth of the zone in tension below the ground: cracked unless that is off."
    )
    weight_thrust: Numeric = given("kN/m", "P_γ", "Thrust of the soil's own weight.")
    surcharge_thrust: Numeric = given("kN/m", "P_q", "Thrust of loads that act with the soil.")
    cohesion_thrust: Numeric = given(
        "kN/m", "P_c", "What cohesion, adhesion and cracking change in the thrust."
    )
    seismic_thrust: Numeric = given("kN/m", "P_E", "What shaking changes in the thrust.")
    earth_thrust: Numeric = given(
        "kN/m", "P_s", "Thrust that acts at the angle of the theory.", "P_γ + P_q + P_c + P_E"
    )
    earth_thrust_angle: Numeric = given("deg", "α_s", "Angle of that thrust.")
    load_thrust: Numeric = given(
        "kN/m", "P_L", "Horizontal thrust of strip and line loads by elastic theory."
    )
    horizontal_thrust: Numeric = given(
        "kN/m", "P_h", "Horizontal part of the thrust.", "P_s * cos(α_s) + P_L"
    )
    vertical_thrust: Numeric = given(
        "kN/m", "P_v", "Vertical part of the thrust, in the sense of its angle.", "P_s * sin(α_s)"
    )
    thrust_angle: Numeric = given("deg", "α", "Angle of the thrust.")
    thrust: Numeric = given(
        "kN/m",
        "P",
        "Thrust of the soil, loads on the ground included, water apart.",
        "P_h * cos(α) + P_v * sin(α)",
    )
    thrust_height: Numeric = given("m", "h_P", "Height of the thrust above the base.")
    adhesion_force: Numeric = given(
        "kN/m", "P_a", "Adhesion along the back face, which the thrust leaves out."
    )
    water_thrust: Numeric = given(
        "kN/m", "P_w", "Thrust of water, normal to the back face; water in a crack included."
    )
    water_thrust_height: Numeric = given("m", "h_w", "Height of the water thrust above the base.")
    trial_wedge_thrust: Numeric = given(
        "kN/m",
        "P_t",
        "Earth thrust of a trial wedge under a level water table, for comparison where ground "
        "or wall are inclined and there is water or cohesion.",
    )
    plane_angle: Numeric = given(
        "deg", "ρ", "Angle of the governing plane of slip; trial wedge only."
    )
    exit_distance: Numeric = given(
        "m", "x_e", "From the wall to where that plane, or its crack, meets the ground."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AtRestValues(EarthPressureValues):
    """At rest."""

    coefficient: Numeric = given(
        "",
        "K",
        "Coefficient at rest; ground that falls from the wall counts as level.",
        "(1 - sin(φ′)) * OCR^sin(φ′) * (1 + (sin(β) + sqrt(sin(β)^2)) / 2)",
        "Jaky (1944); Mayne & Kulhawy (1982); slope as in EN 1997-1:2004, 9.5.2",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RankineActiveValues(EarthPressureValues):
    """Rankine, active."""

    coefficient: Numeric = given(
        "",
        "K",
        "Active coefficient of the soil's own weight.",
        "cos(β) * (cos(β) - sqrt(cos(β)^2 - cos(φ′)^2)) / (cos(β) + sqrt(cos(β)^2 - cos(φ′)^2))",
        "Rankine (1857)",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RankinePassiveValues(EarthPressureValues):
    """Rankine, passive."""

    coefficient: Numeric = given(
        "",
        "K",
        "Passive coefficient of the soil's own weight.",
        "cos(β) * (cos(β) + sqrt(cos(β)^2 - cos(φ′)^2)) / (cos(β) - sqrt(cos(β)^2 - cos(φ′)^2))",
        "Rankine (1857)",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoulombActiveValues(EarthPressureValues):
    """Coulomb and Mononobe-Okabe, active."""

    coefficient: Numeric = given(
        "",
        "K",
        "Active coefficient of the soil's own weight, shaking included.",
        "cos(φ′ - θ - ψ)^2 / (cos(ψ) * cos(θ)^2 * cos(δ + θ + ψ) * (1 + sqrt(sin(φ′ + δ)"
        " * sin(φ′ - β - ψ) / (cos(δ + θ + ψ) * cos(β - θ))))^2)",
        "Coulomb (1776); Okabe (1926), Mononobe & Matsuo (1929)",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoulombPassiveValues(EarthPressureValues):
    """Coulomb and Mononobe-Okabe, passive."""

    coefficient: Numeric = given(
        "",
        "K",
        "Passive coefficient of the soil's own weight, shaking included.",
        "cos(φ′ + θ - ψ)^2 / (cos(ψ) * cos(θ)^2 * cos(δ - θ + ψ) * (1 - sqrt(sin(φ′ + δ)"
        " * sin(φ′ + β - ψ) / (cos(δ - θ + ψ) * cos(β - θ))))^2)",
        "Coulomb (1776); Okabe (1926), Mononobe & Matsuo (1929)",
    )


_BY_THEORY: dict[tuple[str, str], type[EarthPressureValues]] = {
    ("at_rest", "active"): AtRestValues,
    ("rankine", "active"): RankineActiveValues,
    ("rankine", "passive"): RankinePassiveValues,
    ("coulomb", "active"): CoulombActiveValues,
    ("coulomb", "passive"): CoulombPassiveValues,
}


def values_of(theory: str, side: str) -> type[EarthPressureValues]:
    """The record of values of a theory and side."""
    return _BY_THEORY.get((theory, side), EarthPressureValues)
