"""The envelope plot: what is on it, that angles are true, and that it leaves no trace."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from slipmargin.strength import ShearTests, fit_envelope, reduce_readings, triaxial_readings
from slipmargin.strength.envelope.interpretation import Interpretation
from slipmargin.strength.envelope.plot import plot_envelope

Build = Callable[..., ShearTests]

NORMAL, SHEAR = [25.0, 50.0, 100.0, 200.0], [27.0, 42.0, 71.0, 124.0]
OTHERS = (Interpretation("residual", 0.0, 29.0, ""), Interpretation("stated by X", 12.0, 32.0, ""))


def labels(figure: Figure) -> str:
    return "\n".join(figure.axes[0].get_legend_handles_labels()[1])


def test_both_axes_have_one_scale_so_the_angle_is_true(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR))
    figure = plot_envelope(fit)
    figure.draw_without_rendering()
    axes = figure.axes[0]
    (line,) = (one for one in axes.lines if str(one.get_label()).startswith("best fit"))
    corners = axes.transData.transform(np.column_stack([line.get_xdata(), line.get_ydata()]))
    rise, run = corners[1, 1] - corners[0, 1], corners[1, 0] - corners[0, 0]
    assert_allclose(np.degrees(np.arctan2(rise, run)), fit.best_fit.friction_angle, rtol=1e-6)


def test_points_line_band_cautious_and_others_are_named_with_their_units(
    shear_tests: Build,
) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR, 2.0))
    figure = plot_envelope(fit, interpretations=OTHERS)
    text = labels(figure)
    for words in ("tests, at peak", "reading band", "best fit", "95% confidence", "cautious"):
        assert words in text
    assert f"{fit.best_fit.cohesion:.1f} kPa" in text
    assert "residual" in text
    assert "stated by X" in text
    axes = figure.axes[0]
    assert axes.get_xlabel() == "effective normal stress [kPa]"
    assert axes.get_ylabel() == "shear stress [kPa]"


@pytest.mark.parametrize("envelope", ["line", "power"])
def test_no_two_lines_share_a_style_so_colour_is_not_needed(
    envelope: str, shear_tests: Build
) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), envelope=envelope)
    figure = plot_envelope(fit, interpretations=OTHERS)
    named = [
        one
        for one in figure.axes[0].lines
        if not str(one.get_label()).startswith("_") and one.get_linestyle() != "None"
    ]
    assert len(named) >= 5
    looks = [f"{one._dash_pattern} {one.get_linewidth()}" for one in named]
    assert len(set(looks)) == len(looks)


def test_two_tests_are_drawn_without_a_band(shear_tests: Build) -> None:
    text = labels(plot_envelope(fit_envelope(shear_tests([50.0, 150.0], [40.0, 100.0]))))
    assert "confidence" not in text
    assert "cautious" not in text


def test_a_power_curve_is_drawn_beside_its_line(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), envelope="power")
    text = labels(plot_envelope(fit))
    assert "power curve" in text
    assert "best fit" in text


def test_forces_are_drawn_in_newtons(shear_tests: Build) -> None:
    axes = plot_envelope(fit_envelope(shear_tests(NORMAL, SHEAR, unit="N"))).axes[0]
    assert axes.get_xlabel() == "normal force [N]"


def test_a_dollar_in_a_name_is_a_dollar(shear_tests: Build) -> None:
    tests = shear_tests(NORMAL, SHEAR, names=("$a", "b$", "$c$", "\\d"))
    figure = plot_envelope(
        fit_envelope(tests), interpretations=[Interpretation("stated by $x^$", 1.0, 30.0, "")]
    )
    figure.savefig(io.BytesIO(), format="png")


def test_it_draws_where_it_is_told_and_changes_no_style(shear_tests: Build) -> None:
    before = dict(mpl.rcParams)
    own = Figure().add_subplot()
    figure = plot_envelope(fit_envelope(shear_tests(NORMAL, SHEAR)), axes=own)
    assert figure is own.figure
    assert dict(mpl.rcParams) == before


def test_the_same_fit_gives_the_same_picture_byte_for_byte(shear_tests: Build) -> None:
    pictures = []
    with mpl.rc_context({"svg.hashsalt": "envelope"}):
        for _ in range(2):
            stream = io.BytesIO()
            figure = plot_envelope(fit_envelope(shear_tests(NORMAL, SHEAR)), interpretations=OTHERS)
            figure.savefig(stream, format="svg", metadata={"Date": None})
            pictures.append(stream.getvalue())
    assert pictures[0] == pictures[1]


def test_starting_up_loads_neither_plots_nor_heavy_statistics() -> None:
    code = (
        "import sys\n"
        "from slipmargin.strength.envelope import diagnostics, interpretation, plot\n"
        "heavy = {'matplotlib', 'scipy.stats', 'scipy.optimize', 'pandas'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_repeated_readings_are_drawn_beside_their_mean(shear_tests: Build) -> None:
    normal, shear = np.array([25.0, 25.0]), np.array([21.0, 33.0])
    fit = fit_envelope(
        shear_tests(NORMAL, SHEAR, repeat_std=6.0, repeated_normal=normal, repeated_shear=shear)
    )
    figure = plot_envelope(fit)
    (drawn,) = (one for one in figure.axes[0].lines if one.get_label() == "repeated readings")
    assert_allclose(drawn.get_xydata(), np.column_stack([normal, shear]))
    assert "repeated readings" not in labels(
        plot_envelope(fit_envelope(shear_tests(NORMAL, SHEAR)))
    )


def test_a_refitted_line_shows_the_free_line_and_its_band(shear_tests: Build) -> None:
    tests = shear_tests(NORMAL, [13.0, 29.0, 62.0, 126.0])
    fit = fit_envelope(tests)
    assert fit.through_origin
    figure = plot_envelope(fit)
    (free,) = (one for one in figure.axes[0].lines if "free line, meets" in str(one.get_label()))
    inside = np.asarray(free.get_xdata())
    assert_allclose(free.get_ydata(), np.maximum(fit.error_line.value(inside), 0.0))
    assert "free line, 95% confidence" in labels(figure)
    stated = labels(plot_envelope(fit_envelope(tests, intercept="zero")))
    assert "0 assumed" in stated
    assert "free line" not in stated


def test_names_of_close_tests_do_not_collide() -> None:
    normal = [50.0, 50.4, 51.0, 100.0, 100.3, 101.0, 150.0, 151.0]
    shear = [38.0, 38.5, 37.8, 66.0, 67.0, 65.5, 97.0, 96.0]
    figure = plot_envelope(fit_envelope(ShearTests.of(normal, shear, [f"BH{i}" for i in range(8)])))
    boxes = [
        text.get_window_extent()
        for text in figure.axes[0].texts
        if text.get_text().startswith("BH")
    ]
    assert len(boxes) == 8
    assert not any(one.overlaps(other) for i, one in enumerate(boxes) for other in boxes[:i])


def test_triaxial_tests_are_circles_under_their_tangent_line() -> None:
    cell, deviator = [50.0, 120.0, 300.0], [90.0, 175.0, 400.0]
    fit = fit_envelope(reduce_readings(triaxial_readings("ABC", cell, deviator)))
    figure = plot_envelope(fit)
    axes = figure.axes[0]
    half = [line for line in axes.lines if len(np.asarray(line.get_xdata())) == 121]
    ends = [sorted((line.get_xdata()[0], line.get_xdata()[-1])) for line in half]  # type: ignore[index]
    assert_allclose(ends, np.column_stack([cell, np.add(cell, deviator)]))
    assert axes.get_aspect() == 1.0
    assert_allclose(np.diff(axes.get_xticks())[0], np.diff(axes.get_yticks())[0])
    text = labels(figure)
    for words in ("Mohr circles", "triaxial tests, at peak", "95% confidence", "tested range"):
        assert words in text


def test_the_band_of_circles_touches_every_circle_of_its_limit() -> None:
    cell, deviator = [50.0, 120.0, 300.0], [90.0, 175.0, 400.0]
    fit = fit_envelope(reduce_readings(triaxial_readings("ABC", cell, deviator)))
    centre = np.linspace(100.0, 450.0, 2001)
    limits = fit.mean_limits(centre)
    assert limits is not None
    for limit in limits:
        x, y = fit.plane.envelope(centre, np.asarray(limit))
        apart = np.hypot(x[:, None] - centre, y[:, None]) - limit
        # no point of it lies inside a circle, and each lies on one
        assert float(apart.min()) > -1e-2
        assert_allclose(apart.min(axis=1), 0.0, atol=1e-2)


def test_the_tested_range_is_marked_and_the_band_pale_beyond_it(shear_tests: Build) -> None:
    figure = plot_envelope(fit_envelope(shear_tests(NORMAL, SHEAR)))
    (bar,) = (one for one in figure.axes[0].lines if str(one.get_label()).startswith("tested"))
    assert_allclose(bar.get_xdata(), [25.0, 200.0])
    assert "the same, beyond the tested range" in labels(figure)
