"""How high, how steep, how little cohesion: the limits of a plain slope for a target factor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from slipmargin.stability.fields import given
from slipmargin.stability.rotational.critical_spiral import hardest_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.strength import Numeric

__all__ = ["RotationalLimits", "rotational_limits"]

_HEIGHTS = 1e-3, 1e3
_ANY_CRACK = 1e6  # kPa; holds open as deep a crack as is searched for
_ROUNDS, _CLOSE = 40, 1e-9


@dataclass(frozen=True, slots=True)
class RotationalLimits:
    """Limits at which the factor is the target; nan where there is none."""

    maximum_height: Numeric = given("m", "H_max", "Height at which the factor is the target.")
    steepest_face_angle: Numeric = given(
        "deg", "β_max", "Face angle at which the factor is the target; 90: any face stands."
    )
    required_cohesion: Numeric = given(
        "kPa", "c_req", "Cohesion that meets the target, friction angle held; none does: nan."
    )


def rotational_limits(check: RotationalInputs) -> RotationalLimits:
    """Limits of a plain slope of scalars, by root finding on the cohesion that the strength
    reduced by the target requires. No greatest height where water, support or crack stand at
    their place.
    """
    strength, target = check.soil.strength, 1.0 if check.target is None else float(check.target)
    cohesion, face_angle = float(strength.cohesion), float(check.face_angle)  # type: ignore[arg-type]
    height = float(check.height)  # type: ignore[arg-type]
    tan, c = float(strength.tan_friction_angle) / target, cohesion / target

    def needed(height: float, face_angle: float, own: float = cohesion) -> float:
        soil = replace(check.soil, strength=replace(strength, cohesion=own))
        one = loaded_slope(replace(check, soil=soil, height=height, face_angle=face_angle), ())
        if tan < float(deep_tangent(one)[0]):
            return np.inf
        required = float(hardest_spirals(one, np.array([tan])).cohesion[0])
        return 0.0 if tan >= float(skin_tangent(one)[0]) and required <= 0.0 else required

    # with more cohesion a crack that is searched for stays open deeper: come down from the most
    required = needed(height, face_angle, _ANY_CRACK * cohesion + _ANY_CRACK)
    for _ in range(_ROUNDS):
        if not np.isfinite(required):
            break
        before, required = required, needed(height, face_angle, target * max(required, 0.0))
        if abs(required - before) <= _CLOSE * abs(before):
            break
    placed = (check.tension_crack_depth, check.standing_water_level, check.support_force)
    any_height = not any(one is not None and float(one) > 0.0 for one in placed)
    tallest = _height(lambda h: needed(h, face_angle) - c, height) if any_height else np.nan
    return RotationalLimits(
        maximum_height=tallest,
        steepest_face_angle=_steepest(
            lambda beta: needed(height, beta) - c, float(check.upper_slope_angle)
        ),
        required_cohesion=target * max(required, 0.0) if np.isfinite(required) else np.nan,
    )


def _height(lacking: Callable[[float], float], height: float) -> float:
    low, high = (height * share for share in _HEIGHTS)
    if not lacking(low) <= 0.0 < lacking(high) < np.inf:
        return float(np.nan)
    return float(np.exp(_root(lambda log: lacking(np.exp(log)), np.log(low), np.log(high))))


def _steepest(lacking: Callable[[float], float], flattest: float) -> float:
    low = flattest + 0.5
    if not low < 90.0 or not lacking(low) <= 0.0:
        return float(np.nan)
    if lacking(90.0) <= 0.0:
        return 90.0
    return _root(lacking, low, 90.0)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq  # noqa: PLC0415 - a slow import, for limits only

    return float(brentq(function, low, high, xtol=1e-9, rtol=1e-10))
