"""The trial wedge against closed forms and against a twin that draws every block."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import minimize_scalar
from shapely import LineString, Polygon, box

from slipmargin.stability import Soil
from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.earth_pressure.trial_wedge import trial_wedge
from slipmargin.strength import Strength

COUNT = 500


def cases(seed: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    phi = rng.uniform(18.0, 45.0, COUNT)
    k_h = rng.uniform(0.0, 0.25, COUNT) * (rng.random(COUNT) < 0.5)
    k_v = rng.uniform(-0.15, 0.15, COUNT) * (k_h > 0.0)
    psi = coefficients.seismic_angle(k_h, k_v)
    return {
        "friction_angle": phi,
        "wall_friction_angle": phi * rng.uniform(0.0, 1.0, COUNT),
        "wall_batter": rng.uniform(-12.0, 20.0, COUNT),
        "backfill_slope_angle": -8.0 + rng.uniform(0.0, 0.99, COUNT) * (phi - psi + 8.0),
        "height": rng.uniform(1.0, 12.0, COUNT),
        "unit_weight": rng.uniform(15.0, 22.0, COUNT),
        "k_h": k_h,
        "k_v": k_v,
    }


def closed_form(side: str, given: dict[str, np.ndarray]) -> np.ndarray:
    coefficient = coefficients.coulomb(
        given["friction_angle"],
        side=side,
        wall_friction_angle=given["wall_friction_angle"],
        wall_batter=given["wall_batter"],
        backfill_slope_angle=given["backfill_slope_angle"],
        seismic_angle=coefficients.seismic_angle(given["k_h"], given["k_v"]),
    )
    weight = 0.5 * given["unit_weight"] * given["height"] ** 2 * (1.0 - given["k_v"])
    return coefficient * weight


@pytest.mark.parametrize(("side", "friction_share"), [("active", 1.0), ("passive", 0.4)])
def test_the_search_finds_coulomb_and_mononobe_okabe(side: Any, friction_share: float) -> None:
    given = cases(1)
    given["wall_friction_angle"] = given["wall_friction_angle"] * friction_share
    wanted = closed_form(side, given)
    assert np.isfinite(wanted).sum() > 0.9 * COUNT
    got = trial_wedge(side, **given)
    # where no plane gives a least resistance, both say so
    assert_allclose(got.thrust, wanted, rtol=1e-6)


@pytest.mark.parametrize("side", ["active", "passive"])
def test_the_search_finds_rankine_where_the_wall_carries_the_stress_of_the_slope(
    side: Any,
) -> None:
    rng = np.random.default_rng(2)
    phi = rng.uniform(18.0, 45.0, COUNT)
    slope = rng.uniform(0.0, 0.98, COUNT) * phi
    if side == "passive":
        # the passive thrust leans up the wall, against the slope: only level ground agrees
        slope = np.zeros(COUNT)
        wanted = coefficients.rankine(phi, side="passive")
    else:
        wanted = coefficients.rankine(phi, backfill_slope_angle=slope)
    got = trial_wedge(
        side,
        height=5.0,
        unit_weight=18.0,
        friction_angle=phi,
        wall_friction_angle=slope,
        backfill_slope_angle=slope,
    )
    assert_allclose(got.thrust / (0.5 * 18.0 * 25.0), wanted, rtol=1e-6)


def test_the_plane_is_the_one_of_rankine() -> None:
    for side, sign in (("active", 1.0), ("passive", -1.0)):
        got = trial_wedge(side, height=5.0, unit_weight=18.0, friction_angle=32.0)
        assert float(got.plane_angle) == pytest.approx(45.0 + sign * 16.0, abs=1e-3)


def check(theory: str, **fields: Any) -> Any:
    strength = Strength(cohesion=fields.pop("c", 0.0), friction_angle=fields.pop("phi", 30.0))
    ground = Soil(strength=strength, unit_weight=18.0, saturated_unit_weight=20.5)
    sizes = {"height": 6.0} | fields
    return EarthPressure(soil=ground, theory=theory, **sizes).evaluate().values


@pytest.mark.parametrize(
    "fields",
    [
        {"c": np.linspace(0.0, 20.0, 9)},
        {"c": np.linspace(0.0, 20.0, 9), "surcharge": 15.0},
        {"c": np.linspace(0.0, 20.0, 9), "tension_crack": False},
        {"c": 9.0, "water_table_depth": np.linspace(0.0, 6.0, 9), "surcharge": 4.0},
        {"c": 9.0, "side": "passive", "water_table_depth": 2.0, "surcharge": 4.0},
    ],
)
def test_a_smooth_wall_under_level_ground_agrees_with_rankine(fields: dict[str, Any]) -> None:
    by_search, by_pressure = check("trial_wedge", **fields), check("rankine", **fields)
    for name in ("thrust", "weight_thrust", "surcharge_thrust", "cohesion_thrust"):
        got, wanted = getattr(by_search, name), getattr(by_pressure, name)
        assert_allclose(got, wanted, rtol=1e-6, atol=1e-6, err_msg=name)
    assert_allclose(by_search.thrust_height, by_pressure.thrust_height, rtol=1e-6)
    assert_allclose(by_search.tension_crack_depth, by_pressure.tension_crack_depth, rtol=1e-12)


def test_coulomb_with_cohesion_stays_on_the_safe_side_of_the_search() -> None:
    rng = np.random.default_rng(4)
    phi, c = rng.uniform(0.0, 40.0, COUNT), rng.uniform(0.0, 25.0, COUNT)
    fields = {
        "phi": phi,
        "c": c,
        "wall_friction_angle": rng.uniform(0.0, 1.0, COUNT) * phi,
        "wall_adhesion": rng.uniform(0.0, 1.0, COUNT) * c,
        "surcharge": rng.uniform(0.0, 20.0, COUNT),
    }
    pull = check("trial_wedge", tension_crack=False, **fields).thrust
    assert np.all(check("coulomb", tension_crack=False, **fields).thrust >= pull - 1e-6)
    crack = check("trial_wedge", **fields).thrust
    assert np.all(check("coulomb", **fields).thrust >= crack - 1e-6)
    fields["wall_friction_angle"] = fields["wall_friction_angle"] * 0.5
    resisting = check("trial_wedge", side="passive", **fields).thrust
    assert np.all(check("coulomb", side="passive", **fields).thrust <= resisting + 1e-6)


# --- the twin -----------------------------------------------------------------------------


def drawn_block(case: dict[str, Any], exit_x: float) -> float:
    """Thrust of one wedge: its outline drawn, its forces balanced as vectors."""
    height, theta = case["height"], np.radians(case["wall_batter"])
    heel = np.array([height * np.tan(theta), -height])
    points = np.asarray(case["ground_line"])
    slope = (points[-1, 1] - points[-2, 1]) / (points[-1, 0] - points[-2, 0])
    far = np.array([1e4, points[-1, 1] + slope * (1e4 - points[-1, 0])])
    ground = np.vstack([points, far])
    level = np.interp(exit_x, ground[:, 0], ground[:, 1])
    foot = np.array([exit_x, level - case["crack_depth"]])
    inside = [tuple(p) for p in ground if 0.0 < p[0] < exit_x]
    outline = Polygon([tuple(heel), (0.0, 0.0), *inside, (exit_x, level), tuple(foot)])
    if not outline.is_valid or outline.exterior.is_ccw or level < -case["water_table_depth"]:
        return np.nan
    below = outline.intersection(box(-1e3, -1e3, 1e3, -case["water_table_depth"])).area
    gamma, sat, water = case["unit_weight"], case["saturated_unit_weight"], 9.81
    total = gamma * (outline.area - below) + sat * below
    load = case["surcharge"] * exit_x
    for strip in case["strip_loads"]:
        strip_line = LineString([(strip.distance, 0.0), (strip.distance + strip.width, 0.0)])
        covered = strip_line.intersection(LineString([(0.0, 0.0), (exit_x, 0.0)])).length
        load += strip.pressure * covered
    load += sum(line.force for line in case["line_loads"] if line.distance <= exit_x)

    active = case["side"] == "active"
    plane = foot - heel
    length = float(np.hypot(*plane))
    along = plane / length
    normal = np.array([-along[1], along[0]])
    face = np.array([-np.sin(theta), np.cos(theta)])
    into_fill = np.array([np.cos(theta), np.sin(theta)])
    phi, delta = np.radians(case["friction_angle"]), np.radians(case["wall_friction_angle"])
    # an active block sinks and is held up by friction; a passive one is pushed up
    up = 1.0 if active else -1.0
    wall_force = np.cos(delta) * into_fill + up * np.sin(delta) * face
    reaction = np.cos(phi) * normal + up * np.sin(phi) * along
    vertical = (1.0 - case["k_v"]) * (total - water * below + load)
    known = np.array([-up * case["k_h"] * (total + load), -vertical])
    known = known + up * case["cohesion"] * length * along
    cracked_face = (height - case["crack_depth"]) / np.cos(theta)
    known = known + up * case["wall_adhesion"] * cracked_face * face
    thrust, _ = np.linalg.solve(np.column_stack([wall_force, reaction]), -known)
    # the block leans on its plane: the wall's share lies less than a right angle from it
    turned = np.arctan2(along[1], along[0]) - up * (phi + delta) - theta
    return float(thrust) if abs(turned) < 0.5 * np.pi else np.nan


def twin(case: dict[str, Any]) -> float:
    """The governing thrust: a plain loop over exits, then each best piece narrowed."""
    sign = 1.0 if case["side"] == "active" else -1.0
    edges = {0.02, *(x for x, _ in case["ground_line"][1:])}
    for strip in case["strip_loads"]:
        edges |= {strip.distance, strip.distance + strip.width}
    edges |= {line.distance for line in case["line_loads"]}
    edges = sorted({*edges, 15.0, 60.0, 400.0})
    best = -np.inf
    for low, high in pairwise(edges):
        # just short of an edge counts without a line load that stands on it
        places = np.linspace(low, high - 1e-9, 40)
        worth = [sign * drawn_block(case, float(x)) for x in places]
        if np.all(np.isnan(worth)):
            continue
        top = int(np.nanargmax(worth))
        near = places[max(top - 1, 0)], places[min(top + 1, 39)]

        def loss(x: float) -> float:
            value = sign * drawn_block(case, float(x))
            return 1e9 if np.isnan(value) else -value

        narrowed = minimize_scalar(loss, bounds=near, method="bounded", options={"xatol": 1e-10})
        best = max(best, worth[top], -narrowed.fun)
    return sign * best


def twin_cases() -> list[dict[str, Any]]:
    rng = np.random.default_rng(11)
    made = []
    for number in range(8):
        phi, c = rng.uniform(22.0, 40.0), rng.uniform(0.0, 8.0)
        steps = np.cumsum(rng.uniform(0.6, 2.5, 3))
        rises = np.cumsum(rng.uniform(-0.2, 0.45, 3) * np.diff(steps, prepend=0.0))
        active = number % 2 == 0
        made.append(
            {
                "side": "active" if active else "passive",
                "height": rng.uniform(3.0, 8.0),
                "friction_angle": phi,
                "unit_weight": 18.0,
                "saturated_unit_weight": 20.5,
                "cohesion": c,
                "wall_friction_angle": phi * rng.uniform(0.0, 0.5),
                "wall_adhesion": c * rng.uniform(0.0, 1.0),
                "wall_batter": rng.uniform(-8.0, 15.0),
                "ground_line": ((0.0, 0.0), *zip(steps.tolist(), rises.tolist(), strict=True)),
                "surcharge": rng.uniform(0.0, 10.0),
                "strip_loads": (StripLoad(pressure=25.0, distance=1.1, width=1.7),),
                "line_loads": (LineLoad(force=30.0, distance=2.3),),
                "crack_depth": rng.uniform(0.0, 0.8) if active else 0.0,
                "water_table_depth": rng.uniform(1.5, 2.8),
                "k_h": rng.uniform(0.0, 0.12),
                "k_v": rng.uniform(-0.05, 0.05),
            }
        )
    return made


@pytest.mark.parametrize("case", twin_cases(), ids=lambda case: str(case["side"]))
def test_the_search_finds_what_drawn_blocks_find(case: dict[str, Any]) -> None:
    points = np.asarray(case["ground_line"])
    run, rise = points[-1] - points[-2]
    given = {name: value for name, value in case.items() if name != "side"}
    got = trial_wedge(
        case["side"], backfill_slope_angle=float(np.degrees(np.arctan2(rise, run))), **given
    )
    assert float(got.thrust) == pytest.approx(twin(case), rel=1e-6)


def test_points_along_a_straight_slope_change_nothing() -> None:
    slope = np.tan(np.radians(12.0))
    line = tuple((x, x * slope) for x in (0.0, 1.3, 4.0, 9.0))
    given: dict[str, Any] = {
        "height": 5.0,
        "friction_angle": np.array([25.0, 33.0]),
        "unit_weight": 18.0,
        "wall_friction_angle": 10.0,
        "cohesion": 4.0,
        "crack_depth": 0.5,
        "backfill_slope_angle": 12.0,
    }
    plain = trial_wedge("active", **given)
    split = trial_wedge("active", ground_line=line, **given)
    assert_allclose(split.thrust, plain.thrust, rtol=1e-9)


@pytest.mark.parametrize(("side", "foot"), [("active", 3.0), ("passive", 9.0)])
def test_ground_hidden_behind_a_corner_has_no_plane_of_its_own(side: Any, foot: float) -> None:
    # the face and the first of the top of a steep bank cannot be seen from the heel; the
    # planes of level ground in front of it lie between the two corners of the bank
    case: dict[str, Any] = {
        "height": 4.0,
        "friction_angle": 32.0,
        "unit_weight": 18.0,
        "saturated_unit_weight": 20.0,
        "cohesion": 0.0,
        "wall_friction_angle": 0.0,
        "wall_adhesion": 0.0,
        "wall_batter": 0.0,
        "ground_line": ((0.0, 0.0), (foot, 0.0), (foot + 0.05, 3.0), (60.0, 3.0)),
        "surcharge": 0.0,
        "strip_loads": (),
        "line_loads": (),
        "crack_depth": 0.0,
        "water_table_depth": 9.0,
        "k_h": 0.0,
        "k_v": 0.0,
    }
    got = trial_wedge(side, **case)
    assert float(got.thrust) == pytest.approx(twin(case | {"side": side}), rel=1e-6)
    if side == "passive":
        level = float(coefficients.rankine(32.0, side="passive")) * 0.5 * 18.0 * 16.0
        assert float(got.thrust) == pytest.approx(level, rel=1e-9)


def test_a_coefficient_needs_straight_ground() -> None:
    line = ((0.0, 0.0), (2.0, 1.0), (5.0, 1.0))
    assert np.isnan(check("trial_wedge", ground_line=line).coefficient)
    straight = check("trial_wedge", wall_friction_angle=12.0)
    assert float(straight.coefficient) == pytest.approx(
        float(coefficients.coulomb(30.0, wall_friction_angle=12.0)), rel=1e-9
    )


def test_many_samples_give_what_single_ones_give() -> None:
    # more than one chunk, so that the seam is crossed
    phi = np.linspace(20.0, 44.0, 5000)
    whole = trial_wedge("active", height=5.0, friction_angle=phi, unit_weight=18.0)
    for i in (0, 4095, 4096, 4999):
        one = trial_wedge("active", height=5.0, friction_angle=phi[i], unit_weight=18.0)
        assert whole.thrust[i] == pytest.approx(float(one.thrust), rel=1e-14)


def test_a_crack_that_passes_below_the_heel_leaves_no_thrust() -> None:
    """Behind falling ground the foot of a crack can lie below the heel; 1.4e8 kN/m came out."""
    got = check(
        "trial_wedge", c=22.8, phi=23.76, height=3.8977, wall_friction_angle=15.96,
        wall_adhesion=11.4, wall_batter=6.87, backfill_slope_angle=-14.83,
    )  # fmt: skip
    assert_allclose(got.thrust, 0.0)


def test_a_crack_as_deep_as_the_wall_leaves_no_thrust() -> None:
    got = check("trial_wedge", c=np.array([45.0, 70.0]), phi=19.0)
    assert_allclose(got.thrust, 0.0)
    assert_allclose(got.tension_crack_depth, 6.0)
    assert np.all(np.isnan(got.thrust_height))
