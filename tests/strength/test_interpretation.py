"""What each reading of the same tests gives, and stated strengths against the tests."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose

from slipmargin.strength import (
    Choices,
    InputError,
    Pair,
    Readings,
    ShearTests,
    Specimen,
    fit_envelope,
    strength_from_readings,
)
from slipmargin.strength.envelope.interpretation import Interpretation, interpretations
from slipmargin.strength.envelope.stated_strength import StatedAgainstFit, stated_against_fit
from slipmargin.strength.line import student_t

Build = Callable[..., ShearTests]

NORMAL = [25.0, 50.0, 100.0, 200.0]
PEAK = [27.0, 42.0, 71.0, 124.0]
END = [17.0, 33.0, 61.0, 118.0]


@pytest.fixture
def readings() -> Readings:
    return Readings(
        test=("a", "b", "c", "d") * 2,
        state=("peak",) * 4 + ("end_of_test",) * 4,
        normal=np.array(NORMAL * 2),
        shear=np.array(PEAK + END),
        unit="kPa",
    )


def by_name(rows: tuple[Interpretation, ...]) -> dict[str, Interpretation]:
    return {row.name: row for row in rows}


def test_every_interpretation_is_the_fit_it_names(readings: Readings, shear_tests: Build) -> None:
    rows = by_name(
        interpretations(
            readings,
            confidence=0.9,
            stated={"the laboratory": Pair(8.0, 31.0)},
            operating_stress=40.0,
        )
    )
    assert list(rows) == [
        "peak",
        "end of test",
        "zero intercept",
        "cautious",
        "power curve",
        "stated by the laboratory",
    ]
    peak = shear_tests(NORMAL, PEAK)
    fit = fit_envelope(peak, confidence=0.9)
    power = fit_envelope(peak, envelope="power")
    assert fit.cautious is not None
    assert power.curve is not None
    for name, pair in {
        "peak": fit.best_fit,
        "end of test": fit_envelope(shear_tests(NORMAL, END)).best_fit,
        "zero intercept": fit_envelope(peak, intercept="zero").best_fit,
        "cautious": fit.cautious,
        "power curve": power.curve.tangent_at(40.0),
        "stated by the laboratory": Pair(8.0, 31.0),
    }.items():
        found = rows[name]
        assert_allclose(
            (found.cohesion, found.friction_angle), (pair.cohesion, pair.friction_angle)
        )
    assert "40.0 kPa" in rows["power curve"].note
    assert "90%" in rows["cautious"].note


def test_a_power_tangent_outside_the_tested_range_says_so(readings: Readings) -> None:
    row = by_name(interpretations(readings, operating_stress=10.0))["power curve"]
    assert "outside the tested range" in row.note
    row = by_name(interpretations(readings))["power curve"]
    assert "112.5 kPa" in row.note
    assert "outside" not in row.note
    for stress in (0.0, -1.0, math.nan):
        with pytest.raises(InputError, match="operating_stress"):
            interpretations(readings, operating_stress=stress)


def test_a_point_of_the_test_that_is_unknown_is_refused(readings: Readings) -> None:
    with pytest.raises(InputError, match="allowed: peak"):
        interpretations(readings, state="highest")


def test_what_the_readings_cannot_give_is_left_out(readings: Readings) -> None:
    two = np.array([0, 1])
    few = replace(
        readings,
        test=("a", "b"),
        state=("peak", "peak"),
        normal=readings.normal[two],
        shear=readings.shear[two],
        low=readings.low[two],
        high=readings.high[two],
    )
    assert list(by_name(interpretations(few))) == ["peak", "zero intercept", "power curve"]


def test_readings_at_end_of_test_only_are_used_where_no_peak_is(readings: Readings) -> None:
    later = replace(readings, state=("end_of_test",) * 8)
    rows = by_name(interpretations(later))
    assert "peak" not in rows
    assert "end of test" in rows["zero intercept"].note


def test_forces_without_a_specimen_give_angles_through_the_origin(readings: Readings) -> None:
    newtons = replace(readings, unit="N")
    rows = by_name(interpretations(newtons))
    assert {row.cohesion for row in rows.values()} == {0.0}
    assert "power curve" not in rows
    box = Specimen(shape="square", width=60.0)
    assert by_name(interpretations(newtons, box))["peak"].cohesion > 0.0


def test_of_a_soil_declared_cohesionless_no_other_reading_has_a_cohesion() -> None:
    """Its cautious reading is the cautious value that a check of it takes."""
    readings = Readings(test="1234", normal=[25.0, 50, 100, 150], shear=[20.3, 35.2, 65.8, 94.9])
    found = strength_from_readings(readings, choices=Choices(cohesionless=True))
    rows = by_name(found.interpretations())
    for name, value in (("peak", "best_fit"), ("cautious", "cautious")):
        held = found.strength(value)
        assert (rows[name].cohesion, held.cohesion) == (0.0, 0.0)
        assert rows[name].friction_angle == pytest.approx(held.friction_angle)


def test_the_cautious_reading_of_a_curve_is_the_cautious_curve_that_a_check_takes() -> None:
    readings = Readings(test="1234", normal=[25.0, 50, 100, 150], shear=[20.3, 35.2, 65.8, 94.9])
    found = strength_from_readings(readings, choices=Choices(envelope="power"))
    row = by_name(found.interpretations())["cautious"]
    assert row.strength == found.fit.strength("cautious")
    assert row.strength.shear_strength(25.0) < found.strength().shear_strength(25.0)


# Stated strengths.

X = [50.0, 100.0, 200.0, 300.0, 400.0]
Y = [46.0, 74.0, 137.0, 190.0, 256.0]


def codes(result: StatedAgainstFit) -> set[str]:
    return {notice.code for notice in result.notices}


def test_a_stated_pair_is_judged_as_statsmodels_does(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(X, Y), intercept="free")
    stated = Pair(12.0, 33.0)
    found = stated_against_fit(fit, stated, "the laboratory")
    theirs = sm.OLS(Y, sm.add_constant(X)).fit()
    slope = math.tan(math.radians(33.0))
    joint = theirs.f_test((np.eye(2), np.array([12.0, slope])))
    assert found.distance is not None
    assert_allclose(found.distance**2 / 2.0, float(joint.fvalue), rtol=1e-8)
    assert_allclose(found.probability, float(joint.pvalue), rtol=1e-8)
    for row, errors in (([1, 0], found.cohesion_errors), ([0, 1], found.tan_errors)):
        value = 12.0 if row[0] else slope
        alone = theirs.t_test((np.array([row]), np.array([value])))
        assert_allclose(errors, -alone.tvalue.item(), rtol=1e-8)


def test_the_fit_itself_is_no_distance_away(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(X, Y))
    found = stated_against_fit(fit, fit.best_fit, "us")
    assert_allclose(found.distance, 0.0, atol=1e-6)
    assert_allclose(found.probability, 1.0)
    assert found.misses == ()
    assert found.notices == ()


def test_a_pair_can_be_doubtful_while_each_of_its_numbers_is_fair(shear_tests: Build) -> None:
    """Both a little high, where the errors of the fit run against each other."""
    fit = fit_envelope(shear_tests(X, Y))
    assert fit.standard_error_cohesion is not None
    assert fit.standard_error_tan is not None
    tan = math.tan(math.radians(fit.best_fit.friction_angle)) + 2.2 * fit.standard_error_tan
    pair = Pair(
        fit.best_fit.cohesion + 2.2 * fit.standard_error_cohesion, math.degrees(math.atan(tan))
    )
    found = stated_against_fit(fit, pair, "the certificate")
    assert found.cohesion_errors is not None
    assert found.tan_errors is not None
    assert found.probability is not None
    assert max(abs(found.cohesion_errors), abs(found.tan_errors)) < student_t(0.975, 3)
    assert found.probability < 0.05
    assert "stated-strength-doubtful" in codes(found)
    assert len(found.misses) > 0
    assert all(offset > 0.0 for _, offset in found.misses)


def test_a_pair_below_every_test_is_no_caution(shear_tests: Build) -> None:
    found = stated_against_fit(fit_envelope(shear_tests(X, Y)), Pair(0.0, 25.0), "the report")
    assert codes(found) == {"stated-strength-below-tests"}
    assert found.notices[0].severity == "info"


def test_a_pair_without_cohesion_is_held_against_a_fit_through_the_origin_by_its_angle(
    shear_tests: Build,
) -> None:
    fit = fit_envelope(shear_tests(X, Y), intercept="zero")
    found = stated_against_fit(fit, Pair(0.0, 34.0), "the report")
    theirs = sm.OLS(Y, np.array(X)).fit()
    alone = theirs.t_test((np.array([[1.0]]), np.array([math.tan(math.radians(34.0))])))
    assert found.cohesion_errors is None
    assert_allclose(found.probability, float(alone.pvalue), rtol=1e-8)
    assert found.distance == pytest.approx(abs(found.tan_errors or 0.0))
    claims = stated_against_fit(fit, Pair(10.0, 31.0), "the report")
    assert claims.cohesion_errors is not None


def test_three_tests_cannot_rule_a_line_out_but_show_what_it_misses(shear_tests: Build) -> None:
    tests = shear_tests([50.0, 100.0, 200.0], [40.0, 70.0, 125.0], 1.0)
    found = stated_against_fit(fit_envelope(tests), Pair(10.0, 31.0), "eye")
    assert found.probability is not None
    assert found.probability > 0.05
    assert [name for name, _ in found.misses] == ["T3"]
    assert codes(found) == {"stated-strength-misses-tests"}


def test_two_tests_judge_no_stated_strength(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 200.0], [40.0, 130.0]))
    fair = stated_against_fit(fit, Pair(10.0, 31.0), "the report")
    assert (fair.distance, fair.probability, fair.cohesion_errors) == (None, None, None)
    assert codes(fair) == {"stated-strength-untested"}
    off = stated_against_fit(fit, Pair(30.0, 38.0), "the report")
    assert codes(off) == {"stated-strength-untested", "stated-strength-misses-tests"}


def test_wide_reading_bands_excuse_a_stated_line(shear_tests: Build) -> None:
    stated = Pair(16.0, 32.5)
    narrow = stated_against_fit(fit_envelope(shear_tests(X, Y, 0.5)), stated, "x")
    wide = stated_against_fit(fit_envelope(shear_tests(X, Y, 20.0)), stated, "x")
    assert wide.distance is not None
    assert narrow.distance is not None
    assert wide.distance < narrow.distance
    assert len(wide.misses) < len(narrow.misses)


@pytest.mark.parametrize("pair", [Pair(-1.0, 30.0), Pair(1.0, 90.0), Pair(math.nan, 30.0)])
def test_a_stated_pair_that_is_no_strength_is_refused(pair: Pair, shear_tests: Build) -> None:
    with pytest.raises(InputError):
        stated_against_fit(fit_envelope(shear_tests(X, Y)), pair, "x")


def test_true_pairs_are_doubted_as_often_as_stated(shear_tests: Build) -> None:
    """One series in twenty, over 600 series of four tests."""
    rng = np.random.default_rng(21)
    x = np.array([50.0, 100.0, 200.0, 300.0])
    truth = Pair(10.0, 30.0)
    mean = np.asarray(truth.shear_strength(x))
    doubted = 0
    for noise in rng.normal(0.0, 3.0, (600, 4)):
        fit = fit_envelope(shear_tests(x, mean + noise), intercept="free")
        probability = stated_against_fit(fit, truth, "nature").probability
        assert probability is not None
        doubted += probability < 0.05
    assert 0.03 <= doubted / 600 <= 0.07


def test_a_state_that_gives_no_line_is_left_out_unless_it_was_asked_for(
    readings: Readings,
) -> None:
    falling = replace(readings, shear=np.array([*PEAK, *END[::-1]]))
    assert "end of test" not in by_name(interpretations(falling))
    with pytest.raises(InputError, match="must rise"):
        interpretations(falling, state="end_of_test")


def test_a_curve_that_bends_upward_is_no_interpretation(readings: Readings) -> None:
    normal = np.array(NORMAL)
    upward = replace(readings, shear=np.array([*(0.02 * normal**1.6), *END]))
    rows = by_name(interpretations(upward))
    assert "peak" in rows
    assert "power curve" not in rows
