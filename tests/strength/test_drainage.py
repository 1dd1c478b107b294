"""Time to failure against the rule of the standard, and how much had drained."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.strength import InputError, Severity
from slipmargin.strength.laboratory.drainage import (
    LEAST_TIMES,
    degree_of_drainage,
    drainage_notices,
    required_time_to_failure,
)


def only(**given_values: object) -> tuple[str, Severity, str]:
    (notice,) = drainage_notices(**given_values)  # type: ignore[arg-type]
    return notice.code, notice.severity, notice.text


@pytest.mark.parametrize(
    ("minutes", "code", "severity"),
    [
        (100.1, "slow-enough-to-drain", Severity.INFO),
        (99.9, "tested-too-fast", Severity.CAUTION),
        (50.1, "tested-too-fast", Severity.CAUTION),
        (49.9, "tested-too-fast", Severity.STOP),
    ],
)
def test_time_to_failure_is_held_against_fifty_t50(
    minutes: float, code: str, severity: Severity
) -> None:
    # ASTM D3080: t_f = 50 t_50
    found = only(time_to_failure=minutes, t50=2.0)
    assert found[:2] == (code, severity)


def test_t90_gives_eleven_point_six_times_and_the_longer_rule_governs() -> None:
    # ASTM D3080-11, 9.10 (factor from memory)
    assert required_time_to_failure(t90=10.0)[0] == pytest.approx(116.0)
    assert required_time_to_failure(t50=2.0, t90=10.0)[0] == pytest.approx(116.0)
    assert required_time_to_failure(t50=3.0, t90=10.0)[0] == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("soil_class", "minutes"),
    [("SP", 10), ("SW-SM", 60), ("sm", 60), ("CL", 200), ("SC", 200), ("CH", 1440)],
)
def test_class_gives_the_least_time_without_a_consolidation_curve(
    soil_class: str, minutes: float
) -> None:
    # ASTM D3080-11, Table 1 (from memory)
    assert required_time_to_failure(soil_class=soil_class)[0] == minutes
    assert required_time_to_failure(soil_class=soil_class, t50=1.0)[0] == 50.0


def test_rate_and_displacement_stand_for_the_time_of_the_fastest_test() -> None:
    slow = only(rate=0.02, displacement_at_failure=[3.0, 2.5, np.nan], t50=2.0)
    assert slow[0] == "slow-enough-to-drain"
    assert "2.08 h (not known for 1 of the tests)" in slow[2]
    fast = only(rate=np.array([0.02, 0.5]), displacement_at_failure=[3.0, 2.5], t50=2.0)
    assert fast[:2] == ("tested-too-fast", Severity.STOP)
    assert "5 min" in fast[2]


@pytest.mark.parametrize(
    "given_values",
    [
        {},
        {"time_to_failure": 30.0},
        {"t50": 2.0},
        {"rate": 0.1, "t50": 2.0},
        {"rate": [np.nan], "displacement_at_failure": [np.nan], "t50": 2.0},
        {"time_to_failure": 30.0, "soil_class": "GW"},
    ],
)
def test_nothing_to_judge_by_is_said_and_not_taken_for_drained(
    given_values: dict[str, object],
) -> None:
    code, severity, text = only(**given_values)
    assert (code, severity) == ("drainage-not-shown", Severity.INFO)
    assert "only if the tests were drained" in text


def test_dry_soil_has_nothing_to_drain() -> None:
    assert drainage_notices(time_to_failure=3.0, soil_class="SP", dry=True) == ()


@pytest.mark.parametrize(
    "given_values",
    [
        {"time_to_failure": 0.0},
        {"time_to_failure": [20.0, -1.0]},
        {"time_to_failure": math.inf},
        {"rate": 0.0, "displacement_at_failure": 3.0},
        {"rate": 0.1, "displacement_at_failure": -3.0},
        {"t50": 0.0},
        {"t90": -1.0},
        {"t50": math.nan},
        {"time_to_failure": 20.0, "rate": 0.1},
    ],
)
def test_impossible_times_and_rates_are_refused(given_values: dict[str, object]) -> None:
    with pytest.raises(InputError):
        drainage_notices(**given_values)  # type: ignore[arg-type]


def plane_dissipation(time_factor: float, layers: int = 120) -> float:
    """Explicit finite differences of one-dimensional consolidation with a constant source."""
    step = 1.0 / layers
    count = math.ceil(time_factor / (0.4 * step**2))
    interval = time_factor / count
    pressure = np.zeros(2 * layers + 1)
    for _ in range(count):
        curvature = np.zeros_like(pressure)
        curvature[1:-1] = (pressure[2:] - 2.0 * pressure[1:-1] + pressure[:-2]) / step**2
        pressure = pressure + interval * (curvature + 1.0 / time_factor)
        pressure[0] = pressure[-1] = 0.0
    return 1.0 - float(pressure[layers])


@pytest.mark.parametrize("time_factor", [0.05, 0.3, 1.0])
def test_drained_share_is_that_of_a_finite_difference_march(time_factor: float) -> None:
    assert_allclose(degree_of_drainage(time_factor), plane_dissipation(time_factor, 60), atol=2e-3)


@given(st.floats(1e-6, 1e3), st.floats(1e-6, 1e3))
@example(0.03125, 1e-5)
@settings(max_examples=60, deadline=None)
def test_longer_tests_drain_more(one: float, other: float) -> None:
    shares = degree_of_drainage(np.array(sorted((one, other))))
    assert 0.0 <= shares[0] <= shares[1] + 1e-6
    assert shares[1] <= 1.0


def test_drained_share_takes_arrays_of_any_shape() -> None:
    factors = np.array([[0.0, 0.1], [1.0, 9.85]])
    loop = [[float(degree_of_drainage(value)) for value in row] for row in factors]
    assert_allclose(degree_of_drainage(factors), loop)
    assert loop[0][0] == 0.0


def test_least_times_rise_from_sand_to_fat_clay() -> None:
    assert LEAST_TIMES["SP"] < LEAST_TIMES["SM"] < LEAST_TIMES["CL"] < LEAST_TIMES["CH"]


@pytest.mark.parametrize(
    ("minutes", "clock"),
    [
        (0.25, "15 s"),
        (0.999, "59.9 s"),
        (1.0, "1 min"),
        (119.0, "119 min"),
        (120.0, "2 h"),
        (1440.0, "24 h"),
    ],
)
def test_a_time_is_said_in_the_unit_it_is_read_in(minutes: float, clock: str) -> None:
    assert f"Failure was reached after {clock};" in only(time_to_failure=minutes, t50=1e-3)[2]


def test_a_test_that_took_just_the_time_asked_for_is_slow_enough() -> None:
    code, _, text = only(time_to_failure=[100.0, 130.0], t50=2.0)
    assert code == "slow-enough-to-drain"
    assert "not known" not in text
    assert only(time_to_failure=99.9, t50=2.0)[0] == "tested-too-fast"


@pytest.mark.parametrize(
    ("consolidation", "time_factor"),
    [({"t50": 4.0}, 0.197 * 10.0 / 4.0), ({"t90": 8.0}, 0.848 * 10.0 / 8.0)],
)
def test_the_share_that_drained_is_said_for_the_time_that_was_taken(
    consolidation: dict[str, float], time_factor: float
) -> None:
    share = plane_dissipation(time_factor, 60)
    text = only(time_to_failure=10.0, **consolidation)[2]
    assert f"About {share:.0%} of the excess pore pressure had left the plane." in text


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (62.0, "close to effective-stress parameters"),
        (25.0, "partly drained soil"),
        (3.0, "not effective-stress parameters"),
    ],
)
def test_what_was_tested_too_fast_is_judged_by_how_far_it_had_drained(
    minutes: float, words: str
) -> None:
    share = plane_dissipation(0.197 * minutes / 2.0, 60)
    text = only(time_to_failure=minutes, t50=2.0)[2]
    assert f"About {share:.0%}" in text
    said = {
        phrase
        for phrase in (
            "close to effective-stress parameters",
            "partly drained soil",
            "not effective-stress parameters",
        )
        if phrase in text
    }
    assert said == {words}


def test_of_two_consolidation_times_the_lesser_drainage_is_said() -> None:
    alone = only(time_to_failure=10.0, t50=4.0)[2]
    both = only(time_to_failure=10.0, t50=4.0, t90=8.0)[2]
    assert alone.split("About")[1] == both.split("About")[1]
