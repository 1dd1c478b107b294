"""A tension crack behind the crest: the fields that give it, and how deep it stays open by itself.

A crack stays open as far as the soil beside it stands without support: to the depth at which
the active pressure of ground without a load, γ z K_a - 2 c′ √K_a, comes to nothing, or, with
water in the crack, to what the water at its foot holds apart, γ_w times the depth of water:

    z = 2 c′ / (γ √K_a) + γ_w z_w / (γ K_a),    1 / √K_a = tan(45° + φ′/2)

with z_w no deeper than the crack. Where the water presses harder than the soil at any depth,
γ_w ≥ γ K_a, a brim-full crack has no such depth. A load on the ground would close the crack
sooner and is left out.

Sources: Terzaghi (1943), Theoretical Soil Mechanics, for the dry crack, and for a crack to
half the height as the deepest that was seen (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.fields import Amount
from slipmargin.strength import Notice, Numeric

__all__ = [
    "DEEPEST_SHARE",
    "CrackInputs",
    "DeepCrackInputs",
    "open_crack_depth",
    "searched_crack_limited",
]

DEEPEST_SHARE = 0.5
"""Deepest crack that is searched for, of the height of the slope."""


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class CrackInputs:
    """A crack that may be searched for, and the water in it."""

    __slots__ = ()

    search_tension_crack: Annotated[
        bool, fields.Flag("Search for the worst tension crack behind the crest.")
    ] = False
    tension_crack_water_depth: Annotated[
        Numeric | Literal["full"],
        Amount(
            "length",
            "z_w",
            'Depth of water standing in the crack; "full" is brim-full.',
            low=0.0,
            words=("full",),
        ),
    ] = 0.0


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class DeepCrackInputs(CrackInputs):
    """A crack that is given by its depth."""

    __slots__ = ()

    tension_crack_depth: Annotated[
        Numeric | None,
        Amount("length", "z_t", "Depth of the tension crack; none is no crack.", low=0.0),
    ] = None


def open_crack_depth(
    cohesion: Numeric,
    tan_friction_angle: Numeric,
    *,
    unit_weight: Numeric,
    water_unit_weight: Numeric = 9.81,
    water_depth: Numeric = 0.0,
) -> Numeric:
    """Depth to which a tension crack stays open [m]; ``inf`` where water holds it open at any.

    Parameters
    ----------
    cohesion, tan_friction_angle, unit_weight
        c′ [kPa], tan φ′ [-] and γ [kN/m³] of the soil.
    water_unit_weight, water_depth
        γ_w [kN/m³], and depth in the crack, as far as it holds it [m]; ``inf`` is brim-full.

    Examples
    --------
    >>> from slipmargin.stability.ground.tension_crack import open_crack_depth
    >>> round(float(open_crack_depth(20.0, 0.4663, unit_weight=19.0)), 2)
    3.3
    """
    opening = np.tan(np.pi / 4.0 + np.arctan(tan_friction_angle) / 2.0)
    dry = 2.0 * cohesion / unit_weight * opening
    held = water_unit_weight / unit_weight * opening**2
    with np.errstate(divide="ignore", invalid="ignore"):
        shut = held < 1.0  # at some depth even a brim-full crack closes
        brim_full = np.where(shut, dry / (1.0 - held), np.inf)
        standing = dry + held * water_depth
        standing = np.where(shut, np.minimum(standing, brim_full), standing)
        filled = np.where(np.isinf(water_depth), brim_full, standing)
        depth: Numeric = np.where(water_depth > 0.0, filled, dry)
    return depth


def searched_crack_limited(deepest: Numeric, *, strength: str, give: str) -> Notice:
    """How deep a crack was searched for [m], what strength holds it open, and the field that
    gives a deeper one.
    """
    return Notice.info(
        "searched-crack-limited",
        f"The crack is searched down to {float(np.max(deepest)):.2f} m, what the {strength} (and "
        "water in the crack) holds open, and half the height at most. A crack known to be deeper "
        f"has to be given: {give}.",
        "Terzaghi (1943), Theoretical Soil Mechanics (from memory)",
    )
