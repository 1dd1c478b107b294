"""The rotation of the slope of a searched plane: a limit state beside sliding on the plane.

A plane is one mechanism among many. On a slope flatter than about 75° the critical plane
stands well above the critical log-spiral: at 45° and φ′ = 20° the planar critical height is
about three quarters too high (Chen 1975, Limit Analysis and Soil Plasticity, against
Culmann's plane). A plane that was given, such as bedding or an interface, is left to stand.

Crack, water, loads and support are those of the plane. A crack is in the rotation as deep as the
soil holds it open, at its place where that is given; a support force without a height meets the
face half way up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, with_part
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.stability.rotational.check import Rotational
from slipmargin.strength import Notice, Numeric, Severity, distinct

__all__ = ["rotation_of", "with_rotation"]

_HALF = 0.5


def rotation_of(wedge: PlanarWedgeInputs) -> Rotational:
    """The rotation of the same slope, not yet evaluated: it may refuse the slope."""
    of_plane = {name for name, _, _ in fields.of(wedge)}
    names = [name for name, _, _ in fields.of(Rotational) if name in of_plane and name != "target"]
    given: dict[str, Any] = {name: getattr(wedge, name) for name in names}
    # as deep as the soil holds it open, since the plane's own depth is that of its foot
    if wedge.tension_crack_distance is not None:
        given["search_tension_crack"] = True
    return Rotational(**given | {"support_height": _support_height(wedge)})


def _support_height(wedge: PlanarWedgeInputs) -> Numeric:
    """Height at which the support force meets the face, half way up where it is not given."""
    if wedge.support_height is not None:
        return wedge.support_height
    if wedge.height is not None:
        return _HALF * np.asarray(wedge.height)
    levels = np.asarray(wedge.ground_line, dtype=float)[:, 1]
    return _HALF * float(np.ptp(levels))


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
    unplaced = bool(np.any(wedge.support_force > 0.0)) and wedge.support_height is None
    aside = " In it the support force meets the face half way up: give its support_height."
    aside = aside if unplaced else ""
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
