"""A support force on a slope: anchors or nails, for a metre run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from slipmargin.stability.fields import Amount
from slipmargin.strength import Numeric

__all__ = ["PlacedSupportInputs", "support_components", "support_moment"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class PlacedSupportInputs:
    """A support force by its size, angle and place; scalars or arrays that broadcast."""

    __slots__ = ()

    support_force: Annotated[
        Numeric, Amount("force_per_length", "T", "Force of anchors or nails on the block.", low=0.0)
    ] = 0.0
    support_angle: Annotated[
        Numeric, Amount("angle", "α", "Support force below horizontal.", low=-90.0, high=90.0)
    ] = 0.0
    support_height: Annotated[
        Numeric | None,
        Amount(
            "length",
            "h_T",
            "Height above the toe at which the support force meets the face.",
            low=0.0,
        ),
    ] = None


def support_components(force: Numeric, angle: Numeric) -> tuple[Numeric, Numeric]:
    """Parts into the slope (x) and upward (y) of a force on the ground [kN/m], given by its angle
    below horizontal [deg].
    """
    alpha = np.radians(angle)
    return force * np.cos(alpha), -force * np.sin(alpha)


def support_moment(force: Numeric, angle: Numeric, x: Numeric, y: Numeric) -> Numeric:
    """Moment of such a force about the origin, counter-clockwise [kN·m/m]; x, y [m] is a point on
    its line of action.
    """
    along, up = support_components(force, angle)
    return x * up - y * along
