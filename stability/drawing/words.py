"""Numbers, soils and factors as they are written in a drawing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError
from slipmargin.strength.drawing.labels import written

__all__ = ["factor_words", "length", "numbers", "scalar", "shown", "soil_words"]


def scalar(place: str, value: Any) -> float:
    """A value as one number.

    Raises
    ------
    InputError
        An array of several: a drawing shows one case.
    """
    array = np.asarray(value, dtype=float)
    if array.size != 1:
        raise InputError(place, f"{array.size} values", "a drawing shows one case: one value each")
    return float(array.reshape(()))


def numbers(record: Any) -> Callable[[str], float]:
    """The fields of a record, each by its name as one number."""
    return lambda name: scalar(name, getattr(record, name))


def shown(value: float, unit: str) -> str:
    """A value to three or so figures, with its unit."""
    size = abs(value)
    digits = 0 if size >= 100.0 else 1 if size >= 10.0 else 2
    return f"{value:.{digits}f} {unit}".replace("-", "−", 1)


def length(value: float) -> str:
    """A length to the centimetre."""
    return f"{value:.2f} m".replace("-", "−")


def factor_words(result: CheckResult, limit_state: str) -> str:
    """A factor of safety as it stands in a drawing."""
    factor = scalar(limit_state, result.factors_of_safety[limit_state])
    return (
        f"factor of safety {factor_text(factor)}"
        if np.isfinite(factor)
        else "nothing drives a slide"
    )


def soil_words(soil: Soil, *, wet: bool = False, flat: bool = False) -> str:
    """Name, weights and strength of a soil; ``flat`` in two lines, for a thin layer."""
    weights = f"$\\gamma$ = {scalar('unit_weight', soil.unit_weight):.1f} kN/m³"
    if wet:
        below = scalar("saturated_unit_weight", soil.weight_below_water)
        weights += f", {below:.1f} below water" if flat else f",\n{below:.1f} kN/m³ below water"
    c = scalar("cohesion", soil.strength.cohesion)
    phi = scalar("friction_angle", soil.strength.friction_angle)
    strength = f"$c'$ = {c:.1f} kPa, $\\varphi'$ = {phi:.1f}°"
    if soil.strength.curve is not None:
        strength = "curved failure envelope"
    name = written(soil.name, 34)
    return f"{name}, {strength}\n{weights}" if flat else f"{name}\n{weights}\n{strength}"
