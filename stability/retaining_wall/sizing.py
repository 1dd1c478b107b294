"""The smallest wall that meets its targets, along one dimension.

The dimension is scanned from the least that the shape allows to ``SCAN_REACH`` times the
height of the wall. Between the last size that fails and the first that passes, halving finds
the limit to round-off; the size returned is on the side that passes. A size is the smallest
of the scan: one that passes only between two neighbours of the scan is not seen.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.customary_targets import CUSTOMARY
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import SHAPES
from slipmargin.strength import InputError, Notice, Numeric

__all__ = ["DIMENSIONS", "SCAN_REACH", "WallSize", "smallest_wall"]

DIMENSIONS = ("base_width", "heel_width", "toe_width")
"""The dimensions that can be sized."""

SCAN_REACH = 2.5
"""Largest size tried, over the height of the wall; wider walls are not built."""

_STEPS = 161
_HALVINGS = 52  # to round-off


@dataclass(frozen=True, slots=True, kw_only=True)
class WallSize:
    """A size with its factors.

    Parameters
    ----------
    dimension
        What was sized.
    value
        Smallest size that meets every target [m]; nan where none does.
    factors_of_safety
        By limit state, at that size; nan where there is none.
    governing
        Limit state that is nearest to its target there, one for each element.
    targets
        Factors asked for.
    notices
        What must be said beside it.
    """

    dimension: str
    value: NDArray[np.float64]
    factors_of_safety: Mapping[str, NDArray[np.float64]]
    governing: NDArray[np.str_]
    targets: Mapping[str, Numeric]
    notices: tuple[Notice, ...]


def smallest_wall(
    check: RetainingWall, dimension: str, targets: Mapping[str, Numeric] | None = None
) -> WallSize:
    """Smallest size of a dimension at which every limit state meets its target.

    Parameters
    ----------
    check
        The wall; the size it has in ``dimension`` is not used.
    dimension
        ``base_width`` (gravity), ``heel_width`` or ``toe_width`` (cantilever).
    targets
        By limit state; those left out are customary: sliding 1.5, overturning 2, bearing 3.

    Raises
    ------
    InputError
        A dimension that the shape does not have, a target for an unknown limit state or not
        above 0, or a wall that ``evaluate`` refuses.
    """
    allowed = [name for name in DIMENSIONS if name in SHAPES[check.wall.shape]]
    if dimension not in allowed:
        raise InputError(
            "dimension",
            dimension,
            f"a wall of shape {check.wall.shape} is sized by: {', '.join(allowed) or 'nothing'}",
        )
    given = {} if targets is None else dict(targets)
    for name, target in given.items():
        if name not in CUSTOMARY:
            raise InputError("targets", name, "allowed: " + ", ".join(CUSTOMARY))
        if not np.all(np.asarray(target, dtype=float) > 0.0):
            raise InputError(f"targets.{name}", target, "a factor of safety above 0 is wanted")
    wanted: dict[str, Numeric] = {**CUSTOMARY, **given}
    at_present = check.evaluate(leave_out=check.SLOW)  # refuses what cannot be checked at all
    shape = np.broadcast_shapes(
        *(np.shape(one) for one in at_present.factors_of_safety.values()),
        *(np.shape(one) for one in wanted.values()),
    )

    def sized(size: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
        change: dict[str, Any] = {dimension: size}
        wall = dataclasses.replace(check.wall, **change)
        return dataclasses.replace(check, wall=wall).factors()

    def passes(size: NDArray[np.float64]) -> NDArray[np.bool_]:
        met = [factor >= wanted[name] for name, factor in sized(size).items()]
        return np.asarray(np.logical_and.reduce(np.broadcast_arrays(*met)))

    height = check.section().height
    least = np.broadcast_to(_least(check, dimension), shape)
    reach = np.broadcast_to(np.maximum(SCAN_REACH * np.asarray(height), 1.001 * least), shape)
    steps = np.linspace(0.0, 1.0, _STEPS).reshape(-1, *(1,) * len(shape))
    scan = least + steps * (reach - least)
    good = np.broadcast_to(passes(scan), scan.shape)
    first = np.argmax(good, axis=0)
    found = np.any(good, axis=0)
    high = np.take_along_axis(scan, first[np.newaxis], axis=0)[0]
    low = np.take_along_axis(scan, np.maximum(first - 1, 0)[np.newaxis], axis=0)[0]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        meets = passes(middle)
        low, high = np.where(meets, low, middle), np.where(meets, middle, high)

    factors = {name: np.where(found, one, np.nan) for name, one in sized(high).items()}
    margins = np.stack([np.broadcast_to(one / wanted[n], shape) for n, one in factors.items()])
    names = np.array(list(factors))
    governing = np.where(found, names[np.argmin(margins, axis=0)], "")
    return WallSize(
        dimension=dimension,
        value=np.where(found, high, np.nan),
        factors_of_safety=factors,
        governing=governing,
        targets=wanted,
        notices=_notices(dimension, wanted, given, found),
    )


def _least(check: RetainingWall, dimension: str) -> NDArray[np.float64]:
    """The least size that the shape and its key allow."""
    wall = check.wall
    declared = next(one for name, one, _ in fields.of(wall) if name == dimension)
    base = np.asarray(check.section().width) - getattr(wall, dimension)
    key = 0.0
    if wall.key_depth is not None:
        key = np.asarray(wall.key_position) + np.asarray(wall.key_width)
    least = np.maximum(declared.ends[0], key - base)
    if dimension == "base_width":
        least = np.maximum(least, np.asarray(wall.top_width) + np.asarray(wall.back_offset))
    return np.asarray(least, dtype=float)


def _notices(
    dimension: str,
    wanted: Mapping[str, Numeric],
    given: Mapping[str, Numeric],
    found: NDArray[np.bool_],
) -> tuple[Notice, ...]:
    notices = [
        Notice.info(
            "size-for-outer-stability",
            "The size meets the factors of this check alone. Eccentricity, overall stability, "
            "settlement and the strength of the wall may ask for more: run the check at that "
            "size and read its notices.",
        )
    ]
    customary = [name for name in wanted if name not in given]
    if customary:
        listed = ", ".join(f"{name} {float(np.max(wanted[name])):g}" for name in customary)
        notices.append(
            Notice.info(
                "customary-targets",
                f"Customary targets were taken: {listed}.",
                "Das, Principles of Foundation Engineering, ch. 8 (customary values)",
            )
        )
    if not np.all(found):
        notices.append(
            Notice.caution(
                "no-size-found",
                f"No {dimension} up to {SCAN_REACH:g} times the height of the wall meets every "
                "target.",
            )
        )
    return tuple(notices)
