"""Uplift by the line of creep: heads walked along it by hand, limits, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import RetainingWall
from slipmargin.strength import InputError

STILL = replace(
    RetainingWall.example(),
    wall=replace(RetainingWall.example().wall, key_depth=None, key_width=None, key_position=None),
    water_table_depth=1.0,
    water_level_in_front=0.6,
)
SEEPING = replace(STILL, uplift_method="creep_line")


def test_heads_are_those_walked_along_the_line_of_creep() -> None:
    values = SEEPING.evaluate(leave_out=("overall",)).values
    behind, before, width = 3.0, 0.6, float(values.base_width)
    path = behind + width + before
    along = np.array([0.0, behind, behind + width, path])
    total = np.interp(along, [0.0, path], [behind, before])  # above the base
    assert_allclose(values.head_at_heel, total[1])
    assert_allclose(values.head_at_toe, total[2])
    places = np.linspace(0.0, width, 20001)
    pressure = 9.81 * np.interp(places, [0.0, width], [total[2], total[1]])
    assert_allclose(values.uplift, np.trapezoid(pressure, places), rtol=1e-9)
    about_toe = np.trapezoid(pressure * places, places)
    assert_allclose(values.uplift * values.uplift_arm, about_toe, rtol=1e-7)


def test_seepage_lifts_less_than_full_heads_at_heel_and_toe() -> None:
    still, seeping = (one.evaluate(leave_out=("overall",)) for one in (STILL, SEEPING))
    assert seeping.values.uplift < still.values.uplift
    assert seeping.factors_of_safety["sliding"] > still.factors_of_safety["sliding"]
    assert_allclose(seeping.values.water_thrust, still.values.water_thrust)
    assert_allclose(still.values.head_at_heel, 3.0)
    assert "seepage-below-base" in {one.code for one in seeping.notices}


def test_without_a_difference_of_head_nothing_flows() -> None:
    level = {"water_table_depth": 3.5, "water_level_in_front": 0.5}
    still = replace(STILL, **level).evaluate(leave_out=("overall",))
    seeping = replace(SEEPING, **level).evaluate(leave_out=("overall",))
    assert_allclose(seeping.values.uplift, still.values.uplift)
    assert "seepage-below-base" not in {one.code for one in seeping.notices}


def test_a_steep_flow_upward_in_front_stops_the_check() -> None:
    narrow = replace(SEEPING.wall, heel_width=0.2, toe_width=0.1)
    light = replace(SEEPING.foundation, saturated_unit_weight=14.0)
    check = replace(
        SEEPING, wall=narrow, foundation=light, water_table_depth=0.0, water_level_in_front=None
    )
    said = {one.code: one for one in check.evaluate(leave_out=("overall",)).notices}
    assert said["seepage-below-base"].severity == "stop"


@pytest.mark.parametrize("wall", [
    replace(SEEPING, water_table_depth=None, water_level_in_front=None),
    replace(RetainingWall.example(), uplift_method="creep_line"),
])  # fmt: skip
def test_a_line_of_creep_without_water_or_round_a_key_is_refused(wall: RetainingWall) -> None:
    with pytest.raises(InputError, match="uplift_method"):
        wall.evaluate()
