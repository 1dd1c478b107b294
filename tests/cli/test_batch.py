"""``batch``: every scenario below a folder, in parallel, one line for each."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tracemalloc
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.batch.resume import earlier_lines
from slipmargin.cli.batch.run import BatchLine, find_scenarios, run_batch
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import InputError

SCENARIO = """\
title = "Section {number}"
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
{strength}
[[checks]]
kind = "infinite_slope"
label = "Bank {number}"
soil = "bank"
slope_angle = "{angle} deg"
depth = "1.8 m"
target = 1.3
"""
STATED = 'cohesion = "4 kPa"\nfriction_angle = "31 deg"'
FITTED = 'readings = "lab.csv"'
READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
1,25,20.3
2,50,35.2
3,100,65.8
4,150,94.9
"""


def write(folder: Path, count: int, strength: str = STATED) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "lab.csv").write_text(READINGS, encoding="utf-8")
    paths = []
    for number in range(count):
        path = folder / f"section-{number:03}.toml"
        text = SCENARIO.format(number=number, strength=strength, angle=20 + number % 20)
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths


@pytest.fixture
def threads() -> Iterator[Executor]:
    with ThreadPoolExecutor(2) as pool:
        yield pool


def documents(text: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in text.splitlines()]


def by_path(lines: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {Path(line["path"]).name: line for line in lines}


# what runs


def test_a_line_holds_what_check_prints(slipmargin, tmp_path: Path) -> None:
    paths = [*write(tmp_path, 2), *write(tmp_path / "below" / "it", 1, FITTED)]
    ran = slipmargin("batch", tmp_path, "--json")
    assert ran.code == 0
    lines = documents(ran.out)
    assert [line["path"] for line in lines] == sorted(map(str, paths))
    for line in lines:
        assert line["ok"] is True
        assert line["result"] == slipmargin("check", line["path"], "--json").json


def test_one_bad_file_does_not_stop_the_rest(slipmargin, tmp_path: Path) -> None:
    write(tmp_path, 3)
    (tmp_path / "section-001.toml").write_text("title = [", encoding="utf-8")
    (tmp_path / "section-002.toml").write_bytes(b"\xff\xfe")
    ran = slipmargin("batch", tmp_path, "--json")
    lines = by_path(documents(ran.out))
    assert ran.code == 0
    assert [line["ok"] for line in lines.values()] == [True, False, False]
    for name in ("section-001.toml", "section-002.toml"):
        alone = slipmargin("check", tmp_path / name, "--json")
        assert alone.err == f"slipmargin: {lines[name]['error']}\n"
        assert alone.code == lines[name]["exit_code"] == 2


def test_files_that_are_no_scenarios_are_left_out_and_counted(slipmargin, tmp_path: Path) -> None:
    write(tmp_path, 1)
    (tmp_path / "tool.toml").write_text('[tool]\nname = "x"\n', encoding="utf-8")
    (tmp_path / "notes.txt").write_text("title", encoding="utf-8")
    ran = slipmargin("batch", tmp_path)
    assert "tool" not in ran.out.split("Other")[0]
    assert "Other .toml files, no scenarios: 1." in " ".join(ran.out.split())


def test_a_misspelt_scenario_is_not_taken_for_another_file(slipmargin, tmp_path: Path) -> None:
    text = SCENARIO.format(number=0, strength=STATED, angle=20).replace("[soils.", "[soil.")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    (line,) = documents(slipmargin("batch", tmp_path, "--json").out)
    assert line["ok"] is False
    assert "did you mean 'soils'" in line["error"]


def test_the_text_has_one_line_a_check_with_lowest_factor_and_verdict(
    slipmargin, tmp_path: Path
) -> None:
    write(tmp_path, 1)
    (tmp_path / "bad.toml").write_text("title = 3", encoding="utf-8")
    steep = SCENARIO.format(number=7, strength=STATED, angle=50)
    (tmp_path / "steep.toml").write_text(steep, encoding="utf-8")
    ran = slipmargin("batch", tmp_path)
    lines = ran.out.splitlines()
    factor = slipmargin("check", tmp_path / "section-000.toml", "--json").json["checks"][0]
    shown = f"{factor_text(factor['factors_of_safety']['sliding'])} of 1.30 meets"
    assert sum(shown in line and "Bank 0 (sliding)" in line for line in lines) == 1
    assert sum("MISSES" in line and "STOP: below-one" in line for line in lines) == 1
    assert sum(line.startswith("REFUSED") and "bad.toml" in line for line in lines) == 1
    assert "3 scenarios, 1 of them refused; 2 checks: target met by 1, missed by 1, not" in ran.out
    assert "Preliminary quick check" in ran.out


def test_no_target_below_one_makes_a_factor_below_one_meet(slipmargin, tmp_path: Path) -> None:
    steep = SCENARIO.format(number=7, strength=STATED, angle=50)
    (tmp_path / "steep.toml").write_text(steep.replace("target = 1.3", "target = 0.5"), "utf-8")
    out = slipmargin("batch", tmp_path).out
    assert "of 0.50 BELOW 1" in out
    assert "meets" not in out


BASES = {
    "targets": ('method = "global"\n[basis.targets]\nslope = 99.0', "of 99.00 MISSES"),
    "sets": ('method = "partial"\nsets = ["DA1-1", "DA1-2"]', "DA1-2: sliding fails"),
}


@pytest.mark.parametrize("name", BASES)
def test_the_text_says_what_misses_under_a_basis_of_design(
    slipmargin, tmp_path: Path, name: str
) -> None:
    basis, says = BASES[name]
    text = SCENARIO.format(number=0, strength=STATED, angle=33).replace("target = 1.3\n", "")
    path = tmp_path / "site.toml"
    path.write_text(f"{text}[basis]\n{basis}\n", encoding="utf-8")
    ran = slipmargin("batch", tmp_path)
    assert any("MISSES" in line and says in line for line in ran.out.splitlines()), ran.out
    assert "missed by 1" in ran.out
    assert slipmargin("batch", tmp_path, "--strict").code == 1
    assert slipmargin("check", path, "--strict").code == 1


@pytest.mark.parametrize("angle", [20, 33, 50])
def test_strict_agrees_with_check(slipmargin, tmp_path: Path, angle: int) -> None:
    path = tmp_path / "site.toml"
    path.write_text(SCENARIO.format(number=0, strength=STATED, angle=angle), encoding="utf-8")
    codes = {
        slipmargin(*words, "--strict").code for words in (["batch", tmp_path], ["check", path])
    }
    assert len(codes) == 1


def test_strict_fails_on_a_missed_target_and_on_a_refusal(slipmargin, tmp_path: Path) -> None:
    write(tmp_path, 1)
    assert slipmargin("batch", tmp_path, "--strict").code == 0
    (tmp_path / "bad.toml").write_text("title = 3", encoding="utf-8")
    assert slipmargin("batch", tmp_path).code == 0
    assert slipmargin("batch", tmp_path, "--strict").code == 1
    steep = SCENARIO.format(number=7, strength=STATED, angle=50)
    (tmp_path / "bad.toml").write_text(steep, encoding="utf-8")
    assert slipmargin("batch", tmp_path, "--strict").code == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nowhere"], "there is no folder"),
        (["lab.csv"], "it is a file"),
        (["empty"], "no scenario"),
        ([".", "--jobs", "0"], "from 1 upward"),
        ([".", "--resume", "no.jsonl"], "it cannot be read"),
        ([".", "--output", "nowhere/x.jsonl"], "its folder does not exist"),
        ([".", "--output", "lab.csv"], "--force"),
    ],
)
def test_what_makes_no_sense_is_refused(
    slipmargin, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], says: str
) -> None:
    write(tmp_path, 1)
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path)
    ran = slipmargin("batch", *words)
    assert ran.code == 2
    assert says in ran.err
    assert len(ran.err.splitlines()) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["empty", "lab.csv", "section-000.toml"]


# folders


def test_links_in_a_circle_are_followed_once(tmp_path: Path) -> None:
    write(tmp_path / "a", 1)
    (tmp_path / "a" / "round").symlink_to(tmp_path)
    (tmp_path / "b").symlink_to(tmp_path / "a")
    (tmp_path / "self").symlink_to(tmp_path / "self")
    (tmp_path / "dead.toml").symlink_to(tmp_path / "nothing")
    found = find_scenarios(tmp_path)
    assert [path.relative_to(tmp_path) for path in found.paths] == [Path("a/section-000.toml")]
    assert [Path(line.path).name for line in found.unreadable] == ["dead.toml"]


def test_a_pipe_named_like_a_scenario_is_not_opened(tmp_path: Path) -> None:
    write(tmp_path, 1)
    os.mkfifo(tmp_path / "pipe.toml")
    assert len(find_scenarios(tmp_path).paths) == 1


def test_a_folder_that_cannot_be_read_is_named_in_a_line(
    slipmargin, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, 1)
    (tmp_path / "locked").mkdir()
    look = os.scandir

    def scandir(path: Any) -> Any:
        if Path(path).name == "locked":
            raise PermissionError(13, "Permission denied", str(path))
        return look(path)

    monkeypatch.setattr(os, "scandir", scandir)
    lines = documents(slipmargin("batch", tmp_path, "--json").out)
    assert [line["ok"] for line in lines] == [False, True]
    assert lines[0]["path"] == str(tmp_path / "locked")
    assert "permission denied" in lines[0]["error"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads it all")
def test_a_folder_without_permission_is_named_in_a_line(tmp_path: Path) -> None:
    (tmp_path / "locked").mkdir(mode=0)
    (line,) = find_scenarios(tmp_path).unreadable
    assert "permission denied" in line.document["error"]


# executors


def texts(lines: Iterator[BatchLine]) -> list[str]:
    return [line.text for line in lines]


def test_any_executor_gives_the_same_lines(tmp_path: Path, threads: Executor) -> None:
    paths = write(tmp_path, 6, FITTED)
    by_threads = texts(run_batch(paths, threads))
    assert by_threads == texts(run_batch(paths, jobs=2))
    assert len(by_threads) == 6
    threads.submit(len, "left open").result()


def test_the_executor_of_a_cluster_gives_the_same_lines(tmp_path: Path) -> None:
    distributed = pytest.importorskip("dask.distributed", reason="dask is not installed")
    paths = write(tmp_path, 4)
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        found = texts(run_batch(paths, client.get_executor()))
    assert found == texts(run_batch(paths, jobs=1))


class Counting(Executor):
    """Runs at once, and knows how many answers are still to be fetched."""

    def __init__(self) -> None:
        self.held = self.most = 0

    def submit(self, function: Any, /, *args: Any, **options: Any) -> Future[Any]:
        self.held += 1
        self.most = max(self.most, self.held)
        future: Future[Any] = Future()
        future.set_result(function(*args, **options))
        return future


def test_a_bounded_number_is_under_way(tmp_path: Path) -> None:
    paths = write(tmp_path, 12)
    counting = Counting()
    for _ in run_batch(paths, counting, in_flight=3):
        counting.held -= 1
    assert counting.most == 3


def test_memory_does_not_grow_with_the_number_of_scenarios(tmp_path: Path) -> None:
    (path,) = write(tmp_path, 1)
    counting = Counting()
    list(run_batch([path] * 5, counting))

    def peak(count: int) -> int:
        tracemalloc.start()
        for _ in run_batch((path for _ in range(count)), counting, in_flight=4):
            pass
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    assert peak(60) < 1.2 * peak(15)


def test_a_worker_that_dies_takes_only_its_own_scenario_with_it(tmp_path: Path) -> None:
    paths = write(tmp_path, 4)
    # a program of its own, in whose workers one scenario ends the process
    program = f"""
import os
from pathlib import Path
from slipmargin.cli.scenario import read
load = read.load
def fatal(path, **options):
    if path.name == "section-001.toml":
        os._exit(9)
    return load(path, **options)
read.load = fatal
if __name__ == "__main__":
    from slipmargin.cli.batch.run import run_batch
    for line in run_batch([Path(p) for p in {[str(p) for p in paths]!r}], jobs=2):
        print(line.text)
"""
    script = tmp_path / "program.py"
    script.write_text(program, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, check=True, timeout=120
    )
    lines = by_path(documents(ran.stdout))
    assert [line["ok"] for line in lines.values()] == [True, False, True, True]
    assert "worker process was ended" in lines["section-001.toml"]["error"]


def test_an_iterator_that_is_left_early_ends_its_workers(tmp_path: Path) -> None:
    import multiprocessing

    before = set(multiprocessing.active_children())
    lines = run_batch(write(tmp_path, 40), jobs=1)
    assert next(lines).ok
    (worker,) = set(multiprocessing.active_children()) - before
    lines.close()
    worker.join(10)
    assert worker.exitcode == -signal.SIGTERM


# resuming


def test_a_run_that_was_stopped_is_resumed_where_it_ended(slipmargin, tmp_path: Path) -> None:
    write(tmp_path / "sites", 5, FITTED)
    file = tmp_path / "out.jsonl"
    assert slipmargin("batch", tmp_path / "sites", "--output", file).code == 0
    whole = file.read_text(encoding="utf-8")
    kept = whole.splitlines(keepends=True)
    # two whole lines and half of a third, as a machine leaves them that loses its power
    file.write_text("".join(kept[:2]) + kept[2][:100], encoding="utf-8")
    ran = slipmargin("batch", tmp_path / "sites", "--resume", file)
    assert ran.code == 0
    assert file.read_text(encoding="utf-8") == whole
    assert "5 scenarios; 5 checks" in ran.out


def test_what_was_done_is_not_run_again(slipmargin, tmp_path: Path) -> None:
    paths = write(tmp_path / "sites", 2)
    file = tmp_path / "out.jsonl"
    slipmargin("batch", tmp_path / "sites", "--output", file)
    lines = documents(file.read_text(encoding="utf-8"))
    lines[0]["result"]["title"] = "taken over"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    ran = slipmargin("batch", tmp_path / "sites", "--resume", file, "--json")
    assert [line["result"]["title"] for line in documents(ran.out)] == ["taken over", "Section 1"]
    assert len(paths) == 2


@pytest.mark.parametrize("changed", ["section-001.toml", "lab.csv"])
def test_a_scenario_whose_files_changed_is_run_again(
    slipmargin, tmp_path: Path, changed: str
) -> None:
    write(tmp_path / "sites", 2, FITTED)
    file = tmp_path / "out.jsonl"
    slipmargin("batch", tmp_path / "sites", "--output", file)
    edited = tmp_path / "sites" / changed
    edited.write_text(edited.read_text(encoding="utf-8") + "# as before\n", encoding="utf-8")
    if changed == "lab.csv":
        edited.write_text(READINGS.replace("94.9", "80.1"), encoding="utf-8")
    before = by_path(documents(file.read_text(encoding="utf-8")))
    slipmargin("batch", tmp_path / "sites", "--resume", file)
    after = by_path(documents(file.read_text(encoding="utf-8")))
    assert list(after) == ["section-000.toml", "section-001.toml"]
    fresh = [name for name in after if after[name]["sha256"] != before[name]["sha256"]]
    assert fresh == (["section-001.toml"] if changed.startswith("section") else list(after))
    for name, line in after.items():
        alone = slipmargin("check", tmp_path / "sites" / name, "--json")
        assert line["result"] == alone.json


def test_a_refused_scenario_and_lines_of_no_sense_are_not_taken_over(
    slipmargin, tmp_path: Path
) -> None:
    (path, _) = write(tmp_path / "sites", 2)
    sound = path.read_text(encoding="utf-8")
    path.write_text("title = 3", encoding="utf-8")
    file = tmp_path / "out.jsonl"
    slipmargin("batch", tmp_path / "sites", "--output", file)
    path.write_text(sound, encoding="utf-8")
    strange = ["null", "[]", "{}", '{"ok": true, "path": 3}', "[" * 5000, '"\\u0000"', ""]
    with file.open("a", encoding="utf-8") as stream:
        stream.write("\n".join(strange) + "\n")
        stream.write(
            '{"ok": true, "path": "/\\u0000", "result": {}, "sha256": {}, "fails": true}\n'
        )
    assert slipmargin("batch", tmp_path / "sites", "--resume", file).code == 0
    lines = documents(file.read_text(encoding="utf-8"))
    assert sorted(line["ok"] for line in lines) == [True, True]


def test_a_line_with_readings_outside_is_taken_over_only_where_they_may_lie_there(
    slipmargin, tmp_path: Path
) -> None:
    write(tmp_path / "sites", 1, FITTED.replace("lab.csv", "../lab.csv"))
    (tmp_path / "sites" / "lab.csv").rename(tmp_path / "lab.csv")
    file = tmp_path / "out.jsonl"
    words = ["batch", tmp_path / "sites"]
    assert slipmargin(*words, "--output", file, "--allow-outside").code == 0
    paths = find_scenarios(tmp_path / "sites").paths
    (line,) = earlier_lines(file, paths, allow_outside=True)
    assert line.text + "\n" == file.read_text(encoding="utf-8")
    assert list(earlier_lines(file, paths)) == []


def test_a_result_of_another_version_is_not_taken_over(slipmargin, tmp_path: Path) -> None:
    write(tmp_path / "sites", 1)
    file = tmp_path / "out.jsonl"
    slipmargin("batch", tmp_path / "sites", "--output", file)
    (line,) = documents(file.read_text(encoding="utf-8"))
    line |= {"version": "0.0.0"}
    line["result"]["title"] = "old"
    file.write_text(json.dumps(line) + "\n", encoding="utf-8")
    slipmargin("batch", tmp_path / "sites", "--resume", file)
    (line,) = documents(file.read_text(encoding="utf-8"))
    assert line["result"]["title"] == "Section 0"


def test_standard_output_cannot_go_to_the_file_as_well(tmp_path: Path) -> None:
    write(tmp_path / "sites", 1)
    file = tmp_path / "out.jsonl"
    program = Path(sys.executable).with_name("slipmargin")
    with file.open("ab") as stream:
        ran = subprocess.run(
            [str(program), "batch", str(tmp_path / "sites"), "--json", "--resume", str(file)],
            stdout=stream,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert ran.returncode == 2
    assert "goes there already" in ran.stderr


def test_a_name_that_is_not_text_comes_through(tmp_path: Path, threads: Executor) -> None:
    name = os.fsdecode(b"cut-\xff.toml")
    (path,) = write(tmp_path, 1)
    path.rename(tmp_path / name)
    found = find_scenarios(tmp_path)
    (line,) = run_batch(found.paths, threads)
    assert line.text.encode("utf-8")
    assert line.document["path"] == str(tmp_path / name)


def test_a_folder_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match="no folder"):
        find_scenarios(Path("no\0where"))


def test_a_variant_is_checked_of_each_that_has_it_and_refused_of_the_others(
    slipmargin, tmp_path: Path
) -> None:
    steep, plain = write(tmp_path, 2)
    variant = (
        '\n[[variants]]\nname = "steep"\n[variants.set]\n"checks.Bank 0.slope_angle" = "40 deg"\n'
    )
    steep.write_text(steep.read_text(encoding="utf-8") + variant, encoding="utf-8")
    run = ("batch", tmp_path, "--json", "--jobs", "1", "--variant", "steep")
    found = by_path(documents(slipmargin(*run).out))
    alone = slipmargin("check", steep, "--variant", "steep", "--json").json
    assert found[steep.name]["result"] == alone
    assert alone["variant"] == "steep"
    assert (found[plain.name]["ok"], found[plain.name]["exit_code"]) == (False, 2)
    assert "steep" in found[plain.name]["error"]
    lines = tmp_path / "lines.jsonl"
    slipmargin("batch", tmp_path, "--jobs", "1", "--output", lines)
    again = by_path(documents(slipmargin(*run, "--resume", lines).out))
    assert again[steep.name]["result"] == alone
