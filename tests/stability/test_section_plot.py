"""Section drawings: true to scale, true to the numbers, readable, and without a trace."""

from __future__ import annotations

import io
import subprocess
import sys
from itertools import combinations
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest
from made import cantilever
from matplotlib.figure import Figure
from numpy.testing import assert_allclose
from scipy.integrate import trapezoid

from slipmargin.stability import (
    KINDS,
    CheckResult,
    EarthPressure,
    InfiniteSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
)
from slipmargin.stability.check import examples_of
from slipmargin.stability.drawing.section import plot_section, section_words
from slipmargin.stability.drawing.sheet import Sheet, Window
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.layered_slope import LayeredSlope, SlopeLayer
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import InputError, PowerCurve, Strength
from slipmargin.strength.drawing.labels import written


def soil(c: float = 4.0, phi: float = 31.0, name: str = "silty sand") -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=18.5, saturated_unit_weight=20.0, name=name)


SAND, FILL, CLAY = soil(), soil(0.0, 32.0, "granular fill"), soil(12.0, 26.0, "stiff clay")
CURVED = Soil(
    strength=Strength.from_curve(
        PowerCurve(coefficient=0.9, exponent=0.85, tested_range=(20.0, 200.0))
    ),
    unit_weight=19.0,
    name="rockfill",
)
STEPPED = [[0, 0], [4, 3], [7, 3.2], [12, 8], [20, 9]]
KEYED = cantilever(key_depth=0.5, key_width=0.4, key_position=1.2)
GRAVITY = Wall(
    unit_weight=23.0, shape="gravity", height=4.0, top_width=0.6, base_width=2.4, back_offset=1.0
)
SLENDER = Wall(
    unit_weight=23.0, shape="gravity", height=4.0, top_width=0.4, base_width=0.6, back_offset=0.0
)
STEPPED_WALL = Wall(
    unit_weight=23.0,
    shape="outline",
    points=[[0, 0], [3, 0], [3, 0.5], [2.4, 1.2], [1.9, 4.5], [1.2, 4.5], [0.8, 0.8], [0, 0.6]],
)
LEANING_WALL = Wall(
    unit_weight=23.0, shape="outline", points=[[0, 0], [1.5, 0], [1.9, 3.5], [1.2, 3.5]]
)
RESTING_WALL = Wall(
    unit_weight=23.0, shape="outline", points=[[0, 0], [1.5, 0], [1.9, 3.5], [1.3, 3.5]]
)
STRIP, LINE = StripLoad(pressure=30.0, distance=1.0, width=1.5), LineLoad(force=40.0, distance=2.0)


def infinite(**fields: Any) -> InfiniteSlope:
    return InfiniteSlope(**({"soil": SAND, "slope_angle": 28.0, "depth": 1.8} | fields))


def planar(**fields: Any) -> PlanarWedge:
    given: dict[str, Any] = {"soil": soil(25.0, 30.0)} | fields
    if "ground_line" not in fields:
        given = {"height": 10.0, "face_angle": 70.0} | given
    return PlanarWedge(**given)


def rotational(**fields: Any) -> Rotational:
    given: dict[str, Any] = {"soil": soil(8.0, 25.0)} | fields
    if "ground_line" not in fields:
        given = {"height": 7.0, "face_angle": 45.0} | given
    return Rotational(**given)


def pressure(**fields: Any) -> EarthPressure:
    given: dict[str, Any] = {"height": 5.0} | fields
    return EarthPressure(**given if "layers" in given else {"soil": FILL} | given)


def wall(**fields: Any) -> RetainingWall:
    usual = {"backfill": FILL, "foundation": SAND, "wall": cantilever(), "embedment": 0.8}
    return RetainingWall(**(usual | fields))


INFINITE = {
    "dry": infinite(),
    "wet and shaken": infinite(water_table_depth=0.6, horizontal_seismic_coefficient=0.1),
    "water at the ground": infinite(
        slope_angle=55.0, soil=soil(15.0, 34.0), water_table_depth=0.0, seepage_angle=20.0,
        root_cohesion=3.0,
    ),
    "loaded": infinite(surcharge=10.0, slope_angle=33.0, depth=3.0),
    "submerged": infinite(submerged=True, slope_angle=15.0),
    "curved envelope": infinite(soil=CURVED),
}  # fmt: skip
PLANAR = {
    "crack, water, support, shaking": planar(
        plane_angle=40.0, tension_crack_distance=3.0, tension_crack_water_depth=2.5,
        surcharge=15.0, support_force=80.0, support_angle=12.0,
        horizontal_seismic_coefficient=0.08,
    ),
    "searched": planar(face_angle=60.0, height=7.0),
    "pore pressure ratio": planar(
        soil=soil(12.0, 28.0), height=7.0, face_angle=50.0, upper_slope_angle=10.0,
        pore_pressure_ratio=0.2, surcharge=10.0,
    ),
    "ground line": planar(
        ground_line=[[0, 0], [2, 3], [4, 3.2], [6, 7], [12, 8], [20, 8.5]],
        search_tension_crack=True,
    ),
    "ground line away from the origin": planar(
        ground_line=[[100, 50], [101, 56], [108, 57], [130, 57]]
    ),
    "vertical": planar(face_angle=90.0, height=6.0),
    "no cohesion": planar(
        soil=soil(0.0, 25.0), face_angle=44.0, surcharge=30.0
    ),
    "nothing drives": planar(plane_angle=10.0, support_force=1e4, height=4.0),
}  # fmt: skip
ROTATIONAL = {
    "pore pressure ratio": rotational(pore_pressure_ratio=0.15),
    "ground, water and load": rotational(
        soil=soil(10.0, 22.0), ground_line=STEPPED, water_line=[[0, 0], [6, 2], [20, 5]],
        surcharge=12.0, horizontal_seismic_coefficient=0.08,
    ),
    "firm ground": rotational(
        soil=soil(30.0, 0.0), height=8.0, face_angle=35.0, firm_ground_depth=3.0
    ),
    "no single surface": rotational(soil=soil(0.0, 30.0), face_angle=35.0),
    "vertical, pole far off": rotational(
        soil=soil(25.0, 10.0), height=8.0, face_angle=90.0, surcharge=20.0
    ),
    "upper slope": rotational(soil=soil(10.0, 35.0), face_angle=80.0, upper_slope_angle=20.0),
}  # fmt: skip
PRESSURE = {
    "coulomb": pressure(
        soil=soil(10.0, 28.0), theory="coulomb", wall_friction_angle=18.0, wall_batter=8.0,
        backfill_slope_angle=10.0, surcharge=10.0, water_table_depth=3.0,
    ),
    "layers": pressure(
        layers=(Layer(soil=FILL, thickness=2.0), Layer(soil=CLAY, thickness=3.0)),
        surcharge=8.0, water_table_depth=2.5,
    ),
    "trial wedge": pressure(
        soil=SAND, theory="trial_wedge", wall_friction_angle=20.0,
        ground_line=((0.0, 0.0), (2.0, 1.0), (6.0, 1.5)), surcharge=10.0, strip_loads=(STRIP,),
    ),
    "passive, shaken": pressure(
        theory="coulomb", side="passive", wall_friction_angle=10.0,
        horizontal_seismic_coefficient=0.1,
    ),
    "at rest": pressure(theory="at_rest", line_loads=(LINE,), water_table_depth=0.0),
    "water in the crack": pressure(
        soil=soil(15.0, 20.0), height=6.0, backfill_slope_angle=12.0,
        tension_crack_water_depth=1.5,
    ),
    "tension carried": pressure(soil=soil(15.0, 20.0), tension_crack=False),
    "annex c": pressure(
        soil=soil(5.0, 25.0), theory="annex_c", side="passive", wall_friction_angle=12.0,
        wall_batter=-5.0, water_table_depth=1.0,
    ),
    "no thrust": pressure(soil=soil(60.0, 28.0), height=4.0),
    "falling ground": pressure(theory="coulomb", backfill_slope_angle=-15.0),
}  # fmt: skip
WALLS = {
    "cantilever in water": wall(surcharge=10.0, water_table_depth=3.0, water_level_in_front=0.6),
    "flooded": wall(water_table_depth=1.0, water_level_in_front=2.0),
    "gravity, coulomb, shaken": wall(
        wall=GRAVITY, foundation=CLAY, theory="coulomb", wall_friction_angle=20.0,
        backfill_slope_angle=12.0, passive_fraction=0.5, horizontal_seismic_coefficient=0.1,
    ),
    "keyed": wall(wall=KEYED, backfill_slope_angle=15.0, passive_fraction=0.5),
    "outline": wall(wall=STEPPED_WALL),
    "leaning": wall(
        wall=LEANING_WALL, theory="coulomb", wall_friction_angle=15.0, surcharge=5.0,
        water_table_depth=2.0,
    ),
    "resultant off the base": wall(wall=SLENDER),
    "resultant toward the heel": wall(
        wall=RESTING_WALL, backfill=soil(40.0, 30.0), theory="coulomb", wall_friction_angle=10.0
    ),
    "cracked fill": wall(backfill=soil(6.0, 30.0)),
}  # fmt: skip
LAYERED: dict[str, Any] = {
    "every load": LayeredSlope.example(),
    "plain": LayeredSlope(ground_line=STEPPED, layers=(SlopeLayer(soil=SAND),)),
    "curved, berm, pool": LayeredSlope(
        ground_line=STEPPED,
        layers=(
            SlopeLayer(soil=CURVED),
            SlopeLayer(soil=CLAY, top=[[-10, 0.5], [20, 4]]),
            SlopeLayer(soil=FILL, top=[[-10, -1], [20, 1]]),
        ),
        standing_water_level=1.0,
        search_tension_crack=True,
    ),
    "clay": LayeredSlope(
        ground_line=STEPPED,
        layers=(SlopeLayer(soil=soil(20.0, 0.0, "clay")),),
        firm_ground_depth=2.0,
    ),
}
SHIPPED: dict[str, Any] = {
    "infinite_slope": INFINITE,
    "planar_wedge": PLANAR,
    "rotational": ROTATIONAL,
    "layered_slope": LAYERED,
    "earth_pressure": PRESSURE,
    "retaining_wall": WALLS,
}
BY_KIND = {
    kind: {"example": examples_of(check)[0]} | SHIPPED.get(kind, {})
    for kind, check in KINDS.items()
}
CASES = [
    pytest.param(check, id=f"{kind}: {name}")
    for kind, cases in BY_KIND.items()
    for name, check in cases.items()
]


def fresh(check: Any) -> tuple[Figure, CheckResult]:
    result = check.evaluate(leave_out=check.SLOW)
    return plot_section(check, result), result


_DRAWN: dict[int, Any] = {}


def drawn(check: Any) -> tuple[Figure, CheckResult]:
    """The drawing of one of the cases, made once for all tests that only look at it."""
    if id(check) not in _DRAWN:
        _DRAWN[id(check)] = (*fresh(check), check)
    found: tuple[Figure, CheckResult] = _DRAWN[id(check)][:2]
    return found


def ends(figure: Figure, name: str) -> np.ndarray:
    """First and last point of the one line of that name."""
    (line,) = (one for one in figure.axes[0].lines if one.get_label() == name)
    return np.asarray(line.get_xydata())[[0, -1]]


def corners(figure: Figure, name: str) -> np.ndarray:
    """Corners of the one area of that name."""
    (patch,) = (one for one in figure.axes[0].patches if one.get_label() == name)
    return np.asarray(patch.get_xy())[:-1]  # type: ignore[attr-defined]


def arrow(figure: Figure, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Tail and tip of the one arrow of that name."""
    (patch,) = (one for one in figure.axes[0].patches if one.get_label() == name)
    # two corners of the tail, the first and the last, and the tip in their middle
    outline = np.asarray(patch.get_path().vertices)[:7]
    return 0.5 * (outline[0] + outline[6]), outline[3]


def area_of(points: np.ndarray) -> float:
    x, y = points.T
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


def words_on(figure: Figure) -> str:
    axes = figure.axes[0]
    said = [text.get_text() for text in axes.texts]
    return "\n".join([*said, *(one.get_gid() or "" for one in axes.patches)])


def boxes(figure: Figure) -> dict[str, np.ndarray]:
    found = {}
    for text in figure.axes[0].texts:
        if text.get_text():
            box = text.get_window_extent()
            found[text.get_text()] = np.array([box.x0, box.y0, box.x1, box.y1])
    return found


@pytest.mark.parametrize("check", CASES)
def test_both_axes_of_a_drawing_have_one_scale(check: Any) -> None:
    figure, _ = drawn(check)
    figure.draw_without_rendering()
    axes = figure.axes[0]
    (x0, y0), (x1, y1) = axes.transData.transform([(0.0, 0.0), (1.0, 1.0)])
    assert_allclose(y1 - y0, x1 - x0, rtol=1e-9)
    assert axes.get_xlabel().split("\n")[0].endswith("[m]")
    assert axes.get_ylabel().endswith("[m]")


@pytest.mark.parametrize("check", CASES)
def test_labels_lie_on_the_paper_and_not_on_each_other(check: Any) -> None:
    figure, _ = drawn(check)
    figure.draw_without_rendering()
    found = boxes(figure)
    paper = figure.bbox
    for words, box in found.items():
        assert paper.x0 <= box[0], words
        assert box[2] <= paper.x1, words
        assert paper.y0 <= box[1], words
        assert box[3] <= paper.y1, words
    for (one, a), (other, b) in combinations(found.items(), 2):
        shared = np.minimum(a[2:], b[2:]) - np.maximum(a[:2], b[:2])
        assert not np.all(shared > 0.5), f"{one!r} lies on {other!r}"


@pytest.mark.parametrize("check", CASES)
def test_the_sentence_says_what_is_drawn_with_its_factor(check: Any) -> None:
    _, result = drawn(check)
    words = section_words(check, result)
    assert words.startswith("Section of ")
    assert words.endswith(".")
    assert "\n" not in words
    assert "nan" not in words
    for factor in result.factors_of_safety.values():
        assert factor_text(float(factor)) in words or "nothing drives" in words


@pytest.mark.parametrize("check", PLANAR.values(), ids=PLANAR)
def test_the_plane_ends_where_the_check_says(check: PlanarWedge) -> None:
    figure, result = drawn(check)
    toe = (0.0, 0.0) if check.ground_line is None else check.ground_line[0]
    start, end = ends(figure, "slip surface")
    assert_allclose(start, toe, atol=1e-12)
    values = result.values
    assert_allclose(np.hypot(*(end - start)), values.base_length, rtol=1e-9)
    angle = np.degrees(np.arctan2(*(end - start)[::-1]))
    assert_allclose(angle, values.plane_angle, rtol=1e-9)
    assert_allclose(area_of(corners(figure, "block")), values.block_area, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("check", ROTATIONAL.values(), ids=ROTATIONAL)
def test_the_spiral_runs_from_exit_to_entry_about_its_pole(check: Rotational) -> None:
    figure, result = drawn(check)
    values = result.values
    if np.isnan(values.pole_x):
        assert "no single slip surface" in words_on(figure)
        return
    start, end = ends(figure, "slip surface")
    assert_allclose(start, (values.exit_x, values.exit_y), atol=1e-9)
    assert_allclose(end, (values.entry_x, values.entry_y), atol=1e-9)
    pole = (values.pole_x, values.pole_y)
    for name, foot in (("exit_radius", start), ("entry_radius", end)):
        assert_allclose(ends(figure, name), [pole, foot], atol=1e-9)


@pytest.mark.parametrize("check", ROTATIONAL.values(), ids=ROTATIONAL)
def test_every_ray_from_the_pole_meets_the_spiral_at_the_reduced_friction_angle(
    check: Rotational,
) -> None:
    """The property that makes a log-spiral one: Rendulic (1935), and it is exact at any step."""
    figure, result = drawn(check)
    values = result.values
    if np.isnan(values.pole_x):
        return
    (line,) = (one for one in figure.axes[0].lines if one.get_label() == "slip surface")
    x, y = np.asarray(line.get_xydata()).T
    seen = (x - values.pole_x) + 1j * (y - values.pole_y)
    turn = np.angle(seen[1:] / seen[:-1])
    tan = -np.diff(np.log(np.abs(seen))) / turn
    assert_allclose(np.degrees(np.arctan(tan)), values.reduced_friction_angle, atol=1e-6)


@pytest.mark.parametrize(
    "name", ["searched", "pore pressure ratio", "ground line away from the origin", "vertical"]
)
def test_the_rotation_beside_a_plane_is_dashed_in_its_own_place_and_named_in_the_key(
    name: str,
) -> None:
    figure, result = drawn(PLANAR[name])
    values = result.parts["rotation"].result.values
    start, end = ends(figure, "second slip surface")
    assert_allclose(start, (values.exit_x, values.exit_y), atol=1e-9)
    assert_allclose(end, (values.entry_x, values.entry_y), atol=1e-9)
    styles = {
        one.get_label(): one.get_linestyle()
        for one in figure.axes[0].lines
        if "slip surface" in str(one.get_label())
    }
    assert styles == {"slip surface": "-", "second slip surface": "--"}
    texts = "\n".join(one.get_gid() or "" for one in figure.axes[0].patches).splitlines()
    key = [words for words in texts if words.startswith(("plane: ", "rotation: "))]
    turned = factor_text(float(result.factors_of_safety["rotation"]))
    assert key == [
        f"plane: factor of safety {factor_text(float(result.factors_of_safety['sliding']))}",
        f"rotation: factor of safety {turned}",
    ]


def test_a_surface_too_small_to_see_is_known_by_its_size_on_the_sheet() -> None:
    sheet = Sheet(Window.around([(0.0, 0.0), (100.0, 40.0)]))
    small, large = ([(0.0, 0.0), (size, 0.4 * size)] for size in (0.1, 50.0))
    assert sheet.speck(small)
    assert not sheet.speck(large)


def test_the_slip_plane_of_an_infinite_slope_lies_at_its_depth_and_angle() -> None:
    check = INFINITE["wet and shaken"]
    figure, _ = drawn(check)
    surface, plane, water = (ends(figure, name) for name in ("ground", "slip surface", "water"))
    assert_allclose(surface[:, 1] - plane[:, 1], check.depth, rtol=1e-12)
    assert_allclose(surface[:, 1] - water[:, 1], check.water_table_depth, rtol=1e-12)
    run, rise = plane[1] - plane[0]
    assert_allclose(np.degrees(np.arctan2(rise, run)), check.slope_angle, rtol=1e-12)


@pytest.mark.parametrize("theory", ["at_rest", "coulomb", "layers", "tension carried", "annex c"])
def test_the_pressure_diagrams_hold_the_thrusts_that_are_reported(theory: str) -> None:
    """Area of the diagram over that of its widest figure: the scale cancels out."""
    check = PRESSURE["at rest" if theory == "at_rest" else theory]
    figure, result = drawn(check)
    values = result.values
    earth = corners(figure, "earth pressure")
    # the pressure at the base of the wall sets the scale
    base = float(check.pressure(float(check.height)))
    x, y = earth[1:-1].T
    metres = (earth[0, 0] - x[-1]) / base
    thrust = trapezoid((earth[0, 0] - x) / metres, -y)
    assert_allclose(thrust, values.earth_thrust - values.seismic_thrust, rtol=2e-4)
    if values.water_thrust > 0.0:
        water = corners(figure, "water pressure")
        head = trapezoid((water[0, 0] - water[1:-1, 0]) / metres, -water[1:-1, 1])
        cos = np.cos(np.radians(check.wall_batter))
        assert_allclose(head / cos, values.water_thrust, rtol=2e-4)


def test_water_in_a_crack_stands_in_the_diagram_as_in_the_thrust() -> None:
    check = PRESSURE["water in the crack"]
    figure, result = drawn(check)
    earth, water = corners(figure, "earth pressure"), corners(figure, "water pressure")
    metres = (earth[0, 0] - earth[-2, 0]) / float(check.pressure(6.0))
    head = trapezoid((water[0, 0] - water[1:-1, 0]) / metres, -water[1:-1, 1])
    assert_allclose(head, result.values.water_thrust, rtol=2e-4)


@pytest.mark.parametrize("name", ["coulomb", "passive, shaken", "layers", "at rest", "annex c"])
def test_the_thrust_acts_at_its_height_and_angle_on_the_back_of_the_wall(name: str) -> None:
    check = PRESSURE[name]
    figure, result = drawn(check)
    values = result.values
    tail, tip = arrow(figure, "thrust")
    assert_allclose(tip[1], values.thrust_height, rtol=1e-12)
    lean = np.tan(np.radians(check.wall_batter))
    assert_allclose(tip[0], (check.height - values.thrust_height) * lean, atol=1e-12)
    outward, down = tail - tip
    sense = 1.0 if check.side == "active" else -1.0
    assert outward > 0.0
    assert_allclose(np.degrees(np.arctan2(down, outward)), sense * values.thrust_angle, atol=1e-9)


def test_the_plane_of_a_trial_wedge_runs_from_the_heel_to_its_exit() -> None:
    check = PRESSURE["trial wedge"]
    figure, result = drawn(check)
    (line,) = (one for one in figure.axes[0].lines if one.get_label() == "slip surface")
    heel, *_, top = points = np.asarray(line.get_xydata())
    assert_allclose(heel, (0.0, 0.0), atol=1e-12)
    assert_allclose(top[0], result.values.exit_distance, rtol=1e-9)
    run, rise = points[1] - heel
    assert_allclose(np.degrees(np.arctan2(rise, run)), result.values.plane_angle, rtol=1e-9)
    # the crack at its end is as deep as the check says
    assert_allclose(top[1] - points[1, 1], result.values.tension_crack_depth, atol=1e-3)
    assert not [one for one in figure.axes[0].patches if one.get_label() == "earth pressure"]


@pytest.mark.parametrize("check", WALLS.values(), ids=WALLS)
def test_the_wall_drawn_has_the_area_and_the_reaction_of_the_wall_checked(
    check: RetainingWall,
) -> None:
    figure, result = drawn(check)
    values = result.values
    assert_allclose(area_of(corners(figure, "wall")), values.wall_area, rtol=1e-9)
    tail, _ = arrow(figure, "resultant")
    assert_allclose(tail, (values.resultant_distance, 0.0), atol=1e-9)
    if np.isnan(values.toe_pressure):
        assert "the resultant leaves the base" in words_on(figure)
        return
    pressed = corners(figure, "pressure under the base")
    level = pressed[0, 1]
    scale = max(values.toe_pressure, values.heel_pressure) / (level - pressed[:, 1].min())
    assert_allclose(area_of(pressed) * scale, values.vertical_force, rtol=1e-9)
    # the resultant stands over the centre of that pressure: equilibrium of the base
    (x0, _), (_, a), (x1, b), _ = pressed
    p, q = level - a, level - b
    centre = x0 + (x1 - x0) * (p + 2.0 * q) / (3.0 * (p + q))
    assert_allclose(centre, values.resultant_distance, rtol=1e-9)


def test_the_middle_third_and_the_thrust_of_a_wall_stand_where_they_act() -> None:
    check = WALLS["gravity, coulomb, shaken"]
    figure, result = drawn(check)
    values = result.values
    assert_allclose(ends(figure, "middle third"), [(0.8, 0.0), (1.6, 0.0)], atol=1e-12)
    tail, tip = arrow(figure, "thrust")
    assert_allclose(tip, (values.thrust_arm, values.thrust_height), rtol=1e-12)
    assert_allclose(np.degrees(np.arctan2(*(tail - tip)[::-1])), values.thrust_angle, rtol=1e-9)


def test_uplift_and_crack_water_are_drawn_as_they_are_counted() -> None:
    check = PLANAR["crack, water, support, shaking"]
    figure, result = drawn(check)
    values = result.values
    uplift, crack = corners(figure, "uplift"), corners(figure, "crack water pressure")
    highest = 9.81 * values.crack_water_depth
    # the deepest figure of each diagram is the pressure at the foot of the crack
    way = ends(figure, "slip surface")[1]
    normal = np.array([way[1], -way[0]]) / np.hypot(*way)
    deepest = np.max(uplift @ normal)
    assert_allclose(area_of(uplift) * highest / deepest, values.uplift, rtol=1e-9)
    wide = np.ptp(crack[:, 0])
    assert_allclose(area_of(crack) * highest / wide, values.crack_thrust, rtol=1e-9)
    for name in ("weight $W$", "uplift $U$", "water thrust $V$", "support $T$", "shaking $K_h$"):
        assert f"{name} = " in words_on(figure)


def test_uplift_by_a_pore_pressure_ratio_sums_to_what_is_reported() -> None:
    check = PLANAR["pore pressure ratio"]
    figure, result = drawn(check)
    uplift = corners(figure, "uplift")
    way = ends(figure, "slip surface")[1]
    normal = np.array([way[1], -way[0]]) / np.hypot(*way)
    (words,) = (one for one in words_on(figure).split("\n") if one.startswith("$u$ = "))
    highest = float(words.split()[2])
    total = area_of(uplift) * highest / np.max(uplift @ normal)
    assert_allclose(total, result.values.uplift, rtol=0.05 / highest + 2e-3)


@pytest.mark.parametrize(
    "name",
    ["$x$ and $y", "<b>&amp;</b>", "\"quoted\" 'name'", "clay \U0001f9f1 \u4e2d", "long " * 60,
     "a\nb\tc", r"\frac{1}{$"],
)  # fmt: skip
def test_no_name_of_a_soil_can_break_a_drawing(name: str) -> None:
    odd = soil(name=name)
    for check in (
        infinite(soil=odd),
        pressure(layers=(Layer(soil=odd, thickness=2.0), Layer(soil=FILL, thickness=3.0))),
    ):
        figure, result = fresh(check)
        figure.axes[0].set_title(written(name))
        figure.savefig(io.BytesIO(), format="svg")
        assert section_words(check, result)


def test_text_is_cut_and_letters_the_font_lacks_are_boxes() -> None:
    assert written("  two\nlines ") == "two lines"
    assert written("x" * 50) == "x" * 39 + "…"
    assert written("5 $ \u4e2d") == "5 \\$ □"


@pytest.mark.parametrize("kind", BY_KIND)
def test_the_same_check_gives_the_same_picture_byte_for_byte(kind: str) -> None:
    check = next(iter(BY_KIND[kind].values()))
    pictures = []
    with mpl.rc_context({"svg.hashsalt": "section"}):
        for _ in range(2):
            stream = io.BytesIO()
            fresh(check)[0].savefig(stream, format="svg", metadata={"Date": None})
            pictures.append(stream.getvalue())
    assert pictures[0] == pictures[1]


def test_the_thrust_on_a_key_is_drawn_at_the_middle_of_its_back() -> None:
    figure, result = drawn(WALLS["keyed"])
    tail, tip = arrow(figure, "thrust on the key")
    assert_allclose(tip, (1.2 + 0.4, -0.25))
    assert tail[0] > tip[0]
    said = [text.get_text() for text in figure.axes[0].texts]
    force = f"{float(result.values.key_thrust):.1f} kN/m"
    assert any("thrust on the key" in one and force in one for one in said)


def test_it_draws_where_it_is_told_and_changes_no_style() -> None:
    before = dict(mpl.rcParams)
    own = Figure(figsize=(9.0, 6.0), layout="constrained").add_subplot()
    check = WALLS["keyed"]
    figure = plot_section(check, check.evaluate(leave_out=check.SLOW), axes=own)
    assert figure is own.figure
    figure.savefig(io.BytesIO(), format="png")
    assert own.get_aspect() == 1.0
    assert dict(mpl.rcParams) == before


def test_a_case_of_several_and_an_unknown_check_are_refused_in_words() -> None:
    several = infinite(depth=np.array([1.0, 2.0]))
    with pytest.raises(InputError, match="one case"):
        plot_section(several, several.evaluate())
    result = infinite().evaluate()
    with pytest.raises(InputError, match="InfiniteSlope"):
        plot_section(object(), result)


def test_loading_the_drawings_loads_no_plotting_library() -> None:
    code = (
        "import sys, slipmargin.stability.drawing.section\n"
        "sys.exit(', '.join(sorted({'matplotlib'} & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
