"""Retaining wall on a level base: sliding, overturning and bearing, per metre of wall.

Assumptions: plane strain; the wall moves enough for active pressure; the wall and the soil
counted with it move as one body; the base takes no tension.

The thrust acts on one plane. ``rankine``: the vertical plane through the heel, parallel to
the backfill; the soil between the wall and that plane is counted with the wall, and the
plane is higher than the wall by its distance from the back edge of the top times tan β.
``coulomb``: the back face (its tallest straight part, extended to the level of the base) at
the wall friction angle; soil on a heel behind that line is not counted. The thrust is
that of the earth pressure check, or of a trial wedge where that presses harder, and never less
than the minimum earth pressure where the fill has cohesion: see
:mod:`stability.retaining_wall.thrust`.

Surcharge adds to the thrust and presses on nothing. Strips and lines of load press on the plane
by the elastic theory of the earth pressure check; their distances count from the back edge of the
top, and one nearer than the plane, as over a heel, is taken to begin at the plane. Their weight
over the heel counts in bearing where it lowers the factor, and nowhere else. Soil on the toe
presses on nothing and counts only as overburden in bearing. Water behind acts in full on the
plane and as uplift that falls straight to the level in front: to zero at the toe where none is
given. Shaking: Mononobe-Okabe, and k_h times the weight of the wall, its key and the soil counted
with it.

    sliding      (V tan δ_b + a B + f P_p) / T
    overturning  righting moments / overturning moments, about the toe
    bearing      q_u / (V / B′), B′ = B - 2 |e|

A base key adds its weight, reaches deeper into the passive side and takes active pressure on
its own back, with the head that stands there on the line of the uplift, so that it helps only
by the share of passive resistance that is counted; those pressures and the shaking of the key
act below the toe and are left out of the moments.

Limits: level underside, level ground in front, one soil behind and one below. Structural
strength, settlement, deep layers and drainage are not covered; overall stability is found
approximately, by a rotation below the wall.

Sources: Das, Principles of Foundation Engineering, ch. 8; Craig, Soil Mechanics, ch. 6;
Seed & Whitman (1970); EN 1997-1:2004, 6.5 and 9; the modules of the pressures and of the
bearing capacity name theirs.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import Check, CheckResult, with_part
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.helping_load import LeastUnderLoad, least_under_load
from slipmargin.stability.retaining_wall.balance import (
    answers,
    retaining_wall,
    weight_over_heel,
    yielding,
)
from slipmargin.stability.retaining_wall.base_notices import bearing_rises
from slipmargin.stability.retaining_wall.bearing_factors import METHODS
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.notices import wall_notices
from slipmargin.stability.retaining_wall.overall_stability import OverallStability
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric, distinct
from slipmargin.strength.traced import some

__all__ = ["RetainingWall", "retaining_wall"]

_CUTS, _ROUNDS = 16, 5  # of the bracket about the yield coefficient: to a millionth


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class RetainingWall(RetainingWallInputs):
    """Inputs of a retaining wall; scalars or arrays that broadcast (points of an outline not).

    ``evaluate`` raises ``InputError`` where a field lies outside its declared limits or does
    not belong beside the others, and where the theory has no answer for any element.

    Examples
    --------
    >>> from slipmargin.stability import RetainingWall, Soil, Wall
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> wall = Wall(
    ...     unit_weight=24.0,
    ...     shape="cantilever",
    ...     stem_height=3.5,
    ...     stem_top_thickness=0.3,
    ...     stem_bottom_thickness=0.4,
    ...     toe_width=0.7,
    ...     heel_width=1.9,
    ...     base_thickness=0.5,
    ... )
    >>> check = RetainingWall(backfill=sand, foundation=sand, wall=wall, embedment=0.8)
    >>> factors = check.evaluate().factors_of_safety
    >>> {state: round(float(factor), 1) for state, factor in factors.items()}
    {'sliding': 1.4, 'overturning': 5.1, 'bearing': 5.8, 'overall': 2.0}
    """

    @classmethod
    def example(cls) -> RetainingWall:
        """A wall on which every force acts."""
        fill = Soil.example("fill", 3.0, 32.0)
        wall = Wall(
            unit_weight=24.0,
            stem_height=3.5,
            stem_top_thickness=0.3,
            stem_bottom_thickness=0.4,
            toe_width=0.7,
            heel_width=2.4,
            base_thickness=0.5,
            key_depth=0.4,
            key_width=0.4,
            key_position=1.5,
        )
        return cls(
            backfill=fill,
            foundation=dataclasses.replace(fill, name="ground"),
            wall=wall,
            surcharge=10.0,
            water_table_depth=2.0,
            water_level_in_front=0.8,
            embedment=1.0,
            passive_fraction=0.5,
            base_adhesion=2.0,
            bearing_depth_factors=True,
            allowable_bearing=300.0,
            horizontal_seismic_coefficient=0.05,
            target=1.5,
        )

    @classmethod
    def further_examples(cls) -> tuple[RetainingWall, ...]:
        """The same wall below a slope with loads on it, a gravity wall, other bearing methods."""
        level = cls.example()
        sloping = dataclasses.replace(
            level,
            backfill_slope_angle=8.0,
            strip_loads=(StripLoad(pressure=12.0, distance=1.5, width=2.0),),
            line_loads=(LineLoad(force=8.0, distance=3.0),),
        )
        sizes = {"height": 4.0, "top_width": 0.8, "base_width": 2.6, "back_offset": 0.6}
        heavy = Wall(unit_weight=24.0, shape="gravity", **sizes)
        face = dataclasses.replace(sloping, wall=heavy, theory="coulomb", wall_friction_angle=20.0)
        others = (dataclasses.replace(level, bearing_method=one) for one in METHODS[1:])
        return sloping, face, *others

    def behind(self, state: str) -> Check:
        """The ground around the wall is a check of its own."""
        return OverallStability(wall=self) if state == "overall" else self

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factors of safety against sliding, overturning, bearing failure and, approximately,
        overall instability: a search of seconds for each wall, which may be left out.
        """
        values = self._balanced()
        if self.has_motion:
            moved = yielding(self, self._yield_coefficient(values))
            values = dataclasses.replace(values, **moved)
        least = self._least(values)
        factors = {state: one.lowest for state, one in least.items()}
        by_method = {
            name: factors["bearing"]
            if name == self.bearing_method
            else dataclasses.replace(self, bearing_method=name).factors()["bearing"]
            for name in METHODS
        }
        notices = wall_notices(self, values, least, by_method)
        notices += bearing_rises(least, self._still(), factors, self.load_name)
        result = CheckResult(check=self, factors_of_safety=factors, values=values, notices=notices)
        if "overall" in leave_out:
            return result
        result = with_part(result, "overall", self.behind("overall"), self.target)
        said = [one for part in result.parts.values() for one in part.result.notices]
        return dataclasses.replace(result, notices=distinct((*result.notices, *said)))

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state, without the bearing by other methods and the notices.

        Raises
        ------
        InputError
            As ``evaluate``, and where overall stability has no answer.
        """
        least = self._least(self._balanced())
        found: dict[str, Numeric] = {state: one.lowest for state, one in least.items()}
        if "overall" not in leave_out:
            found["overall"] = self.behind("overall").factors_alone()["overall"]
        return found

    def follow(self, found: RetainingWallValues) -> RetainingWallValues:
        """The values again, with what a search found taken from ``found``."""
        return retaining_wall(self, found=found)

    def factors(self) -> dict[str, NDArray[np.float64]]:
        """Factors by limit state for fields known to be good: what a search calls.

        0 where the theory has no answer.
        """
        least = self._least(retaining_wall(self))
        return {state: one.lowest for state, one in least.items()}

    def _balanced(self) -> RetainingWallValues:
        """The values, of fields that hold."""
        fields.validate(self)
        self._hold_together()
        values = retaining_wall(self)
        if not np.any(answers(values)):
            self._refuse_no_answer(values)
        return values

    def _least(self, values: RetainingWallValues) -> dict[str, LeastUnderLoad]:
        """Lowest factors over what part of the loads is there, for they may be absent."""
        if not self.loaded:
            factors = _factors(values)
            return least_under_load(lambda _: factors, factors)
        bare = retaining_wall(self.under(0.0))
        none = _factors(bare)

        def factors_at(share: Numeric) -> dict[str, NDArray[np.float64]]:
            if np.ndim(share) == 0 and share == 0.0:
                return none
            part = self.under(share)
            return part._under_load(retaining_wall(part))

        # pushed from the middle of its base toward the toe a wall bears less and less
        factors = self._under_load(values)
        shape = np.broadcast_shapes(*(np.shape(one) for one in (*factors.values(), *none.values())))
        leans_back = np.broadcast_to(np.asarray(bare.eccentricity) < 0.0, shape)
        if np.all(leans_back) or not np.any(leans_back):
            return least_under_load(factors_at, factors, between=bool(np.all(leans_back)))
        rows = np.flatnonzero(leans_back)
        back: RetainingWall = fields.elements(self, rows, shape)
        closer = back._least(retaining_wall(back))
        ends = least_under_load(factors_at, factors)
        return {state: one.with_rows(rows, closer[state]) for state, one in ends.items()}

    def _under_load(self, values: RetainingWallValues) -> dict[str, NDArray[np.float64]]:
        """Factors, that of bearing the lower one without and with the weight of the loads."""
        factors = _factors(values)
        if self.loads and np.any(weight_over_heel(self, self.loads).vertical > 0.0):
            weighed = _factors(retaining_wall(self, weighing=self.loads))
            factors["bearing"] = np.minimum(factors["bearing"], weighed["bearing"])
        return factors

    def _still(self) -> dict[str, NDArray[np.float64]] | None:
        """Factors without shaking, where there is any."""
        if not some(self.horizontal_seismic_coefficient > 0.0):
            return None
        return dataclasses.replace(self, horizontal_seismic_coefficient=0.0).factors()

    def _yield_coefficient(self, values: RetainingWallValues) -> Numeric:
        """Shaking at which the wall just slides: a bracket cut in sixteen, five times; 0 where it
        slides unshaken, nan where it does not slide at all.
        """
        shape = np.shape(values.factor_sliding)
        shares = np.linspace(0.0, 1.0, _CUTS + 1).reshape(-1, *(1,) * len(shape))
        low, high = np.zeros(shape), np.ones(shape)
        for _ in range(_ROUNDS):
            trials = low + (high - low) * shares
            shaken = dataclasses.replace(self, horizontal_seismic_coefficient=trials)
            slides = shaken.factors()["sliding"] < 1.0
            first = np.argmax(slides, axis=0)[None]
            before = np.maximum(first - 1, 0)
            low, high = (np.take_along_axis(trials, at, axis=0)[0] for at in (before, first))
        # without an end that slides, or with both, the bracket has closed on no shaking
        return np.where(np.any(slides, axis=0), low, np.nan)[()]

    def _hold_together(self) -> None:
        """Refuse fields that do not go together."""
        refuse, section = partial(fields.refuse, self), self.section()
        front, dry = self.water_level_in_front, self.water_table_depth is None
        beside_water = "allowed only beside a water_table_depth"
        if self.theory == "rankine":
            rough = self.wall_friction_angle is not None
            refuse("wall_friction_angle", rough, "allowed only with coulomb")
            if some(section.overhang > 1e-9 * section.width):
                raise InputError(
                    "wall.points",
                    "a back that stands out behind the heel",
                    "rankine takes the vertical plane through the heel; use coulomb",
                )
        buried = self.embedment >= section.height
        refuse("embedment", buried, "allowed: below the height of the wall")
        if self.uplift_method == "creep_line":
            refuse("uplift_method", dry, beside_water)
            longer = (
                "a key lengthens the line of creep in a way that is not known here: leave it at "
                "hydrostatic"
            )
            refuse("uplift_method", self.wall.key_depth is not None, longer)
        unknown = (
            "leave it at 0 where ground_fall_in_front is given: the resistance of ground that "
            "falls away is not known here"
        )
        falls = self.ground_fall_in_front > 0.0
        refuse("passive_fraction", falls & (self.passive_fraction > 0.0), unknown)
        if front is not None:
            refuse("water_level_in_front", dry, beside_water)
            over = front > section.height
            refuse("water_level_in_front", over, "allowed: up to the height of the wall")
        for name, soil in (("backfill", self.backfill), ("foundation", self.foundation)):
            try:
                if not dry:
                    soil.need_heavier_than_water(self.water_unit_weight)
            except InputError as error:
                raise error.within(name) from None

    def _refuse_no_answer(self, values: RetainingWallValues) -> None:
        """Say why the theory has no answer at all."""
        phi, slope = self.backfill.strength.friction_angle, self.backfill_slope_angle
        steep = np.all(slope > phi)
        most = f"allowed: up to the backfill's friction angle, {float(np.max(phi)):g} deg"
        fields.refuse(self, "backfill_slope_angle", steep, most)
        if not np.any(np.isfinite(values.active_coefficient)):
            raise InputError(
                "wall",
                "a back so flat that the thrust would turn past the vertical",
                "use rankine, or a steeper back",
            )
        raise InputError(
            "horizontal_seismic_coefficient",
            self.horizontal_seismic_coefficient,
            "Mononobe-Okabe has no answer: the friction angle of the backfill must be at least "
            "its slope plus the angle of the body force, "
            f"{float(np.min(values.seismic_angle)):.1f} deg",
        )


def _factors(values: RetainingWallValues) -> dict[str, NDArray[np.float64]]:
    stands = answers(values)
    return {
        state: np.where(stands, getattr(values, f"factor_{state}"), 0.0)
        for state in ("sliding", "overturning", "bearing")
    }
