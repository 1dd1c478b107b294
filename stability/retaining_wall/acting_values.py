"""What acts on a retaining wall, from the section to the forces and their arms."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.earth_pressure.values import SEARCHED
from slipmargin.stability.fields import given
from slipmargin.strength import Numeric

__all__ = ["ActingValues"]

_SHAKING, _KEY, _WATER = ("k_h",), ("d_k",), ("h_w",)
_OUTLINE = "From the outline by Green's theorem."
_MEASURED = "Measured on the outline."
_FACE = "Of the tallest straight part of the outline's back."
_LEAST = "DIN 4085; EAB, EB 4 (from memory)"
_WESTERGAARD = "Westergaard (1933), Trans. ASCE 98 (from memory)"
_CREEP = "EM 1110-2-2502 (1989), line of creep (from memory)"


@dataclass(frozen=True, kw_only=True)
class ActingValues:
    """From the section to the forces on it; arms are measured from the toe."""

    __slots__ = ()

    base_width: Numeric = given("m", "B", "Width of the base.", origin=_MEASURED)
    wall_height: Numeric = given(
        "m", "H", "Height from the underside to the top.", origin=_MEASURED
    )
    top_to_heel: Numeric = given(
        "m", "b_h", "Back edge of the top to the heel.", origin=_MEASURED, hangs_on=("b_h",)
    )
    water_height_behind: Numeric = given(
        "m", "h_w", "Water behind, above the base.", hangs_on=_WATER
    )
    water_height_in_front: Numeric = given(
        "m", "h_t", "Water in front, above the base.", hangs_on=("h_t",)
    )
    water_depth_below_base: Numeric = given(
        "m", "z_b", "Water table below the base; dry: nan.", hangs_on=("z_b",)
    )
    thrust_plane_height: Numeric = given(
        "m", "H_p", "Height of the plane on which the thrust is taken."
    )
    thrust_plane_batter: Numeric = given(
        "deg", "θ", "Angle of that plane from vertical.", origin=_FACE, hangs_on=("θ",)
    )
    thrust_plane_foot: Numeric = given(
        "m", "x_0", "That plane at the level of the base, from the toe.", origin=_FACE
    )
    thrust_plane_head: Numeric = given(
        "m",
        "b_p",
        "Back edge of the top to the head of that plane, from which loads press; no loads: nan.",
        origin=_FACE,
        hangs_on=("b_p",),
    )
    wall_friction_used: Numeric = given(
        "deg", "δ_w", "Friction on the back, no more than the backfill has.", hangs_on=("δ_w",)
    )
    thrust_angle: Numeric = given(
        "deg", "ω", "Angle of the thrust below horizontal.", hangs_on=("ω",)
    )

    wall_area: Numeric = given(
        "m²", "A_w", "Area of the wall's section, without a key.", origin=_OUTLINE
    )
    wall_weight: Numeric = given("kN/m", "W_w", "Weight of the wall.")
    wall_arm: Numeric = given("m", "x_w", "Arm of that weight.", origin=_OUTLINE)
    wall_centroid_height: Numeric = given("m", "y_w", "Its height above the base.", origin=_OUTLINE)
    key_weight: Numeric = given(
        "kN/m", "W_k", "Weight of the base key, buoyant in water.", hangs_on=_KEY
    )
    key_arm: Numeric = given("m", "x_kw", "Arm of that weight.", hangs_on=_KEY)
    heel_soil_area: Numeric = given(
        "m²", "A_s", "Area of the soil on the heel.", origin=_OUTLINE, hangs_on=("A_s",)
    )
    heel_soil_area_below_water: Numeric = given(
        "m²", "A_sw", "Of it below water.", origin=_OUTLINE, hangs_on=("A_sw",)
    )
    heel_soil_weight: Numeric = given(
        "kN/m", "W_s", "Weight of the soil on the heel.", hangs_on=("A_s",)
    )
    heel_soil_arm: Numeric = given(
        "m", "x_s", "Arm of that weight.", origin=_OUTLINE, hangs_on=("A_s",)
    )
    heel_soil_centroid_height: Numeric = given(
        "m", "y_s", "Its height above the base.", origin=_OUTLINE, hangs_on=("A_s",)
    )
    toe_soil_area: Numeric = given(
        "m²", "A_t", "Area of the soil on the toe.", origin=_OUTLINE, hangs_on=("A_t",)
    )
    toe_soil_area_below_water: Numeric = given(
        "m²", "A_tw", "Of it below water.", origin=_OUTLINE, hangs_on=("A_tw",)
    )
    toe_soil_weight: Numeric = given(
        "kN/m",
        "W_t",
        "Weight of the soil on the toe: not counted in the forces.",
        hangs_on=("A_t",),
    )
    toe_soil_arm: Numeric = given(
        "m", "x_t", "Arm of that weight.", origin=_OUTLINE, hangs_on=("A_t",)
    )

    active_coefficient: Numeric = given("", "K_a", "Coefficient of active pressure.")
    cohesion_coefficient: Numeric = given(
        "", "K_c", "What each kPa of cohesion takes from the active pressure.", hangs_on=("c′_1",)
    )
    surcharge_stress: Numeric = given(
        "kPa", "σ_q", "Vertical stress of the surcharge on the plane.", hangs_on=("q",)
    )
    vertical_stress_at_water: Numeric = given(
        "kPa", "σ′_w", "Effective vertical stress on the plane at the water level.", hangs_on=_WATER
    )
    vertical_stress_at_foot: Numeric = given(
        "kPa", "σ′_f", "Effective vertical stress at the foot of the plane."
    )
    vertical_stress_sum: Numeric = given(
        "kN/m", "S_v", "Effective vertical stress summed down the plane."
    )
    mean_vertical_stress: Numeric = given(
        "kPa", "σ′_m", "Mean effective vertical stress on the plane."
    )
    thrust_from_surcharge: Numeric = given(
        "kN/m", "P_q", "Part of the surcharge in the thrust.", hangs_on=("q",)
    )
    thrust_without_cohesion: Numeric = given(
        "kN/m", "P_0", "Thrust if the backfill had no cohesion."
    )
    pressure_at_top: Numeric = given(
        "kPa",
        "p_0",
        "Pressure of the soil at the top of the plane; tension is not carried.",
        hangs_on=("p_0",),
    )
    pressure_at_water: Numeric = given(
        "kPa", "p_w", "Pressure likewise at the water level.", hangs_on=_WATER
    )
    pressure_at_foot: Numeric = given("kPa", "p_f", "Pressure likewise at the foot of the plane.")
    tension_stress: Numeric = given(
        "kPa", "σ_t", "Effective vertical stress at which the pressure is zero.", hangs_on=("σ_t",)
    )
    tension_crack_depth: Numeric = given(
        "m", "z_c", "Depth without active pressure: tension is not carried.", hangs_on=("z_c",)
    )
    theory_thrust: Numeric = given(
        "kN/m", "P_th", "Thrust by the theory, where another stands beside it."
    )
    theory_thrust_height: Numeric = given(
        "m", "y_th", "Its height above the base.", hangs_on=("P_th",)
    )
    trial_wedge_thrust: Numeric = given(
        "kN/m",
        "P_tw",
        "Thrust of a trial wedge under a level water table, where ground or back are inclined "
        "and there is water or cohesion.",
        origin=SEARCHED,
    )
    minimum_coefficient: Numeric = given(
        "",
        "K_m",
        "Active coefficient of the minimum earth pressure of a fill with cohesion: φ′ = 40° "
        "and c′ = 0.",
        source=_LEAST,
    )
    minimum_thrust: Numeric = given("kN/m", "P_m", "Minimum earth pressure.", source=_LEAST)
    minimum_thrust_height: Numeric = given("m", "y_m", "Its height above the base.")
    thrust: Numeric = given("kN/m", "P_a", "Static thrust of the soil, surcharge included.")
    thrust_height: Numeric = given("m", "y_a", "Its height above the base.", hangs_on=("P_a",))
    thrust_horizontal: Numeric = given("kN/m", "P_h", "Its horizontal part.", hangs_on=("P_a",))
    thrust_vertical: Numeric = given("kN/m", "P_v", "Its vertical part.", hangs_on=("P_v",))
    thrust_arm: Numeric = given("m", "x_a", "Arm of its vertical part.", hangs_on=("P_v",))
    seismic_angle: Numeric = given(
        "deg",
        "ψ",
        "Angle of the body force from vertical; below water shaking takes hold of the "
        "saturated weight.",
        hangs_on=_SHAKING,
    )
    seismic_coefficient: Numeric = given(
        "", "K_ae", "Active coefficient with shaking.", hangs_on=_SHAKING
    )
    theory_thrust_with_shaking: Numeric = given(
        "kN/m",
        "P_the",
        "Thrust by the theory with shaking, where another stands beside it.",
        hangs_on=_SHAKING,
    )
    trial_wedge_thrust_with_shaking: Numeric = given(
        "kN/m", "P_twe", "Thrust of a trial wedge with shaking.", origin=SEARCHED, hangs_on=_SHAKING
    )
    minimum_seismic_coefficient: Numeric = given(
        "", "K_me", "Coefficient K_m with shaking.", hangs_on=_SHAKING
    )
    minimum_thrust_with_shaking: Numeric = given(
        "kN/m", "P_me", "Minimum earth pressure with shaking.", hangs_on=_SHAKING
    )
    thrust_increment: Numeric = given(
        "kN/m", "P_e", "What shaking adds to the thrust.", hangs_on=_SHAKING
    )
    thrust_increment_height: Numeric = given(
        "m", "y_e", "Its height above the base.", source="Seed & Whitman (1970)", hangs_on=_SHAKING
    )
    thrust_increment_horizontal: Numeric = given(
        "kN/m", "P_eh", "Its horizontal part.", hangs_on=_SHAKING
    )
    thrust_increment_vertical: Numeric = given(
        "kN/m", "P_ev", "Its vertical part.", hangs_on=("P_ev",)
    )
    thrust_increment_arm: Numeric = given(
        "m", "x_e", "Arm of its vertical part.", hangs_on=("P_ev",)
    )
    load_thrust: Numeric = given(
        "kN/m",
        "P_L",
        "Horizontal thrust of strip and line loads by elastic theory.",
        hangs_on=("P_L",),
    )
    load_moment: Numeric = given(
        "kN·m/m", "M_L", "Its moment about the level of the base.", hangs_on=("P_L",)
    )
    load_thrust_height: Numeric = given("m", "y_L", "Its height above the base.", hangs_on=("P_L",))
    wall_inertia: Numeric = given("kN/m", "F_w", "Shaking of the wall.", hangs_on=_SHAKING)
    key_inertia: Numeric = given(
        "kN/m",
        "F_k",
        "Shaking of the base key: of its whole weight, in water too.",
        hangs_on=("F_k",),
    )
    heel_soil_inertia: Numeric = given(
        "kN/m", "F_hs", "Shaking of the soil on the heel.", hangs_on=("F_hs",)
    )
    key_vertical_stress: Numeric = given(
        "kPa",
        "σ′_k",
        "Effective vertical stress behind the key, at the middle of its depth.",
        hangs_on=_KEY,
    )
    key_seismic_angle: Numeric = given(
        "deg",
        "ψ_k",
        "Angle of the body force there; below water shaking takes hold of the saturated weight.",
        hangs_on=("ψ_k",),
    )
    key_active_coefficient: Numeric = given(
        "",
        "K_ak",
        "Active coefficient of the foundation soil behind the key.",
        origin="1: shaking exceeds the friction.",
        hangs_on=_KEY,
    )
    key_head: Numeric = given(
        "m",
        "h_k",
        "Head on the back of the key above that in front, on the line of the uplift.",
        hangs_on=("h_k",),
    )
    key_thrust: Numeric = given(
        "kN/m", "P_k", "Active pressure of soil and water on the back of the key.", hangs_on=_KEY
    )

    water_thrust: Numeric = given(
        "kN/m", "P_w", "Horizontal thrust of the water behind.", hangs_on=_WATER
    )
    water_on_back: Numeric = given("kN/m", "W_b", "Water on a battered back.", hangs_on=("W_b",))
    water_on_back_arm: Numeric = given("m", "x_b", "Arm of that weight.", hangs_on=("W_b",))
    creep_gradient: Numeric = given(
        "",
        "i_w",
        "Head lost over the length of the line of creep; full heads counted: nan.",
        source=_CREEP,
        hangs_on=("i_w",),
    )
    head_at_heel: Numeric = given(
        "m", "h_uh", "Head of the uplift at the heel, above the base.", hangs_on=("h_uh",)
    )
    head_at_toe: Numeric = given(
        "m", "h_ut", "Head of the uplift at the toe, above the base.", hangs_on=("h_ut",)
    )
    uplift: Numeric = given("kN/m", "U", "Uplift on the base.", hangs_on=("U",))
    uplift_arm: Numeric = given("m", "x_u", "Its arm.", hangs_on=("U",))
    water_thrust_in_front: Numeric = given(
        "kN/m", "P_wf", "Thrust of the water in front.", hangs_on=("h_t",)
    )
    moving_water_behind: Numeric = given(
        "kN/m",
        "P_wd",
        "Thrust of the water behind that moves by itself in shaking.",
        source=_WESTERGAARD,
        hangs_on=("P_wd",),
    )
    moving_water_behind_height: Numeric = given(
        "m", "y_wd", "Its height above the base.", hangs_on=("P_wd",)
    )
    moving_water_in_front: Numeric = given(
        "kN/m",
        "P_wfd",
        "Pull of the water in front as it moves away in shaking, above the ground there.",
        source=_WESTERGAARD,
        hangs_on=("P_wfd",),
    )
    moving_water_in_front_height: Numeric = given(
        "m", "y_wfd", "Its height above the base.", hangs_on=("P_wfd",)
    )
    water_on_toe_area: Numeric = given(
        "m²", "A_f", "Area of the water on the toe.", origin=_OUTLINE, hangs_on=("A_f",)
    )
    water_on_toe: Numeric = given(
        "kN/m", "W_f", "Weight of the water on the toe.", hangs_on=("A_f",)
    )
    water_on_toe_arm: Numeric = given(
        "m", "x_f", "Arm of that weight.", origin=_OUTLINE, hangs_on=("A_f",)
    )
