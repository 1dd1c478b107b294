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
from itertools import product
from typing import Any

import numpy as np

from stability import fields
from stability.design_notices import untouched_by_level
from stability.design_result import DesignLimitState, utilisation, with_design_strengths
from stability.partial_factors import FactorSet
from strength import Notice, Numeric

__all__ = ["design_slope"]

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


def design_slope(
    check: Any, factors: FactorSet
) -> tuple[dict[str, DesignLimitState], list[Notice]]:
    """Degrees of utilisation of a slope under one set, and the notices of its checks.

    Parameters
    ----------
    check
        An infinite slope, a planar wedge or a rotational slide; scalars or arrays.
    factors
        The set.
    """
    unfavourable = factors.permanent_unfavourable
    reduced = dataclasses.replace(with_design_strengths(check, factors), target=None)
    shares = {
        "surcharge": (factors.variable_unfavourable, factors.variable_favourable),
        "support_force": (factors.permanent_favourable, unfavourable),
    }
    acting = {
        name: sorted({share / unfavourable for share in pair}, reverse=True)
        for name, pair in shares.items()
        if name in {entry for entry, _, _ in fields.of(check)}
        and np.any(np.asarray(getattr(check, name)) > 0.0)
    }
    lowest: dict[str, Numeric] = {}
    notices: list[Notice] = []
    for shares_now in product(*acting.values()):
        loads = {
            name: np.asarray(getattr(check, name)) * share
            for name, share in zip(acting, shares_now, strict=True)
        }
        result = dataclasses.replace(reduced, **loads).evaluate()
        notices += untouched_by_level(result)
        for name, factor in result.factors_of_safety.items():
            lowest[name] = np.minimum(lowest.get(name, np.inf), factor)
    asked = unfavourable * factors.slope_resistance
    states = {
        name: DesignLimitState(
            effect=np.asarray(asked),
            resistance=factor,
            utilisation=utilisation(asked, factor),
            unit="",
            says=_SAYS,
            set_name=factors.name,
            factors={one: factors.factors[one] for one in _FACTORS},
        )
        for name, factor in lowest.items()
    }
    return states, notices
