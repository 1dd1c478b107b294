"""Runs the check values of the infinite slope."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from scipy.optimize import brentq

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def slope(c: float = 0.0, phi: float = 30.0, gamma: float = 19.0, **fields: Any) -> InfiniteSlope:
    """A slope 3 m deep that weighs the same above and below water."""
    soil = Soil(
        strength=Strength(cohesion=c, friction_angle=phi),
        unit_weight=gamma,
        saturated_unit_weight=gamma,
    )
    return InfiniteSlope(soil=soil, **({"depth": 3.0} | fields))


def factor(check: InfiniteSlope) -> float:
    """Factor of safety."""
    return float(check.evaluate().factors_of_safety["sliding"])


def steepest(target: float, **fields: Any) -> float:
    """Slope angle [deg] at which the factor is the target."""
    return float(
        brentq(lambda b: factor(slope(slope_angle=b, **fields)) - target, 0.1, 80.0, xtol=1e-10)
    )


def to_surface(water_unit_weight: float) -> dict[str, float]:
    """Water up to the surface."""
    return {"water_table_depth": 0.0, "water_unit_weight": water_unit_weight}


def seepage_max_slope(i: Inputs) -> Found:
    """Steepest slope with seepage at the surface, and its factor when dry."""
    beta = steepest(i["fs"], phi=i["phi"], gamma=i["gamma_sat"], **to_surface(i["gw"]))
    dry = slope(phi=i["phi"], gamma=i["gamma_sat"], slope_angle=beta)
    return {"beta": beta, "fs_dry": factor(dry)}


def infinite_undrained_two_layer(i: Inputs) -> Found:
    """Depth of failure: above the lower layer, the upper one is a surcharge."""
    upper = slope(i["su1"], 0.0, i["gamma1"], depth=i["h1"], slope_angle=i["beta"]).evaluate()
    in_upper = float(upper.values.critical_depth)
    lower = slope(
        i["su2"], 0.0, i["gamma2"], slope_angle=i["beta"], surcharge=i["gamma1"] * i["h1"]
    ).evaluate()
    in_lower = i["h1"] + float(lower.values.critical_depth)
    return {"depth": in_upper if in_upper <= i["h1"] else in_lower}


def infinite_fs(i: Inputs) -> Found:
    """Factor and stresses of a slope given by its angle or its cotangent."""
    beta = i["beta"] if "beta" in i else math.degrees(math.atan(1.0 / i["cot"]))
    water = {}
    if "hw" in i:
        water = {"water_table_depth": i["z"] - i["hw"], "water_unit_weight": i["gw"]}
    result = slope(i["c"], i["phi"], i["gamma"], slope_angle=beta, depth=i["z"], **water).evaluate()
    v = result.values
    return {
        "fs": result.factors_of_safety["sliding"],
        "u": v.pore_pressure,
        "sigma_eff": v.effective_normal_stress,
        "tau": v.shear_stress,
        "strength": v.shear_strength,
        "ru": i.get("gw", 0.0) * float(v.water_height) / (i["gamma"] * i["z"]),
    }


def infinite_submerged(i: Inputs) -> Found:
    """A cohesionless slope under still water."""
    fields = {"slope_angle": i["beta"], "depth": i["z"], "submerged": True}
    return {"fs": factor(slope(0.0, i["phi"], i["gamma"], **fields))}


def infinite_depth_for_fs(i: Inputs) -> Found:
    """Depth at which the factor is the target."""
    check = slope(i["c"], i["phi"], i["gamma"], slope_angle=i["beta"], target=i["fs"])
    return {"depth": check.evaluate().values.critical_depth}


def ec7_infinite_stability_number(i: Inputs) -> Found:
    """Cohesion for the target over γH; the water is chosen so that u = r_u γ z cos²β."""
    gamma, depth = 20.0, 2.5
    check = slope(
        0.0,
        i["phi"],
        gamma,
        slope_angle=math.degrees(math.atan(1.0 / i["cot"])),
        depth=depth,
        target=i["F"],
        **to_surface(i["ru"] * gamma),
    )
    return {"Nk": float(check.evaluate().values.required_cohesion) / (gamma * depth)}


def seepage_phi_required(i: Inputs) -> Found:
    """Friction angle that just holds, seepage at the surface."""
    water = to_surface(i["gw"])
    check = slope(gamma=i["gamma_sat"], slope_angle=i["beta"], target=1.0, **water)
    return {"phi": check.evaluate().values.required_friction_angle}


def horiz_seepage_limit(i: Inputs) -> Found:
    """Slope that just holds where water leaves it level."""
    wet = to_surface(i["gw"]) | {"seepage_angle": 0.0}
    beta = brentq(
        lambda b: factor(slope(0.0, i["phi"], i["gamma"], slope_angle=b, **wet)) - 1.0, 1.0, 29.0
    )
    return {"beta": beta}


def yield_acc_dry_sand(i: Inputs) -> Found:
    """Yield coefficient as the check gives it, and by way of the static factor."""
    result = slope(phi=i["phi"], slope_angle=i["beta"]).evaluate()
    beta, phi = math.radians(i["beta"]), math.radians(i["phi"])
    f = float(result.factors_of_safety["sliding"])
    from_fs = (f - 1.0) * math.sin(beta) / (math.cos(beta) + math.sin(beta) * math.tan(phi))
    return {"ky": result.values.yield_seismic_coefficient, "from_fs": from_fs}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        seepage_max_slope,
        infinite_undrained_two_layer,
        infinite_fs,
        infinite_submerged,
        infinite_depth_for_fs,
        ec7_infinite_stability_number,
        seepage_phi_required,
        horiz_seepage_limit,
        yield_acc_dry_sand,
    )
}
"""By the name a row calls it."""
