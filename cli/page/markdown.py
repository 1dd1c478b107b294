"""The sheet as Markdown: plain text that any editor shows, tables as tables."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from slipmargin.cli.page.blocks import (
    Block,
    Lines,
    NoticeList,
    Picture,
    Sheet,
    Table,
    Words,
    Working,
    cell_text,
)
from slipmargin.cli.page.equations import linear
from slipmargin.cli.page.notices import WEIGHTS, words_of
from slipmargin.cli.visible_text import readable
from slipmargin.strength.working import Step, digits, printed

__all__ = ["markdown"]


def markdown(sheet: Sheet) -> str:
    """The sheet as Markdown with tables; pictures are told in words."""
    signed = "; ".join(f"{name}: {_plain(text) or '.' * 12}" for name, text in sheet.signed)
    lines = [
        f"# {_plain(sheet.title)}",
        sheet.kind if sheet.signed else f"{sheet.kind}. Made on {sheet.date}",
        *([signed] if signed else []),
        f"**{_plain(sheet.verdict)}**",
        f"**Caution.** {_plain(sheet.caution)}",
    ]
    for number, section in enumerate(sheet.sections, start=1):
        lines.append(f"## {number} {_plain(section.title)}")
        lines += _blocks(section.blocks)
        for part, leaf in enumerate(section.leaves, start=1):
            lines.append(f"### {number}.{part} {_plain(leaf.title)}")
            lines += _blocks(leaf.blocks)
    return "\n\n".join(lines) + "\n"


def _blocks(blocks: Sequence[Block]) -> Iterator[str]:
    for block in blocks:
        match block:
            case Words(text=text, tone=tone):
                yield f"**{_plain(text)}**" if tone == "strong" else _plain(text)
            case Lines(lines=lines):
                yield "\n".join(f"    {readable(line)}" for line in lines)
            case Table():
                yield f"*{_plain(block.caption)}*"
                yield _table(block)
            case Picture(caption=caption, words=words):
                yield f"> {_plain(caption)}. {_plain(words)}"
            case Working():
                yield from _working(block)
            case NoticeList(notices=notices):
                yield "\n".join(
                    f"- **{WEIGHTS[one.notice.severity]}, {words_of(one.notice)}.** "
                    + (f"{_plain(', '.join(one.places))}: " if one.places else "")
                    + _plain(one.notice.text)
                    + (f" ({_plain(one.notice.ground)})" if one.notice.ground else "")
                    for one in notices
                )
            case _:
                pass  # sliders need a page that moves


def _table(block: Table) -> str:
    ruled = ["--:" if i in block.right else "---" for i in range(len(block.headers))]
    lines = [_line(map(_plain, block.headers)), _line(ruled)]
    above = dict(block.above)
    for number, row in enumerate(block.rows):
        if number in above:
            lines.append(_line([f"**{_plain(above[number])}**", *[""] * (len(row) - 1)]))
        lines.append(_line(_plain(cell_text(cell)) for cell in row))
    return "\n".join(lines)


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _working(block: Working) -> Iterator[str]:
    if block.given:
        yield "Given:"
        yield "\n".join(
            f"- {_code(f'{step.symbol} = {digits(step.value)} {step.unit}')} {_plain(step.says)}"
            for step in block.given
        )
    if block.steps:
        yield "\n".join(_step(number, step) for number, step in enumerate(block.steps, start=1))


def _step(number: int, step: Step) -> str:
    source = f" ({_plain(step.source)})" if step.source else ""
    lines = [f"{number}. {_plain(step.says)}{source}"]
    equations = [f"{step.symbol} = {text}" for text in (step.equation, step.substituted) if text]
    value = f"{step.symbol} = {printed(step.value, step.unit)} {step.unit}"
    return "  \n    ".join([*lines, *(_code(linear(e)) for e in equations), f"**{_code(value)}**"])


def _code(text: str) -> str:
    """Words of the program's own between backticks; there is none in them."""
    return f"`{readable(text).strip()}`"


def _plain(text: str) -> str:
    """Text in which nothing is taken for a mark-up of Markdown or HTML."""
    words = " ".join(readable(text).split())
    words = words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    words = re.sub(r"([\\`*_{}\[\]|~#!$])", r"\\\1", words)
    words = re.sub(r"(?i)(https?|ftp|www)([:.])", r"\1&#8203;\2", words)
    words = re.sub(r"^(\d+)([.)])(?=\s|$)", r"\1\\\2", words)
    return re.sub(r"^([-+=])(?=\s|$|=)", r"\\\1", words)
