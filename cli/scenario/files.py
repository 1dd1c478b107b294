"""The file of a scenario: read up to what is allowed, and named in every error."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from slipmargin.strength import InputError

__all__ = [
    "FileError",
    "Folder",
    "naming",
    "read_scenario",
    "read_table",
    "refuse_readings",
    "within",
]

LARGEST_SCENARIO = 1 << 20
"""A larger scenario file [bytes] is refused."""

_PART_OF_KEY = r"""(?:(?<![\w-])[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"{_PART_OF_KEY}(?:[ \t]*+\.[ \t]*+{_PART_OF_KEY}){{40}}")
"""A dotted key of so many parts that reading it would take minutes."""


class FileError(InputError):
    """An input error with the file it stands in."""

    def __init__(self, file: Path, error: InputError) -> None:
        super().__init__(error.place, error.value, error.allowed)
        self.file = file

    def __reduce__(self) -> tuple[Any, ...]:
        return FileError, (self.file, InputError(self.place, self.value, self.allowed))

    def __str__(self) -> str:
        return f"{self.file}: {super().__str__()}"


@contextmanager
def naming(file: Path) -> Iterator[None]:
    """Name the file in what goes wrong inside."""
    try:
        yield
    except FileError:
        raise
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        problem = InputError("file", file.name or ".", f"it cannot be read: {reason}")
        raise FileError(file, problem) from None
    except InputError as error:
        raise FileError(file, error) from None


@contextmanager
def within(place: str) -> Iterator[None]:
    """Read the place of what goes wrong inside from one level further out; none: as it is."""
    try:
        yield
    except FileError:
        raise
    except InputError as error:
        raise (error.within(place) if place else error) from None


class Folder:
    """The folder of a scenario; ``digests`` are the SHA-256 of each file that was read from it, by
    its name as the scenario writes it.
    """

    def __init__(self, path: Path, *, allow_outside: bool) -> None:
        self.path, self.allow_outside = path, allow_outside
        self.digests: dict[str, str] = {}

    def file(self, place: str, name: str) -> Path:
        """A file that a scenario names, inside its folder unless others are allowed."""
        file = self.path / name
        try:
            inside = file.resolve().is_relative_to(self.path.resolve())
            present = file.is_file()
        except (OSError, ValueError, RuntimeError):  # too long, a NUL, a loop of links
            raise InputError(place, name, "it is no name a file can have") from None
        if not inside and not self.allow_outside:
            keep = "keep it in the scenario's folder or below it, or allow it with --allow-outside"
            raise InputError(place, name, keep)
        if not present:
            raise InputError(place, name, "no such file beside the scenario")
        return file

    def digest(self, name: str) -> str:
        """SHA-256 of a file, read once."""
        if name not in self.digests:
            with (self.path / name).open("rb") as stream:
                self.digests[name] = hashlib.file_digest(stream, "sha256").hexdigest()
        return self.digests[name]


def read_scenario(path: Path) -> bytes:
    """Content of a scenario file, up to the size that is allowed."""
    with naming(path):
        with path.open("rb") as stream:
            content = stream.read(LARGEST_SCENARIO + 1)
        if len(content) > LARGEST_SCENARIO:
            most = LARGEST_SCENARIO // 1024
            raise InputError("file", f"over {most} KiB", f"allowed: up to {most} KiB")
    return content


def refuse_readings(path: Path, content: bytes) -> None:
    """Name the command for readings where they are given in place of a scenario."""
    names = content.lstrip(b"\xef\xbb\xbf \t\r\n").split(b"\n", 1)[0].split(b",")
    header = names[0].strip().strip(b'"').lower() in (b"test", b"group") and len(names) > 1
    if header or path.suffix.lower() in (".csv", ".xlsx", ".ags"):
        raise InputError(
            "file", path.name, f"it is a table of readings; for those: slipmargin fit {path.name}"
        )


def read_table(content: bytes) -> dict[str, Any]:
    """The outermost table of a scenario in UTF-8 and TOML, nested no deeper than any is."""
    try:
        text = content.decode("utf-8-sig")
        if _LONG_KEY.search(text):
            raise RecursionError
        return tomllib.loads(text)
    except UnicodeDecodeError:
        raise InputError("file", "not UTF-8", "save the scenario as UTF-8 text") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError("file", "not valid TOML", _with_hint(str(error), text)) from None
    except RecursionError:
        raise InputError("file", "nested too deeply", "a scenario needs a few levels") from None
    except ValueError:  # the reader refuses integers of thousands of digits, and odd dates
        problem = "it holds an integer or a date that no computer reads"
        raise InputError("file", "not valid TOML", problem) from None


def _with_hint(problem: str, text: str) -> str:
    """What the reader says, and the slip that is behind it most often."""
    found = re.search(r"line (\d+)", problem)
    lines = text.splitlines()
    number = int(found[1]) if found else 0
    if 0 < number <= len(lines) and re.search(r"=\s*[-+]?\d+,\d", lines[number - 1]):
        return f"{problem}; write a decimal point, not a comma"
    return problem
