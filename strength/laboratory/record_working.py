"""The working of a point picked from a stress-displacement record.

Which rows it was read from and why, what each of them counts for, and the way from there to
the two stresses and the dilation angle. The values are those that ``pick_points`` made.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.laboratory.picked_points import (
    RELATIVE_DISPLACEMENT,
    EndPoint,
    PeakPoint,
    PickedPoint,
    PickedTest,
)
from slipmargin.strength.laboratory.stress_working import OVERLAP, BoxWorking
from slipmargin.strength.working import MOST_TERMS, digits, put_numbers_in

__all__ = ["RecordWorking"]

Floats = NDArray[np.float64]


class RecordWorking(BoxWorking):
    """Steps from the rows of records to their points."""

    def test(self, test: PickedTest, state: str, index: int) -> None:
        """One test, from the rows of its record to one of its points."""
        row = [self.readings.rows_by_test()[test.name][test.peak_row]]
        self.force(row, index, test.name, normal=True)
        if state == "peak":  # the others are means over a part of the record
            nearest = f"{test.name}, at {test.record.displacement[test.peak_row]:g} mm"
            self.force(row, index, nearest, normal=False)
        point = test.point(state)
        assert point is not None
        picked = _Picked(test, point)
        why = picked.why_the_peak(self.specimen is not None)
        self.add(
            why if state == "peak" else picked.what_the_end(state),
            f"d_{index}",
            point.displacement,
            "mm",
        )
        if test.corrected is not None and picked.smoothed:
            self.overlap(test.corrected, point.displacement, index, test.name)
        for normal in (True, False):
            self._load(picked, index, normal=normal)
        if isinstance(point, PeakPoint) and np.isfinite(point.rise):
            rise = f"i_{index}"
            says = (
                f"Rise of the cap of test {test.name} per mm of displacement there, dv/dh: the "
                "slope of the parabola through the vertical displacements about it."
            )
            self.add(says, rise, point.rise)
            self.add("Dilation angle.", f"ψ_{index}", point.dilation_angle, "deg", f"atan({rise})")

    def _load(self, picked: _Picked, index: int, *, normal: bool) -> None:
        """The normal or the shear load, from its rows to the stress of the point."""
        test, readings, point = picked.test, self.readings, picked.point
        unit = (normal and readings.normal_unit) or readings.unit
        column = readings.normal if normal else readings.shear
        read = column[readings.rows_by_test()[test.name]][list(point.rows)]
        stresses = test.record.unit == "kPa"
        forces, corrected = unit == "N" and stresses, test.corrected is not None
        letter = ("N" if normal else "S") if unit == "N" else ("σ′" if normal else "τ")
        which, kind = "Normal" if normal else "Shear", "force" if unit == "N" else "stress"
        stress = f"{'σ′' if normal else 'τ'}_{index}" if stresses else f"{letter}_m{index}"
        value = float(point.normal if normal else point.shear)
        nominal = self.stress_equation("{0}", normal=normal) if forces else "{0}"
        of_test = f"of test {test.name}"
        says = f"{which} {'stress' if stresses else 'force'} {of_test}"
        says += ", on the area still in contact" if corrected else ""
        if corrected and not picked.smoothed:
            self._mean_over_areas(picked, says, stress, value, nominal, letter, read)
            return
        mean = f"{letter}_m{index}" if forces or corrected else stress
        if np.ptp(read) == 0.0:
            same = f"{which} {kind} {of_test}, the same on every row used."
            self.add(same, mean, read[0], unit)
        else:
            self._read(picked, f"{which} {kind} {of_test}", mean, letter, unit, read)
        self.known[mean] = float(np.array(point.weights) @ read)
        if mean != stress:
            equation = nominal.format(mean) + (f" / a_c{index}" if corrected else "")
            self.add(f"{says}.", stress, value, "kPa", equation)

    def _read(
        self, picked: _Picked, says: str, symbol: str, letter: str, unit: str, read: Floats
    ) -> None:
        """A value read from rows: the height of a parabola among them, or their mean."""
        weights = np.array(picked.point.weights)
        short = read.size <= MOST_TERMS
        if picked.smoothed:
            says += (
                f" there: the height of the parabola by least squares through {picked.rows}, "
                f"which is a sum of them{', f what each counts for' if short else ''}."
            )
            equation, each, whole = f"sum(f * {letter})", "{} * {}", "{}"
            columns = [weights.tolist(), read.tolist()]
        else:
            says += ", the mean of these rows."
            equation, each, whole = f"sum({letter}) / n", "{}", f"({{}}) / {read.size}"
            columns = [read.tolist()]
        equation, value = equation if short else "", float(weights @ read)
        self.total(says, symbol, value, unit, equation, each, *columns, whole=whole)

    def _mean_over_areas(
        self,
        picked: _Picked,
        says: str,
        symbol: str,
        value: float,
        nominal: str,
        letter: str,
        read: Floats,
    ) -> None:
        """The mean of stresses that each have an area of their own."""
        corrected = picked.test.corrected
        assert corrected is not None
        shares = picked.test.overlap(picked.moved)
        share = OVERLAP[corrected.shape].format("d", "w")
        says += f" of each row, {share}: {digits(shares[0])} to {digits(shares[-1])} of it."
        equation = numbers = ""
        if read.size <= MOST_TERMS:
            equation = f"sum({nominal.format(letter)} / a_c) / n"
            terms = [
                put_numbers_in(f"{nominal.format('x')} / y", self.known | {"x": one, "y": part})
                for one, part in zip(read.tolist(), shares.tolist(), strict=True)
            ]
            numbers = f"({' + '.join(terms)}) / {read.size}"
        self.add(says, symbol, value, "kPa", equation, terms=numbers)


class _Picked:
    """A point of a test, and how it was picked, in words."""

    def __init__(self, test: PickedTest, point: PickedPoint) -> None:
        self.test, self.point = test, point
        # the height of a parabola, or else a plain mean of rows
        self.smoothed = isinstance(point, PeakPoint) and point.found_by != "end"
        self.moved = test.record.displacement[list(point.rows)]
        self.rows = (
            f"the {self.moved.size} rows from {self.moved.min():g} to {self.moved.max():g} mm"
        )

    def why_the_peak(self, wide: bool) -> str:
        """How the peak was found; ``wide`` where the width of the specimen is known."""
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
        why = "was not reached" if wide else "is not known without the width"
        return (
            f"{none}{RELATIVE_DISPLACEMENT:.0%} relative displacement {why}: its stresses are "
            f"means of {self.rows}."
        )

    def what_the_end(self, state: str) -> str:
        """Which part of the record the point is the mean of."""
        count = len(self.test.traverses)
        what = "End of test"
        if state == "residual":
            what = f"End of the last of {count} forward traverses of test"
        elif count > 1:
            what = "End of the first traverse of test"
        point = self.point
        trend = f", where the shear load is {point.trend}" if isinstance(point, EndPoint) else ""
        return f"{what} {self.test.name}; its stresses are means of {self.rows}{trend}."
