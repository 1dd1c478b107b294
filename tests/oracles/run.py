"""Compares the program with independent mechanics, and holds it to laws of monotony.

    python tests/oracles/run.py --cases 300 --monotone 20000 --seed 1

Prints one line a kind and a law; exit code 1 if anything differs by more than its bound.
"""

from __future__ import annotations

import argparse
import sys
import time

import laws
import numpy as np
from compare import KINDS, compare, joint_regions


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--cases", type=int, default=300)
    asked.add_argument("--monotone", type=int, default=20_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", default="")
    given = asked.parse_args()
    failed = 0
    for kind, (_, bound) in KINDS.items():
        if given.only not in kind:
            continue
        began = time.monotonic()
        found = compare(kind, given.cases, given.seed)
        failed += len(found.misses)
        say(
            f"{kind}: {found.cases} cases, largest difference {found.largest:.1e} "
            f"(bound {bound:.0e}), {len(found.misses)} missed, {found.left_out} left out, "
            f"{time.monotonic() - began:.0f} s"
        )
        for miss in found.misses[:5]:
            say(f"    {miss}")
    if given.only in "joint regions":
        series = 10 * given.cases
        share = joint_regions(np.random.default_rng(given.seed), series)
        off = abs(share - 0.95) > 3.0 * (0.95 * 0.05 / series) ** 0.5
        failed += off
        say(f"joint regions: hold the truth in {share:.2%} of {series} series")
    for name, law in laws.LAWS.items():
        if given.only not in name:
            continue
        began = time.monotonic()
        found_law = laws.check(law, given.monotone, given.seed)
        failed += found_law.broken
        say(
            f"{name}: {found_law.pairs} pairs, {found_law.broken} broken"
            + (f", worst {found_law.worst:.1e}" if found_law.broken else "")
            + f", {time.monotonic() - began:.0f} s"
        )
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
