"""Declares what a check takes and gives: symbol, unit, meaning, limits.

A declaration stands in the type of its field: ``depth: Annotated[Numeric, Amount(...)]``. It is
the only description of a field. Validation, the scenario schema, the sweep list, the JSON names,
the docstrings and the working are all read from it.
"""

from slipmargin.stability.fields.declared import (
    UNITS,
    USUAL_HEIGHT,
    Amount,
    Choice,
    Dimension,
    Flag,
    Given,
    Ground,
    Part,
    SoilField,
    given,
    given_if_any,
    json_name,
    of,
)
from slipmargin.stability.fields.held import (
    amounts,
    changed,
    elements,
    held_in,
    refuse,
    soils,
    validate,
)
from slipmargin.stability.fields.told import Described, described, documented

__all__ = [
    "UNITS",
    "USUAL_HEIGHT",
    "Amount",
    "Choice",
    "Described",
    "Dimension",
    "Flag",
    "Given",
    "Ground",
    "Part",
    "SoilField",
    "amounts",
    "changed",
    "described",
    "documented",
    "elements",
    "given",
    "given_if_any",
    "held_in",
    "json_name",
    "of",
    "refuse",
    "soils",
    "validate",
]
