"""What each input moves: every input of a check swung over its plausible range.

A fitted strength is swung along its joint doubt: of all pairs on the outline whose shadows
are the intervals of c′ and φ′, the one that gives the lowest and the one that gives the
highest factor. Beside it stands what swinging c′ and φ′ one at a time would say, and both at
their worst: those corners are pairs the tests exclude, so that the swing is mostly too wide.

Where no range is given the documented default is a share of the value: see ``DEFAULT_SHARES``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stability.result import Check, lowest_alone
from strength import InputError, Numeric

__all__ = [
    "DEFAULT_SHARES",
    "Move",
    "Slot",
    "Swing",
    "field_slot",
    "ranked",
    "strength_slot",
    "swings",
]

Floats = NDArray[np.float64]

DEFAULT_SHARES = {
    "unit_weight": 0.05,
    "angle": 0.05,
    "ground_angle": 0.05,
    "length": 0.10,
    "stress": 0.20,
    "force_per_length": 0.10,
    "ratio": 0.20,
}
"""Half-width of a plausible range as a share of the value, by dimension: this project's own.

The share of a unit weight spans the 3 to 7 % coefficient of variation that Duncan (2000),
J. Geotech. Geoenviron. Eng. 126(4), Table 1, gives (from memory); the others are judgement.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """How far one input moves the lowest factor of a check.

    Parameters
    ----------
    name
        The input.
    low, high
        Range it was swung over, in its own unit; for a strength the pairs in words.
    at_low, at_high
        Lowest factor at the two ends; for a strength over its region.
    default_range
        Whether the range is the documented default.
    """

    name: str
    low: str
    high: str
    at_low: float
    at_high: float
    default_range: bool = False

    @property
    def width(self) -> float:
        """How far the factor moves."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """Values that one swing gives to a field, or to a pair of fields.

    Parameters
    ----------
    name
        Of the swing.
    columns
        Values of each field, each of shape (n,).
    words
        The n values in words.
    ends
        Whether the swing goes from the first value to the last; otherwise from the value of
        the lowest factor to that of the highest, such as along the outline of a joint region.
    default_range
        Whether the range is the documented default.
    """

    name: str
    columns: tuple[Floats, ...]
    words: tuple[str, ...]
    ends: bool = True
    default_range: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A field, or a pair of fields, that is swung while all others keep what they hold.

    Parameters
    ----------
    put
        Gives a check with values in place of what the fields hold.
    held
        What each field holds.
    slots
        The swings.
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


def swings(
    check: Check, moves: Sequence[Move], lowest: Callable[[Check], Numeric] = lowest_alone
) -> list[Swing]:
    """Swing every field in turn, in one call of the check.

    Parameters
    ----------
    check
        As it stands.
    moves
        What is moved, and where to; a swing that the check refuses is left out.
    lowest
        Gives the factor of a check; by default the lowest over its limit states.
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
        factors = np.broadcast_to(np.asarray(lowest(moved), dtype=float), (ends[-1],))
    except InputError:
        if len(slots) == 1:
            return []
        alone = [replace(move, slots=(slot,)) for move in moves for slot in move.slots]
        return [swing for move in alone for swing in swings(check, [move], lowest)]
    found = [_swing(slot, factors[part]) for slot, part in zip(slots, parts, strict=True)]
    return [swing for swing in found if swing is not None]


def _swing(slot: Slot, factors: Floats) -> Swing | None:
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
    )


def ranked(found: Sequence[Swing]) -> list[Swing]:
    """Widest first."""
    return sorted(found, key=lambda swing: -swing.width)
