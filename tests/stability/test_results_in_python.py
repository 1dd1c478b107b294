"""The result of every kind of check draws itself and shows its working."""

from __future__ import annotations

import pytest
from matplotlib.figure import Figure

from slipmargin.stability import KINDS, InfiniteSlope, Soil
from slipmargin.stability.check import CheckResult, examples_of
from slipmargin.stability.working import result_steps
from slipmargin.strength import InputError, Strength

CHEAP = [kind for kind in KINDS if kind not in ("layered_slope", "retaining_wall")]


@pytest.mark.parametrize("kind", CHEAP)
def test_a_result_draws_itself_and_shows_its_working(kind: str) -> None:
    check = examples_of(KINDS[kind])[0]
    result = check.evaluate()
    assert isinstance(result.plot(), Figure)
    steps = result.working()
    assert tuple(result_steps(check, result)) == steps[-len(result_steps(check, result)) :]
    assert steps[0].says in repr(steps)


def test_a_result_put_together_by_hand_has_no_check_to_draw() -> None:
    by_hand = CheckResult(factors_of_safety={}, values=None)
    for asked in (by_hand.plot, by_hand.working):
        with pytest.raises(InputError, match="check is missing"):
            asked()


def test_a_soil_and_a_strength_of_a_wrong_kind_are_named() -> None:
    with pytest.raises(InputError, match=r"strength: .* give a Strength"):
        Soil(name="bank", strength="4 kPa", unit_weight=18.0)  # type: ignore[arg-type]
    slope = InfiniteSlope(soil="bank", slope_angle=28.0, depth=2.0)  # type: ignore[arg-type]
    with pytest.raises(InputError, match=r"soil: .* give a Soil"):
        slope.evaluate()
    sound = Soil(name="bank", strength=Strength(cohesion=4.0, friction_angle=30.0), unit_weight=18)
    assert InfiniteSlope(soil=sound, slope_angle=28.0, depth=2.0).evaluate().factors_of_safety
