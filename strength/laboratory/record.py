"""Stress-displacement records, and the traverses of the box they are made of.

A traverse is a run of rows in which the box moves one way. Displacement that turns back by
more than a twentieth of its whole range is a reversal and ends a traverse; less is jitter of
the gauge, and the rows of the traverse are put in order of displacement. The box moves
forward first. What is read while it is pushed back is not used: it is often done by hand.
The row at which the box turns is the last of the forward traverse, or the first of the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.number_column import known_unit
from slipmargin.strength.laboratory.readings import RECORD_ROWS, Readings

__all__ = ["Record", "Traverse", "forward_traverses", "records_of", "traverses"]

REVERSAL = 0.05
"""Share of the range of displacement [-] by which it must turn back to be a reversal."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The record of one test, rows in the order they were taken, all of shape (n,).

    Parameters
    ----------
    name
        Identifier of the test.
    displacement
        Travel of the moving half of the box from the start of shearing [mm].
    shear, normal
        Stresses [kPa] or forces [N], as ``unit`` says, and ``normal_unit`` where the normal
        load has another.
    vertical_displacement
        Of the cap, upward positive [mm]; ``None`` where not measured.
    rate
        Mean rate of displacement [mm/min]; nan where not known.

    Raises
    ------
    InputError
        A unit that is not known, arrays of different length, fewer than ``RECORD_ROWS`` rows, a
        number that is not finite, a displacement that does not begin forward from near zero.
    """

    name: str
    displacement: Floats
    shear: Floats
    normal: Floats
    vertical_displacement: Floats | None = None
    rate: float = float("nan")
    unit: Literal["kPa", "N"] = "kPa"
    normal_unit: Literal["kPa", "N"] | None = None

    def __post_init__(self) -> None:
        known_unit(self.unit)
        place = f"test {self.name}"
        moved = self.displacement
        columns = {"displacement": moved, "shear": self.shear, "normal": self.normal}
        if self.vertical_displacement is not None:
            columns["vertical_displacement"] = self.vertical_displacement
        for name, values in columns.items():
            if values.shape != moved.shape or values.ndim != 1:
                raise InputError(f"{place}, {name}", values.shape, f"allowed: {moved.shape}")
            if name != "vertical_displacement" and not np.all(np.isfinite(values)):
                raise InputError(
                    f"{place}, {name}",
                    f"{int(np.sum(~np.isfinite(values)))} rows without a number",
                    "every row of a stress-displacement record needs one",
                )
        if moved.size < RECORD_ROWS:
            raise InputError(
                place,
                f"{moved.size} rows" if moved.size != 1 else "1 row",
                f"a stress-displacement record needs {RECORD_ROWS} rows or more",
            )
        if np.any(self.normal <= 0.0):
            raise InputError(f"{place}, normal", float(self.normal.min()), "allowed: above 0")
        if moved.max() <= 0.0 or moved[0] > 0.5 * moved.max():
            raise InputError(
                f"{place}, displacement",
                f"from {moved[0]:g} to {moved.max():g} mm",
                "give the travel of the box from the start of shearing, rising from about 0; "
                "leave the column out for repeated readings at one point",
            )


@dataclass(frozen=True, slots=True)
class Traverse:
    """Rows ``start`` to ``stop`` (not included) of a record, moving one way."""

    start: int
    stop: int
    forward: bool


def records_of(readings: Readings) -> tuple[Record, ...]:
    """The record of each test of a table with a displacement, in the order of the table."""
    if readings.displacement is None:
        raise InputError("displacement [mm]", "no column", "a stress-displacement record needs one")
    none = np.full(len(readings.test), np.nan)
    rise, rate = (
        none if one is None else one for one in (readings.vertical_displacement, readings.rate)
    )
    records = []
    for name, rows in readings.rows_by_test().items():
        known = rate[rows][np.isfinite(rate[rows])]
        records.append(
            Record(
                name=name,
                displacement=readings.displacement[rows],
                shear=readings.shear[rows],
                normal=readings.normal[rows],
                vertical_displacement=rise[rows] if np.any(np.isfinite(rise[rows])) else None,
                rate=float(known.mean()) if known.size else float("nan"),
                unit=readings.unit,
                normal_unit=readings.normal_unit,
            )
        )
    return tuple(records)


def traverses(displacement: Floats) -> tuple[Traverse, ...]:
    """Split rows where the box turns back."""
    limit = REVERSAL * float(np.ptp(displacement))
    found: list[Traverse] = []
    start, turn, forward = 0, 0, True
    while True:
        ahead = displacement[turn:] if forward else -displacement[turn:]
        furthest = np.maximum.accumulate(ahead)
        back = np.flatnonzero(furthest - ahead > limit)
        if not back.size:
            found.append(Traverse(start, displacement.size, forward))
            return tuple(found)
        turn += int(np.argmax(ahead[: back[0]]))
        # the row at the turn counts as forward, whichever way the box goes on
        stop = turn + 1 if forward else turn
        if stop > start:  # a box pushed back between two rows leaves none of that way
            found.append(Traverse(start, stop, forward))
        start, forward = stop, not forward


def forward_traverses(record: Record) -> tuple[Traverse, ...]:
    """Traverses in which the box moves forward, each long enough to be read.

    Refused is a record that begins backward, or a forward traverse of fewer than ``RECORD_ROWS``
    rows, as rows that are not in the order they were taken give.
    """
    every = traverses(record.displacement)
    first = every[0]
    forward = tuple(part for part in every if part.forward)
    place = f"test {record.name}, displacement"
    needs = f"a traverse of the box needs {RECORD_ROWS} rows or more, in the order they were taken"
    if first.stop - first.start < RECORD_ROWS and len(every) > 1:
        given = f"turns back after {first.stop} rows, at {record.displacement[first.stop - 1]:g} mm"
        down = "a dial that counts down must be turned into travel"
        raise InputError(place, given, f"{needs}; {down}")
    for part in forward[1:]:
        if part.stop - part.start < RECORD_ROWS:
            given = f"a traverse of {part.stop - part.start} rows from row {part.start + 1} of it"
            raise InputError(place, given, needs)
    return forward
