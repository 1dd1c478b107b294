"""The working of a fit: its values are those of the fit, and of a general statistics library.

That each line with numbers in it gives what is printed below it is held in
``tests/cli/test_working_numbers.py``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from slipmargin.strength import ShearTests, fit_envelope
from slipmargin.strength.envelope.working import fit_steps
from slipmargin.strength.working import Step, printed

Build = Callable[..., ShearTests]

NORMAL = (25.5, 50.5, 75.5, 100.5, 150.5)
SHEAR = (20.3, 35.2, 49.3, 65.8, 94.9)


def by_symbol(steps: list[Step]) -> dict[str, float]:
    return {step.symbol: step.value for step in steps}


def test_values_are_those_of_ordinary_least_squares(shear_tests: Build) -> None:
    shown = by_symbol(fit_steps(fit_envelope(shear_tests(NORMAL, SHEAR), intercept="free")))
    found: Any = sm.OLS(np.array(SHEAR), sm.add_constant(np.array(NORMAL))).fit()
    x, y = np.array(NORMAL), np.array(SHEAR)
    expected = {
        "n": 5.0,
        "σ′_m": x.mean(),
        "τ_m": y.mean(),
        "S_xx": np.sum((x - x.mean()) ** 2),
        "S_xy": np.sum((x - x.mean()) * (y - y.mean())),
        "c′": found.params[0],
        "b": found.params[1],
        "s": math.sqrt(found.mse_resid),
        "s_c": found.bse[0],
        "s_b": found.bse[1],
        "ρ": found.cov_params()[0, 1] / (found.bse[0] * found.bse[1]),
        "t": stats.t.ppf(0.975, 3),
        "c_low": found.conf_int(0.05)[0, 0],
        "c_high": found.conf_int(0.05)[0, 1],
        "φ_low": math.degrees(math.atan(found.conf_int(0.05)[1, 0])),
        "φ_high": math.degrees(math.atan(found.conf_int(0.05)[1, 1])),
        "t_1": stats.t.ppf(0.95, 3),
    }
    for symbol, value in expected.items():
        assert shown[symbol] == pytest.approx(float(value), rel=1e-9), symbol


def test_the_cautious_line_ends_on_the_lower_limits_of_the_mean(shear_tests: Build) -> None:
    shown = by_symbol(fit_steps(fit_envelope(shear_tests(NORMAL, SHEAR))))
    found: Any = sm.OLS(np.array(SHEAR), sm.add_constant(np.array(NORMAL))).fit()
    ends = found.get_prediction(np.array([[1.0, NORMAL[0]], [1.0, NORMAL[-1]]]))
    low, high = ends.conf_int(alpha=0.10)[:, 0]
    assert shown["τ_low"] == pytest.approx(low, rel=1e-9)
    assert shown["τ_high"] == pytest.approx(high, rel=1e-9)
    slope = (high - low) / (NORMAL[-1] - NORMAL[0])
    assert shown["φ_k"] == pytest.approx(math.degrees(math.atan(slope)), rel=1e-9)
    assert shown["c_k"] == pytest.approx(low - slope * NORMAL[0], rel=1e-9)


def test_a_line_through_the_origin_shows_its_own_sums(shear_tests: Build) -> None:
    shown = by_symbol(fit_steps(fit_envelope(shear_tests(NORMAL, SHEAR), intercept="zero")))
    found: Any = sm.OLS(np.array(SHEAR), np.array(NORMAL)).fit()
    assert shown["S_xx"] == pytest.approx(float(np.dot(NORMAL, NORMAL)), rel=1e-12)
    assert shown["S_xy"] == pytest.approx(float(np.dot(NORMAL, SHEAR)), rel=1e-12)
    assert shown["b"] == pytest.approx(found.params[0], rel=1e-12)
    assert shown["s_b"] == pytest.approx(found.bse[0], rel=1e-9)
    assert shown["c′"] == 0.0
    assert not {"s_c", "ρ", "c_low"} & set(shown)


def test_two_tests_show_a_line_and_no_doubt(shear_tests: Build) -> None:
    shown = by_symbol(fit_steps(fit_envelope(shear_tests([25.0, 100.0], [21.0, 66.0]))))
    assert shown["b"] == pytest.approx(0.6, rel=1e-12)
    assert not {"s", "t", "c_k"} & set(shown)


def test_reading_bands_wider_than_the_scatter_take_its_place(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR, 4.0))
    spreads = [step.value for step in fit_steps(fit) if step.symbol == "s"]
    assert spreads == [fit.residual_std, fit.error_std]
    assert spreads[1] == pytest.approx(4.0 / math.sqrt(3.0))


def test_a_limit_of_the_intercept_is_cut_at_zero_unless_it_was_left_free(
    shear_tests: Build,
) -> None:
    weak = shear_tests(NORMAL, (17.0, 32.5, 44.0, 63.5, 91.0))
    for rule, least in (("non_negative", 0.0), ("free", -math.inf)):
        steps = {s.symbol: s for s in fit_steps(fit_envelope(weak, intercept=rule))}
        assert steps["c_low"].value >= least
        assert ("max(" in steps["c_low"].equation) == (rule == "non_negative")


def test_forces_are_worked_in_forces(shear_tests: Build) -> None:
    steps = fit_steps(
        fit_envelope(shear_tests([90.0, 180.0, 270.0], [60.0, 112.0, 160.0], unit="N"))
    )
    units = {step.symbol: step.unit for step in steps}
    assert units["N_m"] == units["S_m"] == units["c′"] == "N"


def test_a_curve_shows_its_parameters(shear_tests: Build) -> None:
    fit = fit_envelope(shear_tests(NORMAL, SHEAR), envelope="power")
    shown = by_symbol(fit_steps(fit))
    assert fit.curve is not None
    assert shown["A"] == fit.curve.coefficient
    assert shown["m"] == fit.curve.exponent


def test_many_tests_are_summed_without_being_written_out(shear_tests: Build) -> None:
    x = np.linspace(20.0, 200.0, 30)
    y = 3.0 + 0.6 * x + np.where(np.arange(30) % 2, 0.5, -0.5)
    steps = fit_steps(fit_envelope(shear_tests(x, y)))
    sums = [step for step in steps if "sum(" in step.equation]
    assert len(sums) == 5
    assert all(step.substituted == "" for step in sums)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1.61545, "", "1.615"),
        (0.0115571, "", "0.01156"),
        (23.424, "kPa", "23.42"),
        (4.89392, "kPa", "4.89"),
        (154.788, "kN/m", "154.8"),
        (19143.7, "kPa²", "19144"),
        (7.85404, "m", "7.854"),
        (0.0, "m", "0"),
        (-1e-12, "kN/m", "0.00"),
        (math.inf, "", "no limit"),
        (-0.882, "", "-0.8820"),
    ],
)
def test_results_are_printed_with_the_digits_they_carry(value: float, unit: str, text: str) -> None:
    assert printed(value, unit) == text
