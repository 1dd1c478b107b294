"""What a planar wedge gives: block, forces, factor and design values."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.fields import given, given_if_any
from slipmargin.stability.ground.newmark import NewmarkValues
from slipmargin.strength import Numeric

__all__ = ["PlanarWedgeValues"]

_ON_GROUND = "Measured on the ground."
_ON_SECTION = "Measured on the section: ground, water and plane."
_NO_STRESS = "By the tangent to the curved envelope at no stress."
_DESIGN_SEARCH = "Found by a search: slopes like this one are checked until it is met."


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class BlockValues:
    """Block, forces and design values."""

    __slots__ = ()

    plane_angle: Numeric = given(
        "deg",
        "ψ",
        "Angle of the plane, given or critical.",
        origin="Found by a search: the plane with the lowest factor.",
    )
    crest_distance: Numeric = given_if_any(
        "m", "x_c", "Toe to crest, horizontally.", origin=_ON_GROUND
    )
    crack_head: Numeric = given_if_any(
        "m", "z_l", "Depth of the slope's own water in the crack.", origin=_ON_SECTION
    )
    deepest_crack: Numeric = given_if_any(
        "m",
        "z_m",
        "Depth that a searched crack does not exceed: what the strength holds open, and half the "
        "height; none searched: nan.",
        source="Terzaghi (1943), Theoretical Soil Mechanics (from memory)",
        origin="From the strength, of a curve its tangent, and the height of the crest.",
    )
    tension_crack_distance: Numeric = given(
        "m",
        "b_c",
        "Tension crack behind the crest, given or worst; none: nan.",
        origin="Found by a search: the place with the lowest factor.",
    )
    plane_run: Numeric = given("m", "x_p", "Horizontal length of the plane.", origin=_ON_GROUND)
    tension_crack_depth: Numeric = given_if_any(
        "m", "z", "Depth of the crack to the plane; none: 0.", origin=_ON_GROUND
    )
    crack_water_depth: Numeric = given_if_any("m", "z_c", "Depth of water the crack holds.")
    base_length: Numeric = given("m", "L", "Length of the plane.")
    block_area: Numeric = given("m²", "A", "Area of the block.", origin=_ON_GROUND)
    wet_area: Numeric = given_if_any(
        "m²", "A_s", "Area of the block below water.", origin=_ON_SECTION
    )
    head_area: Numeric = given_if_any(
        "m²",
        "A_w",
        "Area between the plane and the level of the slope's own water.",
        origin=_ON_SECTION,
    )
    loaded_length: Numeric = given_if_any("m", "b_q", "Plan length of load on the block.")
    weight: Numeric = given("kN/m", "W", "Weight of the block, surcharge included.")
    seismic_force: Numeric = given("kN/m", "K_h", "Force of shaking, outward.", hangs_on=("k_h",))
    pool_area: Numeric = given_if_any(
        "m²", "A_p", "Area of the pool above the block.", origin=_ON_SECTION
    )
    pool_end_depth: Numeric = given_if_any(
        "m", "h_e", "Depth of the pool where the plane comes out.", origin=_ON_SECTION
    )
    pool_thrust: Numeric = given_if_any("kN/m", "P_h", "Thrust of the pool, into the slope.")
    pool_weight: Numeric = given_if_any("kN/m", "P_v", "Weight of the pool on the block.")
    crack_thrust: Numeric = given("kN/m", "V", "Thrust of water in the crack.", hangs_on=("z_c",))
    uplift: Numeric = given(
        "kN/m", "U", "Uplift of water on the plane.", hangs_on=("z_c", "r_u", "A_w")
    )
    normal_force: Numeric = given(
        "kN/m",
        "N′",
        "Effective normal force on the plane.",
        source="Hoek & Bray (1974), plane failure",
    )
    driving_force: Numeric = given(
        "kN/m", "S", "Force down the plane.", source="Hoek & Bray (1974), plane failure"
    )
    effective_normal_stress: Numeric = given(
        "kPa", "σ′", "Mean effective normal stress on the plane."
    )
    shear_strength_force: Numeric = given(
        "kN/m", "R", "Strength along the plane.", origin=_NO_STRESS
    )
    factor_of_safety: Numeric = given("", "F", "Factor of safety against sliding.")
    yield_seismic_coefficient: Numeric = given(
        "",
        "k_y",
        "Horizontal coefficient at which the factor of planes is 1; 0 where it is below 1 without "
        "shaking.",
        origin="Found by a search: the plane with the lowest of them.",
    )
    drawdown_factor: Numeric = given(
        "",
        "F_d",
        "Factor with the pool gone and the water in the slope as it was; no pool: nan.",
        origin="Found as the factor of safety, without the pool.",
    )
    maximum_height: Numeric = given(
        "m",
        "H_max",
        "Height at which the factor first falls to the target, without one to 1, on the given "
        "plane; never: nan.",
        origin=_DESIGN_SEARCH,
    )
    steepest_face_angle: Numeric = given(
        "deg",
        "ψ_max",
        "Face angle at which the factor first falls to the target, without one to 1, on the given "
        "plane; none: nan.",
        origin=_DESIGN_SEARCH,
    )
    required_support_force: Numeric = given(
        "kN/m",
        "T_req",
        "Support force in all that meets the target, on the given plane; none or no target: nan.",
        origin=_DESIGN_SEARCH,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanarWedgeValues(NewmarkValues, BlockValues):
    """Block, forces, design values and displacements of a planar wedge."""
