"""A slip of unit or column does not pass in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

SITE = """\
title = "Slips"
[soils.bank]
unit_weight = "18.5 kN/m^3"
saturated_unit_weight = "20 kN/m^3"
[soils.bank.strength]
readings = "lab.csv"
[soils.bank.specimen]
shape = "square"
width = "60 mm"
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "28 deg"
depth = "1.8 m"
water_table_depth = "1 m"
"""
WALL = """
[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "bank"
foundation = "bank"
embedment = "0.6 m"
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "gravity"
height = "3 m"
top_width = "0.6 m"
base_width = "1.9 m"
back_offset = "0 m"
"""
READINGS = """\
test,normal_force [N],shear_force [N]
1,90,70
2,180,124
3,360,236
4,540,338
"""


def said(slipmargin, folder: Path, site: str, readings: str = READINGS) -> dict[str, str]:
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "lab.csv").write_text(readings, encoding="utf-8")
    ran = slipmargin("check", folder / "site.toml", "--json")
    assert ran.code == 0, ran.err
    document = ran.json
    every = [*document.get("notices", [])]
    every += [n for soil in document["soils"].values() for n in soil["notices"]]
    every += [n for check in document["checks"] for n in check["notices"]]
    return {notice["code"]: notice["text"] for notice in every}


def test_a_usual_site_has_no_rare_value(slipmargin, tmp_path: Path) -> None:
    codes = said(slipmargin, tmp_path, SITE + WALL)
    assert not {"rare-value", "saturated-lighter-than-moist"} & set(codes)


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ('"18.5 kN/m^3"', '"1.85 kN/m^3"', "unit weight 1.85"),
        ('"60 mm"', '"6 mm"', "width of the specimen 6 mm"),
        ('"1.8 m"\nwater_table_depth = "1 m"', '"1.8 mm"', "depth 0.0018 m"),
        ('"24 kN/m^3"', '"2400 kN/m^3"', "unit weight 2400"),
    ],
)
def test_a_slip_of_unit_is_asked_about(
    slipmargin, tmp_path: Path, old: str, new: str, word: str
) -> None:
    codes = said(slipmargin, tmp_path, (SITE + WALL).replace(old, new))
    assert "rare-value" in codes
    ran = slipmargin("check", tmp_path / "site.toml", "--notes")
    assert word in " ".join(ran.out.split())


def test_swapped_columns_are_asked_about(slipmargin, tmp_path: Path) -> None:
    rows = [line.split(",") for line in READINGS.splitlines()[1:]]
    swapped = "\n".join(f"{name},{shear},{normal}" for name, normal, shear in rows)
    head = READINGS.splitlines()[0]
    codes = said(slipmargin, tmp_path, SITE, f"{head}\n{swapped}\n")
    assert "swapped columns" in codes["rare-value"]


def test_water_makes_no_soil_lighter(slipmargin, tmp_path: Path) -> None:
    codes = said(slipmargin, tmp_path, SITE.replace('"20 kN/m^3"', '"17 kN/m^3"'))
    assert "17 kN/m³, is less" in codes["saturated-lighter-than-moist"]


def test_a_load_that_holds_a_slope_down_is_not_counted_in_silence(
    slipmargin, tmp_path: Path
) -> None:
    bare = """\
title = "Loaded"
[soils.bank]
unit_weight = "18.8 kN/m^3"
saturated_unit_weight = "20 kN/m^3"
[soils.bank.strength]
cohesion = "0 kPa"
friction_angle = "32 deg"
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "20 deg"
depth = "2 m"
water_table_depth = "0 m"
target = 1.3
"""
    without = said(slipmargin, tmp_path, bare)
    assert "below-one" in without
    path = tmp_path / "site.toml"
    found = said(slipmargin, tmp_path, bare + 'surcharge = "50 kPa"\n')
    assert "without it the factor is 0.87" in found["surcharge-helps"]
    assert slipmargin("check", path, "--strict").code == 1
    dry = bare.replace('water_table_depth = "0 m"\n', 'surcharge = "50 kPa"\n')
    assert "surcharge-helps" not in said(slipmargin, tmp_path, dry)


@pytest.mark.parametrize(
    ("readings", "specimen", "word"),
    [
        (READINGS.replace("[N]", "[kN]"), "square 60 mm", "cohesion"),
        (READINGS, "square 6 mm", "width of the specimen 6 mm"),
    ],
)
def test_a_fit_by_itself_asks_about_a_slip_too(
    slipmargin, tmp_path: Path, readings: str, specimen: str, word: str
) -> None:
    path = tmp_path / "lab.csv"
    path.write_text(readings, encoding="utf-8")
    document = slipmargin("fit", path, "--specimen", specimen, "--json").json
    rare = [n["text"] for n in document["notices"] if n["code"] == "rare-value"]
    assert any(word in text for text in rare)
    path.write_text(READINGS, encoding="utf-8")
    usual = slipmargin("fit", path, "--specimen", "square 60 mm", "--json").json
    assert "rare-value" not in {n["code"] for n in usual["notices"]}
