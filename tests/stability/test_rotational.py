"""The rotational check against closed forms and its own parts put together."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import fields as dataclass_fields
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from slipmargin.stability.planar_wedge.check import PlanarWedge
from slipmargin.stability.rotational.check import Rotational
from slipmargin.stability.rotational.crest_edge import edge_factor
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import spiral_through
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, PowerCurve, Strength

BENCHES = [[-20.0, 0.0], [0.0, 0.0], [6.0, 4.0], [10.0, 4.0], [13.0, 9.0], [40.0, 9.0]]


def slope(c: Any = 5.0, phi: Any = 30.0, gamma: Any = 18.0, **fields: Any) -> Rotational:
    sat = fields.pop("sat", None)
    soil = Soil(
        strength=Strength(cohesion=c, friction_angle=phi, **fields.pop("strength", {})),
        unit_weight=gamma,
        saturated_unit_weight=sat,
    )
    shape = {} if "ground_line" in fields else {"height": 7.0, "face_angle": 45.0}
    return Rotational(soil=soil, **(shape | fields))


def factor(check: Rotational) -> Any:
    return check.evaluate().factors_of_safety["sliding"]


def codes(check: Rotational) -> set[str]:
    return {notice.code for notice in check.evaluate().notices}


def number(phi: float, beta: float) -> float:
    """γH/c at failure: with γ = H = 1 the inverse of the cohesion that is required."""
    return 1.0 / float(slope(1.0, phi, 1.0, height=1.0, face_angle=beta).limits().required_cohesion)


def test_no_vertical_cut_falls_below_the_exact_stability_number() -> None:
    # Martin (2011), from memory: 3.7765 is exact, so that an upper bound may not be lower
    assert number(0.0, 90.0) > 3.7765


def toe_number(beta: float) -> float:
    """γH/c at failure of circles through the toe alone, without friction: a grid that closes in
    on the lowest.
    """
    ground = loaded_slope(slope(1.0, 0.0, 1.0, height=1.0, face_angle=beta), ())
    crest = 1.0 / math.sin(math.radians(beta))
    middle, reach = np.zeros(2), np.array([3.0, 2.0])  # logs of distance behind it and opening
    required = 0.0
    for _ in range(14):
        behind, opening = (
            np.linspace(m - r, m + r, 25) for m, r in zip(middle, reach, strict=True)
        )
        log_end, log_opening = (axis.reshape(1, -1) for axis in np.meshgrid(behind, opening))
        circle = spiral_through(
            ground, np.zeros((1, 1)), crest + np.exp(log_end), np.exp(log_opening), np.zeros((1, 1))
        )
        cohesion = np.asarray(cohesion_required(ground, circle, 16)[0])[0]
        best = int(np.argmax(np.where(np.isfinite(cohesion), cohesion, -np.inf)))
        middle = np.array([log_end[0, best], log_opening[0, best]])
        required, reach = float(cohesion[best]), reach / 3.0
    return 1.0 / required


@pytest.mark.parametrize(
    ("beta", "published"),
    [(90.0, 0.261), (75.0, 0.219), (60.0, 0.191), (45.0, 0.17), (30.0, 0.156), (15.0, 0.145)],
)
def test_toe_circles_have_taylors_numbers(beta: float, published: float) -> None:
    # Taylor (1937), c/γH by the friction circle, from memory, printed to three decimals
    assert_allclose(1.0 / toe_number(beta), published, rtol=0.01, atol=0.001)
    assert number(0.0, beta) <= toe_number(beta) * (1.0 + 1e-6)


def test_toe_circles_take_over_from_deep_ones_at_taylors_angle() -> None:
    # Taylor, from memory: about 53 deg
    deep = number(0.0, 30.0)
    found = brentq(lambda beta: toe_number(beta) - deep, 60.0, 47.0, xtol=1e-3)
    assert_allclose(found, 53.0, rtol=0.015)


def test_a_cut_in_clay_stands_as_high_as_its_toe_circle_says() -> None:
    # Das, cut of 56 deg in clay of 24 kPa and 15.7 kN/m³, from memory: 8.25 m, 4.13 m for F = 2
    found = toe_number(56.0)
    assert_allclose([found * 24.0 / 15.7, 1.0 / found], [8.25, 0.185], rtol=0.006)
    assert_allclose(found * 24.0 / 2.0 / 15.7, 4.13, rtol=0.005)


def culmann_number(phi: float, beta: float) -> float:
    """γH/c of a plane through the toe: Culmann (1875), a closed form."""
    p, b = math.radians(phi), math.radians(beta)
    return 4.0 * math.sin(b) * math.cos(p) / (1.0 - math.cos(b - p))


def culmann_factor(c: float, phi: float, beta: float, gamma: float, height: float) -> float:
    """Factor of a plane through the toe, strength reduced, from Culmann's closed form."""
    tan = math.tan(math.radians(phi))

    def lacking(f: float) -> float:
        return gamma * height * f / c - culmann_number(math.degrees(math.atan(tan / f)), beta)

    lowest = max(tan / math.tan(math.radians(beta)) * 1.000001, 1e-6) if beta < 90.0 else 1e-6
    return float(brentq(lacking, lowest, 1e4))


PLANES_OVER_SPIRALS = [
    (30.0, 0.0, 2.7043, 2.7043),
    (45.0, 0.0, 1.7494, 1.7494),
    (60.0, 0.0, 1.3203, 1.3203),
    (75.0, 0.0, 1.142, 1.142),
    (90.0, 0.0, 1.044, 1.044),
    (30.0, 10.0, 2.4194, 1.6957),
    (45.0, 10.0, 1.6544, 1.4259),
    (60.0, 10.0, 1.3158, 1.2349),
    (75.0, 10.0, 1.1364, 1.1099),
    (90.0, 10.0, 1.0402, 1.0342),
    (30.0, 20.0, 3.0015, 1.3644),
    (45.0, 20.0, 1.7553, 1.3064),
    (60.0, 20.0, 1.3391, 1.1882),
    (75.0, 20.0, 1.1388, 1.0919),
    (90.0, 20.0, 1.0377, 1.0281),
    (45.0, 30.0, 2.0227, 1.224),
    (60.0, 30.0, 1.3964, 1.1607),
    (75.0, 30.0, 1.1493, 1.082),
    (90.0, 30.0, 1.0361, 1.024),
]
"""Face and friction angle [deg], then height and factor by Culmann's plane over those of the log
spiral: computed, not published."""


@pytest.mark.parametrize(("beta", "phi", "height_ratio", "planar_factor"), PLANES_OVER_SPIRALS)
def test_planes_overstate_the_height_by_the_tabled_ratio(
    beta: float, phi: float, height_ratio: float, planar_factor: float
) -> None:
    n = number(phi, beta)
    assert_allclose(culmann_number(phi, beta) / n, height_ratio, atol=7e-5)
    assert_allclose(culmann_factor(1.0, phi, beta, n, 1.0), planar_factor, atol=7e-5)


def test_the_deep_circle_limit_is_the_closed_one() -> None:
    # far circles on level ground: 4θ/sin²θ with tan θ = 2θ, derived from the moment balance
    theta = brentq(lambda t: math.tan(t) - 2.0 * t, 1.0, 1.5)
    assert_allclose(number(0.0, 20.0), 4.0 * theta / math.sin(theta) ** 2, rtol=1e-5)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"pore_pressure_ratio": 0.3, "surcharge": 20.0},
        {"horizontal_seismic_coefficient": 0.15, "upper_slope_angle": 12.0, "surcharge": 10.0},
        {"face_angle": 90.0, "c": 20.0},
        {"phi": 0.0, "c": 30.0, "firm_ground_depth": 3.0},
        {"water_line": [[0.0, 0.0], [7.0, 4.0], [30.0, 6.0]], "sat": 20.0},
        {"ground_line": BENCHES},
    ],
)
def test_values_close_the_moment_balance(fields: dict[str, Any]) -> None:
    values = slope(**fields).evaluate().values
    assert_allclose(values.resisting_moment, values.driving_moment, rtol=1e-6)
    turn = math.radians(values.opening_angle) * math.tan(
        math.radians(values.reduced_friction_angle)
    )
    assert_allclose(values.entry_radius, values.exit_radius * math.exp(-turn), rtol=1e-9)
    assert_allclose(values.stability_number * values.reduced_cohesion, 18.0 * values.slope_height)


def test_the_root_put_back_needs_the_cohesion_that_is_there() -> None:
    check = slope(target=1.3)
    limits = check.limits()
    at_limit = slope(limits.required_cohesion, target=1.3)
    assert_allclose(factor(at_limit), 1.3, rtol=1e-7)
    assert_allclose(factor(slope(height=limits.maximum_height)), 1.3, rtol=1e-7)
    assert_allclose(factor(slope(face_angle=limits.steepest_face_angle)), 1.3, rtol=1e-6)


def test_limits_are_nan_where_there_are_none() -> None:
    benches = slope(ground_line=BENCHES).limits()
    assert np.isnan(benches.maximum_height)
    assert np.isnan(slope(phi=40.0, face_angle=30.0).limits().maximum_height)
    assert slope(c=500.0).limits().steepest_face_angle == 90.0


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"face_angle": 90.0},
        {"face_angle": 30.0},
        {"pore_pressure_ratio": 0.25, "face_angle": 35.0},
        {"surcharge": 25.0, "upper_slope_angle": 10.0},
        {"ground_line": BENCHES},
        {"ground_line": [[0.0, 0.0], [1.2, 1.6], [1.8, 3.7], [3.4, 8.0], [4.2, 11.4], [6.1, 11.5]]},
        {"ground_line": BENCHES, "surcharge": 5.0, "horizontal_seismic_coefficient": 0.05},
        {"ground_line": BENCHES, "surcharge": 60.0, "horizontal_seismic_coefficient": 0.15},
        {"ground_line": [[0.0, 0.0], [7.0, 7.0], [20.0, 7.0]], "surcharge": 20.0},
        {
            "ground_line": [[0.0, 0.0], [9.0, 7.0], [20.0, 7.0]],
            "surcharge": 37.0,
            "horizontal_seismic_coefficient": 0.15,
            "pore_pressure_ratio": 0.3,
        },
    ],
)
def test_the_strength_law_equals_the_direct_search(fields: dict[str, Any]) -> None:
    rng = np.random.default_rng(11)
    c, phi = np.exp(rng.uniform(-3.0, 5.0, 48)), rng.uniform(0.0, 45.0, 48)
    c[0], phi[1] = 0.0, 0.0
    direct = factor(slope(c, phi, **fields))
    many = factor(slope(np.tile(c, 2), np.tile(phi, 2), **fields))
    # where one mechanism, or ground without end, takes over the curve has a corner, cut a little
    tolerance = 5e-4 if "surcharge" in fields and "ground_line" in fields else 1e-5
    assert_allclose(many[:48], direct, rtol=tolerance)
    read = slope(**fields).strength_law().factor(c, np.tan(np.radians(phi)))
    assert_allclose(read, direct, rtol=tolerance)


@pytest.mark.slow
def test_a_load_that_dwarfs_the_slope_has_a_strength_law_as_well() -> None:
    c, phi = np.linspace(0.5, 60.0, 20), 31.0
    loaded = {"surcharge": 500.0, "height": 1.0, "face_angle": 45.0, "pore_pressure_ratio": 0.1}
    direct = factor(slope(c, phi, **loaded))
    # where the worst surface leaps to another, the curve rounds the corner by a ten-thousandth
    assert_allclose(factor(slope(np.tile(c, 4), phi, **loaded))[:20], direct, rtol=2e-4)


def test_one_curve_serves_unit_weight_and_height_as_well() -> None:
    rng = np.random.default_rng(12)
    size = 80
    c, phi = rng.uniform(1.0, 30.0, size), rng.uniform(5.0, 40.0, size)
    gamma, height = rng.uniform(15.0, 22.0, size), rng.uniform(2.0, 20.0, size)
    many = factor(slope(c, phi, gamma, height=height))
    direct = factor(slope(c[:60], phi[:60], gamma[:60], height=height[:60]))
    assert_allclose(many[:60], direct, rtol=1e-5)


def test_arrays_give_what_scalars_give() -> None:
    faces = np.array([[25.0, 50.0], [70.0, 90.0]])
    shaken = np.array([0.0, 0.1])
    got = slope(face_angle=faces, horizontal_seismic_coefficient=shaken).evaluate()
    for index in np.ndindex(2, 2):
        one = slope(
            face_angle=float(faces[index]), horizontal_seismic_coefficient=float(shaken[index[1]])
        ).evaluate()
        for field in dataclass_fields(one.values):
            many = np.broadcast_to(getattr(got.values, field.name), (2, 2))
            assert_allclose(many[index], getattr(one.values, field.name), rtol=1e-5)


def test_the_upper_bench_alone_is_found_where_it_is_worse() -> None:
    values = slope(ground_line=BENCHES).evaluate().values
    assert values.exit_x == pytest.approx(10.0)
    assert values.exit_y == pytest.approx(4.0)
    alone = slope(height=5.0, face_angle=math.degrees(math.atan2(5.0, 3.0)))
    assert_allclose(values.factor_of_safety, factor(alone), rtol=1e-6)


def test_the_whole_cut_is_found_where_the_berm_is_narrow() -> None:
    line = [[-20.0, 0.0], [0.0, 0.0], [4.0, 4.0], [4.5, 4.0], [8.5, 8.0], [40.0, 8.0]]
    values = slope(ground_line=line).evaluate().values
    assert values.exit_x == pytest.approx(0.0)
    # filling the berm adds load, cutting it back to the crest takes some off
    steeper = slope(height=8.0, face_angle=45.0)
    flatter = slope(height=8.0, face_angle=math.degrees(math.atan2(8.0, 8.5)))
    assert factor(steeper) < values.factor_of_safety < factor(flatter) * 1.05


def test_a_ground_line_of_a_plain_slope_is_that_slope() -> None:
    run = 7.0 / math.tan(math.radians(60.0))
    line = [[-30.0, 0.0], [-3.0, 0.0], [0.0, 0.0], [run, 7.0], [9.0, 7.0], [40.0, 7.0]]
    for fields in ({}, {"pore_pressure_ratio": 0.2, "surcharge": 15.0}, {"phi": 4.0, "c": 25.0}):
        plain = slope(face_angle=60.0, **fields)
        assert_allclose(factor(slope(ground_line=line, **fields)), factor(plain), rtol=1e-6)


def test_without_cohesion_the_skin_of_the_face_governs() -> None:
    tan = math.tan(math.radians(30.0))
    dry = slope(0.0, face_angle=35.0)
    assert_allclose(factor(dry), tan / math.tan(math.radians(35.0)), rtol=1e-12)
    assert np.isnan(dry.evaluate().values.stability_number)
    beta = math.radians(20.0)
    sigma = math.cos(beta) ** 2 - 0.1 * math.sin(beta) * math.cos(beta)
    tau = math.sin(beta) * math.cos(beta) + 0.1 * math.cos(beta) ** 2
    wet = slope(0.0, face_angle=20.0, pore_pressure_ratio=0.3, horizontal_seismic_coefficient=0.1)
    assert_allclose(factor(wet), (sigma - 0.3) * tan / tau, rtol=1e-12)
    # a trace of cohesion hardly changes it
    assert_allclose(factor(slope(1e-6, face_angle=35.0)), factor(dry), rtol=1e-3)
    assert {"no-cohesion", "below-one"} <= codes(dry)


def test_ground_without_end_bounds_the_factor() -> None:
    upper = slope(400.0, 30.0, upper_slope_angle=15.0)
    limit = math.tan(math.radians(30.0)) / math.tan(math.radians(15.0))
    assert_allclose(factor(upper), limit, rtol=1e-3)
    assert factor(upper) <= limit * (1.0 + 1e-12)
    shaken = slope(30.0, 4.0, horizontal_seismic_coefficient=0.1)
    assert_allclose(factor(shaken), math.tan(math.radians(4.0)) / 0.1, rtol=1e-12)
    assert "endless-ground-governs" in codes(shaken)
    firm = slope(30.0, 0.0, horizontal_seismic_coefficient=0.1, firm_ground_depth=2.0)
    assert factor(firm) > 1.0
    assert "endless-ground-governs" not in codes(firm)


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"horizontal_seismic_coefficient": 0.1}, "firm_ground_depth"),
        ({"horizontal_seismic_coefficient": 0.02, "ground_line": BENCHES}, "firm_ground_depth"),
        ({"upper_slope_angle": 10.0}, "upper_slope_angle"),
        ({"upper_slope_angle": 10.0, "firm_ground_depth": 2.0}, "upper_slope_angle"),
    ],
)
def test_without_friction_ground_without_end_has_no_factor(
    fields: dict[str, Any], place: str
) -> None:
    with pytest.raises(InputError, match="at any cohesion") as caught:
        slope(np.array([20.0, 60.0]), 0.0, **fields).evaluate()
    assert caught.value.place == place
    # one strength of many may be without friction, as in a sweep that ends there
    assert factor(slope(30.0, np.array([0.0, 20.0]), **fields))[0] == 0.0


@pytest.mark.slow
@pytest.mark.parametrize(
    "fields",
    [
        {"surcharge": 5.0},
        {"surcharge": 20.0, "face_angle": 25.0},
        {"surcharge": 40.0, "horizontal_seismic_coefficient": 0.15},
        {"surcharge": 37.0, "horizontal_seismic_coefficient": 0.15, "pore_pressure_ratio": 0.3},
    ],
)
def test_both_forms_of_one_ground_give_one_factor(fields: dict[str, Any]) -> None:
    c, phi = np.array([0.0, 0.01, 0.1, 0.3, 1.0, 5.0, 40.0]), 33.0
    run = 7.0 / math.tan(math.radians(fields.get("face_angle", 45.0)))
    plain = factor(slope(c, phi, **fields))
    loads = {name: value for name, value in fields.items() if name != "face_angle"}
    for line in (
        [[-25.0, 0.0], [0.0, 0.0], [run, 7.0], [50.0, 7.0]],
        [[0.0, 0.0], [0.97 * run, 0.97 * 7.0], [run, 7.0]],
    ):
        assert_allclose(factor(slope(c, phi, ground_line=line, **loads)), plain, rtol=1e-5)


@pytest.mark.parametrize(
    ("fields", "line"),
    [
        # a search that stopped before the edge of the load was found to be the worst
        (
            {"c": 0.025, "phi": 22.0, "height": 11.2, "face_angle": 21.3, "surcharge": 24.0},
            [(-61.75, 0.0), (0.0, 0.0), (1.0, 1.0), (118.1, None)],
        ),
        # many tops on two pieces of face crowded out the one at the edge
        (
            {"c": 0.0, "phi": 14.76, "height": 9.79, "face_angle": 28.15, "surcharge": 24.8,
             "pore_pressure_ratio": 0.28},
            [(0.0, 0.0), (0.167, 0.167), (1.0, 1.0)],
        ),
        # a critical surface that comes up just in front of a point of the ground
        (
            {"c": 4.26, "phi": 5.106, "height": 4.593, "face_angle": 18.405, "surcharge": 30.1},
            [(-21.1, 0.0), (0.0, 0.0), (1.0, 1.0), (18.46, None)],
        ),
        # deep in front of the toe
        (
            {"c": 140.8, "phi": 6.376, "height": 14.34, "face_angle": 33.405, "surcharge": 39.2},
            [(0.0, 0.0), (0.1737, 0.1737), (1.0, 1.0)],
        ),
    ],
)  # fmt: skip
def test_points_on_the_ground_of_a_slope_change_no_factor(
    fields: dict[str, Any], line: list[tuple[float, float | None]]
) -> None:
    height, face = fields["height"], fields["face_angle"]
    run = height / math.tan(math.radians(face))
    ground = [
        [x, height] if y is None else [x if x < 0.0 else x * run, y * height] for x, y in line
    ]
    loads = {name: fields[name] for name in fields if name not in ("height", "face_angle")}
    assert_allclose(factor(slope(ground_line=ground, **loads)), factor(slope(**fields)), rtol=1e-5)


def weightless_edge(phi: float, beta: float) -> float:
    """c/q of a crumb without weight: planes from the face to the crest (its own balance)."""
    p, b = math.radians(phi), math.radians(beta)
    return math.sin((b - p) / 2.0) ** 2 / (math.cos(p) * math.sin(b))


def test_the_edge_of_a_loaded_crest_is_told_apart_from_the_slope() -> None:
    weak = slope(0.1, surcharge=20.0)
    notice = next(n for n in weak.evaluate().notices if n.code == "edge-of-crest")
    assert "0.7 m below the edge" in notice.text
    assert "10%" in notice.text
    ground = loaded_slope(weak, ())
    tan = math.tan(math.radians(30.0))
    edge = edge_factor(ground, 0.1, tan, float(factor(weak)))
    assert edge is not None
    assert f"{edge:.2f}" in notice.text
    # it does not hang on the height of the slope, and no curved surface is safer than a plane
    higher = loaded_slope(slope(0.1, surcharge=20.0, height=70.0), ())
    assert edge_factor(higher, 0.1, tan, 9.0) == pytest.approx(edge, rel=1e-3)
    firmer = edge_factor(ground, 0.5, tan, 9.0)
    assert firmer is not None
    reduced = math.degrees(math.atan(tan / firmer))
    assert 0.5 / firmer > 20.0 * weightless_edge(reduced, 45.0) > 0.0
    assert edge_factor(ground, 0.0, tan, 0.5) == 0.0
    assert "edge-of-crest" not in codes(slope(5.0, surcharge=20.0))
    assert "edge-of-crest" not in codes(slope(0.1))


def test_a_crumb_of_a_vertical_edge_without_friction_carries_twice_its_cohesion() -> None:
    # weightless and φ = 0: the block on a 45° plane carries q = 2c, the exact value
    # (Prandtl's solution for a right angle, from memory)
    check = slope(1.0, 0.0, surcharge=50.0, face_angle=90.0)
    edge = edge_factor(loaded_slope(check, ()), 1.0, 0.0, 9.0)
    assert edge is not None
    assert 0.97 * 2.0 / 50.0 < edge < 2.0 / 50.0  # its own weight is 3 % of the load at most


def test_the_least_size_of_a_loaded_mass_is_a_tenth_of_the_height() -> None:
    # with hardly any cohesion the worst mass is the smallest that counts
    values = slope(0.02, surcharge=20.0).evaluate().values
    assert values.exit_y == pytest.approx(7.0 - 0.1 * 7.0)
    # a load never hides what fails without it
    scarp = [[0.0, 0.0], [14.0, 7.0], [14.0, 7.4]]
    bare, under_load = (factor(slope(0.5, ground_line=scarp, surcharge=q)) for q in (0.0, 1e-9))
    assert under_load == pytest.approx(bare, rel=1e-6)


def test_firm_ground_raises_the_factor_of_a_deep_mechanism() -> None:
    depths = np.array([0.0, 1.0, 3.0, 10.0, 100.0])
    result = slope(30.0, 0.0, firm_ground_depth=depths).evaluate()
    free = slope(30.0, 0.0)
    found = result.factors_of_safety["sliding"]
    assert np.all(np.diff(found) < 0.0)
    assert np.all(found > factor(free))
    assert np.all(result.values.depth_below_toe <= depths + 1e-9)
    assert "deep-mechanism" in codes(free)


def test_a_water_line_at_the_ground_is_a_pore_pressure_ratio_of_its_own() -> None:
    # saturated throughout with u = γ_w depth, which is r_u = γ_w/γ
    run = 7.0
    wet = slope(
        15.0,
        gamma=20.0,
        sat=20.0,
        water_line=[[-9.0, 0.0], [0.0, 0.0], [run, 7.0], [9.0, 7.0]],
        water_unit_weight=8.0,
    )
    ratio = slope(15.0, gamma=20.0, pore_pressure_ratio=0.4)
    assert_allclose(factor(wet), factor(ratio), rtol=1e-5)


def test_water_and_saturated_weight_lower_the_factor() -> None:
    line = [[0.0, 0.0], [7.0, 4.0], [30.0, 6.0]]
    dry = factor(slope())
    wet = factor(slope(water_line=line, sat=18.0))
    heavy = factor(slope(water_line=line, sat=21.0))
    assert wet < dry
    assert heavy != pytest.approx(wet, rel=1e-3)
    assert_allclose(factor(slope(water_line=[[0.0, -50.0]])), dry, rtol=1e-6)
    assert "saturated-unit-weight-missing" in codes(slope(water_line=line))


def test_stresses_are_those_of_the_overburden() -> None:
    values = slope(face_angle=90.0, c=20.0).evaluate().values
    assert 0.0 < values.mean_effective_stress < values.highest_effective_stress < 18.0 * 7.0
    tested = slope(face_angle=90.0, c=20.0, strength={"tested_range": (100.0, 300.0)})
    assert "outside-tested-stress-range" in codes(tested)


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"face_angle": 0.0}, "face_angle"),
        ({"face_angle": 95.0}, "face_angle"),
        ({"height": None}, "height"),
        ({"upper_slope_angle": 45.0}, "upper_slope_angle"),
        ({"pore_pressure_ratio": 1.0}, "pore_pressure_ratio"),
        ({"pore_pressure_ratio": -0.1}, "pore_pressure_ratio"),
        ({"ground_line": BENCHES, "height": 3.0}, "ground_line"),
        ({"ground_line": BENCHES, "upper_slope_angle": 5.0}, "upper_slope_angle"),
        ({"ground_line": BENCHES[::-1]}, "ground_line"),
        ({"ground_line": [[0, 5], [5, 5], [9, 0]]}, "ground_line"),
        ({"ground_line": [[0, 0], [0, 0], [9, 5]]}, "ground_line"),
        ({"ground_line": [[0, 0], [5, 5], [5, 2], [9, 8], [5, 9]]}, "ground_line"),
        ({"ground_line": [[0, 0]]}, "ground_line"),
        ({"ground_line": "flat"}, "ground_line"),
        ({"water_line": [[0, 1], [30, 6]]}, "water_line"),
        ({"water_line": [[5, 0], [0, 0]]}, "water_line"),
        ({"water_line": [[2, 2.5], [30, 5]]}, "water_line"),
        ({"water_line": [[0, 0], [30, 5]], "pore_pressure_ratio": 0.2}, "water_line"),
        ({"surcharge": -1.0}, "surcharge"),
    ],
)
def test_impossible_input_is_refused_at_its_place(fields: dict[str, Any], place: str) -> None:
    with pytest.raises(InputError) as caught:
        slope(**fields).evaluate()
    assert caught.value.place == place


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({}, "upper-bound"),
        ({}, "no-tension-crack"),
        ({}, "no-water-assumed"),
        ({"phi": 0.0}, "no-friction"),
        ({"phi": 0.0, "firm_ground_depth": 5.0}, "deep-mechanism"),
        ({"phi": 5.0, "face_angle": 30.0}, "passes-below-toe"),
        ({"pore_pressure_ratio": 0.65}, "high-pore-pressure-ratio"),
        ({"pore_pressure_ratio": 0.4, "face_angle": 80.0, "c": 2.0}, "no-effective-stress"),
        (
            {"pore_pressure_ratio": 0.4, "face_angle": 80.0, "c": np.linspace(2.0, 3.0, 70)},
            "no-effective-stress",
        ),
        ({"surcharge": 60.0, "face_angle": 30.0, "c": 0.5}, "exits-above-toe"),
        ({"horizontal_seismic_coefficient": 0.1}, "pseudo-static"),
        ({"target": 3.0}, "below-target"),
        ({"ground_line": [[0, 0], [7, 7]]}, "ground-line-short"),
        ({"water_line": [[0, 0], [7, 3]]}, "water-line-short"),
    ],
)
def test_what_must_be_said_is_said(fields: dict[str, Any], code: str) -> None:
    assert code in codes(slope(**fields))


def test_a_law_of_one_slope_is_not_given_for_many() -> None:
    with pytest.raises(InputError, match="all but the strength must be scalar"):
        slope(gamma=np.array([17.0, 18.0])).strength_law()


def test_a_slope_that_falls_to_the_right_is_to_be_mirrored() -> None:
    with pytest.raises(InputError, match="mirror the points"):
        slope(ground_line=[[0.0, 5.0], [5.0, 5.0], [12.0, 0.0], [20.0, 0.0]]).evaluate()


def test_a_slope_without_end_steeper_than_its_friction_has_no_limits() -> None:
    limits = slope(5.0, 15.0, upper_slope_angle=20.0, face_angle=50.0).limits()
    assert math.isnan(float(limits.required_cohesion))
    assert math.isnan(float(limits.maximum_height))
    assert math.isnan(float(limits.steepest_face_angle))


def test_a_low_cut_in_stiff_soil_may_stand_upright() -> None:
    assert float(slope(40.0, 25.0, height=2.0).limits().steepest_face_angle) == 90.0


CURVE = PowerCurve(coefficient=0.75, exponent=0.8, tested_range=(20.0, 200.0))


def on_curve(curve: PowerCurve = CURVE, **more: Any) -> Rotational:
    bent = Soil(strength=Strength.from_curve(curve), unit_weight=19.0)
    return Rotational(soil=bent, height=7.0, face_angle=45.0, **more)


def test_a_rotation_on_a_curve_has_the_lowest_factor_of_its_tangents() -> None:
    # each tangent lies above the curve: the least of them, tried one by one, is the bound
    touching = CURVE.tangent_at(np.geomspace(5.0, 60.0, 65))
    tried = slope(touching.cohesion, touching.friction_angle, 19.0).evaluate().lowest
    result = on_curve().evaluate()
    assert result.lowest == pytest.approx(float(np.min(tried)), rel=2e-4)
    assert float(result.lowest) <= np.min(tried) * (1.0 + 1e-6)
    stress = float(result.values.effective_normal_stress)
    assert CURVE.tangent_at(stress).cohesion / float(result.lowest) == pytest.approx(
        float(result.values.reduced_cohesion), rel=1e-3
    )


def test_the_chord_over_the_tests_does_not_stand_in_for_a_curve() -> None:
    chord = CURVE.chord
    straight = slope(chord.cohesion, chord.friction_angle, 19.0)
    assert factor(on_curve()) < 0.995 * factor(straight)


def test_many_curves_are_read_off_the_law_of_the_slope() -> None:
    coefficient, exponent = np.linspace(0.6, 0.9, 80), np.linspace(0.9, 0.7, 80)
    many = dataclasses.replace(CURVE, coefficient=coefficient, exponent=exponent)
    factors = on_curve(many).evaluate().lowest
    for i in (0, 40, 79):
        one = dataclasses.replace(CURVE, coefficient=coefficient[i], exponent=exponent[i])
        assert factors[i] == pytest.approx(factor(on_curve(one)), rel=1e-6)


def test_no_plane_lies_below_the_rotation_on_a_curve() -> None:
    for face in (30.0, 50.0, 70.0, 85.0):
        bent = on_curve().soil
        plane = PlanarWedge(soil=bent, height=7.0, face_angle=face).evaluate().lowest
        rotation = Rotational(soil=bent, height=7.0, face_angle=face).evaluate().lowest
        assert float(rotation) <= float(plane) * (1.0 + 1e-6)


def test_a_curve_that_bends_upward_is_refused_where_surfaces_are_searched() -> None:
    upward = PowerCurve(coefficient=0.75, exponent=1.1, tested_range=(20.0, 200.0))
    with pytest.raises(InputError, match="bends upward"):
        on_curve(upward).evaluate()


def test_what_a_curve_may_give_less_is_said() -> None:
    assert "curved-envelope-at-mean-stress" in codes(on_curve())
    assert "curved-envelope-at-mean-stress" not in codes(slope())
