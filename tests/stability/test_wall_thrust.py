"""Thrust behind a wall, resistance in front of it, and what a base key changes, by hand."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import Soil
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.coefficients import (
    coulomb,
    inner_plane_angle,
    rankine,
)
from slipmargin.stability.earth_pressure.trial_wedge import trial_wedge
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import Strength

GW = 9.81


def soil(c: Any, phi: Any, gamma: float = 18.0, sat: float = 20.0) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def wall(**fields: Any) -> RetainingWall:
    usual = {
        "backfill": soil(0.0, 32.0),
        "foundation": soil(5.0, 30.0),
        "embedment": 1.0,
        "wall": Wall(
            unit_weight=24.0,
            stem_height=4.5,
            stem_top_thickness=0.4,
            stem_bottom_thickness=0.4,
            toe_width=0.6,
            heel_width=2.0,
            base_thickness=0.5,
            key_depth=0.6,
            key_width=0.4,
            key_position=1.1,
        ),
    }
    return RetainingWall(**(usual | fields))


BLOCK = Wall(
    unit_weight=23.0, shape="gravity", height=6.0, top_width=1.0, base_width=4.0, back_offset=0.0
)


def upright(c: float, phi: float, **fields: Any) -> Any:
    """Values behind an upright back 6 m high under level ground."""
    return wall(backfill=soil(c, phi), wall=BLOCK, **fields).evaluate(leave_out=("overall",)).values


def test_the_crack_is_as_deep_as_the_closed_form_above_and_below_water() -> None:
    """z_c = (2 c / √K_a - q) / γ above water; the rest of the pull is undone at γ′."""
    c, phi, q = 15.0, 25.0, 4.0
    k = float(rankine(phi))
    pull = 2.0 * c / math.sqrt(k) - q
    dry = upright(c, phi, surcharge=q)
    assert_allclose(dry.tension_crack_depth, pull / 18.0)
    wet = upright(c, phi, surcharge=q, water_table_depth=1.0)
    assert_allclose(wet.tension_crack_depth, 1.0 + (pull - 18.0) / (20.0 - GW))
    low = 6.0 - float(wet.tension_crack_depth)
    assert_allclose(wet.theory_thrust, 0.5 * k * (20.0 - GW) * low**2)
    assert_allclose(wet.theory_thrust_height, low / 3.0)


def test_the_stress_on_the_plane_is_the_weight_of_what_lies_over_it() -> None:
    """Dry, q + γ H / 2 in the mean; with water the area under the broken line over H."""
    dry = upright(0.0, 30.0, surcharge=5.0)
    assert_allclose(dry.mean_vertical_stress, 5.0 + 18.0 * 3.0)
    assert_allclose(dry.vertical_stress_at_foot, 5.0 + 18.0 * 6.0)
    wet = upright(0.0, 30.0, surcharge=5.0, water_table_depth=4.0)
    at_water, at_foot = 18.0 * 4.0, 18.0 * 4.0 + (20.0 - GW) * 2.0
    area = 0.5 * at_water * 4.0 + 0.5 * (at_water + at_foot) * 2.0
    assert_allclose(wet.mean_vertical_stress, 5.0 + area / 6.0)
    assert_allclose(wet.vertical_stress_at_foot, 5.0 + at_foot)


def test_no_cohesion_takes_the_thrust_below_the_minimum_earth_pressure() -> None:
    """½ γ H² tan²(45 - 40/2) at a third of the height: DIN 4085, EAB EB 4 (from memory)."""
    least = 0.5 * 18.0 * 36.0 * math.tan(math.radians(25.0)) ** 2
    found = upright(60.0, 25.0)
    assert_allclose([found.theory_thrust, found.theory_thrust_height], 0.0)
    assert_allclose(found.tension_crack_depth, 6.0)
    assert_allclose([found.thrust, found.minimum_thrust], least)
    assert_allclose(found.thrust_height, 2.0)
    much = wall(backfill=soil(40.0, 30.0), wall=BLOCK).evaluate(leave_out=("overall",))
    assert all(math.isfinite(factor) for factor in much.factors_of_safety.values())
    shaken = upright(60.0, 25.0, horizontal_seismic_coefficient=0.1)
    k_me = coulomb(40.0, seismic_angle=math.degrees(math.atan(0.1)))
    assert_allclose(shaken.thrust + shaken.thrust_increment, 0.5 * 18.0 * 36.0 * k_me)


def test_a_little_cohesion_lowers_thrust_and_moment_without_a_jump() -> None:
    """Down to the minimum, and no further."""
    for phi in (28.0, 36.0, 40.0):
        strengths = Strength(cohesion=np.linspace(0.0, 40.0, 4001), friction_angle=phi)
        v = (
            wall(backfill=Soil(strength=strengths, unit_weight=18.0), wall=BLOCK)
            .evaluate(leave_out=("overall",))
            .values
        )
        for path in (v.thrust, v.thrust * v.thrust_height):
            step = np.diff(np.broadcast_to(path, 4001))
            assert np.all(step <= 1e-9)
            assert np.all(step > -0.002 * np.max(path))
        least = 324.0 * float(rankine(40.0))
        assert_allclose([np.min(v.thrust), np.broadcast_to(v.thrust, 4001)[-1]], least)


def test_the_least_cohesion_brings_the_minimum_even_above_its_angle() -> None:
    """A rule of the code, and so a step: the fill that is declared cohesive gets φ′ = 40°."""
    assert_allclose(upright(0.1, 44.0).thrust, 324.0 * float(rankine(40.0)))


def test_the_minimum_without_cohesion_is_no_matter() -> None:
    v = upright(0.0, 44.0)
    assert_allclose(v.thrust, 324.0 * float(rankine(44.0)))
    assert math.isnan(float(v.minimum_thrust))


@pytest.mark.parametrize("theory", ["rankine", "coulomb"])
@pytest.mark.parametrize("depth", [None, 2.5])
@pytest.mark.parametrize("k_h", [0.0, 0.08])
def test_the_thrust_is_that_of_the_earth_pressure_check(
    theory: str, depth: float | None, k_h: float
) -> None:
    """On a slope with cohesion, where two engines once gave two answers."""
    section = {"wall": BLOCK} if theory == "coulomb" else {}
    friction = 20.0 if theory == "coulomb" else None
    v = (
        wall(
            backfill=soil(6.0, 30.0),
            theory=theory,
            wall_friction_angle=friction,
            backfill_slope_angle=14.0,
            surcharge=5.0,
            water_table_depth=depth,
            horizontal_seismic_coefficient=k_h,
            **section,
        )
        .evaluate(leave_out=("overall",))
        .values
    )
    rise = float(v.thrust_plane_height - v.wall_height)
    plain = theory == "rankine" and k_h > 0.0
    beside = (
        EarthPressure(
            soil=soil(6.0, 30.0),
            height=float(v.thrust_plane_height),
            theory=theory,
            wall_friction_angle=friction or 0.0,
            backfill_slope_angle=14.0,
            surcharge=5.0,
            water_table_depth=None if depth is None else depth + rise,
            horizontal_seismic_coefficient=0.0 if plain else k_h,
        )
        .evaluate(leave_out=("overall",))
        .values
    )
    assert_allclose(v.theory_thrust, beside.static_thrust)
    assert_allclose(v.theory_thrust_height, beside.static_thrust_height)
    if not plain:
        assert_allclose(v.theory_thrust_with_shaking, beside.earth_thrust)
        assert_allclose(v.trial_wedge_thrust_with_shaking, beside.trial_wedge_thrust)
        assert_allclose(v.minimum_thrust_with_shaking, beside.minimum_thrust)
    largest = np.max([v.theory_thrust, v.trial_wedge_thrust, v.minimum_thrust])
    assert_allclose(v.thrust, largest)


def test_water_under_a_slope_presses_as_hard_as_a_wedge_says() -> None:
    """A level table: sand over it weighs more than one that rises with the ground."""
    fields: dict[str, Any] = {"backfill_slope_angle": 25.0, "water_table_depth": 1.0}
    result = wall(**fields).evaluate(leave_out=("overall",))
    v = result.values
    found = trial_wedge(
        "active",
        height=v.thrust_plane_height,
        friction_angle=32.0,
        unit_weight=18.0,
        saturated_unit_weight=20.0,
        wall_friction_angle=25.0,
        backfill_slope_angle=25.0,
        water_table_depth=v.thrust_plane_height - 4.0,
    )
    assert float(found.thrust) > 1.05 * float(v.theory_thrust)
    assert_allclose(v.thrust, found.thrust)
    assert "trial-wedge-governs" in {notice.code for notice in result.notices}


@pytest.mark.parametrize("k_h", [0.0, 0.06])
@pytest.mark.parametrize("depth", [None, 1.0])
@pytest.mark.parametrize("slope", [0.0, 18.0])
@pytest.mark.parametrize("cohesion", [2.0, 8.0, 40.0])
def test_no_wall_has_less_thrust_than_with_loose_fill_of_forty_degrees(
    cohesion: float, slope: float, depth: float | None, k_h: float
) -> None:
    given: dict[str, Any] = {
        "backfill_slope_angle": slope,
        "water_table_depth": depth,
        "horizontal_seismic_coefficient": k_h,
        "surcharge": 6.0,
    }
    held, loose = (
        wall(backfill=one, **given).evaluate(leave_out=("overall",)).values
        for one in (soil(cohesion, 27.0), soil(0.0, 40.0))
    )
    slack = 1.0 - 1e-9
    assert float(held.thrust) >= float(loose.thrust) * slack
    for value in (
        lambda v: v.thrust * v.thrust_height,
        lambda v: v.thrust + v.thrust_increment,
    ):
        assert float(value(held)) >= float(value(loose)) * slack


def test_the_inner_plane_of_slip_follows_from_the_stresses() -> None:
    """Rankine's stresses below a slope: σ_x = K_a cos β, τ = K_a sin β, σ_z = 1 + τ tan β."""
    phi, beta = np.meshgrid([20.0, 30.0, 40.0], [-12.0, 0.0, 8.0, 19.0])
    k = rankine(phi, backfill_slope_angle=beta)
    tau = k * np.sin(np.radians(beta))
    upright_stress = 1.0 + tau * np.tan(np.radians(beta))
    along = k * np.cos(np.radians(beta))
    turned = 0.5 * np.degrees(np.arctan2(2.0 * tau, upright_stress - along))
    found = inner_plane_angle(phi, backfill_slope_angle=beta)
    assert_allclose(found, 45.0 - 0.5 * phi - turned, atol=1e-9)
    assert_allclose(inner_plane_angle(0.0), 45.0)


def resistance(c: float, phi: float, **fields: Any) -> Any:
    """Values in front of a block 1.5 m deep in the ground."""
    given = {"foundation": soil(c, phi), "wall": BLOCK, "embedment": 1.5, "passive_fraction": 1.0}
    return wall(**(given | fields)).evaluate(leave_out=("overall",)).values


def test_shaking_takes_from_the_passive_resistance() -> None:
    still, shaken = (resistance(4.0, 30.0, horizontal_seismic_coefficient=k) for k in (0.0, 0.2))
    k_pe = coulomb(30.0, seismic_angle=math.degrees(math.atan(0.2)), side="passive")
    assert_allclose(still.passive_coefficient, 3.0)
    assert_allclose(shaken.passive_coefficient, k_pe)
    lost = still.passive_resistance - shaken.passive_resistance
    assert_allclose(lost, (3.0 - k_pe) * 0.5 * 18.0 * 1.5**2)
    none = resistance(4.0, 5.0, horizontal_seismic_coefficient=0.3)
    assert_allclose(none.passive_coefficient, 0.0)
    held = 2.0 * 4.0 * math.tan(math.radians(47.5)) * 1.5
    assert_allclose(none.passive_resistance, held)


def test_below_water_shaking_in_front_takes_hold_of_the_saturated_weight() -> None:
    """tan ψ = k_h γ_sat / (γ_sat - γ_w): EN 1998-5, E.6 (from memory)."""
    v = resistance(
        0.0,
        34.0,
        water_table_depth=3.0,
        water_level_in_front=1.5,
        horizontal_seismic_coefficient=0.1,
    )
    psi = math.degrees(math.atan(0.1 * 20.0 / (20.0 - GW)))
    k_pe = coulomb(34.0, seismic_angle=psi, side="passive")
    assert_allclose(v.passive_seismic_angle, psi)
    assert_allclose(v.passive_resistance, 0.5 * k_pe * (20.0 - GW) * 1.5**2)


@pytest.mark.parametrize("depth", [None, 2.0, 5.0, 5.4, 9.0])
def test_a_key_weighs_pushes_and_holds_as_by_hand(depth: float | None) -> None:
    v = wall(water_table_depth=depth, passive_fraction=1.0).evaluate(leave_out=("overall",)).values
    width = 0.6 + 0.4 + 2.0
    height, key = 5.0, 0.6
    behind = 0.0 if depth is None else max(height - depth, 0.0)
    below = math.inf if depth is None else max(depth - height, 0.0)
    wet = min(max(key - below, 0.0), key)
    assert_allclose(v.key_weight, 0.4 * (0.6 * 24.0 - wet * GW))
    assert_allclose(v.key_arm, 1.3)
    k_f = math.tan(math.radians(30.0)) ** 2
    lift = (18.0 - 20.0 + GW) * wet**2 / (2.0 * key)
    stress = 18.0 * (height - behind) + (20.0 - GW) * behind + 0.5 * key * 18.0 - lift
    push = k_f * stress - 2.0 * 5.0 * math.sqrt(k_f) + GW * behind * 1.5 / width
    assert_allclose(v.key_thrust, key * push)
    dry = 1.0 + key - wet
    weight = 18.0 * dry**2 / 2 + wet * (18.0 * dry + (20.0 - GW) * wet / 2)
    assert_allclose(v.passive_resistance, 3.0 * weight + 10.0 * math.sqrt(3.0) * (dry + wet))
    share = min(max(below / 3.0, 0.0), 1.0)
    assert_allclose(v.unit_weight_below_base, (20.0 - GW) + share * (18.0 - 20.0 + GW))


def test_a_key_is_as_heavy_with_the_table_just_below_the_base_as_at_it() -> None:
    at, below = (
        wall(water_table_depth=d).evaluate(leave_out=("overall",)).values for d in (5.0, 5.0 + 1e-7)
    )
    assert_allclose(below.key_weight, at.key_weight, rtol=1e-6)
    assert_allclose(below.key_thrust, at.key_thrust, rtol=1e-6)


def test_the_head_on_a_key_lies_on_the_line_of_the_uplift() -> None:
    """At the heel it is that behind, at the toe that in front."""
    given = {"water_table_depth": 1.0, "water_level_in_front": 1.0}
    for back, head in ((0.4, 3.0 * 0.4 / 3.0), (1.7, 3.0 * 1.7 / 3.0), (3.0, 3.0)):
        key = {"key_depth": 0.6, "key_width": 0.4, "key_position": back - 0.4}
        section = dataclasses.replace(wall().wall, **key)
        v = wall(wall=section, **given).evaluate(leave_out=("overall",)).values
        assert_allclose(v.key_head, head)


def test_shaking_below_water_presses_the_key_with_the_saturated_weight() -> None:
    v = (
        wall(water_table_depth=2.0, horizontal_seismic_coefficient=0.1)
        .evaluate(leave_out=("overall",))
        .values
    )
    total = 18.0 * 2.0 + 20.0 * 3.0 + 20.0 * 0.3
    effective = total - GW * 3.3
    psi = math.degrees(math.atan(0.1 * total / effective))
    assert_allclose(v.key_seismic_angle, psi)
    assert_allclose(v.key_active_coefficient, coulomb(30.0, seismic_angle=psi))


def test_a_key_that_lowers_sliding_is_said() -> None:
    found = {notice.code: notice.text for notice in wall().evaluate(leave_out=("overall",)).notices}
    bare = dataclasses.replace(wall().wall, key_depth=None, key_width=None, key_position=None)
    without = float(wall(wall=bare).evaluate(leave_out=("overall",)).factors_of_safety["sliding"])
    assert f"without it the factor is {without:.2f}" in found["key-lowers-sliding"]
    deep = wall(passive_fraction=1.0).evaluate(leave_out=("overall",))
    assert "key-lowers-sliding" not in {notice.code for notice in deep.notices}


def test_shaking_beyond_the_friction_below_presses_the_key_with_the_whole_stress() -> None:
    v = (
        wall(foundation=soil(0.0, 5.0), horizontal_seismic_coefficient=0.15, surcharge=7.0)
        .evaluate(leave_out=("overall",))
        .values
    )
    assert_allclose(v.key_thrust, 0.6 * (18.0 * 5.0 + 7.0 + 0.3 * 18.0))


def test_friction_on_the_back_is_cut_to_that_of_the_backfill() -> None:
    block = Wall(
        unit_weight=23.0,
        shape="gravity",
        height=4.0,
        top_width=0.8,
        base_width=3.0,
        back_offset=0.0,
    )
    v = (
        wall(wall=block, theory="coulomb", wall_friction_angle=50.0)
        .evaluate(leave_out=("overall",))
        .values
    )
    assert_allclose(v.thrust_angle, 32.0)
    assert_allclose(v.active_coefficient, coulomb(32.0, wall_friction_angle=32.0))
