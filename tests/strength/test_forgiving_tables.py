"""Tables as spreadsheets write them: what is read without a word, and what is named."""

from __future__ import annotations

import sys
import zipfile
from datetime import date
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from slipmargin.strength import InputError, read_readings
from slipmargin.strength.quantities import STANDARD_GRAVITY, parse, unit_factor

openpyxl = pytest.importorskip("openpyxl")


def workbook(folder: Path, sheets: dict[str, list[list[object]]], name: str = "lab.xlsx") -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(folder / name)
    return folder / name


ROWS: list[list[object]] = [
    ["Test", "Normal stress [kPa]", "Shear Stress (kPa)"],
    [1, 50, 35.5],
    [2, 100.0, 66],
]


def test_a_table_as_a_spreadsheet_exports_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    path.write_text(
        "Test,Normal stress (KPa),SHEAR-STRESS [kpa],,\nA,50,30,,\n\n B ,100,61,,\n,,,,\n,,\n"
    )
    found = read_readings(path)
    assert found.test == ("A", "B")
    assert_allclose(found.shear, [30.0, 61.0])


@pytest.mark.parametrize(
    ("unit", "dimension", "factor"),
    [
        ("KPA", "stress", 1.0),
        ("Mpa", "stress", 1000.0),
        ("KN/M3", "unit_weight", 1.0),
        ("PSF", "stress", 4.4482216152605 / 0.3048**2 / 1000.0),
        ("kg/cm^2", "stress", 10.0 * STANDARD_GRAVITY),
        ("t/m2", "stress", STANDARD_GRAVITY),
    ],
)
def test_the_case_of_a_unit_and_the_stresses_of_the_trade_are_read(
    unit: str, dimension: str, factor: float
) -> None:
    assert_allclose(unit_factor(unit, dimension)[0], factor, rtol=1e-12)


@pytest.mark.parametrize("unit", ["mpa", "mPa", "mN", "kPq", "ton/m2"])
def test_a_unit_that_could_be_another_is_refused(unit: str) -> None:
    with pytest.raises(InputError, match="unit not known"):
        unit_factor(unit, "stress")


def test_a_mass_on_an_area_is_a_stress_and_says_so() -> None:
    parsed = parse("1.2 kg/cm^2", "stress")
    assert_allclose(parsed.value, 117.6798)
    assert parsed.notice is not None
    assert parsed.notice.code == "mass-read-as-weight"
    assert "mass on an area" in parsed.notice.text


@pytest.mark.parametrize("name", ["lab.xlsx", "lab.csv"])
def test_a_workbook_is_known_by_its_first_bytes_and_read(tmp_path: Path, name: str) -> None:
    rows: list[list[object]] = [["# by hand"], *ROWS, [None, None, None], [None, " "]]
    found = read_readings(workbook(tmp_path, {"Data": rows, "Sheet2": []}, name))
    assert found.test == ("1", "2")
    assert_allclose(found.normal, [50.0, 100.0])
    assert_allclose(found.shear, [35.5, 66.0])


def test_a_refused_cell_of_a_workbook_is_found_by_its_row(tmp_path: Path) -> None:
    rows: list[list[object]] = [ROWS[0], [], [1, "fifty", 30]]
    with pytest.raises(InputError, match=r"row 3, column Normal stress \[kPa\].*fifty"):
        read_readings(workbook(tmp_path, {"Data": rows}))


def test_a_workbook_that_leaves_a_choice_is_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path, {"Data": ROWS, "Notes": [["of the day"]]})
    with pytest.raises(InputError, match=r"sheets Data, Notes.*save it as CSV"):
        read_readings(path)
    path = workbook(tmp_path, {"Data": [ROWS[0], [date(2026, 2, 1), 50, 30]]})
    with pytest.raises(InputError, match=r"row 2.*2026-02-01.*format it as text"):
        read_readings(path)
    with pytest.raises(InputError, match="no header line"):
        read_readings(workbook(tmp_path, {"Data": []}))


def test_without_the_library_a_workbook_is_named_for_what_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(InputError, match=r"Excel workbook.*as CSV.*slipmargin\[xlsx\]"):
        read_readings(workbook(tmp_path, {"Data": ROWS}))


def test_other_archives_are_named(tmp_path: Path) -> None:
    path = tmp_path / "lab.xlsx"
    for names, words in (
        (["mimetype", "content.xml"], "OpenDocument.*as CSV"),
        (["letter.txt"], "an archive, not a table"),
        (["xl/workbook.xml"], "damaged.*as CSV"),
    ):
        with zipfile.ZipFile(path, "w") as archive:
            for name in names:
                archive.writestr(name, "x")
        with pytest.raises(InputError, match=words):
            read_readings(path)
    whole = workbook(tmp_path, {"Data": ROWS}).read_bytes()
    for length in (40, len(whole) // 2, len(whole) - 10):
        path.write_bytes(whole[:length])
        with pytest.raises(InputError, match="damaged"):
            read_readings(path)
