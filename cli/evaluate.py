"""Runs the checks of a scenario."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

import numpy as np

from cli.as_used import as_used
from cli.scenario import CheckEntry, FileError, Scenario
from cli.words import BESIDE, OVERALL
from stability import CheckResult
from stability.governing import Beside
from strength import InputError, Notice, Severity, distinct

if TYPE_CHECKING:
    from stability.design_basis import Basis
    from stability.design_result import DesignResult
    from stability.overall_stability import OverallStability
    from stability.retaining_wall import RetainingWall

__all__ = ["CheckOutcome", "Outcome", "evaluate"]


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave.

    ``beside`` is the rotation set beside a searched plane; ``targets`` holds the factor asked
    for by limit state, from the check or from the basis of design; ``designs`` the check held
    to each set of partial factors, and ``designs_beside`` the rotation beside it;
    ``basis_notices`` is what the basis has to say; ``overall`` the approximate overall
    stability of a wall, and ``overall_target`` the factor asked of it.
    """

    entry: CheckEntry
    result: CheckResult
    beside: Beside | None = None
    targets: Mapping[str, float] = field(default_factory=dict)
    designs: tuple[DesignResult, ...] = ()
    designs_beside: tuple[DesignResult, ...] = ()
    basis_notices: tuple[Notice, ...] = ()
    overall: OverallStability | None = None
    overall_target: float | None = None

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
    def judged(self) -> list[tuple[str, float, float | None]]:
        """Limit state, factor and target of all that is judged, what stands beside included."""
        rows = [
            (state, float(np.asarray(factor)), self.targets.get(state))
            for state, factor in self.result.factors_of_safety.items()
        ]
        if self.beside is not None and self.beside.result is not None:
            turned = float(np.asarray(self.beside.result.factors_of_safety["sliding"]))
            rows.append((BESIDE, turned, self.targets.get("sliding")))
        if self.overall is not None:
            around = float(np.asarray(self.overall.factor_of_safety))
            rows.append((OVERALL, around, self.overall_target))
        return rows

    @property
    def meets_target(self) -> bool | None:
        """Whether every factor meets its target; ``None`` without one or without factors.

        Of a plane and the rotation beside it, the lower decides. The overall stability of a
        wall is judged apart.
        """
        if not self.targets or not self.result.factors_of_safety:
            return None
        factors = dict(self.result.factors_of_safety)
        if self.beside is not None:
            factors["sliding"] = self.beside.lower
        return all(
            bool(np.all(np.asarray(factors[name]) >= target))
            for name, target in self.targets.items()
        )

    @property
    def overall_meets_target(self) -> bool | None:
        """Whether the overall stability of a wall meets its target; ``None`` without either."""
        if self.overall is None or self.overall_target is None:
            return None
        return bool(np.all(np.asarray(self.overall.factor_of_safety) >= self.overall_target))

    @property
    def misses(self) -> bool:
        """Whether any target of the check is missed, that of the ground around it included."""
        return self.meets_target is False or self.overall_meets_target is False


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
        missed = any(check.misses for check in self.checks)
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
    own = getattr(check, "target", None)
    targets = {} if own is None else dict.fromkeys(check.LIMIT_STATES, float(own))
    notices: tuple[Notice, ...] = ()
    designs: tuple[DesignResult, ...] = ()
    designs_beside: tuple[DesignResult, ...] = ()
    if basis is not None and basis.method == "global":
        targets = {name: float(one.value) for name, one in basis.targets_of(check).items()}
        notices = basis.target_notices(check, result)
    elif basis is not None:
        designs = basis.design(check)
        if beside is not None and beside.check is not None:
            designs_beside = basis.design(beside.check)
    overall = None
    asked = None if own is None else float(own)
    if hasattr(check, "foundation"):
        # a wall: the search is heavy to load, and only walls need it
        from stability.overall_stability import overall_stability

        overall = overall_stability(cast("RetainingWall", check))
        if asked is None and basis is not None and basis.method == "global":
            asked = float(basis.slope_target.value)
    return CheckOutcome(
        entry, result, beside, targets, designs, designs_beside, notices, overall, asked
    )
