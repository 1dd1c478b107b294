"""The loads on a wall under partial factors: which factor each takes, and their sums.

What the loads on the backfill add is the difference of two balances, with them and without them;
all else is permanent, water and shaking included. A load that helps takes the favourable factor
and one that hinders the unfavourable one, each by its own direction. Water is one source by
default: its pressures behind, below and in front of the wall and its weight take one factor, be
it the unfavourable or the favourable one (EN 1997-1:2004, 2.4.2(9), from memory).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.partial_factors import SYMBOLS, FactorSet
from slipmargin.stability.design.result import with_design_strengths
from slipmargin.stability.retaining_wall.balance import answers, retaining_wall, weight_over_heel
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import ACTIONS, Action, Sums
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.stability.working import traced
from slipmargin.strength import Numeric
from slipmargin.strength.expression import written
from slipmargin.strength.traced import Traced, some, traced_copy, value_of

__all__ = ["WATER", "FactoredLoads", "LoadCase", "Row"]

WATER = ("single_source", "by_direction")
"""Ways to factor water."""

_BAD, _GOOD = "permanent_unfavourable", "permanent_favourable"
_LIVE, _LIVE_GOOD = "variable_unfavourable", "variable_favourable"
_WALL = "structural_permanent_unfavourable"


@dataclass(frozen=True, slots=True)
class LoadCase:
    """One way to factor the loads.

    ``pressing``: downward forces are unfavourable, as bearing may have them. ``loaded``: with
    the loads on the backfill; ``weighed``: with the weight of those over the heel, as bearing
    may have it. ``water`` names the one factor on it; ``None`` factors it by direction.
    """

    pressing: bool
    loaded: bool
    water: str | None = None
    weighed: bool = False

    def factor_names(self, group: str, *, horizontal: bool) -> tuple[str, str]:
        """Factors on a force outward or down, and on one inward or up."""
        if group == "water" and self.water is not None:
            return self.water, self.water
        bad = _WALL if group == "wall" else _BAD
        return (bad, _GOOD) if horizontal or self.pressing else (_GOOD, bad)


@dataclass(frozen=True, slots=True)
class Row:
    """A number on the way to a limit state, as its working tells it; ``sum_of`` names the sum of
    forces or moments that it is.
    """

    symbol: str
    value: Any
    unit: str
    says: str
    sum_of: str = ""


def _actions() -> Iterator[Action]:
    """Those of the check, the soil on the heel parted into its water and the rest."""
    for one in ACTIONS:
        if one.vertical == "heel_soil_weight":
            yield dataclasses.replace(one, vertical="heel_ground_weight", x="heel_ground_arm")
            yield Action("water", vertical="heel_water_weight", x="heel_water_arm")
        elif one.group != "load":
            yield one


_ADDED = {
    "vertical": ("V_q", "kN/m", "vertical force"),
    "horizontal": ("H_q", "kN/m", "horizontal force"),
    "righting": ("M_rq", "kN·m/m", "righting moment"),
    "overturning": ("M_oq", "kN·m/m", "overturning moment"),
}
_HEEL = {
    "heel_water_weight": ("W_sw", "kN/m", "Weight of the water in the soil on the heel."),
    "heel_water_arm": ("x_sw", "m", "Arm of that weight. Measured on the outline."),
    "heel_ground_weight": ("W_e", "kN/m", "Weight of the soil on the heel, its water taken off."),
    "heel_ground_arm": ("x_es", "m", "Arm of that weight."),
}
_OVER_HEEL = {
    "heel_load": ("W_q", "kN/m", "Weight of the strips and lines of load over the heel."),
    "heel_load_arm": ("x_q", "m", "Arm of that weight."),
}


@dataclass(frozen=True, slots=True)
class FactoredLoads:
    """The wall with the strengths of one set, with the loads on the backfill and without them.

    ``check`` has its design strengths, and ``factors`` are those of the set by name. ``values``
    are those without the loads on the backfill, and ``added`` is what these add to each sum,
    empty where there are none. ``heel`` is what stands on the heel, by weights and arms: the
    soil, parted into its water and the rest, and the loads.
    """

    check: RetainingWall
    factors: Mapping[str, Numeric]
    values: RetainingWallValues
    added: dict[str, Numeric]
    heel: dict[str, Numeric]

    @classmethod
    def of(cls, check: RetainingWall, factors: FactorSet) -> FactoredLoads:
        """The loads of a wall under one set."""
        reduced: RetainingWall = with_design_strengths(check, factors)
        bare = retaining_wall(reduced.under(0.0))
        added: dict[str, Numeric] = {}
        if check.loaded:
            loaded = retaining_wall(reduced)
            for name, (_, _, what) in _ADDED.items():
                value = what.replace(" ", "_")
                added[name] = np.asarray(getattr(loaded, value)) - getattr(bare, value)
        arm: Numeric = 0.0
        if check.theory == "rankine":
            below = bare.water_height_behind
            arm = check.section().heel_soil(check.backfill_slope_angle, below=below).x
        over_heel = weight_over_heel(reduced, reduced.loads)
        heel = {"heel_load": over_heel.vertical, "heel_load_arm": over_heel.x}
        heel |= _heel_soil(reduced, bare, arm)
        return cls(reduced, factors.factors, bare, added, heel)

    def on_paper(self) -> FactoredLoads:
        """The same on numbers that remember how they came about; scalars only."""
        check = traced(self.check)
        symbols = {name: one.symbol for name, one, _ in fields.of(self.values)}
        values = traced_copy(self.values, symbols, {})

        def leaves(numbers: Mapping[str, Numeric], told: Mapping[str, Any]) -> dict[str, Any]:
            return {name: Traced(float(numbers[name]), symbol=told[name][0]) for name in told}

        heel = leaves(self.heel, _OVER_HEEL)
        if self.heel["heel_water_weight"] > 0.0:
            arm = leaves(self.heel, _HEEL)["heel_water_arm"]
            heel |= _heel_soil(check, values, arm)
        else:
            ground = (values.heel_soil_weight, values.heel_soil_arm)
            heel |= dict(zip(_HEEL, (0.0, 0.0, *ground), strict=True))
        named = {name: (SYMBOLS.get(name, ""),) for name in self.factors}
        added = leaves(self.added, _ADDED) if self.added else {}
        return FactoredLoads(check, leaves(self.factors, named), values, added, heel)

    @property
    def stands(self) -> NDArray[np.bool_]:
        """Where the theory has a thrust."""
        return answers(self.values)

    @property
    def scalar(self) -> bool:
        """Whether all stands in plain numbers, so that it can be worked by hand."""
        own = [getattr(self.values, name) for name, _, _ in fields.of(self.values)]
        return all(np.ndim(value) == 0 for value in (*own, *self.added.values()))

    @property
    def wet(self) -> bool:
        """Whether water acts on the wall anywhere."""
        levels = (self.values.water_height_behind, self.values.water_height_in_front)
        return any(some(level > 0.0) for level in levels)

    def cases(self, water: str, *, pressing: bool) -> list[LoadCase]:
        """Every way to factor the loads that must be looked at; ``water`` is one of ``WATER``."""
        single = self.wet and water == "single_source"
        loads = [(False, False)]
        if self.added:
            loads.append((True, False))
        if pressing and some(self.heel["heel_load"] > 0.0):
            loads.append((True, True))
        return [
            LoadCase(pressing, loaded, factor, weighed)
            for factor in ((_BAD, _GOOD) if single else (None,))
            for loaded, weighed in loads
        ]

    def sums(self, case: LoadCase) -> Sums:
        """Factored sums of one case."""
        found: dict[str, Any] = dict.fromkeys(_ADDED, 0.0)
        for into, size, by, lifts in self._terms(case):
            part = by * size
            found[into] = found[into] - part if lifts else found[into] + part
        return Sums(**found)

    def sum_text(self, case: LoadCase, name: str) -> tuple[str, dict[str, float]]:
        """A sum on paper, and the values in it; what acts stands there though its factor be 0."""
        text = ""
        known: dict[str, float] = {}
        for into, size, by, lifts in self._terms(case):
            if into != name or float(value_of(size)) == 0.0:
                continue
            force, numbers = size.symbol, {size.symbol: float(size)}
            if not force:
                force, numbers = written(size)
            text += f" {'-' if lifts else '+'} {by.symbol} * {force}"
            known |= numbers | {by.symbol: float(by)}
        return text.strip().removeprefix("+ ") or "0", known

    def rows(self, case: LoadCase) -> list[Row]:
        """Values that the check itself does not have."""
        rows = []
        if self.heel["heel_water_weight"] > 0.0:
            rows += [Row(one[0], self.heel[name], *one[1:]) for name, one in _HEEL.items()]
        if case.weighed:
            rows += [Row(one[0], self.heel[name], *one[1:]) for name, one in _OVER_HEEL.items()]
        if case.loaded:
            load = f"What the {self.check.load_name} adds to the"
            for name, (symbol, unit, what) in _ADDED.items():
                says = f"{load} {what}: with it, less without it."
                rows.append(Row(symbol, self.added[name], unit, says))
        return rows

    def _terms(self, case: LoadCase) -> Iterator[tuple[str, Any, Any, bool]]:
        """Sum that it goes into, size, factor, and whether it is taken off."""

        def held(name: str) -> Any:
            return self.heel[name] if name in self.heel else getattr(self.values, name)

        for load in _actions():
            for horizontal, name, arm in (
                (True, load.horizontal, load.y),
                (False, load.vertical, load.x),
            ):
                if not name:
                    continue
                size = held(name)
                usual, other = case.factor_names(load.group, horizontal=horizontal)
                first = size < 0.0 if load.opposite else size > 0.0
                by = np.where(first, self.factors[usual], self.factors[other])
                yield "horizontal" if horizontal else "vertical", size, by, load.opposite
                if arm:
                    third = 3.0 if horizontal and load.triangle else 1.0
                    into = "righting" if horizontal == load.opposite else "overturning"
                    # a moment is of one sign in its own sum; the force decides on the factor
                    yield into, size * held(arm) / third, by, False
        live = self.factors[_LIVE]
        if case.weighed:
            weight = self.heel["heel_load"]
            yield "vertical", weight, live, False
            yield "righting", weight * self.heel["heel_load_arm"], live, False
        if case.loaded:
            usual, other = (_LIVE, _LIVE_GOOD) if case.pressing else (_LIVE_GOOD, _LIVE)
            presses = self.added["vertical"] >= 0.0
            down = np.where(presses, self.factors[usual], self.factors[other])
            for name, value in self.added.items():
                yield name, value, live if name in ("horizontal", "overturning") else down, False


def _heel_soil(
    check: RetainingWall, values: RetainingWallValues, water_arm: Numeric
) -> dict[str, Numeric]:
    """The soil on the heel parted into its water and the rest: weights and arms."""
    weight, arm = values.heel_soil_weight, values.heel_soil_arm
    water = check.water_unit_weight * values.heel_soil_area_below_water
    x = np.where(water > 0.0, water_arm, 0.0)
    rest = weight - water
    left = rest != 0.0
    rest_arm = np.where(left, (weight * arm - water * x) / np.where(left, rest, 1.0), 0.0)
    return dict(zip(_HEEL, (water, x, rest, rest_arm), strict=True))
