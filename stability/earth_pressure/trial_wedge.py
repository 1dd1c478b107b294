"""Trial wedge: the slip plane that gives the most active or the least passive thrust.

A wedge between the back of the wall, the ground and a plane through the heel slides as one
block. The ground is any line of points, the back face may be battered, the soil has
friction and cohesion, the wall friction and adhesion, and water stands level in the soil.

Assumptions: one soil; plane slip; still water, whose pressure acts on the wall apart from
this thrust; weight below water is buoyant, while shaking takes hold of the saturated
weight (the water moves with the soil); a vertical, dry crack of given depth ends the plane
and carries neither cohesion nor adhesion. Loads on the ground count as far as the wedge
reaches.

Limits: passive resistance on a plane is overstated once wall friction passes about φ′ / 3;
planes that leave where the ground lies below the water table are not tried.

With ρ the plane's angle from horizontal, r its length, V and E the vertical and horizontal
forces on the block, and the block's balance across the reaction on the plane,

    P = (V sin(ρ - φ) + E cos(ρ - φ) - c r cos φ - a L sin(ρ - φ - θ)) / cos(ρ - φ - θ - δ)

on the active side; the passive side turns the signs of φ, δ, E, c and a. Angles ρ are
searched between the directions from the heel to each corner of the ground, load edge and
line load, so that P is smooth within every interval; all intervals are refined at once.

Source: Coulomb (1776); the search over planes as in Culmann (1866); common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure.surcharge import LineLoad, StripLoad
from slipmargin.stability.ground.flat import pieces
from slipmargin.strength import Numeric

__all__ = ["WedgeResult", "trial_wedge"]

Array = NDArray[np.float64]

_CHUNK = 1 << 12  # samples at a time: keeps memory flat
_SCAN = 64  # angles in each interval at first, closer together at the flat end
_ZOOM = 13  # angles in each narrowing
_PASSES = 7
_MARGIN = 1e-7  # keeps clear of planes that never meet the ground [rad]
_LEAST_COSINE = 1e-9


@dataclass(frozen=True, slots=True)
class WedgeResult:
    """The governing wedge; every field of the broadcast shape of the inputs.

    Its ``thrust`` P acts at the wall friction angle from the normal of the back face [kN/m]; nan
    where no wedge exists. ``plane_angle`` is from horizontal [deg], ``exit_distance`` from the top
    of the wall to where the plane or the crack meets the ground [m].
    """

    thrust: Array
    plane_angle: Array
    exit_distance: Array


def trial_wedge(
    side: str,
    *,
    height: Numeric,
    friction_angle: Numeric,
    unit_weight: Numeric,
    saturated_unit_weight: Numeric | None = None,
    cohesion: Numeric = 0.0,
    wall_friction_angle: Numeric = 0.0,
    wall_adhesion: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    ground_line: Sequence[tuple[float, float]] = ((0.0, 0.0),),
    surcharge: Numeric = 0.0,
    strip_loads: Sequence[StripLoad] = (),
    line_loads: Sequence[LineLoad] = (),
    crack_depth: Numeric = 0.0,
    water_table_depth: Numeric = np.inf,
    water_unit_weight: Numeric = 9.81,
    k_h: Numeric = 0.0,
    k_v: Numeric = 0.0,
) -> WedgeResult:
    """Search the governing wedge; scalars and arrays broadcast.

    ``active`` seeks the most thrust, ``passive`` the least. Lengths in [m], angles [deg], stresses
    [kPa], unit weights [kN/m³]; signs as in :mod:`stability.earth_pressure.coefficients`. Without a
    saturated unit weight the moist one serves below water too. ``ground_line`` has points (x, y)
    from (0, 0), the top of the back face, x rising into the fill, and beyond the last of them the
    ground has the slope that is given. The surcharge acts on plan area from the wall on. A crack
    as deep as the wall leaves no thrust. The water table is below the top, ``inf`` is dry. k_h
    acts towards the wall (active) or away from it (passive), k_v is positive upward.
    """
    points = np.asarray(ground_line, dtype=float)
    saturated = unit_weight if saturated_unit_weight is None else saturated_unit_weight
    given: list[Numeric] = [
        height, friction_angle, unit_weight, saturated, cohesion, wall_friction_angle,
        wall_adhesion, wall_batter, backfill_slope_angle, surcharge, crack_depth,
        water_table_depth, water_unit_weight, k_h, k_v,
    ]  # fmt: skip
    for strip in strip_loads:
        given += [strip.pressure, strip.distance, strip.width]
    for line in line_loads:
        given += [line.force, line.distance]
    arrays = np.broadcast_arrays(*(np.asarray(one, dtype=float) for one in given))
    shape = arrays[0].shape
    flat = [one.reshape(-1) for one in arrays]
    out = np.empty((3, flat[0].size))
    for part in pieces(flat[0].size, _CHUNK):
        block = _Block(side, points, len(strip_loads), [one[part] for one in flat])
        out[:, part] = block.search()
    return WedgeResult(*(one.reshape(shape) for one in out))


class _Block:
    """Wedges of one chunk: axes are trial angles, intervals of the ground, samples."""

    def __init__(self, side: str, points: Array, strips: int, given: list[Array]) -> None:
        (
            self.height, phi, self.weight, self.saturated, self.cohesion, delta, self.adhesion,
            theta, slope, self.surcharge, self.crack, table, self.water, self.k_h, self.k_v,
        ) = given[:15]  # fmt: skip
        loads = given[15:]
        self.strips = [tuple(loads[3 * i : 3 * i + 3]) for i in range(strips)]
        rest = loads[3 * strips :]
        self.lines = [tuple(rest[2 * i : 2 * i + 2]) for i in range(len(rest) // 2)]
        self.sign = 1.0 if side == "active" else -1.0
        self.phi = self.sign * np.radians(phi)
        self.delta = self.sign * np.radians(delta)
        self.theta, self.tail = np.radians(theta), np.radians(slope)
        self.crack = np.minimum(self.crack, self.height)
        self.wet_height = np.maximum(self.height - table, 0.0)
        self.heel = self.height * np.tan(self.theta)
        self._corners(points)

    def _corners(self, points: Array) -> None:
        """Corners of the ground seen from the heel, and the wedge area up to each."""
        size = self.height.shape
        places = [np.full(size, x) for x in points[:, 0]]
        for _, near, width in self.strips:
            places += [near, near + width]
        places += [distance for _, distance in self.lines]
        self.place = np.sort(np.stack(places), axis=0)
        level = np.interp(self.place, points[:, 0], points[:, 1])
        level += np.maximum(self.place - points[-1, 0], 0.0) * np.tan(self.tail)
        self.x, self.y = self.place - self.heel, level + self.height
        run, rise = np.diff(self.x, axis=0), np.diff(self.y, axis=0)
        self.slope = np.concatenate([np.arctan2(rise, run), self.tail[None]])
        # of the foot of the crack below each piece from the heel, square to the piece
        self.reach = (self.y - self.crack) * np.cos(self.slope) - self.x * np.sin(self.slope)
        fans = 0.5 * (self.x[1:] * self.y[:-1] - self.x[:-1] * self.y[1:])
        self.area = np.concatenate([np.zeros((1, *size)), np.cumsum(fans, axis=0)])

    def _intervals(self) -> tuple[Array, Array]:
        """Lowest and highest angle of the planes that leave through each piece of ground.

        A plane leaves where it first meets the ground (or the foot of a crack below it), so
        ground that hides behind a nearer corner has no plane of its own.
        """
        seen = np.minimum(np.arctan2(self.y - self.crack, self.x), 0.5 * np.pi + self.theta)
        high = np.minimum.accumulate(seen, axis=0)
        low = np.concatenate([high[1:], self.tail[None] + _MARGIN])
        limit = 0.5 * np.pi + self.phi + self.theta + self.delta - _MARGIN
        return low, np.minimum(high, limit)

    def _forces(self, rho: Array) -> tuple[Array, Array]:
        """Thrust of each plane, with where it leaves the ground."""
        length = self.reach / np.sin(rho - self.slope)
        x, foot = length * np.cos(rho), length * np.sin(rho)
        top = foot + self.crack
        area = self.area + 0.5 * (x * self.y - self.x * top + x * self.crack)
        cot = np.cos(rho) / np.sin(rho)
        below = np.maximum(self.wet_height - foot, 0.0)
        wet = 0.5 * self.wet_height**2 * (cot + np.tan(self.theta)) - 0.5 * below**2 * cot
        wet = np.where(self.wet_height > 0.0, wet, 0.0)
        weight = self.weight * area + (self.saturated - self.weight) * wet
        load = self._load(x + self.heel)

        vertical = (1.0 - self.k_v) * (weight - self.water * wet + load)
        shaking = self.k_h * (weight + load)
        face = (self.height - self.crack) / np.cos(self.theta)
        from_reaction = rho - self.phi
        top_line = vertical * np.sin(from_reaction) + self.sign * (
            shaking * np.cos(from_reaction)
            - self.cohesion * length * np.cos(self.phi)
            - self.adhesion * face * np.sin(from_reaction - self.theta)
        )
        across = np.cos(from_reaction - self.theta - self.delta)
        # ground below the water table is no part of the model
        known = (
            (across > _LEAST_COSINE)
            & (self.reach > 0.0)
            & ((top >= self.wet_height) | (self.wet_height <= 0.0))
        )
        thrust = np.where(known, top_line / across, np.nan)
        return thrust, x + self.heel

    def _load(self, distance: Array) -> Array:
        """Load on the ground from the wall to a distance [kN/m]."""
        load = self.surcharge * distance
        for pressure, near, width in self.strips:
            load = load + pressure * np.clip(distance - near, 0.0, width)
        for force, place in self.lines:
            load = load + np.where(self.place >= place, force, 0.0)
        return load

    def search(self) -> Array:
        """Thrust, angle and exit distance of each sample."""
        low, high = self._intervals()
        empty = high < low
        low, high = np.minimum(low, high), np.maximum(low, high)
        share = np.linspace(0.0, 1.0, _SCAN)[:, None, None] ** 2
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            for turn in range(_PASSES + 1):
                rho = low + share * (high - low)
                worth = self._worth(rho, empty)
                best = np.argmax(worth, axis=0)[None]
                angle = np.take_along_axis(rho, best, 0)[0]
                if turn == _PASSES:
                    break
                count = rho.shape[0]
                low = np.take_along_axis(rho, np.maximum(best - 1, 0), 0)[0]
                high = np.take_along_axis(rho, np.minimum(best + 1, count - 1), 0)[0]
                share = np.linspace(0.0, 1.0, _ZOOM)[:, None, None]
            worth = self._worth(angle, empty)
            chosen = np.argmax(worth, axis=0)[None]
            thrust, distance = self._forces(angle)
            found = np.stack([thrust, np.degrees(angle), distance])
            result = np.take_along_axis(found, chosen[None], 1)[:, 0]
            none = ~np.isfinite(np.max(worth, axis=0)) | self._runs_away(result)
        result = np.where(none, np.nan, result)
        cracked_through = (self.crack >= self.height) | np.all(self.reach <= 0.0, axis=0)
        result[0] = np.where(cracked_through, 0.0, result[0])
        return result

    def _runs_away(self, result: Array) -> NDArray[np.bool_]:
        """Whether the search ran to a plane that never ends, or across the wall's reaction."""
        psi = np.arctan2(self.k_h, 1.0 - self.k_v)
        angle = np.radians(result[1])
        endless = angle < self.tail + 2.0 * _MARGIN
        stands = self.sign * self.tail <= np.abs(self.phi) - psi + _MARGIN
        across = angle > 0.5 * np.pi + self.phi + self.theta + self.delta - 2.0 * _MARGIN
        return np.asarray(endless & ~stands if self.sign > 0.0 else endless | across)

    def _worth(self, rho: Array, empty: NDArray[np.bool_]) -> Array:
        thrust = self.sign * self._forces(rho)[0]
        return np.where(empty | ~np.isfinite(thrust), -np.inf, thrust)
