"""The working from the gauge to the strength line: readings to stresses, then the fit.

Every value is one that the reduction made.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from slipmargin.strength.envelope.fitted import FittedEnvelope
from slipmargin.strength.envelope.working import fit_steps
from slipmargin.strength.laboratory.gauge_working import (
    apparatus_steps,
    normal_force_steps,
    shear_force_steps,
)
from slipmargin.strength.laboratory.readings import PrincipalStresses, Readings
from slipmargin.strength.laboratory.record_working import record_steps
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen, load_scale
from slipmargin.strength.laboratory.stress_working import (
    overlap_steps,
    plane_steps,
    stress_equation,
)
from slipmargin.strength.working import Step, digits, put_numbers_in

__all__ = ["laboratory_steps"]


class ReducedReadings(Protocol):
    """Readings with the fit of their points."""

    @property
    def readings(self) -> Readings:
        """As they came."""
        ...

    @property
    def specimen(self) -> Specimen | None:
        """Of a shear box."""
        ...

    @property
    def fit(self) -> FittedEnvelope:
        """Through the reduced readings."""
        ...

    @property
    def area_correction(self) -> bool:
        """Whether the stresses are on the area still in contact."""
        ...


def laboratory_steps(laboratory: ReducedReadings) -> list[Step]:
    """Steps from the readings of each test to c′ and φ′, with their uncertainty.

    Parameters
    ----------
    laboratory
        Readings with their fit.

    Returns
    -------
    list of Step
        Symbols: A the area of the plane [mm²], N and S normal and shear force as read [N],
        numbered as the tests are in order of normal stress.
    """
    fit = fit_steps(laboratory.fit)
    if laboratory.readings.is_record:
        return [*_picked(laboratory), *fit]
    if laboratory.readings.principal is not None:
        return [*_principal(laboratory, laboratory.readings.principal), *fit]
    return [*_reduced(laboratory), *fit]


def _picked(laboratory: ReducedReadings) -> list[Step]:
    readings, specimen, tests = laboratory.readings, laboratory.specimen, laboratory.fit.tests
    gauges = readings.gauges
    scale = load_scale(readings.unit, specimen, readings.normal_unit)
    known: dict[str, float] = {}
    steps: list[Step] = []
    if readings.unit == "N" and specimen is not None:
        steps += plane_steps(specimen, scale, known)
    if gauges is not None:
        steps += apparatus_steps(gauges)
    for index, test in enumerate(tests.details, start=1):
        if gauges is not None:
            row = [i for i, name in enumerate(readings.test) if name == test.name][test.peak_row]
            steps += normal_force_steps(gauges, [row], index, test.name)
            if tests.state == "peak":  # the others are means over a part of the record
                nearest = f"{test.name}, at {test.record.displacement[test.peak_row]:g} mm"
                steps += shear_force_steps(gauges, [row], index, nearest)
        steps += record_steps(readings, specimen, test, tests.state, index, scale, known)
    return steps


def _principal(laboratory: ReducedReadings, read: PrincipalStresses) -> list[Step]:
    """Cell pressure, deviator stress and pore pressure of each test to s′ and t."""
    tests, readings = laboratory.fit.tests, laboratory.readings
    steps: list[Step] = []
    for index, name in enumerate(tests.names, start=1):
        members = [
            i
            for i, test in enumerate(readings.test)
            if test == name and readings.state[i] == tests.state
        ]
        known: dict[str, float] = {}
        pore = f"u_{index}"
        columns = [
            (f"σ_c{index}", "Cell pressure", read.cell_pressure),
            (f"q_{index}", "Deviator stress", read.deviator_stress),
            (pore, "Pore pressure", read.pore_pressure),
        ]
        for symbol, what, column in columns:
            if column is None:
                continue
            known[symbol] = float(np.mean(column[members]))
            terms = " + ".join(digits(float(one)) for one in column[members])
            several = len(members) > 1
            how = "the mean of its readings" if several else "as read"
            steps.append(
                Step(
                    f"{what} of test {name}, {how}.",
                    symbol,
                    known[symbol],
                    "kPa",
                    f"sum({symbol}) / n" if several else "",
                    f"({terms}) / {len(members)}" if several else "",
                )
            )
        minor, major = f"σ′_3,{index}", f"σ′_1,{index}"
        drained = read.pore_pressure is None
        for says, symbol, value, equation in (
            (
                "Minor principal stress" + (", the cell pressure as it is." if drained else "."),
                minor,
                float(np.mean(read.minor[members])),
                f"σ_c{index}" if drained else f"σ_c{index} - {pore}",
            ),
            (
                "Major principal stress.",
                major,
                float(np.mean((read.minor + read.deviator_stress)[members])),
                f"{minor} + q_{index}",
            ),
            (
                "Centre of the Mohr circle.",
                f"s′_{index}",
                float(tests.normal[index - 1]),
                f"({major} + {minor}) / 2",
            ),
            (
                "Radius of the Mohr circle.",
                f"t_{index}",
                float(tests.shear[index - 1]),
                f"({major} - {minor}) / 2",
            ),
        ):
            steps.append(
                Step(says, symbol, value, "kPa", equation, put_numbers_in(equation, known))
            )
            known[symbol] = value
    return steps


def _reduced(laboratory: ReducedReadings) -> list[Step]:
    readings, specimen = laboratory.readings, laboratory.specimen
    tests = laboratory.fit.tests
    scale = load_scale(readings.unit, specimen, readings.normal_unit)
    forces = readings.unit == "N" and specimen is not None
    corrected = laboratory.area_correction and specimen is not None
    steps: list[Step] = []
    known: dict[str, float] = {}
    if forces and specimen is not None:
        steps += plane_steps(specimen, scale, known)
    if readings.gauges is not None:
        steps += apparatus_steps(readings.gauges)
    for index, name in enumerate(tests.names, start=1):
        members = [
            i
            for i, test in enumerate(readings.test)
            if test == name and readings.state[i] == tests.state
        ]
        if corrected and specimen is not None and readings.displacement is not None:
            moved = np.unique(readings.displacement[members])
            if moved.size > 1 or not forces or readings.normal_unit == "kPa":
                steps += _stated(laboratory, index, name)
                continue
            at, says = float(moved[0]), f"Displacement of test {name} at its reading."
            steps.append(Step(says, f"d_{index}", at, "mm"))
            steps += overlap_steps(specimen, at, index, name, known)
        for normal in (True, False):
            steps += _load(laboratory, scale, members, index, known, normal=normal)
    return steps


def _load(
    laboratory: ReducedReadings,
    scale: LoadScale,
    members: list[int],
    index: int,
    known: dict[str, float],
    *,
    normal: bool,
) -> list[Step]:
    """The normal or the shear load of one test, from its readings to its point."""
    readings, tests = laboratory.readings, laboratory.fit.tests
    name, gauges = tests.names[index - 1], readings.gauges
    unit = (normal and readings.normal_unit) or readings.unit
    forces = unit == "N" and laboratory.specimen is not None
    corrected = laboratory.area_correction and laboratory.specimen is not None
    what = "Normal" if normal else "Shear"
    value = float((tests.normal if normal else tests.shear)[index - 1])
    read = (readings.normal if normal else readings.shear)[members]
    force = f"{'N' if normal else 'S'}_{index}"
    stress = f"{'σ′' if normal else 'τ'}_{index}" if tests.unit == "kPa" else force
    kind = "stress" if unit == "kPa" else "force"
    known[force] = float(np.mean(read))
    banded = not normal and np.all(np.isfinite(readings.low[members]))
    middle = ", the middle of the band in which the gauge bounced" if banded else ""
    steps: list[Step] = []
    if gauges is not None:
        of_load = normal_force_steps if normal else shear_force_steps
        steps += of_load(gauges, members, index, name)
    from_gauges = bool(steps)
    if from_gauges:
        middle = ""
    several = len(members) > 1 and not (from_gauges and np.ptp(read) == 0.0)
    if several:
        terms = " + ".join(digits(float(one)) for one in read)
        each = ", each the middle of its band" if middle else ""
        steps.append(
            Step(
                f"{what} {kind} of test {name}, the mean of its readings{each}.",
                force if forces else stress,
                known[force],
                unit,
                f"sum({force if forces else stress}) / n",
                f"({terms}) / {len(members)}",
            )
        )
    if forces:
        equation = stress_equation(force, scale, normal=normal)
        equation += f" / a_c{index}" if corrected else ""
        says = f"{what} stress of test {name}"
        says += ", on the area still in contact" if corrected else ""
        says += f"; {force} is{middle[1:]}." if middle and not several else "."
        numbers = put_numbers_in(equation, known)
        steps.append(Step(says, stress, value, tests.unit, equation, numbers))
    elif not several and not from_gauges:
        as_read = f"{what} {kind} of test {name}, as read."
        steps.append(Step(as_read, stress, value, tests.unit))
    return steps


def _stated(laboratory: ReducedReadings, index: int, name: str) -> list[Step]:
    """A test whose readings each have an area of their own, or come as stresses."""
    tests = laboratory.fit.tests
    mean = ", the mean over its readings" if tests.readings[index - 1] > 1 else ""
    says = f"stress of test {name}, on the area still in contact{mean}."
    return [
        Step(f"Normal {says}", f"σ′_{index}", float(tests.normal[index - 1]), tests.unit),
        Step(f"Shear {says}", f"τ_{index}", float(tests.shear[index - 1]), tests.unit),
    ]
