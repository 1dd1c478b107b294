"""Results as plain text for a terminal of 80 columns; colour never carries meaning alone."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Collection, Iterable, Sequence
from typing import IO, TYPE_CHECKING, Any, cast

import numpy as np
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.cli.scenario.read import Scenario, SoilEntry
from slipmargin.cli.visible_text import visible
from slipmargin.cli.words import CAUTION
from slipmargin.stability.design.result import level_text
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import EnvelopeFit, Notice, Severity
from slipmargin.strength.from_laboratory import LaboratoryStrength
from slipmargin.strength.laboratory.record_table import record_table

if TYPE_CHECKING:
    from slipmargin.stability.design.result import DesignResult
    from slipmargin.strength.laboratory.picked_points import PickedTest

__all__ = [
    "console",
    "level_cell",
    "print_check",
    "print_fit",
    "print_named",
    "print_notices",
    "print_variants",
    "says_all",
    "table",
]

_SHOWN_IN_THE_TABLE = frozenset({"below-target", "planar-search-unconservative"})
_WORDS = {Severity.STOP: "STOP", Severity.CAUTION: "caution", Severity.INFO: "note"}
_STYLES = {Severity.STOP: "bold red", Severity.CAUTION: "yellow", Severity.INFO: "dim"}


def console(*, every_notice: bool = False, said: Collection[Notice] = ()) -> Console:
    """A console that is plain in a pipe and heeds NO_COLOR.

    ``said`` are cautions that ``check`` prints in full: here they are named, unless
    ``every_notice`` is asked for.
    """
    found = _Console(highlight=False, markup=False, emoji=False, soft_wrap=False)
    if not found.is_terminal:
        stream = cast("IO[str]", _Trimmed())
        found = _Console(highlight=False, markup=False, emoji=False, width=80, file=stream)
    found.every_notice, found.said = every_notice, frozenset(said)
    return found


def _visible(item: Any) -> Any:
    """Text of others cannot command the terminal, nor begin a line of its own."""
    if isinstance(item, str):
        return visible(item)
    if isinstance(item, Text) and visible(item.plain) != item.plain:
        return Text(visible(item.plain), style=item.style)
    return item


class _Console(Console):
    """A console on which every character can be seen."""

    every_notice: bool = False
    said: frozenset[Notice] = frozenset()

    def print(self, *objects: Any, **options: Any) -> None:
        super().print(*(_visible(one) for one in objects), **options)


class _Grid(Table):
    """A table in which every character can be seen."""

    def add_column(self, header: Any = "", *args: Any, **options: Any) -> None:
        super().add_column(_visible(header), *args, **options)

    def add_row(self, *cells: Any, **options: Any) -> None:
        super().add_row(*(_visible(cell) for cell in cells), **options)


class _Trimmed:
    """Standard output without the blanks that pad a table's lines."""

    def write(self, text: str) -> int:
        return sys.stdout.write(re.sub(r"[ \t]+(?=\n)", "", text))

    def flush(self) -> None:
        sys.stdout.flush()


def table(*headers: str, right: Sequence[str] = ()) -> Table:
    """A bare table; the columns named in ``right`` are aligned there."""
    grid = _Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for header in headers:
        grid.add_column(header, justify="right" if header in right else "left", overflow="fold")
    return grid


def print_check(out: Console, outcome: Outcome) -> None:
    """One screen: strength, factors against targets, notices, the caution."""
    scenario = outcome.scenario
    out.print(Text(scenario.title, style="bold"))
    out.print()
    grid = table("soil", "c′ [kPa]", "φ′ [deg]", "from", right=("c′ [kPa]", "φ′ [deg]"))
    for soil in scenario.soils.values():
        strength = soil.soil.strength
        pair = (strength.cohesion, strength.friction_angle)
        shown = ("curve",) * 2 if strength.curve else (f"{float(one):.1f}" for one in pair)
        grid.add_row(soil.name, *shown, _origin(soil))
    out.print(grid)
    out.print()
    grid = table("check", "limit state", "factor", "target", "", right=("factor", "target"))
    for check in outcome.checks:
        for row in _rows(check):
            grid.add_row(*row)
    out.print(grid)
    out.print()
    if outcome.checks and outcome.checks[0].designs:
        _print_designs(out, outcome)
    items = [(soil.name, n) for soil in scenario.soils.values() for n in soil.notices]
    items += [("", n) for n in scenario.notices]
    items += [
        (check.entry.label, n)
        for check in outcome.checks
        for n in check.notices
        if n.code not in _SHOWN_IN_THE_TABLE and not any(n == of_soil for _, of_soil in items)
    ]
    print_notices(out, items, every_notice=False)
    print_variants(out, scenario)
    out.print(Text(CAUTION, style="bold"))


def print_variants(out: Console, scenario: Scenario) -> None:
    """Which variants a scenario has, where it is looked at as it is written."""
    if scenario.variants and scenario.variant is None:
        names = ", ".join(scenario.variants)
        out.print(Text(f"Variants: {names}. --variant NAME takes one, check --variants them all."))
        out.print()


def _origin(entry: SoilEntry) -> str:
    fit = entry.fit
    if fit is None:
        return "stated"
    count = len(fit.tests.names)
    text = f"{count} {fit.plane.of_tests}test{'s' if count > 1 else ''}, "
    text += fit.tests.state.replace("_", " ")
    if (curve := entry.soil.strength.curve) is not None:
        text = f"{curve.equation}; {text}"
        if entry.value == "cautious":
            text += f", cautious at {fit.confidence:.0%}"
        known = [
            "{} {:.3f} to {:.3f}".format(one.name[-1], *one.limits)
            for one in fit.curve_parameters
            if one.limits is not None
        ]
        return text + (f"; {fit.confidence:.0%} limits: {', '.join(known)}" if known else "")
    text += fit.origin_words
    if entry.value == "cautious":
        text += f", cautious at {fit.confidence:.0%}"
    interval = fit.interval
    if interval is not None:
        low, high = interval.friction_angle
        limits = f"φ′ {low:.1f} to {high:.1f}"
        if interval.cohesion is not None:
            limits = f"c′ {interval.cohesion[0]:.1f} to {interval.cohesion[1]:.1f}, " + limits
        text += f"; {interval.confidence:.0%} limits of the line: {limits}"
    return text


def _rows(outcome: CheckOutcome) -> Iterable[tuple[str | Text, ...]]:
    label = outcome.entry.label
    factors = outcome.result.factors_of_safety
    if not factors:
        values = outcome.result.values
        thrust = float(np.asarray(values.thrust))
        yield label, f"thrust {thrust:.1f} kN/m", "", "", ""
    for name, factor, target in outcome.judged:
        verdict = Text("")
        if target is not None:
            meets = factor >= target.value
            verdict = Text("meets", style="green") if meets else Text("MISSES", style="bold red")
        elif factor < 1.0:
            verdict = Text("BELOW 1", style="bold red")
        wanted = "" if target is None else target.text
        yield label, name, factor_text(factor), wanted, verdict
        label = ""


def level_cell(level: Any) -> str:
    """A degree of utilisation, marked where it is over 1."""
    value = math.nan if level is None else float(np.asarray(level))
    return level_text(value) + (" OVER" if value > 1.0 else "")


def _print_designs(out: Console, outcome: Outcome) -> None:
    """Degree of utilisation under every set of partial factors, that on the cautious values of
    fitted soils beside it.
    """
    held = [design for c in outcome.checks for design in c.designs]
    careful = any(design.on_cautious for design in held)
    sets = [design.factor_set.name for design in outcome.checks[0].designs]
    headers = [one for name in sets for one in ([name, f"{name} cautious"] if careful else [name])]

    def cells(designs: Sequence[DesignResult], state: str) -> list[str]:
        found = []
        for design in designs:
            level = design.utilisation.get(state)
            # without a best fit the strength is the cautious one already
            cautious = design.on_cautious.get(state, level)
            found += [level_cell(one) for one in ((level, cautious) if careful else (level,))]
        return found

    out.print(Text("Partial factors: degree of utilisation, at most 1"))
    grid = table("check", "limit state", *headers, right=headers)
    for check in outcome.checks:
        label = check.entry.label
        for state in check.designs[0].limit_states:
            grid.add_row(label, state, *cells(check.designs, state))
            label = ""
    out.print(grid)
    out.print()


def print_notices(
    out: Console, items: Sequence[tuple[str, Notice]], *, every_notice: bool = True
) -> None:
    """Notices, most severe first.

    Without ``every_notice`` the lighter ones are only counted, and of cautions of one kind
    the first is printed, with the number of its like; cautions that ``check`` prints in full
    are named; what says stop is always printed.
    """
    said: frozenset[Notice] = frozenset()
    every_notice = every_notice or says_all(out)
    if isinstance(out, _Console) and not every_notice:
        said = out.said
    known = [n for _, n in items if n in said and n.severity == Severity.CAUTION]
    items = [(where, n) for where, n in items if n not in known]
    grid = _Grid(box=None, pad_edge=False, show_header=False, padding=(0, 1, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    merged: dict[Notice, list[str]] = {}
    for where, notice in items:
        places = merged.setdefault(notice, [])
        if where and where not in places:
            places.append(where)
    order = [Severity.STOP, Severity.CAUTION, Severity.INFO]
    kept = sorted(merged, key=lambda n: order.index(n.severity))
    alike: dict[str, list[Notice]] = {}
    for notice in kept:
        own = str(notice) if every_notice or notice.severity == Severity.STOP else notice.code
        # a second one of the same place says something of its own
        same = [place for other in alike.get(own, ()) for place in merged[other]]
        if set(same) & set(merged[notice]) or (same and not merged[notice]):
            own = str(notice)
        alike.setdefault(own, []).append(notice)
    lighter = more = 0
    for first, *others in alike.values():
        if first.severity == Severity.INFO and not every_notice:
            lighter += 1 + len(others)
            continue
        more += len(others)
        places = merged[first]
        prefix = f"{', '.join(places)}: " if places else ""
        text = prefix + first.text
        if others:
            found = [place for other in others for place in merged[other]]
            named = ", ".join(dict.fromkeys(p for p in found if p not in places))
            text += f" (Likewise: {named}.)" if named else f" (And {len(others)} like it.)"
        grid.add_row(Text(_WORDS[first.severity], style=_STYLES[first.severity]), Text(text))
    if grid.row_count:
        out.print(grid)
    if lighter or more:
        parts = [f"{lighter} lighter"] if lighter else []
        parts += [f"{more} of a kind already shown"] if more else []
        out.print(Text(f"Not shown: {' and '.join(parts)}; add --notes", style="dim"))
    print_named(out, known)
    if kept and not known:
        out.print()


def says_all(out: Console) -> bool:
    """Whether every notice is asked for in full."""
    return isinstance(out, _Console) and out.every_notice


def print_named(out: Console, cautions: Iterable[Notice]) -> None:
    """Cautions by name alone, which ``check`` gives in full."""
    names = dict.fromkeys(one.code.replace("-", " ") for one in cautions)
    if names:
        out.print(Text(f"Cautions, in full with check: {', '.join(names)}."))
        out.print()


def print_fit(out: Console, laboratory: LaboratoryStrength) -> None:
    """The line, its doubt, the tests, and what to distrust."""
    fit = laboratory.fit
    tests = fit.tests
    unit, count = tests.unit, len(tests.names)
    plane = fit.plane
    left, name = (plane.shear_symbol, plane.normal_symbol) if unit == "kPa" else ("T", "N")
    curve = fit.curve
    form = "line" if curve is None else "curve"
    out.print(
        Text(
            f"Strength {form} from {count} {plane.of_tests}test{'s' if count > 1 else ''} "
            f"({sum(tests.readings)} readings), {tests.state.replace('_', ' ')}" + fit.origin_words,
            style="bold",
        )
    )
    constant = "" if fit.through_origin else f"{float(fit.line.intercept):.2f} {unit} + "
    line = f"{left} = {constant}{float(fit.line.slope):.4f} {name}"
    if plane.point_names:
        pair = fit.best_fit
        constant = "" if fit.through_origin else f"{pair.cohesion:.2f} {unit} + "
        line += f"\nand so τ = {constant}{pair.tan_friction_angle:.4f} σ′"
    equation = line if curve is None else f"{curve.equation}\nand the straight line {line}"
    out.print(Padding(Text(equation), (1, 2)))
    grid = table("", "best fit", "± std. error", "limits", "cautious")
    out.print(_values(fit, grid))
    out.print()
    for one in laboratory.stated:
        out.print(Text(one.words(unit)))
        out.print()
    low, high = fit.normal_range
    kind = "stress" if unit == "kPa" else "force"
    where = " on the planes of failure" if plane.point_names else ""
    out.print(f"Tested normal {kind}{where}: {low:.4g} to {high:.4g} {unit}")
    about = "the curve"
    if curve is None:
        about = "the line" if fit.error_line is fit.line else "the free line"
    scatter = fit.residual_std if curve is None else curve.residual_std
    if scatter is not None and math.isfinite(scatter):
        out.print(f"Scatter about {about}: {scatter:.2f} {unit} (standard deviation)")
    if fit.correlation is not None:
        out.print(
            f"c′ and tan φ′ are correlated ({fit.correlation:.2f}): never vary one without "
            "the other."
        )
    out.print()
    grid = table(
        "test",
        *(columns := [f"{word} [{unit}]" for word in (*plane.headings, form, "off by")]),
        right=tuple(columns),
    )
    for index, test in enumerate(tests.names):
        residual = fit.residual(index)
        shear = float(tests.shear[index])
        grid.add_row(
            test,
            f"{tests.normal[index]:.1f}",
            f"{shear:.1f}",
            f"{shear - residual:.1f}",
            f"{residual:+.2f}",
        )
    out.print(grid)
    out.print()
    if tests.details:
        _print_records(out, tests.details)
    if laboratory.notices:
        out.print(Text("What to distrust", style="bold"))
        print_notices(out, [("", notice) for notice in laboratory.notices])
    out.print(Text(CAUTION, style="bold"))


def _print_records(out: Console, details: Sequence[PickedTest]) -> None:
    headings, rows = record_table(details)
    grid = table(*headings, right=headings[2:])
    for row in rows:
        grid.add_row(*row)
    out.print(grid)
    out.print()


def _values(fit: EnvelopeFit, grid: Table) -> Table:
    unit = fit.tests.unit
    cautious, interval = fit.cautious, fit.interval
    of_line = ""
    for one in fit.curve_parameters:
        of_line = "line: "
        grid.add_row(
            one.name,
            f"{one.best_fit:.3f}",
            "-" if one.standard_error is None else f"{one.standard_error:.3f}",
            "-" if one.limits is None else "{:.3f} to {:.3f}".format(*one.limits),
            "-" if one.cautious is None else f"{one.cautious:.3f}",
        )
    what = of_line + ("cohesion c′" if unit == "kPa" else "intercept")
    error = "-" if fit.standard_error_cohesion is None else f"{fit.standard_error_cohesion:.2f}"
    limits = "-"
    if interval is not None and interval.cohesion is not None:
        limits = f"{interval.cohesion[0]:.1f} to {interval.cohesion[1]:.1f}"
    if fit.cohesion_assumed:
        limits = "assumed"
    grid.add_row(
        f"{what} [{unit}]",
        f"{fit.best_fit.cohesion:.1f}",
        error,
        limits,
        "-" if cautious is None else f"{cautious.cohesion:.1f}",
    )
    error = limits = "-"
    if fit.standard_error_friction_angle is not None and interval is not None:
        error = f"{fit.standard_error_friction_angle:.2f}"
        limits = f"{interval.friction_angle[0]:.1f} to {interval.friction_angle[1]:.1f}"
        grid.columns[3].header = f"{interval.confidence:.0%} limits"
    grid.add_row(
        f"{of_line}friction angle φ′ [deg]",
        f"{fit.best_fit.friction_angle:.1f}",
        error,
        limits,
        "-" if cautious is None else f"{cautious.friction_angle:.1f}",
    )
    return grid
