"""What holds for every check in the registry, without being told about it."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import KINDS, Soil, fields
from slipmargin.stability.check import examples_of, factors_alone
from slipmargin.stability.uncertainty.replaced import SOIL_FIELDS, with_field, with_soil_field
from slipmargin.strength import InputError, Notice, PowerCurve, Severity, Strength
from slipmargin.strength.working import FUNCTIONS


def soil(name: str, c: float, phi: float, **more: Any) -> Soil:
    return Soil(
        strength=Strength(cohesion=c, friction_angle=phi, **more),
        unit_weight=18.0,
        saturated_unit_weight=20.0,
        name=name,
    )


EXAMPLES: dict[str, Any] = {kind: examples_of(check)[0] for kind, check in KINDS.items()}


def last_soil(kind: str) -> str:
    """Name of a soil of a case: that below a wall."""
    return str([*fields.soils(CASES[kind])][-1].name)


def on(example: Any, strength_of: Any) -> Any:
    """The example with other strengths in its soils."""
    changes = {}
    for name, declaration, _ in fields.of(example):
        held = getattr(example, name)
        if isinstance(declaration, fields.SoilField) and held is not None:
            changes[name] = dataclasses.replace(held, strength=strength_of(held.strength))
        elif isinstance(declaration, fields.Part) and declaration.many:
            changes[name] = tuple(on(one, strength_of) for one in held)
    return dataclasses.replace(example, **changes)


def curve(coefficient: Any = 0.75, exponent: Any = 0.85) -> Strength:
    return Strength.from_curve(
        PowerCurve(coefficient=coefficient, exponent=exponent, tested_range=(10.0, 200.0))
    )


def refuses_a_curve(example: Any) -> bool:
    try:
        on(example, lambda _: curve()).evaluate(leave_out=("overall",))
    except InputError as error:
        return "curve" in str(error)
    return False


CURVED = " on a curve"
REFUSING = [kind for kind, example in EXAMPLES.items() if refuses_a_curve(example)]
FOLLOWING = [kind for kind in EXAMPLES if kind not in REFUSING]
CASES = EXAMPLES | {kind + CURVED: on(EXAMPLES[kind], lambda _: curve()) for kind in FOLLOWING}
# each tangent is a search of its own, which a load on the crest makes several times longer
CASES["rotational" + CURVED] = dataclasses.replace(CASES["rotational" + CURVED], surcharge=0.0)
"""Every kind on straight envelopes and on curved ones."""


def test_the_checks_that_ship_follow_a_curve() -> None:
    shipped = {"infinite_slope", "planar_wedge", "rotational", "earth_pressure", "retaining_wall"}
    shipped |= {"layered_slope"}
    assert not shipped & set(REFUSING)


def amounts(record: Any, path: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], fields.Amount]]:
    found = []
    for name, declaration, _ in fields.of(record):
        held = getattr(record, name)
        if held is None:
            continue
        if isinstance(declaration, fields.Amount):
            found.append(((*path, name), declaration))
        elif isinstance(declaration, fields.Part) and not declaration.many:
            found += amounts(held, (*path, name))
    return found


def value_at(record: Any, path: tuple[str, ...]) -> float:
    for name in path:
        record = getattr(record, name)
    return float(record)


# fields that another field of the example excludes
EXCLUDED = {
    ("planar_wedge", "pore_pressure_ratio"),
    ("planar_wedge", "water_line_rise"),
    ("rotational", "water_line_rise"),
    ("layered_slope", "pore_pressure_ratio"),
    ("earth_pressure", "overconsolidation_ratio"),
    ("retaining_wall", "ground_fall_in_front"),
}

# each value of a curved rotation is a few searches
SLOW = {"rotational" + CURVED: pytest.mark.slow}


def marks(kind: str) -> list[pytest.MarkDecorator]:
    return [SLOW[kind]] if kind in SLOW else []


AMOUNTS = [
    pytest.param(kind, path, limits, id=f"{kind}-{'.'.join(path)}", marks=marks(kind))
    for kind, example in CASES.items()
    for path, limits in amounts(example)
]


def outputs(result: Any) -> dict[str, Any]:
    found = dict(result.factors_of_safety)
    found |= {name: getattr(result.values, name) for name, _, _ in fields.of(result.values)}
    return found


def evaluated(check: Any) -> dict[str, Any]:
    return outputs(check.evaluate(leave_out=("overall",)))


@cache
def as_it_is(kind: str) -> dict[str, Any]:
    """The outputs of a case, with which every array over one of its fields begins."""
    return evaluated(CASES[kind])


def assert_arrays_equal_scalars(
    with_value: Any, values: np.ndarray, skip: set[str], kind: str = ""
) -> None:
    many = evaluated(with_value(values))
    singles = [as_it_is(kind)] if kind else []
    singles += [evaluated(with_value(float(v))) for v in values[len(singles) :]]
    for name, array in many.items():
        if name in skip:
            continue
        expected = [float(np.asarray(single[name])) for single in singles]
        got = np.broadcast_to(np.asarray(array, dtype=float), values.shape)
        scale = max(1e-9, float(np.nanmax(np.abs(expected), initial=0.0)))
        assert_allclose(got, expected, rtol=2e-6, atol=1e-6 * scale, err_msg=name)


# where the surface is searched for, its place is only as sharp as a flat minimum allows
SEARCHED = {
    "rotational": {
        name
        for name, declaration, _ in fields.of(
            type(EXAMPLES["rotational"].evaluate(leave_out=("overall",)).values)
        )
        if name not in ("factor_of_safety", "slope_height")
    }
}


@pytest.mark.parametrize(("kind", "path", "limits"), AMOUNTS)
def test_an_array_in_any_field_gives_what_its_scalars_give(
    kind: str, path: tuple[str, ...], limits: fields.Amount
) -> None:
    values = values_about(kind, path)
    with_value = lambda v: with_field(CASES[kind], path, v)  # noqa: E731
    assert_arrays_equal_scalars(with_value, values, skipped(kind), kind)


def values_about(kind: str, path: tuple[str, ...]) -> np.ndarray:
    if (kind.removesuffix(CURVED), path[-1]) in EXCLUDED:
        pytest.skip("another field of the example excludes it")
    base = value_at(CASES[kind], path)
    return base + np.array([0.0, 0.02 * abs(base) or 0.01])


def skipped(kind: str) -> set[str]:
    return SEARCHED.get(kind.removesuffix(CURVED), set())


ARRAYS = {
    "pairs": lambda i: Strength(
        cohesion=np.array([5.0, 7.0])[i], friction_angle=np.array([31.0, 33.0])[i]
    ),
    "curves": lambda i: curve(np.array([0.7, 0.8])[i], np.array([0.9, 0.8])[i]),
}


def on_strength(kind: str, how: str, one: Any) -> Any:
    return on(CASES.get(kind + CURVED, CASES[kind]), lambda _: ARRAYS[how](one))


def factors(check: Any) -> dict[str, Any]:
    return dict(factors_alone(check)) or {"thrust": evaluated(check)["thrust"]}


@cache
def first_factors(kind: str, how: str) -> dict[str, Any]:
    return factors(on_strength(kind, how, 0))


def _leisurely(name: str, how: str) -> bool:
    """Rotations along a curve are searched for many times: daily two of their fields."""
    return how == "curves" and name in OF_ROTATIONS - {"rotational-height", "rotational-surcharge"}


OF_ROTATIONS = {one.id for one in AMOUNTS if one.id.startswith("rotational-")}


@pytest.mark.parametrize(
    ("kind", "path", "limits", "how"),
    [
        pytest.param(
            *one.values,
            how,
            id=f"{one.id}-{how}",
            marks=[pytest.mark.slow] if _leisurely(one.id, how) else [],
        )
        for how in ARRAYS
        for one in AMOUNTS
        if CURVED not in one.id
    ],
)
def test_an_array_of_strengths_goes_with_an_array_in_any_field(
    kind: str, path: tuple[str, ...], limits: fields.Amount, how: str
) -> None:
    if how == "curves" and kind in REFUSING:
        pytest.skip("it refuses curves")
    values = values_about(kind, path)

    def moved(one: Any) -> dict[str, Any]:
        return factors(with_field(on_strength(kind, how, one), path, values[one]))

    many = moved(slice(None))
    same = value_at(on_strength(kind, how, 0), path) == values[0]
    singles = first_factors(kind, how) if same else moved(0), moved(1)
    for name, got in many.items():
        expected = [float(single[name]) for single in singles]
        assert_allclose(np.broadcast_to(got, 2), expected, rtol=2e-6, err_msg=name)


@pytest.mark.parametrize("kind", FOLLOWING)
def test_an_array_of_curves_gives_what_its_scalars_give(kind: str) -> None:
    values = np.array([0.70, 0.80])
    with_value = lambda v: on(CASES[kind + CURVED], lambda _: curve(v, 1.6 - v))  # noqa: E731
    assert_arrays_equal_scalars(with_value, values, skipped(kind))


@pytest.mark.parametrize("kind", FOLLOWING)
def test_a_curve_of_exponent_one_is_the_line_through_the_origin(kind: str) -> None:
    straight = on(EXAMPLES[kind], lambda _: curve(0.75, 1.0))
    angle = float(np.degrees(np.arctan(0.75)))
    line = on(EXAMPLES[kind], lambda _: Strength(cohesion=0.0, friction_angle=angle))
    found, expected = (
        one.evaluate(leave_out=("overall",)).factors_of_safety for one in (straight, line)
    )
    for name, factor in expected.items():
        assert found[name] == pytest.approx(float(factor), rel=1e-6), name


@pytest.mark.parametrize("field", ["cohesion", "friction_angle"])
@pytest.mark.parametrize("kind", FOLLOWING)
def test_no_pair_of_a_curve_can_be_varied(kind: str, field: str) -> None:
    with pytest.raises(InputError, match="no straight line stands in"):
        with_soil_field(CASES[kind + CURVED], last_soil(kind), field, 20.0)


@pytest.mark.parametrize("field", SOIL_FIELDS)
@pytest.mark.parametrize("kind", [pytest.param(kind, marks=marks(kind)) for kind in CASES])
def test_an_array_in_a_soil_gives_what_its_scalars_give(kind: str, field: str) -> None:
    if CURVED in kind and field in ("cohesion", "friction_angle"):
        pytest.skip("a curve has none of its own")
    base = {"cohesion": 4.0, "friction_angle": 30.0, "unit_weight": 18.0}.get(field, 20.0)
    values = base + np.array([0.0, 0.5])
    with_value = lambda v: with_soil_field(CASES[kind], last_soil(kind), field, v)  # noqa: E731
    assert_arrays_equal_scalars(with_value, values, skipped(kind))


@pytest.mark.parametrize("kind", EXAMPLES)
def test_a_long_array_of_friction_angles_is_one_call(kind: str) -> None:
    angles = np.linspace(20.0, 40.0, 201)
    moved = with_soil_field(EXAMPLES[kind], last_soil(kind), "friction_angle", angles)
    result = moved.evaluate(leave_out=("overall",))
    for factors in result.factors_of_safety.values():
        assert np.broadcast_to(factors, angles.shape).shape == (201,)
        assert np.all(np.isfinite(factors))
    if kind != "retaining_wall":
        for factors in result.factors_of_safety.values():
            assert np.all(np.diff(factors) > 0.0)


@pytest.mark.parametrize(("kind", "path", "limits"), AMOUNTS)
def test_a_value_beyond_a_limit_is_refused_by_name(
    kind: str, path: tuple[str, ...], limits: fields.Amount
) -> None:
    outside = (limits.low - 1.0, limits.above, limits.high + 1.0, limits.below)
    bad = [np.nan, np.inf, *filter(np.isfinite, outside)]
    for value in bad:
        with pytest.raises(InputError) as caught:
            with_field(CASES[kind], path, value).evaluate(leave_out=("overall",))
        assert caught.value.place.split(".")[-1] == path[-1]


@pytest.mark.parametrize("kind", CASES)
def test_the_caveats_of_a_strength_reach_every_check(kind: str) -> None:
    caveat = Notice.stop("tested-too-fast", "The tests were too fast.")
    warned = on(CASES[kind], lambda held: dataclasses.replace(held, caveats=(caveat,)))
    assert caveat in warned.evaluate(leave_out=("overall",)).notices


@pytest.mark.parametrize("kind", CASES)
def test_the_tested_range_is_compared_by_every_check(kind: str) -> None:
    far = (5000.0, 9000.0)
    moved = on(CASES[kind], lambda held: dataclasses.replace(held, tested_range=far))
    codes = {n.code for n in moved.evaluate(leave_out=("overall",)).notices}
    assert "outside-tested-stress-range" in codes


@pytest.mark.parametrize("kind", CASES)
def test_every_check_says_that_cohesion_alone_is_an_undrained_strength(kind: str) -> None:
    held = Strength(cohesion=60.0, friction_angle=0.0)
    tilted = ("upper_slope_angle", "backfill_slope_angle", "wall_friction_angle")
    zero = (*tilted, "horizontal_seismic_coefficient")
    given = {name: 0.0 for name in zero if getattr(CASES[kind], name, None) is not None}
    given |= {"firm_ground_depth": 2.0} if hasattr(CASES[kind], "firm_ground_depth") else {}
    bare = dataclasses.replace(on(CASES[kind], lambda _: held), **given)
    (said, *_) = [
        n for n in bare.evaluate(leave_out=("overall",)).notices if n.code == "no-friction"
    ]
    assert said.severity == Severity.CAUTION


@pytest.mark.parametrize(
    "kind",
    [
        kind
        for kind, example in EXAMPLES.items()
        if KINDS[kind].STRUCTURE == "slope" and hasattr(example, "horizontal_seismic_coefficient")
    ],
)
def test_every_shaken_slope_cautions_that_the_ground_is_taken_to_keep_its_strength(
    kind: str,
) -> None:
    shaken = dataclasses.replace(EXAMPLES[kind], horizontal_seismic_coefficient=0.1)
    (said,) = [n for n in shaken.evaluate().notices if n.code == "pseudo-static"]
    assert said.severity == Severity.CAUTION
    assert "loose wet ground" in said.text


def rare(check: Any) -> list[str]:
    return [
        n.text for n in check.evaluate(leave_out=("overall",)).notices if n.code == "rare-value"
    ]


@pytest.mark.parametrize("kind", EXAMPLES)
def test_every_check_asks_about_a_slip_of_unit_in_its_soils(kind: str) -> None:
    example = EXAMPLES[kind]
    assert rare(example) == []
    held = next(fields.soils(example))
    for field, value, word in (
        ("unit_weight", held.unit_weight / 10.0, "unit weight 1.8 kN/m³"),
        ("strength", soil("", 6.0, 47.0).strength, "friction angle 47 deg is rare; 5 to 45"),
        ("strength", soil("", 0.006, 31.0).strength, "cohesion 0.006 kPa is rare; 0.1 to 60"),
    ):
        (text,) = rare(with_soil_field(example, held.name, field, value))
        assert text.startswith(f"{held.name}: {word}")


@pytest.mark.parametrize(
    ("kind", "changes", "word"),
    [
        ("infinite_slope", {"slope_angle": 0.45}, "slope angle 0.45 deg"),
        ("infinite_slope", {"depth": 0.002, "water_table_depth": 0.001}, "depth 0.002 m"),
        ("planar_wedge", {"upper_slope_angle": 0.1}, "upper slope angle 0.1 deg"),
        ("rotational", {"surcharge": 5000.0}, "surcharge 5000 kPa"),
        ("earth_pressure", {"wall_friction_angle": 0.35}, "wall friction angle 0.35 deg"),
        ("earth_pressure", {"wall_batter": -0.1}, "wall batter -0.1 deg"),
        ("retaining_wall", {"surcharge": 0.01}, "surcharge 0.01 kPa"),
    ],
)
def test_a_check_asks_about_a_slip_of_unit_in_its_own_sizes(
    kind: str, changes: dict[str, float], word: str
) -> None:
    """Radians for degrees, millimetres for metres, Pa for kPa, in a notebook."""
    found = rare(dataclasses.replace(EXAMPLES[kind], **changes))
    assert any(text.startswith(word) for text in found)
    assert any("radians" in text for text in found) == (" deg" in word)


def test_radians_for_the_friction_angle_are_asked_about() -> None:
    (text,) = rare(dataclasses.replace(EXAMPLES["rotational"], soil=soil("bank", 6.0, 0.56)))
    assert text.startswith("bank: friction angle 0.56 deg is rare")
    assert "radians for degrees" in text


def test_an_array_is_not_asked_about() -> None:
    values = np.array([0.002, 2.0])
    example = dataclasses.replace(EXAMPLES["infinite_slope"], depth=values, water_table_depth=None)
    assert rare(dataclasses.replace(example, seepage_angle=None)) == []


@pytest.mark.parametrize("kind", EXAMPLES)
def test_every_kind_names_its_limit_states(kind: str) -> None:
    result = EXAMPLES[kind].evaluate()
    assert tuple(result.factors_of_safety) == EXAMPLES[kind].limit_states


@pytest.mark.parametrize("kind", EXAMPLES)
def test_every_value_has_a_symbol_a_meaning_and_a_known_unit(kind: str) -> None:
    for name, declaration, _ in fields.of(EXAMPLES[kind].evaluate(leave_out=("overall",)).values):
        assert isinstance(declaration, fields.Given)
        assert declaration.symbol
        assert declaration.says
        assert fields.json_name(name, declaration)


def taken_symbols(record: Any) -> list[str]:
    """Symbols of everything a record can be given, whether it is or not."""
    found = []
    for _, declaration, _ in fields.of(record):
        match declaration:
            case fields.Amount(symbol=symbol):
                found.append(symbol)
            case fields.SoilField(suffix=suffix):
                found += [one + suffix for one in ("c′", "φ′", "γ", "γ_sat", "p_a", "A_e", "m_e")]
            case fields.Part(kind=kind, many=False):
                found += taken_symbols(kind)
            case _:
                pass
    return found


# values that hold an input, or what stands for it where it is not given
SAME_QUANTITY = {("rotational", "H"), ("infinite_slope", "θ")}


@pytest.mark.parametrize("kind", EXAMPLES)
def test_no_symbol_stands_for_two_quantities(kind: str) -> None:
    given = [
        declaration.symbol
        for _, declaration, _ in fields.of(EXAMPLES[kind].evaluate(leave_out=("overall",)).values)
    ]
    assert sorted(set(given)) == sorted(given)
    taken = taken_symbols(EXAMPLES[kind])
    assert sorted(set(taken)) == sorted(taken)
    assert {(kind, one) for one in set(given) & set(taken)} <= SAME_QUANTITY
    # a word of the equations would be read as a function
    assert not {*given, *taken, "π"} & FUNCTIONS


def test_what_a_value_hangs_on_is_a_symbol_of_its_check() -> None:
    for example in EXAMPLES.values():
        values = list(fields.of(example.evaluate(leave_out=("overall",)).values))
        symbols = {declaration.symbol for _, declaration, _ in values} | {*taken_symbols(example)}
        for _, declaration, _ in values:
            assert set(declaration.hangs_on) <= symbols
