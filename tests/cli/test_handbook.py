"""The handbook holds what the program declares, computes and verifies, and drifts from none."""

from __future__ import annotations

import shlex
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.handbook.content import _derived, handbook
from slipmargin.cli.page.blocks import Lines, Picture, Section, Sheet, Table, Working
from slipmargin.cli.page.html import page
from slipmargin.cli.page.markdown import markdown
from slipmargin.cli.page.pdf import document
from slipmargin.stability import KINDS, fields
from slipmargin.stability.check import examples_of
from slipmargin.stability.working import result_steps

NOW = datetime(2026, 1, 2, tzinfo=UTC)
KIND = "infinite_slope"


@pytest.fixture(scope="module")
def book() -> Sheet:
    return handbook(NOW, KIND)


def section(book: Sheet, title: str) -> Section:
    return next(one for one in book.sections if one.title == title)


def blocks(of: Section, kind: type) -> list[Any]:
    every = [*of.blocks, *(block for leaf in of.leaves for block in leaf.blocks)]
    return [block for block in every if isinstance(block, kind)]


def test_every_field_of_a_check_stands_in_it_with_its_symbol_and_meaning(book: Sheet) -> None:
    (table, *_) = blocks(section(book, "Infinite slope"), Table)
    rows = {row[0]: row for row in table.rows}
    for name, declared, _ in fields.of(KINDS[KIND]):
        assert rows[name][3] == declared.says
        if isinstance(declared, fields.Amount):
            assert rows[name][1:3] == (declared.symbol, declared.unit)


def test_every_module_of_a_check_that_reasons_in_equations_is_in_it() -> None:
    for kind in ("planar_wedge", "rotational", "layered_slope", "earth_pressure", "retaining_wall"):
        leaves = {leaf.title: leaf for leaf in _derived(KINDS[kind])}
        assert leaves, kind
        for leaf in leaves.values():
            assert any(isinstance(block, Lines) for block in leaf.blocks)
    assert "Moment balance of a rigid mass on a logarithmic spiral" in {
        leaf.title for leaf in _derived(KINDS["rotational"])
    }


def test_its_worked_example_is_the_working_of_the_kernel(book: Sheet) -> None:
    example = examples_of(KINDS[KIND])[0]
    working = blocks(section(book, "Infinite slope"), Working)[0]
    assert working.steps == tuple(result_steps(example, example.evaluate()))
    assert len(blocks(section(book, "Infinite slope"), Picture)) == 1


def test_its_check_values_are_those_of_verify(book: Sheet) -> None:
    values = blocks(section(book, "Infinite slope"), Table)[-1]
    assert any("Skempton" in source for _, source in values.above)
    bare = blocks(section(book, "What this rests on"), Table)[1]
    assert any("root_cohesion" in str(row[1]) for row in bare.rows)


def test_the_first_page_can_be_typed_as_it_stands(
    book: Sheet, slipmargin: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = section(book, "The first fifteen minutes")
    lines = blocks(first, Lines)
    monkeypatch.chdir(tmp_path)
    for block, after in zip(lines, [*lines[1:], None], strict=True):
        for command in (x for x in block.lines if x.startswith("slipmargin ") and not block.said):
            if "review" in command or "report" in command:
                continue  # slow, and tested elsewhere
            ran = slipmargin(*shlex.split(command)[1:])
            assert ran.code == 0, command
            if after is not None and after.said:
                assert ran.out.rstrip().splitlines() == list(after.lines)
    assert (tmp_path / "line.png").exists()
    assert len(list((tmp_path / "sections").iterdir())) == 3
    # what is shown of the two files is in them
    shown = {line for block in lines for line in block.lines}
    table = (tmp_path / "first" / "shear-box.csv").read_text(encoding="utf-8")
    assert {line for line in table.splitlines() if line[0] != "#"} <= shown
    assert len(blocks(first, Picture)) == 2


def test_without_cohesion_only_the_sliding_of_the_wall_rises_as_its_page_says(book: Sheet) -> None:
    (table, *_) = blocks(section(book, "What the line costs"), Table)
    best, zero = (
        next(row for row in table.rows if row[0] == name) for name in ("peak", "zero intercept")
    )
    rise = {
        head: float(without.value - one.value)
        for head, one, without in zip(table.headers[3:], best[3:], zero[3:], strict=True)
    }
    assert [head for head, one in rise.items() if one > 1e-6] == ["Garden wall: sliding"]


def test_equations_keep_their_lines_in_every_form(book: Sheet) -> None:
    line = "F = (c′ + c_r + (σ - u) tan φ′) / τ"
    assert f"    {line}" in markdown(book)
    assert line in page(book)
    assert '<p class="kind">Handbook</p>' in page(book)
    assert document(book, NOW).startswith(b"%PDF")


def test_an_unknown_kind_is_a_usage_error(slipmargin: Any, tmp_path: Path) -> None:
    ran = slipmargin("handbook", "-o", str(tmp_path / "book.md"), "--kind", "culmann")
    assert ran.code == 2
    assert "known: infinite_slope" in ran.err
    assert not list(tmp_path.iterdir())
