"""What the check of a retaining wall gives: what acts on it, and what follows at its base."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from slipmargin.stability.earth_pressure.values import MINIMUM, SEARCHED
from slipmargin.stability.fields import given, given_if_any
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.strength import Numeric

__all__ = ["RetainingWallValues"]

_OUTLINE = "From the outline by Green's theorem."
_MEASURED = "Measured on the outline."
_FACE = "Of the tallest straight part of the outline's back."
_WESTERGAARD = "Westergaard (1933), Trans. ASCE 98 (from memory)"
_CREEP = "EM 1110-2-2502 (1989), line of creep (from memory)"
_PRANDTL = "Prandtl (1921), Reissner (1924)"
_NO_DEPTH = "1: the method has none, they are left out, or the base lies on the ground."
_STRIP = "A strip has no effect of shape."

# each is left out of the working where what it is of is not there
_of_water = partial(given, hangs_on=("h_w",))
_of_key = partial(given, hangs_on=("d_k",))
_of_heel = partial(given, hangs_on=("A_s",))
_of_toe = partial(given, hangs_on=("A_t",))
_of_surcharge = partial(given, hangs_on=("q",))
_of_thrust = partial(given, hangs_on=("P_a",))
_of_shaking = partial(given, hangs_on=("k_h",))
_of_loads = partial(given, hangs_on=("P_L",))
_of_passive = partial(given, hangs_on=("D_p",))
_of_fall = partial(given, hangs_on=("β_f",))


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class WallValues:
    """From the section to the forces on it, and on to the factors."""

    __slots__ = ()

    base_width: Numeric = given("m", "B", "Width of the base.", origin=_MEASURED)
    wall_height: Numeric = given(
        "m", "H", "Height from the underside to the top.", origin=_MEASURED
    )
    top_to_heel: Numeric = given_if_any(
        "m", "b_h", "Back edge of the top to the heel.", origin=_MEASURED
    )
    water_height_behind: Numeric = _of_water("m", "h_w", "Water behind, above the base.")
    water_height_in_front: Numeric = given_if_any("m", "h_t", "Water in front, above the base.")
    water_depth_below_base: Numeric = given_if_any(
        "m", "z_b", "Water table below the base; dry: nan."
    )
    thrust_plane_height: Numeric = given(
        "m", "H_p", "Height of the plane on which the thrust is taken."
    )
    thrust_plane_batter: Numeric = given_if_any(
        "deg", "θ", "Angle of that plane from vertical.", origin=_FACE
    )
    thrust_plane_foot: Numeric = given(
        "m", "x_0", "That plane at the level of the base, from the toe.", origin=_FACE
    )
    thrust_plane_head: Numeric = given_if_any(
        "m",
        "b_p",
        "Back edge of the top to the head of that plane, from which loads press; no loads: nan.",
        origin=_FACE,
    )
    wall_friction_used: Numeric = given_if_any(
        "deg", "δ_w", "Friction on the back, no more than the backfill has."
    )
    thrust_angle: Numeric = given_if_any("deg", "ω", "Angle of the thrust below horizontal.")

    wall_area: Numeric = given(
        "m²", "A_w", "Area of the wall's section, without a key.", origin=_OUTLINE
    )
    wall_weight: Numeric = given("kN/m", "W_w", "Weight of the wall.")
    wall_arm: Numeric = given("m", "x_w", "Arm of that weight.", origin=_OUTLINE)
    wall_centroid_height: Numeric = given("m", "y_w", "Its height above the base.", origin=_OUTLINE)
    key_weight: Numeric = _of_key("kN/m", "W_k", "Weight of the base key, buoyant in water.")
    key_arm: Numeric = _of_key("m", "x_kw", "Arm of that weight.")
    heel_soil_area: Numeric = _of_heel(
        "m²", "A_s", "Area of the soil on the heel.", origin=_OUTLINE
    )
    heel_soil_area_below_water: Numeric = given_if_any(
        "m²", "A_sw", "Of it below water.", origin=_OUTLINE
    )
    heel_soil_weight: Numeric = _of_heel("kN/m", "W_s", "Weight of the soil on the heel.")
    heel_soil_arm: Numeric = _of_heel("m", "x_s", "Arm of that weight.", origin=_OUTLINE)
    heel_soil_centroid_height: Numeric = _of_heel(
        "m", "y_s", "Its height above the base.", origin=_OUTLINE
    )
    toe_soil_area: Numeric = _of_toe("m²", "A_t", "Area of the soil on the toe.", origin=_OUTLINE)
    toe_soil_area_below_water: Numeric = given_if_any(
        "m²", "A_tw", "Of it below water.", origin=_OUTLINE
    )
    toe_soil_weight: Numeric = _of_toe(
        "kN/m", "W_t", "Weight of the soil on the toe: not counted in the forces."
    )
    toe_soil_arm: Numeric = _of_toe("m", "x_t", "Arm of that weight.", origin=_OUTLINE)

    active_coefficient: Numeric = given("", "K_a", "Coefficient of active pressure.")
    cohesion_coefficient: Numeric = given(
        "", "K_c", "What each kPa of cohesion takes from the active pressure.", hangs_on=("c′_1",)
    )
    surcharge_stress: Numeric = _of_surcharge(
        "kPa", "σ_q", "Vertical stress of the surcharge on the plane."
    )
    vertical_stress_at_water: Numeric = _of_water(
        "kPa", "σ′_w", "Effective vertical stress on the plane at the water level."
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
    thrust_from_surcharge: Numeric = _of_surcharge(
        "kN/m", "P_q", "Part of the surcharge in the thrust."
    )
    thrust_without_cohesion: Numeric = given(
        "kN/m", "P_0", "Thrust if the backfill had no cohesion."
    )
    pressure_at_top: Numeric = given_if_any(
        "kPa", "p_0", "Pressure of the soil at the top of the plane; tension is not carried."
    )
    pressure_at_water: Numeric = _of_water("kPa", "p_w", "Pressure likewise at the water level.")
    pressure_at_foot: Numeric = given("kPa", "p_f", "Pressure likewise at the foot of the plane.")
    tension_stress: Numeric = given_if_any(
        "kPa", "σ_t", "Effective vertical stress at which the pressure is zero."
    )
    tension_crack_depth: Numeric = given_if_any(
        "m", "z_c", "Depth without active pressure: tension is not carried."
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
        source=MINIMUM,
    )
    minimum_thrust: Numeric = given("kN/m", "P_m", "Minimum earth pressure.", source=MINIMUM)
    minimum_thrust_height: Numeric = given("m", "y_m", "Its height above the base.")
    thrust: Numeric = given("kN/m", "P_a", "Static thrust of the soil, surcharge included.")
    thrust_height: Numeric = _of_thrust("m", "y_a", "Its height above the base.")
    thrust_horizontal: Numeric = _of_thrust("kN/m", "P_h", "Its horizontal part.")
    thrust_vertical: Numeric = given_if_any("kN/m", "P_v", "Its vertical part.")
    thrust_arm: Numeric = given("m", "x_a", "Arm of its vertical part.", hangs_on=("P_v",))
    seismic_angle: Numeric = _of_shaking(
        "deg",
        "ψ",
        "Angle of the body force from vertical; below water shaking takes hold of the "
        "saturated weight.",
    )
    seismic_coefficient: Numeric = _of_shaking("", "K_ae", "Active coefficient with shaking.")
    theory_thrust_with_shaking: Numeric = _of_shaking(
        "kN/m", "P_the", "Thrust by the theory with shaking, where another stands beside it."
    )
    trial_wedge_thrust_with_shaking: Numeric = _of_shaking(
        "kN/m", "P_twe", "Thrust of a trial wedge with shaking.", origin=SEARCHED
    )
    minimum_seismic_coefficient: Numeric = _of_shaking("", "K_me", "Coefficient K_m with shaking.")
    minimum_thrust_with_shaking: Numeric = _of_shaking(
        "kN/m", "P_me", "Minimum earth pressure with shaking."
    )
    thrust_increment: Numeric = _of_shaking("kN/m", "P_e", "What shaking adds to the thrust.")
    thrust_increment_height: Numeric = _of_shaking(
        "m", "y_e", "Its height above the base.", source="Seed & Whitman (1970)"
    )
    thrust_increment_horizontal: Numeric = _of_shaking("kN/m", "P_eh", "Its horizontal part.")
    thrust_increment_vertical: Numeric = given_if_any("kN/m", "P_ev", "Its vertical part.")
    thrust_increment_arm: Numeric = given(
        "m", "x_e", "Arm of its vertical part.", hangs_on=("P_ev",)
    )
    load_thrust: Numeric = _of_loads(
        "kN/m", "P_L", "Horizontal thrust of strip and line loads by elastic theory."
    )
    load_moment: Numeric = _of_loads("kN·m/m", "M_L", "Its moment about the level of the base.")
    load_thrust_height: Numeric = _of_loads("m", "y_L", "Its height above the base.")
    wall_inertia: Numeric = _of_shaking("kN/m", "F_w", "Shaking of the wall.")
    key_inertia: Numeric = given_if_any(
        "kN/m", "F_k", "Shaking of the base key: of its whole weight, in water too."
    )
    heel_soil_inertia: Numeric = given_if_any("kN/m", "F_hs", "Shaking of the soil on the heel.")
    key_vertical_stress: Numeric = _of_key(
        "kPa", "σ′_k", "Effective vertical stress behind the key, at the middle of its depth."
    )
    key_seismic_angle: Numeric = given_if_any(
        "deg",
        "ψ_k",
        "Angle of the body force there; below water shaking takes hold of the saturated weight.",
    )
    key_active_coefficient: Numeric = _of_key(
        "",
        "K_ak",
        "Active coefficient of the foundation soil behind the key.",
        origin="1: shaking exceeds the friction.",
    )
    key_head: Numeric = given_if_any(
        "m", "h_k", "Head on the back of the key above that in front, on the line of the uplift."
    )
    key_thrust: Numeric = _of_key(
        "kN/m", "P_k", "Active pressure of soil and water on the back of the key."
    )

    water_thrust: Numeric = _of_water("kN/m", "P_w", "Horizontal thrust of the water behind.")
    water_on_back: Numeric = given_if_any("kN/m", "W_b", "Water on a battered back.")
    water_on_back_arm: Numeric = given("m", "x_b", "Arm of that weight.", hangs_on=("W_b",))
    creep_gradient: Numeric = given_if_any(
        "",
        "i_w",
        "Head lost over the length of the line of creep; full heads counted: nan.",
        source=_CREEP,
    )
    head_at_heel: Numeric = given_if_any(
        "m", "h_uh", "Head of the uplift at the heel, above the base."
    )
    head_at_toe: Numeric = given_if_any(
        "m", "h_ut", "Head of the uplift at the toe, above the base."
    )
    uplift: Numeric = given_if_any("kN/m", "U", "Uplift on the base.")
    uplift_arm: Numeric = given("m", "x_u", "Its arm.", hangs_on=("U",))
    water_thrust_in_front: Numeric = given(
        "kN/m", "P_wf", "Thrust of the water in front.", hangs_on=("h_t",)
    )
    moving_water_behind: Numeric = given_if_any(
        "kN/m",
        "P_wd",
        "Thrust of the water behind that moves by itself in shaking.",
        source=_WESTERGAARD,
    )
    moving_water_behind_height: Numeric = given(
        "m", "y_wd", "Its height above the base.", hangs_on=("P_wd",)
    )
    moving_water_in_front: Numeric = given_if_any(
        "kN/m",
        "P_wfd",
        "Pull of the water in front as it moves away in shaking, above the ground there.",
        source=_WESTERGAARD,
    )
    moving_water_in_front_height: Numeric = given(
        "m", "y_wfd", "Its height above the base.", hangs_on=("P_wfd",)
    )
    water_on_toe_area: Numeric = given_if_any(
        "m²", "A_f", "Area of the water on the toe.", origin=_OUTLINE
    )
    water_on_toe: Numeric = given(
        "kN/m", "W_f", "Weight of the water on the toe.", hangs_on=("A_f",)
    )
    water_on_toe_arm: Numeric = given(
        "m", "x_f", "Arm of that weight.", origin=_OUTLINE, hangs_on=("A_f",)
    )

    vertical_force: Numeric = given("kN/m", "V", "Effective vertical force on the base.")
    horizontal_force: Numeric = given("kN/m", "T", "Horizontal force that drives the wall outward.")
    righting_moment: Numeric = given("kN·m/m", "M_r", "Righting moment about the toe.")
    overturning_moment: Numeric = given("kN·m/m", "M_o", "Overturning moment about the toe.")
    resultant_distance: Numeric = given("m", "x_R", "Resultant on the base, from the toe.")
    eccentricity: Numeric = given(
        "m", "e", "Resultant from the middle of the base, positive toward the toe."
    )
    effective_width: Numeric = given("m", "B′", "Width that carries, centred on the resultant.")
    toe_pressure: Numeric = given("kPa", "p_t", "Pressure at the toe; triangular when e > B/6.")
    heel_pressure: Numeric = given("kPa", "p_h", "Pressure at the heel; 0 when it lifts.")
    bearing_pressure: Numeric = given("kPa", "p_b", "Pressure on the effective width.")

    sliding_friction_angle: Numeric = given("deg", "δ_s", "Angle of friction used on the base.")
    base_resistance: Numeric = given("kN/m", "R_b", "Friction and adhesion on the base.")
    passive_depth: Numeric = given_if_any(
        "m", "D_p", "Depth of passive resistance, down to the foot of a key."
    )
    passive_water_height: Numeric = given_if_any("m", "h_p", "Water in front above that depth.")
    passive_stress_sum: Numeric = _of_passive(
        "kN/m", "S_p", "Effective vertical stress summed over that depth."
    )
    passive_seismic_angle: Numeric = given_if_any(
        "deg",
        "ψ_p",
        "Angle of the body force in front; below water shaking takes hold of the saturated weight.",
    )
    passive_coefficient: Numeric = _of_passive(
        "", "K_p", "Passive coefficient in front.", origin="0: shaking exceeds the friction."
    )
    passive_resistance: Numeric = _of_passive(
        "kN/m", "P_p", "Full passive resistance in front, down to the foot of a key."
    )
    sliding_resistance: Numeric = given("kN/m", "R_s", "Resistance to sliding that is counted.")

    load_inclination: Numeric = given(
        "deg",
        "α",
        "Angle of the load on the base from vertical.",
        origin="Nothing presses on the base.",
    )
    overburden: Numeric = given_if_any(
        "kPa", "q_0", "Effective vertical stress in front, at the base."
    )
    unit_weight_below_base: Numeric = given("kN/m³", "γ_b", "Effective unit weight below the base.")
    bearing_factor_overburden: Numeric = given("", "N_q", "Bearing factor.", source=_PRANDTL)
    bearing_factor_cohesion: Numeric = given("", "N_c", "Bearing factor.", source=_PRANDTL)
    bearing_factor_weight: Numeric = given("", "N_γ", "Bearing factor.")
    shape_factor_overburden: Numeric = given("", "s_q", "Shape factor.", origin=_STRIP)
    shape_factor_cohesion: Numeric = given("", "s_c", "Shape factor.", origin=_STRIP)
    shape_factor_weight: Numeric = given("", "s_γ", "Shape factor.", origin=_STRIP)
    depth_factor_overburden: Numeric = given("", "d_q", "Depth factor.", origin=_NO_DEPTH)
    depth_factor_cohesion: Numeric = given("", "d_c", "Depth factor.", origin=_NO_DEPTH)
    depth_factor_weight: Numeric = given("", "d_γ", "Depth factor.", origin=_NO_DEPTH)
    ground_factor_overburden: Numeric = _of_fall("", "g_q", "Factor of the ground that falls away.")
    ground_factor_cohesion: Numeric = _of_fall("", "g_c", "Factor of the ground that falls away.")
    ground_factor_weight: Numeric = _of_fall("", "g_γ", "Factor of the ground that falls away.")
    inclination_factor_overburden: Numeric = given("", "i_q", "Inclination factor.")
    inclination_factor_cohesion: Numeric = given("", "i_c", "Inclination factor.")
    inclination_factor_weight: Numeric = given("", "i_γ", "Inclination factor.")
    bearing_capacity: Numeric = given(
        "kPa", "q_u", "Ultimate bearing pressure on the effective width."
    )
    effective_width_with_toe_soil: Numeric = _of_toe(
        "m", "B′_t", "Width that carries if the soil on the toe stays where it is."
    )
    inclination_factor_overburden_with_toe_soil: Numeric = _of_toe(
        "", "i_qt", "Inclination factor, likewise."
    )
    inclination_factor_cohesion_with_toe_soil: Numeric = _of_toe(
        "", "i_ct", "Inclination factor, likewise."
    )
    inclination_factor_weight_with_toe_soil: Numeric = _of_toe(
        "", "i_γt", "Inclination factor, likewise."
    )
    bearing_capacity_with_toe_soil: Numeric = _of_toe(
        "kPa", "q_ut", "Ultimate bearing pressure, likewise."
    )
    bearing_factor_with_toe_soil: Numeric = _of_toe(
        "", "F_bt", "Factor against bearing if the soil on the toe stays where it is."
    )
    allowable_share: Numeric = given(
        "", "F_q", "Allowable bearing over the pressure at the toe; none given: nan."
    )
    factor_sliding: Numeric = given("", "F_s", "Factor of safety against sliding.")
    factor_overturning: Numeric = given("", "F_o", "Factor of safety against overturning.")
    factor_bearing: Numeric = given("", "F_b", "Factor of safety in bearing.")
    yield_seismic_coefficient: Numeric = given(
        "",
        "k_y",
        "Horizontal coefficient at which the factor against sliding is 1, for a displacement; no "
        "motion given: nan.",
        origin="Found by a search: the shaking is varied until the wall just slides.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RetainingWallValues(NewmarkValues, WallValues):
    """Intermediates of a retaining wall; arms are measured from the toe."""
