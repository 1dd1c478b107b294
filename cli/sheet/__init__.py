"""The calculation sheet: a page, a PDF or Markdown of the same content."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from slipmargin.cli.files import refuse_existing, write_whole
from slipmargin.cli.questions.check import Outcome
from slipmargin.strength import InputError

__all__ = ["refuse_report_name", "write_report"]

_SUFFIXES = (".html", ".pdf", ".md")


def refuse_report_name(path: Path) -> None:
    """Refuse a sheet in a form that is not written.

    Raises
    ------
    InputError
        A name that ends in no known way.
    """
    if path.suffix.lower() not in _SUFFIXES:
        raise InputError("output", path.name, "allowed: a name ending in .html, .pdf or .md")


def write_report(
    outcome: Outcome,
    path: Path,
    *,
    force: bool,
    now: datetime | None,
    sampled: bool = False,
) -> None:
    """Write the sheet in the form its name asks for, whole or not at all.

    Parameters
    ----------
    outcome
        A scenario and what its checks gave.
    path
        Ends in ``.html``, ``.pdf`` or ``.md``.
    force
        Overwrite an existing file.
    now
        Date of the sheet; the present without it. Nothing else differs between two sheets
        of the same input.
    sampled
        Add the sampled doubt, which takes longer than all the rest.

    Raises
    ------
    InputError
        A name that ends otherwise, or a file that exists or cannot be written.
    """
    refuse_report_name(path)
    refuse_existing(path, force=force)
    from slipmargin.cli.sheet.content import sheet_of

    now = now or datetime.now(UTC)
    sheet = sheet_of(outcome, now, sampled=sampled)
    match path.suffix.lower():
        case ".html":
            from slipmargin.cli.sheet.html import page

            content = page(sheet).encode()
        case ".pdf":
            from slipmargin.cli.sheet.pdf import document

            content = document(sheet, now)
        case _:
            from slipmargin.cli.sheet.markdown import markdown

            content = markdown(sheet).encode()
    write_whole(path, content, force=force)
