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
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.standing_water import pool_thrust
from slipmargin.stability.ground.surcharge_strip import loaded_between, strip_edges
from slipmargin.stability.planar_wedge.geometry import Block, taken
from slipmargin.strength import Numeric

__all__ = ["BlockForces", "Loads", "block_forces", "factor_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What acts on any block: scalars or arrays that broadcast.

    Parameters
    ----------
    unit_weight, saturated_unit_weight, water_unit_weight
        Of the soil above and below water, and of water [kN/m³].
    surcharge, surcharge_setback, surcharge_width
        On plan area of the upper slope [kPa], from that far behind the crest over that width
        [m]; ``inf`` for no end.
    seismic_coefficient
        Horizontal force over weight, outward [-].
    support_force, support_angle
        On the block, into the slope [kN/m]; below horizontal [deg].
    crack_water_depth
        Depth of water in the crack, as far as the crack holds it [m].
    pore_pressure_ratio
        r_u: pore pressure over the weight of the soil above, surcharge not counted [-].
    pool_level
        Of a pool that presses on the ground, above the toe [m].
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

    def taken(self, part: Any) -> Loads:
        """``part`` of every array."""
        return taken(self, part)

    def pool_on(self, area: Numeric, end_depth: Numeric) -> tuple[Numeric, Numeric]:
        """Thrust into the slope and weight of the pool on a block [kN/m].

        Parameters
        ----------
        area, end_depth
            Of the pool above the block [m²]; its depth where the plane comes out [m].
        """
        # a pool that is gone leaves nothing above the block
        there = self.pool_level > 0.0
        thrust = pool_thrust(self.pool_level, end_depth, self.water_unit_weight)
        return np.where(there, thrust, 0.0), np.where(there, self.water_unit_weight * area, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockForces:
    """Block and forces on it, in the order they follow from each other: [m], [m²], [kN/m]."""

    tension_crack_depth: Numeric
    crack_head: Numeric
    crack_water_depth: Numeric
    plane_run: Numeric
    base_length: Numeric
    block_area: Numeric
    wet_area: Numeric
    head_area: Numeric
    loaded_length: Numeric
    weight: Numeric
    seismic_force: Numeric
    pool_area: Numeric
    pool_end_depth: Numeric
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
    block: Block,
    loads: Loads,
    cohesion: Numeric,
    tan_friction_angle: Numeric,
    plane_angle: Numeric,
) -> BlockForces:
    """Forces and factor of safety of a block on its plane.

    Parameters
    ----------
    cohesion, tan_friction_angle
        c′ [kPa] and tan φ′ [-].
    plane_angle
        ψ [deg].
    """
    psi, alpha = np.radians(plane_angle), np.radians(loads.support_angle)
    sin, cos = np.sin(psi), np.cos(psi)
    length = block.run / cos
    near, far = strip_edges(block.crest_x, loads.surcharge_setback, loads.surcharge_width)
    loaded = loaded_between(near, far, block.crest_x, block.run)
    soil = loads.unit_weight * block.area
    soil = soil + (loads.saturated_unit_weight - loads.unit_weight) * block.wet_area
    weight = soil + loads.surcharge * loaded
    seismic = loads.seismic_coefficient * weight
    pushed, pressed = loads.pool_on(block.pool_area, block.pool_end_depth)
    water = np.maximum(np.minimum(loads.crack_water_depth, block.crack_depth), block.crack_head)
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
            tension_crack_depth=block.crack_depth,
            crack_head=block.crack_head,
            crack_water_depth=water,
            plane_run=block.run,
            base_length=length,
            block_area=block.area,
            wet_area=block.wet_area,
            head_area=block.head_area,
            loaded_length=loaded,
            weight=weight,
            seismic_force=seismic,
            pool_area=block.pool_area,
            pool_end_depth=block.pool_end_depth,
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
