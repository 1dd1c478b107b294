"""The joint doubt in c′ and tan φ′ against statsmodels and the laws it must follow."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose
from scipy import stats

from strength import InputError, ShearTests, fit_envelope
from strength.joint import JointStrength

Build = Callable[..., ShearTests]

NORMAL = np.array([25.0, 50.0, 100.0, 150.0, 200.0])
SHEAR = np.array([24.0, 41.0, 68.0, 103.0, 128.0])


def tangents(angles: np.ndarray) -> np.ndarray:
    return np.tan(np.radians(angles))


def test_too_few_tests_have_no_joint_doubt(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 100.0], [35.0, 66.0]))
    with pytest.raises(InputError, match="too few tests to know the doubt"):
        JointStrength.of(fit)


def test_forces_give_no_cohesion_but_an_angle(shear_tests: Build) -> None:
    forces = shear_tests(NORMAL, SHEAR, unit="N")
    with pytest.raises(InputError, match="needs the specimen's width"):
        JointStrength.of(fit_envelope(forces))
    joint = JointStrength.of(fit_envelope(forces, intercept="zero"))
    assert joint.through_origin
    assert joint.cohesion == 0.0


def test_the_scale_is_the_covariance_that_statsmodels_gives(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
    assert not joint.through_origin
    assert_allclose(joint.scale, theirs.cov_params(), rtol=1e-9)


def test_a_line_through_the_origin_has_the_doubt_of_its_slope_alone(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR), intercept="zero"))
    theirs = sm.OLS(SHEAR, NORMAL).fit()
    cohesion, angle = joint.region(0.9)
    assert_allclose(cohesion, [0.0, 0.0])
    assert_allclose(tangents(angle), theirs.conf_int(alpha=0.1)[0], rtol=1e-9)
    far = joint.distance(0.0, 30.0)
    assert far == pytest.approx(float(theirs.f_test(([1.0], [tangents(30.0)])).fvalue))
    assert joint.distance(1.0, 30.0) == math.inf
    c, phi = joint.pairs(np.random.default_rng(0).random((1000, 3)))
    assert_allclose(c, 0.0)
    assert np.ptp(phi) > 0.0


def test_the_covariance_is_that_of_a_t_and_from_two_degrees_down_there_is_none(
    shear_tests: Build,
) -> None:
    """ν / (ν - 2) times the scale: Draper & Smith; statsmodels gives the scale."""
    normal = np.array([25.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0])
    shear = np.array([24.0, 41.0, 52.0, 68.0, 103.0, 128.0, 190.0])

    def joint(count: int) -> JointStrength:
        return JointStrength.of(fit_envelope(shear_tests(normal[:count], shear[:count])))

    assert [joint(count).degrees_of_freedom for count in (3, 4, 5)] == [1, 2, 3]
    assert joint(3).covariance is None
    assert joint(4).covariance is None
    for count in (5, 7):
        theirs = sm.OLS(shear[:count], sm.add_constant(normal[:count])).fit()
        found = joint(count).covariance
        assert found is not None
        nu = count - 2.0
        assert_allclose(found, nu / (nu - 2.0) * theirs.cov_params(), rtol=1e-9)


def test_the_shadows_of_the_smaller_outline_are_the_single_intervals(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
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
        assert joint.distance(float(c), float(phi)) == pytest.approx(stats.f.ppf(0.95, 2, 3))


def test_each_of_a_sampled_pair_follows_its_own_t(shear_tests: Build) -> None:
    joint = JointStrength.of(fit_envelope(shear_tests(NORMAL, SHEAR)))
    c, phi = joint.pairs(np.random.default_rng(3).random((20_000, 3)))
    errors = np.sqrt(np.diag(joint.scale))
    for drawn, centre, error in zip(
        (c, tangents(phi)), (joint.cohesion, joint.tan_friction_angle), errors, strict=True
    ):
        assert stats.kstest((drawn - centre) / error, stats.t(3).cdf).pvalue > 0.01
    # the one may not be drawn without the other
    ranks = stats.spearmanr(c, phi).statistic
    rho = joint.scale[0, 1] / errors.prod()
    # the Pearson correlation of the ranks of a normal pair, near that of a t
    assert ranks == pytest.approx(6.0 / math.pi * math.asin(rho / 2.0), abs=0.05)


def test_a_pair_is_a_strength_from_no_cohesion_upward_and_above_no_friction() -> None:
    cohesion, angle = np.array([-1e-9, 0.0, 5.0, 5.0]), np.array([30.0, 30.0, 0.0, 1e-9])
    assert JointStrength.possible(cohesion, angle).tolist() == [False, True, False, True]
