"""Blocks on a terminal of 80 columns, on a page and in Markdown: the same, whatever the width."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from slipmargin.cli.page.blocks import (
    Factor,
    NoticeList,
    Section,
    Sheet,
    Table,
    Verdict,
    Words,
    WrittenNotice,
)
from slipmargin.cli.page.html import page
from slipmargin.cli.page.markdown import markdown
from slipmargin.cli.page.notices import by_kind, written
from slipmargin.cli.page.pdf import document
from slipmargin.cli.page.terminal import Screen
from slipmargin.strength import Notice

WIDE = Table(
    "Many columns",
    ("Check", *(f"reading number {n}" for n in range(12))),
    tuple((f"Slope {row}", *(f"{row}.{n:02d}" for n in range(12))) for row in range(3)),
    range(1, 13),
)
PARTED = Table(
    "",
    ("State", "Factor"),
    (("sliding", "1.10"), ("rotation", "1.00"), ("sliding", "1.40")),
    {1},
    above=((0, "Face: it misses."), (2, "Wall: it holds.")),
)


def shown(capsys: pytest.CaptureFixture[str], *blocks: object, **how: object) -> list[str]:
    Screen(**how).show(blocks)  # type: ignore[arg-type]
    return capsys.readouterr().out.splitlines()


def test_a_wide_table_is_split_and_every_part_names_its_rows(
    capsys: pytest.CaptureFixture[str],
) -> None:
    lines = shown(capsys, WIDE)
    assert max(map(len, lines)) <= 80
    assert not any(line != line.rstrip() for line in lines)
    heads = sum(line.startswith("Check") for line in lines)
    assert heads > 1
    assert sum(line.startswith("Slope 1") for line in lines) == heads
    assert {f"2.{n:02d}" for n in range(12)} <= set(" ".join(lines).split())


def test_no_number_is_broken_however_narrow_its_column(capsys: pytest.CaptureFixture[str]) -> None:
    rows = tuple((f"a rather long name of row {n}", "1234.5678", "<3e-05") for n in range(3))
    table = Table("", ("Name", "A heading of several words", "P(F<1)"), rows, {1, 2})
    text = shown(capsys, table)
    assert sum("1234.5678" in line and "<3e-05" in line for line in text) == 3


def test_a_text_across_stands_above_its_row_in_every_form(
    capsys: pytest.CaptureFixture[str],
) -> None:
    lines = shown(capsys, PARTED)
    assert [line.split()[0] for line in lines] == [
        "State", "Face:", "sliding", "rotation", "Wall:", "sliding",
    ]  # fmt: skip
    sheet = Sheet("T", "C", "V", "2026-01-01", (Section("S", (PARTED,)),))
    for text in (page(sheet), markdown(sheet)):
        order = [text.index(word) for word in ("Face: it misses", "1.10", "Wall: it holds", "1.40")]
        assert order == sorted(order)
    assert document(sheet, datetime(2026, 1, 1, tzinfo=UTC)).startswith(b"%PDF")


def test_a_factor_that_falls_short_is_marked_without_colour(
    capsys: pytest.CaptureFixture[str],
) -> None:
    alone = Table("", ("Check", "Factor"), (("a", Factor(1.2, 1.5)), ("b", Factor(1.6, 1.5))))
    judged = Table(
        "", ("Check", "Factor", ""), (("a", Factor(1.2, 1.5), Verdict("misses", "bad")),)
    )
    lines = shown(capsys, alone, judged)
    assert "a      1.20*" in lines
    assert "b      1.60" in lines
    assert any("short of what is asked" in line for line in lines)
    assert any("1.20 " in line and line.endswith("MISSES") for line in lines)


def test_what_steers_a_terminal_is_shown_as_an_escape(capsys: pytest.CaptureFixture[str]) -> None:
    bad = "red\x1b[31m\nnew\u202eline"
    notice = NoticeList((WrittenNotice(Notice.caution("a-code", bad), (bad,)),))
    table = Table(bad, (bad, "x"), ((bad, Verdict(bad, "bad")),), above=((0, bad),))
    Screen().show([Words(bad), table, notice])
    text = capsys.readouterr().out
    assert not any(sign in text for sign in ("\x1b", "\u202e"))
    assert r"\x1b" in text


def test_cautions_said_before_are_named_and_lighter_ones_counted(
    capsys: pytest.CaptureFixture[str],
) -> None:
    known, new = Notice.caution("known-one", "K."), Notice.caution("new-one", "N.")
    stop, light = Notice.stop("known-one", "S."), Notice.info("light-one", "L.")
    block = NoticeList(written([("a", one) for one in (light, known, new, stop)]))
    lines = shown(capsys, block, said=[known, stop])
    assert [line.split() for line in lines[:2]] == [["STOP", "a:", "S."], ["caution", "a:", "N."]]
    said = " ".join(lines[2:])
    assert "in full with check: known one" in said
    assert "1 lighter" in said
    every = " ".join(shown(capsys, block, said=[known], every_notice=True))
    assert all(text in every for text in ("S.", "K.", "N.", "L."))


def test_a_second_notice_of_one_place_is_not_taken_for_its_like() -> None:
    one, two = (Notice.caution("same", text) for text in ("First.", "Second."))
    apart = by_kind(written([("a", one), ("b", two)]))
    assert [(n.notice.text, n.alike) for n in apart] == [("First. (Likewise: b.)", 1)]
    together = by_kind(written([("a", one), ("a", two)]))
    assert [n.notice.text for n in together] == ["First.", "Second."]
