"""What is said to be touched by published values is: altered, it moves what they hold."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from slipmargin.cli.verification.features import checks_in, covered, features, touched
from slipmargin.cli.verification.rows import Row, published_rows
from slipmargin.cli.verification.run import TOPICS, left_out, run_row, verify_document
from slipmargin.stability import KINDS, fields

ROWS = [row for kind in TOPICS for row in published_rows(kind)]
# a spiral is searched for each; one field of one such row takes seconds
QUICK = [row for row in ROWS if list(checks_in(row)) and row.call != "rotational.limits"]


def altered(held: Any, declaration: Any) -> list[Any]:
    """Other values that a field may hold."""
    match declaration:
        case fields.Choice(options=options):
            return [one for one in options if one != held]
        case fields.Flag():
            return [not held]
        case fields.Ground():
            return [[[x, 1.02 * y] for x, y in held]]
    if isinstance(held, list):
        return [[altered(one, None)[0] for one in held]]
    return [0.0 if held == "full" else held * 0.98 + (0.001 if held <= 0.0 else 0.0)]


def places(record: type, given: Mapping[str, Any], path: tuple[Any, ...] = ()) -> Iterator[Any]:
    """Name, path and declaration of what a row gives a check."""
    for name, declaration, _ in fields.of(record):
        held = given.get(name)
        if held is None:
            continue
        at = (*path, name)
        match declaration:
            case fields.SoilField():
                strength = held.get("strength", {})
                yield from ((at, (*at, "strength", one), None) for one in strength)
                yield from ((at, (*at, one), None) for one in held if one.endswith("weight"))
            case fields.Part(kind=kind, many=many):
                for index, one in enumerate(held) if many else ((None, held),):
                    yield from places(kind, one, at if index is None else (*at, index))
            case _:
                yield at, at, declaration


def moves(row: Row, path: tuple[Any, ...], declaration: Any) -> bool:
    """Whether what a row holds moves with the value at a path of its inputs."""
    inputs = copy.deepcopy(dict(row.inputs))
    *way, last = path
    holder: Any = inputs
    for part in way:
        holder = holder[part]
    before = [check["computed"] for check in run_row(row)]
    for other in altered(holder[last], declaration):
        holder[last] = other
        after = [check["computed"] for check in run_row(dataclasses.replace(row, inputs=inputs))]
        pairs = zip(after, before, strict=True)
        if any(b is None or a is None or abs(b - a) > 1e-9 * abs(b) for a, b in pairs):
            return True
    return False


def said(row: Row) -> Iterator[tuple[str, tuple[Any, ...], Any]]:
    """Fields a row is said to touch, with the path of each in its inputs."""
    names = touched(row)
    for kind, given in checks_in(row):
        root = () if row.call.split(".")[0] in KINDS else ("check",)
        for _, path, declaration in places(KINDS[kind], given):
            name = ".".join(str(p) for p in path if p != "strength" and not isinstance(p, int))
            if f"{kind}.{name}" in names and name != row.inputs.get("field"):
                yield f"{kind}.{name}", (*root, *path), declaration


LONG = {"rot-griffiths-lane-pool", "rot-griffiths-lane-full", "ls-das-15-5", "ls-acads-1d"}
"""Rows that are searched for some seconds with every field."""


@pytest.mark.parametrize(
    "row",
    [
        pytest.param(row, id=row.id, marks=[pytest.mark.slow] if row.id in LONG else [])
        for row in QUICK
    ],
)
def test_a_field_that_a_row_touches_moves_what_it_holds(row: Row) -> None:
    moved: dict[str, bool] = {}
    for name, path, declaration in said(row):
        moved[name] = moved.get(name, False) or moves(row, path, declaration)
    assert [name for name, one in moved.items() if not one] == []


def test_every_field_and_limit_state_and_step_of_the_fit_is_counted() -> None:
    names = features()
    assert len(names) == len(set(names))
    for kind, check in KINDS.items():
        assert {f"{kind}.{state}" for state in check.LIMIT_STATES} <= set(names)
        for name, declaration, _ in fields.of(check):
            if name != "target" and not isinstance(declaration, fields.Part | fields.SoilField):
                assert f"{kind}.{name}" in names
    assert {"fit.best_fit", "retaining_wall.wall.stem_height", "rotational.soil.cohesion"} <= {
        *names
    }


def test_the_columns_of_a_table_tell_what_kind_of_test_it_holds() -> None:
    (triaxial,) = [one for one in covered(ROWS) if one.name == "fit.triaxial"]
    assert triaxial.independent >= 5
    assert triaxial.read >= 3


def test_rows_of_one_example_count_once_and_identities_do_not() -> None:
    (row, *_) = [one for one in ROWS if one.id == "pln-wyllie-mah-6-1a"]
    twin = dataclasses.replace(row, id="twin", from_memory=False)
    other = dataclasses.replace(row, id="other", example="other")
    identity = dataclasses.replace(row, id="apart", example="apart", basis="identity")

    def crack(*rows: Row) -> tuple[int, int]:
        (one,) = [f for f in covered(rows) if f.name == "planar_wedge.tension_crack_distance"]
        return one.independent, one.read

    assert crack() == (0, 0)
    assert crack(row) == (1, 0)
    assert crack(row, twin) == (1, 1)
    assert crack(row, other) == (2, 0)
    assert crack(row, identity) == (1, 0)


def test_what_was_left_out_is_named_with_both_numbers_and_does_not_reproduce() -> None:
    checks = {row.id: left_out(row) for row in QUICK if row.left_out}
    assert {"mo_kramer_11", "mazindrani_ganjali_ka_table"} <= set(checks)
    for id_, found in checks.items():
        assert found
        assert all(check["computed"] is not None for check in found), id_
        assert not any(check["reproduces"] for check in found), id_
    shown = verify_document("bearing_capacity")["left_out"]
    assert [(one["published"], round(one["computed"], 2)) for one in shown][-1] == (42.4, 42.16)
    assert "42.4 at 34 deg" in shown[-1]["note"]


def test_the_features_of_one_kind_are_those_of_its_check() -> None:
    document = verify_document("infinite_slope")
    names = {one["name"] for one in document["features"]}
    assert names == {name for name in features() if name.startswith("infinite_slope.")}
    (sliding,) = [f for f in document["features"] if f["name"] == "infinite_slope.sliding"]
    assert sliding["independent"] >= sliding["read"] > 0
