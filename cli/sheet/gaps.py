"""Parts of a sheet that could not be made: each leaves a gap with a name, and a notice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from slipmargin.cli.page.blocks import Leaf, NoticeList, Section, WrittenNotice
from slipmargin.strength import InputError, Notice

__all__ = ["Gaps"]


@dataclass(frozen=True, slots=True)
class Gaps:
    """The gaps of one sheet, filled as its parts are made, and what the parts owe.

    Whatever one part fails at, it may not cost the reader the rest. ``owed`` are notices that
    further questions of a check must pass on, each with the label of the check.
    """

    notices: list[WrittenNotice] = field(default_factory=list)
    owed: list[tuple[str, Notice]] = field(default_factory=list)

    def section(self, title: str, make: Callable[[], Section]) -> Section:
        """A section, or its gap under the same title."""
        try:
            return make()
        except Exception as error:
            return Section(title, (self._gap(title, error),))

    def leaves(self, title: str, make: Callable[[], list[Leaf]]) -> list[Leaf]:
        """Parts of a section, or their gap under one title."""
        try:
            return make()
        except Exception as error:
            return [Leaf(title, (self._gap(title, error),))]

    def _gap(self, title: str, error: Exception) -> NoticeList:
        if isinstance(error, InputError):
            notice = Notice.caution(
                "part-of-sheet-missing",
                f"Not on this sheet: {title}. It could not be made: {error}.",
            )
        else:
            notice = Notice.stop(
                "part-of-sheet-failed",
                f"Not on this sheet: {title}. The program failed at it ({type(error).__name__}: "
                f"{error}), which is a fault of the program; what that part would have shown may "
                "govern.",
            )
        found = WrittenNotice(notice, ())
        self.notices.append(found)
        return NoticeList((found,))
