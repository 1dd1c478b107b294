"""Questions about the sizes of a check and the soils it names that look like a slip."""

from __future__ import annotations

from typing import Any

from slipmargin.stability import fields
from slipmargin.strength import Notice
from slipmargin.strength.rare_values import rare_value

__all__ = ["rare_values"]


def rare_values(check: Any) -> tuple[Notice, ...]:
    """What lies outside its usual range in a check and its soils; arrays are left alone."""
    found = []
    for path, declaration, value in fields.amounts(check):
        words = path.replace("_", " ").replace(".", " ")
        found += rare_value(words, value, declaration.unit, declaration.usual_range)
    for soil in fields.soils(check):
        found += soil.rare_values()
    return tuple(found)
