"""What an earth pressure takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from slipmargin.stability import fields
from slipmargin.stability.check import Check
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.fields import amount
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["EarthPressureInputs"]

THEORIES = ("at_rest", "rankine", "coulomb", "annex_c", "trial_wedge")


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressureInputs(Check):
    """Inputs of an earth pressure; scalars or arrays that broadcast.

    Give either ``soil`` or ``layers``.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ()

    soil: Soil | None = fields.soil("Soil behind the wall, where it is one.", default=None)
    height: Numeric = amount(
        "length",
        "H",
        "Height of the back face, measured vertically.",
        above=0.0,
        usual=fields.USUAL_HEIGHT,
    )
    theory: str = fields.choice(THEORIES, "How the pressure is found.", default="rankine")
    side: str = fields.choice(
        ("active", "passive"), "Wall moving away from the soil, or against it.", default="active"
    )
    wall_friction_angle: Numeric = amount(
        "angle", "δ", "Friction between soil and back face.", default=0.0, low=0.0, below=90.0
    )
    wall_adhesion: Numeric = amount(
        "stress", "a", "Adhesion between soil and back face.", default=0.0, low=0.0
    )
    wall_batter: Numeric = amount(
        "angle",
        "θ",
        "Angle of the back face from vertical, positive where the fill rests on it.",
        default=0.0,
        low=-45.0,
        high=60.0,
    )
    backfill_slope_angle: Numeric = amount(
        "ground_angle",
        "β",
        "Slope of the ground, positive where it rises from the wall.",
        default=0.0,
        above=-90.0,
        below=90.0,
    )
    surcharge: Numeric = amount("stress", "q", "Load on plan area.", default=0.0, low=0.0)
    water_table_depth: Numeric | None = amount(
        "length",
        "d_w",
        "Water table below the top of the wall, on the soil side; none is dry.",
        default=None,
        low=0.0,
    )
    tension_crack: bool = fields.flag(
        "Active: soil with cohesion carries no tension against the wall.", default=True
    )
    tension_crack_water_depth: Numeric = amount(
        "length",
        "h_c",
        "Water standing in the crack, above its foot; no more than the crack holds.",
        default=0.0,
        low=0.0,
    )
    overconsolidation_ratio: Numeric = amount(
        "ratio", "OCR", "At rest: highest past over present effective stress.", default=1.0, low=1.0
    )
    horizontal_seismic_coefficient: Numeric = amount(
        "ratio",
        "k_h",
        "Horizontal force over weight, in the worse direction.",
        default=0.0,
        low=0.0,
        high=1.0,
    )
    vertical_seismic_coefficient: Numeric = amount(
        "ratio",
        "k_v",
        "Vertical force over weight, positive upward: reduces weight.",
        default=0.0,
        above=-1.0,
        below=1.0,
    )
    layers: tuple[Layer, ...] = fields.parts(
        Layer, "Layers from the top of the wall to its base, in place of one soil."
    )
    strip_loads: tuple[StripLoad, ...] = fields.parts(StripLoad, "Loads on strips along the wall.")
    line_loads: tuple[LineLoad, ...] = fields.parts(LineLoad, "Loads on lines along the wall.")
    ground_line: tuple[tuple[float, float], ...] | None = fields.ground(
        "Trial wedge: the ground as points, the first (0, 0) at the top of the back face, x "
        "rising into the fill; the last piece goes on."
    )
    water_unit_weight: Numeric = amount(
        "unit_weight", "γ_w", "Unit weight of water.", default=9.81, above=0.0, everywhere=True
    )
    target: Numeric | None = amount(
        "ratio", "F_t", "Not used: this check has no factor of safety.", default=None, above=0.0
    )
