"""What a check gives as it stands in the scenario: worked out once, asked for by many."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from slipmargin.stability import Check, CheckResult
from slipmargin.strength import Numeric

__all__ = ["as_used", "asked_of", "quick"]


def as_used(check: Check, leave_out: tuple[str, ...] = ()) -> CheckResult:
    """The result of a check, without the limit states named; raises as its ``evaluate``."""
    known: Any = check
    try:
        hash(known)
    except TypeError:  # a field that is an array or a list
        return check.evaluate(leave_out=leave_out)
    return _remembered(known, leave_out)


@lru_cache(maxsize=64)
def _remembered(check: Check, leave_out: tuple[str, ...]) -> CheckResult:
    return check.evaluate(leave_out=leave_out)


def quick(check: Check) -> Mapping[str, Numeric]:
    """The factors that further questions ask of a check: those it has as used, but slow ones.

    Raises as ``evaluate`` of the check.
    """
    return as_used(check, check.SLOW).factors_of_safety


def asked_of(check: Check) -> Callable[[Check], Mapping[str, Numeric]]:
    """What gives those factors of the check with other values in it."""
    wanted = {*quick(check)}
    return lambda moved: moved.factors_alone(leave_out={*moved.limit_states} - wanted)
