"""Sliding of a slope under partial factors.

A slope has a single source: its weight drives and resists at once, and no part of it can be
told from the other. γ_G therefore multiplies the effect of all actions as a whole,

    degree of utilisation = γ_G γ_R;e / F

with F the factor of safety for design strengths, the surcharge multiplied by γ_Q / γ_G and a
support force by γ_G,fav / γ_G. Where γ_φ′ = γ_c′ = 1 this asks for a factor of safety of
γ_G γ_R;e, as Bond & Harris (2008), Decoding Eurocode 7, ch. 9, note (from memory). Each of
these loads stands linearly above and below the line of F, so that the least F over a range
of it lies at an end: the favourable and the unfavourable end are both evaluated, and the
worse counts. Water, and shaking where there is any, are permanent actions.

Source: EN 1997-1:2004, 2.4.7.3, with 2.4.2(9) for the single source (from memory).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping
from itertools import product
from typing import Any

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.design.notices import untouched_by_level
from slipmargin.stability.design.partial_factors import SYMBOLS, FactorSet
from slipmargin.stability.design.result import (
    DesignLimitState,
    utilisation,
    utilisation_step,
    with_design_strengths,
)
from slipmargin.strength import Notice, Numeric
from slipmargin.strength.traced import some
from slipmargin.strength.working import Step, Working

__all__ = ["design_slope", "ground_state"]

_SAYS = "factor asked for, γ_G γ_R;e, against the factor of safety for design strengths and loads"
_FACTORS = (
    "permanent_unfavourable",
    "permanent_favourable",
    "variable_unfavourable",
    "variable_favourable",
    "tan_friction_angle",
    "cohesion",
    "slope_resistance",
)

_ON_LOADS = {
    "surcharge": ("variable_unfavourable", "variable_favourable"),
    "support_force": ("permanent_favourable", "permanent_unfavourable"),
}
"""Factors on the loads that can be told from the rest, and help or hinder."""


def design_slope(
    check: Any, factors: FactorSet, leave_out: Collection[str] = ()
) -> tuple[dict[str, DesignLimitState], list[Notice]]:
    """Degrees of utilisation of a slope, scalars or arrays, under one set, and the notices of its
    checks.
    """
    unfavourable = factors.permanent_unfavourable
    reduced = dataclasses.replace(with_design_strengths(check, factors), target=None)
    acting = {
        name: names
        for name, names in _ON_LOADS.items()
        if name in {entry for entry, _, _ in fields.of(check)} and some(getattr(check, name) > 0.0)
    }
    lowest: dict[str, Numeric] = {}
    governing: dict[str, tuple[Any, list[Step]]] = {}
    notices: list[Notice] = []
    for chosen in product(*acting.values()):
        used = dict(zip(acting, chosen, strict=True))
        loads = {
            name: np.asarray(getattr(check, name)) * (factors.factors[one] / unfavourable)
            for name, one in used.items()
        }
        held = dataclasses.replace(reduced, **loads)
        result = held.evaluate(leave_out=leave_out)
        notices += untouched_by_level(result)
        for name, factor in result.factors_of_safety.items():
            if np.ndim(factor) == 0 and float(factor) < float(lowest.get(name, np.inf)):
                own = held.behind(name)
                governing[name] = own, _load_steps(own, check, factors, used)
            lowest[name] = np.minimum(lowest.get(name, np.inf), factor)
    states = {}
    for name, factor in lowest.items():
        own, before = governing.get(name, (None, []))
        state = ground_state(name, factors, factor, _FACTORS, _SAYS)
        steps = (*before, *state.steps) if own is not None else ()
        states[name] = dataclasses.replace(state, steps=steps, held=own)
    return states, notices


def _load_steps(held: Any, check: Any, factors: FactorSet, used: Mapping[str, str]) -> list[Step]:
    """The loads on the check with design strengths that do not stay as they are; scalars only."""
    out = Working()
    for name, declaration, _ in fields.of(held):
        if name not in used:
            continue
        symbol, by = declaration.symbol, SYMBOLS[used[name]]
        force, whole = float(np.asarray(getattr(check, name))), factors.permanent_unfavourable
        out.known |= {symbol: force, "γ_G": whole, by: factors.factors[used[name]]}
        says = f"Design value that stands for {symbol} in the factor of safety."
        value = factors.factors[used[name]] / whole * force
        out.add(says, f"{symbol}_d", value, declaration.unit, f"{by} / γ_G * {symbol}")
    return out.steps


def ground_state(
    name: str, factors: FactorSet, factor: Numeric, used: Iterable[str], says: str
) -> DesignLimitState:
    """The limit state of ground with a factor of safety for design strengths and loads; ``used``
    names the factors in it.
    """
    asked = factors.permanent_unfavourable * factors.slope_resistance
    steps: list[Step] = []
    if np.ndim(factor) == 0 and np.isfinite(factor):
        out = Working()
        out.known |= {"γ_G": factors.permanent_unfavourable, "γ_Re": factors.slope_resistance}
        out.add("Factor asked for.", "E_d", asked, "", "γ_G * γ_Re")
        out.add("Factor of safety for design strengths and loads.", "R_d", factor)
        steps = [*out.steps, *utilisation_step(name, asked, float(factor))]
    return DesignLimitState(
        effect=np.asarray(asked),
        resistance=factor,
        utilisation=utilisation(asked, factor),
        unit="",
        says=says,
        set_name=factors.name,
        factors={one: factors.factors[one] for one in used},
        steps=tuple(steps),
    )
