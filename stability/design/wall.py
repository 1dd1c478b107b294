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

Every one is also looked at without the surcharge, and the worse counts.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.design.partial_factors import SYMBOLS, FactorSet
from slipmargin.stability.design.result import DesignLimitState, utilisation, utilisation_step
from slipmargin.stability.design.wall_loads import WATER, FactoredLoads, LoadCase
from slipmargin.stability.retaining_wall.balance import bearing_on_base
from slipmargin.stability.retaining_wall.bearing_equations import BaseLoad, inclination_equations
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.equilibrium import base_reaction
from slipmargin.strength import Numeric
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
    for pressing in (True, False):
        for case in loads.cases(pressing=pressing):
            sums = loads.sums(case)
            reaction = base_reaction(sums.vertical, sums.righting, sums.overturning, width)
            _, _, factor, _, _ = bearing_on_base(
                loads.check, loads.section, sums.vertical, sums.horizontal, reaction
            )
            down = np.maximum(sums.vertical, 0.0)
            # nothing presses: the wall floats, which is no pass
            carried = np.where(sums.vertical > 0.0, factor * down / loads.factors.bearing, 0.0)
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
    soil = loads.check.foundation.strength
    base = BaseLoad(
        vertical=down.value,
        horizontal=max(out.value, 0.0),
        held=float(soil.cohesion) * carried,
        load="E_d",
        push="H_d",
        width="B′_d",
        mark="d",
    )
    capacity, _, factor, _, _ = bearing_on_base(
        loads.check, loads.section, down.value, out.value, reaction
    )
    known = loads.known | {
        "φ′_2": float(soil.friction_angle),
        "c′_2": float(soil.cohesion),
        "π": math.pi,
        SYMBOLS["bearing"]: loads.factors.bearing,
    }
    known |= {step.symbol: step.value for step in steps}

    def add(says: str, symbol: str, value: Numeric, unit: str, equation: str) -> None:
        known[symbol] = float(np.asarray(value))
        shown = put_numbers_in(equation, known) if equation else ""
        steps.append(Step(says, symbol, known[symbol], unit, equation, shown))

    distance = "(M_rd - M_od) / E_d"
    add("Resultant from the toe.", "x_Rd", reaction.resultant_distance, "m", distance)
    add("Effective width.", "B′_d", carried, "m", "B - 2 * abs(B / 2 - x_Rd)")
    tilts = capacity.inclination
    follows = inclination_equations(loads.check.bearing_method, float(soil.friction_angle), base)
    for name, value, one in zip(
        ("i_qd", "i_cd", "i_γd"),
        (tilts.overburden, tilts.cohesion, tilts.weight),
        follows,
        strict=True,
    ):
        add(f"Inclination factor. {one.words}".strip(), name, value, "", one.equation)
    add(
        "Ultimate bearing pressure on the effective width.",
        "q_ud",
        capacity.capacity,
        "kPa",
        "c′_2 * N_c * s_c * d_c * i_cd + q_0 * N_q * s_q * d_q * i_qd"
        " + 0.5 * γ_b * B′_d * N_γ * s_γ * d_γ * i_γd",
    )
    resistance = float(factor) * down.value / loads.factors.bearing
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
        held = dataclasses.replace(loads.check, surcharge=0.0)
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
