"""From stress-displacement records to one point a test.

How the points are picked, by which thresholds, and with what bias, stands in
``picked_points``. Forces become nominal stresses on the initial area of the specimen; the
area correction (``area_correction``) is off by default, as in ASTM D3080-11 and
BS 1377-7:1990 (both from memory), and where it is on divides both stresses.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from slipmargin.strength.errors import InputError, need, need_one_of
from slipmargin.strength.laboratory.dilatancy import critical_state_notices
from slipmargin.strength.laboratory.picked_points import (
    RELATIVE_DISPLACEMENT,
    PickedPoint,
    PickedTest,
    pick_points,
)
from slipmargin.strength.laboratory.readings import STATES, Readings
from slipmargin.strength.laboratory.record import Record, records_of
from slipmargin.strength.laboratory.shear_tests import ShearTests, friction_notices, reduce_readings
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen, load_scale
from slipmargin.strength.notice import Notice, distinct

__all__ = ["reduce_records", "reduce_tests"]


def reduce_tests(
    readings: Readings,
    specimen: Specimen | None = None,
    *,
    state: str = "peak",
    area_correction: bool = False,
) -> ShearTests:
    """One point a test, from a table of readings or from stress-displacement records.

    Which of the two the readings are they know themselves; see ``reduce_readings`` and
    ``reduce_records``.
    """
    need("readings", readings, Readings, "Readings, such as read_readings(path) gives")
    if not readings.is_record:
        return reduce_readings(readings, specimen, state=state, area_correction=area_correction)
    records = records_of(readings)
    tests = reduce_records(records, specimen, state=state, area_correction=area_correction)
    return replace(tests, notices=distinct([*readings.notices, *tests.notices]))


def reduce_records(
    records: Iterable[Record],
    specimen: Specimen | None = None,
    *,
    state: str = "peak",
    area_correction: bool = False,
) -> ShearTests:
    """Pick one point from the record of each test.

    Parameters
    ----------
    records
        One a test, all in the same unit.
    specimen
        Its plane and corrections. Without one forces stay forces, and a test without a peak
        cannot be read at 10 % relative displacement.
    state
        One of ``STATES``.
    area_correction
        Divide both stresses by the share of the area that still overlaps.

    Returns
    -------
    ShearTests
        With ``details``, in the same order.

    Raises
    ------
    InputError
        No record, records in different units, a residual asked of a single traverse, a
        picked shear stress that is not above zero, or any refusal of ``load_scale`` and
        ``pick_points``.
    """
    every = tuple(records)
    need_one_of("state", state, STATES)
    units = {(record.unit, record.normal_unit) for record in every}
    if len(units) != 1:
        found = sorted({record.unit for record in every})
        raise InputError("records", found, "give one or more, all in kPa or all in N")
    if area_correction and specimen is None:
        raise InputError("area_correction", True, "it needs the specimen's shape and width")
    unit, normal_unit = units.pop()
    scale = load_scale(unit, specimen, normal_unit)
    picked = [
        pick_points(_nominal(record, scale), specimen, area_correction=area_correction)
        for record in every
    ]
    points = [(_point(test, state, scale), test) for test in picked]
    points.sort(key=lambda pair: (pair[0].normal, pair[1].name))
    details = tuple(test for _, test in points)
    shear = np.array([point.shear for point, _ in points])
    rates = np.array([test.record.rate for test in details])
    return ShearTests(
        names=tuple(test.name for test in details),
        normal=np.array([point.normal for point, _ in points]),
        shear=shear,
        readings=tuple(test.record.displacement.size for test in details),
        state=state,
        unit=scale.unit,
        notices=distinct(
            [
                *scale.notices,
                *friction_notices(scale, shear),
                *([_area_corrected(scale.unit)] if area_correction else []),
                *_state_notices(details, state, specimen),
                *_dilatancy_notices(details),
            ]
        ),
        displacement=np.array([point.displacement for point, _ in points]),
        rate=rates if np.any(np.isfinite(rates)) else None,
        details=details,
    )


def _nominal(record: Record, scale: LoadScale) -> Record:
    """A record in nominal stresses, or in corrected forces where no area is known."""
    shear, normal = scale.shear(record.shear), scale.normal(record.normal)
    return replace(record, shear=shear, normal=normal, unit=scale.unit, normal_unit=None)


def _point(test: PickedTest, state: str, scale: LoadScale) -> PickedPoint:
    """The point of a test that is asked for, its shear load above zero."""
    point = test.point(state)
    if point is None:
        raise InputError(
            "state",
            state,
            f"test {test.name} has one traverse; a residual strength needs the box pushed "
            "back and sheared again (for a single traverse ask for end_of_test)",
        )
    scale.refuse_negative(point.shear, f"test {test.name}")
    if point.shear <= 0.0:
        raise InputError(
            f"test {test.name}, shear",
            f"{point.shear:.4g} {scale.unit} at {point.displacement:.4g} mm",
            "allowed: above 0; look at the sign of the gauge and at the order of the rows",
        )
    return point


def _area_corrected(unit: str) -> Notice:
    return Notice.info(
        "area-corrected",
        f"Both stresses [{unit}] were divided by the share of the area that still overlaps "
        "at the point; the standards ASTM D3080 and BS 1377-7 take the nominal area, which "
        "gives a lower cohesion.",
    )


def _named(
    details: Sequence[PickedTest], chosen: Callable[[PickedTest], bool]
) -> tuple[str, list[PickedTest]]:
    """The tests for which something holds, as words and as a list."""
    tests = [test for test in details if chosen(test)]
    names = ", ".join(test.name for test in tests)
    return ("test " if len(tests) == 1 else "tests ") + names, tests


def _state_notices(
    details: Sequence[PickedTest], state: str, specimen: Specimen | None
) -> Iterator[Notice]:
    if state == "peak":
        return _peak_notices(details, specimen)
    if state == "end_of_test":
        return _end_notices(details, specimen)
    return _residual_notices(details)


def _peak_notices(details: Sequence[PickedTest], specimen: Specimen | None) -> Iterator[Notice]:
    names, tests = _named(details, lambda test: test.peak.found_by == "ten_percent")
    if tests:
        yield Notice.info(
            "no-peak",
            f"No peak stands out in {names}: the stress at "
            f"{RELATIVE_DISPLACEMENT:.0%} relative displacement was taken.",
            "ASTM D3080, definition of failure (from memory)",
        )
    names, tests = _named(details, lambda test: test.peak.found_by == "end")
    if tests:
        why = "its width is not given" if specimen is None else "the test stopped sooner"
        yield Notice.caution(
            "no-peak-before-the-end",
            f"No peak stands out in {names}, and the stress at "
            f"{RELATIVE_DISPLACEMENT:.0%} relative displacement cannot be read: {why}. The "
            "mean of the last part was taken; the strength may be higher, and what follows "
            "a peak was not seen.",
            "ASTM D3080, definition of failure (from memory)",
        )


def _end_notices(details: Sequence[PickedTest], specimen: Specimen | None) -> Iterator[Notice]:
    names, tests = _named(details, lambda test: test.end.trend == "falling")
    if tests:
        fall = max(-test.end.change for test in tests)
        yield Notice.caution(
            "still-falling",
            f"The stress was still falling at the end of {names} (by up to {fall:.1%} over "
            "the last part): the strength at large displacement is lower than the end of "
            "the test.",
        )
    names, tests = _named(details, lambda test: test.end.trend == "rising")
    if tests:
        rise = max(test.end.change for test in tests)
        yield Notice.caution(
            "still-rising",
            f"The stress was still rising at the end of {names} (by up to {rise:.1%} over "
            "the last part): the test ended before its strength was reached, and says "
            "nothing of what follows.",
        )
    if specimen is not None:
        needed = RELATIVE_DISPLACEMENT * specimen.width
        names, tests = _named(details, lambda test: test.end.displacement < 0.99 * needed)
        if tests:
            yield Notice.caution(
                "short-travel",
                f"The box moved less than {RELATIVE_DISPLACEMENT:.0%} of its width "
                f"({needed:.3g} mm) in {names}: the end of the test is not its strength at "
                "large displacement.",
                "ASTM D3080-11, sect. 9 (from memory)",
            )


def _residual_notices(details: Sequence[PickedTest]) -> Iterator[Notice]:
    fewest = min(len(test.traverses) for test in details)
    yield Notice.info(
        "residual-from-traverses",
        f"The residual strength is the end of the last of {fewest} or more forward traverses.",
    )
    names, tests = _named(
        details,
        lambda test: (
            test.residual is not None
            and (test.residual.trend == "falling" or test.residual_change < -0.02)
        ),
    )
    if tests:
        yield Notice.caution(
            "residual-still-falling",
            f"The last traverse of {names} ended below the one before it, or was still "
            "falling: the residual strength is lower than what was read.",
        )


def _dilatancy_notices(details: Sequence[PickedTest]) -> tuple[Notice, ...]:
    """The cross-check, on tests that have a peak and a measured rise."""
    usable = [
        test
        for test in details
        if test.peak.found_by == "largest" and np.isfinite(test.peak.dilation_angle)
    ]
    if not usable:
        return ()
    return critical_state_notices(
        peak_ratio=[test.peak.shear / test.peak.normal for test in usable],
        dilation=[test.peak.dilation_angle for test in usable],
        end_ratio=[test.end.shear / test.end.normal for test in usable],
    )
