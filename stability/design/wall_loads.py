"""The loads on a wall under partial factors: which factor each takes, and their sums.

What the loads on the backfill add is the difference of two balances, with them and without them;
all else is permanent, water and shaking included. A load that helps takes the favourable factor
and one that hinders the unfavourable one, each by its own direction. Water is one source by
default: its pressures behind, below and in front of the wall and its weight take one factor, be
it the unfavourable or the favourable one (EN 1997-1:2004, 2.4.2(9), from memory).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.partial_factors import SYMBOLS, FactorSet
from slipmargin.stability.design.result import with_design_strengths
from slipmargin.stability.retaining_wall.balance import retaining_wall, weight_over_heel
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import ACTIONS, Action, Sums
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Numeric
from slipmargin.strength.working import Step, put_numbers_in

__all__ = ["WATER", "FactoredLoads", "LoadCase"]

WATER = ("single_source", "by_direction")
"""Ways to factor water."""

_BAD, _GOOD = "permanent_unfavourable", "permanent_favourable"
_LIVE, _LIVE_GOOD = "variable_unfavourable", "variable_favourable"
_WALL = "structural_permanent_unfavourable"


@dataclass(frozen=True, slots=True)
class LoadCase:
    """One way to factor the loads.

    Parameters
    ----------
    pressing
        Downward forces are unfavourable, as bearing may have them.
    loaded
        With the loads on the backfill.
    weighed
        With the weight of those over the heel, as bearing may have it.
    water
        Name of the one factor on water; ``None`` factors it by direction.
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


_HEEL_WATER = Action("water", vertical="heel_water_weight", x="heel_water_arm")


def _actions() -> Iterator[Action]:
    """Those of the check, the soil on the heel parted into its water and the rest."""
    for one in ACTIONS:
        if one.vertical == "heel_soil_weight":
            yield dataclasses.replace(one, vertical="heel_ground_weight", x="heel_ground_arm")
            yield _HEEL_WATER
        elif one.group != "load":
            yield one


_SUMS = {
    "vertical": "vertical_force",
    "horizontal": "horizontal_force",
    "righting": "righting_moment",
    "overturning": "overturning_moment",
}
_ADDED = {"vertical": "V_q", "horizontal": "H_q", "righting": "M_rq", "overturning": "M_oq"}
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
class _Term:
    """A part of a sum: signed value, its factor, the value in symbols, and the names of the
    factors on a force outward or down and on another, by whether it is the former.
    """

    into: str
    value: Numeric
    by: Numeric
    symbol: str
    factor_names: tuple[str, str]
    first: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class FactoredLoads:
    """The wall with the strengths of one set, with the loads on the backfill and without them.

    Parameters
    ----------
    check, section, factors
        The wall with its design strengths, its section and the set.
    bare, loaded
        Values without the loads on the backfill, and with them; ``None`` where there are none.
    water
        How water is factored.
    heel
        What stands on the heel, by its weights and arms: the soil, parted into its water and the
        rest, and the loads.
    """

    check: RetainingWall
    section: WallSection
    factors: FactorSet
    bare: RetainingWallValues
    loaded: RetainingWallValues | None
    water: str
    heel: dict[str, Numeric]

    @classmethod
    def of(
        cls, check: RetainingWall, factors: FactorSet, section: WallSection, water: str
    ) -> FactoredLoads:
        """The loads of a wall under one set."""
        reduced: RetainingWall = with_design_strengths(check, factors)
        bare = retaining_wall(reduced.under(0.0), section)
        loaded = retaining_wall(reduced, section) if check.loaded else None
        over_heel = weight_over_heel(reduced.loads, section)
        heel = _heel_water(reduced, section, bare) | {
            "heel_load": over_heel["vertical"],
            "heel_load_arm": over_heel["x"],
        }
        return cls(reduced, section, factors, bare, loaded, water, heel)

    @property
    def stands(self) -> NDArray[np.bool_]:
        """Where the theory has a thrust."""
        found = np.isfinite(self.bare.active_coefficient)
        return np.asarray(found & np.isfinite(self.bare.seismic_coefficient))

    @property
    def scalar(self) -> bool:
        """Whether all stands in plain numbers, so that it can be worked by hand."""
        every = [value for one in (self.bare, self.loaded) if one for value in _held(one)]
        return all(np.ndim(value) == 0 for value in every)

    @property
    def wet(self) -> bool:
        """Whether water acts on the wall anywhere."""
        levels = (self.bare.water_height_behind, self.bare.water_height_in_front)
        return any(bool(np.any(np.asarray(level) > 0.0)) for level in levels)

    def cases(self, *, pressing: bool) -> list[LoadCase]:
        """Every way to factor the loads that must be looked at."""
        single = self.wet and self.water == "single_source"
        loads = [(False, False)]
        if self.loaded is not None:
            loads.append((True, False))
        if pressing and np.any(self.heel["heel_load"] > 0.0):
            loads.append((True, True))
        return [
            LoadCase(pressing, loaded, water, weighed)
            for water in ((_BAD, _GOOD) if single else (None,))
            for loaded, weighed in loads
        ]

    def sums(self, case: LoadCase) -> Sums:
        """Factored sums of one case."""
        found = dict.fromkeys(_SUMS, np.zeros(()))
        for term in self._terms(case):
            found[term.into] = found[term.into] + term.by * np.asarray(term.value)
        return Sums(**found)

    def sum_step(self, case: LoadCase, name: str, symbol: str, says: str) -> Step:
        """How one of the factored sums follows; scalars only."""
        known = self.known
        text, total = "", 0.0
        for term in self._terms(case):
            value = float(np.asarray(term.value))
            if term.into != name or value == 0.0:
                continue
            by = float(np.asarray(term.by))
            used = SYMBOLS[term.factor_names[0 if term.first else 1]]
            sign = "-" if term.symbol.startswith("-") else "+"
            text += f" {sign} {used} * {term.symbol.lstrip('-')}"
            known[used] = by
            total += by * value
        text = text.strip().removeprefix("+ ") or "0"
        unit = "kN/m" if name in ("vertical", "horizontal") else "kN·m/m"
        return Step(says, symbol, total, unit, text, put_numbers_in(text, known))

    @property
    def known(self) -> dict[str, float]:
        """Values of the check by symbol; scalars only."""
        found = {
            declaration.symbol: float(np.asarray(getattr(self.bare, name)))
            for name, declaration, _ in fields.of(self.bare)
        }
        for name, (symbol, _, _) in (_HEEL | _OVER_HEEL).items():
            found[symbol] = float(np.asarray(self.heel[name]))
        for name, symbol in _ADDED.items():
            found[symbol] = 0.0 if self.loaded is None else float(np.asarray(self._added(name)))
        return found

    def steps(self, case: LoadCase) -> list[Step]:
        """Values that the check itself does not have; scalars only."""
        known = self.known | {"γ_w": float(np.asarray(self.check.water_unit_weight))}
        equations = {
            "W_sw": "γ_w * A_sw",
            "W_e": "W_s - W_sw",
            "x_es": "(W_s * x_s - W_sw * x_sw) / W_e",
        }
        steps = []
        if known["W_sw"] > 0.0:
            for symbol, unit, says in _HEEL.values():
                equation = equations.get(symbol, "")
                shown = put_numbers_in(equation, known) if equation else ""
                steps.append(Step(says, symbol, known[symbol], unit, equation, shown))
        if case.weighed:
            steps += [Step(says, key, known[key], unit) for key, unit, says in _OVER_HEEL.values()]
        if case.loaded:
            words = ("vertical force", "horizontal force", "righting moment", "overturning moment")
            for (name, symbol), what in zip(_ADDED.items(), words, strict=True):
                unit = "kN/m" if name in ("vertical", "horizontal") else "kN·m/m"
                adds = f"What the {self.check.load_name} adds to the {what}"
                says = f"{adds}: with it, less without it."
                steps.append(Step(says, symbol, known[symbol], unit))
        return steps

    def _added(self, name: str) -> Numeric:
        value = _SUMS[name]
        difference: Numeric = np.asarray(getattr(self.loaded, value)) - getattr(self.bare, value)
        return difference

    def _terms(self, case: LoadCase) -> Iterator[_Term]:
        by_name = self.factors.factors
        symbols = {name: one.symbol for name, one, _ in fields.of(self.bare)}
        symbols |= {name: symbol for name, (symbol, _, _) in _HEEL.items()}
        if float(np.max(self.heel["heel_water_weight"])) == 0.0:
            symbols |= {"heel_ground_weight": "W_s", "heel_ground_arm": "x_s"}

        def value_of(name: str) -> Any:
            return np.asarray(self.heel[name] if name in self.heel else getattr(self.bare, name))

        for load in _actions():
            for horizontal, name, arm in (
                (True, load.horizontal, load.y),
                (False, load.vertical, load.x),
            ):
                if not name:
                    continue
                size = value_of(name)
                force = -size if load.opposite else size
                names = case.factor_names(load.group, horizontal=horizontal)
                first = np.asarray(force > 0.0)
                by = np.where(first, by_name[names[0]], by_name[names[1]])
                into = "horizontal" if horizontal else "vertical"
                minus = "-" if load.opposite else ""
                yield _Term(into, force, by, minus + symbols[name], names, first)
                if not arm:
                    continue
                third = 3.0 if horizontal and load.triangle else 1.0
                into = "righting" if horizontal == load.opposite else "overturning"
                text = f"{symbols[name]} * {symbols[arm]}" + (" / 3" if third > 1.0 else "")
                # a moment is of one sign in its own sum; the force decides on the factor
                yield _Term(into, size * value_of(arm) / third, by, text, names, first)
        if case.weighed:
            weight, by = self.heel["heel_load"], np.asarray(by_name[_LIVE])
            names, there = (_LIVE, _LIVE), np.asarray(True)
            yield _Term("vertical", weight, by, "W_q", names, there)
            moment = weight * self.heel["heel_load_arm"]
            yield _Term("righting", moment, by, "W_q * x_q", names, there)
        if case.loaded:
            press = self._added("vertical")
            pair = (_LIVE, _LIVE_GOOD) if case.pressing else (_LIVE_GOOD, _LIVE)
            presses = np.asarray(np.asarray(press) >= 0.0)
            down = np.where(presses, by_name[pair[0]], by_name[pair[1]])
            for name, symbol in _ADDED.items():
                across = name in ("horizontal", "overturning")
                names = (_LIVE, _LIVE) if across else pair
                by = np.asarray(by_name[_LIVE]) if across else down
                yield _Term(name, self._added(name), by, symbol, names, presses)


def _held(values: RetainingWallValues) -> list[Numeric]:
    return [getattr(values, name) for name, _, _ in fields.of(values)]


def _heel_water(
    check: RetainingWall, section: WallSection, bare: RetainingWallValues
) -> dict[str, Numeric]:
    """The soil on the heel parted into its water and the rest: weights and arms."""
    weight, arm = np.asarray(bare.heel_soil_weight), np.asarray(bare.heel_soil_arm)
    wet = np.asarray(bare.heel_soil_area_below_water)
    water = np.asarray(check.water_unit_weight) * wet
    x = np.zeros(())
    if check.theory == "rankine":
        region = section.heel_soil(check.backfill_slope_angle, below=bare.water_height_behind)
        x = np.where(water > 0.0, region.x, 0.0)
    rest = weight - water
    some = rest != 0.0
    rest_arm = np.where(some, (weight * arm - water * x) / np.where(some, rest, 1.0), 0.0)
    return {
        "heel_water_weight": water,
        "heel_water_arm": x,
        "heel_ground_weight": rest,
        "heel_ground_arm": rest_arm,
    }
