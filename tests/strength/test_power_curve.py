"""The power curve against closed forms, statsmodels-free refits and the line."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import curve_fit

from slipmargin.strength import InputError, ShearTests, Strength, fit_envelope
from slipmargin.strength.envelope.comparison import compare_envelopes
from slipmargin.strength.envelope.power_curve import PowerCurve, fit_power_curve
from slipmargin.strength.line import student_t

Build = Callable[..., ShearTests]

NORMAL = np.array([25.0, 50.0, 100.0, 200.0, 400.0])
SHEAR = np.array([26.0, 42.0, 77.0, 128.0, 226.0])


def test_fit_and_covariance_agree_with_a_general_curve_fit() -> None:
    curve = fit_power_curve(NORMAL, SHEAR)
    parameters, covariance = curve_fit(
        lambda x, a, n: a * 101.325 * (x / 101.325) ** n, NORMAL, SHEAR, p0=(0.5, 0.9)
    )
    assert_allclose([curve.coefficient, curve.exponent], parameters, rtol=1e-6)
    a, n, joint = curve.variances
    assert_allclose([[a, joint], [joint, n]], covariance, rtol=1e-4)


def test_the_reference_pressure_changes_the_numbers_and_not_the_curve() -> None:
    one, other = (fit_power_curve(NORMAL, SHEAR, reference_pressure=p) for p in (101.325, 1.0))
    at = np.array([10.0, 77.0, 500.0])
    assert_allclose(one.shear_strength(at), other.shear_strength(at), rtol=1e-9)
    assert_allclose(one.standard_error(at), other.standard_error(at), rtol=1e-6)
    assert_allclose(one.exponent, other.exponent, rtol=1e-10)


@settings(max_examples=50, deadline=None)
@given(a=st.floats(0.1, 2.0), n=st.floats(0.4, 1.0), scatter=st.floats(0.0, 2.0))
def test_a_known_curve_is_found_again(a: float, n: float, scatter: float) -> None:
    rng = np.random.default_rng(5)
    true = PowerCurve(coefficient=a, exponent=n, tested_range=(25.0, 400.0))
    noise = scatter * rng.normal(size=5)
    found = fit_power_curve(NORMAL, np.asarray(true.shear_strength(NORMAL)) + noise)
    if scatter == 0.0:
        assert_allclose([found.coefficient, found.exponent], [a, n], rtol=1e-7)
    normal_equations = np.log(NORMAL / 101.325) * np.asarray(found.shear_strength(NORMAL))
    left = np.asarray(true.shear_strength(NORMAL)) + noise - found.shear_strength(NORMAL)
    assert_allclose(np.sum(left * normal_equations), 0.0, atol=1e-6 * np.sum(SHEAR**2))
    assert_allclose(np.sum(left * found.shear_strength(NORMAL)), 0.0, atol=1e-6 * np.sum(SHEAR**2))


def test_with_exponent_one_it_is_a_line_through_the_origin() -> None:
    curve = PowerCurve(coefficient=0.6, exponent=1.0, tested_range=(50.0, 200.0))
    angle = math.degrees(math.atan(0.6))
    for pair in (curve.tangent_at(80.0), curve.chord):
        assert_allclose([pair.cohesion, pair.friction_angle], [0.0, angle], atol=1e-12)


def test_the_tangent_touches_the_curve() -> None:
    curve = fit_power_curve(NORMAL, SHEAR)
    at = np.array([30.0, 90.0, 300.0])
    tangent = curve.tangent_at(at)
    assert_allclose(tangent.shear_strength(at), curve.shear_strength(at), rtol=1e-12)
    step = 1e-4
    slope = (np.asarray(curve.shear_strength(at + step)) - curve.shear_strength(at - step)) / (
        2.0 * step
    )
    assert_allclose(np.tan(np.radians(tangent.friction_angle)), slope, rtol=1e-8)
    away = np.linspace(1.0, 500.0, 200)
    for i in range(3):
        touching = curve.tangent_at(float(at[i])).shear_strength(away)
        assert np.all(touching >= np.asarray(curve.shear_strength(away)) - 1e-9)


def test_the_tangent_at_zero_stress_stands_upright_and_is_refused() -> None:
    curve = fit_power_curve(NORMAL, SHEAR)
    for stress in (0.0, -5.0, np.array([10.0, 0.0]), math.nan):
        with pytest.raises(InputError, match="above 0 kPa"):
            curve.tangent_at(stress)
    assert_allclose(curve.shear_strength(np.array([-5.0, 0.0])), 0.0)


def test_arrays_of_coefficients_go_straight_through() -> None:
    a, n = np.array([0.6, 0.7]), np.array([0.8, 0.9])
    many = PowerCurve(coefficient=a, exponent=n, tested_range=(50.0, 200.0))
    for i in range(2):
        one = PowerCurve(coefficient=float(a[i]), exponent=float(n[i]), tested_range=(50.0, 200.0))
        assert_allclose(np.asarray(many.shear_strength(90.0))[i], one.shear_strength(90.0))
        assert_allclose(np.asarray(many.chord.cohesion)[i], one.chord.cohesion)
        assert_allclose(
            np.asarray(many.tangent_at(90.0).friction_angle)[i],
            one.tangent_at(90.0).friction_angle,
        )


def test_the_chord_is_below_the_curve_in_the_tested_range_and_above_it_outside() -> None:
    curve = fit_power_curve(NORMAL, SHEAR)
    assert 0.0 < float(curve.exponent) < 1.0
    inside, outside = np.linspace(26.0, 399.0, 50), np.array([5.0, 20.0, 450.0])
    chord = curve.chord
    assert np.all(chord.shear_strength(inside) < curve.shear_strength(inside))
    assert np.all(chord.shear_strength(outside) > curve.shear_strength(outside))
    upward = PowerCurve(coefficient=0.6, exponent=1.2, tested_range=(50.0, 200.0))
    assert upward.chord.cohesion == 0.0
    inside = np.linspace(50.5, 400.0, 50)
    assert np.all(upward.chord.shear_strength(inside) < upward.shear_strength(inside))


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), scatter=st.floats(0.5, 6.0), n=st.floats(0.6, 1.0))
def test_the_cautious_curve_is_nowhere_above_the_lower_limit(
    seed: int, scatter: float, n: float
) -> None:
    rng = np.random.default_rng(seed)
    shear = 70.0 * (NORMAL / 101.325) ** n + rng.normal(0.0, scatter, 5)
    curve = fit_power_curve(NORMAL, np.maximum(shear, 0.5))
    cautious = curve.cautious(0.95)
    if cautious is None:
        return
    inside = np.linspace(25.0, 400.0, 301)
    limit = curve.shear_strength(inside) - student_t(0.95, 3) * curve.standard_error(inside)
    assert np.all(cautious.shear_strength(inside) <= limit * (1.0 + 1e-9) + 1e-9)
    assert 0.0 < float(cautious.exponent) <= 1.0


def test_the_error_of_the_curve_is_that_of_repeated_series() -> None:
    """The delta method against 2,000 refitted series, at the lowest and the middle stress."""
    rng = np.random.default_rng(8)
    true = PowerCurve(coefficient=0.7, exponent=0.8, tested_range=(25.0, 400.0))
    at = np.array([25.0, 120.0])
    mean = np.asarray(true.shear_strength(NORMAL))
    heights, covered = [], []
    for noise in rng.normal(0.0, 2.0, (2000, 5)):
        curve = fit_power_curve(NORMAL, mean + noise)
        heights.append(curve.shear_strength(at))
        margin = student_t(0.975, 3) * curve.standard_error(at)
        covered.append(abs(curve.shear_strength(at) - true.shear_strength(at)) <= margin)
    exact = fit_power_curve(NORMAL, mean, band_std=2.0)
    assert_allclose(np.std(heights, axis=0, ddof=1), exact.standard_error(at), rtol=0.05)
    shares = np.mean(covered, axis=0)
    assert np.all((shares >= 0.93) & (shares <= 0.97))


def test_reading_bands_carry_the_errors_where_they_are_wider() -> None:
    plain, banded = (fit_power_curve(NORMAL, SHEAR, band_std=b) for b in (0.1, 12.0))
    assert banded.coefficient == plain.coefficient
    ratio = 12.0 / plain.residual_std
    assert_allclose(banded.standard_error(90.0), ratio * plain.standard_error(90.0), rtol=1e-9)


def test_two_tests_fix_a_curve_but_no_scatter() -> None:
    curve = fit_power_curve([50.0, 200.0], [40.0, 120.0])
    assert_allclose(curve.shear_strength(np.array([50.0, 200.0])), [40.0, 120.0], rtol=1e-10)
    assert math.isnan(curve.residual_std)
    assert curve.cautious() is None
    assert np.isnan(curve.standard_error(100.0))


@pytest.mark.parametrize(
    ("normal", "shear", "message"),
    [
        ([0.0, 100.0, 200.0], [5.0, 60.0, 110.0], "only tests above 0 kPa"),
        ([100.0, 100.0], [60.0, 62.0], "two different normal stresses"),
        ([50.0, 100.0, 200.0], [120.0, 80.0, 40.0], "must rise"),
    ],
)
def test_what_no_curve_fits_is_refused(normal: Any, shear: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        fit_power_curve(normal, shear)


@pytest.mark.parametrize(
    "fields", [{"coefficient": 0.0}, {"exponent": -1.0}, {"tested_range": (0.0, 10.0)}]
)
def test_a_curve_that_is_none_is_refused(fields: dict[str, Any]) -> None:
    good = {"coefficient": 0.6, "exponent": 0.8, "tested_range": (50.0, 200.0)}
    with pytest.raises(InputError):
        PowerCurve(**(good | fields))


def test_data_that_tell_no_curve_from_another_are_refused() -> None:
    with pytest.raises(InputError, match="no power curve fits them"):
        fit_power_curve([1.0, 1e3, 1e6], [1.0, 5.0, 1e6])
    with pytest.raises(InputError, match="do not tell the power curve from others"):
        fit_power_curve([50.0, 100.0, 200.0], [1e-300, 1e-300, 1.1e-300])


def curve(**fields: Any) -> PowerCurve:
    known = {"variances": (1e-4, 1e-4, 0.0), "degrees_of_freedom": 3, "reference_pressure": 100.0}
    usual = {"coefficient": 0.6, "exponent": 0.8, "tested_range": (100.0, 400.0)}
    return PowerCurve(**(usual | known | fields))


def lower_limit(curve: PowerCurve, stress: np.ndarray) -> np.ndarray:
    return curve.shear_strength(stress) - student_t(0.95, 3) * curve.standard_error(stress)


def test_a_limit_that_is_not_above_zero_or_falls_gives_no_cautious_curve() -> None:
    assert curve().cautious() is not None
    assert curve(variances=(0.1, 0.0, 0.0)).cautious() is None  # the limit is below zero
    falls = curve(exponent=0.05, variances=(0.0, 0.01, 0.0))
    limit = lower_limit(falls, np.array([100.0, 400.0]))
    assert 0.0 < limit[1] < limit[0]
    assert falls.cautious() is None


def test_a_limit_that_would_bend_upward_gives_way_to_its_secant_at_the_lowest_stress() -> None:
    bent = curve(exponent=1.3)
    found = bent.cautious()
    assert found is not None
    assert found.exponent == 1.0
    stress = np.linspace(100.0, 400.0, 31)
    limit = lower_limit(bent, stress)
    assert found.shear_strength(100.0) == pytest.approx(float(limit[0]))
    assert np.all(found.shear_strength(stress) <= limit * (1.0 + 1e-12))


def test_the_error_of_the_height_is_that_of_the_delta_method() -> None:
    """At pa the exponent does not count: τ = A pa, and its error is that of A times pa."""
    assert curve().standard_error(100.0) == pytest.approx(0.01 * 100.0)
    # at pa e, with cov(A, n): (e^0.8)² (100² var A + 2 (60)(100) cov + 60² var n)
    joint = -5e-5
    at = 100.0 * math.e
    variance = math.exp(1.6) * (1e4 * 1e-4 + 2.0 * 60.0 * 100.0 * joint + 60.0**2 * 1e-4)
    error = curve(variances=(1e-4, 1e-4, joint)).standard_error(at)
    assert error == pytest.approx(math.sqrt(variance))
    assert curve().standard_error(0.0) == 0.0


# The strength a check gets.


def test_a_power_envelope_gives_a_strength_along_the_curve(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), envelope="power")
    strength = fit.strength()
    assert fit.curve is not None
    assert_allclose(strength.shear_strength(60.0), fit.curve.shear_strength(60.0))
    assert strength.cohesion == fit.curve.chord.cohesion
    assert strength.tested_range == (25.0, 400.0)
    assert "curved-envelope-used" in {notice.code for notice in strength.caveats}
    tangent = strength.tangent_at(60.0)
    assert_allclose(tangent.shear_strength(60.0), strength.shear_strength(60.0))
    line = fit_envelope(shear_tests(NORMAL, SHEAR))
    assert fit.best_fit == line.best_fit
    assert line.strength().tangent_at(60.0) == line.best_fit


def test_the_cautious_power_strength_is_the_cautious_curve(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), envelope="power", confidence=0.9)
    assert fit.curve is not None
    strength = fit.strength("cautious")
    assert strength.curve == fit.curve.cautious(0.9)
    inside = np.linspace(25.0, 400.0, 20)
    assert np.all(strength.shear_strength(inside) < fit.strength().shear_strength(inside))
    two = fit_envelope(shear_tests(NORMAL[:2], SHEAR[:2]), envelope="power")
    with pytest.raises(InputError, match="usable lower limit"):
        two.strength("cautious")


def test_a_pair_changed_beside_its_curve_is_refused_rather_than_ignored() -> None:
    strength = Strength.from_curve(fit_power_curve(NORMAL, SHEAR))
    with pytest.raises(InputError, match="power curve and its pair follows"):
        replace(strength, friction_angle=np.array([20.0, 30.0]))
    with pytest.raises(InputError, match="power curve and its pair follows"):
        replace(strength, cohesion=0.0)
    assert replace(strength, cohesion=0.0, curve=None).shear_strength(0.0) == 0.0


def test_an_upward_bend_is_reported_and_travels(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 100.0, 200.0], [20.0, 50.0, 130.0]), envelope="power")
    assert fit.curve is not None
    assert float(fit.curve.exponent) > 1.0
    assert "power-exponent-above-one" in {notice.code for notice in fit.strength().caveats}


def test_forces_have_no_power_curve(shear_tests: Build) -> None:
    with pytest.raises(InputError, match="a power curve needs stresses"):
        fit_envelope(shear_tests(NORMAL, SHEAR, unit="N"), envelope="power")


# Line or curve.


def test_the_comparison_is_that_of_fits_with_each_test_left_out() -> None:
    found = compare_envelopes(NORMAL, SHEAR)
    line_errors, curve_errors = [], []
    for i in range(5):
        x, y = np.delete(NORMAL, i), np.delete(SHEAR, i)
        slope, constant = np.polyfit(x, y, 1)
        line_errors.append(SHEAR[i] - constant - slope * NORMAL[i])
        (a, n), _ = curve_fit(lambda v, a, n: a * v**n, x, y, p0=(1.0, 0.9))
        curve_errors.append(SHEAR[i] - a * NORMAL[i] ** n)
    assert_allclose(found.line, np.sqrt(np.mean(np.square(line_errors))), rtol=1e-9)
    assert_allclose(found.power, np.sqrt(np.mean(np.square(curve_errors))), rtol=1e-5)


def test_the_comparison_prefers_what_made_the_data_and_keeps_silent_on_three_tests() -> None:
    straight = 9.0 + 0.6 * NORMAL + np.array([0.3, -0.4, 0.2, -0.2, 0.1])
    bent = 75.0 * (NORMAL / 100.0) ** 0.75 + np.array([0.3, -0.4, 0.2, -0.2, 0.1])
    assert compare_envelopes(NORMAL, straight).preferred == "line"
    assert compare_envelopes(NORMAL, bent).preferred == "power"
    few = compare_envelopes(NORMAL[:3], bent[:3])
    assert (few.line, few.power, few.preferred) == (None, None, None)
