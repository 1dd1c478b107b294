"""The ``fit`` command: readings file and words of the command line to a fit."""

from __future__ import annotations

from pathlib import Path

from slipmargin.cli.scenario.read import FileError, read_laboratory
from slipmargin.strength import InputError, Specimen
from slipmargin.strength.from_laboratory import Choices, LaboratoryStrength, strength_from_readings
from slipmargin.strength.quantities import parse

__all__ = ["run_fit", "specimen_from_text"]


def specimen_from_text(text: str) -> Specimen:
    """A specimen from its shape and width in words: ``square 60 mm``.

    Raises
    ------
    InputError
        A shape or a width that cannot be read.
    """
    shape, _, width = text.strip().partition(" ")
    if shape not in ("square", "circle"):
        raise InputError("--specimen", text, 'write "square 60 mm" or "circle 63.5 mm"')
    try:
        value = parse(width.strip(), "displacement", "--specimen").value
        return Specimen(shape="square" if shape == "square" else "circle", width=value)
    except InputError as error:
        raise InputError("--specimen", text, error.allowed) from None


def run_fit(
    path: Path, *, specimen: str | None, sample: str | None, choices: Choices
) -> LaboratoryStrength:
    """Fit the readings of a file.

    Raises
    ------
    FileError
        For the first thing in the file that cannot be used.
    InputError
        For an option that cannot be used.
    """
    box = None if specimen is None else specimen_from_text(specimen)
    readings, reported = read_laboratory(path, sample)
    pair = reported.pair(choices.state) if reported else None
    stated = {reported.who: pair} if reported and pair else {}
    try:
        return strength_from_readings(readings, box, choices=choices, stated=stated)
    except InputError as error:
        raise FileError(path, error) from None
