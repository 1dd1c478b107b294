"""The fit from readings to strength: printed examples, and the rules one by one."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose

from slipmargin.strength import (
    EnvelopeFit,
    InputError,
    ShearTests,
    Specimen,
    fit_envelope,
    fit_line,
    read_readings,
    reduce_readings,
)
from slipmargin.strength.laboratory.shear_tests import repeat_std
from slipmargin.strength.line import student_t

Build = Callable[..., ShearTests]


def readings_file(folder: Path, header: list[str], *columns: list[float]) -> Path:
    path = folder / "readings.csv"
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle)
        writer.writerow(["test", *header])
        for number, row in enumerate(zip(*columns, strict=True)):
            writer.writerow([number + 1, *row])
    return path


NORMAL = [50.0, 100.0, 200.0, 300.0]
SHEAR = [37.0, 61.0, 129.0, 181.0]


def test_every_figure_of_a_free_fit_agrees_with_statsmodels(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), intercept="free", confidence=0.9)
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
    cov = theirs.cov_params()
    assert_allclose(fit.best_fit.cohesion, theirs.params[0], rtol=1e-10)
    assert_allclose(math.tan(math.radians(fit.best_fit.friction_angle)), theirs.params[1])
    assert_allclose([fit.standard_error_cohesion, fit.standard_error_tan], theirs.bse, rtol=1e-10)
    assert_allclose(fit.correlation, cov[0, 1] / math.sqrt(cov[0, 0] * cov[1, 1]), rtol=1e-10)
    assert_allclose(fit.residual_std, math.sqrt(theirs.mse_resid), rtol=1e-10)
    assert_allclose(fit.r_squared, theirs.rsquared, rtol=1e-10)
    limits = theirs.conf_int(0.1)
    assert fit.interval is not None
    assert_allclose(fit.interval.cohesion, limits[0], rtol=1e-10)
    assert_allclose(np.tan(np.radians(fit.interval.friction_angle)), limits[1], rtol=1e-10)
    new = sm.add_constant(np.array([60.0, 250.0]))
    band = theirs.get_prediction(new).summary_frame(alpha=0.1)
    band_limits = fit.mean_limits(np.array([60.0, 250.0]))
    assert band_limits is not None
    assert_allclose(band_limits[0], band["mean_ci_lower"], rtol=1e-10)
    assert_allclose(band_limits[1], band["mean_ci_upper"], rtol=1e-10)


def test_intercept_and_slope_are_negatively_correlated(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR))
    x = np.array(NORMAL)
    assert_allclose(fit.correlation, -x.mean() / math.sqrt(np.mean(x**2)), rtol=1e-12)


def test_repeated_readings_of_a_test_are_averaged_and_count_once(tmp_path: Path) -> None:
    path = readings_file(tmp_path, ["normal_stress [kPa]", "shear_stress [kPa]"], [50.0], [30.0])
    path.write_text(
        "test,normal_stress [kPa],shear_stress [kPa]\n"
        "a,50,36\nb,100,61\na,50,38\nc,200,129\nd,300,181\n"
    )
    fit = fit_envelope(reduce_readings(read_readings(path)))
    plain = fit_line(NORMAL, SHEAR)
    assert fit.tests.readings == (2, 1, 1, 1)
    assert fit.degrees_of_freedom == 2
    assert_allclose(fit.best_fit.cohesion, plain.intercept, rtol=1e-12)


def codes(fit: EnvelopeFit) -> set[str]:
    return {notice.code for notice in fit.notices}


NEGATIVE = [28.0, 60.0, 128.0, 199.0]  # its free line meets the axis below zero


def test_non_negative_fits_again_through_the_origin_and_says_so(shear_tests: Build) -> None:
    tests = shear_tests(NORMAL, NEGATIVE)
    assert fit_line(NORMAL, NEGATIVE).intercept < 0.0
    fit, zero = fit_envelope(tests), fit_envelope(tests, intercept="zero")
    assert fit.through_origin
    assert fit.best_fit == zero.best_fit
    assert "negative-intercept-refitted" in codes(fit)
    assert "negative-intercept-refitted" not in codes(zero)


def test_a_refitted_line_keeps_the_doubt_of_the_free_one(shear_tests: Build) -> None:
    """To put c′ to zero adds no knowledge: the errors are those statsmodels gives the free line."""
    shear = [31.0, 58.0, 128.0, 188.0]
    fit = fit_envelope(shear_tests(NORMAL, shear))
    free = sm.OLS(shear, sm.add_constant(NORMAL)).fit()
    cov = free.cov_params()
    assert fit.degrees_of_freedom == 2
    assert_allclose([fit.standard_error_cohesion, fit.standard_error_tan], free.bse, rtol=1e-10)
    assert_allclose(fit.correlation, cov[0, 1] / math.sqrt(cov[0, 0] * cov[1, 1]), rtol=1e-10)
    assert_allclose(fit.residual_std, math.sqrt(free.mse_resid), rtol=1e-10)
    limits = free.conf_int(0.05)
    assert limits[0][0] < 0.0 < limits[0][1]
    assert fit.interval is not None
    assert fit.interval.cohesion is not None
    assert_allclose(fit.interval.cohesion, [0.0, limits[0][1]], rtol=1e-10)
    assert_allclose(np.tan(np.radians(fit.interval.friction_angle)), limits[1], rtol=1e-10)
    ends = free.get_prediction(sm.add_constant(np.array([50.0, 300.0]))).conf_int(alpha=0.1)[:, 0]
    assert ends[0] - 50.0 * (ends[1] - ends[0]) / 250.0 < 0.0  # the chord meets the axis below zero
    assert fit.cautious is not None
    assert fit.cautious.cohesion == 0.0
    assert_allclose(np.tan(np.radians(fit.cautious.friction_angle)), ends[1] / 300.0, rtol=1e-10)


def test_two_tests_with_an_intercept_below_zero_show_no_scatter_either(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 150.0], [25.0, 95.0]))
    assert fit.through_origin
    assert (fit.interval, fit.cautious, fit.standard_error_tan) == (None,) * 3
    assert "two-tests" in codes(fit)


def test_only_a_stated_zero_has_the_doubt_of_a_line_through_the_origin(shear_tests: Build) -> None:
    tests = shear_tests(NORMAL, NEGATIVE)
    theirs = sm.OLS(NEGATIVE, np.array(NORMAL)).fit()
    for stated in ({"intercept": "zero"}, {"cohesionless": True}):
        fit = fit_envelope(tests, **stated)
        assert fit.cohesion_assumed
        assert fit.degrees_of_freedom == 3
        assert_allclose(fit.standard_error_tan, theirs.bse[0], rtol=1e-10)
        assert (fit.standard_error_cohesion, fit.correlation) == (None, None)
        assert "zero-cohesion-assumed" in codes(fit)
        assert "assumed" in str(fit)
    refitted = fit_envelope(tests)
    assert not refitted.cohesion_assumed
    assert "zero-cohesion-assumed" not in codes(refitted)


@pytest.mark.parametrize(
    ("constant", "where"), [(-20.0, "low stress"), (20.0, "high stress"), (0.0, "")]
)
def test_a_stated_zero_that_the_tests_exclude_is_questioned(
    constant: float, where: str, shear_tests: Build
) -> None:
    shear = constant + 0.7 * np.array(NORMAL) + np.array([0.5, -0.5, -0.5, 0.5])
    fit = fit_envelope(shear_tests(NORMAL, shear), intercept="zero")
    found = [n.text for n in fit.notices if n.code == "zero-cohesion-against-tests"]
    assert [where in text for text in found] == [True] * bool(where)


def test_a_line_through_the_origin_that_the_tests_exclude_is_questioned(
    shear_tests: Build,
) -> None:
    shear = -20.0 + 0.7 * np.array(NORMAL) + np.array([0.5, -0.5, -0.5, 0.5])
    fit = fit_envelope(shear_tests(NORMAL, shear))
    assert "intercept-below-zero" in codes(fit)
    assert fit.interval is not None
    assert fit.interval.cohesion == (0.0, 0.0)
    # the limit of the free line is above the line used at the highest stress, and does not count
    assert fit.cautious is not None
    assert float(fit.cautious.friction_angle) <= float(fit.best_fit.friction_angle) * (1 + 1e-12)
    free = fit_line(NORMAL, shear)
    t = student_t(0.95, 2)
    assert float(free.value(300.0) - t * free.standard_error(300.0)) > float(fit.line.value(300.0))


REPEATED = "test,normal_stress [kPa],shear_stress [kPa]\n" + "".join(
    f"{name},{normal},{mean + sign * 10.0}\n"
    for name, normal, mean in (("a", 50, 35), ("b", 100, 65), ("c", 200, 125), ("d", 300, 185))
    for sign in (-1, 1)
)
"""Means on the line 5 + 0.6 σ, every reading 10 kPa off it."""


def test_means_that_lie_on_a_line_by_chance_do_not_hide_the_spread_of_repeats(
    tmp_path: Path,
) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(REPEATED, encoding="utf-8")
    fit = fit_envelope(reduce_readings(read_readings(path)))
    assert_allclose(fit.best_fit.cohesion, 5.0)
    assert fit.residual_std == pytest.approx(0.0, abs=1e-9)
    # one reading: √(Σ 2 · 10² / 1 / 4) = 14.1 kPa; a mean of two: 10 kPa
    assert fit.error_std == pytest.approx(10.0)
    x = np.array([50.0, 100.0, 200.0, 300.0])
    assert fit.standard_error_tan == pytest.approx(10.0 / math.sqrt(np.sum((x - x.mean()) ** 2)))
    assert "spread-of-repeats-governs" in codes(fit)
    assert "reading-band-governs" not in codes(fit)
    assert fit.cautious is None or fit.cautious.cohesion == 0.0


def test_repeats_closer_than_the_scatter_change_nothing(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    rows = zip("abcd", NORMAL, SHEAR, strict=True)
    text = "".join(f"{n},{x},{y - 0.1}\n{n},{x},{y + 0.1}\n" for n, x, y in rows)
    path.write_text("test,normal_stress [kPa],shear_stress [kPa]\n" + text, encoding="utf-8")
    fit = fit_envelope(reduce_readings(read_readings(path)))
    theirs = sm.OLS(SHEAR, sm.add_constant(NORMAL)).fit()
    assert_allclose([fit.standard_error_cohesion, fit.standard_error_tan], theirs.bse, rtol=1e-9)
    assert "spread-of-repeats-governs" not in codes(fit)


def test_the_pooled_spread_is_the_mean_square_within_of_an_analysis_of_variance() -> None:
    groups = [[30.0, 34.0, 29.0], [61.0], [90.0, 97.0]]
    within = sum(np.var(one, ddof=1) * (len(one) - 1) for one in groups if len(one) > 1) / 3.0
    weights = np.mean([1.0 / 3.0, 1.0, 1.0 / 2.0])
    assert repeat_std(groups) == pytest.approx(math.sqrt(within * weights))
    assert math.isnan(repeat_std([[30.0], [60.0]]))


def test_an_intercept_a_little_below_zero_is_refitted_too(shear_tests: Build) -> None:
    normal = np.array([50.0, 100.0, 200.0])
    fit = fit_envelope(shear_tests(normal, 0.6 * normal - 0.1))
    assert fit.through_origin
    assert fit.best_fit.cohesion == 0.0
    assert "negative-intercept-refitted" in codes(fit)


def test_non_negative_is_free_where_the_intercept_is_above_zero(shear_tests: Build) -> None:
    tests = shear_tests(NORMAL, SHEAR)
    fit, free = fit_envelope(tests), fit_envelope(tests, intercept="free")
    assert fit.best_fit == free.best_fit
    assert not fit.through_origin
    assert fit.interval is not None
    assert free.interval is not None
    assert free.interval.cohesion is not None
    assert free.interval.cohesion[0] < 0.0
    assert fit.interval.cohesion == (0.0, free.interval.cohesion[1])


def test_zero_takes_the_lower_limit_of_the_slope_as_cautious(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), intercept="zero", confidence=0.9)
    theirs = sm.OLS(SHEAR, np.array(NORMAL)).fit()
    assert fit.cautious is not None
    assert fit.cautious.cohesion == 0.0
    lower = theirs.conf_int(0.2)[0][0]  # 90 % on one side
    assert_allclose(math.tan(math.radians(fit.cautious.friction_angle)), lower, rtol=1e-10)
    assert fit.interval is not None
    assert fit.interval.cohesion is None


def test_cautious_is_the_chord_of_the_lower_limit_across_the_tested_range(
    shear_tests: Build,
) -> None:
    x = [50.0, 100.0, 200.0, 300.0]
    fit = fit_envelope(shear_tests(x, [52.0, 80.0, 140.0, 201.0]), confidence=0.95)
    assert fit.cautious is not None
    assert fit.cautious.cohesion > 0.0
    line, t = fit.line, student_t(0.95, 2)
    inside = np.linspace(50.0, 300.0, 101)
    limit = line.value(inside) - t * line.standard_error(inside)
    chord = np.asarray(fit.cautious.shear_strength(inside))
    assert_allclose(chord[[0, -1]], limit[[0, -1]], rtol=1e-12)
    assert np.all(chord[1:-1] < limit[1:-1])


def test_a_chord_that_meets_the_axis_below_zero_gives_way_to_a_line_from_the_origin(
    shear_tests: Build,
) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR))
    assert fit.best_fit.cohesion > 0.0
    line, t = fit.line, student_t(0.95, 2)
    low, high = (line.value(x) - t * line.standard_error(x) for x in (50.0, 300.0))
    assert low - 50.0 * (high - low) / 250.0 < 0.0
    assert fit.cautious is not None
    assert fit.cautious.cohesion == 0.0
    assert_allclose(fit.cautious.shear_strength(300.0), high, rtol=1e-12)


def test_two_tests_fix_a_line_but_no_scatter(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests([50.0, 150.0], [40.0, 100.0]))
    assert_allclose(fit.best_fit.cohesion, 10.0)
    assert (fit.standard_error_cohesion, fit.standard_error_tan, fit.correlation) == (None,) * 3
    assert (fit.interval, fit.cautious, fit.residual_std, fit.error_std) == (None,) * 4
    assert fit.mean_limits(100.0) is None
    assert "two-tests" in codes(fit)
    assert "two-tests" in {n.code for n in fit.strength().caveats}
    with pytest.raises(InputError, match="2 tests do not give a usable lower limit"):
        fit.strength("cautious")


def test_one_test_allows_a_line_through_the_origin_only(shear_tests: Build) -> None:
    tests = shear_tests([100.0], [62.0])
    for rule in ("non_negative", "free"):
        with pytest.raises(InputError, match="a line needs two tests"):
            fit_envelope(tests, intercept=rule)
    fit = fit_envelope(tests, intercept="zero")
    assert_allclose(fit.best_fit.friction_angle, math.degrees(math.atan(0.62)))
    assert "one-test" in codes(fit)
    assert fit.cautious is None


def test_wide_reading_bands_carry_the_standard_errors(shear_tests: Build) -> None:
    narrow = fit_envelope(shear_tests(NORMAL, SHEAR, 1.0))
    wide = fit_envelope(shear_tests(NORMAL, SHEAR, 30.0))
    plain = fit_envelope(shear_tests(NORMAL, SHEAR))
    assert narrow.residual_std is not None
    assert narrow.residual_std > 1.0 / math.sqrt(3.0)
    assert narrow.standard_error_tan == plain.standard_error_tan
    assert "reading-band-governs" not in codes(narrow)
    assert_allclose(wide.error_std, 30.0 / math.sqrt(3.0))
    assert wide.error_std is not None
    assert plain.error_std is not None
    ratio = wide.error_std / plain.error_std
    assert plain.standard_error_tan is not None
    assert_allclose(wide.standard_error_tan, ratio * plain.standard_error_tan)
    assert wide.best_fit == plain.best_fit
    assert "reading-band-governs" in codes(wide)


def test_a_reading_given_as_a_band_is_its_middle(tmp_path: Path) -> None:
    path = tmp_path / "bands.csv"
    path.write_text(
        "test,normal_stress [kPa],shear_stress_low [kPa],shear_stress_high [kPa]\n"
        "a,50,34,40\nb,100,57,65\nc,200,127,131\nd,300,177,185\n"
    )
    tests = reduce_readings(read_readings(path))
    assert_allclose(tests.shear, SHEAR)
    halves = np.array([3.0, 4.0, 2.0, 4.0])
    assert_allclose(tests.band_std, math.sqrt(np.mean(halves**2) / 3.0))


def test_a_free_negative_intercept_is_reported_and_no_check_may_use_it(
    shear_tests: Build,
) -> None:
    fit = fit_envelope(shear_tests(NORMAL, NEGATIVE), intercept="free")
    assert fit.best_fit.cohesion < 0.0
    assert "negative-intercept" in codes(fit)
    with pytest.raises(InputError, match="negative cohesion"):
        fit.strength()


def test_three_tests_carry_their_caveat_into_the_strength(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL[:3], SHEAR[:3]))
    assert "few-tests" in {notice.code for notice in fit.strength().caveats}
    four = fit_envelope(shear_tests(NORMAL, SHEAR))
    assert four.strength().caveats == ()
    assert four.strength().tested_range == (50.0, 300.0)


def test_cohesion_is_questioned_where_it_may_be_zero_or_should_be(shear_tests: Build) -> None:
    doubtful = fit_envelope(shear_tests(NORMAL, SHEAR), intercept="free", cohesionless=True)
    assert {"cohesion-not-distinct-from-zero", "cohesion-in-cohesionless-soil"} <= codes(doubtful)
    sure = fit_envelope(shear_tests(NORMAL, [60.0, 90.2, 149.9, 210.1]))
    assert "cohesion-not-distinct-from-zero" not in codes(sure)


def test_forces_without_a_specimen_give_an_angle_and_no_cohesion(shear_tests: Build) -> None:
    newtons = shear_tests(NORMAL, SHEAR, unit="N")
    fit = fit_envelope(newtons)
    assert_allclose(
        fit.best_fit.friction_angle,
        fit_envelope(shear_tests(NORMAL, SHEAR)).best_fit.friction_angle,
    )
    assert "tested-range-unknown" in codes(fit)
    with pytest.raises(InputError, match="readings are forces"):
        fit.strength()
    assert fit_envelope(newtons, intercept="zero").strength().tested_range is None


@pytest.mark.parametrize(
    ("normal", "shear", "options", "message"),
    [
        (NORMAL, SHEAR, {"intercept": "none"}, "intercept"),
        (NORMAL, SHEAR, {"confidence": 1.0}, "confidence"),
        (NORMAL, SHEAR, {"confidence": 1.5}, "confidence"),
        (NORMAL, SHEAR, {"confidence": 0.4}, "confidence"),
        (NORMAL, SHEAR, {"confidence": math.nan}, "confidence"),
        (NORMAL, SHEAR, {"envelope": "curve"}, "envelope"),
        ([100.0, 100.0, 100.0], [60.0, 61.0, 62.0], {}, "two different normal stresses"),
        ([0.0, 0.0], [1.0, 2.0], {"intercept": "zero"}, "above zero"),
        ([0.0], [1.0], {"intercept": "zero"}, "above zero"),
        (NORMAL, [60.0] * 4, {}, "must rise with normal stress"),
        (NORMAL, SHEAR[::-1], {}, "must rise with normal stress"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_a_reason(
    normal: Any, shear: Any, options: dict[str, Any], message: str, shear_tests: Build
) -> None:
    with pytest.raises(InputError, match=message):
        fit_envelope(shear_tests(normal, shear), **options)


def test_a_strength_is_best_fit_or_cautious_and_nothing_else(shear_tests: Build) -> None:
    with pytest.raises(InputError, match="best_fit, cautious"):
        fit_envelope(shear_tests(NORMAL, SHEAR)).strength("mean")


# Facts of the trade; common practice, no source.


def box_readings(folder: Path, normal: list[float], shear: list[float], width: float) -> ShearTests:
    path = readings_file(folder, ["normal_force [N]", "shear_force [N]"], normal, shear)
    return reduce_readings(read_readings(path), Specimen(shape="square", width=width))


def test_clean_dry_sand_is_fitted_through_the_origin(tmp_path: Path) -> None:
    """Common practice, no source: a dry clean sand has no cohesion."""
    tests = box_readings(tmp_path, [180.0, 360.0, 720.0], [121.0, 239.0, 470.0], 60.0)
    fit = fit_envelope(tests, intercept="zero", cohesionless=True)
    assert fit.best_fit.cohesion == 0.0
    assert 30.0 < fit.best_fit.friction_angle < 36.0
    assert "cohesion-in-cohesionless-soil" not in codes(fit)


def test_the_slope_of_force_on_force_is_the_friction_angle_with_no_area_in_it(
    tmp_path: Path,
) -> None:
    """Common practice, no source: the area divides out of tan φ′."""
    normal, shear = [180.0, 360.0, 720.0, 1080.0], [152.0, 260.0, 468.0, 690.0]
    slope = float(np.polyfit(normal, shear, 1)[0])
    for width in (60.0, 100.0):
        fit = fit_envelope(box_readings(tmp_path, normal, shear, width))
        assert_allclose(math.tan(math.radians(fit.best_fit.friction_angle)), slope, rtol=1e-10)


def test_equal_forces_on_a_larger_box_give_less_cohesion_and_the_same_angle(
    tmp_path: Path,
) -> None:
    """Common practice, no source: cohesion is the force intercept over the area."""
    normal, shear = [180.0, 360.0, 720.0, 1080.0], [152.0, 260.0, 468.0, 690.0]
    small, large = (
        fit_envelope(box_readings(tmp_path, normal, shear, width)).best_fit
        for width in (60.0, 100.0)
    )
    assert large.cohesion < small.cohesion
    assert_allclose(small.cohesion / large.cohesion, (100.0 / 60.0) ** 2, rtol=1e-10)
    assert_allclose(small.friction_angle, large.friction_angle, rtol=1e-12)
