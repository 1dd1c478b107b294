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
weight of those over the heel; the worse counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.partial_factors import SYMBOLS, FactorSet
from slipmargin.stability.design.result import DesignLimitState, utilisation, utilisation_step
from slipmargin.stability.design.wall_loads import WATER, FactoredLoads, LoadCase
from slipmargin.stability.retaining_wall.balance import bearing_values, footing_below
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import base_reaction
from slipmargin.stability.working import given_steps, traced
from slipmargin.strength import Numeric
from slipmargin.strength.expression import reason, written
from slipmargin.strength.traced import Traced, named, traced_copy
from slipmargin.strength.working import Step, put_numbers_in

__all__ = ["WallDesign", "design_wall"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallDesign:
    """Limit states of a wall under one set, and what its notices hang on.

    Parameters
    ----------
    limit_states
        Sliding, overturning and bearing.
    stands
        Where the theory has a thrust for the design strengths.
    eccentricity_share
        Largest |e| / B of the factored loads in bearing [-]; nan where nothing presses.
    wet
        Whether water acts on the wall.
    """

    limit_states: dict[str, DesignLimitState]
    stands: NDArray[np.bool_]
    eccentricity_share: Floats
    wet: bool


def design_wall(
    check: RetainingWall, factors: FactorSet, water: str = "single_source"
) -> WallDesign:
    """Degrees of utilisation of a wall under one set of partial factors.

    Parameters
    ----------
    check
        A wall whose fields are good; scalars or arrays that broadcast.
    factors
        The set; overturning is held to the set of static equilibrium that it names.
    water
        How water is factored in sliding and bearing, one of ``WATER``.
    """
    section = check.section()
    loads = FactoredLoads.of(check, factors, section, water)
    standing = FactoredLoads.of(check, factors.overturning, section, WATER[1])
    bearing, eccentricity = _bearing(loads)
    return WallDesign(
        limit_states={
            "sliding": _sliding(loads),
            "overturning": _overturning(standing),
            "bearing": bearing,
        },
        stands=loads.stands & standing.stands,
        eccentricity_share=eccentricity,
        wet=loads.wet,
    )


def _sliding(loads: FactoredLoads) -> DesignLimitState:
    wall, factors, bare = loads.check, loads.factors, loads.bare
    tan = np.tan(np.radians(bare.sliding_friction_angle))
    held = np.asarray(wall.base_adhesion) * bare.base_width
    passive = np.asarray(wall.passive_fraction) * bare.passive_resistance
    cases = []
    for case in loads.cases(pressing=False):
        sums = loads.sums(case)
        base = (np.maximum(sums.vertical, 0.0) * tan + held) / factors.sliding
        cases.append((case, sums.horizontal, base + passive / factors.earth_resistance))

    def steps(case: LoadCase) -> list[Step]:
        down = loads.sum_step(case, "vertical", "V_d", "Design vertical force on the base.")
        out = loads.sum_step(case, "horizontal", "E_d", "Design horizontal force, outward.")
        known = loads.known | {
            "V_d": down.value,
            "a_b": float(np.asarray(wall.base_adhesion)),
            "f_p": float(np.asarray(wall.passive_fraction)),
            SYMBOLS["sliding"]: factors.sliding,
            SYMBOLS["earth_resistance"]: factors.earth_resistance,
        }
        equation = "(max(V_d, 0) * tan(δ_s) + a_b * B) / γ_Rh"
        if known["f_p"] > 0.0:
            equation += " + f_p * P_p / γ_Re"
        resistance = float((max(down.value, 0.0) * tan + held) / factors.sliding)
        resistance += float(passive / factors.earth_resistance)
        shown = put_numbers_in(equation, known)
        says = "Design resistance to sliding."
        return [down, out, Step(says, "R_d", resistance, "kN/m", equation, shown)]

    return _governing(
        "sliding",
        cases,
        loads,
        steps,
        unit="kN/m",
        says="horizontal force against friction and adhesion on the base and what is counted "
        "of the passive resistance",
        used=("sliding", "earth_resistance"),
    )


def _overturning(loads: FactoredLoads) -> DesignLimitState:
    cases = []
    for case in loads.cases(pressing=False):
        sums = loads.sums(case)
        cases.append((case, sums.overturning, sums.righting))

    def steps(case: LoadCase) -> list[Step]:
        return [
            loads.sum_step(case, "overturning", "E_d", "Design overturning moment about the toe."),
            loads.sum_step(case, "righting", "R_d", "Design righting moment about the toe."),
        ]

    return _governing(
        "overturning",
        cases,
        loads,
        steps,
        unit="kN·m/m",
        says="overturning against righting moment about the toe, as loss of static equilibrium",
        used=(),
    )


def _bearing(loads: FactoredLoads) -> tuple[DesignLimitState, Floats]:
    width = np.asarray(loads.bare.base_width)
    cases, share = [], np.full((), np.nan)
    footing = footing_below(loads.check, loads.bare)
    for pressing in (True, False):
        for case in loads.cases(pressing=pressing):
            sums = loads.sums(case)
            reaction = base_reaction(sums.vertical, sums.righting, sums.overturning, width)
            width_used = reaction.effective_width
            found = footing.bearing(
                effective_width=width_used,
                vertical_force=sums.vertical,
                horizontal_force=sums.horizontal,
            )
            down = np.maximum(sums.vertical, 0.0)
            # nothing presses: the wall floats, which is no pass
            carried = found.capacity * width_used / loads.factors.bearing
            cases.append((case, np.where(down > 0.0, down, np.nan), carried))
            share = np.fmax(share, np.abs(reaction.eccentricity) / width)
    state = _governing(
        "bearing",
        cases,
        loads,
        lambda case: _bearing_steps(loads, case),
        unit="kN/m",
        says="vertical force on the base against its bearing capacity on the effective width",
        used=("bearing",),
    )
    return state, share


def _bearing_steps(loads: FactoredLoads, case: LoadCase) -> list[Step]:
    """From the factored loads to the capacity; they end where the resultant leaves the base."""
    down = loads.sum_step(case, "vertical", "E_d", "Design vertical force on the base.")
    out = loads.sum_step(case, "horizontal", "H_d", "Design horizontal force, outward.")
    righting = loads.sum_step(case, "righting", "M_rd", "Design righting moment.")
    turning = loads.sum_step(case, "overturning", "M_od", "Design overturning moment.")
    steps = [down, out, righting, turning]
    width = loads.bare.base_width
    reaction = base_reaction(down.value, righting.value, turning.value, width)
    carried = float(reaction.effective_width)
    if not carried > 0.0:
        return steps
    known = loads.known | {step.symbol: step.value for step in (*given_steps(loads.check), *steps)}
    known |= {"π": math.pi, SYMBOLS["bearing"]: loads.factors.bearing}

    def add(says: str, symbol: str, value: Numeric, unit: str, equation: str) -> None:
        known[symbol] = float(value)
        shown = put_numbers_in(equation, known) if equation else ""
        steps.append(Step(says, symbol, known[symbol], unit, equation, shown))

    distance = "(M_rd - M_od) / E_d"
    add("Resultant from the toe.", "x_Rd", reaction.resultant_distance, "m", distance)
    add("Effective width.", "B′_d", carried, "m", "B - 2 * abs(B / 2 - x_Rd)")
    # once more on traced numbers, for how it follows
    symbols = {name: one.symbol for name, one, _ in fields.of(loads.bare)}
    bare = traced_copy(loads.bare, symbols, {})
    footing = footing_below(traced(loads.check), bare)
    load: dict[str, Any] = {
        "effective_width": Traced(carried, symbol="B′_d"),
        "vertical_force": Traced(down.value, symbol="E_d"),
        "horizontal_force": Traced(out.value, symbol="H_d"),
    }
    capacity = footing.bearing(**load)
    tilts, rows = capacity.inclination, []
    for symbol, number, unit, says in (
        ("i_qd", tilts.overburden, "", "Inclination factor."),
        ("i_cd", tilts.cohesion, "", "Inclination factor."),
        ("i_γd", tilts.weight, "", "Inclination factor."),
        ("q_ud", capacity.capacity, "kPa", "Ultimate bearing pressure on the effective width."),
    ):
        rows.append((named(symbol, number), symbol, unit, says))
    for name, number in bearing_values(footing, capacity, capacity).items():
        named(symbols[name], number)
    for number, symbol, unit, says in rows:
        why = reason(number)
        equation = written(number)[0] if number.symbol == symbol else number.symbol
        add(f"{says} Since {why}." if why else says, symbol, number, unit, equation)
    resistance = float(capacity.capacity) * carried / loads.factors.bearing
    add("Design bearing resistance.", "R_d", resistance, "kN/m", "q_ud * B′_d / γ_Rv")
    return steps


_ON_FORCES = (
    "permanent_unfavourable",
    "permanent_favourable",
    "variable_unfavourable",
    "variable_favourable",
    "structural_permanent_unfavourable",
)
_ON_STRENGTHS = ("tan_friction_angle", "cohesion")


def _governing(
    name: str,
    cases: Sequence[tuple[LoadCase, Numeric, Numeric]],
    loads: FactoredLoads,
    steps_of: Callable[[LoadCase], list[Step]],
    *,
    unit: str,
    says: str,
    used: tuple[str, ...],
) -> DesignLimitState:
    """The case of the highest utilisation, element by element."""
    stands = loads.stands
    effects, resistances = ([np.asarray(case[i], dtype=float) for case in cases] for i in (1, 2))
    shape = np.broadcast_shapes(stands.shape, *(one.shape for one in (*effects, *resistances)))
    effect, resistance = (
        np.stack([np.broadcast_to(one, shape) for one in side]) for side in (effects, resistances)
    )
    level = np.where(stands, utilisation(effect, resistance), np.inf)
    worst = np.argmax(level, axis=0)[None]

    def at_worst(table: Floats) -> Floats:
        governing: Floats = np.take_along_axis(table, worst, axis=0)[0]
        return governing[()]

    steps: list[Step] = []
    held = None
    if loads.scalar and bool(stands):
        case = cases[int(worst[0])][0]
        steps = [*loads.steps(case), *steps_of(case)]
        held = loads.check.under(0.0)
        steps += utilisation_step(name, float(at_worst(effect)), float(at_worst(resistance)))
    by_name = loads.factors.factors
    return DesignLimitState(
        effect=at_worst(effect),
        resistance=at_worst(resistance),
        utilisation=at_worst(level),
        unit=unit,
        says=says,
        set_name=loads.factors.name,
        factors={name: by_name[name] for name in (*_ON_FORCES, *_ON_STRENGTHS, *used)},
        steps=tuple(steps),
        held=held,
    )
