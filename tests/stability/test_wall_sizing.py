"""The smallest wall: it meets its targets, and nothing smaller does."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import Soil
from slipmargin.stability.design.customary_targets import CUSTOMARY
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.stability.retaining_wall.sizing import DIMENSIONS, smallest_wall
from slipmargin.strength import InputError, Strength

WALLS = {
    "heel_width": Wall(
        unit_weight=24.0,
        stem_height=4.5,
        stem_top_thickness=0.3,
        stem_bottom_thickness=0.45,
        toe_width=0.6,
        heel_width=1.0,
        base_thickness=0.5,
    ),
    "base_width": Wall(
        unit_weight=23.0,
        shape="gravity",
        height=4.0,
        top_width=0.5,
        base_width=2.0,
        back_offset=0.6,
    ),
}
WALLS["toe_width"] = dataclasses.replace(WALLS["heel_width"], heel_width=1.75)


def check(wall: Wall, phi: Any = 33.0, **fields: Any) -> RetainingWall:
    fill = Soil(strength=Strength(cohesion=0.0, friction_angle=phi), unit_weight=18.0)
    ground = Soil(strength=Strength(cohesion=5.0, friction_angle=33.0), unit_weight=19.0)
    return RetainingWall(
        backfill=fill,
        foundation=ground,
        wall=wall,
        embedment=0.8,
        base_friction_angle=30.0,
        **fields,
    )


def factors(one: RetainingWall, dimension: str, size: float) -> dict[str, Any]:
    wall = dataclasses.replace(one.wall, **{dimension: size})
    return dict(
        dataclasses.replace(one, wall=wall).evaluate(leave_out=("overall",)).factors_of_safety
    )


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_size_meets_every_target_and_a_little_less_does_not(dimension: str) -> None:
    one = check(WALLS[dimension])
    found = smallest_wall(one, dimension)
    size = float(found.value)
    at_size = factors(one, dimension, size)
    for name, target in CUSTOMARY.items():
        assert float(at_size[name]) >= target
        assert_allclose(found.factors_of_safety[name], at_size[name])
    governing = str(found.governing)
    assert_allclose(at_size[governing], CUSTOMARY[governing], rtol=1e-6)
    least = 1.1 if dimension == "base_width" else 0.0
    for share in (0.0, 0.3, 0.8, 0.999, 1.0 - 1e-9):
        lesser = factors(one, dimension, least + share * (size - least))
        assert any(float(lesser[name]) < target for name, target in CUSTOMARY.items())


def test_arrays_equal_scalars_and_the_hopeless_are_nan() -> None:
    phi = np.array([30.0, 34.0, 38.0])
    surcharge = np.array([[0.0], [15.0], [900.0]])
    many = smallest_wall(check(WALLS["heel_width"], phi, surcharge=surcharge), "heel_width")
    assert many.value.shape == (3, 3)
    for row in range(2):
        for column in range(3):
            one = smallest_wall(
                check(WALLS["heel_width"], float(phi[column]), surcharge=float(surcharge[row, 0])),
                "heel_width",
            )
            assert_allclose(many.value[row, column], one.value, rtol=1e-12)
    assert np.all(np.isnan(many.value[2]))
    assert "no-size-found" in {notice.code for notice in many.notices}


def test_a_target_of_ones_own_replaces_the_customary_one() -> None:
    one = check(WALLS["heel_width"])
    usual, strict = (
        smallest_wall(one, "heel_width"),
        smallest_wall(one, "heel_width", {"sliding": 2.0}),
    )
    assert strict.value > usual.value
    assert strict.targets == {"sliding": 2.0, "overturning": 2.0, "bearing": 3.0}


def test_a_wall_that_passes_everywhere_takes_the_least_its_shape_allows() -> None:
    easy = {"sliding": 0.01, "overturning": 0.01, "bearing": 1e-9}
    stout = dataclasses.replace(WALLS["base_width"], top_width=3.0, base_width=4.0)
    assert_allclose(smallest_wall(check(stout), "base_width", easy).value, 3.0 + 0.6)
    keyed = dataclasses.replace(
        WALLS["heel_width"], heel_width=2.0, key_depth=0.4, key_width=0.4, key_position=1.8
    )
    found = smallest_wall(check(keyed), "heel_width", easy)
    assert_allclose(found.value, 1.8 + 0.4 - 0.6 - 0.45)


def test_a_dimension_of_another_shape_and_an_unknown_target_are_refused() -> None:
    with pytest.raises(InputError, match="sized by: base_width"):
        smallest_wall(check(WALLS["base_width"]), "heel_width")
    with pytest.raises(InputError, match="above 0"):
        smallest_wall(check(WALLS["base_width"]), "base_width", {"bearing": 0.0})
    with pytest.raises(InputError, match="sliding, overturning, bearing"):
        smallest_wall(check(WALLS["base_width"]), "base_width", {"tilting": 2.0})
