"""A slip of unit in readings or specimen is heard by whoever fits them."""

from __future__ import annotations

import numpy as np
import pytest

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import (
    Readings,
    Specimen,
    Strength,
    fit_envelope,
    reduce_readings,
    strength_from_readings,
)

NORMAL = np.array([25.0, 50.0, 100.0, 150.0])
SHEAR = np.array([20.3, 35.2, 65.8, 94.9])


def readings(normal: np.ndarray, shear: np.ndarray, unit: str = "kPa") -> Readings:
    return Readings(
        test=tuple(str(number) for number in range(normal.size)),
        state=("peak",) * normal.size,
        normal=normal,
        shear=shear,
        unit="N" if unit == "N" else "kPa",
    )


def rare(notices: object) -> list[str]:
    codes = ("rare-value", "lever-or-constant-forgotten")
    return [notice.text for notice in notices if notice.code in codes]  # type: ignore[attr-defined]


def test_usual_readings_are_not_asked_about() -> None:
    assert rare(strength_from_readings(readings(NORMAL, SHEAR)).notices) == []
    forces = readings(3.6 * NORMAL, 3.6 * SHEAR, "N")
    assert rare(strength_from_readings(forces).notices) == []
    box = Specimen(shape="square", width=60.0)
    assert rare(strength_from_readings(forces, box).notices) == []


@pytest.mark.parametrize(
    ("normal", "shear", "word"),
    [
        (1000.0, 1000.0, "highest normal stress 1.5e+05 kPa"),
        (0.001, 0.001, "lowest normal stress 0.025 kPa"),
        (1.0, 1000.0, "friction angle 89.9"),
        (1.0, 0.001, "friction angle 0.03"),
        (0.001, 1.0, "friction angle 89.9"),
    ],
    ids=["Pa as kPa", "kPa as Pa", "shear in Pa", "shear too small", "normal too small"],
)
def test_pascals_for_kilopascals_and_the_reverse_are_asked_about(
    normal: float, shear: float, word: str
) -> None:
    """A column in Pa under a header in kPa, or the reverse."""
    taken = readings(normal * NORMAL, shear * SHEAR)
    for found in (fit_envelope(reduce_readings(taken)), strength_from_readings(taken)):
        assert any(word in text for text in rare(found.notices)), found.notices


def test_a_specimen_in_the_wrong_unit_is_asked_about() -> None:
    found = strength_from_readings(
        readings(3.6 * NORMAL, 3.6 * SHEAR, "N"), Specimen(shape="square", width=6.0)
    )
    assert any("width of the specimen 6 mm" in text for text in rare(found.notices))


def test_the_question_follows_the_strength_into_a_check_once() -> None:
    """A cohesion of 70 kPa from the tests: the fit asks, the soil need not ask again."""
    strength = strength_from_readings(readings(NORMAL, SHEAR + 65.0)).strength()
    soil = Soil(strength=strength, unit_weight=18.5, name="bank")
    result = InfiniteSlope(soil=soil, slope_angle=28.0, depth=1.8).evaluate()
    (text,) = rare(result.notices)
    assert "cohesion" in text
    assert "swapped columns" in text


def test_a_small_intercept_of_a_fit_is_no_slip() -> None:
    tested = Strength(cohesion=0.02, friction_angle=31.0, tested_range=(25.0, 150.0))
    assert Soil(strength=tested, unit_weight=18.5).rare_values() == ()
    stated = Strength(cohesion=0.02, friction_angle=31.0)
    assert len(Soil(strength=stated, unit_weight=18.5).rare_values()) == 1
