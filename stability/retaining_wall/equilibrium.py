"""Forces on a wall, their sum, and the reaction they call for under its base.

Axes as in the section: x from the toe towards the fill, y up from the underside. A force
usually pushes outward (towards the toe) and downward. Moments are about the toe.

    x_R = (M_r - M_o) / V,    e = B/2 - x_R,    B′ = B - 2 |e|
    p = V/B (1 ± 6 e / B) within the middle third, else a triangle 3 (B/2 - |e|) long
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.strength import Numeric

__all__ = ["ACTIONS", "Action", "BaseReaction", "Force", "Sums", "add_up", "base_reaction"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A force on a metre of wall [kN/m] and where it acts [m].

    Both parts are sizes; which way a force acts is said where it is added up.
    """

    horizontal: Numeric = 0.0
    vertical: Numeric = 0.0
    x: Numeric = 0.0
    y: Numeric = 0.0


@dataclass(frozen=True, slots=True)
class Action:
    """What acts on a wall, by the names of its values: its parts, their arms, and the group whose
    partial factor it takes.

    ``triangle``: its height is a third of the one that is named. ``opposite``: it pushes inward
    or lifts.
    """

    group: str
    horizontal: str = ""
    vertical: str = ""
    x: str = ""
    y: str = ""
    triangle: bool = False
    opposite: bool = False

    def force(self, values: Any) -> Force:
        """The force with its numbers."""
        along, down, x, y = (
            getattr(values, name) if name else 0.0
            for name in (self.horizontal, self.vertical, self.x, self.y)
        )
        return Force(horizontal=along, vertical=down, x=x, y=y / 3.0 if self.triangle else y)


def _mass(group: str, name: str) -> Action:
    """The weight of a part and its shaking."""
    return Action(
        group, f"{name}_inertia", f"{name}_weight", f"{name}_arm", f"{name}_centroid_height"
    )


def _thrust(name: str) -> Action:
    """A thrust on the plane, which leans."""
    return Action(
        "ground", f"{name}_horizontal", f"{name}_vertical", f"{name}_arm", f"{name}_height"
    )


ACTIONS = (
    _mass("wall", "wall"),
    _mass("ground", "heel_soil"),
    Action("wall", "key_inertia", "key_weight", "key_arm"),
    # the thrust on a key and its shaking act below the toe and are left out of the moments
    Action("ground", "key_thrust"),
    _thrust("thrust"),
    _thrust("thrust_increment"),
    Action(
        "water",
        "water_thrust",
        "water_on_back",
        "water_on_back_arm",
        "water_height_behind",
        triangle=True,
    ),
    Action("water", vertical="water_on_toe", x="water_on_toe_arm"),
    Action("water", "moving_water_behind", y="moving_water_behind_height"),
    Action("water", "moving_water_in_front", y="moving_water_in_front_height"),
    Action("load", "load_thrust", y="load_thrust_height"),
    Action("water", vertical="uplift", x="uplift_arm", opposite=True),
    Action(
        "water", "water_thrust_in_front", y="water_height_in_front", triangle=True, opposite=True
    ),
)
"""Every action on a wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """Sums of the forces [kN/m] and of their moments about the toe [kN·m/m].

    Neither moment is a difference: uplift is overturning, water in front is righting.
    """

    vertical: Numeric
    horizontal: Numeric
    righting: Numeric
    overturning: Numeric


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseReaction:
    """What the ground gives back: nan where the resultant leaves the base, or nothing presses.

    The resultant is measured from the toe, its eccentricity from the middle of the base,
    positive toward the toe [m]; B′ is 0 where the resultant leaves the base [m]; pressures are
    those at the edges [kPa].
    """

    resultant_distance: Numeric
    eccentricity: Numeric
    effective_width: Numeric
    toe_pressure: Numeric
    heel_pressure: Numeric


def add_up(usual: Iterable[Force], opposite: Iterable[Force]) -> Sums:
    """Add forces up: ``usual`` ones push outward and press down, as weights, thrusts and
    inertia do, and ``opposite`` ones push inward or lift, as water in front and uplift do.
    """
    down: Numeric = 0.0
    out: Numeric = 0.0
    righting: Numeric = 0.0
    turning: Numeric = 0.0
    for force in usual:
        down, out = down + force.vertical, out + force.horizontal
        righting, turning = (
            righting + force.vertical * force.x,
            turning + force.horizontal * force.y,
        )
    for force in opposite:
        down, out = down - force.vertical, out - force.horizontal
        righting, turning = (
            righting + force.horizontal * force.y,
            turning + force.vertical * force.x,
        )
    return Sums(vertical=down, horizontal=out, righting=righting, overturning=turning)


def base_reaction(
    vertical: Numeric, righting: Numeric, overturning: Numeric, width: Numeric
) -> BaseReaction:
    """Reaction of a level base of width B [m] that takes no tension, under V [kN/m] and the sums of
    moments about the toe [kN·m/m].
    """
    half, presses = width / 2.0, vertical > 0.0
    distance = np.where(
        presses, (righting - overturning) / np.where(presses, vertical, 1.0), np.nan
    )
    eccentricity = half - distance
    carries = presses & (np.abs(eccentricity) < half)
    within = np.where(carries, eccentricity, 0.0)
    mean, tilt = vertical / width, 6.0 * within / width
    toe = np.maximum(mean * (1.0 + tilt), 0.0)
    heel = np.maximum(mean * (1.0 - tilt), 0.0)
    toe = np.where(tilt > 1.0, 2.0 * vertical / (3.0 * (half - within)), toe)
    heel = np.where(tilt < -1.0, 2.0 * vertical / (3.0 * (half + within)), heel)
    return BaseReaction(
        resultant_distance=distance,
        eccentricity=eccentricity,
        effective_width=np.where(carries, width - 2.0 * np.abs(within), 0.0),
        toe_pressure=np.where(carries, toe, np.nan),
        heel_pressure=np.where(carries, heel, np.nan),
    )
