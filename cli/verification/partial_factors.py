"""Runs the check values of the bases of design: partial factors and customary factors."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.stability.design.basis import CUSTOMARY_TARGETS, design_check
from slipmargin.stability.design.partial_factors import (
    ACTIONS,
    DESIGN_APPROACHES,
    EQUILIBRIUM,
    RECOMMENDED,
    SLOPE_RESISTANCES,
    STRENGTHS,
    WALL_RESISTANCES,
    design_friction_angle,
)
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]

_SYMBOLS = {
    "G_unfav": "permanent_unfavourable",
    "G_fav": "permanent_favourable",
    "Q_unfav": "variable_unfavourable",
    "Q_fav": "variable_favourable",
    "tan_phi": "tan_friction_angle",
    "c": "cohesion",
    "cu": "undrained_strength",
    "bearing": "bearing",
    "sliding": "sliding",
    "earth": "earth_resistance",
    "slope": "slope_resistance",
}


def annex_a(i: Inputs) -> Found:
    """The tables of Annex A, each in the order of the symbols given."""
    tables = {**ACTIONS, **STRENGTHS, **WALL_RESISTANCES}
    found: dict[str, Any] = {
        name: [tables[name][_SYMBOLS[symbol]] for symbol in symbols] for name, symbols in i.items()
    }
    return found | {"R_slopes": [one["slope_resistance"] for one in SLOPE_RESISTANCES.values()]}


def design_approaches(_: Inputs) -> Found:
    """Numbers of the tables combined, and in DA3 the factor on structural weight."""
    combined: dict[str, Any] = {
        name: [int(table[1:]) for table in tables] for name, tables in DESIGN_APPROACHES.items()
    }
    structural = RECOMMENDED["DA3"].factors["structural_permanent_unfavourable"]
    return combined | {"DA3_structural": structural}


def equilibrium(i: Inputs) -> Found:
    """Factors for loss of static equilibrium."""
    return {symbol: EQUILIBRIUM.factors[name] for symbol, name in i["names"].items()}


def sets_for_slopes(i: Inputs) -> Found:
    """Factors of each design approach, by its name and the factor's."""
    return {
        f"{approach}_{symbol}": RECOMMENDED[approach].factors[_SYMBOLS[symbol]]
        for approach, symbols in i.items()
        for symbol in symbols
    }


def ec7_design_phi(i: Inputs) -> Found:
    """Design friction angle."""
    return {"phi_d": design_friction_angle(np.array(i["phi_k"]), i["gamma_phi"])}


def infinite_slope_used_up(i: Inputs) -> Found:
    """Utilisation of a slope with the cohesion that is read; u = r_u γ z cos²β."""
    gamma, depth = 20.0, 2.5
    strength = Strength(cohesion=i["Nk"] * gamma * depth, friction_angle=i["phi"])
    check = InfiniteSlope(
        soil=Soil(strength=strength, unit_weight=gamma),
        slope_angle=math.degrees(math.atan(1.0 / i["cot"])),
        depth=depth,
        water_table_depth=0.0,
        water_unit_weight=i["ru"] * gamma,
    )
    return {
        name: design_check(check, RECOMMENDED[name]).utilisation["sliding"] for name in i["sets"]
    }


def customary(_: Inputs) -> Found:
    """Least factors of safety that a basis without targets takes."""
    return {name: one.value for name, one in CUSTOMARY_TARGETS.items()}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        annex_a,
        design_approaches,
        equilibrium,
        sets_for_slopes,
        ec7_design_phi,
        infinite_slope_used_up,
        customary,
    )
}
"""By the name a row calls it."""
