"""Critical planes of one slope for many strengths, read off a curve.

Where only the strength varies, the critical plane is a function of t = c′ / (c′ + s tan φ′)
alone (see ``strength_law``). It is searched at the nodes of t and read off between them. A
plane read off slightly wrong costs the factor only the square of that error; where it costs
more, because the critical plane jumps, the search is run for those strengths themselves, and
so it is where a searched crack read off would be deeper than its own strength holds open.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.search import Surface, critical_surface
from slipmargin.stability.strength_law import StrengthLaw

__all__ = ["SurfacesByStrength", "strength_law"]

Array = NDArray[np.float64]

_NODES = 513
_AGREEMENT = 1e-9
_LAW_NODES = (257, 1025, 4097)
_LAW_AGREEMENT = 1e-6
_NEAR_NOTHING = 1e-9  # close to t = 0, and far enough for the plane to be told from the face


def _scale(case: Case) -> float:
    return float(np.max(case.loads.unit_weight) * np.max(case.slope.height))


def _at_nodes(case: Case, t: Array, scale: float) -> tuple[Case, Surface]:
    # what a crack's depth owes to the strength is no function of t: any depth is tried here
    nodes = replace(case, cohesion=t, tan_friction_angle=(1.0 - t) / scale, any_crack=True)
    return nodes, critical_surface(nodes, t.size)


def strength_law(case: Case) -> StrengthLaw | None:
    """The curve of the lowest factor over all strengths, all else being scalar, which agrees with
    the search to a millionth of the factor at three strengths between any two nodes.

    The slope of the curve is that of the critical plane's own line, because a minimum of
    lines follows the line it touches. ``None`` where no such curve was found, as where the critical
    plane jumps past a crack, the block lifts, or nothing drives it, and where a crack is searched
    for, whose depth hangs on c′ itself.
    """
    if case.search_crack:
        return None
    for nodes in _LAW_NODES:
        law = _law(case, nodes)
        if not np.all(np.isfinite(law.value) & np.isfinite(law.slope)):
            return None
        t = (_between_nodes(nodes) / (nodes - 1)) ** 2
        searched = _at_nodes(case, t, law.scale)[1].factor
        if np.all(
            np.abs(law.factor(t, (1.0 - t) / law.scale) - searched) <= _LAW_AGREEMENT * searched
        ):
            return law
    return None


def _law(case: Case, nodes: int) -> StrengthLaw:
    scale = _scale(case)
    t = StrengthLaw.nodes(nodes)
    _, surface = _at_nodes(case, t, scale)
    # at t = 0 the slope is the limit of 2 √t a, the plane closing up to the face
    t_near = np.concatenate([[_NEAR_NOTHING], t[1:]])
    near, found = _at_nodes(case, t_near, scale)
    forces = near.forces(found.plane_angle, found.crack_x)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (forces.base_length - forces.normal_force / scale) / forces.driving_force
    return StrengthLaw(scale, surface.factor, 2.0 * np.sqrt(t_near) * slope)


def _between_nodes(nodes: int) -> Array:
    """Places a quarter, half and three quarters of the way between nodes."""
    places: Array = (np.arange(nodes - 1)[:, None] + np.array([0.25, 0.5, 0.75])).ravel()
    return places


@dataclass(frozen=True, slots=True)
class SurfacesByStrength:
    """Critical surfaces over all strengths, all else being scalar, at nodes of √t.

    ``jumps`` marks the intervals in which reading between nodes costs the factor more than
    a part in 10⁹; strengths that fall there are searched one by one.
    """

    scale: float
    plane_angle: Array
    crack_x: Array | None
    jumps: NDArray[np.bool_]

    @classmethod
    def of(cls, case: Case) -> SurfacesByStrength:
        """Search at the nodes, and hold what is read between them against the search."""
        nodes = _at_nodes(case, StrengthLaw.nodes(_NODES), scale := _scale(case))[1]
        crack_x = nodes.crack_x if case.search_crack else None
        last = _NODES - 1
        curve = cls(scale, nodes.plane_angle, crack_x, np.zeros(last, dtype=bool))
        between = _between_nodes(_NODES)
        tried, searched = _at_nodes(case, (between / last) ** 2, scale)
        on = curve._read(tried, between)
        read = tried.forces(on.plane_angle, on.crack_x).factor_of_safety
        with np.errstate(invalid="ignore"):
            worse = np.abs(read - searched.factor) > _AGREEMENT * np.abs(searched.factor)
        return replace(curve, jumps=np.any(worse.reshape(last, 3), axis=1))

    def at(self, case: Case, size: int) -> Surface:
        """Critical surfaces of the strengths of a case."""
        combined = case.cohesion + self.scale * np.asarray(case.tan_friction_angle)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where(combined > 0.0, case.cohesion / combined, 0.0)
        position = np.broadcast_to(np.sqrt(t) * self.jumps.size, (size,))
        surface = self._read(case, position)
        index = np.minimum(position.astype(np.intp), self.jumps.size - 1)
        among = np.flatnonzero(self.jumps[index] | self._too_deep(case, surface))
        if among.size:
            own = critical_surface(case.taken(among), among.size)
            surface.plane_angle[among] = own.plane_angle
            surface.converged[among] = own.converged
            if self.crack_x is not None:
                surface.crack_x[among] = own.crack_x
        return surface

    def _too_deep(self, case: Case, surface: Surface) -> NDArray[np.bool_]:
        """Where the crack read off is deeper than its strength holds open.

        Where it is not, no crack is worse: it is the worst of all depths.
        """
        if self.crack_x is None:
            return np.zeros(surface.plane_angle.shape, dtype=bool)
        block = case.block(surface.plane_angle, surface.crack_x)
        # none was found at a node beside a nan
        return np.asarray(
            ~(block.tension_crack_depth <= np.asarray(case.open_crack(block.crack_head)))
        )

    def _read(self, case: Case, position: Array) -> Surface:
        index = np.minimum(position.astype(np.intp), self.jumps.size - 1)
        share = position - index
        angle, crack_x = self.plane_angle, case.crack_x
        if self.crack_x is not None:
            crack_x = self.crack_x[index] + share * np.diff(self.crack_x)[index]
        return Surface(
            plane_angle=angle[index] + share * np.diff(angle)[index],
            crack_x=crack_x,
            factor=np.full(position.size, np.nan),
            converged=np.ones(position.size, dtype=bool),
        )
