"""Runs the check values of the planar wedge."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from slipmargin.stability import Soil
from slipmargin.stability.planar_wedge.check import PlanarWedge, PlanarWedgeValues
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def slope(c: float, phi: float, gamma: float, **fields: Any) -> PlanarWedge:
    """A slope; where no plane is given, it is searched."""
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    return PlanarWedge(soil=soil, **fields)


def wedge(c: float, phi: float, gamma: float, **fields: Any) -> PlanarWedgeValues:
    """Values of a slope."""
    values: PlanarWedgeValues = slope(c, phi, gamma, **fields).evaluate().values
    return values


def culmann_height(i: Inputs) -> Found:
    """Greatest height for the target."""
    c, phi = i.get("c", i.get("c_d")), i.get("phi", i.get("phi_d"))
    fields = {"height": 5.0, "face_angle": i["beta"], "target": i.get("fs", 1.0)}
    return {"H": slope(c, phi, i["gamma"], **fields).limits().maximum_height}


def culmann_vertical_factor(i: Inputs) -> Found:
    """γH/c of a vertical cut that just stands."""
    found = slope(10.0, i["phi"], 20.0, height=3.0, face_angle=90.0).limits()
    return {"Ns": float(found.maximum_height) * 20.0 / 10.0}


def vertical_cracked_factor(i: Inputs) -> Found:
    """γH / (c tan(45 + φ/2)) with the cohesion that just holds a cracked vertical cut."""
    height, gamma, phi = 6.0, 18.0, i["phi"]
    plane = 45.0 + 0.5 * phi
    distance = (1.0 - i["crack_ratio"]) * height / math.tan(math.radians(plane))
    v = wedge(
        0.0,
        phi,
        gamma,
        height=height,
        face_angle=90.0,
        plane_angle=plane,
        tension_crack_distance=distance,
    )
    needed = float((v.driving_force - v.shear_strength_force) / v.base_length)
    return {"coef": gamma * height / needed / math.tan(math.radians(plane))}


def plane_block(i: Inputs) -> Found:
    """A block on a given plane, in front of a crack that may hold water.

    The source's A is the area of a metre of plane, so the length of the plane.
    """
    v = wedge(
        i["c"],
        i["phi"],
        i["gamma_r"],
        height=i["H"],
        face_angle=i["psi_f"],
        plane_angle=i["psi_p"],
        tension_crack_distance=i["b"],
        tension_crack_water_depth=i["zw"],
        water_unit_weight=i["gamma_w"],
    )
    return {
        "A": v.base_length,
        "W": v.weight,
        "U": v.uplift,
        "V": v.crack_thrust,
        "z": v.tension_crack_depth,
        "fs": v.factor_of_safety,
    }


def critical_crack(i: Inputs) -> Found:
    """The worst crack on the given plane, searched; rock, whose strength holds any open."""
    v = wedge(
        900.0,
        30.0,
        19.0,
        height=i["H"],
        face_angle=i["psi_f"],
        plane_angle=i["psi_p"],
        search_tension_crack=True,
    )
    depth = float(v.tension_crack_depth)
    return {"z": depth, "b": v.tension_crack_distance, "z_over_H": depth / i["H"]}


def cohesionless_face(i: Inputs) -> Found:
    """The worst plane without cohesion, searched."""
    v = wedge(0.0, i["phi"], 19.0, height=7.0, face_angle=i["psi_f"])
    return {"fs": v.factor_of_safety, "psi_p": v.plane_angle}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        culmann_height,
        culmann_vertical_factor,
        vertical_cracked_factor,
        plane_block,
        critical_crack,
        cohesionless_face,
    )
}
"""By the name a row calls it."""
