"""Laws an infinite slope obeys whatever the numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import Strength

angles = st.floats(5.0, 50.0)
depths = st.floats(0.5, 10.0)
cohesions = st.floats(0.0, 40.0)
frictions = st.floats(5.0, 45.0)
shares = st.floats(0.0, 1.0)


def factor(
    c: float, phi: float, beta: float, depth: float, wet: float, scale: float = 1.0
) -> float:
    soil = Soil(
        strength=Strength(cohesion=c * scale, friction_angle=phi),
        unit_weight=18.0,
        saturated_unit_weight=20.0,
    )
    check = InfiniteSlope(
        soil=soil,
        slope_angle=beta,
        depth=depth * scale,
        water_table_depth=depth * scale * (1.0 - wet),
    )
    return float(check.evaluate().factors_of_safety["sliding"])


@given(cohesions, frictions, angles, depths, shares, st.floats(0.1, 5.0))
def test_the_factor_rises_with_cohesion_and_friction(
    c: float, phi: float, beta: float, depth: float, wet: float, more: float
) -> None:
    base = factor(c, phi, beta, depth, wet)
    assert factor(c + more, phi, beta, depth, wet) > base
    assert factor(c, phi + more, beta, depth, wet) >= base


@given(cohesions, frictions, angles, depths, shares, st.floats(0.1, 10.0))
def test_the_factor_keeps_when_lengths_and_cohesion_scale_together(
    c: float, phi: float, beta: float, depth: float, wet: float, scale: float
) -> None:
    base = factor(c, phi, beta, depth, wet)
    assert factor(c, phi, beta, depth, wet, scale) == pytest.approx(base, rel=1e-9)


@given(cohesions, frictions, angles, depths, shares, shares)
def test_the_factor_falls_as_water_rises(
    c: float, phi: float, beta: float, depth: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    assert factor(c, phi, beta, depth, high) <= factor(c, phi, beta, depth, low) * (1 + 1e-12)
