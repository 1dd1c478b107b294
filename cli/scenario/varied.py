"""Finds the numeric fields of a scenario by path, and reads values for them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from slipmargin.cli.scenario.paths import FieldPath, field_path
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.scenario.readers import nearest
from slipmargin.stability import Check, fields
from slipmargin.stability.uncertainty.replaced import (
    SOIL_FIELDS,
    no_pair,
    with_field,
    with_soil_field,
)
from slipmargin.strength import EnvelopeFit, InputError, Numeric
from slipmargin.strength.quantities import NUMBER, parse

__all__ = ["VariedField", "find_field", "read_value"]

_COUNT = re.compile(r"[0-9]{1,6}")


@dataclass(frozen=True, slots=True)
class VariedField:
    """A field, where it stands, its limits, and the checks it moves.

    ``put`` gives a check with a value in the field.
    """

    path: FieldPath
    limits: fields.Amount
    put: Callable[[Check, Numeric], Check]
    entries: tuple[CheckEntry, ...]

    @property
    def dimension(self) -> fields.Dimension:
        """Kind of quantity."""
        return self.limits.dimension

    def fit(self, scenario: Scenario) -> EnvelopeFit | None:
        """The fit that the field is one half of; ``None`` for any other field."""
        if not self.path.soil or self.path.field not in ("cohesion", "friction_angle"):
            return None
        return scenario.soils[self.path.soil].fit


def find_field(scenario: Scenario, vary: str, *, place: str = "vary") -> VariedField:
    """Find a field by the path a scenario names it with. ``InputError``: no such field, no check
    with a factor of safety that it moves, or cohesion or friction angle of a curved envelope.
    """
    labels = {entry.label: entry for entry in scenario.checks}
    path = field_path(vary, scenario.soils, labels, place=place)
    if path.label:
        one = labels[path.label]
        limits = _limits(one.check, path.steps, vary, place)
        if not one.check.LIMIT_STATES:
            raise InputError(place, vary, "this check has no factor of safety to vary")
        return VariedField(path, limits, lambda of, v: with_field(of, path.steps, v), (one,))
    name, field = path.soil, path.field
    if field not in SOIL_FIELDS:
        raise InputError(place, vary, f"unknown field; {nearest(field, list(SOIL_FIELDS))}")
    entries = tuple(entry for entry in scenario.judged if name in entry.soil_names)
    if not entries:
        raise InputError(place, vary, "no check with a factor of safety uses this soil")
    if field in ("cohesion", "friction_angle") and scenario.soils[name].soil.strength.curve:
        raise no_pair(vary)
    return VariedField(
        path, SOIL_FIELDS[field], lambda of, v: with_soil_field(of, name, field, v), entries
    )


def _limits(record: Any, path: tuple[str, ...], vary: str, place: str) -> fields.Amount:
    known = {name: declaration for name, declaration, _ in fields.of(record)}
    declaration = known.get(path[0])
    if isinstance(declaration, fields.Amount) and len(path) == 1:
        return declaration
    if isinstance(declaration, fields.Part) and len(path) > 1:
        inner, rest = getattr(record, path[0]), path[1:]
        if declaration.many:
            if not (_COUNT.fullmatch(rest[0]) and int(rest[0]) < len(inner) and len(rest) > 1):
                raise InputError(place, vary, f"write {path[0]}.0.FIELD for the first of the list")
            inner, rest = inner[int(rest[0])], rest[1:]
        if inner is not None:
            return _limits(inner, rest, vary, place)
    numeric = [name for name, kind in known.items() if isinstance(kind, fields.Amount)]
    raise InputError(place, vary, f"unknown field; {nearest(path[0], numeric)}")


def read_value(text: str | float, dimension: fields.Dimension, place: str) -> float:
    """A value for a field: with its unit, or a bare number for a ratio."""
    value: object = text
    if dimension == "ratio" and isinstance(text, str) and NUMBER.fullmatch(text.strip()):
        value = float(text)
    return parse(value, dimension, place).value
