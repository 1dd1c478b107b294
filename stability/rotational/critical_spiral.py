"""Search for the critical spiral of many slopes at once.

Three unknowns: the stations of exit and entry and the opening angle. A coarse grid finds the
neighbourhood, kept apart by the piece of ground on which each end lies, since a toe
mechanism and a deep one, or a bench alone and the whole cut, are separate maxima. The best
few neighbourhoods are then polished together: a stencil of 27 spirals around each, a step
to the top of the quadratic through it, and a smaller stencil; half way the leaders stay.

The strength enters through y = 1 / F. A slope that requires the cohesion c_r(tan φ) stands
with the factor F when

    c_r(y tan φ′) = y c′

and the smallest such F over all spirals is wanted. For one spiral that is a root in y, found
by Newton's method; since c_r is stationary at the critical spiral, spiral and root can be
improved in turn and settle together.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.log_spiral import (
    WIDEST_OPENING,
    LoadedSlope,
    Spiral,
    cohesion_required,
    mean_depth,
    spiral_through,
)
from slipmargin.stability.rotational.spiral_ends import REACH, Ends, entries, exits

__all__ = ["Critical", "critical_spirals", "hardest_spirals"]

_NARROWEST, _CLOSEST = 1e-3, 1e-5
_OPENINGS = np.geomspace(0.02, 2.6, 12)
_LANES, _LEADERS = 8, 3
_POLISHES, _REPEATS = 12, 4
_STEP = 0.45
_NEAR, _NEAR_ON_FACE = 0.1, 2e-3
_STENCIL = np.stack(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
_CENTRE = 13
_COARSE_WATER, _FINE_WATER, _LAST_WATER = 8, 128, 1024
_LEAST_Y, _STEEPEST = 1e-9, 1e3
_LEAST_COHESION = 1e-7
_LEVEL, _LITTLE = 1e-6, 0.02
_SPIRALS_AT_ONCE = 60_000


@dataclass(frozen=True, slots=True)
class Critical:
    """The critical spiral of each slope.

    ``inverse`` is y = 1 / F; ``cohesion`` [kPa] what the spiral requires and ``rate`` [kPa]
    its change with tan φ; ``residual`` what is left of the equation, as a share of the
    strength at the depth of the slope; ``driving`` [kN·m/m]; ``start``, ``end`` [m] and
    ``opening`` [rad] fix the spiral.
    """

    inverse: Float
    cohesion: Float
    rate: Float
    residual: Float
    driving: Float
    start: Float
    end: Float
    opening: Float
    unbounded: NDArray[np.bool_]


def critical_spirals(
    slope: LoadedSlope, cohesion: Float, tan_friction_angle: Float, *, on_face: bool
) -> Critical:
    """Critical spiral and factor for strengths of shape (slopes,).

    ``on_face`` also looks for ends on the pieces between the first and the last vertex,
    which a plain slope needs only where water or firm ground spoils its similarity.
    """
    stress = slope.unit_weight * slope.height
    count = max(cohesion.size, stress.size, slope.ground.vertices.shape[0])
    tan = np.broadcast_to(tan_friction_angle, (count,))
    # at no cohesion at all rounding would choose the surface
    c = np.maximum(np.broadcast_to(cohesion, (count,)), _LEAST_COHESION * stress * tan)
    return _in_chunks(slope, c, tan, on_face, reduce=True)


def hardest_spirals(slope: LoadedSlope, tan_friction_angle: Float, *, on_face: bool) -> Critical:
    """Spiral that requires most cohesion at each given (reduced) friction angle."""
    count = max(tan_friction_angle.size, slope.height.size)
    tan = np.broadcast_to(tan_friction_angle, (count,))
    return _in_chunks(slope, np.zeros(count), tan, on_face, reduce=False)


def _in_chunks(
    slope: LoadedSlope, c: Float, tan: Float, on_face: bool, *, reduce: bool
) -> Critical:
    polished = _LANES * len(_STENCIL) * (1 if slope.water is None else _FINE_WATER)
    rows = max(1, _SPIRALS_AT_ONCE // polished)
    parts = []
    for first in range(0, c.size, rows):
        part = slice(first, first + rows)
        search = _Search(slope.take(part), c[part], tan[part], on_face, reduce)
        parts.append(search.run())
    return Critical(
        *(np.concatenate([getattr(p, name) for p in parts]) for name in Critical.__slots__)
    )


@dataclass(frozen=True, slots=True)
class _Lanes:
    """Spirals being improved side by side, shape (slopes, lanes). The unknowns are logarithms,
    since what counts is a share of the distance to the vertex and of the opening angle.
    """

    exit_vertex: Float
    entry_vertex: Float
    exit_free: NDArray[np.bool_]
    entry_free: NDArray[np.bool_]
    near: Float
    height: Float
    unknowns: Float

    def take(self, lanes: NDArray[np.intp]) -> _Lanes:
        """Some of the lanes of each slope, (slopes, lanes)."""

        def some(values: NDArray[Any]) -> NDArray[Any]:
            return np.take_along_axis(values, lanes, axis=1)

        return _Lanes(
            exit_vertex=some(self.exit_vertex),
            entry_vertex=some(self.entry_vertex),
            exit_free=some(self.exit_free),
            entry_free=some(self.entry_free),
            near=some(self.near),
            height=self.height,
            unknowns=np.take_along_axis(self.unknowns, lanes[..., None], axis=1),
        )

    def spiral(self, x: Float) -> tuple[Float, Float, Float]:
        """Exit and entry stations [m] and opening [rad] at unknowns (slopes, lanes, ..., 3)."""

        def across(values: NDArray[Any]) -> NDArray[Any]:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        near = across(self.near)
        out = np.exp(x[..., 0]) - near
        return (
            across(self.exit_vertex) - np.where(across(self.exit_free), out, 0.0),
            across(self.entry_vertex) + np.where(across(self.entry_free), np.exp(x[..., 1]), 0.0),
            np.exp(x[..., 2]),
        )

    def held(self, x: Float) -> Float:
        """Unknowns (slopes, lanes, ..., 3) brought back within their limits."""

        def across(values: Float) -> Float:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        height = across(self.height)
        far = np.log(REACH * height)
        nearest = np.log(across(self.near))
        return np.stack(
            (
                np.clip(x[..., 0], nearest, far),
                np.clip(x[..., 1], np.log(_CLOSEST * height), far),
                np.clip(x[..., 2], np.log(_NARROWEST), np.log(WIDEST_OPENING)),
            ),
            axis=-1,
        )


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Pairs of places that a spiral is tried between: numbers of the places, stations [m] of
    shape (slopes or 1, pairs), where the ground rises from exit to entry, and which pairs
    belong to which two groups. Ground that does not rise holds itself.
    """

    exit: NDArray[np.intp]
    entry: NDArray[np.intp]
    stations: tuple[Float, Float]
    rising: NDArray[np.bool_]
    groups: dict[tuple[int, int], slice]

    def take(self, rows: slice) -> _Pairs:
        """The pairs of some of the slopes."""
        if len(self.rising) == 1:
            return self
        start, end = self.stations
        if len(start) > 1:
            start, end = start[rows], end[rows]
        return replace(self, stations=(start, end), rising=self.rising[rows])


def _pairs(slope: LoadedSlope, out: Ends, back: Ends) -> _Pairs:
    start, end = out.vertex - out.distance, back.vertex + back.distance
    low, high = (slope.ground.at(station).point.imag for station in (start, end))
    rising = high[:, None, :] - low[:, :, None] > _LEVEL * np.max(slope.height)
    found, groups, count = [], {}, 0
    for e, f in np.ndindex(len(out.groups), len(back.groups)):
        pair = np.argwhere(np.any(rising[:, out.groups[e], back.groups[f]], axis=0))
        if pair.size:
            found.append(pair + np.array([out.groups[e].start, back.groups[f].start]))
            groups[e, f] = slice(count, count + len(pair))
            count += len(pair)
    i, j = np.concatenate(found).T
    return _Pairs(i, j, (start[:, i], end[:, j]), rising[:, i, j], groups)


class _Search:
    """One chunk of slopes on its way from a grid to the critical spirals."""

    def __init__(
        self, slope: LoadedSlope, c: Float, tan: Float, on_face: bool, reduce: bool
    ) -> None:
        self.slope, self.c, self.tan, self.reduce = slope, c, tan, reduce
        self.exits, self.entries = exits(slope, on_face), entries(slope, on_face)
        self.pairs = _pairs(slope, self.exits, self.entries)
        self.height = slope.height

    def run(self) -> Critical:
        y = self._first_guess()
        lanes, y = self._coarse(y, 3 if self.reduce else 1)
        best = self._polish(lanes, y, follow=self.reduce)
        for _ in range(_REPEATS if self.reduce else 0):
            # the hardest spirals at the root itself: none of them may ask for more
            lanes, _ = self._coarse(best.inverse, 1)
            better = _larger(best, self._polish(lanes, best.inverse, follow=False))
            settled = np.all(better.inverse <= best.inverse * (1.0 + 1e-7))
            best = better
            if settled:
                break
        return best

    def _first_guess(self) -> Float:
        """The y from c_r ≈ 0.2 (γH + q) (1 - tan φ / tan φ_f)², φ_f the angle of the face."""
        if not self.reduce:
            return np.ones(self.c.size)
        way = self.slope.ground.directions
        steepest = np.max(np.abs(np.angle(way)), axis=1)
        stress = 0.2 * (self.slope.unit_weight * self.slope.height + self.slope.surcharge)
        limit = np.tan(np.minimum(steepest, 1.55))
        a = stress * (self.tan / limit) ** 2
        b = 2.0 * stress * self.tan / limit + self.c
        under = b + np.sqrt(np.maximum(b * b - 4.0 * a * stress, 0.0))
        return self._held(2.0 * stress / np.maximum(under, 1e-9 * stress))

    def _held(self, y: Float) -> Float:
        """The y kept where tan φ_m is a tangent that can be worked with."""
        tan = self.tan.reshape((-1,) + (1,) * (y.ndim - 1))
        most = _STEEPEST / np.maximum(tan, 1e-9)
        return np.clip(y, _LEAST_Y, most)

    def _needs(
        self,
        start: Float,
        end: Float,
        opening: Float,
        y: Float,
        water: int,
        *,
        upright: bool = True,
    ) -> tuple[Float, Float, Spiral]:
        tan = self.tan.reshape((-1,) + (1,) * (y.ndim - 1)) * y
        spiral = spiral_through(self.slope, start, end, opening, tan, upright=upright)
        cohesion, driving = cohesion_required(self.slope, spiral, water)
        return cohesion, driving, spiral

    def _merit(
        self,
        start: Float,
        end: Float,
        opening: Float,
        y: Float,
        water: int,
        *,
        upright: bool = True,
    ) -> Float:
        """What the search raises [kPa]: the cohesion that spirals require. Where they require
        less than none, a mass of no depth would be the best of them, and so the cohesion is
        taken for as much depth as the slope has height.
        """
        cohesion, _, spiral = self._needs(start, end, opening, y, water, upright=upright)
        spare = cohesion < 0.0
        if not np.any(spare):
            return cohesion
        height = self.height.reshape((-1,) + (1,) * (cohesion.ndim - 1))
        with np.errstate(divide="ignore", invalid="ignore"):
            scaled = cohesion * height / np.minimum(mean_depth(spiral), height)
        return np.where(spare & (scaled < 0.0), scaled, np.where(spare, -np.inf, cohesion))

    def _coarse(self, y: Float, rounds: int) -> tuple[_Lanes, Float]:
        """Best spiral of every pair of groups, the best pairs first, and a better y."""
        for _ in range(rounds):
            lanes = self._leading(self._grid(y))
            if self.reduce:
                start_, end_, opening_ = (part[:, :1] for part in lanes.spiral(lanes.unknowns))
                y = self._root(start_, end_, opening_, y[:, None], _COARSE_WATER, 3)[:, 0]
        return lanes, y

    def _grid(self, y: Float) -> Float:
        """Merit of every pair and opening, (slopes, pairs, openings), a few slopes at a time."""
        spirals = self.pairs.exit.size * _OPENINGS.size
        rows = _SPIRALS_AT_ONCE // (spirals * (1 if self.slope.water is None else _COARSE_WATER))
        merits = []
        for first in range(0, y.size, max(rows, 1)):
            part = slice(first, first + max(rows, 1))
            some = self._part(part)
            start, end = (station[..., None] for station in some.pairs.stations)
            merit = some._merit(
                start,
                end,
                _OPENINGS[None, None, :],
                y[part, None, None],
                _COARSE_WATER,
                upright=False,
            )
            merits.append(np.where(some.pairs.rising[..., None], merit, -np.inf))
        return np.concatenate(merits)

    def _part(self, rows: slice) -> _Search:
        """The search of some of the slopes, as far as a grid needs it."""
        some = copy(self)
        some.slope, some.tan = self.slope.take(rows), self.tan[rows]
        some.height, some.pairs = some.slope.height, self.pairs.take(rows)
        return some

    def _leading(self, merit: Float) -> _Lanes:
        n, _, width = merit.shape
        rows, pairs = np.arange(n), self.pairs
        shape = (n, len(self.exits.groups), len(self.entries.groups))
        value, pick = np.full(shape, -np.inf), np.zeros(shape, dtype=np.intp)
        for (e, f), part in pairs.groups.items():
            block = merit[:, part].reshape(n, -1)
            k = np.argmax(block, axis=1)
            value[:, e, f], pick[:, e, f] = block[rows, k], k + part.start * width
        # a free entry moves from piece to piece: of the groups side by side the best is enough
        held = int(self.entries.distance[0, 0] == 0.0)
        free = value[..., held:]
        none = np.full((*shape[:2], 1), -np.inf)
        before = np.concatenate((none, free[..., :-1]), axis=2)
        after = np.concatenate((free[..., 1:], none), axis=2)
        value[..., held:] = np.where(free >= np.maximum(before, after), free, -np.inf)
        ranked = value.reshape(n, -1)
        keep = np.argsort(-ranked, axis=1)[:, :_LANES]
        # the grid is some tenths off; what lies further down is not worth a lane
        close = ranked >= np.max(ranked, axis=1, keepdims=True) - self._slack(ranked)
        keep = keep[:, : int(np.max(np.sum(close, axis=1)))]
        pair, m = np.divmod(np.take_along_axis(pick.reshape(n, -1), keep, axis=1), width)
        i, j = pairs.exit[pair], pairs.entry[pair]

        def of(table: Float, index: NDArray[np.intp]) -> Float:
            return np.broadcast_to(table, (n, table.shape[1]))[rows[:, None], index]

        out, back = of(self.exits.distance, i), of(self.entries.distance, j)
        height = self.height[:, None]
        # in front of the toe the distance may well go down to nothing; on a face it is a size
        in_front = of(self.exits.vertex, i) <= self.slope.ground.stations[:, :1]
        near = np.where(in_front, _NEAR, _NEAR_ON_FACE) * height
        far = np.where(back > 0.0, back, height)
        logs = np.stack((np.log(out + near), np.log(far), np.log(_OPENINGS[m])), axis=-1)
        return _Lanes(
            exit_vertex=of(self.exits.vertex, i),
            entry_vertex=of(self.entries.vertex, j),
            exit_free=out > 0.0,
            entry_free=back > 0.0,
            near=near,
            height=height,
            unknowns=logs,
        )

    def _slack(self, merit: Float) -> Float:
        """How far below the best merit [kPa] of a slope another may be and still win."""
        stress = (self.slope.unit_weight * self.height)[:, None]
        best: Float = np.max(merit, axis=1, keepdims=True)
        share = np.where(best < _LITTLE * stress, 0.2, 0.01)
        return 0.4 * np.abs(np.where(np.isfinite(best), best, 0.0)) + share * stress

    def _root(
        self, start: Float, end: Float, opening: Float, y: Float, water: int, steps: int
    ) -> Float:
        """Newton steps on c_r(y tan φ′) = y c′ for fixed spirals."""
        c = self.c[:, None]
        for _ in range(steps):
            dy = 1e-6 * y
            here = self._needs(start, end, opening, y, water)[0]
            there = self._needs(start, end, opening, y + dy, water)[0]
            sound = np.isfinite(here) & np.isfinite(there)
            with np.errstate(divide="ignore", invalid="ignore"):
                rate = (there - here) / dy - c
                better = y - (here - c * y) / rate
            # where the rate has the wrong sign there is no root on this side: move up
            better = np.where(sound & (rate < 0.0), better, np.where(sound, 2.0 * y, y))
            y = self._held(np.clip(better, 0.5 * y, 2.0 * y))
        return y

    def _polish(self, lanes: _Lanes, y: Float, *, follow: bool) -> Critical:
        """Critical spirals from the lanes, y following each lane or held until the end."""
        x = lanes.unknowns
        always = np.ones_like(lanes.exit_free)
        moving = np.stack((lanes.exit_free, lanes.entry_free, always), axis=-1)
        step = np.where(moving, _STEP, 0.0)
        y = np.repeat(y[:, None], x.shape[1], axis=1)
        first = step
        for round_ in range(_POLISHES):
            if follow:
                y = self._root(*lanes.spiral(x), y, _FINE_WATER, 1)
            trial = lanes.held(x[..., None, :] + step[..., None, :] * _STENCIL)
            f = self._value(lanes, trial, y[..., None])
            best = np.argmax(f, axis=-1)[..., None]
            top = np.take_along_axis(f, best, axis=-1)[..., 0]
            place = np.take_along_axis(trial, best[..., None], axis=-2)[..., 0, :]
            jump = _quadratic_step(f)
            leap = lanes.held(x + step * jump)
            leaps = self._value(lanes, leap, y) >= top
            x = self._as_cut(lanes, np.where(leaps[..., None], leap, place), y)
            near = np.max(np.abs(jump), axis=-1) < 1.0
            gained = np.where(np.isfinite(top), top - np.maximum(f[..., _CENTRE], -1e30), 0.0)
            flat = gained <= 1e-10 * np.abs(top)
            still = np.where(leaps, near, flat)
            step = step * np.where(still, 0.3, 1.8)[..., None]
            if round_ == _POLISHES // 2:
                # a stencil that shrank on a ridge gets another start, if it still may win
                order = np.argsort(-self._standing(lanes, x, y, follow=follow), axis=1)
                order = order[:, :_LEADERS]
                lanes = lanes.take(order)
                y = np.take_along_axis(y, order, axis=1)
                x, step, first = (
                    np.take_along_axis(of, order[..., None], axis=1) for of in (x, step, first)
                )
                step = np.maximum(step, first / 4.0)
        return self._settle(lanes, x, y, follow=follow)

    def _as_cut(self, lanes: _Lanes, x: Float, y: Float) -> Float:
        """Unknowns with the opening that was left, so that a stencil sees both sides of it."""
        tan = self.tan[:, None] * y
        spiral = spiral_through(self.slope, *lanes.spiral(x), tan, upright=True)
        return np.concatenate((x[..., :2], np.log(spiral.opening)[..., None]), axis=-1)

    def _value(self, lanes: _Lanes, x: Float, y: Float) -> Float:
        return self._merit(*lanes.spiral(x), y, _FINE_WATER)

    def _standing(self, lanes: _Lanes, x: Float, y: Float, *, follow: bool) -> Float:
        """What tells the best lane: y where it follows the lanes, else their merit."""
        merit = self._value(lanes, x, y)
        return np.where(np.isfinite(merit), y, -np.inf) if follow else merit

    def _settle(self, lanes: _Lanes, x: Float, y: Float, *, follow: bool) -> Critical:
        """The best lane of each slope, its root found to the last digits and put back."""
        water = _FINE_WATER if self.slope.water is None else _LAST_WATER
        if follow:
            y = self._root(*lanes.spiral(x), y, _FINE_WATER, 2)
        lane = np.argmax(self._standing(lanes, x, y, follow=follow), axis=1)[:, None]
        y = np.take_along_axis(y, lane, axis=1)
        start, end, opening = (np.take_along_axis(part, lane, axis=1) for part in lanes.spiral(x))
        if self.reduce:
            y = self._root(start, end, opening, y, water, 3)
        cohesion, driving, spiral = self._needs(start, end, opening, y, water)
        tan = self.tan[:, None] * y
        more = 1e-6 * (1.0 + tan)
        beside = spiral_through(self.slope, start, end, opening, tan + more, upright=True)
        held = self.c[:, None] * y
        stress = (self.slope.unit_weight * self.slope.height)[:, None]
        with np.errstate(invalid="ignore"):  # ground all but level: no spiral is usable
            rate = (cohesion_required(self.slope, beside, water)[0] - cohesion) / more
            residual = np.abs(cohesion - held) / (held + stress * np.maximum(tan, 1e-3))
        stations, far = self.slope.ground.stations, 0.9 * REACH * self.height[:, None]
        unbounded = (start < stations[:, :1] - far) | (end > stations[:, -1:] + far)
        found = {
            "inverse": y,
            "cohesion": cohesion,
            "rate": rate,
            "residual": residual,
            "driving": driving,
            "start": start,
            "end": end,
            "opening": spiral.opening,
            "unbounded": unbounded,
        }
        return Critical(**{name: np.broadcast_to(v, y.shape)[:, 0] for name, v in found.items()})


def _larger(one: Critical, other: Critical) -> Critical:
    """Slope by slope the one with the larger y, that is the lower factor."""
    better = other.inverse > one.inverse
    return Critical(
        *(np.where(better, getattr(other, name), getattr(one, name)) for name in Critical.__slots__)
    )


def _quadratic_step(f: Float) -> Float:
    """Step, in stencil spacings, to the top of the quadratic through stencils (..., 27),
    or two uphill in a direction in which it has none.
    """
    finite = np.all(np.isfinite(f), axis=-1)
    cube = np.where(finite[..., None], f, 0.0).reshape(*f.shape[:-1], 3, 3, 3)
    line = [cube[..., :, 1, 1], cube[..., 1, :, 1], cube[..., 1, 1, :]]
    plane = [(0, 1, cube[..., :, :, 1]), (0, 2, cube[..., :, 1, :]), (1, 2, cube[..., 1, :, :])]
    gradient = np.stack([(p[..., 2] - p[..., 0]) / 2.0 for p in line], axis=-1)
    hessian = np.empty((*gradient.shape, 3))
    for axis, p in enumerate(line):
        hessian[..., axis, axis] = p[..., 2] - 2.0 * p[..., 1] + p[..., 0]
    for i, j, p in plane:
        mixed = (p[..., 2, 2] - p[..., 2, 0] - p[..., 0, 2] + p[..., 0, 0]) / 4.0
        hessian[..., i, j] = hessian[..., j, i] = mixed
    value, vector = np.linalg.eigh(hessian)
    curved = value < -1e-9 * np.max(np.abs(value), axis=-1, keepdims=True)
    along = np.einsum("...ij,...i->...j", vector, gradient)
    length = np.where(curved, -along / np.where(curved, value, 1.0), 2.0 * np.sign(along))
    step = np.einsum("...ij,...j->...i", vector, np.clip(length, -2.0, 2.0))
    return np.where(finite[..., None], step, 0.0)
