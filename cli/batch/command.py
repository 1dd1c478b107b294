"""The ``batch`` command: where its lines come from, and where they go."""

from __future__ import annotations

import os
import sys
from contextlib import ExitStack, suppress
from itertools import chain
from pathlib import Path

import typer

from slipmargin.cli.batch.resume import earlier_lines
from slipmargin.cli.batch.run import LINE_START, BatchLine, find_scenarios, run_batch
from slipmargin.cli.batch.text import Totals, print_line, print_totals
from slipmargin.cli.files import LineFile, refuse_outputs
from slipmargin.cli.page.terminal import Screen
from slipmargin.cli.terminal.progress import progress
from slipmargin.cli.terminal.standard_streams import reader_left
from slipmargin.strength import InputError

__all__ = ["run_batch_command"]


def run_batch_command(
    folder: Path,
    *,
    as_json: bool = False,
    jobs: int | None = None,
    resume: Path | None = None,
    output: Path | None = None,
    force: bool = False,
    allow_outside: bool = False,
    variant: str | None = None,
    to_the_end: bool = False,
) -> Totals:
    """Check every scenario below a folder, and print or write its line as soon as it is there.

    Where nobody reads standard output any more and no file is written, it ends early, unless it is
    asked to run ``to_the_end``. ``InputError``: nothing to check, or a file that cannot be read or
    written.
    """
    if jobs is not None and jobs < 1:
        raise InputError("--jobs", str(jobs), "allowed: from 1 upward")
    found = find_scenarios(folder)
    if resume is not None and output is None and not as_json:
        output = resume
    onward = resume is not None and output is not None and output.absolute() == resume.absolute()
    if as_json:
        _refuse_standard_output(resume, output)
    with ExitStack() as stack:
        lines = None
        if output is not None:
            refuse_outputs(output, force=force or onward, inputs=found.paths)
            _refuse_other_content(output)
            lines = stack.enter_context(LineFile(output, force=force or onward))
        sink = _Sink(lines, as_json)
        taken_over = set()
        if resume is not None:
            for line in earlier_lines(resume, found.paths, variant, allow_outside=allow_outside):
                sink.put(line)
                taken_over.add(line.path)
        left = [path for path in found.paths if str(path) not in taken_over]
        # on a terminal the lines themselves show how far it has come
        report = None if sys.stdout.isatty() else stack.enter_context(progress())
        fresh = run_batch(left, jobs=jobs, allow_outside=allow_outside, variant=variant)
        stack.callback(fresh.close)
        for line in chain(found.unreadable, fresh):
            sink.settle()
            sink.put(line)
            if report is not None:
                report("scenarios", sink.totals.scenarios, len(found.paths))
            if reader_left() and lines is None and not to_the_end:
                return sink.totals
        sink.settle()
    totals = sink.totals
    totals.others = len(found.paths) + len(found.unreadable) - totals.scenarios
    if totals.scenarios == len(found.unreadable):
        raise InputError("FOLDER", str(folder), "no scenario (.toml) lies in it or below it")
    if as_json:
        typer.echo(f"slipmargin: {totals.text}", err=True)
    else:
        print_totals(sink.out, totals)
    return totals


class _Sink:
    """Where lines go, and what they come to."""

    def __init__(self, lines: LineFile | None, as_json: bool) -> None:
        self.lines = lines
        self.as_json = as_json
        self.out = Screen()
        self.totals = Totals()

    def settle(self) -> None:
        """Put the file in its place: what was taken over is complete."""
        if self.lines is not None:
            self.lines.settle()

    def put(self, line: BatchLine) -> None:
        """Write it, print it, count it."""
        if self.lines is not None:
            self.lines.add(line.text)
        document = line.document
        self.totals.count(document)
        if self.as_json:
            typer.echo(line.text)
        else:
            print_line(self.out, document)


def _refuse_other_content(output: Path) -> None:
    """Refuse to replace what no batch wrote: it may be readings that a scenario names."""
    try:
        with output.open("rb") as stream:
            start = stream.read(len(LINE_START))
    except OSError:
        return  # not there yet, or refused when it is to be written
    if not LINE_START.startswith(start):
        allowed = "it holds something else than lines of a batch; name another file"
        raise InputError("output", str(output), allowed)


def _refuse_standard_output(*files: Path | None) -> None:
    """Refuse a file that standard output goes to: it would get every line twice."""
    for file in files:
        with suppress(OSError, ValueError):
            if file and os.path.samestat(os.fstat(sys.stdout.fileno()), file.stat()):
                allowed = "standard output goes there already; name another file"
                raise InputError("output", str(file), allowed)
