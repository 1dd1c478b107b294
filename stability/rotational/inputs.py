"""What a rotational slide takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from slipmargin.stability import fields
from slipmargin.stability.check import Check, Target
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.newmark import NewmarkInputs
from slipmargin.stability.ground.shaking import ShakingInputs
from slipmargin.stability.ground.standing_water import StandingWaterInputs
from slipmargin.stability.ground.support import PlacedSupportInputs
from slipmargin.stability.ground.surcharge_strip import SurchargeStripInputs
from slipmargin.stability.ground.tension_crack import DeepCrackInputs
from slipmargin.stability.ground.water_line import WaterLineInputs, WaterWeightInputs
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["RotationalInputs"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class RotationalGroundInputs:
    """The slope and the water in it."""

    __slots__ = ()

    soil: Annotated[Soil, fields.SoilField("Soil of the slope and below it.", along_curve=True)]
    height: Annotated[
        Numeric | None,
        Amount(
            "length",
            "H",
            "Height of the slope, toe to crest.",
            above=0.0,
            usual=fields.USUAL_HEIGHT,
        ),
    ] = None
    face_angle: Annotated[
        Numeric | None, Amount("ground_angle", "β", "Angle of the face.", low=0.05, high=90.0)
    ] = None
    upper_slope_angle: Annotated[
        Numeric,
        Amount(
            "ground_angle",
            "ω",
            "Angle of the ground behind the crest, without end.",
            low=0.0,
            below=90.0,
        ),
    ] = 0.0
    ground_line: Annotated[
        Any,
        fields.Ground(
            "Ground from left to right, rising to the right, instead of height and angles; it "
            "goes on level at both ends."
        ),
    ] = None
    pore_pressure_ratio: Annotated[
        Numeric,
        Amount(
            "ratio", "r_u", "Pore pressure over γ times the depth below ground.", low=0.0, below=1.0
        ),
    ] = 0.0
    tension_crack_distance: Annotated[
        Numeric | None,
        Amount(
            "length",
            "b",
            "From the crest to the tension crack; none is wherever it is worst.",
            low=0.0,
        ),
    ] = None
    firm_ground_depth: Annotated[
        Numeric | None,
        Amount(
            "length",
            "D",
            "Depth below the lowest ground of a firm layer no surface enters; none is none.",
            low=0.0,
        ),
    ] = None


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class RotationalInputs(
    NewmarkInputs,
    WaterWeightInputs,
    ShakingInputs,
    PlacedSupportInputs,
    StandingWaterInputs,
    WaterLineInputs,
    DeepCrackInputs,
    SurchargeStripInputs,
    RotationalGroundInputs,
    Check,
):
    """Inputs of a rotational slide; scalars or arrays that broadcast.

    The ground is a plain slope (height, face and upper slope; toe at the origin, rising to
    the right) or a ``ground_line``.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)
    STRUCTURE: ClassVar[str] = "slope"

    target: Target = None
