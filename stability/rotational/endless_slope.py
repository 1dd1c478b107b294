"""The friction angle that ground without end needs when cohesion does nothing.

On a long slope at the angle β, far enough below the ground that cohesion and surcharge no
longer count, or close enough to it where there is none,

    tan φ = (tan β + k_h) / (1 - k_h tan β - r_u / cos²β)

with r_u the pore pressure over γ times the vertical depth. Without cohesion this is the skin
of the steepest face, and no curved surface is worse. Deep down it is the ground beyond a
slope: below this friction angle it slides at any cohesion.
"""

from __future__ import annotations

import numpy as np

from slipmargin.stability.ground.ground_line import Complex, Float
from slipmargin.stability.rotational.spiral import LoadedSlope

__all__ = ["deep_tangent", "endless_tangent", "skin_tangent"]

_WET = 1e-6


def endless_tangent(direction: Complex, seismic: Float, pressure_ratio: Float) -> Float:
    """The tan φ needed by ground along a unit direction; ``inf`` where none is enough."""
    cos, sin = direction.real, direction.imag
    needed = (sin + seismic * cos) * cos
    holding = cos * cos - seismic * sin * cos - pressure_ratio
    enough = holding > 1e-12
    return np.where(enough, needed / np.where(enough, holding, 1.0), np.inf)


def skin_tangent(slope: LoadedSlope) -> Float:
    """The tan φ at which the skin of the steepest piece of ground stands without cohesion."""
    ground = slope.ground
    pieces = ground.directions[:, 1:]
    ratio = slope.pore_pressure_ratio[:, None]
    if slope.water is not None:
        # a phreatic line that lies in the face fills its skin
        feet = ground.vertices
        tops = np.hstack((feet[:, 1:], feet[:, -1:] + pieces[:, -1:] * slope.height[:, None]))
        middle = (feet + tops) / 2.0
        level = slope.water_level(middle.real)
        wet = level - middle.imag >= -_WET * slope.height[:, None]
        ratio = np.where(wet, _water_ratio(slope)[:, None], 0.0)
    k_h = slope.seismic_coefficient[:, None]
    needed = endless_tangent(pieces, k_h, ratio)
    if slope.pool_level is not None:
        needed = np.maximum(needed, _under_pool(slope, slope.pool_level, pieces))
    steepest: Float = np.max(needed, axis=1)
    return steepest


def _under_pool(slope: LoadedSlope, level: Float, pieces: Complex) -> Float:
    """The tan φ needed by the skin below a pool, or where one stood; 0 above it."""
    k_h, heavy = slope.seismic_coefficient[:, None], slope.saturated_unit_weight[:, None]
    water = slope.water_unit_weight[:, None]
    pressure = (slope.unit_weight * slope.pore_pressure_ratio)[:, None]
    if slope.pool_stands:
        light = heavy - water
        needed = endless_tangent(pieces, k_h * heavy / light, np.maximum(pressure, 0.0) / light)
    else:
        needed = endless_tangent(pieces, k_h, np.maximum(pressure, water) / heavy)
    return np.where(level[:, None] > slope.ground.vertices.imag, needed, 0.0)


def deep_tangent(slope: LoadedSlope) -> Float:
    """The tan φ below which the ground in front or behind slides at any depth; 0 for none."""
    ways = slope.ground.directions
    k_h, ratio = slope.seismic_coefficient, slope.pore_pressure_ratio
    level = np.maximum(ratio, _water_ratio(slope)) if slope.wet else ratio
    front = endless_tangent(ways[:, 0], k_h, level)
    rising = ways[:, -1].imag > 0.0
    behind = endless_tangent(ways[:, -1], k_h, np.where(rising, ratio, level))
    if slope.firm_level is not None:
        front, behind = np.zeros_like(front), np.where(rising, behind, 0.0)
    return np.maximum(front, behind)


def _water_ratio(slope: LoadedSlope) -> Float:
    return slope.water_unit_weight / slope.saturated_unit_weight
