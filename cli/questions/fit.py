"""The ``fit`` command: readings, or a soil of a scenario, with the words of the command line."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from slipmargin.cli.scenario.read import (
    FileError,
    SoilEntry,
    load_soil,
    read_calibration,
    read_laboratory,
)
from slipmargin.strength import Apparatus, InputError, Notice, Pair, Specimen, distinct
from slipmargin.strength.from_laboratory import Choices, LaboratoryStrength, strength_from_readings
from slipmargin.strength.quantities import parse

__all__ = ["BY_HAND", "RawReadings", "fit_soil", "run_fit", "specimen_from_text", "stated_pair"]

BY_HAND = "the reader"
"""Who states the pair of the command line."""

_PAIR = re.compile(r"\s*(\S.*?)[\s,;]+([+-]?[0-9.].*?)\s*")


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


def stated_pair(text: str) -> tuple[Pair, tuple[Notice, ...]]:
    """A line drawn by eye, from its cohesion and angle in words: ``4 kPa 31 deg``.

    Raises
    ------
    InputError
        Not a stress and an angle.
    """
    match = _PAIR.fullmatch(text)
    if match is None:
        raise InputError("--stated", text, 'write c′ and φ′, such as "4 kPa 31 deg"')
    cohesion = parse(match[1], "stress", "--stated")
    angle = parse(match[2], "angle", "--stated")
    found = [one.notice for one in (cohesion, angle) if one.notice is not None]
    return Pair(cohesion.value, angle.value), tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawReadings:
    """Lever and ring as the command line gives them; nothing where all are left out."""

    lever_ratio: float | None = None
    ring_constant: str | None = None
    dial_zero: str | None = None
    ring_calibration: Path | None = None

    def apparatus(self) -> Apparatus | None:
        """The apparatus they describe.

        Raises
        ------
        InputError
            For the first that cannot be used.
        """
        if self == RawReadings():
            return None
        constant, zero = (
            None if text is None else parse(text, dimension, place)
            for text, dimension, place in (
                (self.ring_constant, "ring_constant", "--ring-constant"),
                (self.dial_zero, "divisions", "--dial-zero"),
            )
        )
        notices = [one.notice for one in (constant, zero) if one and one.notice]
        table = None
        if self.ring_calibration is not None:
            table, said = read_calibration(self.ring_calibration)
            notices += said
        return Apparatus(
            lever_ratio=self.lever_ratio,
            ring_constant=constant.value if constant else None,
            dial_zero=zero.value if zero else None,
            ring_calibration=table,
            notices=tuple(notices),
        )


def run_fit(
    path: Path,
    *,
    specimen: str | None,
    sample: str | None,
    choices: Choices,
    raw: RawReadings | None = None,
    stated: str | None = None,
    test_kind: str | None = None,
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
    by_hand, said = _by_hand(stated)
    apparatus = raw.apparatus() if raw else None
    readings, reported = read_laboratory(path, sample, apparatus, test_kind=test_kind)
    pair = reported.pair(choices.state) if reported else None
    others = {reported.who: pair} if reported and pair else {}
    try:
        found = strength_from_readings(readings, box, choices=choices, stated=others | by_hand)
    except InputError as error:
        raise FileError(path, error) from None
    return replace(found, notices=distinct([*said, *found.notices]))


def fit_soil(
    path: Path, soil: str | None, stated: str | None, *, variant: str | None, allow_outside: bool
) -> SoilEntry:
    """Fit one soil of a scenario, or of one of its variants, as the scenario says.

    Raises
    ------
    FileError
        For the first thing in the scenario or its readings that cannot be used.
    InputError
        A line drawn by eye that cannot be read.
    """
    entry = load_soil(path, soil, variant=variant, allow_outside=allow_outside)
    by_hand, said = _by_hand(stated)
    laboratory = entry.laboratory
    assert laboratory is not None  # load_soil takes fitted soils only
    if by_hand:
        laboratory = laboratory.beside(by_hand)
    notices = distinct([*said, *entry.notices, *laboratory.notices])
    return replace(entry, laboratory=replace(laboratory, notices=notices), notices=notices)


def _by_hand(stated: str | None) -> tuple[dict[str, Pair], tuple[Notice, ...]]:
    if stated is None:
        return {}, ()
    pair, notices = stated_pair(stated)
    return {BY_HAND: pair}, notices
