"""Swings of inputs over their ranges."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from stability import InfiniteSlope, Soil
from stability.influence import ranked, swing_field, swing_strength
from stability.sensitivity import with_field, with_soil_strength
from strength import Strength

BANK = Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name="bank")
SLOPE = InfiniteSlope(soil=BANK, slope_angle=25.0, depth=2.0)


def factor(**changes: float) -> float:
    return float(dataclasses.replace(SLOPE, **changes).evaluate().lowest)


def test_a_field_is_swung_between_its_two_ends() -> None:
    swing = swing_field("depth", "m", lambda v: with_field(SLOPE, ("depth",), v), 1.0, 3.0)
    assert swing is not None
    assert (swing.at_low, swing.at_high) == pytest.approx((factor(depth=1.0), factor(depth=3.0)))
    assert (swing.low, swing.high) == ("1 m", "3 m")


def test_an_end_that_cannot_be_gives_no_swing() -> None:
    turned = lambda v: with_field(SLOPE, ("slope_angle",), v)  # noqa: E731
    assert swing_field("slope", "deg", turned, 25.0, 95.0) is None


def test_a_strength_is_swung_to_the_worst_and_the_best_of_its_pairs() -> None:
    c, phi = np.array([2.0, 8.0, -1.0]), np.array([33.0, 27.0, 40.0])
    swing = swing_strength("bank", lambda a, b: with_soil_strength(SLOPE, "bank", a, b), c, phi)
    assert swing is not None
    pairs = [
        float(with_soil_strength(SLOPE, "bank", a, b).evaluate().lowest)
        for a, b in ((2.0, 33.0), (8.0, 27.0))
    ]
    assert (swing.at_low, swing.at_high) == pytest.approx((min(pairs), max(pairs)))


def test_the_widest_swing_comes_first() -> None:
    swings = [
        swing_field("depth", "m", lambda v: with_field(SLOPE, ("depth",), v), 1.9, 2.1),
        swing_field("slope", "deg", lambda v: with_field(SLOPE, ("slope_angle",), v), 20.0, 30.0),
    ]
    assert [s.name for s in ranked([s for s in swings if s])] == ["slope", "depth"]
