"""Infinite slope: a layer sliding on a plane parallel to a long, even surface.

Assumptions: the slope is long against the depth of the plane, so that every vertical
column carries the same forces and the ends do nothing; the soil above the plane is one
layer; seepage is steady, with straight flow lines at one angle.

Limits: says nothing about a slope of short height, where a wedge or a rotation governs.
A negative effective normal stress means that the water lifts the layer; the factor is
then not meaningful.

Per unit plan area, with W the weight of the column and the surcharge on it, and W_k what
of it shakes:

    σ = W cos²β - k_h W_k sin β cos β        total normal stress on the plane
    τ = W sin β cos β + k_h W_k cos²β        shear stress on the plane
    u = γ_w h_w / (1 + tan β tan θ)          pore pressure, flow lines at θ below horizontal
    F = (c′ + c_r + (σ - u) tan φ′) / τ

W_k is W, but below still water: there W is buoyant and the water in the pores shakes with
the grains, so that W_k is the saturated weight.

Sources: Taylor (1948), Fundamentals of Soil Mechanics, ch. 16, for the dry slope and flow
parallel to it; the pore pressure for inclined flow follows from equipotentials at right
angles to the flow lines; a horizontal pseudo-static force as in Newmark (1965),
Géotechnique 15(2).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from dataclasses import dataclass

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult
from slipmargin.stability.ground.newmark import newmark_values
from slipmargin.stability.infinite_slope.along_curve import along_curve
from slipmargin.stability.infinite_slope.column import infinite_slope
from slipmargin.stability.infinite_slope.inputs import InfiniteSlopeInputs
from slipmargin.stability.infinite_slope.notices import infinite_slope_notices
from slipmargin.stability.infinite_slope.values import InfiniteSlopeValues
from slipmargin.stability.soil import Soil
from slipmargin.strength import Numeric

__all__ = ["InfiniteSlope", "InfiniteSlopeValues"]


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class InfiniteSlope(InfiniteSlopeInputs):
    """Inputs of an infinite slope; scalars or arrays that broadcast.

    ``evaluate`` raises ``InputError`` where a field lies outside its declared limits.

    Examples
    --------
    Dry sand stands up to its friction angle:

    >>> import numpy as np
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=np.array([20.0, 25.0, 30.0]), depth=2.0)
    >>> slope.evaluate().lowest.round(2).tolist()
    [1.59, 1.24, 1.0]
    """

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the plane."""
        values = self._ready()
        if self.soil.strength.curve is not None:
            values = self._moved(values, along_curve(self))
        factors = {"sliding": values.factor_of_safety}
        notices = tuple(infinite_slope_notices(self, values, factors))
        return CheckResult(check=self, factors_of_safety=factors, values=values, notices=notices)

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state without notices and design values found by a search.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        return {"sliding": self._ready().factor_of_safety}

    def _ready(self) -> InfiniteSlopeValues:
        """All that needs no search, from fields held against their limits and each other."""
        fields.validate(self)
        wet = self.water_table_depth is not None
        over = "leave it out where submerged is true: the water then stands over the slope"
        fields.refuse(self, "water_table_depth", self.submerged and wet, over)
        if self.submerged:
            self.soil.need_heavier_than_water(self.water_unit_weight)
        dry = self.seepage_angle is not None and not wet
        fields.refuse(self, "seepage_angle", dry, "allowed only beside a water_table_depth")
        return infinite_slope(self)

    def follow(self, found: InfiniteSlopeValues) -> InfiniteSlopeValues:
        """The values again, with what a search found taken from ``found``."""
        values = infinite_slope(self)
        if self.soil.strength.curve is None:
            return values
        searched = ("yield_seismic_coefficient", "critical_depth", "critical_water_table_depth")
        return self._moved(values, {name: getattr(found, name) for name in searched})

    def _moved(
        self, values: InfiniteSlopeValues, searched: dict[str, Numeric]
    ) -> InfiniteSlopeValues:
        """The values with what a search found, and the displacements that follow from it."""
        moved = newmark_values(self, searched["yield_seismic_coefficient"])
        return dataclasses.replace(values, **searched, **moved)

    @classmethod
    def example(cls) -> InfiniteSlope:
        """A slope in which every term acts."""
        return cls(
            soil=Soil.example(),
            slope_angle=24.0,
            depth=2.0,
            water_table_depth=1.0,
            seepage_angle=20.0,
            surcharge=3.0,
            root_cohesion=1.0,
            horizontal_seismic_coefficient=0.05,
            target=1.3,
        )

    @classmethod
    def further_examples(cls) -> tuple[InfiniteSlope, ...]:
        """A slope with seepage along it, and one below still water."""
        along = dataclasses.replace(cls.example(), seepage_angle=None)
        return along, dataclasses.replace(along, water_table_depth=None, submerged=True)
