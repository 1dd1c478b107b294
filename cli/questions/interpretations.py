"""Every check under every interpretation of the same laboratory data."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Factor, Table, Words
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.as_used import as_used
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.result import Result, factors_csv, notices_at, of_check, of_its_file
from slipmargin.cli.questions.utilisations import (
    Levels,
    answers,
    flat,
    highest,
    levels_of,
    parted,
)
from slipmargin.cli.scenario.files import within
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.uncertainty.field_words import soil_words
from slipmargin.stability.uncertainty.replaced import with_soil_strength, with_strength
from slipmargin.strength import InputError, Interpretation, Notice, Pair, Strength

__all__ = ["CheckInterpretations", "Interpretations", "Row", "interpret"]

_PAIR = ("cohesion", "friction_angle")


@dataclass(frozen=True, slots=True)
class Row:
    """One interpretation of one soil, and the factors it gives."""

    soil: str
    reading: Interpretation
    factors: Mapping[str, float]
    levels: Levels

    def gives(self, state: str, by_set: str = "") -> float | None:
        """The factor of a limit state, or its level under a set; ``None`` where it has none."""
        return (self.levels.get(by_set, {}) if by_set else self.factors).get(state)


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


@of_its_file
def interpret(scenario: Scenario) -> Interpretations:
    """Every check under every interpretation of the data of its soils, one soil at a time.
    ``FileError``: an interpretation that a check cannot use.
    """
    found = []
    for entry in scenario.judged:
        with of_check(entry):
            used = as_used(entry.check, entry.check.SLOW)
            answer = answers(scenario, entry.check)
            first = {**used.factors_of_safety, **flat(levels_of(scenario, entry.check))}
        stress = _operating_stress(used)
        rows = []
        for name in entry.soil_names:
            readings = _readings_of(scenario.soils[name], stress)
            others = [reading for reading in readings if reading.name != "as used"]
            with of_check(entry, f", {name}"):
                taken = _taken(answer, entry.check, name, others, on_plane=_has_plane(used))
            own = [reading for reading in readings if reading.name == "as used"]
            strength = scenario.soils[name].soil.strength
            if strength.curve is not None:
                own = [_pair_of_curve(reading, strength, stress) for reading in own]
            for reading, factors in [*((one, first) for one in own), *taken]:
                rows.append(Row(name, reading, *parted({k: float(v) for k, v in factors.items()})))
        said = owed(scenario, entry, first, by_sets=True)
        found.append(CheckInterpretations(entry, tuple(rows), said))
    return Interpretations(tuple(found))


def _taken(
    answer: Callable[[Check], dict[Any, Any]],
    check: Check,
    soil: str,
    readings: Sequence[Interpretation],
    *,
    on_plane: bool,
) -> list[tuple[Interpretation, Mapping[Any, Any]]]:
    """Each reading of one soil with the factors of the check; names the first that it cannot use.

    A curve is given with the pair that the check takes of it.
    """
    if not readings:
        return []

    def along(reading: Interpretation, curve: Strength) -> tuple[Interpretation, Mapping[Any, Any]]:
        bent = with_strength(check, soil, curve)
        alone = bent.evaluate(leave_out=bent.limit_states) if on_plane else None
        stress = None if alone is None else _operating_stress(alone)
        return _pair_of_curve(reading, curve, stress), answer(bent)

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
            with within(reading.name):
                run([reading]) if reading.curve is None else along(reading, reading.curve)
        raise


def _pair_of_curve(
    reading: Interpretation, strength: Strength, stress: float | None
) -> Interpretation:
    """The reading with the pair that stands for the curve in a check."""
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


def _has_plane(used: CheckResult) -> bool:
    """Whether the check slides on a plane of one mean stress, as a wall does not."""
    return getattr(used.values, "effective_normal_stress", None) is not None


def _operating_stress(used: CheckResult) -> float | None:
    """Effective normal stress on the plane of a check that has one [kPa]."""
    stress = getattr(used.values, "effective_normal_stress", None)
    if stress is None or np.ndim(stress) != 0:
        return None
    value = float(stress)
    return value if math.isfinite(value) and value > 0.0 else None


_ACROSS = 9
"""Factors side by side in a table of a page."""


@dataclass(frozen=True, slots=True)
class Interpretations(Result):
    """Every check with a factor."""

    checks: tuple[CheckInterpretations, ...]

    def csv(self) -> str:
        """One row a check, soil, interpretation and limit state."""

        def before(label: str, row: Row) -> list[Any]:
            read = row.reading
            return [label, row.soil, read.name, read.cohesion, read.friction_angle]

        return factors_csv(
            ["check", "soil", "interpretation", "cohesion_kpa", "friction_angle_deg"],
            [
                (before(one.entry.label, row), row.factors, row.levels)
                for one in self.checks
                for row in one.rows
            ],
        )

    def tables(self, across: int = _ACROSS) -> list[Table]:
        """A row a reading of the tests of one soil, with every factor and every highest level
        in a column; more than ``across`` stand in several tables.
        """
        tables = []
        for soil in dict.fromkeys(row.soil for one in self.checks for row in one.rows):
            columns = list(self._columns(soil))
            for start in range(0, len(columns), across):
                tables.append(_table(soil, columns[start : start + across]))
        return tables

    def _columns(self, soil: str) -> Iterator[_Column]:
        for one in self.checks:
            own = [row for row in one.rows if row.soil == soil]
            if own:
                yield from ((one, own, state, "") for state in own[0].factors)
                yield from ((one, own, "", name) for name, held in own[0].levels.items() if held)

    def blocks(self) -> Iterator[Block]:
        """The tables, and what must not be parted from them."""
        yield from self.tables(across=1000)
        if any(row.reading.curve is not None for one in self.checks for row in one.rows):
            yield Words(
                "A curve has no pair of its own: where none is shown, each check takes the "
                "tangent at the stress on its slip plane, or the chord over the tested range."
            )
        yield notice_list(notices_at(self.checks))


_Column: TypeAlias = tuple[CheckInterpretations, Sequence[Row], str, str]
"""A check with its rows of one soil, and one of its limit states, or of the sets of partial
factors it is held to.
"""


def _table(soil: str, columns: Sequence[_Column]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for here in zip(*(own for _, own, _, _ in columns), strict=True):
        reading = here[0].reading
        pairs = {(row.reading.cohesion, row.reading.friction_angle) for row in here}
        pair = ("curve",) * 2 if len(pairs) > 1 else tuple(f"{one:.1f}" for one in pairs.pop())
        cells = [
            Factor(row.factors[state], one.entry.target(state))
            if state
            else level_verdict(highest(row.levels[name]))
            for row, (one, _, state, name) in zip(here, columns, strict=True)
        ]
        rows.append((reading.name, *pair, *cells))
    heads = [f"{one.entry.label}: {state or name}" for one, _, state, name in columns]
    sets = dict.fromkeys(name for *_, name in columns if name)
    return Table(
        f"Readings of {soil_words(soil)}"
        + (f"; of {', '.join(sets)} the highest utilisation" if sets else ""),
        ("Reading", "c′ [kPa]", "φ′ [deg]", *heads),
        rows,
        range(1, 3 + len(columns)),
    )
