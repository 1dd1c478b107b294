"""What an infinite slope takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from slipmargin.stability import fields
from slipmargin.stability.check import Check
from slipmargin.stability.fields import amount
from slipmargin.stability.ground.newmark import NewmarkInputs
from slipmargin.stability.ground.water_line import WaterWeightInputs
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["InfiniteSlopeInputs"]


@dataclass(frozen=True, kw_only=True)
class LayerInputs:
    """The layer, its water and its loads."""

    __slots__ = ()

    soil: Soil = fields.soil("Soil above and on the slip plane.", along_curve=True)
    slope_angle: Numeric = amount(
        "ground_angle", "β", "Angle of the ground and of the slip plane.", above=0.0, below=90.0
    )
    depth: Numeric = amount(
        "length", "d", "Vertical depth of the slip plane.", above=0.0, usual=fields.USUAL_HEIGHT
    )
    water_table_depth: Numeric | None = amount(
        "length", "d_w", "Vertical depth of the water table; none is dry.", default=None, low=0.0
    )
    seepage_angle: Numeric | None = amount(
        "ground_angle",
        "θ",
        "Angle of the flow lines below horizontal; parallel to the slope by default.",
        default=None,
        low=0.0,
        below=90.0,
    )
    surcharge: Numeric = amount("stress", "q", "Load on plan area.", default=0.0, low=0.0)
    root_cohesion: Numeric = amount(
        "stress", "c_r", "Cohesion that roots add on the plane.", default=0.0, low=0.0
    )
    horizontal_seismic_coefficient: Numeric = amount(
        "ratio", "k_h", "Horizontal force over weight, outward.", default=0.0, low=0.0, high=1.0
    )
    submerged: bool = fields.flag(
        "Still water stands over the whole slope: buoyant weight, no flow; all of it shakes.",
        default=False,
    )


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True)
class InfiniteSlopeInputs(NewmarkInputs, WaterWeightInputs, LayerInputs, Check):
    """Inputs of an infinite slope; scalars or arrays that broadcast."""

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)
    STRUCTURE: ClassVar[str] = "slope"

    target: Numeric | None = amount(
        "ratio", "F_t", "Factor of safety asked for.", default=None, above=0.0
    )
