"""The working from the readings to the points that a line is fitted to.

Every value is one that the reduction made.
"""

from __future__ import annotations

import numpy as np

from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.record_working import RecordWorking
from slipmargin.strength.laboratory.shear_tests import ShearTests
from slipmargin.strength.laboratory.specimen import Specimen
from slipmargin.strength.laboratory.stress_working import BoxWorking
from slipmargin.strength.working import Step, Working

__all__ = ["reduction_steps"]


def reduction_steps(
    readings: Readings, specimen: Specimen | None, tests: ShearTests, *, area_correction: bool
) -> list[Step]:
    """Steps from the readings of each test, as they came, to its point.

    Symbols: A the area of the plane [mm²], N and S normal and shear force as read [N], numbered
    as the tests are in order of normal stress.
    """
    out: Working
    if readings.plane.has_circles:
        out = _principal(readings, tests)
    elif readings.is_record:
        out = RecordWorking(readings, specimen, area_correction=area_correction)
        for index, test in enumerate(tests.details, start=1):
            out.test(test, tests.state, index)
    else:
        out = _TableWorking(readings, specimen, area_correction=area_correction)
        for index, name in enumerate(tests.names, start=1):
            out.test(tests, index, name)
    return out.steps


def _principal(readings: Readings, tests: ShearTests) -> Working:
    """Cell pressure, deviator stress and pore pressure of each test to s′ and t."""
    read, out = readings.taken, Working()
    drained = "pore_pressure" not in read
    rows = readings.rows_by_test(tests.state)
    for index, name in enumerate(tests.names, start=1):
        members = rows[name]
        pore = f"u_{index}"
        for symbol, what, column in (
            (f"σ_c{index}", "Cell pressure", "cell_pressure"),
            (f"q_{index}", "Deviator stress", "deviator_stress"),
            (pore, "Pore pressure", "pore_pressure"),
        ):
            if column not in read:
                continue
            says, values = f"{what} of test {name}", read[column][members].tolist()
            if len(members) > 1:
                out.mean(f"{says}, the mean of its readings.", symbol, values, "kPa")
            else:
                out.add(f"{says}, as read.", symbol, values[0], "kPa")
        minor, major = f"σ′_3,{index}", f"σ′_1,{index}"
        cell = f"σ_c{index}"
        out.add(
            "Minor principal stress" + (", the cell pressure as it is." if drained else "."),
            minor,
            float(np.mean((readings.normal - readings.shear)[members])),
            "kPa",
            cell if drained else f"{cell} - {pore}",
        )
        largest = float(np.mean((readings.normal + readings.shear)[members]))
        out.add("Major principal stress.", major, largest, "kPa", f"{minor} + q_{index}")
        centre, radius = tests.normal[index - 1], tests.shear[index - 1]
        half = f"({major} {{}} {minor}) / 2"
        out.add("Centre of the Mohr circle.", f"s′_{index}", centre, "kPa", half.format("+"))
        out.add("Radius of the Mohr circle.", f"t_{index}", radius, "kPa", half.format("-"))
    return out


class _TableWorking(BoxWorking):
    """Of a table with a few readings a test."""

    def test(self, tests: ShearTests, index: int, name: str) -> None:
        """One test, from its readings to its point."""
        readings, box = self.readings, self.corrected
        members = readings.rows_by_test(tests.state)[name]
        if box is not None and readings.displacement is not None:
            moved = np.unique(readings.displacement[members])
            if moved.size > 1 or readings.unit == "kPa" or readings.normal_unit == "kPa":
                self._stated(tests, index, name)
                return
            at = float(moved[0])
            self.add(f"Displacement of test {name} at its reading.", f"d_{index}", at, "mm")
            self.overlap(box, at, index, name)
        for normal in (True, False):
            self._load(tests, members, index, name, normal=normal)

    def _load(
        self, tests: ShearTests, members: list[int], index: int, name: str, *, normal: bool
    ) -> None:
        """The normal or the shear load of one test, from its readings to its point."""
        readings = self.readings
        unit = (normal and readings.normal_unit) or readings.unit
        forces = unit == "N" and self.specimen is not None
        what = "Normal" if normal else "Shear"
        value = float((tests.normal if normal else tests.shear)[index - 1])
        read = (readings.normal if normal else readings.shear)[members]
        force = f"{'N' if normal else 'S'}_{index}"
        stress = f"{'σ′' if normal else 'τ'}_{index}" if tests.unit == "kPa" else force
        kind = f"{what} {'stress' if unit == 'kPa' else 'force'} of test {name}"
        from_gauges = self.force(members, index, name, normal=normal)
        banded = not (normal or from_gauges) and np.all(np.isfinite(readings.low[members]))
        several = len(members) > 1 and not (from_gauges and np.ptp(read) == 0.0)
        self.known[force] = float(np.mean(read))
        if several:
            each = ", each the middle of its band" if banded else ""
            symbol = force if forces else stress
            self.mean(f"{kind}, the mean of its readings{each}.", symbol, read.tolist(), unit)
        if forces:
            equation = self.stress_equation(force, normal=normal)
            says = f"{what} stress of test {name}"
            if self.corrected is not None:
                equation += f" / a_c{index}"
                says += ", on the area still in contact"
            if banded and not several:
                says += f"; {force} is the middle of the band in which the gauge bounced"
            self.add(f"{says}.", stress, value, tests.unit, equation)
        elif not several and not from_gauges:
            self.add(f"{kind}, as read.", stress, value, tests.unit)

    def _stated(self, tests: ShearTests, index: int, name: str) -> None:
        """A test whose readings each have an area of their own, or come as stresses."""
        mean = ", the mean over its readings" if tests.readings[index - 1] > 1 else ""
        says = f"stress of test {name}, on the area still in contact{mean}."
        self.add(f"Normal {says}", f"σ′_{index}", tests.normal[index - 1], tests.unit)
        self.add(f"Shear {says}", f"τ_{index}", tests.shear[index - 1], tests.unit)
