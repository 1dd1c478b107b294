"""Prints the working of every check."""

from __future__ import annotations

import math

from rich.console import Console
from rich.text import Text

from cli.evaluate import CheckOutcome, Outcome
from stability.working import given_steps, result_steps
from strength.working import Step, digits

__all__ = ["print_working"]


def print_working(out: Console, outcome: Outcome) -> None:
    """Every check in numbered steps: symbols, numbers, value, unit."""
    for check in outcome.checks:
        out.print()
        out.print(Text(f"Working: {check.entry.label}", style="bold"))
        _print_one(out, check)


def _print_one(out: Console, check: CheckOutcome) -> None:
    out.print("  given")
    for step in given_steps(check.entry.check):
        out.print(Text(f"    {step.symbol} = {_value(step)}  {step.says}"), soft_wrap=True)
    for number, step in enumerate(result_steps(check.entry.check, check.result), start=1):
        out.print(Text(f"  {number}. {step.says}"), soft_wrap=True)
        if step.equation:
            out.print(Text(f"    {step.symbol} = {step.equation}"), soft_wrap=True)
            out.print(Text(f"    {step.symbol} = {step.substituted}"), soft_wrap=True)
        out.print(Text(f"    {step.symbol} = {_value(step)}"), soft_wrap=True)
        if step.source:
            out.print(Text(f"    {step.source}"), soft_wrap=True)


def _value(step: Step) -> str:
    shown = "no limit" if math.isinf(step.value) else digits(step.value)
    return f"{shown} {step.unit}".strip()
