"""The planar wedge against closed forms, polygons and plain minimisation."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.optimize import brute

from slipmargin.stability.planar_wedge.check import PlanarWedge, PlanarWedgeValues
from slipmargin.stability.planar_wedge.rotation import rotation_of
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric, PowerCurve, Strength


def wedge(c: Any = 8.0, phi: Any = 30.0, gamma: Any = 19.0, **fields: Any) -> PlanarWedge:
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    if "ground_line" not in fields:
        fields = {"height": 7.0, "face_angle": 60.0} | fields
    return PlanarWedge(soil=soil, **fields)


def values(check: PlanarWedge) -> PlanarWedgeValues:
    found = check.evaluate().values
    assert isinstance(found, PlanarWedgeValues)
    return found


def factor(check: PlanarWedge) -> Any:
    return check.evaluate().factors_of_safety["sliding"]


def codes(check: PlanarWedge) -> set[str]:
    return {notice.code for notice in check.evaluate().notices}


# Closed forms of a dry slope with a level upper surface and no load but its own weight


def culmann_critical_height(
    face_angle: Numeric, *, cohesion: Numeric, friction_angle: Numeric, unit_weight: Numeric
) -> NDArray[np.float64]:
    """Height [m] at which a slope just stands against failure on a plane.

    H = (4 c′ / γ) sin β cos φ′ / (1 - cos(β - φ′)), with β the face above φ′, both [deg];
    cohesion [kPa], unit weight [kN/m³]. For a factor F put in c′ / F and the angle of
    tan φ′ / F.

    Source: Culmann (1866); Taylor (1948), Fundamentals of Soil Mechanics, ch. 16.
    """
    beta, phi = np.radians(face_angle), np.radians(friction_angle)
    height: NDArray[np.float64] = (
        4.0 * cohesion / unit_weight * np.sin(beta) * np.cos(phi) / (1.0 - np.cos(beta - phi))
    )
    return height


def culmann_critical_plane(face_angle: Numeric, friction_angle: Numeric) -> Numeric:
    """Critical plane of a slope at its critical height: halfway from φ′ to the face [deg].

    Source: as ``culmann_critical_height``.
    """
    return 0.5 * (np.asarray(face_angle) + friction_angle)


def dry_planar_factor(
    face_angle: Numeric,
    *,
    height: Numeric,
    cohesion: Numeric,
    friction_angle: Numeric,
    unit_weight: Numeric,
) -> NDArray[np.float64]:
    """Lowest factor of safety over all planes, any factor, not only 1.

    With n = 2 c′ / (γ H) and κ the cotangent of the face (angles [deg], height [m],
    cohesion [kPa], unit weight [kN/m³]) the factor of the plane with cot ψ = u is
    n (1 + u²) / (u - κ) + u tan φ′, whose minimum is

        F = 2 n κ + κ tan φ′ + 2 √(n (n + tan φ′) (1 + κ²))

    Setting F = 1 gives Culmann's height back.
    """
    n = 2.0 * cohesion / (unit_weight * np.asarray(height))
    beta, tan_phi = np.radians(face_angle), np.tan(np.radians(friction_angle))
    cot = np.cos(beta) / np.sin(beta)
    root = np.sqrt(n * (n + tan_phi) * (1.0 + cot**2))
    factor: NDArray[np.float64] = 2.0 * n * cot + cot * tan_phi + 2.0 * root
    return factor


def critical_crack_depth_ratio(face_angle: Numeric, plane_angle: Numeric) -> Numeric:
    """Depth of the worst dry tension crack over the height of the slope [-].

    z / H = 1 - √(cot ψ_f tan ψ_p), face and plane [deg].

    Source: Hoek & Bray (1974), Rock Slope Engineering, plane failure.
    """
    face, plane = np.radians(face_angle), np.radians(plane_angle)
    ratio: Numeric = 1.0 - np.sqrt(np.tan(plane) / np.tan(face))
    return ratio


def critical_crack_distance_ratio(face_angle: Numeric, plane_angle: Numeric) -> Numeric:
    """Distance of the worst dry tension crack behind the crest over the height [-].

    b / H = √(cot ψ_f cot ψ_p) - cot ψ_f, face and plane [deg].

    Source: as ``critical_crack_depth_ratio``.
    """
    face, plane = np.tan(np.radians(face_angle)), np.tan(np.radians(plane_angle))
    ratio: Numeric = np.sqrt(1.0 / (face * plane)) - 1.0 / face
    return ratio


STEEPER = [
    (c, phi, face) for c in (0.5, 8.0, 40.0) for phi in (0.0, 20.0, 35.0) for face in (45, 70, 90)
]


@pytest.mark.parametrize(("c", "phi", "face"), STEEPER)
def test_the_search_gives_the_closed_form_of_a_dry_slope(c: float, phi: float, face: float) -> None:
    found = factor(wedge(c, phi, 19.0, height=7.0, face_angle=float(face)))
    expected = dry_planar_factor(face, height=7.0, cohesion=c, friction_angle=phi, unit_weight=19.0)
    assert_allclose(found, expected, rtol=1e-12)


@pytest.mark.parametrize("face", [50.0, 75.0, 90.0])
def test_the_search_gives_culmann_at_the_critical_height(face: float) -> None:
    height = culmann_critical_height(face, cohesion=12.0, friction_angle=25.0, unit_weight=18.0)
    check = wedge(12.0, 25.0, 18.0, height=float(height), face_angle=face)
    assert_allclose(values(check).factor_of_safety, 1.0, rtol=1e-12)
    assert_allclose(values(check).plane_angle, culmann_critical_plane(face, 25.0), rtol=1e-9)
    assert_allclose(check.limits().maximum_height, height, rtol=1e-9)


@pytest.mark.parametrize(("face", "plane"), [(60.0, 35.0), (50.0, 35.0), (75.0, 50.0)])
def test_the_searched_crack_gives_the_published_formulas(face: float, plane: float) -> None:
    rock = wedge(90.0, 30.0, face_angle=face, plane_angle=plane, search_tension_crack=True)
    v = values(rock)
    assert_allclose(v.tension_crack_depth / 7.0, critical_crack_depth_ratio(face, plane), rtol=1e-9)
    assert_allclose(
        v.tension_crack_distance / 7.0, critical_crack_distance_ratio(face, plane), rtol=1e-9
    )


def test_without_cohesion_the_factor_is_that_of_the_face() -> None:
    v = values(wedge(0.0, 32.0, face_angle=50.0))
    expected = math.tan(math.radians(32.0)) / math.tan(math.radians(50.0))
    assert_allclose(v.factor_of_safety, expected, rtol=1e-7)
    assert_allclose(v.plane_angle, 50.0, rtol=1e-7)


# Polygons

LINES = [
    [[0, 0], [3, 5], [20, 5]],
    [[0, 0], [2, 3], [4, 3], [7, 9], [12, 9.5], [30, 9]],
    [[0, 0], [0, 4], [1, 4.2], [4, 8], [25, 10]],
    [[5, 2], [8, 7], [9, 6.5], [13, 9], [40, 12]],
]


def soil_polygon(line: Any) -> tuple[shapely.Polygon, np.ndarray]:
    points = np.asarray(line, dtype=float)
    points = points - points[0]
    end = points[-1, 0]
    return shapely.Polygon([*points, (end, -50.0), (-50.0, -50.0), (-50.0, 0.0)]), points


def block_polygon(line: Any, angle: float, crack_x: float | None) -> shapely.Polygon:
    """The ground above a plane, in front of the crack and joined to the toe."""
    ground, _ = soil_polygon(line)
    far = 1e3
    up = far * math.tan(math.radians(angle))
    above = shapely.Polygon([(0, 0), (far, up), (far, up + 2e3), (-1.0, up + 2e3), (-1.0, 0.0)])
    cut = ground.intersection(above)
    if crack_x is not None:
        cut = cut.intersection(shapely.box(-far, -far, crack_x, far))
    parts = [part for part in shapely.get_parts(cut) if part.area > 1e-9]
    return min(parts, key=lambda part: part.distance(shapely.Point(0, 0)))


@pytest.mark.parametrize("line", LINES)
@pytest.mark.parametrize("angle", [24.0, 33.0, 41.0, 47.0])
@pytest.mark.parametrize("crack", [None, 1.0, 3.0])
def test_blocks_of_a_ground_line_are_those_of_polygons(
    line: Any, angle: float, crack: float | None
) -> None:
    crest = values(wedge(ground_line=line, plane_angle=angle))
    crest_x = float(crest.plane_run - crest.loaded_length)
    crack_x = None if crack is None else crest_x + crack
    if crack_x is not None and crack_x >= crest.plane_run:
        with pytest.raises(InputError, match="daylights in front of the crack"):
            wedge(ground_line=line, plane_angle=angle, tension_crack_distance=crack).evaluate()
        return
    v = values(wedge(ground_line=line, plane_angle=angle, tension_crack_distance=crack))
    polygon = block_polygon(line, angle, crack_x)
    assert_allclose(v.block_area, polygon.area, rtol=1e-9)
    assert_allclose(v.plane_run, polygon.bounds[2], rtol=1e-9)
    if crack_x is not None:
        edge = shapely.LineString([(crack_x, -50.0), (crack_x, 50.0)])
        assert_allclose(v.tension_crack_depth, polygon.intersection(edge).length, rtol=1e-9)


@pytest.mark.parametrize("fields", [
    {},
    {"tension_crack_distance": 1.5, "tension_crack_water_depth": 1.0},
    {"search_tension_crack": True},
    {"pore_pressure_ratio": 0.2, "surcharge": 12.0, "horizontal_seismic_coefficient": 0.1},
    {"support_force": 40.0, "support_angle": 15.0},
])  # fmt: skip
@pytest.mark.parametrize("upper", [0.0, 12.0])
def test_a_ground_line_gives_what_the_straight_slope_gives(
    fields: dict[str, Any], upper: float
) -> None:
    crest_x, run = 7.0 / math.tan(math.radians(60.0)), 90.0
    line = [[0, 0], [crest_x, 7.0], [run, 7.0 + (run - crest_x) * math.tan(math.radians(upper))]]
    straight = wedge(upper_slope_angle=upper, **fields)
    drawn = wedge(ground_line=line, **fields)
    assert_allclose(factor(drawn), factor(straight), rtol=1e-9)
    needed = straight.limits().required_support_force
    assert_allclose(drawn.limits().required_support_force, needed, rtol=1e-6)


def test_a_searched_ground_line_is_no_higher_than_any_plane_and_reached_by_one() -> None:
    for line in LINES:
        searched = values(wedge(12.0, 28.0, ground_line=line))
        points = soil_polygon(line)[1]
        lowest_end = math.degrees(math.atan2(points[-1, 1], points[-1, 0]))
        face = math.degrees(math.atan2(points[1, 1], points[1, 0]))
        planes = np.linspace(lowest_end + 0.01, face - 0.01, 4001)
        tried = factor(wedge(12.0, 28.0, ground_line=line, plane_angle=planes))
        assert searched.factor_of_safety <= tried.min() * (1.0 + 1e-12)
        assert_allclose(searched.factor_of_safety, tried.min(), rtol=1e-4)


def plain_ends(line: np.ndarray, c: float, phi: float, q: float, crest: int) -> float:
    """Lowest factor of planes to points along a convex ground line, by corners."""
    lowest = math.inf
    for k in range(1, len(line) - 1):
        for share in np.linspace(0.0, 1.0, 401)[1:]:
            end = line[k] + share * (line[k + 1] - line[k])
            corners = np.vstack([line[: k + 1], end])
            x, y = corners.T
            area = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
            weight = 19.0 * area + q * max(end[0] - line[crest, 0], 0.0)
            length = math.hypot(*end)
            strength = c * length + weight * end[0] / length * math.tan(math.radians(phi))
            lowest = min(lowest, strength / (weight * end[1] / length))
    return lowest


@pytest.mark.slow
def test_a_critical_plane_that_leaves_at_the_last_point_has_its_factor() -> None:
    found = values(wedge(20.0, 30.0, ground_line=[[0, 0], [3, 3], [8, 4]]))
    # by hand: block of 4.5 m² beneath the face and 17.5 m² behind, less 16 m² beneath the plane
    weight, length = 19.0 * (4.5 + 17.5 - 16.0), math.hypot(8.0, 4.0)
    holds = 20.0 * length + weight * 8.0 / length * math.tan(math.radians(30.0))
    assert_allclose(found.factor_of_safety, holds / (weight * 4.0 / length), rtol=1e-9)
    assert_allclose(found.plane_run, 8.0, rtol=1e-12)

    rng = np.random.default_rng(5)
    at_the_end = 0
    for _ in range(60):
        runs, grades = rng.uniform(0.5, 4.0, 3), np.sort(rng.uniform(0.05, 2.0, 3))[::-1]
        line = np.vstack([[0.0, 0.0], np.cumsum(np.column_stack([runs, runs * grades]), axis=0)])
        above = line[:, 1] - line[:, 0] * line[-1, 1] / line[-1, 0]
        check = wedge(15.0, 28.0, ground_line=line, surcharge=8.0)
        expected = plain_ends(line, 15.0, 28.0, 8.0, int(np.argmax(above)))
        assert_allclose(factor(check), expected, rtol=1e-4)
        at_the_end += float(values(check).plane_run) > line[-1, 0] * (1.0 - 1e-9)
    assert at_the_end > 10


# Plain loops


def plain_factor(angle: float, slope: dict[str, float], crack: float | None = None) -> float:
    """One plane of a straight slope, by corners and forces, without arrays."""
    psi, face = math.radians(angle), math.radians(slope["face"])
    upper = math.tan(math.radians(slope["upper"]))
    crest = (slope["height"] / math.tan(face), slope["height"])
    x = (crest[1] - crest[0] * upper) / (math.tan(psi) - upper)
    corners = [(0.0, 0.0), crest]
    depth = 0.0
    if crack is not None and crest[0] + crack < x:
        x = crest[0] + crack
        top = crest[1] + crack * upper
        depth = top - x * math.tan(psi)
        corners.append((x, top))
    corners.append((x, x * math.tan(psi)))
    area = 0.5 * abs(
        sum(
            a[0] * b[1] - b[0] * a[1]
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        )
    )
    length = x / math.cos(psi)
    soil = slope["gamma"] * area
    weight = soil + slope["surcharge"] * (x - crest[0])
    water = min(slope["water"], depth)
    uplift = 9.81 * water / 2.0 * length + slope["r_u"] * soil / math.cos(psi)
    outward = slope["k_h"] * weight + 9.81 * water**2 / 2.0
    alpha = math.radians(slope["alpha"])
    normal = weight * math.cos(psi) - outward * math.sin(psi) - uplift
    normal += slope["support"] * math.sin(alpha + psi)
    drive = weight * math.sin(psi) + outward * math.cos(psi)
    drive -= slope["support"] * math.cos(alpha + psi)
    strength = slope["c"] * length + normal * math.tan(math.radians(slope["phi"]))
    if strength < 0.0:
        return 0.0
    return strength / drive if drive > 0.0 else math.inf


def daylight_behind_crest(angle: float, slope: dict[str, float]) -> float:
    upper, crest = (
        math.tan(math.radians(slope["upper"])),
        slope["height"] / math.tan(math.radians(slope["face"])),
    )
    return (slope["height"] - crest * upper) / (math.tan(math.radians(angle)) - upper) - crest


def random_slope(rng: np.random.Generator) -> dict[str, float]:
    face = float(rng.uniform(35.0, 89.0))
    wet = rng.uniform() < 0.5
    return {
        "height": float(rng.uniform(2.0, 25.0)),
        "face": face,
        "upper": float(rng.choice([0.0, rng.uniform(0.0, 0.6 * face)])),
        "gamma": float(rng.uniform(15.0, 24.0)),
        "c": float(rng.uniform(1.0, 60.0)),
        "phi": float(rng.uniform(0.0, 45.0)),
        "surcharge": float(rng.choice([0.0, 20.0])),
        "k_h": float(rng.choice([0.0, 0.15])),
        "support": float(rng.choice([0.0, 40.0])),
        "alpha": float(rng.uniform(0.0, 30.0)),
        "crack": float(rng.uniform(0.2, 4.0)),
        "water": float(rng.uniform(0.0, 1.2)) if wet else 0.0,
        "r_u": 0.0 if wet else float(rng.choice([0.0, 0.2])),
    }


def as_wedge(slopes: list[dict[str, float]], **fields: Any) -> PlanarWedge:
    """All slopes in one check."""
    column = {name: np.array([slope[name] for slope in slopes]) for name in slopes[0]}
    return wedge(
        column["c"],
        column["phi"],
        column["gamma"],
        height=column["height"],
        face_angle=column["face"],
        upper_slope_angle=column["upper"],
        surcharge=column["surcharge"],
        horizontal_seismic_coefficient=column["k_h"],
        support_force=column["support"],
        support_angle=column["alpha"],
        **fields,
    )


@pytest.mark.slow
def test_the_vectorised_search_agrees_with_brute_force_on_500_slopes() -> None:
    rng = np.random.default_rng(11)
    slopes = [random_slope(rng) for _ in range(500)]
    water = np.array([slope["water"] for slope in slopes])
    cracked, dry = [s for s in slopes if s["water"]], [s for s in slopes if not s["water"]]
    found = np.empty(len(slopes))
    found[water > 0.0] = factor(
        as_wedge(
            cracked,
            tension_crack_distance=np.array([s["crack"] for s in cracked]),
            tension_crack_water_depth=np.array([s["water"] for s in cracked]),
        )
    )
    found[water == 0.0] = factor(
        as_wedge(dry, pore_pressure_ratio=np.array([s["r_u"] for s in dry]))
    )
    for one, slope in zip(found, slopes, strict=True):
        crack = slope["crack"] if slope["water"] else None
        near, far = slope["upper"] + 1e-3, slope["face"] - 1e-6
        _, lowest, *_ = brute(
            lambda x, s=slope, b=crack, n=near, f=far: plain_factor(
                min(max(float(np.ravel(x)[0]), n), f), s, b
            ),
            ((near, far),),
            Ns=150,
            full_output=True,
        )
        if math.isinf(lowest):
            assert math.isinf(one)
        else:
            assert one <= lowest * (1.0 + 1e-9)
            # a minimum at a crease is met by the brute force from one side only
            assert_allclose(one, lowest, rtol=1e-4, atol=1e-12)


def plain_deepest_crack(slope: dict[str, float]) -> float:
    """Where the water at a crack's foot, or nothing, balances γ z K_a - 2 c √K_a, by halving."""
    k_a = math.tan(math.radians(45.0 - 0.5 * slope["phi"])) ** 2
    low, high = 0.0, 0.5 * slope["height"]
    for _ in range(80):
        z = 0.5 * (low + high)
        soil = slope["gamma"] * z * k_a - 2.0 * slope["c"] * math.sqrt(k_a)
        if soil < 9.81 * min(slope["water"], z):
            low = z
        else:
            high = z
    return high


def test_the_search_for_plane_and_crack_is_no_higher_than_a_fine_grid() -> None:
    rng = np.random.default_rng(5)
    slopes = [random_slope(rng) | {"r_u": 0.0, "support": 0.0} for _ in range(12)]
    # an upper slope near φ′ would take the critical plane along without end
    slopes = [slope | {"upper": min(slope["upper"], 0.3 * slope["phi"])} for slope in slopes]
    found = as_wedge(
        slopes,
        search_tension_crack=True,
        tension_crack_water_depth=np.array([s["water"] for s in slopes]),
    ).evaluate()
    for k, slope in enumerate(slopes):
        planes = np.linspace(slope["upper"] + 0.05, slope["face"] - 0.05, 100)
        deepest = plain_deepest_crack(slope)
        grid = []
        for angle in planes:
            far = daylight_behind_crest(angle, slope)
            crest = slope["height"] / math.tan(math.radians(slope["face"]))
            at_crest = slope["height"] - crest * math.tan(math.radians(angle))
            first = max(0.0, 1.0 - deepest / at_crest)
            shares = first + (1.0 - first) * np.linspace(0.0, 1.0, 120) ** 3
            grid += [plain_factor(angle, slope, share * far) for share in shares]
        lowest = float(np.min(grid))
        one = float(found.factors_of_safety["sliding"][k])
        assert one <= lowest * (1.0 + 1e-12)
        assert_allclose(one, lowest, rtol=2e-3)
        again = plain_factor(
            float(found.values.plane_angle[k]), slope, float(found.values.tension_crack_distance[k])
        )
        assert_allclose(again, one, rtol=1e-9)


def test_a_searched_crack_is_no_deeper_than_cohesion_holds_it_open() -> None:
    """2 c′/γ tan(45° + φ′/2), Terzaghi (1943), and half the height; from memory."""
    held = 2.0 * 20.0 / 19.0 * math.tan(math.radians(57.5))
    searched = {"face_angle": 80.0, "search_tension_crack": True}
    tall = values(wedge(20.0, 25.0, height=12.0, **searched))
    assert_allclose([tall.deepest_crack, tall.tension_crack_depth], held, rtol=1e-9)
    low = values(wedge(20.0, 25.0, height=5.0, **searched))
    assert_allclose(low.deepest_crack, 2.5, rtol=1e-12)
    stated = {"plane_angle": 55.0, "tension_crack_distance": 2.0}
    given_one = values(wedge(20.0, 25.0, height=12.0, face_angle=80.0, **stated))
    assert given_one.tension_crack_depth > 1.5 * held
    bare = values(wedge(0.0, 30.0, height=12.0, plane_angle=45.0, **searched))
    assert_allclose(bare.tension_crack_depth, 0.0, atol=1e-9)
    assert_allclose(bare.factor_of_safety, math.tan(math.radians(30.0)), rtol=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("plane", [None, 52.0])
@pytest.mark.parametrize("water", [0.0, 1.2, "full"])
def test_searched_cracks_of_many_strengths_are_those_of_each(plane: Any, water: Any) -> None:
    rng = np.random.default_rng(9)
    c, phi = rng.uniform(0.0, 25.0, 4200), rng.uniform(5.0, 40.0, 4200)
    fields = {"face_angle": 78.0, "plane_angle": plane, "search_tension_crack": True}
    fields |= {"tension_crack_water_depth": water}
    some = np.arange(0, 4200, 140)
    many = wedge(c, phi, **fields).evaluate()
    few = values(wedge(c[some], phi[some], **fields))
    assert_allclose(many.values.factor_of_safety[some], few.factor_of_safety, rtol=1e-8)
    assert np.all(many.values.tension_crack_depth <= many.values.deepest_crack * (1.0 + 1e-9))
    assert_allclose(many.values.deepest_crack[some], few.deepest_crack)


def test_support_never_lowers_the_factor_of_a_vertical_face_with_its_worst_crack() -> None:
    forces = np.linspace(0.0, 150.0, 16)
    factors = factor(
        wedge(20.0, 25.0, height=6.0, face_angle=90.0, support_force=forces,
              search_tension_crack=True)
    )  # fmt: skip
    assert factors[0] > 0.5
    assert np.all(np.diff(factors) > 0.0)


def test_a_crack_that_is_full_holds_water_to_its_depth_on_every_plane() -> None:
    for fields in (
        {"plane_angle": 42.0, "tension_crack_distance": 1.0},
        {"tension_crack_distance": 1.0},
        {"search_tension_crack": True},
        {"plane_angle": 42.0, "search_tension_crack": True},
        {"ground_line": [[0, 0], [3, 6], [9, 7]], "tension_crack_distance": 1.0},
    ):
        v = values(wedge(**fields, tension_crack_water_depth="full"))
        assert_allclose(v.crack_water_depth, v.tension_crack_depth)
        assert_allclose(v.crack_thrust, 0.5 * 9.81 * v.tension_crack_depth**2)
        assert v.factor_of_safety < values(wedge(**fields)).factor_of_safety
    stated = {"plane_angle": 42.0, "tension_crack_distance": 1.0}
    depth = float(values(wedge(**stated)).tension_crack_depth)
    full = values(wedge(**stated, tension_crack_water_depth="full")).factor_of_safety
    typed = values(wedge(**stated, tension_crack_water_depth=depth + 0.004))
    assert_allclose(typed.factor_of_safety, full)
    with pytest.raises(InputError, match='or "full"'):
        wedge(**stated, tension_crack_water_depth=depth + 0.02).evaluate()
    with pytest.raises(InputError, match="full"):
        wedge(**stated, tension_crack_water_depth="brimming").evaluate()


# Arrays and the law of strength

SETTINGS = [
    {},
    {"pore_pressure_ratio": 0.2, "surcharge": 10.0},
    {"tension_crack_distance": 1.5, "tension_crack_water_depth": 1.0},
    {"search_tension_crack": True},
    {"support_force": 30.0, "support_angle": 10.0, "horizontal_seismic_coefficient": 0.1},
    {"face_angle": 90.0},
]


@pytest.mark.slow
@pytest.mark.parametrize("fields", SETTINGS)
def test_many_strengths_get_what_each_gets_alone(fields: dict[str, Any]) -> None:
    rng = np.random.default_rng(3)
    c, phi = rng.uniform(0.0, 40.0, 4500), rng.uniform(0.0, 45.0, 4500)
    c[:3], phi[:3] = 0.0, (0.0, 30.0, 45.0)
    many = factor(wedge(c, phi, **fields))
    parts = [factor(wedge(c[k : k + 900], phi[k : k + 900], **fields)) for k in range(0, 4500, 900)]
    assert_allclose(many, np.concatenate(parts), rtol=1e-8)


@pytest.mark.parametrize("fields", SETTINGS)
def test_the_strength_law_is_the_search(fields: dict[str, Any]) -> None:
    rng = np.random.default_rng(4)
    c, phi = rng.uniform(0.0, 40.0, 3000), rng.uniform(0.0, 45.0, 3000)
    c[:3], phi[:3] = 0.0, (0.0, 30.0, 45.0)
    searched = factor(wedge(c, phi, **fields))
    law = wedge(**fields).strength_law()
    if "search_tension_crack" in fields:
        assert law is None  # how deep the crack may be hangs on c′ itself
        return
    assert law is not None
    assert_allclose(law.factor(c, np.tan(np.radians(phi))), searched, rtol=2e-6)


def test_no_strength_law_is_given_where_no_curve_holds() -> None:
    past_a_crack = wedge(face_angle=85.0, tension_crack_distance=1.2)
    assert past_a_crack.strength_law() is None
    assert wedge(plane_angle=40.0, support_force=900.0).strength_law() is None
    with pytest.raises(InputError, match="must be scalar"):
        wedge(height=np.array([5.0, 6.0])).strength_law()


@pytest.mark.parametrize("fields", SETTINGS[:5])
def test_arrays_equal_scalars(fields: dict[str, Any]) -> None:
    heights, faces = np.array([[4.0], [9.0]]), np.array([48.0, 66.0, 85.0])
    both = values(wedge(height=heights, **({"face_angle": faces} | fields)))
    assert both.factor_of_safety.shape == (2, 3)
    for i, height in enumerate(heights.ravel()):
        for j, face in enumerate(faces):
            one = values(wedge(height=height, face_angle=face, **fields))
            for name in PlanarWedgeValues.__dataclass_fields__:
                array = np.broadcast_to(getattr(both, name), (2, 3))
                assert_allclose(array[i, j], getattr(one, name), rtol=1e-7, atol=1e-9)


# Forces, design values, words


@pytest.mark.parametrize("fields", SETTINGS[:5])
@pytest.mark.parametrize("target", [1.0, 1.5])
def test_design_values_meet_the_target_when_put_back(fields: dict[str, Any], target: float) -> None:
    v = wedge(face_angle=65.0, target=target, **fields).limits()
    if not math.isnan(v.maximum_height):
        again = wedge(height=float(v.maximum_height), face_angle=65.0, **fields)
        assert_allclose(factor(again), target, rtol=1e-6)
    if not math.isnan(v.steepest_face_angle):
        again = wedge(face_angle=float(v.steepest_face_angle), **fields)
        assert_allclose(factor(again), target, rtol=1e-6)
    support = fields | {"support_force": float(v.required_support_force)}
    held = factor(wedge(face_angle=65.0, **support))
    if v.required_support_force > 0.0:
        assert_allclose(held, target, rtol=1e-6)
    else:
        assert held >= target


def test_without_a_target_no_support_is_required() -> None:
    given_one = wedge(12.0, 25.0, plane_angle=42.0)
    assert math.isnan(float(values(given_one).required_support_force))
    assert float(values(dataclasses.replace(given_one, target=1.5)).required_support_force) > 0.0
    assert_allclose(values(given_one).maximum_height, given_one.limits().maximum_height)


def test_the_steepest_face_without_cohesion_is_the_friction_angle_over_the_target() -> None:
    v = wedge(0.0, 35.0, face_angle=30.0, target=1.25).limits()
    expected = math.degrees(math.atan(math.tan(math.radians(35.0)) / 1.25))
    assert_allclose(v.steepest_face_angle, expected, rtol=1e-6)
    assert math.isnan(v.maximum_height)


def test_limits_that_a_rotation_may_govern_are_not_given_beside_a_factor() -> None:
    searched = wedge(12.0, 25.0, target=1.3)
    assert "limits-of-planes-left-out" in codes(searched)
    at_limit = dataclasses.replace(
        rotation_of(searched), height=float(searched.limits().maximum_height)
    )
    assert at_limit.evaluate().lowest < 1.2  # a plane alone would promise 1.3
    given_one = wedge(12.0, 25.0, target=1.3, plane_angle=42.0)
    assert "limits-of-planes-left-out" not in codes(given_one)
    for name in ("maximum_height", "steepest_face_angle", "required_support_force"):
        assert math.isnan(float(getattr(values(searched), name)))
        assert_allclose(getattr(values(given_one), name), getattr(given_one.limits(), name))


def test_a_crack_that_nowhere_stays_open_down_to_the_plane_is_refused() -> None:
    short = wedge(3.0, 25.0, ground_line=[[0, 0], [2, 6], [4, 6]], plane_angle=35.0,
                  search_tension_crack=True)  # fmt: skip
    with pytest.raises(InputError, match="more of the ground behind the crest"):
        short.evaluate()


@pytest.mark.parametrize(
    ("field", "fields"),
    [
        ("height", {"height": None}),
        ("face_angle", {"face_angle": None}),
        ("face_angle", {"face_angle": 95.0}),
        ("upper_slope_angle", {"upper_slope_angle": 60.0}),
        ("plane_angle", {"plane_angle": 60.0}),
        ("plane_angle", {"plane_angle": 10.0, "upper_slope_angle": 15.0}),
        ("plane_angle", {"plane_angle": 15.0, "upper_slope_angle": 15.0}),
        ("plane_angle", {"plane_angle": np.array([30.0, 70.0])}),
        ("tension_crack_distance", {"plane_angle": 40.0, "tension_crack_distance": 5.0}),
        ("tension_crack_distance", {"face_angle": 90.0, "tension_crack_distance": 0.0}),
        ("tension_crack_distance", {"tension_crack_distance": 1.0, "search_tension_crack": True}),
        ("tension_crack_water_depth", {"tension_crack_water_depth": 1.0}),
        (
            "tension_crack_water_depth",
            {"plane_angle": 40.0, "tension_crack_distance": 2.0, "tension_crack_water_depth": 2.0},
        ),
        (
            "tension_crack_water_depth",
            {"tension_crack_distance": 2.0, "tension_crack_water_depth": 7.5},
        ),
        (
            "pore_pressure_ratio",
            {
                "tension_crack_distance": 1.0,
                "tension_crack_water_depth": 1.0,
                "pore_pressure_ratio": 0.1,
            },
        ),
        ("ground_line", {"ground_line": [[0, 0], [3, 5]]}),
        ("ground_line", {"ground_line": [[0, 0], [3, 5], [2, 6]]}),
        ("ground_line", {"ground_line": [[0, 0], [0, 5], [0, 3], [5, 3]]}),
        ("ground_line", {"ground_line": [[0, 0], [5, 2], [9, 9]]}),
        ("ground_line", {"ground_line": [[0, 0], [3, 5], [9, 5]], "height": 5.0}),
        ("ground_line", {"ground_line": "flat"}),
        ("plane_angle", {"ground_line": [[0, 0], [3, 5], [9, 5]], "plane_angle": 20.0}),
        (
            "tension_crack_distance",
            {"ground_line": [[0, 0], [3, 5], [9, 5]], "tension_crack_distance": 6.0},
        ),
    ],
)
def test_what_does_not_go_together_is_refused_by_name(field: str, fields: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refusal:
        wedge(**fields).evaluate()
    assert refusal.value.place == field


@pytest.mark.parametrize(
    ("code", "check"),
    [
        ("planar-search-unconservative", wedge()),
        ("other-mechanisms-not-searched", wedge(plane_angle=40.0)),
        ("no-critical-plane-inside", wedge(0.0, 30.0)),
        ("surface-ravelling-governs", wedge(0.0, 40.0, face_angle=35.0)),
        ("no-friction", wedge(20.0, 0.0)),
        (
            "block-lifts",
            wedge(1.0, 30.0, plane_angle=50.0, tension_crack_distance=0.2,
                  tension_crack_water_depth=1.9),
        ),
        ("nothing-drives-the-block", wedge(plane_angle=40.0, support_force=900.0)),
        ("support-counted", wedge(support_force=9.0)),
        ("pseudo-static", wedge(horizontal_seismic_coefficient=0.1)),
        ("no-water-assumed", wedge()),
        ("no-tension-crack", wedge()),
        ("crack-behind-critical-plane", wedge(tension_crack_distance=30.0)),
        (
            "crack-at-crest",
            wedge(60.0, face_angle=75.0, plane_angle=63.0, search_tension_crack=True,
                  tension_crack_water_depth="full"),
        ),
        ("searched-crack-limited", wedge(face_angle=90.0, search_tension_crack=True)),
        ("plane-runs-along-upper-slope", wedge(9.0, 0.0, face_angle=45.0, upper_slope_angle=44.0)),
        ("below-one", wedge(1.0, 20.0)),
        ("below-target", wedge(target=9.0)),
    ],
)  # fmt: skip
def test_a_notice_is_raised_where_it_is_owed(code: str, check: PlanarWedge) -> None:
    assert code in codes(check)


def test_notices_stay_away_where_they_are_not_owed() -> None:
    steep = codes(wedge(face_angle=80.0))
    assert not steep & {"planar-search-unconservative", "no-critical-plane-inside", "block-lifts"}
    given = codes(wedge(plane_angle=40.0))
    assert not given & {"planar-search-unconservative", "nothing-drives-the-block"}


def test_the_tested_range_is_held_against_the_mean_normal_stress() -> None:
    strength = Strength(cohesion=8.0, friction_angle=30.0, tested_range=(50.0, 200.0))
    check = PlanarWedge(soil=Soil(strength=strength, unit_weight=19.0), height=7.0, face_angle=60.0)
    result = check.evaluate()
    assert result.values.effective_normal_stress < 50.0
    assert "outside-tested-stress-range" in {notice.code for notice in result.notices}


def test_nothing_drives_a_block_that_is_held_everywhere() -> None:
    check = wedge(plane_angle=40.0, support_force=900.0)
    assert math.isinf(factor(check))


def on_curve(**more: Any) -> PlanarWedge:
    """A slope on a power curve through the origin: τ = 0.8 · 101.325 (σ′/101.325)^0.75."""
    strength = Strength.from_curve(
        PowerCurve(coefficient=0.8, exponent=0.75, tested_range=(10.0, 200.0))
    )
    soil = Soil(strength=strength, unit_weight=19.0)
    return PlanarWedge(soil=soil, **({"height": 6.0, "face_angle": 62.0} | more))


def factor_on_curve(plane_angle: float, **more: Any) -> float:
    """The same block in plain floats, with the curve at its own mean normal stress."""
    face, plane = math.radians(62.0), math.radians(plane_angle)
    weight = 19.0 * 36.0 / 2.0 * (1.0 / math.tan(plane) - 1.0 / math.tan(face))
    length = 6.0 / math.sin(plane)
    stress = weight * math.cos(plane) / length
    strength = 0.8 * 101.325 * (stress / 101.325) ** 0.75
    return strength * length / (weight * math.sin(plane))


def test_a_given_plane_uses_a_curved_envelope_at_its_own_normal_stress() -> None:
    found = on_curve(plane_angle=40.0).evaluate().factors_of_safety["sliding"]
    assert found == pytest.approx(factor_on_curve(40.0), rel=1e-9)


def test_a_searched_plane_is_critical_on_a_curved_envelope() -> None:
    brute = min(factor_on_curve(angle) for angle in np.linspace(20.0, 61.9, 40_000))
    result = on_curve().evaluate()
    assert result.factors_of_safety["sliding"] == pytest.approx(brute, rel=1e-6)
    assert math.isnan(float(result.values.maximum_height))
    assert math.isnan(float(on_curve().limits().maximum_height))
