"""Saves figures: whole files, the same bytes for the same input."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from slipmargin.cli.files import refuse_outputs, write_whole
from slipmargin.cli.page.pictures import FORMATS, encoded
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from slipmargin.cli.questions.check import Outcome
    from slipmargin.cli.scenario.read import Scenario

__all__ = ["refuse_format", "save", "save_sections", "section_files"]

_CAUTION = "Preliminary quick check, not a design: local codes and a licensed engineer decide."
"""Stands on every picture, which may travel alone."""


def refuse_format(path: Path) -> None:
    """Refuse a picture format that is not written, naming those that are."""
    if path.suffix.lower()[1:] not in FORMATS:
        raise InputError("--plot", path.name, "allowed: a name ending in .png, .svg or .pdf")


def save(figure: Figure, path: Path, *, force: bool, of: str = "") -> None:
    """Write a figure in the format its name asks for; ``of`` is what part of a scenario it is
    of, and stands on it.
    """
    from slipmargin.strength.drawing.frame import script
    from slipmargin.strength.drawing.labels import written

    # below the figure, whose layout it leaves alone
    said = f"{_CAUTION} {of[0].upper()}{of[1:]}." if of else _CAUTION
    axes = figure.axes[0]
    corner, points = axes.get_window_extent(), 72.0 / figure.dpi
    left, below = 4.0 - points * corner.x0, -4.0 - points * corner.y0
    words = (written(said, 400), left, below, 0.0, 1.0)
    script(axes, [words], size=6.5, ink="#54606b")
    look = {"dpi": 150, "bbox_inches": "tight", "pad_inches": 0.06}
    write_whole(path, encoded(figure, path.suffix.lower()[1:], **look), force=force)


def section_files(scenario: Scenario, folder: Path, *, force: bool) -> list[Path]:
    """Where the section of every check is to lie, in their order; the folder may be yet to make.
    ``InputError``: no folder, a folder in no other, or a picture that cannot be written there.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError("--plot", str(folder), "name a folder")
    if not folder.absolute().parent.is_dir():
        raise InputError("--plot", str(folder), "the folder it would stand in does not exist")
    files = [
        folder / f"section-{number:02d}-{entry.kind.replace('_', '-')}.svg"
        for number, entry in enumerate(scenario.checks, start=1)
    ]
    if folder.is_dir():
        refuse_outputs(*files, force=force, inputs=scenario.files)
    return files


def save_sections(outcome: Outcome, files: Sequence[Path], *, force: bool) -> None:
    """Draw the section of every check, one picture a check, into ``section_files``. ``InputError``:
    a picture that cannot be written.
    """
    from slipmargin.stability.drawing.section import plot_section
    from slipmargin.strength.drawing.frame import heading
    from slipmargin.strength.drawing.labels import written

    for target, check in zip(files, outcome.checks, strict=True):
        target.parent.mkdir(exist_ok=True)
        figure = plot_section(check.entry.check, check.result)
        heading(figure.axes[0], [(written(check.entry.label, 80), 10.0)])
        save(figure, target, force=force)
