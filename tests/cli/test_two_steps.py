"""A scenario is read as it is written first; its soils are fitted after that."""

from __future__ import annotations

from pathlib import Path

import pytest

from slipmargin.cli.scenario.files import FileError
from slipmargin.cli.scenario.inputs import differing, inputs_of
from slipmargin.cli.scenario.read import fit, load, read

SITE = """
title = "Bank"
[soils.bank]
unit_weight = "18.5 kN/m^3"
strength = {readings = "tests.csv", state = "peak"}
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "28 deg"
depth = "1.8 m"
"""


def site(folder: Path, old: str = "", new: str = "") -> Path:
    path = folder / "scenario.toml"
    path.write_text(SITE.replace(old, new) if old else SITE, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('depth = "1.8 m"', 'dept = "1.8 m"', r"checks\[0\] \(Bank\).dept.*did you mean 'depth'"),
        ('"28 deg"', '"28 m"', "slope_angle.*give an angle"),
        ('state = "peak"', 'cohesion = "4 kPa"', "not both"),
    ],
)
def test_what_is_written_wrong_is_said_before_any_table_is_read(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    """There is no table of readings at all."""
    with pytest.raises(FileError, match=says):
        load(site(tmp_path, old, new))


def test_a_scenario_is_described_without_its_readings_being_fitted(tmp_path: Path) -> None:
    (tmp_path / "tests.csv").write_text("no table\n", encoding="utf-8")
    first, second = read(site(tmp_path)), read(site(tmp_path, '"1.8 m"', '"2 m"'))
    assert inputs_of(first)["checks.Bank"]["checks.Bank.depth"].text == "1.8 m"
    assert "sha256" in inputs_of(first)["soils.bank"]["soils.bank.strength.readings"].text
    assert list(differing(first, second)) == ["checks.Bank.depth"]
    with pytest.raises(FileError, match=r"tests\.csv.*header"):
        fit(first)


def test_every_table_that_a_soil_names_is_told_by_what_it_holds(tmp_path: Path) -> None:
    named = 'beside = "triaxial.csv"}\napparatus = {ring_calibration = "ring.csv"}'
    written = []
    for folder in (tmp_path / "before", tmp_path / "after"):
        folder.mkdir()
        for name in ("tests.csv", "triaxial.csv", "ring.csv"):
            (folder / name).write_text(f"{folder.name}\n", encoding="utf-8")
        written.append(read(site(folder, 'state = "peak"}', named)))
    keys = ("strength.readings", "strength.beside", "apparatus.ring_calibration")
    assert set(differing(*written)) == {f"soils.bank.{key}" for key in keys}


def test_readings_that_are_not_there_are_missed_when_they_are_asked_for(tmp_path: Path) -> None:
    written = read(site(tmp_path))
    assert [check.label for check in written.checks] == ["Bank"]
    with pytest.raises(FileError, match=r"soils\.bank\.strength\.readings.*no such file"):
        fit(written)
