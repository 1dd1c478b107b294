"""The ``fit`` command: readings, or a soil of a scenario, with the words of the command line."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slipmargin.cli.as_json import fit_document
from slipmargin.cli.page.blocks import Block, Lines, Picture, Table, Words
from slipmargin.cli.page.cells import number_cell
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.result import Result
from slipmargin.cli.scenario.files import FileError
from slipmargin.cli.scenario.fitted import read_calibration, read_laboratory
from slipmargin.cli.scenario.read import load_soil
from slipmargin.strength import (
    Apparatus,
    EnvelopeFit,
    InputError,
    Notice,
    Pair,
    Specimen,
    distinct,
)
from slipmargin.strength.from_laboratory import Choices, LaboratoryStrength, strength_from_readings
from slipmargin.strength.laboratory.record_table import record_table
from slipmargin.strength.quantities import parse

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "Fitted",
    "fit_blocks",
    "fit_readings",
    "fit_soil",
]

_PAIR = re.compile(r"\s*(\S.*?)[\s,;]+([+-]?[0-9.].*?)\s*")


def _specimen(text: str) -> Specimen:
    """A specimen from its shape and width in words: ``square 60 mm``."""
    shape, _, width = text.strip().partition(" ")
    if shape not in ("square", "circle"):
        raise InputError("--specimen", text, 'write "square 60 mm" or "circle 63.5 mm"')
    try:
        value = parse(width.strip(), "displacement", "--specimen").value
        return Specimen(shape="square" if shape == "square" else "circle", width=value)
    except InputError as error:
        raise InputError("--specimen", text, error.allowed) from None


def _by_hand(text: str | None) -> tuple[dict[str, Pair], tuple[Notice, ...]]:
    """A line drawn by eye under who drew it, from c′ and φ′ in words: ``4 kPa 31 deg``."""
    if text is None:
        return {}, ()
    match = _PAIR.fullmatch(text)
    if match is None:
        raise InputError("--stated", text, 'write c′ and φ′, such as "4 kPa 31 deg"')
    cohesion = parse(match[1], "stress", "--stated")
    angle = parse(match[2], "angle", "--stated")
    found = [one.notice for one in (cohesion, angle) if one.notice is not None]
    return {"the reader": Pair(cohesion.value, angle.value)}, tuple(found)


def _apparatus(
    lever_ratio: float | None,
    ring_constant: str | None,
    dial_zero: str | None,
    ring_calibration: Path | None,
) -> Apparatus | None:
    """Lever and ring as the command line gives them; ``None`` where all are left out."""
    if all(one is None for one in (lever_ratio, ring_constant, dial_zero, ring_calibration)):
        return None
    constant, zero = (
        None if text is None else parse(text, dimension, place)
        for text, dimension, place in (
            (ring_constant, "ring_constant", "--ring-constant"),
            (dial_zero, "divisions", "--dial-zero"),
        )
    )
    notices = [one.notice for one in (constant, zero) if one and one.notice]
    table = None
    if ring_calibration is not None:
        table, said = read_calibration(ring_calibration)
        notices += said
    return Apparatus(
        lever_ratio=lever_ratio,
        ring_constant=constant.value if constant else None,
        dial_zero=zero.value if zero else None,
        ring_calibration=table,
        notices=tuple(notices),
    )


def fit_readings(
    path: Path,
    choices: Choices,
    *,
    specimen: str | None,
    stated: str | None,
    raw: Mapping[str, Any],
    sample: str | None,
    test_kind: str | None,
) -> Fitted:
    """Fit the readings of a file; ``raw`` holds the options that speak of lever and ring.
    ``FileError`` for the first thing in the file that cannot be used, ``InputError`` for an option.
    """
    box = None if specimen is None else _specimen(specimen)
    by_hand, said = _by_hand(stated)
    readings, reported = read_laboratory(
        path, sample, _apparatus(**raw), test_kind=test_kind, state=choices.state
    )
    stated_by = {**reported, **by_hand}
    try:
        found = strength_from_readings(readings, box, choices=choices, stated=stated_by)
    except InputError as error:
        raise FileError(path, error) from None
    return Fitted(replace(found, notices=distinct([*said, *found.notices])))


def fit_soil(
    path: Path, soil: str | None, stated: str | None, *, variant: str | None, allow_outside: bool
) -> Fitted:
    """Fit one soil of a scenario, or of one of its variants, as the scenario says. ``FileError``
    for the first thing in the scenario or its readings that cannot be used, ``InputError`` for a
    line drawn by eye that cannot be read.
    """
    entry = load_soil(path, soil, variant=variant, allow_outside=allow_outside)
    by_hand, said = _by_hand(stated)
    laboratory = entry.laboratory
    assert laboratory is not None  # load_soil takes fitted soils only
    if by_hand:
        laboratory = laboratory.beside(by_hand)
    notices = distinct([*said, *entry.notices, *laboratory.notices])
    return Fitted(replace(laboratory, notices=notices), entry.value)


def fit_blocks(laboratory: LaboratoryStrength, name: str = "", key: str = "fit") -> Iterator[Block]:
    """The line or the curve, its uncertainty, the tests, and what goes with them.

    ``name`` is that of the soil, and ``key`` that of the picture, where several stand together.
    """
    fit = laboratory.fit
    tests, plane, curve = fit.tests, fit.plane, fit.curve
    unit = tests.unit
    form, of = "line" if curve is None else "curve", f": {name}" if name else ""
    head = (
        f"Strength {form} from {fit.of_tests} ({sum(tests.readings)} readings), "
        f"{tests.state.replace('_', ' ')}{fit.origin_words}"
    )
    yield Words(head, "strong")
    yield Lines(tuple(_equations(fit)))
    stated = [one.words(unit) for one in laboratory.stated]
    told = " ".join([f"{head}.", *_equations(fit), *stated])
    yield Picture(key, f"Tests and fit{of}", told, laboratory.plot)
    yield _strengths(fit, of)
    yield from map(Words, stated)
    low, high = fit.normal_range
    where = " on the planes of failure" if plane.point_names else ""
    kind = "stress" if unit == "kPa" else "force"
    yield Words(f"Tested normal {kind}{where}: {low:.4g} to {high:.4g} {unit}.")
    about = "the curve"
    if curve is None:
        about = "the line" if fit.error_line is fit.line else "the free line"
    scatter = fit.residual_std if curve is None else curve.residual_std
    if scatter is not None and math.isfinite(scatter):
        yield Words(f"Scatter about {about}: {scatter:.2f} {unit} (standard deviation).")
    if fit.correlation is not None:
        yield Words(
            f"c′ and tan φ′ of one fit are correlated ({fit.correlation:.2f}): a line that starts "
            "higher is flatter. Never vary one without the other."
        )
    yield _tests(fit, of)
    if tests.details:
        heads, rows = record_table(tests.details)
        numbers = range(2, len(heads))
        yield Table(f"Points read from the records{of}", heads, rows, numbers)


def _equations(fit: EnvelopeFit) -> Iterator[str]:
    """The envelope, and of triaxial tests what it is on the plane of sliding."""
    unit, plane = fit.tests.unit, fit.plane
    left, right = (plane.shear_symbol, plane.normal_symbol) if unit == "kPa" else ("T", "N")

    def line(left: str, intercept: float, slope: float, right: str) -> str:
        constant = "" if fit.through_origin else f"{intercept:.2f} {unit} + "
        return f"{left} = {constant}{slope:.4f} {right}"

    straight = line(left, float(fit.line.intercept), float(fit.line.slope), right)
    if fit.curve is None:
        yield straight
    else:
        yield from (fit.curve.equation, f"and the straight line {straight}")
    if plane.point_names:
        pair = fit.best_fit
        slope = float(pair.tan_friction_angle)
        yield f"and so {line('τ', float(pair.cohesion), slope, 'σ′')}"


def _tests(fit: EnvelopeFit, of: str) -> Table:
    tests, unit = fit.tests, fit.tests.unit
    headings = [*fit.plane.headings, "line" if fit.curve is None else "curve", "above it"]
    heads = [f"{w.capitalize() if len(w) > 2 else w} [{unit}]" for w in headings]
    rows = []
    for index, test in enumerate(tests.names):
        residual, shear = fit.residual(index), float(tests.shear[index])
        numbers = [float(tests.normal[index]), shear, shear - residual]
        shown = (f"{number:.1f}" for number in numbers)
        rows.append((test, str(tests.readings[index]), *shown, f"{residual:+.2f}"))
    columns = ("Test", "Readings", *heads)
    return Table(f"Tests, reduced{of}", columns, rows, range(1, 6))


def _strengths(fit: EnvelopeFit, of: str) -> Table:
    """Best fit, standard error, limits and cautious value of each parameter."""
    rows = []
    for one in fit.parameters:
        form, finer = (".1f", ".2f") if one.unit else (".3f", ".3f")
        limits = " to ".join(f"{end:{form}}" for end in one.limits or ())
        rows.append(
            (
                f"{one.name.capitalize()} [{one.unit}]" if one.unit else f"Curve: {one.name}",
                f"{float(one.best_fit):{form}}",
                number_cell(one.standard_error, finer),
                "assumed" if one.assumed else limits,
                number_cell(one.cautious, form),
            )
        )
    level = "" if fit.interval is None else f"{fit.interval.confidence:.0%} "
    heads = ("Quantity", "Best fit", "Standard error", f"{level}limits", "Cautious")
    return Table(f"Fitted strength{of}", heads, rows, {1, 2, 3, 4})


@dataclass(frozen=True, slots=True)
class Fitted(Result):
    """A fit, and whether its best or its cautious value is taken."""

    laboratory: LaboratoryStrength
    value: str = "best_fit"

    def document(self) -> dict[str, Any]:
        """The document of ``fit``."""
        return fit_document(self.laboratory, self.value)

    def figure(self) -> Figure:
        """The tests and the line."""
        return self.laboratory.plot()

    def blocks(self) -> Iterator[Block]:
        """The fit, and what to distrust in it."""
        yield from fit_blocks(self.laboratory)
        if self.laboratory.notices:
            yield Words("What to distrust", "strong")
            yield notice_list(("", notice) for notice in self.laboratory.notices)
