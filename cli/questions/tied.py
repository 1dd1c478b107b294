"""The other half of a fitted strength while one half is swept, as the tests tie the two."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.questions.one_field import OneField
from slipmargin.cli.questions.utilisations import with_gaps
from slipmargin.cli.scenario.read import Scenario
from slipmargin.cli.scenario.varied import VariedField
from slipmargin.stability import fields
from slipmargin.stability.uncertainty.replaced import SOIL_FIELDS, with_soil_strength
from slipmargin.stability.uncertainty.sweep import sweep

__all__ = ["Tied", "both_ways", "limits_of", "tied_to"]

_LEAST_ANGLE = 0.01
"""Least φ′ [deg] that is put into a check."""

_VALUES = 9
"""Of the swept half between its limits."""


@dataclass(frozen=True, slots=True)
class Tied:
    """Values of the swept half over its limits, and of the other half, which moves along.

    Far outside the limits nothing is tied: there the tests exclude every pair.
    """

    at: Any
    vary: str
    unit: str
    values: Any


def limits_of(scenario: Scenario, varied: VariedField) -> tuple[float, float] | None:
    """The limits that the fit gives a swept c′ or φ′; ``None`` where it gives none."""
    fit = varied.fit(scenario)
    if fit is None or fit.interval is None:
        return None
    interval = fit.interval
    return interval.cohesion if varied.path.field == "cohesion" else interval.friction_angle


def tied_to(scenario: Scenario, varied: VariedField) -> Tied | None:
    """What moves along with a swept c′ or φ′: of all lines that the tests allow, the mean of
    the other half, since a line turns about the middle of its tests.

    ``None`` where there is nothing to move along: another field, a strength that was stated,
    or c′ = 0.
    """
    fit, limits = varied.fit(scenario), limits_of(scenario, varied)
    if fit is None or limits is None or not fit.standard_error_cohesion or not fit.correlation:
        return None
    line = fit.plane.strength(fit.error_line.intercept, fit.error_line.slope)
    cohesion, tan = (float(half) for half in line)
    assert fit.standard_error_tan is not None
    ratio = fit.standard_error_cohesion / fit.standard_error_tan
    of_angle = varied.path.field == "friction_angle"
    at = np.linspace(max(limits[0], _LEAST_ANGLE if of_angle else 0.0), limits[1], _VALUES)
    if of_angle:
        other, rate = "cohesion", fit.correlation * ratio
        values = np.maximum(cohesion + rate * (np.tan(np.radians(at)) - tan), 0.0)
    else:
        other, rate = "friction_angle", fit.correlation / ratio
        tans = tan + rate * (at - cohesion)
        values = np.maximum(np.degrees(np.arctan(tans)), _LEAST_ANGLE)
    unit = fields.UNITS[SOIL_FIELDS[other].dimension]
    return Tied(at, f"soils.{varied.path.soil}.{other}", unit, values)


def both_ways(tied: Tied, one: OneField) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """Factors by limit state over the limits, the other half held, and moving along; nan where
    the check refuses a strength that the sweep itself need not hold.
    """
    path, other, count = one.varied.path, tied.vary.rpartition(".")[2], tied.at.size
    held = np.full(count, getattr(one.scenario.soils[path.soil].soil.strength, other))
    halves = {path.field: np.tile(tied.at, 2), other: np.append(held, tied.values)}

    def ask(part: slice) -> Mapping[str, Any]:
        pair = halves["cohesion"][part], halves["friction_angle"][part]
        check = with_soil_strength(one.entry.check, path.soil, *pair)
        return sweep(lambda _: check, pair[0]).factors_of_safety

    found = with_gaps(ask, 2 * count)
    return {s: f[:count] for s, f in found.items()}, {s: f[count:] for s, f in found.items()}
