"""Takes over the lines of a batch that was stopped, as far as they still hold."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any

from slipmargin.cli.batch.run import BatchLine
from slipmargin.cli.scenario.files import Folder
from slipmargin.strength import InputError

__all__ = ["earlier_lines"]

_LARGEST_LINE = 64 << 20


def earlier_lines(
    file: Path, paths: Sequence[Path], variant: str | None = None, *, allow_outside: bool = False
) -> Iterator[BatchLine]:
    """Lines of an earlier run whose scenario and readings have not changed since.

    A line is left out where its scenario was refused, is not among ``paths``, was checked by
    another version of the program, is of another variant, or where any file it was made from has
    changed, or lies outside the scenario's folder and may not; and so is whatever in the file is no
    such line. ``InputError``: the file cannot be read.
    """
    wanted = {path.absolute(): str(path) for path in paths}
    here = version("slipmargin")
    try:
        with file.open("rb") as stream:
            while raw := stream.readline(_LARGEST_LINE):
                found = _line(raw)
                if found is None or found.get("version") != here:
                    continue
                if found["result"].get("variant") != variant:
                    continue
                name = wanted.get(Path(found["path"]).absolute())
                if name is None or not _unchanged(
                    Path(name), found["sha256"], allow_outside=allow_outside
                ):
                    continue
                del wanted[Path(name).absolute()]
                yield BatchLine(name, True, raw.decode("utf-8").rstrip("\n"))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("--resume", str(file), f"it cannot be read: {reason}") from None


def _line(raw: bytes) -> dict[str, Any] | None:
    """A whole line of a scenario that was run; ``None`` for anything else."""
    if not raw.endswith(b"\n"):
        return None
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    shaped = (
        isinstance(found, dict)
        and found.get("ok") is True
        and isinstance(found.get("path"), str)
        and isinstance(found.get("fails"), bool)
        and isinstance(found.get("sha256"), dict)
        and isinstance(found.get("result"), dict)
    )
    return found if shaped and "\0" not in found["path"] else None


def _unchanged(path: Path, digests: dict[str, Any], *, allow_outside: bool) -> bool:
    """Whether every file behind a line may be read and has the content it had."""
    folder = Folder(path.parent, allow_outside=allow_outside)
    try:
        for name, wanted in digests.items():
            if name != path.name:
                folder.file("--resume", name)
            if folder.digest(name) != wanted:
                return False
    except (OSError, InputError):
        return False
    return path.name in digests
