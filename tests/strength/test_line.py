"""The least-squares line against statsmodels, plain loops and simulation."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.testing import assert_allclose
from scipy.special import fdtri

from slipmargin.strength import fit_line
from slipmargin.strength.envelope.cautious import cautious_line
from slipmargin.strength.line import student_t


@pytest.mark.parametrize("intercept", [True, False])
@pytest.mark.parametrize("count", [3, 4, 7, 40])
def test_everything_agrees_with_statsmodels(count: int, intercept: bool) -> None:
    rng = np.random.default_rng(count)
    x = rng.uniform(20.0, 400.0, count)
    y = 8.0 + 0.6 * x + rng.normal(0.0, 5.0, count)
    ours = fit_line(x, y, intercept=intercept)
    design = sm.add_constant(x) if intercept else x
    theirs = sm.OLS(y, design).fit()
    parameters = [ours.intercept, ours.slope] if intercept else [ours.slope]
    assert_allclose(parameters, theirs.params, rtol=1e-10)
    a, b, ab = (ours.residual_variance * factor for factor in ours.variance_factors)
    covariance = np.array([[a, ab], [ab, b]]) if intercept else np.array([[b]])
    assert_allclose(covariance, theirs.cov_params(), rtol=1e-10)
    assert_allclose(ours.r_squared, theirs.rsquared, rtol=1e-10)
    at = np.array([0.0, 50.0, 170.0, 600.0])
    new = np.column_stack([np.ones(4), at]) if intercept else at
    band = theirs.get_prediction(new).summary_frame(alpha=0.05)
    t = student_t(0.975, ours.degrees_of_freedom)
    assert_allclose(ours.standard_error(at), band["mean_se"], rtol=1e-10)
    assert_allclose(ours.value(at) + t * ours.standard_error(at), band["mean_ci_upper"], rtol=1e-10)
    stated = np.array([5.0, 0.58]) if intercept else np.array([0.58])
    wald = theirs.f_test((np.eye(stated.size), stated))
    assert_allclose(ours.distance(5.0, 0.58) / stated.size, float(wald.fvalue), rtol=1e-9)


@pytest.mark.parametrize("intercept", [True, False])
def test_many_series_at_once_equal_a_plain_loop(intercept: bool) -> None:
    rng = np.random.default_rng(4)
    x = rng.uniform(10.0, 300.0, (6, 5))
    y = 3.0 + 0.5 * x + rng.normal(0.0, 4.0, x.shape)
    together = fit_line(x, y, intercept=intercept)
    for row in range(6):
        alone = fit_line(x[row], y[row], intercept=intercept)
        n = 5
        if intercept:
            mean_x, mean_y = sum(x[row]) / n, sum(y[row]) / n
            sxx = sum((v - mean_x) ** 2 for v in x[row])
            slope = sum((v - mean_x) * (w - mean_y) for v, w in zip(x[row], y[row], strict=True))
            slope /= sxx
            constant = mean_y - slope * mean_x
        else:
            slope = sum(v * w for v, w in zip(x[row], y[row], strict=True)) / sum(x[row] ** 2)
            constant = 0.0
        left = sum((w - constant - slope * v) ** 2 for v, w in zip(x[row], y[row], strict=True))
        for line, pick in ((together, row), (alone, ())):
            assert_allclose(line.slope[pick], slope, rtol=1e-12)
            assert_allclose(line.intercept[pick], constant, atol=1e-10)
            assert_allclose(
                line.residual_variance[pick], left / (n - (2 if intercept else 1)), rtol=1e-10
            )
        assert_allclose(together.leverage(x)[row], alone.leverage(x[row]), rtol=1e-12)
        assert_allclose(together.distance(1.0, 0.5)[row], alone.distance(1.0, 0.5), rtol=1e-10)
        ends = (x.min(axis=-1), x.max(axis=-1))
        scatter = np.sqrt(together.residual_variance)
        many = cautious_line(together, *ends, scatter, 0.95)
        one = cautious_line(alone, ends[0][row], ends[1][row], scatter[row], 0.95)
        assert_allclose([v[row] for v in many], one, rtol=1e-10, atol=1e-12)


def test_leverages_sum_to_the_number_of_parameters() -> None:
    x = np.array([25.0, 50.0, 100.0, 200.0, 400.0])
    for intercept, parameters in ((True, 2.0), (False, 1.0)):
        line = fit_line(x, 0.6 * x + 1.0, intercept=intercept)
        assert_allclose(np.sum(line.leverage(x)), parameters, rtol=1e-12)


def test_a_line_needs_two_different_stresses() -> None:
    assert math.isnan(fit_line([50.0, 50.0, 50.0], [30.0, 31.0, 32.0]).slope)
    assert math.isnan(fit_line([0.0, 0.0], [1.0, 2.0], intercept=False).slope)
    exact = fit_line([50.0, 100.0], [30.0, 60.0])
    assert math.isnan(exact.residual_variance)
    assert exact.degrees_of_freedom == 0


@pytest.mark.parametrize("size", [1e-5, 1.0, 1e5])
def test_stresses_that_differ_by_round_off_are_one_at_any_size(size: float) -> None:
    shear = [30.0, 31.0, 33.0]
    one = fit_line(size * np.array([0.1, 0.1, 0.1]), shear)  # their mean is not 0.1 to the bit
    near = fit_line(size * np.array([1.0, 1.0 + 1e-10, 1.0]), shear)
    for line in (one, near):
        assert math.isnan(line.slope)
        assert math.isnan(line.intercept)
        assert np.all(np.isnan(line.variance_factors))
    assert math.isfinite(fit_line(size * np.array([1.0, 1.0 + 1e-8, 1.0]), shear).slope)


@pytest.mark.parametrize("cohesion", [0.3, 0.9, 4.0])
def test_a_cautious_chord_that_meets_the_axis_above_zero_is_kept_however_low(
    cohesion: float,
) -> None:
    normal = np.array([50.0, 100.0, 200.0, 300.0])
    line = fit_line(normal, cohesion + 0.6 * normal)  # no scatter: the chord is the line
    assert_allclose(cautious_line(line, 50.0, 300.0, 0.0, 0.95), (cohesion, 0.6), rtol=1e-9)


def test_no_stress_at_all_leaves_a_line_through_the_origin_unknown() -> None:
    line = fit_line([0.0, 0.0, 0.0], [1.0, 2.0, 3.0], intercept=False)
    assert math.isnan(line.slope)
    assert math.isnan(line.residual_variance)
    assert math.isnan(line.variance_factors[1])


@settings(max_examples=60, deadline=None)
@given(
    x=arrays(float, 5, elements=st.floats(1.0, 500.0), unique=True),
    y=arrays(float, 5, elements=st.floats(0.0, 400.0)),
    factor=st.floats(0.1, 50.0),
    shift=st.floats(-50.0, 50.0),
)
def test_scaling_and_shifting_the_readings_scales_and_shifts_the_line(
    x: Any, y: Any, factor: float, shift: float
) -> None:
    if np.ptp(x) < 1.0:
        return
    base = fit_line(x, y)
    scaled = fit_line(factor * x, factor * y)
    shifted = fit_line(x, y + shift)
    size = 1e-7 * (1.0 + np.max(np.abs(y)) * (1.0 + np.max(x) / np.ptp(x)))
    assert_allclose(scaled.slope, base.slope, rtol=1e-8, atol=1e-9)
    assert_allclose(scaled.intercept, factor * base.intercept, rtol=1e-8, atol=factor * size)
    assert_allclose(shifted.intercept, base.intercept + shift, rtol=1e-8, atol=size)


# Coverage by simulation. The bounds on 20,000 series are about five sampling errors wide.
STRESSES = np.array([50.0, 100.0, 200.0, 300.0])
TRUE = {True: (6.0, math.tan(math.radians(31.0))), False: (0.0, math.tan(math.radians(31.0)))}
SERIES = 20_000


def series(intercept: bool, seed: int) -> Any:
    rng = np.random.default_rng(seed)
    a, b = TRUE[intercept]
    return a + b * STRESSES + rng.normal(0.0, 4.0, (SERIES, STRESSES.size))


@pytest.mark.parametrize("intercept", [True, False])
def test_intervals_of_95_percent_cover_93_to_97_percent_of_the_time(intercept: bool) -> None:
    line = fit_line(STRESSES, series(intercept, 11), intercept=intercept)
    a, b = TRUE[intercept]
    t = student_t(0.975, line.degrees_of_freedom)
    of_intercept, of_slope, _ = line.variance_factors
    covered = {"slope": abs(line.slope - b) <= t * np.sqrt(line.residual_variance * of_slope)}
    parameters = 1
    if intercept:
        parameters = 2
        error = np.sqrt(line.residual_variance * of_intercept)
        covered["intercept"] = abs(line.intercept - a) <= t * error
    limit = float(fdtri(parameters, line.degrees_of_freedom, 0.95))
    covered["jointly"] = line.distance(a, b) / parameters <= limit
    middle = abs(line.value(175.0) - a - 175.0 * b) <= t * line.standard_error(175.0)
    covered["mean strength"] = middle
    for name, hits in covered.items():
        share = float(np.mean(hits))
        assert 0.93 <= share <= 0.97, f"{name}: {share:.4f}"


def test_separate_intervals_do_not_cover_the_pair_as_often() -> None:
    """Both error bars at once: the reason why the pair must be judged jointly."""
    line = fit_line(STRESSES, series(True, 12))
    a, b = TRUE[True]
    t = student_t(0.975, line.degrees_of_freedom)
    both = (abs(line.intercept - a) <= t * np.sqrt(_var(line, 0))) & (
        abs(line.slope - b) <= t * np.sqrt(_var(line, 1))
    )
    assert float(np.mean(both)) < 0.945


def _var(line: Any, which: int) -> Any:
    return line.residual_variance * line.variance_factors[which]


@pytest.mark.parametrize("confidence", [0.80, 0.95])
@pytest.mark.parametrize(
    ("rule", "cohesion"),
    [
        ("non_negative", 2.0),
        ("non_negative", 12.0),
        ("free", 2.0),
        ("free", 12.0),
        ("zero", 0.0),
    ],
)
def test_the_cautious_line_is_below_the_true_line_as_often_as_stated(
    rule: str, cohesion: float, confidence: float
) -> None:
    rng = np.random.default_rng(13)
    slope = math.tan(math.radians(31.0))
    y = cohesion + slope * STRESSES + rng.normal(0.0, 4.0, (SERIES, STRESSES.size))
    middle = 175.0

    line = fit_line(STRESSES, y, intercept=rule != "zero")
    reported = fit_line(STRESSES, y, intercept=False) if rule == "non_negative" else None
    scatter = np.sqrt(line.residual_variance)
    a, b = cautious_line(line, 50.0, 300.0, scatter, confidence)
    height = a + b * middle
    if reported is not None:
        a, b = cautious_line(line, 50.0, 300.0, scatter, confidence, reported=reported)
        height = np.where(line.intercept < 0.0, a + b * middle, height)
    # where no usable limit exists the cautious value is refused, and nothing is overstated
    below = ~(height > cohesion + slope * middle)
    sampling = 3.0 * math.sqrt(confidence * (1.0 - confidence) / SERIES)
    assert float(np.mean(below)) >= confidence - sampling


def test_a_free_intercept_in_a_soil_without_cohesion_costs_the_cautious_line_one_percent() -> None:
    """The line from the origin to the limit at the highest stress is above the limit below it."""
    rng = np.random.default_rng(13)
    slope = math.tan(math.radians(31.0))
    y = slope * STRESSES + rng.normal(0.0, 4.0, (SERIES, STRESSES.size))
    line = fit_line(STRESSES, y)
    a, b = cautious_line(line, 50.0, 300.0, np.sqrt(line.residual_variance), 0.95)
    below = ~(a + b * 175.0 > slope * 175.0)
    assert 0.935 <= float(np.mean(below)) <= 0.95
