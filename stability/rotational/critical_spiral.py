"""Search for the critical spiral of many slopes at once.

Three unknowns: the stations of exit and entry and the opening angle; on cracked ground a fourth,
the depth at which the spiral ends in a crack. A coarse grid finds the
neighbourhood, kept apart by the piece of ground on which each end lies, since a toe
mechanism and a deep one, or a bench alone and the whole cut, are separate maxima. The best
few neighbourhoods are then polished together (``spiral_polish``).

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

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import (
    LoadedSlope,
    Spiral,
    mean_depth,
    spiral_through,
)
from slipmargin.stability.rotational.spiral_ends import REACH, Ends, entries, exits
from slipmargin.stability.rotational.spiral_polish import (
    ASIDE,
    TRIALS,
    Judged,
    Lanes,
    Places,
    Polish,
    held,
    next_root,
)

__all__ = ["Critical", "critical_spirals", "hardest_spirals"]

_OPENINGS = np.geomspace(0.02, 2.6, 12)
# with cracks, of two depths, fewer openings are enough: polishing goes far
_FEWER_OPENINGS, _CRACKS = np.geomspace(0.02, 2.6, 8), np.array([0.3, 1.0])
_LANES, _REPEATS = 8, 4
_NEAR, _NEAR_ON_FACE = 0.1, 2e-3
_COARSE_WATER, _FINE_WATER, _LAST_WATER = 8, 128, 1024
_COARSE_ROUNDS, _COARSE_STEPS, _LAST_STEPS = 2, 2, 3
_LEAST_COHESION, _SAME = 1e-7, 1e-13
_LEVEL, _LITTLE = 1e-6, 0.02
_SPIRALS_AT_ONCE = 10_000


@dataclass(frozen=True, slots=True)
class Critical:
    """The critical spiral of each slope.

    ``inverse`` is y = 1 / F; ``cohesion`` [kPa] what the spiral requires and ``rate`` [kPa]
    its change with tan φ; ``residual`` what is left of the equation, as a share of the
    strength at the depth of the slope; ``driving`` [kN·m/m]; ``start``, ``end`` [m],
    ``opening`` [rad] and ``crack`` [m] fix the spiral.
    """

    inverse: Float
    cohesion: Float
    rate: Float
    residual: Float
    driving: Float
    start: Float
    end: Float
    opening: Float
    crack: Float
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
    unknowns = 3 if slope.crack_depth is None else 4
    polished = _LANES * TRIALS[unknowns] * (_FINE_WATER if slope.wet else 1)
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
        start, end = (part[rows] if len(part) > 1 else part for part in self.stations)
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

    def run(self) -> Critical:
        y = self._first_guess()
        lanes, y = self._coarse(y, _COARSE_ROUNDS if self.reduce else 1)
        best = self._settled(lanes, y, follow=self.reduce)
        for _ in range(_REPEATS if self.reduce else 0):
            # the hardest spirals at the root itself: none of them may ask for more
            lanes, _ = self._coarse(best.inverse, 1)
            better = _larger(best, self._settled(lanes, best.inverse, follow=False))
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
        return held(2.0 * stress / np.maximum(under, 1e-9 * stress), self.tan)

    def _spirals(
        self, places: Places, tan: Float, water: int, *, upright: bool = True
    ) -> tuple[Float, Float, Spiral]:
        """Cohesion required [kPa], driving moment, and the spirals, at reduced tangents."""
        start, end, opening, crack = places
        spiral = spiral_through(self.slope, start, end, opening, tan, crack=crack, upright=upright)
        return *cohesion_required(self.slope, spiral, water), spiral

    def _merit(self, cohesion: Float, spiral: Spiral) -> Float:
        """What the search raises [kPa]: the cohesion that spirals require. Where they require
        less than none, a mass of no depth would be the best of them, and so the cohesion is
        taken for as much depth as the slope has height.
        """
        spare = cohesion < 0.0
        if not np.any(spare):
            return cohesion
        height = self.slope.height.reshape((-1,) + (1,) * (cohesion.ndim - 1))
        with np.errstate(divide="ignore", invalid="ignore"):
            scaled = cohesion * height / np.minimum(mean_depth(spiral), height)
        return np.where(spare & (scaled < 0.0), scaled, np.where(spare, -np.inf, cohesion))

    def _coarse(self, y: Float, rounds: int) -> tuple[Lanes, Float]:
        """Best spiral of every pair of groups, the best pairs first, and a better y."""
        for _ in range(rounds):
            lanes = self._leading(self._grid(y))
            if self.reduce:
                lead = _chosen(lanes.spiral(lanes.unknowns), np.zeros((1, 1), dtype=np.intp))
                y = self._root(lead, y[:, None], _COARSE_WATER, _COARSE_STEPS)[:, 0]
        return lanes, y

    def _grid(self, y: Float) -> Float:
        """Merit of every pair and opening, (slopes, pairs, openings), a few slopes at a time."""
        openings, shares = self._shapes
        spirals = self.pairs.exit.size * openings.size
        rows = _SPIRALS_AT_ONCE // (spirals * (_COARSE_WATER if self.slope.wet else 1))
        merits = []
        for first in range(0, y.size, max(rows, 1)):
            part = slice(first, first + max(rows, 1))
            some = self._part(part)
            start, end = (station[..., None] for station in some.pairs.stations)
            deepest = some.slope.crack_depth
            crack = None if deepest is None else deepest[:, None, None] * shares
            places = start, end, openings[None, None, :], crack
            tan = (some.tan * y[part])[:, None, None]
            cohesion, _, spiral = some._spirals(places, tan, _COARSE_WATER, upright=False)
            merit = some._merit(cohesion, spiral)
            merits.append(np.where(some.pairs.rising[..., None], merit, -np.inf))
        return np.concatenate(merits)

    @property
    def _shapes(self) -> tuple[Float, Float]:
        """Openings and shares of the deepest crack that every pair is tried with."""
        if self.slope.crack_depth is None:
            return _OPENINGS, np.zeros(_OPENINGS.size)
        tried = np.broadcast_arrays(_FEWER_OPENINGS[:, None], _CRACKS)
        return tried[0].ravel(), tried[1].ravel()

    def _part(self, rows: slice) -> _Search:
        """The search of some of the slopes, as far as a grid needs it."""
        some = copy(self)
        some.slope, some.tan = self.slope.take(rows), self.tan[rows]
        some.pairs = self.pairs.take(rows)
        return some

    def _leading(self, merit: Float) -> Lanes:
        n, _, width = merit.shape
        rows, pairs = np.arange(n), self.pairs
        shape = (n, len(self.exits.groups), len(self.entries.groups))
        value, pick = np.full(shape, -np.inf), np.zeros(shape, dtype=np.intp)
        for (e, f), part in pairs.groups.items():
            block = merit[:, part].reshape(n, -1)
            k = np.argmax(block, axis=1)
            value[:, e, f], pick[:, e, f] = block[rows, k], k + part.start * width
        # a free entry moves from piece to piece: of the groups side by side the best is enough
        held = sum(self.entries.distance[0, g.start] == 0.0 for g in self.entries.groups)
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
        height = self.slope.height[:, None]
        # in front of the toe the distance may well go down to nothing; on a face it is a size
        in_front = of(self.exits.vertex, i) <= self.slope.ground.stations[:, :1]
        near = np.where(in_front, _NEAR, _NEAR_ON_FACE) * height
        far = np.where(back > 0.0, back, height)
        openings, shares = self._shapes
        unknowns = [np.log(out + near), np.log(far), np.log(openings[m])]
        deepest = self.slope.crack_depth
        if deepest is not None:
            unknowns.append(shares[m])
        return Lanes(
            exit_vertex=of(self.exits.vertex, i),
            entry_vertex=of(self.entries.vertex, j),
            exit_free=out > 0.0,
            entry_free=back > 0.0,
            near=near,
            height=height,
            crack=None if deepest is None else deepest[:, None],
            unknowns=np.stack(unknowns, axis=-1),
        )

    def _slack(self, merit: Float) -> Float:
        """How far below the best merit [kPa] of a slope another may be and still win."""
        stress = (self.slope.unit_weight * self.slope.height)[:, None]
        best: Float = np.max(merit, axis=1, keepdims=True)
        share = np.where(best < _LITTLE * stress, 0.2, 0.01)
        return 0.4 * np.abs(np.where(np.isfinite(best), best, 0.0)) + share * stress

    def _root(self, places: Places, y: Float, water: int, steps: int) -> Float:
        """Newton steps on c_r(y tan φ′) = y c′ for fixed spirals, (slopes, lanes)."""
        for _ in range(steps):
            needed, rate, _, _ = self._beside(places, y, water)
            before, y = y, next_root(y, self.c[:, None], self.tan[:, None], needed, rate)
            if np.all(np.abs(y - before) <= _SAME * y):
                break
        return y

    def _beside(self, places: Places, y: Float, water: int) -> tuple[Float, Float, Float, Spiral]:
        """Cohesion required, its change with tan φ_m, and driving moment of fixed spirals."""
        tan = self.tan[:, None] * y
        more = ASIDE * (1.0 + tan)
        both = np.stack((tan, tan + more), axis=-1)
        start, end, opening, crack = places
        deep = None if crack is None else crack[..., None]
        aside = start[..., None], end[..., None], opening[..., None], deep
        cohesion, driving, spiral = self._spirals(aside, both, water)
        with np.errstate(invalid="ignore"):  # ground all but level: no spiral is usable
            rate = (cohesion[..., 1] - cohesion[..., 0]) / more
        return cohesion[..., 0], rate, driving[..., 0], spiral

    def _settled(self, lanes: Lanes, y: Float, *, follow: bool) -> Critical:
        """Critical spirals from the lanes, y following each lane or held until the end."""
        polish = Polish(self._judged, self.c, self.tan, follow=follow)
        places, y, standing = polish.run(lanes, y)
        lane = np.argmax(standing, axis=1)[:, None]
        y = np.take_along_axis(y, lane, axis=1)
        places = start, end, _, crack = _chosen(places, lane)
        water = _LAST_WATER if self.slope.wet else _FINE_WATER
        if self.reduce:
            y = self._root(places, y, water, _LAST_STEPS)
        cohesion, rate, driving, spiral = self._beside(places, y, water)
        held = self.c[:, None] * y
        stress = (self.slope.unit_weight * self.slope.height)[:, None]
        with np.errstate(invalid="ignore"):  # as above
            over = np.maximum(self.tan[:, None] * y, 1e-3)
            residual = np.abs(cohesion - held) / (held + stress * over)
        stations, far = self.slope.ground.stations, 0.9 * REACH * self.slope.height[:, None]
        unbounded = (start < stations[:, :1] - far) | (end > stations[:, -1:] + far)
        found = {
            "inverse": y,
            "cohesion": cohesion,
            "rate": rate,
            "residual": residual,
            "driving": driving,
            "start": start,
            "end": end,
            "opening": np.broadcast_to(spiral.opening, (*y.shape, 2))[..., 0],
            "crack": np.zeros(1) if crack is None else crack,
            "unbounded": unbounded,
        }
        return Critical(**{name: np.broadcast_to(v, y.shape)[:, 0] for name, v in found.items()})

    def _judged(self, rows: NDArray[np.intp], places: Places, tan: Float) -> Judged:
        """Merit, cohesion required and openings as cut, of some slopes (rows, lanes, trials)."""
        some = copy(self)
        some.slope = self.slope.take(rows)
        cohesion, _, spiral = some._spirals(places, tan, _FINE_WATER)
        opening = np.broadcast_to(spiral.opening, cohesion.shape)
        return some._merit(cohesion, spiral), cohesion, opening


def _chosen(places: Places, lane: NDArray[np.intp]) -> Places:
    """One lane of each slope, (slopes, 1)."""
    rows = max(part.shape[0] for part in places if part is not None)
    index = np.broadcast_to(lane, (rows, 1))

    def of(part: Float) -> Float:
        return np.take_along_axis(np.broadcast_to(part, (rows, part.shape[1])), index, axis=1)

    start, end, opening, crack = places
    return of(start), of(end), of(opening), None if crack is None else of(crack)


def _larger(one: Critical, other: Critical) -> Critical:
    """Slope by slope the one with the larger y, that is the lower factor."""
    better = other.inverse > one.inverse
    return Critical(
        *(np.where(better, getattr(other, name), getattr(one, name)) for name in Critical.__slots__)
    )
