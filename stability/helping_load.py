"""A load that may be absent: whether a check's factors fall when part or all of it is left off.

A surcharge presses on a slip plane and on a base as well as driving them. Where it holds more
than it drives, counting on it is unsafe, and the check has to say so.

On one slip surface strength and drive are each linear in the load, so that the loads whose
factor stays above a level are an interval, and over all surfaces an overlap of intervals: the
lowest factor of a slope stands at none or all of its load. Bearing is no such ratio and may
have its lowest factor under a part of the load, so ``between`` looks there too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import Check
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import Notice, Numeric

__all__ = ["LeastUnderLoad", "helping_load_notices", "least_under_load", "surcharge_notices"]

Array = NDArray[np.float64]
Factors = Mapping[str, Numeric]

_MINOR = 1e-6  # of a factor; less is rounding of a search
_PARTS = 8  # steps between none and all of the load
_CLOSER = 2  # further looks about the lowest, each a quarter as wide


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastUnderLoad:
    """The lowest factor of one limit state over what share of a load is there: the factors without
    the load and with all of it, the lowest over the shares looked at, these among them, and the
    share of the load that has it, 0 to 1.
    """

    none: Array
    all_of_it: Array
    lowest: Array
    share: Array

    def with_rows(self, rows: NDArray[np.intp], closer: LeastUnderLoad) -> LeastUnderLoad:
        """The same with the lowest factors and shares of some elements from a closer look."""
        found = {"lowest": self.lowest.copy(), "share": self.share.copy()}
        for name, array in found.items():
            array.flat[rows] = getattr(closer, name)
        return replace(self, **found)


def least_under_load(
    factors_at: Callable[[Numeric], Factors], all_of_it: Factors, *, between: bool = False
) -> dict[str, LeastUnderLoad]:
    """Lowest factors of a check between none and all of a load, by limit state.

    ``factors_at`` gives factors by limit state at a share of the load: a scalar, or, looking
    ``between``, an array of the shape of the factors. ``all_of_it`` are those with the whole load,
    at hand already; these limit states are looked at. ``between`` looks at parts of the load too:
    eighths, then closer about the lowest, to 1/256 of it.
    """
    none = factors_at(0.0)
    steps = np.arange(1, _PARTS) / _PARTS if between else np.empty(0)
    parts = [(float(part), factors_at(float(part))) for part in steps]
    return {
        state: _least(factors_at, state, [(0.0, none), *parts, (1.0, all_of_it)])
        for state in all_of_it
    }


def _least(
    factors_at: Callable[[Numeric], Factors], state: str, seen: list[tuple[float, Factors]]
) -> LeastUnderLoad:
    none, all_of_it = np.broadcast_arrays(_read(seen[0][1][state]), _read(seen[-1][1][state]))
    lowest, share = np.minimum(none, all_of_it), np.where(none < all_of_it, 0.0, 1.0)

    def keep(part: Numeric, factor: Array) -> None:
        nonlocal lowest, share
        lower = factor < lowest
        lowest, share = np.where(lower, factor, lowest), np.where(lower, part, share)

    for part, factors in seen[1:-1]:
        keep(part, _read(factors[state]))
    width = 1.0 / _PARTS
    for _ in range(_CLOSER if np.any((share > 0.0) & (share < 1.0)) else 0):
        centre = share
        for offset in width * np.linspace(-0.75, 0.75, _PARTS - 1):
            near = np.clip(centre + offset, 0.0, 1.0)
            keep(near, _read(factors_at(near)[state]))
        width /= 4.0
    return LeastUnderLoad(none=none, all_of_it=all_of_it, lowest=lowest, share=share)


def _read(factor: Numeric) -> Array:
    """A factor as an array; nan, no answer, is never the lowest."""
    array = np.asarray(factor, dtype=float)
    return np.where(np.isnan(array), np.inf, array)


def helping_load_notices(
    least: Mapping[str, LeastUnderLoad],
    *,
    target: Numeric | None = None,
    counted: bool = True,
    load: str = "surcharge",
) -> list[Notice]:
    """The notice owed where less of a load, called ``load``, gives a lower factor.

    ``least`` is what :func:`least_under_load` gives. ``counted``: the check's own factor counts on
    the load, and is not the lowest already; then it is a stop where the load alone lifts the factor
    over the ``target``, or over 1.
    """
    sayings, missed = [], False
    for state, found in least.items():
        helped = found.lowest < found.all_of_it * (1.0 - _MINOR)
        if not np.any(helped):
            continue
        factor = f"factor against {state}" if len(least) > 1 else "factor"
        sayings.append(_saying(factor, found, helped, load))
        for level in (1.0,) if target is None else (1.0, np.asarray(target, dtype=float)):
            missed |= bool(np.any(helped & (found.lowest < level) & (found.all_of_it >= level)))
    if not sayings:
        return []
    notice = Notice.stop if counted and missed else Notice.caution
    ending = "take the lower factor." if counted else "the factor given is the lower one."
    text = f"{' '.join(sayings)} A load that may be absent must not be counted on: {ending}"
    return [notice(f"{load}-helps", text)]


def surcharge_notices(slope: Any, factors: Factors) -> list[Notice]:
    """The notice owed where the surcharge of a slope, with the fields ``surcharge`` and ``target``,
    raises its factors, which count on it.
    """
    if not np.any(slope.surcharge > 0.0):
        return []

    def factors_at(share: Numeric) -> Factors:
        loaded: Check = replace(slope, surcharge=share * np.asarray(slope.surcharge))
        return loaded.factors_alone(leave_out=set(slope.limit_states) - set(factors))

    return helping_load_notices(least_under_load(factors_at, factors), target=slope.target)


def _saying(factor: str, found: LeastUnderLoad, helped: NDArray[np.bool_], load: str) -> str:
    """How much lower a factor is, where it is lowest."""
    at = int(np.argmin(np.where(helped, found.lowest, np.inf)))
    lowest, none, full, share = (
        float(one.flat[at]) for one in (found.lowest, found.none, found.all_of_it, found.share)
    )
    least = factor_text(lowest)
    if lowest < none * (1.0 - _MINOR):
        return (
            f"The {factor} is lowest under {share:.0%} of the {load}: {least}, beside "
            f"{factor_text(none)} without it and {factor_text(full)} with all of it."
        )
    return f"The {load} raises the {factor}: without it the factor is {least}."
