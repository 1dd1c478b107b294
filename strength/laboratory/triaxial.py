"""Triaxial compression tests at failure, brought to the points that a line is fitted to.

With cell pressure, deviator stress and pore pressure at failure,

    σ′₃ = cell pressure - pore pressure,    σ′₁ = σ′₃ + deviator stress
    s′ = (σ′₁ + σ′₃)/2,                     t = (σ′₁ - σ′₃)/2

What a line through (s′, t) says of c′ and φ′ is in ``stress_plane``.

Limits: compression only. Without a pore pressure the cell pressure is taken as effective,
which holds for a drained test from whose cell pressure the back pressure was taken off.

Source: any text on soil mechanics; Das, Principles of Geotechnical Engineering, 7th ed.,
sect. 12, for the worked points it is checked against.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.number_column import number_column
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.notice import Notice, distinct
from slipmargin.strength.stress_plane import PLANE_OF_LARGEST_SHEAR

__all__ = ["triaxial_readings"]

Floats = NDArray[np.float64]


def triaxial_readings(
    test: Sequence[str],
    cell_pressure: ArrayLike,
    deviator_stress: ArrayLike,
    pore_pressure: ArrayLike | None = None,
    *,
    state: Sequence[str] | None = None,
    failure_criterion: str = "",
    notices: Sequence[Notice] = (),
) -> Readings:
    """Readings of triaxial compression tests.

    Parameters
    ----------
    test
        Identifiers; repeated readings of one test share it.
    cell_pressure, deviator_stress, pore_pressure
        At failure [kPa], one element a reading. Without pore pressures the cell pressures
        are taken as effective.
    state
        Which point of the test each is; ``peak`` without it.
    failure_criterion
        What was taken as failure, in the words of the laboratory.
    notices
        What the reading of a file had to say.

    Raises
    ------
    InputError
        Columns of unequal length, a value that is not finite, pore pressures for some
        readings only, a negative deviator stress, a pore pressure above the cell pressure.

    Examples
    --------
    Das, Principles of Geotechnical Engineering, 7th ed., Example 12.6, in psi:

    >>> from slipmargin.strength import fit_envelope, reduce_readings
    >>> from slipmargin.strength.laboratory.triaxial import triaxial_readings
    >>> tests = reduce_readings(triaxial_readings(["CU"], [12.0], [9.1], [6.8]))
    >>> round(float(fit_envelope(tests, intercept="zero").best_fit.friction_angle), 1)
    27.8
    """
    names = tuple(test)
    count = len(names)
    cell = number_column("cell_pressure", cell_pressure, count, least=0.0)
    deviator = number_column("deviator_stress", deviator_stress, count, least=0.0)
    pore = None
    if pore_pressure is not None:
        pore = number_column("pore_pressure", pore_pressure, count, blank=True)
        missing = np.isnan(pore)
        if missing.all():
            pore = None
        elif missing.any():
            raise InputError(
                f"pore_pressure of test {names[int(np.argmax(missing))]}",
                "",
                "give it for every test (0 where a drained test had none), or for none",
            )
    minor = cell if pore is None else cell - pore
    if np.any(minor < 0.0):
        index = int(np.argmin(minor))
        raise InputError(
            f"pore_pressure of test {names[index]}",
            f"{cell[index] - minor[index]:g}",
            f"allowed: up to the cell pressure, {cell[index]:g}",
        )
    return Readings(
        test=names,
        state=tuple(state or ()),
        normal=minor + deviator / 2.0,
        shear=deviator / 2.0,
        notices=distinct([*notices, *_notices(pore, failure_criterion)]),
        plane=PLANE_OF_LARGEST_SHEAR,
        taken={"cell_pressure": cell, "deviator_stress": deviator}
        | ({} if pore is None else {"pore_pressure": pore}),
    )


def _notices(pore: Floats | None, criterion: str) -> Iterator[Notice]:
    """What holds of every series of such tests."""
    if pore is None:
        yield Notice.caution(
            "pore-pressure-not-given",
            "No pore pressure is given, so the cell pressures were taken as effective. That "
            "holds for drained tests only, with the back pressure taken off the cell "
            "pressure: it is no part of σ₃′. Of an undrained test without pore pressure "
            "this is no effective strength.",
        )
    else:
        yield Notice.info(
            "back-pressure-in-both",
            "σ₃′ is the cell pressure less the pore pressure, both as the gauges read: the "
            "back pressure stands in both and is no part of it. Where the pore pressures "
            "are those above the back pressure, take it off the cell pressures first.",
        )
    said = f"the laboratory's: {criterion}" if criterion else "not stated"
    yield Notice.info(
        "failure-criterion",
        f"The stresses are taken at failure as given; the criterion is {said}. The largest "
        "deviator stress and the largest ratio σ₁′/σ₃′ fall at different strains in an "
        "undrained test, and give different c′ and φ′.",
    )
