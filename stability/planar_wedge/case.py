"""A planar wedge as forces and search see it: ground, loads, strength, plane and crack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.fields import refuse
from slipmargin.stability.ground.flat import COLUMN, taken
from slipmargin.stability.ground.points import Line, read_points
from slipmargin.stability.ground.support import support_components
from slipmargin.stability.ground.surcharge_strip import strip_edges
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE, open_crack_depth
from slipmargin.stability.ground.water_line import SlopeWater
from slipmargin.stability.planar_wedge.along_plane import stretches
from slipmargin.stability.planar_wedge.forces import BlockForces, Loads, block_forces
from slipmargin.stability.planar_wedge.fractional_search import Polynomial, plus, times
from slipmargin.stability.planar_wedge.geometry import Block, StraightSlope
from slipmargin.stability.planar_wedge.ground import GroundLine, Slope
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.strength import Numeric

__all__ = ["Case", "case_of", "slope_of", "water_of"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Slopes to be searched: every quantity a scalar or an array of shape (n,).

    ``plane_angle`` [deg] and ``crack_distance`` [m], behind the crest, are fixed where
    given. ``search_crack`` asks for the worst crack, none deeper than the strength holds open and
    half the height, or, with ``any_crack``, than half the height. ``at_yield`` seeks the lowest
    yield coefficient in place of the lowest factor. A slope is designed for the ``target``.
    """

    slope: Slope
    loads: Loads
    cohesion: Numeric
    tan_friction_angle: Numeric
    plane_angle: Numeric | None = None
    crack_distance: Numeric | None = None
    search_crack: bool = False
    any_crack: bool = False
    water: SlopeWater | None = None
    at_yield: bool = False
    target: Numeric = 1.0

    @property
    def is_searched(self) -> bool:
        """Whether plane or crack is searched for."""
        return self.plane_angle is None or self.search_crack

    @property
    def has_one_slope(self) -> bool:
        """Whether nothing but the strength is an array."""
        slope, loads = self.slope, self.loads
        held: list[Any] = [self.plane_angle, self.crack_distance]
        held += [slope.height, slope.face_angle, slope.upper_slope_angle]
        held += [getattr(loads, entry.name) for entry in fields(loads)]
        held += [] if self.water is None else [self.water.rise]
        return all(np.ndim(one) == 0 for one in held)

    def deepest_crack(self, slope_water: Numeric = 0.0) -> Numeric:
        """Depth that no searched crack exceeds, with so much water of the slope in it [m]."""
        half = DEEPEST_SHARE * self.slope.height
        if self.any_crack:
            return half
        return np.minimum(self.open_crack(slope_water), half)

    def open_crack(self, slope_water: Numeric = 0.0) -> Numeric:
        """Depth to which a crack stays open, with so much water of the slope in it [m]."""
        loads = self.loads
        return open_crack_depth(
            self.cohesion,
            self.tan_friction_angle,
            unit_weight=loads.unit_weight,
            water_unit_weight=loads.water_unit_weight,
            water_depth=np.maximum(loads.crack_water_depth, slope_water),
        )

    @property
    def crack_x(self) -> Numeric | None:
        """Distance of the given crack from the toe [m]."""
        return None if self.crack_distance is None else self.slope.crest_x + self.crack_distance

    @property
    def load_edges(self) -> tuple[Numeric, Numeric]:
        """Near and far edge of the load, from the toe [m]."""
        loads = self.loads
        return strip_edges(self.slope.crest_x, loads.surcharge_setback, loads.surcharge_width)

    @property
    def inner_edges(self) -> list[Array]:
        """Edges of the load behind the crest, from the toe [m], one column each."""
        edges = (np.asarray(one, dtype=float).reshape(-1, 1) for one in self.load_edges)
        crest = np.asarray(self.slope.crest_x).reshape(-1, 1)
        return [one for one in edges if np.any((one > crest) & np.isfinite(one))]

    @property
    def bends(self) -> Array:
        """Angles of the planes that meet a corner of the ground, an edge of the load or the
        foot of the crack [deg], one column each; nan for none.
        """
        slope = self.slope.taken(COLUMN)
        places = [slope.corners_x, *self.inner_edges]
        if self.crack_x is not None:
            places.append(np.asarray(self.crack_x, dtype=float).reshape(-1, 1))
        rows = max(one.shape[0] for one in places)
        x = np.concatenate([np.broadcast_to(one, (rows, one.shape[1])) for one in places], axis=1)
        there = (x > 0.0) & np.isfinite(x) & (x <= self.slope.end_x)
        x = np.where(there, x, 1.0)
        return np.where(there, np.degrees(np.arctan2(slope.ground_y(x), x)), np.nan)

    def sought(self, forces: BlockForces) -> Numeric:
        """What the search makes as low as it can be."""
        return forces.yield_seismic_coefficient if self.at_yield else forces.factor_of_safety

    def sought_forms(
        self,
        *,
        x: Polynomial,
        y: Polynomial,
        held: Polynomial,
        weight: Polynomial,
        pressed: Polynomial = (0.0,),
        outward: Polynomial,
        lift: Polynomial,
        unit: Polynomial,
    ) -> tuple[Polynomial, Polynomial]:
        """What is sought, as the ratio of two polynomials in the place along a family of blocks.

        ``x`` and ``y`` are the way along the plane, ``held`` the cohesive strength, ``weight`` that
        of the block, which shakes, ``pressed`` what stands on it, ``outward`` and ``lift`` the push
        of water out of the slope and square to the plane, ``unit`` what a force is counted in.
        """
        loads, tan = self.loads, self.tan_friction_angle
        into, up = support_components(loads.support_force, loads.support_angle)
        downward = plus(weight, pressed, times([-1.0 * up], unit))
        outward = plus(outward, times([-1.0 * into], unit))
        normal = plus(times(downward, x), times([-1.0], plus(times(outward, y), lift)))
        drive = plus(times(downward, y), times(outward, x))
        strength = plus(held, times([tan], normal))
        if self.at_yield:
            spent = times(weight, plus(x, times([tan], y)))
            return plus(strength, times([-1.0], drive)), spent
        shaken = times([loads.seismic_coefficient], weight)
        lost = times([-1.0 * tan], shaken, y)
        return plus(strength, lost), plus(drive, times(shaken, x))

    def block(self, plane_angle: Numeric, crack_x: Numeric | None) -> Block:
        """The block above a plane [deg] that ends in a crack at x [m], and water about it."""
        gradient = np.tan(np.radians(plane_angle))
        block = self.slope.block(gradient, crack_x)
        return block if self.water is None else self._with_water(block, gradient, self.water)

    def _with_water(self, block: Block, gradient: Numeric, water: SlopeWater) -> Block:
        end, crest = block.plane_run, block.crest_distance
        arrays = (gradient, end, crest, water.rise, water.pool)
        shape = np.broadcast_shapes(*(np.shape(one) for one in arrays))
        m, run = (np.broadcast_to(one, shape).reshape(-1) for one in (gradient, end))
        cut = stretches(self.slope, water, m, run)
        ground = self.slope.ground_y(end)
        level = water.in_slope(np.asarray(end, dtype=float), np.asarray(ground))
        head = np.clip(level - gradient * end, 0.0, block.tension_crack_depth)
        under = np.where(np.less(end, crest), np.maximum(water.pool - ground, 0.0), 0.0)
        return replace(
            block,
            wet_area=cut.wet.area.reshape(shape)[()],
            head_area=cut.head.area.reshape(shape)[()],
            crack_head=head,
            pool_area=cut.pool_area.reshape(shape)[()],
            pool_end_depth=under,
        )

    def without_pool(self) -> Case:
        """The same with the pool gone and the water in the slope as it was."""
        return replace(self, loads=replace(self.loads, pool_level=0.0))

    def forces(self, plane_angle: Numeric, crack_x: Numeric | None) -> BlockForces:
        """Forces on the block above a plane [deg] that ends in a crack at x [m]."""
        return self.forces_on(self.block(plane_angle, crack_x), plane_angle)

    def forces_on(self, block: Block, plane_angle: Numeric) -> BlockForces:
        """Forces on a block above a plane [deg]."""
        return block_forces(block, self.loads, self.cohesion, self.tan_friction_angle, plane_angle)

    def taken(self, part: Any) -> Case:
        """``part`` of every array."""
        return replace(
            taken(self, part),
            slope=self.slope.taken(part),
            loads=taken(self.loads, part),
            water=None if self.water is None else taken(self.water, part),
        )


def slope_of(wedge: PlanarWedgeInputs, flat: Callable[[Numeric], Numeric]) -> Slope:
    """The ground of a wedge, each of its numbers passed through ``flat``; ``InputError``: ground
    given twice or not at all, or not a line.
    """
    if wedge.ground_line is not None:
        twice = wedge.height is not None or wedge.face_angle is not None
        refuse(wedge, "ground_line", twice, "give it instead of height and face_angle")
        return GroundLine.of(wedge.ground_line)
    for name in ("height", "face_angle"):
        missing = getattr(wedge, name) is None
        refuse(wedge, name, missing, "give height and face_angle, or a ground_line")
    return StraightSlope(
        height=flat(wedge.height),  # type: ignore[arg-type]
        face_angle=flat(wedge.face_angle),  # type: ignore[arg-type]
        upper_slope_angle=flat(wedge.upper_slope_angle),
    )


def case_of(wedge: PlanarWedgeInputs, slope: Slope, flat: Callable[[Numeric], Numeric]) -> Case:
    """A wedge on its ground without the water in it, each number passed through ``flat``."""
    strength, depth = wedge.soil.strength, wedge.tension_crack_water_depth
    width = wedge.surcharge_width
    loads = Loads(
        unit_weight=flat(wedge.soil.unit_weight),
        saturated_unit_weight=flat(wedge.soil.weight_below_water),
        water_unit_weight=flat(wedge.water_unit_weight),
        surcharge=flat(wedge.surcharge),
        surcharge_setback=flat(wedge.surcharge_setback),
        surcharge_width=np.inf if width is None else flat(width),
        seismic_coefficient=flat(wedge.horizontal_seismic_coefficient),
        support_force=flat(wedge.support_force),
        support_angle=flat(wedge.support_angle),
        crack_water_depth=np.inf if isinstance(depth, str) else flat(depth),
        pore_pressure_ratio=flat(wedge.pore_pressure_ratio),
        pool_level=flat(wedge.standing_water_level),
    )
    return Case(
        slope=slope,
        loads=loads,
        cohesion=flat(strength.cohesion),
        tan_friction_angle=flat(strength.tan_friction_angle),
        plane_angle=None if wedge.plane_angle is None else flat(wedge.plane_angle),
        crack_distance=(
            None if wedge.tension_crack_distance is None else flat(wedge.tension_crack_distance)
        ),
        search_crack=wedge.search_tension_crack,
        target=1.0 if wedge.target is None else flat(wedge.target),
    )


def water_of(wedge: PlanarWedgeInputs, flat: Callable[[Numeric], Numeric]) -> SlopeWater | None:
    """The phreatic line and the pool of a wedge, each number passed through ``flat``;
    ``InputError``: a line that is none.
    """
    if wedge.water_line is None and not np.any(wedge.standing_water_level > 0.0):
        return None
    line = None
    if wedge.water_line is not None:
        line = Line.of("water_line", wedge.water_line)
        if wedge.ground_line is not None:
            # both are drawn in one frame, and the toe is the origin here
            x, y = read_points("ground_line", wedge.ground_line, 1)[0]
            line = Line(line.x - x, line.y - y)
    return SlopeWater(line, flat(wedge.water_line_rise), flat(wedge.standing_water_level))
