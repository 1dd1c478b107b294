"""The rotation of the slope of a searched plane: a limit state beside sliding on the plane.

A plane is one mechanism among many. On a slope flatter than about 75° the critical plane
stands well above the critical log-spiral: at 45° and φ′ = 20° the planar critical height is
about three quarters too high (Chen 1975, Limit Analysis and Soil Plasticity, against
Culmann's plane). A plane that was given, such as bedding or an interface, is left to stand.

Not carried over to the rotation: a tension crack and the water in it, and a support force.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from slipmargin.stability.check import CheckResult, with_part
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.stability.rotational.check import Rotational
from slipmargin.strength import Notice, Severity, distinct

__all__ = ["rotation_of", "with_rotation"]


def rotation_of(wedge: PlanarWedgeInputs) -> Rotational:
    """The rotation of the same slope, not yet evaluated: it may refuse the slope."""
    return Rotational(
        soil=wedge.soil,
        height=wedge.height,
        face_angle=wedge.face_angle,
        upper_slope_angle=wedge.upper_slope_angle,
        ground_line=wedge.ground_line,
        pore_pressure_ratio=wedge.pore_pressure_ratio,
        water_line=None if np.any(np.asarray(wedge.standing_water_level) > 0) else wedge.water_line,
        surcharge=wedge.surcharge,
        horizontal_seismic_coefficient=wedge.horizontal_seismic_coefficient,
        water_unit_weight=wedge.water_unit_weight,
    )


def with_rotation(wedge: PlanarWedgeInputs, result: CheckResult) -> CheckResult:
    """The result of sliding with that of the rotation, and which of them governs."""
    found = with_part(result, "rotation", rotation_of(wedge), wedge.target)
    if "rotation" not in found.parts:
        return found
    plane, rotation = (float(np.min(found.factors_of_safety[s])) for s in ("sliding", "rotation"))
    # what stops the rotation stops the check; the rest is said of the plane already
    stops = [
        one
        for one in found.parts["rotation"].result.notices
        if one.severity == Severity.STOP and one.code != "below-one"
    ]
    notices = (*found.notices, _governing(wedge, plane, rotation), *stops)
    return replace(found, notices=distinct(notices))


def _governing(wedge: PlanarWedgeInputs, plane: float, rotation: float) -> Notice:
    left_out = []
    if wedge.tension_crack_distance is not None or wedge.search_tension_crack:
        left_out.append("the tension crack and the water in it")
    if np.any(np.asarray(wedge.support_force) > 0.0):
        left_out.append("the support force")
    if np.any(np.asarray(wedge.standing_water_level) > 0.0):
        left_out.append("the pool and all water in the slope")
    if np.any(np.asarray(wedge.water_line_rise) != 0.0):
        left_out.append("the rise of the water line")
    if np.any(np.asarray(wedge.surcharge_setback) > 0.0) or wedge.surcharge_width is not None:
        left_out.append("where the load starts and ends")
    aside = f" The rotation leaves out {' and '.join(left_out)}." if left_out else ""
    if rotation < plane:
        against = (
            f", {1.0 - rotation / plane:.0%} lower than the plane's {factor_text(plane)}"
            if np.isfinite(plane)
            else ", while nothing drives the plane"
        )
        return Notice.caution(
            "rotation-governs",
            f"The rotation of the same slope has a factor of {factor_text(rotation)}{against}: the "
            f"rotation governs.{aside}",
            "Chen (1975), Limit Analysis and Soil Plasticity",
        )
    return Notice.info(
        "plane-governs",
        f"The rotation of the same slope has a factor of {factor_text(rotation)}; the plane's "
        f"{factor_text(plane)} governs.{aside}",
    )
