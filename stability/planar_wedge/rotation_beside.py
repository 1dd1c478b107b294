"""Sets a searched plane beside the rotation of the same slope, and says which governs.

A plane is one mechanism among many. On a slope flatter than about 75° the critical plane
stands well above the critical log-spiral: at 45° and φ′ = 20° the planar critical height is
about three quarters too high (Chen 1975, Limit Analysis and Soil Plasticity, against
Culmann's plane). A plane that was given, such as bedding or an interface, is left to stand.

Not carried over to the rotation: a tension crack and the water in it, and a support force.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.stability.check import Check, CheckResult, factors_alone, lowest_of
from slipmargin.stability.design.customary_targets import ROTATION
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import InputError, Notice, Numeric

if TYPE_CHECKING:
    from slipmargin.stability.planar_wedge.check import PlanarWedge
    from slipmargin.stability.rotational.check import Rotational

__all__ = [
    "Beside",
    "factors_judged",
    "lowest_governing",
    "rotation_factors",
    "rotation_of",
    "set_beside",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """The rotation of the same slope beside a searched plane.

    Parameters
    ----------
    check, result
        The rotational check and what it gave; both ``None`` where it has no answer.
    lower
        Lower of the two factors.
    governs
        ``rotational`` or ``planar_wedge``, by the lowest factor.
    notices
        Which governs, and by how much.
    """

    check: Rotational | None
    result: CheckResult | None
    lower: Numeric
    governs: str
    notices: tuple[Notice, ...]


def rotation_of(check: Any) -> Rotational | None:
    """The rotation of the same slope, where a plane was searched for.

    Returns
    -------
    Rotational or None
        Not yet evaluated: it may refuse the slope. ``None`` for any other check.
    """
    if getattr(check, "plane_angle", 0.0) is not None:
        return None
    # only where both are wanted: neither is needed to look at another kind
    from slipmargin.stability.rotational.check import Rotational  # noqa: PLC0415

    return Rotational(
        soil=check.soil,
        height=check.height,
        face_angle=check.face_angle,
        upper_slope_angle=check.upper_slope_angle,
        ground_line=check.ground_line,
        pore_pressure_ratio=check.pore_pressure_ratio,
        water_line=None if np.any(np.asarray(check.standing_water_level) > 0) else check.water_line,
        surcharge=check.surcharge,
        horizontal_seismic_coefficient=check.horizontal_seismic_coefficient,
        water_unit_weight=check.water_unit_weight,
    )


def rotation_factors(check: Check) -> Mapping[str, Numeric]:
    """Factors of the rotation beside a searched plane; none for any other check.

    Raises
    ------
    InputError
        As the rotation's own ``evaluate``.
    """
    rotation = rotation_of(check)
    return {} if rotation is None else factors_alone(rotation)


def factors_judged(check: Check) -> Mapping[str, Numeric]:
    """Factors of a check, that of the rotation beside a searched plane among them.

    Raises
    ------
    InputError
        As ``evaluate`` of either.
    """
    turned = rotation_factors(check)
    beside = {ROTATION: turned["sliding"]} if turned else {}
    return {**factors_alone(check), **beside}


def lowest_governing(check: Check) -> Numeric:
    """Lowest factor of a check, that of the rotation beside a searched plane included.

    Raises
    ------
    InputError
        As ``evaluate`` of either.
    """
    return lowest_of(factors_judged(check))


def set_beside(check: Any, result: CheckResult) -> Beside | None:
    """Run the rotation of the same slope, where a plane was searched for.

    Parameters
    ----------
    check, result
        Any check and what it gave; only a planar wedge with a searched plane has one beside.

    Returns
    -------
    Beside or None
    """
    rotation = rotation_of(check)
    if rotation is None:
        return None
    planar = result.factors_of_safety["sliding"]
    try:
        beside = rotation.evaluate()
    except InputError as error:
        return Beside(
            check=None,
            result=None,
            lower=planar,
            governs="planar_wedge",
            notices=(
                Notice.caution(
                    "rotation-not-run",
                    f"The rotation of this slope could not be run beside the plane ({error}); "
                    "a lower factor may exist.",
                ),
            ),
        )
    rotational = beside.factors_of_safety["sliding"]
    lower = np.minimum(planar, rotational)
    low_plane, low_rotation = float(np.min(planar)), float(np.min(rotational))
    governs = "rotational" if low_rotation < low_plane else "planar_wedge"
    return Beside(
        check=rotation,
        result=beside,
        lower=lower,
        governs=governs,
        notices=_notices(check, low_plane, low_rotation),
    )


def _notices(check: PlanarWedge, plane: float, rotation: float) -> tuple[Notice, ...]:
    left_out = []
    if check.tension_crack_distance is not None or check.search_tension_crack:
        left_out.append("the tension crack and the water in it")
    if np.any(np.asarray(check.support_force) > 0.0):
        left_out.append("the support force")
    if np.any(np.asarray(check.standing_water_level) > 0.0):
        left_out.append("the pool and all water in the slope")
    if np.any(np.asarray(check.water_line_rise) != 0.0):
        left_out.append("the rise of the water line")
    if np.any(np.asarray(check.surcharge_setback) > 0.0) or check.surcharge_width is not None:
        left_out.append("where the load starts and ends")
    aside = f" The rotation leaves out {' and '.join(left_out)}." if left_out else ""
    if rotation < plane:
        against = (
            f", {1.0 - rotation / plane:.0%} lower than the plane's {factor_text(plane)}"
            if np.isfinite(plane)
            else ", while nothing drives the plane"
        )
        found = Notice.caution(
            "rotation-governs",
            f"The rotation of the same slope has a factor of {factor_text(rotation)}{against}: the "
            f"rotation governs.{aside}",
            "Chen (1975), Limit Analysis and Soil Plasticity",
        )
    else:
        found = Notice.info(
            "plane-governs",
            f"The rotation of the same slope has a factor of {factor_text(rotation)}; the plane's "
            f"{factor_text(plane)} governs.{aside}",
        )
    return (found,)
