"""Diagnostics against statsmodels, published data and data made to misbehave."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from statsmodels.stats.outliers_influence import OLSInfluence

from slipmargin.cli.verification.rows import published_rows
from slipmargin.strength import InputError, ShearTests, fit_envelope
from slipmargin.strength.envelope.diagnosis import Diagnosis
from slipmargin.strength.envelope.diagnostics import diagnose, theil_sen
from slipmargin.strength.laboratory.soil_class import soil_class

Build = Callable[..., ShearTests]

NORMAL = [50.0, 100.0, 150.0, 250.0, 400.0]
SHEAR = [42.0, 66.0, 104.0, 158.0, 255.0]


def anscombe(number: int) -> NDArray[np.float64]:
    """Both columns of a set, in order of x."""
    (row,) = (row for row in published_rows("strength") if row.id == f"anscombe_{number}")
    x, y = np.array(list(row.inputs["readings"].values()), dtype=float)
    order = np.argsort(x)
    return np.array([x[order], y[order]])


def codes(diagnosis: Diagnosis) -> set[str]:
    return {notice.code for notice in diagnosis.notices}


@pytest.mark.parametrize("rule", ["free", "zero"])
@pytest.mark.parametrize("count", [4, 5, 9])
def test_influence_agrees_with_statsmodels(count: int, rule: str, shear_tests: Build) -> None:
    rng = np.random.default_rng(count)
    x = np.sort(rng.uniform(30.0, 400.0, count))
    y = 20.0 + 0.6 * x + rng.normal(0.0, 5.0, count)
    fit = fit_envelope(shear_tests(x, y), intercept=rule)
    rows = diagnose(fit).influences
    design = sm.add_constant(x) if rule == "free" else x[:, None]
    theirs = OLSInfluence(sm.OLS(y, design).fit())
    assert_allclose([row.leverage for row in rows], theirs.hat_matrix_diag, rtol=1e-9)
    assert_allclose([row.residual for row in rows], theirs.resid, rtol=1e-7, atol=1e-9)
    assert_allclose(
        [row.deleted_residual for row in rows], theirs.resid_studentized_external, rtol=1e-7
    )
    for i, row in enumerate(rows):
        kept = np.arange(count) != i
        refit = sm.OLS(y[kept], design[kept]).fit().params
        assert row.without is not None
        assert_allclose(math.tan(math.radians(row.without.friction_angle)), refit[-1], rtol=1e-9)
        if rule == "free":
            assert_allclose(row.without.cohesion, refit[0], rtol=1e-9)


@pytest.mark.parametrize("rule", ["free", "zero"])
def test_curvature_is_the_t_test_of_a_quadratic_term(rule: str, shear_tests: Build) -> None:
    found = diagnose(fit_envelope(shear_tests(NORMAL, SHEAR), intercept=rule)).curvature
    x = np.array(NORMAL)
    design = np.column_stack([x, x**2] if rule == "zero" else [np.ones(5), x, x**2])
    theirs = sm.OLS(SHEAR, design).fit()
    assert found is not None
    assert_allclose(found.quadratic, theirs.params[-1], rtol=1e-8)
    assert_allclose(found.t, theirs.tvalues[-1], rtol=1e-8)
    assert_allclose(found.probability, theirs.pvalues[-1], rtol=1e-8)


def test_the_rule_for_the_intercept_holds_without_each_test_too(shear_tests: Build) -> None:
    """Without its first test this series would meet the axis below zero."""
    fit = fit_envelope(shear_tests([50.0, 100.0, 200.0, 300.0], [40.0, 60.0, 130.0, 195.0]))
    rows = diagnose(fit).influences
    assert np.polyfit([100.0, 200.0, 300.0], [60.0, 130.0, 195.0], 1)[1] < 0.0
    assert rows[0].without is not None
    assert rows[0].without.cohesion == 0.0
    free = fit_envelope(fit.tests, intercept="free")
    without = diagnose(free).influences[0].without
    assert without is not None
    assert without.cohesion < 0.0


def test_three_tests_leave_nothing_to_judge_one_by(shear_tests: Build) -> None:
    diagnosis = diagnose(fit_envelope(shear_tests(NORMAL[:3], SHEAR[:3])))
    assert all(row.deleted_residual is None for row in diagnosis.influences)
    assert all(row.without is not None for row in diagnosis.influences)
    assert diagnosis.curvature is None
    assert diagnosis.comparison.preferred is None


def test_two_tests_and_one_are_diagnosed_without_complaint(shear_tests: Build) -> None:
    two = diagnose(fit_envelope(shear_tests([50.0, 150.0], [40.0, 100.0])))
    assert [row.without for row in two.influences] == [None, None]
    assert "few-normal-stresses" in codes(two)
    one = diagnose(fit_envelope(shear_tests([100.0], [62.0]), intercept="zero"))
    assert [row.without for row in one.influences] == [None]
    assert "few-normal-stresses" in codes(one)


def test_a_test_that_alone_gives_the_slope_has_full_leverage_and_no_line_without_it(
    shear_tests: Build,
) -> None:
    """Anscombe (1973), set 4: one point carries the slope."""
    tests = shear_tests(*anscombe(4))
    diagnosis = diagnose(fit_envelope(tests))
    last = diagnosis.influences[-1]
    assert_allclose(last.leverage, 1.0, rtol=1e-12)
    assert last.without is None
    assert last.deleted_residual is None
    assert {"high-leverage-test", "few-normal-stresses"} <= codes(diagnosis)


def test_points_on_a_line_but_one_show_the_one(shear_tests: Build) -> None:
    """Anscombe (1973), set 3: the tenth point, at x = 13, is off an exact line."""
    x, y = anscombe(3)
    tests = shear_tests(x, y)
    diagnosis = diagnose(fit_envelope(tests))
    off = [n for n in diagnosis.notices if n.code == "test-off-line"]
    assert len(off) == 1
    assert f"Test T{int(np.flatnonzero(x == 13.0)[0]) + 1} " in off[0].text
    assert "test-decides-strength" in codes(diagnosis)
    assert "robust-line-differs" in codes(diagnosis)
    assert diagnosis.robust is not None
    assert_allclose(math.tan(math.radians(diagnosis.robust.friction_angle)), 0.346, atol=0.001)


def test_curvature_is_seen_by_its_sign(shear_tests: Build) -> None:
    """Anscombe (1973), set 2, is a parabola that bends down."""
    assert "envelope-curved" in codes(diagnose(fit_envelope(shear_tests(*anscombe(2)))))
    upward = [12.0, 30.0, 66.0, 150.0, 330.0]
    found = diagnose(fit_envelope(shear_tests(NORMAL, upward), intercept="free"))
    assert "envelope-bends-upward" in codes(found)


def test_a_bend_that_is_not_proven_is_hinted_at_from_five_tests_on(shear_tests: Build) -> None:
    bent = [36.0, 76.0, 104.0, 162.0, 243.0]
    five = diagnose(fit_envelope(shear_tests(NORMAL, bent)))
    assert "residuals-hint-at-curvature" in codes(five)
    assert "envelope-curved" not in codes(five)
    four = diagnose(fit_envelope(shear_tests(NORMAL[:4], bent[:4])))
    assert "residuals-hint-at-curvature" not in codes(four)


def test_a_clean_series_earns_no_caution(shear_tests: Build) -> None:
    x = np.array([50.0, 100.0, 150.0, 200.0, 250.0])
    shear = 10.0 + 0.6 * x + np.array([1.0, -1.5, 0.5, 1.0, -1.0])
    diagnosis = diagnose(fit_envelope(shear_tests(x, shear, 1.5)), "SM")
    assert all(notice.severity == "info" for notice in diagnosis.notices)


def test_tests_close_in_stress_are_pointed_out(shear_tests: Build) -> None:
    close = diagnose(fit_envelope(shear_tests([90.0, 100.0, 110.0], [60.0, 66.5, 72.0])))
    assert "tests-close-in-stress" in codes(close)
    apart = diagnose(fit_envelope(shear_tests([50.0, 100.0, 200.0], [38.0, 66.5, 128.0])))
    assert "tests-close-in-stress" not in codes(apart)


def test_repeats_at_one_stress_are_not_further_stresses(shear_tests: Build) -> None:
    tests = shear_tests([50.0, 50.5, 200.0, 201.0], [38.0, 40.0, 128.0, 131.0])
    assert "few-normal-stresses" in codes(diagnose(fit_envelope(tests)))


def test_scatter_beyond_the_reading_bands_is_pointed_out(shear_tests: Build) -> None:
    assert "scatter-beyond-readings" in codes(diagnose(fit_envelope(shear_tests(NORMAL, SHEAR, 1))))
    for half_band in (15.0, None):
        quiet = diagnose(fit_envelope(shear_tests(NORMAL, SHEAR, half_band)))
        assert "scatter-beyond-readings" not in codes(quiet)


def test_values_outside_the_published_range_of_the_class_are_pointed_out(
    shear_tests: Build,
) -> None:
    steep = fit_envelope(shear_tests(NORMAL, [60.0, 110.0, 165.0, 270.0, 428.0]))
    assert steep.best_fit.friction_angle > 45.0
    above = next(n for n in diagnose(steep, "SP").notices if "above-class" in n.code)
    assert "27 to 39 deg" in above.text
    assert "from memory" in above.ground
    flat = shear_tests(NORMAL, [20.0, 34.0, 48.0, 75.0, 117.0])
    assert "friction-angle-below-class-range" in codes(diagnose(fit_envelope(flat), "SW"))
    later = shear_tests(NORMAL, flat.shear, state="residual")
    assert "friction-angle-below-class-range" not in codes(diagnose(fit_envelope(later), "SW"))


def test_cohesion_above_that_of_the_soaked_class_is_pointed_out(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, 15.0 + 0.55 * np.array(NORMAL)))
    assert "cohesion-above-class-range" in codes(diagnose(fit, "CL"))  # 270 psf, 12.9 kPa
    assert "cohesion-above-class-range" not in codes(diagnose(fit, "SM"))  # 420 psf, 20.1 kPa
    assert "cohesion-above-class-range" not in codes(diagnose(fit, "GM"))  # none published
    assert "cohesion-above-class-range" in codes(diagnose(fit, "sw"))


def test_a_dual_symbol_spans_both_classes_and_an_unknown_one_is_refused() -> None:
    dual = soil_class("SP-SM")
    assert dual.friction_angle == (27.0, 39.0)
    assert_allclose(dual.cohesion_saturated, 420.0 * 0.0478802589803358, rtol=1e-6)
    assert soil_class("GP-GM").cohesion_saturated is None
    for symbol in ("", "XX", "SP-SM-ML", "SP-"):
        with pytest.raises(InputError, match="soil_class"):
            soil_class(symbol)


def test_points_on_one_line_are_diagnosed_without_dividing_by_zero(shear_tests: Build) -> None:
    exact = fit_envelope(shear_tests(NORMAL, 0.5 * np.array(NORMAL)), intercept="zero")
    diagnosis = diagnose(exact)
    assert "test-off-line" not in codes(diagnosis)
    assert diagnosis.robust is not None
    assert_allclose(diagnosis.robust.friction_angle, math.degrees(math.atan(0.5)))


def test_good_series_are_accused_of_a_stray_test_no_more_often_than_stated(
    shear_tests: Build,
) -> None:
    """One series in twenty, whatever the number of tests: 400 series of seven."""
    rng = np.random.default_rng(3)
    x = np.array([25.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0])
    accused = 0
    for noise in rng.normal(0.0, 2.0, (400, 7)):
        fit = fit_envelope(shear_tests(x, 40.0 + 0.6 * x + noise))
        accused += "test-off-line" in codes(diagnose(fit))
    assert 0.015 <= accused / 400 <= 0.085


@pytest.mark.parametrize("seed", range(5))
def test_the_robust_line_has_the_slope_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    # pairs of tests under the same load have no slope and are left out
    x = rng.choice([25.0, 50.0, 75.0, 100.0, 150.0], size=7)
    y = 5.0 + 0.6 * x + rng.normal(0.0, 4.0, x.size)
    found = theil_sen(x, y)
    theirs = scipy.stats.theilslopes(y, x)
    assert found is not None
    assert_allclose(math.tan(math.radians(found.friction_angle)), theirs.slope, rtol=1e-12)
    assert_allclose(found.cohesion, np.median(y - theirs.slope * x), rtol=1e-12)


@pytest.mark.parametrize(
    ("normal", "shear", "through_origin"),
    [
        ([50.0, 50.0], [40.0, 42.0], False),  # pairs without a slope
        ([0.0, 0.0], [4.0, 5.0], True),  # nothing loaded
        ([50.0, 100.0, 200.0], [90.0, 60.0, 20.0], False),  # falling
        ([50.0, 100.0], [0.0, 0.0], True),  # nothing held
    ],
)
def test_where_no_slope_exists_there_is_no_robust_line(
    normal: list[float], shear: list[float], through_origin: bool
) -> None:
    assert theil_sen(normal, shear, through_origin=through_origin) is None
