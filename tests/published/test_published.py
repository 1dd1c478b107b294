"""Every check value that ships, run as the program runs it; and the runner itself."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from slipmargin.cli.verification.rows import Row, published_rows, rows_of
from slipmargin.cli.verification.run import REACHED, TOPICS, compare, run_row, verify_document
from slipmargin.stability import KINDS
from slipmargin.strength import InputError

ROWS = [row for kind in TOPICS for row in published_rows(kind)]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.kind}-{row.id}")
def test_a_check_value_reproduces_to_its_printed_rounding(row: Row) -> None:
    checks = run_row(row)
    assert bool(checks) == bool(row.expected)
    assert checks or row.left_out
    assert [check for check in checks if not check["reproduces"]] == []


def test_every_kind_of_check_has_at_least_five_independent_published_values() -> None:
    for kind in KINDS:
        examples = {row.example for row in ROWS if row.kind == kind and row.is_published}
        assert len(examples) >= 5, kind


def calls(given: Any) -> Iterator[str]:
    """Names of the calls and kinds among inputs, however deep."""
    if isinstance(given, dict):
        yield from (given[key] for key in ("call", "kind") if key in given)
        given = list(given.values())
    for one in given if isinstance(given, list) else []:
        yield from calls(one)


def test_all_that_a_row_may_call_is_called_by_some_row() -> None:
    used = {row.call.split(".")[0] for row in ROWS} | {c for row in ROWS for c in calls(row.inputs)}
    assert used == {*REACHED, *KINDS}


def test_every_row_names_its_source() -> None:
    for row in ROWS:
        assert len(row.source) > 10, row.id
        unsourced = row.source.startswith("common practice, no source")
        assert unsourced == (row.basis == "common practice"), row.id


def test_every_row_has_a_name_of_its_own() -> None:
    assert len({row.id for row in ROWS}) == len(ROWS)


# The runner

PF = "normal_probability"


def row(**changed: Any) -> Row:
    given = {
        "kind": "reliability",
        "id": "made-up",
        "topic": "reliability",
        "example": "made-up",
        "source": "made up for this test",
        "from_memory": False,
        "call": "normal_probability",
        "inputs": {"mean": 2.0, "std": 1.0},
        "expected": {PF: 0.1587},
    }
    return Row(**(given | changed))


WHY = "made up too"


def test_a_value_within_its_rounding_reproduces_and_one_beyond_it_does_not() -> None:
    assert [c["reproduces"] for c in run_row(row())] == [True]
    assert [c["reproduces"] for c in run_row(row(expected={PF: 0.1588}))] == [False]
    # the probability is 0.158655: 0.0003 of it lets 0.1587 pass, 0.0002 does not
    assert run_row(row(tolerance_reason=WHY, rtol=0.0003))[0]["reproduces"]
    assert not run_row(row(tolerance_reason=WHY, rtol=0.0002))[0]["reproduces"]


@pytest.mark.parametrize(
    ("printed", "good"), [("0.16", True), ("0.159", True), ("0.160", False), ("1", False)]
)
def test_a_tolerance_is_half_a_unit_of_the_last_printed_digit(printed: str, good: bool) -> None:
    text = f"""
[[case]]
id = "made-up"
source = "made up for this test"
from_memory = false
call = "{PF}"
inputs = {{ mean = 2.0, std = 1.0 }}
expected = {{ {PF} = {printed} }}
"""
    (one,) = rows_of("reliability", tomllib.loads(text, parse_float=Decimal)["case"])
    assert [check["reproduces"] for check in run_row(one)] == [good]


def test_another_tolerance_states_its_reason() -> None:
    with pytest.raises(ValueError, match="without a reason"):
        row(atol=0.1)
    assert row(atol=0.1, basis="other method").atol == 0.1
    for one in ROWS:
        if one.tolerance_reason:
            assert one.rtol or one.atol or one.rtol_key or one.atol_key, one.id


def test_a_tolerance_of_one_quantity_stands_in_for_that_of_the_row() -> None:
    exact = row(atol=1e-9, tolerance_reason=WHY)
    assert not run_row(exact)[0]["reproduces"]
    assert run_row(row(atol=1e-9, atol_key={PF: 0.00005}, tolerance_reason=WHY))[0]["reproduces"]
    assert not run_row(row(atol=1.0, atol_key={PF: 1e-9}, tolerance_reason=WHY))[0]["reproduces"]
    with pytest.raises(ValueError, match="nothing that is expected"):
        row(rtol_key={"pg": 0.1})


@pytest.mark.parametrize("found", [math.nan, None, [0.1587, 0.1587], "0.1587 or so"])
def test_what_is_no_number_or_misshapen_does_not_reproduce(found: Any) -> None:
    checks = compare(row(), PF, [found])
    assert [check["reproduces"] for check in checks] == [False]
    assert checks[0]["computed"] is None
    assert checks[0]["difference"] is None


@pytest.mark.parametrize("found", [{}, {"value": 1.0}, None, 0.1587])
def test_a_result_without_the_place_asked_for_does_not_reproduce(found: Any) -> None:
    (check,) = compare(row(expected={"values.thrust": 0.1587}), "values.thrust", [found])
    assert not check["reproduces"]
    assert check["failure"] == "normal_probability gives no values.thrust"


def test_a_call_that_breaks_does_not_reproduce_and_says_why() -> None:
    checks = run_row(row(inputs={"mean": 2.0}))
    assert [check["reproduces"] for check in checks] == [False]
    assert "std" in checks[0]["failure"]
    unknown = run_row(row(call="gamma_probability", expected={"gamma_probability": 0.1587}))
    assert [check["reproduces"] for check in unknown] == [False]


def test_a_table_is_a_record_a_list_is_an_array_and_a_call_may_stand_in_another() -> None:
    sand = {"strength": {"cohesion": 0.0, "friction_angle": [30.0, 45.0]}, "unit_weight": 20.0}
    dry = {"soil": sand, "slope_angle": 30.0, "depth": 2.0}
    factor = {"factors_of_safety.sliding": [1.0, 3.0**0.5]}
    assert all(
        check["reproduces"]
        for check in run_row(
            row(
                call="infinite_slope", inputs=dry, expected=factor, atol=1e-12, tolerance_reason=WHY
            )
        )
    )
    turned = {
        "friction_angle": 30.0,
        "seismic_angle": {"call": "seismic_angle", "k_h": 0.0, "k_v": 0.0},
    }
    third = {"coulomb": 1.0 / 3.0}
    (check,) = run_row(
        row(call="coulomb", inputs=turned, expected=third, atol=1e-12, tolerance_reason=WHY)
    )
    assert check["reproduces"]
    wrong = dry | {"soil": sand | {"colour": 1.0}}
    (check, _) = run_row(row(call="infinite_slope", inputs=wrong, expected=factor))
    assert not check["reproduces"]


def test_entries_are_put_in_one_after_the_other_where_the_row_says_so() -> None:
    units = {"text": ["1 ft", "1 kip"], "dimension": ["length", "force"]}
    given = {
        "call": "parse",
        "inputs": units,
        "each": ("text", "dimension"),
        "atol": 0.0005,
        "tolerance_reason": WHY,
    }
    assert [
        c["reproduces"] for c in run_row(row(expected={"value": [0.305, 4448.222]}, **given))
    ] == [
        True,
        True,
    ]
    scaled = row(expected={"value": [1.0, 1.0]}, scale={"value": [0.3048, 4448.222]}, **given)
    assert all(check["reproduces"] for check in run_row(scaled))
    assert not any(c["reproduces"] for c in run_row(row(expected={"value": [1.0, 1.0]}, **given)))


def test_cells_that_are_not_tabulated_are_left_out_and_all_others_compared() -> None:
    table = row(expected={PF: [[0.1587, math.nan], [0.1587, 0.25]]})
    checks = run_row(table)
    assert [check["quantity"] for check in checks] == [
        f"{PF}{cell}" for cell in ("[0,0]", "[1,0]", "[1,1]")
    ]
    assert [check["reproduces"] for check in checks] == [True, True, False]
    with pytest.raises(ValueError, match="nothing is tabulated"):
        run_row(row(expected={PF: math.nan}))


def test_a_row_may_take_over_another_and_counts_as_the_same_example() -> None:
    first = {"id": "a", "source": "made up", "from_memory": True, "call": "m",
             "inputs": {"u": 1.0, "v": 2.0}, "expected": {"x": 1.0}}  # fmt: skip
    one, other = rows_of(
        "line", [first, {"id": "b", "same_as": "a", "call": "n", "inputs": {"v": 3.0}}]
    )
    assert (other.call, other.expected, other.from_memory) == ("n", one.expected, True)
    assert other.inputs == {"u": 1.0, "v": 3.0}
    assert one.example == other.example == "a"
    with pytest.raises(ValueError, match="two rows"):
        rows_of("line", [first, first])
    with pytest.raises(ValueError, match="no rows"):
        rows_of("line", [])


def test_what_is_no_published_number_is_counted_apart() -> None:
    counts = verify_document("infinite_slope")["counts"]
    rows = published_rows("infinite_slope")
    apart = [r for r in rows if not r.is_published]
    assert {r.id for r in apart} >= {"inf-verruijt-horizontal-outflow", "inf-ratio-of-tangents"}
    assert counts["not_published"] == sum(len(r.expected) for r in apart)
    assert counts["values"] == counts["published"] + counts["not_published"]
    assert counts["independent"] == len({r.example for r in rows if r not in apart})


def test_values_of_one_example_count_once() -> None:
    counts = verify_document("planar_wedge")["counts"]["kinds"]["planar_wedge"]
    wyllie = [r for r in published_rows("planar_wedge") if r.example == "wyllie_mah_6_1"]
    assert len(wyllie) == 5
    assert counts["independent"] == 8
    assert not counts["fewer_than_five"]


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(InputError, match="known: strength, shear_tests, infinite_slope"):
        verify_document("culmann")
