"""What the check of a retaining wall gives: every step from the section to the factors."""

from __future__ import annotations

from dataclasses import dataclass

from stability.fields import given
from strength import Numeric

__all__ = ["RetainingWallValues"]

_BEARING = "see the sources of the method"


@dataclass(frozen=True, slots=True, kw_only=True)
class RetainingWallValues:
    """Intermediates of a retaining wall; arms are measured from the toe."""

    base_width: Numeric = given("m", "B", "Width of the base.")
    wall_height: Numeric = given("m", "H", "Height from the underside to the top.")
    thrust_plane_height: Numeric = given(
        "m", "H_p", "Height of the plane on which the thrust is taken."
    )
    thrust_plane_batter: Numeric = given("deg", "θ", "Angle of that plane from vertical.")
    thrust_angle: Numeric = given("deg", "ω", "Angle of the thrust below horizontal.")

    wall_area: Numeric = given("m²", "A_w", "Area of the wall's section, without a key.")
    wall_weight: Numeric = given("kN/m", "W_w", "Weight of the wall.", "γ_c * A_w")
    wall_arm: Numeric = given("m", "x_w", "Arm of that weight.")
    wall_centroid_height: Numeric = given("m", "y_w", "Its height above the base.")
    key_weight: Numeric = given("kN/m", "W_k", "Weight of the base key, buoyant in water.")
    key_arm: Numeric = given("m", "x_kw", "Arm of that weight.")
    heel_soil_weight: Numeric = given("kN/m", "W_s", "Weight of the soil on the heel.")
    heel_soil_arm: Numeric = given("m", "x_s", "Arm of that weight.")
    heel_soil_centroid_height: Numeric = given("m", "y_s", "Its height above the base.")
    toe_soil_weight: Numeric = given(
        "kN/m", "W_t", "Weight of the soil on the toe: not counted in the forces."
    )
    toe_soil_arm: Numeric = given("m", "x_t", "Arm of that weight.")

    active_coefficient: Numeric = given("", "K_a", "Coefficient of active pressure.")
    cohesion_coefficient: Numeric = given(
        "", "K_c", "What each kPa of cohesion takes from the active pressure."
    )
    surcharge_share: Numeric = given(
        "",
        "f_q",
        "Share of the surcharge that acts on the plane.",
        "cos(θ) * cos(β) / cos(θ - β)",
    )
    tension_crack_depth: Numeric = given(
        "m", "z_c", "Depth without active pressure: tension is not carried."
    )
    thrust_from_surcharge: Numeric = given(
        "kN/m", "P_q", "Part of the surcharge in the thrust.", "K_a * f_q * q * H_p"
    )
    thrust_without_cohesion: Numeric = given(
        "kN/m", "P_0", "Thrust if the backfill had no cohesion."
    )
    thrust: Numeric = given("kN/m", "P_a", "Static thrust of the soil, surcharge included.")
    thrust_height: Numeric = given("m", "y_a", "Its height above the base.")
    mean_vertical_stress: Numeric = given(
        "kPa", "σ′_m", "Mean effective vertical stress on the plane."
    )
    thrust_arm: Numeric = given("m", "x_a", "Arm of its vertical part.")
    thrust_horizontal: Numeric = given("kN/m", "P_h", "Its horizontal part.", "P_a * cos(ω)")
    thrust_vertical: Numeric = given("kN/m", "P_v", "Its vertical part.", "P_a * sin(ω)")
    seismic_angle: Numeric = given("deg", "ψ", "Angle of the body force from vertical.")
    seismic_coefficient: Numeric = given("", "K_ae", "Active coefficient with shaking.")
    thrust_increment: Numeric = given("kN/m", "P_e", "What shaking adds to the thrust.")
    thrust_increment_height: Numeric = given(
        "m", "y_e", "Its height above the base.", "0.6 * H_p", "Seed & Whitman (1970)"
    )
    thrust_increment_arm: Numeric = given("m", "x_e", "Arm of its vertical part.")
    thrust_increment_horizontal: Numeric = given(
        "kN/m", "P_eh", "Its horizontal part.", "P_e * cos(ω)"
    )
    thrust_increment_vertical: Numeric = given("kN/m", "P_ev", "Its vertical part.", "P_e * sin(ω)")
    wall_inertia: Numeric = given("kN/m", "F_w", "Shaking of the wall.", "k_h * W_w")
    heel_soil_inertia: Numeric = given(
        "kN/m", "F_s", "Shaking of the soil on the heel.", "k_h * W_s"
    )
    key_thrust: Numeric = given(
        "kN/m", "P_k", "Active pressure of soil and water on the back of the key."
    )

    water_height_behind: Numeric = given("m", "h_w", "Water behind, above the base.")
    water_height_in_front: Numeric = given("m", "h_t", "Water in front, above the base.")
    water_thrust: Numeric = given(
        "kN/m", "P_w", "Horizontal thrust of the water behind.", "γ_w * h_w^2 / 2"
    )
    water_on_back: Numeric = given(
        "kN/m", "W_b", "Water on a battered back.", "γ_w * h_w^2 / 2 * tan(θ)"
    )
    water_on_back_arm: Numeric = given("m", "x_b", "Arm of that weight.")
    uplift: Numeric = given("kN/m", "U", "Uplift on the base.", "γ_w * (h_w + h_t) / 2 * B")
    uplift_arm: Numeric = given("m", "x_u", "Its arm.")
    water_thrust_in_front: Numeric = given(
        "kN/m", "P_wf", "Thrust of the water in front.", "γ_w * h_t^2 / 2"
    )
    water_on_toe: Numeric = given("kN/m", "W_f", "Weight of the water on the toe.")
    water_on_toe_arm: Numeric = given("m", "x_f", "Arm of that weight.")

    vertical_force: Numeric = given(
        "kN/m",
        "V",
        "Effective vertical force on the base.",
        "W_w + W_k + W_s + P_v + P_ev + W_b + W_f - U",
    )
    horizontal_force: Numeric = given(
        "kN/m",
        "T",
        "Horizontal force that drives the wall outward.",
        "P_h + P_eh + P_w - P_wf + F_w + F_s + P_k",
    )
    righting_moment: Numeric = given(
        "kN·m/m",
        "M_r",
        "Righting moment about the toe.",
        "W_w * x_w + W_k * x_kw + W_s * x_s + P_v * x_a + P_ev * x_e + W_b * x_b + W_f * x_f"
        " + P_wf * h_t / 3",
    )
    overturning_moment: Numeric = given(
        "kN·m/m",
        "M_o",
        "Overturning moment about the toe.",
        "P_h * y_a + P_eh * y_e + P_w * h_w / 3 + F_w * y_w + F_s * y_s + U * x_u",
    )
    resultant_distance: Numeric = given(
        "m", "x_R", "Resultant on the base, from the toe.", "(M_r - M_o) / V"
    )
    eccentricity: Numeric = given(
        "m", "e", "Resultant from the middle of the base, positive toward the toe.", "B / 2 - x_R"
    )
    effective_width: Numeric = given(
        "m", "B′", "Width that carries, centred on the resultant.", "B - 2 * sqrt(e^2)"
    )
    toe_pressure: Numeric = given("kPa", "p_t", "Pressure at the toe; triangular when e > B/6.")
    heel_pressure: Numeric = given("kPa", "p_h", "Pressure at the heel; 0 when it lifts.")
    bearing_pressure: Numeric = given("kPa", "p_b", "Pressure on the effective width.", "V / B′")

    sliding_friction_angle: Numeric = given("deg", "δ_s", "Angle of friction used on the base.")
    base_resistance: Numeric = given(
        "kN/m", "R_b", "Friction and adhesion on the base.", "V * tan(δ_s) + a_b * B"
    )
    passive_coefficient: Numeric = given("", "K_p", "Passive coefficient in front.")
    passive_resistance: Numeric = given(
        "kN/m", "P_p", "Full passive resistance in front, down to the foot of a key."
    )
    sliding_resistance: Numeric = given(
        "kN/m", "R_s", "Resistance to sliding that is counted.", "R_b + f_p * P_p"
    )

    load_inclination: Numeric = given(
        "deg", "α", "Angle of the load on the base from vertical.", "atan(T / V)"
    )
    overburden: Numeric = given("kPa", "q_0", "Effective vertical stress in front, at the base.")
    unit_weight_below_base: Numeric = given("kN/m³", "γ_b", "Effective unit weight below the base.")
    bearing_factor_cohesion: Numeric = given("", "N_c", "Bearing factor.", source=_BEARING)
    bearing_factor_overburden: Numeric = given("", "N_q", "Bearing factor.", source=_BEARING)
    bearing_factor_weight: Numeric = given("", "N_γ", "Bearing factor.", source=_BEARING)
    shape_factor_cohesion: Numeric = given("", "s_c", "Shape factor: 1 for a strip.")
    shape_factor_overburden: Numeric = given("", "s_q", "Shape factor: 1 for a strip.")
    shape_factor_weight: Numeric = given("", "s_γ", "Shape factor: 1 for a strip.")
    depth_factor_cohesion: Numeric = given("", "d_c", "Depth factor.", source=_BEARING)
    depth_factor_overburden: Numeric = given("", "d_q", "Depth factor.", source=_BEARING)
    depth_factor_weight: Numeric = given("", "d_γ", "Depth factor.", source=_BEARING)
    inclination_factor_cohesion: Numeric = given("", "i_c", "Inclination factor.", source=_BEARING)
    inclination_factor_overburden: Numeric = given(
        "", "i_q", "Inclination factor.", source=_BEARING
    )
    inclination_factor_weight: Numeric = given("", "i_γ", "Inclination factor.", source=_BEARING)
    bearing_capacity: Numeric = given(
        "kPa",
        "q_u",
        "Ultimate bearing pressure on the effective width.",
        "c′_2 * N_c * s_c * d_c * i_c + q_0 * N_q * s_q * d_q * i_q"
        " + 0.5 * γ_b * B′ * N_γ * s_γ * d_γ * i_γ",
    )
    bearing_factor_with_toe_soil: Numeric = given(
        "", "F_bt", "Factor against bearing if the soil on the toe stays where it is."
    )
    allowable_share: Numeric = given(
        "", "F_q", "Allowable bearing over the pressure at the toe; none given: nan."
    )
    factor_sliding: Numeric = given("", "F_s", "Factor of safety against sliding.", "R_s / T")
    factor_overturning: Numeric = given(
        "", "F_o", "Factor of safety against overturning.", "M_r / M_o"
    )
    factor_bearing: Numeric = given("", "F_b", "Factor of safety in bearing.", "q_u / p_b")
