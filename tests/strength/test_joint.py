"""The joint uncertainty of c′ and tan φ′ against statsmodels and the laws it must follow."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose
from scipy import optimize, stats
from shapely.geometry import Polygon, box

from slipmargin.strength import InputError, ShearTests, fit_envelope
from slipmargin.strength.envelope.joint import JointStrength

Build = Callable[..., ShearTests]

NORMAL = np.array([25.0, 50.0, 100.0, 150.0, 200.0])
SHEAR = np.array([24.0, 41.0, 68.0, 103.0, 128.0])


def tangents(angles: np.ndarray) -> np.ndarray:
    return np.tan(np.radians(angles))


def test_too_few_tests_have_no_joint_doubt(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 100.0], [35.0, 66.0]))
    with pytest.raises(InputError, match="too few tests to know the uncertainty"):
        JointStrength.of(fit)


def test_forces_give_no_cohesion_but_an_angle(shear_tests: Build) -> None:
    forces = shear_tests(NORMAL, SHEAR, unit="N")
    with pytest.raises(InputError, match="needs the specimen's width"):
        JointStrength.of(fit_envelope(forces))
    joint = JointStrength.of(fit_envelope(forces, intercept="zero"))
    assert joint.through_origin
    assert joint.intercept == 0.0


def test_the_scale_is_the_covariance_that_statsmodels_gives(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
    assert not joint.through_origin
    assert_allclose(joint.factor @ joint.factor.T, theirs.cov_params(), rtol=1e-9)


def test_a_line_through_the_origin_has_the_doubt_of_its_slope_alone(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR), intercept="zero"))
    theirs = sm.OLS(SHEAR, NORMAL).fit()
    cohesion, angle = joint.region(0.9)
    assert_allclose(cohesion, [0.0, 0.0])
    assert_allclose(tangents(angle), theirs.conf_int(alpha=0.1)[0], rtol=1e-9)
    c, tan = joint.draw(np.random.default_rng(0).random((1000, 2)))
    assert_allclose(c, 0.0)
    assert np.ptp(tan) > 0.0


def test_one_deviation_either_way_is_that_of_a_t_and_of_its_scale_where_there_is_none(
    shear_tests: Build,
) -> None:
    """ν / (ν - 2) times the scale: Draper & Smith; statsmodels gives the scale."""
    normal = np.array([25.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0])
    shear = np.array([44.0, 61.0, 72.0, 88.0, 123.0, 148.0, 210.0])
    for count, ratio in ((4, 1.0), (5, 3.0), (7, 5.0 / 3.0)):
        joint = JointStrength.of(fit_envelope(shear_tests(normal[:count], shear[:count])))
        theirs = sm.OLS(shear[:count], sm.add_constant(normal[:count])).fit()
        half = np.array([np.subtract(up, down) / 2.0 for up, down in joint.around()])
        assert_allclose(half.T @ half, ratio * theirs.cov_params(), rtol=1e-9)


def test_the_shadows_of_the_smaller_outline_are_the_single_intervals(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR + 20.0)))
    theirs = sm.OLS(SHEAR + 20.0, sm.add_constant(NORMAL)).fit()
    cohesion, angle = joint.region(0.95, points=20_001, single=True)
    shadows = [
        [cohesion.min(), cohesion.max()],
        [tangents(angle).min(), tangents(angle).max()],
    ]
    assert_allclose(shadows, theirs.conf_int(alpha=0.05), rtol=1e-6)


def test_the_joint_outline_is_scheffes(shear_tests: Build) -> None:
    """Every pair on it lies at the F of two parameters, by statsmodels' test of that pair."""
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
    assert joint.region(0.95)[0].size == 180
    cohesion, angle = joint.region(0.95, points=9)
    assert (cohesion[0], angle[0]) == pytest.approx((cohesion[-1], angle[-1]))  # closed
    for c, phi in zip(cohesion, angle, strict=True):
        pair = np.array([c, tangents(phi)])
        assert float(theirs.f_test((np.eye(2), pair)).pvalue) == pytest.approx(0.05)


def test_each_of_a_sampled_pair_follows_its_own_t(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    c, tan = joint.draw(np.random.default_rng(3).random((20_000, 2)))
    scale = joint.factor @ joint.factor.T
    errors = np.sqrt(np.diag(scale))
    for drawn, centre, error in zip((c, tan), (joint.intercept, joint.slope), errors, strict=True):
        assert stats.kstest((drawn - centre) / error, stats.t(3).cdf).pvalue > 0.01
    # the one may not be drawn without the other
    ranks = stats.spearmanr(c, tan).statistic
    rho = scale[0, 1] / errors.prod()
    # the Pearson correlation of the ranks of a normal pair, near that of a t
    assert ranks == pytest.approx(6.0 / math.pi * math.asin(rho / 2.0), abs=0.05)


NEGATIVE = np.array([14.0, 29.0, 62.0, 98.0, 128.0])  # its free line meets the axis below zero


def test_a_drawn_line_below_the_axis_is_put_where_least_squares_puts_it(shear_tests: Build) -> None:
    """The heights of a drawn line at the tests, fitted again by scipy with c′ and tan φ′ >= 0."""
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL[:3], SHEAR[:3])))
    drawn = np.random.default_rng(5).normal([0.0, 0.2], [20.0, 0.3], (200, 2))
    c, tan = joint.lifted(drawn[:, 0], drawn[:, 1])
    assert np.all(c >= 0.0)
    assert np.all(tan > 0.0)
    design = np.stack([np.ones(3), NORMAL[:3]], axis=1)
    for line, found in zip(drawn, np.stack([c, tan], axis=1), strict=True):
        nearest = optimize.nnls(design, design @ line)[0]
        assert_allclose(found, nearest, rtol=1e-6, atol=2e-5)


def test_no_draw_is_thrown_away_and_none_below_zero_is_left(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, NEGATIVE)))
    assert joint.intercept < 0.0  # the distribution is about the free line
    uniforms = np.random.default_rng(3).random((40_000, 2))
    c, tan = joint.draw(uniforms)
    assert c.shape == tan.shape == (40_000,)
    assert c.min() == 0.0
    assert np.mean(c == 0.0) == pytest.approx(joint.share_lifted, abs=0.01)
    assert joint.share_lifted > 0.5


def test_the_centre_is_the_fitted_pair(shear_tests: Build) -> None:
    for shear in (SHEAR, NEGATIVE):
        fit = fit_envelope(shear_tests(NORMAL, shear))
        centre = JointStrength.of(fit).centre
        assert centre == pytest.approx((fit.best_fit.cohesion, fit.best_fit.tan_friction_angle))


def test_a_region_is_the_part_of_scheffes_with_no_cohesion_below_zero(shear_tests: Build) -> None:
    """Its area is that of the ellipse of the free line inside c′ >= 0, by shapely."""
    fit = fit_envelope(shear_tests(NORMAL, NEGATIVE))
    theirs = sm.OLS(NEGATIVE, sm.add_constant(NORMAL)).fit()
    reach = math.sqrt(2.0 * stats.f.ppf(0.95, 2, 3))
    turn = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]  # so few that a wrong crossing shows
    factor = np.linalg.cholesky(theirs.cov_params())
    ellipse = theirs.params + (reach * factor @ np.stack([np.cos(turn), np.sin(turn)])).T
    kept = Polygon(ellipse).intersection(box(0.0, 0.0, 1e3, 1e3))
    cohesion, angle = JointStrength.of(fit).region(0.95, points=25)
    assert (cohesion[0], angle[0]) == (cohesion[-1], angle[-1])
    found = Polygon(np.stack([cohesion, tangents(angle)], axis=1))
    assert found.area == pytest.approx(kept.area, rel=1e-9)
    assert found.symmetric_difference(kept).area < 1e-9 * kept.area
    assert cohesion.min() == 0.0


def test_a_region_with_nothing_above_zero_is_an_interval_about_the_fitted_pair(
    shear_tests: Build,
) -> None:
    below = 0.7 * NORMAL - 15.0 + np.array([0.1, -0.1, 0.0, -0.1, 0.1])
    fit = fit_envelope(shear_tests(NORMAL, below))
    cohesion, angle = JointStrength.of(fit).region(0.95)
    assert cohesion.tolist() == [0.0, 0.0]
    assert angle[0] < float(fit.best_fit.friction_angle) < angle[1]


def test_a_t_has_a_mean_from_two_degrees_of_freedom_up_and_a_deviation_from_three(
    shear_tests: Build,
) -> None:
    found = [
        JointStrength.of(fit_envelope(shear_tests(NORMAL[:n], SHEAR[:n]))).moments
        for n in (3, 4, 5)
    ]
    assert found == [0, 1, 2]
