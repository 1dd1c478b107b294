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
from slipmargin.strength.laboratory.readings import RECORD_ROWS, Readings
from slipmargin.strength.laboratory.specimen import LoadScale

__all__ = ["Record", "Traverse", "forward_traverses", "records_of", "traverses"]

REVERSAL = 0.05
"""Share of the range of displacement [-] by which it must turn back to be a reversal."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The record of one test, rows in the order they were taken, all of shape (n,).

    ``displacement`` is the travel of the moving half of the box from the start of shearing [mm];
    ``shear`` and ``normal`` are nominal stresses [kPa] or corrected forces [N], as ``unit`` says.
    ``vertical_displacement`` is that of the cap, upward positive [mm], ``None`` where not
    measured; ``rate`` the mean rate of displacement [mm/min], nan where not known.
    """

    name: str
    displacement: Floats
    shear: Floats
    normal: Floats
    vertical_displacement: Floats | None
    rate: float
    unit: Literal["kPa", "N"]


@dataclass(frozen=True, slots=True)
class Traverse:
    """Rows ``start`` to ``stop`` (not included) of a record, moving one way."""

    start: int
    stop: int
    forward: bool


def records_of(readings: Readings, scale: LoadScale) -> tuple[Record, ...]:
    """The record of each test of a table with a displacement, in the order of the table.

    Refused is a test of fewer than ``RECORD_ROWS`` rows, a row without a displacement or with a
    normal load not above zero, a displacement that does not begin forward from near zero.
    """
    moved, rise, rate = readings.displacement, readings.vertical_displacement, readings.rate
    assert moved is not None
    shear, normal = scale.shear(readings.shear), scale.normal(readings.normal)
    records = []
    for name, rows in readings.rows_by_test().items():
        _refuse_other_rows(f"test {name}", moved[rows], readings.normal[rows])
        rises = None if rise is None or np.isnan(rise[rows]).all() else rise[rows]
        speeds = np.array([]) if rate is None else rate[rows][np.isfinite(rate[rows])]
        records.append(
            Record(
                name=name,
                displacement=moved[rows],
                shear=shear[rows],
                normal=normal[rows],
                vertical_displacement=rises,
                rate=float(speeds.mean()) if speeds.size else float("nan"),
                unit=scale.unit,
            )
        )
    return tuple(records)


def _refuse_other_rows(place: str, moved: Floats, normal: Floats) -> None:
    """Refuse rows that are no record; ``normal`` as it was read."""
    if blank := int(np.sum(np.isnan(moved))):
        needs = "every row of a stress-displacement record needs one"
        raise InputError(f"{place}, displacement", f"{blank} rows without a number", needs)
    if moved.size < RECORD_ROWS:
        given = f"{moved.size} row{'' if moved.size == 1 else 's'}"
        needs = f"a stress-displacement record needs {RECORD_ROWS} rows or more"
        raise InputError(place, given, needs)
    if np.any(normal <= 0.0):
        raise InputError(f"{place}, normal", float(normal.min()), "allowed: above 0")
    if moved.max() <= 0.0 or moved[0] > 0.5 * moved.max():
        raise InputError(
            f"{place}, displacement",
            f"from {moved[0]:g} to {moved.max():g} mm",
            "give the travel of the box from the start of shearing, rising from about 0; "
            "leave the column out for repeated readings at one point",
        )


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
