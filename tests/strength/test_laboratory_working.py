"""The working from the gauge to the stresses: each line worked again."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import Point

from slipmargin.strength import Readings, Specimen, strength_from_readings, triaxial_readings
from slipmargin.strength.from_laboratory import Choices
from slipmargin.strength.working import Step

SQUARE = Specimen(shape="square", width=60.0)


def table(
    unit: str = "N", displacement: list[float] | None = None, low: float = math.nan
) -> Readings:
    normal = np.array([90.0, 180.0, 180.0, 360.0])
    shear = np.array([73.0, 124.0, 129.0, 236.0])
    return Readings(
        test=("a", "b", "b", "c"),
        state=("peak",) * 4,
        normal=normal,
        shear=shear,
        low=shear - low,
        high=shear + low,
        unit="N" if unit == "N" else "kPa",
        displacement=None if displacement is None else np.array(displacement),
    )


def steps_of(readings: Readings, specimen: Specimen | None = None, **choices: bool) -> list[Step]:
    found = strength_from_readings(readings, specimen, choices=Choices(**choices))
    return list(found.working())


def shown(steps: list[Step]) -> dict[str, tuple[str, float]]:
    return {step.symbol: (step.substituted, step.value) for step in steps}


def test_forces_become_stresses_on_the_area_of_the_plane() -> None:
    found = shown(steps_of(table(), SQUARE))
    assert found["A"] == ("60^2", 3600.0)
    assert found["σ′_1"] == ("1000 * 90 / 3600", 25.0)
    assert found["S_2"] == ("(124 + 129) / 2", 126.5)
    assert found["τ_2"] == ("1000 * 126.5 / 3600", pytest.approx(126.5 / 3.6))


def test_what_the_gauges_add_stands_in_the_lines() -> None:
    box = Specimen(
        shape="circle",
        width=63.5,
        added_normal_force=12.0,
        apparatus_friction=3.0,
        zero_reading=-1.0,
    )
    found = shown(steps_of(table(), box))
    area = math.pi * 63.5**2 / 4.0
    assert found["A"][1] == pytest.approx(area)
    assert found["N_a"] == ("", 12.0)
    assert found["S_a"] == ("", 2.0)
    assert found["σ′_1"] == (f"1000 * (90 + 12) / {area:.6g}", pytest.approx(102e3 / area))
    assert found["τ_1"] == (f"1000 * (73 - 2) / {area:.6g}", pytest.approx(71e3 / area))


def test_the_area_still_in_contact_divides_both_stresses() -> None:
    found = shown(steps_of(table(displacement=[3.0, 3.0, 3.0, 3.0]), SQUARE, area_correction=True))
    assert found["σ′_1"] == ("1000 * 90 / 3600 / 0.95", pytest.approx(25.0 / 0.95))
    assert found["τ_1"][1] == pytest.approx(73.0 / 3.6 / 0.95)


def test_readings_at_several_displacements_are_stated() -> None:
    found = shown(steps_of(table(displacement=[3.0, 3.0, 4.5, 3.0]), SQUARE, area_correction=True))
    assert found["σ′_2"] == ("", pytest.approx((50.0 / 0.95 + 50.0 / 0.925) / 2.0))


@pytest.mark.parametrize(("unit", "normal", "shear"), [("kPa", "σ′", "τ"), ("N", "N", "S")])
def test_without_an_area_the_mean_of_the_readings_is_all_there_is(
    unit: str, normal: str, shear: str
) -> None:
    found = shown(steps_of(table(unit)))
    assert "A" not in found
    assert found[f"{normal}_1"] == ("", 90.0)
    assert found[f"{shear}_2"] == ("(124 + 129) / 2", 126.5)


def test_a_band_is_named_where_the_gauge_bounced() -> None:
    says = [step.says for step in steps_of(table(low=4.0), SQUARE)]
    assert any("S_1 is the middle of the band" in text for text in says)
    assert any("each the middle of its band" in text for text in says)


def records(count: int, fall: float = 0.0, unit: Literal["kPa", "N"] = "kPa") -> Readings:
    """Three records of ``count`` rows up to 9 mm, with a peak at 1.8 mm where they fall."""
    moved = np.linspace(0.0, 9.0, count)
    rows = [
        (
            name,
            normal,
            (3.0 + 0.6 * normal)
            * (1.0 - math.exp(-8.0 * place))
            * (1.0 + fall * math.exp(-((place - 1.8) ** 2))),
            place,
        )
        for name, normal in (("a", 50.0), ("b", 100.0), ("c", 200.0))
        for place in moved
    ]
    names, normal, shear, places = zip(*rows, strict=True)
    nothing = np.full(len(rows), np.nan)
    return Readings(
        test=names,
        state=("peak",) * len(rows),
        normal=np.array(normal),
        shear=np.array(shear),
        low=nothing,
        high=nothing,
        unit=unit,
        displacement=np.array(places),
        vertical_displacement=0.08 * np.array(places),
    )


def test_a_record_without_a_peak_says_why_and_where_it_was_read() -> None:
    steps = {step.symbol: step for step in steps_of(records(91), SQUARE)}
    for index, stress in enumerate((50.0, 100.0, 200.0), start=1):
        assert steps[f"d_{index}"].value == 6.0
        assert "No peak stands out" in steps[f"d_{index}"].says
        assert "at 10% relative displacement" in steps[f"d_{index}"].says
        assert steps[f"σ′_{index}"].value == pytest.approx(stress)
        assert steps[f"τ_{index}"].value == pytest.approx(3.0 + 0.6 * stress, rel=5e-3)
        assert steps[f"ψ_{index}"].value == pytest.approx(math.degrees(math.atan(0.08)))
    stopped = {step.symbol: step for step in steps_of(records(91), replace(SQUARE, width=100.0))}
    assert "10% relative displacement was not reached" in stopped["d_1"].says
    assert "means of the 10 rows from 8.1 to 9 mm" in stopped["d_1"].says
    unknown = {step.symbol: step for step in steps_of(records(91))}
    assert "is not known without the width" in unknown["d_1"].says
    assert stopped["τ_1"].value == pytest.approx(33.0)


def test_a_peak_is_the_sum_of_its_rows_by_the_weights_of_savitzky_and_golay() -> None:
    # (-2, 3, 6, 7, 6, 3, -2) / 21: Savitzky and Golay (1964), table I (from memory)
    steps = {step.symbol: step for step in steps_of(records(61, fall=0.3, unit="N"), SQUARE)}
    assert "Peak of test a, at row 13 of its 61" in steps["d_1"].says
    assert steps["d_1"].value == pytest.approx(1.8)
    assert steps["S_m1"].equation == "sum(f * S)"
    terms = [term.split(" * ") for term in steps["S_m1"].substituted.split(" + ")]
    weights = [21.0 * float(weight.strip("()")) for weight, _ in terms]
    assert_allclose(weights, [-2, 3, 6, 7, 6, 3, -2], atol=1e-4)
    assert_allclose([float(read) for _, read in terms], records(61, 0.3).shear[9:16], rtol=1e-5)
    assert steps["τ_1"].equation == "1000 * S_m1 / A"


def test_the_overlap_that_is_left_stands_in_the_working_of_a_record() -> None:
    peaked = records(61, fall=0.3, unit="N")
    found = shown(steps_of(peaked, SQUARE, area_correction=True))
    assert found["a_c1"] == ("1 - 1.8 / 60", pytest.approx(0.97))
    assert found["σ′_1"] == ("1000 * 50 / 3600 / 0.97", pytest.approx(50.0 / 3.6 / 0.97))
    disc = Specimen(shape="circle", width=63.5)
    share = shown(steps_of(peaked, disc, area_correction=True))["a_c1"][1]
    halves = [Point(x, 0.0).buffer(31.75, quad_segs=500) for x in (0.0, 1.8)]
    common = halves[0].intersection(halves[1]).area
    assert share == pytest.approx(common / halves[0].area, rel=1e-5)


def test_more_rows_than_can_be_followed_are_not_written_out() -> None:
    steps = {step.symbol: step for step in steps_of(records(901, fall=0.3, unit="N"), SQUARE)}
    assert steps["S_m1"].equation == steps["S_m1"].substituted == ""
    assert "the 91 rows from 1.35 to 2.25 mm" in steps["S_m1"].says


def test_cell_pressure_becomes_a_circle_by_its_own_lines() -> None:
    readings = triaxial_readings(
        "ABBC",
        [150.0, 250.0, 250.0, 400.0],
        [160.0, 240.0, 256.0, 391.0],
        [55.0, 88.0, 92.0, 140.0],
    )
    found = shown(steps_of(readings))
    assert found["σ′_3,1"] == ("150 - 55", 95.0)
    assert found["σ′_1,1"] == ("95 + 160", 255.0)
    assert found["s′_1"] == ("(255 + 95) / 2", 175.0)
    assert found["q_2"] == ("(240 + 256) / 2", 248.0)
    assert found["t_2"] == ("(408 - 160) / 2", 124.0)


def test_without_a_pore_pressure_the_cell_pressure_stands_in_its_place() -> None:
    readings = triaxial_readings("AB", [50.0, 100.0], [60.0, 110.0])
    found = shown(steps_of(readings))
    assert "u_1" not in found
    assert found["σ′_3,1"] == ("50", 50.0)
