"""Bearing capacity against its printed formulas, its limits, and a plain-loop twin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability.retaining_wall.bearing_capacity import (
    Footing,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.bearing_factors import (
    METHODS,
    bearing_factors,
    depth_factors,
    inclination_factors,
    shape_factors,
)
from slipmargin.strength import InputError


def plain(
    method: str, phi: float, c: float, q: float, gamma: float, b: float, b_eff: float, d: float,
    v: float, h: float,
) -> float:  # fmt: skip
    """A strip, by the formulas as they are printed, branch by branch."""
    rad = math.radians(phi)
    t = math.tan(rad)
    n_q = math.exp(math.pi * t) * math.tan(math.pi / 4 + rad / 2) ** 2
    n_c = (n_q - 1) / t if phi > 0 else 2 + math.pi
    k = d / b if d <= b else math.atan(d / b)
    if method == "meyerhof":
        n_g = (n_q - 1) * math.tan(1.4 * rad)
        root = math.tan(math.pi / 4 + rad / 2)
        d_q = 1 + 0.1 * root * d / b * min(phi / 10, 1)
        d_c, d_g = 1 + 0.2 * root * d / b, d_q
        alpha = math.degrees(math.atan(h / v))
        i_c = i_q = (1 - alpha / 90) ** 2
        i_g = max(1 - alpha / phi, 0.0) ** 2 if phi > 0 else float(h == 0)
    else:
        n_g = 2 * (n_q + 1) * t if method == "vesic" else 2 * (n_q - 1) * t
        d_c = d_q = d_g = 1.0
        if method == "vesic":
            d_q = 1 + 2 * t * (1 - math.sin(rad)) ** 2 * k
            d_c = d_q - (1 - d_q) / (n_c * t) if phi > 0 else 1 + 0.4 * k
        if phi == 0:
            i_q = i_g = 1.0
            if h > b_eff * c:
                i_c = 0.0
            elif method == "vesic":
                i_c = 1 - 2 * h / (b_eff * c * n_c)
            else:
                i_c = 0.5 * (1 + math.sqrt(1 - h / (b_eff * c)))
        else:
            x = 1 - h / (v + b_eff * c / t)
            i_q, i_g = x**2, x**3
            i_c = max(i_q - (1 - i_q) / (n_c * t), 0.0)
    return c * n_c * d_c * i_c + q * n_q * d_q * i_q + 0.5 * gamma * b_eff * n_g * d_g * i_g


@pytest.mark.parametrize("method", METHODS)
def test_one_call_over_arrays_equals_the_printed_formulas_one_by_one(method: str) -> None:
    rng = np.random.default_rng(11)
    n = 200
    phi = np.where(np.arange(n) % 10 == 0, 0.0, rng.uniform(0.5, 44.0, n))
    c, q = rng.uniform(5.0, 60.0, n), rng.uniform(0.0, 40.0, n)
    gamma, b = rng.uniform(8.0, 21.0, n), rng.uniform(1.0, 6.0, n)
    b_eff, d = b * rng.uniform(0.2, 1.0, n), rng.uniform(0.0, 8.0, n)
    v = rng.uniform(50.0, 600.0, n)
    h = v * rng.uniform(0.0, 0.4, n)
    footing = Footing(
        method=method,
        friction_angle=phi,
        cohesion=c,
        overburden=q,
        unit_weight=gamma,
        width=b,
        depth=d,
    )
    found = footing.bearing(effective_width=b_eff, vertical_force=v, horizontal_force=h)
    columns = zip(phi, c, q, gamma, b, b_eff, d, v, h, strict=True)
    assert_allclose(found.capacity, [plain(method, *map(float, row)) for row in columns], rtol=1e-9)


@pytest.mark.parametrize("method", METHODS)
def test_no_friction_is_the_limit_of_little_friction(method: str) -> None:
    none, little = bearing_factors(method, 0.0), bearing_factors(method, 1e-7)
    assert none.cohesion == pytest.approx(math.pi + 2.0)  # Prandtl's exact solution, 1921
    for name in ("cohesion", "overburden", "weight"):
        assert_allclose(getattr(little, name), getattr(none, name), rtol=1e-7, atol=1e-8)


def test_the_inclined_load_without_friction_follows_the_two_published_rules() -> None:
    load = {"cohesion": 50.0, "vertical_force": 200.0, "horizontal_force": 60.0, "area": 2.0}
    vesic = inclination_factors("vesic", np.array([0.0, 1e-6]), **load)
    assert_allclose(vesic.cohesion, 1.0 - 2.0 * 60.0 / (100.0 * (math.pi + 2.0)), rtol=1e-6)
    annex = inclination_factors("annex_d", 0.0, **load)
    assert_allclose(annex.cohesion, 0.5 * (1.0 + math.sqrt(0.4)))


@pytest.mark.parametrize("method", METHODS)
def test_a_central_load_is_not_reduced(method: str) -> None:
    phi = np.array([0.0, 5.0, 30.0])
    for cohesion in (0.0, 20.0):
        tilt = inclination_factors(
            method, phi, cohesion=cohesion, vertical_force=100.0, horizontal_force=0.0, area=2.0
        )
        for factor in (tilt.cohesion, tilt.overburden, tilt.weight):
            assert_allclose(factor, 1.0)


@pytest.mark.parametrize("method", ["vesic", "annex_d"])
def test_a_load_nearer_level_than_the_formula_allows_carries_nothing(method: str) -> None:
    tilt = inclination_factors(
        method, 30.0, cohesion=0.0, vertical_force=100.0, horizontal_force=120.0, area=2.0
    )
    assert_allclose([tilt.cohesion, tilt.overburden, tilt.weight], 0.0)


def test_a_resultant_outside_the_base_leaves_no_capacity() -> None:
    footing = Footing(
        method="vesic",
        friction_angle=30.0,
        cohesion=10.0,
        overburden=20.0,
        unit_weight=18.0,
        width=3.0,
        depth=1.0,
    )
    widths = np.array([-0.5, 0.0, 1.0])
    found = footing.bearing(effective_width=widths, vertical_force=100.0, horizontal_force=10.0)
    assert_allclose(found.capacity[:2], 0.0)
    assert found.capacity[2] > 0.0


def test_water_below_the_base_counts_down_to_one_width() -> None:
    weight = unit_weight_below_base(18.0, 10.0, np.array([-1.0, 0.0, 1.0, 2.0, 9.0, np.inf]), 2.0)
    assert_allclose(weight, [10.0, 10.0, 14.0, 18.0, 18.0, 18.0])


def test_the_shape_factors_of_a_strip_are_one() -> None:
    for method in METHODS:
        shape = shape_factors(method, np.array([0.0, 20.0, 40.0]))
        assert_allclose([shape.cohesion, shape.overburden, shape.weight], 1.0)


def plain_shape(method: str, phi: float, ratio: float) -> tuple[float, float, float]:
    """Shape factors of a rectangle, by the formulas as they are printed."""
    rad = math.radians(phi)
    n_q = math.exp(math.pi * math.tan(rad)) * math.tan(math.pi / 4 + rad / 2) ** 2
    n_c = (n_q - 1) / math.tan(rad) if phi > 0 else 2 + math.pi
    if method == "vesic":
        return 1 + ratio * n_q / n_c, 1 + ratio * math.tan(rad), 1 - 0.4 * ratio
    if method == "meyerhof":
        k_p = math.tan(math.pi / 4 + rad / 2) ** 2
        s_q = 1 + 0.1 * k_p * ratio * min(phi / 10, 1)
        return 1 + 0.2 * k_p * ratio, s_q, s_q
    s_q = 1 + ratio * math.sin(rad)
    s_c = (s_q * n_q - 1) / (n_q - 1) if phi > 0 else 1 + 0.2 * ratio
    return s_c, s_q, 1 - 0.3 * ratio


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("phi", [0.0, 5.0, 10.0, 25.0, 40.0])
def test_a_rectangle_has_the_printed_shape_factors(method: str, phi: float) -> None:
    for ratio in (0.0, 0.3, 1.0):
        shape = shape_factors(method, phi, ratio)
        found = [shape.cohesion, shape.overburden, shape.weight]
        assert_allclose(found, plain_shape(method, phi, ratio), rtol=1e-12)


@pytest.mark.parametrize("method", ["vesic", "annex_d"])
@pytest.mark.parametrize(("ratio", "m"), [(0.0, 2.0), (0.5, 5.0 / 3.0), (1.0, 1.5)])
def test_an_inclined_load_on_a_rectangle_has_the_printed_exponent(
    method: str, ratio: float, m: float
) -> None:
    load = {"cohesion": 10.0, "vertical_force": 300.0, "horizontal_force": 60.0, "area": 2.5}
    tan = math.tan(math.radians(28.0))
    left = 1.0 - 60.0 / (300.0 + 2.5 * 10.0 / tan)
    tilt = inclination_factors(method, 28.0, width_over_length=ratio, **load)
    assert_allclose(tilt.overburden, left**m)
    assert_allclose(tilt.weight, left ** (m + 1.0))
    n_c_tan = bearing_factors(method, 28.0).cohesion * tan
    assert_allclose(tilt.cohesion, left**m - (1.0 - left**m) / n_c_tan)
    other = inclination_factors(method, 28.0, width_over_length=ratio, exponent=1.7, **load)
    assert_allclose(other.overburden, left**1.7)


@pytest.mark.parametrize("method", METHODS)
def test_a_base_that_is_lifted_carries_nothing(method: str) -> None:
    for phi in (0.0, 30.0):
        tilt = inclination_factors(
            method, phi, cohesion=5.0, vertical_force=-10.0, horizontal_force=40.0, area=2.0
        )
        assert_allclose([tilt.cohesion, tilt.weight], 0.0)


@pytest.mark.parametrize("method", METHODS)
def test_the_factors_stay_finite_and_rise_up_to_the_steepest_angle(method: str) -> None:
    phi = np.array([60.0, 63.0, 65.0, 75.0, 88.0, 89.9])
    found = bearing_factors(method, phi)
    for factor in (found.cohesion, found.overburden, found.weight):
        assert np.all(np.isfinite(factor))
        assert np.all(np.diff(factor) >= 0.0)
        assert np.all(factor > 0.0)


def test_an_unknown_method_is_refused_by_name() -> None:
    for call in (
        lambda: bearing_factors("vesik", 30.0),
        lambda: shape_factors("vesik", 30.0),
        lambda: depth_factors("none", 30.0, 1.0),
        lambda: depth_factors("vesik", 30.0, 1.0),
        lambda: inclination_factors(
            "vesik", 30.0, cohesion=0.0, vertical_force=1.0, horizontal_force=0.0, area=1.0
        ),
    ):
        with pytest.raises(InputError, match="allowed: vesic, meyerhof, annex_d"):
            call()
