"""What every question gives: one result, as blocks, as JSON, as a table and as a picture."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, Protocol, TypeVar

import numpy as np

from slipmargin.cli.as_json import document
from slipmargin.cli.files import table_csv
from slipmargin.cli.scenario.files import naming, within

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from slipmargin.cli.page.blocks import Block
    from slipmargin.cli.scenario.read import CheckEntry, Scenario
    from slipmargin.strength import Notice

__all__ = [
    "FactorRow",
    "OfCheck",
    "Result",
    "factors_csv",
    "lines_csv",
    "notices_at",
    "of_check",
    "of_its_file",
]


class Result:
    """The result of a question; a kind of it has what its command offers."""

    __slots__ = ()

    def blocks(self) -> Iterable[Block]:
        """What a person reads above the caution: on the terminal, and parts of it on the sheet."""
        raise NotImplementedError

    def document(self) -> dict[str, Any]:
        """The JSON document."""
        return document(self)

    def csv(self) -> str:
        """A table for spreadsheets."""
        raise NotImplementedError

    def figure(self) -> Figure:
        """A picture."""
        raise NotImplementedError


Asked = ParamSpec("Asked")
Found = TypeVar("Found")


def of_its_file(
    question: Callable[Concatenate[Scenario, Asked], Found],
) -> Callable[Concatenate[Scenario, Asked], Found]:
    """A question of a scenario whose file is named in what is refused."""

    @wraps(question)
    def asked(scenario: Scenario, /, *of: Asked.args, **how: Asked.kwargs) -> Found:
        with naming(scenario.path):
            return question(scenario, *of, **how)

    return asked


def of_check(entry: CheckEntry, after: str = "") -> AbstractContextManager[None]:
    """Names a check in what is refused inside."""
    return within(f"checks ({entry.label}){after}")


class OfCheck(Protocol):
    """What a question gives of one check."""

    @property
    def entry(self) -> CheckEntry:
        """The check."""

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What must not be parted from it."""


def notices_at(
    checks: Iterable[OfCheck], scenario: Scenario | None = None
) -> list[tuple[str, Notice]]:
    """Notices, each with the check it is of, below those of a scenario and its soils."""
    found = []
    if scenario is not None:
        found += [("", notice) for notice in scenario.notices]
        found += [(soil.name, n) for soil in scenario.soils.values() for n in soil.notices]
    return found + [(one.entry.label, notice) for one in checks for notice in one.notices]


FactorRow = tuple[Sequence[Any], Mapping[str, Any], Mapping[str, Mapping[str, Any]]]
"""What stands before a factor, a value or an array each; factors by limit state, and levels by
set and limit state. The arrays are of one shape.
"""


def factors_csv(headers: Sequence[str], rows: Sequence[FactorRow]) -> str:
    """A line a limit state and place, with a column a set of partial factors."""
    sets = list(dict.fromkeys(name for _, _, levels in rows for name in levels))
    lines: list[tuple[Any, ...]] = []
    for before, factors, levels in rows:
        for state, factor in factors.items():
            found = [*before, state, factor, *(levels.get(name, {}).get(state) for name in sets)]
            cells = (np.broadcast_to(np.asarray(f, object), np.shape(factor)) for f in found)
            lines += zip(*(cell.flat for cell in cells), strict=True)
    columns = [f"utilisation {name}" for name in sets]
    return table_csv([*headers, "limit_state", "factor_of_safety", *columns], lines)


def lines_csv(headers: Sequence[str], lines: Iterable[Mapping[str, Any]]) -> str:
    """A line a mapping, which holds what stands below each heading."""
    return table_csv(headers, [[line[head] for head in headers] for line in lines])
