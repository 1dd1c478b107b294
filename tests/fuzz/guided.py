"""Lets coverage choose the inputs: the generators of ``run.py``, driven by atheris.

    pip install atheris
    python tests/fuzz/guided.py -runs=20000

The words go to the fuzzer. It stops at the first violation and writes the bytes it was made from.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["slipmargin"]):
    from chance import FromBytes
    from command_inputs import case
    from outcome import judge, limit_memory

SEEDS = 64
LONGEST = 8192


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="guided-") as name:
        folder = Path(name) / "case"
        folder.mkdir()

        def run(content: bytes) -> None:
            one = case(FromBytes(content))
            found = judge(one, folder)
            if found.kind == "violation":
                raise AssertionError(f"{found.detail}\n{one}")

        # the generators turn bytes into inputs, and need many of them to begin with
        seeds = Path(name) / "seeds"
        seeds.mkdir()
        chance = random.Random(1)
        for number in range(SEEDS):
            (seeds / str(number)).write_bytes(chance.randbytes(LONGEST))
        limit_memory()
        atheris.Setup([*sys.argv, f"-max_len={LONGEST}", "-len_control=0", str(seeds)], run)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
