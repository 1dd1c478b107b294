"""A searched plane never travels without the rotation of the same slope."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from slipmargin.stability import InfiniteSlope, PlanarWedge, Rotational, Soil
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.planar_wedge.rotation_beside import (
    lowest_governing,
    rotation_factors,
    set_beside,
)
from slipmargin.strength import Strength


def wedge(**more: Any) -> PlanarWedge:
    soil = Soil(strength=Strength(cohesion=12.0, friction_angle=20.0), unit_weight=18.0)
    return PlanarWedge(soil=soil, **({"height": 8.0, "face_angle": 45.0} | more))


def test_a_plane_that_was_given_is_left_to_stand() -> None:
    check = wedge(plane_angle=30.0)
    result = check.evaluate()
    assert set_beside(check, result) is None
    assert "other-mechanisms-not-searched" in {n.code for n in result.notices}


def test_the_rotation_governs_a_moderate_slope_and_the_notice_says_by_how_much() -> None:
    check = wedge()
    result = check.evaluate()
    beside = set_beside(check, result)
    assert beside is not None
    assert beside.result is not None
    plane, rotation = (float(r.factors_of_safety["sliding"]) for r in (result, beside.result))
    assert rotation < plane
    assert float(beside.lower) == rotation
    assert beside.governs == "rotational"
    (notice,) = beside.notices
    assert notice.code == "rotation-governs"
    assert factor_text(rotation) in notice.text
    assert f"{1.0 - rotation / plane:.0%}" in notice.text


def test_the_rotation_beside_carries_the_loads_of_the_plane() -> None:
    loads = {"pore_pressure_ratio": 0.15, "surcharge": 10.0, "horizontal_seismic_coefficient": 0.1}
    check = wedge(upper_slope_angle=8.0, **loads)
    beside = set_beside(check, check.evaluate())
    assert beside is not None
    assert beside.result is not None
    alone = Rotational(
        soil=check.soil, height=8.0, face_angle=45.0, upper_slope_angle=8.0, **loads
    ).evaluate()
    assert beside.result.factors_of_safety["sliding"] == pytest.approx(
        float(alone.factors_of_safety["sliding"])
    )


def test_what_the_rotation_leaves_out_is_said() -> None:
    check = wedge(tension_crack_distance=2.0, support_force=50.0)
    beside = set_beside(check, check.evaluate())
    assert beside is not None
    text = beside.notices[0].text
    assert "tension crack" in text
    assert "support force" in text


def test_the_rotation_is_never_above_the_plane_without_crack_or_support() -> None:
    for face in (30.0, 45.0, 60.0, 75.0, 90.0):
        for angle in (5.0, 15.0, 25.0):
            soil = Soil(strength=Strength(cohesion=15.0, friction_angle=angle), unit_weight=18.0)
            check = PlanarWedge(soil=soil, height=6.0, face_angle=face)
            result = check.evaluate()
            beside = set_beside(check, result)
            assert beside is not None
            assert beside.result is not None
            rotation = float(beside.result.factors_of_safety["sliding"])
            assert rotation <= float(result.factors_of_safety["sliding"]) * (1.0 + 1e-6)


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
    plane = many.factors_alone()["sliding"]
    assert np.all(rotation_factors(many)["sliding"] <= plane * (1.0 + 1e-6))


def test_arrays_go_straight_through() -> None:
    soil = Soil(
        strength=Strength(cohesion=12.0, friction_angle=np.linspace(15.0, 35.0, 5)),
        unit_weight=18.0,
    )
    check = PlanarWedge(soil=soil, height=8.0, face_angle=45.0)
    beside = set_beside(check, check.evaluate())
    assert beside is not None
    assert np.shape(beside.lower) == (5,)


def test_the_lowest_of_both_is_taken_sample_by_sample() -> None:
    angles = np.array([10.0, 20.0, 35.0])
    soil = Soil(strength=Strength(cohesion=12.0, friction_angle=angles), unit_weight=18.0)
    check = PlanarWedge(soil=soil, height=8.0, face_angle=88.0, support_force=30.0)
    beside = set_beside(check, check.evaluate())
    assert beside is not None
    assert beside.result is not None
    factors = [check.evaluate().lowest, beside.result.lowest]
    assert lowest_governing(check) == pytest.approx(np.minimum(*factors), rel=1e-9)
    for alone in (
        wedge(plane_angle=30.0),
        InfiniteSlope(soil=wedge().soil, slope_angle=20.0, depth=2.0),
    ):
        assert lowest_governing(alone) == pytest.approx(alone.evaluate().lowest)


def test_a_rotation_that_cannot_be_run_is_said_and_the_plane_kept() -> None:
    """A ridge falls to the level of the toe again: the rotation asks for ground that rises."""
    soil = wedge().soil
    check = PlanarWedge(soil=soil, ground_line=[[0.0, 0.0], [3.0, 6.0], [20.0, 0.0]])
    result = check.evaluate()
    beside = set_beside(check, result)
    assert beside is not None
    assert beside.result is None
    assert beside.governs == "planar_wedge"
    assert beside.lower == pytest.approx(result.lowest)
    (notice,) = beside.notices
    assert notice.code == "rotation-not-run"
    assert "a lower factor may exist" in notice.text
