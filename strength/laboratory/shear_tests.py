"""Readings reduced to one point a test.

Repeated readings of a test are averaged. A gauge that bounced gives a band; the reading is
the value given, or the middle of its band. Forces become nominal stresses on the initial
area of the specimen, or, where asked for, stresses on the area that still overlaps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import MISSING, InputError, need, need_one_of
from slipmargin.strength.laboratory.area_correction import area_factor
from slipmargin.strength.laboratory.number_column import (
    hold_columns,
    known_unit,
    number_column,
    word_column,
)
from slipmargin.strength.laboratory.picked_points import PickedTest
from slipmargin.strength.laboratory.readings import RECORD_ROWS, STATES, Readings
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen, load_scale
from slipmargin.strength.notice import Notice
from slipmargin.strength.stress_plane import SLIDING_PLANE, StressPlane

__all__ = ["ShearTests", "friction_notices", "reduce_readings", "repeat_std"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShearTests:
    """One point a test, ready to be fitted.

    Parameters
    ----------
    names
        Identifiers, in order of normal stress.
    normal, shear
        Effective normal and shear stress on ``plane`` [kPa], or force [N] where no area is
        known.
    low, high
        Mean band of the readings of each test; nan without one, or none at all.
    band_std
        Root-mean-square standard deviation of the reading bands, each taken as uniform
        (half-width / √3); nan without a band.
    repeat_std
        Root-mean-square standard deviation of the points that the spread of repeated
        readings gives (see the function of that name); nan without repeats.
    readings
        Number of readings of each test; one each where it is left out.
    state, unit
        Which point of the tests, and ``kPa`` or ``N``.
    displacement, rate
        Displacement at the point [mm] and rate of displacement [mm/min]; nan where not
        known, ``None`` where none is.
    repeated_normal, repeated_shear
        Every reading of the tests that were read more than once, test after test, in the unit
        of the points; ``None`` where none was.
    details
        How each point was picked from its stress-displacement record; empty without one.
    plane
        The plane the stresses act on: that of sliding, or of a triaxial test that of the
        largest shear stress, where they are s′ and t.

    Raises
    ------
    InputError
        A unit or state that is not known, columns of unequal length, a stress that is not
        finite, a normal stress below zero.
    """

    names: tuple[str, ...]
    normal: Floats
    shear: Floats
    low: Floats = None  # type: ignore[assignment]  # filled in
    high: Floats = None  # type: ignore[assignment]
    band_std: float = float("nan")
    readings: tuple[int, ...] = ()
    state: str = "peak"
    unit: Literal["kPa", "N"] = "kPa"
    notices: tuple[Notice, ...] = ()
    displacement: Floats | None = None
    rate: Floats | None = None
    details: tuple[PickedTest, ...] = ()
    repeat_std: float = float("nan")
    repeated_normal: Floats | None = None
    repeated_shear: Floats | None = None
    plane: StressPlane = SLIDING_PLANE

    def __post_init__(self) -> None:
        known_unit(self.unit)
        count = len(self.names)
        word_column("state", (self.state,), 1, STATES)
        hold_columns(self, count, optional=("displacement", "rate"))
        if not self.readings:
            object.__setattr__(self, "readings", (1,) * count)
        number_column("readings", self.readings, count, least=1.0)
        spread = [self.band_std, self.repeat_std]
        number_column("band_std, repeat_std", spread, 2, least=0.0, blank=True)

    @classmethod
    def of(
        cls,
        normal: ArrayLike,
        shear: ArrayLike,
        names: Sequence[str] | None = None,
        *,
        state: str = "peak",
        unit: Literal["kPa", "N"] = "kPa",
    ) -> ShearTests:
        """Tests of a shear box, one point each, where that is all there is.

        Parameters
        ----------
        normal, shear
            Effective normal and shear stress [kPa], or force [N] as ``unit`` says.
        names
            ``1``, ``2`` and so on without it.
        state
            Which point of the tests, one of ``STATES``.

        Raises
        ------
        InputError
            What is no row of numbers, rows of unequal length, a normal or shear stress below
            zero, no test.

        Examples
        --------
        >>> from slipmargin.strength import ShearTests, fit_envelope
        >>> fit = fit_envelope(ShearTests.of([25, 50, 100, 150], [20.3, 35.2, 65.8, 94.9]))
        >>> round(float(fit.best_fit.friction_angle), 1)
        30.9
        """
        count = np.size(normal)
        if not count:
            raise InputError("normal", MISSING, "one stress a test")
        x = number_column("normal", normal, count, least=0.0)
        y = number_column("shear", shear, count, least=0.0)
        called = tuple(str(i) for i in range(1, count + 1)) if names is None else tuple(names)
        word_column("names", called, count)
        order = np.argsort(x, kind="stable")
        in_order = tuple(called[i] for i in order)
        return cls(names=in_order, normal=x[order], shear=y[order], state=state, unit=unit)

    @property
    def least_std(self) -> float:
        """Standard deviation the points have at least, from bands and repeats; nan without."""
        return float(np.fmax(self.band_std, self.repeat_std))


def repeat_std(groups: Sequence[ArrayLike]) -> float:
    """Standard deviation of the points of tests that their repeated readings give.

    The variance of one reading is pooled over the tests, s² = Σ Σ (τ - mean)² / Σ (m - 1) with
    m readings a test. A mean of m has the variance s² / m; the root of the mean over all tests
    is what stands beside the scatter about a line with equal weights. A test read once has the
    spread of one reading.

    nan where no test was read twice.

    Source: the pooled variance of any text on the analysis of variance.

    Examples
    --------
    Two tests, each read twice, 20 kPa apart:

    >>> from slipmargin.strength.laboratory.shear_tests import repeat_std
    >>> round(repeat_std([[30.0, 50.0], [80.0, 100.0]]), 9)
    10.0
    """
    tests = [np.asarray(one, dtype=float) for one in groups]
    spare = sum(one.size - 1 for one in tests)
    if not spare:
        return float("nan")
    pooled = sum(float(np.sum((one - one.mean()) ** 2)) for one in tests) / spare
    return float(np.sqrt(pooled * np.mean([1.0 / one.size for one in tests])))


def reduce_readings(
    readings: Readings,
    specimen: Specimen | None = None,
    *,
    state: str = "peak",
    area_correction: bool = False,
) -> ShearTests:
    """Average the readings of each test and bring forces to stresses.

    Parameters
    ----------
    readings
        A table of readings; stress-displacement records go through ``reduce_tests``.
    specimen
        Its plane and corrections. Without one forces stay forces.
    state
        One of ``STATES``.
    area_correction
        Divide both stresses by the share of the area that still overlaps. Off by default,
        as in ASTM D3080 and BS 1377-7.

    Raises
    ------
    InputError
        A state of which the table has no reading; forces added to or subtracted from
        readings that are already stresses; a correction that leaves a negative reading; a
        correction of the area without specimen or displacement; rows that look like the
        start of a stress-displacement record.

    Examples
    --------
    Two readings of test B, in newtons on a plane of 60 mm by 60 mm:

    >>> from slipmargin.strength import Readings, Specimen, reduce_readings
    >>> readings = Readings(
    ...     test=("A", "B", "B"), normal=[90.0, 180.0, 180.0], shear=[72.0, 126.0, 130.0], unit="N"
    ... )
    >>> tests = reduce_readings(readings, Specimen(shape="square", width=60.0))
    >>> tests.normal.round(1).tolist()
    [25.0, 50.0]
    >>> tests.shear.round(1).tolist()
    [20.0, 35.6]
    """
    need("readings", readings, Readings, "Readings, such as read_readings(path) gives")
    need("specimen", specimen, (Specimen, type(None)), "a Specimen")
    need_one_of("state", state, STATES)
    if readings.is_record:
        raise InputError(
            "readings",
            "a stress-displacement record",
            "its points are picked from the curve, not averaged: use reduce_tests",
        )
    groups = readings.rows_by_test(state)
    if not groups:
        present = ", ".join(sorted(set(readings.state)))
        raise InputError("state", state, f"the readings hold: {present}")
    chosen = [row for members in groups.values() for row in members]
    scale = load_scale(readings.unit, specimen, readings.normal_unit)
    share, none = np.ones(len(readings.test)), np.full(len(readings.test), np.nan)
    moved, rate = (none if one is None else one for one in (readings.displacement, readings.rate))
    if area_correction:
        if readings.plane.has_circles:
            raise InputError("area_correction", True, "it belongs to a shear box")
        if specimen is None:
            raise InputError("area_correction", True, "it needs the specimen's shape and width")
        share[chosen] = area_factor(specimen, moved[chosen])
    normal = scale.normal(readings.normal) / share
    shear = scale.shear(readings.shear) / share
    band = scale.shear(np.stack([readings.low, readings.high])) / share

    notices = [*readings.notices, *scale.notices]
    for name, members in groups.items():
        scale.refuse_negative([*shear[members], *band[0, members]], f"test {name}")
        _refuse_part_of_a_record(name, moved[members])
        if np.ptp(normal[members]) > 0.02 * normal[members].mean():
            notices.append(_loads_differ(name, normal[members], scale.unit))
    names = sorted(groups, key=lambda name: (float(normal[groups[name]].mean()), name))

    def of_each(values: Floats) -> Floats:
        """Mean of what is known in each test, in order of normal stress; nan without any."""
        parts = (values[groups[name]] for name in names)
        return np.array(
            [np.mean(one[np.isfinite(one)] if np.isfinite(one).any() else np.nan) for one in parts]
        )

    shears = of_each(shear)
    notices += friction_notices(scale, shears)
    repeated = [index for name in names if len(groups[name]) > 1 for index in groups[name]]
    half = (band[1, chosen] - band[0, chosen]) / 2.0
    half = half[np.isfinite(half)]
    return ShearTests(
        names=tuple(names),
        normal=of_each(normal),
        shear=shears,
        low=of_each(band[0]),
        high=of_each(band[1]),
        band_std=float(np.sqrt(np.mean(half**2 / 3.0))) if half.size else float("nan"),
        readings=tuple(len(groups[name]) for name in names),
        state=state,
        unit=scale.unit,
        notices=tuple(notices),
        displacement=_known(of_each(moved)),
        rate=_known(of_each(rate)),
        repeat_std=repeat_std([shear[members] for members in groups.values()]),
        repeated_normal=normal[repeated] if repeated else None,
        repeated_shear=shear[repeated] if repeated else None,
        plane=readings.plane,
    )


def friction_notices(scale: LoadScale, shear: Floats) -> Iterator[Notice]:
    """Warn where what was subtracted is not small beside what is left."""
    subtracted = scale.subtracted_shear * scale.per_unit
    if subtracted <= 0.2 * float(shear.min()):
        return
    yield Notice.caution(
        "apparatus-friction-large",
        f"{subtracted:.2f} {scale.unit} were subtracted from shear readings of which the "
        f"lowest leaves {float(shear.min()):.2f} {scale.unit}: the strength at low stress "
        "is known no better than the friction of the apparatus.",
    )


def _known(values: Floats) -> Floats | None:
    return values if np.any(np.isfinite(values)) else None


def _refuse_part_of_a_record(name: str, moved: Floats) -> None:
    """A few rows along one curve are neither a record nor repeats of one reading."""
    known = moved[np.isfinite(moved)]
    if known.size > 1 and known.max() > 2.0 * known.min():
        raise InputError(
            f"test {name}",
            f"{known.size} rows from {known.min():g} to {known.max():g} mm",
            f"give {RECORD_ROWS} rows or more for a stress-displacement record, or give the "
            "readings at one point of the test only",
        )


def _loads_differ(name: str, normal: Floats, unit: str) -> Notice:
    return Notice.caution(
        "repeats-differ-in-normal-load",
        f"Test {name}: its repeated readings lie between {normal.min():.4g} and "
        f"{normal.max():.4g} {unit} of normal load and were averaged into one point. Give each "
        "load a test of its own if they are not repeats.",
    )
