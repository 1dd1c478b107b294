"""The sheet as a PDF, set in the fonts that come with the figures."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from itertools import zip_longest
from pathlib import Path

import matplotlib as mpl
from fpdf import FPDF, FontFace
from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection, XPos, YPos
from fpdf.fonts import TTFFont

from slipmargin.cli.page.blocks import (
    Block,
    Leaf,
    Lines,
    NoticeList,
    Picture,
    Sheet,
    Slider,
    Table,
    Verdict,
    Words,
    Working,
    cell_text,
)
from slipmargin.cli.page.equations import linear
from slipmargin.cli.page.notices import WEIGHTS, words_of
from slipmargin.cli.page.pictures import RESOLUTION, as_pixels
from slipmargin.cli.visible_text import readable
from slipmargin.strength import Severity
from slipmargin.strength.working import Step, digits, printed

__all__ = ["document"]

_FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
_DEEP, _RUST, _GREY, _INK = (27, 58, 87), (140, 51, 16), (84, 96, 107), (23, 33, 43)
_TEXT, _SMALL, _LINE = 8.4, 7.0, 4.2  # pt, pt, mm
_TONES = {"": (_INK, "", _TEXT), "strong": (_INK, "B", _TEXT), "aside": (_GREY, "", _SMALL)}
_VALUE, _GUTTER = 40.0, 8.0  # mm
_PICTURE = 40.0  # mm, room below a heading for the picture it opens with
_PRINTED = 0.6  # of the size that a picture is drawn in: letters of 8 pt come out at 4.8 pt
_LEAST_PRINTED = 0.72  # of that, where the page has no more room
_NARROWEST, _MOST_BESIDE = 56.0, 22  # mm, and rows, of a table beside a picture
_MISSING = "\ufffd"
_ACROSS = FontFace(color=_DEEP)


def document(sheet: Sheet, now: datetime) -> bytes:
    """The sheet as the bytes of a PDF."""
    pages = _Pages(sheet, now)
    pages.head(sheet)
    for number, section in enumerate(sheet.sections, start=1):
        opens_drawn = bool(section.leaves) and pages.opens_drawn(section.leaves[0])
        pages.heading(f"{number}  {section.title}", 0, _PICTURE + 40.0 if opens_drawn else 42.0)
        pages.blocks(section.blocks)
        for part, leaf in enumerate(section.leaves, start=1):
            room = _PICTURE + 30.0 if pages.opens_drawn(leaf) else 24.0
            pages.heading(f"{number}.{part}  {leaf.title}", 1, room)
            pages.blocks(leaf.blocks)
    return bytes(pages.output())


class _Pages(FPDF):
    """A4 pages with the caution at the foot of each."""

    def __init__(self, sheet: Sheet, now: datetime) -> None:
        super().__init__(format="A4")
        self.set_margins(16.0, 14.0, 16.0)
        self.set_auto_page_break(True, margin=16.0)
        files = {"": _FONTS / "DejaVuSans.ttf", "B": _FONTS / "DejaVuSans-Bold.ttf"}
        for style, file in files.items():
            self.add_font("sheet", style, file)
        self.add_font("lines", "", _FONTS / "DejaVuSansMono.ttf")
        fonts = [self.fonts[f"sheet{style}"] for style in files]
        known = [frozenset(font.cmap) for font in fonts if isinstance(font, TTFFont)]
        self.letters = known[0] & known[1]
        self.drawn: dict[str, int] = {}
        self.set_title(self.plain(sheet.title))
        self.set_lang("en")
        self.set_creation_date(now)
        self.add_page()

    def opens_drawn(self, leaf: Leaf) -> bool:
        """Whether a part opens with a picture, which its heading must not be parted from."""
        pictures = (block for block in leaf.blocks[:2] if isinstance(block, Picture))
        return any(block.caption not in self.drawn for block in pictures)

    def footer(self) -> None:
        self.set_y(-12.0)
        self.ink(_GREY, size=7.0)
        self.cell(0.0, 4.0, "Preliminary quick check, not a design", align="L", new_x=XPos.LMARGIN)
        self.cell(0.0, 4.0, f"{self.page_no()} of {{nb}}", align="R")

    def plain(self, text: str) -> str:
        """Text this font can show, in the order it is seen."""
        shown = "".join(sign if ord(sign) in self.letters else _MISSING for sign in readable(text))
        if any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in shown):
            paragraph = BidiParagraph(text=shown, base_direction=TextDirection.LTR)
            return str(paragraph.get_reordered_string())
        return shown

    def ink(
        self, colour: tuple[int, int, int] = _INK, style: str = "", size: float = _TEXT
    ) -> None:
        self.set_font("sheet", style, size)
        self.set_text_color(*colour)

    def rule(self, colour: tuple[int, int, int], width: float) -> None:
        """A line across the page, so wide [mm]."""
        self.set_draw_color(*colour)
        self.set_line_width(width)
        self.line(self.l_margin, self.get_y(), self.w - self.r_margin, self.get_y())

    def room(self, height: float) -> None:
        """A new page where less than this height [mm] is left."""
        if self.get_y() + height > self.page_break_trigger:
            self.add_page()

    @contextmanager
    def indented(self, left: float, right: float = 0.0) -> Iterator[None]:
        """Between margins that are wider by so much [mm]."""
        before = self.l_margin, self.r_margin
        self.set_left_margin(before[0] + left)
        self.set_right_margin(before[1] + right)
        self.set_x(self.l_margin)
        yield
        self.set_left_margin(before[0])
        self.set_right_margin(before[1])
        self.set_x(self.l_margin)

    def line_of(self, text: str, height: float = _LINE, width: float = 0.0) -> None:
        """A paragraph from the left margin."""
        self.multi_cell(
            width, height, self.plain(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT
        )

    def head(self, sheet: Sheet) -> None:
        self.rule(_DEEP, 1.0)
        self.ln(3.0)
        self.ink(_GREY, size=_SMALL)
        self.line_of(sheet.kind)
        self.ink(_DEEP, "B", 17.0)
        self.line_of(sheet.title, 7.5)
        self.ink(_GREY)
        if sheet.signed:
            self.ln(1.0)
            self.sign_off(sheet.signed)
        else:
            self.line_of(f"Made on {sheet.date}")
            self.ln(2.0)
        self.ink(_INK, "B", 11.0)
        self.line_of(sheet.verdict, 5.5)
        self.ln(1.5)
        self.ink(_RUST, "B")
        self.line_of("Caution")
        self.ink()
        self.line_of(sheet.caution)
        self.ln(2.0)

    def sign_off(self, signed: Sequence[tuple[str, str]]) -> None:
        """A row of boxes, each with its name and what is given, or room to write."""
        width, top = self.epw / len(signed), self.get_y()
        self.set_draw_color(*_GREY)
        self.set_line_width(0.2)
        for number, (name, text) in enumerate(signed):
            self.rect(self.l_margin + number * width, top, width, 10.0)
            self.set_xy(self.l_margin + number * width + 0.6, top + 0.6)
            self.ink(_GREY, size=6.2)
            self.cell(width - 1.2, 2.6, name)
            self.set_xy(self.l_margin + number * width + 0.6, top + 3.4)
            self.ink(size=6.8)
            self.multi_cell(width - 1.2, 2.9, self.plain(text)[:70], align="L")
        self.set_xy(self.l_margin, top + 13.0)

    def heading(self, title: str, level: int, with_it: float = 42.0) -> None:
        """A heading, on one page with what follows it [mm]."""
        self.ln(5.0 if level == 0 else 3.0)
        self.room(with_it)
        self.start_section(self.plain(title), level=level)
        if level == 0:
            self.rule(_DEEP, 0.4)
            self.ln(2.0)
        self.ink(_DEEP if level == 0 else _INK, "B", 13.0 if level == 0 else 10.2)
        self.line_of(title, 5.5)
        self.ln(1.5)

    def blocks(self, blocks: Sequence[Block]) -> None:
        placed = False
        blocks = [one for one in blocks if not isinstance(one, Slider)]
        for block, after in zip_longest(blocks, blocks[1:]):
            if placed:  # beside the picture before it
                placed = False
                continue
            match block:
                case Words(text=text, tone=tone):
                    self.ink(*_TONES[tone])
                    self.room(2.0 * _LINE)
                    self.line_of(text)
                    self.ln(1.5)
                case Lines():
                    self.lines(block)
                case Table():
                    self.grid(block)
                case Picture():
                    placed = self.picture(block, after)
                case Working():
                    self.working(block)
                case NoticeList():
                    self.notices(block)
                case _:
                    pass  # sliders need a page that moves

    def lines(self, block: Lines) -> None:
        """Lines as they stand, in letters of one width: what is aligned stays so."""
        self.room(min(4.0 * len(block.lines) + 2.0, 60.0))
        self.ink(_GREY if block.said else _DEEP, size=_SMALL)
        self.set_font("lines", size=_SMALL)
        with self.indented(4.0):
            for line in block.lines:
                self.line_of(line.replace(" ", "\u00a0") or " ", 4.0)
        self.ln(1.5)

    def grid(self, block: Table) -> None:
        """A table; its head is repeated and its rows stay whole."""
        rows = [[self.plain(cell_text(cell)) for cell in row] for row in block.rows]
        heads = [self.plain(head) for head in block.headers]
        widths = self.widths([heads, *rows])
        first = [
            math.ceil(1.1 * self.get_string_width(text) / (share * self.epw - 2.5))
            for row in rows[:1]
            for text, share in zip(row, widths, strict=True)
        ]
        self.room(min(26.0 + 3.9 * max(first, default=1), self.eph))
        self.ink(_GREY, size=_SMALL)
        self.line_of(block.caption, 4.0)
        self.ln(0.5)
        self.ink(size=_SMALL)
        self.set_draw_color(176, 184, 190)
        self.set_line_width(0.2)
        with self.table(
            col_widths=widths,
            align="LEFT",
            borders_layout="HORIZONTAL_LINES",
            headings_style=FontFace(emphasis="BOLD", color=_INK, fill_color=(238, 242, 244)),
            line_height=3.6,
            padding=(0.4, 0.9, 0.4, 1.4),
            text_align=tuple("RIGHT" if i in block.right else "LEFT" for i in range(len(heads))),
            v_align="TOP",
        ) as table:
            table.row(heads)
            above = dict(block.above)
            for number, (cells, texts) in enumerate(zip(block.rows, rows, strict=True)):
                if number in above:
                    across = table.row()
                    across.cell(self.plain(above[number]), colspan=len(heads), style=_ACROSS)
                row = table.row()
                for cell, text in zip(cells, texts, strict=True):
                    bad = isinstance(cell, Verdict) and cell.tone == "bad"
                    style = FontFace(emphasis="BOLD", color=_RUST) if bad else None
                    row.cell(text, style=style)
        self.ln(4.0)

    def widths(self, rows: list[list[str]]) -> tuple[float, ...]:
        """Widths that hold every word, the rest shared by what the columns hold."""
        self.ink(style="B", size=_SMALL)
        least, wanted = [], []
        for column in zip(*rows, strict=True):
            words = (word for text in column for word in text.split())
            word = max((self.get_string_width(one) for one in words), default=0.0)
            least.append(min(word, 36.0) + 3.6)
            wanted.append(min(max(self.get_string_width(t) for t in column), 90.0) + 3.6)
        spare = max(self.epw - sum(least), 0.0)
        more = [want - low for want, low in zip(wanted, least, strict=True)]
        share = spare / sum(more) if sum(more) else 0.0
        found = [low + share * extra for low, extra in zip(least, more, strict=True)]
        self.ink(size=_SMALL)
        return tuple(width / sum(found) for width in found)

    def picture(self, block: Picture, beside: Block | None = None) -> bool:
        """Draw a picture, and a table or a picture beside it where there is room; whether there
        was.
        """
        if block.caption in self.drawn:
            self.ink(_GREY, size=_SMALL)
            self.line_of(f"{block.caption}: drawn on page {self.drawn[block.caption]}.", 4.0)
            self.ln(1.0)
            return False
        pixels, shape = as_pixels(block)
        width = min(self.epw, _PRINTED * 25.4 * pixels.width / RESOLUTION)
        left = self.page_break_trigger - self.get_y() - 8.0
        if _LEAST_PRINTED * width * shape <= left < width * shape:
            width = left / shape  # a little smaller, in place of an empty foot of the page
        spare = self.epw - width - _GUTTER
        tall, fits = width * shape + 8.0, False
        match beside:
            case Table(rows=rows):
                fits = spare >= _NARROWEST and len(rows) <= _MOST_BESIDE
                tall = max(tall, 5.2 * (len(rows) + 3) if fits else 0.0)
            case Picture():
                fits = spare >= width
            case NoticeList(notices=told):
                fits = spare >= _NARROWEST
                # two lines more than its text: its name, its places, and what is left of a line
                lines = 1.2 * sum(self.get_string_width(one.notice.text) for one in told)
                below = 3.6 * (lines / max(spare - 18.0, 1.0) + 2.0 * len(told))
                tall = max(tall, below if fits else 0.0)
        self.room(tall)
        page, top = self.page, self.get_y()
        self.image(pixels, w=width, alt_text=self.plain(block.words))
        self.drawn[block.caption] = self.page
        self.ink(_GREY, size=_SMALL)
        self.line_of(block.caption, 4.0, width)
        self.ln(2.5)
        if not fits:
            return False
        low = self.get_y()
        with self.indented(width + _GUTTER):
            self.set_y(top)
            self.blocks(() if beside is None else (beside,))
        if self.page == page:
            self.set_y(max(self.get_y(), low))
        return True

    def notices(self, block: NoticeList) -> None:
        for one in block.notices:
            notice = one.notice
            self.room(3.0 * _LINE)
            grave = notice.severity != Severity.INFO
            self.ink(_RUST if grave else _GREY, "B", _SMALL)
            self.cell(18.0, 3.6, WEIGHTS[notice.severity])
            self.ink(size=_SMALL)
            ground = f" ({notice.ground})" if notice.ground else ""
            name = words_of(notice)
            with self.indented(18.0):
                self.line_of(f"{name[0].upper()}{name[1:]}. {one.placed}{ground}", 3.6)
            self.ln(0.8)
        self.ln(2.0)

    def working(self, block: Working) -> None:
        if block.given:
            self.room(20.0)
            self.ink(style="B", size=_SMALL)
            self.line_of("Given", 4.2)
            for step in block.given:
                self.room(_LINE)
                self.ink(size=_SMALL)
                self.symbols(f"{step.symbol} = {digits(step.value)} {step.unit}".rstrip(), 4.1)
                self.set_x(self.l_margin + 44.0)
                self.ink(_GREY, size=_SMALL)
                self.line_of(step.says, 4.1)
            self.ln(1.5)
        for number, step in enumerate(block.steps, start=1):
            self.step(number, step)
        self.ln(3.0)

    def step(self, number: int, step: Step) -> None:
        right = self.r_margin
        lines = [f"{step.symbol} = {text}" for text in (step.equation, step.substituted) if text]
        self.ink(size=_SMALL)
        across = self.epw - _GUTTER - _VALUE
        says = step.says + (f" ({step.source})" if step.source else "")
        tall = sum(math.ceil(1.1 * self.get_string_width(t) / across) for t in [says, *lines])
        self.room(4.2 * tall + 2.0)
        self.rule((226, 231, 234), 0.15)
        self.ln(0.9)
        self.ink(_GREY, size=_SMALL)
        self.cell(_GUTTER, 4.1, str(number))
        self.ink(size=_SMALL)
        with self.indented(_GUTTER, _VALUE):
            self.line_of(says, 4.1)
            for line in lines:
                self.symbols(line, 4.3)
                self.ln(4.3)
        value = f"= {printed(step.value, step.unit)} {step.unit}".rstrip()
        self.set_y(self.get_y() - 4.2)
        self.ink(style="B", size=_SMALL)
        wide = self.get_string_width(value)
        base, _, below = step.symbol.partition("_")
        self.set_x(self.w - right - wide - self.get_string_width(base + below) - 2.0)
        self.set_right_margin(right - 6.0)
        self.symbols(f"{step.symbol} {value}", 4.2)
        self.set_right_margin(right)
        self.ln(5.0)

    def symbols(self, text: str, height: float) -> None:
        """A line in which what follows a low line stands low."""
        pieces = re.split(r"_((?:(?![²³])[\w′])+(?:,\w+)*)", self.plain(linear(text)))
        for index, piece in enumerate(pieces):
            self.char_vpos = "SUB" if index % 2 else "LINE"
            if piece:
                self.write(height, piece)
        self.char_vpos = "LINE"
