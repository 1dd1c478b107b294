"""The working can be followed: every line with numbers in it gives what is printed below it.

The lines are worked by the parser of this file alone, as a pocket calculator set to degrees
would work them. Nothing of the program takes part but the text of its steps.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stability import (
    KINDS,
    EarthPressure,
    InfiniteSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
)
from stability.wall_section import Wall
from stability.working import given_steps, result_steps
from strength import ShearTests, Specimen, Strength, fit_envelope, read_readings, reduce_readings
from strength.fit_working import fit_steps
from strength.working import Step, printed

SITE = Path(__file__).resolve().parents[2] / "scenarios" / "fennel-rise"

BANK = Soil(
    name="bank",
    strength=Strength(cohesion=4.7, friction_angle=31.3),
    unit_weight=18.3,
    saturated_unit_weight=19.9,
)
SAND = Soil(
    name="sand",
    strength=Strength(cohesion=0.0, friction_angle=35.4),
    unit_weight=17.6,
    saturated_unit_weight=20.2,
)

OPERATIONS: dict[type, Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
KEYS: dict[str, Callable[..., float]] = {
    "sin": lambda x: math.sin(math.radians(x)),
    "cos": lambda x: math.cos(math.radians(x)),
    "tan": lambda x: math.tan(math.radians(x)),
    "atan": lambda x: math.degrees(math.atan(x)),
    "asin": lambda x: math.degrees(math.asin(x)),
    # rounding may leave a zero under a root a hair below it
    "sqrt": lambda x: math.sqrt(x if x < 0.0 and x < -1e-6 else max(x, 0.0)),
    "abs": abs,
    "exp": math.exp,
    "ln": math.log,
    "min": min,
    "max": max,
}


def worked(line: str) -> float:
    """The value of a line of numbers."""
    return _worked(ast.parse(line.replace("^", "**"), mode="eval").body)


def _worked(node: ast.expr) -> float:
    match node:
        case ast.Constant(value=float() | int() as number):
            return float(number)
        case ast.BinOp(left=left, op=op, right=right):
            return OPERATIONS[type(op)](_worked(left), _worked(right))
        case ast.UnaryOp(op=op, operand=operand):
            return OPERATIONS[type(op)](_worked(operand))
        case ast.Call(func=ast.Name(id=key), args=args):
            return KEYS[key](*map(_worked, args))
    raise AssertionError(f"no key for {ast.dump(node)}")


def half_a_place(value: float, text: str) -> float:
    """Half a unit in the last place printed; a whole number without decimals has them all."""
    whole = "." not in text and value == round(value) and abs(value) < 1e6
    decimals = 6 - len(text.lstrip("-")) if whole else len(text.partition(".")[2])
    return 0.5 * 10.0 ** -min(decimals, 3)


def assert_followed(steps: list[Step]) -> int:
    """Each line gives the printed value: within half its last place, and a tenth for ties."""
    lines = [step for step in steps if step.substituted]
    for step in lines:
        text = printed(step.value, step.unit)
        if not math.isfinite(step.value):
            continue
        slack = 1.1 * half_a_place(step.value, text)
        assert worked(step.substituted) == pytest.approx(float(text), abs=slack, rel=0.0), (
            f"{step.symbol} = {step.equation} = {step.substituted}, printed {text}"
        )
    return len(lines)


CASES: dict[str, Any] = {
    "infinite slope, dry": InfiniteSlope(soil=BANK, slope_angle=28.0, depth=1.8, target=1.5),
    "infinite slope, wet": InfiniteSlope(
        soil=BANK,
        slope_angle=28.0,
        depth=1.8,
        water_table_depth=0.6,
        surcharge=3.0,
        root_cohesion=1.5,
        horizontal_seismic_coefficient=0.08,
        target=1.3,
    ),
    "infinite slope, seepage": InfiniteSlope(
        soil=BANK, slope_angle=22.0, depth=2.4, water_table_depth=5.0, seepage_angle=12.0
    ),
    "infinite slope, level flow": InfiniteSlope(
        soil=BANK, slope_angle=35.0, depth=2.0, water_table_depth=0.0, seepage_angle=0.0, target=1.0
    ),
    "infinite slope, submerged": InfiniteSlope(
        soil=BANK, slope_angle=25.0, depth=2.0, submerged=True, target=1.5
    ),
    "infinite slope, lifted": InfiniteSlope(
        soil=SAND, slope_angle=60.0, depth=2.0, water_table_depth=0.0, seepage_angle=0.0
    ),
    "planar wedge, searched": PlanarWedge(soil=BANK, height=6.0, face_angle=50.0, target=1.5),
    "planar wedge, everything": PlanarWedge(
        soil=BANK,
        height=9.0,
        face_angle=62.0,
        upper_slope_angle=8.0,
        plane_angle=37.0,
        tension_crack_distance=2.0,
        tension_crack_water_depth=1.6,
        surcharge=10.0,
        horizontal_seismic_coefficient=0.06,
        support_force=70.0,
        support_angle=12.0,
        target=1.4,
    ),
    "planar wedge, pore pressure ratio": PlanarWedge(
        soil=BANK, height=9.0, face_angle=70.0, pore_pressure_ratio=0.2
    ),
    "rotational": Rotational(soil=BANK, height=6.0, face_angle=50.0, target=1.5),
    "rotational, everything": Rotational(
        soil=BANK,
        height=7.0,
        face_angle=45.0,
        upper_slope_angle=5.0,
        pore_pressure_ratio=0.15,
        surcharge=8.0,
        horizontal_seismic_coefficient=0.05,
        target=1.3,
    ),
    "retaining wall, cantilever": RetainingWall(
        backfill=SAND,
        foundation=BANK,
        surcharge=5.0,
        embedment=0.7,
        target=1.5,
        wall=Wall(
            unit_weight=24.0,
            shape="cantilever",
            stem_height=2.5,
            stem_top_thickness=0.25,
            stem_bottom_thickness=0.3,
            toe_width=0.4,
            heel_width=1.2,
            base_thickness=0.4,
        ),
    ),
    "retaining wall, everything": RetainingWall(
        backfill=BANK,
        foundation=BANK,
        backfill_slope_angle=8.0,
        surcharge=10.0,
        theory="coulomb",
        wall_friction_angle=18.0,
        water_table_depth=2.0,
        embedment=1.0,
        passive_fraction=0.5,
        base_adhesion=2.0,
        bearing_method="meyerhof",
        allowable_bearing=200.0,
        horizontal_seismic_coefficient=0.05,
        target=1.5,
        wall=Wall(
            unit_weight=24.0,
            shape="gravity",
            height=4.0,
            top_width=0.8,
            base_width=2.6,
            back_offset=0.6,
        ),
    ),
}
CASES["retaining wall, outline with a key"] = RetainingWall(
    backfill=SAND,
    foundation=BANK,
    water_table_depth=1.0,
    water_level_in_front=0.6,
    embedment=0.8,
    passive_fraction=0.3,
    wall=Wall(
        unit_weight=24.0,
        shape="outline",
        points=((0, 0), (2.2, 0), (2.2, 0.4), (0.9, 0.4), (0.8, 3), (0.4, 3), (0.4, 0.4), (0, 0.4)),
        key_depth=0.4,
        key_width=0.3,
        key_position=1.0,
    ),
)
CASES["earth pressure, at rest, overconsolidated"] = EarthPressure(
    soil=BANK, height=3.0, theory="at_rest", overconsolidation_ratio=3.0, surcharge=12.0
)
CASES["earth pressure, cracked, water in the crack"] = EarthPressure(
    soil=BANK, height=5.0, tension_crack_water_depth=0.5
)
for _method in ("vesic", "annex_d"):
    CASES[f"retaining wall, {_method}"] = RetainingWall(
        backfill=SAND,
        foundation=BANK,
        water_table_depth=1.5,
        embedment=0.9,
        bearing_method=_method,
        wall=CASES["retaining wall, cantilever"].wall,
    )
for _theory, _side in (
    ("at_rest", "active"),
    ("rankine", "active"),
    ("rankine", "passive"),
    ("coulomb", "active"),
    ("coulomb", "passive"),
    ("trial_wedge", "active"),
):
    _inclined: dict[str, Any] = (
        {"wall_friction_angle": 15.0, "wall_batter": 6.0, "horizontal_seismic_coefficient": 0.08}
        if _theory == "coulomb"
        else {}
    )
    for _soil in (BANK, SAND):
        if _soil.strength.cohesion and _theory == "coulomb":
            continue
        CASES[f"earth pressure, {_theory}, {_side}, {_soil.name}"] = EarthPressure(
            soil=_soil,
            height=4.2,
            theory=_theory,
            side=_side,
            backfill_slope_angle=9.0 if _side == "active" else 0.0,
            surcharge=7.0,
            **_inclined,
        )
    CASES[f"earth pressure, {_theory}, {_side}, water"] = EarthPressure(
        soil=SAND, height=4.2, theory=_theory, side=_side, water_table_depth=1.7, surcharge=7.0
    )


@pytest.mark.parametrize("name", CASES)
def test_a_pocket_calculator_gives_the_printed_value_of_every_step(name: str) -> None:
    check = CASES[name]
    assert assert_followed(result_steps(check, check.evaluate())) >= 3


def test_every_kind_of_check_is_followed() -> None:
    assert {type(check) for check in CASES.values()} == set(KINDS.values())


def test_the_last_line_of_a_slope_gives_the_factor_itself() -> None:
    for name in ("infinite slope, wet", "planar wedge, everything"):
        check = CASES[name]
        result = check.evaluate()
        steps = {step.symbol: step for step in result_steps(check, result)}
        factor = result.factors_of_safety["sliding"]
        assert f"{worked(steps['F'].substituted):.2f}" == f"{factor:.2f}"


def test_given_values_stand_in_the_lines_as_they_are_listed() -> None:
    check = CASES["infinite slope, wet"]
    listed = {step.symbol: step.value for step in given_steps(check)}
    steps = {step.symbol: step for step in result_steps(check, check.evaluate())}
    assert f"{listed['d']:.6g} - min({listed['d_w']:.6g}" in steps["h_w"].substituted


def test_along_a_curve_no_line_holds_a_cohesion_that_was_not_used() -> None:
    tests = _tests([20.0, 50.0, 100.0, 200.0], [22.0, 47.0, 82.0, 142.0])
    fit = fit_envelope(tests, envelope="power")
    soil = Soil(name="bank", strength=fit.strength(), unit_weight=18.3)
    check = InfiniteSlope(soil=soil, slope_angle=28.0, depth=6.0)
    assert not any(step.symbol.startswith(("c′", "φ′")) for step in given_steps(check))
    steps = result_steps(check, check.evaluate())
    assert assert_followed(steps) >= 4
    assert next(step for step in steps if step.symbol == "τ_f").equation == ""


def _tests(normal: list[float], shear: list[float], half_band: float = math.nan) -> ShearTests:
    x, y = np.asarray(normal), np.asarray(shear)
    return ShearTests(
        names=tuple(f"T{i + 1}" for i in range(x.size)),
        normal=x,
        shear=y,
        low=y - half_band,
        high=y + half_band,
        band_std=half_band / math.sqrt(3.0),
        readings=(1,) * x.size,
    )


def _fits() -> Iterator[tuple[str, Any]]:
    bank = reduce_readings(
        read_readings(SITE / "bank-shear-box.csv"),
        Specimen(shape="square", width=60.0, added_normal_force=1.8),
    )
    sand = reduce_readings(
        read_readings(SITE / "drainage-sand-shear-box.csv"), Specimen(shape="circle", width=63.5)
    )
    for intercept in ("non_negative", "free", "zero"):
        for confidence in (0.8, 0.95, 0.99):
            where = f"{intercept}, {confidence:g}"
            yield f"bank, {where}", fit_envelope(bank, intercept=intercept, confidence=confidence)
            yield f"sand, {where}", fit_envelope(sand, intercept=intercept, confidence=confidence)
    wide = _tests([25.0, 50.0, 100.0, 200.0], [21.3, 34.9, 66.1, 120.7], half_band=6.0)
    yield "wide bands", fit_envelope(wide)
    yield "below zero", fit_envelope(_tests([25.0, 50.0, 100.0], [13.0, 31.0, 64.0]))
    yield "chord below zero", fit_envelope(_tests([25.0, 50.0, 100.0, 150.0], [20, 36, 73, 103]))
    yield "two tests", fit_envelope(_tests([25.0, 100.0], [21.3, 66.1]))
    yield "curve", fit_envelope(wide, envelope="power")


FITS = dict(_fits())


@pytest.mark.parametrize("name", FITS)
def test_a_pocket_calculator_gives_the_printed_value_of_every_step_of_a_fit(name: str) -> None:
    fit = FITS[name]
    steps = fit_steps(fit)
    assert assert_followed(steps) >= 4
    shown = {step.symbol: step.value for step in steps}
    assert shown["c′"] == fit.best_fit.cohesion
    assert shown["φ′"] == fit.best_fit.friction_angle
