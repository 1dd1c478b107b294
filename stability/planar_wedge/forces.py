"""Forces on a block that slides on a plane through the toe, for a metre run of slope.

With ψ the plane, W the block's weight with the surcharge on it, K_h = k_h W, V the thrust of
water in the crack, P_h and P_v the thrust and weight of a pool on the ground, U the uplift on the
plane and T the support force at α below horizontal:

    N′ = (W + P_v) cos ψ - (K_h + V - P_h) sin ψ + T sin(α + ψ) - U
    S = (W + P_v) sin ψ + (K_h + V - P_h) cos ψ - T cos(α + ψ)
    F = (c′ L + N′ tan φ′) / S

The shaking at which F is 1 is that which uses up what strength is left over:

    k_y = k_h + (c′ L + N′ tan φ′ - S) / (W (cos ψ + sin ψ tan φ′))
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.standing_water import pool_thrust
from slipmargin.stability.ground.surcharge_strip import loaded_between, strip_edges
from slipmargin.stability.planar_wedge.geometry import Block
from slipmargin.strength import Numeric

__all__ = ["BlockForces", "Loads", "block_forces", "factor_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What acts on any block: scalars or arrays that broadcast.

    Unit weights [kN/m³] are those of the soil above and below water, and of water. The surcharge
    is on plan area [kPa], from that far behind the crest over that width [m], ``inf`` for no end;
    the seismic coefficient a force outward over the weight, the support force [kN/m] into the
    slope at an angle below horizontal [deg]. Water stands in the crack so deep [m], as far as the
    crack holds it; r_u is over the weight of the soil above, surcharge not counted; a pool
    presses on the ground up to its level above the toe [m].
    """

    unit_weight: Numeric
    saturated_unit_weight: Numeric
    water_unit_weight: Numeric
    surcharge: Numeric
    surcharge_setback: Numeric
    surcharge_width: Numeric
    seismic_coefficient: Numeric
    support_force: Numeric
    support_angle: Numeric
    crack_water_depth: Numeric
    pore_pressure_ratio: Numeric
    pool_level: Numeric

    def pool_on(self, area: Numeric, end_depth: Numeric) -> tuple[Numeric, Numeric]:
        """Thrust into the slope and weight of the pool on a block [kN/m], from its area above the
        block [m²] and its depth where the plane comes out [m].
        """
        # a pool that is gone leaves nothing above the block
        there = self.pool_level > 0.0
        thrust = pool_thrust(self.pool_level, end_depth, self.water_unit_weight)
        return np.where(there, thrust, 0.0), np.where(there, self.water_unit_weight * area, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockForces:
    """Forces on a block, in the order they follow from each other: [m], [kN/m], [kPa]."""

    crack_water_depth: Numeric
    base_length: Numeric
    loaded_length: Numeric
    weight: Numeric
    seismic_force: Numeric
    pool_thrust: Numeric
    pool_weight: Numeric
    crack_thrust: Numeric
    uplift: Numeric
    normal_force: Numeric
    driving_force: Numeric
    effective_normal_stress: Numeric
    shear_strength_force: Numeric
    factor_of_safety: Numeric
    yield_seismic_coefficient: Numeric


def block_forces(
    block: Block, loads: Loads, cohesion: Numeric, tan_friction_angle: Numeric, plane_angle: Numeric
) -> BlockForces:
    """Forces and factor of safety of a block on a plane [deg], from c′ [kPa] and tan φ′ [-]."""
    psi, alpha = np.radians(plane_angle), np.radians(loads.support_angle)
    sin, cos = np.sin(psi), np.cos(psi)
    length, crest = block.plane_run / cos, block.crest_distance
    near, far = strip_edges(crest, loads.surcharge_setback, loads.surcharge_width)
    loaded = loaded_between(near, far, crest, block.plane_run)
    soil = loads.unit_weight * block.block_area
    soil = soil + (loads.saturated_unit_weight - loads.unit_weight) * block.wet_area
    weight = soil + loads.surcharge * loaded
    seismic = loads.seismic_coefficient * weight
    pushed, pressed = loads.pool_on(block.pool_area, block.pool_end_depth)
    filled = np.minimum(loads.crack_water_depth, block.tension_crack_depth)
    water = np.maximum(filled, block.crack_head)
    thrust = loads.water_unit_weight * water**2 / 2.0
    uplift = loads.water_unit_weight * block.head_area / cos
    uplift = uplift + loads.water_unit_weight * (water - block.crack_head) * length / 2.0
    uplift = uplift + loads.pore_pressure_ratio * soil / cos
    support, outward = loads.support_force, seismic + thrust - pushed
    down = weight + pressed
    normal = down * cos - outward * sin + support * np.sin(alpha + psi) - uplift
    drive = down * sin + outward * cos - support * np.cos(alpha + psi)
    strength = cohesion * length + normal * tan_friction_angle
    held = np.maximum(strength, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        spent = weight * (cos + sin * tan_friction_angle)
        at_yield = loads.seismic_coefficient + (strength - drive) / spent
        return BlockForces(
            crack_water_depth=water,
            base_length=length,
            loaded_length=loaded,
            weight=weight,
            seismic_force=seismic,
            pool_thrust=pushed,
            pool_weight=pressed,
            crack_thrust=thrust,
            uplift=uplift,
            normal_force=normal,
            driving_force=drive,
            effective_normal_stress=normal / length,
            shear_strength_force=held,
            factor_of_safety=np.where(strength < 0.0, 0.0, factor_of(held, drive)),
            yield_seismic_coefficient=np.maximum(at_yield, 0.0),
        )


def factor_of(held: Numeric, drive: Numeric) -> NDArray[np.float64]:
    """Strength over drive; ``inf`` where nothing drives."""
    return np.where(drive > 0.0, held / drive, np.inf)
