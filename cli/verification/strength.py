"""Runs the check values of the fits: lines, their limits, curves, robust lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from slipmargin.cli.verification.shear_tests import tests_from_forces
from slipmargin.strength import Readings, Specimen, fit_envelope, fit_line, reduce_readings
from slipmargin.strength.envelope.cautious import cautious_line
from slipmargin.strength.envelope.diagnostics import theil_sen
from slipmargin.strength.envelope.power_curve import fit_power_curve
from slipmargin.strength.line import student_t
from slipmargin.strength.quantities import unit_factor

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def mc_stress(i: Inputs) -> Found:
    """Friction angle of stresses, through the origin."""
    count = len(i["sigma"])
    factor, _ = unit_factor(i["unit"], "stress")
    nothing = np.full(count, np.nan)
    readings = Readings(
        test=tuple(str(k) for k in range(count)),
        state=("peak",) * count,
        normal=factor * np.array(i["sigma"], dtype=float),
        shear=factor * np.array(i["tau"], dtype=float),
        low=nothing,
        high=nothing,
        unit="kPa",
    )
    fit = fit_envelope(reduce_readings(readings), intercept="zero")
    return {"phi_deg": fit.best_fit.friction_angle}


def mc_force(i: Inputs) -> Found:
    """Friction angle of forces on a round specimen, through the origin."""
    box = Specimen(shape="circle", width=i["diameter_mm"], height=i["height_mm"])
    tests = tests_from_forces(box, i["normal_force_N"], i["shear_force_N"])
    return {"phi_deg": fit_envelope(tests, intercept="zero").best_fit.friction_angle}


def clean_dry_sand(i: Inputs) -> Found:
    """A cohesionless soil, its intercept zero."""
    box = Specimen(shape="square", width=i["width_mm"])
    tests = tests_from_forces(box, i["normal_force_N"], i["shear_force_N"])
    fit = fit_envelope(tests, intercept="zero", cohesionless=True).best_fit
    return {"c": fit.cohesion, "tan_phi": math.tan(math.radians(fit.friction_angle))}


def two_boxes(i: Inputs) -> Found:
    """The same forces on boxes of several sizes."""
    fits = [
        fit_envelope(
            tests_from_forces(
                Specimen(shape="square", width=width), i["normal_force_N"], i["shear_force_N"]
            )
        ).best_fit
        for width in i["widths_mm"]
    ]
    return {
        "tan_phi": [math.tan(math.radians(fit.friction_angle)) for fit in fits],
        "c": [fit.cohesion for fit in fits],
    }


def summary(x: Any, y: Any, *, intercept: bool) -> dict[str, float]:
    """What a regression prints."""
    line = fit_line(x, y, intercept=intercept)
    heights = line.value(x) - (np.mean(y) if intercept else 0.0)
    explained, left = float(np.sum(heights**2)), float(np.sum(line.residuals**2))
    scatter = math.sqrt(float(line.residual_variance))
    return {
        "intercept": float(line.intercept),
        "slope": float(line.slope),
        "sd_intercept": scatter * math.sqrt(float(line.variance_factors[0])),
        "sd_slope": scatter * math.sqrt(float(line.variance_factors[1])),
        "resid_sd": scatter,
        "r2": float(line.r_squared),
        "ss_regression": explained,
        "ss_residual": left,
        "mse": float(line.residual_variance),
        "f_stat": explained / float(line.residual_variance),
    }


def linear(i: Inputs) -> Found:
    """A line with its intercept free."""
    return summary(i["x"], i["y"], intercept=True)


def origin(i: Inputs) -> Found:
    """A line through the origin."""
    return summary(i["x"], i["y"], intercept=False)


def mean_interval(i: Inputs) -> Found:
    """Limits of the line, of a new observation, and of intercept and slope."""
    line = fit_line(i["x"], i["y"])
    at = np.array(i["x0"], dtype=float)
    t = student_t((1.0 + i["level"]) / 2.0, line.degrees_of_freedom)
    fit, error = line.value(at), line.standard_error(at)
    of_new = np.sqrt(error**2 + line.residual_variance)
    found = summary(i["x"], i["y"], intercept=True)
    return {
        "t": t,
        "fit": fit,
        "se_fit": error,
        "ci_low": fit - t * error,
        "ci_high": fit + t * error,
        "pi_low": fit - t * of_new,
        "pi_high": fit + t * of_new,
        "a_low": found["intercept"] - t * found["sd_intercept"],
        "a_high": found["intercept"] + t * found["sd_intercept"],
        "b_low": found["slope"] - t * found["sd_slope"],
        "b_high": found["slope"] + t * found["sd_slope"],
    }


def kn(i: Inputs) -> Found:
    """Factor for a 5 % value, standard deviation from the sample."""
    return {"kn": [student_t(0.95, n - 1) * math.sqrt(1.0 + 1.0 / n) for n in i["n"]]}


def kn_mean(i: Inputs) -> Found:
    """Factor for the lower limit of a mean."""
    return {"kn": [student_t(0.95, n - 1) / math.sqrt(n) for n in i["n"]]}


def student(i: Inputs) -> Found:
    """Quantiles of Student's t."""
    return {
        name: [student_t(level, count) for count in i["degrees_of_freedom"]]
        for name, level in (("t_0_95", 0.95), ("t_0_975", 0.975))
    }


def char(i: Inputs) -> Found:
    """Lower 95 % limits of means: a cautious line through the origin over equal stresses of 1."""
    ones = np.ones(len(i["c_kPa"]))

    def limit(measured: Any) -> float:
        line = fit_line(ones, measured, intercept=False)
        scatter = np.sqrt(line.residual_variance)
        return float(cautious_line(line, 1.0, 1.0, scatter, 0.95)[1])

    slope = limit(np.tan(np.radians(i["phi_deg"])))
    return {"phi_k_deg": math.degrees(math.atan(slope)), "c_k_kPa": limit(i["c_kPa"])}


def power(i: Inputs) -> Found:
    """A power curve, reference pressure 1."""
    curve = fit_power_curve(i["x"], i["y"], reference_pressure=1.0)
    return {
        "b1": curve.coefficient,
        "b2": curve.exponent,
        "sd_b1": math.sqrt(curve.variances[0]),
        "sd_b2": math.sqrt(curve.variances[1]),
        "ss_residual": curve.residual_std**2 * curve.degrees_of_freedom,
        "resid_sd": curve.residual_std,
    }


def robust(i: Inputs) -> Found:
    """The median of slopes; the intercept makes the median residual zero."""
    pair = theil_sen(i["x"], i["y"])
    if pair is None:
        return {}
    slope = math.tan(math.radians(pair.friction_angle))
    return {"slope": slope, "intercept_joint": pair.cohesion}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    "mc_stress": mc_stress,
    "mc_force": mc_force,
    "clean_dry_sand": clean_dry_sand,
    "two_boxes": two_boxes,
    "linear": linear,
    "origin": origin,
    "mean_interval": mean_interval,
    "kn": kn,
    "kn_mean": kn_mean,
    "student": student,
    "char": char,
    "power": power,
    "theil_sen": robust,
}
"""By the name a row calls it."""
