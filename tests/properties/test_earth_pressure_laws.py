"""Laws of earth pressure that hold whatever the numbers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from slipmargin.stability import Soil
from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.strength import Strength

frictions = st.floats(15.0, 44.0)
cohesions = st.floats(0.0, 30.0)
shares = st.floats(0.0, 1.0)
heights = st.floats(1.0, 12.0)
surcharges = st.floats(0.0, 30.0)
quick = settings(max_examples=40)


def soil(c: Any, phi: Any, gamma: float = 18.0, sat: float = 20.5) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def values(**fields: Any) -> Any:
    return EarthPressure(**fields).evaluate().values


def thrust(**fields: Any) -> float:
    return float(values(**fields).thrust)


@quick
@given(frictions, shares, shares, st.floats(-10.0, 15.0), st.floats(0.1, 1.0))
def test_active_falls_and_passive_rises_with_friction(
    phi: float, delta: float, slope: float, batter: float, more: float
) -> None:
    # the wall's friction is held: it must suit the smaller angle
    given_wall = {
        "wall_friction_angle": 0.3 * delta * phi,
        "wall_batter": batter,
        "backfill_slope_angle": 0.4 * slope * phi,
    }
    low, high = (coefficients.coulomb(p, **given_wall) for p in (phi, phi + more))
    assert high < low
    low, high = (coefficients.coulomb(p, **given_wall, side="passive") for p in (phi, phi + more))
    assert np.isnan(high) or high > low
    slope_only = {"backfill_slope_angle": 0.9 * slope * phi}
    assert coefficients.rankine(phi + more, **slope_only) < coefficients.rankine(phi, **slope_only)
    assert coefficients.rankine(phi + more, **slope_only, side="passive") > coefficients.rankine(
        phi, **slope_only, side="passive"
    )
    level = {"wall_friction_angle": 0.5 * delta * phi}
    assert (
        coefficients.curved_slip(phi + more, **level).coefficient
        > coefficients.curved_slip(phi, **level).coefficient
    )


@quick
@given(frictions, cohesions, heights, surcharges, shares)
def test_coulomb_on_a_smooth_vertical_wall_under_level_ground_is_rankine(
    phi: float, c: float, height: float, q: float, water: float
) -> None:
    fields = {
        "soil": soil(c, phi),
        "height": height,
        "surcharge": q,
        "water_table_depth": water * height,
    }
    for side in ("active", "passive"):
        coulomb = thrust(theory="coulomb", side=side, **fields)
        rankine = thrust(theory="rankine", side=side, **fields)
        assert coulomb == pytest.approx(rankine, rel=1e-9, abs=1e-9)


@quick
@given(frictions, shares)
def test_annex_c_on_a_smooth_vertical_wall_under_level_ground_is_rankine(
    phi: float, share: float
) -> None:
    smooth = coefficients.curved_slip(phi, wall_friction_angle=0.0).coefficient
    assert smooth == pytest.approx(coefficients.rankine(phi, side="passive"), rel=1e-12)
    # a plane is one of the surfaces a curved one may take, so the curve resists less; the
    # annex is an approximation on the safe side
    delta = share * phi
    curved = coefficients.curved_slip(phi, wall_friction_angle=delta).coefficient
    plane = coefficients.coulomb(phi, wall_friction_angle=delta, side="passive")
    assert np.isnan(plane) or curved <= plane * (1.0 + 1e-12)


@quick
@given(frictions, heights, surcharges, shares, st.floats(1.0, 3.0))
def test_at_rest_lies_between_active_and_passive(
    phi: float, height: float, q: float, water: float, ratio: float
) -> None:
    fields = {
        "soil": soil(0.0, phi),
        "height": height,
        "surcharge": q,
        "water_table_depth": water * height,
    }
    active = thrust(theory="rankine", **fields)
    passive = thrust(theory="rankine", side="passive", **fields)
    rest = thrust(theory="at_rest", overconsolidation_ratio=ratio, **fields)
    assert active <= rest <= passive


@quick
@given(
    frictions,
    st.floats(0.0, 25.0),
    shares,
    st.sampled_from(["rankine", "coulomb", "at_rest", "trial_wedge"]),
    st.floats(0.0, 6.0),
    st.booleans(),
)
def test_the_thrust_has_no_step_as_the_water_level_moves(
    phi: float, c: float, slope: float, theory: str, level: float, crack: bool
) -> None:
    fields = {
        "soil": soil(c, phi),
        "height": 6.0,
        "theory": theory,
        "surcharge": 5.0,
        "backfill_slope_angle": 0.8 * slope * phi,
        "tension_crack": crack,
    }
    near = np.clip(level + np.array([-1e-7, 0.0, 1e-7]), 0.0, None)
    got = values(water_table_depth=near, **fields)
    for name in ("thrust", "water_thrust", "tension_crack_depth"):
        entry = np.asarray(getattr(got, name))
        assert np.ptp(entry) < 1e-4, name


@quick
@given(frictions, frictions, cohesions, cohesions, st.floats(0.5, 5.5), st.floats(0.0, 6.0))
def test_the_thrust_has_no_step_as_a_layer_boundary_moves(
    phi1: float, phi2: float, c1: float, c2: float, boundary: float, water: float
) -> None:
    found = []
    for shift in (-1e-7, 0.0, 1e-7):
        layers = (
            Layer(soil=soil(c1, phi1), thickness=boundary + shift),
            Layer(soil=soil(c2, phi2, 19.0, 21.0), thickness=6.0 - boundary - shift),
        )
        got = values(layers=layers, height=6.0, water_table_depth=water)
        found.append([float(got.thrust), float(got.weight_thrust)])
    assert np.max(np.ptp(found, axis=0)) < 1e-4


@quick
@given(frictions, st.floats(0.1, 30.0), shares, surcharges, shares)
def test_the_thrust_has_no_step_as_the_crack_passes_any_depth(
    phi: float, c: float, water: float, q: float, slope: float
) -> None:
    layers = (
        Layer(soil=soil(c * np.array([1.0 - 1e-9, 1.0, 1.0 + 1e-9]), phi), thickness=2.0),
        Layer(soil=soil(c, 0.5 * (phi + 44.0), 19.0, 21.0), thickness=4.0),
    )
    got = values(
        layers=layers,
        height=6.0,
        water_table_depth=6.0 * water,
        surcharge=q,
        backfill_slope_angle=0.9 * slope * phi,
    )
    assert np.ptp(got.thrust) < 1e-4


@quick
@given(
    frictions,
    cohesions,
    st.floats(0.05, 0.95),
    shares,
    st.sampled_from(
        [("at_rest", "active"), ("rankine", "active"), ("rankine", "passive"),
         ("coulomb", "active"), ("coulomb", "passive"), ("annex_c", "passive")]
    ),
)  # fmt: skip
def test_splitting_a_layer_in_two_changes_nothing(
    phi: float, c: float, split: float, water: float, how: tuple[str, str]
) -> None:
    theory, side = how
    fields: dict[str, Any] = {
        "height": 6.0,
        "theory": theory,
        "side": side,
        "water_table_depth": 6.0 * water,
        "surcharge": 7.0,
    }
    if theory in ("coulomb", "annex_c"):
        fields["wall_friction_angle"] = 0.3 * phi
    one = values(soil=soil(c, phi), **fields)
    two = values(
        layers=(
            Layer(soil=soil(c, phi), thickness=6.0 * split),
            Layer(soil=soil(c, phi), thickness=6.0 * (1.0 - split)),
        ),
        **fields,
    )
    for name in ("coefficient", "thrust", "thrust_height", "water_thrust", "tension_crack_depth"):
        wanted = float(getattr(one, name))
        found = float(getattr(two, name))
        assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9, nan_ok=True), name


@quick
@given(frictions, shares, shares, st.floats(0.0, 0.2), st.floats(-0.1, 0.1))
def test_shaking_raises_active_and_lowers_passive_thrust(
    phi: float, delta: float, slope: float, k_h: float, k_v: float
) -> None:
    fields = {
        "soil": soil(0.0, phi),
        "height": 6.0,
        "theory": "coulomb",
        "wall_friction_angle": 0.3 * delta * phi,
    }
    psi = float(coefficients.seismic_angle(k_h, k_v))
    assume(psi < phi - 1.0)
    shaking = {"horizontal_seismic_coefficient": k_h}
    assert thrust(**fields, **shaking) >= thrust(**fields) * (1.0 - 1e-12)
    passive = fields | {"side": "passive"}
    assert thrust(**passive, **shaking) <= thrust(**passive) * (1.0 + 1e-12)


@quick
@given(frictions, st.floats(0.0, 20.0), shares, st.floats(0.2, 5.0), surcharges)
def test_thrust_scales_with_the_square_of_the_size(
    phi: float, c: float, slope: float, scale: float, q: float
) -> None:
    def at(size: float) -> float:
        return thrust(
            soil=soil(c * size, phi),
            height=6.0 * size,
            surcharge=q * size,
            water_table_depth=2.0 * size,
            backfill_slope_angle=0.9 * slope * phi,
        )

    assert at(scale) == pytest.approx(at(1.0) * scale**2, rel=1e-8, abs=1e-8)


@quick
@given(
    frictions, st.floats(0.0, 20.0), st.floats(0.0, 0.95), st.sampled_from(["active", "passive"])
)
def test_the_slope_law_meets_bell_as_the_slope_goes_level(
    phi: float, c: float, water: float, side: str
) -> None:
    fields = {
        "soil": soil(c, phi),
        "height": 6.0,
        "side": side,
        "water_table_depth": 6.0 * water,
    }
    level = thrust(**fields)
    nearly = thrust(backfill_slope_angle=1e-6, **fields)
    assert nearly == pytest.approx(level, rel=1e-6, abs=1e-6)
