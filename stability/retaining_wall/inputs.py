"""What a retaining wall takes."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import Check, Target
from slipmargin.stability.earth_pressure.surcharge import LoadInputs
from slipmargin.stability.fields import Amount
from slipmargin.stability.ground.newmark import NewmarkInputs
from slipmargin.stability.ground.shaking import SeismicCoefficient
from slipmargin.stability.ground.water_line import WaterWeightInputs
from slipmargin.stability.retaining_wall.bearing_factors import METHODS
from slipmargin.stability.retaining_wall.section import Wall, WallSection, wall_section
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric
from slipmargin.strength.traced import some

__all__ = ["RetainingWallInputs"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class WallInputs:
    """The wall, the ground around it and its loads."""

    __slots__ = ()

    backfill: Annotated[Soil, fields.SoilField("Soil behind the wall.", suffix="_1")]
    foundation: Annotated[
        Soil, fields.SoilField("Soil below and in front of the wall.", suffix="_2")
    ]
    wall: Annotated[Wall, fields.Part(Wall, "The wall's section.")]
    backfill_slope_angle: Annotated[
        Numeric,
        Amount("ground_angle", "β", "Rise of the backfill from the wall.", low=0.0, below=90.0),
    ] = 0.0
    surcharge: Annotated[
        Numeric, Amount("stress", "q", "Load on the backfill, on plan area.", low=0.0)
    ] = 0.0
    theory: Annotated[
        str, fields.Choice(("rankine", "coulomb"), "Theory of the active pressure.")
    ] = "rankine"
    wall_friction_angle: Annotated[
        Numeric | None,
        Amount(
            "angle",
            "δ",
            "Coulomb: angle of friction on the back; none is a smooth back.",
            low=0.0,
            below=90.0,
        ),
    ] = None
    water_table_depth: Annotated[
        Numeric | None,
        Amount(
            "length",
            "d_w",
            "Depth of the water behind, below the top of the wall; none is dry.",
            low=0.0,
        ),
    ] = None
    water_level_in_front: Annotated[
        Numeric | None,
        Amount(
            "length",
            "h_f",
            "Level of the water in front, above the underside of the base; none: at the underside.",
            low=0.0,
        ),
    ] = None
    uplift_method: Annotated[
        str,
        fields.Choice(
            ("hydrostatic", "creep_line"),
            "Uplift between full heads behind and in front, or by seepage along the line of creep.",
        ),
    ] = "hydrostatic"
    embedment: Annotated[
        Numeric, Amount("length", "D", "Depth of the underside below the ground in front.", low=0.0)
    ] = 0.0
    passive_fraction: Annotated[
        Numeric,
        Amount(
            "ratio",
            "f_p",
            "Share of the passive resistance in front that is counted.",
            low=0.0,
            high=1.0,
        ),
    ] = 0.0
    base_friction_angle: Annotated[
        Numeric | None,
        Amount(
            "angle",
            "δ_b",
            "Angle of friction on the base; 2/3 of the foundation's by default.",
            low=0.0,
            below=90.0,
        ),
    ] = None
    base_adhesion: Annotated[Numeric, Amount("stress", "a_b", "Adhesion on the base.", low=0.0)] = (
        0.0
    )
    bearing_method: Annotated[str, fields.Choice(METHODS, "Method of the bearing capacity.")] = (
        "vesic"
    )
    bearing_depth_factors: Annotated[
        bool, fields.Flag("Count in bearing on the strength of the soil beside the base.")
    ] = False
    ground_fall_in_front: Annotated[
        Numeric,
        Amount(
            "ground_angle",
            "β_f",
            "Fall of the ground in front, away from the wall; bearing takes it into account.",
            low=0.0,
            below=45.0,
        ),
    ] = 0.0
    allowable_bearing: Annotated[
        Numeric | None, Amount("stress", "q_a", "Bearing pressure allowed by others.", above=0.0)
    ] = None
    horizontal_seismic_coefficient: SeismicCoefficient = 0.0
    free_water_behind: Annotated[
        bool,
        fields.Flag(
            "In shaking the water behind moves by itself, as in open gravel: its moving pressure "
            "is added."
        ),
    ] = False


# fields stand in the order of the records from the last to the first
@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class RetainingWallInputs(NewmarkInputs, WaterWeightInputs, LoadInputs, WallInputs, Check):
    """Inputs of a retaining wall; scalars or arrays that broadcast (points of an outline not)."""

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding", "overturning", "bearing", "overall")
    SLOW: ClassVar[tuple[str, ...]] = ("overall",)
    STRUCTURE: ClassVar[str] = "wall"

    target: Target = None

    @property
    def limit_states(self) -> tuple[str, ...]:
        """Overall stability is known in level ground alone."""
        falls = some(self.ground_fall_in_front > 0.0)
        return tuple(one for one in self.LIMIT_STATES if one != "overall" or not falls)

    @property
    def loaded(self) -> bool:
        """Whether any load stands on the backfill."""
        return bool(self.loads) or some(self.surcharge > 0.0)

    @property
    def load_name(self) -> str:
        """What the loads on the backfill are called together."""
        return "load" if self.loads else "surcharge"

    def under(self, share: Numeric) -> Self:
        """The same wall under a share of every load on the backfill."""
        return dataclasses.replace(
            self,
            surcharge=share * np.asarray(self.surcharge),
            strip_loads=tuple(one.share(share) for one in self.strip_loads),
            line_loads=tuple(one.share(share) for one in self.line_loads),
        )

    def section(self) -> WallSection:
        """The section of the wall."""
        try:
            return wall_section(self.wall)
        except InputError as error:
            raise error.within("wall") from None
