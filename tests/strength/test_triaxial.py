"""Triaxial tests through the line: transformation, error propagation, refusals."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from slipmargin.strength import (
    EnvelopeFit,
    InputError,
    JointStrength,
    Pair,
    fit_envelope,
    interpretations,
    read_readings,
    reduce_readings,
    stated_against_fit,
    strength_from_readings,
    triaxial_readings,
)
from slipmargin.strength.stress_plane import PLANE_OF_LARGEST_SHEAR

COHESIONS, ANGLES = st.floats(0.0, 60.0), st.floats(8.0, 45.0)


def failure_points(cohesion: float, angle: float, minor: Any) -> Any:
    """s′ and t of circles that touch the envelope: σ′₁ = σ′₃ tan²(45 + φ/2) + 2 c tan(45 + φ/2)."""
    # Venkatramaiah, Geotechnical Engineering, Eq. 8.36-8.39
    root = np.tan(np.radians(45.0 + np.asarray(angle) / 2.0))
    minor = np.asarray(minor, dtype=float)
    major = minor * root**2 + 2.0 * cohesion * root
    return (major + minor) / 2.0, (major - minor) / 2.0


def fitted(s: Any, t: Any, **choices: Any) -> EnvelopeFit:
    """The fit of tests with these circles."""
    s, t = np.asarray(s, dtype=float), np.asarray(t, dtype=float)
    readings = triaxial_readings([f"T{i}" for i in range(s.size)], s - t, 2.0 * t)
    return fit_envelope(reduce_readings(readings), **choices)


@given(COHESIONS, ANGLES)
@settings(max_examples=60, deadline=None)
def test_circles_that_touch_an_envelope_give_it_back(cohesion: float, angle: float) -> None:
    fit = fitted(*failure_points(cohesion, angle, [50.0, 120.0, 300.0]), intercept="free")
    assert fit.best_fit.friction_angle == pytest.approx(angle, rel=1e-8)
    assert fit.best_fit.cohesion == pytest.approx(cohesion, abs=1e-6)
    normal, shear = fit.on_sliding_plane
    assert_allclose(shear, cohesion + normal * np.tan(np.radians(angle)), rtol=1e-9)
    assert fit.normal_range == (normal.min(), normal.max())


def test_a_deviator_stress_is_found_back_from_its_friction_angle() -> None:
    """Das 7th ed., Example 12.4 p.387: 20.0 psi at a cell pressure of 10 psi and 30 deg; Smith,
    Elements of Soil Mechanics, exercise: at 200 kPa and 29 deg a shear stress of 190 kPa, printed
    to the nearest 10 kPa, on a plane at 30.5 deg to the direction of the
    major principal stress.
    """

    def shear(minor: float, angle: float) -> float:
        def too_strong(t: float) -> float:
            fit = fitted([minor + t], [t], intercept="zero")
            return float(fit.best_fit.friction_angle) - angle

        return float(brentq(too_strong, 1e-3 * minor, 1e2 * minor, xtol=1e-12))

    assert 2.0 * shear(10.0, 30.0) == pytest.approx(20.0, abs=0.050005)
    t = shear(200.0, 29.0)
    assert t == pytest.approx(190.0, abs=5.0)
    normal, along = PLANE_OF_LARGEST_SHEAR.on_sliding_plane(200.0 + t, t, Pair(0.0, 29.0))
    to_major = math.degrees(math.atan2(normal - 200.0, along))
    assert to_major == pytest.approx(30.5, abs=0.05)


def test_strength_and_line_are_each_other_turned_round() -> None:
    cohesion, angle = np.array([[0.0], [10.0]]), np.array([10.0, 25.0, 40.0])
    intercept, slope = PLANE_OF_LARGEST_SHEAR.line(Pair(cohesion, angle))
    back = PLANE_OF_LARGEST_SHEAR.strength(intercept, slope)
    assert_allclose(back[0], np.broadcast_to(cohesion, (2, 3)), atol=1e-12)
    assert_allclose(np.broadcast_to(back[1], (2, 3)), np.tan(np.radians([angle, angle])))


def test_no_angle_has_a_line_as_steep_as_one_to_one() -> None:
    assert np.all(np.isfinite(PLANE_OF_LARGEST_SHEAR.strength(5.0, 1.0 - 1e-6)))
    assert np.all(np.isnan(PLANE_OF_LARGEST_SHEAR.strength(5.0, 1.0)))
    assert PLANE_OF_LARGEST_SHEAR.pair(5.0, 1.0) is None


@given(st.floats(0.0, 40.0), st.floats(0.15, 0.8))
@settings(max_examples=60, deadline=None)
def test_error_propagation_is_that_of_finite_differences(intercept: float, slope: float) -> None:
    def strength(a: float, b: float) -> Any:
        return np.array(PLANE_OF_LARGEST_SHEAR.strength(a, b))

    step = 1e-5
    jacobian = np.column_stack(
        [
            (strength(intercept + step, slope) - strength(intercept - step, slope)) / (2 * step),
            (strength(intercept, slope + step) - strength(intercept, slope - step)) / (2 * step),
        ]
    )
    covariance = np.array([[9.0, -0.04], [-0.04, 4e-4]])
    expected = jacobian @ covariance @ jacobian.T
    found = PLANE_OF_LARGEST_SHEAR.covariance(intercept, slope, (9.0, 4e-4, -0.04))
    assert_allclose(found, [expected[0, 0], expected[1, 1], expected[0, 1]], rtol=1e-6, atol=1e-9)


def test_draws_have_the_spread_that_the_standard_errors_say() -> None:
    s, t = failure_points(25.0, 28.0, np.linspace(40.0, 400.0, 12))
    scatter = np.array([0.8, -0.5, 0.2, -0.9, 0.6, 0.1, -0.4, 0.9, -0.7, 0.3, -0.6, 0.2])
    fit = fitted(s, t + scatter)
    joint = JointStrength.of(fit)
    c, tan = joint.draw(np.random.default_rng(31).random((200_000, 2)))
    spread = math.sqrt(10.0 / 8.0)  # of a t with ten degrees of freedom
    assert fit.standard_error_cohesion is not None
    assert fit.standard_error_tan is not None
    assert float(np.std(c)) == pytest.approx(spread * fit.standard_error_cohesion, rel=0.02)
    assert float(np.std(tan)) == pytest.approx(spread * fit.standard_error_tan, rel=0.02)
    assert float(np.corrcoef(c, tan)[0, 1]) == pytest.approx(fit.correlation, abs=0.01)


def test_the_joint_region_is_the_outline_of_one_distance() -> None:
    s, t = failure_points(25.0, 28.0, [60.0, 120.0, 200.0, 300.0, 420.0])
    fit = fitted(s, t + np.array([1.0, -1.5, 0.5, 1.0, -1.0]))
    outline = np.array(JointStrength.of(fit).region(0.5, points=12))[:, :-1].T
    distances = [fit.line.distance(*fit.plane.line(Pair(*one))) for one in outline]
    assert_allclose(distances, distances[0], rtol=1e-9)


def test_no_draw_is_so_steep_that_no_strength_has_it() -> None:
    s, t = failure_points(0.0, 40.0, [50.0, 60.0, 70.0])
    joint = JointStrength.of(fitted(s, t + np.array([-9.0, 9.0, -5.0]), intercept="free"))
    c, tan = joint.draw(np.random.default_rng(5).random((20_000, 2)))
    assert np.all(np.isfinite(c) & (c >= 0.0))
    assert np.all((tan > 0.0) & (tan < 1e5))


def test_intervals_cover_the_truth_as_often_as_stated() -> None:
    rng = np.random.default_rng(6)
    s, t = failure_points(8.0, 30.0, [50.0, 100.0, 200.0, 350.0])
    inside, below = np.zeros(2), 0
    runs = 600
    for _ in range(runs):
        fit = fitted(s, t + rng.normal(0.0, 3.0, 4), intercept="free")
        assert fit.interval is not None
        assert fit.interval.cohesion is not None
        assert fit.cautious is not None
        for which, (value, limits) in enumerate(
            ((8.0, fit.interval.cohesion), (30.0, fit.interval.friction_angle))
        ):
            inside[which] += limits[0] <= value <= limits[1]
        middle = 150.0
        below += fit.cautious.shear_strength(middle) <= 8.0 + middle * np.tan(np.radians(30.0))
    assert_allclose(inside / runs, 0.95, atol=0.03)
    assert below / runs >= 0.94


def test_limits_of_the_angle_are_the_arcsine_of_those_of_the_slope() -> None:
    s, t = failure_points(6.0, 28.0, [40.0, 90.0, 180.0, 300.0])
    fit = fitted(s, t + np.array([2.0, -3.0, 2.5, -1.0]))
    assert fit.interval is not None
    error = fit.error_std * math.sqrt(float(fit.line.variance_factors[1]))  # type: ignore[operator]
    # Student's t at 0.975 with two degrees of freedom, any table: 4.3027
    ends = float(fit.line.slope) + 4.3027 * error * np.array([-1.0, 1.0])
    assert_allclose(fit.interval.friction_angle, np.degrees(np.arcsin(ends)), rtol=1e-4)
    assert fit.standard_error_friction_angle == pytest.approx(
        math.degrees(error) / math.sqrt(1.0 - float(fit.line.slope) ** 2)
    )


def test_cautious_lies_below_the_best_fit_across_the_tested_range() -> None:
    s, t = failure_points(6.0, 28.0, [40.0, 90.0, 180.0, 300.0])
    fit = fitted(s, t + np.array([2.0, -3.0, 2.5, -1.0]))
    assert fit.cautious is not None
    at = np.linspace(*fit.normal_range, 9)
    assert np.all(fit.cautious.shear_strength(at) < fit.best_fit.shear_strength(at))
    assert fit.strength("cautious").tested_range == fit.normal_range


def test_negative_intercept_is_refitted_through_the_origin_unless_free() -> None:
    s, t = failure_points(0.0, 30.0, [50.0, 100.0, 200.0])
    t = t + np.array([-4.0, -3.0, 3.0])
    fit = fitted(s, t)
    assert fit.through_origin
    assert fit.best_fit.cohesion == 0.0
    assert "negative-intercept-refitted" in {notice.code for notice in fit.notices}
    free = fitted(s, t, intercept="free")
    assert free.best_fit.cohesion < 0.0
    assert fit.standard_error_cohesion == free.standard_error_cohesion
    with pytest.raises(InputError, match="negative cohesion"):
        free.strength()


def test_a_stated_strength_is_held_against_triaxial_tests() -> None:
    s, t = failure_points(10.0, 28.0, [50.0, 100.0, 200.0, 350.0])
    fit = fitted(s, t + np.array([1.0, -1.5, 0.8, -0.3]))
    close = stated_against_fit(fit, fit.best_fit, "the fit itself")
    assert close.distance == pytest.approx(0.0, abs=1e-6)
    far = stated_against_fit(fit, Pair(40.0, 28.0), "another")
    assert far.cohesion_errors == pytest.approx(
        (40.0 - float(fit.best_fit.cohesion)) / float(fit.standard_error_cohesion or 0.0)
    )
    assert [notice.code for notice in far.notices] == ["stated-strength-doubtful"]
    # the true line at a test is that of its circle, not of a plane in a box
    assert dict(far.misses)["T0"] == pytest.approx(
        40.0 * math.cos(math.radians(28.0)) + s[0] * math.sin(math.radians(28.0)) - (t[0] + 1.0)
    )


def test_triaxial_tests_give_the_interpretations_that_a_line_allows() -> None:
    s, t = failure_points(10.0, 28.0, [50.0, 100.0, 200.0, 350.0])
    readings = triaxial_readings("ABCD", s - t, 2.0 * (t + np.array([1.0, -1.5, 0.8, -0.3])))
    names = [one.name for one in interpretations(readings)]
    assert names == ["peak", "zero intercept", "cautious"]
    diagnosis = strength_from_readings(readings).diagnosis
    assert diagnosis is not None
    assert diagnosis.comparison.power is None
    assert diagnosis.robust is not None
    assert float(diagnosis.robust.friction_angle) == pytest.approx(28.0, abs=0.5)


TABLE = """test,cell_pressure [kPa],deviator_stress [kPa],pore_pressure [kPa]
1,150,160,55
2,250,248,90
3,400,391,140
"""


def read(folder: Path, text: str) -> Any:
    path = folder / "tests.csv"
    path.write_text(text, encoding="utf-8")
    return read_readings(path)


def test_a_table_of_triaxial_tests_is_read(tmp_path: Path) -> None:
    readings = read(tmp_path, TABLE)
    assert_allclose(readings.normal, [175.0, 284.0, 455.5])
    assert_allclose(readings.shear, [80.0, 124.0, 195.5])
    assert {notice.code for notice in readings.notices} == {
        "back-pressure-in-both",
        "failure-criterion",
    }


@pytest.mark.parametrize("blank", [False, True])
def test_missing_pore_pressures_follow_the_strength_into_every_check(
    tmp_path: Path, blank: bool
) -> None:
    rows = [line.split(",") for line in TABLE.splitlines()]
    cut = [[*row[:3], ""] for row in rows[1:]] if blank else [row[:3] for row in rows[1:]]
    header = rows[0] if blank else rows[0][:3]
    readings = read(tmp_path, "\n".join(",".join(row) for row in [header, *cut]))
    found = strength_from_readings(readings)
    assert "pore-pressure-not-given" in {n.code for n in found.strength().caveats}


def test_a_pore_pressure_below_zero_is_suction(tmp_path: Path) -> None:
    readings = read(tmp_path, TABLE.replace(",55\n", ",-20\n"))
    assert readings.normal[0] == 250.0


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("160,55", "160,155", "up to the cell pressure, 150"),
        ("160,55", "160,", "give it for every test"),
        ("160,55", "-160,55", "row 2, column deviator_stress"),
        (
            "160,55",
            ",55",
            r"row 2, column deviator_stress \[kPa\] is missing: .*need cell_pressure and deviator",
        ),
        ("pore_pressure [kPa]", "shear_stress [kPa]", "no such column"),
        ("deviator_stress [kPa]", "rate [mm/min]", "no such column"),
        ("test,", "state,", "column test"),
        ("pore_pressure [kPa]", "pore_pressure [mm]", "pore_pressure"),
    ],
)
def test_a_wrong_table_of_triaxial_tests_is_refused(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    with pytest.raises(InputError, match=says):
        read(tmp_path, TABLE.replace(old, new))


@pytest.mark.parametrize(
    ("s", "t", "says"),
    [
        ([100.0, 200.0], [90.0, 60.0], "rise with normal stress"),
        ([100.0, 100.0], [50.0, 60.0], "two different normal stresses"),
        ([100.0, 200.0, 202.0], [20.0, 130.0, 185.0], "no friction angle"),
    ],
)
def test_circles_without_an_envelope_are_refused(s: Any, t: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        fitted(s, t, intercept="free")


def test_what_belongs_to_a_shear_box_is_refused_or_said() -> None:
    readings = triaxial_readings("AB", [50.0, 100.0], [60.0, 110.0])
    with pytest.raises(InputError, match="power curve"):
        fit_envelope(reduce_readings(readings), envelope="power")
    with pytest.raises(InputError, match="shear box"):
        reduce_readings(readings, area_correction=True)
