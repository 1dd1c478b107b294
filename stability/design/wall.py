"""The limit states of a retaining wall under partial factors.

Forces are those of the check with design strengths, factored as effects; which factor a force
takes is stated in :mod:`stability.design.wall_loads`. Overturning, as loss of static
equilibrium, factors water by direction whatever is asked: parts of one action that differ
matter most there (EN 1990:2002, 6.4.3.1(4), from memory).

    sliding      H_d against (V_d tan δ_d + a_d B) / γ_R;h + f_p P_p / γ_R;e, V_d of
                 favourable permanent forces
    bearing      V_d against q_u B′ / γ_R;v, with the weights unfavourable and favourable,
                 inclination and eccentricity of the factored load
    overturning  overturning against righting moment, by the set of static equilibrium

Every one is also looked at without the loads on the backfill, and bearing with and without the
weight of those over the heel; the worse counts. The working of a case is the same computation on
numbers that remember how they came about.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.partial_factors import FactorSet
from slipmargin.stability.design.result import DesignLimitState, utilisation, utilisation_step
from slipmargin.stability.design.wall_loads import WATER, FactoredLoads, LoadCase, Row
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import (
    base_reaction,
    bearing_values,
    footing_below,
)
from slipmargin.strength import Numeric
from slipmargin.strength.expression import reason, written
from slipmargin.strength.traced import named, some, value_of, written_as
from slipmargin.strength.working import Step, Working

__all__ = ["WallDesign", "design_wall", "sliding"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallDesign:
    """Sliding, overturning and bearing of a wall under one set, and what its notices hang on.

    ``stands``: the theory has a thrust for the design strengths; ``wet``: water acts on the wall.
    ``eccentricity_share`` is the largest |e| / B of the factored loads in bearing [-], nan where
    nothing presses.
    """

    limit_states: dict[str, DesignLimitState]
    stands: NDArray[np.bool_]
    eccentricity_share: Floats
    wet: bool


@dataclass(frozen=True, slots=True)
class _Balance:
    """Effect and resistance of one case, the rows that lead there, and |e| / B in bearing."""

    effect: Numeric
    resistance: Numeric
    rows: list[Row]
    eccentricity_share: Numeric = np.nan


def design_wall(
    check: RetainingWall, factors: FactorSet, water: str = "single_source"
) -> WallDesign:
    """Degrees of utilisation of a wall whose fields are good, scalars or arrays that broadcast,
    under one set of partial factors; overturning is held to the set of static equilibrium that it
    names. ``water`` says how it is factored in sliding and bearing, one of ``WATER``.
    """
    loads = FactoredLoads.of(check, factors)
    standing = FactoredLoads.of(check, factors.overturning)
    states: dict[str, DesignLimitState] = {}
    share = np.full((), np.nan)
    for name, state in _STATES.items():
        if name == "overturning":
            states[name], _ = _governing(name, state, standing, factors.overturning, WATER[1])
            continue
        states[name], balances = _governing(name, state, loads, factors, water)
        for one in balances:
            share = np.fmax(share, one.eccentricity_share)
    return WallDesign(
        limit_states=states,
        stands=loads.stands & standing.stands,
        eccentricity_share=share,
        wet=loads.wet,
    )


@written_as("(max({0}, 0) * tan({1}) + {2} * {3}) / {4}")
def _on_base(
    down: Numeric, friction_angle: Numeric, adhesion: Numeric, width: Numeric, factor: Numeric
) -> Numeric:
    held = np.maximum(down, 0.0) * np.tan(np.radians(friction_angle))
    return (held + np.asarray(adhesion) * width) / factor


@written_as("(max({0}, 0) * tan({1}) + {2} * {3}) / {4} + {5} * {6} / {7}")
def _on_base_and_in_front(down: Numeric, *of: Numeric) -> Numeric:
    share, passive, factor = of[4:]
    return _on_base(down, *of[:4]) + share * passive / factor


def sliding(loads: FactoredLoads) -> Callable[[LoadCase], _Balance]:
    """What balances a case in sliding: horizontal force against resistance [kN/m]."""
    wall, by, values = loads.check, loads.factors, loads.values
    # both are told in full, whatever is 0 in them
    resistance_of: Callable[..., Numeric] = _on_base
    held: tuple[Numeric, ...] = (
        values.sliding_friction_angle,
        wall.base_adhesion,
        values.base_width,
        by["sliding"],
    )
    if some(wall.passive_fraction > 0.0):
        resistance_of = _on_base_and_in_front
        held += (wall.passive_fraction, values.passive_resistance, by["earth_resistance"])

    def balance(case: LoadCase) -> _Balance:
        sums = loads.sums(case)
        resistance = resistance_of(sums.vertical, *held)
        rows = [
            Row("V_d", sums.vertical, "kN/m", "Design vertical force on the base.", "vertical"),
            Row("E_d", sums.horizontal, "kN/m", "Design horizontal force, outward.", "horizontal"),
            Row("R_d", resistance, "kN/m", "Design resistance to sliding."),
        ]
        return _Balance(sums.horizontal, resistance, rows)

    return balance


def _overturning(loads: FactoredLoads) -> Callable[[LoadCase], _Balance]:
    def balance(case: LoadCase) -> _Balance:
        sums = loads.sums(case)
        rows = [
            Row(symbol, value, "kN·m/m", f"Design {name} moment about the toe.", name)
            for symbol, name, value in (
                ("E_d", "overturning", sums.overturning),
                ("R_d", "righting", sums.righting),
            )
        ]
        return _Balance(sums.overturning, sums.righting, rows)

    return balance


def _bearing(loads: FactoredLoads) -> Callable[[LoadCase], _Balance]:
    values, factor = loads.values, loads.factors["bearing"]
    footing = footing_below(loads.check, values)
    symbols = {name: one.symbol for name, one, _ in fields.of(values)}

    def balance(case: LoadCase) -> _Balance:
        """The rows end where the resultant leaves the base."""
        sums = loads.sums(case)
        down, out = sums.vertical, sums.horizontal
        rows = [
            Row("E_d", down, "kN/m", "Design vertical force on the base.", "vertical"),
            Row("H_d", out, "kN/m", "Design horizontal force, outward.", "horizontal"),
            Row("M_rd", sums.righting, "kN·m/m", "Design righting moment.", "righting"),
            Row("M_od", sums.overturning, "kN·m/m", "Design overturning moment.", "overturning"),
        ]
        reaction = base_reaction(down, sums.righting, sums.overturning, values.base_width)
        width = reaction.effective_width
        found = footing.bearing(effective_width=width, vertical_force=down, horizontal_force=out)
        resistance = found.capacity * width / factor
        if some(width > 0.0):
            tilt = found.inclination
            capacity = "Ultimate bearing pressure on the effective width."
            rows += [
                Row("x_Rd", reaction.resultant_distance, "m", "Resultant from the toe."),
                Row("B′_d", width, "m", "Effective width."),
                Row("i_qd", tilt.overburden, "", "Inclination factor."),
                Row("i_cd", tilt.cohesion, "", "Inclination factor."),
                Row("i_γd", tilt.weight, "", "Inclination factor."),
                Row("q_ud", found.capacity, "kPa", capacity),
                Row("R_d", resistance, "kN/m", "Design bearing resistance."),
            ]
            for row in rows:
                named(row.symbol, row.value)
            for name, number in bearing_values(footing, found, found).items():
                named(symbols[name], number)
        share = np.abs(reaction.eccentricity) / values.base_width
        # nothing presses: the wall floats, which is no pass
        return _Balance(np.where(down > 0.0, down, np.nan), resistance, rows, share)

    return balance


@dataclass(frozen=True, slots=True)
class _State:
    """A limit state: what balances its cases, how it is told, the factors that it alone takes, and
    whether downward forces are looked at as unfavourable.
    """

    balance_of: Callable[[FactoredLoads], Callable[[LoadCase], _Balance]]
    unit: str
    says: str
    used: tuple[str, ...]
    pressing: tuple[bool, ...] = (False,)


_STATES = {
    "sliding": _State(
        sliding,
        "kN/m",
        "horizontal force against friction and adhesion on the base and what is counted "
        "of the passive resistance",
        ("sliding", "earth_resistance"),
    ),
    "overturning": _State(
        _overturning,
        "kN·m/m",
        "overturning against righting moment about the toe, as loss of static equilibrium",
        (),
    ),
    "bearing": _State(
        _bearing,
        "kN/m",
        "vertical force on the base against its bearing capacity on the effective width",
        ("bearing",),
        (True, False),
    ),
}
_ON_ALL = (
    "permanent_unfavourable",
    "permanent_favourable",
    "variable_unfavourable",
    "variable_favourable",
    "structural_permanent_unfavourable",
    "tan_friction_angle",
    "cohesion",
)


def _governing(
    name: str, state: _State, loads: FactoredLoads, factors: FactorSet, water: str
) -> tuple[DesignLimitState, list[_Balance]]:
    """The case of the highest utilisation, element by element, and the balance of every case."""
    cases = [case for way in state.pressing for case in loads.cases(water, pressing=way)]
    balances = list(map(state.balance_of(loads), cases))
    sides = [one.effect for one in balances] + [one.resistance for one in balances]
    *every, stands = np.broadcast_arrays(*sides, loads.stands)
    effects, resistances = np.split(np.stack(every), 2)
    levels = np.where(stands, utilisation(effects, resistances), np.inf)
    worst = np.argmax(levels, axis=0)[None]
    effect, resistance, level = (
        np.take_along_axis(table, worst, axis=0)[0][()] for table in (effects, resistances, levels)
    )
    steps: list[Step] = []
    held = None
    if loads.scalar and bool(loads.stands):
        case, paper = cases[int(worst[0])], loads.on_paper()
        steps = _steps(paper, case, state.balance_of(paper)(case).rows)
        steps += utilisation_step(name, float(effect), float(resistance))
        held = loads.check.under(0.0)
    found = DesignLimitState(
        effect=effect,
        resistance=resistance,
        utilisation=level,
        unit=state.unit,
        says=state.says,
        set_name=factors.name,
        factors={one: factors.factors[one] for one in (*_ON_ALL, *state.used)},
        steps=tuple(steps),
        held=held,
    )
    return found, balances


def _steps(loads: FactoredLoads, case: LoadCase, rows: Sequence[Row]) -> list[Step]:
    """What a case is printed as, its loads on paper."""
    rows = [*loads.rows(case), *rows]
    for row in rows:
        named(row.symbol, row.value)
    out = Working()
    for row in rows:
        number = row.value
        if row.sum_of:
            equation, known = loads.sum_text(case, row.sum_of)
        elif number.symbol == row.symbol:
            equation, known = written(number)
        else:
            # it is one that has a name already
            equation, known = number.symbol, {number.symbol: float(number)}
        why = reason(number)
        says = f"{row.says} Since {why}." if why else row.says
        out.known |= known | {"π": math.pi}
        out.add(says, row.symbol, value_of(number), row.unit, equation)
    return out.steps
