"""Steps of working: an equation in symbols, and the same with the numbers in it.

Equations are written with ``* / + - ^``, parentheses and the functions of ``FUNCTIONS``;
angles inside sin, cos and tan are in degrees, as on a pocket calculator set to degrees.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import SupportsIndex, overload

from slipmargin.strength.pair import Numeric

__all__ = [
    "FUNCTIONS",
    "MOST_TERMS",
    "Step",
    "Steps",
    "Working",
    "digits",
    "printed",
    "put_numbers_in",
    "step_lines",
    "symbols_in",
    "term",
]

FUNCTIONS = frozenset(
    {"sin", "cos", "tan", "sqrt", "abs", "atan", "asin", "exp", "ln", "min", "max"}
)
"""Functions an equation may use."""

MOST_TERMS = 12
"""A sum of more is not written out."""

_SYMBOL = re.compile(r"[^\W\d][\w′″,]*")


@dataclass(frozen=True, slots=True)
class Step:
    """What is found, with its symbol, value and unit.

    The ``equation`` stands in symbols, and is empty where the value was given or comes from a
    search; ``substituted`` is the same with the numbers in it, ``source`` its place in print.
    """

    says: str
    symbol: str
    value: float
    unit: str = ""
    equation: str = ""
    substituted: str = ""
    source: str = ""


class Steps(tuple[Step, ...]):
    """Steps in order; they show themselves at a prompt and in a notebook."""

    __slots__ = ()

    @overload
    def __getitem__(self, index: SupportsIndex) -> Step: ...
    @overload
    def __getitem__(self, index: slice) -> Steps: ...
    def __getitem__(self, index: SupportsIndex | slice) -> Step | Steps:
        """One step; of a slice those of its steps, which show themselves too."""
        found = super().__getitem__(index)
        return found if isinstance(found, Step) else Steps(found)

    def __repr__(self) -> str:
        return "\n".join(
            line for number, step in enumerate(self, start=1) for line in step_lines(number, step)
        )

    def _repr_html_(self) -> str:
        return f"<pre>{html.escape(repr(self))}</pre>"


class Working:
    """Steps so far, and the value of each symbol that they have made known."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.known: dict[str, float] = {}

    def add(
        self,
        says: str,
        symbol: str,
        value: Numeric,
        unit: str = "",
        equation: str = "",
        *,
        terms: str | None = None,
        source: str = "",
    ) -> None:
        """One step; ``terms`` is a sum written out, where the equation holds one."""
        numbers = put_numbers_in(equation, self.known) if terms is None else terms
        self.known[symbol] = float(value)
        self.steps.append(Step(says, symbol, float(value), unit, equation, numbers, source))

    def total(
        self,
        says: str,
        symbol: str,
        value: Numeric,
        unit: str,
        equation: str,
        each: str,
        *columns: Sequence[float],
        whole: str = "{}",
    ) -> None:
        """A step with a sum, whose terms are written out where they can still be followed.

        ``each`` is the pattern of a term, for the numbers of a row of ``columns``; ``whole`` that
        of all that holds the sum.
        """
        terms = [each.format(*map(term, row)) for row in zip(*columns, strict=True)]
        numbers = whole.format(" + ".join(terms)) if len(terms) <= MOST_TERMS else ""
        self.add(says, symbol, value, unit, equation, terms=numbers)

    def mean(self, says: str, symbol: str, read: Sequence[float], unit: str) -> None:
        """A mean of readings, written out."""
        terms = " + ".join(digits(one) for one in read)
        value = math.fsum(read) / len(read)
        self.add(says, symbol, value, unit, f"sum({symbol}) / n", terms=f"({terms}) / {len(read)}")


def step_lines(number: int, step: Step) -> list[str]:
    """A step as it is printed: what is found, its equation, with numbers, its value, its source."""
    worked = [step.equation, step.substituted] if step.equation else []
    value = f"{printed(step.value, step.unit)} {step.unit}".rstrip()
    lines = [f"{number}. {step.says}"]
    lines += [f"  {step.symbol} = {line}" for line in (*worked, value)]
    return [*lines, f"  {step.source}"] if step.source else lines


def digits(value: float) -> str:
    """A number with six significant digits, as it goes into a substituted equation."""
    return f"{value:.6g}"


def term(value: float) -> str:
    """A number as it goes into an equation, in parentheses where it needs them."""
    text = digits(value)
    return f"({text})" if text.startswith("-") or "e" in text else text


_MOST_DECIMALS = {"": 6, "mm": 3, "m": 3, "m²": 3}


def printed(value: float, unit: str = "") -> str:
    """A result as it is printed: four significant digits, two decimals at most.

    Lengths get three decimals at most, bare numbers as many as four digits need. Numbers go
    into an equation with two more digits (``digits``), so that a line worked with them gives
    what is printed.
    """
    if math.isinf(value):
        return "no limit"
    if value == round(value) and abs(value) < 1e6:
        return f"{abs(value) if value == 0.0 else value:.0f}"
    whole = math.floor(math.log10(abs(value))) + 1 if value else 1
    decimals = min(max(4 - whole, 0), _MOST_DECIMALS.get(unit, 2))
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def symbols_in(equation: str) -> list[str]:
    """Symbols of an equation in the order they stand, functions left out."""
    found = (match.group().rstrip(",") for match in _SYMBOL.finditer(equation))
    return [symbol for symbol in found if symbol not in FUNCTIONS]


def put_numbers_in(equation: str, values: Mapping[str, float]) -> str:
    """The equation with each symbol replaced by its number; every one has to be known."""

    def number(match: re.Match[str]) -> str:
        symbol = match.group().rstrip(",")
        tail = match.group()[len(symbol) :]
        if symbol in FUNCTIONS:
            return match.group()
        return term(values[symbol]) + tail

    return _SYMBOL.sub(number, equation)
