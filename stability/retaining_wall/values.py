"""What the check of a retaining wall gives: what acts on it, and what follows at its base."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.fields import given
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.stability.retaining_wall.acting_values import ActingValues
from slipmargin.strength import Numeric

__all__ = ["RetainingWallValues"]

_PRANDTL = "Prandtl (1921), Reissner (1924)"
_NO_DEPTH = "1: the method has none, they are left out, or the base lies on the ground."
_STRIP = "A strip has no effect of shape."


@dataclass(frozen=True, kw_only=True)
class BaseValues:
    """From the forces to the factors."""

    __slots__ = ()

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
    passive_depth: Numeric = given(
        "m", "D_p", "Depth of passive resistance, down to the foot of a key.", hangs_on=("D_p",)
    )
    passive_water_height: Numeric = given(
        "m", "h_p", "Water in front above that depth.", hangs_on=("h_p",)
    )
    passive_stress_sum: Numeric = given(
        "kN/m", "S_p", "Effective vertical stress summed over that depth.", hangs_on=("D_p",)
    )
    passive_seismic_angle: Numeric = given(
        "deg",
        "ψ_p",
        "Angle of the body force in front; below water shaking takes hold of the saturated weight.",
        hangs_on=("ψ_p",),
    )
    passive_coefficient: Numeric = given(
        "",
        "K_p",
        "Passive coefficient in front.",
        origin="0: shaking exceeds the friction.",
        hangs_on=("D_p",),
    )
    passive_resistance: Numeric = given(
        "kN/m",
        "P_p",
        "Full passive resistance in front, down to the foot of a key.",
        hangs_on=("D_p",),
    )
    sliding_resistance: Numeric = given("kN/m", "R_s", "Resistance to sliding that is counted.")

    load_inclination: Numeric = given(
        "deg",
        "α",
        "Angle of the load on the base from vertical.",
        origin="Nothing presses on the base.",
    )
    overburden: Numeric = given(
        "kPa", "q_0", "Effective vertical stress in front, at the base.", hangs_on=("q_0",)
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
    ground_factor_overburden: Numeric = given(
        "", "g_q", "Factor of the ground that falls away.", hangs_on=("β_f",)
    )
    ground_factor_cohesion: Numeric = given(
        "", "g_c", "Factor of the ground that falls away.", hangs_on=("β_f",)
    )
    ground_factor_weight: Numeric = given(
        "", "g_γ", "Factor of the ground that falls away.", hangs_on=("β_f",)
    )
    inclination_factor_overburden: Numeric = given("", "i_q", "Inclination factor.")
    inclination_factor_cohesion: Numeric = given("", "i_c", "Inclination factor.")
    inclination_factor_weight: Numeric = given("", "i_γ", "Inclination factor.")
    bearing_capacity: Numeric = given(
        "kPa", "q_u", "Ultimate bearing pressure on the effective width."
    )
    effective_width_with_toe_soil: Numeric = given(
        "m",
        "B′_t",
        "Width that carries if the soil on the toe stays where it is.",
        hangs_on=("W_t",),
    )
    inclination_factor_overburden_with_toe_soil: Numeric = given(
        "", "i_qt", "Inclination factor, likewise.", hangs_on=("W_t",)
    )
    inclination_factor_cohesion_with_toe_soil: Numeric = given(
        "", "i_ct", "Inclination factor, likewise.", hangs_on=("W_t",)
    )
    inclination_factor_weight_with_toe_soil: Numeric = given(
        "", "i_γt", "Inclination factor, likewise.", hangs_on=("W_t",)
    )
    bearing_capacity_with_toe_soil: Numeric = given(
        "kPa", "q_ut", "Ultimate bearing pressure, likewise.", hangs_on=("W_t",)
    )
    bearing_factor_with_toe_soil: Numeric = given(
        "",
        "F_bt",
        "Factor against bearing if the soil on the toe stays where it is.",
        hangs_on=("W_t",),
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
class RetainingWallValues(NewmarkValues, BaseValues, ActingValues):
    """Intermediates of a retaining wall; arms are measured from the toe."""
