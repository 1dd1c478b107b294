"""Runs ``check`` over many scenarios, in parallel, one line of JSON for each.

Any executor of ``concurrent.futures`` carries it: processes of this machine by default, or
one that a cluster hands out. A file that cannot be used gives a line that says so, and so
does one that ends its own worker process; the rest goes on. Only a bounded number of
scenarios is under way at a time, so memory stays flat however many there are.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import stat
import threading
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import forkserver, resource_tracker
from pathlib import Path
from typing import Any

from slipmargin.cli.terminal.interruption import signals_held
from slipmargin.strength import InputError

__all__ = ["LINE_START", "BatchLine", "Found", "find_scenarios", "run_batch"]

LINE_START = b'{"path": '
"""How every line begins."""

_WAITING = 8  # scenarios under way for each worker


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One scenario, run or refused, as the line of JSON that reports it.

    ``path``, ``ok``, ``exit_code`` (what ``check`` would end with), and either ``result``,
    the document of ``check``, with ``fails``, ``version`` and the ``sha256`` of each file
    that was read; or ``error``, one sentence.
    """

    path: str
    ok: bool
    text: str

    @property
    def document(self) -> dict[str, Any]:
        """The line, read."""
        found: dict[str, Any] = json.loads(self.text)
        return found


@dataclass(frozen=True, slots=True)
class Found:
    """Files that may be scenarios, in order of their paths, and what could not be looked at."""

    paths: tuple[Path, ...]
    unreadable: tuple[BatchLine, ...]


def find_scenarios(folder: Path) -> Found:
    """Every ``.toml`` file below a folder.

    Links are followed, each folder once however many links lead to it or in a circle.
    ``InputError``: the folder is not there, or is no folder.
    """
    try:
        start = folder.stat()
    except (OSError, ValueError):
        raise InputError("FOLDER", str(folder), "there is no folder of that name") from None
    if not stat.S_ISDIR(start.st_mode):
        raise InputError("FOLDER", str(folder), "it is a file; name the folder, or use check")
    seen = {(start.st_dev, start.st_ino)}
    paths: list[Path] = []
    unreadable: list[BatchLine] = []

    def refuse(error: OSError) -> None:
        why = f"the folder cannot be read: {_reason(error)}"
        unreadable.append(_refused(str(Path(error.filename)), why))

    for here, folders, files in os.walk(folder, onerror=refuse, followlinks=True):
        below = []
        for name in sorted([*folders, *files]):
            path = Path(here, name)
            is_scenario = path.suffix.lower() == ".toml"
            try:
                status = path.stat()
            except OSError as error:
                if is_scenario:
                    unreadable.append(_refused(str(path), f"it cannot be read: {_reason(error)}"))
                continue
            if stat.S_ISDIR(status.st_mode):
                if (status.st_dev, status.st_ino) not in seen:
                    seen.add((status.st_dev, status.st_ino))
                    below.append(name)
            elif is_scenario and stat.S_ISREG(status.st_mode):
                paths.append(path)
        folders[:] = below  # what is walked next
    return Found(tuple(sorted(paths)), tuple(unreadable))


def run_batch(
    paths: Iterable[Path],
    executor: Executor | None = None,
    *,
    jobs: int | None = None,
    in_flight: int | None = None,
    allow_outside: bool = False,
    variant: str | None = None,
) -> Generator[BatchLine]:
    """Check scenarios, and yield a line for each in the order of the paths.

    A ``.toml`` file that has no key of a scenario yields none. With processes of its own, a
    script calls this under ``if __name__ == "__main__":``, since they import it.

    Parameters
    ----------
    paths
        Scenario files; read as they are needed.
    executor
        Anything with the ``submit`` of ``concurrent.futures.Executor``, which is left open.
        Without one, processes of this machine are started, and ended with the iterator.
    jobs
        Number of those processes; one for each processor by default.
    in_flight
        Most scenarios under way at a time; 8 for each process, 64 for an executor.
    allow_outside
        Let readings lie outside the scenario's folder.
    variant
        The variant to check; a scenario that has none of that name is refused.
    """
    asked = (allow_outside, variant)
    names = (str(path) for path in paths)
    if executor is not None:
        waiting: _Waiting = deque()
        try:
            yield from _in_order(executor, names, waiting, in_flight or 64, asked)
        finally:
            for _, future in waiting:
                future.cancel()
        return
    workers = jobs or processors()
    most = in_flight or _WAITING * workers
    while True:
        waiting = deque()
        try:
            with _processes(workers) as pool:
                yield from _in_order(pool, names, waiting, most, asked)
            return
        except BrokenExecutor:
            # one of those under way ended its worker; alone, each answers for itself
            for name, future in waiting:
                line = future.result() if _ended(future) else _alone(name, asked)
                if line is not None:
                    yield line


def processors() -> int:
    """Number of processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


_Asked = tuple[bool, str | None]
"""Whether readings may lie outside, and the variant."""

_Waiting = deque[tuple[str, Future[BatchLine | None]]]


def _in_order(
    executor: Executor, names: Iterator[str], waiting: _Waiting, most: int, asked: _Asked
) -> Iterator[BatchLine]:
    """Lines in order; ``waiting`` holds what is under way, also when this is left by an error."""
    for name in names:
        waiting.append((name, Future()))  # on the list even where it cannot be handed over
        waiting[-1] = (name, _handed_over(executor, name, asked))
        if len(waiting) >= most:
            yield from _oldest(waiting)
    while waiting:
        yield from _oldest(waiting)


def _handed_over(executor: Executor, name: str, asked: _Asked) -> Future[BatchLine | None]:
    with signals_held():  # it may start a worker, which nobody could end if it were half started
        return executor.submit(check_file, name, *asked)


def _oldest(waiting: _Waiting) -> list[BatchLine]:
    line = waiting[0][1].result()
    waiting.popleft()
    return [] if line is None else [line]


def _ended(future: Future[BatchLine | None]) -> bool:
    """Whether a scenario came to an end of its own."""
    return future.done() and not future.cancelled() and future.exception() is None


def _alone(name: str, asked: _Asked) -> BatchLine | None:
    try:
        with _processes(1) as pool:
            return _handed_over(pool, name, asked).result()
    except BrokenExecutor:
        return _refused(name, "its worker process was ended by the system: out of memory?")


@contextmanager
def _processes(count: int) -> Iterator[ProcessPoolExecutor]:
    """A pool whose workers do not outlive what happens to it."""
    ways = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in ways else "spawn")
    context.set_forkserver_preload(["slipmargin.cli.questions.check"])
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(count, mp_context=context, initializer=_begin_worker)
    try:
        if context.get_start_method() == "forkserver":
            _start_server()
        yield pool
    except BaseException:
        for worker in set(multiprocessing.active_children()) - others:
            worker.terminate()
        # waited for, so that the end of the program does not meet the pool half taken down
        pool.shutdown(cancel_futures=True)
        raise
    pool.shutdown()


def _start_server() -> None:
    """Start the process that starts the workers, deaf to interruptions from its first moment."""
    resource_tracker.ensure_running()  # the server starts it too, and would hear again after it
    with signals_held():
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        forkserver.ensure_running()
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin_worker() -> None:
    """Leave interruptions to the process that started this one, and end when it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:

        def end_with_parent() -> None:
            parent.join()
            os._exit(1)

        threading.Thread(target=end_with_parent, daemon=True).start()


def check_file(
    path: str, allow_outside: bool = False, variant: str | None = None
) -> BatchLine | None:
    """Check one scenario, in a worker; ``None`` for a file that is no scenario."""
    from importlib.metadata import version

    from slipmargin.cli.as_json import dump, of_version
    from slipmargin.cli.questions.check import evaluate
    from slipmargin.cli.scenario.read import load

    try:
        outcome = evaluate(load(Path(path), variant=variant, allow_outside=allow_outside))
        document = {
            "path": path,
            "ok": True,
            "exit_code": 0,
            "fails": outcome.fails,
            "version": version("slipmargin"),
            "sha256": dict(outcome.scenario.digests),
            "result": of_version(outcome.document(), outcome.scenario),
        }
        return BatchLine(path, True, dump(document, None))
    except InputError as error:
        return _refused(path, str(error)) if _is_scenario(Path(path)) else None
    except Exception as error:  # a fault in one must not take the rest with it
        return _refused(path, f"the program failed on it: {type(error).__name__}: {error}")


def _is_scenario(path: Path) -> bool:
    """Whether a file has a key of a scenario, or cannot be read far enough to tell."""
    from slipmargin.cli.scenario.files import read_scenario, read_table
    from slipmargin.cli.scenario.schema import ScenarioModel

    try:
        table = read_table(read_scenario(path))
    except InputError:
        return True
    return not table or any(key in table for key in ScenarioModel.model_fields)


def _refused(path: str, error: str) -> BatchLine:
    from slipmargin.cli.as_json import dump

    document = {"path": path, "ok": False, "exit_code": 2, "error": error}
    return BatchLine(path, False, dump(document, None))


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
