"""What must not be parted from the factor of an infinite slope."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from slipmargin.stability.check import target_notices
from slipmargin.stability.ground.newmark import newmark_notices
from slipmargin.stability.ground.shaking import PSEUDO_STATIC
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.infinite_slope.inputs import InfiniteSlopeInputs
from slipmargin.stability.infinite_slope.values import InfiniteSlopeValues
from slipmargin.stability.rare_values import rare_values
from slipmargin.strength import Notice, Numeric

__all__ = ["infinite_slope_notices"]


def infinite_slope_notices(
    slope: InfiniteSlopeInputs, values: InfiniteSlopeValues, factors: Mapping[str, Numeric]
) -> Iterator[Notice]:
    """All notices of an infinite slope, with what it gave."""
    yield from slope.soil.strength.caveats
    yield from rare_values(slope)
    yield from target_notices(factors, slope.target)
    if np.any(values.effective_normal_stress <= 0.0):
        yield Notice.stop(
            "no-effective-stress",
            "Water (or shaking) carries the whole weight of the layer: the effective normal "
            "stress on the plane is zero or less and friction does nothing.",
        )
    yield from surcharge_notices(slope, factors)
    flow = slope.seepage_angle
    if flow is not None and np.any(np.asarray(flow) > np.asarray(slope.slope_angle)):
        yield Notice.caution(
            "seepage-into-the-slope",
            "The water is taken to flow downward into the slope, which lowers its pressure: "
            "counted on only where drainage below is known to work.",
        )
    below_water = slope.submerged or bool(np.any(values.water_height > 0.0))
    yield from slope.soil.saturation_notices(below_water)
    yield from slope.soil.stress_range_notices(values.effective_normal_stress, "on the slip plane")
    yield from slope.soil.undrained_notices()
    if np.any(slope.root_cohesion > 0.0):
        yield Notice.caution(
            "root-cohesion-counted",
            "Root cohesion is counted on. Roots reach a metre or two at most, and fire, felling "
            "or drought takes them away.",
        )
    if np.any(slope.horizontal_seismic_coefficient > 0.0):
        yield PSEUDO_STATIC
    yield from newmark_notices(slope, values, values.yield_seismic_coefficient)
    if not below_water:
        yield Notice.caution(
            "no-water-assumed",
            "No water is in this check. Most shallow slides come with rain; run a wet case as "
            "well.",
        )
