"""Cold start of ``slipmargin check`` against importing numpy and scipy.optimize alone.

Prints the ratio of the medians of several runs, each in a fresh process. Wanted: at most 3.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SMALLEST = """\
title = "Smallest"
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
readings = "lab.csv"
intercept = "zero"
[[checks]]
kind = "infinite_slope"
soil = "bank"
slope_angle = "20 deg"
depth = "2 m"
"""
READINGS = "test,normal_stress [kPa],shear_stress [kPa]\n1,50,31\n2,100,60\n3,150,92\n"
RUNS = 9


def median_seconds(*words: str) -> float:
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run(words, check=True, capture_output=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        scenario = Path(folder) / "site.toml"
        scenario.write_text(SMALLEST, encoding="utf-8")
        (Path(folder) / "lab.csv").write_text(READINGS, encoding="utf-8")
        program = Path(sys.executable).with_name("slipmargin")
        bare = median_seconds(sys.executable, "-c", "import numpy, scipy.optimize")
        full = median_seconds(str(program), "check", str(scenario))
    print(f"import numpy, scipy.optimize   {bare:.3f} s")
    print(f"slipmargin check               {full:.3f} s")
    print(f"ratio                          {full / bare:.2f}  (wanted: at most 3)")


if __name__ == "__main__":
    main()
