"""Strip and line loads on the fill: their pressure on a rigid, vertical wall.

Elastic theory: the horizontal stress of Boussinesq's half-space, doubled because a rigid
wall stands where the half-space would go on (the image of the load on its other side).
The loads act at the level of the top of the wall; the pressure is horizontal and adds to
that of the soil. A wall that yields sees less.

With x the distance from the wall and z the depth below its top,

    line load    σ_h = (4 Q / π) x² z / (x² + z²)²
    strip load   σ_h = (2 q / π) (atan(x / z) - x z / (x² + z²)), between its two edges

Sources: Boussinesq (1885); the doubling from Mindlin (1936) and the line load as in NAVFAC
DM-7.02 (1986), ch. 3, whose thrust is 0.64 Q / (m² + 1) with m = x / H; the strip's thrust
as in Jarquio (1981), J. Geotech. Eng. Div. 107(10) (all from memory). Terzaghi (1954)
takes a smaller thrust for line loads nearer than 0.4 H; that relief is not taken here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.earth_pressure.profile import total
from slipmargin.stability.fields import Amount
from slipmargin.strength import Numeric

__all__ = ["LineLoad", "Load", "LoadInputs", "StripLoad", "loads_together"]


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class StripLoad:
    """A load on a strip that runs along the wall."""

    pressure: Annotated[
        Numeric, Amount("stress", "q_s", "Load on the strip, on plan area.", low=0.0)
    ]
    distance: Annotated[
        Numeric,
        Amount(
            "length",
            "a_s",
            "From the back of the wall, at its top, to the near edge; over the heel of a wall it "
            "presses as if it began at the plane of the thrust.",
            low=0.0,
        ),
    ]
    width: Annotated[Numeric, Amount("length", "b_s", "Width of the strip.", above=0.0)]

    def share(self, part: Numeric) -> StripLoad:
        """A part of it, as 0.5 is half the pressure."""
        return replace(self, pressure=part * self.pressure)

    def weight_within(self, reach: Numeric) -> tuple[Numeric, Numeric]:
        """Weight nearer to the wall than ``reach`` [kN/m], and the distance of its middle [m]."""
        held = np.clip(reach - self.distance, 0.0, self.width)
        return self.pressure * held, self.distance + held / 2.0

    def load_pressure(self, depth: Numeric) -> Numeric:
        """Its horizontal pressure on the wall [kPa] at a depth below the top [m]."""
        between = _edge(self.distance + self.width, depth) - _edge(self.distance, depth)
        return 2.0 * self.pressure / np.pi * between

    def load_thrust(self, height: Numeric) -> Numeric:
        """Resultant of that pressure: (q / 90°) H (atan(x₂ / H) - atan(x₁ / H)) [kN/m]."""
        near, far = self.distance, self.distance + self.width
        turn = np.degrees(np.arctan2(far, height)) - np.degrees(np.arctan2(near, height))
        return self.pressure * height / 90.0 * turn

    def load_moment(self, height: Numeric) -> Numeric:
        """Its moment about the top, with θ = atan(x / H): (q / π) (H² θ + x² (π/2 - θ) - x H),
        between the two edges [kN·m/m].
        """
        near, far = self.distance, self.distance + self.width
        return self.pressure / np.pi * (_edge_moment(far, height) - _edge_moment(near, height))


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class LineLoad:
    """A load on a line that runs along the wall."""

    force: Annotated[Numeric, Amount("force_per_length", "Q", "Load on the line.", low=0.0)]
    distance: Annotated[
        Numeric,
        Amount(
            "length",
            "x_Q",
            "From the back of the wall, at its top, to the line; over the heel of a wall it "
            "presses as if it stood at the plane of the thrust.",
            above=0.0,
        ),
    ]

    def share(self, part: Numeric) -> LineLoad:
        """A part of it, as 0.5 is half the force."""
        return replace(self, force=part * self.force)

    def weight_within(self, reach: Numeric) -> tuple[Numeric, Numeric]:
        """Weight nearer to the wall than ``reach`` [kN/m], and its distance [m]."""
        return np.where(self.distance < reach, self.force, 0.0), self.distance

    def load_pressure(self, depth: Numeric) -> Numeric:
        """Its horizontal pressure on the wall [kPa] at a depth below the top [m]."""
        x = self.distance
        return 4.0 * self.force * x**2 * depth / (np.pi * (x**2 + depth**2) ** 2)

    def load_thrust(self, height: Numeric) -> Numeric:
        """Resultant of that pressure: (2 Q / π) H² / (x² + H²) [kN/m]."""
        return 2.0 * self.force * height**2 / (np.pi * (self.distance**2 + height**2))

    def load_moment(self, height: Numeric) -> Numeric:
        """Its moment about the top, with θ = atan(x / H): (2 Q / π) x (π/2 - θ - x H / (x² + H²))
        [kN·m/m].
        """
        x = self.distance
        within = np.arctan2(height, x) - x * height / (x**2 + height**2)
        return 2.0 * self.force * x / np.pi * within


Load = StripLoad | LineLoad


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class LoadInputs:
    """Strips and lines of load on the ground behind a wall."""

    __slots__ = ()

    strip_loads: Annotated[
        tuple[StripLoad, ...], fields.Part(StripLoad, "Loads on strips along the wall.", many=True)
    ] = ()
    line_loads: Annotated[
        tuple[LineLoad, ...], fields.Part(LineLoad, "Loads on lines along the wall.", many=True)
    ] = ()

    @property
    def loads(self) -> tuple[Load, ...]:
        """The strips, then the lines."""
        return (*self.strip_loads, *self.line_loads)


def loads_together(loads: Iterable[Load], height: Numeric) -> tuple[Numeric, Numeric]:
    """Resultant of what loads press over the height of the wall [kN/m], and its moment about
    the base [kN·m/m]; 0 without loads.
    """
    loads = tuple(loads)
    if not loads:
        return 0.0, 0.0
    force = total(one.load_thrust(height) for one in loads)
    return force, force * height - total(one.load_moment(height) for one in loads)


def _edge(x: Numeric, z: Numeric) -> Numeric:
    square = x**2 + z**2
    return np.arctan2(x, z) - np.where(square > 0.0, x * z / np.where(square > 0.0, square, 1.0), 0)


def _edge_moment(x: Numeric, height: Numeric) -> Numeric:
    within = height**2 * np.arctan2(x, height) + x**2 * np.arctan2(height, x) - x * height
    return np.where(x > 0.0, within, 0.0)
