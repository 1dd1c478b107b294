"""Runs many broken inputs through the program in process, and reports what became of them.

    python tests/fuzz/run.py --cases 200000 --seed 1 --jobs 2
    python tests/fuzz/run.py --seed 1 --only 4711

Each portion runs in a process of its own, under the limits of ``outcome``; an input is drawn
from the seed and its number, so that it can be run again alone. Each kind of violation is
reported once, made smaller. Exit code 1 if there is any.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from chance import Dice
from command_inputs import Case, case
from outcome import OUT_OF_TIME, Outcome, judge, limit_memory

PORTION = 5000
MOST_TRIES = 400
"""Smaller inputs tried of one that broke a promise."""


def numbered(seed: int, number: int) -> Case:
    """The input of a number."""
    return case(Dice(f"{seed}/{number}"))


def smaller(broken: Case, detail: str, folder: Path) -> Case:
    """The same violation by fewer words and lines."""
    tries = 0
    found = broken
    shrunk = True
    while shrunk and tries < MOST_TRIES:
        shrunk = False
        for one in _parts_left_out(found):
            tries += 1
            if judge(one, folder) == Outcome("violation", detail):
                found, shrunk = one, True
                break
            if tries >= MOST_TRIES:
                break
    return found


def _parts_left_out(whole: Case) -> Iterator[Case]:
    for index in range(1, len(whole.words)):
        yield Case(whole.words[:index] + whole.words[index + 1 :], whole.files)
    for name, content in whole.files.items():
        lines = content.splitlines(keepends=True)
        size = len(lines) // 2
        while size:
            for start in range(0, len(lines), size):
                left = b"".join(lines[:start] + lines[start + size :])
                yield Case(whole.words, {**whole.files, name: left})
            size //= 2


def portion(seed: int, first: int, cases: int, known: set[str]) -> dict[str, Any]:
    """Run some cases in this process."""
    counts: Counter[str] = Counter()
    found: dict[str, Any] = {}
    room = "/dev/shm" if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=room) as name:
        folder = Path(name)
        limit_memory()
        for number in range(first, first + cases):
            one = numbered(seed, number)
            came = judge(one, folder)
            counts[f"{one.words[0]} {came.kind}"] += 1
            if came.kind == "violation" and came.detail not in known:
                known.add(came.detail)
                # to make an input smaller that takes its whole time each time takes hours
                slow = came.detail.startswith(OUT_OF_TIME)
                least = one if slow else smaller(one, came.detail, folder)
                files = {name: text.decode("latin-1") for name, text in least.files.items()}
                found[came.detail] = {"number": number, "words": least.words, "files": files}
    return {"counts": counts, "violations": found}


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only", type=int, metavar="NUMBER", help="Run one input, and show it.")
    parser.add_argument("--portion", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.only is not None:
        one = numbered(options.seed, options.only)
        show(one.words, {name: text.decode("latin-1") for name, text in one.files.items()})
        with tempfile.TemporaryDirectory() as name:
            say(str(judge(one, Path(name))))
        return 0
    if options.portion is not None:
        known = set(json.loads(sys.stdin.read()))
        say(json.dumps(portion(options.seed, options.portion, options.cases, known)))
        return 0

    totals: Counter[str] = Counter()
    seen: dict[str, Any] = {}
    begun = time.monotonic()

    def one_portion(first: int) -> dict[str, Any]:
        words = ["--portion", str(first), "--seed", str(options.seed)]
        words += ["--cases", str(min(PORTION, options.cases - first))]
        ran = subprocess.run(
            [sys.executable, __file__, *words],
            input=json.dumps(list(seen)),
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        )
        try:
            found: dict[str, Any] = json.loads(ran.stdout.splitlines()[-1])
        except (ValueError, IndexError):
            detail = f"a portion ended with {ran.returncode}: {ran.stderr[-300:]}"
            broken = {"number": first, "words": words, "files": {}}
            return {"counts": {"portion violation": 1}, "violations": {detail: broken}}
        return found

    with ThreadPoolExecutor(options.jobs) as pool:
        for found in pool.map(one_portion, range(0, options.cases, PORTION)):
            totals.update(found["counts"])
            for detail, broken in found["violations"].items():
                if detail not in seen:
                    say(f"\nVIOLATION {detail} (number {broken['number']})")
                    show(broken["words"], broken["files"])
                seen.setdefault(detail, broken)
            say(f"{time.monotonic() - begun:.0f} s: {_shown(totals)}")
    commands = sorted({key.partition(" ")[0] for key in totals})
    for command in commands:
        own = {key: count for key, count in totals.items() if key.split()[0] == command}
        say(f"{command:16} {_shown(Counter(own))}")
    say(f"{_shown(totals)}; {len(seen)} kinds of violation")
    return 1 if seen else 0


def show(words: Any, files: dict[str, str]) -> None:
    say("slipmargin " + " ".join(map(repr, words)))
    for name, content in files.items():
        say(f"--- {name}\n{content.encode('latin-1').decode('utf-8', 'replace')}")
    say("---")


def _shown(totals: Counter[str]) -> str:
    by_kind: Counter[str] = Counter()
    for key, count in totals.items():
        by_kind[key.partition(" ")[2]] += count
    each = [f"{by_kind[kind]} {kind}s" for kind in ("result", "refusal", "violation")]
    return f"{sum(by_kind.values())} inputs: " + ", ".join(each)


if __name__ == "__main__":
    sys.exit(main())
