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

from slipmargin.stability.planar_wedge.geometry import Slope, taken
from slipmargin.strength import Numeric

__all__ = ["BlockForces", "Loads", "block_forces"]


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
    slope: Slope,
    loads: Loads,
    cohesion: Numeric,
    tan_friction_angle: Numeric,
    gradient: Numeric,
    crack_x: Numeric | None,
) -> BlockForces:
    """Forces and factor of safety of the block on a plane of the given gradient.

    Parameters
    ----------
    gradient
        tan ψ [-].
    crack_x
        Distance of the tension crack from the toe [m]; a crack behind the place where the
        plane daylights does nothing.
    """
    block = slope.block(gradient, crack_x)
    cos = 1.0 / np.sqrt(1.0 + np.square(gradient))
    sin = gradient * cos
    length = block.run / cos
    soil = loads.unit_weight * block.area
    weight = soil + loads.surcharge * block.loaded_length
    seismic = loads.seismic_coefficient * weight
    water = np.minimum(loads.crack_water_depth, block.crack_depth)
    thrust = 0.5 * loads.water_unit_weight * water**2
    uplift = 0.5 * loads.water_unit_weight * water * length
    uplift = uplift + loads.pore_pressure_ratio * soil / cos
    alpha = np.radians(loads.support_angle)
    pressing = loads.support_force * (np.sin(alpha) * cos + np.cos(alpha) * sin)
    holding = loads.support_force * (np.cos(alpha) * cos - np.sin(alpha) * sin)
    outward = seismic + thrust
    normal = weight * cos - outward * sin + pressing - uplift
    drive = weight * sin + outward * cos - holding
    strength = cohesion * length + normal * tan_friction_angle
    with np.errstate(divide="ignore", invalid="ignore"):
        return BlockForces(
            tension_crack_depth=block.crack_depth,
            crack_water_depth=water,
            plane_run=block.run,
            base_length=length,
            block_area=block.area,
            loaded_length=block.loaded_length,
            weight=weight,
            seismic_force=seismic,
            crack_thrust=thrust,
            uplift=uplift,
            normal_force=normal,
            driving_force=drive,
            effective_normal_stress=normal / length,
            shear_strength_force=np.maximum(strength, 0.0),
            factor_of_safety=_factor(strength, drive),
        )


def _factor(strength: Numeric, drive: Numeric) -> NDArray[np.float64]:
    """Strength over drive; 0 where no strength is left, ``inf`` where nothing drives."""
    driven = np.where(np.asarray(drive) > 0.0, np.maximum(strength, 0.0) / drive, np.inf)
    return np.where(np.asarray(strength) < 0.0, 0.0, driven)
