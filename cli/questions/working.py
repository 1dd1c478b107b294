"""The working of every fit and every check: symbols, numbers, value, unit."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator

from slipmargin.cli.page.blocks import Block, Words, Working
from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.design.working import held_checks, soil_steps
from slipmargin.stability.working import given_steps, working_of
from slipmargin.strength.from_laboratory import LaboratoryStrength

__all__ = ["HOW", "check_working", "check_workings", "fit_working", "shown_workings", "workings"]

HOW = (
    "Numbers stand in the working with six significant digits and results below them with four, "
    "so that each line can be worked again by hand. A value without an equation says in words "
    "where it comes from. Angles are in degrees, forces per metre run."
)


def fit_working(laboratory: LaboratoryStrength) -> Working:
    """From the readings to the line."""
    return Working((), tuple(laboratory.working()))


Part = tuple[str, tuple[Block, ...]]
"""The working of something, under its name."""


def workings(outcome: Outcome) -> Iterator[Part]:
    """Of every fit and every check."""
    for soil in outcome.scenario.soils.values():
        if soil.laboratory is not None:
            yield f"{soil.name}, strength line", (fit_working(soil.laboratory),)
    for check in outcome.checks:
        yield from check_workings(check)


def shown_workings(parts: Iterable[Part]) -> Iterator[Block]:
    """What a command prints of them."""
    yield Words(HOW)
    for title, blocks in parts:
        yield Words(f"Working: {title}", "strong")
        yield from blocks


def check_workings(outcome: CheckOutcome) -> Iterator[Part]:
    """The working of a check, of what stands behind its limit states, and of the check held to
    each set of partial factors, each under its name.
    """
    label = outcome.entry.label
    yield label, tuple(check_working(outcome.entry.check, outcome.result))
    for state, part in outcome.result.parts.items():
        yield f"{label}, {state}", tuple(check_working(part.check, part.result))
    for design in outcome.designs:
        name = f"{label}, partial factors {design.factor_set.name}"
        yield f"{name}, design strengths", (Working((), tuple(soil_steps(design.soils))),)
        for states, held in held_checks(design):
            found = held.evaluate(leave_out=held.limit_states)
            title = f"{name}, the check with design strengths, for {' and '.join(states)}"
            yield title, tuple(check_working(held, found))
        for state, level in design.limit_states.items():
            if level.steps:
                by = "" if level.set_name == design.factor_set.name else f", by {level.set_name}"
                yield f"{name}, utilisation in {state}{by}", (Working((), tuple(level.steps)),)


def check_working(check: Check, result: CheckResult) -> Iterator[Block]:
    """Given and found, without what the words of a step say of values that do not exist."""
    found, absent = working_of(check, result)
    steps = (
        dataclasses.replace(step, says=re.sub(r"[;,][^;,]*: nan\.", ".", step.says))
        for step in found
    )
    yield Working(tuple(given_steps(check)), tuple(steps))
    if absent:
        yield Words(absent, "aside")
