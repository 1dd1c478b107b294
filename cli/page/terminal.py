"""Blocks as plain text for a terminal of 80 columns; colour never carries meaning alone."""

from __future__ import annotations

import re
import sys
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import IO, cast

from rich.cells import cell_len
from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from slipmargin.cli.page.blocks import (
    Block,
    Cell,
    Factor,
    Lines,
    NoticeList,
    Table,
    Verdict,
    Words,
    Working,
    WrittenNotice,
)
from slipmargin.cli.page.notices import by_kind
from slipmargin.cli.page.text import words_of
from slipmargin.cli.visible_text import visible
from slipmargin.strength import Notice, Severity
from slipmargin.strength.working import digits, step_lines

__all__ = ["Screen"]

_WEIGHTS = {Severity.STOP: "STOP", Severity.CAUTION: "caution", Severity.INFO: "note"}
_STYLES = {Severity.STOP: "bold red", Severity.CAUTION: "yellow", Severity.INFO: "dim"}
_TONES = {"good": "green", "bad": "bold red", "strong": "bold", "aside": "dim"}
_LONGEST_WORD = 24
_SHORT = "* short of what is asked."


@dataclass(slots=True)
class _Column:
    """Texts of a column, its heading first, and the columns of the screen it takes."""

    cells: list[Text]
    right: bool

    @property
    def least(self) -> int:
        """With every word whole, of a number every sign; a very long word is broken."""
        head, *cells = self.cells
        words = [*head.plain.split(), *(w for c in cells for w in self._pieces(c.plain))]
        return max((min(cell_len(word), _LONGEST_WORD) for word in words), default=0)

    def _pieces(self, text: str) -> list[str]:
        return [text] if self.right and not re.search(r"[^\W\d]{4}", text) else text.split()

    @property
    def most(self) -> int:
        """With every text on one line."""
        return max(cell_len(one.plain) for one in self.cells)


class Screen:
    """Standard output, plain in a pipe, and with colours in a terminal that wants them.

    Parameters
    ----------
    every_notice
        Show every notice in full; without it the lighter ones are only counted, and of
        cautions of one kind the first is shown, with the places of its like. What says stop
        is always shown.
    said
        Cautions that ``check`` gives in full: here they are named.
    """

    def __init__(self, *, every_notice: bool = False, said: Collection[Notice] = ()) -> None:
        self._out = Console(highlight=False, markup=False, emoji=False, soft_wrap=False)
        if not self._out.is_terminal:
            stream = cast("IO[str]", _Trimmed())
            self._out = Console(highlight=False, markup=False, emoji=False, width=80, file=stream)
        self._every_notice, self._said = every_notice, frozenset(said)
        self._before: Block | None = None

    def show(self, blocks: Iterable[Block]) -> None:
        """Print blocks, with a blank line between those that are no paragraphs of one text."""
        for block in blocks:
            if isinstance(block, NoticeList) and not block.notices:
                continue
            self._part(block)
            match block:
                case Words(text=text, tone=tone):
                    self._print(text, _TONES.get(tone, ""))
                case Lines(lines=lines):
                    for line in lines:
                        self.line((f"  {line}", ""))
                case Table():
                    self._table(block)
                case Working():
                    self._working(block)
                case NoticeList(notices=notices):
                    self._notices(notices)
                case _:
                    continue  # pictures and sliders need a page
            self._before = block

    def line(self, *parts: tuple[str, str]) -> None:
        """One line, however long, of texts each with its style."""
        shown = Text.assemble(*((visible(text), style) for text, style in parts))
        self._out.print(shown, soft_wrap=True)

    def _part(self, block: Block) -> None:
        before = self._before
        if before is None or not isinstance(block, Words | Lines | Table | Working | NoticeList):
            return
        strong = isinstance(before, Words) and before.tone == "strong"
        joined = isinstance(before, Words) and isinstance(block, Words) and block.tone != "strong"
        if not joined and not (strong and not isinstance(block, Words)):
            self._out.print()

    def _print(self, text: str, style: str = "") -> None:
        self._out.print(Text(visible(text), style=style))

    def _table(self, block: Table) -> None:
        if block.caption:
            self._print(block.caption, "bold")
        columns = _columns(block)
        parts = self._abreast(columns)
        for number, part in enumerate(parts):
            if number:
                self._out.print()
            self._grid(part)
        if any(cell.plain.endswith("*") for column in columns for cell in column.cells[1:]):
            self._print(_SHORT, "dim")

    def _abreast(self, columns: Sequence[_Column]) -> list[list[_Column]]:
        """The columns in as many tables as they need, each with the columns that name a row."""
        room = self._out.width
        names = next((i for i, one in enumerate(columns) if one.right), 1)
        held, others = list(columns[:names]), list(columns[names:])
        while names > 1 and sum(one.least + 1 for one in held) > room // 2:
            names -= 1
            held, others = list(columns[:names]), list(columns[names:])
        parts: list[list[_Column]] = [[*held]]
        for one in others:
            if _width([*parts[-1], one]) > room and len(parts[-1]) > len(held):
                parts.append([*held])
            parts[-1].append(one)
        return parts

    def _grid(self, columns: Sequence[_Column]) -> None:
        room = self._out.width
        gap = 2 if _width(columns, 2) <= room else 1
        grid = Grid(box=None, pad_edge=False, padding=(0, gap, 0, 0), header_style="dim")
        for one, width in zip(columns, _widths(columns, room, gap), strict=True):
            justify = "right" if one.right else "left"
            grid.add_column(one.cells[0], width=width, justify=justify, overflow="fold")  # type: ignore[arg-type]
        for row in zip(*(one.cells[1:] for one in columns), strict=True):
            grid.add_row(*row)
        self._out.print(grid)

    def _notices(self, notices: Sequence[WrittenNotice]) -> None:
        named = []
        if not self._every_notice:
            named = [
                one.notice
                for one in notices
                if one.notice in self._said and one.notice.severity == Severity.CAUTION
            ]
            notices = by_kind(one for one in notices if one.notice not in named)
        shown = [
            one for one in notices if self._every_notice or one.notice.severity != Severity.INFO
        ]
        lighter = len(notices) - len(shown)
        lighter += sum(one.alike for one in notices if one not in shown)
        grid = Grid(box=None, pad_edge=False, show_header=False, padding=(0, 1, 0, 0))
        grid.add_column(no_wrap=True)
        grid.add_column(overflow="fold")
        for one in shown:
            weight = one.notice.severity
            places = f"{', '.join(one.places)}: " if one.places else ""
            grid.add_row(
                Text(_WEIGHTS[weight], style=_STYLES[weight]),
                Text(visible(places + one.notice.text)),
            )
        if shown:
            self._out.print(grid)
        more = sum(one.alike for one in shown)
        if lighter or more:
            parts = [f"{lighter} lighter"] if lighter else []
            parts += [f"{more} of a kind already shown"] if more else []
            self._print(f"Not shown: {' and '.join(parts)}; add --notes", "dim")
        if named:
            names = ", ".join(dict.fromkeys(words_of(one) for one in named))
            self._print(f"Cautions, in full with check: {names}.")

    def _working(self, block: Working) -> None:
        if block.given:
            self.line(("  given", ""))
        for step in block.given:
            value = f"{step.symbol} = {digits(step.value)} {step.unit}".rstrip()
            self.line((f"    {value}  {step.says}", ""))
        for number, step in enumerate(block.steps, start=1):
            for line in step_lines(number, step):
                self.line((f"  {line}", ""))


def _columns(block: Table) -> list[_Column]:
    """Columns of texts; what heads a row is left out where it is that of the row above."""
    columns = [
        _Column([Text(visible(head))], i in block.right) for i, head in enumerate(block.headers)
    ]
    above: Cell = ""
    for row in block.rows:
        judged = any(isinstance(cell, Verdict) for cell in row)
        for index, (column, cell) in enumerate(zip(columns, row, strict=True)):
            again = index == 0 and len(row) > 2 and cell == above and 1 not in block.right
            column.cells.append(Text("") if again else _text(cell, judged=judged))
        above = row[0]
    for column in columns:
        if any(cell.plain.endswith("*") for cell in column.cells[1:]):
            column.cells[1:] = [
                cell if cell.plain.endswith("*") or not cell.plain else Text(f"{cell.plain} ")
                for cell in column.cells[1:]
            ]
    return columns


def _text(cell: Cell, *, judged: bool) -> Text:
    """A cell; what is bad is written large, and a factor that falls short gets a star."""
    match cell:
        case Verdict(text=text, tone=tone):
            shown = text.upper() if tone == "bad" else text
            return Text(visible(shown), style=_TONES.get(tone, ""))
        case Factor():
            star = cell.is_short and not judged
            return Text(cell.text + "*" * star, style="bold red" if star else "")
    return Text(visible(cell))


def _width(columns: Sequence[_Column], gap: int = 1) -> int:
    return sum(one.least for one in columns) + gap * (len(columns) - 1)


def _widths(columns: Sequence[_Column], room: int, gap: int) -> list[int]:
    """Widths that hold every word; what is left goes to whoever needs it most."""
    widths = [max(one.least, 1) for one in columns]
    while sum(widths) + gap * (len(columns) - 1) > room and max(widths) > 8:
        widths[widths.index(max(widths))] -= 1
    spare = room - sum(widths) - gap * (len(columns) - 1)
    wanted = [one.most for one in columns]
    for _ in range(spare):
        need = [want / width for want, width in zip(wanted, widths, strict=True)]
        if max(need) <= 1.0:
            break
        widths[need.index(max(need))] += 1
    return widths


class _Trimmed:
    """Standard output without the blanks that pad a table's lines."""

    def write(self, text: str) -> int:
        return sys.stdout.write(re.sub(r"[ \t]+(?=\n)", "", text))

    def flush(self) -> None:
        sys.stdout.flush()
