"""Triaxial pairs through the line: transformation, error propagation, refusals."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from slipmargin.cli.verification.rows import Row, published_rows
from slipmargin.strength import InputError
from slipmargin.strength.laboratory.triaxial import (
    FORMS,
    Form,
    failure_plane_stresses,
    fit_triaxial,
    line_covariance_to_strength,
    line_to_strength,
    stress_path_pair,
)

COHESIONS, ANGLES = st.floats(0.0, 60.0), st.floats(8.0, 45.0)


def failure_points(cohesion: float, angle: float, minor: Any, form: Form) -> Any:
    """Pairs on the Mohr-Coulomb line: σ′₁ = σ′₃ tan²(45 + φ/2) + 2 c tan(45 + φ/2)."""
    # Venkatramaiah, Geotechnical Engineering, Eq. 8.36-8.39
    root = np.tan(np.radians(45.0 + np.asarray(angle) / 2.0))
    minor = np.asarray(minor, dtype=float)
    return stress_path_pair(minor * root**2 + 2.0 * cohesion * root, minor, form=form)


@given(COHESIONS, ANGLES, st.sampled_from(FORMS))
@settings(max_examples=60, deadline=None)
def test_points_on_a_mohr_coulomb_line_give_it_back(
    cohesion: float, angle: float, form: Form
) -> None:
    x, y = failure_points(cohesion, angle, [50.0, 120.0, 300.0], form)
    fit = fit_triaxial(x, y, form=form, intercept="free")
    assert fit.best_fit.friction_angle == pytest.approx(angle, rel=1e-8)
    assert fit.best_fit.cohesion == pytest.approx(cohesion, abs=1e-6)


@pytest.mark.parametrize(
    "row",
    [row for row in published_rows("shear_tests") if row.inputs.get("intercept") == "free"],
    ids=lambda row: str(row.id),
)
def test_both_forms_give_a_published_series_the_same_angle(row: Row) -> None:
    s, t = np.array(row.inputs["mean_stress"]), np.array(row.inputs["deviator"])
    angles = []
    for form in FORMS:
        pairs = stress_path_pair(s + t, s - t, form=form)
        angles.append(fit_triaxial(*pairs, form=form, intercept="free").best_fit.friction_angle)
    # two regressions through the same points, on other axes
    assert angles[0] == pytest.approx(angles[1], abs=0.2)


def test_a_deviator_stress_is_found_back_from_its_friction_angle() -> None:
    """Das 7th ed., Example 12.4 p.387: 20.0 psi at a cell pressure of 10 psi and 30 deg; Smith,
    Elements of Soil Mechanics, exercise: at 200 kPa and 29 deg a shear stress of 190 kPa, printed
    to the nearest 10 kPa, on a plane at 30.5 deg to the direction of the
    major principal stress.
    """

    def shear(minor: float, angle: float) -> float:
        def too_strong(t: float) -> float:
            fit = fit_triaxial([minor + t], [t], intercept="zero")
            return float(fit.best_fit.friction_angle) - angle

        return float(brentq(too_strong, 1e-3 * minor, 1e2 * minor, xtol=1e-12))

    assert 2.0 * shear(10.0, 30.0) == pytest.approx(20.0, abs=0.050005)
    t = shear(200.0, 29.0)
    assert t == pytest.approx(190.0, abs=5.0)
    normal, along = failure_plane_stresses(200.0 + 2.0 * t, 200.0, 29.0)
    to_major = math.degrees(math.atan2(normal - 200.0, along))
    assert to_major == pytest.approx(30.5, abs=0.05)


@given(COHESIONS, ANGLES)
@settings(max_examples=30, deadline=None)
def test_tested_range_lies_on_the_planes_of_failure(cohesion: float, angle: float) -> None:
    ranges = []
    for form in FORMS:
        x, y = failure_points(cohesion, angle, [50.0, 120.0, 300.0], form)
        ranges.append(fit_triaxial(x, y, form=form, intercept="free").tested_range)
    assert_allclose(ranges[0], ranges[1], rtol=1e-7)
    s, t = failure_points(cohesion, angle, [50.0, 300.0], "s_t")
    normal, shear = failure_plane_stresses(s + t, s - t, angle)
    assert_allclose(ranges[0], normal, rtol=1e-7)
    assert_allclose(shear, cohesion + normal * np.tan(np.radians(angle)), rtol=1e-9)


def test_transformation_takes_arrays_as_a_loop_would() -> None:
    intercepts, slopes = np.array([[0.0], [10.0]]), np.array([0.3, 0.5, 0.9])
    for form in FORMS:
        cohesion, angle = line_to_strength(intercepts, slopes, form)
        variances = line_covariance_to_strength(intercepts, slopes, (4.0, 1e-3, -0.05), form)
        for i, j in np.ndindex(2, 3):
            one = line_to_strength(intercepts[i, 0], slopes[j], form)
            assert_allclose((cohesion[i, j], angle[j]), one)
            single = line_covariance_to_strength(
                intercepts[i, 0], slopes[j], (4.0, 1e-3, -0.05), form
            )
            assert_allclose([np.broadcast_to(v, (2, 3))[i, j] for v in variances], single)


@pytest.mark.parametrize(("form", "steepest"), [("s_t", 1.0), ("p_q", 3.0)])
def test_no_angle_has_a_line_steeper_than_its_form_allows(form: Form, steepest: float) -> None:
    assert np.all(np.isfinite(line_to_strength(5.0, steepest - 1e-6, form)))
    assert np.all(np.isnan(line_to_strength(5.0, steepest, form)))


@given(st.floats(0.0, 40.0), st.floats(0.15, 0.8), st.sampled_from(FORMS))
@settings(max_examples=60, deadline=None)
def test_error_propagation_is_that_of_finite_differences(
    intercept: float, share: float, form: Form
) -> None:
    slope = share if form == "s_t" else 2.5 * share

    def strength(a: float, b: float) -> Any:
        cohesion, angle = line_to_strength(a, b, form)
        return np.array([cohesion, np.tan(np.radians(angle))])

    step = 1e-5
    jacobian = np.column_stack(
        [
            (strength(intercept + step, slope) - strength(intercept - step, slope)) / (2 * step),
            (strength(intercept, slope + step) - strength(intercept, slope - step)) / (2 * step),
        ]
    )
    covariance = np.array([[9.0, -0.04], [-0.04, 4e-4]])
    expected = jacobian @ covariance @ jacobian.T
    found = line_covariance_to_strength(intercept, slope, (9.0, 4e-4, -0.04), form)
    assert_allclose(found, [expected[0, 0], expected[1, 1], expected[0, 1]], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("form", FORMS)
def test_error_propagation_is_that_of_a_monte_carlo_run(form: Form) -> None:
    rng = np.random.default_rng(31)
    slope = 0.5 if form == "s_t" else 1.2
    covariance = np.array([[4.0, -0.012], [-0.012, 5e-5]])
    a, b = rng.multivariate_normal([12.0, slope], covariance, size=400_000).T
    cohesion, angle = line_to_strength(a, b, form)
    tan = np.tan(np.radians(angle))
    sampled = np.cov(cohesion, tan)
    found = line_covariance_to_strength(12.0, slope, (4.0, 5e-5, -0.012), form)
    assert_allclose(found, [sampled[0, 0], sampled[1, 1], sampled[0, 1]], rtol=0.02)


def test_intervals_cover_the_truth_as_often_as_stated() -> None:
    rng = np.random.default_rng(6)
    s, t = failure_points(8.0, 30.0, [50.0, 100.0, 200.0, 350.0], "s_t")
    inside, below = np.zeros(2), 0
    runs = 600
    for _ in range(runs):
        fit = fit_triaxial(s, t + rng.normal(0.0, 3.0, 4), intercept="free")
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


def test_cautious_lies_below_the_best_fit_across_the_tested_range() -> None:
    s, t = failure_points(6.0, 28.0, [40.0, 90.0, 180.0, 300.0], "s_t")
    fit = fit_triaxial(s, t + np.array([2.0, -3.0, 2.5, -1.0]))
    assert fit.cautious is not None
    at = np.linspace(*fit.tested_range, 9)
    assert np.all(fit.cautious.shear_strength(at) < fit.best_fit.shear_strength(at))
    assert fit.strength("cautious").tested_range == fit.tested_range


def test_negative_intercept_is_refitted_through_the_origin_unless_free() -> None:
    s, t = failure_points(0.0, 30.0, [50.0, 100.0, 200.0], "s_t")
    t = t + np.array([-4.0, -3.0, 3.0])
    fit = fit_triaxial(s, t)
    assert fit.through_origin
    assert fit.best_fit.cohesion == 0.0
    assert "negative-intercept-refitted" in {notice.code for notice in fit.notices}
    free = fit_triaxial(s, t, intercept="free")
    assert free.best_fit.cohesion < 0.0
    with pytest.raises(InputError, match="negative cohesion"):
        free.strength()


@pytest.mark.parametrize(("count", "code"), [(2, "two-tests"), (3, "few-tests")])
def test_few_tests_travel_with_the_strength(count: int, code: str) -> None:
    s, t = failure_points(5.0, 30.0, np.linspace(50.0, 200.0, count), "s_t")
    fit = fit_triaxial(s, t, intercept="free")
    assert [notice.code for notice in fit.strength().caveats] == [code]
    if count == 2:
        assert fit.interval is None
        with pytest.raises(InputError, match="lower limit"):
            fit.strength("cautious")


@pytest.mark.parametrize(
    "given_values",
    [
        {"mean_stress": [100.0]},
        {"mean_stress": [100.0, 200.0, 300.0]},
        {"mean_stress": [100.0, -200.0]},
        {"deviator": [50.0, np.nan]},
        {"deviator": [50.0, 201.0]},
        {"deviator": [90.0, 60.0]},
        {"mean_stress": [100.0, 100.0]},
        {"form": "s-t"},
        {"intercept": "none"},
        {"confidence": 1.0},
    ],
)
def test_bad_input_is_refused(given_values: dict[str, Any]) -> None:
    sound = {"mean_stress": [100.0, 200.0], "deviator": [50.0, 95.0]}
    fit_triaxial(**sound)
    with pytest.raises(InputError):
        fit_triaxial(**(sound | given_values))


def test_a_strength_of_triaxial_tests_is_best_fit_or_cautious_and_nothing_else() -> None:
    fit = fit_triaxial([100.0, 200.0, 300.0], [62.0, 115.0, 171.0])
    with pytest.raises(InputError, match="best_fit, cautious"):
        fit.strength("mean")
