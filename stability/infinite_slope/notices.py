"""What must not be parted from the factor of an infinite slope."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from slipmargin.stability.check import target_notices
from slipmargin.stability.ground.newmark import newmark_notices
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.infinite_slope.inputs import InfiniteSlopeInputs
from slipmargin.stability.infinite_slope.values import InfiniteSlopeValues
from slipmargin.stability.rare_values import rare_values
from slipmargin.strength import Notice, Numeric

__all__ = ["infinite_slope_notices"]


def infinite_slope_notices(
    slope: InfiniteSlopeInputs, values: InfiniteSlopeValues, factors: Mapping[str, Numeric]
) -> tuple[Notice, ...]:
    """All notices of an infinite slope, with what it gave."""
    notices = [
        *slope.soil.strength.caveats,
        *rare_values(slope),
        *target_notices(factors, slope.target),
    ]
    lifted = np.any(np.asarray(values.effective_normal_stress) <= 0.0)
    if lifted:
        notices.append(
            Notice.stop(
                "no-effective-stress",
                "Water (or shaking) carries the whole weight of the layer: the effective "
                "normal stress on the plane is zero or less and friction does nothing.",
            )
        )
    notices += surcharge_notices(slope, factors)
    if slope.seepage_angle is not None and np.any(
        np.asarray(slope.seepage_angle) > np.asarray(slope.slope_angle)
    ):
        notices.append(
            Notice.caution(
                "seepage-into-the-slope",
                "The water is taken to flow downward into the slope, which lowers its "
                "pressure: counted on only where drainage below is known to work.",
            )
        )
    below_water = slope.submerged or np.any(np.asarray(values.water_height) > 0.0)
    notices += slope.soil.saturation_notices(bool(below_water))
    notices += slope.soil.stress_range_notices(values.effective_normal_stress, "on the slip plane")
    if np.any(np.asarray(slope.root_cohesion) > 0.0):
        notices.append(
            Notice.caution(
                "root-cohesion-counted",
                "Root cohesion is counted on. Roots reach a metre or two at most, and fire, "
                "felling or drought takes them away.",
            )
        )
    if np.any(np.asarray(slope.horizontal_seismic_coefficient) > 0.0):
        notices.append(
            Notice.info(
                "pseudo-static",
                "Shaking is a constant force here; loss of strength is not covered. A "
                "peak_acceleration gives a displacement.",
            )
        )
    notices += newmark_notices(slope, values, values.yield_seismic_coefficient)
    if not below_water:
        notices.append(
            Notice.caution(
                "no-water-assumed",
                "No water is in this check. Most shallow slides come with rain; run a wet "
                "case as well.",
            )
        )
    return tuple(notices)
