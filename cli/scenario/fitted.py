"""The soils of a scenario: strengths as they are stated, or fitted to the readings it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from slipmargin.cli.scenario.entries import SoilEntry
from slipmargin.cli.scenario.files import Folder, naming, within
from slipmargin.cli.scenario.schema import ApparatusModel, SoilModel, SpecimenModel, StrengthModel
from slipmargin.cli.scenario.tables import made
from slipmargin.stability import Soil
from slipmargin.strength import (
    Apparatus,
    Choices,
    Drainage,
    InputError,
    LaboratoryStrength,
    Notice,
    Pair,
    Readings,
    RingCalibration,
    Specimen,
    Strength,
    read_readings,
    strength_from_readings,
)
from slipmargin.strength.errors import MISSING
from slipmargin.strength.laboratory.readings_csv import read_ring_calibration
from slipmargin.strength.laboratory.soil_class import soil_class as published_class

__all__ = ["fitted_soil", "read_calibration", "read_laboratory"]


def fitted_soil(name: str, model: SoilModel, folder: Folder) -> SoilEntry:
    """A soil with its strength, fitted where the scenario names readings."""
    given, others = model.strength, model.strength.stated_by
    value = given.value or "best_fit"
    stated_by = {others.who: Pair(others.cohesion, others.friction_angle)} if others else {}
    laboratory = None
    with within(f"soils.{name}"):
        if given.readings is not None:
            laboratory = _laboratory(model, stated_by, folder)
            strength = laboratory.strength(value)
        else:
            if model.soil_class is not None:
                published_class(model.soil_class)
            strength = made(Strength, given)
        soil = made(Soil, model, strength=strength, name=name)
    said = _stated_notices(soil) if laboratory is None else laboratory.notices
    notices = (*said, *soil.rare_values())
    return SoilEntry(name, model.description, soil, laboratory, value, stated_by, notices)


def _stated_notices(soil: Soil) -> tuple[Notice, ...]:
    if not soil.cohesionless or soil.strength.cohesion <= 0.0:
        return ()
    text = (
        f"{soil.name} is declared cohesionless, yet {soil.strength.cohesion:g} kPa of cohesion is "
        "stated for it."
    )
    return (Notice.caution("cohesion-in-cohesionless-soil", text),)


def _specimen(model: SpecimenModel) -> Specimen:
    wanted, other = ("width", "diameter") if model.shape == "square" else ("diameter", "width")
    if getattr(model, other) is not None:
        raise InputError(other, "given", f"a {model.shape} specimen has a {wanted}")
    if getattr(model, wanted) is None:
        raise InputError(wanted, MISSING, f'such as {wanted} = "60 mm"')
    return made(Specimen, model, width=getattr(model, wanted))


def _laboratory(
    model: SoilModel, stated_by: Mapping[str, Pair], folder: Folder
) -> LaboratoryStrength:
    given, box = model.strength, model.specimen
    name = str(given.readings)
    file = folder.file("strength.readings", name)
    with within("specimen"):
        specimen = None if box is None else _specimen(box)
    apparatus = None if model.apparatus is None else _apparatus(model.apparatus, folder)
    choices = made(Choices, model, given)
    readings, reported = read_laboratory(
        file, given.sample, apparatus, test_kind=given.test_kind, state=choices.state
    )
    folder.digest(name)
    drainage = None if box is None else made(Drainage, box)
    with within("strength"):
        found = strength_from_readings(
            readings,
            specimen,
            choices=choices,
            drainage=drainage,
            stated={**reported, **stated_by},
        )
    others = _beside(given, file, readings, folder)
    if others is None:
        return found
    lines = replace(choices, envelope="line", area_correction=False)
    with within("strength.beside"):
        beside = strength_from_readings(others, specimen, choices=lines, drainage=drainage)
        return found.set_beside(beside)


def _beside(
    given: StrengthModel, file: Path, readings: Readings, folder: Folder
) -> Readings | None:
    """Tests of the other kind on the same soil: of a file named, or of the same sample."""
    held = readings.plane.test_kind
    if given.beside is None:
        if given.test_kind is None or file.suffix.lower() != ".ags":
            return None
        from slipmargin.strength.laboratory.ags import kinds_held

        other = [kind for kind in kinds_held(file, given.sample) if kind != held]
        return read_laboratory(file, given.sample, test_kind=other[0])[0] if other else None
    beside = folder.file("strength.beside", given.beside)
    sample = given.sample if beside.suffix.lower() == ".ags" else None
    others, _ = read_laboratory(beside, sample)
    folder.digest(given.beside)
    if others.plane.test_kind == held:
        allowed = f"it holds {held} tests too; give those of another kind"
        raise InputError("strength.beside", given.beside, allowed)
    return others


def _apparatus(model: ApparatusModel, folder: Folder) -> Apparatus:
    table: RingCalibration | None = None
    notices: tuple[Notice, ...] = ()
    with within("apparatus"):
        if model.ring_calibration is not None:
            file = folder.file("ring_calibration", model.ring_calibration)
            table, notices = read_calibration(file)
            folder.digest(model.ring_calibration)
        return made(Apparatus, model, ring_calibration=table, notices=notices)


def read_calibration(file: Path) -> tuple[RingCalibration, tuple[Notice, ...]]:
    """Calibration of a proving ring from its table, and what there was to say of it."""
    with naming(file):
        return read_ring_calibration(file)


def read_laboratory(
    file: Path,
    sample: str | None,
    apparatus: Apparatus | None = None,
    *,
    test_kind: str | None = None,
    state: str = "peak",
) -> tuple[Readings, Mapping[str, Pair]]:
    """Readings of a CSV file, or of one sample in a transfer file, which ends in ``.ags``, and what
    its laboratory states of a state of them, by who stated it.

    ``FileError`` for the first thing in the file that cannot be used; a sample asked of a CSV
    file, or a kind of test that it does not hold.
    """
    with naming(file):
        if file.suffix.lower() == ".ags":
            from slipmargin.strength.laboratory.ags import read_ags

            if apparatus is not None:
                apparatus.refuse_unused(set())
            readings, stated = read_ags(file, sample, test_kind)
            pair = stated.pair(state)
            return readings, {} if pair is None else {stated.who: pair}
        if sample is not None:
            raise InputError("sample", sample, "it belongs to a transfer file, which ends in .ags")
        readings = read_readings(file, apparatus)
        held = readings.plane.test_kind
        if test_kind not in (None, held):
            raise InputError("test_kind", test_kind, f"the table holds {held} tests")
        return readings, {}
