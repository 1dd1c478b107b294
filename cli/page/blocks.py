"""What a calculation sheet is made of; the page, the PDF and the Markdown walk the same tree."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import Notice
from slipmargin.strength.working import Step

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from slipmargin.cli.page.slider import SliderData

__all__ = [
    "Block",
    "Cell",
    "Factor",
    "Leaf",
    "Lines",
    "NoticeList",
    "Picture",
    "Section",
    "Sheet",
    "Slider",
    "Table",
    "Verdict",
    "Words",
    "Working",
    "WrittenNotice",
    "cell_text",
]


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; ``tone`` is empty, ``strong`` or ``aside``."""

    text: str
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines that are kept as they stand: equations of a theory, commands to type, or what the
    program ``said`` to them.
    """

    lines: Sequence[str]
    said: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """A judgement in a cell: words, and ``good``, ``bad`` or ``open`` for its dress."""

    text: str
    tone: str


@dataclass(frozen=True, slots=True)
class Factor:
    """A factor in a cell, and what is asked of it."""

    value: float
    target: float | None

    @property
    def text(self) -> str:
        """The factor as it is written."""
        return factor_text(self.value)

    @property
    def is_short(self) -> bool:
        """Whether it is below 1 or below its target."""
        return self.value < 1.0 or (self.target is not None and self.value < self.target)


Cell: TypeAlias = str | Verdict | Factor


def cell_text(cell: Cell) -> str:
    """A cell without its dress."""
    return cell if isinstance(cell, str) else cell.text


@dataclass(frozen=True, slots=True)
class Table:
    """A table; columns in ``right`` hold numbers, the first cell of a row heads it.

    ``ruler`` asks for the factor of each row drawn on a line with 1 and its target; ``above``
    holds texts that stand across the table above a row, each with the number of that row.
    """

    caption: str
    headers: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    right: Collection[int] = ()
    ruler: bool = False
    above: Sequence[tuple[int, str]] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure, drawn when it is needed; ``words`` tell what it shows to who cannot see it."""

    key: str
    caption: str
    words: str
    draw: Callable[[], Figure]


@dataclass(frozen=True, slots=True)
class Working:
    """What was given, and the steps from there."""

    given: Sequence[Step]
    steps: Sequence[Step]


@dataclass(frozen=True, slots=True)
class WrittenNotice:
    """A notice, the places it was raised at, and how many of its kind it stands for."""

    notice: Notice
    places: tuple[str, ...]
    alike: int = 0

    @property
    def placed(self) -> str:
        """Its text below the places."""
        return f"{', '.join(self.places)}: {self.notice.text}" if self.places else self.notice.text


@dataclass(frozen=True, slots=True)
class NoticeList:
    """Notices of one weight, or of one check, most severe first."""

    notices: tuple[WrittenNotice, ...]


@dataclass(frozen=True, slots=True)
class Slider:
    """The one thing to touch; only a page can hold it."""

    data: SliderData
    picture: str


Block: TypeAlias = Words | Lines | Table | Picture | Working | NoticeList | Slider


@dataclass(frozen=True, slots=True)
class Leaf:
    """A part of a section under a heading of its own."""

    title: str
    blocks: Sequence[Block]


@dataclass(frozen=True, slots=True)
class Section:
    """A numbered part of the sheet."""

    title: str
    blocks: Sequence[Block]
    leaves: Sequence[Leaf] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A document of numbered sections; ``date`` alone differs between two runs.

    ``signed`` are the lines of the sign-off block, blank where a hand is to fill them in.
    """

    title: str
    caution: str
    verdict: str
    date: str
    sections: Sequence[Section]
    kind: str = "Calculation sheet"
    signed: Sequence[tuple[str, str]] = ()
