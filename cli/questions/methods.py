"""Equations, assumptions, limits and sources, read from where the computation stands."""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Iterator

from slipmargin.cli.words import CAUTION
from slipmargin.stability import KINDS, Check, fields
from slipmargin.stability.check import examples_of
from slipmargin.stability.working import result_steps
from slipmargin.strength import InputError
from slipmargin.strength.working import Step, symbols_in

__all__ = ["METHODS", "account", "method_text"]

_FIT = (
    "slipmargin.strength.envelope.fit",
    "slipmargin.strength.line",
    "slipmargin.strength.envelope.cautious",
    "slipmargin.strength.envelope.power_curve",
)

METHODS = ("fit", *KINDS)
"""What can be asked for."""


def method_text(kind: str) -> str:
    """What a check (or the fit) computes, assumes, leaves out and rests on. ``InputError``: a kind
    that is not known.
    """
    if kind == "fit":
        return "\n\n".join([*map(account, _FIT), CAUTION])
    if kind not in KINDS:
        raise InputError("KIND", kind, "known: " + ", ".join(METHODS))
    check = KINDS[kind]
    parts = [account(check.__module__)]
    given = list(_given_lines(check))
    if given:
        parts.append("It takes:\n" + "\n".join(given))
    examples = examples_of(check)
    found = list(_found_lines(check, examples))
    if found:
        head = 'It gives (where every term acts; "or" in other cases):\n'
        parts.append(head + "\n".join(found))
    return "\n\n".join([*parts, CAUTION])


def account(module: str) -> str:
    """What a module says of itself, without the marks of its markup."""
    __import__(module)
    text = inspect.cleandoc(sys.modules[module].__doc__ or "")
    # names of modules mean nothing to who reads the methods
    text = re.sub(r":mod:`[\w.]*?(\w+)`", lambda m: m[1].replace("_", " "), text)
    return text.replace("``", "")


def _given_lines(check: type) -> Iterator[str]:
    for one in fields.described(check):
        if one.everywhere:
            continue
        unit = f" [{one.unit}]" if one.unit else ""
        takes = one.symbol or (one.takes if "," in one.takes else "")
        yield "  " + "  ".join(part for part in (one.path, f"{takes}{unit}", one.says) if part)


def _found_lines(check: type, examples: tuple[Check, ...]) -> Iterator[str]:
    worked = [_steps(one) for one in examples]
    for values in _value_records(check):
        for _, declaration, _ in fields.of(values):
            unit = f" [{declaration.unit}]" if declaration.unit else ""
            symbol = declaration.symbol
            told = _that_tell([one[symbol] for one in worked if symbol in one])
            equation = f" = {told[0].equation}" if told else ""
            source = _sourced(told[0].source if told else declaration.source)
            yield f"  {symbol}{equation}{unit}  {declaration.says}{source}"
            yield from (f"      or {one.equation}{_sourced(one.source)}" for one in told[1:])


def _sourced(source: str) -> str:
    return f"  ({source})" if source else ""


def _steps(example: Check) -> dict[str, Step]:
    """Symbol to step, as the example is worked."""
    found = example.evaluate(leave_out=example.SLOW)
    return {step.symbol: step for step in result_steps(example, found)}


def _that_tell(steps: list[Step]) -> list[Step]:
    """Those whose equation holds a quantity which those before do not."""
    known: set[str] = set()
    told: list[Step] = []
    for step in steps:
        symbols = set(symbols_in(step.equation))
        if symbols - known or (step.equation and not told):
            told.append(step)
        known |= symbols
    return told


def _value_records(check: type) -> list[type]:
    """The records of declared values beside a check, the first only of a family."""
    module = sys.modules[check.__module__]
    found = [
        item
        for name, item in vars(module).items()
        if inspect.isclass(item) and name.endswith("Values") and list(fields.of(item))
    ]
    return found[:1]
