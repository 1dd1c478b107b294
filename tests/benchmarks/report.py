"""What processor time a sheet takes and how large it is, form by form, against its checks alone.

Run it by hand: ``python tests/benchmarks/report.py [SCENARIO.toml]``
"""

from __future__ import annotations

import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

started = time.process_time()

from slipmargin.cli.questions.check import evaluate  # noqa: E402
from slipmargin.cli.scenario.read import load  # noqa: E402
from slipmargin.cli.sheet import write_report  # noqa: E402

SITE = Path(__file__).resolve().parents[2] / "scenarios" / "fennel-rise" / "cut-and-wall.toml"


def main() -> None:
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else SITE
    outcome = evaluate(load(path))
    ready = time.process_time() - started
    print(f"{path.name}: checks ready after {ready:.2f} s, start-up included")
    with tempfile.TemporaryDirectory() as folder:
        for form in (".html", ".pdf", ".md"):
            sheet = Path(folder) / f"sheet{form}"
            before = time.process_time()
            write_report(outcome, sheet, force=False, now=datetime(2026, 1, 1, tzinfo=UTC))
            spent = time.process_time() - before
            size = sheet.stat().st_size / 1e6
            print(
                f"{form}: {spent:.2f} s, {spent / ready:.1f} times the checks; with them "
                f"{ready + spent:.2f} s; {size:.2f} MB"
            )


if __name__ == "__main__":
    main()
