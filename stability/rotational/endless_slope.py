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
from slipmargin.stability.rotational.log_spiral import LoadedSlope

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
        level = slope.water.level(middle.real)
        wet = np.abs(level - middle.imag) <= _WET * slope.height[:, None]
        ratio = np.where(wet, _water_ratio(slope)[:, None], 0.0)
    needed = endless_tangent(pieces, slope.seismic_coefficient[:, None], ratio)
    steepest: Float = np.max(needed, axis=1)
    return steepest


def deep_tangent(slope: LoadedSlope) -> Float:
    """The tan φ below which the ground in front or behind slides at any depth; 0 for none."""
    ways = slope.ground.directions
    k_h, ratio = slope.seismic_coefficient, slope.pore_pressure_ratio
    level = ratio if slope.water is None else _water_ratio(slope)
    front = endless_tangent(ways[:, 0], k_h, level)
    rising = ways[:, -1].imag > 0.0
    behind = endless_tangent(ways[:, -1], k_h, np.where(rising, ratio, level))
    if slope.firm_level is not None:
        front, behind = np.zeros_like(front), np.where(rising, behind, 0.0)
    return np.maximum(front, behind)


def _water_ratio(slope: LoadedSlope) -> Float:
    return slope.water_unit_weight / slope.saturated_unit_weight
