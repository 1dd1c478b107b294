"""Sections of walls against shapely and against formulas by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from made import CANTILEVER
from numpy.testing import assert_allclose

from slipmargin.stability.retaining_wall.section import Wall, wall_section
from slipmargin.stability.retaining_wall.strips import Chain, region, strips_on
from slipmargin.strength import InputError

GRAVITY = {
    "unit_weight": 23.0,
    "shape": "gravity",
    "height": 5.0,
    "top_width": 0.8,
    "base_width": 3.6,
    "back_offset": 1.1,
}


def closed(chain: Chain) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in chain]


def test_the_cantilever_adds_up_from_its_parts() -> None:
    """Slab, rectangle and triangle of the stem: areas and arms as any handbook takes them."""
    wall = wall_section(Wall(**CANTILEVER)).wall
    parts = [(3.5 * 0.6, 1.75, 0.3), (0.3 * 5.3, 1.15, 0.6 + 2.65)]
    parts.append((0.5 * 0.2 * 5.3, 0.8 + 0.2 * 2 / 3, 0.6 + 5.3 / 3))
    area = sum(a for a, _, _ in parts)
    assert_allclose(wall.area, area)
    assert_allclose(wall.x, sum(a * x for a, x, _ in parts) / area)
    assert_allclose(wall.y, sum(a * y for a, _, y in parts) / area)


def test_the_trapezoid_has_the_centroid_of_the_formula() -> None:
    """x̄ from a vertical back = (a² + ab + b²) / 3(a + b)."""
    section = wall_section(Wall(**(GRAVITY | {"back_offset": 0.0})))
    a, b = 0.8, 3.6
    assert_allclose(section.wall.area, (a + b) / 2 * 5.0)
    assert_allclose(section.width - section.wall.x, (a * a + a * b + b * b) / (3 * (a + b)))
    assert_allclose(section.wall.y, 5.0 / 3.0 * (b + 2 * a) / (a + b))


def test_the_soil_on_the_heel_is_a_rectangle_and_a_triangle() -> None:
    beta = 15.0
    soil = wall_section(Wall(**CANTILEVER)).heel_soil(beta)
    rise = 2.2 * np.tan(np.radians(beta))
    block, wedge = 2.2 * 5.3, 0.5 * 2.2 * rise
    assert_allclose(soil.area, block + wedge)
    arm = (block * (1.3 + 1.1) + wedge * (1.3 + 2.2 * 2 / 3)) / (block + wedge)
    assert_allclose(soil.x, arm)


@pytest.mark.parametrize("fields", [CANTILEVER, GRAVITY], ids=["cantilever", "gravity"])
@pytest.mark.parametrize("level", [0.2, 0.6, 2.0, 4.9, 20.0])
def test_the_part_below_a_level_is_what_shapely_cuts_off(
    fields: dict[str, float], level: float
) -> None:
    section = wall_section(Wall(**fields))
    edge, top = section.back[-1]
    corner = (float(section.width), float(top) + float(section.width - edge) * np.tan(0.2))
    whole = shapely.Polygon([*closed(section.back), corner][::-1])
    part = whole.intersection(shapely.box(-10, -10, 50, level))
    found = section.heel_soil(np.degrees(0.2), below=level)
    assert_allclose(found.area, part.area, rtol=1e-12, atol=1e-12)
    if part.area > 0.0:
        assert_allclose([found.x, found.y], [part.centroid.x, part.centroid.y], rtol=1e-10)


def test_what_stands_on_the_toe_is_what_shapely_finds_in_front() -> None:
    section = wall_section(Wall(**CANTILEVER))
    front = [*closed(section.front), (0.0, float(section.height))]
    space = shapely.Polygon(front)
    for level in (0.3, 0.6, 1.4, 5.0):
        part = space.intersection(shapely.box(-1, -1, 9, level))
        found = section.in_front(level)
        assert_allclose(found.area, part.area, atol=1e-12)


@pytest.mark.parametrize("fields", [CANTILEVER, GRAVITY], ids=["cantilever", "gravity"])
def test_a_shape_and_its_outline_are_one_section(fields: dict[str, float]) -> None:
    """Any origin, any first point, the closing point given or not."""
    named = wall_section(Wall(**fields))
    points = [*closed(named.back), *closed(named.front)[::-1]]
    for turn in range(len(points)):
        moved = np.roll(np.array(points), turn, axis=0) + np.array([7.0, -3.0])
        for listed in (moved, np.vstack([moved, moved[:1]])):
            drawn = wall_section(Wall(unit_weight=24.0, shape="outline", points=listed.tolist()))
            for name in ("width", "height", "face_foot", "face_batter"):
                assert_allclose(getattr(drawn, name), getattr(named, name), rtol=1e-9, atol=1e-9)
            assert_allclose(drawn.wall.area, named.wall.area)
            assert_allclose(drawn.wall.x, named.wall.x)
            assert_allclose(drawn.heel_soil(9.0).area, named.heel_soil(9.0).area)


def test_a_mirrored_region_has_the_same_area_and_a_mirrored_centroid() -> None:
    points = ((0.0, 0.0), (3.0, 0.0), (2.5, 2.0), (1.0, 4.0), (0.0, 0.0))
    mirrored = tuple((-x, y) for x, y in reversed(points))
    one, other = region(strips_on(points)), region(strips_on(mirrored))
    assert_allclose(other.area, one.area)
    assert_allclose([other.x, other.y], [-one.x, one.y])


def test_many_walls_at_once_equal_one_by_one() -> None:
    heel = np.array([0.0, 1.0, 2.2])
    many = wall_section(Wall(**(CANTILEVER | {"heel_width": heel})))
    for k, one in enumerate(heel):
        single = wall_section(Wall(**(CANTILEVER | {"heel_width": one})))
        assert_allclose(many.wall.area[k], single.wall.area)
        assert_allclose(many.heel_soil(5.0, below=2.0).area[k], single.heel_soil(5.0, 2.0).area)


def test_a_key_is_a_rectangle_below_the_base() -> None:
    key = {"key_depth": 0.5, "key_width": 0.4, "key_position": 1.0}
    section = wall_section(Wall(**(CANTILEVER | key)))
    assert_allclose([section.key.area, section.key.x, section.key.y], [0.2, 1.2, -0.25])
    assert_allclose(section.wall.area, wall_section(Wall(**CANTILEVER)).wall.area)


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ("square", "a list of"),
        ([[0.0, 0.0], [1.0, 0.0]], "three or more finite"),
        ([[0.0, 0.0], [1.0, 0.0], [1.0, np.nan]], "three or more finite"),
        ([[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]], "crosses or touches itself"),
        ([[0.0, 0.0], [0.0, 4.0], [2.0, 0.0]], "runs clockwise"),
        ([[0.0, 0.0], [1.0, 2.0], [0.0, 4.0]], "a level base with some width"),
        (
            [[0.0, 0.0], [0.5, 0.0], [1.0, 0.5], [1.5, 0.0], [2.0, 0.0], [1.0, 4.0]],
            "one level edge from toe to heel",
        ),
        ([[0.0, 0.0], [2.0, 0.0], [2.0, 4.0], [-0.5, 4.0]], "stand out in front of the toe"),
    ],
)
def test_an_outline_that_is_no_wall_is_refused(points: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        wall_section(Wall(unit_weight=24.0, shape="outline", points=points))


def test_sizes_that_do_not_go_together_are_refused() -> None:
    with pytest.raises(InputError, match="up to stem_bottom_thickness"):
        wall_section(Wall(**(CANTILEVER | {"stem_top_thickness": 0.9})))
    with pytest.raises(InputError, match="from top_width"):
        wall_section(Wall(**(GRAVITY | {"top_width": 9.0})))
    key = {"key_depth": 0.5, "key_width": 0.4, "key_position": 3.4}
    with pytest.raises(InputError, match="must lie below the base"):
        wall_section(Wall(**(CANTILEVER | key)))
