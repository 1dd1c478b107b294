"""Writes the starter scenario."""

from __future__ import annotations

import textwrap
from importlib.resources import files
from pathlib import Path

from slipmargin.cli.files import refuse_existing, write_whole
from slipmargin.cli.words import CAUTION
from slipmargin.strength import InputError

__all__ = ["write_starter"]

_FILES = ("scenario.toml", "shear-box.csv")


def write_starter(folder: Path, *, force: bool) -> list[Path]:
    """Write the starter files into a folder, which is made if need be.

    Raises
    ------
    InputError
        A file of the same name exists, or the folder cannot be made.
    """
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("folder", str(folder), f"it cannot be made: {reason}") from None
    targets = [folder / name for name in _FILES]
    try:
        for target in targets:
            refuse_existing(target, force=force)
        source = files("slipmargin.cli.questions") / "starter"
        caution = textwrap.fill(CAUTION, 88, initial_indent="# ", subsequent_indent="# ")
        for name, target in zip(_FILES, targets, strict=True):
            text = f"{caution}\n#\n{(source / name).read_text(encoding='utf-8')}"
            write_whole(target, text.encode(), force=force)
    except InputError:
        if made:
            for target in targets:
                target.unlink(missing_ok=True)
            folder.rmdir()
        raise
    return targets
