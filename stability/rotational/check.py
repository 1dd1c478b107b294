"""Rotational slide: a rigid mass on a log-spiral through the toe, below it, or out of the face.

What it is: a kinematic upper bound that also satisfies moment equilibrium, for one
homogeneous soil. Strength reduction: c′ and tan φ′ are divided by the same F, and F is the
smallest for which some spiral is in equilibrium. ``log_spiral`` holds the moment balance,
``critical_spiral`` the search.

How far off: an upper bound lies above the exact factor. For a vertical cut with φ′ = 0 it
gives γH/c = 3.83 where the exact value is 3.7765 (Martin 2011), 1.4 % on the unsafe side;
flatter slopes and higher friction angles lie closer. A circle or a plane is never lower in the
same balance of moments; slices that meet forces too came out up to 5 % lower along firm ground.

Assumptions: plane strain; one soil without layers or joints; the ground goes on level in
front of the toe, and at the upper slope angle (level, for a ground line) behind. Pore
pressure is r_u γ times the depth below ground, or hydrostatic below a water line. Shaking
is k_h W outward at the centroid, and k_h on the surcharge. A curved envelope is taken at
the mean effective normal stress of the critical surface (``tangents``).

A tension crack is vertical, stands in ground that is no face, and is there before the slope
moves, so that opening it takes no work. The surface ends in it at whatever depth is worst, down
to the one that is stated, or that is searched for: what the unreduced strength holds open, and
half the height. A mass that comes out on the face is cracked over no larger share of its height
than the slope. Water stands in the crack to its depth or to the brim, whatever part is used.

A pool presses on the ground it covers. Ground below its level is saturated and has at least
the pressure of water at rest there; a pore pressure ratio counts from the pressure of the pool
on the ground. Drawn down, the pressure on the ground is gone, and that in the ground is less by
the weight of the pool that stood on it. A support force acts on every mass that comes out below
it; of a load counts what stands on the mass.

Limits: with φ′ = 0 and a face flatter than about 53° no surface is the worst, deeper ones
always have a lower factor; it is then the limit, γH/c = 5.52, unless firm ground is given.
Ground without end slides at depth once tan φ′/F falls below the tangent that
``endless_slope`` gives; a factor is never above that. Without any friction that is no factor at
all, and refused. The surface nowhere overhangs. A load counts on masses that come out at least
a tenth of the height below the edge it starts from; smaller pieces are told apart as the edge
of the crest (``crest_edge``).

Why F / tan φ′ depends on c′ / tan φ′ alone. Per spiral the moment balance reads

    c_m ∫ r² dα = M(φ_m) + tan φ_m ∫ u r² dα,    c_m = c′/F,    tan φ_m = tan φ′/F

M is the moment of weight, shaking, loads, support and pool, and of water in a crack.
Spiral, M and the pore pressure term know the strength through φ_m only, since u and the
loads are given from outside. So the slope is at its limit on one curve c_m = c_r(tan φ_m),
the largest over all spirals, and reduction moves (c′, tan φ′) to it along a ray from the
origin: the ratio c_m / tan φ_m = c′ / tan φ′ picks the point, and F = tan φ′ / tan φ_m.
Pore pressure, shaking and a crack of stated depth change the curve, not the argument; a
crack that is searched for is as deep as c′ and φ′ hold it open, so that there is one curve
a depth. One curve then serves any number of strengths (``strength_law``), and where nothing
but self-weight, r_u and k_h acts, any γ and H as well, with c′ / γH.

Sources: Rendulic (1935), Der Bauingenieur 16; Taylor (1937), J. Boston Soc. Civ. Eng. 24;
Chen (1975), Limit Analysis and Soil Plasticity, ch. 9; Michalowski (1995), Géotechnique
45(2); Michalowski (2013), Géotechnique 63, and Utili (2013), Géotechnique 63, for the crack
(both from memory); Morgenstern (1963), Géotechnique 13(2), for the pool drawn down (from memory).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, target_notices
from slipmargin.stability.ground.flat import shape_of
from slipmargin.stability.ground.newmark import newmark_notices, newmark_values
from slipmargin.stability.ground.standing_water import drawdown_notices
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.rotational.case import Case, is_single, remembered
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.limits import RotationalLimits, rotational_limits
from slipmargin.stability.rotational.notices import rotational_notices
from slipmargin.stability.rotational.spiral_strength_law import spiral_strength_law
from slipmargin.stability.rotational.values import RotationalValues, follow_spiral
from slipmargin.stability.soil import Soil
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.stability.tangents import along_tangents, factor_along
from slipmargin.strength import InputError, Notice, Numeric

__all__ = ["Rotational", "RotationalValues"]

_FEW = 16  # slopes that are asked for more than their factor


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class Rotational(RotationalInputs):
    """Inputs of a rotational slide; scalars or arrays that broadcast.

    The ground is a plain slope (height, face and upper slope; toe at the origin, rising to
    the right) or a ``ground_line``. ``evaluate`` raises ``InputError`` where a field lies
    outside its declared limits or fields contradict each other.

    Examples
    --------
    A vertical cut without friction falls at a height of 3.83 c / γ on a curved
    surface (Taylor 1937):

    >>> from slipmargin.stability import Rotational, Soil
    >>> from slipmargin.strength import Strength
    >>> clay = Soil(strength=Strength(cohesion=18.0, friction_angle=0.0), unit_weight=18.0)
    >>> result = Rotational(soil=clay, height=3.83, face_angle=90.0).evaluate()
    >>> round(float(result.lowest), 2)
    1.0
    """

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the critical spiral.

        With more than 48 strengths on one slope the factors come from ``strength_law``, the
        values that describe the spiral are nan, and the notices about it are those of the
        lowest and the highest factor.
        """
        fields.validate(self)
        curve = self.soil.strength.curve
        if curve is None:
            result = self._along_line()
            drawn, values = self._beside(result)
        else:  # a tangent flatters every slope but its own, which is not asked besides
            result = along_tangents(self, curve, Rotational._along_line)
            drawn, values = (), result.values
        at_yield = values.yield_seismic_coefficient
        values = replace(values, **newmark_values(self, at_yield))
        notices = (
            *result.notices,
            *drawn,
            *surcharge_notices(self, result.factors_of_safety),
            *newmark_notices(self, values, at_yield),
            *rare_values(self),
        )
        return replace(result, values=values, notices=notices)

    def follow(self, found: RotationalValues) -> RotationalValues:
        """The values again, with what the search found taken from ``found``."""
        moved = newmark_values(self, found.yield_seismic_coefficient)
        return replace(follow_spiral(self, found), **moved)

    @classmethod
    def example(cls) -> Rotational:
        """A slope on which every load acts."""
        return cls(
            soil=Soil.example(),
            height=7.0,
            face_angle=45.0,
            upper_slope_angle=5.0,
            pore_pressure_ratio=0.1,
            surcharge=5.0,
            surcharge_setback=0.5,
            surcharge_width=4.0,
            tension_crack_depth=1.0,
            tension_crack_water_depth=0.2,
            support_force=10.0,
            support_angle=10.0,
            support_height=2.0,
            horizontal_seismic_coefficient=0.05,
            target=1.3,
        )

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state, without another search for those of the slope unloaded.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        fields.validate(self)
        curve = self.soil.strength.curve
        if curve is None:
            return {"sliding": self._on_line()[0]}
        return {"sliding": factor_along(self, curve, lambda line: line._on_line(stressed=True))}

    def _on_line(self, *, stressed: bool = False) -> tuple[Numeric, Numeric]:
        """Factor of a straight envelope, and the effective normal stress [kPa] if asked for."""
        case = Case.of(self)
        told = case.by_law(stressed=stressed)
        if told is None:
            found = case.searched()
            told = found.factor, found.stress
        factor, stress = told
        return case.shaped(factor), case.shaped(stress)

    def _along_line(self) -> CheckResult:
        """The result of a straight envelope."""
        case = described = Case.of(self)
        told = case.by_law()
        if told is None:
            found = case.searched()
            values = values_told = case.values(found)
        else:
            factor, stress = told
            values = case.values_of(factor, {"effective_normal_stress": stress})
            described = case.lowest_and_highest(factor)
            found = described.searched()
            values_told = described.values(found)
        factors = {"sliding": values.factor_of_safety}
        return CheckResult(
            check=self,
            factors_of_safety=factors,
            values=values,
            notices=(
                *self.soil.strength.caveats,
                *target_notices(factors, self.target),
                *rotational_notices(self, described, found, values_told),
            ),
        )

    def _beside(self, result: CheckResult) -> tuple[tuple[Notice, ...], RotationalValues]:
        """What few slopes are asked besides: the yield coefficient, and the pool drawn down."""
        case, values = Case.of(self), result.values
        if case.cohesion.size > _FEW:
            return (), values
        at_yield = case.shaped(case.yield_coefficients())
        values = replace(values, yield_seismic_coefficient=at_yield)
        if case.slope.pool_level is None:
            return (), values
        level = np.broadcast_to(np.asarray(self.standing_water_level), case.shape)
        drawn = np.where(level > 0.0, case.shaped(case.drawn_down()), np.nan)[()]
        notices = drawdown_notices(drawn, result.lowest, self.target)
        return notices, replace(values, drawdown_factor=drawn)

    def strength_law(self) -> StrengthLaw | None:
        """The factor as a function of c′ and φ′ alone, for one slope with its loads.

        Returns
        -------
        StrengthLaw or None
            None where a tension crack is searched for, since its depth hangs on c′ and φ′
            each. ``evaluate`` takes arrays of strengths in any case.

        Raises
        ------
        InputError
            A field other than the strength is an array.
        """
        fields.validate(self)
        slope = loaded_slope(self, shape_of(self))
        if not is_single(slope):
            raise InputError("rotational", "arrays", "all but the strength must be scalar")
        return None if self.search_tension_crack else remembered(spiral_strength_law, slope)

    def limits(self) -> RotationalLimits:
        """Greatest height, steepest face and least cohesion for the target (1 by default).

        A search of its own, of a tenth of a second; for scalars on a plain slope, nan
        otherwise.
        """
        fields.validate(self)
        curved = self.soil.strength.curve is not None  # a tangent may not design another slope
        if shape_of(self) or self.ground_line is not None or curved:
            return RotationalLimits(np.nan, np.nan, np.nan)
        return rotational_limits(self)
