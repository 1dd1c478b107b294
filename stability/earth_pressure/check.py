"""Earth pressure on a wall: at rest, Rankine, Coulomb, Mononobe-Okabe, Annex C, trial wedge.

Gives the thrust of the soil on the back of a wall, in effective stress, with its parts,
its height and its angle, and the thrust of water apart from it. It has no factor of safety.

Assumptions: a long wall; soil in drained limit equilibrium (at rest: in confined
elasticity); water stands still at one level, and soil below it has its buoyant weight;
layers run parallel to the ground, and each turns the vertical stress at the wall into
pressure by its own coefficient. Strip and line loads press on a rigid, vertical wall.

Limits: active pressure needs a wall that can move away, passive pressure a far larger
movement against the soil; Rankine's wall face carries the stress of the ground behind it;
plane slip overstates passive resistance once wall friction passes about φ′ / 3; no
compaction pressure, no swelling, no frost, no water pressure from shaking.

    at rest      p = K σ′_v,              parallel to the ground
    rankine      p = K σ′_v ∓ 2 c √K,     parallel to the ground; curved below a slope
    coulomb      p = K σ′_v ∓ K_c c,      at δ from the normal of the back face
    annex_c      p = K σ′_v + K_c c,      likewise, passive on a curved slip surface
    trial_wedge  the plane that governs, for any ground line

Minus is active, plus passive. Active pressure below zero is left out (the soil cracks)
unless ``tension_crack`` is false. Sources stand beside the coefficients.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult
from slipmargin.stability.earth_pressure.notices import earth_pressure_notices
from slipmargin.stability.earth_pressure.profile import Layer, pressure_at
from slipmargin.stability.earth_pressure.refusals import refuse_misuse, refuse_no_answer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.earth_pressure.thrust import earth_thrust
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile
from slipmargin.stability.fields import amount
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric

__all__ = ["EarthPressure", "EarthPressureValues"]

THEORIES = ("at_rest", "rankine", "coulomb", "annex_c", "trial_wedge")


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressure:
    """Inputs of an earth pressure; scalars or arrays that broadcast.

    Give either ``soil`` or ``layers``. ``evaluate`` raises ``InputError`` where a field lies
    outside its declared limits, where fields do not go together, or where the theory has no
    answer.

    Examples
    --------
    Rankine's coefficient of sand at 30 deg is 1/3:

    >>> from slipmargin.stability import EarthPressure, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> values = EarthPressure(soil=sand, height=4.0).evaluate().values
    >>> round(float(values.coefficient), 3), round(float(values.thrust), 1)
    (0.333, 48.0)
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

    def evaluate(self) -> CheckResult:
        """Thrust on the back of the wall."""
        profile = self._profile()
        values = earth_thrust(profile)
        refuse_no_answer(self, values)
        return CheckResult(
            factors_of_safety={},
            values=values,
            notices=(*rare_values(self), *earth_pressure_notices(profile, values)),
        )

    def pressure(self, depth: float) -> NDArray[np.float64]:
        """Effective pressure of the soil on the wall at one depth, without shaking [kPa].

        Per unit of vertical height, in the direction of the earth thrust; strip and line
        loads are apart. At a boundary of layers that of the upper one.

        Parameters
        ----------
        depth
            Below the top of the wall [m].

        Raises
        ------
        InputError
            As ``evaluate``; a depth outside the wall; a trial wedge, which has no pressure
            at a point.
        """
        if self.theory == "trial_wedge":
            raise InputError("theory", self.theory, "a trial wedge gives a thrust, no pressure")
        if not 0.0 <= depth <= np.min(self.height):
            raise InputError("depth", depth, "allowed: from 0 to the height of the wall")
        profile = self._profile()
        return pressure_at(
            profile.law(), profile.ground, profile.surcharge_stress, depth, cut=profile.cracks
        )

    def _profile(self) -> WallProfile:
        fields.validate(self)
        refuse_misuse(self)
        return WallProfile.of(self)
