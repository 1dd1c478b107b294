"""The working of a check, read from the declarations of its inputs and its values.

Every number comes from the record that made the answer; nothing is computed again.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from stability import fields
from stability.result import Check, CheckResult
from strength.working import Step, put_numbers_in, symbols_in

__all__ = ["given_steps", "result_steps"]


def _scalar(value: Any) -> float | None:
    if value is None:
        return None
    values = np.asarray(value, dtype=float)
    return float(values) if values.ndim == 0 else None


def given_steps(check: Check) -> list[Step]:
    """What the check was given, soils included."""
    return _given(check)


def _given(record: Any) -> list[Step]:
    steps: list[Step] = []
    for name, declaration, _ in fields.of(record):
        held = getattr(record, name)
        if held is None:
            continue
        match declaration:
            case fields.Amount():
                value = _scalar(held)
                if value is not None:
                    steps.append(
                        Step(declaration.says, declaration.symbol, value, declaration.unit)
                    )
            case fields.SoilField(suffix=suffix):
                steps += _soil_steps(held, suffix)
            case fields.Part(many=False):
                steps += _given(held)
            case _:
                pass
    return steps


def _soil_steps(soil: Any, suffix: str) -> list[Step]:
    curve = soil.strength.curve
    strength: tuple[tuple[str, str, Any, str], ...] = (
        ("Effective cohesion", "c′", soil.strength.cohesion, "kPa"),
        ("Effective friction angle", "φ′", soil.strength.friction_angle, "deg"),
    )
    if curve is not None:
        # no equation that holds c′ and φ′ was used along a curve, so they are not given
        strength = (
            ("Reference pressure of the curved envelope", "p_a", curve.reference_pressure, "kPa"),
            ("Coefficient of the curved envelope", "A_e", curve.coefficient, ""),
            ("Exponent of the curved envelope", "m_e", curve.exponent, ""),
        )
    rows = (
        *strength,
        ("Unit weight above water", "γ", soil.unit_weight, "kN/m³"),
        ("Unit weight below water", "γ_sat", soil.weight_below_water, "kN/m³"),
    )
    steps = []
    for says, symbol, held, unit in rows:
        value = _scalar(held)
        if value is not None:
            steps.append(Step(f"{says} of {soil.name}.", symbol + suffix, value, unit))
    return steps


def result_steps(check: Check, result: CheckResult) -> list[Step]:
    """How the values follow, one step a declared value, in order.

    A value without an equation is stated: it comes from geometry or from a search. A value
    that does not exist in this case is left out.
    """
    known = {step.symbol: step.value for step in given_steps(check)}
    steps = []
    for name, declaration, _ in fields.of(result.values):
        value = _scalar(getattr(result.values, name))
        if value is None or math.isnan(value):
            continue
        equation = substituted = ""
        if declaration.equation and all(s in known for s in symbols_in(declaration.equation)):
            equation = declaration.equation
            substituted = put_numbers_in(equation, known)
        known[declaration.symbol] = value
        steps.append(
            Step(
                declaration.says,
                declaration.symbol,
                value,
                declaration.unit,
                equation,
                substituted,
                declaration.source,
            )
        )
    return steps
