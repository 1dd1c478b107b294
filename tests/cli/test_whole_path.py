"""Laws of the whole path, from the text of a scenario to what is printed."""

from __future__ import annotations

import json
import math
import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.questions.start import write_starter

SOILS = {
    "bank": """\
[soils.bank]
unit_weight = "18.4 kN/m^3"
saturated_unit_weight = "20.1 kN/m^3"
[soils.bank.strength]
readings = "bank.csv"
[soils.bank.specimen]
shape = "square"
width = "60 mm"
added_normal_force = "1.6 N"
""",
    "fill": """\
[soils.fill]
unit_weight = "17.8 kN/m^3"
saturated_unit_weight = "20 kN/m^3"
[soils.fill.strength]
cohesion = "0 kPa"
friction_angle = "34 deg"
""",
    "joint": """\
[soils.joint]
unit_weight = "21 kN/m^3"
[soils.joint.strength]
readings = "joint.csv"
value = "cautious"
""",
}
CHECKS = {
    "Slope": """\
[[checks]]
kind = "infinite_slope"
label = "Slope"
soil = "bank"
slope_angle = "24 deg"
depth = "1.8 m"
water_table_depth = "0.7 m"
surcharge = "3 kPa"
target = 1.3
""",
    "Wedge": """\
[[checks]]
kind = "planar_wedge"
label = "Wedge"
soil = "joint"
height = "7 m"
face_angle = "62 deg"
plane_angle = "38 deg"
tension_crack_distance = "1.4 m"
tension_crack_water_depth = "0.5 m"
support_force = "35 kN/m"
support_angle = "12 deg"
target = 1.3
""",
    "Thrust": """\
[[checks]]
kind = "earth_pressure"
label = "Thrust"
soil = "fill"
height = "4.2 m"
theory = "coulomb"
wall_friction_angle = "20 deg"
surcharge = "8 kPa"
water_table_depth = "2.5 m"
""",
}
WALL = """\
[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "fill"
foundation = "bank"
surcharge = "5 kPa"
embedment = "0.7 m"
target = 1.5
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "gravity"
height = "2.6 m"
top_width = "0.6 m"
base_width = "1.7 m"
back_offset = "0.2 m"
"""
BANK = ["test,normal_force [N],shear_force_low [N],shear_force_high [N]",
        "1,90,66,74", "2,180,118,132", "2,180,121,130", "3,270,170,182",
        "4,360,224,240"]  # fmt: skip
JOINT = ["test,normal_stress [kPa],shear_stress [kPa]",
         "a,40,41.5", "b,80,69.1", "c,120,101.8", "d,160,129.5"]  # fmt: skip
READINGS = {"bank.csv": BANK, "joint.csv": JOINT}


def text_of(soils: Sequence[str] = (*SOILS,), checks: Sequence[str] = (*CHECKS,)) -> str:
    parts = ['title = "Alder Bend"\n', *(SOILS[n] for n in soils), *(CHECKS[n] for n in checks)]
    return "\n".join(parts)


def write(folder: Path, text: str, readings: Mapping[str, Sequence[str]] = READINGS) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in readings.items():
        (folder / name).write_text("\n".join(rows) + "\n", encoding="utf-8")
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def by_label(document: Any) -> dict[str, Any]:
    return {check["label"]: check for check in document["checks"]}


def assert_same(one: Any, other: Any, rel: float, where: str = "") -> None:
    """The same shape, words and truth values; numbers as close as asked."""
    if isinstance(one, dict):
        assert set(one) == set(other), where
        for key in one:
            assert_same(one[key], other[key], rel, f"{where}.{key}")
    elif isinstance(one, list):
        assert len(one) == len(other), where
        for index, (a, b) in enumerate(zip(one, other, strict=True)):
            assert_same(a, b, rel, f"{where}[{index}]")
    elif isinstance(one, float) or isinstance(other, float):
        assert other == pytest.approx(one, rel=rel, abs=1e-9), where
    else:
        assert one == other, where


# batch and check

KEYS_OF_BATCH = {"path", "ok", "exit_code", "fails", "version", "sha256", "result"}


def test_a_batch_of_what_ships_and_of_made_ones_prints_what_check_prints(
    slipmargin, tmp_path: Path, scenarios: Path
) -> None:
    folder = tmp_path / "sites"
    shutil.copytree(scenarios, folder)
    write_starter(folder / "started", force=False)
    write(folder / "made", text_of())
    turned = write(folder / "turned", text_of([*SOILS][::-1], [*CHECKS][::-1]))
    turned.rename(turned.with_name("other name, with spaces.toml"))
    lines = [json.loads(line) for line in slipmargin("batch", folder, "--json").out.splitlines()]
    assert [line["path"] for line in lines] == sorted(map(str, folder.rglob("*.toml")))
    assert len(lines) >= 6
    for line in lines:
        assert set(line) == KEYS_OF_BATCH
        alone = slipmargin("check", line["path"], "--json")
        assert (line["ok"], line["exit_code"]) == (True, alone.code)
        assert line["result"] == alone.json


# units

POUND, FOOT = 4.4482216152605, 0.3048  # [N] and [m], by definition
CUSTOMARY = {
    "kN/m^3": ("pcf", 1000.0 * FOOT**3 / POUND),
    "kN/m": ("lbf/ft", 1000.0 * FOOT / POUND),
    "kPa": ("psf", 1000.0 * FOOT**2 / POUND),
    "mm": ("in", 1.0 / 25.4),
    "m": ("ft", 1.0 / FOOT),
    "N": ("lbf", 1.0 / POUND),
    "deg": ("rad", math.pi / 180.0),
}
QUANTITY = re.compile(r'"(-?[\d.]+) (kN/m\^3|kN/m|kPa|mm|m|N|deg)"')


def customary_text(text: str) -> str:
    """Every quantity of a scenario in US customary units, and angles in radians."""

    def swap(found: re.Match[str]) -> str:
        unit, factor = CUSTOMARY[found[2]]
        return f'"{float(found[1]) * factor!r} {unit}"'

    return QUANTITY.sub(swap, text)


def customary_rows(rows: Sequence[str]) -> list[str]:
    """The same for a readings file; comments are left out."""
    header, *body = [row for row in rows if not row.startswith("#")]
    columns = header.split(",")
    units = [re.search(r"\[(.+)\]", column) for column in columns]
    swapped = [
        ",".join(re.sub(r"\[(.+)\]", lambda u: f"[{CUSTOMARY[u[1]][0]}]", c) for c in columns)
    ]
    for row in body:
        cells = [
            cell if unit is None or not cell else repr(float(cell) * CUSTOMARY[unit[1]][1])
            for cell, unit in zip(row.split(","), units, strict=True)
        ]
        swapped.append(",".join(cells))
    return swapped


def test_customary_units_change_no_number_that_is_printed(slipmargin, tmp_path: Path) -> None:
    text = text_of() + WALL
    swapped = customary_text(text)
    assert not re.search(r"kPa|kN|mm|\bm\"|deg\"", swapped)
    plain = slipmargin("check", write(tmp_path / "si", text), "--json").json
    rows = {name: customary_rows(lines) for name, lines in READINGS.items()}
    other = slipmargin("check", write(tmp_path / "us", swapped, rows), "--json").json
    assert_same(plain, other, 1e-6)


def test_customary_units_change_no_factor_of_a_site_that_ships(
    slipmargin, tmp_path: Path, scenarios: Path
) -> None:
    site = scenarios / "fennel-rise"
    text = (site / "cut-and-wall.toml").read_text(encoding="utf-8")
    rows = {
        path.name: customary_rows(path.read_text(encoding="utf-8").splitlines())
        for path in site.glob("*-shear-box.csv")
    }
    plain = by_label(slipmargin("check", site / "cut-and-wall.toml", "--json").json)
    other = slipmargin("check", write(tmp_path, customary_text(text), rows), "--json").json
    for label, check in by_label(other).items():
        assert_same(plain[label]["factors_of_safety"], check["factors_of_safety"], 1e-6, label)
        codes = [[n["code"] for n in one["notices"]] for one in (check, plain[label])]
        assert codes[0] == codes[1]


# order

ORDERS = [(2, 1, 0), (1, 2, 0)]


@pytest.mark.parametrize("order", ORDERS)
def test_the_order_of_tests_soils_and_checks_changes_no_number(
    slipmargin, tmp_path: Path, order: tuple[int, ...]
) -> None:
    soils, checks = ([[*names][i] for i in order] for names in (SOILS, CHECKS))
    turned = {name: [rows[0], *rows[:0:-1]] for name, rows in READINGS.items()}
    if order == ORDERS[1]:  # the repeats of one test need not stand together
        turned["bank.csv"] = [BANK[i] for i in (0, 3, 5, 2, 1, 4)]
    plain = slipmargin("check", write(tmp_path / "one", text_of()), "--json").json
    path = write(tmp_path / "other", text_of(soils, checks), turned)
    other = slipmargin("check", path, "--json").json
    assert [check["label"] for check in other["checks"]] == checks
    assert_same(by_label(plain), by_label(other), 1e-9)
    assert_same(plain["soils"], other["soils"], 1e-9)


# sweeps

SWEPT = [
    ("soils.fill.friction_angle", "34 deg", ["30 deg", "33.5 deg", "37 deg"]),
    ("soils.bank.saturated_unit_weight", "20.1 kN/m^3", ["19 kN/m^3", "20 kN/m^3", "21 kN/m^3"]),
    ("checks.Slope.slope_angle", "24 deg", ["18 deg", "23 deg", "28 deg"]),
    ("checks.Slope.water_table_depth", "0.7 m", ["0 m", "1.25 m", "2.5 m"]),
    ("checks.Wedge.plane_angle", "38 deg", ["30 deg", "37 deg", "44 deg"]),
    ("checks.Wedge.support_force", "35 kN/m", ["0 kN/m", "50 kN/m", "100 kN/m"]),
    ("checks.Wall.wall.base_width", "1.7 m", ["1.4 m", "1.7 m", "2 m"]),
]


def single_runs(slipmargin: Any, folder: Path, text: str, given: str, to: str) -> Any:
    """The factors of a run in which the one place that holds a value holds another."""
    assert text.count(f'"{given}"') == 1
    path = write(folder, text.replace(f'"{given}"', f'"{to}"'))
    return by_label(slipmargin("check", path, "--json").json)


@pytest.mark.parametrize(("field", "given", "values"), SWEPT)
def test_each_swept_value_is_that_of_a_single_run(
    slipmargin, tmp_path: Path, field: str, given: str, values: list[str]
) -> None:
    text = text_of() + (WALL if "Wall" in field or "fill" in field else "")
    path = write(tmp_path / "swept", text)
    words = ["--vary", field, "--from", values[0], "--to", values[-1], "--steps", "3"]
    (sweep,) = slipmargin("sweep", path, *words, "--json").json["sweeps"]
    assert [str(value) for value in sweep["values"]] == [
        str(float(value.split()[0])) for value in values
    ]
    for place, value in enumerate(values):
        alone = single_runs(slipmargin, tmp_path / "alone", text, given, value)
        for check in sweep["checks"]:
            for state, factors in check["factors_of_safety"].items():
                expected = alone[check["label"]]["factors_of_safety"][state]
                assert factors[place] == pytest.approx(expected, rel=1e-6)


def test_each_pair_of_two_swept_values_is_that_of_a_single_run(slipmargin, tmp_path: Path) -> None:
    text = text_of(checks=["Slope"])
    words = [
        "--vary", "checks.Slope.depth", "--from", "1 m", "--to", "2 m", "--steps", "2",
        "--second", "checks.Slope.slope_angle", "--second-from", "20 deg", "--second-to", "26 deg",
        "--second-steps", "2",
    ]  # fmt: skip
    (sweep,) = slipmargin("sweep", write(tmp_path / "swept", text), *words, "--json").json["sweeps"]
    (check,) = sweep["checks"]
    for i, depth in enumerate(("1 m", "2 m")):
        for j, angle in enumerate(("20 deg", "26 deg")):
            changed = text.replace('"1.8 m"', f'"{depth}"')
            alone = single_runs(slipmargin, tmp_path / "alone", changed, "24 deg", angle)
            expected = alone["Slope"]["factors_of_safety"]["sliding"]
            found = check["factors_of_safety"]["sliding"][i][j]
            assert found == pytest.approx(expected, rel=1e-9)


# text and JSON


def numbers_of(line: str) -> list[float]:
    """What falls short of what is asked has a star behind it."""
    return [float(w.rstrip("*")) for w in line.split() if re.fullmatch(r"-?[\d.]+\*?", w)]


def test_the_text_of_check_has_the_factors_and_strengths_of_the_json(
    slipmargin, tmp_path: Path
) -> None:
    path = write(tmp_path, text_of() + WALL)
    document = slipmargin("check", path, "--json").json
    lines = slipmargin("check", path).out.splitlines()
    for name, soil in document["soils"].items():
        (line,) = (line for line in lines if line.startswith(f"{name} "))
        shown = numbers_of(line)
        assert shown[0] == pytest.approx(soil["cohesion_kpa"], abs=0.05001)
        assert shown[1] == pytest.approx(soil["friction_angle_deg"], abs=0.05001)
    rows = [
        line for line in lines if re.search(r"  (sliding|overturning|bearing|overall) +\d", line)
    ]
    printed = [numbers_of(row.split("  ", 1)[1]) for row in rows]
    wanted = [
        (factor, check["targets"].get(state) or check[state]["target"])
        for check in document["checks"]
        for state, factor in check["factors_of_safety"].items()
    ]
    assert len(printed) == len(wanted) == 6
    for (factor, target), row, shown in zip(wanted, rows, printed, strict=True):
        # cut and never rounded up
        assert 0.0 <= factor - shown[0] < 0.01
        assert shown[1] == pytest.approx(target, abs=0.005)
        assert ("meets" in row) == (factor >= target)
        assert ("MISSES" in row) == (factor < target)
        assert (shown[0] >= target) == (factor >= target)


def values_shown(lines: Sequence[str], label: str) -> Iterator[tuple[str, float]]:
    """Symbol and value of each step of one check's working."""
    start = lines.index(f"Working: {label}")
    for line in lines[start + 1 :]:
        if line.startswith("Working: "):
            return
        found = re.fullmatch(r"\s+(\S+) = (-?[\d.]+)(?: \S+)?", line)
        if found:
            yield found[1], float(found[2])


@pytest.mark.parametrize("label", ["Slope", "Wedge"])
def test_the_working_ends_each_step_with_the_value_of_the_json(
    slipmargin, tmp_path: Path, label: str
) -> None:
    path = write(tmp_path, text_of())
    check = by_label(slipmargin("check", path, "--json").json)[label]
    out = slipmargin("check", path, "--working").out
    values = [v for v in check["values"].values() if isinstance(v, float)]
    shown = list(values_shown(out.splitlines(), label))
    assert len(shown) >= 10
    for symbol, number in shown:
        close = (abs(number - value) <= 0.5e-2 + 1e-3 * abs(value) for value in values)
        assert any(close), (symbol, number)


def test_the_text_of_a_sweep_has_the_factors_of_the_json(slipmargin, tmp_path: Path) -> None:
    path = write(tmp_path, text_of(checks=["Slope"]))
    words = ["--vary", "checks.Slope.depth", "--from", "1 m", "--to", "3 m", "--steps", "5"]
    (sweep,) = slipmargin("sweep", path, *words, "--json").json["sweeps"]
    factors = sweep["checks"][0]["factors_of_safety"]["sliding"]
    lines = slipmargin("sweep", path, *words).out.splitlines()
    head = next(line for line in lines if line.startswith("Check  Limit state"))
    row = next(line for line in lines if line.startswith("Slope  sliding"))
    assert numbers_of(head) == pytest.approx(sweep["values"])
    assert numbers_of(row) == pytest.approx(factors, abs=0.01)
