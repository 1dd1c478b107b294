"""Runs the check values of what lies before a fit: units, specimens, triaxial tests, drainage."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from scipy.optimize import brentq

from slipmargin.strength import Readings, ShearTests, Specimen, fit_envelope, reduce_readings
from slipmargin.strength.laboratory.area_correction import overlap_factor
from slipmargin.strength.laboratory.dilatancy import (
    BOLTON_SHARE,
    bolton_dilatancy_angle,
    relative_dilatancy_index,
)
from slipmargin.strength.laboratory.drainage import (
    FACTOR_T50,
    TIME_FACTOR_50,
    TIME_FACTOR_90,
    degree_of_drainage,
)
from slipmargin.strength.laboratory.triaxial import (
    failure_plane_stresses,
    fit_triaxial,
    line_to_strength,
    stress_path_pair,
)
from slipmargin.strength.quantities import unit_factor

__all__ = ["METHODS", "tests_from_forces"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def tests_from_forces(specimen: Specimen, normal: list[float], shear: list[float]) -> ShearTests:
    """Nominal stresses [kPa] of forces [N] on a specimen."""
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
    return reduce_readings(readings, specimen)


def force_to_stress_us(i: Inputs) -> Found:
    """Pounds on a box in inches, in pounds per square foot."""
    pound, _ = unit_factor("lbf", "force")
    foot, _ = unit_factor("psf", "stress")
    inch, _ = unit_factor("in", "displacement")
    tests = tests_from_forces(
        Specimen(shape="square", width=inch * i["width_in"]),
        [pound * force for force in i["normal_force_lb"]],
        [pound * force for force in i["shear_force_lb"]],
    )
    return {"normal_stress_psf": tests.normal / foot, "shear_stress_psf": tests.shear / foot}


def force_to_stress(i: Inputs) -> Found:
    """Newtons on a box."""
    box = Specimen(shape=i["shape"], width=i["width_mm"])
    tests = tests_from_forces(box, i["normal_force_N"], i["shear_force_N"])
    return {"normal_stress_kPa": tests.normal, "shear_stress_kPa": tests.shear}


def single_shear(i: Inputs) -> Found:
    """One test, and the strength at another normal stress."""
    box = Specimen(shape=i["shape"], width=i["width_mm"])
    newton = box.kpa_per_newton
    tests = tests_from_forces(
        box, [i["normal_stress_kPa"] / newton], [i["shear_stress_kPa"] / newton]
    )
    strength = fit_envelope(tests, intercept="zero").strength()
    second = float(np.asarray(strength.shear_strength(i["normal_stress2_kPa"])))
    return {
        "phi_deg": strength.friction_angle,
        "shear_stress2_kPa": second,
        "shear_force2_N": second / newton,
    }


def area_square(i: Inputs) -> Found:
    """Share of a square that still overlaps."""
    moved = np.array(i["displacement_mm"]) / i["width_mm"]
    return {"F": overlap_factor("square", moved)}


def area_overlap(i: Inputs) -> Found:
    """Area of a disc that still overlaps [mm²]."""
    specimen = Specimen(shape="circle", width=i["diameter_mm"])
    moved = np.array(i["displacement_mm"]) / i["diameter_mm"]
    return {"area_mm2": specimen.area * overlap_factor("circle", moved)}


def consol(_: Inputs) -> Found:
    """Times to failure; the t₁₀₀ of the square-root plot stands at a time factor of π/4."""
    drained = brentq(lambda factor: float(degree_of_drainage(factor)) - 0.95, 1.0, 50.0)
    return {
        "T50": TIME_FACTOR_50,
        "T90": TIME_FACTOR_90,
        "factor_t90_equal_to_50_t50": FACTOR_T50 * TIME_FACTOR_50 / TIME_FACTOR_90,
        "factor_t100_for_U95": drained / (math.pi / 4.0),
        "U_at_50t50": degree_of_drainage(FACTOR_T50 * TIME_FACTOR_50),
    }


def bolton(i: Inputs) -> Found:
    """Dilatancy of a sand from its density and stress."""
    index = relative_dilatancy_index(i["ID"], i["p_kPa"], crushing=i["Q"], offset=i["R"])
    plane = bolton_dilatancy_angle(index)
    return {
        "IR": index,
        "dphi_plane_strain_deg": plane,
        "dphi_triaxial_deg": bolton_dilatancy_angle(index, "triaxial"),
        "psi_max_deg": plane / BOLTON_SHARE,
    }


def triax_single(i: Inputs) -> Found:
    """Friction angle of one test without cohesion, total and effective."""
    minor, major = i["sigma3"], i["sigma3"] + i["deviator"]
    angles = {}
    for name, pore_pressure in (("phi_total_deg", 0.0), ("phi_deg", i.get("u", 0.0))):
        s, t = stress_path_pair(major, minor, pore_pressure=pore_pressure)
        angles[name] = float(line_to_strength(0.0, t / s)[1])
    return angles | {"failure_plane_deg": 45.0 + angles["phi_deg"] / 2.0}


def plane_stress(i: Inputs) -> Found:
    """Stresses on the plane of failure."""
    friction_angle = 2.0 * (i["theta_deg"] - 45.0)
    normal, shear = failure_plane_stresses(i["sigma1"], i["sigma3"], friction_angle)
    return {"sigma_n": normal, "tau": shear}


def triax_predict(i: Inputs) -> Found:
    """Deviator stress at failure: what it is found back from as the friction angle."""

    def too_strong(t: float) -> float:
        fit = fit_triaxial([i["sigma3"] + t], [t], intercept="zero")
        return float(fit.best_fit.friction_angle) - float(i["phi_deg"])

    t = float(brentq(too_strong, 1e-3 * i["sigma3"], 1e2 * i["sigma3"], xtol=1e-12))
    plane = 90.0 - (45.0 + i["phi_deg"] / 2.0)
    return {"deviator": 2.0 * t, "max_shear": t, "plane_to_major_stress_deg": plane}


def triax_st(i: Inputs) -> Found:
    """Cohesion and friction angle of a series of tests."""
    minor = np.array(i["sigma3"], dtype=float)
    major = np.array(i["sigma1"]) if "sigma1" in i else minor + i["deviator"]
    s, t = stress_path_pair(major, minor, pore_pressure=np.array(i.get("u", 0.0)))
    fit = fit_triaxial(s, t, intercept="free").best_fit
    return {"c": fit.cohesion, "phi_deg": fit.friction_angle}


def units(_: Inputs) -> Found:
    """Pounds per cubic foot, and tons per square foot."""
    return {
        "N_m3_per_pcf": 1000.0 * unit_factor("pcf", "unit_weight")[0],
        "kPa_per_tsf_us": unit_factor("tsf", "stress")[0],
    }


def unit_factors(i: Inputs) -> Found:
    """Factors of units to those inside the program, by kind of quantity."""
    return {unit: unit_factor(unit, kind)[0] for kind, names in i.items() for unit in names}


METHODS: dict[str, Callable[[Inputs], Found]] = {
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
        units,
        unit_factors,
    )
}
"""By the name a row calls it."""
