"""Geometry of a block on a plane through the toe: what is cut off, and by which planes.

The toe is the origin, x runs into the slope and y upward. A plane is given by its gradient
m = tan ψ. A straight slope (scalars or arrays) and a ground line of points (``ground``)
answer the same questions, so that the forces and the search know only one kind of ground:

``height``, ``crest_x``, ``end_x``
    Of the slope; where its crest lies, and where the ground that is given ends [m].
``face_angle``, ``upper_slope_angle``, ``flattest_out``
    Largest and least angle of a searched plane; that from which on planes come out on the ground
    that is given [deg].
``corners_x``
    Where the ground bends [m], one column a corner.
``ground_y``, ``daylight_x``
    Height of the ground at x [m], and where a plane first daylights [m]; ``inf`` for nowhere.
``block``
    What a plane cuts off, ended by a crack at x where one stands in its way.
``pencils``
    All trial planes.
``taken``
    Part of every array.

A pencil of planes is a family through the toe whose upper ends move along a straight line.
With v running along that line from 0 to 1, the upper end, the area cut off and the loaded
length are linear in v over one linear divisor, which is what the search asks for.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import taken
from slipmargin.strength import Numeric

__all__ = ["CLOSED", "Block", "Pencil", "StraightSlope", "between", "cracked_pencil"]

CLOSED = 1e-9
"""Share of a pencil left out where the block vanishes at the face."""

_RUN_OUT = 1e-6  # share left out where the plane runs for ever along the upper slope


@dataclass(frozen=True, slots=True)
class Block:
    """What a plane cuts off, for a metre run of slope.

    Toe to crest, and the plane, horizontally [m]; the area [m²]; depth of the tension crack down
    to the plane [m], 0 where none cuts it; areas of the block below water, and between the plane
    and the level of the water that presses on it [m²]; depth of that water above the foot of the
    crack, no more than the crack [m]; area of a pool above the block [m²], and its depth where
    the plane comes out [m].
    """

    crest_distance: Numeric
    plane_run: Numeric
    block_area: Numeric
    tension_crack_depth: Numeric
    wet_area: Numeric = 0.0
    head_area: Numeric = 0.0
    crack_head: Numeric = 0.0
    pool_area: Numeric = 0.0
    pool_end_depth: Numeric = 0.0


@dataclass(frozen=True, slots=True)
class Pencil:
    """A family of trial planes; linear forms are pairs (constant, coefficient of v).

    ``x``, ``y`` [m] of the upper end and ``area`` [m²] of the block stand times the ``divisor``.
    ``crack_depth`` [m] is that of planes that end in a crack, ``None`` for those that daylight. v
    runs from ``low`` to ``high``; the family is empty where low is above high.
    """

    x: Sequence[Any]
    y: Sequence[Any]
    area: Sequence[Any]
    divisor: Sequence[Any]
    crack_depth: Sequence[Any] | None
    low: Numeric
    high: Numeric


def between(start: Any, end: Any) -> tuple[Any, Any]:
    """The linear form that goes from ``start`` at v = 0 to ``end`` at v = 1."""
    return start, end - start


def cracked_pencil(
    crack_x: Numeric,
    ground_y: Numeric,
    area_in_front: Numeric,
    *,
    steepest: Numeric,
    least: Numeric,
) -> Pencil:
    """The planes that end in a crack at x, from the steepest gradient to the least angle [deg]."""
    x = np.asarray(crack_x, dtype=float)
    y = between(x * steepest, x * np.tan(np.radians(least)))
    return Pencil(
        x=(x, 0.0 * x),
        y=y,
        area=(area_in_front - 0.5 * x * y[0], -0.5 * x * y[1]),
        divisor=(1.0, 0.0),
        crack_depth=(ground_y - y[0], -y[1]),
        low=0.0,
        high=np.where(x > 0.0, 1.0, -1.0),
    )


@dataclass(frozen=True, slots=True)
class StraightSlope:
    """Straight face and straight upper slope: height [m], angles [deg]; arrays broadcast.

    ``crest_x`` is the horizontal distance from toe to crest [m].
    """

    height: Numeric
    face_angle: Numeric
    upper_slope_angle: Numeric
    crest_x: Numeric = dataclasses.field(init=False)
    end_x: ClassVar[float] = np.inf
    flattest_out: ClassVar[float] = 0.0

    def __post_init__(self) -> None:
        face = np.radians(self.face_angle)
        run = self.height * np.cos(face) / np.sin(face)
        object.__setattr__(self, "crest_x", np.where(self.face_angle == 90.0, 0.0, run))

    @property
    def corners_x(self) -> NDArray[np.float64]:
        """Where the ground bends [m], one column a corner."""
        return np.asarray(self.crest_x).reshape(-1, 1)

    @property
    def _gradient(self) -> Numeric:
        return np.tan(np.radians(self.upper_slope_angle))

    def taken(self, part: Any) -> StraightSlope:
        """``part`` of every array."""
        return taken(self, part)

    def ground_y(self, x: Numeric) -> Numeric:
        """Height of the ground [m]."""
        behind = self.height + (x - self.crest_x) * self._gradient
        return np.where(x < self.crest_x, x * np.tan(np.radians(self.face_angle)), behind)

    def _twice_in_front(self, x: Numeric) -> Numeric:
        """Twice the area between ground and toe level in front of x [m²]."""
        crest = self.crest_x
        behind = x - crest
        return crest * self.height + behind * (2.0 * self.height + behind * self._gradient)

    def daylight_x(self, gradient: Numeric) -> Numeric:
        """Where a plane first daylights [m]; ``inf`` where it does not."""
        upper = self._gradient
        with np.errstate(divide="ignore", invalid="ignore"):
            x = (self.height - self.crest_x * upper) / (gradient - upper)
        return np.where(gradient > upper, x, np.inf)

    def block(self, gradient: Numeric, crack_x: Numeric | None) -> Block:
        """What a plane cuts off, ended by a crack at x where one stands in its way."""
        crest, daylight = self.crest_x, self.daylight_x(gradient)
        with np.errstate(invalid="ignore"):
            area = daylight * (self.height - crest * gradient) / 2.0
        if crack_x is None:
            return Block(crest, daylight, area, 0.0)
        cracked = crack_x < daylight
        run = np.where(cracked, crack_x, daylight)
        cut = (self._twice_in_front(crack_x) - np.square(crack_x) * gradient) / 2.0
        depth = np.where(cracked, self.ground_y(crack_x) - crack_x * gradient, 0.0)
        return Block(crest, run, np.where(cracked, cut, area), depth)

    def pencils(self, crack_x: Numeric | None) -> tuple[Pencil, ...]:
        """All trial planes: those that daylight and those that end in the crack."""
        crest = self.crest_x
        upper = np.radians(self.upper_slope_angle)
        sin, cos = np.sin(upper), np.cos(upper)
        height = np.asarray(self.height, dtype=float)
        along = height  # a length along the upper slope that puts v = 1/2 in its middle
        if crack_x is None:
            high: Numeric = 1.0 - _RUN_OUT
        else:
            behind = (crack_x - crest) / cos
            high = np.minimum(behind / (behind + along), 1.0 - _RUN_OUT)
        daylighting = Pencil(
            x=between(crest, along * cos),
            y=between(height, along * sin),
            area=(0.0, 0.5 * along * (cos * height - sin * crest)),
            divisor=(1.0, -1.0),
            crack_depth=None,
            low=CLOSED,
            high=high,
        )
        if crack_x is None:
            return (daylighting,)
        top = self.ground_y(crack_x)
        with np.errstate(divide="ignore", invalid="ignore"):
            steepest = np.where(np.asarray(crack_x) > 0.0, top / crack_x, 0.0)
        in_front, least = 0.5 * self._twice_in_front(crack_x), self.upper_slope_angle
        return daylighting, cracked_pencil(crack_x, top, in_front, steepest=steepest, least=least)
