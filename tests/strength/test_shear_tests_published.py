"""Published values of the laboratory side, one parametrised test over the data file."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from strength import fit_envelope
from strength.area_correction import overlap_factor
from strength.dilatancy import (
    BOLTON_SHARE,
    bolton_dilatancy_angle,
    relative_dilatancy_index,
)
from strength.drainage import (
    FACTOR_T50,
    TIME_FACTOR_50,
    TIME_FACTOR_90,
    degree_of_drainage,
)
from strength.quantities import unit_factor
from strength.readings import Readings, reduce_readings
from strength.specimen import Specimen
from strength.triaxial import (
    failure_plane_stresses,
    fit_triaxial,
    line_to_strength,
    stress_path_pair,
)

PUBLISHED = Path(__file__).parents[1] / "published" / "shear_tests.toml"
CASES = tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))["case"]


def stresses(width: float, normal: list[float], shear: list[float]) -> Any:
    """Nominal stresses [kPa] of forces [N] on a square specimen."""
    count = len(normal)
    nothing = np.full(count, np.nan)
    readings = Readings(
        test=tuple(str(i) for i in range(count)),
        state=("peak",) * count,
        normal=np.array(normal, dtype=float),
        shear=np.array(shear, dtype=float),
        low=nothing,
        high=nothing,
        unit="N",
    )
    return reduce_readings(readings, Specimen(shape="square", width=width))


def force_to_stress_us(i: dict[str, Any]) -> dict[str, Any]:
    pound, _ = unit_factor("lbf", "force")
    foot, _ = unit_factor("psf", "stress")
    inch, _ = unit_factor("in", "displacement")
    tests = stresses(
        inch * i["width_in"],
        [pound * force for force in i["normal_force_lb"]],
        [pound * force for force in i["shear_force_lb"]],
    )
    return {"normal_stress_psf": tests.normal / foot, "shear_stress_psf": tests.shear / foot}


def force_to_stress(i: dict[str, Any]) -> dict[str, Any]:
    tests = stresses(i["width_mm"], i["normal_force_N"], i["shear_force_N"])
    return {"normal_stress_kPa": tests.normal, "shear_stress_kPa": tests.shear}


def single_shear(i: dict[str, Any]) -> dict[str, Any]:
    specimen = Specimen(shape=i["shape"], width=i["width_mm"])
    newton = specimen.kpa_per_newton
    tests = stresses(
        i["width_mm"], [i["normal_stress_kPa"] / newton], [i["shear_stress_kPa"] / newton]
    )
    strength = fit_envelope(tests, intercept="zero").strength()
    second = strength.shear_strength(i["normal_stress2_kPa"])
    return {
        "phi_deg": strength.friction_angle,
        "shear_stress2_kPa": second,
        "shear_force2_N": second / newton,
    }


def area_square(i: dict[str, Any]) -> dict[str, Any]:
    moved = np.array(i["displacement_mm"]) / i["width_mm"]
    return {"F": overlap_factor("square", moved)}


def area_overlap(i: dict[str, Any]) -> dict[str, Any]:
    specimen = Specimen(shape="circle", width=i["diameter_mm"])
    moved = np.array(i["displacement_mm"]) / i["diameter_mm"]
    return {"area_mm2": specimen.area * overlap_factor("circle", moved)}


def consol(_: dict[str, Any]) -> dict[str, Any]:
    # Root-time t100 stands at a time factor of π/4.
    drained = brentq(lambda factor: float(degree_of_drainage(factor)) - 0.95, 1.0, 50.0)
    return {
        "T50": TIME_FACTOR_50,
        "T90": TIME_FACTOR_90,
        "factor_t90_equal_to_50_t50": FACTOR_T50 * TIME_FACTOR_50 / TIME_FACTOR_90,
        "factor_t100_for_U95": drained / (math.pi / 4.0),
        "U_at_50t50": degree_of_drainage(FACTOR_T50 * TIME_FACTOR_50),
    }


def bolton(i: dict[str, Any]) -> dict[str, Any]:
    index = relative_dilatancy_index(i["ID"], i["p_kPa"], crushing=i["Q"], offset=i["R"])
    plane = bolton_dilatancy_angle(index)
    return {
        "IR": index,
        "dphi_plane_strain_deg": plane,
        "dphi_triaxial_deg": bolton_dilatancy_angle(index, "triaxial"),
        "psi_max_deg": plane / BOLTON_SHARE,
    }


def triax_single(i: dict[str, Any]) -> dict[str, Any]:
    minor, major = i["sigma3"], i["sigma3"] + i["deviator"]
    angles = {}
    for name, pore_pressure in (("phi_total_deg", 0.0), ("phi_deg", i.get("u", 0.0))):
        s, t = stress_path_pair(major, minor, pore_pressure=pore_pressure)
        angles[name] = float(line_to_strength(0.0, t / s)[1])
    return angles | {"failure_plane_deg": 45.0 + angles["phi_deg"] / 2.0}


def plane_stress(i: dict[str, Any]) -> dict[str, Any]:
    friction_angle = 2.0 * (i["theta_deg"] - 45.0)
    normal, shear = failure_plane_stresses(i["sigma1"], i["sigma3"], friction_angle)
    return {"sigma_n": normal, "tau": shear}


def triax_predict(i: dict[str, Any]) -> dict[str, Any]:
    # sin φ = t/s with s = σ₃ + t
    sine = math.sin(math.radians(i["phi_deg"]))
    t = i["sigma3"] * sine / (1.0 - sine)
    back = fit_triaxial([i["sigma3"] + t], [t], intercept="zero")
    assert back.best_fit.friction_angle == pytest.approx(i["phi_deg"])
    plane = 90.0 - (45.0 + i["phi_deg"] / 2.0)
    return {"deviator": 2.0 * t, "max_shear": t, "plane_to_major_stress_deg": plane}


def triax_st(i: dict[str, Any]) -> dict[str, Any]:
    minor = np.array(i["sigma3"], dtype=float)
    major = np.array(i["sigma1"]) if "sigma1" in i else minor + i["deviator"]
    pore = np.array(i.get("u", 0.0))
    answers = {}
    for form in ("s_t", "p_q"):
        pairs = stress_path_pair(major, minor, pore_pressure=pore, form=form)
        fit = fit_triaxial(*pairs, form=form, intercept="free")
        answers[form] = fit.best_fit
    assert answers["s_t"].friction_angle == pytest.approx(answers["p_q"].friction_angle, abs=0.2)
    return {"c": answers["s_t"].cohesion, "phi_deg": answers["s_t"].friction_angle}


METHODS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    function.__name__: function
    for function in (
        force_to_stress_us,
        force_to_stress,
        single_shear,
        area_square,
        area_overlap,
        consol,
        bolton,
        triax_single,
        plane_stress,
        triax_predict,
        triax_st,
    )
}


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_published_value_is_reproduced(case: dict[str, Any]) -> None:
    computed = METHODS[case["method"]](case["inputs"])
    for name, value in case["expected"].items():
        tolerance = case.get("abs_tol", {}).get(name, case.get("atol", 0.0))
        assert_allclose(computed[name], value, rtol=case["rtol"], atol=tolerance, err_msg=name)
