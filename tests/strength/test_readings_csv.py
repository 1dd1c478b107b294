"""The readings file: what is understood, and one clear refusal for each thing that is not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.strength import InputError, read_readings
from slipmargin.strength.laboratory.csv_table import LARGEST_FILE

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def to_file(text: str | bytes) -> Path:
        path = tmp_path / "readings.csv"
        path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
        return path

    return to_file


def record(rows: int, header: str = "", values: str = "", name: str = "A") -> str:
    head = f"test,normal_stress [kPa],shear_stress [kPa],displacement [mm]{header}\n"
    body = [f"{name},100,{5.0 * i:g},{0.1 * i:g}{values}\n" for i in range(rows)]
    return head + "".join(body)


def test_a_table_of_forces_is_read_with_its_units(write: Write) -> None:
    readings = read_readings(
        write(
            "# spring scale, box of the invented bank\n"
            "test,state,normal_force [lbf],shear_force_low [gf],shear_force_high [gf]\n"
            "A,peak,10,1000,1200\n"
            "\n"
            "B,residual,20,1500,1700\n"
        )
    )
    assert readings.unit == "N"
    assert not readings.is_record
    assert_allclose(readings.normal, [44.4822162, 88.9644323])
    assert_allclose(readings.shear, [1100 * 0.00980665, 1600 * 0.00980665])
    assert readings.state == ("peak", "residual")


def test_a_mass_is_taken_as_a_weight_and_said_so(write: Write) -> None:
    readings = read_readings(write("test,normal_force [kg],shear_force [N]\nA,10,50\n"))
    assert_allclose(readings.normal, [98.0665])
    assert [notice.code for notice in readings.notices] == ["mass-read-as-weight"]


def test_displacement_columns_are_read_in_millimetres(write: Write) -> None:
    readings = read_readings(
        write(
            "test,normal_stress [kPa],shear_stress [kPa],displacement [in],"
            "vertical_displacement [mm],rate [mm/min]\n"
            "A,50,30,0.1,-0.05,0.2\nB,100,60,,,0.2\n"
        )
    )
    assert readings.displacement is not None
    assert_allclose(readings.displacement, [2.54, np.nan])
    assert readings.vertical_displacement is not None
    assert_allclose(readings.vertical_displacement, [-0.05, np.nan])
    assert readings.rate is not None
    assert_allclose(readings.rate, [0.2, 0.2])
    assert not readings.is_record


def test_many_rows_with_displacement_are_a_record(write: Write) -> None:
    assert read_readings(write(record(8))).is_record
    assert not read_readings(write(record(7))).is_record


def test_a_record_may_read_below_zero(write: Write) -> None:
    readings = read_readings(write(record(20) + "A,100,-3.5,1.2\n"))
    assert readings.shear[-1] == -3.5


def test_a_byte_order_mark_is_read_over(write: Write) -> None:
    text = "test,normal_stress [kPa],shear_stress [kPa]\nA,50,30\n"
    assert read_readings(write(text.encode("utf-8-sig"))).test == ("A",)


def test_line_ends_of_every_system_are_read(write: Write) -> None:
    text = "test,normal_stress [kPa],shear_stress [kPa]\nA,50,30\nB,90,50\n"
    for ending in ("\r\n", "\n"):
        readings = read_readings(write(text.replace("\n", ending)))
        assert_allclose(readings.shear, [30, 50])


def test_copied_rows_earn_one_caution(write: Write) -> None:
    readings = read_readings(
        write("test,normal_stress [kPa],shear_stress [kPa]\nA,50,30\nB,90,50\nA,50,30\n")
    )
    assert [notice.code for notice in readings.notices] == ["duplicate-reading"]
    assert "2 and 4" in readings.notices[0].text
    many = read_readings(write(record(8) + "A,100,35,0.7\n" * 50))
    assert [notice.code for notice in many.notices] == ["duplicate-reading"]
    assert "47 more" in many.notices[0].text


HEAD = "test,normal_stress [kPa],shear_stress [kPa]\n"

REFUSED = {
    "empty file": ("", "no header"),
    "comments only": ("# nothing\n\n", "no header"),
    "header only": (HEAD, "no reading"),
    "short row": (HEAD + "A,50\n", "row 2.*2 fields where the header has 3"),
    "long row": (HEAD + "A,50,30,1\n", "row 2.*4 fields"),
    "decimal comma": (HEAD + "A,50,5,30,2\n", "decimals with a point"),
    "quoted decimal comma": (HEAD + 'A,"50,5",30\n', "row 2, column normal_stress.*decimal point"),
    "semicolons": (
        "test;normal_stress [kPa];shear_stress [kPa]\nA;50,5;30\n",
        "separate columns by commas",
    ),
    "semicolons under a comma header": (HEAD + "A;50;30\n", "separate columns by commas"),
    "tabs": ("test\tnormal_stress [kPa]\tshear_stress [kPa]\nA\t50\t30\n", "by commas"),
    "column twice": ("test,normal_stress [kPa],normal_stress [kPa]\nA,1,2\n", "once"),
    "unknown column": ("test,normal_stres [kPa],shear_stress [kPa]\nA,1,2\n", "did you mean"),
    "no unit": (
        "test,normal_stress,shear_stress [kPa]\nA,50,30\n",
        r"such as normal_stress \[kPa\]",
    ),
    "no unit of displacement": (
        "test,normal_stress [kPa],shear_stress [kPa],displacement\nA,50,30,2\n",
        r"such as displacement \[mm\]",
    ),
    "wrong kind of unit": ("test,normal_stress [mm],shear_stress [kPa]\nA,50,30\n", "a stress"),
    "unknown unit": ("test,normal_stress [kPq],shear_stress [kPa]\nA,50,30\n", "not known"),
    "unit on words": ("test [N],normal_stress [kPa],shear_stress [kPa]\nA,5,3\n", "no unit"),
    "force beside stress": ("test,normal_force [N],shear_stress [kPa]\nA,50,30\n", "give normal_s"),
    "no shear": ("test,normal_stress [kPa]\nA,50\n", "shear_stress"),
    "no normal": ("test,shear_stress [kPa]\nA,50\n", "normal_stress"),
    "no test": ("normal_stress [kPa],shear_stress [kPa]\n50,30\n", "names each test"),
    "half a band": ("test,normal_force [N],shear_force_low [N]\nA,50,30\n", "both ends"),
    "blank test": (HEAD + ",50,30\n", "name the test"),
    "blank reading": (HEAD + "A,50,\n", "give a number"),
    "blank normal": (HEAD + "A,,30\n", "give a number"),
    "words for a number": (HEAD + "A,fifty,30\n", "decimal point"),
    "not a number": (HEAD + "A,50,nan\n", "decimal point"),
    "infinite": (HEAD + "A,50,inf\n", "decimal point"),
    "overflow": (HEAD + "A,50,1e999\n", "finite"),
    "unit in a cell": (HEAD + "A,50 kPa,30\n", "decimal point"),
    "negative normal": (HEAD + "A,-50,30\n", "row 2.*from 0 upward"),
    "negative shear": (HEAD + "A,50,30\nB,90,-50\n", "row 3.*from 0 upward"),
    "negative displacement": (
        "test,normal_stress [kPa],shear_stress [kPa],displacement [mm]\nA,50,30,-2\n",
        "row 2, column displacement.*from 0 upward",
    ),
    "negative rate": (
        "test,normal_stress [kPa],shear_stress [kPa],rate [mm/min]\nA,50,30,-2\n",
        "from 0 upward",
    ),
    "rate of zero": (
        "test,normal_stress [kPa],shear_stress [kPa],rate [mm/min]\nA,50,30,0\n",
        "above 0",
    ),
    "negative normal in a record": (record(9) + "A,-1,2,3\n", "from 0 upward"),
    "unknown state": (
        "test,state,normal_stress [kPa],shear_stress [kPa]\nA,pek,5,3\n",
        "peak, end",
    ),
    "state in a record": (record(9, ",state", ",peak"), "leave the column out"),
    "band upside down": (
        "test,normal_force [N],shear_force_low [N],shear_force_high [N]\nA,50,31,30\n",
        "above its high",
    ),
    "reading outside its band": (
        "test,normal_force [N],shear_force [N],shear_force_low [N],shear_force_high [N]\n"
        "A,50,35,30,31\n",
        "outside its band",
    ),
    "open quote": (HEAD + 'A,"50,30\n', "comma-separated"),
    "NUL byte": (HEAD + "A,50,3\x000\n", "NUL"),
    "UTF-16": ((HEAD + "A,50,30\n").encode("utf-16"), "UTF-16.*save it as UTF-8"),
    "UTF-16 without a mark": ((HEAD + "A,50,30\n").encode("utf-16-le"), "NUL|UTF-8"),
    "Latin-1": ((HEAD + "é,50,30\n").encode("latin-1"), "UTF-8"),
}


@pytest.mark.parametrize(("text", "message"), REFUSED.values(), ids=list(REFUSED))
def test_bad_file_is_refused_with_one_clear_message(
    write: Write, text: str | bytes, message: str
) -> None:
    with pytest.raises(InputError, match=f"(?s){message}"):
        read_readings(write(text))


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as handle:
        handle.truncate(200_000_000)
    with pytest.raises(InputError, match="200 MB"):
        read_readings(path)
    assert LARGEST_FILE < 200_000_000


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_no_file_is_refused_in_words(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="no file of that name"):
        read_readings(tmp_path / name)


@given(st.binary(max_size=200))
@settings(max_examples=100, deadline=None)
def test_any_bytes_give_readings_or_a_refusal(
    tmp_path_factory: pytest.TempPathFactory, data: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    for head in (b"", HEAD.encode()):
        path.write_bytes(head + data)
        try:
            readings = read_readings(path)
        except InputError:
            continue
        assert np.all(np.isfinite(readings.normal))
        assert np.all(np.isfinite(readings.shear))
