"""The calculation sheet: a page, a PDF or Markdown of the same content."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from slipmargin.cli.files import refuse_existing, write_whole
from slipmargin.cli.questions.check import Outcome
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from slipmargin.cli.page.blocks import Sheet

__all__ = ["refuse_report_name", "write_report", "write_sheet"]

_SUFFIXES = (".html", ".pdf", ".md")


def refuse_report_name(path: Path) -> None:
    """Refuse a sheet whose name ends in no form that is written."""
    if path.suffix.lower() not in _SUFFIXES:
        raise InputError("output", path.name, "allowed: a name ending in .html, .pdf or .md")


def write_report(
    outcome: Outcome,
    path: Path,
    *,
    force: bool,
    now: datetime | None,
    sampled: bool = False,
    working: bool = False,
) -> None:
    """Write the sheet in the form its name asks for, whole or not at all.

    Its date is the present unless it is given; nothing else differs between two sheets of the same
    input. ``sampled`` adds the table of sampled factors, ``working`` the working to a PDF or
    Markdown too: a page always has it, folded. ``InputError``: a name that does not end in
    ``.html``, ``.pdf`` or ``.md``, or a file that exists (without ``force``) or cannot be written.
    """
    from slipmargin.cli.sheet.content import sheet_of

    steps = working or path.suffix.lower() == ".html"
    write_sheet(
        lambda date: sheet_of(outcome, date, sampled=sampled, working=steps),
        path,
        force=force,
        now=now,
    )


def write_sheet(
    made: Callable[[datetime], Sheet], path: Path, *, force: bool, now: datetime | None = None
) -> None:
    """Write what is made of a date, in the form the name asks for, whole or not at all.
    ``InputError`` as ``write_report``.
    """
    refuse_report_name(path)
    refuse_existing(path, force=force)
    now = now or datetime.now(UTC)
    sheet = made(now)
    match path.suffix.lower():
        case ".html":
            from slipmargin.cli.page.html import page

            content = page(sheet).encode()
        case ".pdf":
            from slipmargin.cli.page.pdf import document

            content = document(sheet, now)
        case _:
            from slipmargin.cli.page.markdown import markdown

            content = markdown(sheet).encode()
    write_whole(path, content, force=force)
