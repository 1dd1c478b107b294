"""Strips and lines of load behind a retaining wall: against the earth pressure check's, whose own
are published ones, and against limits and searches of another kind.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from made import most_cohesion_missing
from numpy.testing import assert_allclose

from slipmargin.stability import EarthPressure, RetainingWall, Soil, Wall
from slipmargin.stability.design.partial_factors import RECOMMENDED
from slipmargin.stability.design.wall import design_wall
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.retaining_wall.overall_stability import OverallStability
from slipmargin.strength import InputError, Strength

SAND = Soil(strength=Strength(cohesion=0.0, friction_angle=32.0), unit_weight=18.0)
HEELED = Wall(
    unit_weight=24.0,
    stem_height=4.0,
    stem_top_thickness=0.3,
    stem_bottom_thickness=0.4,
    toe_width=1.2,
    heel_width=2.2,
    base_thickness=0.5,
)
UPRIGHT = Wall(
    unit_weight=24.0, shape="gravity", height=4.5, top_width=1.0, base_width=2.4, back_offset=0.0
)
HEIGHT = 4.5


def strip(pressure: Any = 20.0, distance: Any = 3.0, width: Any = 2.0) -> StripLoad:
    return StripLoad(pressure=pressure, distance=distance, width=width)


def line(force: Any = 25.0, distance: Any = 3.4) -> LineLoad:
    return LineLoad(force=force, distance=distance)


def wall(**changes: Any) -> RetainingWall:
    usual: dict[str, Any] = {
        "backfill": SAND,
        "foundation": SAND,
        "wall": HEELED,
        "embedment": 0.8,
    }
    return RetainingWall(**(usual | changes))


def values(**changes: Any) -> Any:
    return wall(**changes).evaluate(leave_out=("overall",)).values


def factors(check: RetainingWall) -> dict[str, Any]:
    return dict(check.evaluate(leave_out=("overall",)).factors_of_safety)


def overall(check: RetainingWall) -> float:
    return float(OverallStability(wall=check).evaluate().lowest)


def codes(check: RetainingWall) -> dict[str, Any]:
    return {one.code: one for one in check.evaluate(leave_out=("overall",)).notices}


@pytest.mark.parametrize(
    ("back", "shift"),
    [({}, 2.2), ({"wall": UPRIGHT, "theory": "coulomb"}, 0.0)],
    ids=["on the plane through the heel", "on an upright back"],
)
def test_loads_press_as_the_earth_pressure_check_has_them(
    back: dict[str, Any], shift: float
) -> None:
    found = values(strip_loads=(strip(),), line_loads=(line(),), **back)
    by_pressure = EarthPressure(
        soil=SAND,
        height=HEIGHT,
        strip_loads=(strip(distance=3.0 - shift),),
        line_loads=(line(distance=3.4 - shift),),
    )
    pressed = by_pressure.evaluate().values
    assert_allclose(found.load_thrust, pressed.load_thrust, rtol=1e-13)
    assert_allclose(found.load_moment, pressed.load_moment, rtol=1e-13)
    assert_allclose(found.load_thrust_height * found.load_thrust, found.load_moment, rtol=1e-13)


def test_the_thrust_of_loads_stands_in_the_sums_by_itself() -> None:
    bare, loaded = values(), values(strip_loads=(strip(),))
    assert_allclose(loaded.horizontal_force - bare.horizontal_force, loaded.load_thrust)
    assert_allclose(loaded.overturning_moment - bare.overturning_moment, loaded.load_moment)
    assert_allclose(loaded.vertical_force, bare.vertical_force)


def test_a_load_of_zero_is_none() -> None:
    nothing = wall(strip_loads=(strip(0.0, 0.5),), line_loads=(line(0.0, 1.0),))
    assert factors(nothing) == factors(wall())
    assert_allclose(overall(nothing), overall(wall()), rtol=1e-9)


def test_a_wide_strip_nears_the_whole_pressure_of_a_surcharge_held_by_a_rigid_wall() -> None:
    """Elastic theory on a wall that does not move gives K = 1 for a load without end; a strip of
    width b from the plane on lacks the share (2 / π) atan(H / b) of it.
    """
    for width in (10.0, 100.0, 1e4):
        pressed = float(values(strip_loads=(strip(20.0, 0.0, width),)).load_thrust)
        lacks = 2.0 / math.pi * math.atan(HEIGHT / width)
        assert_allclose(pressed, 20.0 * HEIGHT * (1.0 - lacks), rtol=1e-12)
    # a wall that yields sees K_a of it: elastic theory lies on the safe side
    uniform = values(surcharge=20.0)
    assert pressed > float(uniform.thrust_from_surcharge)
    assert_allclose(pressed * uniform.active_coefficient, uniform.thrust_from_surcharge, rtol=1e-3)


def test_overall_stability_takes_a_strip_without_end_for_a_surcharge() -> None:
    uniform = overall(wall(surcharge=25.0))
    assert_allclose(overall(wall(strip_loads=(strip(25.0, 0.0, 1e3),))), uniform, rtol=1e-9)
    assert uniform < overall(wall()) - 0.05


@pytest.mark.parametrize("kind", ["strip_loads", "line_loads"])
def test_every_factor_falls_as_a_load_grows(kind: str) -> None:
    sizes = np.array([0.0, 2.0, 5.0, 10.0, 20.0])
    load = strip(sizes, 1.5) if kind == "strip_loads" else line(sizes, 2.5)
    found = factors(wall(**{kind: (load,)}))
    assert np.all(np.diff([found["sliding"], found["overturning"]]) < 0.0)
    # where the resultant starts toward the heel a push that may be absent is not counted on
    assert np.all(np.diff(found["bearing"]) <= 0.0)
    one = OverallStability(wall=wall(**{kind: (load,)})).evaluate().lowest
    assert np.all(np.diff(one) < 1e-6)


def test_an_array_of_walls_under_loads_gives_the_factors_of_each() -> None:
    """Some resultants start toward the heel, some toward the toe: parts of the load are looked
    at for the former alone.
    """
    toes, sizes = np.array([0.1, 0.5, 1.2, 2.0]), np.array([5.0, 10.0, 20.0, 40.0])

    def of(toe: Any, size: Any) -> RetainingWall:
        load = {"strip_loads": (strip(size, 1.5),), "line_loads": (line(2.0 * size),)}
        return wall(wall=dataclasses.replace(HEELED, toe_width=toe), **load)

    together = factors(of(toes, sizes))
    alone = [factors(of(float(t), float(s))) for t, s in zip(toes, sizes, strict=True)]
    for name, factor in together.items():
        assert_allclose(factor, [float(one[name]) for one in alone], rtol=1e-12)


def test_a_load_further_back_presses_less() -> None:
    away = np.linspace(0.0, 12.0, 25)
    found = values(strip_loads=(strip(distance=away),))
    at_plane = away <= 2.2 + 1e-12
    assert_allclose(found.load_thrust[at_plane], found.load_thrust[0])
    assert np.all(np.diff(found.load_thrust[~at_plane]) < 0.0)
    assert np.all(np.diff(found.load_moment[~at_plane]) < 0.0)


def test_a_load_over_the_heel_presses_no_less_than_by_either_reading_of_its_place() -> None:
    """From the back of the stem, or the part behind the plane alone where it stands."""
    for distance, width in ((0.0, 1.0), (0.6, 1.6), (1.0, 4.0)):
        found = values(strip_loads=(strip(20.0, distance, width),))
        behind = max(distance + width - 2.2, 1e-9)
        for read in (strip(20.0, distance, width), strip(20.0, 0.0, behind)):
            pressed = EarthPressure(soil=SAND, height=HEIGHT, strip_loads=(read,)).evaluate()
            assert float(found.load_thrust) >= float(pressed.values.load_thrust) * (1.0 - 1e-12)
            assert float(found.load_moment) >= float(pressed.values.load_moment) * (1.0 - 1e-12)


def test_the_weight_of_a_load_over_the_heel_counts_where_it_is_worse() -> None:
    """A heavy pad that stands on a long heel: bearing worked by hand from the check's own sums."""
    deep = dataclasses.replace(HEELED, heel_width=4.0)
    check = wall(wall=deep, line_loads=(line(400.0, 3.5),))
    found = check.evaluate(leave_out=("overall",))
    light, place = found.values, deep.toe_width + 0.4 + 3.5
    down = float(light.vertical_force) + 400.0
    resultant = float(light.righting_moment - light.overturning_moment + 400.0 * place) / down
    width = float(light.base_width) - 2.0 * abs(float(light.base_width) / 2.0 - resultant)
    lean = float(light.horizontal_force) / down
    tan = math.tan(math.radians(32.0))
    n_q = math.exp(math.pi * tan) * math.tan(math.radians(61.0)) ** 2
    overburden = 18.0 * 0.8 * n_q * (1.0 - lean) ** 2
    own = 0.5 * 18.0 * width * 2.0 * (n_q + 1.0) * tan * (1.0 - lean) ** 3
    by_hand = (overburden + own) * width / down
    heavy = check.evaluate(leave_out=("overall",)).factors_of_safety["bearing"]
    assert float(heavy) <= by_hand * (1.0 + 1e-9)
    # not counted on in sliding
    assert_allclose(found.factors_of_safety["sliding"], light.factor_sliding)


def test_a_load_over_the_heel_is_said_and_its_weight_lowers_bearing_alone() -> None:
    stiff = dataclasses.replace(SAND, strength=Strength(cohesion=60.0, friction_angle=32.0))
    long = dataclasses.replace(HEELED, heel_width=4.0)
    light = wall(backfill=stiff, wall=long, line_loads=(line(5.0, 0.4),))
    assert codes(light)["load-over-heel"].severity == "info"
    toe = dataclasses.replace(HEELED, toe_width=0.0, heel_width=3.0)
    pressed = wall(wall=toe, strip_loads=(strip(400.0, 0.0, 0.4),), water_table_depth=None)
    notice = codes(pressed)["load-over-heel"]
    assert "160.0 kN/m" in notice.text
    assert "load-over-heel" not in codes(wall(strip_loads=(strip(distance=2.3),)))


def test_overall_stability_finds_the_worst_rotation_under_a_strip_and_a_line() -> None:
    """A general search over the same three unknowns, at the factor that was found."""
    check = wall(strip_loads=(strip(60.0, 4.0, 1.5),), line_loads=(line(80.0, 3.0),))
    factor = overall(check)
    assert factor < overall(wall()) - 0.05
    assert most_cohesion_missing(check, factor) == pytest.approx(0.0, abs=1e-3)


def test_a_load_beyond_every_slip_leaves_overall_stability_as_it_is() -> None:
    assert_allclose(overall(wall(strip_loads=(strip(30.0, 60.0),))), overall(wall()), rtol=1e-6)


def test_partial_factors_take_loads_as_variable_actions() -> None:
    """DA1-1 puts 1.35 on the ground's thrust and 1.5 on what a load presses."""
    check = wall(strip_loads=(strip(),))
    held = values(strip_loads=(strip(),))
    sliding = design_wall(check, RECOMMENDED["DA1-1"]).limit_states["sliding"]
    pushed = 1.35 * held.thrust_horizontal + 1.5 * held.load_thrust
    assert_allclose(sliding.effect, pushed, rtol=1e-12)
    assert any(step.symbol == "H_q" for step in sliding.steps)


def test_partial_factors_in_bearing_look_at_the_weight_over_the_heel_as_well() -> None:
    toe = dataclasses.replace(HEELED, toe_width=0.2, heel_width=3.2)
    pad = wall(wall=toe, line_loads=(line(300.0, 0.2),))
    bearing = design_wall(pad, RECOMMENDED["DA2"]).limit_states["bearing"]
    bare = values(wall=toe)
    most = 1.35 * float(bare.vertical_force) + 1.5 * 300.0
    assert float(bearing.effect) <= most * (1.0 + 1e-12)
    assert (
        bearing.utilisation
        >= design_wall(wall(wall=toe), RECOMMENDED["DA2"]).limit_states["bearing"].utilisation
    )


def test_loads_that_shaking_leaves_out_are_named() -> None:
    shaken = wall(strip_loads=(strip(),), horizontal_seismic_coefficient=0.1)
    assert "shaking" in codes(shaken)["elastic-load-pressure"].text


def test_a_bad_load_is_refused_by_its_place() -> None:
    with pytest.raises(InputError, match=r"strip_loads\[1\]\.width"):
        wall(strip_loads=(strip(), strip(width=0.0))).evaluate(leave_out=("overall",))
