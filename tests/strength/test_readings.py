"""Readings to one point a test: corrections for the apparatus, repeats, bands."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.strength import (
    InputError,
    Readings,
    Severity,
    Specimen,
    fit_envelope,
    reduce_readings,
)

SQUARE = {"shape": "square", "width": 60.0}
PER_NEWTON = 1.0 / 3.6  # kPa of 1 N on 60 mm × 60 mm


def forces(
    normal: Sequence[float], shear: Sequence[float], half_band: float = np.nan, **more: Any
) -> Readings:
    count = len(normal)
    middle = np.array(shear, dtype=float)
    return Readings(
        **{
            "test": tuple(f"T{i + 1}" for i in range(count)),
            "state": ("peak",) * count,
            "normal": np.array(normal, dtype=float),
            "shear": middle,
            "low": middle - half_band,
            "high": middle + half_band,
            "unit": "N",
        }
        | more
    )


def codes(tests: Any) -> list[str]:
    return [notice.code for notice in tests.notices]


def test_zero_reading_and_friction_are_subtracted_and_said_so() -> None:
    specimen = Specimen(**SQUARE, apparatus_friction=7.2, zero_reading=1.8)
    tests = reduce_readings(forces([180, 360, 720], [109, 209, 409], half_band=4.0), specimen)
    assert_allclose(tests.shear, [100 * PER_NEWTON, 200 * PER_NEWTON, 400 * PER_NEWTON])
    assert_allclose(tests.low, tests.shear - 4.0 * PER_NEWTON)
    assert tests.band_std == pytest.approx(4.0 * PER_NEWTON / np.sqrt(3.0))
    assert codes(tests) == ["zero-reading-subtracted", "apparatus-friction-subtracted"]
    text = tests.notices[1].text
    assert "7.2 N" in text
    assert "2.00 kPa" in text


def test_friction_left_in_would_have_been_cohesion() -> None:
    readings = forces([180, 360, 720], [118, 218, 418])
    plain = fit_envelope(reduce_readings(readings, Specimen(**SQUARE)))
    clean = fit_envelope(
        reduce_readings(readings, Specimen(**SQUARE, apparatus_friction=18.0)), intercept="free"
    )
    assert plain.best_fit.cohesion - clean.best_fit.cohesion == pytest.approx(18.0 * PER_NEWTON)
    assert plain.best_fit.friction_angle == pytest.approx(clean.best_fit.friction_angle)


def test_a_zero_reading_below_zero_is_added_back() -> None:
    tests = reduce_readings(forces([180], [97.0]), Specimen(**SQUARE, zero_reading=-3.0))
    assert_allclose(tests.shear, [100 * PER_NEWTON])


def test_correction_larger_than_a_reading_is_refused() -> None:
    specimen = Specimen(**SQUARE, apparatus_friction=150.0)
    with pytest.raises(InputError, match="test T1 reads in all, -50 N being left"):
        reduce_readings(forces([180, 360], [100, 200]), specimen)


def test_correction_larger_than_the_low_end_of_a_band_is_refused() -> None:
    specimen = Specimen(**SQUARE, apparatus_friction=15.0)
    with pytest.raises(InputError, match="more than test T1 reads"):
        reduce_readings(forces([180, 360], [20, 200], half_band=10.0), specimen)


def test_friction_that_is_not_small_beside_the_soil_earns_a_caution() -> None:
    tests = reduce_readings(
        forces([180, 360], [100, 200]), Specimen(**SQUARE, apparatus_friction=30.0)
    )
    assert tests.notices[-1].code == "apparatus-friction-large"
    assert tests.notices[-1].severity is Severity.CAUTION


@pytest.mark.parametrize("name", ["added_normal_force", "apparatus_friction", "zero_reading"])
def test_forces_do_not_belong_to_readings_that_are_stresses(name: str) -> None:
    with pytest.raises(InputError, match="forces as read"):
        reduce_readings(forces([50, 100], [30, 60], unit="kPa"), Specimen(**SQUARE, **{name: 1.0}))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("apparatus_friction", -1.0),
        ("apparatus_friction", np.nan),
        ("zero_reading", np.inf),
        ("added_normal_force", -0.1),
        ("width", 0.0),
        ("height", -2.0),
        ("shape", "oval"),
    ],
)
def test_impossible_specimen_is_refused(name: str, value: Any) -> None:
    with pytest.raises(InputError):
        Specimen(**(SQUARE | {name: value}))


def test_forces_without_a_specimen_stay_forces() -> None:
    tests = reduce_readings(forces([360, 180], [200, 100]))
    assert tests.unit == "N"
    assert tests.names == ("T2", "T1")
    assert_allclose(tests.normal, [180, 360])


def test_displacement_and_rate_at_the_points_follow_their_tests() -> None:
    tests = reduce_readings(
        forces(
            [360, 180],
            [200, 100],
            displacement=np.array([3.5, np.nan]),
            rate=np.array([0.05, 0.05]),
        ),
        Specimen(**SQUARE),
    )
    assert_allclose(tests.displacement, [np.nan, 3.5])
    assert_allclose(tests.rate, [0.05, 0.05])
    assert reduce_readings(forces([360], [200])).displacement is None


def test_a_few_rows_along_one_curve_are_not_averaged() -> None:
    readings = forces(
        [180] * 4,
        [20, 60, 90, 100],
        test=("A",) * 4,
        displacement=np.array([0.2, 0.8, 1.6, 2.4]),
    )
    with pytest.raises(InputError, match="8 rows or more"):
        reduce_readings(readings, Specimen(**SQUARE))


def test_repeats_with_their_own_displacements_are_averaged() -> None:
    readings = forces(
        [180] * 3, [98, 100, 105], test=("A",) * 3, displacement=np.array([2.1, 2.4, 2.6])
    )
    tests = reduce_readings(readings)
    assert_allclose(tests.shear, [101.0])
    assert_allclose(tests.displacement, [2.3666667])
    assert tests.readings == (3,)


def test_a_point_of_the_test_that_is_unknown_or_absent_is_refused() -> None:
    readings = forces([180, 360], [110, 215])
    with pytest.raises(InputError, match="allowed: peak"):
        reduce_readings(readings, state="highest")
    with pytest.raises(InputError, match="the readings hold: peak"):
        reduce_readings(readings, state="residual")


def test_repeats_under_loads_that_differ_are_averaged_and_said_so() -> None:
    tests = reduce_readings(forces([180, 200], [110, 118], test=("A", "A")), Specimen(**SQUARE))
    assert_allclose(tests.normal, [190.0 * PER_NEWTON])
    assert_allclose(tests.shear, [114.0 * PER_NEWTON])
    (notice,) = [n for n in tests.notices if n.code == "repeats-differ-in-normal-load"]
    assert "50 and 55.56 kPa" in notice.text
    even = reduce_readings(forces([180, 181], [110, 118], test=("A", "A")), Specimen(**SQUARE))
    assert "repeats-differ-in-normal-load" not in codes(even)


def test_an_area_correction_without_a_specimen_is_refused() -> None:
    with pytest.raises(InputError, match="the specimen's shape and width"):
        reduce_readings(forces([180], [110]), area_correction=True)


def test_a_record_is_not_averaged() -> None:
    moved = np.linspace(0.0, 8.0, 20)
    readings = forces([180] * 20, list(10 * moved), test=("A",) * 20, displacement=moved)
    assert readings.is_record
    with pytest.raises(InputError, match="picked from the curve"):
        reduce_readings(readings)


@given(
    st.lists(st.floats(50.0, 2000.0), min_size=1, max_size=6),
    st.floats(0.0, 20.0),
    st.floats(-5.0, 5.0),
    st.floats(0.0, 30.0),
)
@settings(max_examples=60, deadline=None)
def test_reduction_is_what_a_plain_loop_gives(
    normal: list[float], friction: float, zero: float, added: float
) -> None:
    shear = [30.0 + 0.6 * value for value in normal]
    specimen = Specimen(
        **SQUARE, apparatus_friction=friction, zero_reading=zero, added_normal_force=added
    )
    tests = reduce_readings(forces(normal, shear), specimen)
    loop = sorted(
        ((n + added) / 3.6, (s - zero - friction) / 3.6) for n, s in zip(normal, shear, strict=True)
    )
    assert_allclose(np.column_stack([tests.normal, tests.shear]), loop)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"unit": "psf"}, "unit: 'psf'.*kPa, N"),
        ({"unit": "kpa"}, "unit: 'kpa'"),
        ({"state": ("peak", "peak", "top")}, r"state\[2\]: 'top'"),
        ({"state": ("peak",)}, "state: '1 values'.*give 3"),
        ({"normal": np.array([90.0, -180.0, 270.0])}, r"normal\[1\]: '-180'.*from 0 upward"),
        ({"normal": np.array([90.0, np.nan, 270.0])}, r"normal\[1\]: 'nan'"),
        ({"normal": np.array([90.0, np.inf, 270.0])}, r"normal\[1\]: 'inf'"),
        ({"normal": np.array([90.0, 180.0])}, "normal: '2 values'.*give 3"),
        ({"normal": np.ones((3, 2))}, "normal: 'shape"),
        ({"normal": ["90", "b", "c"]}, "normal.*give numbers"),
        ({"shear": np.array([50.0, np.nan, 150.0])}, r"shear\[1\]: 'nan'"),
        ({"shear": np.array([50.0, -1.0, 150.0])}, r"shear\[1\]: '-1'"),
        ({"low": np.full(2, np.nan)}, "low: '2 values'"),
        ({"low": np.array([np.nan, 90.0, np.nan])}, r"high\[1\]: 'nan'.*both ends"),
        (
            {"low": np.full(3, 60.0), "high": np.full(3, 160.0)},
            r"shear\[0\]: '50'.*outside its band; allowed: 60 to 160",
        ),
        ({"displacement": np.array([1.0, np.inf, 1.0])}, r"displacement\[1\]: 'inf'"),
        ({"rate": np.array([0.1])}, "rate: '1 values'"),
    ],
)
def test_readings_that_cannot_be_are_refused_where_they_are_made(
    change: dict[str, Any], message: str
) -> None:
    good = forces([90.0, 180.0, 270.0], [50.0, 100.0, 150.0])
    with pytest.raises(InputError, match=f"(?s){message}"):
        dataclasses.replace(good, **change)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"unit": "psi"}, "unit: 'psi'"),
        ({"state": "top"}, r"state\[0\]: 'top'"),
        ({"normal": np.array([25.0, -50.0, 75.0])}, r"normal\[1\]: '-50'"),
        ({"shear": np.array([14.0, np.nan, 42.0])}, r"shear\[1\]: 'nan'"),
        ({"shear": np.array([14.0, 28.0])}, "shear: '2 values'"),
        ({"names": ("T1", "T2")}, "normal: '3 values'.*give 2"),
        ({"readings": (1, 1)}, "readings: '2 values'"),
        ({"band_std": -1.0}, "band_std"),
    ],
)
def test_shear_tests_that_cannot_be_are_refused_where_they_are_made(
    change: dict[str, Any], message: str
) -> None:
    good = reduce_readings(forces([90.0, 180.0, 270.0], [50.0, 100.0, 150.0]), Specimen(**SQUARE))
    with pytest.raises(InputError, match=f"(?s){message}"):
        dataclasses.replace(good, **change)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"width": "60 mm"}, "width: '60 mm'.*bare number in mm"),
        ({"width": None}, "width.*number"),
        ({"width": True}, "width"),
        ({"width": -60.0}, "above 0 mm"),
        ({"width": float("nan")}, "above 0 mm"),
        ({"height": "25 mm"}, "height: '25 mm'.*bare number in mm"),
        ({"added_normal_force": "1.8 N"}, "added_normal_force.*bare number in N"),
        ({"zero_reading": float("nan")}, "zero_reading"),
        ({"shape": "round"}, "square, circle"),
    ],
)
def test_a_specimen_that_cannot_be_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=f"(?s){message}"):
        Specimen(**(SQUARE | change))


def test_plain_lists_are_read_as_columns() -> None:
    readings = forces([90.0, 180.0, 270.0], [50.0, 100.0, 150.0])
    listed = dataclasses.replace(readings, normal=[90.0, 180.0, 270.0])
    assert_allclose(reduce_readings(listed).normal, reduce_readings(readings).normal)
