"""Brings spirals from a coarse neighbourhood to the top of what they require.

Each spiral stands in the middle of a small star of others. One evaluation of all stars gives
value, slope and curvature in every direction and, with one more spiral a little stronger, the
rate with tan φ; a step of Newton's method follows in the unknowns, and a smaller star. A step
is believed only if nothing already seen is higher; where there is no top within reach the
star grows and goes uphill.

All spirals of one slope are judged at one y = 1 / F, so that they can be told apart. Where y
is wanted it follows the spiral that would stand with the largest: for one spiral the cohesion
required is convex in y, so that a step of Newton's method leads to a y that the spiral does
require, and spiral and factor settle together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float

__all__ = [
    "ASIDE",
    "TRIALS",
    "Judged",
    "Lanes",
    "Places",
    "Polish",
    "held",
    "next_root",
    "strength_of",
]

Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

Places = tuple[Float, Float, Float, Float | None]
"""Stations of exit and entry [m], opening [rad] and depth of the crack [m] if there is one, of
any shapes that broadcast."""

Judged = tuple[Float, Float, Float]
"""Cohesion required and a rough normal stress [kPa], opening as cut [rad]."""

ASIDE = 1e-6
"""How much more tan φ, over 1 + tan φ, a rate is taken across."""

_AT_END = 1e-9
_LEAST_Y, _STEEPEST = 1e-9, 1e3
_STEP, _CRACK_STEP, _SMALLER, _SHRUNK, _LARGER, _AGAIN = 0.45, 0.25, 0.2, 0.4, 1.8, 0.25
_ROUNDS, _AGAIN_AFTER = 60, 3
# of y, after so many rounds; the last for good
_MAY_WIN = np.inf, 0.5, 0.3, 0.1, 0.05, 0.02, 0.02, 0.01, 0.01, 0.005, 0.005, 0.002, 0.002, 0.001
_FINE_STEP, _SMALL_STAR, _GAINED = 2e-3, 0.1, 1e-11
_BESIDE = 3e3  # times the closest
_UNLIKE = 0.1
_NOTHING, _STILL, _HOPED, _LEAST_STRENGTH = 1e-9, 1e-9, 4.0, 1e-300
_LEVEL = 1e-13  # of a value; a slope that is rounding


def _star(unknowns: int) -> Float:
    """The middle, both ways along each axis, and both ways along each diagonal of two axes."""
    axes = np.eye(unknowns)
    ways = [*axes, *(axes[i] + axes[j] for i, j in combinations(range(unknowns), 2))]
    return np.array([0.0 * axes[0], *(sign * way for way in ways for sign in (1.0, -1.0))])


def _levelled(star: Float) -> Index:
    """Which spiral of a star each would be with the opening of the middle."""
    same = star[:, None] * (np.arange(star.shape[1]) != _OPENING)
    return np.asarray(np.argmin(np.abs(same - star[None]).sum(axis=2), axis=1))


def _quadratic(star: Float) -> tuple[Float, Float]:
    """What makes gradient and second derivatives of the values at a star, (points, unknowns) and
    (points, unknowns²).
    """
    unknowns = star.shape[1]
    pairs = list(combinations(range(unknowns), 2))
    gradient = np.zeros((len(star), unknowns))
    hessian = np.zeros((len(star), unknowns, unknowns))
    for i in range(unknowns):
        ahead, behind = 2 * i + 1, 2 * i + 2
        gradient[[ahead, behind], i] = 0.5, -0.5
        hessian[[0, ahead, behind], i, i] = -2.0, 1.0, 1.0
    for k, (i, j) in enumerate(pairs):
        both = 2 * (unknowns + k) + 1
        hessian[[0, both, both + 1], i, j] = 1.0, 0.5, 0.5
        hessian[[2 * i + 1, 2 * i + 2, 2 * j + 1, 2 * j + 2], i, j] = -0.5
        hessian[:, j, i] = hessian[:, i, j]
    return gradient, hessian.reshape(len(star), -1)


_OPENING, _CRACK = 2, 3  # which unknown
_STARS = {unknowns: _star(unknowns) for unknowns in (3, 4)}
_LEVELLED = {unknowns: _levelled(star) for unknowns, star in _STARS.items()}
_QUADRATICS = {unknowns: _quadratic(star) for unknowns, star in _STARS.items()}
TRIALS = {unknowns: len(star) + 3 for unknowns, star in _STARS.items()}
"""Spirals that are tried at once for one that is polished, by the number of unknowns."""


@dataclass(frozen=True, slots=True)
class Lanes:
    """Spirals being improved side by side, shape (lanes,), in the order of their slopes, whose
    numbers are ``slope``. The unknowns (lanes, unknowns) are logarithms, since what counts is a
    share of the distance to the vertex, that of the exit more by ``near`` [m], and of the
    opening angle; the last, where there is a crack, is its share of the deepest, ``crack`` [m].
    They stay between ``least`` and ``most``. ``cell`` is where on the grid a lane began.
    """

    slope: Index
    cell: Index
    exit_vertex: Float
    entry_vertex: Float
    exit_free: Flags
    entry_free: Flags
    near: Float
    crack: Float | None
    least: Float
    most: Float
    unknowns: Float

    def take(self, lanes: Index | Flags) -> Lanes:
        """Some of the lanes."""
        tables = ((name, getattr(self, name)) for name in Lanes.__slots__)
        some: dict[str, Any] = {name: one if one is None else one[lanes] for name, one in tables}
        return Lanes(**some)

    def spiral(self, x: Float) -> Places:
        """The spirals at unknowns (lanes, trials, unknowns)."""
        size = np.exp(x)
        out = np.where(self.exit_free[:, None], size[..., 0] - self.near[:, None], 0.0)
        back = np.where(self.entry_free[:, None], size[..., 1], 0.0)
        return (
            self.exit_vertex[:, None] - out,
            self.entry_vertex[:, None] + back,
            size[..., _OPENING],
            None if self.crack is None else self.crack[:, None] * x[..., _CRACK],
        )

    def unlike_next(self) -> Flags:
        """Which lanes but the last are no small step from the next."""
        far: Flags = np.any(np.abs(np.diff(self.unknowns, axis=0)) > _UNLIKE, axis=1)
        for vertex in (self.exit_vertex, self.entry_vertex):
            far |= np.diff(vertex) != 0.0
        return far

    def freed(self) -> Lanes:
        """The lanes that an end is held in, or that came to the end of their ground, with it let
        go a little beside.
        """
        least, most, x = self.least.copy(), self.most.copy(), self.unknowns.copy()
        start = self.spiral(x[:, None])[0][:, 0]
        # not beyond the furthest that is looked at
        short = (x[:, 0] < most[:, 0] - _AT_END) | (most[:, 0] >= most[:, 1])
        stays = self.exit_free & (x[:, 0] > least[:, 0] + _AT_END) & short
        least[:, 0] = np.where(stays, least[:, 0], least[:, 1])
        most[:, 0] = np.where(stays, most[:, 0], most[:, 1])
        away, near = _BESIDE * np.exp(least[:, 1]), np.exp(least[:, 0])
        x[:, 0] = np.where(stays, x[:, 0], np.log(near + away))
        x[:, 1] = np.where(self.entry_free, x[:, 1], np.log(away))
        freed = replace(
            self,
            exit_vertex=np.where(stays, self.exit_vertex, start),
            exit_free=np.ones_like(stays),
            entry_free=np.ones_like(stays),
            near=near,
            least=least,
            most=most,
            unknowns=x,
        )
        return freed.take(~(stays & self.entry_free))

    def held(self, x: Float) -> Float:
        """Unknowns (lanes, trials, unknowns) brought back within their limits."""
        return np.minimum(np.maximum(x, self.least[:, None]), self.most[:, None])

    @property
    def first_step(self) -> Float:
        """Step of each unknown at the start, none of those that are held."""
        steps = np.full(self.unknowns.shape, _STEP)
        steps[:, _CRACK:] = _CRACK_STEP
        steps[:, 0] *= self.exit_free
        steps[:, 1] *= self.entry_free
        return steps


@dataclass(slots=True)
class Polish:
    """Improves lanes by what ``judge`` says of trial spirals of some slopes (lanes, trials).

    ``y`` of (slopes,) follows the lane that would have the largest; or it is held, and the
    cohesion ``c`` [kPa] follows the lane that requires most. Lanes that are not ``open`` have
    settled before. Of each lane ``x`` is the middle of the next star, ``kept`` the best place
    seen, ``standing`` the y at which it would be at its limit and ``hoped`` what it may reach.
    """

    judge: Callable[[Index, Places, Float], Judged]
    lanes: Lanes
    y: Float
    c: Float
    tan: Float
    follow: bool
    open: Flags
    x: Float = field(init=False)
    kept: Float = field(init=False)
    step: Float = field(init=False)
    rate: Float = field(init=False)
    standing: Float = field(init=False)
    hoped: Float = field(init=False)
    near: Flags = field(init=False)

    def run(self) -> tuple[Lanes, Float]:
        """The best lane of each slope, and its y."""
        lanes, count = self.lanes, self.lanes.slope.size
        self.x, self.kept = lanes.unknowns.copy(), lanes.unknowns.copy()
        self.step, self.rate, self.hoped = lanes.first_step, np.zeros(count), np.zeros(count)
        self.standing = np.where(self.open, -np.inf, self.y[lanes.slope])
        self.near = ~self.open
        for round_ in range(1, _ROUNDS + 1):
            self._step()
            if round_ == _AGAIN_AFTER:
                # a star that shrank without closing in on a top, as on a ridge, starts again
                larger = np.maximum(self.step, _AGAIN * lanes.first_step * (self.step > 0.0))
                self.step = np.where(self.near[:, None], self.step, larger)
                self.open |= ~self.near & (self.standing > -np.inf)
            best = self._highest()[lanes.slope]
            share = _MAY_WIN[min(round_, len(_MAY_WIN) - 1)]
            lost = self.open & ((self.standing < (1.0 - share) * best) | (self.hoped < best))
            self.open[lost], self.standing[lost] = False, -np.inf
            if not np.any(self.open):
                break
        return self._best()

    def _highest(self) -> Float:
        """The y that the best lane of each slope would have."""
        slopes = self.y.size
        return _most(slopes, self.lanes.slope, self.standing) if self.follow else self.y

    def _judged(self, lanes: Lanes, trial: Float, *, aside: bool) -> tuple[Float, ...]:
        """By how much trials are short of cohesion, as a share of their strength, what they
        require, their strength [kPa], opening as cut, and tan φ_m; ``aside`` gives the last a
        little more of it.
        """
        y, c, tan = (one[lanes.slope, None] for one in (self.y, self.c, self.tan))
        tan = np.repeat(tan * y, trial.shape[1], axis=1)
        if aside:
            tan[:, -1] += ASIDE * (1.0 + tan[:, -1])
        cohesion, stress, opening = self.judge(lanes.slope, lanes.spiral(trial), tan)
        strength = strength_of(c * y, stress, tan)
        return (cohesion - c * y) / strength, cohesion, strength, opening, tan

    def _step(self) -> None:
        """One evaluation of the stars of all open lanes, and a step of each."""
        which = np.flatnonzero(self.open)
        lanes = self.lanes.take(which)
        x, step, kept = self.x[which], self.step[which], self.kept[which]
        rows, unknowns = np.arange(which.size), x.shape[1]
        pattern = _STARS[unknowns]
        count = len(pattern)
        star = x[:, None] + step[:, None] * pattern
        others = np.repeat(kept[:, None], 3, axis=1)
        others[:, 1, _OPENING] -= step[:, _OPENING]
        others[:, 2] = x
        trial = lanes.held(np.concatenate((star, others), axis=1))
        merit, cohesion, strength, opening, tan = self._judged(lanes, trial, aside=True)
        best = np.argmax(merit[:, : count + 2], axis=1)
        top, place, fits = merit[rows, best], trial[rows, best], opening[rows, best]
        # beyond the widest opening that fits nothing changes, so that two unknowns are left
        asked = np.exp(trial[..., _OPENING])
        cut = opening[:, 0] < 0.999999 * asked[:, 0]
        f = merit[:, :count]
        f = np.where(cut[:, None], f[:, _LEVELLED[unknowns]], f)
        place[:, _OPENING] = np.log(fits)
        back = best >= count
        finite = np.all(np.isfinite(f), axis=1)
        jump, promised = _newton(np.where(finite[:, None], f, 0.0), unknowns)
        leap = lanes.held((x + step * jump)[:, None])[:, 0]
        inside = finite & ~back
        near = inside & (np.max(np.abs(jump), axis=1) < 1.0)
        gained = np.where(np.isfinite(top), top - np.maximum(f[:, 0], -1e30), 0.0)
        shrinks = near | back | (gained <= _GAINED)
        smaller = step * np.where(shrinks, np.where(near, _SMALLER, _SHRUNK), _LARGER)[:, None]
        ahead = np.where(inside[:, None], leap, place)
        beyond = (fits < 0.999999 * asked[rows, best]) & (best != count + 1)
        ahead[:, _OPENING] = np.where(beyond, lanes.most[:, _OPENING], ahead[:, _OPENING])
        # a spiral that comes out at a vertex stays there: beyond it the ground is another
        nearest, farthest = lanes.least[:, 0] + _AT_END, lanes.most[:, 0] - _AT_END
        smaller[:, 0] *= (place[:, 0] > nearest) & (place[:, 0] < farthest)
        ahead[:, 0] = np.where(smaller[:, 0] > 0.0, ahead[:, 0], place[:, 0])
        self.x[which], self.kept[which], self.step[which] = ahead, place, smaller
        self.near[which] = near
        with np.errstate(invalid="ignore"):
            rate = (cohesion[:, -1] - cohesion[:, 0]) / (tan[:, -1] - tan[:, 0])
        self.rate[which] = rate = np.where(np.isfinite(rate), rate, self.rate[which])
        needed, more = cohesion[rows, best], _HOPED * promised * strength[rows, best]
        still = self._follow(which, needed, rate, np.where(near, more, np.inf))
        settled = self.hoped[which] <= (1.0 + _NOTHING) * self.standing[which]
        settled &= np.max(step, axis=1) < _SMALL_STAR
        done = settled | (shrinks & (np.max(smaller, axis=1) < _FINE_STEP))
        self.open[which] = ~(done & still)

    def _follow(self, which: Index, needed: Float, rate: Float, more: Float) -> Flags:
        """Moves y, or c, to what the best lane asks for; of some lanes, whether it stayed."""
        slope, slopes = self.lanes.slope[which], self.y.size
        if not self.follow:
            self.c = np.maximum(self.c, _most(slopes, slope, needed))
        y, c, tan = self.y[slope], self.c[slope], self.tan[slope]
        stands = np.isfinite(needed)
        asked = np.where(stands, needed, 0.0)
        root, hoped = next_root(y, c, tan, np.array((asked, asked + more)), rate)
        self.standing[which] = np.where(stands, root, -np.inf)
        self.hoped[which] = hoped
        if self.follow:
            best = self._highest()
            self.y = np.where(np.isfinite(best), best, self.y)
        return np.abs(self.y[slope] - y) <= _STILL * y

    def _best(self) -> tuple[Lanes, Float]:
        """The last leap or the best that was seen, whichever is higher."""
        lanes = self.lanes
        trial = lanes.held(np.stack((self.x, self.kept), axis=1))
        merit, _, _, opening, _ = self._judged(lanes, trial, aside=False)
        rows, best = np.arange(len(trial)), np.argmax(merit, axis=1)
        x = trial[rows, best]
        x[:, _OPENING] = np.log(opening[rows, best])
        order = np.lexsort((merit[rows, best], lanes.slope))
        leads = order[np.searchsorted(lanes.slope, np.arange(self.y.size), side="right") - 1]
        return replace(lanes, unknowns=x).take(leads), self.y


def strength_of(cohesion: Float, stress: Float, tan: Float) -> Float:
    """A rough strength [kPa] that tells how much a lack of cohesion counts for: on a shallow
    mass as much as on a deep one.
    """
    return np.maximum(np.abs(cohesion) + stress * tan, _LEAST_STRENGTH)


def _most(slopes: int, slope: Index, values: Float) -> Float:
    """The largest value of the lanes of each slope."""
    most = np.full(slopes, -np.inf)
    np.maximum.at(most, slope, values)
    return most


def next_root(y: Float, c: Float, tan: Float, needed: Float, rate: Float) -> Float:
    """A Newton step on c_r(y tan φ′) = y c′, from c_r and its rate with tan φ_m."""
    with np.errstate(divide="ignore", invalid="ignore"):
        over, slope = needed - c * y, rate * tan - c
        # where more friction needs more cohesion a spiral that needs too much stays so: move up
        better = np.where(
            slope < 0.0,
            y - over / slope,
            np.where(over < 0.0, y + over / (c + rate * tan), 2.0 * y),
        )
        better = np.where(np.isnan(better), y, better)
    return held(np.clip(better, 0.5 * y, 2.0 * y), tan)


def held(y: Float, tan: Float) -> Float:
    """The y kept where tan φ_m is a tangent that can be worked with."""
    return np.clip(y, _LEAST_Y, _STEEPEST / np.maximum(tan, 1e-9))


def _newton(f: Float, unknowns: int) -> tuple[Float, Float]:
    """Step, in spacings of the star, to the top of the quadratic through stars (lanes, points),
    or two uphill in a direction in which it has none; and what it promises to gain.
    """
    gradient, hessian = (f @ table for table in _QUADRATICS[unknowns])
    value, vector = np.linalg.eigh(hessian.reshape(-1, unknowns, unknowns))
    curved = value < -1e-9 * np.max(np.abs(value), axis=1, keepdims=True)
    slope = np.einsum("nij,ni->nj", vector, gradient)
    uphill = np.where(np.abs(slope) > _LEVEL * np.abs(f[:, :1]), 2.0 * np.sign(slope), 0.0)
    length = np.where(curved, -slope / np.where(curved, value, 1.0), uphill)
    length = np.minimum(np.maximum(length, -2.0), 2.0)
    step: Float = np.einsum("nij,nj->ni", vector, length)
    return step, np.abs(np.sum(slope * length, axis=1)) / 2.0
