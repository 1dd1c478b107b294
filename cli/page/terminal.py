"""Blocks as plain text for a terminal of 80 columns; colour never carries meaning alone."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from rich.cells import cell_len
from rich.console import Console
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
from slipmargin.cli.page.notices import by_kind, words_of
from slipmargin.cli.visible_text import visible
from slipmargin.strength import Notice, Severity
from slipmargin.strength.working import digits, step_lines

__all__ = ["Screen"]

_WEIGHTS = {Severity.STOP: "STOP", Severity.CAUTION: "caution", Severity.INFO: "note"}
_STYLES = {Severity.STOP: "bold red", Severity.CAUTION: "yellow", Severity.INFO: "dim"}
_TONES = {"good": "green", "bad": "bold red", "strong": "bold", "aside": "dim"}
_LONGEST_WORD, _LEAST_NAME = 24, 14
_LETTERS = re.compile(r"[^\W\d]{5}")
_SHORT = "* short of what is asked."


@dataclass(slots=True)
class _Column:
    """Texts of a column, its heading first; ``names`` tells that it heads the rows."""

    cells: list[Text]
    right: bool = False
    names: bool = False

    @property
    def least(self) -> int:
        """Columns of the screen that keep every word whole, of a number every sign; a very
        long word is broken.
        """
        head, *cells = self.cells
        words = head.plain.split()
        for one in cells:
            whole = self.right and not _LETTERS.search(one.plain)
            words += [one.plain] if whole else one.plain.split()
        named = min(self.most, _LEAST_NAME) if self.names else 1
        return max([named, *(min(cell_len(word), _LONGEST_WORD) for word in words)])

    @property
    def most(self) -> int:
        """With every text on one line."""
        return max(one.cell_len for one in self.cells)


class Screen:
    """Standard output, plain in a pipe, and with colours in a terminal that wants them.

    Without ``every_notice`` the lighter notices are only counted, and of cautions of one kind the
    worst is shown, with the places of its like; what says stop is always shown. ``said`` are
    cautions that ``check`` gives in full: here they are named.
    """

    def __init__(self, *, every_notice: bool = False, said: Collection[Notice] = ()) -> None:
        plain = {"highlight": False, "markup": False, "emoji": False, "soft_wrap": False}
        self._out = Console(**plain)  # type: ignore[arg-type]
        if not self._out.is_terminal:
            self._out = Console(width=80, **plain)  # type: ignore[arg-type]
        self._every_notice, self._said = every_notice, frozenset(said)
        self._before: Block | None = None

    def show(self, blocks: Iterable[Block]) -> None:
        """Print blocks, with a blank line between those that are no paragraphs of one text, and
        below what was shown before.
        """
        shown, self._before = self._before, None
        for block in blocks:
            if shown is not None:
                self._out.print()
                shown = None
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
        bare = isinstance(block, Table) and not block.caption
        if not joined and not (strong and not bare and not isinstance(block, Words)):
            self._out.print()

    def _print(self, text: str, style: str = "") -> None:
        for line in _wrapped(self._out, text, style):
            self._out.print(line, soft_wrap=True)

    def _table(self, block: Table) -> None:
        if block.caption:
            self._print(block.caption, "bold")
        above = dict(block.above)
        columns, short = _columns(block)
        for number, part in enumerate(self._abreast(columns)):
            if number:
                self._out.print()
            for row in self._rows(part, above if not number else {}):
                self._out.print(row, soft_wrap=True)
        if short:
            self._print(_SHORT, "dim")

    def _abreast(self, columns: Sequence[_Column]) -> list[list[_Column]]:
        """The columns in as many tables as they need, each with the columns that name a row."""
        room = self._out.width
        names = next((i for i, one in enumerate(columns) if one.right), 1)
        while names > 1 and _width(columns[:names]) > room // 2:
            names -= 1
        held, others = columns[:names], columns[names:]

        def parted(most: int) -> list[list[_Column]]:
            parts = [[*held]]
            for one in others:
                full = len(parts[-1]) >= names + most or _width([*parts[-1], one]) > room
                if full and len(parts[-1]) > names:
                    parts.append([*held])
                parts[-1].append(one)
            return parts

        least = parted(len(others))
        even = parted(-(-len(others) // len(least)))
        return even if len(even) == len(least) else least

    def _rows(self, columns: Sequence[_Column], above: Mapping[int, str]) -> Iterator[Text]:
        """Lines of a table, below its headings; a text across it stands above some of its rows."""
        room = self._out.width
        gap = 2 if sum(one.most + 2 for one in columns) <= room + 2 else 1
        widths = _widths(columns, room, gap)
        for index in range(len(columns[0].cells)):
            if index - 1 in above:
                yield from _wrapped(self._out, above[index - 1])
            wrapped = [
                one.cells[index].wrap(self._out, width, overflow="fold")
                for one, width in zip(columns, widths, strict=True)
            ]
            for lines in zip_longest(*wrapped):
                row = Text(style="dim" if index == 0 else "")
                for one, width, piece in zip(columns, widths, lines, strict=True):
                    found = piece or Text()
                    found.rstrip()
                    blank = " " * max(width - found.cell_len, 0)
                    row.append(blank if one.right else "").append_text(found)
                    row.append("" if one.right else blank).append(" " * gap)
                row.rstrip()
                yield row

    def _notices(self, notices: Sequence[WrittenNotice]) -> None:
        known = [
            one
            for one in notices
            if one.notice in self._said and one.notice.severity == Severity.CAUTION
        ]
        if self._every_notice:
            known, shown, lighter, more = [], notices, 0, 0
        else:
            kept = by_kind(one for one in notices if one not in known)
            shown = [one for one in kept if one.notice.severity != Severity.INFO]
            more = sum(one.alike for one in shown)
            lighter = sum(1 + one.alike for one in kept) - len(shown) - more
        weights, texts = _Column([Text()]), _Column([Text()])
        for one in shown:
            severity = one.notice.severity
            weights.cells.append(Text(_WEIGHTS[severity], style=_STYLES[severity]))
            texts.cells.append(Text(visible(one.placed)))
        for row in list(self._rows([weights, texts], {}))[1:]:
            self._out.print(row, soft_wrap=True)
        left = [f"{lighter} lighter"] * bool(lighter)
        left += [f"{more} of a kind already shown"] * bool(more)
        said = [f"Not shown: {' and '.join(left)}; add --notes."] * bool(left)
        if known:
            names = ", ".join(dict.fromkeys(words_of(one.notice) for one in known))
            said.insert(0, f"Cautions, in full with check: {names}.")
        if said:
            self._print(" ".join(said))

    def _working(self, block: Working) -> None:
        if block.given:
            self.line(("  given", ""))
        for step in block.given:
            value = f"{step.symbol} = {digits(step.value)} {step.unit}".rstrip()
            self.line((f"    {value}  {step.says}", ""))
        for number, step in enumerate(block.steps, start=1):
            for line in step_lines(number, step):
                self.line((f"  {line}", ""))


def _wrapped(out: Console, text: str, style: str = "") -> Iterator[Text]:
    for line in Text(visible(text), style=style).wrap(out, out.width):
        line.rstrip()
        yield line


def _columns(block: Table) -> tuple[list[_Column], bool]:
    """Columns of texts, and whether a factor falls short of what is asked.

    What heads a row is left out where it is that of the row above; what is bad is written large,
    and a factor that falls short has a star, unless its row has a verdict.
    """
    columns = [
        _Column([Text(visible(head))], index in block.right, names=index == 0)
        for index, head in enumerate(block.headers)
    ]
    above: Cell = ""
    starred: set[int] = set()
    for row in block.rows:
        judged = any(isinstance(cell, Verdict) for cell in row)
        for index, (column, cell) in enumerate(zip(columns, row, strict=True)):
            match cell:
                case Verdict(text=text, tone=tone):
                    shown = Text(visible(text.upper() if tone == "bad" else text))
                    shown.stylize(_TONES.get(tone, ""))
                case Factor():
                    star = cell.is_short and not judged
                    shown = Text(cell.text + "*" * star, style="bold red" if star else "")
                    starred |= {index} if star else set()
                case _:
                    again = index == 0 and len(row) > 2 and cell == above and 1 not in block.right
                    shown = Text("" if again else "  " * bool(block.above and not index))
                    shown.append("" if again else visible(cell))
            column.cells.append(shown)
        above = row[0]
    for index in starred:
        column = columns[index]
        column.cells[1:] = [
            cell if cell.plain.endswith("*") else cell.append(" ") for cell in column.cells[1:]
        ]
    return columns, bool(starred)


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
