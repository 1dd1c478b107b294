"""Laws a retaining wall obeys whatever the numbers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.stability import Soil
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import Strength

few = settings(max_examples=40, deadline=None)
frictions = st.floats(26.0, 42.0)
cohesions = st.floats(0.0, 10.0)
heights = st.floats(2.0, 8.0)
heels = st.floats(0.3, 1.0)
shares = st.floats(0.0, 1.0)
theories = st.sampled_from(["rankine", "coulomb"])


def wall(
    theory: str, height: float, heel: float, phi: float, c: float, scale: float = 1.0, **more: Any
) -> RetainingWall:
    """A cantilever for rankine, a battered block for coulomb; everything in shares of height."""
    h = height * scale
    lengths = ("water_table_depth", "water_level_in_front", "embedment")
    stresses = ("surcharge", "base_adhesion")
    more = {k: v * scale if k in lengths + stresses else v for k, v in more.items()}
    if theory == "rankine":
        section = Wall(
            unit_weight=24.0,
            stem_height=0.9 * h,
            stem_top_thickness=0.05 * h,
            stem_bottom_thickness=0.1 * h,
            toe_width=0.15 * h,
            heel_width=heel * h,
            base_thickness=0.1 * h,
        )
    else:
        section = Wall(
            unit_weight=23.0,
            shape="gravity",
            height=h,
            top_width=0.15 * h,
            base_width=(0.35 + heel) * h,
            back_offset=0.15 * h,
        )
        more = {"wall_friction_angle": 0.6 * phi} | more
    return RetainingWall(
        backfill=Soil(
            strength=Strength(cohesion=c * scale, friction_angle=phi),
            unit_weight=18.0,
            saturated_unit_weight=20.0,
        ),
        foundation=Soil(
            strength=Strength(cohesion=10.0 * scale, friction_angle=32.0),
            unit_weight=18.5,
            saturated_unit_weight=20.0,
        ),
        wall=section,
        theory=theory,
        **({"embedment": 0.15 * h} | more),
    )


def factors(check: RetainingWall) -> dict[str, float]:
    return {
        name: float(f)
        for name, f in check.evaluate(leave_out=("overall",)).factors_of_safety.items()
    }


def not_above(after: float, before: float) -> None:
    assert after <= before * (1.0 + 1e-9)


@few
@given(theories, heights, heels, frictions, cohesions, shares, shares)
def test_sliding_and_overturning_fall_as_water_rises(
    theory: str, h: float, heel: float, phi: float, c: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    dry = factors(wall(theory, h, heel, phi, c, water_table_depth=h * (1.0 - low)))
    wet = factors(wall(theory, h, heel, phi, c, water_table_depth=h * (1.0 - high)))
    not_above(wet["sliding"], dry["sliding"])
    not_above(wet["overturning"], dry["overturning"])


@few
@given(theories, heights, heels, frictions, cohesions, shares, shares)
def test_factors_fall_as_the_surcharge_grows(
    theory: str, h: float, heel: float, phi: float, c: float, one: float, other: float
) -> None:
    low, high = sorted((30.0 * one, 30.0 * other))
    lighter = wall(theory, h, heel, phi, c, surcharge=low)
    light = factors(lighter)
    heavy = factors(wall(theory, h, heel, phi, c, surcharge=high))
    not_above(heavy["sliding"], light["sliding"])
    not_above(heavy["overturning"], light["overturning"])
    # a resultant heelward of the middle is pushed toward it
    if float(lighter.evaluate(leave_out=("overall",)).values.eccentricity) >= 0.0:
        not_above(heavy["bearing"], light["bearing"])


@few
@given(theories, heights, heels, frictions, cohesions, shares, shares)
def test_factors_fall_as_shaking_grows(
    theory: str, h: float, heel: float, phi: float, c: float, one: float, other: float
) -> None:
    low, high = sorted((0.25 * one, 0.25 * other))
    calm = wall(theory, h, heel, phi, c, horizontal_seismic_coefficient=low)
    rough = factors(wall(theory, h, heel, phi, c, horizontal_seismic_coefficient=high))
    before = factors(calm)
    not_above(rough["sliding"], before["sliding"])
    not_above(rough["overturning"], before["overturning"])
    if float(calm.evaluate(leave_out=("overall",)).values.eccentricity) >= 0.0:
        not_above(rough["bearing"], before["bearing"])


@pytest.mark.slow
@few
@given(theories, heights, heels, frictions, cohesions, st.floats(0.1, 3.0))
def test_sliding_and_overturning_rise_with_the_strength_of_the_backfill(
    theory: str, h: float, heel: float, phi: float, c: float, more: float
) -> None:
    fixed = {"wall_friction_angle": 15.0} if theory == "coulomb" else {}
    before = factors(wall(theory, h, heel, phi, c, **fixed))
    # the least thrust of a fill with cohesion is that of 40 deg, where its first kPa is a step up
    cohesive = [(phi, c + more)] if c > 0.0 or phi <= 40.0 else []
    for stronger in ((phi + more, c), *cohesive):
        after = factors(wall(theory, h, heel, *stronger, **fixed))
        not_above(before["sliding"], after["sliding"])
        v = wall(theory, h, heel, *stronger, **fixed).evaluate(leave_out=("overall",)).values
        # held at its minimum moment, less thrust only takes the righting of its vertical part
        least = np.asarray(v.minimum_thrust) * v.minimum_thrust_height
        if not least >= np.asarray(v.theory_thrust) * v.theory_thrust_height:
            not_above(before["overturning"], after["overturning"])


@pytest.mark.slow
@few
@given(theories, heights, heels, frictions, cohesions, shares, st.floats(0.1, 10.0))
def test_factors_keep_when_lengths_and_stresses_scale_together(
    theory: str, h: float, heel: float, phi: float, c: float, wet: float, scale: float
) -> None:
    fields = {
        "water_table_depth": h * (1.0 - 0.5 * wet),
        "surcharge": 10.0 * wet,
        "base_adhesion": 5.0,
        "embedment": 0.2 * h,
        "passive_fraction": 0.5,
        "backfill_slope_angle": 8.0,
        "horizontal_seismic_coefficient": 0.05,
    }
    one = factors(wall(theory, h, heel, phi, c, **fields))
    other = factors(wall(theory, h, heel, phi, c, scale, **fields))
    for name, factor in other.items():
        assert_allclose(factor, one[name], rtol=1e-9)


@few
@given(heights, heels, st.floats(28.0, 42.0), st.floats(0.0, 25.0))
def test_a_tall_heel_makes_rankine_of_coulomb(h: float, heel: float, phi: float, q: float) -> None:
    """With a vertical back, level ground and no wall friction the two theories are one."""
    section = Wall(
        unit_weight=23.0,
        shape="gravity",
        height=h,
        top_width=0.3 * h,
        base_width=(0.35 + heel) * h,
        back_offset=0.0,
    )
    both = [
        RetainingWall(
            backfill=Soil(strength=Strength(cohesion=3.0, friction_angle=phi), unit_weight=18.0),
            foundation=Soil(strength=Strength(cohesion=3.0, friction_angle=31.0), unit_weight=18.0),
            wall=section,
            theory=theory,
            surcharge=q,
            embedment=0.1 * h,
        )
        for theory in ("rankine", "coulomb")
    ]
    one, other = (factors(check) for check in both)
    for name, factor in other.items():
        assert_allclose(factor, one[name], rtol=1e-9)


@few
@given(theories, heights, heels, frictions, cohesions, shares)
def test_edge_pressures_balance_the_vertical_force(
    theory: str, h: float, heel: float, phi: float, c: float, wet: float
) -> None:
    check = wall(theory, h, heel, phi, c, water_table_depth=h * (1.0 - 0.6 * wet), surcharge=8.0)
    v = check.evaluate(leave_out=("overall",)).values
    assume(float(v.effective_width) > 0.0)
    toe, rear, width = float(v.toe_pressure), float(v.heel_pressure), float(v.base_width)
    lifted = min(toe, rear) <= 0.0
    pressed = 1.5 * (width - 2.0 * abs(float(v.eccentricity))) if lifted else width
    assert_allclose(0.5 * (toe + rear) * pressed, v.vertical_force, rtol=1e-9)
    assert np.isfinite(float(v.bearing_capacity))
