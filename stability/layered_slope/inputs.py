"""What a layered slope takes."""

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

__all__ = ["LayeredSlopeInputs", "SlipCircle", "SlopeLayer"]


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeLayer:
    """A layer of a slope, from its top down to the top of the next."""

    soil: Annotated[Soil, fields.SoilField("Soil of the layer.", along_curve=True)]
    top: Annotated[
        Any,
        fields.Ground(
            "Top of the layer from left to right, which goes on level at both ends; the first "
            "layer begins at the ground and has none."
        ),
    ] = None


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class SlipCircle:
    """A slip circle that is given."""

    x: Annotated[Numeric, Amount("length", "x_O", "Centre of the given circle, from the toe.")]
    y: Annotated[Numeric, Amount("length", "y_O", "Centre of the given circle, above the toe.")]
    radius: Annotated[Numeric, Amount("length", "r_O", "Radius of the given circle.", above=0.0)]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class LayeredGroundInputs:
    """The ground, its layers and the circle in them."""

    __slots__ = ()

    ground_line: Annotated[
        Any,
        fields.Ground(
            "Ground from left to right, rising to the right: toe, corners, crest and behind; it "
            "goes on level at both ends."
        ),
    ] = None
    layers: Annotated[
        tuple[SlopeLayer, ...], fields.Part(SlopeLayer, "Layers from the ground down.", many=True)
    ] = ()
    firm_ground_depth: Annotated[
        Numeric | None,
        Amount(
            "length",
            "D",
            "Depth of firm ground below the lowest ground; surfaces are cut off at it. None is "
            "none.",
            low=0.0,
        ),
    ] = None
    circle: Annotated[
        SlipCircle | None, fields.Part(SlipCircle, "Circle to check; none is searched for.")
    ] = None
    least_slip_depth: Annotated[
        Numeric | None,
        Amount(
            "length",
            "d_min",
            "Depth below ground that a searched slip surface reaches at least; shallower ones are "
            "told apart. Left out it is a twentieth of the height.",
            low=0.0,
        ),
    ] = None
    pore_pressure_ratio: Annotated[
        Numeric,
        Amount("ratio", "r_u", "Pore pressure over the weight of soil above.", low=0.0, below=1.0),
    ] = 0.0


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class LayeredSlopeInputs(
    NewmarkInputs,
    WaterWeightInputs,
    ShakingInputs,
    PlacedSupportInputs,
    StandingWaterInputs,
    SurchargeStripInputs,
    DeepCrackInputs,
    WaterLineInputs,
    LayeredGroundInputs,
    Check,
):
    """Inputs of a layered slope; scalars or arrays that broadcast, lines apart.

    The toe is the lowest ground; depths and levels are measured from it. x runs into the
    slope, y upward.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)
    STRUCTURE: ClassVar[str] = "slope"

    target: Target = None
