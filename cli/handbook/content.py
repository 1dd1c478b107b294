"""What the handbook says, gathered from where the program says it.

Theory, assumptions, limits and sources are the docstrings of the modules that compute;
symbols and limits are the declarations of the fields; every worked example is run here, its
working the kernel's own; check values are those of ``verify``. Written down in this module is
only what leads from one to the other.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import astuple
from datetime import datetime
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import numpy as np

from slipmargin.cli.handbook.first_page import first_page
from slipmargin.cli.handbook.tutorial import tutorial
from slipmargin.cli.page.blocks import (
    Block,
    Leaf,
    Lines,
    NoticeList,
    Section,
    Sheet,
    Table,
    Words,
    Working,
)
from slipmargin.cli.page.notices import written
from slipmargin.cli.questions.check import evaluate
from slipmargin.cli.questions.methods import account
from slipmargin.cli.questions.start import write_starter
from slipmargin.cli.scenario.read import load
from slipmargin.cli.sheet.checks import section_picture
from slipmargin.cli.sheet.content import NEVER_CHECKED
from slipmargin.cli.sheet.laboratory import (
    interpretations_section,
    laboratory_section,
    laboratory_workings,
)
from slipmargin.cli.verification.run import verify_document
from slipmargin.cli.verification.text import (
    ITS_REACH,
    features_tables,
    left_out_table,
    values_table,
)
from slipmargin.cli.words import CAUTION
from slipmargin.stability import KINDS, Check, fields
from slipmargin.stability.check import examples_of
from slipmargin.stability.working import given_steps, result_steps
from slipmargin.strength import InputError

__all__ = ["handbook"]

_BENCH = (
    ("The specimen and its gauges", "strength.laboratory.specimen"),
    ("Readings of one test", "strength.laboratory.readings"),
    ("Stress-displacement records: which point is the peak", "strength.laboratory.picked_points"),
    ("The area that is left", "strength.laboratory.area_correction"),
    ("Dilatancy: what the rise of the cap says", "strength.laboratory.dilatancy"),
    ("Drained or not", "strength.laboratory.drainage"),
    ("Triaxial tests", "strength.laboratory.triaxial"),
)
_LINE = (
    ("The line through a few tests", "strength.line"),
    ("The intercept, and what the errors rest on", "strength.envelope.fit"),
    ("A cautious value", "strength.envelope.cautious"),
    ("Why c′ and φ′ go together", "strength.envelope.joint"),
    ("A curved envelope", "strength.envelope.power_curve"),
    ("A line that someone else drew", "strength.envelope.stated_strength"),
    ("What to distrust in a fit", "strength.envelope.diagnostics"),
)
_UNCERTAINTY = (
    ("Sampling", "stability.uncertainty.reliability"),
    ("One curve for a million strengths", "stability.strength_law"),
    ("Sweeps and break-even values", "stability.uncertainty.sweep"),
    ("What the result hangs on", "stability.uncertainty.influence"),
    ("The strength map", "stability.uncertainty.strength_map"),
    ("Partial factors", "stability.design.partial_factors"),
)

_LOW_STRESS = (
    "Shear tests are run at normal stresses of tens or hundreds of kPa; the slip surface of a "
    "shallow slide or behind a low wall carries ten. The intercept is where the line was never "
    "tested. A true envelope bends down toward the origin, and a gauge that sticks adds to every "
    "reading: both show as cohesion. Scatter tips the line either way, and where it lifts the "
    "left end, it shows as cohesion too. And cohesion is what counts most there: at a normal "
    "stress of 10 kPa and φ′ = 30°, 5 kPa of c′ is nearly half of the strength. So the table "
    "below asks what the checks become under the other lines that the same tests allow; the line "
    "through the origin is the one without that cohesion. What a line costs is counted from the "
    "best line. The tests do not say which of them is right: if the intercept is not real, the "
    "factor of the best line is a gift and no base to count from."
)
_STEEPER = (
    "One factor rises without cohesion: that of the wall against sliding. Its base counts no "
    "adhesion unless some is given, but two thirds of φ′, and the line through the origin is the "
    "steeper one. It gives up nothing there that was counted, and gains friction. The same line "
    "is severe for the slopes and for the soil that bears the wall, and mild for its sliding: no "
    "reading is on the safe side of everything."
)


def handbook(now: datetime, kind: str | None = None) -> Sheet:
    """The handbook of that date, of one kind of check or of all, as a document that the page, the
    PDF and the Markdown can show. ``InputError``: a kind that is not known.
    """
    if kind is not None and kind not in KINDS:
        raise InputError("KIND", kind, "known: " + ", ".join(KINDS))
    with tempfile.TemporaryDirectory() as folder:
        write_starter(Path(folder) / "first", force=False)
        outcome = evaluate(load(Path(folder) / "first" / "scenario.toml"))
        first = first_page(Path(folder), outcome)
        interpretations = interpretations_section(outcome)
    verified = verify_document(kind)
    sections = (
        first,
        *(tutorial() if kind is None else ()),
        _theory("From the gauge to a point", _BENCH),
        _theory("From points to c′ and φ′", _LINE),
        Section(
            "The starter's tests, worked",
            (Words("The fit of the first run, step by step."),),
            (
                *laboratory_section(outcome.scenario).leaves[:1],
                *laboratory_workings(outcome.scenario),
            ),
        ),
        Section(
            "What the line costs", (Words(_LOW_STRESS), *interpretations.blocks, Words(_STEEPER))
        ),
        *(_check(one, verified["checks"]) for one in (KINDS if kind is None else (kind,))),
        _theory("Uncertainty in the answer", _UNCERTAINTY),
        _trust(verified),
        Section("What no check sees", tuple(Words(one) for one in NEVER_CHECKED)),
    )
    return Sheet(
        title="slipmargin: from a shear test to a margin of safety",
        caution=CAUTION,
        verdict="Theory, worked examples and check values, made by the program from itself.",
        date=now.strftime("%Y-%m-%d %H:%M %Z").strip(),
        sections=sections,
        kind="Handbook",
    )


def _theory(title: str, modules: Iterable[tuple[str, str]]) -> Section:
    leaves = [Leaf(head, tuple(_said(f"slipmargin.{module}"))) for head, module in modules]
    return Section(title, (), leaves)


def _said(module: str) -> Iterator[Block]:
    """A module's own account of itself: paragraphs, and equations as they stand."""
    for part in account(module).split("\n\n"):
        if part.startswith("    "):
            yield Lines(tuple(line[4:] for line in part.split("\n")))
        else:
            yield Words(" ".join(part.split()))


def _check(kind: str, verified: list[dict[str, object]]) -> Section:
    """All of one check: theory, symbols, figure, worked example, check values."""
    check = KINDS[kind]
    name = kind.replace("_", " ").capitalize()
    leaves = [
        Leaf("What it models", tuple(_said(check.__module__))),
        *_derived(check),
        Leaf("What it takes", (_symbols(check),)),
    ]
    for number, example in enumerate(examples_of(check)):
        leaves.append(_worked(example, f"handbook-{kind}-{number}", number))
    values = [one for one in verified if one["kind"] == kind]
    if values:
        leaves.append(Leaf("Check values", (values_table(name, values),)))
    return Section(name, (), leaves)


def _derived(check: type[Check]) -> Iterator[Leaf]:
    """What the other modules of a check say of themselves, where they say it in equations."""
    package = check.__module__.rpartition(".")[0]
    for module in iter_modules(import_module(package).__path__, f"{package}."):
        title, *blocks = _said(module.name)
        if module.name != check.__module__ and any(isinstance(one, Lines) for one in blocks):
            assert isinstance(title, Words)
            yield Leaf(title.text.rstrip("."), blocks)


def _symbols(check: type[Check]) -> Table:
    rows = tuple(astuple(one)[:5] for one in fields.described(check))
    headers = ("Key", "Symbol", "Unit", "Meaning", "Allowed")
    return Table("Fields of a scenario, with the symbols of the working", headers, rows)


def _worked(example: Check, key: str, number: int) -> Leaf:
    result = example.evaluate()
    factors = "; ".join(
        f"{state} {float(np.asarray(factor)):.3f}"
        for state, factor in result.factors_of_safety.items()
    )
    blocks: list[Block] = []
    if number == 0:
        blocks.append(section_picture(example, result, key, "The example"))
    if factors:
        blocks.append(Words(f"Factors of safety: {factors}.", "strong"))
    steps = tuple(result_steps(example, result))
    blocks.append(Working(tuple(given_steps(example)), steps))
    if result.notices:
        blocks.append(NoticeList(written(("", notice) for notice in result.notices)))
    title = "An example in which every term acts" if number == 0 else f"Another case ({number})"
    return Leaf(title, blocks)


def _trust(verified: dict[str, list[dict[str, object]]]) -> Section:
    """What published results touch, what they do not, and what does not reproduce."""
    tables = (*features_tables(verified["features"]), left_out_table(verified["left_out"]))
    return Section("What this rests on", (Words(ITS_REACH), *tables))
