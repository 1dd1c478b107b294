"""The walk-through of DEVELOPERS.md, followed to the letter in a copy of the project.

Its code blocks are the only copy. A block stands below the name of its file, or below the
name and the line that it goes under.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("strength", "stability", "cli")
BLOCK = re.compile(
    r"^`(?P<file>[\w./]+)`(?:, below `(?P<below>[^\n]+)`)?:\n\n```\w+\n(?P<text>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True)
class Followed:
    """A copy of the project in which the walk-through was followed."""

    tree: Path
    files: tuple[str, ...]

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        environment = os.environ | {
            "PYTHONPATH": str(self.tree / "installed"),
            "PYTHONDONTWRITEBYTECODE": "1",
        }
        return subprocess.run(
            [sys.executable, *words],
            cwd=self.tree,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )

    def slipmargin(self, *words: str) -> str:
        ran = self.run("-m", "slipmargin", *words)
        assert ran.returncode == 0, ran.stderr
        return ran.stdout

    def json(self, *words: str) -> Any:
        return json.loads(self.slipmargin(*words))


def blocks() -> list[re.Match[str]]:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = page.split("\n## A check in an afternoon\n")[1].split("\n## ")[0]
    found = list(BLOCK.finditer(section))
    assert len(found) == section.count("\n```") // 2, "a block without the name of its file"
    return found


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Followed]:
    tree = tmp_path_factory.mktemp("walk") / "project"
    for room in (*ROOMS, "tests", "scenarios"):
        shutil.copytree(ROOT / room, tree / room, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tree)
    files = []
    for block in blocks():
        path = tree / block["file"]
        if block["below"] is None:
            assert not path.exists(), f"{block['file']} is there already"
            path.parent.mkdir(exist_ok=True)
            path.write_text(block["text"], encoding="utf-8")
        else:
            lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
            (place,) = (n for n, line in enumerate(lines, 1) if line.strip() == block["below"])
            path.write_text("".join([*lines[:place], block["text"], *lines[place:]]), "utf-8")
        files.append(block["file"])
    name = tree / "installed" / "slipmargin"
    name.mkdir(parents=True)
    for part in (*(tree / "cli" / "program").glob("*.py"), *map(tree.joinpath, ROOMS)):
        (name / part.name).symlink_to(part)
    yield Followed(tree, tuple(files))
    shutil.rmtree(tree)


def test_the_new_check_runs_and_shows_its_working(followed: Followed) -> None:
    (check,) = followed.json("check", "site.toml", "--json")["checks"]
    assert check["kind"] == "cover_soil"
    assert check["factors_of_safety"]["sliding"] == pytest.approx(1.25, abs=0.005)
    assert check["values"]["active_weight_kn_per_m"] > 0.0
    assert check["meets_target"] is False
    assert {"no-water-assumed", "below-target"} <= {one["code"] for one in check["notices"]}
    working = followed.slipmargin("check", "site.toml", "--working")
    assert "R = W_A * cos(β) * tan(φ′_i)" in working


def test_each_of_its_fields_and_soils_can_be_swept(followed: Followed) -> None:
    words = ["--vary", "checks.Cover.thickness", "--from", "0.3 m", "--to", "0.6 m", "--steps", "4"]
    (check,) = followed.json("sweep", "site.toml", *words, "--json")["sweeps"][0]["checks"]
    swept = check["factors_of_safety"]["sliding"]
    assert sorted(swept) == swept
    assert swept[0] == pytest.approx(1.25, abs=0.005)
    words = ["--vary", "soils.sheet.friction_angle", "--from", "20 deg", "--to", "30 deg"]
    (check,) = followed.json("sweep", "site.toml", *words, "--json")["sweeps"][0]["checks"]
    assert 20.0 < check["break_even"]["target"] < 30.0


def test_schema_methods_and_sheet_know_it(followed: Followed) -> None:
    assert '"cover_soil"' in followed.slipmargin("schema")
    assert "Koerner & Soong (2005)" in followed.slipmargin("methods", "cover_soil")
    followed.slipmargin("report", "site.toml", "-o", "sheet.md")
    sheet = (followed.tree / "sheet.md").read_text(encoding="utf-8")
    assert "Section of a cover soil 0.30 m thick" in sheet


def test_verify_counts_its_published_values(followed: Followed) -> None:
    counts = followed.json("verify", "cover_soil", "--json")["counts"]
    assert counts["values"] == counts["reproduce"] == counts["published"] == 3
    assert counts["kinds"]["cover_soil"]["fewer_than_five"]


def test_its_tests_and_those_of_every_check_pass_but_the_one_that_asks_for_more(
    followed: Followed,
) -> None:
    tests = [name for name in followed.files if name.startswith("tests/")]
    words = ["-q", "-p", "no:cacheprovider", "-k", "cover_soil or every_kind"]
    others = [
        "tests/published",
        "tests/test_docstring_examples.py",
        "tests/stability/test_every_check.py",
        "tests/stability/test_section_plot.py",
        "tests/cli/test_working_numbers.py",
    ]
    ran = followed.run("-m", "pytest", *words, *tests, *others)
    asks = "test_every_kind_of_check_has_at_least_five_independent_published_values"
    failed = [line.split("::")[1] for line in ran.stdout.splitlines() if line.startswith("FAILED ")]
    assert [name.split()[0] for name in failed] == [asks], ran.stdout
    passed = re.search(r"1 failed, (\d+) passed", ran.stdout)
    assert passed is not None
    assert int(passed[1]) > 30


def test_its_files_are_in_the_style_of_the_house(followed: Followed) -> None:
    files = [name for name in followed.files if name.endswith(".py")]
    for words in (["check"], ["format", "--check"]):
        ran = followed.run("-m", "ruff", *words, "--no-cache", *files)
        assert ran.returncode == 0, ran.stdout
