"""What became of one input: a result, a clean refusal, or a violation of what is promised.

Promised: within 2 s of processor time and 500 MB, either a result whose JSON holds no NaN and
whose text holds no control character, or one sentence that names place, value and what is
allowed. No traceback, no warning.
"""

from __future__ import annotations

import io
import json
import math
import re
import resource
import signal
import traceback
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from slipmargin.cli.as_json import check_document, dump, fit_document
from slipmargin.cli.questions.check import evaluate
from slipmargin.cli.questions.fit import run_fit
from slipmargin.cli.questions.sweeps import run_sweeps
from slipmargin.cli.scenario.read import Scenario, load
from slipmargin.cli.terminal.as_text import console, print_check, print_fit
from slipmargin.cli.terminal.working import print_working
from slipmargin.cli.visible_text import visible
from slipmargin.strength import InputError
from slipmargin.strength.from_laboratory import Choices

__all__ = ["MEMORY", "OUT_OF_TIME", "SECONDS", "Outcome", "judge", "limit_memory"]

SECONDS = 2.0
MEMORY = 500_000_000
OUT_OF_TIME = "out of time"
ROOT = Path(__file__).resolve().parents[2]
_UNSEEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


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


@contextmanager
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


def judge(files: dict[str, bytes], folder: Path, seconds: float = SECONDS) -> Outcome:
    """Run ``check`` on ``s.toml``, or ``fit`` on the readings file if there is none.

    The sweeps of a scenario may take ten times as long.
    """
    for old in folder.iterdir():
        old.unlink()
    for name, content in files.items():
        (folder / name).write_bytes(content)
    thorough = zlib.crc32(b"".join(files.values())) % 4 == 0
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            with _time_limit(seconds):
                if "s.toml" in files:
                    scenario = _check(folder / "s.toml", thorough)
                else:
                    scenario = None
                    _fit(folder / next(iter(files)), thorough)
            if scenario is not None and scenario.sweeps and thorough:
                with _time_limit(10.0 * seconds):
                    _read_back(run_sweeps(scenario, scenario.sweeps).document())
        except InputError as error:
            return _refusal(error)
        except Broken as broken:
            return Outcome("violation", f"broken: {broken}")
        except TooLong as late:
            return Outcome("violation", f"{OUT_OF_TIME} in {_place(late).partition(':')[0]}")
        except MemoryError as error:
            return Outcome("violation", f"out of memory at {_place(error)}")
        except Exception as error:
            name = type(error).__name__
            says = re.sub("[0-9]+", "#", str(error)[:60])
            return Outcome("violation", f"{name} at {_place(error)}: {says}")
    return Outcome("result")


def _refusal(error: InputError) -> Outcome:
    message = visible(str(error))
    if not error.place or not error.allowed:
        return Outcome("violation", f"a refusal without place or way out: {message[:200]}")
    if len(message) > 2000:
        return Outcome("violation", f"a refusal of {len(message)} characters")
    return Outcome("refusal")


def _place(error: BaseException) -> str:
    """The innermost line of the project's own."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if Path(f.filename).is_relative_to(ROOT) and "tests" not in f.filename]
    if not own:
        return "?"
    return f"{Path(own[-1].filename).relative_to(ROOT)}:{own[-1].lineno}"


def _check(path: Path, thorough: bool) -> Scenario:
    scenario = load(path)
    outcome = evaluate(scenario)
    document = _read_back(check_document(outcome))
    for check in document["checks"]:
        _sound(check)
    for check in outcome.checks:
        for name, factor in check.result.factors_of_safety.items():
            if math.isnan(float(factor)):
                raise Broken(f"{check.entry.kind}: factor against {name} is nan")
            if float(factor) < 0.0:
                raise Broken(f"{check.entry.kind}: factor against {name} is below zero")
    if thorough:
        with redirect_stdout(io.StringIO()) as text:
            out = console(every_notice=True)
            print_check(out, outcome)
            print_working(out, outcome)
        _seen(text.getvalue())
    return scenario


def _fit(path: Path, thorough: bool) -> None:
    found = run_fit(path, specimen="square 60 mm", sample=None, choices=Choices())
    _read_back(fit_document(found))
    if thorough:
        with redirect_stdout(io.StringIO()) as text:
            print_fit(console(), found)
        _seen(text.getvalue())


def _read_back(document: dict[str, Any]) -> dict[str, Any]:
    def refuse(word: str) -> float:
        raise Broken(f"{word} in JSON")

    found: dict[str, Any] = json.loads(dump(document), parse_constant=refuse)
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


def _seen(text: str) -> None:
    if match := _UNSEEN.search(text):
        raise Broken(f"{match[0]!r} in text")
