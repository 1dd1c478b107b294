"""Prints the working of every fit and every check."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.stability.check import Check, CheckResult
from slipmargin.stability.design.result import DesignResult
from slipmargin.stability.design.working import held_checks, soil_steps
from slipmargin.stability.working import given_steps, left_out, result_steps
from slipmargin.strength.from_laboratory import LaboratoryStrength
from slipmargin.strength.working import Step, digits, step_lines

__all__ = ["print_fit_working", "print_working"]

_HOW = (
    "Numbers stand in the lines with six significant digits and results below them with four, "
    "so that each line can be worked again by hand. Angles are in degrees, forces per metre run."
)


def print_fit_working(out: Console, laboratory: LaboratoryStrength) -> None:
    """From the readings to the line, in numbered steps."""
    out.print()
    out.print(Text(_HOW))
    _head(out, "strength line")
    _print_steps(out, (), laboratory.working())


def print_working(out: Console, outcome: Outcome) -> None:
    """Every fit and every check in numbered steps: symbols, numbers, value, unit."""
    out.print()
    out.print(Text(_HOW))
    for soil in outcome.scenario.soils.values():
        if soil.laboratory is not None:
            _head(out, f"{soil.name}, strength line")
            _print_steps(out, (), soil.laboratory.working())
    for check in outcome.checks:
        _print_check(out, check)


def _print_check(out: Console, outcome: CheckOutcome) -> None:
    label, check = outcome.entry.label, outcome.entry.check
    _head(out, label)
    _print_one(out, check, outcome.result)
    for state, part in outcome.result.parts.items():
        _head(out, f"{label}, {state}")
        _print_one(out, part.check, part.result)
    for design in outcome.designs:
        _print_design(out, label, design)


def _print_design(out: Console, label: str, design: DesignResult) -> None:
    """Design strengths, the check with them, and from its values to every utilisation."""
    name = f"{label}, partial factors {design.factor_set.name}"
    _head(out, f"{name}, design strengths")
    _print_steps(out, (), soil_steps(design.soils))
    for states, held in held_checks(design):
        _head(out, f"{name}, the check with design strengths, for {' and '.join(states)}")
        _print_one(out, held, held.evaluate(leave_out=held.limit_states))
    for state, found in design.limit_states.items():
        if found.steps:
            held_to = "" if found.set_name == design.factor_set.name else f", by {found.set_name}"
            _head(out, f"{name}, utilisation in {state}{held_to}")
            _print_steps(out, (), found.steps)


def _head(out: Console, what: str) -> None:
    out.print()
    out.print(Text(f"Working: {what}", style="bold"))


def _print_one(out: Console, check: Check, result: CheckResult) -> None:
    _print_steps(out, given_steps(check), result_steps(check, result))
    if absent := left_out(check, result):
        out.print(Text(f"  {absent}"))


def _print_steps(out: Console, given: Sequence[Step], steps: Sequence[Step]) -> None:
    if given:
        out.print("  given")
    for step in given:
        value = f"{step.symbol} = {digits(step.value)} {step.unit}".rstrip()
        out.print(Text(f"    {value}  {step.says}"), soft_wrap=True)
    for number, step in enumerate(steps, start=1):
        for line in step_lines(number, step):
            out.print(Text(f"  {line}"), soft_wrap=True)
