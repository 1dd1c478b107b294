"""What each input of a scenario moves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Factor, Table, Verdict, Words
from slipmargin.cli.page.cells import number_cell
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.as_used import asked_of, quick
from slipmargin.cli.questions.joint_region import region_of
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.result import Result, lines_csv, notices_at, of_check, of_its_file
from slipmargin.cli.scenario.doubts import field_doubts
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.cli.scenario.varied import VariedField, find_field, read_value
from slipmargin.stability import fields
from slipmargin.stability.check import lowest_of
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.field_words import field_words, soil_words
from slipmargin.stability.uncertainty.influence import (
    DEFAULT_SHARES,
    Move,
    Slot,
    Swing,
    field_slot,
    level_swing,
    ranked,
    strength_slot,
    swings,
    unbounded,
)
from slipmargin.stability.uncertainty.replaced import SOIL_FIELDS
from slipmargin.strength import InputError, Notice

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["CheckInfluence", "Influence", "find_influence", "swings_table", "swung"]

_REGION_POINTS = 72
_MIDDLE = (0.025, 0.975)


_TARGET: dict[bool | None, Cell] = {
    True: Verdict("missed", "bad"),
    False: Verdict("met", "good"),
    None: "",
}


@dataclass(frozen=True, slots=True)
class CheckInfluence:
    """Every input of one check, widest swing first.

    The factor is the lowest over the limit states; ``governs`` names the one that is lowest as
    used; ``asked`` gives the targets in words, and ``target`` the one where all are the same.
    """

    entry: CheckEntry
    base: float
    governs: str
    swings: tuple[Swing, ...]
    notices: tuple[Notice, ...]
    asked: str = ""
    target: float | None = None


@dataclass(frozen=True, slots=True)
class Influence(Result):
    """Every check with a factor."""

    checks: tuple[CheckInfluence, ...]

    def csv(self) -> str:
        """One row a check and input."""
        heads = ["check", "input", "low", "high", "factor_at_low", "factor_at_high"]
        checks = self.document()["checks"]
        return lines_csv(heads, ({"check": c["label"], **s} for c in checks for s in c["swings"]))

    def blocks(self) -> Iterator[Block]:
        """One table a check, widest swing first."""
        for one in self.checks:
            yield swings_table(one)
        yield notice_list(notices_at(self.checks))
        yield Words(
            "Of a default range state your own under [ranges] or [uncertain]; the others are "
            "given, by tests or as stated."
        )
        names = [swing.name for one in self.checks for swing in one.swings]
        paths = [name for name in names if name.startswith(("soils.", "checks."))]
        if paths:
            yield Words(f"An input is typed as its path, the first of them as {paths[0]}.")
        yield Words(
            "c′ and φ′ of one fit are correlated: both at their worst is a pair the tests exclude."
        )

    def figure(self) -> Figure:
        """One panel a check."""
        from slipmargin.stability.uncertainty.influence_plot import plot_swings

        return plot_swings([(c.entry.label, c.base, c.target, c.swings) for c in self.checks])


@of_its_file
def find_influence(scenario: Scenario) -> Influence:
    """Swing every input of every check with a factor. ``FileError``: a stated range that cannot be,
    or names no field.
    """
    stated = {
        path: _range(find_field(scenario, path, place=f"ranges.{path}"), path, model.range)
        for path, model in scenario.top.ranges.items()
    }
    stated = _of_doubts(scenario) | stated
    return Influence(tuple(_influence(scenario, entry, stated) for entry in scenario.judged))


def _of_doubts(scenario: Scenario) -> dict[str, tuple[float, float]]:
    """The middle 95 % of every distribution that the scenario gives to a field."""
    found = {}
    for path, (doubt, varied) in field_doubts(scenario).items():
        ends = np.clip(doubt.quantile(np.array(_MIDDLE)), *varied.limits.ends)
        if np.all(doubt.possible(ends)):
            found[path] = (float(ends[0]), float(ends[1]))
    return found


def _range(varied: VariedField, path: str, given: Sequence[str | float]) -> tuple[float, float]:
    place = f"ranges.{path}.range"
    low, high = (read_value(value, varied.dimension, place) for value in given)
    if not low < high:
        raise InputError(place, given[1], "the second must be above the first")
    for value in (low, high):
        varied.limits.check(place, value)
    return low, high


def _influence(
    scenario: Scenario, entry: CheckEntry, stated: dict[str, tuple[float, float]]
) -> CheckInfluence:
    with of_check(entry):
        used = quick(entry.check)
    strengths: list[Move] = []
    amounts: list[Move] = []
    for name in entry.soil_names:
        soil = scenario.soils[name]
        strengths += _of_strength(soil)
        for field in SOIL_FIELDS:
            path = f"soils.{name}.{field}"
            fitted = soil.fit is not None and field in ("cohesion", "friction_angle")
            held = getattr(soil.soil.strength, field, None)
            held = getattr(soil.soil, field, None) if held is None else held
            if not fitted and held is not None:
                amounts += _of_field(scenario, path, float(held), stated)
    for field_path, declaration, value in fields.amounts(entry.check):
        if field_path != "target" and not declaration.everywhere:
            path = f"checks.{entry.label}.{field_path}"
            amounts += _of_field(scenario, path, value, stated)
    factors_of = asked_of(entry.check)
    # strengths apart from the rest: one curve of a slope answers for all of them
    found = [
        one
        for moves in (strengths, amounts)
        for one in swings(entry.check, moves, factors_of, entry.targets)
    ]
    found += [
        unbounded(f"{name}: strength as fitted")
        for name in entry.soil_names
        if _not_bounded(scenario.soils[name])
    ]
    if getattr(entry.check, "water_line", None) is not None:
        path = f"checks.{entry.label}.water_line"
        level = level_swing(entry.check, "water_line", path, factors_of, entry.targets)
        found += [] if level is None else [level]
    values = {entry.target(state) for state in used} - {None}
    return CheckInfluence(
        entry=entry,
        base=float(lowest_of(used)),
        governs=min(used, key=lambda state: float(used[state])),
        swings=tuple(ranked([swing for swing in found if swing.width > 0.0])),
        notices=owed(scenario, entry, used),
        asked=entry.asked(used),
        target=values.pop() if len(values) == 1 else None,
    )


def _of_field(
    scenario: Scenario, path: str, value: float, stated: dict[str, tuple[float, float]]
) -> list[Move]:
    varied = find_field(scenario, path)
    if path in stated:
        return swung(varied, path, value, *stated[path])
    reach = DEFAULT_SHARES[varied.dimension] * abs(value)
    return swung(varied, path, value, value - reach, value + reach, default_range=True)


def swung(
    varied: VariedField, path: str, held: float, low: float, high: float, **how: bool
) -> list[Move]:
    """A field that holds a value between two ends; none where they are one, or not allowed."""
    if low == high:
        return []
    try:
        for end in (low, high):
            varied.limits.check(path, end)
    except InputError:
        return []
    slot = field_slot(path, varied.limits.unit, low, high, **how)
    return [Move(put=varied.put, held=(held,), slots=(slot,))]


def _not_bounded(soil: SoilEntry) -> bool:
    """Whether the tests behind a fit show no scatter, or leave its angle no lower limit."""
    fit = soil.fit
    if fit is None:
        return False
    if fit.curve is not None:
        return not _of_strength(soil)
    return fit.interval is None or fit.interval.friction_angle[0] <= 0.0


def _of_strength(soil: SoilEntry) -> list[Move]:
    """The strength along its joint region, and what one at a time would say."""
    fit, name = soil.fit, soil.name
    outline = None if fit is None else region_of(soil, fit.confidence, _REGION_POINTS, single=True)
    if fit is None or outline is None:
        return []
    if fit.curve is not None:
        words = tuple(f"A {a:.3f}, n {n:.3f}" for a, n in zip(*outline.pairs, strict=True))
        slot = Slot(name=f"{name}: A and n jointly", columns=outline.pairs, words=words, ends=False)
        centre = (float(fit.curve.coefficient), float(fit.curve.exponent))
        return [Move(put=outline.put, held=centre, slots=(slot,))]
    if fit.interval is None or _not_bounded(soil):
        return []
    best = (float(fit.best_fit.cohesion), float(fit.best_fit.friction_angle))
    columns = (np.append(one, at) for one, at in zip(outline.pairs, best, strict=True))
    slots = [strength_slot(f"{name}: c′ and φ′ jointly", *columns)]
    if fit.interval.cohesion is not None:
        ends = np.maximum(np.array(fit.interval.cohesion), 0.0)
        angles = np.array(fit.interval.friction_angle)
        corners = [one.ravel() for one in np.meshgrid(ends, angles)]
        slots += [
            strength_slot(f"{name}: c′ alone", ends, np.full(2, best[1])),
            strength_slot(f"{name}: φ′ alone", np.full(2, best[0]), angles),
            strength_slot(f"{name}: both at their worst", *corners),
        ]
    kept = tuple(slot for slot in slots if slot is not None)
    return [Move(put=outline.put, held=best, slots=kept)] if kept else []


def swings_table(
    one: CheckInfluence, *, most: int | None = None, slopes: Mapping[str, float] | None = None
) -> Table:
    """Every input with the lowest factor at both ends of its range.

    ``most`` rows are shown, with d ln F / d ln x in a column where ``slopes`` holds it by path.
    """
    rows: list[tuple[Cell, ...]] = []
    label = one.entry.label
    for swing in one.swings[:most]:
        ends = (swing.at_low, swing.at_high)
        row = (
            soil_words(swing.name) if ": " in swing.name else field_words(swing.name, label=label),
            swing.low,
            swing.high,
            *(Factor(at, one.target) if swing.bounded else "" for at in ends),
            _TARGET[swing.misses],
            "default" if swing.default_range else "given",
        )
        slope = number_cell((slopes or {}).get(swing.name), "+.2f")
        rows.append(row if slopes is None else (*row, slope))
    left = len(one.swings) - len(rows)
    rest = f"; {left} that move it less are left out" if left > 0 else ""
    asked = f" ({one.asked})" if one.asked else ""
    heads = ("Input x", "From", "To", "Factor", "Factor", "Target", "Range")
    return Table(
        f"{label}: lowest factor {factor_text(one.base)} as used{asked}{rest}",
        heads if slopes is None else (*heads, "d ln F / d ln x"),
        rows,
        {3, 4} if slopes is None else {3, 4, 7},
    )
