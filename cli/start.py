"""Writes the starter scenario."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from cli.files import refuse_existing, write_whole
from strength import InputError

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
        source = files("cli") / "starter"
        for name, target in zip(_FILES, targets, strict=True):
            write_whole(target, (source / name).read_bytes(), force=force)
    except InputError:
        if made:
            for target in targets:
                target.unlink(missing_ok=True)
            folder.rmdir()
        raise
    return targets
