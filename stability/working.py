"""The working of a check, read from the declarations of its inputs and its values.

Every number comes from the record that made the answer; nothing is computed again.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import Check, CheckResult
from slipmargin.strength.expression import reason, written
from slipmargin.strength.traced import Traced, named, traced_copy
from slipmargin.strength.working import Step, put_numbers_in, symbols_in

__all__ = ["given_steps", "result_steps", "traced", "working_of"]

_NOTHING = 1e-9
_LEFT_OUT = "Left out, since nothing causes them here; above they count as 0: {}."


def _scalar(value: Any) -> float | None:
    if value is None:
        return None
    values = np.asarray(value, dtype=float)
    return float(values) if values.ndim == 0 else None


def given_steps(record: Any, number: str = "") -> list[Step]:
    """What a check, or a group of fields, was given, soils included; of several layers or loads
    each with its ``number`` behind the symbol.
    """
    steps: list[Step] = []
    for name, declaration, _ in fields.of(record):
        held = getattr(record, name)
        if held is None:
            continue
        match declaration:
            case fields.Amount() if not isinstance(held, str):
                value = _scalar(held)
                if value is not None:
                    symbol = declaration.symbol + number
                    steps.append(Step(declaration.says, symbol, value, declaration.unit))
            case fields.SoilField(suffix=suffix, along_curve=along):
                steps += _soil_steps(held, suffix + number, along_curve=along)
            case fields.Part(many=False):
                steps += given_steps(held, number)
            case fields.Part(many=True):
                for index, one in enumerate(held, start=1):
                    steps += given_steps(one, f"_{index}")
            case _:
                pass
    return steps


def _soil_steps(soil: Any, suffix: str, *, along_curve: bool) -> list[Step]:
    curve = soil.strength.curve
    chord = ", by the chord of its curve" if curve is not None else ""
    strength: tuple[tuple[str, str, Any, str], ...] = (
        ("Effective cohesion", "c′", soil.strength.cohesion, "kPa"),
        ("Effective friction angle", "φ′", soil.strength.friction_angle, "deg"),
    )
    if curve is not None and along_curve:
        # no equation that holds c′ and φ′ was used along a curve, so they are not given
        chord = ""
        strength = (
            ("Reference pressure of the curved envelope", "p_a", curve.reference_pressure, "kPa"),
            ("Coefficient of the curved envelope", "A_e", curve.coefficient, ""),
            ("Exponent of the curved envelope", "m_e", curve.exponent, ""),
        )
    rows = (
        *((says, symbol, held, unit, chord) for says, symbol, held, unit in strength),
        ("Unit weight above water", "γ", soil.unit_weight, "kN/m³", ""),
        ("Unit weight below water", "γ_sat", soil.weight_below_water, "kN/m³", ""),
    )
    steps = []
    for says, symbol, held, unit, how in rows:
        value = _scalar(held)
        if value is not None:
            steps.append(Step(f"{says} of {soil.name}{how}.", symbol + suffix, value, unit))
    return steps


def traced(check: Any, number: str = "") -> Any:
    """The check, all scalar, with every number under its symbol, so that its kernel says what it
    does; ``number`` ends the symbols of one of several like it.
    """
    symbols: dict[str, str] = {}
    parts: dict[str, Any] = {}
    for name, declaration, _ in fields.of(check):
        held = getattr(check, name)
        if held is None:
            continue
        match declaration:
            case fields.Amount(symbol=symbol) if not isinstance(held, str):
                symbols[name] = symbol + number
            case fields.SoilField(suffix=suffix):
                parts[name] = _traced_soil(held, suffix + number)
            case fields.Part(many=False):
                parts[name] = traced(held, number)
            case fields.Part(many=True):
                parts[name] = tuple(traced(one, f"_{at}") for at, one in enumerate(held, start=1))
            case _:
                pass
    return traced_copy(check, symbols, parts)


def _traced_soil(soil: Any, end: str) -> Any:
    parts: dict[str, Any] = {}
    pair = {"cohesion": "c′" + end, "friction_angle": "φ′" + end}
    if soil.strength.curve is not None:
        names = {"reference_pressure": "p_a", "coefficient": "A_e", "exponent": "m_e"}
        curve = {name: symbol + end for name, symbol in names.items()}
        parts["curve"] = traced_copy(soil.strength.curve, curve, {})
    strength = traced_copy(soil.strength, pair, parts)
    weights = {"unit_weight": "γ" + end, "saturated_unit_weight": "γ_sat" + end}
    return traced_copy(soil, weights, {"strength": strength})


def _followed(check: Any, values: Any, out: set[str]) -> dict[str, Any]:
    """Each value as the kernel of the check gives it; ``out`` names what is left out."""
    found = {
        name: Traced(held, symbol=declaration.symbol)
        for name, declaration, _ in fields.of(values)
        if (held := _scalar(getattr(values, name))) is not None
    }
    again = traced(check).follow(traced_copy(values, {}, found))
    # one number under two names goes by that which is printed
    for name, declaration, _ in sorted(fields.of(again), key=lambda one: one[0] in out):
        named(declaration.symbol, getattr(again, name))
    return {name: getattr(again, name) for name, _, _ in fields.of(again)}


def _told(declaration: fields.Given, number: Any) -> tuple[str, str, str]:
    """How a value follows: equation, words in its place, source."""
    source, words = declaration.source, declaration.origin
    if not isinstance(number, Traced):
        return "", words, source
    if isinstance(number.case, str) and number.symbol == declaration.symbol:
        return "", number.case, source
    equation = written(number)[0]
    if number.symbol != declaration.symbol:
        # it is one that has a name already
        equation = number.symbol
    if case := reason(number):
        words = f"Since {case}."
    if equation == declaration.symbol:
        equation, words = "", "As given."
    elif not any(map(str.isalpha, equation)):
        equation = ""  # a number and nothing else
    return equation, words, number.source or source


def result_steps(check: Check, result: CheckResult) -> list[Step]:
    """How the values follow, one step a declared value, in order; none for arrays.

    A step without an equation says in words where its value comes from. Left out are a value
    that does not exist in this case, and one that hangs on something that is not there: see
    :func:`working_of`.
    """
    return working_of(check, result)[0]


def working_of(check: Check, result: CheckResult) -> tuple[list[Step], str]:
    """The steps, and a sentence that names the values they leave out because nothing causes
    them, as the thrust of water in a dry case; empty where there are none.
    """
    declared = list(fields.of(result.values))
    held = {name: _scalar(getattr(result.values, name)) for name, _, _ in declared}
    if None in held.values():
        return [], ""
    known = {step.symbol: step.value for step in given_steps(check)} | {"π": math.pi}
    at: dict[str, dict[str, float]] = {}
    left: dict[str, str] = {}
    for name, declaration, _ in declared:
        value, symbol = held[name], declaration.symbol
        if value is None or math.isnan(value):
            continue
        known_here = known | {symbol: value}
        hangs_on = declaration.hangs_on
        if hangs_on and all(abs(known_here.get(one, 0.0)) < _NOTHING for one in hangs_on):
            # where an input has the same symbol, it is the input that stands in the lines
            known.setdefault(symbol, 0.0)
            left[name] = symbol
        else:
            at[name] = dict(known)
            known[symbol] = value
    followed = _followed(check, result.values, set(left)) if at else {}
    steps = [
        _step(declaration, float(getattr(result.values, name)), followed[name], at[name])
        for name, declaration, _ in declared
        if name in at
    ]
    return steps, _LEFT_OUT.format(", ".join(left.values())) if left else ""


def _step(declaration: fields.Given, value: float, number: Any, known: dict[str, float]) -> Step:
    equation, words, source = _told(declaration, number)
    numbers = [known.get(symbol, math.nan) for symbol in symbols_in(equation)]
    substituted = ""
    if equation and all(map(math.isfinite, numbers)):
        substituted, words = put_numbers_in(equation, known), ""
    return Step(
        f"{declaration.says} {words}".rstrip(),
        declaration.symbol,
        value,
        declaration.unit,
        equation if substituted else "",
        substituted,
        source,
    )
