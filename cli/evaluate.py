"""Runs the checks of a scenario."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cli.scenario import CheckEntry, FileError, Scenario
from stability import CheckResult
from strength import InputError, Severity

__all__ = ["CheckOutcome", "Outcome", "evaluate"]


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave."""

    entry: CheckEntry
    result: CheckResult

    @property
    def meets_target(self) -> bool | None:
        """Whether every factor meets the target; ``None`` without one or without factors."""
        target = getattr(self.entry.check, "target", None)
        if target is None or not self.result.factors_of_safety:
            return None
        return bool(np.all(np.asarray(self.result.lowest) >= np.asarray(target)))


@dataclass(frozen=True, slots=True)
class Outcome:
    """A scenario and what its checks gave."""

    scenario: Scenario
    checks: tuple[CheckOutcome, ...]

    @property
    def fails(self) -> bool:
        """Whether a target is missed or anything says stop."""
        every = [*self.scenario.notices]
        every += [n for soil in self.scenario.soils.values() for n in soil.notices]
        every += [n for check in self.checks for n in check.result.notices]
        missed = any(check.meets_target is False for check in self.checks)
        return missed or any(n.severity == Severity.STOP for n in every)


def evaluate(scenario: Scenario) -> Outcome:
    """Run every check.

    Raises
    ------
    FileError
        Naming the check and the field that cannot be used.
    """
    outcomes = []
    for entry in scenario.checks:
        try:
            outcomes.append(CheckOutcome(entry, entry.check.evaluate()))
        except InputError as error:
            raise FileError(scenario.path, error.within(f"checks ({entry.label})")) from None
    return Outcome(scenario, tuple(outcomes))
