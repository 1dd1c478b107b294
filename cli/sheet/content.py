"""Gathers a calculation sheet from the outcome of a scenario."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cache
from importlib.metadata import version

from slipmargin.cli.page.blocks import (
    Cell,
    Leaf,
    NoticeList,
    Section,
    Sheet,
    Table,
    Words,
    WrittenNotice,
)
from slipmargin.cli.page.notices import by_kind
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.questions.interpretations import interpret
from slipmargin.cli.questions.methods import account
from slipmargin.cli.scenario.read import Scenario
from slipmargin.cli.sheet.checks import (
    all_notices,
    checks_section,
    working_section,
)
from slipmargin.cli.sheet.gaps import Gaps
from slipmargin.cli.sheet.laboratory import (
    interpretations_section,
    laboratory_section,
    laboratory_workings,
)
from slipmargin.cli.sheet.review import review_section
from slipmargin.cli.sheet.sensitivities import sensitivities_section
from slipmargin.cli.words import CAUTION
from slipmargin.stability import KINDS
from slipmargin.strength import Severity

__all__ = ["NEVER_CHECKED", "sheet_of"]

_WEIGHTS = {
    Severity.STOP: "Stop: the number must not be used as it stands",
    Severity.CAUTION: "Caution: it changes how the number may be used",
    Severity.INFO: "Good to know",
}

NEVER_CHECKED = (
    "Settlement, movement and cracking short of failure.",
    "Short-term (undrained) strength: every check is in effective stress.",
    "Layers, joints, old slip surfaces and soft pockets that the scenario does not describe.",
    "Loss of strength in shaking, liquefaction, and movement that an earthquake leaves.",
    "Change with time: softening, weathering, frost, scour, burrows, drains that clog, pipes "
    "that leak, digging at the toe, loads placed later.",
    "Structural strength of walls, anchors, nails and their bond; safety during construction.",
    "Slides that pass below or behind everything that was checked.",
)


def sheet_of(
    outcome: Outcome, now: datetime, *, sampled: bool = False, working: bool = True
) -> Sheet:
    """The sheet of that date, in the order a reviewer reads it: the answer first, the working,
    where it is wanted, last; with the table of ``sampled`` factors or without.
    """
    scenario, gaps = outcome.scenario, Gaps()
    date = now.strftime("%Y-%m-%d %H:%M %Z").strip()
    known = all_notices(outcome)
    readings = cache(lambda: interpret(scenario))
    parts = [
        gaps.section("Laboratory data and fit", lambda: laboratory_section(scenario)),
        gaps.section("Checks", lambda: checks_section(outcome)),
        gaps.section("Interpretations", lambda: interpretations_section(outcome, readings())),
        gaps.section(
            "Sensitivities", lambda: sensitivities_section(outcome, gaps, sampled=sampled)
        ),
    ]
    end = []
    if working:
        laboratory = gaps.leaves("Working of the fits", lambda: laboratory_workings(scenario))
        end.append(gaps.section("Working", lambda: working_section(outcome, laboratory)))
    # the first page says what the others lack
    told = (*known, *gaps.notices)
    review = gaps.section("Review", lambda: review_section(outcome, told, readings))
    # what could not be made belongs to the notices
    every = (*known, *gaps.notices)
    return Sheet(
        title=scenario.heading,
        caution=CAUTION,
        verdict=_verdict(outcome, every),
        date=date,
        sections=(
            review,
            *parts,
            _notices(every),
            _not_checked(outcome),
            _provenance(outcome),
            *end,
        ),
        signed=_signed(scenario, date),
    )


def _signed(scenario: Scenario, date: str) -> tuple[tuple[str, str], ...]:
    given = scenario.top.sheet
    return (
        ("Project", given.project),
        ("Job number", given.job_number),
        ("Revision", given.revision),
        ("Made by", given.made_by),
        ("Checked by", given.checked_by),
        ("Date", date),
    )


def _verdict(outcome: Outcome, every: Sequence[WrittenNotice]) -> str:
    """One line that says how it stands."""
    judged = [check for check in outcome.checks if check.meets_target is not None]
    missed = [check for check in judged if check.meets_target is False]
    stops = sum(one.notice.severity == Severity.STOP for one in every)
    parts = []
    if judged:
        parts.append(
            f"{len(missed)} of {len(judged)} checks with a target miss it"
            if missed
            else f"all {len(judged)} checks with a target meet it"
        )
    held = [resists for check in outcome.checks for resists in check.resists]
    if held:
        parts.append(
            f"all {len(held)} limit states are within their design resistance"
            if all(held)
            else f"{held.count(False)} of {len(held)} limit states exceed their design resistance"
        )
    if stops:
        parts.append(f"{stops} notice{'s' if stops > 1 else ''} of weight stop")
    text = "; ".join(parts) or "no check has a target"
    return text[0].upper() + text[1:] + "."


def _notices(every: Sequence[WrittenNotice]) -> Section:
    leaves = []
    for severity, title in _WEIGHTS.items():
        some: tuple[WrittenNotice, ...] = tuple(n for n in every if n.notice.severity == severity)
        if some:
            told = some if severity == Severity.STOP else by_kind(some)
            leaves.append(Leaf(f"{title} ({len(some)})", (NoticeList(told),)))
    return Section("Notices", () if leaves else (Words("None."),), leaves)


def _not_checked(outcome: Outcome) -> Section:
    """What every sheet leaves out, what its methods say of themselves, what was not run."""
    ran = dict.fromkeys(check.entry.kind for check in outcome.checks)
    rows: list[tuple[Cell, ...]] = [("Always", " ".join(NEVER_CHECKED))]
    for kind in ran:
        limits, assumed = (_paragraph(kind, head) for head in ("Limits:", "Assumptions:"))
        rows.append((_name(kind), " ".join([limits, f"Assumed: {assumed}" if assumed else ""])))
    rows += [
        ("Not in this scenario", f"{_name(kind)}: not run.") for kind in KINDS if kind not in ran
    ]
    return Section("What was not checked", (Table("Left out", ("Where", "What"), rows),))


def _name(kind: str) -> str:
    return kind.replace("_", " ").capitalize()


def _paragraph(kind: str, head: str) -> str:
    """A paragraph of what a check says of itself, where its computation stands."""
    for part in account(KINDS[kind].__module__).split("\n\n"):
        if part.startswith(head):
            text = " ".join(part.removeprefix(head).split())
            return text[:1].upper() + text[1:]
    return ""


def _provenance(outcome: Outcome) -> Section:
    scenario = outcome.scenario
    programs = ", ".join(
        f"{name} {version(name)}" for name in ("slipmargin", "numpy", "scipy", "shapely")
    )
    files: list[tuple[Cell, ...]] = [(name, digest) for name, digest in scenario.digests.items()]
    sampling = scenario.top.reliability
    return Section(
        "Provenance",
        (
            Words(
                f"Made with {programs}. Probabilities are of {sampling.samples} "
                f"{'Sobol' if sampling.sampling == 'sobol' else 'random'} samples, seed "
                f"{sampling.seed}."
            ),
            Table("Input files", ("File", "SHA-256"), tuple(files)),
        ),
    )
