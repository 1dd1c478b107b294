"""Runs many broken inputs through the program in process, and reports what became of them.

    python tests/fuzz/run.py --cases 200000 --seed 1 --jobs 2

Six in ten are scenarios, the others readings files. Each portion runs in a process of its
own, under the limits of ``outcome``; each kind of violation is reported once, by the smallest
input found for it. Exit code 1 if there is any.
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
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

PORTION = 500
KINDS = ("scenario", "scenario", "scenario", "csv", "ags")


def portion(kind: str, seed: int, cases: int, known: set[str]) -> dict[str, Any]:
    """Run some cases of one kind in this process."""
    from hypothesis import HealthCheck, Phase, given, settings
    from hypothesis import seed as seeded
    from hypothesis import strategies as st
    from outcome import OUT_OF_TIME, judge, limit_memory
    from scenario_inputs import scenario_files
    from table_inputs import ags_files, csv_files

    inputs: st.SearchStrategy[dict[str, bytes]] = {
        "scenario": scenario_files(),
        "csv": csv_files().map(lambda made: {"lab.csv": made[0]}),
        "ags": ags_files().map(lambda content: {"lab.ags": content}),
    }[kind]
    counts: Counter[str] = Counter()
    smallest: dict[str, dict[str, bytes]] = {}
    wanted: list[str] = []

    def size(files: dict[str, bytes]) -> int:
        return sum(map(len, files.values()))

    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name)
        limit_memory()
        rounds = 0
        while sum(counts.values()) < cases and rounds < 20:
            rounds += 1
            wanted.clear()

            @seeded(seed * 100 + rounds)
            @settings(
                max_examples=cases - sum(counts.values()),
                phases=[Phase.generate, Phase.shrink],
                database=None,
                deadline=None,
                suppress_health_check=list(HealthCheck),
            )
            @given(inputs)
            def run(files: dict[str, bytes]) -> None:
                found = judge(files, folder)
                if not wanted:  # the search for a smaller input does not count
                    counts[found.kind] += 1
                if found.kind != "violation":
                    return
                detail = found.detail
                if detail not in smallest or size(files) < size(smallest[detail]):
                    smallest[detail] = files
                # to make an input smaller that takes its whole time each time takes hours
                slow = detail.startswith(OUT_OF_TIME)
                if slow or detail in known or wanted not in ([], [detail]):
                    return
                wanted[:] = [detail]
                raise AssertionError(detail)

            try:
                run()
            except BaseException as error:
                if isinstance(error, KeyboardInterrupt):
                    raise
                known.update(wanted)
            else:
                break
    return {
        "counts": counts,
        "violations": {
            detail: {name: content.decode("latin-1") for name, content in files.items()}
            for detail, files in smallest.items()
        },
    }


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--kinds", nargs="+", default=list(KINDS), choices=sorted(set(KINDS)))
    parser.add_argument("--portion", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.portion is not None:
        known = set(json.loads(sys.stdin.read()))
        say(json.dumps(portion(options.kinds[0], options.seed, options.cases, known)))
        return 0

    totals: dict[str, Counter[str]] = {kind: Counter() for kind in options.kinds}
    seen: dict[str, dict[str, str]] = {}
    begun = time.monotonic()

    def one(index: int) -> tuple[str, dict[str, Any]]:
        kind = options.kinds[index % len(options.kinds)]
        cases = min(PORTION, options.cases - index * PORTION)
        words = ["--portion", "0", "--kinds", kind, "--cases", str(cases)]
        words += ["--seed", str(options.seed * 1_000_000 + index)]
        ran = subprocess.run(
            [sys.executable, __file__, *words],
            input=json.dumps(list(seen)),
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        )
        try:
            return kind, json.loads(ran.stdout.splitlines()[-1])
        except (ValueError, IndexError):
            detail = f"a portion ended with {ran.returncode}: {ran.stderr[-300:]}"
            return kind, {"counts": {"violation": 1}, "violations": {detail: {}}}

    with ThreadPoolExecutor(options.jobs) as pool:
        for number, (kind, found) in enumerate(
            pool.map(one, range(-(-options.cases // PORTION))), start=1
        ):
            totals[kind].update(found["counts"])
            for detail, files in found["violations"].items():
                if detail not in seen:
                    say(f"\nVIOLATION {detail}")
                    for name, content in files.items():
                        say(f"--- {name}\n{content.encode('latin-1').decode('utf-8', 'replace')}")
                    say("---")
                seen.setdefault(detail, files)
            if number % 10 == 0:
                done = sum(sum(counts.values()) for counts in totals.values())
                spent = time.monotonic() - begun
                say(f"{done} inputs in {spent:.0f} s: {_shown(totals)}")
    say(f"\n{_shown(totals)}; {len(seen)} kinds of violation")
    return 1 if seen else 0


def _shown(totals: dict[str, Counter[str]]) -> str:
    return "; ".join(
        f"{kind} "
        + ", ".join(f"{counts[what]} {what}s" for what in ("result", "refusal", "violation"))
        for kind, counts in totals.items()
    )


if __name__ == "__main__":
    sys.exit(main())
