"""Readings as taken; ``shear_tests`` reduces them to one point a test."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.apparatus import Apparatus
from slipmargin.strength.laboratory.number_column import (
    hold_columns,
    known_unit,
    number_column,
    word_column,
)
from slipmargin.strength.notice import Notice
from slipmargin.strength.stress_plane import SLIDING_PLANE, StressPlane

__all__ = ["RECORD_ROWS", "STATES", "Readings"]

STATES = ("peak", "end_of_test", "residual")
"""The points of a shear test that a strength can be fitted to."""

RECORD_ROWS = 8
"""Rows with displacement that make a test a stress-displacement record."""

Floats = NDArray[np.float64]


_TAKEN = {
    "hanger_mass": "Mass on the hanger [kg]",
    "hanger_load": "Load on the hanger [N]",
    "dial": "Dial [div]",
    "dial_low": "Lowest dial [div]",
    "dial_high": "Highest dial [div]",
    "cell_pressure": "Cell pressure [kPa]",
    "deviator_stress": "Deviator stress [kPa]",
    "pore_pressure": "Pore pressure [kPa]",
}
"""What may have been read in place of stresses and forces, and its heading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """A table of readings, one element a reading.

    Parameters
    ----------
    test, state
        Identifier of the test, and which point of it was read: ``peak`` without it.
    normal, shear
        Both stresses [kPa] or both forces [N], as ``unit`` says, on ``plane``.
    low, high
        Band in which the shear gauge bounced, in the same unit; nan without a band, or none at all.
    unit, normal_unit
        ``kPa`` or ``N``; the second where the normal loads have another than the rest.
    notices
        What the reading of the file had to say.
    displacement, vertical_displacement
        Travel of the moving half of the box from the start of shearing, and movement of the
        cap, upward positive [mm]; nan where blank, ``None`` where not given at all.
    rate
        Rate of displacement [mm/min]; likewise.
    plane
        The plane the stresses act on: that of sliding in a shear box, that of the largest
        shear stress in a triaxial test; see ``triaxial_readings``.
    taken, apparatus
        What was read in place of stresses or forces, and what turned it into forces:
        ``hanger_mass`` [kg] or ``hanger_load`` [N]; ``dial``, ``dial_low`` and ``dial_high``
        [div]; ``cell_pressure``, ``deviator_stress`` and, where measured, ``pore_pressure`` [kPa].

    Raises
    ------
    InputError
        A unit or state that is not known, columns of unequal length, a number that is not
        finite, a normal stress below zero, a shear stress or displacement below zero outside a
        stress-displacement record, a rate not above zero, a band of one end or one that does
        not hold its reading.
    """

    test: tuple[str, ...]
    normal: Floats
    shear: Floats
    state: tuple[str, ...] = ()
    low: Floats = None  # type: ignore[assignment]  # filled in
    high: Floats = None  # type: ignore[assignment]
    unit: Literal["kPa", "N"] = "kPa"
    notices: tuple[Notice, ...] = ()
    displacement: Floats | None = None
    vertical_displacement: Floats | None = None
    rate: Floats | None = None
    normal_unit: Literal["kPa", "N"] | None = None
    plane: StressPlane = SLIDING_PLANE
    taken: Mapping[str, Floats] = field(default_factory=dict)
    apparatus: Apparatus = Apparatus()  # noqa: RUF009  (frozen)

    def __post_init__(self) -> None:
        known_unit(self.unit)
        if self.normal_unit is not None:
            known_unit(self.normal_unit)
            if self.normal_unit == "N" and self.unit == "kPa":
                raise InputError("normal_unit", "N", "a shear stress needs a normal stress")
        count = len(self.test)
        object.__setattr__(self, "test", tuple(self.test))
        if not self.state:
            object.__setattr__(self, "state", ("peak",) * count)
        word_column("state", self.state, count, STATES)
        hold_columns(self, count, optional=("displacement", "vertical_displacement", "rate"))
        if self.rate is not None:
            number_column("rate", self.rate, count, least=0.0, above=True, blank=True)
        if not self.is_record:
            for name in ("low", "shear", "displacement"):
                if (values := getattr(self, name)) is not None:
                    number_column(name, values, count, least=0.0, blank=name != "shear")
        banded = np.isfinite(self.low)
        for index in np.flatnonzero(banded != np.isfinite(self.high)).tolist():
            end = "high" if banded[index] else "low"
            raise InputError(f"{end}[{index}]", "nan", "a band has both ends")
        for index in np.flatnonzero(self.low > self.high).tolist():
            swap = f"swap the two: it is above its high, {self.high[index]:g}"
            raise InputError(f"low[{index}]", f"{self.low[index]:g}", swap)
        inside = (self.low <= self.shear) & (self.shear <= self.high)
        for index in np.flatnonzero(banded & ~inside).tolist():
            band = f"{self.low[index]:g} to {self.high[index]:g}"
            place, value = f"shear[{index}]", f"{self.shear[index]:g}"
            raise InputError(place, value, f"it is outside its band; allowed: {band}")

    @property
    def as_taken(self) -> dict[str, Floats]:
        """Columns of the table as they were read, by heading with unit; nan where blank."""
        unit, normal_unit = self.unit, self.normal_unit or self.unit
        kinds = {"kPa": "stress", "N": "force"}
        columns: dict[str, Floats] = {}
        if not self.taken.keys() & {"hanger_mass", "hanger_load", "cell_pressure"}:
            columns[f"Normal {kinds[normal_unit]} [{normal_unit}]"] = self.normal
        columns |= {words: self.taken[name] for name, words in _TAKEN.items() if name in self.taken}
        if not self.taken.keys() & {"dial", "deviator_stress"}:
            columns[f"Shear {kinds[unit]} [{unit}]"] = self.shear
            columns |= {f"Lowest seen [{unit}]": self.low, f"Highest seen [{unit}]": self.high}
        return {words: column for words, column in columns.items() if np.isfinite(column).any()}

    def rows_by_test(self, state: str | None = None) -> dict[str, list[int]]:
        """Rows of each test, of one state where it is given, in the order of the table."""
        found: dict[str, list[int]] = {}
        for row, (name, of) in enumerate(zip(self.test, self.state, strict=True)):
            if state in (None, of):
                found.setdefault(name, []).append(row)
        return found

    @property
    def is_record(self) -> bool:
        """Whether some test has ``RECORD_ROWS`` rows with displacement, or more."""
        if self.displacement is None:
            return False
        moved = np.isfinite(self.displacement)
        rows = Counter(name for name, one in zip(self.test, moved, strict=True) if one)
        return max(rows.values(), default=0) >= RECORD_ROWS
