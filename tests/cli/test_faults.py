"""Faults from outside: no half-written file, one message, and an exit code that tells."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from made import BANK, SLOPE, SWEEP

from slipmargin.cli.files import LineFile, write_whole
from slipmargin.cli.terminal.interruption import Stopped, heeding_signals
from slipmargin.strength import InputError

PROGRAM = str(Path(sys.executable).with_name("slipmargin"))
SCENARIO = (
    """\
title = "Faults"
"""
    + BANK
    + SLOPE
    + SWEEP
)
SEARCH = """
[[checks]]
kind = "rotational"
label = "Cut {number}"
soil = "bank"
height = "7 m"
face_angle = "45 deg"
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def assert_one_message(ran: Any, *words: str) -> None:
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 1
    for word in words:
        assert word in ran.err


# files that cannot be written

WRITERS = {
    "a table": ["sweep", "--csv", "out.csv"],
    "a picture": ["sweep", "--plot", "out.svg"],
    "the sheet": ["report", "-o", "out.html"],
    "lines": ["batch", "--output", "out.jsonl"],
}


def words_of(what: str, site: Path, target: Path) -> list[object]:
    command, option, name = WRITERS[what]
    return [command, site.parent if command == "batch" else site, option, target / name]


@pytest.mark.parametrize("what", WRITERS)
def test_a_full_disk_leaves_nothing_behind(
    slipmargin, site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    folder = tmp_path / "full"
    folder.mkdir()

    write = os.write

    def full(handle: int, *content: Any) -> int:
        if stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(handle, *content)

    monkeypatch.setattr(os, "write" if what == "lines" else "fsync", full)
    ran = slipmargin(*words_of(what, site, folder))
    assert_one_message(ran, "no space left on device", f"{folder.name}/")
    assert names(folder) == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may mount")
@pytest.mark.parametrize("what", WRITERS)
def test_a_disk_that_is_really_full_leaves_nothing_behind(
    slipmargin, site: Path, tmp_path: Path, what: str
) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=8k", "tmpfs", str(disk)],
        capture_output=True,
        check=False,
    )
    if mounted.returncode:
        pytest.skip("no file system may be mounted here")
    try:
        (disk / "ballast").write_bytes(bytes(8192))
        ran = slipmargin(*words_of(what, site, disk))
        left = names(disk)
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    assert_one_message(ran, "no space left on device", f"{disk.name}/")
    assert left == ["ballast"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may mount")
@pytest.mark.parametrize("what", WRITERS)
def test_a_folder_that_is_read_only_gives_one_message(
    slipmargin, site: Path, tmp_path: Path, what: str
) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "ro", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no file system may be mounted here")
    try:
        ran = slipmargin(*words_of(what, site, disk))
        left = names(disk)
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    assert_one_message(ran, "read-only file system", f"{disk.name}/")
    assert left == []


@pytest.mark.parametrize("what", WRITERS)
def test_a_folder_that_is_missing_gives_one_message(
    slipmargin, site: Path, tmp_path: Path, what: str
) -> None:
    ran = slipmargin(*words_of(what, site, tmp_path / "nowhere"))
    assert_one_message(ran, "its folder does not exist")
    assert names(tmp_path) == ["site.toml"]


def test_a_starter_on_a_full_disk_leaves_nothing_behind(
    slipmargin, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sync, calls = os.fsync, []

    def full_at_the_second(handle: int) -> None:
        calls.append(handle)
        if len(calls) > 1:
            raise OSError(errno.ENOSPC, "No space left on device")
        sync(handle)

    monkeypatch.setattr(os, "fsync", full_at_the_second)
    ran = slipmargin("start", tmp_path / "new")
    assert_one_message(ran, "no space left on device")
    assert names(tmp_path) == []


@pytest.mark.parametrize("device", ["/dev/null", "/dev/full"])
def test_a_device_is_never_replaced_by_a_file(slipmargin, site: Path, device: str) -> None:
    if not Path(device).exists():
        pytest.skip("no such device")
    ran = slipmargin("sweep", site, "--csv", device, "--force")
    assert_one_message(ran, "name a plain file")
    assert not Path(device).is_file()


def test_an_older_file_survives_a_full_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out.csv"
    target.write_bytes(b"older")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="no space left"):
        write_whole(target, b"newer", force=True)
    assert target.read_bytes() == b"older"
    assert names(tmp_path) == ["out.csv"]


def test_the_file_has_the_rights_any_new_file_has(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"x", force=False)
    (tmp_path / "b").write_bytes(b"x")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_a_line_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = os.write

    def nearly_full(handle: int, content: memoryview) -> int:
        if len(content) > 12:
            return write(handle, content[:12])
        if bytes(content).startswith(b"x"):
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(handle, content)

    monkeypatch.setattr(os, "write", nearly_full)
    with LineFile(tmp_path / "out.jsonl", force=False) as lines:
        lines.add("a" * 30)
        lines.settle()
        lines.add("b" * 30)
        with pytest.raises(InputError, match="no space left"):
            lines.add("x" * 20)
    assert (tmp_path / "out.jsonl").read_text(encoding="utf-8") == "a" * 30 + "\n" + "b" * 30 + "\n"
    assert names(tmp_path) == ["out.jsonl"]


def test_a_file_of_lines_that_never_settled_leaves_the_older_one(tmp_path: Path) -> None:
    target = tmp_path / "out.jsonl"
    target.write_text("older\n", encoding="utf-8")
    with LineFile(target, force=True) as lines:
        lines.add("newer")
    assert target.read_text(encoding="utf-8") == "older\n"
    assert names(tmp_path) == ["out.jsonl"]


# what a run reads is never written over


LABORATORY = """
[soils.lab]
unit_weight = "18.5 kN/m^3"
[soils.lab.strength]
readings = "lab.{suffix}"
{more}
[[checks]]
kind = "infinite_slope"
label = "Laboratory"
soil = "lab"
slope_angle = "28 deg"
depth = "1.8 m"
"""
READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
1,25,20.3
2,50,35.2
3,100,65.8
4,150,94.9
"""
OVER = {
    "sweep, table": ["sweep", "{site}", "--csv", "{file}"],
    "interpretations": ["interpretations", "{site}", "--csv", "{file}"],
    "influence": ["influence", "{site}", "--csv", "{file}"],
    "reliability": ["reliability", "{site}", "--samples", "100", "--csv", "{file}"],
    "strength map": ["strength-map", "{site}", "--soil", "lab", "--csv", "{file}"],
    "back-analysis": ["back-analysis", "{site}", "--check", "Laboratory", "--csv", "{file}"],
    "batch": ["batch", "{folder}", "--output", "{file}"],
    "batch, resumed": ["batch", "{folder}", "--resume", "{file}"],
}


@pytest.fixture
def read(site: Path) -> Path:
    text = SCENARIO.replace(
        "[[checks]]", LABORATORY.format(suffix="csv", more="") + "[[checks]]", 1
    )
    site.write_text(text, encoding="utf-8")
    (site.parent / "lab.csv").write_text(READINGS, encoding="utf-8")
    (site.parent / "link.csv").symlink_to("lab.csv")
    (site.parent / "hard.csv").hardlink_to(site)
    return site


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.parametrize("name", ["site.toml", "lab.csv", "link.csv", "hard.csv"])
@pytest.mark.parametrize("what", OVER)
def test_no_output_takes_the_place_of_an_input_even_by_force(
    slipmargin, read: Path, what: str, name: str
) -> None:
    folder = read.parent
    before = contents(folder)
    places = {"site": read, "folder": folder, "file": folder / name}
    ran = slipmargin(*(word.format(**places) for word in OVER[what]), "--force")
    assert_one_message(ran, name, "name another file")
    assert contents(folder) == before


def test_pictures_and_sheets_take_the_place_of_no_readings(slipmargin, site: Path) -> None:
    folder = site.parent
    (folder / "sections").mkdir()
    for name, words in {
        "lab.svg": ["sweep", site, "--plot", folder / "lab.svg"],
        "lab.md": ["report", site, "-o", folder / "lab.md"],
        "sections/section-01-infinite-slope.svg": ["check", site, "--plot", folder / "sections"],
    }.items():
        text = LABORATORY.format(suffix="csv", more="").replace("lab.csv", name)
        site.write_text(SCENARIO.replace("[[checks]]", text + "[[checks]]", 1), encoding="utf-8")
        (folder / name).write_text(READINGS, encoding="utf-8")
        ran = slipmargin(*words, "--force")
        assert_one_message(ran, name, "an input of this run")
        assert (folder / name).read_text(encoding="utf-8") == READINGS
    readings = folder / "lab.svg"
    assert_one_message(slipmargin("fit", readings, "--plot", readings, "--force"), "an input")
    assert readings.read_text(encoding="utf-8") == READINGS


def test_a_transfer_file_is_an_input_as_well(read: Path) -> None:
    pytest.importorskip("python_ags4")
    example = Path(__file__).parents[1] / "strength" / "data" / "fennel_rise.ags"
    text = LABORATORY.format(suffix="ags", more='sample = "TL-017"')
    read.write_text(SCENARIO.replace("[[checks]]", text + "[[checks]]", 1), encoding="utf-8")
    file = read.parent / "lab.ags"
    file.write_bytes(example.read_bytes())
    ran = run("sweep", read, "--csv", file, "--force", stdout=subprocess.PIPE)
    assert ran.returncode == 2
    assert "an input of this run" in ran.stderr
    assert file.read_bytes() == example.read_bytes()


def test_two_outputs_of_one_name_are_refused(slipmargin, site: Path) -> None:
    both = site.parent / "out.svg"
    ran = slipmargin("sweep", site, "--csv", both, "--plot", both, "--force")
    assert_one_message(ran, "a file each")
    assert not both.exists()


def test_an_input_stays_as_it_is_in_a_real_run(read: Path) -> None:
    before = contents(read.parent)
    for words in (
        ["sweep", read, "--csv", read],
        ["report", read, "-o", read.parent / "lab.csv"],
        ["batch", read.parent, "--output", read.parent / "lab.csv"],
        ["batch", read.parent, "--resume", read],
    ):
        ran = run(*words, "--force", stdout=subprocess.PIPE)
        assert ran.returncode == 2
        assert len(ran.stderr.splitlines()) == 1
    assert contents(read.parent) == before


def test_a_second_batch_into_a_file_in_use_is_refused(sites: Path, tmp_path: Path) -> None:
    file = tmp_path / "out.jsonl"
    first = started("batch", sites, "--json", "--output", file, "--jobs", 1, until="00.toml")
    for option in ("--output", "--resume"):
        second = run("batch", sites, option, file, "--force", stdout=subprocess.PIPE)
        assert second.returncode == 2
        assert "another run is writing it" in second.stderr
        assert second.stdout == ""
    first.send_signal(signal.SIGINT)
    first.communicate(timeout=30)
    content = file.read_bytes()
    assert content.startswith(b'{"path": ')
    assert content.endswith(b"\n")
    assert names(tmp_path) == ["out.jsonl", "sites"]


def test_a_file_left_by_a_run_that_was_killed_is_free_again(tmp_path: Path) -> None:
    (tmp_path / ".out.jsonl.in-use").touch()
    with LineFile(tmp_path / "out.jsonl", force=False) as lines:
        lines.settle()
        with pytest.raises(InputError, match="another run is writing it"):
            LineFile(tmp_path / "out.jsonl", force=True)
        lines.add("a")
    assert names(tmp_path) == ["out.jsonl"]


# standard output


def run(*words: object, **options: Any) -> subprocess.CompletedProcess[str]:
    options = {"stderr": subprocess.PIPE} | options
    return subprocess.run(
        [PROGRAM, *map(str, words)], text=True, check=False, timeout=60, **options
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device")
@pytest.mark.parametrize("words", [["check", "--json"], ["check"], ["batch", "--json"], ["batch"]])
def test_standard_output_on_a_full_disk_gives_one_message(site: Path, words: list[str]) -> None:
    place = site.parent if words[0] == "batch" else site
    with Path("/dev/full").open("wb") as full:
        ran = run(words[0], place, *words[1:], stdout=full)
    assert ran.returncode == 2
    assert ran.stderr.splitlines()[-1].endswith("no space left on device")
    assert "Traceback" not in ran.stderr
    assert "Exception ignored" not in ran.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device")
def test_a_refusal_that_nobody_can_read_keeps_its_exit_code(site: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        ran = run("check", site.with_name("none.toml"), stderr=full, stdout=subprocess.PIPE)
    assert (ran.returncode, ran.stdout) == (2, "")


@pytest.mark.parametrize(
    ("target", "more", "code"), [(1.1, [], 0), (1.1, ["--strict"], 0), (9.9, ["--strict"], 1)]
)
@pytest.mark.parametrize("words", [["check", "--json"], ["check"], ["batch", "--json"], ["batch"]])
def test_a_reader_that_leaves_changes_no_verdict(
    site: Path, words: list[str], target: float, more: list[str], code: int
) -> None:
    text = SCENARIO.replace('depth = "1.8 m"\n', f'depth = "1.8 m"\ntarget = {target}\n')
    site.write_text(text, encoding="utf-8")
    place = site.parent if words[0] == "batch" else site
    read, write = os.pipe()
    os.close(read)
    try:
        ran = run(words[0], place, *words[1:], *more, stdout=write)
    finally:
        os.close(write)
    if words == ["batch", "--json"] and more:  # who follows it to the end hears what it came to
        assert ran.stderr.startswith("slipmargin: 1 scenario;")
    else:
        assert ran.stderr == ""
    assert ran.returncode == code


def test_a_batch_ends_early_where_nobody_reads_it_and_goes_on_where_a_file_does(
    sites: Path, tmp_path: Path
) -> None:
    for one in sorted(sites.iterdir())[20:]:
        one.unlink()
    for more, lines in (([], None), (["--output", tmp_path / "out.jsonl"], 20)):
        process = started("batch", sites, "--json", "--jobs", 2, *more, until="00.toml")
        process.stdout.close()
        assert process.wait(timeout=120) == 0
        said = process.stderr.read()
        process.stderr.close()
        if lines is None:
            assert said == ""
        else:
            content = (tmp_path / "out.jsonl").read_text(encoding="utf-8")
            assert len(content.splitlines()) == lines
            assert "20 scenarios" in said


@pytest.mark.parametrize("closed", ["stdout", "stderr"])
def test_a_stream_that_is_closed_from_the_start_is_no_fault(site: Path, closed: str) -> None:
    number = {"stdout": 1, "stderr": 2}[closed]
    ran = subprocess.run(
        ["sh", "-c", f'"$0" check "$1" {number}>&-', PROGRAM, str(site)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 0
    assert ran.stderr == ""


# signals


def started(
    *words: object, until: str, stream: str = "stdout", **options: Any
) -> subprocess.Popen[str]:
    """The program, once it has said a certain thing."""
    process = subprocess.Popen(
        [PROGRAM, *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )
    source = getattr(process, stream)
    for line in source:
        if until in line:
            return process
    raise AssertionError(process.communicate())


def children(pid: int) -> list[int]:
    """Processes below one, down to the last."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            child = int(status.parent.name)
            found += [child, *children(child)]
    return found


def wait_for_end(pids: list[int]) -> list[int]:
    for _ in range(100):
        left = [pid for pid in pids if Path(f"/proc/{pid}").exists() and not ended(pid)]
        if not left:
            return []
        time.sleep(0.1)
    return left


def ended(pid: int) -> bool:
    try:
        return " Z " in Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    except OSError:
        return True


@pytest.fixture
def sites(tmp_path: Path) -> Path:
    folder = tmp_path / "sites"
    folder.mkdir()
    for number in range(60):
        text = SCENARIO + "".join(SEARCH.format(number=n) for n in range(4))
        (folder / f"{number:02}.toml").write_text(text, encoding="utf-8")
    return folder


SIGNALS = [
    pytest.param(signal.SIGINT, 130, "interrupted", id="SIGINT"),
    pytest.param(signal.SIGTERM, 143, "stopped", id="SIGTERM"),
]


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize(("number", "code", "says"), SIGNALS)
def test_a_batch_that_is_stopped_ends_its_workers_and_leaves_whole_lines(
    sites: Path, tmp_path: Path, number: signal.Signals, code: int, says: str
) -> None:
    file = tmp_path / "out.jsonl"
    process = started("batch", sites, "--json", "--output", file, "--jobs", 2, until="03.toml")
    workers = children(process.pid)
    assert len(workers) >= 2
    process.send_signal(number)
    _, err = process.communicate(timeout=30)
    assert process.returncode == code
    assert err == f"slipmargin: {says}\n"
    assert wait_for_end(workers) == []
    content = file.read_bytes()
    assert 4 <= content.count(b"\n") < 60
    assert content.endswith(b"\n")
    assert names(tmp_path) == ["out.jsonl", "sites"]


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
def test_workers_end_with_a_program_that_is_killed(sites: Path, tmp_path: Path) -> None:
    process = started("batch", sites, "--json", "--jobs", 2, until="03.toml")
    workers = children(process.pid)
    process.kill()
    process.communicate(timeout=30)
    assert wait_for_end(workers) == []


@pytest.mark.parametrize(("number", "code", "says"), SIGNALS)
def test_a_signal_before_the_file_is_in_place_leaves_nothing(
    site: Path, tmp_path: Path, number: signal.Signals, code: int, says: str
) -> None:
    # the program sends the signal to itself when the whole content stands in the other file
    folder = tmp_path / "out"
    folder.mkdir()
    program = f"""
import os, sys
sync = os.fsync
def fsync(handle):
    sync(handle)
    assert any(name.startswith(".partial-") for name in os.listdir({str(folder)!r}))
    os.kill(os.getpid(), {int(number)})
os.fsync = fsync
from slipmargin.cli.main import run
sys.argv = ["slipmargin", "sweep", {str(site)!r}, "--csv", {str(folder / "out.csv")!r}]
run()
"""
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=60
    )
    assert ran.returncode == code
    assert ran.stderr == f"slipmargin: {says}\n"
    assert names(folder) == []


HOOK = """
import importlib.abc, os, signal, sys

from slipmargin.__main__ import run

class Hit(importlib.abc.MetaPathFinder):
    def find_spec(self, name, *_):
        if name == moment:
            os.kill(os.getpid(), signal.SIGINT)

moment, sys.argv = sys.argv[1], ["slipmargin", *sys.argv[2:]]
sys.meta_path.insert(0, Hit())
run()
"""


@pytest.mark.parametrize(
    "moment", ["typer", "slipmargin.cli.scenario", "numpy", "pydantic", "rich.table"]
)
def test_an_interruption_while_the_program_loads_leaves_one_line(site: Path, moment: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", HOOK, moment, "check", str(site)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 130
    assert ran.stdout == ""
    assert ran.stderr == "slipmargin: interrupted\n"


def test_an_interruption_that_a_library_turns_into_an_error_is_still_one() -> None:
    def load() -> None:
        try:
            signal.raise_signal(signal.SIGINT)
        except Stopped as stop:
            raise ImportError("initialization failed") from stop

    with pytest.raises(Stopped, match="2"), heeding_signals():
        load()
    with pytest.raises(Stopped, match="2"), heeding_signals(), suppress(ImportError):
        load()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize("processes", [1, 2, 3, 4])
def test_an_interruption_while_the_workers_start_leaves_one_line(
    sites: Path, processes: int
) -> None:
    """Sent to all of them, as by a terminal, once so many have been started."""
    process = subprocess.Popen(
        [PROGRAM, "batch", str(sites), "--jobs", "2"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    while len(below := children(process.pid)) < processes:
        assert process.poll() is None
    os.killpg(process.pid, signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert err == "slipmargin: interrupted\n"
    assert process.returncode == 130
    assert wait_for_end(below) == []


def test_a_signal_that_was_ignored_stays_ignored(site: Path) -> None:
    program = """
import os, signal, sys
signal.signal(signal.SIGTERM, signal.SIG_IGN)
from slipmargin.cli.questions import check
evaluate = check.evaluate
def hit(scenario):
    os.kill(os.getpid(), signal.SIGTERM)
    return evaluate(scenario)
check.evaluate = hit
from slipmargin.cli.main import run
run()
"""
    ran = subprocess.run(
        [sys.executable, "-c", program, "check", str(site), "--json"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 0
    assert ran.stderr == ""
