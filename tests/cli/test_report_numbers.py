"""The sheet says what the commands say: tables read back from its Markdown."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest

from slipmargin.stability.factor_text import factor_text

SITE = """\
title = "Made"
basis = { method = "partial", sets = ["DA1-1", "DA1-2"] }
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
readings = "r.csv"
[soils.fill]
unit_weight = "18 kN/m^3"
[soils.fill.strength]
cohesion = "0 kPa"
friction_angle = "33 deg"
[[checks]]
kind = "planar_wedge"
label = "Face"
soil = "bank"
height = "5 m"
face_angle = "60 deg"
target = 1.3
[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "fill"
foundation = "bank"
embedment = "0.6 m"
target = 1.5
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "gravity"
height = "3 m"
top_width = "0.6 m"
base_width = "1.9 m"
back_offset = "0 m"
[[sweeps]]
vary = "soils.fill.friction_angle"
from = "24 deg"
to = "44 deg"
steps = 9
[reliability]
samples = 4000
seed = 7
"""
READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
a,25,20.3
b,50,35.2
c,100,65.8
d,150,94.9
"""
OWED = frozenset(
    {"overall-left-out", "partial-factors-left-out", "impossible-draws-left-out", "no-doubt-stated"}
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("made")
    (made / "site.toml").write_text(SITE, encoding="utf-8")
    (made / "r.csv").write_text(READINGS, encoding="utf-8")
    return made


@pytest.fixture
def written(slipmargin, folder: Path) -> str:
    sheet = folder / "sheet.md"
    if not sheet.exists():
        ran = slipmargin("report", folder / "site.toml", "-o", sheet, "--sampled")
        assert ran.code == 0, ran.err
    return sheet.read_text(encoding="utf-8")


def table(text: str, caption: str) -> list[dict[str, str]]:
    """Rows of the first table whose caption begins so, by header."""
    after = text[text.index(f"*{caption}") :].split("\n\n")[1]
    head, _, *rows = (
        [html.unescape(cell).replace("\\", "").strip() for cell in line.strip("|").split(" | ")]
        for line in after.splitlines()
    )
    return [dict(zip(head, row, strict=True)) for row in rows]


def checks(slipmargin, folder: Path, command: str) -> dict[str, dict[str, Any]]:
    document = slipmargin(command, folder / "site.toml", "--json").json
    return {check["label"]: check for check in document["checks"]}


def test_the_summary_holds_every_factor_with_what_stands_beside_it(
    slipmargin, folder: Path, written: str
) -> None:
    found = checks(slipmargin, folder, "check")
    assert {"sliding", "rotation"} == set(found["Face"]["factors_of_safety"])
    assert "overall" in found["Wall"]["factors_of_safety"]
    for label, check in found.items():
        (line,) = re.findall(r"Factors of safety: [^\n]*", leaf(written, label))
        for state, factor in check["factors_of_safety"].items():
            assert f"{state} {factor_text(factor)}" in line
    assert re.search(r"overall \d+\.\d\d, 1\.50 asked", leaf(written, "Wall"))


def leaf(text: str, label: str) -> str:
    """What the sheet says of one check."""
    return re.split(r"\n###? ", text[text.index(f" {label} (") :])[0]


def test_degrees_of_utilisation_stand_set_by_set(slipmargin, folder: Path, written: str) -> None:
    found = checks(slipmargin, folder, "check")
    for row in table(written, "Partial factors: degree of utilisation"):
        for design in found[row["Check"]]["design"]:
            used = design["limit_states"][row["Limit state"]]["utilisation"]
            assert row[design["set"]] == f"{used:.2f}" + (" over" if used > 1.0 else "")
            assert row[f"{design['set']}, cautious value"]
    for label, check in found.items():
        for design in check["design"]:
            rows = table(leaf(written, label), f"Partial factors, set {design['set']}")
            assert {row["Limit state"] for row in rows} == set(design["limit_states"])
            for row in rows:
                used = design["limit_states"][row["Limit state"]]["utilisation"]
                assert row["Utilisation"] == f"{used:.2f}" + (" over" if used > 1.0 else "")


def test_the_sampled_doubt_is_that_of_its_command(slipmargin, folder: Path, written: str) -> None:
    found = checks(slipmargin, folder, "reliability")
    rows = table(written, "Factors over 4000 samples")
    assert len(rows) == 5
    for row in rows:
        check, state = found[row["Check"]], row["Limit state"]
        doubt = check["factors"][state]
        assert row["Mean"] == factor_text(doubt["mean"])
        # the bank has four tests: their doubt has a mean and no standard deviation
        assert row["Std"] == "-"
        assert doubt["std"] is None
        for head, name in (("P(F<1)", "below_one"), ("P(F<target)", "below_target")):
            share = doubt[f"probability_{name}"]
            assert row[head] == (f"{share:.2g}" if share else "<8e-4")


def test_interpretations_are_those_of_their_command(slipmargin, folder: Path, written: str) -> None:
    found = checks(slipmargin, folder, "interpretations")
    rows = {row["Reading"]: row for row in table(written, "Readings of bank")}
    for one in found["Face"]["interpretations"]:
        row = rows[one["name"]]
        for state, factor in one["factors_of_safety"].items():
            assert float(row[f"Face: {state}"]) == pytest.approx(factor, abs=0.01)
        for name, states in one["utilisation"].items():
            shown = row[f"Face: {name}"].removesuffix(" over")
            assert float(shown) == pytest.approx(max(states.values()), abs=0.011)


def test_where_a_sweep_uses_up_a_set_is_that_of_its_command(
    slipmargin, folder: Path, written: str
) -> None:
    swept = slipmargin("sweep", folder / "site.toml", "--json").json["sweeps"][0]["checks"]
    rows = {
        (row["Check"], row["Set"]): row for row in table(written, "Partial factors over φ′ of fill")
    }
    assert set(rows) == {(c["label"], name) for c in swept for name in c["utilisation"]}
    crossed = 0
    for check in swept:
        for name, at in check["break_even_utilisation"].items():
            row = rows[check["label"], name]
            first = max(levels[0] for levels in check["utilisation"][name].values())
            assert float(row["At start"].split()[0]) == pytest.approx(first, abs=0.011)
            if at is not None:
                crossed += 1
                assert float(row["It is 1 at"]) == pytest.approx(at, rel=1e-3)
    assert crossed


def test_what_each_input_moves_is_that_of_its_command(
    slipmargin, folder: Path, written: str
) -> None:
    found = checks(slipmargin, folder, "influence")
    for label in ("Face", "Wall"):
        check = found[label]
        caption = re.escape(
            f"*{label}: lowest factor {factor_text(check['lowest_factor'])} as used"
        )
        assert re.search(caption, written)
        rows = table(written, f"{label}: lowest factor")
        assert len(rows) == min(len(check["swings"]), 4)
        for row, swing in zip(rows, check["swings"], strict=False):
            assert (row["From"], row["To"]) == (swing["low"], swing["high"])


def test_the_sheet_passes_on_what_its_questions_owe(slipmargin, folder: Path, written: str) -> None:
    after = written[written.index("What these tables leave out") :].split("\n## ", maxsplit=1)[0]
    said = " ".join(after.replace("\\", "").split())
    for command in ("influence", "reliability"):
        for check in checks(slipmargin, folder, command).values():
            for notice in check["notices"]:
                if notice["code"] in OWED:
                    assert notice["text"].replace("`", "") in said.replace("`", "")
    assert "against overall instability is not among these factors" in said
    assert "no set of partial factors is applied" in said
