"""What a planar wedge takes."""

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
from slipmargin.stability.ground.tension_crack import CrackInputs
from slipmargin.stability.ground.water_line import WaterLineInputs, WaterWeightInputs
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["PlanarWedgeInputs"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class PlanarGroundInputs:
    """The slope, and where the plane and a given crack stand."""

    __slots__ = ()

    soil: Annotated[Soil, fields.SoilField("Soil of the slope.", along_curve=True)]
    height: Annotated[
        Numeric | None,
        Amount(
            "length", "H", "Height of the face, toe to crest.", above=0.0, usual=fields.USUAL_HEIGHT
        ),
    ] = None
    face_angle: Annotated[
        Numeric | None, Amount("ground_angle", "ψ_f", "Angle of the face.", above=0.0, high=90.0)
    ] = None
    upper_slope_angle: Annotated[
        Numeric,
        Amount("ground_angle", "ψ_s", "Angle of the ground behind the crest.", low=0.0, below=90.0),
    ] = 0.0
    ground_line: Annotated[
        Any,
        fields.Ground(
            "Ground from the toe upward, instead of height and angles; its crest is the point "
            "highest above the straight line from the toe to the last point."
        ),
    ] = None
    plane_angle: Annotated[
        Numeric | None,
        Amount(
            "angle", "ψ_p", "Angle of the slip plane; none is searched for.", low=0.0, below=90.0
        ),
    ] = None
    tension_crack_distance: Annotated[
        Numeric | None,
        Amount("length", "b", "Tension crack behind the crest; none is no crack.", low=0.0),
    ] = None


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class PoreRatioInputs:
    """A pore pressure ratio."""

    __slots__ = ()

    pore_pressure_ratio: Annotated[
        Numeric,
        Amount(
            "ratio", "r_u", "Pore pressure over γ times the depth below ground.", low=0.0, high=1.0
        ),
    ] = 0.0


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class PlanarWedgeInputs(
    NewmarkInputs,
    WaterWeightInputs,
    PlacedSupportInputs,
    ShakingInputs,
    SurchargeStripInputs,
    StandingWaterInputs,
    WaterLineInputs,
    PoreRatioInputs,
    CrackInputs,
    PlanarGroundInputs,
    Check,
):
    """Inputs of a planar wedge; scalars or arrays that broadcast.

    The ground is a straight slope (height, face and upper slope) or a ``ground_line``.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding", "rotation")
    STRUCTURE: ClassVar[str] = "slope"

    target: Target = None

    @property
    def limit_states(self) -> tuple[str, ...]:
        """A plane that was given, such as bedding or an interface, is left to stand alone."""
        return self.LIMIT_STATES if self.plane_angle is None else ("sliding",)
