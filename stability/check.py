"""What every check returns, and the statements every check owes."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Protocol, runtime_checkable

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.factor_text import factor_shown, factor_text
from slipmargin.strength import Notice, Numeric
from slipmargin.strength.short_table import ShortTable, shown

__all__ = [
    "Check",
    "CheckResult",
    "examples_of",
    "factors_alone",
    "lowest_alone",
    "lowest_of",
    "target_notices",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """Factors of safety with the numbers and the notices behind them.

    Parameters
    ----------
    factors_of_safety
        By limit state, in the order they are read; ``inf`` where nothing drives the
        movement. Scalars or arrays, as the inputs were. Empty where a check has none.
    values
        The intermediates: a record of declared quantities, of the same shapes.
    notices
        What must not be parted from the factors.
    """

    factors_of_safety: Mapping[str, Numeric]
    values: Any
    notices: tuple[Notice, ...] = ()

    @property
    def lowest(self) -> Numeric:
        """Lowest factor of safety over the limit states."""
        return lowest_of(self.factors_of_safety)

    def __repr__(self) -> str:
        values = [] if self.factors_of_safety else self._values()
        rows = [(textwrap.shorten(row[0], 60, placeholder=" ..."), *row[1:]) for row in values]
        return self._table(rows).text()

    def _repr_html_(self) -> str:
        """The factors, every value and the notices, for a notebook."""
        return self._table(self._values()).html()

    def _values(self) -> list[tuple[str, str, str, str]]:
        return [
            (given.says, given.symbol, shown(getattr(self.values, name), given.unit), given.unit)
            for name, given, _ in fields.of(self.values)
        ]

    def _table(self, values: list[tuple[str, str, str, str]]) -> ShortTable:
        name = type(self.values).__name__.removesuffix("Values")
        factors = [
            (f"Factor of safety, {state}", "F", factor_shown(factor), "")
            for state, factor in self.factors_of_safety.items()
        ]
        return ShortTable(
            title=re.sub("(?<=[a-z])(?=[A-Z])", " ", name).capitalize(),
            header=("", "symbol", "value", "unit"),
            rows=[*factors, *values],
            notices=self.notices,
        )


class Check(Protocol):
    """What the registry asks of a check: declared fields, and ``evaluate``.

    ``LIMIT_STATES`` names its factors of safety, none for a check that has none.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]]

    def evaluate(self) -> CheckResult:
        """Run the check."""
        ...


@runtime_checkable
class _Brief(Protocol):
    """A check that can leave out what is beside its factors."""

    def factors_alone(self) -> Mapping[str, Numeric]:
        """Factors by limit state."""
        ...


@runtime_checkable
class _Exemplary(Protocol):
    """A check that gives an example of itself."""

    @classmethod
    def example(cls) -> Check:
        """Inputs in which every term acts."""
        ...


@runtime_checkable
class _Branching(Protocol):
    """A check whose equations differ from case to case."""

    @classmethod
    def further_examples(cls) -> tuple[Check, ...]:
        """Inputs in which other equations hold."""
        ...


def examples_of(check: type[Check]) -> tuple[Check, ...]:
    """Inputs of a check whose working together shows its equations, the one in which every
    term acts first; none where it gives none.
    """
    if not issubclass(check, _Exemplary):
        return ()
    further = check.further_examples() if issubclass(check, _Branching) else ()
    return check.example(), *further


def factors_alone(check: Check) -> Mapping[str, Numeric]:
    """Factors by limit state, for a search that needs nothing beside them.

    Raises
    ------
    InputError
        As ``evaluate``.
    """
    if isinstance(check, _Brief):
        return check.factors_alone()
    return check.evaluate().factors_of_safety


def lowest_of(factors: Mapping[str, Numeric]) -> Numeric:
    """Lowest factor over the limit states."""
    return np.min(np.stack(np.broadcast_arrays(*factors.values())), axis=0)  # type: ignore[no-any-return]


def lowest_alone(check: Check) -> Numeric:
    """Lowest factor of a check over its limit states, and nothing beside it.

    Raises
    ------
    InputError
        As ``evaluate``.
    """
    return lowest_of(factors_alone(check))


def target_notices(
    factors_of_safety: Mapping[str, Numeric], target: Numeric | None
) -> tuple[Notice, ...]:
    """The notices owed when a factor falls below 1, or that of sliding below its target.

    Parameters
    ----------
    factors_of_safety
        By limit state; of an array the lowest counts.
    target
        Factor asked for against sliding; ``None`` asks for none.
    """
    notices = []
    for name, factor in factors_of_safety.items():
        lowest = float(np.min(factor))
        if lowest < 1.0:
            notices.append(
                Notice.stop(
                    "below-one",
                    f"The factor of safety against {name} is {factor_text(lowest)}: by this model "
                    "the ground or the wall does not stand.",
                )
            )
        if name == "sliding" and target is not None and lowest < float(np.max(target)):
            notices.append(
                Notice.caution(
                    "below-target",
                    f"The factor of safety against {name}, {factor_text(lowest)}, is below "
                    f"its target of {float(np.max(target)):g}.",
                )
            )
    return tuple(notices)
