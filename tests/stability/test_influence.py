"""Swings of inputs over their ranges."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.stability.uncertainty.influence import (
    Move,
    Swing,
    field_slot,
    ranked,
    strength_slot,
    swings,
)
from slipmargin.stability.uncertainty.replaced import with_field, with_soil_strength
from slipmargin.strength import Strength

BANK = Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name="bank")
SLOPE = InfiniteSlope(soil=BANK, slope_angle=25.0, depth=2.0)


def factor(**changes: float) -> float:
    return float(dataclasses.replace(SLOPE, **changes).evaluate().lowest)


def swing_of(field: str, unit: str, low: float, high: float) -> list[Swing]:
    return swings(SLOPE, [move_of(field, unit, low, high)])


def move_of(field: str, unit: str, low: float, high: float) -> Move:
    return Move(
        put=lambda check, value: with_field(check, (field,), value),
        held=(getattr(SLOPE, field),),
        slots=(field_slot(field, unit, low, high),),
    )


def strength_moves(*slots: tuple[str, np.ndarray, np.ndarray]) -> list[Move]:
    made = [strength_slot(*slot) for slot in slots]
    return [
        Move(
            put=lambda check, c, phi: with_soil_strength(check, "bank", c, phi),
            held=(5.0, 30.0),
            slots=tuple(slot for slot in made if slot is not None),
        )
    ]


def with_pair(c: float, phi: float) -> float:
    return float(with_soil_strength(SLOPE, "bank", c, phi).evaluate().lowest)


def test_a_field_is_swung_between_its_two_ends() -> None:
    (swing,) = swing_of("depth", "m", 1.0, 3.0)
    assert (swing.at_low, swing.at_high) == pytest.approx((factor(depth=1.0), factor(depth=3.0)))
    assert (swing.low, swing.high) == ("1 m", "3 m")


def test_an_end_that_cannot_be_gives_no_swing_and_spoils_no_other() -> None:
    assert swing_of("slope_angle", "deg", 25.0, 95.0) == []
    moves = [move_of("slope_angle", "deg", 25.0, 95.0), move_of("depth", "m", 1.0, 3.0)]
    assert swings(SLOPE, moves) == swing_of("depth", "m", 1.0, 3.0)


def test_swings_of_one_call_are_those_of_a_call_each() -> None:
    pairs = np.array([2.0, 8.0]), np.array([33.0, 27.0])
    alone = np.array([1.0, 9.0]), np.array([30.0, 30.0])
    strengths = strength_moves(("both", *pairs), ("c alone", *alone))
    moves = [
        *strengths,
        move_of("depth", "m", 1.0, 3.0),
        move_of("slope_angle", "deg", 20.0, 30.0),
    ]
    found = swings(SLOPE, moves)
    assert [swing.name for swing in found] == ["both", "c alone", "depth", "slope_angle"]
    ends = [(s.at_low, s.at_high) for s in found]
    assert ends[0] == pytest.approx(sorted([with_pair(2.0, 33.0), with_pair(8.0, 27.0)]))
    assert ends[1] == pytest.approx([with_pair(1.0, 30.0), with_pair(9.0, 30.0)])
    assert ends[2] == pytest.approx([factor(depth=1.0), factor(depth=3.0)])
    assert ends[3] == pytest.approx([factor(slope_angle=20.0), factor(slope_angle=30.0)])


def test_pairs_that_are_no_strengths_are_left_out() -> None:
    c, phi = np.array([2.0, 8.0, -1.0]), np.array([33.0, 27.0, 40.0])
    (swing,) = swings(SLOPE, strength_moves(("bank", c, phi)))
    pairs = [with_pair(2.0, 33.0), with_pair(8.0, 27.0)]
    assert (swing.at_low, swing.at_high) == pytest.approx((min(pairs), max(pairs)))
    assert strength_slot("none", np.array([-1.0]), np.array([30.0])) is None


def test_the_widest_swing_comes_first() -> None:
    found = swing_of("depth", "m", 1.9, 2.1) + swing_of("slope_angle", "deg", 20.0, 30.0)
    assert [s.name for s in ranked(found)] == ["slope_angle", "depth"]


def test_nothing_to_move_gives_no_swing() -> None:
    assert swings(SLOPE, []) == []
