"""What must be said of the base of a wall: its resultant, sliding, bearing, the ground in front."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from slipmargin.stability.design.customary_targets import CUSTOMARY_SOURCE
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.helping_load import LeastUnderLoad
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Notice, Numeric
from slipmargin.strength.traced import some

__all__ = ["bearing_rises", "front_notices", "reaction_notices", "resistance_notices"]

_MINOR = 1e-9
_APART = 1.2  # highest over lowest, from which the choice of method is said to matter


def reaction_notices(
    wall: RetainingWallInputs, values: RetainingWallValues, toe_pressure: Numeric
) -> Iterator[Notice]:
    """Where the resultant meets the base, and what presses at the toe [kPa]."""
    if some(values.vertical_force <= 0.0):
        yield Notice.stop(
            "no-contact",
            "Water and thrust carry the whole weight of the wall: nothing presses on the "
            "base, and the wall floats.",
        )
        return
    away = np.abs(values.eccentricity) / values.base_width
    share = float(np.max(np.where(np.isfinite(away), away, 0.0)))
    side = "toe" if some(values.eccentricity > 0.0) else "heel"
    if share >= 0.5:
        yield Notice.stop(
            "resultant-outside-base",
            "The resultant passes outside the base: the wall turns over by this model, and "
            "no base pressure balances it.",
        )
    elif share > 1.0 / 3.0:
        yield Notice.stop(
            "resultant-near-edge",
            f"The resultant is {share:.2f} B from the middle of the base, beyond B/3: it "
            f"stands on a narrow strip at the {side}, and small changes turn the wall over.",
            "EN 1997-1:2004, 6.5.4 asks for special precautions there (from memory)",
        )
    elif share > 1.0 / 6.0 + _MINOR:
        yield Notice.caution(
            "resultant-outside-middle-third",
            f"The resultant is {share:.2f} B from the middle of the base, beyond B/6: part "
            "of the base lifts, and the pressure is a triangle.",
            "Middle-third rule; NAVFAC DM-7.02 (1986), ch. 3 (from memory)",
        )
    if share > 1.0 / 6.0 + _MINOR and some(wall.base_adhesion > 0.0):
        yield Notice.caution(
            "adhesion-on-lifted-base",
            "Adhesion is counted on the whole base, though part of it lifts.",
        )
    if wall.allowable_bearing is not None and some(toe_pressure > wall.allowable_bearing):
        yield Notice.stop(
            "allowable-bearing-exceeded",
            f"The pressure at the toe reaches {float(np.nanmax(toe_pressure)):.0f} kPa, "
            "above the allowable bearing pressure that was given.",
        )


def resistance_notices(
    wall: RetainingWallInputs, values: RetainingWallValues, by_method: Mapping[str, Numeric]
) -> Iterator[Notice]:
    """What sliding and bearing count on; ``by_method`` has the factor in bearing by each."""
    strength = wall.foundation.strength
    if wall.base_friction_angle is None:
        yield Notice.info(
            "base-friction-assumed",
            "No base friction angle is given: 2/3 of the foundation's friction angle.",
            CUSTOMARY_SOURCE,
        )
    elif some(wall.base_friction_angle > strength.friction_angle):
        yield Notice.caution(
            "base-friction-above-foundation",
            "The base friction angle exceeds the foundation's friction angle: the soil below "
            "would slide first.",
        )
    if some(wall.base_adhesion > strength.cohesion):
        yield Notice.caution(
            "adhesion-above-foundation",
            "The base adhesion exceeds the foundation's cohesion: the soil below would slide "
            "first.",
        )
    if some(wall.passive_fraction > 0.0):
        counted = float(np.max(wall.passive_fraction * values.passive_resistance))
        yield Notice.caution(
            "passive-resistance-counted",
            f"Up to {counted:.1f} kN/m of passive resistance in front is counted. It needs "
            "far more movement than the active side, and digging, scour, frost or shrinkage "
            "take it away.",
            "EN 1997-1:2004, 9.3.2.2 and 9.5.3 (from memory)",
        )
    yield from _methods(wall.bearing_method, by_method)


def _methods(used: str, by_method: Mapping[str, Numeric]) -> Iterator[Notice]:
    """The factor by every method, where they differ by more than a fifth."""
    every = np.stack(np.broadcast_arrays(*by_method.values()))
    low, high = np.min(every, axis=0), np.max(every, axis=0)
    apart = np.where(low > 0.0, high / np.where(low > 0.0, low, 1.0), 1.0)
    widest = np.unravel_index(int(np.argmax(apart)), apart.shape)
    if not apart[widest] > _APART:
        return
    found = dict(zip(by_method, (float(one[widest]) for one in every), strict=True))
    lowest = min(found, key=found.__getitem__)
    listed = ", ".join(f"{name} {value:.2f}" for name, value in found.items())
    where = ", where they differ most" if apart.ndim else ""
    text = (
        f"The methods of bearing capacity differ by more than a fifth{where}: {listed}. The "
        f"lowest is {lowest}; this check uses {used}."
    )
    kind = Notice.info if lowest == used else Notice.caution
    yield kind(
        "bearing-methods-differ",
        text,
        "N_γ of vesic lies above that of a rough base by exact plasticity, by a half at "
        "φ′ = 30° (Martin 2005, from memory)",
    )


def bearing_rises(
    least: Mapping[str, LeastUnderLoad],
    still: Mapping[str, Numeric] | None,
    factors: Mapping[str, Numeric],
    load: str,
) -> tuple[Notice, ...]:
    """The notice owed where a push outward raises the factor in bearing.

    ``least`` has the factors over what part of the ``load`` is there; ``factors`` are the lowest
    with shaking, and ``still`` those without it where there is any.
    """
    found = least["bearing"]
    pushes = []
    if some(found.all_of_it > found.none * (1.0 + _MINOR)):
        pushes.append(f"with the {load}")
    if still is not None:
        calm, shaken = np.broadcast_arrays(still["bearing"], factors["bearing"])
        rises = (shaken > calm * (1.0 + _MINOR)) & (calm > 0.0)
        if some(rises):
            least_calm = float(np.min(calm[rises]))
            pushes.append(f"with shaking (without it, down to {factor_text(least_calm)})")
    if not pushes:
        return ()
    return (
        Notice.caution(
            "bearing-rises",
            f"The factor in bearing rises {' and '.join(pushes)}: the resultant starts toward "
            "the heel, and a push outward brings it to the middle of the base. That is no "
            "reserve: the case without the push governs there.",
        ),
    )


def front_notices(wall: RetainingWallInputs) -> Iterator[Notice]:
    """What is owed of ground that falls away."""
    fall = wall.ground_fall_in_front
    if not some(fall > 0.0):
        return
    yield Notice.caution(
        "ground-falls-away",
        "Bearing takes the fall of the ground in front by Vesić's factors, whatever the "
        "method. Overall stability down that slope is not checked here: it may govern.",
        "Vesić (1975), Foundation Engineering Handbook (from memory)",
    )
    phi = wall.foundation.strength.friction_angle
    if some((phi > 0.0) & (fall >= phi)):
        yield Notice.stop(
            "ground-in-front-too-steep",
            "The ground in front falls as steeply as its friction angle or more: the factors "
            "do not hold, and without cohesion that slope does not stand.",
        )
