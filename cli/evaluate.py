"""Runs the checks of a scenario."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cli.scenario import CheckEntry, FileError, Scenario
from stability import CheckResult
from stability.governing import Beside, set_beside
from strength import InputError, Notice, Severity

__all__ = ["CheckOutcome", "Outcome", "evaluate"]


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave; ``beside`` is the rotation set beside a searched plane."""

    entry: CheckEntry
    result: CheckResult
    beside: Beside | None = None

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Of the check, and of what was set beside it."""
        return (*self.result.notices, *(self.beside.notices if self.beside else ()))

    @property
    def meets_target(self) -> bool | None:
        """Whether every factor meets the target; ``None`` without one or without factors.

        Of a plane and the rotation beside it, the lower decides.
        """
        target = getattr(self.entry.check, "target", None)
        if target is None or not self.result.factors_of_safety:
            return None
        lowest = self.result.lowest if self.beside is None else self.beside.lower
        return bool(np.all(np.asarray(lowest) >= np.asarray(target)))


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
        every += [n for check in self.checks for n in check.notices]
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
            result = entry.check.evaluate()
            outcomes.append(CheckOutcome(entry, result, set_beside(entry.check, result)))
        except InputError as error:
            raise FileError(scenario.path, error.within(f"checks ({entry.label})")) from None
    return Outcome(scenario, tuple(outcomes))
