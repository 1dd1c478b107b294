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
Shaking is k_h times the weight of soil and surcharge, outward. A tension crack is vertical and
ends the surface at its foot; water in it pushes outward.

Limits: circles only. Where ground near the crest would have to pull, or a surface comes out
too steeply, Spencer's equations have no solution that can be believed; such a surface goes by
Bishop's factor, and the result says so where it governs. Surfaces shallower than the least
depth are told apart. Without firm ground a slope of low friction has ever deeper surfaces of
ever lower factors; the search ends four heights beyond the slope.

A curved envelope is taken on each base by its tangent at that base's own stress.

Sources: Spencer (1967), Géotechnique 17(1); Bishop (1955), Géotechnique 5(1); Fredlund & Krahn
(1977), Can. Geotech. J. 14(3), for composite surfaces (from memory).
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
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.layered_slope.candidates import lowest_circles
from slipmargin.stability.layered_slope.factors import lowest_factors
from slipmargin.stability.layered_slope.given_circle import given_circle
from slipmargin.stability.layered_slope.ground import section_of, shape_of
from slipmargin.stability.layered_slope.inputs import (
    LayeredSlopeInputs,
    SlipCircle,
    SlopeLayer,
)
from slipmargin.stability.layered_slope.notices import layered_notices
from slipmargin.stability.layered_slope.search import SLICES, Found, circles_through
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles, slices_of
from slipmargin.stability.layered_slope.spencer import bishop, strengths
from slipmargin.stability.layered_slope.values import (
    Described,
    LayeredSlopeValues,
    described,
    layered_values,
)
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Notice, Numeric, Strength

__all__ = ["LayeredSlope", "LayeredSlopeValues", "SlipCircle", "SlopeLayer"]

_ALL_TOLD = 64  # samples up to which the notices look at each
_ROWS = 2000
_DRAWN = 3


@dataclass(frozen=True, slots=True)
class _Governing:
    """The governing circle of each sample, arrays of shape (samples, 1), and what to say."""

    circles: Circles
    factor: Float
    tangent: Float
    shallow: Float
    settled: bool
    found: Found | None = None


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

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the governing circle.

        Of more than 64 samples the notices about the surface are those of the lowest and the
        highest factor.
        """
        shape, section, governing = self._governing()
        factor = governing.factor[:, 0]
        factors = {"sliding": factor.reshape(shape)[()]}
        values = _values(section, governing, shape)
        told = np.arange(factor.size)
        if factor.size > _ALL_TOLD:
            told = np.array([np.argmin(factor), np.argmax(factor)])
        some = section.take(told)
        surface = _described(some, governing, told)
        notices = layered_notices(
            self, some, surface, governing.shallow[told], settled=governing.settled
        )
        if governing.found is not None and not shape:
            lines = _next_lowest(section, governing.found)
            values = dataclasses.replace(values, next_lowest=lines)
        return CheckResult(
            check=self,
            factors_of_safety=factors,
            values=values,
            notices=(
                *_caveats(self),
                *target_notices(factors, self.target),
                *notices,
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
        return dataclasses.replace(
            found,
            crack_thrust=self.water_unit_weight * found.crack_water_height**2 / 2.0,
            bishop_factor=by_bishop,
            factor_by_forces=by_forces,
            factor_by_moments=found.moment_resistance / found.moment_drive,
            factor_of_safety=by_forces if solved else by_bishop,
        )

    @classmethod
    def example(cls) -> LayeredSlope:
        """A given circle on which every term acts."""
        return cls(
            ground_line=[[-20.0, 0.0], [0.0, 0.0], [12.0, 6.0], [40.0, 7.0]],
            layers=(
                SlopeLayer(soil=_soil("fill", 5.0, 30.0)),
                SlopeLayer(soil=_soil("bank", 9.0, 26.0), top=[[-30.0, 1.0], [60.0, 3.0]]),
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

    def _governing(self) -> tuple[tuple[int, ...], Section, _Governing]:
        fields.validate(self)
        _refuse_bent_upward(self)
        shape = shape_of(self)
        section = section_of(self, shape)
        if self.circle is not None:
            return shape, section, _on_given(section, self.circle, int(np.prod(shape)))
        found = lowest_circles(section)
        circles, _ = circles_through(section, found.place[:, :1])
        governing = _Governing(
            circles,
            found.factor[:, :1],
            found.tangent[:, :1],
            found.shallow,
            bool(np.all(found.settled)),
            found,
        )
        return shape, section, _of_size(governing, int(np.prod(shape)))


def _of_size(one: _Governing, size: int) -> _Governing:
    """All arrays with one row a sample."""
    names = Circles.__slots__
    return dataclasses.replace(
        one,
        circles=Circles(*(np.broadcast_to(getattr(one.circles, n), (size, 1)) for n in names)),
        factor=np.broadcast_to(one.factor, (size, 1)),
        tangent=np.broadcast_to(one.tangent, (size, 1)),
        shallow=np.broadcast_to(one.shallow, (size,)),
    )


def _on_given(section: Section, circle: SlipCircle, size: int) -> _Governing:
    circles = given_circle(section, circle.x, circle.y, circle.radius, size)
    parts = []
    count = circles.x.shape[0]
    for at in range(0, count, _ROWS):
        rows = slice(at, at + _ROWS)
        one = section.take(rows)
        slices = slices_of(one, circles.at((rows,)), SLICES)
        shape = np.broadcast_shapes((one.amounts.samples, 1), slices.radius.shape)
        first, _ = bishop(slices, strengths(one, slices))
        first = np.broadcast_to(np.where(np.isfinite(first), first, 1.0), shape)
        parts.append(lowest_factors(one, slices, first, np.full(shape, 0.2)))
    factor, tangent = (np.concatenate(part) for part in zip(*parts, strict=True))
    if np.any(np.isnan(factor)):
        raise InputError(
            "circle",
            f"radius {float(np.max(np.asarray(circle.radius))):g} m",
            "neither Spencer's nor Bishop's method has a factor on it: nothing drives it, or it "
            "comes out of the ground too steeply; take a larger radius or a higher centre",
        )
    governing = _Governing(circles, factor, tangent, np.full(factor.shape[0], np.inf), True)
    return _of_size(governing, size)


def _described(section: Section, one: _Governing, rows: slice | NDArray[np.intp]) -> Described:
    index = (rows,)
    return described(section, one.circles.at(index), one.factor[rows], one.tangent[rows], SLICES)


def _values(section: Section, one: _Governing, shape: tuple[int, ...]) -> LayeredSlopeValues:
    size = one.factor.shape[0]
    parts = []
    for at in range(0, size, _ROWS):
        rows = slice(at, min(at + _ROWS, size))
        some = section.take(rows)
        count = (rows.stop - rows.start,)
        parts.append(layered_values(some, _described(some, one, rows), one.shallow[rows], count))
    whole: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts]).reshape(shape)[()]
        for name, _, _ in fields.of(LayeredSlopeValues)
    }
    return LayeredSlopeValues(**whole)


def _next_lowest(section: Section, found: Found) -> tuple[tuple[tuple[float, float], ...], ...]:
    """A few surfaces with the next lowest factors, as points."""
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


def _caveats(check: LayeredSlopeInputs) -> list[Notice]:
    found: list[Notice] = []
    for soil in fields.soils(check):
        found += [notice for notice in soil.strength.caveats if notice not in found]
    return found


def _refuse_bent_upward(check: LayeredSlopeInputs) -> None:
    for soil in fields.soils(check):
        curve = soil.strength.curve
        if curve is not None and np.any(np.asarray(curve.exponent) > 1.0):
            raise InputError(
                f"envelope of {soil.name}",
                f"power, exponent {float(np.max(curve.exponent)):.3f}",
                'above 1 it bends upward, which no soil does; use envelope = "line"',
            )


def _soil(name: str, cohesion: float, friction_angle: float) -> Soil:
    return Soil(
        name=name,
        strength=Strength(cohesion=cohesion, friction_angle=friction_angle),
        unit_weight=18.0,
        saturated_unit_weight=20.0,
    )
