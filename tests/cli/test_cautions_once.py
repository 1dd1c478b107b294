"""A caution stands in full once: with the check, and by name beside further answers."""

from __future__ import annotations

from pathlib import Path

SITE = """\
title = "Bank"
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "20 deg"
depth = "2 m"
"""
SWEEP = ("--vary", "soils.bank.friction_angle", "--from", "20 deg", "--to", "36 deg")
FULL = "No water is in this check."


def written(folder: Path, text: str = SITE) -> Path:
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_what_check_says_in_full_a_sweep_names(slipmargin, tmp_path: Path) -> None:
    path = written(tmp_path)
    assert FULL in slipmargin("check", path).out
    swept = slipmargin("sweep", path, *SWEEP).out
    assert FULL not in swept
    assert "in full with check: no water assumed" in swept


def test_every_notice_is_printed_in_full_on_request(slipmargin, tmp_path: Path) -> None:
    assert FULL in slipmargin("sweep", written(tmp_path), *SWEEP, "--notes").out


def test_what_says_stop_is_in_full_beside_every_answer(slipmargin, tmp_path: Path) -> None:
    path = written(tmp_path, SITE.replace("20 deg", "45 deg"))
    stop = "STOP Bank: The factor of safety against sliding is 0.81:"
    for words in (("check", path), ("sweep", path, *SWEEP)):
        assert stop in " ".join(slipmargin(*words).out.split())


def test_an_input_is_named_in_words_and_its_path_stands_once(slipmargin, tmp_path: Path) -> None:
    swept = slipmargin("sweep", written(tmp_path), *SWEEP).out
    assert "φ′ of bank [deg]" in swept
    assert swept.count("soils.bank.friction_angle") == 1


def test_a_soil_named_as_its_check_keeps_what_is_said_of_it(slipmargin, tmp_path: Path) -> None:
    rows = ["test,normal_stress [kPa],shear_stress [kPa]", "1,25,21", "2,50,33", "3,100,66"]
    (tmp_path / "lab.csv").write_text("\n".join(rows), encoding="utf-8")
    fitted = SITE.replace("soils.bank", "soils.Bank").replace('soil = "bank"', 'soil = "Bank"')
    stated = 'cohesion = "4 kPa"\nfriction_angle = "31 deg"'
    path = written(tmp_path, fitted.replace(stated, 'readings = "lab.csv"'))
    found = slipmargin("check", path, "--json").json["soils"]["Bank"]["notices"]
    heavy = [notice["text"] for notice in found if notice["severity"] != "info"]
    out = " ".join(slipmargin("check", path).out.split())
    assert heavy
    assert all(text in out for text in heavy)
