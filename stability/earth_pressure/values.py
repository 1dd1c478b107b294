"""What an earth pressure check gives, from the stresses at the wall to the thrusts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from slipmargin.stability.fields import given, given_if_any
from slipmargin.strength import Numeric

__all__ = ["MINIMUM", "SEARCHED", "EarthPressureValues"]

_ANNEX_C = "EN 1997-1:2004, Annex C.2"
SEARCHED = "Found by a search: the slip plane that governs."
MINIMUM = "DIN 4085; EAB, EB 4 (from memory)"

# each is left out of the working where what it is of is not there
_of_water = partial(given, hangs_on=("H_w",))
_of_shaking = partial(given, hangs_on=("k_h", "k_v"))


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressureValues:
    """Thrust on the back of a wall, with its parts; nan where a value does not exist.

    Angles of thrust are those of the force on the wall: below horizontal at rest and on the
    active side, above horizontal on the passive side.
    """

    surcharge_stress: Numeric = given(
        "kPa", "σ_q", "Vertical stress at the wall from the surcharge.", hangs_on=("q",)
    )
    water_height: Numeric = _of_water("m", "H_w", "Height of the water table above the base.")
    effective_stress_at_water: Numeric = _of_water(
        "kPa",
        "σ′_w",
        "Effective vertical stress at the wall at the water table, surcharge included.",
    )
    effective_stress_at_base: Numeric = given(
        "kPa", "σ′_v", "Effective vertical stress at the base of the wall, surcharge included."
    )
    effective_stress_sum: Numeric = given(
        "kN/m", "S_v", "Effective vertical stress summed down the wall."
    )
    seismic_angle: Numeric = given(
        "deg",
        "ψ",
        "Angle of the body force from vertical; below water shaking takes hold of the "
        "saturated weight, which raises it.",
        source="Ebeling & Morrison (1992), water that moves with the soil",
        hangs_on=("k_h",),
    )
    slip_line_angle_at_ground: Numeric = given(
        "deg", "m_t", "Passive: angle of the curved slip line at the ground.", source=_ANNEX_C
    )
    slip_line_angle_at_wall: Numeric = given(
        "deg", "m_w", "Its angle at the wall.", source=_ANNEX_C
    )
    slip_line_turn: Numeric = given("deg", "v", "Its turn from ground to wall.", source=_ANNEX_C)
    surface_load_coefficient: Numeric = given(
        "",
        "K_n",
        "Pressure normal to the wall over pressure normal to the ground.",
        source=_ANNEX_C,
    )
    annex_c_coefficient: Numeric = given(
        "",
        "K_C",
        "Passive coefficient on a curved slip surface, without shaking, for comparison.",
        source=_ANNEX_C,
    )
    coefficient: Numeric = given(
        "", "K", "Coefficient of the soil's own weight, shaking included; layers differ: nan."
    )
    static_coefficient: Numeric = given("", "K_s", "The same without shaking.")
    cohesion_coefficient: Numeric = given_if_any(
        "", "K_c", "Pressure that one unit of cohesion takes off (active) or adds (passive)."
    )
    pressure_at_top: Numeric = given_if_any(
        "kPa", "p_0", "Pressure of the soil at the top of the wall, without shaking."
    )
    pressure_at_water: Numeric = _of_water("kPa", "p_w", "Pressure likewise at the water table.")
    pressure_at_base: Numeric = given("kPa", "p_f", "Pressure likewise at the base of the wall.")
    tension_stress: Numeric = given_if_any(
        "kPa", "σ_t", "Active: effective vertical stress at which the pressure is zero."
    )
    tension_crack_depth: Numeric = given_if_any(
        "m", "z_t", "Depth of the zone in tension below the ground: cracked unless that is off."
    )
    weight_thrust: Numeric = given("kN/m", "P_γ", "Thrust of the soil's own weight.")
    surcharge_thrust: Numeric = given_if_any(
        "kN/m", "P_q", "Thrust of loads that act with the soil."
    )
    static_thrust: Numeric = given("kN/m", "P_st", "Thrust of the soil without shaking.")
    cohesion_thrust: Numeric = given_if_any(
        "kN/m", "P_c", "What cohesion, adhesion and cracking change in the thrust."
    )
    seismic_thrust: Numeric = _of_shaking("kN/m", "P_E", "What shaking changes in the thrust.")
    earth_thrust: Numeric = given("kN/m", "P_s", "Thrust that acts at the angle of the theory.")
    earth_thrust_angle: Numeric = given_if_any("deg", "α_s", "Angle of that thrust.")
    load_thrust: Numeric = given_if_any(
        "kN/m", "P_L", "Horizontal thrust of strip and line loads by elastic theory."
    )
    load_moment: Numeric = given("kN·m/m", "M_L", "Its moment about the base.", hangs_on=("P_L",))
    horizontal_thrust: Numeric = given("kN/m", "P_h", "Horizontal part of the thrust.")
    vertical_thrust: Numeric = given_if_any(
        "kN/m", "P_v", "Vertical part of the thrust, in the sense of its angle."
    )
    thrust_angle: Numeric = given_if_any("deg", "α", "Angle of the thrust.")
    thrust: Numeric = given(
        "kN/m", "P", "Thrust of the soil, loads on the ground included, water apart."
    )
    static_thrust_height: Numeric = given(
        "m", "h_st", "Height of the thrust without shaking above the base."
    )
    thrust_height: Numeric = given("m", "h_P", "Height of the thrust above the base.")
    adhesion_force: Numeric = given_if_any(
        "kN/m", "P_a", "Adhesion along the back face, which the thrust leaves out."
    )
    crack_water_height: Numeric = given_if_any(
        "m", "h_cr", "Water that the crack holds, above its foot."
    )
    water_thrust: Numeric = given_if_any(
        "kN/m", "P_w", "Thrust of water, normal to the back face; water in a crack included."
    )
    water_thrust_height: Numeric = given("m", "h_w", "Height of the water thrust above the base.")
    trial_wedge_thrust: Numeric = given(
        "kN/m",
        "P_t",
        "Earth thrust of a trial wedge under a level water table, for comparison where ground "
        "or wall are inclined and there is water or cohesion.",
        origin=SEARCHED,
    )
    minimum_thrust: Numeric = given(
        "kN/m",
        "P_min",
        "Minimum earth thrust where soil has cohesion: that of φ′ = 40° without "
        "cohesion; for comparison.",
        origin="Found as the thrust itself.",
        source=MINIMUM,
    )
    plane_angle: Numeric = given(
        "deg", "ρ", "Angle of the governing slip plane; trial wedge only.", origin=SEARCHED
    )
    exit_distance: Numeric = given(
        "m",
        "x_e",
        "From the wall to where that plane, or its crack, meets the ground.",
        origin=SEARCHED,
    )
