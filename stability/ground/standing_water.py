"""A pool that stands against a slope: its thrust, still and shaken, and what drawdown leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.fields import Amount
from slipmargin.strength import Notice, Numeric

__all__ = [
    "MOVING_WATER_HEIGHT",
    "STILL_POOL",
    "StandingWaterInputs",
    "drawdown_notices",
    "moving_water_thrust",
    "pool_thrust",
]

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


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class StandingWaterInputs:
    """A pool in front of the slope; a scalar or an array."""

    __slots__ = ()

    standing_water_level: Annotated[
        Numeric,
        Amount("length", "h_p", "Level of a pool against the slope, above the toe.", low=0.0),
    ] = 0.0


def drawdown_notices(
    drawn: Numeric, factor: Numeric, target: Numeric | None, remark: str = ""
) -> tuple[Notice, ...]:
    """What happens if a pool is drawn down: a stop where the slope does not stand then.

    ``drawn`` and ``factor`` are the factors with the pool gone and with it, arrays that broadcast,
    nan where there is none; without a ``target`` none is enough to say it lightly. ``remark`` is a
    sentence on how the factor was found.
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
        text = f"{how}no factor was found for that. {after}"
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
    """Horizontal thrust of still water on a line of any shape [kN/m], from its depths at the foot
    and at the upper end of the line [m]; 0 where that stands out of the water.
    """
    return water_unit_weight * (depth**2 - end_depth**2) / 2.0


def moving_water_thrust(
    seismic_coefficient: Numeric, depth: Numeric, water_unit_weight: Numeric
) -> Numeric:
    """Thrust of free water of a depth [m] on an upright face that shakes, beside that of still
    water [kN/m].

    7/12 k_h γ_w h², from the parabola 7/8 k_h γ_w √(h z); it pushes and pulls in turn.

    Source: Westergaard (1933), Trans. ASCE 98, as in EN 1998-5, Annex E (from memory).
    """
    return 7.0 * seismic_coefficient * water_unit_weight * depth**2 / 12.0
