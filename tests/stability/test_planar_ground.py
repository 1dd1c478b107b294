"""The planar wedge with loads where they stand and with water in the slope and against it, beside
areas cut out with shapely, scans of planes and cracks, and limits.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Polygon, box

from slipmargin.stability import PlanarWedge, Soil
from slipmargin.strength import InputError, PowerCurve, Strength

SOIL = Soil(
    name="bank",
    strength=Strength(cohesion=6.0, friction_angle=30.0),
    unit_weight=18.0,
    saturated_unit_weight=20.0,
)
LINE = ((0.0, 0.0), (2.0, 0.9), (6.0, 2.0), (11.0, 4.5))
STEPPED = ((0.0, 0.0), (2.0, 3.0), (4.0, 3.2), (6.0, 7.0), (12.0, 8.0), (40.0, 8.5))
WATER = 9.81


def wedge(**fields: Any) -> PlanarWedge:
    ground = {} if "ground_line" in fields else {"height": 7.0, "face_angle": 58.0}
    return PlanarWedge(**{"soil": SOIL, **ground, **fields})


def factor(check: PlanarWedge) -> Any:
    return check.factors_alone()["sliding"]


def ground_of(check: PlanarWedge) -> list[tuple[float, float]]:
    if check.ground_line is not None:
        return [(float(x), float(y)) for x, y in check.ground_line]
    rise, run = float(check.height), float(check.height) / np.tan(np.radians(check.face_angle))
    return [(0.0, 0.0), (run, rise), (run + 100.0, rise)]


def by_polygons(check: PlanarWedge, pool_gone: bool = False) -> float:
    """Factor of the given plane from areas that shapely cuts out and a sum of forces."""
    ground, pool = ground_of(check), float(check.standing_water_level)
    plane = np.tan(np.radians(check.plane_angle))
    crest = max(ground, key=lambda p: p[1] * ground[-1][0] - p[0] * ground[-1][1])[0]
    soil = Polygon([*ground, (ground[-1][0], -50.0), (0.0, -50.0)])
    above = Polygon([(0.0, 0.0), (200.0, 200.0 * plane), (200.0, 500.0), (0.0, 500.0)])
    if check.tension_crack_distance is not None:
        above = above.intersection(box(0.0, 0.0, crest + check.tension_crack_distance, 500.0))
    parts = soil.intersection(above)
    block = parts if parts.geom_type == "Polygon" else max(parts.geoms, key=lambda g: -g.bounds[0])
    run = block.bounds[2]
    top = float(LineString(ground).intersection(LineString([(run, -9), (run, 99)])).bounds[3])
    line = [(x, y + float(check.water_line_rise)) for x, y in check.water_line or [(0.0, -40.0)]]
    level = LineString([(-50.0, line[0][1]), *line, (300.0, line[-1][1])])
    under_line = Polygon([*level.coords, (300.0, -90.0), (-50.0, -90.0)]).intersection(soil)
    under = under_line.union(box(0.0, -90.0, 300.0, pool)).intersection(above)
    pressing = under.intersection(box(0.0, -90.0, run, 99.0))
    foot = run * plane
    head = 0.0
    if run < 200.0:
        at_end = pressing.intersection(LineString([(run - 1e-9, foot), (run - 1e-9, 99.0)]))
        head = 0.0 if at_end.is_empty else at_end.bounds[3] - foot
    depth = top - foot
    asked = check.tension_crack_water_depth
    held = max(min(np.inf if asked == "full" else float(asked), depth), min(head, depth))
    cracked = depth > 1e-9
    held = held if cracked else 0.0
    wet = block.intersection(under).area
    psi, alpha = np.radians(check.plane_angle), np.radians(float(check.support_angle))
    length = run / np.cos(psi)
    near = crest + float(check.surcharge_setback)
    width = 1e9 if check.surcharge_width is None else float(check.surcharge_width)
    loaded = max(min(run, near + width) - near, 0.0)
    soil_weight = SOIL.unit_weight * block.area + 2.0 * wet
    weight = soil_weight + float(check.surcharge) * loaded
    lift = WATER * pressing.area / np.cos(psi)
    lift += WATER * (held - min(head, depth)) * length / 2.0 if cracked else 0.0
    outward = float(check.horizontal_seismic_coefficient) * weight + WATER * held**2 / 2.0
    if not pool_gone:
        on_block = box(0.0, 0.0, min(run, crest), pool).difference(soil)
        out = max(pool - top, 0.0) if run < crest else 0.0
        outward -= WATER * (pool**2 - out**2) / 2.0
        weight += WATER * on_block.area
    force = float(check.support_force)
    normal = weight * np.cos(psi) - outward * np.sin(psi) + force * np.sin(alpha + psi) - lift
    drive = weight * np.sin(psi) + outward * np.cos(psi) - force * np.cos(alpha + psi)
    return max(float((6.0 * length + normal * np.tan(np.radians(30.0))) / drive), 0.0)


ALONE: list[dict[str, Any]] = [
    {"surcharge": 30.0, "surcharge_setback": 1.0, "surcharge_width": 2.0},
    {"water_line": LINE},
    {"water_line": LINE, "water_line_rise": 0.6},
    {"water_line": LINE, "water_line_rise": -1.2},
    {"standing_water_level": 3.0},
    {"standing_water_level": 3.0, "water_line": LINE},
    {"water_line": LINE, "tension_crack_distance": 1.5},
    {"water_line": LINE, "tension_crack_distance": 1.5, "tension_crack_water_depth": 1.0},
    {"water_line": LINE, "tension_crack_distance": 1.5, "tension_crack_water_depth": "full"},
    {"standing_water_level": 6.0, "tension_crack_distance": 1.5, "support_force": 30.0},
    {"standing_water_level": 2.0, "horizontal_seismic_coefficient": 0.1, "surcharge": 20.0},
    {"ground_line": STEPPED, "plane_angle": 32.0, "standing_water_level": 3.1},
    {"ground_line": STEPPED, "plane_angle": 41.0, "standing_water_level": 3.5},
    {"ground_line": STEPPED, "plane_angle": 33.0, "water_line": LINE, "surcharge": 25.0},
]


@pytest.mark.parametrize("fields", ALONE, ids=" ".join)
def test_a_given_plane_has_the_factor_of_areas_cut_out_one_by_one(fields: dict[str, Any]) -> None:
    check = wedge(**{"plane_angle": 38.0, **fields})
    assert_allclose(factor(check), by_polygons(check), rtol=2e-6)
    gone = check.evaluate().values.drawdown_factor
    if check.standing_water_level:
        assert_allclose(gone, by_polygons(check, pool_gone=True), rtol=2e-6)
    else:
        assert np.isnan(gone)


SEARCHED: list[dict[str, Any]] = [
    {"surcharge": 60.0, "surcharge_setback": 2.5, "surcharge_width": 1.5},
    {"surcharge": 200.0, "surcharge_setback": 4.0},
    {"water_line": LINE},
    {"water_line": LINE, "surcharge": 120.0, "surcharge_setback": 3.0, "surcharge_width": 0.5},
    {"standing_water_level": 4.0, "tension_crack_distance": 2.0},
    {"ground_line": STEPPED, "water_line": LINE},
    {"ground_line": STEPPED, "surcharge": 90.0, "surcharge_setback": 1.0, "surcharge_width": 1.0},
    {"ground_line": STEPPED, "standing_water_level": 2.0, "horizontal_seismic_coefficient": 0.1},
]


@pytest.mark.parametrize("fields", SEARCHED, ids=" ".join)
def test_no_plane_has_a_lower_factor_than_the_one_searched_for(fields: dict[str, Any]) -> None:
    check = wedge(**fields)
    found = check.evaluate().values
    least, steepest = (12.0, 56.2) if check.ground_line else (0.5, 57.99)
    if check.tension_crack_distance is not None:
        steepest = 45.0  # steeper planes come out in front of the crack
    tried = wedge(**{**fields, "plane_angle": np.linspace(least, steepest, 4001)})
    values = tried.evaluate()
    lowest = float(np.min(values.lowest))
    assert found.factor_of_safety <= lowest * (1.0 + 1e-7)
    assert_allclose(found.factor_of_safety, lowest, rtol=1e-4)
    at_yield = float(np.min(values.values.yield_seismic_coefficient))
    assert_allclose(found.yield_seismic_coefficient, at_yield, rtol=1e-3, atol=1e-6)
    assert found.yield_seismic_coefficient <= at_yield + 1e-9


@pytest.mark.parametrize(
    "fields",
    [
        {"water_line": LINE, "surcharge": 40.0, "surcharge_setback": 1.2, "surcharge_width": 1.0},
        {"standing_water_level": 4.0, "tension_crack_water_depth": "full"},
        {"ground_line": STEPPED, "water_line": LINE, "tension_crack_water_depth": 0.6},
    ],
    ids=" ".join,
)
def test_no_crack_has_a_lower_factor_than_the_one_searched_for(fields: dict[str, Any]) -> None:
    given = wedge(**{**fields, "plane_angle": 36.0, "search_tension_crack": True})
    found = given.evaluate().values
    reach = float(
        wedge(**{**fields, "plane_angle": 36.0, "tension_crack_water_depth": 0.0})
        .evaluate()
        .values.plane_run
    ) - float(found.crest_distance)
    water = {"tension_crack_water_depth": fields.get("tension_crack_water_depth", 0.0)}
    if isinstance(water["tension_crack_water_depth"], float):
        reach -= 1.2 if water["tension_crack_water_depth"] else 0.0
    places = np.linspace(1e-6, reach * (1.0 - 1e-9), 3001)
    tried = wedge(**{**fields, **water, "plane_angle": 36.0, "tension_crack_distance": places})
    values = tried.evaluate().values
    shallow = values.tension_crack_depth <= float(found.deepest_crack)
    lowest = float(np.min(values.factor_of_safety[shallow]))
    assert found.factor_of_safety <= lowest * (1.0 + 1e-7)
    assert_allclose(found.factor_of_safety, lowest, rtol=2e-3)


@pytest.mark.parametrize(("cohesion", "limit"), [(10.5, "half"), (3.0, "strength")])
def test_water_in_a_slope_opens_no_crack_beyond_its_limit(cohesion: float, limit: str) -> None:
    """What it holds open, or half the height where that is less; beside a scan of cracks."""
    strength = Strength(cohesion=cohesion, friction_angle=29.0)
    steep = {"height": 10.0, "face_angle": 69.0}
    line = ((0.0, -0.3), (2.0, 0.0), (3.9, 7.6), (24.0, 9.6))
    soil = replace(SOIL, strength=strength, unit_weight=20.0)
    given = wedge(soil=soil, water_line=line, search_tension_crack=True, **steep)
    found = given.evaluate().values
    assert found.tension_crack_depth <= found.deepest_crack * (1.0 + 1e-9)
    opening = np.tan(np.radians(45.0 + 14.5))
    wet = 2.0 * cohesion / 20.0 * opening + WATER / 20.0 * opening**2 * found.crack_head
    assert (wet > 5.0) == (limit == "half")
    assert_allclose(found.deepest_crack, min(wet, 5.0), rtol=1e-9)
    planes, places = np.meshgrid(np.linspace(35.0, 60.0, 126), np.linspace(0.0, 4.0, 161))
    tried = wedge(soil=soil, water_line=line, plane_angle=planes, **steep)
    reach = tried.evaluate().values.plane_run - found.crest_distance
    cracked = replace(tried, tension_crack_distance=np.minimum(places, reach * (1.0 - 1e-9)))
    values = cracked.evaluate().values
    held = 2.0 * cohesion / 20.0 * opening + WATER / 20.0 * opening**2 * values.crack_head
    shallow = values.tension_crack_depth <= np.minimum(held, 5.0)
    lowest = float(np.min(values.factor_of_safety[shallow]))
    assert_allclose(found.factor_of_safety, lowest, rtol=1e-2)
    assert found.factor_of_safety <= lowest * (1.0 + 1e-9)


def test_a_load_behind_the_block_does_nothing() -> None:
    bare = wedge(plane_angle=40.0)
    beyond = replace(bare, surcharge=50.0, surcharge_setback=5.0)
    assert_allclose(factor(beyond), factor(bare), rtol=1e-14)
    assert "load-behind-block" in {one.code for one in beyond.evaluate().notices}
    wide = replace(bare, surcharge=50.0, surcharge_width=400.0)
    assert_allclose(factor(wide), factor(replace(bare, surcharge=50.0)), rtol=1e-14)


def test_water_below_the_plane_is_no_water() -> None:
    bare = wedge(plane_angle=30.0)
    low = replace(bare, water_line=((0.0, 0.0), (20.0, 1.0)))
    assert_allclose(factor(low), factor(bare), rtol=1e-14)
    assert "water-below-plane" in {one.code for one in low.evaluate().notices}
    assert_allclose(factor(replace(bare, standing_water_level=0.0)), factor(bare), rtol=0.0)


@pytest.mark.parametrize("angle", [None, 35.0])
def test_a_slope_under_water_to_its_crest_is_dry_with_its_buoyant_weight(
    angle: float | None,
) -> None:
    drowned = wedge(plane_angle=angle, standing_water_level=7.0)
    light = replace(SOIL, unit_weight=20.0 - WATER, saturated_unit_weight=None)
    assert_allclose(factor(drowned), factor(wedge(plane_angle=angle, soil=light)), rtol=1e-8)


def test_a_water_line_at_the_ground_is_full_pressure_below_it() -> None:
    check = wedge(plane_angle=38.0, water_line=((0.0, 0.0), (9.0, 0.5)), water_line_rise=30.0)
    values = check.evaluate().values
    assert_allclose(values.wet_area, values.block_area)
    assert_allclose(values.uplift, WATER * values.block_area / np.cos(np.radians(38.0)))
    assert "water-line-at-ground" in {one.code for one in check.evaluate().notices}


@pytest.mark.parametrize(
    "fields",
    [
        {"plane_angle": 38.0, "water_line": LINE, "support_force": 20.0, "support_angle": 10.0},
        {"surcharge": 30.0, "surcharge_setback": 1.0},
        {"standing_water_level": 2.0},
        {"plane_angle": 38.0, "search_tension_crack": True, "tension_crack_water_depth": 0.5},
    ],
    ids=" ".join,
)
def test_shaken_by_its_yield_coefficient_the_factor_is_one(fields: dict[str, Any]) -> None:
    soil = replace(SOIL, strength=Strength(cohesion=9.0, friction_angle=34.0))
    check = wedge(**{"soil": soil, **fields})
    at_yield = check.evaluate().values.yield_seismic_coefficient
    assert at_yield > 0.05
    shaken = replace(check, horizontal_seismic_coefficient=at_yield)
    assert_allclose(factor(shaken), 1.0, rtol=1e-7)
    # and it is the same, whatever shaking the check was given
    assert_allclose(shaken.evaluate().values.yield_seismic_coefficient, at_yield, rtol=1e-6)


def test_a_slope_that_slides_unshaken_has_no_yield_coefficient_left() -> None:
    weak = replace(SOIL, strength=Strength(cohesion=1.0, friction_angle=20.0))
    assert wedge(soil=weak).evaluate().values.yield_seismic_coefficient == 0.0


def test_arrays_of_water_and_load_give_what_scalars_give() -> None:
    rise, pool = np.array([-0.5, 0.0, 0.8]), np.array([0.0, 2.0, 4.0])
    setback = np.array([0.0, 1.0, 3.0])
    fields = {"water_line": LINE, "surcharge": 30.0, "surcharge_width": 2.0}
    for searched in ({}, {"search_tension_crack": True}, {"plane_angle": 38.0}):
        together = wedge(
            **fields, **searched, water_line_rise=rise, standing_water_level=pool,
            surcharge_setback=setback,
        ).evaluate()  # fmt: skip
        for k in range(3):
            alone = wedge(
                **fields, **searched, water_line_rise=rise[k], standing_water_level=pool[k],
                surcharge_setback=setback[k],
            ).evaluate()  # fmt: skip
            # the rotation beside the plane is as sharp as its search
            assert_allclose(together.lowest[k], alone.lowest, rtol=1e-7)
            assert_allclose(
                together.values.drawdown_factor[k], alone.values.drawdown_factor, rtol=1e-9
            )


@pytest.mark.slow
@pytest.mark.parametrize(
    "fields",
    [
        {"water_line": LINE},
        {"standing_water_level": 3.0},
        {"surcharge": 80.0, "surcharge_setback": 1.0, "surcharge_width": 1.0},
    ],
    ids=" ".join,
)
def test_the_law_of_strength_holds_with_fixed_water_and_loads(fields: dict[str, Any]) -> None:
    check = wedge(**fields)
    law = check.strength_law()
    cohesion, angle = np.array([0.5, 3.0, 9.0, 30.0]), np.array([36.0, 22.0, 31.0, 8.0])
    soil = replace(SOIL, strength=Strength(cohesion=cohesion, friction_angle=angle))
    if law is not None:
        found = law.factor(cohesion, np.tan(np.radians(angle)))
        assert_allclose(found, factor(replace(check, soil=soil)), rtol=3e-6)
    many = np.random.default_rng(2).uniform((1.0, 15.0), (20.0, 38.0), (4100, 2)).T
    soil = replace(SOIL, strength=Strength(cohesion=many[0], friction_angle=many[1]))
    some = slice(0, 40)
    few = replace(SOIL, strength=Strength(cohesion=many[0][some], friction_angle=many[1][some]))
    assert_allclose(
        factor(replace(check, soil=soil))[some], factor(replace(check, soil=few)), rtol=1e-6
    )


@pytest.mark.parametrize(
    ("place", "fields"),
    [
        ("water_line", {"water_line": ((0.0, 1.0), (9.0, 3.0))}),
        ("water_line", {"water_line": ((0.0, 0.0), (9.0, 7.5))}),
        ("water_line", {"water_line": ((3.0, 0.0), (1.0, 1.0))}),
        ("water_line_rise", {"water_line_rise": 0.5}),
        ("pore_pressure_ratio", {"water_line": LINE, "pore_pressure_ratio": 0.2}),
        ("pore_pressure_ratio", {"standing_water_level": 1.0, "pore_pressure_ratio": 0.2}),
        ("standing_water_level", {"standing_water_level": 7.1}),
        ("surcharge_width", {"surcharge": 5.0, "surcharge_width": 0.0}),
        ("surcharge_setback", {"surcharge": 5.0, "surcharge_setback": -1.0}),
    ],
)
def test_water_and_loads_that_cannot_be_are_refused(place: str, fields: dict[str, Any]) -> None:
    with pytest.raises(InputError, match=place):
        wedge(**fields).evaluate()


def test_the_water_line_may_stand_above_the_ground_where_the_pool_does() -> None:
    flat = wedge(plane_angle=38.0, standing_water_level=2.0)
    drawn = replace(flat, water_line=((0.0, 2.0), (30.0, 2.0)))
    assert_allclose(factor(drawn), factor(flat), rtol=1e-12)


def test_a_curved_strength_has_its_drawdown_factor_too() -> None:
    curve = PowerCurve(coefficient=0.9, exponent=0.8, tested_range=(5.0, 60.0))
    soil = replace(SOIL, strength=Strength.from_curve(curve))
    result = wedge(soil=soil, plane_angle=38.0, standing_water_level=3.0).evaluate()
    full = result.values
    dry = wedge(soil=soil, plane_angle=38.0).evaluate().values
    assert full.drawdown_factor < full.factor_of_safety
    assert full.drawdown_factor < dry.factor_of_safety
    assert "rapid-drawdown" in {notice.code for notice in result.notices}


@pytest.mark.parametrize("water", [{}, {"water_line": LINE}])
def test_pools_and_heights_in_two_directions_give_what_each_alone_gives(
    water: dict[str, Any],
) -> None:
    pools, heights = np.array([[1.0], [2.0]]), np.array([6.0, 7.0, 8.0])
    together = factor(
        wedge(
            plane_angle=35.0,
            height=heights,
            standing_water_level=np.broadcast_to(pools, (2, 3)),
            **water,
        )
    )
    for row, column in np.ndindex(2, 3):
        alone = wedge(
            plane_angle=35.0,
            height=heights[column],
            standing_water_level=pools[row, 0],
            **water,
        )
        assert_allclose(together[row, column], factor(alone), rtol=1e-12)


def test_a_slope_left_over_at_the_end_of_a_run_is_searched_as_alone() -> None:
    heights, cracks = np.linspace(5.0, 9.0, 410), np.linspace(1.0, 2.0, 410)
    fields: dict[str, Any] = {"water_line": LINE, "face_angle": 58.0}
    together = wedge(height=heights, tension_crack_distance=cracks, **fields)
    alone = wedge(height=9.0, tension_crack_distance=2.0, **fields)
    found, last = (
        one.factors_alone(leave_out=("rotation",))["sliding"] for one in (together, alone)
    )
    assert_allclose(found[-1], last, rtol=1e-12)
