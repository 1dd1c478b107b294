"""Coefficients of earth pressure against stress fields and wedges put together by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import linprog, minimize_scalar

from slipmargin.stability.earth_pressure.coefficients import (
    at_rest,
    coulomb,
    coulomb_cohesion,
    curved_slip,
    rankine,
    seismic_angle,
)


def rankine_field(phi: float, beta: float, theta: float) -> tuple[float, float]:
    """K and δ on a face at the batter θ in Rankine's passive field below a slope β.

    The soil between the face and the upright plane through its foot is held by the thrust on
    that plane, which is parallel to the ground, by its own weight and by the face.
    """
    b, t = math.radians(beta), math.radians(theta)
    upright = 1.0 + math.tan(t) * math.tan(b)  # over the height of the wall
    thrust = float(rankine(phi, backfill_slope_angle=beta, side="passive")) * upright**2
    weight = math.tan(t) * upright
    along, up = thrust * math.cos(b), thrust * math.sin(b) + weight
    return math.hypot(along, up), theta - math.degrees(math.atan2(up, along))


@pytest.mark.parametrize("phi", [20.0, 30.0, 40.0])
@pytest.mark.parametrize("beta", [-15.0, 0.0, 10.0])
@pytest.mark.parametrize("theta", [-12.0, 0.0, 8.0, 15.0])
def test_annex_c_on_a_face_in_rankines_field_is_the_force_on_it(
    phi: float, beta: float, theta: float
) -> None:
    """Where the face has the friction that field puts on it, the slip line does not turn."""
    coefficient, delta = rankine_field(phi, beta, theta)
    face = {"wall_friction_angle": delta, "wall_batter": theta, "backfill_slope_angle": beta}
    assert_allclose(curved_slip(phi, **face).turn, 0.0, atol=1e-6)
    assert_allclose(curved_slip(phi, **face).coefficient, coefficient, rtol=1e-9)


def thrust_of_a_wedge(
    rho: float, phi: float, delta: float, theta: float, beta: float, ratio: float
) -> float:
    """Horizontal unknown: thrust on the wall per c H, of a weightless wedge on a plane at ρ.

    Angles in radians; φ and δ negative for the passive side, where c works the other way.
    """
    sign = math.copysign(1.0, phi)
    # the wall runs from (0, 0) down to (tan θ, -1), the plane from there up to the ground
    foot = np.array([math.tan(theta), -1.0])
    reach = (-foot[1] + foot[0] * math.tan(beta)) / (math.sin(rho) - math.cos(rho) * math.tan(beta))
    up_plane = np.array([math.cos(rho), math.sin(rho)])
    up_wall = -foot / np.linalg.norm(foot)
    held = sign * (reach * up_plane + ratio * np.linalg.norm(foot) * up_wall)
    on_plane = np.array([-math.sin(rho - phi), math.cos(rho - phi)])
    on_wall = np.array([math.cos(theta + delta), math.sin(theta + delta)])
    _, thrust = np.linalg.solve(np.column_stack((on_plane, on_wall)), -held)
    return float(-sign * thrust)


@pytest.mark.parametrize("side", ["active", "passive"])
@pytest.mark.parametrize("ratio", [0.0, 0.4, 1.0])
@pytest.mark.parametrize(
    ("phi", "delta", "theta", "beta"),
    [
        (30.0, 0.0, 0.0, 0.0),
        (25.0, 15.0, 0.0, 0.0),
        (32.0, 12.0, 10.0, 8.0),
        (20.0, 10.0, -8.0, 12.0),
        (38.0, 25.0, 15.0, -10.0),
        (10.0, 4.0, 5.0, 3.0),
    ],
)
def test_the_cohesion_of_coulombs_wedge_is_the_least_over_all_planes(
    phi: float, delta: float, theta: float, beta: float, ratio: float, side: str
) -> None:
    p, d, t, b = np.radians([phi, delta, theta, beta])
    sign = 1.0 if side == "active" else -1.0
    found = coulomb_cohesion(
        phi,
        side=side,
        wall_friction_angle=delta,
        wall_batter=theta,
        backfill_slope_angle=beta,
        adhesion_ratio=ratio,
    )
    lowest, highest = max(b, sign * p, 0.0) + 1e-3, math.pi / 2 + min(t, 0.0) - 1e-3
    if side == "passive":
        highest = min(highest, math.pi / 2 - p - d + t - 1e-3)
    grid = np.linspace(lowest, highest, 400)
    needs = [thrust_of_a_wedge(rho, sign * p, sign * d, t, b, ratio) for rho in grid]
    place = int(np.argmin(needs))
    least = minimize_scalar(
        thrust_of_a_wedge,
        bounds=(grid[max(place - 1, 0)], grid[min(place + 1, 399)]),
        args=(sign * p, sign * d, t, b, ratio),
        method="bounded",
        options={"xatol": 1e-10},
    )
    assert_allclose(found, least.fun, rtol=1e-7)


def test_without_anything_else_coulomb_and_rankine_are_one() -> None:
    phi = np.array([10.0, 25.0, 40.0])
    k_a = np.tan(np.radians(45.0 - phi / 2.0)) ** 2
    for kernel in (coulomb, rankine):
        assert_allclose(kernel(phi), k_a)
        assert_allclose(kernel(phi, side="passive"), 1.0 / k_a)
    assert_allclose(curved_slip(phi, wall_friction_angle=0.0).coefficient, 1.0 / k_a)
    assert_allclose(coulomb_cohesion(phi), 2.0 * np.sqrt(k_a))
    assert_allclose(coulomb_cohesion(phi, side="passive"), 2.0 / np.sqrt(k_a))
    assert_allclose(at_rest(phi), 1.0 - np.sin(np.radians(phi)))


@pytest.mark.parametrize("side", ["active", "passive"])
def test_shaking_is_a_turn_of_the_whole_wall(side: str) -> None:
    """Turned by ψ until the body force is upright, the wall is a still one of height H′.

    Mononobe and Matsuo's own argument: γ grows to γ (1 - k_v) / cos ψ and, as the height is
    measured upright, H′ / H = cos(θ ± ψ) / cos θ.
    """
    phi, delta, theta, beta, psi = 36.0, 14.0, 6.0, 5.0, float(seismic_angle(0.12, -0.08))
    assert psi == pytest.approx(math.degrees(math.atan(0.12 / 1.08)))
    way = 1.0 if side == "active" else -1.0
    shaken = coulomb(
        phi,
        side=side,
        wall_friction_angle=delta,
        wall_batter=theta,
        backfill_slope_angle=beta,
        seismic_angle=psi,
    )
    turned = coulomb(
        phi,
        side=side,
        wall_friction_angle=delta,
        wall_batter=theta + way * psi,
        backfill_slope_angle=beta + way * psi,
    )
    t, w = math.radians(theta), math.radians(way * psi)
    ratio = (math.cos(t + w) / math.cos(t)) ** 2 / math.cos(w)
    assert_allclose(shaken, turned * ratio, rtol=1e-12)


def test_where_a_theory_has_no_answer_there_is_none() -> None:
    assert np.isnan(rankine(20.0, backfill_slope_angle=20.1))
    assert np.isnan(coulomb(20.0, backfill_slope_angle=20.1))
    assert np.isfinite(coulomb(20.0, backfill_slope_angle=20.0))
    # the resultant would turn past the vertical, whatever the ground
    past = {"wall_friction_angle": 20.0, "wall_batter": 60.0, "seismic_angle": 40.0}
    assert np.isnan(coulomb(30.0, **past))
    assert np.isnan(coulomb(10.0, seismic_angle=10.1, side="passive"))
    assert np.isnan(
        coulomb(40.0, wall_friction_angle=40.0, backfill_slope_angle=35.0, side="passive")
    )
    assert np.isnan(curved_slip(30.0, wall_friction_angle=30.1).coefficient)
    assert np.isfinite(curved_slip(30.0, wall_friction_angle=30.0).coefficient)
    assert np.isnan(
        curved_slip(30.0, wall_friction_angle=0.0, backfill_slope_angle=30.1).coefficient
    )
    # beyond a face that leans further back than the slip plane there is no wedge
    assert_allclose(coulomb(35.0, wall_friction_angle=5.0, wall_batter=-60.0), 0.0)


def test_ground_that_falls_from_a_wall_at_rest_counts_as_level() -> None:
    assert_allclose(at_rest(30.0, backfill_slope_angle=-15.0), 0.5)
    assert_allclose(at_rest(30.0, backfill_slope_angle=15.0), 0.5 * (1.0 + math.sin(math.pi / 12)))
    assert_allclose(at_rest(30.0, overconsolidation_ratio=4.0), 1.0)  # 0.5 times 4 to the 0.5


def lower_bound(phi: float, delta: float, batter: float, slope: float, zones: int = 24) -> float:
    """Passive coefficient of a stress field in balance that nowhere exceeds the strength.

    Rays from the top of the wall part the soil into zones, in each of which stress grows in
    proportion to the distance from there; a linear programme seeks the largest thrust, the
    strength being a polygon inside the circle. By the lower bound theorem no exact solution
    lies below it.
    """
    sides, size = 48, 6 * zones
    ground, wall = math.radians(slope), math.radians(batter - 90.0)
    rays = np.linspace(ground, wall, zones + 1)

    def stresses(zone: int, angle: float) -> tuple[Any, Any, Any]:
        rows = np.zeros((3, size))
        for row in range(3):
            rows[row, 6 * zone + 2 * row : 6 * zone + 2 * row + 2] = np.cos(angle), np.sin(angle)
        return rows[0], rows[1], rows[2]

    def traction(zone: int, angle: float, x: float, y: float) -> list[Any]:
        along, up, shear = stresses(zone, angle)
        return [along * x + shear * y, shear * x + up * y]

    equal, wanted, below = [], [], []
    for zone in range(zones):
        for places, right in (((0, 5), 0.0), ((4, 3), 1.0)):
            row = np.zeros(size)
            row[[6 * zone + place for place in places]] = 1.0
            equal.append(row)
            wanted.append(right)
        for angle in (rays[zone], rays[zone + 1]):
            along, up, shear = stresses(zone, angle)
            for turn in 2.0 * np.pi * np.arange(sides) / sides:
                held = math.cos(math.pi / sides) * math.sin(math.radians(phi)) * (along + up)
                below.append((along - up) * np.cos(turn) + 2.0 * shear * np.sin(turn) + held)
    for zone, angle in enumerate(rays[:-1]):
        across = -math.sin(angle), math.cos(angle)
        parts = traction(zone, angle, *across)
        before = traction(zone - 1, angle, *across) if zone else [np.zeros(size)] * 2
        equal += [one - other for one, other in zip(parts, before, strict=True)]
        wanted += [0.0, 0.0]
    x, y = traction(zones - 1, wall, math.sin(wall), -math.cos(wall))
    normal = x * math.sin(wall) - y * math.cos(wall)
    along_wall = x * math.cos(wall) + y * math.sin(wall)
    rough = math.tan(math.radians(delta)) * normal
    below += [along_wall + rough, rough - along_wall]
    found = linprog(normal, below, np.zeros(len(below)), equal, wanted, bounds=(None, None))
    assert found.success
    return float(-found.fun / math.cos(math.radians(delta)) / math.cos(math.radians(batter)) ** 2)


@pytest.mark.parametrize(
    ("phi", "delta", "batter", "slope"),
    [
        (30.0, 0.0, 0.0, -15.0),
        (40.0, 0.0, 10.0, -15.0),
        (35.0, 0.0, 10.0, 0.0),
        (45.0, 11.0, 20.0, 5.0),
        (20.0, 13.0, -10.0, -18.0),
    ],
)
def test_annex_c_outside_its_range_is_carried_by_a_stress_field_in_balance(
    phi: float, delta: float, batter: float, slope: float
) -> None:
    slip = curved_slip(
        phi, wall_friction_angle=delta, wall_batter=batter, backfill_slope_angle=slope
    )
    assert float(slip.turn) < 0.0
    # the polygon inside the circle and the zones cost up to half a per cent
    assert float(slip.coefficient) <= 1.005 * lower_bound(phi, delta, batter, slope)


def test_the_stress_field_gives_rankines_coefficient_exactly_known() -> None:
    """Level ground, smooth upright wall: (1 + sin φ) / (1 - sin φ) = 3 at 30 deg."""
    assert_allclose(lower_bound(30.0, 0.0, 0.0, 0.0), 3.0, rtol=0.005)
