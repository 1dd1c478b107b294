"""A searched plane never travels without the rotation of the same slope."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from slipmargin.stability import PlanarWedge, Rotational, Soil
from slipmargin.stability.check import lowest_of
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import InputError, Strength


def wedge(**more: Any) -> PlanarWedge:
    soil = Soil(strength=Strength(cohesion=12.0, friction_angle=20.0), unit_weight=18.0)
    return PlanarWedge(soil=soil, **({"height": 8.0, "face_angle": 45.0} | more))


def test_a_plane_that_was_given_is_left_to_stand() -> None:
    check = wedge(plane_angle=30.0)
    result = check.evaluate()
    assert check.limit_states == tuple(result.factors_of_safety) == ("sliding",)
    assert not result.parts
    assert "other-mechanisms-not-searched" in {n.code for n in result.notices}


def test_the_rotation_governs_a_moderate_slope_and_the_notice_says_by_how_much() -> None:
    result = wedge().evaluate()
    assert list(result.factors_of_safety) == ["sliding", "rotation"]
    plane, rotation = (float(one) for one in result.factors_of_safety.values())
    assert float(result.lowest) == rotation < plane
    (notice,) = (one for one in result.notices if one.code == "rotation-governs")
    assert factor_text(rotation) in notice.text
    assert f"{1.0 - rotation / plane:.0%}" in notice.text


def test_what_stands_behind_the_rotation_is_held_by_its_name() -> None:
    check = wedge()
    part = check.evaluate().parts["rotation"]
    assert part.check == check.behind("rotation")
    again = part.check.evaluate().values
    assert part.result.values.entry_x == again.entry_x
    assert part.result.values.factor_of_safety == again.factor_of_safety


def test_a_rotation_that_is_left_out_is_not_run() -> None:
    check = wedge()
    result = check.evaluate(leave_out=("rotation",))
    assert list(result.factors_of_safety) == ["sliding"]
    assert not result.parts
    assert "rotation" not in check.factors_alone(leave_out=("rotation",))
    assert result.factors_of_safety == check.factors_alone(leave_out=("rotation",))


def test_a_rotation_below_one_or_below_the_target_is_said() -> None:
    weak = wedge(height=14.0, target=1.5).evaluate()
    assert float(weak.factors_of_safety["rotation"]) < 1.0
    said = [one.text for one in weak.notices if one.code in ("below-one", "below-target")]
    assert any("against rotation" in text and "does not stand" in text for text in said)
    assert any("against rotation" in text and "target of 1.5" in text for text in said)


def test_the_rotation_carries_the_loads_of_the_plane() -> None:
    loads = {"pore_pressure_ratio": 0.15, "surcharge": 10.0, "horizontal_seismic_coefficient": 0.1}
    check = wedge(upper_slope_angle=8.0, **loads)
    alone = Rotational(
        soil=check.soil, height=8.0, face_angle=45.0, upper_slope_angle=8.0, **loads
    ).evaluate()
    assert check.evaluate().factors_of_safety["rotation"] == pytest.approx(
        float(alone.factors_of_safety["sliding"])
    )


def test_the_rotation_has_crack_water_loads_and_support_of_the_plane() -> None:
    placed = {
        "surcharge": 10.0,
        "surcharge_setback": 1.0,
        "surcharge_width": 3.0,
        "standing_water_level": 2.0,
        "support_force": 50.0,
        "support_angle": 10.0,
        "tension_crack_distance": 2.0,
        "tension_crack_water_depth": 0.5,
    }
    check = wedge(**placed)
    result = check.evaluate()
    alone = Rotational(
        soil=check.soil, height=8.0, face_angle=45.0, search_tension_crack=True,
        support_height=4.0, **placed,
    ).evaluate()  # fmt: skip
    assert float(result.factors_of_safety["rotation"]) == pytest.approx(float(alone.lowest))
    (text,) = (
        one.text for one in result.notices if one.code in ("rotation-governs", "plane-governs")
    )
    assert "half way up" in text


def test_the_rotation_is_never_above_the_plane_without_crack_or_support() -> None:
    face, angle = np.meshgrid([30.0, 45.0, 60.0, 75.0, 90.0], [5.0, 15.0, 25.0])
    soil = Soil(strength=Strength(cohesion=15.0, friction_angle=angle), unit_weight=18.0)
    found = PlanarWedge(soil=soil, height=6.0, face_angle=face).factors_alone()
    assert np.all(found["rotation"] <= found["sliding"] * (1.0 + 1e-6))


def test_no_plane_lies_below_its_rotation_under_load_and_pore_pressure() -> None:
    """A pore pressure ratio speaks of the soil's weight alone (Bishop & Morgenstern 1960)."""
    many = PlanarWedge(
        soil=Soil(strength=Strength(cohesion=12.0, friction_angle=30.0), unit_weight=18.0),
        height=5.0,
        face_angle=np.array([50.0, 65.0, 65.0, 80.0, 80.0, 90.0]),
        upper_slope_angle=np.array([0.0, 0.0, 20.0, 0.0, 20.0, 0.0]),
        surcharge=np.array([40.0, 40.0, 20.0, 40.0, 10.0, 40.0]),
        pore_pressure_ratio=np.array([0.35, 0.35, 0.2, 0.35, 0.3, 0.35]),
        horizontal_seismic_coefficient=np.array([0.0, 0.0, 0.1, 0.0, 0.1, 0.0]),
    )
    found = many.factors_alone()
    assert np.all(found["rotation"] <= found["sliding"] * (1.0 + 1e-6))


def test_arrays_go_straight_through_and_the_lowest_is_taken_one_by_one() -> None:
    angles = np.array([10.0, 20.0, 35.0])
    soil = Soil(strength=Strength(cohesion=12.0, friction_angle=angles), unit_weight=18.0)
    check = PlanarWedge(soil=soil, height=8.0, face_angle=88.0, support_force=30.0)
    factors = check.evaluate().factors_of_safety
    assert np.shape(factors["rotation"]) == (3,)
    assert lowest_of(check.factors_alone()) == pytest.approx(
        np.minimum(*factors.values()), rel=1e-9
    )


def test_a_rotation_that_hangs_on_no_array_has_the_shape_of_the_others() -> None:
    check = wedge(tension_crack_distance=np.array([1.0, 2.0]))
    assert np.shape(check.evaluate().factors_of_safety["rotation"]) == (2,)


def test_a_rotation_that_cannot_be_run_is_said_and_the_plane_kept() -> None:
    """A ridge falls to the level of the toe again: the rotation asks for ground that rises."""
    check = PlanarWedge(soil=wedge().soil, ground_line=[[0.0, 0.0], [3.0, 6.0], [20.0, 0.0]])
    result = check.evaluate()
    assert list(result.factors_of_safety) == ["sliding"]
    (notice,) = (one for one in result.notices if one.code == "rotation-not-run")
    assert "may be lower" in notice.text
    with pytest.raises(InputError):
        check.factors_alone()
