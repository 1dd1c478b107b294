"""Every check under every interpretation of the same laboratory data."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.as_json import SCHEMA, by_state, notices, number, targets_asked
from slipmargin.cli.files import table_csv
from slipmargin.cli.questions.as_used import as_used, quick
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.utilisations import (
    Levels,
    answers,
    flat,
    level_columns,
    level_fields,
    level_headers,
    levels_of,
    parted,
)
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SoilEntry
from slipmargin.cli.words import CAUTION
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.uncertainty.sweep import with_soil_strength, with_strength
from slipmargin.strength import InputError, Interpretation, Notice, Pair, Strength

__all__ = ["CheckInterpretations", "interpret", "interpretations_csv", "interpretations_document"]

_PAIR = ("cohesion", "friction_angle")


@dataclass(frozen=True, slots=True)
class Row:
    """One interpretation of one soil, and the factors it gives."""

    soil: str
    reading: Interpretation
    factors: Mapping[str, float]
    levels: Levels


@dataclass(frozen=True, slots=True)
class CheckInterpretations:
    """One check under every interpretation of its soils."""

    entry: CheckEntry
    rows: tuple[Row, ...]
    notices: tuple[Notice, ...]


def _readings_of(soil: SoilEntry, stress: float | None) -> list[Interpretation]:
    strength = soil.soil.strength
    used = Interpretation(
        "as used", float(strength.cohesion), float(strength.friction_angle), soil.value
    )
    if soil.laboratory is None:
        others = [
            Interpretation(f"stated by {who}", float(p.cohesion), float(p.friction_angle), "")
            for who, p in soil.stated_by.items()
        ]
        return [used, *others]
    return [used, *soil.laboratory.interpretations(stress)]


def interpret(scenario: Scenario) -> list[CheckInterpretations]:
    """Every check under every interpretation of the data of its soils, one soil at a time.

    Raises
    ------
    FileError
        An interpretation that a check cannot use.
    """
    found = []
    for entry in scenario.checks:
        if not entry.check.LIMIT_STATES:
            continue
        used = as_used(entry.check, entry.check.SLOW)
        answer = answers(scenario, entry.check)
        first: dict[Any, Any] = {**quick(entry.check), **flat(levels_of(scenario, entry.check))}
        stress = _operating_stress(used)
        rows = []
        for name in dict.fromkeys(entry.soils.values()):
            readings = _readings_of(scenario.soils[name], stress)
            others = [reading for reading in readings if reading.name != "as used"]
            try:
                taken = _taken(answer, entry.check, name, others)
            except InputError as error:
                place = f"checks ({entry.label}), {name}"
                raise FileError(scenario.path, error.within(place)) from None
            own = [reading for reading in readings if reading.name == "as used"]
            strength = scenario.soils[name].soil.strength
            if strength.curve is not None:
                own = [_pair_of_curve(reading, strength, used) for reading in own]
            for reading, factors in [*((one, first) for one in own), *taken]:
                rows.append(Row(name, reading, *parted({k: float(v) for k, v in factors.items()})))
        said = owed(scenario, entry, first, by_sets=True)
        found.append(CheckInterpretations(entry, tuple(rows), said))
    return found


def _taken(
    answer: Callable[[Check], dict[Any, Any]],
    check: Check,
    soil: str,
    readings: Sequence[Interpretation],
) -> list[tuple[Interpretation, Mapping[Any, Any]]]:
    """Each reading of one soil with the factors of the check.

    A curve is given with the pair that the check takes of it.

    Raises
    ------
    InputError
        Naming the first reading that the check cannot use.
    """
    if not readings:
        return []

    def along(reading: Interpretation, curve: Strength) -> tuple[Interpretation, Mapping[Any, Any]]:
        bent = with_strength(check, soil, curve)
        alone = bent.evaluate(leave_out=bent.limit_states)
        return _pair_of_curve(reading, curve, alone), answer(bent)

    def run(some: Sequence[Interpretation]) -> list[Mapping[Any, Any]]:
        pair = [np.array([getattr(row, field) for row in some]) for field in _PAIR]
        found = answer(with_soil_strength(check, soil, *pair))
        factors = {
            state: np.broadcast_to(np.asarray(value, dtype=float), (len(some),))
            for state, value in found.items()
        }
        return [{state: f[i] for state, f in factors.items()} for i in range(len(some))]

    straight = [reading for reading in readings if reading.curve is None]
    try:
        lines = iter(run(straight) if straight else [])
        # a curve is a strength of its own kind, and has a call of its own
        return [
            (one, next(lines)) if one.curve is None else along(one, one.curve) for one in readings
        ]
    except InputError:
        for reading in readings:
            try:
                if reading.curve is None:
                    run([reading])
                else:
                    along(reading, reading.curve)
            except InputError as error:
                raise error.within(reading.name) from None
        raise


def _pair_of_curve(
    reading: Interpretation, strength: Strength, result: CheckResult
) -> Interpretation:
    """The reading with the pair that stands for the curve in a check."""
    stress = _operating_stress(result)
    if stress is None or strength.curve is None:
        pair, how = Pair(strength.cohesion, strength.friction_angle), "chord over the tested range"
    else:
        pair, how = (
            strength.curve.tangent_at(stress),
            f"tangent at {stress:.1f} kPa, where it slides",
        )
    return dataclasses.replace(
        reading,
        cohesion=float(pair.cohesion),
        friction_angle=float(pair.friction_angle),
        note=f"{reading.note.partition(',')[0]}, {how}",
    )


def _operating_stress(used: CheckResult) -> float | None:
    """Effective normal stress on the plane of a check that has one [kPa]."""
    stress = getattr(used.values, "effective_normal_stress", None)
    if stress is None or np.ndim(stress) != 0:
        return None
    value = float(stress)
    return value if math.isfinite(value) and value > 0.0 else None


def interpretations_document(found: Sequence[CheckInterpretations]) -> dict[str, Any]:
    """The document of ``interpretations``."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "checks": [
            {
                "label": one.entry.label,
                **targets_asked(one.entry),
                "notices": notices(one.notices),
                "interpretations": [
                    {
                        "name": row.reading.name,
                        "soil": row.soil,
                        "cohesion_kpa": number(row.reading.cohesion),
                        "friction_angle_deg": number(row.reading.friction_angle),
                        "factors_of_safety": by_state(row.factors),
                        **level_fields(row.levels),
                        "note": row.reading.note,
                    }
                    for row in one.rows
                ],
            }
            for one in found
        ],
    }


def interpretations_csv(found: Sequence[CheckInterpretations]) -> str:
    """One row a check, soil, interpretation and limit state."""
    header = ["check", "soil", "interpretation", "cohesion_kpa", "friction_angle_deg"]
    sets = level_headers([row.levels for one in found for row in one.rows])
    rows = [
        [
            one.entry.label,
            row.soil,
            row.reading.name,
            row.reading.cohesion,
            row.reading.friction_angle,
            state,
            factor,
            *level_columns(row.levels, state, sets),
        ]
        for one in found
        for row in one.rows
        for state, factor in row.factors.items()
    ]
    columns = [f"utilisation {name}" for name in sets]
    return table_csv([*header, "limit_state", "factor_of_safety", *columns], rows)
