"""A planar wedge as forces and search see it: ground, loads, strength, plane and crack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE, open_crack_depth
from slipmargin.stability.planar_wedge.forces import BlockForces, Loads, block_forces
from slipmargin.stability.planar_wedge.geometry import Block, Slope, StraightSlope, taken
from slipmargin.stability.planar_wedge.ground import GroundLine
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.strength import InputError, Numeric

__all__ = ["Case", "case_of", "slope_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Slopes to be searched: every quantity a scalar or an array of shape (n,).

    ``plane_angle`` [deg] and ``crack_distance`` [m], behind the crest, are fixed where
    given. ``search_crack`` asks for the worst crack, none deeper than ``open_crack`` [m], which
    the strength holds open, and half the height.
    """

    slope: Slope
    loads: Loads
    cohesion: Numeric
    tan_friction_angle: Numeric
    plane_angle: Numeric | None = None
    crack_distance: Numeric | None = None
    search_crack: bool = False
    open_crack: Numeric = np.inf

    @property
    def deepest_crack(self) -> Numeric:
        """Depth that no searched crack exceeds [m]."""
        deepest: Numeric = np.minimum(self.open_crack, DEEPEST_SHARE * self.slope.rise)
        return deepest

    @property
    def crack_x(self) -> Numeric | None:
        """Distance of the given crack from the toe [m]."""
        return None if self.crack_distance is None else self.slope.crest_x + self.crack_distance

    def forces(self, plane_angle: Numeric, crack_x: Numeric | None) -> BlockForces:
        """Forces on the block above a plane [deg] that ends in a crack at x [m]."""
        block = self.slope.block(np.tan(np.radians(plane_angle)), crack_x)
        return self.forces_on(block, plane_angle)

    def forces_on(self, block: Block, plane_angle: Numeric) -> BlockForces:
        """Forces on a block above a plane [deg]."""
        return block_forces(block, self.loads, self.cohesion, self.tan_friction_angle, plane_angle)

    def taken(self, part: Any) -> Case:
        """``part`` of every array."""
        case = taken(self, part)
        return Case(
            slope=self.slope.taken(part),
            loads=self.loads.taken(part),
            cohesion=case.cohesion,
            tan_friction_angle=case.tan_friction_angle,
            plane_angle=case.plane_angle,
            crack_distance=case.crack_distance,
            search_crack=self.search_crack,
            open_crack=case.open_crack,
        )


def slope_of(wedge: PlanarWedgeInputs, flat: Callable[[Numeric], Numeric]) -> Slope:
    """The ground of a wedge, each of its numbers passed through ``flat``.

    Raises
    ------
    InputError
        Ground given twice or not at all, or not a line.
    """
    if wedge.ground_line is not None:
        if wedge.height is not None or wedge.face_angle is not None:
            raise InputError(
                "ground_line", wedge.ground_line, "give it instead of height and face_angle"
            )
        return GroundLine.of(wedge.ground_line)
    for name in ("height", "face_angle"):
        if getattr(wedge, name) is None:
            raise InputError(name, None, "give height and face_angle, or a ground_line")
    return StraightSlope(
        height=flat(wedge.height),  # type: ignore[arg-type]
        face_angle=flat(wedge.face_angle),  # type: ignore[arg-type]
        upper_slope_angle=flat(wedge.upper_slope_angle),
    )


def case_of(wedge: PlanarWedgeInputs, slope: Slope, flat: Callable[[Numeric], Numeric]) -> Case:
    """A wedge on its ground, each of its numbers passed through ``flat``."""
    strength, depth = wedge.soil.strength, wedge.tension_crack_water_depth
    loads = Loads(
        unit_weight=flat(wedge.soil.unit_weight),
        water_unit_weight=flat(wedge.water_unit_weight),
        surcharge=flat(wedge.surcharge),
        seismic_coefficient=flat(wedge.horizontal_seismic_coefficient),
        support_force=flat(wedge.support_force),
        support_angle=flat(wedge.support_angle),
        crack_water_depth=np.inf if isinstance(depth, str) else flat(depth),
        pore_pressure_ratio=flat(wedge.pore_pressure_ratio),
    )
    cohesion, tan_friction_angle = flat(strength.cohesion), flat(strength.tan_friction_angle)
    open_crack = open_crack_depth(
        cohesion,
        tan_friction_angle,
        unit_weight=loads.unit_weight,
        water_unit_weight=loads.water_unit_weight,
        water_depth=loads.crack_water_depth,
    )
    return Case(
        slope=slope,
        loads=loads,
        cohesion=cohesion,
        tan_friction_angle=tan_friction_angle,
        plane_angle=None if wedge.plane_angle is None else flat(wedge.plane_angle),
        crack_distance=(
            None if wedge.tension_crack_distance is None else flat(wedge.tension_crack_distance)
        ),
        search_crack=wedge.search_tension_crack,
        open_crack=open_crack,
    )
