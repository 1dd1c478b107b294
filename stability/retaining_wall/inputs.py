"""What a retaining wall takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import Check
from slipmargin.stability.fields import amount
from slipmargin.stability.ground.newmark import NewmarkInputs
from slipmargin.stability.ground.water_line import WaterWeightInputs
from slipmargin.stability.retaining_wall.bearing_factors import METHODS
from slipmargin.stability.retaining_wall.section import Wall, WallSection, wall_section
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric

__all__ = ["RetainingWallInputs"]


@dataclass(frozen=True, kw_only=True)
class WallInputs:
    """The wall, the ground around it and its loads."""

    __slots__ = ()

    backfill: Soil = fields.soil("Soil behind the wall.", suffix="_1")
    foundation: Soil = fields.soil("Soil below and in front of the wall.", suffix="_2")
    wall: Wall = fields.part(Wall, "The wall's section.")
    backfill_slope_angle: Numeric = amount(
        "ground_angle", "β", "Rise of the backfill from the wall.", default=0.0, low=0.0, below=90.0
    )
    surcharge: Numeric = amount(
        "stress", "q", "Load on the backfill, on plan area.", default=0.0, low=0.0
    )
    theory: str = fields.choice(
        ("rankine", "coulomb"), "Theory of the active pressure.", default="rankine"
    )
    wall_friction_angle: Numeric | None = amount(
        "angle",
        "δ",
        "Coulomb: angle of friction on the back; none is a smooth back.",
        default=None,
        low=0.0,
        below=90.0,
    )
    water_table_depth: Numeric | None = amount(
        "length",
        "d_w",
        "Depth of the water behind, below the top of the wall; none is dry.",
        default=None,
        low=0.0,
    )
    water_level_in_front: Numeric | None = amount(
        "length",
        "h_f",
        "Level of the water in front, above the underside of the base; none: at the underside.",
        default=None,
        low=0.0,
    )
    uplift_method: str = fields.choice(
        ("hydrostatic", "creep_line"),
        "Uplift between full heads behind and in front, or by seepage along the line of creep.",
        default="hydrostatic",
    )
    embedment: Numeric = amount(
        "length", "D", "Depth of the underside below the ground in front.", default=0.0, low=0.0
    )
    passive_fraction: Numeric = amount(
        "ratio",
        "f_p",
        "Share of the passive resistance in front that is counted.",
        default=0.0,
        low=0.0,
        high=1.0,
    )
    base_friction_angle: Numeric | None = amount(
        "angle",
        "δ_b",
        "Angle of friction on the base; 2/3 of the foundation's by default.",
        default=None,
        low=0.0,
        below=90.0,
    )
    base_adhesion: Numeric = amount("stress", "a_b", "Adhesion on the base.", default=0.0, low=0.0)
    bearing_method: str = fields.choice(METHODS, "Method of the bearing capacity.", default="vesic")
    bearing_depth_factors: bool = fields.flag(
        "Count in bearing on the strength of the soil beside the base.", default=False
    )
    ground_fall_in_front: Numeric = amount(
        "ground_angle",
        "β_f",
        "Fall of the ground in front, away from the wall; bearing takes it into account.",
        default=0.0,
        low=0.0,
        below=45.0,
    )
    allowable_bearing: Numeric | None = amount(
        "stress", "q_a", "Bearing pressure allowed by others.", default=None, above=0.0
    )
    horizontal_seismic_coefficient: Numeric = amount(
        "ratio", "k_h", "Horizontal force over weight, outward.", default=0.0, low=0.0, high=1.0
    )
    free_water_behind: bool = fields.flag(
        "In shaking the water behind moves by itself, as in open gravel: its moving pressure is "
        "added.",
        default=False,
    )


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True)
class RetainingWallInputs(NewmarkInputs, WaterWeightInputs, WallInputs, Check):
    """Inputs of a retaining wall; scalars or arrays that broadcast (points of an outline not)."""

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding", "overturning", "bearing", "overall")
    SLOW: ClassVar[tuple[str, ...]] = ("overall",)
    STRUCTURE: ClassVar[str] = "wall"

    target: Numeric | None = amount(
        "ratio", "F_t", "Factor of safety asked for.", default=None, above=0.0
    )

    @property
    def limit_states(self) -> tuple[str, ...]:
        """Overall stability is known in level ground alone."""
        falls = np.any(np.asarray(self.ground_fall_in_front) > 0.0)
        return tuple(one for one in self.LIMIT_STATES if one != "overall" or not falls)

    def section(self) -> WallSection:
        """The section of the wall."""
        try:
            return wall_section(self.wall)
        except InputError as error:
            raise error.within("wall") from None
