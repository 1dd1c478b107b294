"""A pool that stands against a slope: the force and moment of its pressure on the ground.

At a depth d below the pool the water presses at a right angle to the ground with γ_w d. On a
straight piece of ground the pressure, x and y are linear in the length along it, so that
force and moment are exact sums over the pieces, each cut off at the pool's level.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.fields import Amount
from slipmargin.strength import Notice, Numeric

__all__ = [
    "MOVING_WATER_HEIGHT",
    "STILL_POOL",
    "PoolPressure",
    "StandingWaterInputs",
    "drawdown_notices",
    "moving_water_thrust",
    "pool_pressure",
    "pool_thrust",
]


Float = NDArray[np.float64]

_MORGENSTERN = (
    "Morgenstern (1963), Géotechnique 13(2): no drainage, pressure falls with the water on the "
    "face (from memory)"
)

STILL_POOL = Notice.caution(
    "pool-still-in-shaking",
    "The pool presses as still water. In shaking its pressure falls for moments as it moves away "
    "from the slope, which is left out here.",
)
"""Owed where a slope under a pool is shaken."""

MOVING_WATER_HEIGHT = 0.4
"""Where the thrust of moving water acts, above its bed, of its depth."""


@dataclass(frozen=True, kw_only=True)
class StandingWaterInputs:
    """A pool in front of the slope; a scalar or an array."""

    __slots__ = ()

    standing_water_level: Annotated[
        Numeric,
        Amount("length", "h_p", "Level of a pool against the slope, above the toe.", low=0.0),
    ] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolPressure:
    """What a pool does to the ground, for a metre run.

    Parameters
    ----------
    into_slope, downward
        Parts of its force along x, and against y [kN/m].
    moment
        About the origin, counter-clockwise [kN·m/m].
    """

    into_slope: Numeric
    downward: Numeric
    moment: Numeric


def drawdown_notices(
    drawn: Numeric, factor: Numeric, target: Numeric | None, remark: str = ""
) -> tuple[Notice, ...]:
    """What happens if a pool is drawn down: a stop where the slope does not stand then.

    Parameters
    ----------
    drawn, factor
        Factors with the pool gone and with it, arrays that broadcast; nan where there is none.
    target
        Factor asked for; without one no factor is enough to say it lightly.
    remark
        A sentence on how the factor was found.
    """
    gone, held = np.broadcast_arrays(*(np.asarray(one, dtype=float) for one in (drawn, factor)))
    known = np.isfinite(gone)
    how = (
        "If the pool is drawn down faster than the ground drains, its pressure on the face is "
        "gone while the water stays in the ground, up to the old level behind the face and to "
        "the face below: "
    )
    after = (
        "Soil that cannot drain may be weaker still, and a lower pool may be worse than a full "
        "one: sweep standing_water_level."
    )
    if not np.any(known):
        text = how + f"no factor was found for that. {after}"
        return (Notice.caution("rapid-drawdown", text, _MORGENSTERN),)
    lowest = float(np.min(gone[known]))
    middle = (
        f"the factor is then {factor_text(lowest)}, beside "
        f"{factor_text(float(np.min(held[known])))} with the pool. "
    )
    enough = target is not None and lowest >= float(np.max(np.asarray(target)))
    severity = Notice.stop if lowest < 1.0 else Notice.info if enough else Notice.caution
    return (severity("rapid-drawdown", how + middle + remark + after, _MORGENSTERN),)


def pool_thrust(depth: Numeric, end_depth: Numeric, water_unit_weight: Numeric) -> Numeric:
    """Horizontal thrust of still water on a ground line of any shape, into the slope [kN/m].

    Parameters
    ----------
    depth, end_depth
        Of the water at the foot and at the upper end of the line [m]; 0 where that stands out
        of the water.
    water_unit_weight
        γ_w [kN/m³].
    """
    return water_unit_weight * (depth**2 - end_depth**2) / 2.0


def moving_water_thrust(
    seismic_coefficient: Numeric, depth: Numeric, water_unit_weight: Numeric
) -> Numeric:
    """Thrust of free water on an upright face that shakes, beside that of still water [kN/m].

    7/12 k_h γ_w h², from the parabola 7/8 k_h γ_w √(h z); it pushes and pulls in turn.

    Parameters
    ----------
    seismic_coefficient
        k_h [-].
    depth
        Of the water h [m].
    water_unit_weight
        γ_w [kN/m³].

    Source: Westergaard (1933), Trans. ASCE 98, as in EN 1998-5, Annex E (from memory).
    """
    return 7.0 * seismic_coefficient * water_unit_weight * depth**2 / 12.0


def pool_pressure(x: Float, y: Float, level: Numeric, water_unit_weight: Numeric) -> PoolPressure:
    """Force and moment of a pool on a ground line.

    Parameters
    ----------
    x, y
        Corners of the ground [m], the last axis from left to right; ground is to the right of
        the way from corner to corner.
    level
        Of the pool [m]; a scalar or the shape of the other axes. All ground below it is wet.
    water_unit_weight
        γ_w [kN/m³]; a scalar or the shape of the other axes.

    Returns
    -------
    PoolPressure
        Of the shape of the other axes.

    Examples
    --------
    On a vertical face it is the triangle ½ γ_w h², a third of the way up:

    >>> import numpy as np
    >>> from slipmargin.stability.ground.standing_water import pool_pressure
    >>> pool = pool_pressure(np.array([0.0, 0.0]), np.array([0.0, 6.0]), 3.0, 10.0)
    >>> float(pool.into_slope), float(pool.downward), float(pool.moment)
    (45.0, 0.0, -45.0)
    """
    top = np.asarray(level, dtype=float)[..., None]
    x0, x1, y0, y1 = x[..., :-1], x[..., 1:], y[..., :-1], y[..., 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = np.where(y0 == y1, 0.0, (top - y0) / np.where(y0 == y1, 1.0, y1 - y0))
    crossing = np.clip(crossing, 0.0, 1.0)
    start = np.where(y0 <= top, 0.0, np.where(y1 <= top, crossing, 1.0))
    end = np.where(y1 <= top, 1.0, np.where(y0 <= top, crossing, 1.0))
    force_y = moment = np.zeros(())
    run, climb = (end - start) * (x1 - x0), (end - start) * (y1 - y0)
    # Simpson's rule is exact: pressure times place is a square
    for weight, share in ((1 / 6, start), (4 / 6, (start + end) / 2.0), (1 / 6, end)):
        at_x, at_y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        pressure = weight * np.maximum(top - at_y, 0.0)
        force_y = force_y + pressure * run
        moment = moment - pressure * (at_x * run + at_y * climb)
    foot, end = (np.maximum(level - y[..., place], 0.0) for place in (0, -1))
    return PoolPressure(
        into_slope=pool_thrust(foot, end, water_unit_weight),
        downward=water_unit_weight * np.sum(force_y, axis=-1),
        moment=water_unit_weight * np.sum(moment, axis=-1),
    )
