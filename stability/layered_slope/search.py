"""The circle with the lowest Spencer factor, for one sample or many at once.

A circle is told by where it leaves the ground, where it enters (or the foot of the crack it
ends at), and half the angle of its arc: every circle that neither overhangs nor passes
straight through has one such triple. The search looks at all triples of a grid by Bishop's
factor, takes the lowest of them that differ, and walks from each downhill by Spencer's: each
step looks at all neighbours at once, at those whose arc keeps its lowest level (a circle that
just touches stiffer ground) or its depth (one that is just deep enough), and at the lowest
point of a square through the neighbours; where none is lower the steps are halved. Nothing is
random.

Samples do not know of each other: an array gives what its elements give.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import pieces
from slipmargin.stability.layered_slope.factors import lowest_factors
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles, slices_of
from slipmargin.stability.layered_slope.spencer import LEAST_SHARE, bishop, strengths

__all__ = [
    "SLICES",
    "Found",
    "Walk",
    "circles_through",
    "corners_and_way",
    "full_search",
    "looked_at",
    "walked",
]

SLICES = 40
"""Slices at equal angles; twice as many change a factor by about 0.02 %."""

_COARSE = 12
_APART = 0.07  # of the height, least way between stations of the grid
_STARTS = 12
_KEPT, _KEPT_AFTER = 4, 5
_AGAIN, _OTHER_WIDTH = 4, 1.3
_MOST_ROUNDS, _LEAST_STEP = 40, 1.0 / 512.0
_FURTHEST = 4.0  # of the height, beyond the ends of the rise
_UPRIGHT, _FLATTEST = np.radians(88.0), np.radians(-55.0)
_SHARES = (0.03, 0.08, 0.15, 0.24, 0.34, 0.45, 0.57, 0.7, 0.84, 0.97)
_NEAR = (0.06, 0.14, 0.24, 0.36, 0.55, 0.9, 1.4, 2.0, 2.8, _FURTHEST)
_CRACK_SHARES = (0.0, 0.5, 1.0)
_STEP_ALONG, _STEP_TURN, _STEP_CRACK = 0.12, 0.08, 0.25  # of the height; [rad]; of its limit
_CHUNK = 25_000  # circles times slices at once


@dataclass(frozen=True, slots=True)
class Found:
    """What the search found, by sample.

    ``place`` are the triples and the share of the crack, of shape (samples, circles, 4), the
    lowest first, and ``factor`` and ``tangent`` of shape (samples, circles) theirs; λ is nan
    where the factor is Bishop's. ``shallow`` is the lowest factor of surfaces that do not
    reach the least depth, inf where there are none; ``settled`` says whether the walk came to
    rest.
    """

    place: Float
    factor: Float
    tangent: Float
    shallow: Float
    settled: NDArray[np.bool_]


def corners_and_way(section: Section) -> tuple[Float, Float, Float]:
    """Corners of the ground, with points far out on both sides, and the way along it."""
    far = 40.0 * section.size + float(np.ptp(section.ground.x))
    x = np.concatenate(
        ([section.ground.x[0] - far], section.ground.x, [section.ground.x[-1] + far])
    )
    y = np.concatenate(([section.ground.y[0]], section.ground.y, [section.ground.y[-1]]))
    way = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    return x, y, way


def _ends(
    section: Section, first: Float, second: Float, crack: Float | float = 0.0
) -> tuple[Float, Float, Float, Float]:
    """X and y of the lower ends at stations, then of the upper ones at the foot of a crack [m]."""
    x, y, way = corners_and_way(section)
    ax, ay = np.interp(first, way, x), np.interp(first, way, y)
    return ax, ay, np.interp(second, way, x), np.interp(second, way, y) - crack


def circles_through(section: Section, place: Float) -> tuple[Circles, NDArray[np.bool_]]:
    """Circles of places of shape (samples or 1, ..., 4), and which of them are possible: stations
    of exit and entry [m], half the angle of the arc [rad], and the share of the crack's depth.
    """
    crack = section.amounts.crack_depth[:, None] * place[..., 3]
    ax, ay, bx, by = _ends(section, place[..., 0], place[..., 1], crack)
    run, climb = bx - ax, by - ay
    chord = np.hypot(run, climb)
    slope = np.arctan2(climb, run)
    half = place[..., 2]
    least = 1e-4 * section.size
    possible = (run > 0.0) & (climb > least) & (chord > least) & (half > 1e-3)
    possible &= (slope + half <= _UPRIGHT) & (slope - half >= _FLATTEST)
    half = np.clip(half, 1e-3, 1.5)
    radius = np.maximum(chord, least) / (2.0 * np.sin(half))
    start, end = slope - half, slope + half
    centre_x, centre_y = ax - radius * np.sin(start), ay + radius * np.cos(start)
    return Circles(centre_x, centre_y, radius, start, end, crack), possible


def _chord(section: Section, place: Float) -> tuple[Float, Float]:
    """Length and slope [rad] of the chord of places."""
    crack = section.amounts.crack_depth[:, None] * place[..., 3]
    ax, ay, bx, by = _ends(section, place[..., 0], place[..., 1], crack)
    return np.hypot(bx - ax, by - ay), np.arctan2(by - ay, np.maximum(bx - ax, 1e-9))


def _touching(ends: tuple[Float, Float, Float, Float], level: Float) -> Float:
    """Half angle of the arc whose lowest point lies at a level; nan where there is none."""
    ax, ay, bx, by = ends
    p, q, run = ay - level, by - level, bx - ax
    possible = (p > 0.0) & (q > p) & (run > 0.0)
    p, q, run = (np.where(possible, value, one) for value, one in ((p, 1.0), (q, 2.0), (run, 1.0)))
    # (q - p) t² + 2 p run t - p (q (q - p) + run²) = 0, t from exit to the lowest point
    root = np.sqrt((p * run) ** 2 + (q - p) * p * (q * (q - p) + run**2))
    t = p * (q * (q - p) + run**2) / (p * run + root)
    radius = (t**2 + p**2) / (2.0 * p)
    half = np.arcsin(np.minimum(np.hypot(run, by - ay) / (2.0 * radius), 1.0))
    return np.where(possible, half, np.nan)


def _of_depth(depth: Float | float, chord: Float, slope: Float) -> Float:
    """Half angle of the arc whose middle lies at a vertical depth below its chord."""
    return 2.0 * np.arctan(2.0 * depth * np.cos(slope) / chord)


def _positions(section: Section) -> Float:
    """Stations worth a look as ends of a slip surface."""
    _, y, way = corners_and_way(section)
    inner = way[1:-1]
    rising = np.flatnonzero(np.diff(y) > 1e-9 * section.size)
    low, high = way[rising[0]], way[rising[-1] + 1]
    reach = _FURTHEST * section.size
    near = np.array(_NEAR) * section.size
    found = [inner, (inner[:, None] + near).ravel(), (inner[:, None] - near).ravel()]
    found += [np.linspace(a, b, 7)[1:-1] for a, b in pairwise(inner)]
    stations = np.unique(np.concatenate(found))
    stations = stations[(stations >= low - reach) & (stations <= high + reach)]
    kept = [stations[0]]
    corners = set(inner.tolist())
    for station in stations[1:]:
        if station - kept[-1] >= _APART * section.size:
            kept.append(station)
        elif station in corners:
            kept[-1] = station
    return np.array(kept)


def _grid(section: Section) -> Float:
    """Places of a grid over all circles, shape (samples or 1, circles, 4)."""
    stations = _positions(section)
    first, second = (one.ravel() for one in np.meshgrid(stations, stations, indexing="ij"))
    ax, ay, bx, by = _ends(section, first, second)
    pair = (bx > ax) & (by > ay + 1e-3 * section.size)
    # a chord above the ground all along holds no soil
    first, second, ax, ay, bx, by = (one[pair] for one in (first, second, ax, ay, bx, by))
    ends = ax, ay, bx, by
    slope = np.arctan2(by - ay, bx - ax)
    most = np.minimum(_UPRIGHT - slope, slope - _FLATTEST)
    halves = [(most * share)[None] for share in _SHARES]
    least = float(np.max(section.amounts.least_depth))
    if least > 0.0:  # the shallowest that count, on an even face
        halves.append(_of_depth(1.1 * least, np.hypot(bx - ax, by - ay), slope)[None])
    halves += [_touching(ends, top.level((ax + bx) / 2.0))[None] for top in section.tops]
    firm = section.amounts.firm
    if np.any(np.isfinite(firm)):
        halves.append(_touching(ends, firm[:, None]))
    half = np.concatenate(np.broadcast_arrays(*halves), axis=1)
    half = np.where(np.isnan(half), 2.0, half)
    along = np.tile(np.stack((first, second)), len(halves))[:, None]
    place = np.stack(np.broadcast_arrays(*along, half, 1.0), axis=-1)
    if section.searches_crack:
        place = np.concatenate([place * [1.0, 1.0, 1.0, share] for share in _CRACK_SHARES], axis=1)
    _, possible = circles_through(section, place)
    return place[:, np.any(possible, axis=0)]


def _screened(section: Section, place: Float) -> tuple[Float, Float]:
    """Bishop's factor of each place (inf where it has none) and the depth of its surface."""
    size = max(section.amounts.samples, place.shape[0])
    factor, depth = [], []
    for some in pieces(place.shape[1], max(1, _CHUNK // ((_COARSE + 8) * size))):
        circles, possible = circles_through(section, place[:, some])
        slices = slices_of(section, circles, _COARSE)
        found, share = bishop(slices, strengths(section, slices), steps=4)
        good = possible & slices.valid & (share > LEAST_SHARE / 2.0) & (found > 0.0)
        factor.append(np.where(good, found, np.inf))
        depth.append(np.broadcast_to(slices.depth, found.shape))
    return np.concatenate(factor, axis=1), np.concatenate(depth, axis=1)


def _distinct(section: Section, place: Float, factor: Float, count: int) -> NDArray[np.intp]:
    """The lowest that differ from each other, shape (samples, count)."""
    chosen = np.empty((factor.shape[0], count), dtype=np.intp)
    for row, held in enumerate(factor):
        places, left = place[row if place.shape[0] > 1 else 0], held.copy()
        for index in range(count):
            best = chosen[row, index] = np.argmin(left)
            gap = np.abs(places - places[best])
            near = 0.3 * min(section.size, float(places[best, 1] - places[best, 0]))
            left[(gap[:, 0] < near) & (gap[:, 1] < near) & (gap[:, 2] < 0.15)] = np.inf
    return chosen


_SIDES = (-1.0, 0.0, 1.0)
_OFFSETS = np.array([*product(_SIDES, repeat=3)])
_LEAP = 27
_KEEPING, _AS_DEEP = slice(28, 36), slice(36, 44)
_AROUND = np.array([pair for pair in product(_SIDES, repeat=2) if any(pair)])
_MIXED = _OFFSETS[:, [0, 0, 1]] * _OFFSETS[:, [1, 2, 2]]
_FIT = np.linalg.pinv(np.column_stack((np.ones(27), _OFFSETS, _OFFSETS**2, _MIXED)))
_BEND = np.array([[4, 7, 8], [7, 5, 9], [8, 9, 6]])
"""Which terms of the square bend it along two of its axes."""


def _square_step(values: Float) -> Float:
    """Lowest point of a square through the 27 values, in steps; 0 where it has none."""
    usable = np.all(np.isfinite(values), axis=-1)
    fit = np.where(usable[..., None], values, 0.0) @ _FIT.T
    bend = fit[..., _BEND] * (1.0 + np.eye(3))
    lowest = np.linalg.eigvalsh(bend)[..., 0]
    good = usable & (lowest > 1e-12)
    bend = np.where(good[..., None, None], bend, np.eye(3))
    step = -np.linalg.solve(bend, fit[..., 1:4, None])[..., 0]
    longest = np.max(np.abs(step), axis=-1, keepdims=True)
    step = step * np.minimum(1.0, 2.5 / np.maximum(longest, 1e-300))
    return np.where(good[..., None], step, 0.0)


@dataclass(slots=True)
class Walk:
    """Where each walk stands: arrays of shape (samples, walks), places with a last axis."""

    place: Float
    factor: Float
    tangent: Float
    step: Float
    shallow: Float

    @property
    def settled(self) -> NDArray[np.bool_]:
        """Which of them came to rest."""
        return self.step <= _LEAST_STEP


def looked_at(
    section: Section, place: Float, guess: Float, tangent: Float
) -> tuple[Float, Float, Float]:
    """Factors of circles at places (samples or 1, circles, 4), from first guesses of F and λ of
    shape (samples, circles).

    Gives factors of that shape, inf where there is none; λ, nan where the factor is Bishop's; and
    by sample the lowest factor of surfaces too shallow to count.
    """
    factors, tangents = np.empty(guess.shape), np.empty(guess.shape)
    shallow = np.full(guess.shape[0], np.inf)
    for part in pieces(len(guess), max(1, _CHUNK // ((SLICES + 10) * guess.shape[1]))):
        one = section.take(part)
        circles, possible = circles_through(one, place if place.shape[0] == 1 else place[part])
        slices = slices_of(one, circles, SLICES)
        factor, tangents[part] = lowest_factors(one, slices, guess[part], tangent[part])
        factor = np.where(possible & np.isfinite(factor), factor, np.inf)
        reaches = slices.depth >= one.amounts.least_depth[:, None] * (1.0 - 1e-9)
        shallow[part] = np.min(np.where(reaches, np.inf, factor), axis=1)
        factors[part] = np.where(reaches, factor, np.inf)
    return factors, tangents, shallow


def full_search(section: Section) -> Found:
    """Search every sample of a section."""
    size = section.amounts.samples
    place = _grid(section)
    factor, depth = _screened(section, place)
    factor = np.broadcast_to(factor, (size, factor.shape[1]))
    deep = np.broadcast_to(depth, factor.shape) >= section.amounts.least_depth[:, None]
    chosen = _distinct(section, place, np.where(deep, factor, np.inf), _STARTS)
    rows = np.arange(size)[:, None]
    whole = np.broadcast_to(place, (size, *place.shape[1:]))
    walk = walked(section, whole[rows, chosen], np.minimum(factor[rows, chosen], 50.0))
    order = np.argsort(walk.factor, axis=1, kind="stable")
    # on rough ground a walk can stop in a hollow that another width of step leaves
    best = order[:, :_AGAIN]
    again = walked(section, walk.place[rows, best], walk.factor[rows, best], width=_OTHER_WIDTH)
    for name in ("place", "factor", "tangent", "step"):
        getattr(walk, name)[rows, best] = getattr(again, name)
    walk.shallow = np.minimum(walk.shallow, again.shallow)
    order = np.argsort(walk.factor, axis=1, kind="stable")
    thin = np.min(np.where(deep, np.inf, factor), axis=1)
    return Found(
        place=walk.place[rows, order],
        factor=walk.factor[rows, order],
        tangent=walk.tangent[rows, order],
        shallow=np.minimum(walk.shallow, thin),
        settled=walk.settled[rows, order][:, 0],
    )


def walked(section: Section, place: Float, guess: Float, *, width: float = 1.0) -> Walk:
    """Walk downhill from places (samples, walks, 4), by a first guess of their factors, in steps
    that begin at a share ``width`` of the usual ones.
    """
    size = guess.shape[0]
    factor, tangent, shallow = looked_at(section, place, guess, np.full(guess.shape, 0.2))
    walk = Walk(np.array(place), factor, tangent, np.full(guess.shape, width), shallow)
    leap = np.zeros((*guess.shape, 3))
    rows = np.arange(size)[:, None]
    for round_ in range(_MOST_ROUNDS):
        if round_ == _KEPT_AFTER:
            # the others stay where they are
            order = np.argsort(walk.factor, axis=1, kind="stable")
            walk.step[rows, order[:, _KEPT:]] = 0.0
        moving = np.nonzero(~walk.settled)
        if not moving[0].size:
            break
        _one_round(section, walk, leap, moving)
    return walk


def _one_round(
    section: Section, walk: Walk, leap: Float, moving: tuple[NDArray[np.intp], ...]
) -> None:
    """Move the walks that still move by one step, or halve their steps."""
    here, guess, tangent = walk.place[moving], walk.factor[moving], walk.tangent[moving]
    along = _STEP_ALONG * section.size
    width = np.array([along, along, _STEP_TURN, _STEP_CRACK])
    flat = section.take(moving[0])
    stencil = _stencil(flat, here, walk.step[moving][:, None] * width, leap[moving])
    known = np.where(np.isfinite(guess), guess, 1.0)
    lam = np.where(np.isfinite(tangent), tangent, 0.2)
    found, turned, thin = looked_at(
        flat,
        stencil,
        np.broadcast_to(known[:, None], stencil.shape[:2]),
        np.broadcast_to(lam[:, None], stencil.shape[:2]),
    )
    np.minimum.at(walk.shallow, moving[0], thin)
    best, pick = np.argmin(found, axis=1), np.arange(known.size)
    lowest = found[pick, best]
    better = lowest < guess * (1.0 - 1e-9)
    # the lowest point of the square is looked at in the next round, from where it was made,
    # in steps of half the length
    leap[moving] = np.where(better[:, None], 0.0, 2.0 * _square_step(found[:, :27]))
    walk.step[moving] *= np.where(better & (best != _LEAP), 1.0, 0.5)
    walk.place[moving] = np.where(better[:, None], stencil[pick, best], here)
    walk.factor[moving] = np.where(better, lowest, guess)
    walk.tangent[moving] = np.where(better, turned[pick, best], tangent)


def _stencil(section: Section, here: Float, step: Float, leap: Float) -> Float:
    """What is looked at around places (walks, 4): their neighbours, a leap, neighbours whose arc
    keeps its lowest level, and such that keep its depth below the chord.
    """
    stencil = here[:, None, :].repeat(46 if section.searches_crack else 44, axis=1)
    stencil[:, :27, :3] += _OFFSETS * step[:, None, :3]
    stencil[:, _LEAP, :3] += leap * step[:, :3]
    stencil[:, _KEEPING, :2] += _AROUND * step[:, None, :2]
    circle, _ = circles_through(section, here[:, None])
    crack = section.amounts.crack_depth[:, None] * here[:, None, 3]
    first, second = stencil[:, _KEEPING, 0], stencil[:, _KEEPING, 1]
    half = _touching(_ends(section, first, second, crack), circle.y - circle.radius)
    bowl = (circle.start < 0.0) & np.isfinite(half)
    stencil[:, _KEEPING, 2] = np.where(bowl, half, stencil[:, _KEEPING, 2])
    stencil[:, _AS_DEEP, :2] += _AROUND * step[:, None, :2]
    chord, slope = _chord(section, here[:, None])
    depth = chord / 2.0 * np.tan(here[:, None, 2] / 2.0) / np.cos(slope)
    chord, slope = _chord(section, stencil[:, _AS_DEEP])
    stencil[:, _AS_DEEP, 2] = _of_depth(depth, np.maximum(chord, 1e-9), slope)
    if section.searches_crack:
        stencil[:, 44:, 3] += np.array([-1.0, 1.0]) * step[:, 3:]
        stencil[:, 44:, 3] = np.clip(stencil[:, 44:, 3], 0.0, 1.0)
    return stencil
