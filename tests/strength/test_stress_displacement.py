"""Peak, end of test and residual picked from stress-displacement records."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.signal import savgol_filter

from slipmargin.strength import (
    InputError,
    Readings,
    Severity,
    ShearTests,
    Specimen,
    fit_envelope,
    read_readings,
)
from slipmargin.strength.envelope.plot import plot_with_records
from slipmargin.strength.laboratory.area_correction import overlap_factor
from slipmargin.strength.laboratory.local_quadratic import FEWEST_ROWS, local_quadratic, noise_about
from slipmargin.strength.laboratory.picked_points import PickedTest
from slipmargin.strength.laboratory.record import traverses
from slipmargin.strength.laboratory.record_plot import plot_records
from slipmargin.strength.laboratory.stress_displacement import reduce_tests

Floats = NDArray[np.float64]

TRAVEL = np.linspace(0.0, 8.0, 81)
BOX = Specimen(shape="square", width=60.0)
PEAK, LAST = 90.0, 60.0


def brittle(moved: Floats, at: float = 1.6, peak: float = PEAK, last: float = LAST) -> Floats:
    """Rises to a known peak as a parabola, falls as a bell to a known last value."""
    rise = peak * (1.0 - (1.0 - np.minimum(moved / at, 1.0)) ** 2)
    fall = last + (peak - last) * np.exp(-((np.maximum(moved - at, 0.0) / at) ** 2))
    return np.where(moved < at, rise, fall)


def ductile(moved: Floats, last: float = 80.0) -> Floats:
    return last * moved / (0.4 + moved)


def record(shear: Floats, moved: Floats = TRAVEL, **more: Any) -> Readings:
    return Readings(
        **{
            "test": ("A",) * moved.size,
            "displacement": moved,
            "shear": shear,
            "normal": np.full(moved.size, 100.0),
        }
        | more
    )


def picked(readings: Readings, specimen: Specimen | None = None) -> PickedTest:
    (test,) = reduce_tests(readings, specimen).details
    return test


def codes(tests: ShearTests) -> set[str]:
    return {notice.code for notice in tests.notices}


# --- smoothing ---------------------------------------------------------------------------


def test_even_rows_give_the_filter_of_savitzky_and_golay() -> None:
    y = np.random.default_rng(5).normal(size=TRAVEL.size)
    smooth = local_quadratic(TRAVEL, y, 0.51)
    assert_allclose(smooth.value[5:-5], savgol_filter(y, 11, 2)[5:-5], atol=1e-12)
    slope = savgol_filter(y, 11, 2, deriv=1, delta=0.1)
    assert_allclose(smooth.slope[5:-5], slope[5:-5], atol=1e-11)


@given(st.integers(0, 10_000), st.integers(8, 60), st.floats(0.05, 3.0))
@settings(max_examples=30, deadline=None)
def test_uneven_rows_give_what_a_loop_of_parabolas_gives(
    seed: int, count: int, half: float
) -> None:
    rng = np.random.default_rng(seed)
    x, y = np.sort(rng.uniform(0.0, 8.0, count)), rng.normal(size=count)
    smooth = local_quadratic(x, y, half)
    for i in range(count):
        near = np.flatnonzero(np.abs(x - x[i]) <= half)
        first = min(max(i - FEWEST_ROWS // 2, 0), count - FEWEST_ROWS)
        low, high = min(near[0], first), max(near[-1] + 1, first + FEWEST_ROWS)
        line = np.polynomial.Polynomial.fit(x[low:high] - x[i], y[low:high], 2).convert()
        scale = 1.0 + np.max(np.abs(smooth.slope[i]))
        assert_allclose(smooth.value[i], line.coef[0], atol=1e-6 * scale)


def test_a_parabola_is_kept_and_equal_places_do_no_harm() -> None:
    x = np.sort(np.concatenate([np.linspace(0, 8, 30), np.full(9, 4.0)]))
    smooth = local_quadratic(x, 3.0 + 2.0 * x - 0.5 * x**2, 0.8, at=[1.3, 4.0])
    assert_allclose(smooth.value, 3.0 + 2.0 * smooth.at - 0.5 * smooth.at**2)
    assert_allclose(smooth.slope, 2.0 - smooth.at)


def test_noise_is_recovered_from_the_record() -> None:
    rng = np.random.default_rng(11)
    estimates = []
    for _ in range(100):
        y = brittle(TRAVEL) + rng.normal(0.0, 1.5, TRAVEL.size)
        estimates.append(noise_about(local_quadratic(TRAVEL, y, 0.4), y))
    assert np.mean(estimates) == pytest.approx(1.5, rel=0.1)


# --- peak --------------------------------------------------------------------------------


@pytest.mark.parametrize("noise", [0.5, 1.0, 2.0])
def test_a_noisy_record_gives_back_its_known_peak_within_the_noise(noise: float) -> None:
    rng = np.random.default_rng(2024)
    errors, stated, raw = [], [], []
    for _ in range(300):
        shear = brittle(TRAVEL) + rng.normal(0.0, noise, TRAVEL.size)
        peak = picked(record(shear), BOX).peak
        assert peak.found_by == "largest"
        errors.append(peak.shear - PEAK)
        stated.append(peak.standard_error)
        raw.append(shear.max() - PEAK)
    assert np.sqrt(np.mean(np.square(errors))) < 0.7 * noise
    assert np.max(np.abs(errors)) < 2.0 * noise
    assert abs(np.mean(errors)) < 0.6 * np.mean(stated)
    assert np.mean(np.abs(errors) < 2.0 * np.array(stated)) > 0.9
    assert np.mean(raw) > 2.0 * abs(np.mean(errors))


@pytest.mark.parametrize(("share", "cut"), [(0.2, 0.001), (0.1, 0.001), (0.05, 0.008)])
def test_bias_on_a_sharp_peak_is_as_stated(share: float, cut: float) -> None:
    peak = picked(record(brittle(TRAVEL, at=share * 8.0)), BOX).peak
    assert abs(peak.shear / PEAK - 1.0) < cut


def test_peak_survives_uneven_rows_and_jitter_of_the_displacement_gauge() -> None:
    rng = np.random.default_rng(3)
    moved = np.concatenate([np.arange(0.0, 1.0, 0.02), np.arange(1.0, 8.0, 0.15)])
    moved = np.maximum(moved + rng.normal(0.0, 0.03, moved.size), 0.0)
    assert np.any(np.diff(moved) < 0.0)
    found = picked(record(brittle(moved), moved), BOX)
    assert len(found.traverses) == 1
    assert found.peak.shear == pytest.approx(PEAK, rel=0.01)
    assert found.peak.displacement == pytest.approx(1.6, abs=0.3)


def test_a_long_record_is_averaged_in_blocks_and_keeps_its_peak() -> None:
    moved = np.linspace(0.0, 8.0, 50_000)
    shear = brittle(moved) + np.random.default_rng(8).normal(0.0, 2.0, moved.size)
    found = picked(record(shear, moved), BOX)
    assert found.smooth_displacement.size <= 2000
    assert found.peak.shear == pytest.approx(PEAK, abs=0.2)


def test_without_a_peak_the_stress_at_ten_percent_is_taken() -> None:
    # ASTM D3080, definition of failure (from memory)
    moved = np.linspace(0.0, 9.0, 91)
    tests = reduce_tests(record(ductile(moved), moved), BOX)
    assert tests.details[0].peak.found_by == "ten_percent"
    assert tests.displacement is not None
    assert_allclose(tests.displacement, [6.0])
    assert_allclose(tests.shear, ductile(np.array([6.0])), rtol=1e-4)
    assert codes(tests) == {"no-peak"}


@pytest.mark.parametrize("specimen", [None, Specimen(shape="square", width=100.0)])
def test_a_test_that_stopped_sooner_gives_its_last_part_with_a_caution(
    specimen: Specimen | None,
) -> None:
    tests = reduce_tests(record(ductile(TRAVEL)), specimen)
    last = TRAVEL >= 7.2 - 1e-9
    assert_allclose(tests.shear, ductile(TRAVEL[last]).mean())
    (notice,) = tests.notices
    assert (notice.code, notice.severity) == ("no-peak-before-the-end", Severity.CAUTION)


def test_noise_alone_is_no_peak() -> None:
    rng = np.random.default_rng(77)
    plateau = 80.0 * np.minimum(TRAVEL / 1.0, 1.0)
    found = [
        picked(record(plateau + rng.normal(0.0, 1.0, TRAVEL.size)), BOX).peak.found_by
        for _ in range(100)
    ]
    assert found.count("largest") <= 15


# --- end of test -------------------------------------------------------------------------


def test_end_of_test_is_the_mean_over_the_last_tenth_of_the_travel() -> None:
    shear = brittle(TRAVEL)
    end = picked(record(shear), BOX).end
    assert end.shear == pytest.approx(shear[TRAVEL - 7.2 > -1e-9].mean())
    assert end.displacement == 8.0


def test_a_record_that_still_moves_at_its_end_is_said_to() -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0.0, 0.2, TRAVEL.size)
    falling = reduce_tests(record(brittle(TRAVEL, at=4.0) + noise), BOX, state="end_of_test")
    assert "still-falling" in codes(falling)
    rising = reduce_tests(record(20.0 + 5.0 * TRAVEL + noise), BOX, state="end_of_test")
    assert "still-rising" in codes(rising)
    steady = reduce_tests(record(brittle(TRAVEL) + noise), BOX, state="end_of_test")
    assert codes(steady) == set()


def test_noise_is_seldom_taken_for_a_trend() -> None:
    rng = np.random.default_rng(4)
    moved = np.linspace(0.0, 8.0, 201)
    trends = [
        picked(record(brittle(moved) + rng.normal(0.0, 1.5, moved.size), moved)).end.trend
        for _ in range(300)
    ]
    assert trends.count("steady") >= 270


def test_a_box_that_moved_too_little_is_said_to() -> None:
    wide = Specimen(shape="square", width=100.0)
    tests = reduce_tests(record(brittle(TRAVEL)), wide, state="end_of_test")
    assert codes(tests) == {"short-travel"}


# --- traverses ---------------------------------------------------------------------------


def reversed_record(ends: tuple[float, ...], *, back: bool) -> Readings:
    """Forward traverses that end at given stresses, pushed back with or without readings."""
    moved, shear = [], []
    for number, end in enumerate(ends):
        moved.append(TRAVEL)
        shear.append(brittle(TRAVEL, last=end) if number == 0 else end * np.tanh(8.0 * TRAVEL))
        if back and number + 1 < len(ends):
            moved.append(TRAVEL[::-1])
            shear.append(np.full(TRAVEL.size, -0.8 * end))
    together = np.concatenate(moved)
    return record(np.concatenate(shear), together)


@pytest.mark.parametrize("back", [True, False])
def test_residual_is_the_end_of_the_last_forward_traverse(back: bool) -> None:
    tests = reduce_tests(
        reversed_record((60.0, 48.0, 45.0, 44.7), back=back), BOX, state="residual"
    )
    detail = tests.details[0]
    assert len(detail.traverses) == 4
    assert_allclose(tests.shear, [44.7], rtol=1e-4)
    assert detail.residual_change == pytest.approx(44.7 / 45.0 - 1.0, rel=1e-3)
    assert detail.peak.shear == pytest.approx(PEAK, rel=0.002)
    assert detail.end.shear == pytest.approx(60.0, rel=0.002)
    assert codes(tests) == {"residual-from-traverses"}


def test_a_residual_that_still_falls_is_said_to() -> None:
    tests = reduce_tests(reversed_record((60.0, 50.0), back=True), BOX, state="residual")
    assert "residual-still-falling" in codes(tests)


def test_residual_of_a_single_traverse_is_refused() -> None:
    with pytest.raises(InputError, match="test A has one traverse"):
        reduce_tests(record(brittle(TRAVEL)), BOX, state="residual")


@given(st.lists(st.floats(2.0, 10.0), min_size=1, max_size=6), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_turns_of_the_box_are_found_and_jitter_is_not(tops: list[float], seed: int) -> None:
    legs = []
    for top in tops:
        legs += [np.linspace(0.0, top, 40), np.linspace(top, 0.0, 25)]
    moved = np.concatenate(legs[:-1])
    moved = moved + np.random.default_rng(seed).uniform(-0.02, 0.02, moved.size)
    found = traverses(moved)
    assert [part.forward for part in found] == [True, False] * (len(tops) - 1) + [True]
    assert found[0].start == 0
    assert found[-1].stop == moved.size
    for one, other in pairwise(found):
        assert one.stop == other.start
        assert abs(one.stop - one.start - (40 if one.forward else 25)) <= 2


@given(st.lists(st.floats(-5.0, 10.0), min_size=2, max_size=60))
@settings(max_examples=60, deadline=None)
def test_traverses_cover_every_row_once_whatever_the_rows(moved: list[float]) -> None:
    found = traverses(np.array(moved))
    rows = [row for part in found for row in range(part.start, part.stop)]
    assert rows == list(range(len(moved)))


@pytest.mark.parametrize("back", [0, 3, 80])
def test_the_row_at_a_turn_belongs_to_the_forward_traverse(back: int) -> None:
    moved = np.concatenate([TRAVEL, np.linspace(8.0, 0.0, back + 2)[1:-1], TRAVEL])
    found = traverses(moved)
    forward = [part for part in found if part.forward]
    assert [(part.start, part.stop) for part in forward] == [(0, 81), (81 + back, 162 + back)]
    assert len(found) == (3 if back else 2)


# --- refusals ----------------------------------------------------------------------------


def shuffled() -> Floats:
    order = np.random.default_rng(0).permutation(TRAVEL)
    order[:4] = [0.0, 0.1, 0.2, 0.3]
    return order


@pytest.mark.parametrize(
    ("moved", "message"),
    [
        (TRAVEL[::-1], "rising from about 0"),
        (-TRAVEL, "rising from about 0"),
        (np.full(20, 3.0), "rising from about 0"),
        (shuffled(), "in the order they were taken"),
        (np.where(np.arange(81) == 5, np.nan, TRAVEL), "1 rows without a number"),
        (np.concatenate([TRAVEL, TRAVEL[::-1], TRAVEL[:50:10]]), "8 rows or more"),
    ],
)
def test_what_is_no_record_is_refused(moved: Floats, message: str) -> None:
    with pytest.raises(InputError, match=message):
        picked(record(np.linspace(0.0, 80.0, moved.size), moved))


def test_rows_without_a_reading_or_load_are_refused() -> None:
    for shear, normal in ((np.nan, 100.0), (50.0, 0.0), (50.0, np.inf)):
        with pytest.raises(InputError, match=r"normal|shear"):
            reduce_tests(record(np.full(81, shear), normal=np.full(81, normal)))


def test_picked_stress_below_zero_is_refused() -> None:
    with pytest.raises(InputError, match="sign of the gauge"):
        reduce_tests(record(-brittle(TRAVEL)), state="end_of_test")


def test_what_does_not_fit_a_record_is_refused() -> None:
    sound = record(brittle(TRAVEL))
    with pytest.raises(InputError, match="pek"):
        reduce_tests(sound, BOX, state="pek")
    with pytest.raises(InputError, match="specimen's shape"):
        reduce_tests(sound, area_correction=True)
    with pytest.raises(InputError, match="below the 5 mm"):
        reduce_tests(sound, Specimen(shape="square", width=5.0), area_correction=True)


# --- corrections -------------------------------------------------------------------------


def test_area_correction_slides_the_points_along_a_line_through_the_origin() -> None:
    for shape in ("square", "circle"):
        specimen = Specimen(shape=shape, width=60.0)  # type: ignore[arg-type]
        for state in ("peak", "end_of_test"):
            plain = reduce_tests(record(brittle(TRAVEL)), specimen, state=state)
            moved = reduce_tests(
                record(brittle(TRAVEL)), specimen, state=state, area_correction=True
            )
            assert_allclose(moved.shear / moved.normal, plain.shear / plain.normal, rtol=2e-5)
            assert "area-corrected" in codes(moved)
            if state == "peak":
                share = overlap_factor(shape, plain.displacement / 60.0)  # type: ignore[arg-type]
                assert_allclose(moved.shear, plain.shear / share)
                assert_allclose(moved.displacement, plain.displacement)


def test_forces_are_corrected_for_the_apparatus_before_the_points_are_picked() -> None:
    specimen = replace(BOX, apparatus_friction=6.0, zero_reading=2.0, added_normal_force=9.0)
    raw = record(brittle(TRAVEL) * 3.6 + 8.0, normal=np.full(81, 100.0 * 3.6 - 9.0), unit="N")
    tests = reduce_tests(raw, specimen)
    assert tests.unit == "kPa"
    assert_allclose(tests.shear, [PEAK], rtol=1e-3)
    assert_allclose(tests.normal, [100.0])
    assert codes(tests) == {"zero-reading-subtracted", "apparatus-friction-subtracted"}
    with pytest.raises(InputError, match="more than test A reads in all"):
        reduce_tests(raw, replace(BOX, apparatus_friction=5000.0))


def test_forces_without_a_specimen_stay_forces() -> None:
    tests = reduce_tests(record(brittle(TRAVEL), unit="N"))
    assert tests.unit == "N"
    assert_allclose(tests.shear, [PEAK], rtol=1e-3)


# --- dilation ----------------------------------------------------------------------------


def dilating(noise: float = 0.0, last: float = 60.0) -> Readings:
    """τ = σ (tan φ_cv + dv/dh) with φ_cv of atan 0.6: Taylor's relation holds exactly."""
    shear = brittle(TRAVEL, last=last)
    slope = shear / 100.0 - 0.6
    rise = np.concatenate([[0.0], np.cumsum(0.05 * (slope[1:] + slope[:-1]))])
    rise = rise + np.random.default_rng(9).normal(0.0, noise, rise.size) if noise else rise
    return record(shear, vertical_displacement=rise)


def test_dilation_angle_at_peak_is_the_slope_of_the_rise() -> None:
    peak = picked(dilating(), BOX).peak
    assert np.tan(np.radians(peak.dilation_angle)) == pytest.approx(0.3, rel=0.04)
    noisy = picked(dilating(noise=0.005), BOX).peak
    assert np.tan(np.radians(noisy.dilation_angle)) == pytest.approx(0.3, abs=0.03)


def test_cross_check_agrees_where_taylor_holds_and_speaks_up_where_not() -> None:
    assert "critical-state-cross-check" in codes(reduce_tests(dilating(), BOX))
    high = replace(
        dilating(), vertical_displacement=2.5 * np.asarray(dilating().vertical_displacement)
    )
    assert "end-of-test-above-critical-state" in codes(reduce_tests(high, BOX))
    wrong_sign = replace(
        dilating(), vertical_displacement=-np.asarray(dilating().vertical_displacement)
    )
    assert "dilation-disagrees" in codes(reduce_tests(wrong_sign, BOX))


def test_rise_measured_on_some_rows_is_used_where_it_was() -> None:
    whole = dilating()
    some = np.where(np.arange(81) % 2 == 0, np.asarray(whole.vertical_displacement), np.nan)
    peak = picked(replace(whole, vertical_displacement=some), BOX).peak
    assert np.tan(np.radians(peak.dilation_angle)) == pytest.approx(0.3, rel=0.08)


# --- from the file to the fit ------------------------------------------------------------


@pytest.fixture
def record_file(tmp_path: Path) -> Path:
    """Three noisy records of a soil with c′ = 5 kPa and tan φ′ = 0.65 at peak."""
    rng = np.random.default_rng(140)
    path = tmp_path / "records.csv"
    lines = ["test,normal_stress [kPa],shear_stress [kPa],displacement [mm],rate [mm/min]"]
    for name, normal in (("C", 200.0), ("A", 50.0), ("B", 100.0)):
        shear = brittle(TRAVEL, peak=5.0 + 0.65 * normal, last=0.55 * normal)
        shear = shear + rng.normal(0.0, 0.3, TRAVEL.size)
        lines += [
            f"{name},{normal:g},{s:.3f},{d:.2f},0.1" for s, d in zip(shear, TRAVEL, strict=True)
        ]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_a_record_runs_from_its_file_to_the_envelope(record_file: Path) -> None:
    tests = reduce_tests(read_readings(record_file), BOX)
    assert tests.names == ("A", "B", "C")
    assert [detail.name for detail in tests.details] == ["A", "B", "C"]
    assert tests.readings == (81, 81, 81)
    assert tests.rate is not None
    assert_allclose(tests.rate, 0.1)
    fit = fit_envelope(tests, intercept="free")
    assert fit.best_fit.cohesion == pytest.approx(5.0, abs=0.6)
    assert np.tan(np.radians(fit.best_fit.friction_angle)) == pytest.approx(0.65, abs=0.006)
    end = fit_envelope(reduce_tests(read_readings(record_file), BOX, state="end_of_test"))
    assert np.tan(np.radians(end.best_fit.friction_angle)) == pytest.approx(0.55, abs=0.006)


@pytest.mark.parametrize(("count", "told"), [(1, "1 row"), (7, "7 rows")])
def test_a_test_of_few_rows_beside_records_is_refused(
    record_file: Path, count: int, told: str
) -> None:
    text = record_file.read_text(encoding="utf-8") + count * "\nD,300,200,2.0,0.1"
    record_file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=rf"test D: '{told}'.*8 rows or more"):
        reduce_tests(read_readings(record_file), BOX)


def test_a_table_goes_the_way_of_tables(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("test,normal_stress [kPa],shear_stress [kPa]\nA,50,30\nB,90,50\n", "utf-8")
    tests = reduce_tests(read_readings(path))
    assert_allclose(tests.shear, [30, 50])
    assert tests.details == ()


# --- plot --------------------------------------------------------------------------------


def test_plot_shows_each_test_and_each_picked_point(record_file: Path) -> None:
    tests = reduce_tests(read_readings(record_file), BOX)
    figure = plot_records(tests.details)
    (axes,) = figure.axes
    words = axes.get_legend_handles_labels()[1]
    assert words[:3] == ["test A, 50 kPa", "test B, 100 kPa", "test C, 200 kPa"]
    drawn = {
        (float(line.get_xdata()[0]), float(line.get_ydata()[0]))
        for line in axes.lines
        if len(line.get_xdata()) == 1
    }  # type: ignore[index,arg-type]
    for detail in tests.details:
        assert (detail.peak.displacement, detail.peak.shear) in drawn


def test_a_corrected_curve_passes_through_its_points() -> None:
    shear = brittle(TRAVEL)
    tests = reduce_tests(record(shear), BOX, area_correction=True)
    axes = plot_records(tests.details).axes[0]
    rows, smooth = axes.lines[0], axes.lines[1]
    assert_allclose(np.asarray(rows.get_ydata()), shear / (1.0 - TRAVEL / 60.0))
    peak = tests.details[0].peak
    at_peak = np.interp(peak.displacement, TRAVEL, np.asarray(smooth.get_ydata(), dtype=float))
    assert at_peak == pytest.approx(peak.shear)
    assert "on the area in contact" in axes.get_ylabel()


def test_the_rise_stands_between_the_curves_and_the_fit() -> None:
    rise = np.asarray(dilating().vertical_displacement)
    together = record(
        np.concatenate([brittle(TRAVEL), 1.4 * brittle(TRAVEL)]),
        np.tile(TRAVEL, 2),
        test=("A",) * 81 + ("B",) * 81,
        normal=np.repeat([100.0, 150.0], 81),
        vertical_displacement=np.tile(rise, 2),
    )
    tests = reduce_tests(together, BOX)
    curves, below, fit = plot_with_records(fit_envelope(tests, intercept="free")).axes
    assert curves.get_xlim() == below.get_xlim() != fit.get_xlim()
    drawn = np.asarray(below.lines[0].get_ydata())
    assert_allclose(drawn, rise)


def test_plot_draws_the_rise_below_and_keeps_to_given_axes() -> None:
    from matplotlib.figure import Figure

    details = reduce_tests(dilating(), BOX).details
    assert len(plot_records(details).axes) == 2
    own = Figure()
    axes = own.subplots()
    assert plot_records(details, axes=axes) is own
    assert len(own.axes) == 1
    with pytest.raises(InputError):
        plot_records([])
