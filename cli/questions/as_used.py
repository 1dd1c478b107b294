"""What a check gives as it stands in the scenario: worked out once, asked for by many."""

from __future__ import annotations

from collections.abc import Hashable
from functools import lru_cache
from typing import Any

from slipmargin.stability import Check, CheckResult
from slipmargin.stability.planar_wedge.rotation_beside import Beside, set_beside

__all__ = ["as_used"]


def as_used(check: Check) -> tuple[CheckResult, Beside | None]:
    """The result of a check, and the rotation beside it.

    Raises
    ------
    InputError
        As the check's own ``evaluate``.
    """
    return _remembered(check) if isinstance(check, Hashable) and _hashes(check) else _found(check)


def _hashes(check: Hashable) -> bool:
    try:
        hash(check)
    except TypeError:  # a field that is an array or a list
        return False
    return True


def _found(check: Any) -> tuple[CheckResult, Beside | None]:
    result = check.evaluate()
    return result, set_beside(check, result)


_remembered = lru_cache(maxsize=64)(_found)
