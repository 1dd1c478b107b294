"""What short runs cost against bare imports, each in a fresh process.

Processor time, the least of several runs, so that what else the machine does counts little.
Byte code is kept, as an installed program keeps it. Run it by hand:
``python tests/benchmarks/cold_start.py``
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

SMALLEST = """\
title = "Smallest"
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"
[[checks]]
kind = "infinite_slope"
soil = "bank"
slope_angle = "20 deg"
depth = "2 m"
"""
SITE = Path(__file__).resolve().parents[2] / "scenarios" / "fennel-rise" / "cut-and-wall.toml"
BARE = "import numpy, scipy.optimize"
DRAWING = f"{BARE}, matplotlib.backends.backend_svg"
RUNS = 5


def processor_seconds(*words: str, kept: str) -> float:
    """Least processor time of several runs, one before them not counted."""
    wanted = {**os.environ, "PYTHONPYCACHEPREFIX": kept, "OMP_NUM_THREADS": "1"}
    wanted |= {"OPENBLAS_NUM_THREADS": "1"}
    wanted.pop("PYTHONDONTWRITEBYTECODE", None)
    times = []
    for _ in range(RUNS + 1):
        before = os.times()
        subprocess.run(words, check=True, capture_output=True, env=wanted)
        after = os.times()
        spent = after.children_user - before.children_user
        times.append(spent + after.children_system - before.children_system)
    return min(times[1:])


def main() -> None:
    program = str(Path(sys.executable).with_name("slipmargin"))
    with tempfile.TemporaryDirectory() as folder:
        kept = str(Path(folder) / "byte-code")
        smallest = Path(folder) / "site.toml"
        smallest.write_text(SMALLEST, encoding="utf-8")
        sheet = str(Path(folder) / "sheet.html")
        bare = processor_seconds(sys.executable, "-c", BARE, kept=kept)
        drawing = processor_seconds(sys.executable, "-c", DRAWING, kept=kept)
        print(f"{BARE:50s} {bare:.2f} s")
        print(f"{DRAWING:50s} {drawing:.2f} s")
        for words, base, wanted in (
            (("check", str(smallest)), bare, "1.6"),
            (("check", str(SITE)), bare, "2"),
            (("reliability", str(SITE)), bare, "3.5"),
            (("review", str(SITE)), bare, "as low as can be"),
            (("report", str(SITE), "-o", sheet, "--force"), drawing, "3.5"),
        ):
            spent = processor_seconds(program, *words, kept=kept)
            name = f"{words[0]} {Path(words[1]).name}"
            print(f"{name:50s} {spent:.2f} s, {spent / base:.1f} times  (wanted: {wanted})")


if __name__ == "__main__":
    main()
