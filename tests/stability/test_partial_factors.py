"""Partial factors: what they make of a strength, and which sets are refused."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import UNFACTORED
from numpy.testing import assert_allclose

from slipmargin.stability.design.partial_factors import (
    EQUILIBRIUM,
    RECOMMENDED,
    cohesion_factor,
    design_cohesion,
    design_friction_angle,
    design_strength,
    factor_set,
    own_factor_set,
)
from slipmargin.strength import InputError, PowerCurve, Strength

NATIONAL = {
    "permanent_unfavourable": 1.2,
    "permanent_favourable": 0.95,
    "variable_unfavourable": 1.4,
    "tan_friction_angle": 1.3,
    "cohesion": 1.3,
    "bearing": 1.2,
    "sliding": 1.05,
    "earth_resistance": 1.3,
    "slope_resistance": 1.05,
}


def test_a_wall_takes_its_own_factor_where_the_approach_names_one() -> None:
    """EN 1997-1:2004, 2.4.7.3.4 (from memory): A1 on structural actions in approach 3."""
    for name in ("DA1-1", "DA1-2", "DA2"):
        factors = RECOMMENDED[name].factors
        assert factors["structural_permanent_unfavourable"] == factors["permanent_unfavourable"]
    assert RECOMMENDED["DA3"].factors["structural_permanent_unfavourable"] == 1.35


def test_what_was_recalled_of_equilibrium_says_so() -> None:
    assert EQUILIBRIUM.from_memory
    assert all(one.overturning is EQUILIBRIUM for one in RECOMMENDED.values())


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 89.0), st.floats(1.0, 2.0), st.floats(1.0, 2.0))
def test_a_larger_factor_leaves_less_strength(phi: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert design_friction_angle(phi, high) <= design_friction_angle(phi, low) + 1e-12
    assert design_cohesion(10.0, high) <= design_cohesion(10.0, low)
    tan = math.tan(math.radians(float(design_friction_angle(phi, low))))
    assert tan * low == pytest.approx(math.tan(math.radians(phi)), rel=1e-12)


def test_a_factor_of_one_changes_no_digit() -> None:
    phi = np.array([0.0, 17.3, 31.4, 44.9])
    assert np.array_equal(design_friction_angle(phi, 1.0), phi)


def test_soil_in_total_stress_takes_the_undrained_factor() -> None:
    strength = Strength(cohesion=np.array([30.0, 30.0]), friction_angle=np.array([0.0, 20.0]))
    reduced = design_strength(strength, RECOMMENDED["DA1-2"])
    assert_allclose(reduced.cohesion, [30.0 / 1.4, 30.0 / 1.25], rtol=1e-15)
    own = own_factor_set("annex", NATIONAL)
    assert_allclose(cohesion_factor(strength, own), [1.3, 1.3])


def test_a_curved_envelope_is_divided_as_a_whole() -> None:
    curve = PowerCurve(coefficient=0.8, exponent=0.8, tested_range=(20.0, 200.0))
    own = own_factor_set("annex", NATIONAL | {"tan_friction_angle": 1.25, "cohesion": 1.4})
    reduced = design_strength(Strength.from_curve(curve), own)
    stress = np.array([5.0, 20.0, 90.0, 300.0])
    assert_allclose(reduced.shear_strength(stress), curve.shear_strength(stress) / 1.4, rtol=1e-14)
    assert reduced.tested_range == (20.0, 200.0)


def test_a_set_of_ones_own_is_found_by_name() -> None:
    own = own_factor_set("annex", NATIONAL, source="National annex")
    assert factor_set("annex", {"annex": own}) is own
    assert own.factors["variable_favourable"] == 0.0
    assert own.factors["undrained_strength"] == own.cohesion
    assert own.overturning is EQUILIBRIUM
    ones = dict.fromkeys(NATIONAL, 1.0)
    held = own_factor_set("annex", NATIONAL | {"equilibrium": ones}).overturning
    assert held.permanent_favourable == 1.0
    assert UNFACTORED.overturning.permanent_favourable == 1.0


@pytest.mark.parametrize(
    ("change", "place", "word"),
    [
        ({"cohesion": 0.0}, "annex.cohesion", "above 0"),
        ({"cohesion": "1.25"}, "annex.cohesion", "bare number"),
        ({"cohesion": True}, "annex.cohesion", "bare number"),
        ({"bearing": math.inf}, "annex.bearing", "above 0"),
        ({"soil": 1.0}, "annex.soil", "tan_friction_angle"),
        ({"permanent_favourable": 1.3}, "annex.permanent_favourable", "up to"),
        ({"variable_favourable": -0.1}, "annex.variable_favourable", "from 0"),
        ({"equilibrium": {"bearing": 1.0}}, "annex.equilibrium", "every factor"),
    ],
)
def test_a_bad_set_is_refused_in_words(change: dict[str, Any], place: str, word: str) -> None:
    with pytest.raises(InputError, match=word) as caught:
        own_factor_set("annex", NATIONAL | change)
    assert caught.value.place.startswith(place)


def test_a_missing_factor_is_not_guessed() -> None:
    short = {name: value for name, value in NATIONAL.items() if name != "sliding"}
    with pytest.raises(InputError, match="every factor"):
        own_factor_set("annex", short)


def test_a_name_of_the_code_cannot_be_taken() -> None:
    with pytest.raises(InputError, match="another name"):
        own_factor_set("DA2", NATIONAL)


def test_an_unknown_set_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="DA1-1, DA1-2, DA2, DA3, annex"):
        factor_set("DA4", {"annex": own_factor_set("annex", NATIONAL)})
