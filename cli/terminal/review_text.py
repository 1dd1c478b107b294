"""A review on one screen of 80 columns."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.questions.review import (
    HANGS,
    HOLDS,
    MISSES,
    Judged,
    Reading,
    Review,
    StateReview,
)
from slipmargin.cli.questions.review_words import check_sentence, value_text
from slipmargin.cli.terminal.as_text import print_named, print_notices, print_variants, says_all
from slipmargin.cli.terminal.uncertainty_text import probability_text
from slipmargin.cli.words import CAUTION
from slipmargin.strength import Severity

__all__ = ["print_review"]

_SHORT = {
    "as used": "used",
    "peak": "peak",
    "end of test": "end",
    "residual": "res.",
    "zero intercept": "zero",
    "cautious": "caut",
    "power curve": "curv",
}
"""Readings as the table names them."""

_TOO_WIDE = 99.995

_STYLES: dict[str | None, str] = {HOLDS: "green", HANGS: "yellow", MISSES: "bold red"}
_WORDS: dict[str | None, str] = {HOLDS: "holds", HANGS: "HANGS", MISSES: "MISSES", None: "-"}


def print_review(out: Console, found: Review) -> None:
    """A line a limit state, a sentence a check, and what must not be parted from them."""
    judged = [state.judged for one in found.checks for state in one.states]
    by_sets = any(one.by_set for one in judged)
    sampled = not by_sets and any(state.sampled for one in found.checks for state in one.states)
    heads = ["limit state", "used", "asked", "lowest", "highest", "caut."]
    out.print(Text(found.scenario.title, style="bold"))
    out.print()
    out.print(Text(_line("", [*heads, *["miss"] * sampled, "φ′", "s.e.", "95 %"], by_sets).plain))
    for one in found.checks:
        out.print(Text(one.entry.label, style="bold"))
        for state in one.states:
            name = state.state + (f", {state.judged.by_set}" if state.judged.by_set else "")
            share = [_share(state, found.samples)] * sampled
            cells = [name, *_values(state.judged), *share, *_angles(state.judged)]
            out.print(_line(_WORDS[state.verdict], cells, by_sets, _STYLES.get(state.verdict)))
    out.print(Text(_legend(found, sampled=sampled), style="dim"))
    out.print()
    for one in found.checks:
        out.print(Text(check_sentence(one)))
    out.print()
    _print_cautions(out, found)
    print_variants(out, found.scenario)
    out.print(Text(CAUTION, style="bold"))


def _line(verdict: str, cells: list[str], by_sets: bool, style: str | None = None) -> Text:
    """A verdict and cells in columns that fill 80 characters together; by sets the names are
    longer, and no probability is asked for.
    """
    name, *others = cells
    widths = [5, 6, 10, 10, 6, *([7] if len(others) == 9 else []), 6, 6, 5]
    line = Text(f"{verdict:<7}", style=style or "")
    line.append(f"{name:<{19 if by_sets else 12}}", style="not bold default")
    for cell, width in zip(others, widths, strict=True):
        line.append(f"{cell:>{width}}", style="not bold default")
    return line


def _share(state: StateReview, samples: int) -> str:
    """The probability of missing the target."""
    below = None if state.sampled is None else state.sampled.probability_below_target
    return "-" if below is None else probability_text(below, samples)


def _values(one: Judged) -> list[str]:
    asked = "≤ 1" if one.by_set else "-"
    if one.asked is not None and not one.by_set:
        asked = f"{one.asked:.2f}" + "*" * one.asked_text.startswith("customary")
    careful = "-" if one.cautious is None else _shown(one, one.cautious)
    return [_shown(one, one.used), asked, *_ends(one), careful]


def _shown(one: Judged, value: float) -> str:
    """A value that keeps to its column."""
    return ">99" if value >= _TOO_WIDE else value_text(one, value)


def _ends(one: Judged) -> list[str]:
    return [_reading(one, end) for end in (one.lowest, one.highest)]


def _reading(one: Judged, end: Reading | None) -> str:
    if end is None:
        return "-"
    short = _SHORT.get(end.name, "said" if end.name.startswith("stated") else "all")
    return f"{_shown(one, end.value)} {short}"


def _angles(one: Judged) -> list[str]:
    needed, crosses = one.needed, one.crosses
    errors = None if needed is None else needed.standard_errors
    return [
        "-" if needed is None else f"{needed.friction_angle:.1f}",
        "-" if errors is None else f"{errors:+.{0 if abs(errors) >= 10.0 else 1}f}",
        "-" if crosses is None else "yes" if crosses else "no",
    ]


def _legend(found: Review, *, sampled: bool) -> str:
    every = [state.judged for one in found.checks for state in one.states]
    ends = {end.name for one in every for end in (one.lowest, one.highest) if end is not None}
    named = [f"{short} {name}" for name, short in _SHORT.items() if name in ends]
    named += ["said stated by others"] * any(name.startswith("stated") for name in ends)
    named += ["all lowest or highest of all"] * any("together" in name for name in ends)
    words = [f"Readings: {', '.join(named)}."] if named else []
    words += ["miss: probability of missing what is asked."] if sampled else []
    words += [
        "φ′ [deg]: where it is just met, c′ held; s.e.: its standard errors above the fit. 95 %: "
        "whether the joint region lies on both sides."
    ]
    words += ["* customary."] * any(one.asked_text.startswith("customary") for one in every)
    words += ["HANGS: on the reading of the tests."] * any(one.verdict == HANGS for one in every)
    return " ".join(words)


def _print_cautions(out: Console, found: Review) -> None:
    """What says stop in full; cautions by name, which ``check`` gives in full."""
    scenario = found.scenario
    items = [("", n) for n in scenario.notices]
    items += [(soil.name, n) for soil in scenario.soils.values() for n in soil.notices]
    items += [(one.entry.label, n) for one in found.checks for n in one.notices]
    if says_all(out):
        print_notices(out, items)
        return
    stops = [(where, n) for where, n in items if n.severity == Severity.STOP]
    print_notices(out, [one for one in stops if one[1].code != "below-one"], every_notice=False)
    fallen = [where for where, n in stops if n.code == "below-one"]
    if fallen:
        listed = ", ".join(dict.fromkeys(fallen))
        out.print(Text(f"STOP Below 1 as used, by this model it does not stand: {listed}."))
    print_named(
        out,
        (
            n
            for _, n in items
            if n.severity == Severity.CAUTION and n.code not in SHOWN_BY_THE_FACTORS
        ),
    )
