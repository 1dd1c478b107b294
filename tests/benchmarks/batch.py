"""A batch of generated scenarios: workers against each other, size against time, memory.

Prints three ratios. Wanted: two workers at least 1.7 times as fast as one; twice the
scenarios in at most 2.1 times the time; memory of the program and of its largest worker that
does not grow with the number of scenarios (at most 1.05 times). Each run has a process of its
own, and the second run of a size counts, so that files are read from memory.

    python tests/benchmarks/batch.py [SCENARIOS]
"""

from __future__ import annotations

import json
import multiprocessing
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from cli.batch import run_batch

SCENARIO = """\
title = "Larch Hollow, section {number}"
[soils.bank]
unit_weight = "18.3 kN/m^3"
saturated_unit_weight = "19.9 kN/m^3"
[soils.bank.strength]
readings = "shear-box-{tests}.csv"
[soils.fill]
unit_weight = "17.6 kN/m^3"
saturated_unit_weight = "20.2 kN/m^3"
[soils.fill.strength]
cohesion = "0 kPa"
friction_angle = "{friction} deg"
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "1V:2H"
depth = "{depth} m"
water_table_depth = "0.4 m"
target = 1.3
[[checks]]
kind = "planar_wedge"
label = "Cut"
soil = "bank"
height = "6 m"
face_angle = "{face} deg"
plane_angle = "36 deg"
target = 1.3
[[checks]]
kind = "earth_pressure"
label = "Thrust"
soil = "fill"
height = "3 m"
surcharge = "5 kPa"
"""


def write(folder: Path, count: int) -> list[Path]:
    for tests in range(5):
        rows = "".join(f"T{n},{25 * n},{5 + 0.6 * 25 * n + 0.3 * tests}\n" for n in range(1, 6))
        text = "test,normal_stress [kPa],shear_stress [kPa]\n" + rows
        (folder / f"shear-box-{tests}.csv").write_text(text, encoding="utf-8")
    paths = []
    for number in range(count):
        path = folder / f"section-{number:04}.toml"
        text = SCENARIO.format(
            number=number,
            tests=number % 5,
            friction=30 + number % 7,
            depth=1.0 + number % 11 / 10,
            face=50 + number % 20,
        )
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths


def peak(process: int | str = "self") -> float:
    """Most memory a process has had [MB]."""
    for line in Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmHWM"):
            return float(line.split()[1]) / 1024.0
    return 0.0


def measure(count: int, jobs: int) -> dict[str, float]:
    """Time [s] from the first line to the last, and peaks of memory [MB]."""
    with tempfile.TemporaryDirectory() as name:
        paths = write(Path(name), count)
        worker = begun = 0.0
        for number, line in enumerate(run_batch(paths, jobs=jobs)):
            assert line.ok, line.text
            if number == 0:
                begun = time.perf_counter()
            if number % 50 == 0:
                workers = [child.pid for child in multiprocessing.active_children()]
                worker = max([worker, *(peak(pid) for pid in workers if pid)])
        return {"time": time.perf_counter() - begun, "own": peak(), "worker": worker}


def alone(count: int, jobs: int) -> dict[str, float]:
    """``measure`` in a process of its own."""
    words = [sys.executable, __file__, "--measure", str(count), str(jobs)]
    found: dict[str, float] = json.loads(
        subprocess.run(words, capture_output=True, check=True).stdout
    )
    print(
        f"{count} scenarios, {jobs} worker{'s' if jobs > 1 else ''}: {found['time']:.1f} s, "
        f"peak {found['own']:.0f} MB, worker {found['worker']:.0f} MB"
    )
    return found


def main() -> None:
    if "--measure" in sys.argv:
        print(json.dumps(measure(int(sys.argv[2]), int(sys.argv[3]))))
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    alone(count // 2, 2)
    one, two, half = alone(count, 1), alone(count, 2), alone(count // 2, 2)
    print(f"one worker over two: {one['time'] / two['time']:.2f}")
    print(f"time for {count} over time for {count // 2}: {two['time'] / half['time']:.2f}")
    print(
        f"memory for {count} over memory for {count // 2}: program {two['own'] / half['own']:.2f}, "
        f"worker {two['worker'] / half['worker']:.2f}"
    )


if __name__ == "__main__":
    main()
