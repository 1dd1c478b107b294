"""The friction angle at which a check just meets what is asked of it, the cohesion held.

It is the break-even value of a sweep over every angle that the check takes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from slipmargin.cli.questions.one_field import OneField, over_one_field
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.scenario.varied import find_field
from slipmargin.stability import Check
from slipmargin.strength import InputError, Numeric

__all__ = ["AngleNeeded", "angle_needed", "over_angles"]

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


def over_angles(scenario: Scenario, entry: CheckEntry, soil: str) -> OneField | None:
    """A check over the friction angle of one soil; ``None`` for a curved envelope, which has no
    angle to vary.
    """
    try:
        varied = find_field(scenario, f"soils.{soil}.friction_angle")
        used = float(scenario.soils[soil].soil.strength.friction_angle)
        ends = _LOWEST, max(_HIGHEST, min(used + 5.0, 89.0))
        try:
            return over_one_field(scenario, entry, varied, np.linspace(*ends, _VALUES))
        except InputError:
            put = partial(varied.put, entry.check)
            low, high = (_last_taken(put, used, wanted) for wanted in ends)
            return over_one_field(scenario, entry, varied, np.linspace(low, high, _VALUES))
    except InputError:
        return None


def angle_needed(over: OneField, state: str, by_set: str = "") -> AngleNeeded | None:
    """The angle at which a limit state meets its target, or a utilisation of 1 under a set;
    ``None`` where no angle does.
    """
    angle = None
    if by_set:
        levels = over.levels()
        if state in levels[by_set]:
            angle = over.where_used_up(levels, by_set, state)
    elif state in over.swept.factors_of_safety:
        angle = over.where(state, over.entry.target(state))
    if angle is None:
        return None
    return AngleNeeded(over.varied.path.soil, angle, over.errors_away(angle))


def _last_taken(put: Callable[[Numeric], Check], used: float, wanted: float) -> float:
    """The last angle that a check takes on the way to one that is wanted: theories refuse some, as
    below the backfill slope.
    """

    def taken(angle: float) -> bool:
        check = put(angle)
        beside = {state for state in check.limit_states if check.behind(state) is not check}
        try:
            check.factors_alone(leave_out={*check.SLOW, *beside})
        except InputError:
            return False
        return True

    if taken(wanted):
        return wanted
    good, bad = used, wanted
    while abs(good - bad) > _NEAR:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if taken(middle) else (good, middle)
    return good
