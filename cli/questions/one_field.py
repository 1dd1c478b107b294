"""One check over the values of one of its fields: its factors, and where they meet a level."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from slipmargin.cli.questions.utilisations import Levels, highest, inverse, levels_of
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.scenario.varied import VariedField
from slipmargin.stability import Check
from slipmargin.stability.check import lowest_of
from slipmargin.stability.uncertainty.sweep import Sweep, break_even, sweep
from slipmargin.strength import Numeric

__all__ = ["OneField", "over_one_field"]


@dataclass(frozen=True, slots=True)
class OneField:
    """A check over the values of a field, which ``put`` puts into it."""

    scenario: Scenario
    entry: CheckEntry
    varied: VariedField
    put: Callable[[Numeric], Check]
    swept: Sweep

    def levels(self) -> dict[str, dict[str, Any]]:
        """Degrees of utilisation over the values, by set of partial factors and limit state."""
        values = self.swept.values
        return {
            name: {state: np.broadcast_to(level, values.shape) for state, level in states.items()}
            for name, states in levels_of(self.scenario, self.put(values)).items()
        }

    def where(self, state: str, level: float | None) -> float | None:
        """Value at which the factor of one limit state has a level; ``None`` where it never has."""
        if level is None:
            return None
        factors = self.swept.factors_of_safety[state]
        return self._root(factors, level, lambda check: _alone(check, {state})[state])

    def where_all_meet(self) -> float | None:
        """Value at which the last of the targets is met."""
        factors, margin = self.swept.factors_of_safety, self.entry.margin
        held = margin(factors)
        if held is None:
            return None
        # of states that are left out no target is held
        return self._root(held, 1.0, lambda check: margin(_alone(check, factors)))

    def where_lowest_is_one(self) -> float | None:
        """Value at which the lowest factor is 1."""
        factors = self.swept.factors_of_safety
        return self._root(self.swept.lowest, 1.0, lambda check: lowest_of(_alone(check, factors)))

    def where_used_up(self, levels: Levels, name: str, state: str | None = None) -> float | None:
        """Value at which one of the levels under one set is 1: the highest, or that of a state."""

        def left(levels: Levels) -> Any:
            states = levels[name]
            return inverse(highest(states) if state is None else states[state])

        return self._root(left(levels), 1.0, lambda check: left(levels_of(self.scenario, check)))

    def errors_away(self, value: float | None) -> float | None:
        """Standard errors from the fitted value up to another; below zero if it is below."""
        fit = self.varied.fit(self.scenario)
        if value is None or fit is None:
            return None
        if self.varied.path.field == "friction_angle" and fit.standard_error_tan:
            best = float(fit.best_fit.tan_friction_angle)
            return (math.tan(math.radians(value)) - best) / fit.standard_error_tan
        if self.varied.path.field == "cohesion" and fit.standard_error_cohesion:
            return (value - float(fit.best_fit.cohesion)) / fit.standard_error_cohesion
        return None

    def _root(self, found: Any, level: float, of: Callable[[Check], Any]) -> float | None:
        return break_even(
            self.put,
            self.swept.values,
            np.asarray(found),
            level,
            factors_of=lambda check: {"": of(check)},
        )


def _alone(check: Check, states: Any) -> Mapping[str, Numeric]:
    return check.factors_alone(leave_out={*check.limit_states} - {*states})


def over_one_field(
    scenario: Scenario, entry: CheckEntry, varied: VariedField, values: Any
) -> OneField:
    """Run a check over values of a field; refuses one that the check cannot use."""
    put = partial(varied.put, entry.check)
    return OneField(scenario, entry, varied, put, sweep(put, values))
