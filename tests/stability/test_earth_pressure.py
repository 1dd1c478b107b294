"""Earth pressure against integrals and its own other routes."""

from __future__ import annotations

import dataclasses
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from slipmargin.stability import Soil
from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.profile import ConjugateLaw, Layer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.strength import InputError, PowerCurve, Strength


def soil(c: Any = 0.0, phi: Any = 30.0, gamma: Any = 18.0, sat: Any = 20.0, **more: Any) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi, **more)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def wall(c: Any = 0.0, phi: Any = 30.0, **fields: Any) -> EarthPressure:
    return EarthPressure(**({"soil": soil(c, phi), "height": 6.0} | fields))


def values(check: EarthPressure) -> Any:
    return check.evaluate().values


def codes(check: EarthPressure) -> set[str]:
    return {notice.code for notice in check.evaluate().notices}


def test_the_sloping_case_keeps_the_figure_of_the_closed_form() -> None:
    # Das, Principles of Geotechnical Engineering, Ex 13.6: the book interpolates K'a = 0.30
    # where the closed form of Mazindrani & Ganjali has 0.3125
    law = ConjugateLaw(np.array(250.0), np.array(20.0), np.array(10.0), -1.0)
    stress = np.array(118.0 * 15.0)
    ka = law.pressure(stress) / stress / np.cos(np.radians(10.0))
    assert float(ka) == pytest.approx(0.3125, abs=5e-5)


def layered(depths: Any, weights: Any, phi: float, **fields: Any) -> EarthPressure:
    layers = tuple(
        Layer(soil=soil(0.0, phi, weight, weight), thickness=depth)
        for depth, weight in zip(depths, weights, strict=True)
    )
    return EarthPressure(layers=layers, height=sum(depths), water_table_depth=depths[0], **fields)


def test_earth_and_water_together_are_the_printed_thrust() -> None:
    # Craig, Soil Mechanics, Example 6.1(b), from memory: 93.3 kN/m, with K_a rounded to 0.27
    v = values(layered((2.0, 3.0), (17.0, 20.0), 35.0, water_unit_weight=9.8))
    assert_allclose(v.thrust + v.water_thrust, 93.3, rtol=0.005)
    # Das, Principles of Geotechnical Engineering, Ex 13.1, in feet and pounds: 8380.3 at 4.8 ft
    at_rest = {"theory": "at_rest", "overconsolidation_ratio": 2.0, "water_unit_weight": 62.4}
    v = values(layered((10.0, 5.0), (100.0, 122.4), 30.0, **at_rest))
    total = v.thrust + v.water_thrust
    assert_allclose(total, 8380.3, rtol=0.001)
    moment = v.thrust * v.thrust_height + v.water_thrust * v.water_thrust_height
    assert_allclose(moment / total, 4.8, rtol=0.011)


def test_the_crack_leaves_the_printed_triangle_below_it() -> None:
    # Das, Ex 13.6: 2339.8 lb/ft below the crack with his K'a = 0.30
    given = {"backfill_slope_angle": 10.0, "height": 15.0}
    crack = values(wall(soil=soil(250.0, 20.0, 118.0), **given)).tension_crack_depth
    at_base = 118.0 * 15.0 * 0.30 * np.cos(np.radians(10.0))
    assert_allclose(0.5 * at_base * (15.0 - crack), 2339.8, rtol=0.001)


# --- pressure and thrust ------------------------------------------------------------------

LAYERS = (
    Layer(soil=soil(2.0, 32.0), thickness=2.0),
    Layer(soil=soil(14.0, 24.0, 19.0, 20.5), thickness=2.5),
    Layer(soil=soil(0.0, 36.0, 18.5, 21.0), thickness=1.5),
)
PROFILES: dict[str, dict[str, Any]] = {
    "at rest, layers": {"theory": "at_rest", "overconsolidation_ratio": 3.0, "layers": LAYERS},
    "rankine, layers, cracks": {"theory": "rankine", "layers": LAYERS},
    "rankine, layers, pull": {"theory": "rankine", "layers": LAYERS, "tension_crack": False},
    "rankine slope, layers": {"layers": LAYERS, "backfill_slope_angle": 12.0},
    "rankine slope, passive": {"c": 8.0, "side": "passive", "backfill_slope_angle": 20.0},
    "rankine slope at its limit": {"c": 8.0, "phi": 25.0, "backfill_slope_angle": 25.0},
    "coulomb, layers": {
        "theory": "coulomb",
        "layers": LAYERS,
        "wall_friction_angle": 15.0,
        "wall_batter": 8.0,
        "backfill_slope_angle": 10.0,
    },
    "coulomb, passive": {
        "theory": "coulomb",
        "side": "passive",
        "c": 5.0,
        "wall_friction_angle": 9.0,
        "wall_adhesion": 2.0,
    },
    "annex c": {"theory": "annex_c", "side": "passive", "c": 5.0, "wall_friction_angle": 20.0},
}


@pytest.mark.parametrize("name", PROFILES)
def test_pressure_summed_over_depth_is_the_thrust(name: str) -> None:
    fields: dict[str, Any] = {"surcharge": 6.0, "water_table_depth": 2.7} | PROFILES[name]
    strength = {"c": fields.pop("c", 0.0), "phi": fields.pop("phi", 30.0)}
    if "layers" in fields:
        fields["soil"] = None
    check = wall(**strength, **fields)
    got = values(check)
    edges = [0.0, 2.0, 2.7, 4.5, 6.0]
    # the crack ends inside a piece; quad finds kinks only where it is told of them
    zero = [z for z in np.linspace(0.0, 6.0, 121) if check.pressure(float(z)) <= 0.0]
    edges += [float(got.tension_crack_depth), *_crack_feet(check, zero)]
    edges = sorted({round(edge, 12) for edge in edges})

    def summed(weight: Any) -> float:
        return sum(
            quad(lambda z: weight(z) * float(check.pressure(z)), a, b, epsabs=1e-9, epsrel=1e-11)[0]
            for a, b in pairwise(edges)
        )

    force = summed(lambda z: 1.0)
    assert float(got.earth_thrust) == pytest.approx(force, rel=1e-9)
    height = summed(lambda z: 6.0 - z) / force
    assert float(got.thrust_height) == pytest.approx(height, rel=1e-9)


def _crack_feet(check: EarthPressure, cracked: list[float]) -> list[float]:
    """Depths where pressure starts again, from the sign of the pressure with tension kept."""
    if check.side == "passive" or not check.tension_crack or not cracked:
        return []
    pulling = dataclasses.replace(check, tension_crack=False)
    feet = []
    for above, below in pairwise(np.linspace(0.0, 6.0, 121)):
        low, high = float(above), float(below)
        if not float(pulling.pressure(low)) < 0.0 < float(pulling.pressure(high)):
            continue
        for _ in range(60):
            middle = 0.5 * (low + high)
            if float(pulling.pressure(middle)) < 0.0:
                low = middle
            else:
                high = middle
        feet.append(high)
    return feet


LOADS = (
    StripLoad(pressure=30.0, distance=0.0, width=1.5),
    StripLoad(pressure=30.0, distance=2.0, width=3.0),
    LineLoad(force=40.0, distance=1.2),
)


@pytest.mark.parametrize("load", LOADS)
def test_load_pressure_summed_over_depth_is_its_thrust(load: StripLoad | LineLoad) -> None:
    thrust, _ = quad(lambda z: float(load.load_pressure(z)), 0.0, 6.0, epsrel=1e-12)
    moment, _ = quad(lambda z: z * float(load.load_pressure(z)), 0.0, 6.0, epsrel=1e-12)
    assert float(load.load_thrust(6.0)) == pytest.approx(thrust, rel=1e-9)
    assert float(load.load_moment(6.0)) == pytest.approx(moment, rel=1e-9)


def test_a_narrow_strip_presses_as_a_line() -> None:
    strip = StripLoad(pressure=40.0 / 1e-4, distance=1.2 - 0.5e-4, width=1e-4)
    line = LineLoad(force=40.0, distance=1.2)
    depth = np.linspace(0.1, 6.0, 9)
    assert_allclose(strip.load_pressure(depth), line.load_pressure(depth), rtol=1e-6)


def test_an_endless_strip_presses_with_the_whole_load() -> None:
    # doubled Boussinesq under an endless load from the wall on: σ_h = q
    strip = StripLoad(pressure=10.0, distance=0.0, width=1e7)
    assert_allclose(strip.load_pressure(np.array([1.0, 5.0])), 10.0, rtol=1e-5)


def test_strip_loads_turn_the_thrust_towards_horizontal() -> None:
    plain = values(wall(theory="coulomb", wall_friction_angle=20.0))
    loaded = values(wall(theory="coulomb", wall_friction_angle=20.0, strip_loads=LOADS[:2]))
    thrusts = sum(float(load.load_thrust(6.0)) for load in LOADS[:2])
    assert float(loaded.load_thrust) == pytest.approx(thrusts)
    wanted = float(plain.thrust) * np.exp(1j * np.radians(20.0)) + thrusts
    assert float(loaded.thrust) == pytest.approx(abs(wanted))
    assert float(loaded.thrust_angle) == pytest.approx(np.degrees(np.angle(wanted)))


# --- values -------------------------------------------------------------------------------


def test_parts_add_up_to_the_thrust() -> None:
    got = values(
        wall(
            5.0,
            theory="coulomb",
            wall_friction_angle=15.0,
            surcharge=12.0,
            horizontal_seismic_coefficient=0.1,
            vertical_seismic_coefficient=0.05,
        )
    )
    parts = got.weight_thrust + got.surcharge_thrust + got.cohesion_thrust + got.seismic_thrust
    assert float(got.thrust) == pytest.approx(float(parts), rel=1e-12)
    assert float(got.cohesion_thrust) < 0.0 < float(got.seismic_thrust)


def test_water_in_the_crack_presses_as_a_triangle() -> None:
    dry = values(wall(12.0, 20.0))
    depth = float(dry.tension_crack_depth)
    full = values(wall(12.0, 20.0, tension_crack_water_depth=100.0))
    assert float(full.water_thrust) == pytest.approx(0.5 * 9.81 * depth**2)
    assert float(full.water_thrust_height) == pytest.approx(6.0 - depth * 2.0 / 3.0)
    assert float(full.thrust) == float(dry.thrust)


def test_crack_water_is_not_counted_twice_below_the_water_table() -> None:
    high = {"water_table_depth": 0.4, "tension_crack_water_depth": 0.5}
    got = values(wall(12.0, 20.0, **high))
    assert float(got.tension_crack_depth) > 1.0
    assert float(got.water_thrust) == pytest.approx(0.5 * 9.81 * 5.6**2)


def test_water_on_a_leaning_back_acts_square_to_it() -> None:
    got = values(wall(theory="coulomb", wall_batter=15.0, water_table_depth=2.0))
    assert float(got.water_thrust * np.cos(np.radians(15.0))) == pytest.approx(0.5 * 9.81 * 16.0)


def test_below_water_shaking_takes_hold_of_the_saturated_weight() -> None:
    # EN 1998-5:2004, E.6 (from memory): tan ψ = γ_sat / (γ_sat - γ_w) k_h / (1 - k_v)
    flooded = wall(
        theory="coulomb",
        water_table_depth=0.0,
        horizontal_seismic_coefficient=0.1,
        vertical_seismic_coefficient=0.05,
    )
    lean = np.tan(np.radians(float(values(flooded).seismic_angle)))
    assert lean == pytest.approx(20.0 / (20.0 - 9.81) * 0.1 / 0.95)


def test_the_active_increment_acts_at_six_tenths_of_the_height() -> None:
    got = values(wall(theory="coulomb", horizontal_seismic_coefficient=0.15))
    static = float(got.thrust - got.seismic_thrust)
    moment = static * 2.0 + float(got.seismic_thrust) * 3.6
    assert float(got.thrust_height) == pytest.approx(moment / float(got.thrust))


def test_the_thrust_leans_as_the_wall_and_the_ground_make_it() -> None:
    leaning = {"theory": "coulomb", "wall_friction_angle": 12.0, "wall_batter": 5.0}
    assert float(values(wall(**leaning)).thrust_angle) == pytest.approx(17.0)
    # on the passive side the soil rises along the wall: 12 - 5 above horizontal
    assert float(values(wall(side="passive", **leaning)).thrust_angle) == pytest.approx(7.0)
    sloping = {"backfill_slope_angle": 8.0}
    assert float(values(wall(**sloping)).thrust_angle) == pytest.approx(8.0)
    assert float(values(wall(side="passive", **sloping)).thrust_angle) == pytest.approx(-8.0)


def test_arrays_give_what_scalars_give() -> None:
    phi, water = np.array([26.0, 31.0, 38.0]), np.array([[1.0], [4.0]])
    fields = {"theory": "coulomb", "wall_friction_angle": 10.0, "backfill_slope_angle": 8.0}
    whole = values(wall(4.0, phi, water_table_depth=water, **fields))
    for i, depth in enumerate(water[:, 0]):
        for j, angle in enumerate(phi):
            one = values(wall(4.0, angle, water_table_depth=depth, **fields))
            for entry in dataclasses.fields(one):
                many = np.broadcast_to(getattr(whole, entry.name), (2, 3))
                assert_allclose(
                    many[i, j], getattr(one, entry.name), rtol=1e-12, err_msg=entry.name
                )


# --- notices ------------------------------------------------------------------------------

NOTICES: dict[str, dict[str, Any]] = {
    "compaction-left-out": {},
    "active-needs-movement": {},
    "no-water-assumed": {},
    "passive-needs-movement": {"side": "passive"},
    "cohesion-not-counted": {"c": 5.0, "theory": "at_rest"},
    "at-rest-above-passive": {"theory": "at_rest", "overconsolidation_ratio": 200.0},
    "coulomb-passive-unconservative": {
        "theory": "coulomb", "side": "passive", "wall_friction_angle": 11.0,
    },
    "wall-friction-high": {"theory": "coulomb", "wall_friction_angle": 21.0},
    "second-slip-plane": {"theory": "coulomb", "wall_batter": 31.0},
    "annex-c-outside-range": {"theory": "annex_c", "side": "passive", "wall_batter": 10.0},
    "cohesion-reduces-thrust": {"c": 3.0},
    "cohesion-carries-load": {"c": 12.0},
    "minimum-thrust-larger": {"c": 12.0},
    "cohesion-in-passive-resistance": {"c": 3.0, "side": "passive"},
    "dry-crack-assumed": {"c": 3.0},
    "tension-counted": {"c": 3.0, "tension_crack": False},
    "elastic-load-pressure": {"line_loads": LOADS[2:]},
    "surcharge-in-passive-resistance": {"side": "passive", "surcharge": 5.0},
    "pseudo-static": {"theory": "coulomb", "horizontal_seismic_coefficient": 0.1},
    "vertical-shaking-both-ways": {
        "theory": "coulomb", "horizontal_seismic_coefficient": 0.05,
        "vertical_seismic_coefficient": 0.1,
    },
    "hydrodynamic-pressure-left-out": {
        "theory": "coulomb", "horizontal_seismic_coefficient": 0.1, "water_table_depth": 2.0,
    },
    "trial-wedge-higher": {"backfill_slope_angle": 20.0, "water_table_depth": 1.0},
}  # fmt: skip


@pytest.mark.parametrize("code", NOTICES)
def test_a_notice_stands_where_its_ground_is(code: str) -> None:
    fields = dict(NOTICES[code])
    assert code in codes(wall(fields.pop("c", 0.0), **fields))


@pytest.mark.parametrize(("rise", "said"), [(0.0, False), (3.64, True)])
def test_a_second_slip_plane_is_said_below_a_ground_line_that_rises(
    rise: float, said: bool
) -> None:
    """The face leans 25°. At φ′ = 30° the inner plane leans 30.0° below level ground and 18.4°
    below ground that rises at 20°: Das, Principles of Foundation Engineering, ch. 8 (from memory).
    """
    result = wall(
        0.0, theory="trial_wedge", wall_batter=25.0, ground_line=((0.0, 0.0), (10.0, rise))
    )
    assert ("second-slip-plane" in codes(result)) is said


ABSENT: dict[str, dict[str, Any]] = {
    "coulomb-passive-unconservative": {
        "theory": "coulomb", "side": "passive", "wall_friction_angle": 10.0,
    },
    "wall-friction-high": {"theory": "coulomb", "wall_friction_angle": 20.0},
    "second-slip-plane": {"theory": "coulomb", "wall_batter": 29.0},
    "annex-c-outside-range": {
        "theory": "annex_c", "side": "passive", "wall_friction_angle": 15.0,
    },
    "dry-crack-assumed": {"c": 3.0, "tension_crack_water_depth": 0.2},
    "no-water-assumed": {"water_table_depth": 2.0},
    "hydrodynamic-pressure-left-out": {"water_table_depth": 2.0},
    "vertical-shaking-both-ways": {
        "theory": "coulomb", "horizontal_seismic_coefficient": 0.05,
        "vertical_seismic_coefficient": -0.1,
    },
    "trial-wedge-higher": {"water_table_depth": 1.0},
    "cohesion-reduces-thrust": {},
    "cohesion-carries-load": {"c": 3.0},
    "minimum-thrust-larger": {"c": 3.0},
}  # fmt: skip


@pytest.mark.parametrize("code", ABSENT)
def test_a_notice_is_silent_where_its_ground_is_missing(code: str) -> None:
    fields = dict(ABSENT[code])
    assert code not in codes(wall(fields.pop("c", 0.0), **fields))


@pytest.mark.parametrize("theory", ["rankine", "coulomb", "trial_wedge"])
def test_the_minimum_thrust_stands_beside_the_thrust_of_the_theory(theory: str) -> None:
    """½ γ H² tan²(45 - 40/2) of a fill with cohesion: DIN 4085, EAB EB 4 (from memory)."""
    found = values(wall(20.0, 28.0, theory=theory))
    bare = values(wall(0.0, 28.0, theory=theory))
    least = 0.5 * 18.0 * 36.0 * np.tan(np.radians(25.0)) ** 2
    assert_allclose(found.minimum_thrust, least, rtol=1e-6)
    assert float(found.thrust) < least
    assert np.isnan(float(bare.minimum_thrust))


def test_of_layers_those_with_cohesion_have_a_minimum() -> None:
    """A layer without cohesion keeps its own friction, one with it gets 40 deg."""
    strong = (Layer(soil=soil(30.0, 43.0), thickness=2.0), Layer(soil=soil(0.0, 30.0), thickness=4))
    found = values(EarthPressure(layers=strong, height=6.0))
    k_1, k_2 = (np.tan(np.radians(45.0 - phi / 2.0)) ** 2 for phi in (40.0, 30.0))
    least = k_1 * 18.0 * 2.0**2 / 2.0 + k_2 * 18.0 * (6.0**2 - 2.0**2) / 2.0
    assert_allclose(found.minimum_thrust, least)


def test_vertical_stress_down_the_wall_is_held_against_the_tests() -> None:
    tested = soil(0.0, 30.0, tested_range=(0.0, 110.0))
    assert "outside-tested-stress-range" not in codes(wall(soil=tested))
    assert "outside-tested-stress-range" in codes(wall(soil=tested, surcharge=5.0))


def test_the_curved_surface_stands_beside_passive_coulomb() -> None:
    got = values(wall(theory="coulomb", side="passive", wall_friction_angle=20.0))
    annex_c = coefficients.curved_slip(30.0, wall_friction_angle=20.0).coefficient
    assert float(got.annex_c_coefficient) == pytest.approx(float(annex_c))
    assert float(got.coefficient) > float(got.annex_c_coefficient)


# --- refusals -----------------------------------------------------------------------------

REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "slope above friction": ({"backfill_slope_angle": 31.0}, "backfill_slope_angle"),
    "shaking beyond the limit": (
        {"theory": "coulomb", "horizontal_seismic_coefficient": 0.6},
        "horizontal_seismic_coefficient",
    ),
    "shaking on a slope": (
        {
            "theory": "coulomb",
            "horizontal_seismic_coefficient": 0.2,
            "backfill_slope_angle": 20.0,
        },
        "horizontal_seismic_coefficient",
    ),
    "shaking by rankine": (
        {"horizontal_seismic_coefficient": 0.1},
        "horizontal_seismic_coefficient",
    ),
    "wall rougher than soil": (
        {"theory": "coulomb", "wall_friction_angle": 30.5},
        "wall_friction_angle",
    ),
    "adhesion above cohesion": ({"theory": "coulomb", "wall_adhesion": 1.0}, "wall_adhesion"),
    "passive at rest": ({"theory": "at_rest", "side": "passive"}, "side"),
    "active by annex c": ({"theory": "annex_c"}, "theory"),
    "wall friction by rankine": ({"wall_friction_angle": 10.0}, "wall_friction_angle"),
    "batter at rest": ({"theory": "at_rest", "wall_batter": 5.0}, "wall_batter"),
    "ratio by rankine": ({"overconsolidation_ratio": 2.0}, "overconsolidation_ratio"),
    "no soil": ({"soil": None}, "soil"),
    "soil and layers": ({"layers": LAYERS}, "layers"),
    "layers too thin": ({"soil": None, "layers": LAYERS[:2]}, "layers"),
    "layers too thick": ({"soil": None, "layers": LAYERS, "height": 5.0}, "layers"),
    "layers in a trial wedge": (
        {"soil": None, "layers": LAYERS, "theory": "trial_wedge"},
        "layers",
    ),
    "passive strip": ({"side": "passive", "strip_loads": LOADS[:1]}, "strip_loads"),
    "ground line by coulomb": (
        {"theory": "coulomb", "ground_line": ((0.0, 0.0), (2.0, 1.0))},
        "ground_line",
    ),
    "ground line off the wall": (
        {"theory": "trial_wedge", "ground_line": ((0.5, 0.0), (2.0, 0.0))},
        "ground_line",
    ),
    "ground line turning back": (
        {"theory": "trial_wedge", "ground_line": ((0.0, 0.0), (2.0, 0.0), (1.0, 1.0))},
        "ground_line",
    ),
    "ground line too steep at its end": (
        {"theory": "trial_wedge", "ground_line": ((0.0, 0.0), (2.0, 2.0))},
        "ground_line",
    ),
    "slope beside a ground line": (
        {
            "theory": "trial_wedge",
            "backfill_slope_angle": 5.0,
            "ground_line": ((0.0, 0.0), (2.0, 0.0)),
        },
        "backfill_slope_angle",
    ),
    "crack water without a crack": (
        {"tension_crack": False, "tension_crack_water_depth": 0.5},
        "tension_crack_water_depth",
    ),
    "soil lighter than water": (
        {"soil": soil(0.0, 30.0, 9.0, 9.5), "water_table_depth": 1.0},
        "saturated_unit_weight",
    ),
    "no balance": (
        {
            "theory": "coulomb",
            "side": "passive",
            "wall_friction_angle": 30.0,
            "backfill_slope_angle": 30.0,
        },
        "wall_friction_angle",
    ),
    "annex c, cohesion, slope": (
        {
            "soil": soil(5.0),
            "theory": "annex_c",
            "side": "passive",
            "backfill_slope_angle": 5.0,
        },
        "backfill_slope_angle",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_does_not_hold_is_refused_by_name(name: str) -> None:
    fields, place = REFUSED[name]
    with pytest.raises(InputError) as refusal:
        wall(**fields).evaluate()
    assert refusal.value.place == place


def test_a_pressure_is_asked_for_on_the_wall_and_not_of_a_trial_wedge() -> None:
    wall = EarthPressure(soil=soil(), height=4.0)
    assert float(wall.pressure(0.0)) == 0.0
    loaded = dataclasses.replace(wall, soil=soil(phi=30.0), surcharge=12.0)
    assert_allclose(loaded.pressure(0.0), 4.0)  # K_a = 1/3
    for depth in (-0.1, 4.1):
        with pytest.raises(InputError, match="to the height of the wall"):
            wall.pressure(depth)
    with pytest.raises(InputError, match="a thrust, no pressure"):
        EarthPressure(soil=soil(), height=4.0, theory="trial_wedge").pressure(1.0)


def test_a_curved_strength_used_as_its_chord_is_said() -> None:
    curve = PowerCurve(coefficient=0.75, exponent=0.8, tested_range=(10.0, 120.0))
    bent = Soil(strength=Strength.from_curve(curve), unit_weight=18.0)
    found = EarthPressure(soil=bent, height=6.0).evaluate()
    assert "curved-strength-as-line" in {notice.code for notice in found.notices}
    chord = curve.chord
    straight = wall(chord.cohesion, chord.friction_angle).evaluate()
    assert found.values.thrust == pytest.approx(float(straight.values.thrust))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ([[0.0, 0.0]], "two points"),
        ([[0.0, 1.0], [5.0, 2.0]], "the first point is"),
        ([[0.0, 0.0], [0.0, 2.0]], "x must rise"),
        ([[0.0, 0.0], [5.0, -6.0]], "above the base of the wall"),
    ],
)
def test_a_ground_line_that_is_none_is_refused(line: list[list[float]], message: str) -> None:
    with pytest.raises(InputError, match=message):
        wall(theory="trial_wedge", ground_line=line).evaluate()


def test_the_curved_passive_surface_asks_for_friction() -> None:
    with pytest.raises(InputError, match="has no friction"):
        wall(20.0, 0.0, theory="annex_c", side="passive").evaluate()


def test_where_a_passive_wedge_can_resist_less_the_closed_form_says_so() -> None:
    plain = {"side": "passive", "theory": "coulomb", "wall_friction_angle": 0.8}
    wet = wall(0.0, 26.0, **plain, backfill_slope_angle=-7.0, water_table_depth=1.0)
    assert "passive-wedge-not-compared" in codes(wet)
    for dry in (
        wall(0.0, 26.0, **plain, backfill_slope_angle=-7.0),
        wall(0.0, 26.0, **plain, water_table_depth=1.0),
        wall(0.0, 26.0, backfill_slope_angle=7.0, water_table_depth=1.0),
    ):
        assert "passive-wedge-not-compared" not in codes(dry)
