"""The tutorial as pages: its notebooks, run where the handbook is written."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from matplotlib.figure import Figure

from slipmargin.cli.handbook.notebook import Shown, run_cells
from slipmargin.cli.page.blocks import Block, Leaf, Lines, Picture, Section, Words
from slipmargin.cli.questions.start import NOTEBOOKS, write_tutorial

__all__ = ["section_of", "tutorial"]

_WHERE = (
    "The commands of this chapter are typed in a folder of their own, which these two lines make "
    "and enter, once for all three notebooks:"
)
_ENTER = ("slipmargin start learn --tutorial", "cd learn")

_NUMBER = re.compile(r"^\d+\. ")
_DRESS = re.compile(r"\*\*|`|(?<!\w)\*(?=\w)|(?<=\S)\*(?!\w)")


def tutorial() -> list[Section]:
    """One section a notebook: its text, its code, and what running it shows."""
    with tempfile.TemporaryDirectory() as folder:
        write_tutorial(Path(folder), force=False)
        return [section_of(one, run_cells(Path(folder) / f"{one}.ipynb")) for one in NOTEBOOKS]


def section_of(name: str, cells: Iterable[Shown]) -> Section:
    """A notebook that was run, as a section: its headings part it, its title is the first."""
    title, parts = "", [("", list[Block]())]
    for number, shown in enumerate(cells):
        if shown.cell.kind == "code":
            parts[-1][1].extend(_worked(shown, f"handbook-{name}-{number}"))
            continue
        for part in filter(None, shown.cell.source.split("\n\n")):
            head, _, words = part.partition(" ")
            match head:
                case "#":
                    title = words
                case "##":
                    parts.append((_NUMBER.sub("", words), []))
                case _:
                    parts[-1][1].append(_text(part))
    (_, before), *leaves = parts
    return Section(
        f"Tutorial: {title[0].lower()}{title[1:]}",
        (*before, Words(_WHERE), Lines(_ENTER)),
        tuple(Leaf(head, blocks) for head, blocks in leaves),
    )


def _text(part: str) -> Block:
    if part.startswith("    "):
        return Lines(tuple(line[4:] for line in part.splitlines()))
    words = _DRESS.sub("", " ".join(part.split()))
    return Words(words, "strong" if part.startswith("**Stop") else "")


def _worked(shown: Shown, key: str) -> Iterator[Block]:
    """The code of a cell and what it shows; a picture is told by the comment above its code."""
    source = shown.cell.source.splitlines()
    yield Lines(tuple(line.removeprefix("!") for line in source))
    said = shown.printed.splitlines()
    match shown.value:
        case Figure() as figure:
            told = source[0].removeprefix("# ")
            yield Picture(key, told, told, lambda: figure)
        case None:
            pass
        case value:
            said += repr(value).splitlines()
    if said:
        yield Lines(said, said=True)
