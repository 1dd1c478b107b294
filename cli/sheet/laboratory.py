"""Laboratory work on the sheet: readings, tests, fit with its doubt, and what else they give."""

from __future__ import annotations

import math

from slipmargin.cli.page.blocks import Block, Cell, Leaf, Section, Table, Words
from slipmargin.cli.page.notices import held_here
from slipmargin.cli.questions.check import Outcome, soils_table
from slipmargin.cli.questions.fit import fit_blocks
from slipmargin.cli.questions.interpretations import Interpretations, interpret
from slipmargin.cli.questions.working import fit_working
from slipmargin.cli.scenario.read import Scenario, SoilEntry
from slipmargin.strength.from_laboratory import LaboratoryStrength

__all__ = [
    "interpretations_section",
    "laboratory_section",
    "laboratory_workings",
]

_MOST_READINGS = 40
"""More rows of readings than this stay in their file."""


def laboratory_section(scenario: Scenario) -> Section:
    """One part a soil."""
    soils = enumerate(scenario.soils.values(), start=1)
    leaves = tuple(_soil(entry, number) for number, entry in soils)
    return Section("Laboratory data and fit", (soils_table(scenario),), leaves)


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
        blocks += [Words(_specimen(entry.laboratory)), *_readings(entry.laboratory, entry.name)]
        blocks += fit_blocks(entry.laboratory, entry.name, f"fit-{number}")
    return Leaf(entry.name, (*blocks, *held_here(entry.notices)))


def laboratory_workings(scenario: Scenario) -> list[Leaf]:
    """Every step from the readings to the strength of each fitted soil."""
    return [
        Leaf(entry.name, (fit_working(entry.laboratory),))
        for entry in scenario.soils.values()
        if entry.laboratory is not None
    ]


def _specimen(laboratory: LaboratoryStrength) -> str:
    box = laboratory.specimen
    state = f"Strength taken: {laboratory.choices.state.replace('_', ' ')}."
    if box is None:
        if laboratory.readings.plane.has_circles:
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
    taken, box, text = laboratory.readings.taken, laboratory.readings.apparatus, ""
    if taken.keys() & {"hanger_mass", "hanger_load"}:
        text += f" Loads hang on a lever of ratio {box.lever_ratio:g}."
    if "dial" in taken:
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
            *(f"{c[i]:.6g}" if math.isfinite(c[i]) else "" for c in columns.values()),
        )
        for i, (test, state) in enumerate(zip(readings.test, readings.state, strict=True))
    ]
    headers = ("Test", "State", *columns)
    return [Table(f"Readings as taken: {name}", headers, rows, range(2, len(headers)))]


def interpretations_section(outcome: Outcome, found: Interpretations | None = None) -> Section:
    """Every check under every reading of the same laboratory data, found already or not."""
    found = interpret(outcome.scenario) if found is None else found
    if not found.checks:
        return Section("Interpretations", (Words("No check with a factor of safety was run."),))
    words = Words(
        "How much of each factor is a choice of the reader: the same tests, read in every "
        "way they allow, one soil at a time with the others as used."
    )
    return Section("Interpretations", (words, *found.tables()))
