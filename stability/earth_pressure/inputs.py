"""What an earth pressure takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import Check
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.stability.earth_pressure.surcharge import LoadInputs
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.water_line import WaterWeightInputs
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["EarthPressureInputs"]

THEORIES = ("at_rest", "rankine", "coulomb", "annex_c", "trial_wedge")


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class BackInputs:
    """The back of the wall, the soil behind it, and what moves them."""

    __slots__ = ()

    soil: Annotated[Soil | None, fields.SoilField("Soil behind the wall, where it is one.")] = None
    height: Annotated[
        Numeric,
        Amount(
            "length",
            "H",
            "Height of the back face, measured vertically.",
            above=0.0,
            usual=fields.USUAL_HEIGHT,
        ),
    ]
    theory: Annotated[str, fields.Choice(THEORIES, "How the pressure is found.")] = "rankine"
    side: Annotated[
        str, fields.Choice(("active", "passive"), "Wall moving away from the soil, or against it.")
    ] = "active"
    wall_friction_angle: Annotated[
        Numeric, Amount("angle", "δ", "Friction between soil and back face.", low=0.0, below=90.0)
    ] = 0.0
    wall_adhesion: Annotated[
        Numeric, Amount("stress", "a", "Adhesion between soil and back face.", low=0.0)
    ] = 0.0
    wall_batter: Annotated[
        Numeric,
        Amount(
            "angle",
            "θ",
            "Angle of the back face from vertical, positive where the fill rests on it.",
            low=-45.0,
            high=60.0,
        ),
    ] = 0.0
    backfill_slope_angle: Annotated[
        Numeric,
        Amount(
            "ground_angle",
            "β",
            "Slope of the ground, positive where it rises from the wall.",
            above=-90.0,
            below=90.0,
        ),
    ] = 0.0
    surcharge: Annotated[Numeric, Amount("stress", "q", "Load on plan area.", low=0.0)] = 0.0
    water_table_depth: Annotated[
        Numeric | None,
        Amount(
            "length",
            "d_w",
            "Water table below the top of the wall, on the soil side; none is dry.",
            low=0.0,
        ),
    ] = None
    tension_crack: Annotated[
        bool, fields.Flag("Active: soil with cohesion carries no tension against the wall.")
    ] = True
    tension_crack_water_depth: Annotated[
        Numeric,
        Amount(
            "length",
            "h_c",
            "Water standing in the crack, above its foot; no more than the crack holds.",
            low=0.0,
        ),
    ] = 0.0
    overconsolidation_ratio: Annotated[
        Numeric,
        Amount("ratio", "OCR", "At rest: highest past over present effective stress.", low=1.0),
    ] = 1.0
    horizontal_seismic_coefficient: Annotated[
        Numeric,
        Amount(
            "ratio",
            "k_h",
            "Horizontal force over weight, in the worse direction.",
            low=0.0,
            high=1.0,
        ),
    ] = 0.0
    vertical_seismic_coefficient: Annotated[
        Numeric,
        Amount(
            "ratio",
            "k_v",
            "Vertical force over weight, positive upward: reduces weight.",
            above=-1.0,
            below=1.0,
        ),
    ] = 0.0
    layers: Annotated[
        tuple[Layer, ...],
        fields.Part(
            Layer, "Layers from the top of the wall to its base, in place of one soil.", many=True
        ),
    ] = ()
    ground_line: Annotated[
        tuple[tuple[float, float], ...] | None,
        fields.Ground(
            "Trial wedge: the ground as points, the first (0, 0) at the top of the back face, x "
            "rising into the fill; the last piece goes on."
        ),
    ] = None

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Corners of the ground, the first at the top of the back face."""
        return ((0.0, 0.0),) if self.ground_line is None else self.ground_line

    @property
    def end_slope(self) -> Numeric:
        """Slope of the ground beyond its last corner [deg]."""
        if self.ground_line is None:
            return self.backfill_slope_angle
        (x1, y1), (x2, y2) = self.ground_line[-2:]
        return float(np.degrees(np.arctan2(y2 - y1, x2 - x1)))


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class EarthPressureInputs(WaterWeightInputs, LoadInputs, BackInputs, Check):
    """Inputs of an earth pressure; scalars or arrays that broadcast.

    Give either ``soil`` or ``layers``.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ()

    target: Annotated[
        Numeric | None,
        Amount("ratio", "F_t", "Not used: this check has no factor of safety.", above=0.0),
    ] = None
