"""Runs the check values of the rotational slide."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from slipmargin.stability import Rotational, Soil
from slipmargin.stability.planar_wedge.closed_forms import (
    culmann_critical_height,
    dry_planar_factor,
)
from slipmargin.stability.rotational.critical_spiral import hardest_spirals
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.log_spiral import cohesion_required, spiral_through
from slipmargin.strength import Strength

__all__ = ["METHODS", "stability_number", "toe_number"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def slope(c: Any, phi: Any, gamma: Any, **fields: Any) -> Rotational:
    """A plain dry slope."""
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    return Rotational(soil=soil, **fields)


def stability_number(phi: ArrayLike, beta: ArrayLike) -> NDArray[np.float64]:
    """γH/c at failure: with γ = H = 1 the inverse of the cohesion that is required."""
    face, angle = np.broadcast_arrays(np.atleast_1d(beta).astype(float), phi)
    unit = slope(1.0, angle, 1.0, height=1.0, face_angle=face)
    ground = loaded_slope(unit, face.shape)
    found = hardest_spirals(ground, np.tan(np.radians(angle)), on_face=False)
    return 1.0 / found.cohesion


def toe_number(phi: float, beta: float) -> float:
    """γH/c at failure of spirals through the toe alone: a grid that closes in on the lowest."""
    ground = loaded_slope(slope(1.0, phi, 1.0, height=1.0, face_angle=beta), ())
    tan = np.tan(np.radians([phi]))
    crest = 1.0 / math.sin(math.radians(beta))
    middle, reach = np.zeros(2), np.array([3.0, 2.0])  # logs of distance behind it and opening
    required = 0.0
    for _ in range(14):
        behind, opening = (
            np.linspace(m - r, m + r, 25) for m, r in zip(middle, reach, strict=True)
        )
        log_end, log_opening = (axis.reshape(1, -1) for axis in np.meshgrid(behind, opening))
        spiral = spiral_through(
            ground, np.zeros((1, 1)), crest + np.exp(log_end), np.exp(log_opening), tan[:, None]
        )
        cohesion = np.asarray(cohesion_required(ground, spiral, 16)[0])[0]
        best = int(np.argmax(np.where(np.isfinite(cohesion), cohesion, -np.inf)))
        middle = np.array([log_end[0, best], log_opening[0, best]])
        required, reach = float(cohesion[best]), reach / 3.0
    return 1.0 / required


def by_angle(betas: list[float], numbers: Any) -> Found:
    """Numbers named by the slope angle."""
    return {f"b{beta:.0f}": one for beta, one in zip(betas, numbers, strict=True)}


def logspiral_row(i: Inputs) -> Found:
    """γH/c over slope angles."""
    return by_angle(i["betas"], stability_number(i["phi"], i["betas"]))


def logspiral_number_row(i: Inputs) -> Found:
    """c/γH over slope angles, of all spirals or of those through the toe."""
    if i["toe"]:
        return by_angle(i["betas"], [1.0 / toe_number(i["phi"], beta) for beta in i["betas"]])
    return by_angle(i["betas"], 1.0 / stability_number(i["phi"], i["betas"]))


def logspiral_vertical_tan(i: Inputs) -> Found:
    """γH / (c tan(45 + φ/2)) of a vertical cut."""
    number = float(stability_number(i["phi"], 90.0)[0])
    return {"coef": number / math.tan(math.radians(45.0 + i["phi"] / 2.0))}


def phi0_critical_beta(_: Inputs) -> Found:
    """Slope angle at which circles through the toe take over from deep ones."""
    deep = float(stability_number(0.0, 30.0)[0])
    return {"beta": brentq(lambda b: toe_number(0.0, b) - deep, 60.0, 47.0, xtol=1e-3)}


def phi0_toe_height(i: Inputs) -> Found:
    """Height of a cut for the factor, by circles through the toe."""
    found = toe_number(0.0, i["beta"])
    return {"H": found * i["cu"] / i["fs"] / i["gamma"], "m": 1.0 / found}


def logspiral_fs(i: Inputs) -> Found:
    """Factor of safety of a slope."""
    check = slope(i["c"], i["phi"], i["gamma"], height=i["H"], face_angle=i["beta"])
    return {"fs": check.evaluate().factors_of_safety["sliding"]}


def phi0_deep_fs(i: Inputs) -> Found:
    """Factor and c/γH of a slope without friction."""
    check = slope(i["cu"], 0.0, i["gamma"], height=i["H"], face_angle=i["beta"])
    values: Any = check.evaluate().values
    return {"fs": values.factor_of_safety, "m": 1.0 / float(values.stability_number)}


def planar_over_spiral(i: Inputs) -> Found:
    """By how much a plane overstates the height, and the factor where the spiral's is 1."""
    beta, phi = np.array(i["beta"], dtype=float), np.array(i["phi"], dtype=float)
    number = stability_number(phi, beta)
    planar = culmann_critical_height(beta, cohesion=1.0, friction_angle=phi, unit_weight=1.0)
    factor = dry_planar_factor(
        beta, height=1.0, cohesion=1.0, friction_angle=phi, unit_weight=number
    )
    return {"height_ratio": planar / number, "planar_factor": factor}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        logspiral_row,
        logspiral_number_row,
        logspiral_vertical_tan,
        phi0_critical_beta,
        phi0_toe_height,
        logspiral_fs,
        phi0_deep_fs,
        planar_over_spiral,
    )
}
"""By the name a row calls it."""
