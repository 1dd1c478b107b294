"""The friction angle at which a check just meets what is asked of it, the cohesion held.

It is the break-even value of a sweep over every angle that the check takes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.questions.sweep import crossing, errors_away
from slipmargin.cli.questions.utilisations import inverse, levels_of, margins
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.scenario.varied import VariedField, find_field
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.sweep import Sweep, break_even, sweep
from slipmargin.strength import InputError, Numeric

__all__ = ["AngleNeeded", "AngleSweep"]

_LOWEST, _HIGHEST = 1.0, 60.0
_VALUES = 60
_NEAR = 0.25
"""How near [deg] the ends of the range are to the last angle that a check takes."""


@dataclass(frozen=True, slots=True)
class AngleNeeded:
    """A friction angle [deg] of one soil, and how many standard errors it lies above the fitted
    one; ``None`` for a stated strength.
    """

    soil: str
    friction_angle: float
    standard_errors: float | None


@dataclass(frozen=True, slots=True)
class AngleSweep:
    """One check over the friction angle of one soil."""

    scenario: Scenario
    entry: CheckEntry
    varied: VariedField
    with_angle: Callable[[Numeric], Check]
    swept: Sweep

    @classmethod
    def of(cls, scenario: Scenario, entry: CheckEntry, soil: str) -> AngleSweep | None:
        """The sweep; ``None`` for a curved envelope, which has no angle to vary."""
        try:
            varied = find_field(scenario, f"soils.{soil}.friction_angle")
            put = next(mover for one, mover in varied.movers if one is entry)
            values = _values(put, float(scenario.soils[soil].soil.strength.friction_angle))
            return cls(scenario, entry, varied, put, sweep(put, values))
        except InputError:
            return None

    def needed(self, state: str, by_set: str | None = None) -> AngleNeeded | None:
        """The angle at which a limit state meets its target, or a utilisation of 1 under a set;
        ``None`` where no angle does.
        """
        values, factors = self.swept.values, self.swept.factors_of_safety
        angle = None
        if by_set is None and state in factors:
            target = self.entry.target(state)
            angle = crossing(self.entry, state, self.with_angle, values, factors[state], target)
        elif by_set is not None:
            levels = levels_of(self.scenario, self.with_angle(values))[by_set]
            if state in levels:
                found = margins(self.scenario, by_set, state)
                shares = np.broadcast_to(inverse(levels[state]), values.shape)
                angle = break_even(self.with_angle, values, shares, 1.0, factors_of=found)
        if angle is None:
            return None
        away = errors_away(self.scenario, self.varied, angle)
        return AngleNeeded(self.varied.path.soil, angle, away)


def _values(put: Callable[[Numeric], Check], used: float) -> Any:
    """Angles over all that a check takes: theories refuse some, as below the backfill slope."""

    def taken(angle: float) -> bool:
        check = put(angle)
        beside = {state for state in check.limit_states if check.behind(state) is not check}
        try:
            check.factors_alone(leave_out={*check.SLOW, *beside})
        except InputError:
            return False
        return True

    def end(wanted: float) -> float:
        if taken(wanted):
            return wanted
        good, bad = used, wanted
        while abs(good - bad) > _NEAR:
            middle = 0.5 * (good + bad)
            good, bad = (middle, bad) if taken(middle) else (good, middle)
        return good

    return np.linspace(end(_LOWEST), end(max(_HIGHEST, min(used + 5.0, 89.0))), _VALUES)
