"""What a layered slope takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from slipmargin.stability import fields
from slipmargin.stability.check import Check
from slipmargin.stability.fields import amount
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeLayer:
    """A layer of a slope, from its top down to the top of the next."""

    soil: Soil = fields.soil("Soil of the layer.", along_curve=True)
    top: Any = fields.ground(
        "Top of the layer from left to right, which goes on level at both ends; the first "
        "layer begins at the ground and has none."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipCircle:
    """A slip circle that is given."""

    x: Numeric = amount("length", "x_O", "Centre of the given circle, from the toe.")
    y: Numeric = amount("length", "y_O", "Centre of the given circle, above the toe.")
    radius: Numeric = amount("length", "r_O", "Radius of the given circle.", above=0.0)


@dataclass(frozen=True, kw_only=True)
class LayeredGroundInputs:
    """The ground, its layers and the circle in them."""

    __slots__ = ()

    ground_line: Any = fields.ground(
        "Ground from left to right, rising to the right: toe, corners, crest and behind; it "
        "goes on level at both ends."
    )
    layers: tuple[SlopeLayer, ...] = fields.parts(SlopeLayer, "Layers from the ground down.")
    firm_ground_depth: Numeric | None = amount(
        "length",
        "D",
        "Depth of firm ground below the lowest ground; surfaces are cut off at it. None is none.",
        default=None,
        low=0.0,
    )
    circle: SlipCircle | None = fields.part(
        SlipCircle, "Circle to check; none is searched for.", default=None
    )
    least_slip_depth: Numeric | None = amount(
        "length",
        "d_min",
        "Depth below ground that a searched slip surface reaches at least; shallower ones are "
        "told apart. Left out it is a twentieth of the height.",
        default=None,
        low=0.0,
    )
    pore_pressure_ratio: Numeric = amount(
        "ratio",
        "r_u",
        "Pore pressure over the weight of soil above.",
        default=0.0,
        low=0.0,
        below=1.0,
    )


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True)
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

    target: Numeric | None = amount(
        "ratio", "F_t", "Factor of safety asked for.", default=None, above=0.0
    )
