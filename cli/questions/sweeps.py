"""All the sweeps that were asked for, of one field or two, as one result."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from slipmargin.cli.as_json import SCHEMA
from slipmargin.cli.files import table_csv
from slipmargin.cli.questions.sweep import SweepOutcome, run_sweep, sweep_document, sweep_rows
from slipmargin.cli.questions.two_way_sweep import (
    TwoWayOutcome,
    run_two_way,
    two_way_document,
    two_way_rows,
)
from slipmargin.cli.questions.utilisations import level_headers
from slipmargin.cli.scenario.read import Scenario, SweepEntry
from slipmargin.cli.words import CAUTION

__all__ = ["Sweeps", "run_sweeps"]


@dataclass(frozen=True, slots=True)
class Sweeps:
    """Sweeps in the order asked for."""

    outcomes: tuple[SweepOutcome | TwoWayOutcome, ...]

    @property
    def single(self) -> list[SweepOutcome]:
        """Those of one field."""
        return [one for one in self.outcomes if isinstance(one, SweepOutcome)]

    @property
    def two_way(self) -> list[TwoWayOutcome]:
        """Those of two fields."""
        return [one for one in self.outcomes if isinstance(one, TwoWayOutcome)]

    def document(self) -> dict[str, Any]:
        """The document of ``sweep``."""
        entries = [
            sweep_document(one) if isinstance(one, SweepOutcome) else two_way_document(one)
            for one in self.outcomes
        ]
        return {"schema": SCHEMA, "caution": CAUTION, "sweeps": entries}

    def csv(self) -> str:
        """One row a value (or pair of values), check and limit state."""
        header = ["vary", "value", "second", "second_value", "check", "limit_state"]
        sets = level_headers(
            [check.levels for one in self.single for check in one.checks]
            + [levels for one in self.two_way for levels in one.levels.values()]
        )
        rows = [
            row
            for one in self.outcomes
            for row in (
                sweep_rows(one, sets) if isinstance(one, SweepOutcome) else two_way_rows(one, sets)
            )
        ]
        columns = [f"utilisation {name}" for name in sets]
        return table_csv([*header, "factor_of_safety", *columns], rows)


def run_sweeps(scenario: Scenario, asked: Sequence[SweepEntry]) -> Sweeps:
    """Run every sweep asked for.

    Raises
    ------
    FileError
        For the first that cannot be run.
    """
    return Sweeps(
        tuple(
            run_sweep(scenario, one)
            if one.second is None
            else run_two_way(scenario, one, one.second)
            for one in asked
        )
    )
