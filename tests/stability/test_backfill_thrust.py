"""Thrust behind a wall, resistance in front of it, and what a base key changes, by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stability import Soil
from stability.backfill_thrust import (
    ThrustPlane,
    backfill_thrust,
    passive_resistance,
    rupture_angle,
)
from stability.pressure_coefficients import coulomb_active, coulomb_passive, rankine_active
from stability.retaining_wall import RetainingWall
from stability.wall_section import Wall
from strength import Strength

GW = 9.81


def soil(c: Any, phi: Any, gamma: float = 18.0, sat: float = 20.0) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def upright(height: Any, **fields: Any) -> Any:
    usual = {
        "rankine": True,
        "backfill_slope_angle": 0.0,
        "surcharge": 0.0,
        "water_height": 0.0,
        "water_unit_weight": GW,
        "horizontal_seismic_coefficient": 0.0,
    }
    earth = fields.pop("soil")
    plane = ThrustPlane(height=height, batter=0.0, friction_angle=0.0, foot=3.0)
    return backfill_thrust(earth, plane, **(usual | fields))


def test_the_crack_is_as_deep_as_the_closed_form_above_and_below_water() -> None:
    """z_c = (2 c / √K_a - q) / γ above water; the rest of the pull is undone at γ′."""
    c, phi, q = 15.0, 25.0, 4.0
    k = float(rankine_active(phi))
    pull = 2.0 * c / math.sqrt(k) - q
    dry = upright(6.0, soil=soil(c, phi), surcharge=q)
    assert_allclose(dry.tension_crack_depth, pull / 18.0)
    wet = upright(6.0, soil=soil(c, phi), surcharge=q, water_height=5.0)
    assert_allclose(wet.tension_crack_depth, 1.0 + (pull - 18.0) / (20.0 - GW))
    low = 6.0 - float(wet.tension_crack_depth)
    assert_allclose(wet.thrust, 0.5 * k * (20.0 - GW) * low**2)
    assert_allclose(wet.height, low / 3.0)


def test_the_stress_on_the_plane_is_the_weight_of_what_lies_over_it() -> None:
    """Dry, q + γ H / 2 in the mean; with water the area under the broken line over H."""
    dry = upright(6.0, soil=soil(0.0, 30.0), surcharge=5.0)
    assert_allclose(dry.mean_vertical_stress, 5.0 + 18.0 * 3.0)
    assert_allclose(dry.foot_vertical_stress, 5.0 + 18.0 * 6.0)
    wet = upright(6.0, soil=soil(0.0, 30.0), surcharge=5.0, water_height=2.0)
    at_water, at_foot = 18.0 * 4.0, 18.0 * 4.0 + (20.0 - GW) * 2.0
    area = 0.5 * at_water * 4.0 + 0.5 * (at_water + at_foot) * 2.0
    assert_allclose(wet.mean_vertical_stress, 5.0 + area / 6.0)
    assert_allclose(wet.foot_vertical_stress, 5.0 + at_foot)


def test_a_soil_that_stands_by_itself_does_not_push() -> None:
    found = upright(2.0, soil=soil(60.0, 25.0))
    assert_allclose([found.thrust, found.height], 0.0)
    assert_allclose(found.tension_crack_depth, 2.0)


def test_the_inner_plane_of_slip_follows_from_the_stresses() -> None:
    """Rankine's stresses below a slope: σ_x = K_a cos β, τ = K_a sin β, σ_z = 1 + τ tan β."""
    phi, beta = np.meshgrid([20.0, 30.0, 40.0], [-12.0, 0.0, 8.0, 19.0])
    k = rankine_active(phi, backfill_slope_angle=beta)
    tau = k * np.sin(np.radians(beta))
    upright_stress = 1.0 + tau * np.tan(np.radians(beta))
    along = k * np.cos(np.radians(beta))
    turned = 0.5 * np.degrees(np.arctan2(2.0 * tau, upright_stress - along))
    assert_allclose(rupture_angle(phi, beta), 45.0 - 0.5 * phi - turned, atol=1e-9)
    assert_allclose(rupture_angle(0.0, 0.0), 45.0)


def test_shaking_takes_from_the_passive_resistance() -> None:
    given = {"depth": 1.5, "water_height": 0.0, "water_unit_weight": GW}
    still, p_still = passive_resistance(
        soil(4.0, 30.0), **given, horizontal_seismic_coefficient=0.0
    )
    shaken, p_shaken = passive_resistance(
        soil(4.0, 30.0), **given, horizontal_seismic_coefficient=0.2
    )
    assert_allclose(still, 3.0)
    assert_allclose(shaken, coulomb_passive(30.0, seismic_angle=math.degrees(math.atan(0.2))))
    assert_allclose(p_still - p_shaken, (still - shaken) * 0.5 * 18.0 * 1.5**2)
    none, held = passive_resistance(soil(4.0, 5.0), **given, horizontal_seismic_coefficient=0.3)
    assert_allclose(none, 0.0)
    assert_allclose(held, 2.0 * 4.0 * math.tan(math.radians(47.5)) * 1.5)


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


@pytest.mark.parametrize("depth", [None, 2.0, 5.0, 5.4, 9.0])
def test_a_key_weighs_pushes_and_holds_as_by_hand(depth: float | None) -> None:
    v = wall(water_table_depth=depth, passive_fraction=1.0).evaluate().values
    height, key = 5.0, 0.6
    behind = 0.0 if depth is None else max(height - depth, 0.0)
    below = math.inf if depth is None else max(depth - height, 0.0)
    assert_allclose(v.key_weight, 0.6 * 0.4 * (24.0 - (GW if below == 0.0 else 0.0)))
    assert_allclose(v.key_arm, 1.3)
    k_f = math.tan(math.radians(30.0)) ** 2
    stress = 18.0 * (height - behind) + (20.0 - GW) * behind + 0.5 * key * 18.0
    push = k_f * stress - 2.0 * 5.0 * math.sqrt(k_f) + GW * behind
    assert_allclose(v.key_thrust, key * push)
    wet = min(max(key - below, 0.0), key)
    dry = 1.0 + key - wet
    weight = 18.0 * dry**2 / 2 + wet * (18.0 * dry + (20.0 - GW) * wet / 2)
    assert_allclose(v.passive_resistance, 3.0 * weight + 10.0 * math.sqrt(3.0) * (dry + wet))
    share = min(max(below / 3.0, 0.0), 1.0)
    assert_allclose(v.unit_weight_below_base, (20.0 - GW) + share * (18.0 - 20.0 + GW))


def test_shaking_beyond_the_friction_below_presses_the_key_with_the_whole_stress() -> None:
    v = (
        wall(foundation=soil(0.0, 5.0), horizontal_seismic_coefficient=0.15, surcharge=7.0)
        .evaluate()
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
    v = wall(wall=block, theory="coulomb", wall_friction_angle=50.0).evaluate().values
    assert_allclose(v.thrust_angle, 32.0)
    assert_allclose(v.active_coefficient, coulomb_active(32.0, wall_friction_angle=32.0))
