"""Forces on a wall, their sum, and the reaction they call for under its base.

Axes as in the section: x from the toe towards the fill, y up from the underside. A force
counts positive outward (towards the toe) and downward. Moments are about the toe.

    x_R = (M_r - M_o) / V,    e = B/2 - x_R,    B′ = B - 2 |e|
    p = V/B (1 ± 6 e / B) within the middle third, else a triangle 3 (B/2 - |e|) long
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import Numeric

__all__ = ["BaseReaction", "Force", "Sums", "add_up", "base_reaction"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A force on a metre of wall [kN/m] and where it acts [m].

    A horizontal part that pushes inward and a vertical part that lifts are negative.
    """

    horizontal: Numeric = 0.0
    vertical: Numeric = 0.0
    x: Numeric = 0.0
    y: Numeric = 0.0

    @property
    def moments(self) -> tuple[Numeric, Numeric]:
        """Moments about the toe: of the vertical part inward, of the horizontal part outward."""
        return np.asarray(self.vertical) * self.x, np.asarray(self.horizontal) * self.y


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """Sums of the forces [kN/m] and of their moments about the toe [kN·m/m].

    Neither moment is a difference: uplift is overturning, water in front is righting.
    """

    vertical: NDArray[np.float64]
    horizontal: NDArray[np.float64]
    righting: NDArray[np.float64]
    overturning: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseReaction:
    """What the ground gives back: nan where the resultant leaves the base, or nothing presses.

    Parameters
    ----------
    resultant_distance
        From the toe [m].
    eccentricity
        From the middle of the base, positive toward the toe [m].
    effective_width
        B′ [m], 0 where the resultant leaves the base.
    toe_pressure, heel_pressure
        At the edges [kPa].
    """

    resultant_distance: NDArray[np.float64]
    eccentricity: NDArray[np.float64]
    effective_width: NDArray[np.float64]
    toe_pressure: NDArray[np.float64]
    heel_pressure: NDArray[np.float64]


def add_up(usual: Iterable[Force], opposite: Iterable[Force]) -> Sums:
    """Add forces up.

    Parameters
    ----------
    usual
        Forces that push outward and press down: weights, thrusts, inertia. Their vertical
        parts are righting, their horizontal parts overturning.
    opposite
        Forces that push inward or lift, with negative parts: water in front, uplift. Their
        horizontal parts are righting, their vertical parts overturning.
    """
    vertical = horizontal = righting = overturning = np.zeros(())
    for force in usual:
        vertical, horizontal = vertical + force.vertical, horizontal + force.horizontal
        righting, overturning = righting + force.moments[0], overturning + force.moments[1]
    for force in opposite:
        vertical, horizontal = vertical + force.vertical, horizontal + force.horizontal
        righting, overturning = righting - force.moments[1], overturning - force.moments[0]
    return Sums(
        vertical=vertical, horizontal=horizontal, righting=righting, overturning=overturning
    )


def base_reaction(
    vertical: Numeric, righting: Numeric, overturning: Numeric, width: Numeric
) -> BaseReaction:
    """Reaction of a level base that takes no tension.

    Parameters
    ----------
    vertical
        V [kN/m].
    righting, overturning
        Sums of moments about the toe [kN·m/m].
    width
        B [m].
    """
    down = np.asarray(vertical, dtype=float)
    half = 0.5 * np.asarray(width, dtype=float)
    presses = down > 0.0
    divisor = np.where(presses, down, 1.0)
    distance = np.where(presses, (righting - np.asarray(overturning)) / divisor, np.nan)
    eccentricity = half - distance
    outward = np.abs(eccentricity)
    carries = presses & (outward < half)
    within = np.where(carries, outward, 0.0)
    mean, tilt = down / (2.0 * half), 3.0 * within / half
    near = np.where(tilt <= 1.0, mean * (1.0 + tilt), 2.0 * down / (3.0 * (half - within)))
    far = mean * np.maximum(1.0 - tilt, 0.0)
    toward_toe = eccentricity >= 0.0
    return BaseReaction(
        resultant_distance=distance,
        eccentricity=eccentricity,
        effective_width=np.where(carries, 2.0 * (half - within), 0.0),
        toe_pressure=np.where(carries, np.where(toward_toe, near, far), np.nan),
        heel_pressure=np.where(carries, np.where(toward_toe, far, near), np.nan),
    )
