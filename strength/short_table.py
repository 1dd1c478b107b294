"""How a result shows itself: a short table and its notices, as plain text or as HTML.

For a prompt or a notebook. The full sheet is laid out elsewhere.
"""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slipmargin.strength.notice import Notice, Severity, by_severity
from slipmargin.strength.pair import Numeric
from slipmargin.strength.working import printed

__all__ = ["PRELIMINARY", "ShortTable", "shown"]

PRELIMINARY = "Preliminary: local codes and the review of a licensed engineer decide."
_WIDTH = 88


def shown(value: Numeric | None, unit: str = "") -> str:
    """A number as it is printed; of an array the range and the count; nothing as a dash."""
    values = np.asarray(np.nan if value is None else value, dtype=float)
    known = values[~np.isnan(values)]
    if known.size == 0:
        return "-"
    low, high = printed(float(known.min()), unit), printed(float(known.max()), unit)
    if values.ndim == 0:
        return low
    return f"{low} to {high} ({values.size} values)"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortTable:
    """A table with a title and notices.

    ``header`` and ``rows`` are cells as text, the first column naming the row. Notices are shown
    most severe first; those that are good to know are counted in plain text.
    """

    title: str
    header: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    notices: tuple[Notice, ...]

    def text(self) -> str:
        """Plain text, aligned."""
        widths = [max(map(len, column)) for column in zip(self.header, *self.rows, strict=True)]
        lines = [self.title]
        for row in (self.header, *self.rows):
            lines.append("  ".join(map(str.ljust, row, widths)).rstrip())
        heavy = [n for n in by_severity(self.notices) if n.severity != Severity.INFO]
        for notice in heavy:
            word = f"{notice.severity.upper():8}"
            lines += textwrap.wrap(
                notice.text, _WIDTH, initial_indent=word, subsequent_indent=" " * len(word)
            )
        lighter = len(self.notices) - len(heavy)
        if lighter:
            lines.append(f"and {lighter} to note: see .notices")
        return "\n".join([*lines, PRELIMINARY])

    def html(self) -> str:
        """A fragment of HTML, every text escaped."""
        head = "".join(f"<th>{html.escape(cell)}</th>" for cell in self.header)
        body = "".join(
            "<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>"
            for row in self.rows
        )
        notices = "".join(
            f"<li><b>{notice.severity.upper()}</b> {html.escape(notice.text)}</li>"
            for notice in by_severity(self.notices)
        )
        return (
            f"<div><p><b>{html.escape(self.title)}</b></p>"
            f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
            + (f"<ul>{notices}</ul>" if notices else "")
            + f"<p>{PRELIMINARY}</p></div>"
        )
