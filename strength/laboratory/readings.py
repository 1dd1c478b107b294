"""Readings as taken; ``shear_tests`` reduces them to one point a test."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.apparatus import Gauges
from slipmargin.strength.laboratory.number_column import (
    hold_columns,
    known_unit,
    number_column,
    word_column,
)
from slipmargin.strength.notice import Notice
from slipmargin.strength.stress_plane import SLIDING_PLANE, StressPlane

__all__ = ["RECORD_ROWS", "STATES", "PrincipalStresses", "Readings"]

STATES = ("peak", "end_of_test", "residual")
"""The points of a shear test that a strength can be fitted to."""

RECORD_ROWS = 8
"""Rows with displacement that make a test a stress-displacement record."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PrincipalStresses:
    """Cell pressure, deviator stress and pore pressure as read [kPa].

    The pore pressures are ``None`` where none was measured.
    """

    cell_pressure: Floats
    deviator_stress: Floats
    pore_pressure: Floats | None

    @property
    def as_taken(self) -> dict[str, Floats]:
        """Columns by heading with unit."""
        columns = {
            "Cell pressure [kPa]": self.cell_pressure,
            "Deviator stress [kPa]": self.deviator_stress,
        }
        if self.pore_pressure is not None:
            columns["Pore pressure [kPa]"] = self.pore_pressure
        return columns

    @property
    def minor(self) -> Floats:
        """Effective minor principal stress σ′₃ [kPa]."""
        return self.cell_pressure - (0.0 if self.pore_pressure is None else self.pore_pressure)


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
    gauges
        Loads on the hanger and readings of the dial that the forces come from.
    plane, principal
        The plane the stresses act on: that of sliding in a shear box, that of the largest
        shear stress in a triaxial test, whose stresses as read are then ``principal``; see
        ``triaxial_readings``.

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
    gauges: Gauges | None = None
    plane: StressPlane = SLIDING_PLANE
    principal: PrincipalStresses | None = None

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
        if self.principal is not None:
            return self.principal.as_taken
        normal_unit = self.normal_unit or self.unit
        kinds = {"kPa": "stress", "N": "force"}
        normal = {f"Normal {kinds[normal_unit]} [{normal_unit}]": self.normal}
        shear = {f"Shear {kinds[self.unit]} [{self.unit}]": self.shear}
        if np.any(np.isfinite(self.low)):
            shear |= {f"Lowest seen [{self.unit}]": self.low}
            shear |= {f"Highest seen [{self.unit}]": self.high}
        if self.gauges is not None:
            on_hanger, on_dial = self.gauges.as_taken
            normal, shear = on_hanger or normal, on_dial or shear
        return normal | shear

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
