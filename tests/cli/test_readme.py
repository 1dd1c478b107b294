"""The README shows what the program prints; run this file as a script to renew it."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
SHOWN = re.compile(
    r"(<!-- output: (?P<command>[^\n]+) -->\n```text\n)(?P<text>.*?)(```)", re.DOTALL
)
PICTURES = {
    "scenarios/fennel-rise/bank-strength-map.png": [
        "strength-map",
        "scenarios/fennel-rise/cut-and-wall.toml",
        "--soil",
        "bank",
    ],
}


def output(command: str) -> str:
    words = shlex.split(command)
    program = Path(sys.executable).with_name(words[0])
    ran = subprocess.run(
        [str(program), *words[1:]], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return ran.stdout


CASES = [match["command"] for match in SHOWN.finditer(README.read_text(encoding="utf-8"))]


@pytest.mark.parametrize("command", CASES)
def test_the_readme_shows_what_the_command_prints(command: str) -> None:
    shown = {m["command"]: m["text"] for m in SHOWN.finditer(README.read_text(encoding="utf-8"))}
    assert shown[command] == output(command)


def test_the_readme_python_runs_as_it_stands() -> None:
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert len(ran.stdout.split()) >= 3


def test_the_readme_names_files_that_exist() -> None:
    text = README.read_text(encoding="utf-8")
    for path in re.findall(r"\]\(([^)]+)\)", text) + re.findall(r"(scenarios/[\w/.-]+)", text):
        assert (ROOT / path.rstrip(".")).exists(), path


@pytest.mark.parametrize("picture", PICTURES)
def test_the_readme_pictures_are_those_the_program_draws(picture: str, tmp_path: Path) -> None:
    import numpy as np
    from matplotlib.image import imread

    target = tmp_path / "drawn.png"
    program = Path(sys.executable).with_name("slipmargin")
    words = [str(program), *PICTURES[picture], "--plot", str(target)]
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
    drawn, kept = imread(target), imread(ROOT / picture)
    assert drawn.shape == kept.shape
    # fonts are rendered a little differently from machine to machine
    assert float(np.mean(np.abs(drawn - kept))) < 0.01


def renew() -> None:
    text = README.read_text(encoding="utf-8")
    text = SHOWN.sub(lambda m: m[1] + output(m["command"]) + m[4], text)
    README.write_text(text, encoding="utf-8")
    program = Path(sys.executable).with_name("slipmargin")
    for picture, words in PICTURES.items():
        subprocess.run([str(program), *words, "--plot", picture, "--force"], cwd=ROOT, check=True)


if __name__ == "__main__":
    renew()
