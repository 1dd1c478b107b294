"""Writes the starter scenario, or the tutorial with the sites it works on."""

from __future__ import annotations

import shutil
import textwrap
from importlib.resources import files
from pathlib import Path

from slipmargin.cli.files import refuse_existing, write_whole
from slipmargin.cli.words import CAUTION
from slipmargin.strength import InputError

__all__ = ["NOTEBOOKS", "write_starter", "write_tutorial"]

_FILES = ("scenario.toml", "shear-box.csv")

NOTEBOOKS = ("student", "junior", "reviewer")
"""The parts of the tutorial, in the order they are read."""


def write_starter(folder: Path, *, kind: str | None = None, force: bool) -> list[Path]:
    """Write the starter files into a folder, which is made if need be.

    With a ``kind`` it is a commented scenario with one check of it, and its JSON Schema for an
    editor, in place of the starter with its readings. ``InputError``: a kind that is not known, a
    file of the same name, or a folder that cannot be made.
    """
    return _written(folder, _starter() if kind is None else _of_kind(kind), force=force)


def write_tutorial(folder: Path, *, force: bool) -> list[Path]:
    """Write the notebooks and the sites they read, as ``write_starter`` its files."""
    source = files("slipmargin.scenarios")
    texts = {f"{name}.ipynb": source / f"{name}.ipynb" for name in NOTEBOOKS}
    for site in sorted(source.iterdir(), key=lambda one: one.name):
        if site.is_dir():
            texts |= {
                f"{site.name}/{one.name}": one
                for one in sorted(site.iterdir(), key=lambda one: one.name)
                if one.name.endswith((".toml", ".csv"))
            }
    found = {name: one.read_text(encoding="utf-8") for name, one in texts.items()}
    return _written(folder, found, force=force)


def _written(folder: Path, texts: dict[str, str], *, force: bool) -> list[Path]:
    """Write texts under their names, all of them or none into a new folder."""
    made = not folder.exists()
    targets = [folder / name for name in texts]
    try:
        for inner in dict.fromkeys((folder, *(target.parent for target in targets))):
            inner.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("folder", str(folder), f"it cannot be made: {reason}") from None
    try:
        for target in targets:
            refuse_existing(target, force=force)
        for target, text in zip(targets, texts.values(), strict=True):
            write_whole(target, text.encode(), force=force)
    except InputError:
        if made:
            shutil.rmtree(folder)
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
