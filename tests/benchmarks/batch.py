"""A batch of varied copies of the sites that ship: workers, number and memory.

Prints four ratios. Wanted: two workers at least 1.7 times as fast as one; twice the scenarios
in at most 2.1 times the time, twice over; memory of the program and of its largest worker that
does not grow with the number of scenarios (at most 1.05 times). Each run has a process of its
own; its time is that of the whole, with the start of the workers. Of 1,000 scenarios the two
workers have about 2.5 minutes to do on two idle cores, and the whole takes 5 to 6.

    python tests/benchmarks/batch.py [SCENARIOS]
"""

from __future__ import annotations

import json
import multiprocessing
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from slipmargin.cli.batch.run import run_batch

ROOT = Path(__file__).resolve().parents[2]
SITES = (ROOT / "scenarios" / "fennel-rise", ROOT / "scenarios" / "linnet-pit",
         ROOT / "cli" / "questions" / "starter")  # fmt: skip
QUANTITY = re.compile(r'"([\d.]+) (m|kN/m\^3)"')


def write(folder: Path, count: int) -> list[Path]:
    """Scenarios that differ in every length of the ground and every unit weight."""
    sites = []
    for site in SITES:
        copy = folder / site.name
        shutil.copytree(site, copy)
        sites += [(path, path.read_text(encoding="utf-8")) for path in sorted(copy.glob("*.toml"))]
    for path, _ in sites:
        path.unlink()
    paths = []
    for number in range(count):
        scale = {"m": 0.8 + 0.4 * (number * 0.618034 % 1.0), "kN/m^3": 0.95 + number % 97 / 970.0}
        path, text = sites[number % len(sites)]
        text = QUANTITY.sub(lambda q: f'"{float(q[1]) * scale[q[2]]:.12g} {q[2]}"', text)  # noqa: B023
        paths.append(path.with_stem(f"{path.stem}-{number:04}"))
        paths[-1].write_text(text, encoding="utf-8")
    return paths


def peak(process: int | str = "self") -> float:
    """Most memory a process has had [MB]."""
    for line in Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmHWM"):
            return float(line.split()[1]) / 1024.0
    return 0.0


def measure(count: int, jobs: int) -> dict[str, float]:
    """Time [s] and peaks of memory [MB]."""
    with tempfile.TemporaryDirectory() as name:
        paths = write(Path(name), count)
        worker, begun = 0.0, time.perf_counter()
        for number, line in enumerate(run_batch(paths, jobs=jobs), 1):
            assert line.ok, line.text
            if number % 25 == 0 or number == count:
                workers = [child.pid for child in multiprocessing.active_children()]
                worker = max([worker, *(peak(pid) for pid in workers if pid)])
        return {"time": time.perf_counter() - begun, "own": peak(), "worker": worker}


def alone(count: int, jobs: int, *, quiet: bool = False) -> dict[str, float]:
    """``measure`` in a process of its own."""
    words = [sys.executable, __file__, "--measure", str(count), str(jobs)]
    found: dict[str, float] = json.loads(subprocess.run(words, stdout=-1, check=True).stdout)
    if not quiet:
        print(
            f"{count} scenarios, {jobs} worker{'s' if jobs > 1 else ''}: {found['time']:.1f} s, "
            f"peak {found['own']:.0f} MB, worker {found['worker']:.0f} MB",
            flush=True,
        )
    return found


def main() -> None:
    if "--measure" in sys.argv:
        print(json.dumps(measure(int(sys.argv[2]), int(sys.argv[3]))))
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    alone(8, 2, quiet=True)  # so that the first to be timed finds its files in memory as well
    quarter, one = alone(count // 4, 2), alone(count // 4, 1)
    half, whole = alone(count // 2, 2), alone(count, 2)
    print(f"one worker over two: {one['time'] / quarter['time']:.2f}")
    print(
        f"time, {count // 2} over {count // 4}: {half['time'] / quarter['time']:.2f}, "
        f"{count} over {count // 2}: {whole['time'] / half['time']:.2f}"
    )
    print(
        f"memory, {count} over {count // 4}: program {whole['own'] / quarter['own']:.2f}, "
        f"worker {whole['worker'] / quarter['worker']:.2f}"
    )


if __name__ == "__main__":
    main()
