"""The working as it is printed: lines copied from the terminal and worked again by hand."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

SITE = Path(__file__).resolve().parents[2] / "scenarios" / "fennel-rise"

_SPEC = importlib.util.spec_from_file_location(
    "working_numbers", Path(__file__).with_name("test_working_numbers.py")
)
assert _SPEC is not None
assert _SPEC.loader is not None
_NUMBERS = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_NUMBERS)
worked = _NUMBERS.worked

STEP = re.compile(r"^  \d+\. ")
LINE = re.compile(r"^    (\S+) = (.*)$")
NUMBER = re.compile(r"^(-?\d+(?:\.\d+)?)(?: (\S+))?$")


def parts(text: str) -> dict[str, list[list[str]]]:
    """By head, the lines of each step."""
    found: dict[str, list[list[str]]] = {}
    for line in text.splitlines():
        if line.startswith("Working: "):
            steps = found.setdefault(line.removeprefix("Working: "), [])
        elif found and STEP.match(line):
            steps.append([])
        elif found and steps and (match := LINE.match(line)):
            steps[-1].append(match[2])
    return found


def follow(steps: list[list[str]]) -> int:
    """Work every line with numbers; returns how many there were."""
    count = 0
    for lines in steps:
        if len(lines) != 3 or lines[2] == "no limit":
            continue
        match = NUMBER.match(lines[2])
        assert match, lines
        shown = match[1]
        decimals = len(shown.partition(".")[2])
        # a whole number of less than four digits is printed as whole because it is
        slack = 0.55 * 10.0**-decimals if decimals or abs(float(shown)) >= 1000 else 0.001
        assert worked(lines[1]) == pytest.approx(float(shown), abs=slack), lines
        count += 1
    return count


def test_every_line_printed_by_check_gives_the_number_printed_below_it(slipmargin) -> None:
    ran = slipmargin("check", SITE / "cut-and-wall.toml", "--working")
    found = parts(ran.out)
    assert [head for head in found if "strength line" in head] == [
        "bank, strength line",
        "drainage_sand, strength line",
    ]
    assert "Cut face, sliding plane, rotation" in found
    for head, steps in found.items():
        # the mechanism below a wall is found by a search alone
        assert follow(steps) >= (0 if "overall" in head else 3), head


def test_the_last_factor_of_the_working_is_the_factor_of_the_table(slipmargin) -> None:
    ran = slipmargin("check", SITE / "cut-and-wall.toml", "--working")
    document = slipmargin("check", SITE / "cut-and-wall.toml", "--json").json
    found = parts(ran.out)
    for check in document["checks"]:
        steps = found[check["label"]]
        by_hand = {f"{worked(lines[1]):.2f}" for lines in steps if len(lines) == 3}
        searched = {lines[0] for lines in steps if len(lines) == 1}
        for state, factor in check["factors_of_safety"].items():
            if state not in ("rotation", "overall"):  # whose working stands under a name of its own
                assert f"{factor:.2f}" in by_hand or f"{factor:.3f}" in searched


def test_the_working_of_a_fit_ends_in_what_the_fit_prints(slipmargin) -> None:
    readings = SITE / "bank-shear-box.csv"
    words = ["fit", readings, "--specimen", "square 60 mm"]
    (steps,) = parts(slipmargin(*words, "--working").out).values()
    assert follow(steps) >= 8
    best = slipmargin(*words, "--json").json["fit"]["best_fit"]
    last = [lines[-1] for lines in steps]
    assert f"{best['cohesion_kpa']:.2f} kPa" in last
    assert f"{best['friction_angle_deg']:.2f} deg" in last
