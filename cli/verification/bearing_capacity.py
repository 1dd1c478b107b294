"""Runs the check values of bearing capacity."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from slipmargin.stability.earth_pressure.profile import Layer, layer_overburden
from slipmargin.stability.retaining_wall.bearing_capacity import (
    bearing_capacity,
    superposed_capacity,
    unit_weight_below_base,
)
from slipmargin.stability.retaining_wall.bearing_factors import (
    Terms,
    bearing_factors,
    inclination_factors,
    shape_factors,
)
from slipmargin.stability.soil import Soil
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def bearing_factor_table(i: Inputs) -> Found:
    """Bearing capacity factors of one formula, or of several that differ in N_γ."""
    formulas = [i["formula"]] if isinstance(i["formula"], str) else i["formula"]
    found = {name: bearing_factors(name, np.array(i["phi"], dtype=float)) for name in formulas}
    first = found[formulas[0]]
    by_formula = {f"Ng_{name}": one.weight for name, one in found.items()}
    return {"Nc": first.cohesion, "Nq": first.overburden, "Ng": first.weight} | by_formula


def ec7_annex_d(i: Inputs) -> Found:
    """A footing whose H lies between its sides: the annex turns m with its direction."""
    ratio = i["B_eff"] / i["L_eff"]
    m_b, m_l = (2 + ratio) / (1 + ratio), (2 + 1 / ratio) / (1 + 1 / ratio)
    turn = math.atan2(i["HB"], i["HL"])
    m = m_l * math.cos(turn) ** 2 + m_b * math.sin(turn) ** 2
    n = bearing_factors("annex_d", i["phi"])
    s = shape_factors("annex_d", i["phi"], ratio)
    tilt = inclination_factors(
        "annex_d",
        i["phi"],
        cohesion=i["c"],
        vertical_force=i["V"],
        horizontal_force=math.hypot(i["HB"], i["HL"]),
        area=i["B_eff"] * i["L_eff"],
        exponent=m,
    )
    capacity = superposed_capacity(
        cohesion=i["c"],
        overburden=i["q"],
        unit_weight=i["gamma"],
        width=i["B_eff"],
        factors=n,
        modifiers=(s, tilt),
    )
    return {
        "Nq": n.overburden,
        "Ng": n.weight,
        "Nc": n.cohesion,
        "sq": s.overburden,
        "sc": s.cohesion,
        "sg": s.weight,
        "mB": m_b,
        "mL": m_l,
        "m": m,
        "iq": tilt.overburden,
        "ic": tilt.cohesion,
        "ig": tilt.weight,
        "qR": capacity,
    }


def terzaghi_footing(i: Inputs) -> Found:
    """Three terms added up with printed factors; total for a square."""
    capacity = superposed_capacity(
        cohesion=i["c"],
        overburden=i["q"],
        unit_weight=i["gamma"],
        width=i["B"],
        factors=Terms(i["Nc"], i["Nq"], i["Ng"]),
        modifiers=(Terms(i["sc"], 1.0, 2.0 * i["sg"]),),
    )
    allowed = float(capacity) / i["FS"]
    return {"qall": allowed, "Qall": allowed * i["B"] ** 2}


def meyerhof_square_wt(i: Inputs) -> Found:
    """A square footing with water above its base."""
    buoyant = i["gamma_sat"] - i["gamma_w"]
    beside = Soil(
        strength=Strength(cohesion=0.0, friction_angle=i["phi"]),
        unit_weight=i["gamma"],
        saturated_unit_weight=i["gamma_sat"],
    )
    overburden = layer_overburden(
        (Layer(soil=beside, thickness=i["D"]),),
        water_table_depth=i["zw"],
        water_unit_weight=i["gamma_w"],
    ).lower[-1]
    found = bearing_capacity(
        "meyerhof",
        friction_angle=i["phi"],
        cohesion=0.0,
        overburden=overburden,
        unit_weight=unit_weight_below_base(i["gamma"], buoyant, i["zw"] - i["D"], i["B"]),
        width=i["B"],
        effective_width=i["B"],
        effective_length=i["B"],
        depth=i["D"],
        vertical_force=1.0,
    )
    return {
        "Nq": found.factors.overburden,
        "Ng": found.factors.weight,
        "Q_all": float(found.capacity) / i["FS"] * i["B"] ** 2,
    }


METHODS: dict[str, Callable[[Inputs], Found]] = {
    "bearing_factor_table": bearing_factor_table,
    "ec7_annexD": ec7_annex_d,
    "terzaghi_footing": terzaghi_footing,
    "meyerhof_square_wt": meyerhof_square_wt,
}
"""By the name a row calls it."""
