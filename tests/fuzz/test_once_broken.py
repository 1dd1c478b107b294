"""What the fuzzer broke, mended, and held here: one test a fault."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from command_inputs import Case
from outcome import Outcome, judge

from slipmargin.cli.scenario.read import load
from slipmargin.stability import PlanarWedge, Rotational, Soil
from slipmargin.stability.retaining_wall.bearing_factors import bearing_factors
from slipmargin.strength import InputError, Strength
from slipmargin.strength.envelope.power_curve import fit_power_curve
from slipmargin.strength.errors import shown_value
from slipmargin.strength.laboratory.ags import read_ags

SCENARIO = """\
title = "Once broken"
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"
"""


def checked(scenario: str, folder: Path, *words: str, **files: str) -> Outcome:
    """What ``check`` makes of a scenario; files beside it by name without ``.csv``."""
    content = {f"{name}.csv": text.encode() for name, text in files.items()}
    room = folder / "case"
    room.mkdir(exist_ok=True)
    return judge(Case(("check", "s.toml", *words), {**content, "s.toml": scenario.encode()}), room)


def soil(cohesion: float, friction_angle: float) -> Soil:
    strength = Strength(cohesion=cohesion, friction_angle=friction_angle)
    return Soil(strength=strength, unit_weight=15.0)


def test_a_ground_line_on_which_no_plane_comes_out_is_refused() -> None:
    steep = np.array([[0.0, 0.0], [8.0, 6.0], [9.0, 18.0], [16.0, 18.0]])
    with pytest.raises(InputError, match="no plane from the toe comes out"):
        PlanarWedge(soil=soil(30.0, 12.0), ground_line=steep).evaluate()


def test_a_critical_plane_at_the_end_of_a_ground_line_says_so() -> None:
    code = "critical-plane-at-end-of-ground-line"
    found = {}
    for end in (26.0, 90.0):
        line = np.array([[0.0, 0.0], [8.0, 6.0], [9.0, 18.0], [end, 18.0]])
        result = PlanarWedge(soil=soil(30.0, 12.0), ground_line=line).evaluate()
        found[end] = (
            float(result.factors_of_safety["sliding"]),
            code in {notice.code for notice in result.notices},
        )
    assert found[26.0][0] > found[90.0][0]
    assert [said for _, said in found.values()] == [True, False]


def test_bearing_factors_stay_finite_up_to_the_last_friction_angle() -> None:
    terms = bearing_factors("vesic", np.array([89.0, 89.9, 89.9999]))
    assert np.all(np.isfinite([terms.cohesion, terms.overburden, terms.weight]))


def test_no_bearing_factor_turns_negative_at_the_steepest_friction_angles() -> None:
    angles = np.linspace(0.0, 89.3, 300)
    for method in ("vesic", "meyerhof", "annex_d"):
        terms = bearing_factors(method, angles)
        for factors in (terms.cohesion, terms.overburden, terms.weight):
            assert np.all(np.diff(factors) >= 0.0)
            assert np.all(factors >= 0.0)


def test_a_ground_line_of_an_earth_pressure_may_come_from_a_scenario(tmp_path: Path) -> None:
    check = """
[[checks]]
kind = "earth_pressure"
soil = "bank"
height = "3 m"
theory = "trial_wedge"
ground_line = [[0, 0], [2, 0.4], [9, 0.4]]
"""
    assert checked(SCENARIO + check, tmp_path).kind == "result"


def test_a_target_far_above_any_factor_needs_no_overflow() -> None:
    values = PlanarWedge(soil=soil(0.0, 0.0), height=1.0, face_angle=25.0, target=45.0).evaluate()
    assert float(values.lowest) == 0.0


NEAR_ZERO = [
    "T0,2.5e-08,6.758e-09 T0,2.5e-08,6.982e-09 T1,5e-08,1.0032e-08 T2,5e-08,9.3545e-09 "
    "T2,5e-08,9.7835e-09 T3,1e-18,4.7345e-09 T3,1e-18,4.996e-09",
    "T0,25,2.1 T1,50,4.2 T2,50,4.2 T3,1e-09,8.4e-11",
]


@pytest.mark.parametrize("rows", NEAR_ZERO, ids=["overflow", "singular"])
@pytest.mark.parametrize("envelope", ["line", "power"])
def test_tests_near_zero_stress_are_fitted_or_refused(
    tmp_path: Path, rows: str, envelope: str
) -> None:
    text = "test,normal_stress [kPa],shear_stress [kPa]\n" + rows.replace(" ", "\n") + "\n"
    strength = f'readings = "lab.csv"\nenvelope = "{envelope}"'
    scenario = SCENARIO.replace('cohesion = "4 kPa"\nfriction_angle = "31 deg"', strength)
    assert strength in scenario
    assert checked(scenario, tmp_path, lab=text).kind != "violation"


def test_a_group_with_two_heading_rows_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("python_ags4")
    keys = ["LOCA_ID", "SAMP_ID", "SHBT_NORM", "SHBT_PEAK"]
    rows = [
        ["GROUP", "SHBG"],
        ["HEADING", *keys[:2]],
        ["UNIT", "", ""],
        ["TYPE", "ID", "ID"],
        ["DATA", "a", "b"],
        ["GROUP", "SHBT"],
        ["HEADING", "", *keys[1:]],
        ["HEADING", *keys],
        ["UNIT", "", "", "kPa", "kPa"],
        ["TYPE", "ID", "ID", "0DP", "0DP"],
        ["DATA", "a", "b", "50", "35"],
    ]
    text = "\r\n".join(",".join(f'"{cell}"' for cell in row) for row in rows) + "\r\n"
    (tmp_path / "lab.ags").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="one HEADING row"):
        read_ags(tmp_path / "lab.ags")


def test_an_array_is_shown_as_a_list_and_a_number_as_a_number() -> None:
    assert shown_value(np.array([[0.0, 6.0], [60.0, 6.0]])) == "[[0.0, 6.0], [60.0, 6.0]]"
    assert shown_value(np.float64(3.5)) == "3.5"
    assert shown_value(np.ndarray) == "<class 'numpy.ndarray'>"


def test_a_number_too_long_to_print_is_refused_in_words(tmp_path: Path) -> None:
    assert "too large to show" in shown_value(10**5000)
    path = tmp_path / "s.toml"
    for line in ("label = 0x" + "f" * 9000, "target = 0x" + "f" * 9000):
        check = f'[[checks]]\nkind = "infinite_slope"\nsoil = "bank"\n{line}\n'
        path.write_text(SCENARIO + check, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            load(path)
        assert len(str(caught.value)) < 1000


def test_an_error_of_a_file_survives_its_way_between_processes(tmp_path: Path) -> None:
    import pickle

    path = tmp_path / "s.toml"
    path.write_text("title = 3", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_ground_that_is_all_but_level_gets_no_rotation() -> None:
    with pytest.raises(InputError, match="face_angle"):
        Rotational(soil=soil(6.0, 27.0), height=1.1, face_angle=1e-8).evaluate()
    flat = Rotational(soil=soil(6.0, 27.0), height=1.1, face_angle=0.05).evaluate()
    # flatter than any slope that could move
    assert float(flat.lowest) > 500.0
    plane = PlanarWedge(soil=soil(6.0, 27.0), height=1.1, face_angle=1e-8)
    result = plane.evaluate()
    assert "rotation" not in result.factors_of_safety
    assert "rotation-not-run" in {notice.code for notice in result.notices}


def test_loads_of_a_millionth_of_a_newton_give_no_power_curve_but_a_refusal() -> None:
    normal = np.array([1e-13, 2e-13, 3e-13])
    with pytest.raises(InputError, match="too far from"):
        fit_power_curve(normal, (normal / 1e-13) ** 8)


def test_one_load_of_practice_among_loads_of_nothing_needs_no_overflow() -> None:
    normal = np.array([5e-299, 7.5e-299, 1e-298, 7.0])
    shear = np.array([5.73725e-299, 7.97925e-299, 1.04961e-298, 1.29118e-298])
    with pytest.raises(InputError, match="must rise"):
        fit_power_curve(normal, shear)


SUBMERGED = """
[[checks]]
kind = "infinite_slope"
soil = "bank"
slope_angle = "11 deg"
depth = "3.9 m"
submerged = true
"""


def test_a_soil_lighter_than_the_water_over_it_is_refused(tmp_path: Path) -> None:
    heavy = 'groundwater_unit_weight = "18.7 kN/m^3"\n'
    assert checked(SCENARIO + SUBMERGED, tmp_path).kind == "result"
    assert checked(heavy + SCENARIO + SUBMERGED, tmp_path).kind == "refusal"


def test_a_refused_check_leaves_no_folder_of_pictures_behind(tmp_path: Path) -> None:
    heavy = 'groundwater_unit_weight = "18.7 kN/m^3"\n'
    assert checked(heavy + SCENARIO + SUBMERGED, tmp_path, "--plot", "new").kind == "refusal"


def test_a_path_is_printed_without_what_steers_a_terminal(tmp_path: Path) -> None:
    assert judge(Case(("start", "a\x01b"), {}), tmp_path).kind == "result"


def test_a_slope_of_all_but_endless_friction_needs_no_shaking_that_cannot_be() -> None:
    wedge = PlanarWedge(soil=soil(15.0, 89.999), height=11.257, face_angle=49.66)
    assert float(wedge.evaluate().lowest) > 1e4
