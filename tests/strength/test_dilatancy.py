"""Dilatancy relations, and the cross-check of the constant-volume angle."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.strength import Severity
from slipmargin.strength.laboratory.dilatancy import (
    bolton_critical_state_angle,
    critical_state_notices,
    dilation_angle,
    taylor_critical_state_angle,
)


@given(st.floats(25.0, 38.0), st.floats(-10.0, 20.0))
@settings(max_examples=50, deadline=None)
def test_both_rules_give_back_the_angle_they_were_built_from(angle: float, psi: float) -> None:
    ratio = np.tan(np.radians(angle)) + np.tan(np.radians(psi))
    assert_allclose(taylor_critical_state_angle(ratio, psi), angle)
    assert_allclose(bolton_critical_state_angle(angle + 0.8 * psi, psi), angle)


def test_without_dilation_peak_is_critical_state() -> None:
    assert taylor_critical_state_angle(0.6, 0.0) == pytest.approx(np.degrees(np.arctan(0.6)))
    assert bolton_critical_state_angle(31.0, 0.0) == pytest.approx(31.0)


def test_the_dilation_angle_is_that_of_the_rise() -> None:
    assert_allclose(dilation_angle([[0.0], [1.0]]), [[0.0], [45.0]])


def test_cross_check_names_what_it_found() -> None:
    psi = np.array([12.0, np.nan])
    peak = np.array([0.6 + np.tan(np.radians(12.0)), 0.9])
    (notice,) = critical_state_notices(peak_ratio=peak, dilation=psi, end_ratio=[0.6, 0.5])
    assert (notice.code, notice.severity) == ("critical-state-cross-check", Severity.INFO)
    assert "31.0° after Taylor" in notice.text
    for end, code in ((0.75, "end-of-test-above-critical-state"), (0.4, "dilation-disagrees")):
        found = critical_state_notices(peak_ratio=peak, dilation=psi, end_ratio=[end, 0.5])
        assert found[0].code == code
    blank = [np.nan, np.nan]
    assert critical_state_notices(peak_ratio=peak, dilation=blank, end_ratio=[0.6, 0.5]) == ()
