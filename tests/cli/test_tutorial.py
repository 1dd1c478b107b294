"""The tutorial: its notebooks run, their answers are those of plain arithmetic.

They are run without a kernel, by the same code that puts them into the handbook.
"""

from __future__ import annotations

import ast
import csv
import json
import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from numpy.testing import assert_allclose
from scipy import integrate, optimize, stats

from slipmargin import cli, stability, strength
from slipmargin.cli.handbook.notebook import Shown, run_cells
from slipmargin.cli.handbook.tutorial import section_of
from slipmargin.cli.page.blocks import Lines, Picture, Section, Words
from slipmargin.cli.questions.start import NOTEBOOKS, write_tutorial

ROOT = Path(__file__).resolve().parents[2]
SITES = ROOT / "scenarios"
COS, SIN = 2.0 / math.sqrt(5.0), 1.0 / math.sqrt(5.0)  # of a slope of 1 in 2


@dataclass(frozen=True)
class Run:
    """A notebook that was run: its cells, and the names it leaves."""

    cells: list[Shown]
    names: dict[str, Any]

    @property
    def code(self) -> list[Shown]:
        return [one for one in self.cells if one.cell.kind == "code"]

    @property
    def words(self) -> str:
        return "\n\n".join(one.cell.source for one in self.cells if one.cell.kind == "markdown")


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Run]:
    folder = tmp_path_factory.mktemp("tutorial")
    write_tutorial(folder, force=True)
    found = {}
    for name in NOTEBOOKS:
        *cells, last = run_cells(folder / f"{name}.ipynb")
        found[name] = Run(cells, last.value)
    return found


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_is_one_that_others_open_and_holds_no_output(name: str) -> None:
    document = json.loads((SITES / f"{name}.ipynb").read_text(encoding="utf-8"))
    assert (document["nbformat"], document["nbformat_minor"]) == (4, 5)
    ids = [cell["id"] for cell in document["cells"]]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[\w-]{1,64}", one) for one in ids)
    for cell in document["cells"]:
        keys = {"cell_type", "id", "metadata", "source"}
        if cell["cell_type"] == "code":
            keys |= {"execution_count", "outputs"}
            assert (cell["execution_count"], cell["outputs"]) == (None, [])
        assert set(cell) == keys


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_goes_through_the_public_doors(runs: dict[str, Run], name: str) -> None:
    public = {room.__name__: set(room.__all__) for room in (strength, stability, cli)}
    for one in runs[name].code:
        if one.cell.source.startswith("!"):
            continue
        for node in ast.walk(ast.parse(one.cell.source)):
            if isinstance(node, ast.ImportFrom) and node.module not in (
                "dataclasses",
                "scipy.stats",
            ):
                assert {alias.name for alias in node.names} <= public[str(node.module)]
            elif isinstance(node, ast.Import):
                assert [alias.name for alias in node.names] == ["numpy"]


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_asks_for_predictions_shows_pictures_and_says_what_it_is(
    runs: dict[str, Run], name: str
) -> None:
    run = runs[name]
    assert run.words.count("**Stop and predict.**") >= 3
    assert "a licensed engineer" in run.words
    assert any(one.cell.source.startswith("!slipmargin") for one in run.code)
    pictures = [one for one in run.code if isinstance(one.value, Figure)]
    assert len(pictures) >= 3
    # its first line tells the picture to those who cannot see it
    assert all(one.cell.source.startswith("# ") for one in pictures)


def test_there_are_ten_exercises_each_with_its_answer_below_the_heading(
    runs: dict[str, Run],
) -> None:
    asked: list[str] = []
    answered: list[int] = []
    for run in runs.values():
        before, after = run.words.split("## Answers")
        here = re.findall(r"\*\*Exercise (\d+)\.\*\*", before)
        assert here == re.findall(r"\*\*Answer (\d+)\.\*\*", after)
        asked += here
        answered += run.names["answers"]
    assert asked == [str(number) for number in range(1, 11)]
    assert sorted(answered) == list(range(1, 11))


def test_every_answer_worked_by_hand_is_that_of_the_program(runs: dict[str, Run]) -> None:
    for run in runs.values():
        for number, (by_hand, by_program) in run.names["answers"].items():
            # the last is a share of 20 000 draws: three standard errors, and what c′ < 0 moves
            loose = {"rtol": 0.0, "atol": 0.01} if number == 10 else {"rtol": 1e-6}
            assert_allclose(by_hand, by_program, err_msg=str(number), **loose)


def rows(path: str) -> list[dict[str, str]]:
    text = (SITES / path).read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def class_points() -> tuple[np.ndarray, np.ndarray]:
    """Normal and shear stress of the class's tests [kPa]."""
    masses, dials = np.array([1.0, 2.0, 4.0, 6.0]), np.array([54.0, 88.0, 160.0, 229.0])
    return (masses * 98.0665 + 1.2) / 3.6, (dials - 12.0) * 1.85 / 3.6


def bank_points() -> tuple[np.ndarray, np.ndarray, float]:
    """Normal and shear stress of the tests on the bank [kPa], and what the bands allow."""
    peak = [one for one in rows("fennel-rise/bank-shear-box.csv") if one["state"] == "peak"]
    ends = [[float(one[f"shear_force_{end} [N]"]) for end in ("low", "high")] for one in peak]
    read: dict[float, list[float]] = {}
    for one, (low, high) in zip(peak, ends, strict=True):
        read.setdefault(float(one["normal_force [N]"]), []).append((low + high) / 2.0)
    half = np.array([high - low for low, high in ends]) / 2.0 / 3.6
    normal = (np.array(list(read)) + 1.8) / 3.6
    shear = np.array([np.mean(v) for v in read.values()]) / 3.6
    return normal, shear, math.sqrt(np.mean(half**2 / 3.0))


def answer(runs: dict[str, Run], number: int) -> Any:
    (found,) = (run.names["answers"] for run in runs.values() if number in run.names["answers"])
    return found[number][1]


def test_the_students_answers_are_those_of_plain_arithmetic(runs: dict[str, Run]) -> None:
    normal, shear = class_points()
    tan_phi, cohesion = np.polyfit(normal, shear, 1)
    through_origin = np.linalg.lstsq(normal[:, None], shear, rcond=None)[0][0]
    assert_allclose(answer(runs, 1), [normal[3], shear[3]], rtol=1e-9)
    assert_allclose(answer(runs, 2), through_origin / 0.5, rtol=1e-9)

    def factor(c: float, tan: float, water: float = 0.0) -> float:
        weight = 17.5 * (1.5 - water) + 19.5 * water
        return (c + (weight - 9.81 * water) * COS**2 * tan) / (weight * SIN * COS)

    used = factor(cohesion, tan_phi)
    by_eye = factor(5.0, math.tan(math.radians(33.0)))
    moved = [factor(0.0, through_origin) - used, by_eye - used]
    assert_allclose(answer(runs, 3), moved, rtol=1e-9)
    # the zero line costs because the plane lies left of where the two lines cross
    assert moved[0] < 0.0 < moved[1]
    crossing = cohesion / (through_origin - tan_phi)
    assert_allclose(runs["student"].names["crossing"], crossing, rtol=1e-9)
    assert crossing > 26.25 * COS**2
    # the limit of the mean line, its error that of the one repeated pair, and the chord above it
    centre, spread = normal.mean(), np.sum((normal - normal.mean()) ** 2)
    error = 2.0 * 1.85 / 3.6 * math.sqrt(2.0) * math.sqrt((3.0 + 0.5) / 4.0)

    def limit(stress: float) -> float:
        doubt = error * math.sqrt(0.25 + (stress - centre) ** 2 / spread)
        return cohesion + tan_phi * stress - stats.t.ppf(0.95, 2) * doubt

    low, high = normal[0], normal[3]
    chord = limit(low) + (21.0 - low) * (limit(high) - limit(low)) / (high - low)
    names = runs["student"].names
    assert_allclose([names["limit"], names["cautious_strength"]], [limit(21.0), chord], rtol=1e-9)
    assert limit(21.0) < chord
    spreads = [one for one in names["sand_tests"].working() if one.symbol in ("s", "s_r")]
    one_reading = 2.0 * 1.85 / 3.6 * math.sqrt(2.0)
    assert_allclose([one.value for one in spreads][1:], [one_reading, error], rtol=1e-9)
    assert spreads[1].substituted == "sqrt(((-1.02778)^2 + 1.02778^2) / 1)"
    height = optimize.brentq(lambda h: factor(cohesion, tan_phi, h) - 1.3, 0.0, 1.5)
    assert_allclose(answer(runs, 4), height, rtol=1e-6)


def test_the_juniors_answers_are_those_of_plain_arithmetic(runs: dict[str, Run]) -> None:
    normal, shear, _ = bank_points()
    tan_phi, cohesion = np.polyfit(normal, shear, 1)
    weight = 18.3 * 0.4 + 19.9 * 1.2
    held = cohesion + (weight - 9.81 * 1.2) * COS**2 * tan_phi
    assert_allclose(answer(runs, 5), held / (weight * SIN * COS), rtol=1e-9)

    # Culmann (1866, from memory): the most critical of all planes stands just at F = 1
    height, beta = runs["junior"].names["height"], math.radians(50.0)
    planes = np.radians(np.linspace(5.0, 49.9, 20_000))
    block = 9.15 * height**2 * (1.0 / np.tan(planes) - 1.0 / math.tan(beta))
    along = cohesion * height / np.sin(planes) + block * np.cos(planes) * tan_phi
    assert_allclose((along / (block * np.sin(planes))).min(), 1.0, rtol=1e-6)
    assert answer(runs, 6) == pytest.approx(1.0, rel=1e-9)
    assert float(runs["junior"].names["high"]["rotation"]) < 0.9

    # the wall, by integrating the pressure and by weighing its parts
    sand = [
        [float(one[f"{which}_force [N]"]) for which in ("normal", "shear")]
        for one in rows("fennel-rise/drainage-sand-shear-box.csv")
    ]
    x, y = np.transpose(sand)
    phi = math.atan(np.sum(x * y) / np.sum(x**2))
    active = (1.0 - math.sin(phi)) / (1.0 + math.sin(phi))
    thrust = integrate.quad(lambda z: active * (5.0 + 17.6 * z), 0.0, 2.9)[0]
    heel = 1.2 + runs["junior"].names["more_heel"]
    concrete = 24.0 * ((0.25 + 0.30) / 2.0 * 2.5 + (0.4 + 0.3 + heel) * 0.4)
    base = math.tan(2.0 / 3.0 * math.atan(tan_phi))
    assert_allclose(
        answer(runs, 7), [thrust, (concrete + 17.6 * 2.5 * heel) * base / thrust], rtol=1e-6
    )
    assert_allclose(answer(runs, 7)[1], 1.5, rtol=1e-9)


def test_the_reviewers_answers_are_those_of_plain_arithmetic(runs: dict[str, Run]) -> None:
    normal, shear, allowed = bank_points()
    design = np.column_stack([np.ones_like(normal), normal])
    (cohesion, tan_phi), residual, *_ = np.linalg.lstsq(design, shear, rcond=None)
    weight = 18.3 * 1.6
    sigma, tau = weight * COS**2, weight * SIN * COS
    needed = math.atan((1.5 * tau - cohesion) / sigma)
    assert_allclose(answer(runs, 8), math.degrees(needed), rtol=1e-6)

    # the points scatter less than the gauge bounced, so the bands decide
    error = max(allowed, math.sqrt(residual[0] / 3.0))
    covariance = error**2 * np.linalg.inv(design.T @ design)
    away = (tan_phi - math.tan(needed)) / math.sqrt(covariance[1, 1])
    assert_allclose(runs["reviewer"].names["away"], away, rtol=1e-9)
    place = np.array([1.0, sigma])
    doubt = math.sqrt(place @ covariance @ place)
    assert_allclose(answer(runs, 9), doubt, rtol=1e-9)
    alone = sigma * math.sqrt(covariance[1, 1])
    assert alone < doubt < math.hypot(alone, math.sqrt(covariance[0, 0]))
    chance = stats.t.sf((cohesion + sigma * tan_phi - 1.5 * tau) / doubt, 3)
    assert_allclose(answer(runs, 10), chance, atol=0.01)


def test_the_handbook_holds_text_code_output_and_pictures(runs: dict[str, Run]) -> None:
    run = runs["student"]
    section = section_of("student", run.cells)
    assert section.title == "Tutorial: from the gauge to the slope, and back"
    titles = [leaf.title for leaf in section.leaves]
    assert titles[0] == "What was read"
    assert titles[-2:] == ["Exercises", "Answers"]
    blocks = [block for leaf in section.leaves for block in leaf.blocks]
    kept = [block for block in blocks if isinstance(block, Lines)]
    typed, said = ({x for one in kept if one.said is it for x in one.lines} for it in (False, True))
    assert set(run.code[0].printed.splitlines()) <= said
    assert "slipmargin check linnet-pit/class-exercise.toml" in typed
    words = " ".join(block.text for block in blocks if isinstance(block, Words))
    assert not re.search(r"\*\*|`", words)
    drawn = [block.draw() for block in blocks if isinstance(block, Picture)]
    assert drawn == [one.value for one in run.code if isinstance(one.value, Figure)]


def notebook(folder: Path, *cells: tuple[str, str]) -> Path:
    path = folder / "small.ipynb"
    held = [{"cell_type": kind, "source": source.splitlines(True)} for kind, source in cells]
    path.write_text(json.dumps({"cells": held}), encoding="utf-8")
    return path


def test_cells_share_their_names_and_run_in_their_folder(tmp_path: Path) -> None:
    (tmp_path / "beside.txt").write_text("read", encoding="utf-8")
    path = notebook(
        tmp_path,
        ("markdown", "# Title\n\nWords *that* are `dressed`, 2 * 3 * 4."),
        ("code", "from pathlib import Path\nx = 2\nprint(x)"),
        ("code", "Path('beside.txt').read_text() * x"),
        ("code", "!slipmargin --version"),
    )
    before = Path.cwd()
    *cells, last = run_cells(path)
    assert Path.cwd() == before
    assert [one.printed for one in cells[1:3]] == ["2\n", ""]
    assert cells[2].value == "readread"
    assert cells[3].printed.startswith("slipmargin ")
    assert last.value["x"] == 2
    section = section_of("small", cells)
    assert isinstance(section, Section)
    assert section.blocks[0] == Words("Words that are dressed, 2 * 3 * 4.")


def test_a_cell_that_fails_stops_the_run_and_names_itself(tmp_path: Path) -> None:
    path = notebook(tmp_path, ("code", "1 / 0"), ("code", "print('never')"))
    with pytest.raises(ZeroDivisionError) as caught:
        list(run_cells(path))
    assert caught.traceback[-1].frame.code.raw.co_filename == "small.ipynb, cell 1"


def test_the_tutorial_is_written_whole_and_never_over_other_files(
    slipmargin: Any, tmp_path: Path
) -> None:
    folder = tmp_path / "learn"
    ran = slipmargin("start", folder, "--tutorial")
    assert ran.code == 0
    written = [Path(line) for line in ran.out.splitlines() if line.startswith(str(folder))]
    assert {one.suffix for one in written} == {".ipynb", ".toml", ".csv"}
    for one in written:
        assert one.read_bytes() == (SITES / one.relative_to(folder)).read_bytes()
    again = slipmargin("start", folder, "--tutorial")
    assert (again.code, "--force" in again.err) == (2, True)
    both = slipmargin("start", tmp_path / "new", "--tutorial", "--kind", "rotational")
    assert (both.code, (tmp_path / "new").exists()) == (2, False)


def test_a_scenario_is_read_from_python(tmp_path: Path) -> None:
    site = cli.load(str(SITES / "fennel-rise" / "cut-and-wall.toml"))
    assert site.check("Foot wall") is site.checks[-1].check
    with pytest.raises(strength.InputError, match="Foot wall"):
        site.check("Foot wal")
    with pytest.raises(strength.InputError, match="path"):
        cli.load(7)  # type: ignore[arg-type]
    with pytest.raises(AttributeError):
        cli.nothing  # noqa: B018
