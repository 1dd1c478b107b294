"""How high, how steep, how little cohesion: the limits of a plain slope for a target factor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from slipmargin.stability.fields import given
from slipmargin.stability.rotational.critical_spiral import hardest_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.spiral import LoadedSlope
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


def rotational_limits(
    slope: Callable[[float, float, float], LoadedSlope],
    *,
    height: float,
    any_height: bool,
    face_angle: float,
    flattest: float,
    cohesion: float,
    tan_friction_angle: float,
    target: float,
    on_face: bool,
) -> RotationalLimits:
    """Limits of a slope made from height [m], face angle [deg] and cohesion [kPa], by root
    finding on the cohesion that the strength reduced by the target requires. No greatest
    height without ``any_height``, where water, support or crack stand at their place.
    """
    tan = tan_friction_angle / target
    c = cohesion / target

    def needed(height: float, face_angle: float, own: float = cohesion) -> float:
        one = slope(height, face_angle, own)
        if tan < float(deep_tangent(one)[0]):
            return np.inf
        hardest = hardest_spirals(one, np.array([tan]), on_face=on_face)
        stands = tan >= float(skin_tangent(one)[0])
        return 0.0 if stands and hardest.cohesion[0] <= 0.0 else float(hardest.cohesion[0])

    # with more cohesion a crack that is searched for stays open deeper: come down from the most
    required = needed(height, face_angle, _ANY_CRACK * cohesion + _ANY_CRACK)
    for _ in range(_ROUNDS):
        if not np.isfinite(required):
            break
        before, required = required, needed(height, face_angle, target * max(required, 0.0))
        if abs(required - before) <= _CLOSE * abs(before):
            break
    tallest = _height(lambda h: needed(h, face_angle) - c, height) if any_height else np.nan
    return RotationalLimits(
        maximum_height=tallest,
        steepest_face_angle=_steepest(lambda beta: needed(height, beta) - c, flattest),
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
