"""Forces on a column of an infinite slope, and the values at which it just meets its target."""

from __future__ import annotations

import numpy as np

from slipmargin.stability.ground.newmark import newmark_values
from slipmargin.stability.infinite_slope.inputs import InfiniteSlopeInputs
from slipmargin.stability.infinite_slope.values import InfiniteSlopeValues
from slipmargin.strength import Numeric

__all__ = ["floating", "infinite_slope"]


def infinite_slope(slope: InfiniteSlopeInputs) -> InfiniteSlopeValues:
    """The pure computation: every field a scalar or an array that broadcasts.

    Where no target is given, no strength is required, and the other values that need one take 1.
    """
    soil, strength = slope.soil, slope.soil.strength
    beta = np.radians(slope.slope_angle)
    sin, cos = np.sin(beta), np.cos(beta)
    tan_phi = strength.tan_friction_angle
    k_h = slope.horizontal_seismic_coefficient
    depth = slope.depth
    asked = slope.target is not None
    target = 1.0 if slope.target is None else slope.target

    table = depth if slope.water_table_depth is None else np.minimum(slope.water_table_depth, depth)
    height = depth - table
    # a value of its own, by its own symbol, even where it is that of the slope
    flow = +(slope.slope_angle if slope.seepage_angle is None else slope.seepage_angle)
    theta = np.radians(flow)
    pressure_per_height = slope.water_unit_weight / (1.0 + np.tan(beta) * np.tan(theta))

    above, below = soil.unit_weight, soil.weight_below_water
    if slope.submerged:
        above = below = soil.weight_below_water - slope.water_unit_weight
    weight = above * table + below * height + slope.surcharge
    floats = floating(slope)
    shaken = weight + floats * depth

    normal = weight * cos**2 - k_h * shaken * sin * cos
    shear = weight * sin * cos + k_h * shaken * cos**2
    pore = pressure_per_height * height
    effective = normal - pore
    strength_on_plane = np.maximum(strength.shear_strength(effective) + slope.root_cohesion, 0.0)

    held = strength.cohesion + slope.root_cohesion
    with np.errstate(divide="ignore", invalid="ignore"):
        tan_needed = np.maximum(target * shear - held, 0.0) / effective
        yield_k = (held + (weight * cos**2 - pore) * tan_phi - weight * sin * cos) / (
            shaken * cos * (cos + sin * tan_phi)
        )
        # strength left over on a plane at depth d is piecewise linear in d
        per_shaking = k_h * (sin * cos * tan_phi + target * cos**2)
        spare_per_weight = cos**2 * tan_phi - target * sin * cos - per_shaking
        spare_at_top = held + slope.surcharge * spare_per_weight
        rate_above = above * spare_per_weight - floats * per_shaking
        lost_per_height = pressure_per_height * tan_phi
        rate_below = below * spare_per_weight - lost_per_height
        table_given = np.inf if slope.water_table_depth is None else slope.water_table_depth
        in_dry = np.where(rate_above < 0.0, -spare_at_top / rate_above, np.inf)
        finite_table = np.where(np.isfinite(table_given), table_given, 0.0)
        spare_at_table = spare_at_top + rate_above * finite_table
        in_wet = np.where(
            np.isfinite(table_given) & (rate_below < 0.0) & (spare_at_table >= 0.0),
            finite_table - spare_at_table / rate_below,
            np.inf,
        )
        critical_depth = np.where(in_dry <= table_given, in_dry, in_wet)
        critical_depth = np.where(spare_at_top < 0.0, 0.0, critical_depth)
        # and linear in the depth of the water table
        spare_flooded = held + (below * depth + slope.surcharge) * spare_per_weight
        spare_flooded = spare_flooded - depth * lost_per_height
        spare_dry = held + (above * depth + slope.surcharge) * spare_per_weight
        critical_table = spare_flooded / ((below - above) * spare_per_weight - lost_per_height)
    crosses = (spare_flooded < 0.0) & (spare_dry >= 0.0) & (not slope.submerged)

    return InfiniteSlopeValues(
        water_height=height,
        column_weight=weight,
        normal_stress=normal,
        shear_stress=shear,
        flow_angle=flow if slope.water_table_depth is not None else np.nan,
        pore_pressure=pore,
        effective_normal_stress=effective,
        shear_strength=strength_on_plane,
        factor_of_safety=strength_on_plane / shear,
        yield_seismic_coefficient=yield_k,
        required_friction_angle=np.where(
            asked & (effective > 0.0), np.degrees(np.arctan(tan_needed)), np.nan
        ),
        required_cohesion=np.where(
            asked,
            np.maximum(
                target * shear - np.maximum(effective, 0.0) * tan_phi - slope.root_cohesion, 0.0
            ),
            np.nan,
        ),
        spare_strength=spare_per_weight,
        critical_depth=np.where(np.isfinite(critical_depth), critical_depth, np.nan),
        critical_water_table_depth=np.where(crosses, critical_table, np.nan),
        **newmark_values(slope, yield_k),
    )


def floating(slope: InfiniteSlopeInputs) -> Numeric:
    """Unit weight that buoyancy carries but that shakes all the same: water in the pores."""
    return slope.water_unit_weight if slope.submerged else 0.0
