"""From stress-displacement records to one point a test.

How the points are picked, by which thresholds, and with what bias, stands in
``picked_points``. Forces become nominal stresses on the initial area of the specimen; the
area correction (``area_correction``) is off by default, as in ASTM D3080-11 and
BS 1377-7:1990 (both from memory), and where it is on divides both stresses.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

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
from slipmargin.strength.laboratory.record import records_of
from slipmargin.strength.laboratory.shear_tests import ShearTests, friction_notices, reduce_readings
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen, load_scale
from slipmargin.strength.notice import Notice, Severity, distinct

__all__ = ["reduce_tests"]


def reduce_tests(
    readings: Readings,
    specimen: Specimen | None = None,
    *,
    state: str = "peak",
    area_correction: bool = False,
) -> ShearTests:
    """One point a test, from a table of readings or from stress-displacement records.

    Which of the two the readings are they know themselves; a table is averaged, see
    ``reduce_readings``, and of each record one point is picked.

    Parameters
    ----------
    readings
        As they come.
    specimen
        Its plane and corrections. Without one forces stay forces, and a record without a peak
        cannot be read at 10 % relative displacement.
    state
        One of ``STATES``.
    area_correction
        Divide both stresses by the share of the area that still overlaps.

    Returns
    -------
    ShearTests
        Of records with ``details``, in the same order.

    Raises
    ------
    InputError
        Rows that are no record, a residual asked of a single traverse, a picked shear stress
        that is not above zero, a point beyond the width of the box, or any refusal of
        ``reduce_readings``.
    """
    need("readings", readings, Readings, "Readings, such as read_readings(path) gives")
    if not readings.is_record:
        return reduce_readings(readings, specimen, state=state, area_correction=area_correction)
    need_one_of("state", state, STATES)
    scale = load_scale(readings.unit, specimen, readings.normal_unit)
    records = records_of(readings, scale)
    if area_correction and specimen is None:
        raise InputError("area_correction", True, "it needs the specimen's shape and width")
    picked = [pick_points(one, specimen, area_correction=area_correction) for one in records]
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
                *readings.notices,
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


_FAILURE = "ASTM D3080, definition of failure (from memory)"
_RELATIVE = f"{RELATIVE_DISPLACEMENT:.0%}"

_Told = tuple[str, Severity, Callable[[PickedTest, float], bool], str, str]

_OF_STATE: dict[str, tuple[_Told, ...]] = {
    "peak": (
        (
            "no-peak",
            Severity.INFO,
            lambda test, _: test.peak.found_by == "ten_percent",
            f"No peak stands out in {{tests}}: the stress at {_RELATIVE} relative displacement "
            "was taken.",
            _FAILURE,
        ),
        (
            "no-peak-before-the-end",
            Severity.CAUTION,
            lambda test, _: test.peak.found_by == "end",
            f"No peak stands out in {{tests}}, and the stress at {_RELATIVE} relative "
            "displacement cannot be read: {why}. The mean of the last part was taken; the "
            "strength may be higher, and what follows a peak was not seen.",
            _FAILURE,
        ),
    ),
    "end_of_test": (
        (
            "still-falling",
            Severity.CAUTION,
            lambda test, _: test.end.trend == "falling",
            "The stress was still falling at the end of {tests} (by up to {change:.1%} over the "
            "last part): the strength at large displacement is lower than the end of the test.",
            "",
        ),
        (
            "still-rising",
            Severity.CAUTION,
            lambda test, _: test.end.trend == "rising",
            "The stress was still rising at the end of {tests} (by up to {change:.1%} over the "
            "last part): the test ended before its strength was reached, and says nothing of "
            "what follows.",
            "",
        ),
        (
            "short-travel",
            Severity.CAUTION,
            lambda test, needed: test.end.displacement < 0.99 * needed,
            f"The box moved less than {_RELATIVE} of its width ({{needed:.3g}} mm) in {{tests}}: "
            "the end of the test is not its strength at large displacement.",
            "ASTM D3080-11, sect. 9 (from memory)",
        ),
    ),
    "residual": (
        (
            "residual-from-traverses",
            Severity.INFO,
            lambda *_: True,
            "The residual strength is the end of the last of {fewest} or more forward traverses.",
            "",
        ),
        (
            "residual-still-falling",
            Severity.CAUTION,
            lambda test, _: (
                test.residual is not None
                and (test.residual.trend == "falling" or test.residual_change < -0.02)
            ),
            "The last traverse of {tests} ended below the one before it, or was still falling: "
            "the residual strength is lower than what was read.",
            "",
        ),
    ),
}
"""What is said of the points of a state: of which tests, by the travel that is needed [mm]."""


def _state_notices(
    details: Sequence[PickedTest], state: str, specimen: Specimen | None
) -> Iterator[Notice]:
    needed = float("nan") if specimen is None else RELATIVE_DISPLACEMENT * specimen.width
    for code, severity, chosen, text, ground in _OF_STATE[state]:
        if tests := [test for test in details if chosen(test, needed)]:
            told = text.format(
                tests=f"test{'' if len(tests) == 1 else 's'} "
                + ", ".join(test.name for test in tests),
                why="its width is not given" if specimen is None else "the test stopped sooner",
                change=max(abs(test.end.change) for test in tests),
                needed=needed,
                fewest=min(len(test.traverses) for test in tests),
            )
            yield Notice(code, severity, told, ground)


def _dilatancy_notices(details: Sequence[PickedTest]) -> tuple[Notice, ...]:
    """The cross-check, on tests that have a peak and a measured rise."""
    usable = [
        test
        for test in details
        if test.peak.found_by == "largest" and np.isfinite(test.peak.dilation_angle)
    ]
    return critical_state_notices(
        peak_ratio=[test.peak.shear / test.peak.normal for test in usable],
        dilation=[test.peak.dilation_angle for test in usable],
        end_ratio=[test.end.shear / test.end.normal for test in usable],
    )
