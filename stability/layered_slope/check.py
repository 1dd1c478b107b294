"""Layered slope: limit equilibrium on slip circles through layers, by Spencer's method.

What it is: the mass above a circle is cut into vertical slices; each base has the strength of
the layer it lies in, divided by one factor F. Spencer's method gives all forces between
slices one inclination, and finds it together with F so that forces and moments are in
equilibrium. Bishop's simplified factor of the same surface stands beside it as a second
route. The circle with the lowest factor is searched for, unless one is given.

Assumptions: plane strain; the mass moves to the left, toward lower ground; layers lie one
below the other under a ground line, and every line goes on level beyond its ends; F is the
same in all layers. A surface that would enter firm ground follows its level top. Pore
pressure is hydrostatic below a water line, or r_u times the weight of soil above; below the
water line soil has its saturated weight. A pool in front presses on the ground below it.
The water in the slope stands nowhere lower than the pool. Shaking is k_h times the weight of soil
and surcharge, outward. A tension crack is vertical; a searched surface ends in it at whatever
depth is worst, down to the one that is stated, and water pushes outward to its depth or to the
brim, whatever part is used, and no lower than the water in the slope. Drawn down, the pool's
pressure on the ground is gone, and that in the ground is less by the weight of the pool that stood
on it.

Limits: circles only. Where ground near the crest would have to pull, or a surface comes out too
steeply, Spencer's equations have no solution that can be believed; such a surface goes by
Bishop's factor, and the result says so where it governs. Surfaces shallower than the least depth
are told apart. The search goes downhill from a grid: on rough ground it can miss a lower surface,
most often a small one at a bench, which a circle of its own finds. Of more than 64 samples at
once each has the lowest of circles found for others: that factor stood up to about 1 % above that
of a search near a factor of 1, and up to 60 % far below 1. Without firm ground a slope of low
friction has ever deeper surfaces of ever lower factors; the search ends four heights beyond the
slope.

A curved envelope is taken on each base by its tangent at that base's own stress.

Sources: Spencer (1967), Géotechnique 17(1); Bishop (1955), Géotechnique 5(1); Fredlund & Krahn
(1977), Can. Geotech. J. 14(3), for composite surfaces, and Morgenstern (1963), Géotechnique
13(2), for the pool drawn down (both from memory).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, target_notices
from slipmargin.stability.ground.flat import flattened, pieces, shape_of
from slipmargin.stability.ground.newmark import newmark_notices, newmark_values
from slipmargin.stability.ground.standing_water import drawdown_notices
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.layered_slope.candidates import WALKED
from slipmargin.stability.layered_slope.governing import ROWS, Governing, governing_circles
from slipmargin.stability.layered_slope.ground import section_of
from slipmargin.stability.layered_slope.inputs import (
    LayeredSlopeInputs,
    SlipCircle,
    SlopeLayer,
)
from slipmargin.stability.layered_slope.notices import FROM_OTHERS, layered_notices
from slipmargin.stability.layered_slope.search import SLICES, Found, circles_through
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import slices_of
from slipmargin.stability.layered_slope.values import (
    Described,
    LayeredSlopeValues,
    crack_thrust,
    described,
    surface_columns,
)
from slipmargin.stability.layered_slope.yield_coefficient import yield_coefficients
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Notice, Numeric, distinct

__all__ = ["LayeredSlope", "LayeredSlopeValues", "SlipCircle", "SlopeLayer"]

_ALL_TOLD = 64  # samples up to which the notices look at each
_DRAWN = 3
_FEW = 8  # samples that are asked about the pool drawn down and the yield coefficient
_BY_BISHOP = "There it is Bishop's simplified one, since Spencer's method has no solution. "


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class LayeredSlope(LayeredSlopeInputs):
    """Inputs of a layered slope; scalars or arrays that broadcast, lines apart.

    ``evaluate`` raises ``InputError`` where a field lies outside its declared limits, fields
    contradict each other, or a given circle is no slip surface.

    Examples
    --------
    A slope of 40 ft at 2:1 on a given circle, without water: Bishop 2.080, Spencer 2.073
    (Fredlund & Krahn 1977, recalled):

    >>> from slipmargin.stability import Soil
    >>> from slipmargin.stability.layered_slope import LayeredSlope, SlipCircle, SlopeLayer
    >>> from slipmargin.strength import Strength
    >>> clay = Soil(strength=Strength(cohesion=28.73, friction_angle=20.0), unit_weight=18.85)
    >>> slope = LayeredSlope(
    ...     ground_line=[[-20, 0], [0, 0], [24.384, 12.192], [60, 12.192]],
    ...     layers=(SlopeLayer(soil=clay),),
    ...     circle=SlipCircle(x=6.096, y=21.336, radius=24.384),
    ... )
    >>> round(float(slope.evaluate().lowest), 2)
    2.07
    """

    def of_samples(self, count: int) -> tuple[Notice, ...]:
        """That circles found for other samples do for those that are not searched."""
        return (FROM_OTHERS,) if count > WALKED and self.circle is None else ()

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the governing circle.

        Of more than 64 samples the notices about the surface are those of the lowest and the
        highest factor. Of more than 8 there is no factor with the pool drawn down; a yield
        coefficient takes shaking or a motion, and one slope where circles are searched.
        """
        shape, section, governing = self._governing()
        factor = governing.factor[:, 0]
        factors = {"sliding": factor.reshape(shape)[()]}
        columns = _surface_columns(section, governing)
        columns["yield_seismic_coefficient"] = self._yielding(section, governing)
        columns["drawdown_factor"], drawn = self._drawn_down(section, governing)
        shaped = {name: column.reshape(shape)[()] for name, column in columns.items()}
        at_yield = shaped["yield_seismic_coefficient"]
        lines = () if shape else _next_lowest(section, governing.found)
        moved = newmark_values(self, at_yield)
        values = LayeredSlopeValues(**shaped, **moved, next_lowest=lines)
        told = np.arange(factor.size)
        if factor.size > _ALL_TOLD:
            told = np.array([np.argmin(factor), np.argmax(factor)])
        some = section.take(told)
        surface = _described(some, governing, told)
        notices = layered_notices(
            self,
            some,
            surface,
            governing.shallow[told],
            settled=governing.settled,
            samples=factor.size,
        )
        return CheckResult(
            check=self,
            factors_of_safety=factors,
            values=values,
            notices=(
                *distinct(one for soil in fields.soils(self) for one in soil.strength.caveats),
                *target_notices(factors, self.target),
                *notices,
                *drawn,
                *newmark_notices(self, values, at_yield),
                *surcharge_notices(self, factors),
                *rare_values(self),
            ),
        )

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state, without values and notices.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        shape, _, governing = self._governing()
        return {"sliding": governing.factor[:, 0].reshape(shape)[()]}

    def follow(self, found: LayeredSlopeValues) -> LayeredSlopeValues:
        """The values again, with sums over slices and what was searched taken from ``found``."""
        by_forces = found.force_resistance / found.force_drive
        by_bishop = found.bishop_resistance / found.bishop_drive
        solved = np.isfinite(float(found.interslice_angle))
        moved: dict[str, Any] = newmark_values(self, found.yield_seismic_coefficient)
        return dataclasses.replace(
            found,
            crack_thrust=crack_thrust(
                self.water_unit_weight, found.crack_water_height, found.crack_depth
            ),
            bishop_factor=by_bishop,
            factor_by_forces=by_forces,
            factor_by_moments=found.moment_resistance / found.moment_drive,
            factor_of_safety=by_forces if solved else by_bishop,
            **moved,
        )

    @classmethod
    def example(cls) -> LayeredSlope:
        """A given circle on which every term acts."""
        return cls(
            ground_line=[[-20.0, 0.0], [0.0, 0.0], [12.0, 6.0], [40.0, 7.0]],
            layers=(
                SlopeLayer(soil=Soil.example("fill", 5.0, 30.0)),
                SlopeLayer(soil=Soil.example("bank", 9.0, 26.0), top=[[-30.0, 1.0], [60.0, 3.0]]),
            ),
            water_line=[[-20.0, 0.0], [0.0, 0.0], [14.0, 2.5], [40.0, 3.5]],
            firm_ground_depth=1.0,
            circle=SlipCircle(x=3.9, y=12.0, radius=13.7),
            tension_crack_depth=1.2,
            tension_crack_water_depth=0.6,
            surcharge=10.0,
            surcharge_setback=1.0,
            surcharge_width=4.0,
            standing_water_level=0.5,
            support_force=20.0,
            support_angle=10.0,
            support_height=2.0,
            horizontal_seismic_coefficient=0.05,
            target=1.3,
        )

    def _governing(self) -> tuple[tuple[int, ...], Section, Governing]:
        fields.validate(self)
        _refuse_bent_upward(self)
        shape = shape_of(self)
        section = section_of(self, shape)
        governing = governing_circles(section, self.circle, int(np.prod(shape)))
        if self.circle is not None:
            _refuse_no_factor(self.circle, governing.factor)
        return shape, section, governing

    def _drawn_down(
        self, section: Section, governing: Governing
    ) -> tuple[Float, tuple[Notice, ...]]:
        """The factor with the pool drawn down, and what it says; of few slopes, elsewhere nan."""
        size = len(governing.factor)
        level = flattened((size,))(self.standing_water_level)
        if size > _FEW or not np.any(level > 0.0):
            return np.full(size, np.nan), ()
        one = governing_circles(section.drawn_down(), self.circle, size)
        known = (level > 0.0) & one.settled & np.isfinite(one.factor[:, 0])
        drawn = np.where(known, one.factor[:, 0], np.nan)
        remark = _BY_BISHOP if np.any(known & np.isnan(one.tangent[:, 0])) else ""
        return drawn, drawdown_notices(drawn, governing.factor[:, 0], self.target, remark)

    def _yielding(self, section: Section, governing: Governing) -> Float:
        """The yield coefficient where shaking, or a motion, is asked about, of a single slope where
        each step is a search; elsewhere nan.
        """
        size = len(governing.factor)
        still = section.with_amounts(seismic_coefficient=np.zeros(1))
        shaken = self.has_motion or bool(np.any(section.amounts.seismic_coefficient > 0.0))
        k_h = np.full(1, np.nan)
        if shaken and self.circle is not None and size <= _FEW:
            k_h = yield_coefficients(section, governing.circles, self.circle)
        elif shaken and self.circle is None and still.amounts.samples == 1:
            k_h = yield_coefficients(still, governing.circles.at(slice(0, 1)), None)
        return np.broadcast_to(k_h, (size,))


def _refuse_no_factor(circle: SlipCircle, factor: Float) -> None:
    if np.any(np.isnan(factor)):
        raise InputError(
            "circle",
            f"radius {float(np.max(np.asarray(circle.radius))):g} m",
            "neither Spencer's nor Bishop's method has a factor on it: nothing drives it, or it "
            "comes out of the ground too steeply; take a larger radius or a higher centre",
        )


def _described(section: Section, one: Governing, rows: slice | NDArray[np.intp]) -> Described:
    return described(section, one.circles.at(rows), one.factor[rows], one.tangent[rows], SLICES)


def _surface_columns(section: Section, one: Governing) -> dict[str, Float]:
    parts = []
    for rows in pieces(len(one.factor), ROWS):
        some = section.take(rows)
        parts.append(surface_columns(some, _described(some, one, rows), one.shallow[rows]))
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def _next_lowest(
    section: Section, found: Found | None
) -> tuple[tuple[tuple[float, float], ...], ...]:
    """A few surfaces with the next lowest factors, as points; of a given circle none."""
    if found is None:
        return ()
    kept: list[Float] = [found.place[0, 0]]
    lines = []
    for place, factor in zip(found.place[0, 1:], found.factor[0, 1:], strict=True):
        apart = [np.max(np.abs(place[:2] - other[:2])) for other in kept]
        if not np.isfinite(factor) or min(apart) < 0.1 * section.size or len(kept) > _DRAWN:
            continue
        kept.append(place)
        circles, _ = circles_through(section, place[None, None])
        slices = slices_of(section, circles, SLICES)
        lines.append(
            tuple(zip(slices.edge[0, 0].tolist(), slices.foot[0, 0].tolist(), strict=True))
        )
    return tuple(lines)


def _refuse_bent_upward(check: LayeredSlopeInputs) -> None:
    for soil in fields.soils(check):
        curve = soil.strength.curve
        if curve is not None and np.any(curve.exponent > 1.0):
            raise InputError(
                f"envelope of {soil.name}",
                f"power, exponent {float(np.max(curve.exponent)):.3f}",
                'above 1 it bends upward, which no soil does; use envelope = "line"',
            )
