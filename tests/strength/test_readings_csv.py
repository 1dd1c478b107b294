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
    many = read_readings(write(HEAD + "A,100,35\n" * 51))
    assert [notice.code for notice in many.notices] == ["duplicate-reading"]
    assert "47 more" in many.notices[0].text


def test_rows_of_a_record_that_are_alike_are_no_slip(write: Write) -> None:
    assert read_readings(write(record(8) + "A,100,35,0.7\n" * 50)).notices == ()


HEAD = "test,normal_stress [kPa],shear_stress [kPa]\n"


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
