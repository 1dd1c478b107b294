"""What each input moves: every input of a check swung over its plausible range.

A fitted strength is swung along its joint doubt: of all pairs on the outline whose shadows
are the intervals of c′ and φ′, the one that gives the lowest and the one that gives the
highest factor. Beside it stands what swinging c′ and φ′ one at a time would say, and both at
their worst: those corners are pairs the tests exclude, so that the swing is mostly too wide.

Where no range is given the documented default is a share of the value: see ``DEFAULT_SHARES``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import Check, factors_alone, lowest_of
from slipmargin.stability.design.customary_targets import Target, margin
from slipmargin.strength import InputError, Numeric

__all__ = [
    "DEFAULT_SHARES",
    "NOT_BOUNDED",
    "Move",
    "Slot",
    "Swing",
    "field_slot",
    "level_swing",
    "ranked",
    "strength_slot",
    "swings",
    "unbounded",
]

Floats = NDArray[np.float64]

DEFAULT_SHARES = {
    "unit_weight": 0.05,
    "angle": 0.05,
    "ground_angle": 0.05,
    "length": 0.10,
    "stress": 0.20,
    "force_per_length": 0.10,
    "velocity": 0.20,
    "ratio": 0.20,
}
"""Half-width of a plausible range as a share of the value, by dimension: this project's own.

The share of a unit weight spans the 3 to 7 % coefficient of variation that Duncan (2000),
J. Geotech. Geoenviron. Eng. 126(4), Table 1, gives (from memory); the others are judgement.
"""


NOT_BOUNDED = "not bounded by these tests"
"""Stands in place of limits that are no limits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """How far one input moves the lowest factor of a check.

    ``low`` and ``high`` are the range it was swung over, in its own unit, of a strength the pairs
    in words; ``at_low`` and ``at_high`` the lowest factors there, of a strength over its region,
    nan where not bounded. ``misses``: a target is missed at either end; ``None`` without one.
    """

    name: str
    low: str
    high: str
    at_low: float
    at_high: float
    default_range: bool = False
    misses: bool | None = None

    @property
    def bounded(self) -> bool:
        """Whether the range has two ends."""
        return not math.isnan(self.at_high - self.at_low)

    @property
    def width(self) -> float:
        """How far the factor moves; without end where the range has none."""
        return abs(self.at_high - self.at_low) if self.bounded else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """Values that one swing gives to a field, or to a pair of fields.

    ``columns`` are the values of each field, of shape (n,), and ``words`` those n values in words.
    ``ends``: the swing goes from the first value to the last; otherwise from the value of the
    lowest factor to that of the highest, such as along the outline of a joint region.
    """

    name: str
    columns: tuple[Floats, ...]
    words: tuple[str, ...]
    ends: bool = True
    default_range: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A field, or a pair of fields, that is swung while all others keep what is ``held``; ``put``
    gives a check with other values in their place.
    """

    put: Callable[..., Check]
    held: tuple[float, ...]
    slots: tuple[Slot, ...]


def field_slot(
    name: str, unit: str, low: float, high: float, *, default_range: bool = False
) -> Slot:
    """The swing of one field between two values."""
    return Slot(
        name=name,
        columns=(np.array([low, high]),),
        words=tuple(f"{value:.4g} {unit}".strip() for value in (low, high)),
        default_range=default_range,
    )


def strength_slot(name: str, cohesion: Floats, friction_angle: Floats) -> Slot | None:
    """The swing of a strength over pairs [kPa] and [deg], such as its joint region.

    Pairs that are no strengths are left out; ``None`` where no pair is left.
    """
    kept = (cohesion >= 0.0) & (friction_angle > 0.0)
    c, phi = cohesion[kept], friction_angle[kept]
    if not c.size:
        return None
    words = tuple(f"c′ {a:.1f} kPa, φ′ {b:.1f} deg" for a, b in zip(c, phi, strict=True))
    return Slot(name=name, columns=(c, phi), words=words, ends=False)


def unbounded(name: str) -> Swing:
    """What stands for an input whose tests set it no limits."""
    return Swing(name=name, low=NOT_BOUNDED, high="", at_low=math.nan, at_high=math.nan)


def swings(
    check: Check,
    moves: Sequence[Move],
    factors_of: Callable[[Check], Mapping[str, Numeric]] = factors_alone,
    targets: Mapping[str, Target] | None = None,
) -> list[Swing]:
    """Swing every field in turn, in one call of the check; what it refuses is left out.

    ``factors_of`` gives the factors of a check, of which the lowest counts, by default its own;
    ``targets`` are what is asked of them, by limit state.
    """
    slots = [slot for move in moves for slot in move.slots]
    if not slots:
        return []
    ends = np.cumsum([len(slot.words) for slot in slots])
    parts = [slice(end - len(slot.words), end) for slot, end in zip(slots, ends, strict=True)]
    places = iter(parts)
    moved = check
    for move in moves:
        columns = [np.full(ends[-1], value) for value in move.held]
        for slot in move.slots:
            part = next(places)
            for column, values in zip(columns, slot.columns, strict=True):
                column[part] = values
        moved = move.put(moved, *columns)
    try:
        lowest, missed = _judged(factors_of(moved), targets, (int(ends[-1]),))
    except InputError:
        if len(slots) == 1:
            return []
        alone = [replace(move, slots=(slot,)) for move in moves for slot in move.slots]
        return [one for move in alone for one in swings(check, [move], factors_of, targets)]
    found = [
        _swing(slot, lowest[part], None if missed is None else missed[part])
        for slot, part in zip(slots, parts, strict=True)
    ]
    return [swing for swing in found if swing is not None]


def _judged(
    factors: Mapping[str, Numeric], targets: Mapping[str, Target] | None, shape: tuple[int, ...]
) -> tuple[Floats, NDArray[np.bool_] | None]:
    """Lowest factor, and whether a target is missed."""
    lowest = np.broadcast_to(np.asarray(lowest_of(factors), dtype=float), shape)
    if not set(factors) & set(targets or {}):
        return lowest, None
    return lowest, np.broadcast_to(np.asarray(margin(factors, targets or {})) < 1.0, shape)


def _swing(slot: Slot, factors: Floats, missed: NDArray[np.bool_] | None) -> Swing | None:
    finite = np.where(np.isfinite(factors), factors, np.nan)
    lost = np.isnan(finite)
    if np.all(lost) or (slot.ends and np.any(lost)):
        return None
    first, last = (0, -1) if slot.ends else (int(np.nanargmin(finite)), int(np.nanargmax(finite)))
    return Swing(
        name=slot.name,
        low=slot.words[first],
        high=slot.words[last],
        at_low=float(finite[first]),
        at_high=float(finite[last]),
        default_range=slot.default_range,
        misses=None if missed is None else bool(np.any(missed)),
    )


def level_swing(
    check: Any,
    field: str,
    name: str,
    factors_of: Callable[[Check], Mapping[str, Numeric]] = factors_alone,
    targets: Mapping[str, Target] | None = None,
) -> Swing | None:
    """The swing of a line of water, lowered and raised as a whole by its default share.

    A line that cannot stand so high, such as one that would leave the ground, stays where it
    is at that end; ``None`` where it can be moved to neither side. ``field`` holds the line [m];
    ``factors_of`` and ``targets`` are as in ``swings``.
    """
    line = np.asarray(getattr(check, field), dtype=float)
    reach = DEFAULT_SHARES["length"] * float(np.max(np.abs(line[:, 1])))
    words: list[str] = []
    lowest: list[float] = []
    missed: list[NDArray[np.bool_] | None] = []
    for shift, done, further in ((-reach, "lowered", "lower"), (reach, "raised", "higher")):
        moved = tuple(map(tuple, (line + np.array([0.0, shift])).tolist()))
        try:
            factors = factors_of(replace(check, **{field: moved}))
            words.append(f"{done} {reach:.3g} m")
        except InputError:
            factors = factors_of(check)
            words.append(f"as drawn, where it can stand no {further}")
        factor, misses = _judged(factors, targets, ())
        lowest.append(float(factor))
        missed.append(misses)
    if not math.isfinite(lowest[1] - lowest[0]) or reach == 0.0:
        return None
    return Swing(
        name=name,
        low=words[0],
        high=words[1],
        at_low=lowest[0],
        at_high=lowest[1],
        default_range=True,
        misses=None if any(one is None for one in missed) else any(map(bool, missed)),
    )


def ranked(found: Sequence[Swing]) -> list[Swing]:
    """Widest first, what has no bounds before all."""
    return sorted(found, key=lambda swing: -swing.width)
