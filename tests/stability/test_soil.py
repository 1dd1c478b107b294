"""What a soil refuses, and what it has to say of the stresses its strength is used at."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from slipmargin.stability import Soil
from slipmargin.strength import InputError, Severity, Strength


def soil(tested: tuple[float, float] | None = (50.0, 200.0), **more: Any) -> Soil:
    strength = Strength(cohesion=5.0, friction_angle=30.0, tested_range=tested)
    return Soil(strength=strength, unit_weight=18.0, name="bank", **more)


@pytest.mark.parametrize("field", ["unit_weight", "saturated_unit_weight"])
@pytest.mark.parametrize("weight", [0.0, -18.0, np.nan, np.inf, np.array([18.0, 0.0])])
def test_a_soil_without_weight_is_refused(field: str, weight: Any) -> None:
    weights = {"unit_weight": 18.0, "saturated_unit_weight": 20.0} | {field: weight}
    strength = Strength(cohesion=5.0, friction_angle=30.0)
    with pytest.raises(InputError, match="a unit weight is above 0 kN/m³") as refused:
        Soil(strength=strength, **weights)
    assert refused.value.place == field


def test_weights_may_be_arrays_and_no_weight_below_water_is_that_above() -> None:
    assert soil().weight_below_water == 18.0
    assert soil(saturated_unit_weight=20.0).weight_below_water == 20.0
    assert soil(saturated_unit_weight=0.2).weight_below_water == 0.2  # a fill of foam
    weights = np.array([17.0, 18.0])
    strength = Strength(cohesion=5.0, friction_angle=30.0)
    assert Soil(strength=strength, unit_weight=weights).weight_below_water is weights


def test_a_missing_saturated_weight_is_said_below_water_alone() -> None:
    assert not tuple(soil().saturation_notices(submerged=False))
    assert not tuple(soil(saturated_unit_weight=20.0).saturation_notices(submerged=True))
    (notice,) = soil().saturation_notices(submerged=True)
    assert notice.code == "saturated-unit-weight-missing"
    assert notice.severity == Severity.CAUTION


@pytest.mark.parametrize(
    ("stress", "said"),
    [
        (49.9, "effective normal stress 49.9 kPa on the slip surface, 0.1 kPa below the lowest"),
        (12.0, "effective normal stress 12.0 kPa on the slip surface, 38.0 kPa below the lowest"),
        (230.0, "stress 230.0 kPa on the slip surface, 30.0 kPa above the highest"),
        ([40.0, 90.0], "stress 40.0 to 90.0 kPa on the slip surface, 10.0 kPa below the lowest"),
        (
            [20.0, 260.0],
            "20.0 to 260.0 kPa on the slip surface, 30.0 kPa below the lowest and 60.0 kPa above "
            "the highest tested (50.0 to 200.0 kPa)",
        ),
        ([np.nan, 30.0, np.inf], "stress 30.0 kPa on the slip surface, 20.0 kPa below"),
        ([10.0, 10.04], "stress 10.0 kPa on"),
        ([10.0, 10.06], "stress 10.0 to 10.1 kPa on"),
    ],
)
def test_a_stress_outside_the_tests_is_said_with_both_figures(stress: Any, said: str) -> None:
    (notice,) = soil().stress_range_notices(stress)
    assert notice.code == "outside-tested-stress-range"
    assert notice.severity == Severity.CAUTION
    assert notice.text.startswith("bank: ")
    assert re.search(re.escape(said), notice.text)


@pytest.mark.parametrize(
    "stress",
    [50.0, 200.0, 120.0, [50.0, 200.0], np.nan, [np.nan, np.inf], 50.0 - 1e-8, 200.0 + 1e-8],
)
def test_a_stress_within_the_tests_or_none_at_all_is_not_said(stress: Any) -> None:
    assert not tuple(soil().stress_range_notices(stress))


def test_a_strength_without_tests_has_no_range_to_leave() -> None:
    assert not tuple(soil(tested=None).stress_range_notices(1e6))


def test_the_slack_at_the_ends_is_for_round_off_alone() -> None:
    assert tuple(soil().stress_range_notices(50.0 - 1e-6))
    assert tuple(soil().stress_range_notices(200.0 + 1e-6))
