"""The working can be followed: every line with numbers in it gives what is printed below it.

The lines are worked by the parser of this file alone, as a pocket calculator set to degrees
would work them. Nothing of the program takes part but the text of its steps.
"""

from __future__ import annotations

import ast
import dataclasses
import inspect
import math
import operator
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slipmargin.cli.questions.methods import method_text
from slipmargin.stability import (
    KINDS,
    EarthPressure,
    InfiniteSlope,
    LayeredSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
    fields,
)
from slipmargin.stability.check import examples_of
from slipmargin.stability.design.basis import design_check
from slipmargin.stability.design.partial_factors import RECOMMENDED, SYMBOLS
from slipmargin.stability.design.wall import sliding
from slipmargin.stability.design.wall_loads import FactoredLoads
from slipmargin.stability.earth_pressure.profile import Layer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.infinite_slope import check as infinite_slope_check
from slipmargin.stability.infinite_slope import column
from slipmargin.stability.layered_slope import SlopeLayer
from slipmargin.stability.retaining_wall import balance, inputs, section, thrust
from slipmargin.stability.retaining_wall import check as retaining_wall_check
from slipmargin.stability.retaining_wall.overall_stability import OverallStability
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.stability.working import given_steps, result_steps, traced, working_of
from slipmargin.strength import (
    InputError,
    ShearTests,
    Specimen,
    Strength,
    fit_envelope,
    read_readings,
    reduce_readings,
    strength_from_readings,
    triaxial_readings,
)
from slipmargin.strength.envelope.working import fit_steps
from slipmargin.strength.from_laboratory import Choices
from slipmargin.strength.traced import WRITTEN, Traced, traced_copy, value_of
from slipmargin.strength.working import Step, printed, symbols_in

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
    # and a one a hair above it
    "asin": lambda x: math.degrees(math.asin(x if abs(x) > 1.0 + 1e-5 else min(max(x, -1), 1))),
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


def rounding(line: str) -> float:
    """How far a line may be off because its numbers stand in it with six digits."""
    root = ast.parse(line.replace("^", "**"), mode="eval").body
    value, most = _worked(root), 0.0
    for node in ast.walk(root):
        if not isinstance(node, ast.Constant) or len(str(node.value)) < 6 or not node.value:
            continue
        kept = node.value
        node.value = kept + 0.5 * 10.0 ** (math.floor(math.log10(abs(kept))) - 5)
        most += abs(_worked(root) - value)
        node.value = kept
    return most


def assert_followed(steps: list[Step], *, rounded: bool = False) -> int:
    """Each line gives the printed value: within half its last place, and a tenth for ties.

    ``rounded`` allows for the six digits as well, where numbers nearly cancel.
    """
    lines = [step for step in steps if step.substituted]
    for step in lines:
        text = printed(step.value, step.unit)
        if not math.isfinite(step.value):
            continue
        slack = 1.1 * half_a_place(step.value, text)
        slack += 1.1 * rounding(step.substituted) if rounded else 0.0
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
    "infinite slope, submerged and shaken": InfiniteSlope(
        soil=BANK,
        slope_angle=15.0,
        depth=2.0,
        submerged=True,
        surcharge=4.0,
        horizontal_seismic_coefficient=0.15,
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
    "planar wedge, searched crack": PlanarWedge(
        soil=BANK, height=9.0, face_angle=75.0, search_tension_crack=True, surcharge=5.0
    ),
    "planar wedge, searched crack with water": PlanarWedge(
        soil=BANK,
        height=9.0,
        face_angle=75.0,
        plane_angle=52.0,
        search_tension_crack=True,
        tension_crack_water_depth=1.0,
    ),
    "planar wedge, brim-full crack": PlanarWedge(
        soil=BANK,
        height=9.0,
        face_angle=75.0,
        search_tension_crack=True,
        tension_crack_water_depth="full",
    ),
    "planar wedge, brim-full crack in clay": PlanarWedge(
        soil=Soil(strength=Strength(cohesion=8.0, friction_angle=8.0), unit_weight=20.0),
        height=9.0,
        face_angle=75.0,
        search_tension_crack=True,
        tension_crack_water_depth="full",
    ),
    "planar wedge, pore pressure ratio": PlanarWedge(
        soil=BANK, height=9.0, face_angle=70.0, pore_pressure_ratio=0.2
    ),
    "layered slope": LayeredSlope.example(),
    "layered slope, by Bishop": LayeredSlope(
        ground_line=[[0.0, 0.0], [3.0, 6.0], [30.0, 6.0]],
        layers=(
            SlopeLayer(
                soil=Soil(
                    name="clay",
                    strength=Strength(cohesion=20.0, friction_angle=0.0),
                    unit_weight=18.0,
                )
            ),
        ),
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
        bearing_depth_factors=True,
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
for _method, _deep in (("vesic", True), ("annex_d", False), ("meyerhof", False)):
    CASES[f"retaining wall, {_method}"] = RetainingWall(
        backfill=SAND,
        foundation=BANK,
        water_table_depth=1.5,
        embedment=0.9,
        bearing_method=_method,
        bearing_depth_factors=_deep,
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


LAYERS = (Layer(soil=SAND, thickness=1.5), Layer(soil=BANK, thickness=2.7))
CURVED = Soil(
    name="curved",
    strength=fit_envelope(
        ShearTests(
            names=("A", "B", "C", "D"),
            normal=np.array([20.0, 50.0, 100.0, 200.0]),
            shear=np.array([22.0, 47.0, 82.0, 142.0]),
        ),
        envelope="power",
    ).strength(),
    unit_weight=18.3,
)
_LOADS: dict[str, Any] = {
    "strip_loads": (
        StripLoad(pressure=20.0, distance=0.0, width=1.5),
        StripLoad(pressure=11.0, distance=2.3, width=0.9),
    ),
    "line_loads": (LineLoad(force=15.0, distance=1.2),),
}
CASES |= {
    "earth pressure, strip and line loads": EarthPressure(
        soil=SAND, height=4.2, surcharge=3.0, backfill_slope_angle=6.0, **_LOADS
    ),
    "earth pressure, loads alone": EarthPressure(
        soil=BANK, height=2.1, backfill_slope_angle=0.0, **_LOADS
    ),
    "earth pressure, layers": EarthPressure(layers=LAYERS, height=4.2, surcharge=5.0),
    "earth pressure, layers and water": EarthPressure(
        layers=LAYERS, height=4.2, water_table_depth=2.0, theory="at_rest"
    ),
    "earth pressure, equal layers, shaken": EarthPressure(
        layers=(Layer(soil=SAND, thickness=1.5), Layer(soil=SAND, thickness=2.7)),
        height=4.2,
        theory="coulomb",
        wall_friction_angle=12.0,
        horizontal_seismic_coefficient=0.1,
    ),
    "earth pressure, curved slip": EarthPressure(
        soil=BANK, height=3.3, theory="annex_c", side="passive", wall_friction_angle=14.0,
        wall_batter=4.0, surcharge=6.0, water_table_depth=1.1,
    ),
    "earth pressure, coulomb with adhesion": EarthPressure(
        soil=BANK, height=6.3, theory="coulomb", wall_friction_angle=14.0, wall_adhesion=2.0,
        wall_batter=4.0, surcharge=1.0, backfill_slope_angle=7.0,
    ),
    "earth pressure, coulomb with adhesion, passive": EarthPressure(
        soil=BANK, height=2.3, theory="coulomb", side="passive", wall_friction_angle=9.0,
        wall_adhesion=2.0, wall_batter=-4.0,
    ),
    "earth pressure, cracked and shaken": EarthPressure(
        soil=BANK, height=5.3, theory="coulomb", horizontal_seismic_coefficient=0.1,
        vertical_seismic_coefficient=0.04,
    ),
    "earth pressure, cracked, shaken and wet": EarthPressure(
        soil=BANK, height=5.3, theory="coulomb", horizontal_seismic_coefficient=0.1,
        water_table_depth=0.3, tension_crack_water_depth=0.2,
    ),
    "earth pressure, trial wedge, all": EarthPressure(
        soil=BANK, height=5.3, theory="trial_wedge", horizontal_seismic_coefficient=0.1,
        wall_friction_angle=15.0, wall_adhesion=2.0, surcharge=4.0, wall_batter=5.0,
        tension_crack_water_depth=0.3, **_LOADS,
    ),
    "earth pressure, trial wedge, ground line": EarthPressure(
        soil=BANK, height=5.3, theory="trial_wedge", ground_line=((0, 0), (3, 1.2), (9, 1.4)),
        water_table_depth=2.4,
    ),
    "planar wedge, ground line and crack": PlanarWedge(
        soil=BANK, ground_line=((0, 0), (3, 5), (6, 6), (14, 6.5)), surcharge=4.0,
        search_tension_crack=True, target=1.4,
    ),
    "planar wedge, held": PlanarWedge(
        soil=BANK, height=4.0, face_angle=50.0, plane_angle=35.0, support_force=400.0
    ),
    "planar wedge, curved": PlanarWedge(soil=CURVED, height=7.0, face_angle=60.0),
    "rotational, curved": Rotational(soil=CURVED, height=7.0, face_angle=60.0),
    "rotational, no friction": Rotational(
        soil=Soil(name="clay", strength=Strength(cohesion=40.0, friction_angle=0.0),
                  unit_weight=18.0),
        height=5.0, face_angle=70.0,
    ),
    "rotational, no cohesion": Rotational(soil=SAND, height=5.0, face_angle=30.0),
    "rotational, ground and water": Rotational(
        soil=BANK, ground_line=((-5, 0), (0, 0), (6, 5), (20, 5)),
        water_line=((-5, 0), (0, 0), (12, 3)), firm_ground_depth=1.0,
    ),
    "retaining wall, outline by coulomb": dataclasses.replace(
        CASES["retaining wall, outline with a key"], theory="coulomb", wall_friction_angle=40.0,
        surcharge=4.0, horizontal_seismic_coefficient=0.04,
    ),
    "retaining wall, rankine with everything": RetainingWall(
        backfill=BANK, foundation=BANK, backfill_slope_angle=9.0, surcharge=8.0,
        water_table_depth=1.3, water_level_in_front=0.7, embedment=0.8, passive_fraction=0.4,
        base_adhesion=3.0, horizontal_seismic_coefficient=0.07,
        wall=dataclasses.replace(CASES["retaining wall, cantilever"].wall,
                                 key_depth=0.4, key_width=0.4, key_position=1.0),
    ),
    "retaining wall, clay without friction": dataclasses.replace(
        CASES["retaining wall, cantilever"],
        foundation=Soil(name="clay", strength=Strength(cohesion=35.0, friction_angle=0.0),
                        unit_weight=18.0),
    ),
    "retaining wall, curved": dataclasses.replace(
        CASES["retaining wall, cantilever"], foundation=CURVED, backfill=CURVED
    ),
}  # fmt: skip
CASES |= {
    f"{kind}, example {number}": one
    for kind, check in KINDS.items()
    for number, one in enumerate(examples_of(check), start=1)
}


@pytest.mark.parametrize("name", CASES)
def test_a_pocket_calculator_gives_the_printed_value_of_every_step(name: str) -> None:
    check = CASES[name]
    assert assert_followed(result_steps(check, check.evaluate(leave_out=("overall",)))) >= 2


def assert_whole(check: Any, result: Any) -> None:
    """No bare number, no equation of a value that is not there, nothing left out but nothing."""
    declared = list(fields.of(result.values))
    steps = {step.symbol: step for step in result_steps(check, result)}
    out = working_of(check, result)[1].rpartition(": ")[2].rstrip(".").split(", ")
    for name, declaration, _ in declared:
        value = float(getattr(result.values, name))
        symbol = declaration.symbol
        assert (symbol in steps) + (symbol in out) == (not math.isnan(value)), symbol
        if symbol in steps and not steps[symbol].equation:
            assert steps[symbol].says != declaration.says, f"{symbol} is a bare number"


@pytest.mark.parametrize("name", CASES)
def test_no_step_is_a_bare_number(name: str) -> None:
    assert_whole(CASES[name], CASES[name].evaluate(leave_out=("overall",)))


def test_what_nothing_causes_is_left_out_of_the_steps_and_of_the_sums() -> None:
    check = CASES["retaining wall, cantilever"]
    result = check.evaluate(leave_out=("overall",))
    steps = {step.symbol: step for step in result_steps(check, result)}
    words = working_of(check, result)[1]
    for symbol in ("W_k", "P_e", "y_e", "P_w", "U", "x_u"):
        assert symbol not in steps
        assert symbol in words.rpartition(": ")[2].rstrip(".").split(", ")
    assert steps["V"].substituted == "34.74 + 52.8"
    whole = InfiniteSlope.example()
    assert working_of(whole, whole.evaluate())[1] == ""


LEANING = CASES["retaining wall, everything"]

KERNELS: dict[str, tuple[Any, Any, str, str, str]] = {
    "infinite slope": (
        infinite_slope_check, column, "cos**2 - k_h * shaken", "σ",
        "W * cos(β)^2 - k_h * W * sin(β) * cos(β)",
    ),
    "weight of a key in water": (
        retaining_wall_check, balance, "key - gamma_w * wet_key", "W_k",
        "(γ_c * d_k - γ_w * d_k) * b_k",
    ),
    "head behind a key": (
        balance, thrust, "behind - before", "h_k", "(h_w - h_t) * (x_k + b_k) / B"
    ),
    "arm of a thrust": (
        balance, thrust, "self.foot - level", "x_b", "x_0 - h_w / 3 * tan(θ)"
    ),
    "section of a wall": (
        inputs, section, "under - over", "A_t",
        "b_toe * (D - t_b) + (b_sb - b_st) * (D - t_b) / h_s / 2 * (D - t_b)",
    ),
}  # fmt: skip
"""Module that calls the kernel, the kernel, a difference in it, what is printed of it."""


@pytest.mark.parametrize("name", KERNELS)
def test_a_sign_changed_in_a_kernel_changes_the_printed_working(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    caller, kernel, text, symbol, right = KERNELS[name]
    check = {"infinite slope": InfiniteSlope, "arm of a thrust": LEANING}.get(name, RetainingWall)
    check = check.example() if isinstance(check, type) else check
    assert equations(check)[symbol] == right
    source = inspect.getsource(kernel)
    wrong = source.replace(text, text.replace(" - ", " + "))
    assert wrong != source
    changed: dict[str, Any] = {"__name__": kernel.__name__}
    exec(compile(wrong, "<changed>", "exec"), changed)
    for one in kernel.__all__:
        if hasattr(caller, one):
            monkeypatch.setattr(caller, one, changed[one])
    assert equations(check)[symbol] != right


def equations(check: Any) -> dict[str, str]:
    return {
        step.symbol: step.equation
        for step in result_steps(check, check.evaluate(leave_out=("overall",)))
    }


@pytest.mark.parametrize("kind", KINDS)
def test_the_methods_show_the_equations_of_the_example_as_they_are_worked(kind: str) -> None:
    said = method_text(kind)
    for symbol, equation in equations(examples_of(KINDS[kind])[0]).items():
        if equation:
            assert f"  {symbol} = {equation}" in said


def behind(number: Any) -> Iterator[Traced]:
    """Every number that another was made of, and itself."""
    if isinstance(number, Traced):
        yield number
        for one in number.operands:
            yield from behind(one)


def followed(check: Any) -> list[Any]:
    """The values of a check, with what they were made of."""
    values = check.evaluate().values
    known = {
        field: Traced(float(getattr(values, field)), symbol=one.symbol)
        for field, one, _ in fields.of(values)
    }
    again = traced(check).follow(traced_copy(values, {}, known))
    return [getattr(again, field) for field, _, _ in fields.of(again)]


def test_every_form_that_is_written_otherwise_gives_what_is_written() -> None:
    angle = Traced(31.3)
    numbers = [run(angle) for run, _ in WRITTEN if len(inspect.signature(run).parameters) == 1]
    for name in ("rotational", "retaining wall, vesic", "retaining wall, everything"):
        numbers += followed(CASES[name])
    falling = {"ground_fall_in_front": 8.0, "passive_fraction": 0.0}
    numbers += followed(dataclasses.replace(CASES["retaining wall, vesic"], **falling))
    for share in (0.0, 0.5):
        wall = dataclasses.replace(CASES["retaining wall, vesic"], passive_fraction=share)
        loads = FactoredLoads.of(wall, RECOMMENDED["DA2"]).on_paper()
        numbers.append(sliding(loads)(loads.cases("by_direction", pressing=False)[0]).resistance)
    forms = {form for _, form in WRITTEN}
    seen = set()
    for number in (one for whole in numbers for one in behind(whole)):
        if (form := number.operation) in forms:
            held = [f"({float(value_of(one))!r})" for one in number.operands]
            line = form.format(*held).replace("π", repr(math.pi))
            assert worked(line) == pytest.approx(float(number), rel=1e-9), form
            seen.add(form)
    assert seen == forms


def test_the_methods_show_what_holds_in_other_cases() -> None:
    said = method_text("planar_wedge")
    assert "or (H - x_c * tan(ψ_s)) / (tan(ψ) - tan(ψ_s))" in said
    assert "or r_u * γ * A / cos(ψ)" in said
    assert "z_m = min(2 * c′ / γ * tan(45 + φ′ / 2)" in said
    assert "or (γ_sat - γ_w) * d + q" in method_text("infinite_slope")


def test_the_rotation_around_a_wall_has_no_bare_number() -> None:
    check = OverallStability(wall=CASES["retaining wall, cantilever"])
    assert_whole(check, check.evaluate())


def test_arrays_have_no_working() -> None:
    check = dataclasses.replace(CASES["infinite slope, wet"], depth=np.array([1.0, 2.0]))
    result = check.evaluate(leave_out=("overall",))
    assert result_steps(check, result) == []
    assert working_of(check, result)[1] == ""


@pytest.mark.parametrize("set_name", ["DA1-1", "DA3"])
@pytest.mark.parametrize(
    "name", [name for name, check in CASES.items() if check.LIMIT_STATES and "curved" not in name]
)
def test_every_utilisation_is_followed_from_the_check_with_design_strengths(
    name: str, set_name: str
) -> None:
    check, factors = CASES[name], RECOMMENDED[set_name]
    states = design_check(check, factors, leave_out=check.SLOW).limit_states
    assert list(states) == [one for one in check.limit_states if one not in check.SLOW]
    for state in states.values():
        if not (math.isfinite(state.utilisation) and math.isfinite(state.resistance)):
            continue
        assert assert_followed(list(state.steps), rounded=True) >= 1
        by_symbol = {step.symbol: step.value for step in state.steps}
        assert state.steps[-1].symbol == "Λ"
        assert by_symbol["Λ"] == pytest.approx(float(state.utilisation), rel=1e-12)
        assert by_symbol["E_d"] == pytest.approx(float(state.effect), rel=1e-9)
        assert by_symbol["R_d"] == pytest.approx(float(state.resistance), rel=1e-9)
        # what stands in the lines is worked in the check with design strengths, or nothing there
        held = state.held.evaluate(leave_out=("overall",))
        there = {
            step.symbol for step in (*given_steps(state.held), *result_steps(state.held, held))
        }
        there |= set(working_of(state.held, held)[1].rpartition(": ")[2].rstrip(".").split(", "))
        there |= set(by_symbol) | set(SYMBOLS.values()) | {"π"}
        for step in state.steps:
            assert set(symbols_in(step.equation)) <= there | set(_of(check)), step.symbol


def _of(check: Any) -> list[str]:
    """Symbols of what a check is given itself."""
    return [one.symbol for _, one, _ in fields.of(check) if isinstance(one, fields.Amount)]


def test_every_kind_of_check_is_followed() -> None:
    assert {type(check) for check in CASES.values()} == set(KINDS.values())


def test_the_last_line_of_a_slope_gives_the_factor_itself() -> None:
    for name in ("infinite slope, wet", "planar wedge, everything"):
        check = CASES[name]
        result = check.evaluate(leave_out=("overall",))
        steps = {step.symbol: step for step in result_steps(check, result)}
        factor = result.factors_of_safety["sliding"]
        assert f"{worked(steps['F'].substituted):.2f}" == f"{factor:.2f}"


def test_given_values_stand_in_the_lines_as_they_are_listed() -> None:
    check = CASES["infinite slope, wet"]
    listed = {step.symbol: step.value for step in given_steps(check)}
    steps = {
        step.symbol: step for step in result_steps(check, check.evaluate(leave_out=("overall",)))
    }
    assert f"{listed['d']:.6g} - min({listed['d_w']:.6g}" in steps["h_w"].substituted


def test_along_a_curve_no_line_holds_a_cohesion_that_was_not_used() -> None:
    tests = _tests([20.0, 50.0, 100.0, 200.0], [22.0, 47.0, 82.0, 142.0])
    fit = fit_envelope(tests, envelope="power")
    soil = Soil(name="bank", strength=fit.strength(), unit_weight=18.3)
    check = InfiniteSlope(soil=soil, slope_angle=28.0, depth=6.0)
    assert not any(step.symbol.startswith(("c′", "φ′")) for step in given_steps(check))
    steps = result_steps(check, check.evaluate(leave_out=("overall",)))
    assert assert_followed(steps) >= 4
    assert not any("′" in step.equation.replace("σ′", "") for step in steps)


def _tests(normal: list[float], shear: list[float], half_band: float = math.nan) -> ShearTests:
    x, y = np.asarray(normal), np.asarray(shear)
    return ShearTests(
        names=tuple(f"T{i + 1}" for i in range(x.size)),
        normal=x,
        shear=y,
        low=y - half_band,
        high=y + half_band,
        band_std=half_band / math.sqrt(3.0),
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
    far = _tests([25.0, 50.0, 100.0, 150.0], [2.0, 20.2, 54.7, 90.1])
    yield "far below zero", fit_envelope(far)
    yield "zero assumed", fit_envelope(far, intercept="zero")
    line = _tests([25.0, 50.0, 100.0, 150.0], [20.3, 35.2, 65.8, 94.9])
    yield "repeats", fit_envelope(dataclasses.replace(line, repeat_std=4.2))
    yield "chord below zero", fit_envelope(_tests([25.0, 50.0, 100.0, 150.0], [20, 36, 73, 103]))
    yield "two tests", fit_envelope(_tests([25.0, 100.0], [21.3, 66.1]))
    yield "curve", fit_envelope(wide, envelope="power")
    circles = {
        "sound": ([95.0, 160.0, 260.0, 350.0], [160.0, 248.0, 391.0, 520.0]),
        "below zero": ([50.0, 100.0, 200.0], [88.0, 190.0, 420.0]),
        "wide": ([50.0, 80.0, 120.0], [180.0, 220.0, 400.0]),
        "two": ([95.0, 350.0], [160.0, 520.0]),
    }
    for name, (minor, deviator) in circles.items():
        tests = reduce_readings(triaxial_readings("ABCD"[: len(minor)], minor, deviator))
        for intercept in ("non_negative", "zero"):
            yield f"triaxial, {name}, {intercept}", fit_envelope(tests, intercept=intercept)


FITS = dict(_fits())


@pytest.mark.parametrize("name", FITS)
def test_a_pocket_calculator_gives_the_printed_value_of_every_step_of_a_fit(name: str) -> None:
    fit = FITS[name]
    steps = fit_steps(fit)
    assert assert_followed(steps) >= 4
    shown = {step.symbol: step.value for step in steps}
    assert shown["c′"] == fit.best_fit.cohesion
    assert shown["φ′"] == fit.best_fit.friction_angle


def maybe(values: st.SearchStrategy[float], otherwise: float | None = None) -> Any:
    return st.one_of(st.just(otherwise), values)


def soils(name: str) -> st.SearchStrategy[Soil]:
    return st.builds(
        lambda c, phi, gamma, more: Soil(
            name=name,
            strength=Strength(cohesion=c, friction_angle=phi),
            unit_weight=gamma,
            saturated_unit_weight=gamma + more,
        ),
        maybe(st.floats(0.5, 40.0), 0.0),
        st.floats(8.0, 44.0),
        st.floats(15.0, 21.0),
        st.floats(0.2, 3.0),
    )


lengths = st.floats(0.2, 3.0)
keys = st.one_of(
    st.just({}), st.fixed_dictionaries({"key_depth": lengths, "key_width": st.floats(0.1, 0.3)})
)
cantilevers = st.builds(
    lambda top, more, key, **sizes: Wall(
        unit_weight=24.0,
        stem_top_thickness=top,
        stem_bottom_thickness=top + more,
        **sizes,
        **(key | {"key_position": 0.0} if key else {}),
    ),
    top=st.floats(0.15, 0.5),
    more=maybe(st.floats(0.0, 0.4), 0.0),
    key=keys,
    stem_height=st.floats(0.5, 8.0),
    toe_width=maybe(lengths, 0.0),
    heel_width=maybe(lengths, 0.0),
    base_thickness=st.floats(0.2, 0.9),
)
gravities = st.builds(
    lambda top, front, back, height, key: Wall(
        unit_weight=23.0,
        shape="gravity",
        top_width=top,
        base_width=top + front + back,
        back_offset=back,
        height=height,
        **(key | {"key_position": 0.0} if key else {}),
    ),
    top=st.floats(0.4, 1.5),
    front=maybe(lengths, 0.0),
    back=maybe(lengths, 0.0),
    height=st.floats(0.8, 8.0),
    key=keys,
)


@st.composite
def retaining_walls(draw: st.DrawFn) -> RetainingWall:
    wall = draw(st.one_of(cantilevers, gravities))
    height = wall.height or wall.stem_height + wall.base_thickness
    theory = draw(st.sampled_from(["rankine", "coulomb"]))
    table = draw(maybe(st.floats(0.0, 1.6)))
    front = None if table is None else draw(maybe(st.floats(0.0, 1.0)))
    return RetainingWall(
        wall=wall,
        backfill=draw(soils("fill")),
        foundation=draw(soils("ground")),
        theory=theory,
        wall_friction_angle=draw(maybe(st.floats(0.0, 30.0))) if theory == "coulomb" else None,
        backfill_slope_angle=draw(maybe(st.floats(0.0, 20.0), 0.0)),
        surcharge=draw(maybe(st.floats(0.5, 40.0), 0.0)),
        water_table_depth=None if table is None else table * height,
        water_level_in_front=None if front is None else front * height,
        embedment=draw(maybe(st.floats(0.0, 0.99), 0.0)) * height,
        passive_fraction=draw(maybe(st.floats(0.0, 1.0), 0.0)),
        base_friction_angle=draw(maybe(st.floats(0.0, 40.0))),
        base_adhesion=draw(maybe(st.floats(0.0, 20.0), 0.0)),
        bearing_method=draw(st.sampled_from(["vesic", "meyerhof", "annex_d"])),
        bearing_depth_factors=draw(st.booleans()),
        allowable_bearing=draw(maybe(st.floats(50.0, 300.0))),
        horizontal_seismic_coefficient=draw(maybe(st.floats(0.01, 0.4), 0.0)),
    )


@st.composite
def earth_pressures(draw: st.DrawFn) -> EarthPressure:
    theory = draw(st.sampled_from(["at_rest", "rankine", "coulomb", "annex_c"]))
    passive = theory == "annex_c" or (theory != "at_rest" and draw(st.booleans()))
    height = draw(st.floats(1.0, 9.0))
    with_wall, by_planes = theory in ("coulomb", "annex_c"), theory == "coulomb"
    strips = st.builds(
        StripLoad, pressure=st.floats(1.0, 30.0), distance=maybe(lengths, 0.0), width=lengths
    )
    lines = st.builds(LineLoad, force=st.floats(1.0, 30.0), distance=lengths)
    crack = not passive and theory != "at_rest" and draw(st.booleans())
    return EarthPressure(
        soil=draw(soils("fill")),
        height=height,
        theory=theory,
        side="passive" if passive else "active",
        wall_friction_angle=draw(maybe(st.floats(0.0, 20.0), 0.0)) if with_wall else 0.0,
        wall_adhesion=draw(maybe(st.floats(0.1, 9.0), 0.0)) if by_planes else 0.0,
        wall_batter=draw(maybe(st.floats(-15.0, 20.0), 0.0)) if with_wall else 0.0,
        backfill_slope_angle=draw(maybe(st.floats(-8.0, 25.0), 0.0)),
        surcharge=draw(maybe(st.floats(0.5, 40.0), 0.0)),
        water_table_depth=draw(maybe(st.floats(0.0, 10.0))),
        tension_crack=crack or draw(st.booleans()),
        tension_crack_water_depth=draw(maybe(st.floats(0.1, 3.0), 0.0)) if crack else 0.0,
        overconsolidation_ratio=draw(st.floats(1.0, 6.0)) if theory == "at_rest" else 1.0,
        horizontal_seismic_coefficient=draw(maybe(st.floats(0.01, 0.3), 0.0)) if by_planes else 0.0,
        vertical_seismic_coefficient=draw(maybe(st.floats(-0.2, 0.2), 0.0)) if by_planes else 0.0,
        strip_loads=() if passive else tuple(draw(st.lists(strips, max_size=2))),
        line_loads=() if passive else tuple(draw(st.lists(lines, max_size=2))),
    )


@st.composite
def planar_wedges(draw: st.DrawFn) -> PlanarWedge:
    face, upper = draw(st.floats(30.0, 90.0)), draw(maybe(st.floats(0.0, 20.0), 0.0))
    share = draw(maybe(st.floats(0.05, 0.95)))
    crack, water = draw(maybe(st.floats(0.1, 6.0))), draw(st.booleans())
    return PlanarWedge(
        soil=draw(soils("bank")),
        height=draw(st.floats(1.0, 12.0)),
        face_angle=face,
        upper_slope_angle=upper,
        plane_angle=None if share is None else upper + share * (face - upper),
        tension_crack_distance=crack,
        tension_crack_water_depth=0.0 if crack is None or not water else draw(st.floats(0.0, 2.0)),
        pore_pressure_ratio=0.0 if water else draw(maybe(st.floats(0.0, 0.9), 0.0)),
        surcharge=draw(maybe(st.floats(0.5, 40.0), 0.0)),
        horizontal_seismic_coefficient=draw(maybe(st.floats(0.01, 0.3), 0.0)),
        support_force=draw(maybe(st.floats(1.0, 300.0), 0.0)),
        support_angle=draw(st.floats(-20.0, 60.0)),
        target=draw(maybe(st.floats(0.8, 2.0))),
    )


@st.composite
def infinite_slopes(draw: st.DrawFn) -> InfiniteSlope:
    table = draw(maybe(st.floats(0.0, 5.0)))
    return InfiniteSlope(
        soil=draw(st.one_of(soils("bank"), st.just(CURVED))),
        slope_angle=draw(st.floats(3.0, 70.0)),
        depth=draw(st.floats(0.3, 6.0)),
        water_table_depth=table,
        submerged=table is None and draw(st.booleans()),
        seepage_angle=None if table is None else draw(maybe(st.floats(0.0, 60.0))),
        surcharge=draw(maybe(st.floats(0.5, 20.0), 0.0)),
        root_cohesion=draw(maybe(st.floats(0.1, 6.0), 0.0)),
        horizontal_seismic_coefficient=draw(maybe(st.floats(0.01, 0.4), 0.0)),
        target=draw(maybe(st.floats(0.8, 2.0))),
    )


def assert_worked_through(check: Any) -> None:
    try:
        result = check.evaluate(leave_out=("overall",))
    except InputError:
        return
    assert_followed(result_steps(check, result), rounded=True)
    assert_whole(check, result)


@settings(max_examples=150, deadline=None)
@given(retaining_walls())
def test_the_working_of_any_retaining_wall_can_be_followed(check: RetainingWall) -> None:
    assert_worked_through(check)


@settings(max_examples=150, deadline=None)
@given(earth_pressures())
def test_the_working_of_any_earth_pressure_can_be_followed(check: EarthPressure) -> None:
    assert_worked_through(check)


@settings(max_examples=20, deadline=None)
@given(planar_wedges())
def test_the_working_of_any_planar_wedge_can_be_followed(check: PlanarWedge) -> None:
    assert_worked_through(check)


@settings(max_examples=100, deadline=None)
@given(infinite_slopes())
def test_the_working_of_any_infinite_slope_can_be_followed(check: InfiniteSlope) -> None:
    assert_worked_through(check)


@pytest.mark.parametrize("shape", ["square", "circle"])
@pytest.mark.parametrize("state", ["peak", "end_of_test"])
@pytest.mark.parametrize("corrected", [True, False])
def test_a_pocket_calculator_follows_a_record_from_its_rows(
    shape: Any, state: str, corrected: bool
) -> None:
    laboratory = strength_from_readings(
        read_readings(SITE / "bank-records.csv"),
        Specimen(shape=shape, width=60.0, added_normal_force=4.0, zero_reading=-1.5),
        choices=Choices(state=state, area_correction=corrected),
    )
    steps = list(laboratory.working())
    assert assert_followed(steps, rounded=True) > 4 * (3 if state == "peak" else 2)
    points = {step.symbol: step for step in steps if step.symbol[0] in "στ"}
    for index in range(4):
        for stress, tests in (
            ("σ′", laboratory.fit.tests.normal),
            ("τ", laboratory.fit.tests.shear),
        ):
            found = worked(points[f"{stress}_{index + 1}"].substituted)
            assert found == pytest.approx(float(tests[index]), rel=1e-5)
