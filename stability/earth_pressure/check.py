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

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult
from slipmargin.stability.earth_pressure.inputs import EarthPressureInputs
from slipmargin.stability.earth_pressure.notices import earth_pressure_notices
from slipmargin.stability.earth_pressure.profile import pressure_at
from slipmargin.stability.earth_pressure.refusals import refuse_misuse, refuse_no_answer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.earth_pressure.thrust import earth_thrust, followed_thrust
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError

__all__ = ["EarthPressure", "EarthPressureValues"]


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressure(EarthPressureInputs):
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

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Thrust on the back of the wall."""
        profile = self._profile()
        values = earth_thrust(profile)
        refuse_no_answer(self, values)
        return CheckResult(
            check=self,
            factors_of_safety={},
            values=values,
            notices=(*rare_values(self), *earth_pressure_notices(profile, values)),
        )

    def follow(self, found: EarthPressureValues) -> EarthPressureValues:
        """The values again, with what is searched, integrated or summed taken from ``found``."""
        return followed_thrust(WallProfile.of(self), found)

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
        return pressure_at(profile.laws(), profile.ground, depth, cut=profile.cracks)

    def _profile(self) -> WallProfile:
        fields.validate(self)
        refuse_misuse(self)
        return WallProfile.of(self)

    @classmethod
    def example(cls) -> EarthPressure:
        """Active pressure in which most terms act."""
        return replace(
            cls._plain(),
            wall_friction_angle=14.0,
            wall_batter=4.0,
            horizontal_seismic_coefficient=0.05,
            vertical_seismic_coefficient=0.02,
            strip_loads=(StripLoad(pressure=12.0, distance=1.0, width=1.5),),
            line_loads=(LineLoad(force=10.0, distance=2.0),),
        )

    @classmethod
    def _plain(cls) -> EarthPressure:
        return cls(
            soil=Soil.example("fill", 4.0),
            height=5.0,
            theory="coulomb",
            backfill_slope_angle=6.0,
            surcharge=8.0,
            water_table_depth=2.0,
        )

    @classmethod
    def further_examples(cls) -> tuple[EarthPressure, ...]:
        """With adhesion; at rest; passive, by a plane and by a curved slip surface."""
        plain = cls._plain()
        level = replace(plain, theory="annex_c", side="passive", backfill_slope_angle=0.0)
        return (
            replace(cls.example(), wall_adhesion=1.0),
            replace(plain, theory="rankine"),
            replace(plain, theory="at_rest", overconsolidation_ratio=2.0),
            replace(plain, side="passive", wall_friction_angle=9.0),
            replace(level, wall_friction_angle=14.0),
        )
