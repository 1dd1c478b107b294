"""Lets coverage choose the inputs: the generators of ``run.py``, driven by atheris.

    pip install atheris
    python tests/fuzz/guided.py csv -runs=20000

The first word is a kind of input, scenario, csv or ags; the rest goes to the fuzzer. It stops
at the first violation and writes the input it was made from.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["slipmargin"]):
    from outcome import judge, limit_memory
    from scenario_inputs import scenario_files
    from table_inputs import ags_files, csv_files

from hypothesis import given, settings
from hypothesis import strategies as st

SEEDS = 64
LONGEST = 8192
KINDS = {
    "scenario": scenario_files(),
    "csv": csv_files().map(lambda made: {"lab.csv": made[0]}),
    "ags": ags_files().map(lambda content: {"lab.ags": content}),
}


def main() -> None:
    inputs: st.SearchStrategy[dict[str, bytes]] = KINDS[sys.argv.pop(1)]
    with tempfile.TemporaryDirectory(prefix="guided-") as name:
        folder = Path(name) / "case"
        folder.mkdir()

        @settings(database=None, deadline=None)
        @given(inputs)
        def run(files: dict[str, bytes]) -> None:
            found = judge(files, folder)
            if found.kind == "violation":
                raise AssertionError(f"{found.detail}\n{files!r}")

        # the generators turn bytes into inputs, and need many of them to begin with
        seeds = Path(name) / "seeds"
        seeds.mkdir()
        chance = random.Random(1)
        for number in range(SEEDS):
            (seeds / str(number)).write_bytes(chance.randbytes(LONGEST))
        limit_memory()
        words = [*sys.argv, f"-max_len={LONGEST}", "-len_control=0", str(seeds)]
        atheris.Setup(words, run.hypothesis.fuzz_one_input)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
