"""What an infinite slope gives."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.fields import given, given_if_any
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.strength import Numeric

__all__ = ["InfiniteSlopeValues"]

_ROOT = "Found by a search: the depth or the shaking is varied until the factor is met."


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class LayerValues:
    """Stresses on the plane, factor, and what would meet the target."""

    __slots__ = ()

    water_height: Numeric = given_if_any("m", "h_w", "Height of water above the plane.")
    column_weight: Numeric = given("kPa", "W", "Weight over unit plan area, surcharge included.")
    normal_stress: Numeric = given("kPa", "σ", "Total normal stress on the plane.")
    shear_stress: Numeric = given("kPa", "τ", "Shear stress on the plane.")
    flow_angle: Numeric = given(
        "deg", "θ", "Angle of the flow lines below horizontal: that of the slope unless given."
    )
    pore_pressure: Numeric = given("kPa", "u", "Pore pressure on the plane.", hangs_on=("h_w",))
    effective_normal_stress: Numeric = given("kPa", "σ′", "Effective normal stress.")
    shear_strength: Numeric = given("kPa", "τ_f", "Strength on the plane, roots included.")
    factor_of_safety: Numeric = given("", "F", "Factor of safety against sliding.")
    yield_seismic_coefficient: Numeric = given(
        "", "k_y", "Horizontal coefficient at which the factor is 1.", origin=_ROOT
    )
    required_friction_angle: Numeric = given(
        "deg",
        "φ_req",
        "Friction angle that meets the target, cohesion held; none or no target: nan.",
    )
    required_cohesion: Numeric = given(
        "kPa", "c_req", "Cohesion that meets the target, friction angle held; no target: nan."
    )
    spare_strength: Numeric = given(
        "",
        "s",
        "Friction less the drive that meets the target (without one 1), over the weight, dry.",
    )
    critical_depth: Numeric = given(
        "m",
        "d_crit",
        "Depth of plane at which the factor falls to the target, without one to 1; never: nan.",
        origin=_ROOT,
    )
    critical_water_table_depth: Numeric = given(
        "m",
        "d_wc",
        "Water table depth at which the factor falls to the target, without one to 1; none: nan.",
        origin=_ROOT,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class InfiniteSlopeValues(NewmarkValues, LayerValues):
    """Intermediates of an infinite slope."""
