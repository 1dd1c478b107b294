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


def write_starter(folder: Path, *, kind: str | None = None, force: bool) -> list[Path]:
    """Write the starter files into a folder, which is made if need be.

    Parameters
    ----------
    folder
        Where to.
    kind
        A commented scenario with one check of this kind, and its JSON Schema for an editor, in
        place of the starter with its readings.
    force
        Overwrite files of the same names.

    Raises
    ------
    InputError
        A kind that is not known, a file of the same name, or a folder that cannot be made.
    """
    texts = _starter() if kind is None else _of_kind(kind)
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("folder", str(folder), f"it cannot be made: {reason}") from None
    targets = [folder / name for name in texts]
    try:
        for target in targets:
            refuse_existing(target, force=force)
        for target, text in zip(targets, texts.values(), strict=True):
            write_whole(target, text.encode(), force=force)
    except InputError:
        if made:
            for target in targets:
                target.unlink(missing_ok=True)
            folder.rmdir()
        raise
    return targets


def _starter() -> dict[str, str]:
    """Text by name of file."""
    source = files("slipmargin.cli.questions") / "starter"
    return {
        name: f"{_caution()}\n#\n{(source / name).read_text(encoding='utf-8')}" for name in _FILES
    }


def _of_kind(kind: str) -> dict[str, str]:
    from slipmargin.cli.as_json import dump
    from slipmargin.cli.scenario.commented import commented_scenario
    from slipmargin.cli.scenario.json_schema import json_schema

    # an editor looks for its schema on the first line
    first, _, rest = commented_scenario(kind).partition("\n")
    return {
        "scenario.toml": f"{first}\n{_caution()}\n#\n{rest}",
        "scenario.schema.json": dump(json_schema()) + "\n",
    }


def _caution() -> str:
    return textwrap.fill(CAUTION, 88, initial_indent="# ", subsequent_indent="# ")
