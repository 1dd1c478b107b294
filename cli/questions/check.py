"""Runs the checks of a scenario."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from slipmargin.cli.questions.as_used import as_used
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario
from slipmargin.cli.words import BESIDE, OVERALL, STATE_OF
from slipmargin.stability import CheckResult
from slipmargin.stability.design.customary_targets import Target, judged_states, missed_targets
from slipmargin.stability.planar_wedge.rotation_beside import Beside
from slipmargin.strength import InputError, Notice, Numeric, Severity, distinct

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis
    from slipmargin.stability.design.result import DesignResult
    from slipmargin.stability.retaining_wall.check import RetainingWall
    from slipmargin.stability.retaining_wall.overall_stability import OverallStability

__all__ = ["CheckOutcome", "Outcome", "evaluate"]


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave.

    ``beside`` is the rotation set beside a searched plane; ``designs`` the check held to each
    set of partial factors, and ``designs_beside`` the rotation beside it; ``basis_notices`` is
    what the targets have to say; ``overall`` the approximate overall stability of a wall.
    """

    entry: CheckEntry
    result: CheckResult
    beside: Beside | None = None
    designs: tuple[DesignResult, ...] = ()
    designs_beside: tuple[DesignResult, ...] = ()
    basis_notices: tuple[Notice, ...] = ()
    overall: OverallStability | None = None

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Of the check, of what was set beside it, and of the basis of design."""
        found = [*self.result.notices, *self.basis_notices]
        found += self.overall.notices if self.overall else ()
        found += self.beside.notices if self.beside else ()
        found += [notice for design in self.designs for notice in design.notices]
        found += [notice for design in self.designs_beside for notice in design.notices]
        return distinct(found)

    @property
    def judged(self) -> list[tuple[str, float, Target | None]]:
        """Name, factor and target of all that is judged, what stands beside included."""
        named = _judged(self.result, self.beside, self.overall)
        targets = self.entry.targets
        return [
            (name, float(np.asarray(factor)), targets.get(STATE_OF.get(name, name)))
            for name, factor in named.items()
        ]

    @property
    def meets_target(self) -> bool | None:
        """Whether all that is judged meets its target; ``None`` where nothing has one."""
        held = [
            factor >= float(target.value) for _, factor, target in self.judged if target is not None
        ]
        return all(held) if held else None


def _judged(
    result: CheckResult, beside: Beside | None, overall: OverallStability | None
) -> dict[str, Numeric]:
    """Every factor under the name it is shown by."""
    found = dict(result.factors_of_safety)
    if beside is not None and beside.result is not None:
        found[BESIDE] = beside.result.factors_of_safety["sliding"]
    if overall is not None:
        found[OVERALL] = overall.factor_of_safety
    return found


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
        designs = [d for check in self.checks for d in (*check.designs, *check.designs_beside)]
        missed |= any(
            not np.all(state.passes) for d in designs for state in d.limit_states.values()
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
    check = entry.check
    result, beside = as_used(check)
    designs: tuple[DesignResult, ...] = ()
    designs_beside: tuple[DesignResult, ...] = ()
    if basis is not None and basis.method == "partial":
        designs = basis.design(check)
        if beside is not None and beside.check is not None:
            designs_beside = basis.design(beside.check)
    overall = None
    if "overall" in judged_states(check):
        # the search is heavy to load, and only walls need it
        from slipmargin.stability.retaining_wall.overall_stability import overall_stability

        overall = overall_stability(cast("RetainingWall", check))
    factors = {
        STATE_OF.get(name, name): factor
        for name, factor in _judged(result, beside, overall).items()
    }
    notices = missed_targets(check, factors, entry.targets)
    return CheckOutcome(entry, result, beside, designs, designs_beside, notices, overall)
