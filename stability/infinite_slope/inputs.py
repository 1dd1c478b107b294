"""What an infinite slope takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from slipmargin.stability import fields
from slipmargin.stability.check import Check, Target
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.newmark import NewmarkInputs
from slipmargin.stability.ground.shaking import SeismicCoefficient
from slipmargin.stability.ground.water_line import WaterWeightInputs
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["InfiniteSlopeInputs"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class LayerInputs:
    """The layer, its water and its loads."""

    __slots__ = ()

    soil: Annotated[Soil, fields.SoilField("Soil above and on the slip plane.", along_curve=True)]
    slope_angle: Annotated[
        Numeric,
        Amount(
            "ground_angle", "β", "Angle of the ground and of the slip plane.", above=0.0, below=90.0
        ),
    ]
    depth: Annotated[
        Numeric,
        Amount(
            "length", "d", "Vertical depth of the slip plane.", above=0.0, usual=fields.USUAL_HEIGHT
        ),
    ]
    water_table_depth: Annotated[
        Numeric | None,
        Amount("length", "d_w", "Vertical depth of the water table; none is dry.", low=0.0),
    ] = None
    seepage_angle: Annotated[
        Numeric | None,
        Amount(
            "ground_angle",
            "θ",
            "Angle of the flow lines below horizontal; parallel to the slope by default.",
            low=0.0,
            below=90.0,
        ),
    ] = None
    surcharge: Annotated[Numeric, Amount("stress", "q", "Load on plan area.", low=0.0)] = 0.0
    root_cohesion: Annotated[
        Numeric, Amount("stress", "c_r", "Cohesion that roots add on the plane.", low=0.0)
    ] = 0.0
    horizontal_seismic_coefficient: SeismicCoefficient = 0.0
    submerged: Annotated[
        bool,
        fields.Flag(
            "Still water stands over the whole slope: buoyant weight, no flow; all of it shakes."
        ),
    ] = False


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class InfiniteSlopeInputs(NewmarkInputs, WaterWeightInputs, LayerInputs, Check):
    """Inputs of an infinite slope; scalars or arrays that broadcast."""

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)
    STRUCTURE: ClassVar[str] = "slope"

    target: Target = None
