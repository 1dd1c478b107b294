"""Sensitivities on the sheet: sweeps, what each input moves, strength maps, sampled doubt."""

from __future__ import annotations

import math
from functools import partial

from slipmargin.cli.page.blocks import Block, Leaf, NoticeList, Picture, Section, Slider, Words
from slipmargin.cli.page.notices import written
from slipmargin.cli.page.slider import SliderData
from slipmargin.cli.questions.as_used import asked_of
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.questions.influence import CheckInfluence, find_influence, swings_table, swung
from slipmargin.cli.questions.reliability import run_reliability
from slipmargin.cli.questions.result import notices_at
from slipmargin.cli.questions.strength_map import StrengthMap
from slipmargin.cli.questions.sweep import TwoWayOutcome, held_value
from slipmargin.cli.questions.sweeps import break_even_tables, run_sweeps, tied_table
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SweepEntry
from slipmargin.cli.scenario.varied import find_field
from slipmargin.cli.sheet.checks import all_notices
from slipmargin.cli.sheet.gaps import Gaps
from slipmargin.cli.sheet.slider import slider_of
from slipmargin.stability.uncertainty.field_words import field_words
from slipmargin.stability.uncertainty.influence import Move, swings
from slipmargin.stability.uncertainty.replaced import SOIL_FIELDS
from slipmargin.strength import InputError

__all__ = ["sensitivities_section"]

_MOST_SAMPLES = 200_000
"""More samples than this are left to the command made for them."""

_STEP = 0.01
"""Share of a value over which a slope is taken on either side."""

_MOST_ROWS = 4


def sensitivities_section(outcome: Outcome, gaps: Gaps, *, sampled: bool) -> Section:
    """Everything that moves a factor; sampled doubt, which takes longer, where it is wanted.

    A part that cannot be made leaves a gap, and the others stand.
    """
    scenario = outcome.scenario
    labels = [entry.label for entry in scenario.checks]
    leaves: list[Leaf] = []
    for number, asked in enumerate(scenario.sweeps, start=1):
        title = f"Sweep of {field_words(asked.vary, labels=labels)}"
        leaves += gaps.leaves(title, partial(_sweep, scenario, asked, number, gaps))
    leaves += gaps.leaves("What each input moves", lambda: _moved(scenario, gaps))
    maps: list[Leaf] = []
    for number, name in enumerate(scenario.soils, start=1):
        title = f"Strength map: {name}"
        maps += gaps.leaves(title, partial(_mapped, outcome, name, number, gaps))
    drawn = [leaf for leaf in maps if any(isinstance(block, Picture) for block in leaf.blocks)]
    if drawn:
        blocks = tuple(block for leaf in drawn for block in leaf.blocks)
        leaves.append(Leaf("Strength maps", blocks))
    leaves += [leaf for leaf in maps if leaf not in drawn]
    if sampled:
        leaves += gaps.leaves("Sampled doubt", lambda: _sampled(scenario, gaps))
    known = {one.notice for one in all_notices(outcome)}
    left = written(item for item in gaps.owed if item[1] not in known)
    if left:
        leaves.append(Leaf("What these tables leave out", (NoticeList(left),)))
    if not leaves:
        return Section("Sensitivities", (Words("No check with a factor of safety was run."),))
    return Section("Sensitivities", (), leaves)


def _sweep(scenario: Scenario, asked: SweepEntry, number: int, gaps: Gaps) -> list[Leaf]:
    swept = run_sweeps(scenario, [asked])
    (one,) = swept.outcomes
    gaps.owed.extend(notices_at(one.checks))
    first = one.words(one.vary)
    if isinstance(one, TwoWayOutcome):
        title = f"Sweep of {first} and {one.words(one.second.vary)}"
        words = (
            "Lines of equal lowest factor over both inputs, one panel a check "
            f"({one.vary}, {one.second.vary})."
        )
        return [Leaf(title, (Picture(f"sweep-{number}", title, words, swept.figure),))]
    words = (
        f"Factors of safety against {first} ({one.vary}) from {one.values[0]:.4g} to "
        f"{one.values[-1]:.4g} {one.unit}; the table below gives where they cross 1 "
        "and their targets."
    )
    if one.tied is not None:
        other = one.words(one.tied.vary)
        words += f" Thin lines, over the limits of the fit: {other} moves along."
    picture = Picture(f"sweep-{number}", f"Sweep of {first}", words, swept.figure)
    return [Leaf(f"Sweep of {first}", (picture, *break_even_tables(one), *tied_table(one)))]


def _moved(scenario: Scenario, gaps: Gaps) -> list[Leaf]:
    """What each input moves, over a plausible range and at the value used."""
    found = find_influence(scenario).checks
    if not found:
        return []
    blocks: list[Block] = [
        Words(
            "Each input is swung over its plausible range, stated or by default, and the lowest "
            "factor is found at both ends; d ln F / d ln x is its change in % for 1 % of the "
            "input. A fitted strength is swung along its joint region; the corners of its separate "
            "limits are pairs that the tests exclude."
        )
    ]
    for one in found:
        blocks.append(swings_table(one, most=_MOST_ROWS, slopes=_slopes(scenario, one)))
    gaps.owed.extend(notices_at(found))
    return [Leaf("What each input moves", blocks)]


def _slopes(scenario: Scenario, one: CheckInfluence) -> dict[str, float]:
    """D ln F / d ln x of the lowest factor at the values used, by path; 0 where it has none."""
    check = one.entry.check
    paths = [f"soils.{name}.{field}" for name in one.entry.soil_names for field in SOIL_FIELDS]
    paths += [swing.name for swing in one.swings if swing.name.startswith("checks.")]
    moves = [move for path in paths for move in _a_little(scenario, one.entry, path)]
    slopes = {move.slots[0].name: 0.0 for move in moves}
    for swing in swings(check, moves, asked_of(check)):
        if swing.at_low > 0.0 and swing.at_high > 0.0:
            rise = math.log(swing.at_high / swing.at_low)
            slopes[swing.name] = rise / math.log((1.0 + _STEP) / (1.0 - _STEP))
    return slopes


def _a_little(scenario: Scenario, entry: CheckEntry, path: str) -> list[Move]:
    """A field moved a little either way; none where it cannot be."""
    try:
        varied = find_field(scenario, path)
    except InputError:
        return []
    value = held_value(scenario, entry, varied.path)
    if value is None or value <= 0.0:
        return []
    return swung(varied, path, value, (1.0 - _STEP) * value, (1.0 + _STEP) * value)


def _mapped(outcome: Outcome, name: str, number: int, gaps: Gaps) -> list[Leaf]:
    found = slider_of(outcome, name)
    if found is None:
        return []
    gaps.owed.extend(notices_at(found[1].checks))
    return [Leaf(f"Strength map: {name}", tuple(_map(*found, number)))]


def _map(data: SliderData, drawn: StrengthMap, number: int) -> list[Block]:
    key, name = f"map-{number}", data.soil
    words = (
        f"The plane of φ′ and c′ of {name}: lines on which each factor is 1 and its target, over "
        "the joint region of the fit. Left of and below a line the factor is lower. As used: "
        f"c′ = {data.used[0]:.1f} kPa, φ′ = {data.used[1]:.1f} deg."
    )
    return [Slider(data, key), Picture(key, f"Strength map of {name}", words, drawn.figure)]


def _sampled(scenario: Scenario, gaps: Gaps) -> list[Leaf]:
    """Factors over samples of the doubt; empty where no check carries one."""
    title = "Sampled doubt"
    if scenario.top.reliability.samples > _MOST_SAMPLES:
        words = Words("More samples are asked for than a sheet waits for: run reliability.")
        return [Leaf(title, (words,))]
    try:
        found = run_reliability(scenario)
    except InputError as error:
        if error.place == "uncertain":
            return []  # no check carries a doubt
        raise
    gaps.owed.extend(notices_at(found.checks))
    return [Leaf(title, tuple(found.tables()))]
