"""Readings as taken, and their reduction to one point a test.

Repeated readings of a test are averaged. A gauge that bounced gives a band; the reading is
the value given, or the middle of its band. Forces become nominal stresses on the initial
area of the specimen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from strength.errors import InputError
from strength.notice import Notice
from strength.specimen import Specimen

__all__ = ["STATES", "Readings", "ShearTests", "reduce_readings"]

STATES = ("peak", "end_of_test", "residual")
"""The points of a shear test that a strength can be fitted to."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """A table of readings, one element a reading.

    Parameters
    ----------
    test, state
        Identifier of the test, and which point of it was read.
    normal, shear
        Both stresses [kPa] or both forces [N], as ``unit`` says.
    low, high
        Band in which the shear gauge bounced, in the same unit; nan without a band.
    unit
        ``kPa`` or ``N``.
    notices
        What the reading of the file had to say.
    """

    test: tuple[str, ...]
    state: tuple[str, ...]
    normal: Floats
    shear: Floats
    low: Floats
    high: Floats
    unit: Literal["kPa", "N"]
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ShearTests:
    """One point a test, ready to be fitted.

    Parameters
    ----------
    names
        Identifiers, in order of normal stress.
    normal, shear
        Effective normal and shear stress [kPa], or force [N] where no area is known.
    low, high
        Mean band of the readings of each test; nan without one.
    band_std
        Root-mean-square standard deviation of the reading bands, each taken as uniform
        (half-width / √3); nan without a band.
    readings
        Number of readings of each test.
    state, unit
        Which point of the tests, and ``kPa`` or ``N``.
    """

    names: tuple[str, ...]
    normal: Floats
    shear: Floats
    low: Floats
    high: Floats
    band_std: float
    readings: tuple[int, ...]
    state: str = "peak"
    unit: Literal["kPa", "N"] = "kPa"
    notices: tuple[Notice, ...] = ()


def reduce_readings(
    readings: Readings, specimen: Specimen | None = None, *, state: str = "peak"
) -> ShearTests:
    """Average the readings of each test and bring forces to stresses.

    Raises
    ------
    InputError
        A state of which the table has no reading; forces added to readings that are
        already stresses.
    """
    if state not in STATES:
        raise InputError("state", state, "allowed: " + ", ".join(STATES))
    chosen = [index for index, word in enumerate(readings.state) if word == state]
    if not chosen:
        present = ", ".join(sorted(set(readings.state)))
        raise InputError("state", state, f"the readings hold: {present}")
    factor, added, unit = 1.0, 0.0, readings.unit
    if readings.unit == "N" and specimen is not None:
        factor, added, unit = specimen.kpa_per_newton, specimen.added_normal_force, "kPa"
    elif specimen is not None and specimen.added_normal_force > 0.0:
        raise InputError(
            "added_normal_force",
            f"{specimen.added_normal_force:g} N",
            "leave it out where the readings are stresses: it belongs to forces as read",
        )

    groups: dict[str, list[int]] = {}
    for index in chosen:
        groups.setdefault(readings.test[index], []).append(index)
    notices = list(readings.notices)
    rows = []
    for name, members in groups.items():
        normal = (readings.normal[members] + added) * factor
        if np.ptp(normal) > 0.02 * normal.mean():
            notices.append(
                Notice.caution(
                    "repeats-differ-in-normal-load",
                    f"Test {name}: its repeated readings lie between {normal.min():.4g} and "
                    f"{normal.max():.4g} {unit} of normal load and were averaged into one "
                    "point. Give each load a test of its own if they are not repeats.",
                )
            )
        shear = readings.shear[members] * factor
        band = np.stack([readings.low[members], readings.high[members]]) * factor
        banded = band[:, np.isfinite(band[0])]
        middle = banded.mean(axis=1) if banded.size else np.full(2, np.nan)
        rows.append((normal.mean(), name, shear.mean(), middle, len(members)))
    rows.sort(key=lambda row: (row[0], row[1]))

    half = (readings.high[chosen] - readings.low[chosen]) * factor / 2.0
    half = half[np.isfinite(half)]
    return ShearTests(
        names=tuple(row[1] for row in rows),
        normal=np.array([row[0] for row in rows]),
        shear=np.array([row[2] for row in rows]),
        low=np.array([row[3][0] for row in rows]),
        high=np.array([row[3][1] for row in rows]),
        band_std=float(np.sqrt(np.mean(half**2 / 3.0))) if half.size else float("nan"),
        readings=tuple(row[4] for row in rows),
        state=state,
        unit=unit,
        notices=tuple(notices),
    )
