"""Interpretations, reliability and strength maps as plain text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from slipmargin.cli.questions.influence import CheckInfluence
from slipmargin.cli.questions.interpretations import CheckInterpretations
from slipmargin.cli.questions.reliability import NOT_COVERED, CheckReliability
from slipmargin.cli.questions.strength_map import FailedSlope, RegionOnMap, StrengthMap
from slipmargin.cli.questions.utilisations import highest, level_headers
from slipmargin.cli.terminal.as_text import level_cell, print_notices, table
from slipmargin.cli.words import CAUTION
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.field_words import field_words

__all__ = [
    "print_back_analysis",
    "print_influence",
    "print_interpretations",
    "print_reliability",
    "print_strength_map",
]


def print_interpretations(out: Console, found: Sequence[CheckInterpretations]) -> None:
    """One table a check."""
    for one in found:
        states = list(one.rows[0].factors)
        asked = one.entry.asked(states)
        wanted = f"  ({asked})" if asked else ""
        out.print(Text(one.entry.label + wanted, style="bold"))
        several = len({row.soil for row in one.rows}) > 1
        sets = [name for name, levels in one.rows[0].levels.items() if levels]
        headers = [*states, *sets]
        grid = table(
            *(["soil"] if several else []),
            "interpretation",
            "c′ [kPa]",
            "φ′ [deg]",
            *headers,
            right=("c′ [kPa]", "φ′ [deg]", *headers),
        )
        for row in one.rows:
            grid.add_row(
                *([row.soil] if several else []),
                row.reading.name,
                f"{row.reading.cohesion:.1f}",
                f"{row.reading.friction_angle:.1f}",
                *(factor_text(row.factors[s]) for s in states),
                *(level_cell(highest(row.levels[name])) for name in sets),
            )
        out.print(grid)
        if sets:
            out.print(Text(f"{', '.join(sets)}: highest degree of utilisation, at most 1."))
        for row in one.rows:
            if row.reading.curve is not None:
                note = f"{row.soil}: {row.reading.note}"
                out.print(Text(f"Of the power curve, {note}."))
        out.print()
    print_notices(
        out, [(one.entry.label, n) for one in found for n in one.notices], every_notice=False
    )
    out.print(Text(CAUTION, style="bold"))


def print_influence(out: Console, found: Sequence[CheckInfluence]) -> None:
    """One table a check, widest swing first."""
    for one in found:
        wanted = f"  ({one.asked})" if one.asked else ""
        out.print(Text(f"{one.entry.label}: lowest factor {factor_text(one.base)}{wanted}"))
        grid = table("input", "from", "to", "factor", "", "", right=("factor",))
        for swing in one.swings:
            name = field_words(swing.name, label=one.entry.label)
            if not swing.bounded:
                said, _, by_what = swing.low.partition(" by ")
                grid.add_row(name, said, f"by {by_what}", "-", "", "")
                continue
            grid.add_row(
                name,
                swing.low + (" *" if swing.default_range else ""),
                swing.high,
                f"{factor_text(swing.at_low)} to",
                factor_text(swing.at_high),
                "misses" if swing.misses else "",
            )
        out.print(grid)
        out.print()
    print_notices(
        out, [(one.entry.label, n) for one in found for n in one.notices], every_notice=False
    )
    out.print(Text("* a default range; state your own under [ranges] or [uncertain]"))
    paths = [
        s.name for one in found for s in one.swings if s.name.startswith(("soils.", "checks."))
    ]
    if paths:
        out.print(Text(f"An input is typed as its path, the first of them as {paths[0]}."))
    out.print(
        Text(
            "c′ and φ′ of one fit are correlated: both at their worst is a pair the tests exclude."
        )
    )
    out.print(Text(CAUTION, style="bold"))


def probability_text(share: float, samples: int) -> str:
    """A sampled probability; where no sample showed it, its limit at 95 % confidence."""
    return f"{share:.2g}" if share > 0.0 else f"<{3.0 / samples:.0e}".replace("e-0", "e-")


def known(value: float) -> str:
    """A number, or a dash where there is none."""
    return "-" if math.isnan(value) else f"{value:.2f}"


def print_reliability(
    out: Console, found: Sequence[CheckReliability], samples: int, seed: int
) -> None:
    """One row a factor: spread, probabilities with their own error, index."""
    out.print(Text(f"{samples} samples, seed {seed}", style="bold"))
    out.print()
    headers = ("mean", "std", "5 %", "50 %", "95 %", "P(F<1)", "±", "P(F<target)", "index")
    for one in found:
        out.print(Text(one.entry.label))
        grid = table("", *headers, right=headers)
        grid.padding = (0, 1, 0, 0)
        for state, doubt in one.factors.items():
            below = doubt.probability_below_target
            index = doubt.second_moment.reliability_index
            grid.add_row(
                state,
                factor_text(doubt.mean),
                known(doubt.std),
                *(factor_text(doubt.percentiles[p]) for p in ("5", "50", "95")),
                probability_text(doubt.probability_below_one, samples),
                f"{doubt.sampling_error:.1g}",
                "" if below is None else probability_text(below, samples),
                known(index),
            )
        out.print(grid)
        out.print()
    for one in found:
        for state, indices in one.indices.items():
            shares = ", ".join(f"{name} {share:.0%}" for name, share in indices.total.items())
            out.print(Text(f"{one.entry.label}, {state}: share of the spread: {shares}"))
    out.print()
    print_notices(
        out, [(one.entry.label, n) for one in found for n in one.notices], every_notice=False
    )
    out.print(Text(NOT_COVERED))
    out.print(Text(CAUTION, style="bold"))


def print_strength_map(out: Console, found: StrengthMap) -> None:
    """The known points, and the highest degree of utilisation of any check there."""
    out.print(Text(f"Strength map of {found.soil.name}", style="bold"))
    out.print(
        Text(
            f"{found.cohesion.size} × {found.friction_angle.size} cells, c′ 0 to "
            f"{found.cohesion[-1]:.1f} kPa, φ′ {found.friction_angle[0]:.1f} to "
            f"{found.friction_angle[-1]:.1f} deg"
        )
    )
    out.print()
    sets = level_headers(list(found.levels.values()))
    heads = ["c′ [kPa]", "φ′ [deg]", *(f"highest utilisation, {name}" for name in sets)]
    grid = table("point", *heads, right=heads)
    for index, (name, pair) in enumerate(found.points.items()):
        cells = [level_cell(found.highest_at_points[one][index]) for one in sets]
        grid.add_row(name, f"{pair.cohesion:.1f}", f"{pair.friction_angle:.1f}", *cells)
    for level, (c, phi) in found.regions.items():
        if c.size:
            grid.add_row(
                f"{level} joint region",
                f"{c.min():.1f} to {c.max():.1f}",
                f"{phi.min():.1f} to {phi.max():.1f}",
            )
    out.print(grid)
    out.print()
    for label, lies in found.region.items():
        out.print(Text(_lies(found, label, lies)))
    if found.region:
        out.print()
    print_notices(
        out, [(label, n) for label, owed in found.notices.items() for n in owed], every_notice=False
    )
    out.print(Text("Draw it with --plot FILE; the grid itself is in --json and --csv."))
    out.print(Text(CAUTION, style="bold"))


def _lies(found: StrengthMap, label: str, one: RegionOnMap) -> str:
    """Whether the 95 % region crosses what is asked of a check, and where."""
    asked = found.entries[label].asked(found.factors[label])
    sets = [name for name, states in found.levels[label].items() if states]
    asked += (", " if asked and sets else "") + ("utilisation 1" if sets else "")
    text = f"{label} ({asked}): the 95 % region"
    if one.meets != "part":
        return f"{text} lies wholly where it is {'met' if one.meets == 'all' else 'missed'}."
    where = " and ".join(
        f"φ′ {pair.friction_angle:.1f} deg, c′ {pair.cohesion:.1f} kPa" for pair in one.crosses
    )
    return f"{text} crosses the line, at {where}."


def print_back_analysis(out: Console, found: FailedSlope) -> None:
    """A few of the pairs."""
    out.print(Text(f"{found.label}: strengths of {found.soil} that give a factor of 1"))
    out.print()
    columns = [
        {float(phi): float(c) for c, phi in zip(*pairs, strict=True)}
        for pairs in found.pairs.values()
    ]
    if not columns[0]:
        out.print(Text("None: at no friction angle does a cohesion of zero or more give it."))
    several = len(columns) > 1
    heads = ["φ′ [deg]", *(f"c′{f', {s}' if several else ''} [kPa]" for s in found.pairs)]
    grid = table(*heads, right=heads)
    angles = sorted({phi for column in columns for phi in column})
    for phi in angles[:: max(1, len(angles) // 12)]:
        grid.add_row(f"{phi:.1f}", *(f"{c[phi]:.2f}" if phi in c else "-" for c in columns))
    out.print(grid)
    out.print()
    print_notices(out, [("", n) for n in found.notices], every_notice=False)
    out.print(
        Text(
            "A back-analysis leans on the geometry and the water at failure; it finds a line "
            "of pairs, never one pair."
        )
    )
    out.print(Text(CAUTION, style="bold"))
