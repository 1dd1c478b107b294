"""Laboratory work on the sheet: readings, tests, fit with its doubt, and what else they give."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

from slipmargin.cli.page.blocks import (
    Block,
    Cell,
    Factor,
    Leaf,
    Picture,
    Section,
    Table,
    Words,
    Working,
)
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.page.text import words_of
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.questions.interpretations import CheckInterpretations, interpret
from slipmargin.cli.questions.utilisations import highest
from slipmargin.cli.scenario.read import Scenario, SoilEntry
from slipmargin.strength import EnvelopeFit, Severity, Strength
from slipmargin.strength.from_laboratory import LaboratoryStrength
from slipmargin.strength.laboratory.record_table import record_table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "interpretations_section",
    "laboratory_section",
    "laboratory_workings",
    "origin",
    "strengths_table",
]

_MOST_READINGS = 40
"""More rows of readings than this stay in their file."""


def origin(entry: SoilEntry) -> str:
    """Where the strength of a soil came from."""
    fit = entry.fit
    if fit is None:
        return "stated"
    count = len(fit.tests.names)
    text = f"fitted to {count} {fit.plane.of_tests}test{'s' if count > 1 else ''}, {_state(fit)}"
    if (curve := entry.soil.strength.curve) is not None:
        text += f", power curve {curve.equation}"
    else:
        text += fit.origin_words
    return text + (f", cautious at {fit.confidence:.0%}" if entry.value == "cautious" else "")


def _state(fit: EnvelopeFit) -> str:
    return fit.tests.state.replace("_", " ")


def strengths_table(scenario: Scenario) -> Table:
    """The strengths and weights the checks used."""
    rows: list[tuple[Cell, ...]] = []
    for entry in scenario.soils.values():
        soil = entry.soil
        below = soil.saturated_unit_weight
        rows.append(
            (
                entry.name,
                entry.description,
                *_pair_used(soil.strength),
                f"{float(soil.unit_weight):.1f}",
                "not given" if below is None else f"{float(below):.1f}",
                origin(entry),
            )
        )
    return Table(
        "Soils and the strengths used",
        (
            "Soil",
            "Description",
            "c′ [kPa]",
            "φ′ [deg]",
            "γ [kN/m³]",
            "γ below water [kN/m³]",
            "Strength from",
        ),
        tuple(rows),
        frozenset({2, 3, 4, 5}),
    )


def _pair_used(strength: Strength) -> tuple[str, str]:
    if strength.curve is not None:
        return "curve", "curve"
    return f"{float(strength.cohesion):.1f}", f"{float(strength.friction_angle):.1f}"


def laboratory_section(scenario: Scenario) -> Section:
    """One part a soil."""
    soils = enumerate(scenario.soils.values(), start=1)
    leaves = tuple(_soil(entry, number) for number, entry in soils)
    return Section("Laboratory data and fit", (strengths_table(scenario),), leaves)


def _soil(entry: SoilEntry, number: int) -> Leaf:
    blocks: list[Block] = [Words(entry.description)] if entry.description else []
    if entry.laboratory is None:
        strength = entry.soil.strength
        blocks.append(
            Words(
                f"The strength was stated, not fitted: c′ = {float(strength.cohesion):.1f} kPa, "
                f"φ′ = {float(strength.friction_angle):.1f} deg. No test stands behind it here, "
                "so its uncertainty is not known."
            )
        )
    else:
        blocks += _fitted(entry.laboratory, entry.name, number)
    names = dict.fromkeys(words_of(n) for n in entry.notices if n.severity != Severity.INFO)
    if names:
        blocks.append(Words(f"Notices that hold here: {'; '.join(names)}."))
    return Leaf(entry.name, tuple(blocks))


def _fitted(laboratory: LaboratoryStrength, name: str, number: int) -> list[Block]:
    fit = laboratory.fit
    blocks: list[Block] = [Words(_specimen(laboratory)), *_readings(laboratory, name)]
    blocks.append(_tests(fit, name))
    if fit.tests.details:
        headings, rows = record_table(fit.tests.details)
        title = f"Points read from the records: {name}"
        numbers = frozenset(range(2, len(headings)))
        heads = tuple(
            f"{head[0].upper()}{head[1:]}" if head[0] != "ψ" else head for head in headings
        )
        blocks.append(Table(title, heads, tuple(rows), numbers))

    def draw() -> Figure:
        return laboratory.plot()

    stated = [one.words(fit.tests.unit) for one in laboratory.stated]
    alt = " ".join([_fit_words(fit), *stated])
    blocks.append(Picture(f"fit-{number}", f"Tests and fit: {name}", alt, draw))
    blocks.append(_strengths(fit, name))
    blocks += [Words(one) for one in stated]
    if fit.correlation is not None:
        blocks.append(
            Words(
                f"c′ and tan φ′ of one fit are correlated, here {fit.correlation:.2f}: a line "
                "that starts higher is flatter. Never vary one without the other.",
            )
        )
    return blocks


def laboratory_workings(scenario: Scenario) -> list[Leaf]:
    """Every step from the readings to the strength of each fitted soil."""
    return [
        Leaf(entry.name, (Working((), tuple(entry.laboratory.working())),))
        for entry in scenario.soils.values()
        if entry.laboratory is not None
    ]


def _specimen(laboratory: LaboratoryStrength) -> str:
    box = laboratory.specimen
    state = f"Strength taken: {laboratory.choices.state.replace('_', ' ')}."
    if box is None:
        if laboratory.readings.principal is not None:
            return f"Triaxial tests, in stresses at failure. {state}"
        taken = "No specimen is given: readings in stress are taken as they stand."
        return f"{taken}{_apparatus(laboratory)} {state}"
    side = "side" if box.shape == "square" else "diameter"
    height = "" if box.height is None else f", {box.height:g} mm high"
    text = (
        f"{box.shape.capitalize()} specimen, {side} {box.width:g} mm{height}: plane of "
        f"{box.area:.0f} mm², so that 1 N is {box.kpa_per_newton:.4f} kPa."
    )
    for force, words in (
        (box.added_normal_force, "added to every normal force"),
        (box.apparatus_friction, "taken off every shear force for the friction of the apparatus"),
        (box.zero_reading, "taken off every shear force for the reading at no load"),
    ):
        if force:
            text += f" {force:g} N {words}."
    text += _apparatus(laboratory)
    if laboratory.choices.area_correction:
        text += " Stresses are on the area still in contact."
    return f"{text} {state}"


def _apparatus(laboratory: LaboratoryStrength) -> str:
    """Lever and ring, where raw readings were taken."""
    gauges = laboratory.readings.gauges
    if gauges is None:
        return ""
    box, text = gauges.apparatus, ""
    if gauges.hanger_load is not None:
        text += f" Loads hang on a lever of ratio {box.lever_ratio:g}."
    if gauges.dial is not None:
        table = box.ring_calibration
        what = (
            f"of {box.ring_constant:g} N a division"
            if table is None
            else f"calibrated at {len(table.loads)} loads up to {table.loads[-1]:g} N"
        )
        text += f" The shear force is that of a ring {what}, from {box.zero:g} div at no load."
    return text


def _readings(laboratory: LaboratoryStrength, name: str) -> list[Block]:
    readings = laboratory.readings
    count = len(readings.test)
    if readings.is_record or count > _MOST_READINGS:
        what = "Stress-displacement records" if readings.is_record else "Readings"
        return [Words(f"{what} with {count} rows; they stand in the readings file.")]
    columns = readings.as_taken
    rows: list[tuple[Cell, ...]] = [
        (
            test,
            state.replace("_", " "),
            *(_or_blank(float(column[i])) for column in columns.values()),
        )
        for i, (test, state) in enumerate(zip(readings.test, readings.state, strict=True))
    ]
    headers = ("Test", "State", *columns)
    return [
        Table(f"Readings as taken: {name}", headers, tuple(rows), frozenset(range(2, len(headers))))
    ]


def _or_blank(value: float) -> str:
    return f"{value:.6g}" if math.isfinite(value) else ""


def _tests(fit: EnvelopeFit, name: str) -> Table:
    tests, unit = fit.tests, fit.tests.unit
    form = "Line" if fit.curve is None else "Curve"
    rows: list[tuple[Cell, ...]] = []
    for i, test in enumerate(tests.names):
        residual = fit.residual(i)
        shear = float(tests.shear[i])
        rows.append(
            (
                test,
                str(tests.readings[i]),
                f"{tests.normal[i]:.1f}",
                f"{shear:.1f}",
                f"{shear - residual:.1f}",
                f"{residual:+.2f}",
            )
        )
    return Table(
        f"Tests, reduced: {name}",
        (
            "Test",
            "Readings",
            *(f"{w.capitalize() if len(w) > 2 else w} [{unit}]" for w in fit.plane.headings),
            f"{form} [{unit}]",
            f"Above it [{unit}]",
        ),
        tuple(rows),
        frozenset(range(1, 6)),
    )


def _fit_words(fit: EnvelopeFit) -> str:
    unit, pair = fit.tests.unit, fit.best_fit
    low, high = fit.normal_range
    text = (
        f"Shear against normal stress of {len(fit.tests.names)} {fit.plane.of_tests}tests from "
        f"{low:.4g} to {high:.4g} {unit}, "
        + ("" if fit.curve is None else f"with the curve {fit.curve.equation}, ")
        + f"with the best line: intercept {float(pair.cohesion):.1f} {unit}, "
        f"angle {float(pair.friction_angle):.1f} deg{fit.origin_words}."
    )
    if fit.cautious is not None:
        text += (
            f" The cautious line below it: intercept {float(fit.cautious.cohesion):.1f} {unit}, "
            f"angle {float(fit.cautious.friction_angle):.1f} deg."
        )
    return text


def _strengths(fit: EnvelopeFit, name: str) -> Table:
    unit, interval, cautious = fit.tests.unit, fit.interval, fit.cautious
    error = fit.standard_error_friction_angle
    angle_error = "" if error is None else f"{error:.2f}"
    cohesion_error = fit.standard_error_cohesion
    limits = ("", "")
    level = ""
    if interval is not None:
        level = f"{interval.confidence:.0%} "
        low, high = interval.friction_angle
        between = "" if interval.cohesion is None else "{:.1f} to {:.1f}".format(*interval.cohesion)
        limits = ("assumed" if fit.cohesion_assumed else between, f"{low:.1f} to {high:.1f}")
    rows: list[tuple[Cell, ...]] = [
        *(
            (
                f"Curve: {one.name}",
                f"{one.best_fit:.3f}",
                "" if one.standard_error is None else f"{one.standard_error:.3f}",
                "" if one.limits is None else "{:.3f} to {:.3f}".format(*one.limits),
                "" if one.cautious is None else f"{one.cautious:.3f}",
            )
            for one in fit.curve_parameters
        ),
        (
            f"Cohesion c′ [{unit}]" if unit == "kPa" else f"Intercept [{unit}]",
            f"{float(fit.best_fit.cohesion):.1f}",
            "" if cohesion_error is None else f"{cohesion_error:.2f}",
            limits[0],
            "" if cautious is None else f"{float(cautious.cohesion):.1f}",
        ),
        (
            "Friction angle φ′ [deg]",
            f"{float(fit.best_fit.friction_angle):.1f}",
            angle_error,
            limits[1],
            "" if cautious is None else f"{float(cautious.friction_angle):.1f}",
        ),
    ]
    return Table(
        f"Fitted strength: {name}",
        ("Quantity", "Best fit", "Standard error", f"{level}limits", "Cautious"),
        tuple(rows),
        frozenset({1, 2, 3, 4}),
    )


def interpretations_section(
    outcome: Outcome, found: Sequence[CheckInterpretations] | None = None
) -> Section:
    """Every check under every reading of the same laboratory data, found already or not."""
    found = interpret(outcome.scenario) if found is None else found
    if not found:
        return Section("Interpretations", (Words("No check with a factor of safety was run."),))
    words = Words(
        "How much of each factor is a choice of the reader: the same tests, read in every "
        "way they allow, one soil at a time with the others as used."
    )
    tables = [
        table
        for name in outcome.scenario.soils
        for at in range(0, len(_columns(found, name)), _ACROSS)
        for table in [_interpreted(name, _columns(found, name)[at : at + _ACROSS])]
    ]
    return Section("Interpretations", (words, *tables))


_ACROSS = 9
"""Factors side by side in a table."""

_Column: TypeAlias = tuple[CheckInterpretations, str, str]
"""A check, and one of its limit states or of the sets of partial factors it is held to."""


def _columns(found: Sequence[CheckInterpretations], soil: str) -> list[_Column]:
    columns: list[_Column] = []
    for one in found:
        own = next((row for row in one.rows if row.soil == soil), None)
        if own is not None:
            columns += [(one, state, "") for state in own.factors]
            columns += [(one, "", name) for name, levels in own.levels.items() if levels]
    return columns


def _interpreted(soil: str, columns: Sequence[_Column]) -> Table:
    """A row a reading of the tests of one soil."""
    readings = [row.reading for row in columns[0][0].rows if row.soil == soil]
    rows: list[tuple[Cell, ...]] = []
    for number, reading in enumerate(readings):
        cells: list[Cell] = []
        for one, state, name in columns:
            row = [row for row in one.rows if row.soil == soil][number]
            if state:
                cells.append(Factor(row.factors[state], one.entry.target(state)))
            else:
                cells.append(level_verdict(highest(row.levels[name])))
        pair = (f"{reading.cohesion:.1f}", f"{reading.friction_angle:.1f}")
        rows.append((reading.name, *pair, *cells))
    heads = [
        f"{one.entry.label}: {state or f'highest utilisation, {name}'}"
        for one, state, name in columns
    ]
    return Table(
        f"Readings of {soil}",
        ("Reading", "c′ [kPa]", "φ′ [deg]", *heads),
        tuple(rows),
        frozenset(range(1, 3 + len(columns))),
    )
