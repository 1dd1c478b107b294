"""Runs the checks of a scenario."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipmargin.cli.questions.as_used import as_used
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario
from slipmargin.stability import CheckResult
from slipmargin.stability.design.customary_targets import Target, missed_targets
from slipmargin.strength import InputError, Notice, Severity, distinct

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis
    from slipmargin.stability.design.result import DesignResult

__all__ = ["CheckOutcome", "Outcome", "evaluate"]


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave.

    ``designs`` are the check held to each set of partial factors; ``basis_notices`` is what the
    targets have to say.
    """

    entry: CheckEntry
    result: CheckResult
    designs: tuple[DesignResult, ...] = ()
    basis_notices: tuple[Notice, ...] = ()

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Of the check and of the basis of design."""
        found = [*self.result.notices, *self.basis_notices]
        found += [notice for design in self.designs for notice in design.notices]
        return distinct(found)

    @property
    def judged(self) -> list[tuple[str, float, Target | None]]:
        """Name, factor and target of every limit state."""
        return [
            (name, float(np.asarray(factor)), self.entry.targets.get(name))
            for name, factor in self.result.factors_of_safety.items()
        ]

    @property
    def meets_target(self) -> bool | None:
        """Whether all that is judged meets its target; ``None`` where nothing has one."""
        held = [
            factor >= float(target.value) for _, factor, target in self.judged if target is not None
        ]
        return all(held) if held else None


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
        missed |= any(
            not np.all(state.passes)
            for check in self.checks
            for design in check.designs
            for state in design.limit_states.values()
        )
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
            outcomes.append(_evaluate(entry, scenario.basis))
        except InputError as error:
            raise FileError(scenario.path, error.within(f"checks ({entry.label})")) from None
    return Outcome(scenario, tuple(outcomes))


def _evaluate(entry: CheckEntry, basis: Basis | None) -> CheckOutcome:
    result = as_used(entry.check)
    designs: tuple[DesignResult, ...] = ()
    if basis is not None and basis.method == "partial":
        designs = basis.design(entry.check)
    notices = missed_targets(entry.check, result.factors_of_safety, entry.targets)
    return CheckOutcome(entry, result, designs, notices)
