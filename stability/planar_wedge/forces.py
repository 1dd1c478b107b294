"""Forces on a block that slides on a plane through the toe, for a metre run of slope.

With ψ the plane, W the block's weight with the surcharge on it, K_h = k_h W, V the thrust of
water in the crack, U the uplift on the plane and T the support force at α below horizontal:

    N′ = W cos ψ - K_h sin ψ - V sin ψ + T sin(α + ψ) - U
    S = W sin ψ + (K_h + V) cos ψ - T cos(α + ψ)
    F = (c′ L + N′ tan φ′) / S
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.planar_wedge.geometry import Block, taken
from slipmargin.strength import Numeric

__all__ = ["BlockForces", "Loads", "block_forces", "factor_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What acts on any block: scalars or arrays that broadcast.

    Parameters
    ----------
    unit_weight, water_unit_weight
        Of the soil and of water [kN/m³].
    surcharge
        On plan area of the upper slope [kPa].
    seismic_coefficient
        Horizontal force over weight, outward [-].
    support_force, support_angle
        On the block, into the slope [kN/m]; below horizontal [deg].
    crack_water_depth
        Depth of water in the crack, as far as the crack holds it [m].
    pore_pressure_ratio
        r_u: pore pressure over the weight of the soil above, surcharge not counted [-].
    """

    unit_weight: Numeric
    water_unit_weight: Numeric
    surcharge: Numeric
    seismic_coefficient: Numeric
    support_force: Numeric
    support_angle: Numeric
    crack_water_depth: Numeric
    pore_pressure_ratio: Numeric

    def taken(self, part: Any) -> Loads:
        """``part`` of every array."""
        return taken(self, part)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockForces:
    """Block and forces on it, in the order they follow from each other: [m], [m²], [kN/m]."""

    tension_crack_depth: Numeric
    crack_water_depth: Numeric
    plane_run: Numeric
    base_length: Numeric
    block_area: Numeric
    loaded_length: Numeric
    weight: Numeric
    seismic_force: Numeric
    crack_thrust: Numeric
    uplift: Numeric
    normal_force: Numeric
    driving_force: Numeric
    effective_normal_stress: Numeric
    shear_strength_force: Numeric
    factor_of_safety: Numeric


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
    loaded = np.maximum(block.run - block.crest_x, 0.0)
    soil = loads.unit_weight * block.area
    weight = soil + loads.surcharge * loaded
    seismic = loads.seismic_coefficient * weight
    water = np.minimum(loads.crack_water_depth, block.crack_depth)
    thrust = loads.water_unit_weight * water**2 / 2.0
    uplift = loads.water_unit_weight * water * length / 2.0
    uplift = uplift + loads.pore_pressure_ratio * soil / cos
    support, outward = loads.support_force, seismic + thrust
    normal = weight * cos - outward * sin + support * np.sin(alpha + psi) - uplift
    drive = weight * sin + outward * cos - support * np.cos(alpha + psi)
    strength = cohesion * length + normal * tan_friction_angle
    held = np.maximum(strength, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return BlockForces(
            tension_crack_depth=block.crack_depth,
            crack_water_depth=water,
            plane_run=block.run,
            base_length=length,
            block_area=block.area,
            loaded_length=loaded,
            weight=weight,
            seismic_force=seismic,
            crack_thrust=thrust,
            uplift=uplift,
            normal_force=normal,
            driving_force=drive,
            effective_normal_stress=normal / length,
            shear_strength_force=held,
            factor_of_safety=np.where(strength < 0.0, 0.0, factor_of(held, drive)),
        )


def factor_of(held: Numeric, drive: Numeric) -> NDArray[np.float64]:
    """Strength over drive; ``inf`` where nothing drives."""
    return np.where(drive > 0.0, held / drive, np.inf)
