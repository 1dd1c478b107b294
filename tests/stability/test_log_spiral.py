"""The spiral kernel and its search against polygons, quadrature and a general optimiser."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.optimize import differential_evolution
from shapely import LineString, Polygon

from slipmargin.stability.ground.ground_line import Ground
from slipmargin.stability.ground.points import Line
from slipmargin.stability.rotational.critical_spiral import critical_spirals, hardest_spirals
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import LoadedSlope, spiral_through

GAMMA, SATURATED, WATER = 18.0, 20.5, 9.81
FAR = 60.0
BENCHED = [(0.0, 0.0), (3.0, 2.0), (3.5, 4.0), (6.0, 4.1), (9.0, 8.0), (11.0, 8.4)]


def loaded(
    points: list[tuple[float, float]], right_angle: float = 0.0, **loads: Any
) -> LoadedSlope:
    line = np.array([complex(*point) for point in points])[None, :]
    one = np.ones(1)
    height = max(y for _, y in points) - min(y for _, y in points)
    return LoadedSlope(
        ground=Ground.through(line, np.radians(right_angle) * one),
        height=height * one,
        unit_weight=GAMMA * one,
        saturated_unit_weight=SATURATED * one,
        pore_pressure_ratio=loads.get("ratio", 0.0) * one,
        seismic_coefficient=loads.get("k_h", 0.0) * one,
        surcharge=loads.get("surcharge", 0.0) * one,
        water_unit_weight=WATER * one,
        crest=loads.get("crest", len(points) - 1),
        load_foot=loads.get("load_foot", loads.get("crest", len(points) - 1)),
        water=loads.get("water"),
        firm_level=loads.get("firm"),
    )


def twin(
    points: list[tuple[float, float]],
    right_angle: float,
    start: complex,
    end: complex,
    opening: float,
    tan: float,
    loads: dict[str, Any],
) -> float:
    """Cohesion required by one spiral, from polygons and numeric quadrature."""
    k_h = loads.get("k_h", 0.0)
    arm = (end - start) / (cmath.exp((1j - tan) * opening) - 1.0)
    pole, r_a, alpha_a = start - arm, abs(arm), cmath.phase(arm)

    def radius(angle: float) -> float:
        return r_a * math.exp(-angle * tan)

    def on_spiral(angle: float) -> tuple[float, float]:
        place = pole + cmath.rect(radius(angle), alpha_a + angle)
        return place.real, place.imag

    rise = FAR * math.tan(math.radians(right_angle))
    (x0, y0), (x1, y1) = points[0], points[-1]
    ground = [(x0 - FAR, y0), *points, (x1 + FAR, y1 + rise)]
    below = [on_spiral(angle) for angle in np.linspace(0.0, opening, 20001)]
    above = [p for p in reversed(ground) if start.real < p[0] < end.real]
    if points[0][0] == points[1][0] and start == 0:
        above = [*above, points[1]]
    mass = Polygon([*below, *above])

    def moment(part: Any, weight: float) -> float:
        c = part.centroid
        return weight * part.area * ((c.x - pole.real) + k_h * (pole.imag - c.y)) if part else 0.0

    driving = moment(mass, GAMMA)
    crest_x = max(points[loads.get("crest", len(points) - 1)][0], start.real)
    line = LineString(ground)

    def level(x: float) -> float:
        xs, ys = np.array(line.coords).T
        return float(np.interp(x, xs, ys))

    if loads.get("surcharge") and end.real > crest_x:

        def load(x: float) -> float:
            return float(loads["surcharge"] * ((x - pole.real) + k_h * (pole.imag - level(x))))

        corners = [x for x, _ in points if crest_x < x < end.real]
        driving += quad(load, crest_x, end.real, points=corners or None, epsabs=1e-10)[0]

    water = loads.get("water")
    if water is not None:
        wet = [(x, float(water.level(x))) for x in np.unique([-FAR, *water.x, FAR + x1])]
        flooded = mass.intersection(Polygon([*wet, (FAR + x1, -FAR), (-FAR, -FAR)]))
        driving += moment(flooded, SATURATED - GAMMA)

    def pressure_moment(angle: float) -> float:
        x, y = on_spiral(angle)
        if water is not None:
            u = WATER * max(float(water.level(x)) - y, 0.0)
        else:
            u = loads.get("ratio", 0.0) * GAMMA * (level(x) - y)
        return u * radius(angle) ** 2

    panels = np.linspace(0.0, opening, 401)
    lost = sum(quad(pressure_moment, a, b, epsabs=1e-9)[0] for a, b in pairwise(panels))
    resisting = quad(lambda angle: radius(angle) ** 2, 0.0, opening)[0]
    return float((driving + tan * lost) / resisting)


UPRIGHT = [(0.0, 0.0), (0.0, 5.0)]
PLAIN = [(0.0, 0.0), (5.0, 5.0)]
LINE = Line(np.array([-5.0, 0.0, 4.0, 9.0, 20.0]), np.array([-0.5, 0.0, 2.0, 4.0, 4.5]))
LOADS: list[dict[str, Any]] = [
    {},
    {"k_h": 0.2, "surcharge": 15.0},
    {"ratio": 0.35},
    {"water": LINE, "k_h": 0.1},
]


@pytest.mark.parametrize("loads", LOADS)
@pytest.mark.parametrize(
    ("points", "right_angle", "start", "end", "opening", "phi"),
    [
        (PLAIN, 0.0, 0.0, 9.0, 0.9, 25.0),
        (PLAIN, 12.0, -2.0, 11.0, 1.6, 8.0),
        (PLAIN, 0.0, -3.0, 12.0, 2.0, 0.0),
        (PLAIN, 0.0, 2.0, 8.5, 0.5, 30.0),
        (UPRIGHT, 0.0, 0.0, 7.0, 0.5, 15.0),
        (BENCHED, 0.0, 0.0, 17.0, 1.2, 20.0),
        (BENCHED, 0.0, 7.0, 20.0, 1.3, 20.0),
    ],
)
def test_closed_moments_equal_polygons_and_quadrature(
    points: Any,
    right_angle: float,
    start: float,
    end: float,
    opening: float,
    phi: float,
    loads: Any,
) -> None:
    if points is not PLAIN and loads.get("water") is not None:
        loads = loads | {"water": Line(np.array([0.0, 30.0]), np.array([0.0, 3.0]))}
    slope = loaded(points, right_angle, **loads)
    tan = math.tan(math.radians(phi))
    stations = np.array([start]), np.array([end])
    spiral = spiral_through(slope, *stations, np.array([opening]), np.array([tan]))
    ends = complex(spiral.exit.point[0]), complex(spiral.entry.point[0])
    expected = twin(points, right_angle, *ends, opening, tan, loads)
    assert_allclose(cohesion_required(slope, spiral, 1024)[0][0], expected, rtol=2e-6)


def test_a_spiral_that_leaves_the_ground_is_no_mechanism() -> None:
    slope = loaded(PLAIN)
    flat = spiral_through(slope, *(np.array([v]) for v in (-4.0, 8.0, 0.3, 0.1)))
    deep = spiral_through(slope, *(np.array([v]) for v in (-4.0, 8.0, 1.8, 0.1)))
    assert cohesion_required(slope, flat, 16)[0][0] == -np.inf
    assert np.isfinite(cohesion_required(slope, deep, 16)[0][0])


def test_ground_behind_the_entry_does_not_touch_a_mechanism() -> None:
    """Up to a bench it is the same with the face above it or with the bench going on."""
    bench = [(0.0, 0.0), (3.0, 2.0), (3.5, 4.0), (6.0, 4.1)]
    stations = [np.array([v]) for v in (0.0, 7.0, 1.1, 0.2)]
    long, short = loaded(BENCHED), loaded(bench, math.degrees(math.atan2(0.1, 2.5)))
    found = [cohesion_required(g, spiral_through(g, *stations), 16)[0][0] for g in (long, short)]
    assert np.isfinite(found[1])
    assert_allclose(found[0], found[1], rtol=1e-12)


@pytest.mark.parametrize("loads", [{}, {"ratio": 0.3}, {"k_h": 0.1, "surcharge": 12.0}])
def test_many_spirals_in_one_call_are_each_alone(loads: dict[str, Any]) -> None:
    slope = loaded(BENCHED, **loads)
    start = np.array([[-2.0, -0.5, 0.0, 1.0, 4.0, 12.0]])
    end = np.array([[3.0, 9.0, 14.0, 16.0, 13.0, 16.0]])
    opening, tan = np.array([[0.7, 1.2, 1.0, 1.5, 0.8, 0.4]]), np.full((1, 6), 0.25)
    together = cohesion_required(slope, spiral_through(slope, start, end, opening, tan), 16)
    for k in range(6):
        one = [each[:, k] for each in (start, end, opening, tan)]
        alone = cohesion_required(slope, spiral_through(slope, *one), 16)
        for many, single in zip(together, alone, strict=True):
            assert_allclose(many[0, k], single[0], rtol=1e-9)


def test_firm_ground_is_touched_and_not_entered() -> None:
    slope = loaded(PLAIN, firm=np.array([-1.5]))
    spiral = spiral_through(slope, *(np.array([v]) for v in (-4.0, 12.0, 2.5, 0.1)))
    angles = np.linspace(0.0, float(spiral.opening[0]), 4001)
    assert_allclose(spiral.point(angles).imag.min(), -1.5, atol=1e-6)


def random_slope(rng: np.random.Generator) -> tuple[LoadedSlope, np.ndarray[Any, Any]]:
    kind = rng.integers(0, 4)
    face = math.radians(rng.uniform(20.0, 90.0))
    points = [(0.0, 0.0), (5.0 / math.tan(face), 5.0)]
    loads: dict[str, Any] = {}
    if kind == 1:
        loads = {"surcharge": rng.uniform(1.0, 40.0), "k_h": rng.uniform(0.0, 0.2)}
    if kind == 2:
        loads = {"ratio": rng.uniform(0.1, 0.4)}
    if kind == 3:
        width = rng.uniform(0.2, 4.0, 4)
        step = rng.uniform(0.5, 4.0, 2)
        x = np.cumsum([0.0, *width])
        points = [(x[0], 0.0), (x[1], step[0]), (x[2], step[0]), (x[3], step.sum())]
    steepest = min(math.degrees(face), 55.0)
    tan = np.tan(np.radians([rng.uniform(2.0 + 12.0 * (kind == 1), 15.0 + 0.7 * steepest)]))
    return replace(loaded(points, **loads), on_face=bool(kind in (1, 3))), tan


@pytest.mark.parametrize("seed", range(40))
def test_the_search_finds_no_less_than_a_general_optimiser(seed: int) -> None:
    slope, tan = random_slope(np.random.default_rng(seed))
    first, last = slope.ground.stations[0, 0], slope.ground.stations[0, -1]
    reach = 5.0 * float(slope.height[0])

    def spare(x: Any) -> float:
        start, end = first + x[0], last + math.exp(x[1]) - 1e-3
        spiral = spiral_through(slope, *(np.array([v]) for v in (start, end, math.exp(x[2]))), tan)
        return -max(float(cohesion_required(slope, spiral, 16)[0][0]), -1e6)

    limits = [(-reach, 0.98 * (last - first)), (-6.0, math.log(reach)), (-4.0, 1.0)]
    general = differential_evolution(spare, limits, rng=0, tol=1e-9, maxiter=120, popsize=12)
    ours = float(hardest_spirals(slope, tan).cohesion[0])
    scale = GAMMA * float(slope.height[0])
    assert ours >= -general.fun - 1e-4 * max(-general.fun, 0.0) - 1e-7 * scale


def test_the_root_is_the_factor_at_which_the_hardest_spiral_holds() -> None:
    rng = np.random.default_rng(5)
    for _ in range(12):
        slope, _ = random_slope(rng)
        c, tan = rng.uniform(2.0, 30.0, 1), np.tan(np.radians(rng.uniform(5.0, 40.0, 1)))
        found = critical_spirals(slope, c, tan)
        hardest = hardest_spirals(slope, tan * found.inverse)
        assert found.residual[0] < 1e-9
        assert_allclose(hardest.cohesion, c * found.inverse, rtol=1e-5)
