"""Files made to do harm: refused in a sentence, or shown so that they can do none.

Time and memory are measured in a process of its own: 2 s of processor time and 500 MB above
what the program takes for a sound scenario.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import BANK, SLOPE, SWEEP

from slipmargin.cli.files import spreadsheet_safe, table_csv
from slipmargin.cli.visible_text import json_escaped, visible
from slipmargin.cli.words import CAUTION
from slipmargin.strength.laboratory.csv_table import LARGEST_FILE

SOUND = (
    """\
title = "Sound"
"""
    + BANK
    + SLOPE
    + "target = 1.5\n"
    + SWEEP
    + "steps = 3\n"
)
FITTED = SOUND.replace('cohesion = "4 kPa"\nfriction_angle = "31 deg"', 'readings = "lab.csv"')
READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
1,25,20.3
2,50,35.2
3,100,65.8
"""
# characters that a terminal obeys, or that turn or hide text
EVIL = "\x1b[31mred\x1b]0;title\x07\x9b2J\x7f\b\r\n\t\0\u202e99.9\u2066\u200b\u2028\ufeff"
SEEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")


def toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def write(folder: Path, scenario: str, readings: str = READINGS) -> Path:
    (folder / "lab.csv").write_text(readings, encoding="utf-8", newline="")
    path = folder / "site.toml"
    path.write_text(scenario, encoding="utf-8", newline="")
    return path


def assert_refused(ran, *words: str) -> None:
    assert ran.code == 2, ran.out
    assert ran.out == ""
    assert "Traceback" not in ran.err
    assert len(ran.err.splitlines()) == 1
    assert len(ran.err) < 2000
    assert not SEEN.search(ran.err)
    for word in words:
        assert word in ran.err


# deep, huge and odd TOML

N = 100_000
DEEP = "nested too deeply"
CASES = {
    "deep array": (SOUND.replace('"1.8 m"', "[" * N + "]" * N), [DEEP]),
    "deep open array": ("x = " + "[" * N, [DEEP]),
    "deep inline table": (SOUND.replace('"1.8 m"', "{a=" * N + "1" + "}" * N), [DEEP]),
    "deep dotted key": (SOUND.replace("depth", ".".join(["a"] * N)), [DEEP]),
    "deep quoted key": (SOUND.replace("depth", " . ".join(['"a"'] * 60_000)), [DEEP]),
    "deep table": (SOUND + "[" + ".".join(["a"] * N) + "]\n", [DEEP]),
    "deep list of tables": (SOUND + "[[" + ".".join(["a"] * N) + "]]\n", [DEEP]),
    "a MiB of keys": (SOUND + "".join(f"k{i} = 1\n" for i in range(85_000)), ["unknown key"]),
    "a MiB of tables": (SOUND + "".join(f"[k{i}]\n" for i in range(85_000)), ["unknown key"]),
    "a MiB of soils": (SOUND + "".join(f"[soils.s{i}]\n" for i in range(60_000)), ["up to 1000"]),
    "a MiB of checks": (SOUND + "[[checks]]\n" * 80_000, ["up to 1000"]),
    "a MiB of one key": (SOUND + "k" * 1_000_000 + " = 1\n", ["unknown key"]),
    "over a MiB": (SOUND + "#" * (1 << 20), ["over 1024 KiB"]),
    "a million digits": (SOUND.replace("1.5", "1" * 1_000_000), ["integer"]),
    "a million hex digits": (SOUND.replace("1.5", "0x" + "f" * 1_000_000), ["target", "too large"]),
    "a label of digits": (SOUND.replace('"Bank"', "0x" + "f" * 1_000_000), ["label", "string"]),
    "a million decimals": (SOUND.replace("1.5", "-1." + "1" * 1_000_000), ["target", "above 0"]),
    "a million digits as text": (SOUND.replace("1.8 m", "1" * 1_000_000 + " m"), ["too large"]),
    "a million digits of exponent": (SOUND.replace("1.8 m", "1e" + "1" * 1_000_000), ["no unit"]),
    "a date": (SOUND.replace('"1.8 m"', "1979-05-27"), ["depth", "no unit"]),
    "a date that is none": (SOUND.replace("1.5", "2023-02-30"), ["not valid TOML"]),
    "a time": (SOUND.replace("1.5", "07:32:00"), ["target", "bare number"]),
    "inf": (SOUND.replace("1.5", "inf"), ["target", "finite"]),
    "nan": (SOUND.replace("1.5", "nan"), ["target", "finite"]),
    "negative zero": (SOUND.replace("1.5", "-0.0"), ["target", "above 0"]),
    "raw NUL": (SOUND.replace("Sound", "So\0nd"), ["not valid TOML"]),
    "escape in a key": (SOUND.replace("depth", '"de\\u001bpth"'), ["\\x1b", "unknown key"]),
    "escape in a kind": (SOUND.replace('"infinite_slope"', toml(EVIL)), ["\\x1b", "infinite"]),
    "escape in a label": (
        SOUND.replace('"Bank"', toml(EVIL)).replace("1.8 m", "-1 m"),
        ["\\x1b", "\\u202e", "depth"],
    ),
    "escape in a soil": (SOUND.replace('soil = "bank"', f"soil = {toml(EVIL)}"), ["\\x1b"]),
    "a free name with a bad key": (SOUND + '[ranges."a.b"]\nfoo = 1\n', ["foo", "known: range"]),
    "a module for a kind": (SOUND.replace("infinite_slope", "..strength"), ["kind", "known"]),
}


@pytest.mark.parametrize("name", CASES)
def test_hostile_toml_is_refused_in_a_sentence(slipmargin, tmp_path: Path, name: str) -> None:
    text, words = CASES[name]
    assert_refused(slipmargin("check", write(tmp_path, text), "--json"), "site.toml", *words)


MEASURED = """
import resource, sys
from pathlib import Path
from slipmargin.cli.questions.check import evaluate
from slipmargin.cli.scenario.read import load
from slipmargin.strength import InputError
evaluate(load(Path(sys.argv[1])))

def spent():
    use = resource.getrusage(resource.RUSAGE_SELF)
    return use.ru_utime + use.ru_stime, use.ru_maxrss / 1024

worst = [0.0, 0.0]
for name in sys.argv[2:]:
    before = spent()
    try:
        evaluate(load(Path(name)))
    except InputError as error:
        str(error)
    after = spent()
    worst = [max(w, b - a) for w, a, b in zip(worst, before, after)]
print(*worst)
"""


def test_hostile_toml_is_refused_within_two_seconds_and_500_mb(tmp_path: Path) -> None:
    sound = write(tmp_path, SOUND)
    files = []
    for number, (text, _) in enumerate(CASES.values()):
        files.append(tmp_path / f"{number}.toml")
        files[-1].write_text(text, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-c", MEASURED, str(sound), *map(str, files)],
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    seconds, megabytes = map(float, ran.stdout.split())
    assert seconds < 2.0
    assert megabytes < 500.0


def test_an_endless_file_is_read_no_further_than_the_limit(slipmargin) -> None:
    if not Path("/dev/zero").exists():
        pytest.skip("no such device")
    assert_refused(slipmargin("check", "/dev/zero"), "over 1024 KiB")


# readings that lie elsewhere


@pytest.fixture
def secret(tmp_path: Path) -> tuple[Path, Path]:
    """A folder for the scenario, and a readings file beside that folder."""
    inside = tmp_path / "inside"
    inside.mkdir()
    (tmp_path / "secret.csv").write_text(READINGS, encoding="utf-8")
    return inside, tmp_path / "secret.csv"


@pytest.mark.parametrize(
    "way", ["../secret.csv", "absolute", "x/../../secret.csv", "link", "chain"]
)
def test_readings_outside_the_folder_are_refused(slipmargin, secret, way: str) -> None:
    inside, outside = secret
    (inside / "x").mkdir()
    name = way
    if way == "absolute":
        name = str(outside)
    elif way == "link":
        (inside / "link").symlink_to(outside)
    elif way == "chain":
        (inside / "to").symlink_to(outside.parent)
        (inside / "chain").symlink_to("to/secret.csv")
    path = write(inside, FITTED.replace("lab.csv", name))
    for command in ("check", "sweep", "interpretations"):
        assert_refused(slipmargin(command, path, "--json"), "--allow-outside")
    assert slipmargin("check", path, "--json", "--allow-outside").code == 0
    lines = slipmargin("batch", inside, "--json").out.splitlines()
    assert [json.loads(line)["ok"] for line in lines] == [False]


@pytest.mark.parametrize(
    "name", ["a\0b.csv", "a" * 5000 + ".csv", "loop.csv", ".", "", "/dev/zero", "pipe.csv"]
)
def test_a_name_that_is_no_file_is_refused(slipmargin, tmp_path: Path, name: str) -> None:
    (tmp_path / "loop.csv").symlink_to("loop.csv")
    os.mkfifo(tmp_path / "pipe.csv")
    path = write(tmp_path, FITTED.replace('"lab.csv"', toml(name)))
    assert_refused(slipmargin("check", path, "--json", "--allow-outside"), "readings")


# what reaches the terminal


EVIL_SCENARIO = f"""\
title = {toml(EVIL)}
[soils.{toml("b" + EVIL)}]
description = {toml(EVIL)}
unit_weight = "18.5 kN/m^3"
[soils.{toml("b" + EVIL)}.strength]
readings = "lab.csv"
[soils.{toml("b" + EVIL)}.strength.stated_by]
who = {toml(EVIL)}
cohesion = "4 kPa"
friction_angle = "31 deg"
[[checks]]
kind = "infinite_slope"
label = {toml("Bank" + EVIL)}
soil = {toml("b" + EVIL)}
slope_angle = "28 deg"
depth = "1.8 m"
target = 1.1
"""


@pytest.mark.parametrize(
    "words",
    [
        ["check", "--notes", "--working"],
        ["sweep", "--vary", "checks.Bank{evil}.depth", "--from", "1 m", "--to", "2 m"],
        ["interpretations"],
        ["influence"],
        ["reliability", "--samples", "200"],
        ["strength-map", "--soil", "b{evil}"],
        ["back-analysis", "--check", "Bank{evil}"],
        ["batch"],
    ],
    ids=lambda words: words[0],
)
def test_no_command_hands_a_control_character_to_the_terminal(
    slipmargin, tmp_path: Path, words: list[str]
) -> None:
    path = write(tmp_path, EVIL_SCENARIO, READINGS.replace("\n1,", "\n\x1b[31m\u202e1,"))
    command, *options = [word.format(evil=EVIL) for word in words]
    place = tmp_path if command == "batch" else path
    ran = slipmargin(command, place, *options)
    assert ran.code == 0, ran.err
    assert not SEEN.search(ran.out + ran.err)
    if command in ("check", "batch"):
        assert "Bank\\x1b[31mred" in ran.out
        assert "\\u202e99.9" in ran.out
    as_json = [one for one in options if one not in ("--notes", "--working")]
    assert not SEEN.search(slipmargin(command, place, *as_json, "--json").out)


def test_a_label_cannot_begin_a_line_of_its_own(slipmargin, tmp_path: Path) -> None:
    false = "Bank\\nCut face               sliding               9.99    1.50  meets"
    path = write(tmp_path, SOUND.replace("Bank", false))
    for words in (["check", path], ["batch", tmp_path]):
        lines = slipmargin(*words).out.splitlines()
        assert not any(line.lstrip().startswith("Cut face") for line in lines)


def test_readings_with_control_characters_in_a_name_are_shown_escaped(
    slipmargin, tmp_path: Path
) -> None:
    write(tmp_path, SOUND, READINGS.replace("\n1,", "\n\x1b[31m\u202eT1,"))
    ran = slipmargin("fit", tmp_path / "lab.csv")
    assert ran.code == 0
    assert not SEEN.search(ran.out)
    assert "\\x1b[31m\\u202eT1" in ran.out


def test_the_json_keeps_every_character(slipmargin, tmp_path: Path) -> None:
    path = write(tmp_path, SOUND.replace('"Sound"', toml(EVIL + "é日\U000e0041")))
    ran = slipmargin("check", path, "--json")
    assert ran.json["title"] == EVIL + "é日\U000e0041"
    assert "é日" in ran.out


@given(st.text())
@settings(max_examples=200)
def test_visible_text_is_one_line_of_what_can_be_seen(text: str) -> None:
    shown = visible(text)
    assert not SEEN.search(shown)
    assert not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in shown)
    assert len((shown + "x").splitlines()) == 1
    assert json.loads(json_escaped(json.dumps(text, ensure_ascii=False))) == text
    if text.isascii() and text.isprintable():
        assert shown == text


def test_accents_and_joined_scripts_are_left_alone() -> None:
    for text in ("Böschung, τ = 5 kPa", "می‌خواهم", "斜面", "👩‍🔧"):
        assert visible(text) == text


# tables for spreadsheets

FORMULAS = [
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", " =1+1", "\u00a0=1+1",
    "\ufeff=1+1", "＝1+1", "＋1", "－1", "＠A1", "a;=1+1", "a; =1+1;b", "a\t=1+1", "a\n=1+1",
    '"=1+1', "'=1+1", "=cmd|' /C calc'!A0", "\0=1+1", "\u200b=1+1", "\u202e=1+1", "a,=1+1",
    'x";=1+1', ";=1+1", ";;-1",
]  # fmt: skip
STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def cells_as_opened(text: str, separator: str) -> list[str]:
    """Cells as a spreadsheet parts them, blanks and marks of no width in front left out."""
    rows = csv.reader(io.StringIO(text), delimiter=separator)
    return [cell.lstrip(" \t\r\n\0\u00a0\u200b\u202e\ufeff") for row in rows for cell in row]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("text", FORMULAS, ids=repr)
def test_no_cell_begins_a_formula(text: str, separator: str) -> None:
    table = table_csv(["check", text], [[text, 1.5], ["plain", text]])
    for cell in cells_as_opened(table, separator):
        assert not cell.startswith(STARTS), cell


@given(st.text(st.sampled_from("=+-@;,\t\r\n \"'a＝\0\ufeff1")))
@settings(max_examples=300)
def test_no_text_becomes_a_formula(text: str) -> None:
    for separator in ",;\t":
        for cell in cells_as_opened(table_csv(["h"], [[text, 1.0]]), separator):
            assert not cell.startswith(STARTS)
    assert "\n" not in spreadsheet_safe(text)


def test_numbers_and_plain_text_stay_as_they_are() -> None:
    lines = table_csv(["a", "b"], [["Cut 3-4; east", -1.5]]).splitlines()
    assert lines == [f"# {CAUTION}", "a,b", "Cut 3-4; east,-1.5"]


def test_a_label_that_is_a_formula_does_no_harm_in_a_sweep(slipmargin, tmp_path: Path) -> None:
    path = write(tmp_path, SOUND.replace("Bank", "=HYPERLINK(A1)"))
    assert slipmargin("sweep", path, "--csv", tmp_path / "out.csv").code == 0
    text = (tmp_path / "out.csv").read_text(encoding="utf-8")
    assert "'=HYPERLINK(A1)" in text
    assert not any(cell.startswith(STARTS) for cell in cells_as_opened(text, ","))


# pictures


@pytest.mark.filterwarnings("ignore:Glyph:UserWarning")
@pytest.mark.parametrize("label", ["$\\\\frac{$", "a\\\\$b$c", "$", "{}%s", "</svg>", "--><x>"])
def test_a_label_is_no_formula_and_no_markup_in_a_picture(
    slipmargin, tmp_path: Path, label: str
) -> None:
    path = write(tmp_path, SOUND.replace("Bank", label))
    ran = slipmargin("sweep", path, "--plot", tmp_path / "out.svg")
    assert ran.code == 0, ran.err
    root = ElementTree.fromstring((tmp_path / "out.svg").read_text(encoding="utf-8"))
    assert not [element for element in root.iter() if element.tag.endswith("}x")]


class Tags(HTMLParser):
    """Every tag with its attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, tuple[str, ...]]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, tuple(name for name, _ in attrs)))


@pytest.mark.filterwarnings("ignore:Glyph:UserWarning")
def test_no_name_becomes_markup_in_the_sheet(slipmargin, tmp_path: Path) -> None:
    evil = '</style></script><img src=x onerror=y>\' onload="z" {{7*7}} --> $\\frac{' + EVIL
    kinds = []
    for name, label in (("plain", "Bank"), ("evil", evil)):
        text = SOUND.replace('"Sound"', toml(label)).replace('"Bank"', toml(label))
        text = text.replace('soil = "bank"', f"soil = {toml(label)}")
        text = text.replace("[soils.bank", f"[soils.{toml(label)}").split("[[sweeps]]")[0]
        path = write(tmp_path, text)
        page = tmp_path / f"{name}.html"
        ran = slipmargin("report", path, "-o", page)
        assert ran.code == 0, ran.err
        kinds.append(set(Tags(page.read_text(encoding="utf-8")).found))
    plain, hostile = kinds
    assert {tag for tag, _ in hostile} <= {tag for tag, _ in plain}
    assert not any(name.startswith("on") for _, names in hostile - plain for name in names)
    turning = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
    assert not turning.search((tmp_path / "evil.html").read_text(encoding="utf-8"))


# readings files

READ = """
import resource, sys
from pathlib import Path
from slipmargin.cli.scenario.fitted import read_laboratory
from slipmargin.strength import InputError
read_laboratory(Path(sys.argv[1]), sys.argv[2] or None)

def spent():
    use = resource.getrusage(resource.RUSAGE_SELF)
    return use.ru_utime + use.ru_stime, use.ru_maxrss / 1024

before = spent()
try:
    read_laboratory(Path(sys.argv[3]), sys.argv[2] or None)
    print("read")
except InputError as error:
    print(error)
print(*(b - a for a, b in zip(before, spent())))
"""
MANY = LARGEST_FILE - 100
HUGE = {
    "a long record": "test,normal_stress [kPa],shear_stress [kPa],displacement [mm]\n"
    + "T1,50,33,0.1\n" * (MANY // 13),
    "one long row": "test,normal_stress [kPa],shear_stress [kPa]\n1," + "9" * (MANY // 2) + ",5\n",
    "many cells": "test,normal_stress [kPa],shear_stress [kPa]\n" + "1," * (MANY // 4) + "\n",
    "many columns": "test," * (MANY // 10),
    "only quotes": '"' * MANY,
    "only line ends": "\n" * MANY,
    "only comments": "#\n" * (MANY // 4),
}


@pytest.mark.parametrize("name", HUGE)
def test_a_huge_readings_file_takes_no_more_than_two_seconds_and_500_mb(
    tmp_path: Path, name: str
) -> None:
    write(tmp_path, SOUND)
    (tmp_path / "huge.csv").write_text(HUGE[name], encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-c", READ, str(tmp_path / "lab.csv"), "", str(tmp_path / "huge.csv")],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    seconds, megabytes = map(float, ran.stdout.splitlines()[-1].split())
    assert seconds < 2.0
    assert megabytes < 500.0


def test_a_larger_readings_file_is_refused(slipmargin, tmp_path: Path) -> None:
    path = write(tmp_path, FITTED, "#" * (LARGEST_FILE + 1))
    assert_refused(slipmargin("check", path), "lab.csv", "up to 4 MiB")
    assert_refused(slipmargin("fit", tmp_path / "lab.csv"), "lab.csv", "up to 4 MiB")
