"""Search for the critical spiral of many slopes at once.

Three unknowns: the stations of exit and entry and the opening angle; on cracked ground a fourth,
the depth at which the spiral ends in a crack. A toe mechanism and a deep one, a bench alone
and the whole cut, the edge of a load and the slope are separate maxima. The best few tops of a
coarse grid are polished together (``spiral_polish``).

The strength enters through y = 1 / F. A slope that requires the cohesion c_r(tan φ) stands
with the factor F when

    c_r(y tan φ′) = y c′

and the smallest such F, the largest y, over all spirals is wanted. Every spiral has a root of
its own, and so gives a y that is no larger. The spiral that most exceeds y c′ at such a y has a
larger root, if any has: from one to the next y rises to where no spiral exceeds it. The search
ends there, and not before; where it is cut short, the residual is infinite.

How much a spiral exceeds y c′ is measured as a share of a rough strength of its own mass,
which leaves the largest y the same, and lets a shallow mass count as much as a deep one.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipmargin.stability.ground.flat import joined, taken
from slipmargin.stability.ground.ground_line import Float, across
from slipmargin.stability.rotational.log_spiral import Balance, cohesion_required
from slipmargin.stability.rotational.spiral import (
    WIDEST_OPENING,
    LoadedSlope,
    Spiral,
    spiral_through,
)
from slipmargin.stability.rotational.spiral_ends import REACH, Pairs, entries, exits, tops
from slipmargin.stability.rotational.spiral_polish import (
    ASIDE,
    TRIALS,
    Flags,
    Index,
    Judged,
    Lanes,
    Places,
    Polish,
    held,
    next_root,
    strength_of,
)

__all__ = ["Critical", "Search", "critical_spirals", "hardest_spirals", "in_chunks", "put_better"]

Rows = slice | Index

_OPENINGS = np.geomspace(0.02, 2.6, 12)
# with cracks, of two depths, fewer openings are enough: polishing goes far
_FEWER_OPENINGS, _CRACKS = np.geomspace(0.02, 2.6, 8), np.array([0.3, 1.0])
_LANES, _REPEATS, _NO_LOWER = 10, 30, 1e-8
_NEAR, _NEAR_ON_FACE = 0.1, 1e-5
_CLOSEST, _NARROWEST = 1e-5, 1e-3
_COARSE_WATER, _FINE_WATER, _LAST_WATER = 8, 128, 1024
_LAST_STEPS = 8
_LEAST_COHESION, _SAME = 1e-7, 1e-13
_SLACK = 0.4
_SPIRALS_AT_ONCE = 10_000


@dataclass(frozen=True, slots=True)
class Critical:
    """The critical spiral of each slope.

    ``inverse`` is y = 1 / F; ``cohesion`` [kPa] what the spiral requires and ``rate`` [kPa]
    its change with tan φ; ``residual`` what is left of the equation, as a share of the
    strength at the depth of the slope, ``inf`` where the search was cut short; ``driving``
    [kN·m/m]; ``start``, ``end`` [m], ``opening`` [rad] and ``crack`` [m] fix the spiral.
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
    unbounded: Flags

    def spirals(self, slope: LoadedSlope, tan: Float) -> Spiral:
        """The spirals themselves, shape (slopes, 1), at reduced tan φ of shape (slopes,)."""
        start, end, opening, crack, tan = (
            one[:, None] for one in (self.start, self.end, self.opening, self.crack, tan)
        )
        deep = None if slope.crack_depth is None else crack
        return spiral_through(slope, start, end, opening, tan, crack=deep)


def critical_spirals(slope: LoadedSlope, cohesion: Float, tan_friction_angle: Float) -> Critical:
    """Critical spiral and factor for strengths of shape (slopes,)."""
    stress = slope.unit_weight * slope.height
    count = max(cohesion.size, stress.size, slope.ground.vertices.shape[0])
    tan = np.broadcast_to(tan_friction_angle, (count,))
    # at no cohesion at all rounding would choose the surface
    c = np.maximum(np.broadcast_to(cohesion, (count,)), _LEAST_COHESION * stress * tan)
    return in_chunks(slope, c, tan, reduce=True)[0]


def hardest_spirals(slope: LoadedSlope, tan_friction_angle: Float) -> Critical:
    """Spiral that requires most cohesion at each given (reduced) friction angle."""
    count = max(tan_friction_angle.size, slope.height.size)
    tan = np.broadcast_to(tan_friction_angle, (count,))
    return in_chunks(slope, np.zeros(count), tan, reduce=False)[0]


def in_chunks(slope: LoadedSlope, c: Float, tan: Float, *, reduce: bool) -> tuple[Critical, Lanes]:
    """Critical spirals, and the lane of each."""
    unknowns = 3 if slope.crack_depth is None else 4
    polished = _LANES * TRIALS[unknowns] * (_FINE_WATER if slope.wet else 1)
    rows = max(1, _SPIRALS_AT_ONCE // polished)
    parts = [slice(first, first + rows) for first in range(0, c.size, rows)]
    found = [Search(slope.take(part), c[part], tan[part], reduce).run() for part in parts]
    return joined([one for one, _ in found]), joined([lanes for _, lanes in found])


class Search:
    """A chunk of slopes on its way from a grid to the critical spirals."""

    def __init__(self, slope: LoadedSlope, c: Float, tan: Float, reduce: bool) -> None:
        self.slope, self.c, self.tan, self.reduce = slope, c, tan, reduce
        self.exits, self.entries = exits(slope), entries(slope)
        self.pairs = Pairs.of(slope, self.exits, self.entries)

    def run(self) -> tuple[Critical, Lanes]:
        """The critical spirals, and the lane of each."""
        rows = np.arange(self.c.size)
        lanes, y = self._begun(self._first_guess())
        best, found = self.settled(lanes, y, np.ones(lanes.slope.size, dtype=bool))
        # where neither load nor ground has an edge a top is found as well from beside the root
        smooth = self.slope.scales and not self.slope.on_face
        if not self.reduce:
            if not smooth:
                self.c = np.maximum(best.cohesion, 0.0)
                better, again = self._beside(found.freed(), found, y)
                more = better.cohesion > best.cohesion
                put_better(best, found, rows, better, again, more)
            return best, found
        tried = {*zip(lanes.slope, lanes.cell, strict=True)}
        if not smooth:
            # past an edge the way up depends on where it began
            lanes, y = self._begun(y)
            better, again = self.settled(lanes, y, np.ones(lanes.slope.size, dtype=bool))
            lower = better.inverse > best.inverse
            put_better(best, found, rows, better, again, lower)
        for _ in range(_REPEATS):
            # the hardest spirals at the root itself: none of them may ask for more
            some, y = self.part(rows), best.inverse[rows]
            lanes = some._lanes(y)
            if smooth:
                cells = [*zip(rows[lanes.slope], lanes.cell, strict=True)]
                lanes = lanes.take(np.array([cell not in tried for cell in cells]))
                tried.update(cells)
            if not lanes.slope.size:
                break
            known = replace(found.take(rows), slope=np.arange(rows.size))
            lanes = lanes if smooth else joined([lanes, known.freed()])
            better, again = some._beside(lanes, known, y)
            lower = better.inverse > y
            put_better(best, found, rows, better, again, lower)
            rows = rows[better.inverse > y * (1.0 + _NO_LOWER)]
            if not rows.size:
                break
        else:
            best.residual[rows] = np.inf
        return best, found

    def _begun(self, y: Float) -> tuple[Lanes, Float]:
        """The tops of the grid, and a y, or the cohesion, nearer to what the best of them asks."""
        lanes = self._lanes(y)
        lead = lanes.take(np.searchsorted(lanes.slope, np.arange(y.size)))
        needed, rate, *_ = self._aside(lead, y, _COARSE_WATER)
        if self.reduce:
            return lanes, next_root(y, self.c, self.tan, needed, rate)
        self.c = np.maximum(needed, 0.0)
        return lanes, y

    def _beside(self, lanes: Lanes, known: Lanes, y: Float) -> tuple[Critical, Lanes]:
        """Critical spirals from more lanes, and those of the lanes that are known."""
        whole = joined([lanes, known])
        order = np.argsort(whole.slope, kind="stable")
        return self.settled(whole.take(order), y, order < lanes.slope.size)

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
    ) -> tuple[Balance, Spiral]:
        """What spirals at reduced tangents require, and these."""
        start, end, opening, crack = places
        spiral = spiral_through(self.slope, start, end, opening, tan, crack=crack, upright=upright)
        return cohesion_required(self.slope, spiral, water), spiral

    def _stress(self, depth: Float) -> Float:
        """A rough mean normal stress [kPa], from the mean depth of the mass and the surcharge."""
        weight, over = self.slope.unit_weight, self.slope.surcharge
        return across(weight, depth.ndim) * depth + across(over, depth.ndim)

    def _lanes(self, y: Float) -> Lanes:
        """Where the grid is higher than beside, a few slopes at a time."""
        spirals = self.pairs.exit.size * self._shapes[0].size
        rows = max(1, _SPIRALS_AT_ONCE // (spirals * (_COARSE_WATER if self.slope.wet else 1)))
        lanes = []
        for first in range(0, y.size, rows):
            part = slice(first, first + rows)
            some = self.part(part)
            found = some._leading(some._grid(y[part]))
            lanes.append(replace(found, slope=found.slope + first))
        return joined(lanes)

    def _grid(self, y: Float) -> Float:
        """By how much every pair and opening is short of cohesion, as a share of its strength,
        (slopes, exits, entries, openings, cracks). Without a cohesion, of the most.
        """
        pairs, openings, shares = self.pairs, *self._shapes
        deepest = self.slope.crack_depth
        crack = None if deepest is None else deepest[:, None, None] * shares.ravel()
        places = pairs.start[..., None], pairs.end[..., None], openings.ravel()[None, None], crack
        tan = (self.tan * y)[:, None, None]
        needed, _ = self._spirals(places, tan, _COARSE_WATER, upright=False)
        cohesion = np.where(pairs.rising[..., None], needed.cohesion, -np.inf)
        held = (self.c * y)[:, None, None]
        if not self.reduce:
            held = np.maximum(np.max(cohesion, axis=(1, 2), keepdims=True), 0.0)
        merit = np.full(
            (y.size, self.exits.vertex.shape[1], self.entries.vertex.shape[1], *openings.shape),
            -np.inf,
        )
        short = (cohesion - held) / strength_of(held, self._stress(needed.depth), tan)
        merit[:, pairs.exit, pairs.entry] = short.reshape(y.size, -1, *openings.shape)
        return merit

    @property
    def _shapes(self) -> tuple[Float, Float]:
        """Openings and shares of the deepest crack that every pair is tried with."""
        if self.slope.crack_depth is None:
            return _OPENINGS[:, None], np.zeros((_OPENINGS.size, 1))
        openings, shares = np.broadcast_arrays(_FEWER_OPENINGS[:, None], _CRACKS)
        return openings, shares

    def part(self, rows: Rows) -> Search:
        """The search of some of the slopes."""
        some = copy(self)
        some.slope, some.c, some.tan = self.slope.take(rows), self.c[rows], self.tan[rows]
        some.exits, some.entries = taken(self.exits, rows), taken(self.entries, rows)
        some.pairs = self.pairs.take(rows)
        return some

    def _leading(self, merit: Float) -> Lanes:
        """The best tops of the grid of each slope, the best first. A place that is held is told
        apart from those beside it, to which a free one comes back.
        """
        n, *shape = merit.shape
        top = tops(merit, 1, self.exits.free) & tops(merit, 2, self.entries.free)
        top &= tops(merit, 3, shape[2])
        ranked = np.where(top, merit, -np.inf).reshape(n, -1)
        keep = np.argsort(-ranked, axis=1)[:, :_LANES]
        # the grid is some tenths off; what lies further down is not worth a lane
        value = np.take_along_axis(ranked, keep, axis=1)
        close = value >= value[:, :1] - _SLACK * (1.0 + np.abs(np.nan_to_num(value[:, :1])))
        close[:, 0] = True
        rows, lane = np.nonzero(close)
        i, j, *m = np.unravel_index(keep[rows, lane], shape)
        openings, shares = (table[*m] for table in self._shapes)

        def of(table: Float, index: Index) -> Float:
            return np.broadcast_to(table, (n, table.shape[1]))[rows, index]

        out, back = of(self.exits.distance, i), of(self.entries.distance, j)
        height = np.broadcast_to(self.slope.height, (n,))[rows]
        exit_vertex, last = of(self.exits.vertex, i), self.slope.ground.stations.shape[1]
        # in front of the toe the distance may well go down to nothing; on a face it is a size
        stations = np.broadcast_to(self.slope.ground.stations, (n, last))[rows]
        lower = np.where(stations < exit_vertex[:, None], stations, -np.inf)
        far = np.minimum(exit_vertex - np.max(lower, axis=1), REACH * height)
        near = np.where(exit_vertex <= stations[:, 0], _NEAR, _NEAR_ON_FACE) * height
        even = np.ones(rows.size)
        sizes = (
            (out + near, np.where(back > 0.0, back, height), openings),
            (near, _CLOSEST * height, _NARROWEST * even),
            (near + far, REACH * height, WIDEST_OPENING * even),
        )
        columns, deepest = [[np.log(one) for one in each] for each in sizes], self.slope.crack_depth
        if deepest is not None:
            deepest = np.broadcast_to(deepest, (n,))[rows]
            for each, share in zip(columns, (shares, 0.0 * even, even), strict=True):
                each.append(share)
        unknowns, least, most = (np.stack(each, axis=-1) for each in columns)
        return Lanes(
            slope=rows,
            cell=keep[rows, lane],
            exit_vertex=exit_vertex,
            entry_vertex=of(self.entries.vertex, j),
            exit_free=out > 0.0,
            entry_free=back > 0.0,
            near=near,
            crack=deepest,
            least=least,
            most=most,
            unknowns=unknowns,
        )

    def _aside(self, lanes: Lanes, y: Float, water: int) -> tuple[Float, Float, Float, Spiral]:
        """Cohesion required, its change with tan φ_m, driving moment and spiral of one lane a
        slope.
        """
        places, tan = lanes.spiral(lanes.unknowns[:, None]), self.tan * y
        more = ASIDE * (1.0 + tan)
        both = np.stack((tan, tan + more), axis=-1)
        (cohesion, driving, _), spiral = self._spirals(places, both, water)
        with np.errstate(invalid="ignore"):  # ground all but level: no spiral is usable
            rate = (cohesion[:, 1] - cohesion[:, 0]) / more
        return cohesion[:, 0], rate, driving[:, 0], spiral

    def settled(self, lanes: Lanes, y: Float, new: Flags) -> tuple[Critical, Lanes]:
        """Critical spirals from the lanes, and the lane of each."""
        lanes, y = Polish(self._judged, lanes, y, self.c, self.tan, self.reduce, new).run()
        start, end, _, crack = lanes.spiral(lanes.unknowns[:, None])
        water = _LAST_WATER if self.slope.wet else _FINE_WATER
        for step in range(_LAST_STEPS + 1):
            cohesion, rate, driving, spiral = self._aside(lanes, y, water)
            if step == _LAST_STEPS or not self.reduce:
                break
            before, y = y, next_root(y, self.c, self.tan, cohesion, rate)
            if np.all(np.abs(y - before) <= _SAME * y):
                break
        held = self.c * y
        stress = self.slope.unit_weight * self.slope.height
        with np.errstate(invalid="ignore"):  # as above
            over = np.maximum(self.tan * y, 1e-3)
            residual = np.abs(cohesion - held) / (held + stress * over)
        stations, far = self.slope.ground.stations, 0.9 * REACH * self.slope.height
        unbounded = start[:, 0] < stations[:, 0] - far
        unbounded |= end[:, 0] > stations[:, -1] + far
        found = Critical(
            inverse=y,
            cohesion=cohesion,
            rate=rate,
            residual=residual,
            driving=driving,
            start=start[:, 0],
            end=end[:, 0],
            opening=np.broadcast_to(spiral.opening, (y.size, 2))[:, 0].copy(),
            crack=np.zeros(y.size) if crack is None else crack[:, 0],
            unbounded=unbounded,
        )
        return found, replace(lanes, slope=np.arange(y.size))

    def _judged(self, rows: Index, places: Places, tan: Float) -> Judged:
        """What trials (rows, trials) of some slopes require."""
        some = copy(self)
        some.slope = self.slope.take(rows)
        needed, spiral = some._spirals(places, tan, _FINE_WATER)
        return needed.cohesion, some._stress(needed.depth), spiral.opening


def put_better(
    best: Critical, lanes: Lanes, rows: Index, better: Critical, others: Lanes, where: Flags
) -> None:
    """Replaces rows of spirals and of their lanes by others, where these are better."""
    at = rows[where]
    pairs: tuple[tuple[Any, Any], ...] = (best, better), (lanes, replace(others, slope=rows))
    for records, found in pairs:
        for name in type(records).__slots__:
            if (table := getattr(records, name)) is not None:
                table[at] = getattr(found, name)[where]
