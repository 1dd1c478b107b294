"""What became of one command line: a result, a clean refusal, or a violation of what is promised.

Promised: within 2 s of processor time (20 s where sampled, drawn or searched many times) and
500 MB, either a result, whose JSON is one document without NaN and whose text holds no control
character, or one sentence that names place, value and what is allowed. No traceback, no
warning, no input altered, nothing half-written.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import re
import resource
import shutil
import signal
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import typer
from command_inputs import Case, commands

from slipmargin.cli.questions import check as question
from slipmargin.cli.visible_text import visible
from slipmargin.strength import InputError

__all__ = ["MEMORY", "OUT_OF_TIME", "SECONDS", "Outcome", "judge", "limit_memory"]

SECONDS = 2.0
LONGER = 10.0
"""How many times as long the commands may take that ask a check more than once."""

MEMORY = 500_000_000
OUT_OF_TIME = "out of time"
ROOT = Path(__file__).resolve().parents[2]
_UNSEEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_USAGE: Any = typer.BadParameter.__bases__  # of whichever click typer goes by


@dataclass(frozen=True)
class Outcome:
    """``result``, ``refusal`` or ``violation``; of a violation, what was broken and where."""

    kind: str
    detail: str = ""


class TooLong(BaseException):
    """The time is over."""


class Broken(Exception):
    """A promise is."""


def limit_memory() -> None:
    """Let this process take 500 MB more than it has."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    limit = pages * resource.getpagesize() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


@contextlib.contextmanager
def _time_limit(seconds: float) -> Iterator[None]:
    def over(number: int, frame: Any) -> None:
        raise TooLong

    before = signal.signal(signal.SIGPROF, over)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def judge(case: Case, folder: Path, seconds: float = SECONDS) -> Outcome:
    """Run a command line in an emptied folder."""
    for old in folder.iterdir():
        shutil.rmtree(old) if old.is_dir() else old.unlink()
    for name, content in case.files.items():
        (folder / name).write_bytes(content)
    allowed = seconds if case.words[0] in ("check", "fit", "methods") else LONGER * seconds
    with warnings.catch_warnings(), contextlib.chdir(folder):
        warnings.simplefilter("error")
        try:
            try:
                with _time_limit(allowed):
                    said = _run(case.words)
                _hold(case.words, said)
                kind = "result"
            except InputError as error:
                _refused(error)
                kind = "refusal"
            except _USAGE as error:
                if not error.format_message().strip():
                    raise Broken("a refusal without a word") from None
                kind = "refusal"
            _nothing_broken(case, refused=kind == "refusal")
            return Outcome(kind)
        except Broken as broken:
            return Outcome("violation", f"{case.words[0]}: broken: {broken}")
        except TooLong as late:
            return Outcome("violation", f"{OUT_OF_TIME} in {_place(late).partition(':')[0]}")
        except MemoryError as error:
            return Outcome("violation", f"out of memory at {_place(error)}")
        except Exception as error:
            name = type(error).__name__
            says = re.sub("[0-9]+", "#", str(error)[:60])
            return Outcome("violation", f"{name} at {_place(error)}: {says}")


def _run(words: tuple[str, ...]) -> tuple[str, int]:
    """What a command line prints, and its exit code."""
    evaluate = question.evaluate

    def watched(scenario: Any) -> Any:
        found = evaluate(scenario)
        for check in found.checks:
            for state, factor in check.result.factors_of_safety.items():
                if math.isnan(float(factor)) or float(factor) < 0.0:
                    raise Broken(f"{check.entry.kind}: factor against {state} is {factor}")
        return found

    with (
        contextlib.redirect_stdout(io.StringIO()) as out,
        contextlib.redirect_stderr(io.StringIO()),
        patch.object(question, "evaluate", watched),
    ):
        code = commands()[words[0]].main(
            list(words[1:]), prog_name=f"slipmargin {words[0]}", standalone_mode=False
        )
    return out.getvalue(), code if isinstance(code, int) else 0


def _hold(words: tuple[str, ...], said: tuple[str, int]) -> None:
    """Hold what was printed against what is promised of it."""
    text, code = said
    if code not in ((0, 1) if {"--strict", "verify"} & set(words) else (0,)):
        raise Broken(f"exit code {code}")
    if words[0] == "batch" and "--json" in words:
        documents = [_read(line) for line in text.splitlines()]
    elif "--json" in words or words[0] == "schema":
        documents = [_read(text)]
    elif match := _UNSEEN.search(text):
        raise Broken(f"{match[0]!r} in text")
    else:
        return
    if words[0] == "check" and "--variants" not in words:
        for check in documents[0]["checks"]:
            _sound(check)


def _read(text: str) -> dict[str, Any]:
    def refuse(word: str) -> float:
        raise Broken(f"{word} in JSON")

    if match := _UNSEEN.search(text):
        raise Broken(f"{match[0]!r} in JSON")
    try:
        found: dict[str, Any] = json.loads(text, parse_constant=refuse)
    except ValueError:
        raise Broken("no JSON on standard output") from None
    return found


def _sound(check: dict[str, Any]) -> None:
    """Verdict and notices go with the factors."""
    factors = [f for f in check["factors_of_safety"].values() if f is not None]
    held = [
        (factor, check.get("targets", {}).get(state))
        for state, factor in check["factors_of_safety"].items()
    ]
    # a factor without limit is written as null
    verdicts = [f is None or f >= target for f, target in held if target is not None]
    verdict = all(verdicts) if verdicts else None
    if check["meets_target"] is not verdict:
        raise Broken(f"{check['kind']}: verdict {check['meets_target']} on a wrong factor")
    codes = {notice["code"] for notice in check["notices"] if notice["severity"] == "stop"}
    if factors and min(factors) < 1.0 and "below-one" not in codes:
        raise Broken(f"{check['kind']}: a factor below 1 without its notice")


def _refused(error: InputError) -> None:
    message = visible(str(error))
    if not error.place or not error.allowed:
        raise Broken(f"a refusal without place or way out: {message[:200]}")
    if len(message) > 2000:
        raise Broken(f"a refusal of {len(message)} characters")


def _nothing_broken(case: Case, *, refused: bool) -> None:
    """Inputs are as they were, and nothing is half-written."""
    for name, content in case.files.items():
        # lines of a batch may be added to; a file may be replaced where that is asked for
        if Path(name).read_bytes() != content and not name.endswith(".jsonl"):
            raise Broken(f"the input {name} was altered")
    new = sorted(path.name for path in Path().rglob("*") if path.name not in case.files)
    if any(name.startswith(".") for name in new):
        raise Broken("a file was left half-written")
    if refused and new and case.words[0] != "batch":
        raise Broken(f"a refusal that wrote {', '.join(new)}")


def _place(error: BaseException) -> str:
    """The innermost line of the project's own."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if Path(f.filename).is_relative_to(ROOT) and "tests" not in f.filename]
    if not own:
        return "?"
    return f"{Path(own[-1].filename).relative_to(ROOT)}:{own[-1].lineno}"
