"""The working of a point picked from a stress-displacement record.

Which rows it was read from and why, what each of them counts for, and the way from there to
the two stresses and the dilation angle. The values are those that ``pick_points`` made.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.laboratory.picked_points import (
    RELATIVE_DISPLACEMENT,
    EndPoint,
    PeakPoint,
    PickedTest,
)
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen
from slipmargin.strength.laboratory.stress_working import OVERLAP, overlap_steps, stress_equation
from slipmargin.strength.working import Step, digits, put_numbers_in, term

__all__ = ["record_steps"]

Floats = NDArray[np.float64]

_MOST_TERMS = 12
"""A point read from more rows than this is not written out."""


def record_steps(
    readings: Readings,
    specimen: Specimen | None,
    test: PickedTest,
    state: str,
    index: int,
    scale: LoadScale,
    known: dict[str, float],
) -> list[Step]:
    """Steps from the rows of one record to its point.

    Parameters
    ----------
    readings, specimen
        The table that holds the record, and the specimen it is of.
    test
        As it was picked.
    state
        Which of its points.
    index
        Of the test.
    scale
        From loads as read to stresses.
    known
        Numbers of symbols so far; grows.
    """
    point = test.point(state)
    assert point is not None
    return _Picked(readings, specimen, test, point, index, scale, known).steps(state)


@dataclass(frozen=True, slots=True)
class _Picked:
    """A point of a test, and all it was made of."""

    readings: Readings
    specimen: Specimen | None
    test: PickedTest
    point: PeakPoint | EndPoint
    index: int
    scale: LoadScale
    known: dict[str, float]

    @property
    def smoothed(self) -> bool:
        """Whether it is the height of a parabola, or else a plain mean of rows."""
        return isinstance(self.point, PeakPoint) and self.point.found_by != "end"

    @property
    def moved(self) -> Floats:
        """Displacement of the rows it was read from."""
        return self.test.record.displacement[list(self.point.rows)]

    def steps(self, state: str) -> list[Step]:
        moved = f"d_{self.index}"
        at = self.known[moved] = self.point.displacement
        why = self._why_the_peak() if state == "peak" else self._what_the_end(state)
        steps = [Step(why, moved, at, "mm")]
        corrected = self.test.corrected
        if corrected is not None and self.smoothed:
            steps += overlap_steps(corrected, at, self.index, self.test.name, self.known)
        for normal in (True, False):
            steps += self._load(normal=normal)
        return [*steps, *self._dilation()]

    def _why_the_peak(self) -> str:
        test, peak = self.test, self.test.peak
        unit, rows = test.record.unit, test.record.displacement.size
        fall, needed = f"{max(test.fall, 0.0):.3g} {unit}", f"{test.fall_needed:.3g} {unit}"
        if peak.found_by == "largest":
            return (
                f"Peak of test {test.name}, at row {test.peak_row + 1} of its {rows}: the smoothed "
                f"curve is highest there, and falls by {fall} to the end of the traverse; it is a "
                f"peak from a fall of {needed} on."
            )
        none = f"No peak stands out in test {test.name}: the smoothed curve "
        if test.smooth_displacement[np.argmax(test.smooth_shear)] > test.end.start:
            none += "is highest in its last part. "
        else:
            none += f"falls by {fall} from its highest place, and a peak needs {needed}. "
        if peak.found_by == "ten_percent":
            return f"{none}Taken at {RELATIVE_DISPLACEMENT:.0%} relative displacement instead."
        why = "was not reached" if self.specimen else "is not known without the width"
        return (
            f"{none}{RELATIVE_DISPLACEMENT:.0%} relative displacement {why}: its stresses are "
            f"means of {self._rows()}."
        )

    def _what_the_end(self, state: str) -> str:
        count = len(self.test.traverses)
        what = "End of test"
        if state == "residual":
            what = f"End of the last of {count} forward traverses of test"
        elif count > 1:
            what = "End of the first traverse of test"
        point = self.point
        trend = f", where the shear load is {point.trend}" if isinstance(point, EndPoint) else ""
        return f"{what} {self.test.name}; its stresses are means of {self._rows()}{trend}."

    def _rows(self) -> str:
        moved = self.moved
        return f"the {moved.size} rows from {moved.min():g} to {moved.max():g} mm"

    def _load(self, *, normal: bool) -> list[Step]:
        """The normal or the shear load, from its rows to the stress of the point."""
        test, readings, index, point = self.test, self.readings, self.index, self.point
        unit = (normal and readings.normal_unit) or readings.unit
        column = readings.normal if normal else readings.shear
        every = [i for i, name in enumerate(readings.test) if name == test.name]
        read = column[every][list(point.rows)]
        weights = np.array(point.weights)
        stresses = test.record.unit == "kPa"
        forces = unit == "N" and stresses
        corrected = test.corrected is not None
        letter = ("N" if normal else "S") if unit == "N" else ("σ′" if normal else "τ")
        which, kind = "Normal" if normal else "Shear", "force" if unit == "N" else "stress"
        stress = f"{'σ′' if normal else 'τ'}_{index}" if stresses else f"{letter}_m{index}"
        value = float(point.normal if normal else point.shear)
        nominal = stress_equation("{0}", self.scale, normal=normal) if forces else "{0}"
        of_test = f"of test {test.name}"
        on_area = ", on the area still in contact" if corrected else ""
        says = f"{which} {'stress' if stresses else 'force'} {of_test}"
        if corrected and not self.smoothed:
            return [self._mean_over_areas(f"{says}{on_area}", stress, value, nominal, letter, read)]
        mean = f"{letter}_m{index}" if forces or corrected else stress
        self.known[mean] = float(weights @ read)
        steps = []
        if np.ptp(read) == 0.0:
            steps.append(
                Step(
                    f"{which} {kind} {of_test}, the same on every row used.",
                    mean,
                    float(read[0]),
                    unit,
                )
            )
        else:
            steps.append(self._read(f"{which} {kind} {of_test}", mean, letter, unit, read))
        if mean != stress:
            equation = nominal.format(mean) + (f" / a_c{index}" if corrected else "")
            numbers = put_numbers_in(equation, self.known)
            steps.append(Step(f"{says}{on_area}.", stress, value, "kPa", equation, numbers))
        return steps

    def _read(self, says: str, symbol: str, letter: str, unit: str, read: Floats) -> Step:
        """A value read from rows: the height of a parabola among them, or their mean."""
        weights = np.array(self.point.weights)
        value = self.known[symbol]
        short = read.size <= _MOST_TERMS
        if self.smoothed:
            says += (
                f" there: the height of the parabola by least squares through {self._rows()}, "
                "which is a sum of them"
            )
            equation, pairs = f"sum(f * {letter})", zip(weights, read, strict=True)
            says += ", f what each counts for." if short else "."
            numbers = " + ".join(f"{term(f)} * {term(one)}" for f, one in pairs)
        else:
            says += ", the mean of these rows."
            equation = f"sum({letter}) / n"
            numbers = f"({' + '.join(map(term, read.tolist()))}) / {read.size}"
        return Step(says, symbol, value, unit, *((equation, numbers) if short else ()))

    def _mean_over_areas(
        self, says: str, symbol: str, value: float, nominal: str, letter: str, read: Floats
    ) -> Step:
        """The mean of stresses that each have an area of their own."""
        corrected, moved = self.test.corrected, self.moved
        assert corrected is not None
        shares = self.test.overlap(moved)
        share = OVERLAP[corrected.shape].format("d", "w")
        says += f" of each row, {share}: {digits(shares[0])} to {digits(shares[-1])} of it."
        if read.size > _MOST_TERMS:
            return Step(says, symbol, value, "kPa")
        equation = f"sum({nominal.format(letter)} / a_c) / n"
        terms = [
            put_numbers_in(f"{nominal.format('x')} / y", self.known | {"x": one, "y": part})
            for one, part in zip(read.tolist(), shares.tolist(), strict=True)
        ]
        numbers = f"({' + '.join(terms)}) / {read.size}"
        return Step(says, symbol, value, "kPa", equation, numbers)

    def _dilation(self) -> list[Step]:
        """Of the peak, where the rise of the cap was read."""
        peak, index = self.point, self.index
        if not isinstance(peak, PeakPoint) or not np.isfinite(peak.rise):
            return []
        rise, equation = f"i_{index}", f"atan(i_{index})"
        self.known[rise] = peak.rise
        says = (
            f"Rise of the cap of test {self.test.name} per mm of displacement there, dv/dh: the "
            "slope of the parabola through the vertical displacements about it."
        )
        numbers = put_numbers_in(equation, self.known)
        return [
            Step(says, rise, peak.rise),
            Step("Dilation angle.", f"ψ_{index}", peak.dilation_angle, "deg", equation, numbers),
        ]
