"""Brings spirals from a coarse neighbourhood to the top of what they require.

Each spiral stands in the middle of a small star of others. One evaluation of all stars gives
value, slope and curvature in every direction and, with one more spiral a little stronger, the
rate with tan φ; a step of Newton's method follows in the unknowns and in y = 1 / F at once,
and a smaller star. So the spiral and its factor settle together, in a few evaluations. A step
is believed only if nothing already seen is higher; where there is no top within reach the
star grows and goes uphill.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.spiral import WIDEST_OPENING
from slipmargin.stability.rotational.spiral_ends import REACH

__all__ = ["ASIDE", "TRIALS", "Judged", "Lanes", "Places", "Polish", "held", "next_root"]

Places = tuple[Float, Float, Float, Float | None]
"""Stations of exit and entry [m], opening [rad] and depth of the crack [m] if there is one, of
any shapes that broadcast."""

Judged = tuple[Float, Float, Float]
"""What the search raises, cohesion required [kPa], opening as cut [rad]."""

ASIDE = 1e-6
"""How much more tan φ, over 1 + tan φ, a rate is taken across."""

_NARROWEST, _CLOSEST = 1e-3, 1e-5
_LEAST_Y, _STEEPEST = 1e-9, 1e3
_STEP, _SMALLER, _SHRUNK, _LARGER, _AGAIN = 0.45, 0.2, 0.4, 1.8, 0.25
_FIRST_ROUNDS, _ROUNDS, _LEADERS = 3, 16, 3
_MAY_WIN = 0.1, 0.1, 0.02  # of the best, after so many rounds of the leaders; the last for good
_CRACK_STEP = 0.25
_FINE_STEP, _NOTHING = 2e-3, 1e-12


def _star(unknowns: int) -> Float:
    """The middle, both ways along each axis, and both ways along each diagonal of two axes."""
    axes = np.eye(unknowns)
    ways = [*axes, *(axes[i] + axes[j] for i, j in combinations(range(unknowns), 2))]
    return np.array([0.0 * axes[0], *(sign * way for way in ways for sign in (1.0, -1.0))])


def _levelled(star: Float) -> NDArray[np.intp]:
    """Which spiral of a star each would be with the opening of the middle."""
    same = star[:, None] * (np.arange(star.shape[1]) != _OPENING)
    return np.asarray(np.argmin(np.abs(same - star[None]).sum(axis=2), axis=1))


_OPENING, _CRACK = 2, 3  # which unknown
_STARS = {unknowns: _star(unknowns) for unknowns in (3, 4)}
_LEVELLED = {unknowns: _levelled(star) for unknowns, star in _STARS.items()}
TRIALS = {unknowns: len(star) + 3 for unknowns, star in _STARS.items()}
"""Spirals that are tried at once for one that is polished, by the number of unknowns."""


@dataclass(frozen=True, slots=True)
class Lanes:
    """Spirals being improved side by side, shape (slopes, lanes). The unknowns are logarithms,
    since what counts is a share of the distance to the vertex and of the opening angle; the
    last, where there is a crack, is its share of the deepest, ``crack`` [m] of (slopes, 1).
    """

    exit_vertex: Float
    entry_vertex: Float
    exit_free: NDArray[np.bool_]
    entry_free: NDArray[np.bool_]
    near: Float
    height: Float
    crack: Float | None
    unknowns: Float

    def of_slopes(self, rows: NDArray[np.intp]) -> Lanes:
        """The lanes of some of the slopes."""
        tables = {name: getattr(self, name) for name in Lanes.__slots__}
        return Lanes(
            **{
                name: table if table is None or len(table) == 1 else table[rows]
                for name, table in tables.items()
            }
        )

    def take(self, lanes: NDArray[np.intp]) -> Lanes:
        """Some of the lanes of each slope, (slopes, lanes)."""
        some = {
            name: np.take_along_axis(getattr(self, name), lanes, axis=1)
            for name in ("exit_vertex", "entry_vertex", "exit_free", "entry_free", "near")
        }
        unknowns = np.take_along_axis(self.unknowns, lanes[..., None], axis=1)
        return replace(self, **some, unknowns=unknowns)

    @property
    def moving(self) -> NDArray[np.bool_]:
        """Which unknowns are free, (slopes, lanes, unknowns)."""
        always = [np.ones_like(self.exit_free)] * (self.unknowns.shape[-1] - _OPENING)
        return np.stack((self.exit_free, self.entry_free, *always), axis=-1)

    def spiral(self, x: Float) -> Places:
        """The spirals at unknowns (slopes, lanes, ..., unknowns)."""

        def across(values: NDArray[Any]) -> NDArray[Any]:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        out = np.exp(x[..., 0]) - across(self.near)
        return (
            across(self.exit_vertex) - np.where(across(self.exit_free), out, 0.0),
            across(self.entry_vertex) + np.where(across(self.entry_free), np.exp(x[..., 1]), 0.0),
            np.exp(x[..., _OPENING]),
            None if self.crack is None else across(self.crack) * x[..., _CRACK],
        )

    def held(self, x: Float) -> Float:
        """Unknowns (slopes, lanes, ..., unknowns) brought back within their limits."""

        def across(values: Float) -> Float:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        height = across(self.height)
        far = np.log(REACH * height)
        nearest = np.log(across(self.near))
        within = [
            np.clip(x[..., 0], nearest, far),
            np.clip(x[..., 1], np.log(_CLOSEST * height), far),
            np.clip(x[..., _OPENING], np.log(_NARROWEST), np.log(WIDEST_OPENING)),
        ]
        within += [np.clip(x[..., k], 0.0, 1.0) for k in range(_CRACK, x.shape[-1])]
        return np.stack(within, axis=-1)


@dataclass(frozen=True, slots=True)
class Polish:
    """Improves lanes by what ``judge`` says of trial spirals of some rows (slopes).

    ``follow`` moves y with each lane, to the root of its own equation; else y is held and
    the lanes go for the most cohesion.
    """

    judge: Callable[[NDArray[np.intp], Places, Float], Judged]
    cohesion: Float
    tan: Float
    follow: bool

    def run(self, lanes: Lanes, y: Float) -> tuple[Places, Float, Float]:
        """Places, y, and what tells the best lane, (slopes, lanes), from y of (slopes,)."""
        state = _State.of(lanes, np.repeat(y[:, None], lanes.unknowns.shape[1], axis=1))
        for _ in range(_FIRST_ROUNDS):
            self._step(state)
        leaders = np.argsort(-state.standing, axis=1)[:, :_LEADERS]
        state = state.again(leaders)
        for round_ in range(_ROUNDS):
            state.leave(_MAY_WIN[min(round_, len(_MAY_WIN) - 1)])
            if not np.any(state.open):
                break
            self._step(state)
        return self._best(state)

    def _trial(
        self, state: _State, rows: NDArray[np.intp], trial: Float, y: Float, *, aside: bool
    ) -> Judged:
        """``aside`` gives the last trial a little more friction than y says."""
        tan = np.repeat(self.tan[rows, None, None] * y[..., None], trial.shape[2], axis=2)
        if aside:
            tan[..., -1] += ASIDE * (1.0 + tan[..., -1])
        return self.judge(rows, state.lanes.of_slopes(rows).spiral(trial), tan)

    def _step(self, state: _State) -> None:
        """One evaluation of the stars of all open slopes, and a step of each."""
        rows = np.flatnonzero(np.any(state.open, axis=1))
        if not rows.size:
            return
        x, step, kept, y = (of[rows] for of in (state.x, state.step, state.kept, state.y))
        pattern = _STARS[x.shape[-1]]
        star = x[..., None, :] + step[..., None, :] * pattern
        inner = kept - step * (np.arange(x.shape[-1]) == _OPENING)
        others = np.stack((kept, inner, x), axis=2)
        lanes = state.lanes.of_slopes(rows)
        trial = lanes.held(np.concatenate((star, others), axis=2))
        merit, cohesion, opening = self._trial(state, rows, trial, y, aside=True)
        count = len(pattern)
        f = merit[..., :count]
        best = np.argmax(merit[..., : count + 2], axis=-1)
        top = _at(merit, best)
        place = np.take_along_axis(trial, best[..., None, None], axis=2)[..., 0, :]
        # beyond the widest opening that fits nothing changes, so that two unknowns are left
        asked = np.exp(trial[..., _OPENING])
        cut = opening[..., 0] < 0.999999 * asked[..., 0]
        f = np.where(cut[..., None], f[..., _LEVELLED[x.shape[-1]]], f)
        place[..., _OPENING] = np.log(_at(opening, best))
        back = best >= count
        jump, promised = _newton(f, x.shape[-1])
        leap = lanes.held(x + step * jump)
        inside = np.all(np.isfinite(f), axis=-1) & ~back
        near = inside & (np.max(np.abs(jump), axis=-1) < 1.0)
        gained = np.where(np.isfinite(top), top - np.maximum(f[..., 0], -1e30), 0.0)
        shrinks = near | back | (gained <= 1e-10 * np.abs(top))
        smaller = step * np.where(shrinks, np.where(near, _SMALLER, _SHRUNK), _LARGER)[..., None]
        ahead = np.where(inside[..., None], leap, place)
        beyond = (_at(opening, best) < 0.999999 * _at(asked, best)) & (best != count + 1)
        beyond_by = place[..., _OPENING] + 2.0 * smaller[..., _OPENING]
        ahead[..., _OPENING] = np.where(beyond, beyond_by, ahead[..., _OPENING])
        state.x[rows], state.kept[rows], state.step[rows] = ahead, place, smaller
        state.near[rows] = near
        if self.follow:
            with np.errstate(invalid="ignore"):
                more = ASIDE * (1.0 + self.tan[rows, None] * y)
                rate = (cohesion[..., -1] - cohesion[..., 0]) / more
            c, tan = self.cohesion[rows, None], self.tan[rows, None]
            y = next_root(y, c, tan, _at(cohesion, best), rate)
            state.y[rows] = y
        state.standing[rows] = np.where(np.isfinite(top), y if self.follow else top, -np.inf)
        settled = near & (promised <= _NOTHING * np.abs(top)) & (np.max(step, axis=-1) < 0.1)
        state.open[rows] &= ~settled & ~(shrinks & (np.max(smaller, axis=-1) < _FINE_STEP))

    def _best(self, state: _State) -> tuple[Places, Float, Float]:
        """The last leap or the best that was seen, whichever is higher."""
        rows = np.arange(len(state.x))
        trial = np.stack((state.lanes.held(state.x), state.kept), axis=2)
        merit, _, opening = self._trial(state, rows, trial, state.y, aside=False)
        best = np.argmax(merit, axis=-1)
        x = np.take_along_axis(trial, best[..., None, None], axis=2)[..., 0, :]
        start, end, _, crack = state.lanes.spiral(x)
        top = _at(merit, best)
        standing = np.where(np.isfinite(top), state.y if self.follow else top, -np.inf)
        return (start, end, _at(opening, best), crack), state.y, standing


@dataclass(slots=True)
class _State:
    """Where the lanes stand: ``x`` the middle of the next star, ``kept`` the best place seen."""

    lanes: Lanes
    x: Float
    step: Float
    kept: Float
    y: Float
    standing: Float
    near: NDArray[np.bool_]
    open: NDArray[np.bool_]

    @classmethod
    def of(cls, lanes: Lanes, y: Float) -> _State:
        step = np.where(lanes.moving, _first_step(lanes), 0.0)
        x, none = lanes.unknowns, np.full(y.shape, -np.inf)
        all_ = np.ones(y.shape, dtype=bool)
        return cls(lanes, x.copy(), step, x.copy(), y, none, ~all_, all_)

    def again(self, leaders: NDArray[np.intp]) -> _State:
        """Some lanes only; a star that shrank without closing in on a top, as on a ridge, gets
        another start.
        """

        def some(values: NDArray[Any]) -> NDArray[Any]:
            index = leaders.reshape(leaders.shape + (1,) * (values.ndim - 2))
            return np.take_along_axis(values, index, axis=1)

        lanes, near, step = self.lanes.take(leaders), some(self.near), some(self.step)
        larger = np.maximum(step, np.where(lanes.moving, _AGAIN * _first_step(lanes), 0.0))
        return _State(
            lanes,
            some(self.x),
            np.where(near[..., None], step, larger),
            some(self.kept),
            some(self.y),
            some(self.standing),
            near,
            np.where(near, some(self.open), True),
        )

    def leave(self, share: float) -> None:
        """Close the lanes that stand more than a share below the best of their slope."""
        best = np.max(self.standing, axis=1, keepdims=True)
        with np.errstate(invalid="ignore"):
            self.open &= ~(self.standing < best - share * np.abs(best))


def _first_step(lanes: Lanes) -> Float:
    """Step of each unknown at the start."""
    return np.array([_STEP, _STEP, _STEP, _CRACK_STEP])[: lanes.unknowns.shape[-1]]


def next_root(y: Float, c: Float, tan: Float, needed: Float, rate: Float) -> Float:
    """A Newton step on c_r(y tan φ′) = y c′, from c_r and its rate with tan φ_m."""
    sound = np.isfinite(needed) & np.isfinite(rate)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = rate * tan - c
        better = y - (needed - c * y) / slope
        # where the rate has the wrong sign there is no root on this side: move up
        better = np.where(sound & (slope < 0.0), better, np.where(sound, 2.0 * y, y))
    return held(np.clip(better, 0.5 * y, 2.0 * y), tan)


def held(y: Float, tan: Float) -> Float:
    """The y kept where tan φ_m is a tangent that can be worked with."""
    return np.clip(y, _LEAST_Y, _STEEPEST / np.maximum(tan, 1e-9))


def _sign(slope: Float, value: Float) -> Float:
    """The sign of a slope, 0 where it is rounding."""
    return np.where(np.abs(slope) > 1e-13 * np.abs(value)[..., None], np.sign(slope), 0.0)


def _at(values: Float, index: NDArray[np.intp]) -> Float:
    chosen: Float = np.take_along_axis(values, index[..., None], axis=-1)[..., 0]
    return chosen


def _newton(f: Float, unknowns: int) -> tuple[Float, Float]:
    """Step, in spacings of the star, to the top of the quadratic through stars (..., points),
    or two uphill in a direction in which it has none; and what it promises to gain.
    """
    finite = np.all(np.isfinite(f), axis=-1)
    f = np.where(finite[..., None], f, 0.0)
    along, across = f[..., 1 : 2 * unknowns + 1], f[..., 2 * unknowns + 1 :]
    middle = f[..., 0]
    gradient = (along[..., 0::2] - along[..., 1::2]) / 2.0
    sums = along[..., 0::2] + along[..., 1::2]
    hessian = np.empty((*gradient.shape, unknowns))
    for i in range(unknowns):
        hessian[..., i, i] = sums[..., i] - 2.0 * middle
    for k, (i, j) in enumerate(combinations(range(unknowns), 2)):
        pair = across[..., 2 * k] + across[..., 2 * k + 1]
        mixed = (pair - sums[..., i] - sums[..., j]) / 2.0 + middle
        hessian[..., i, j] = hessian[..., j, i] = mixed
    value, vector = np.linalg.eigh(hessian)
    curved = value < -1e-9 * np.max(np.abs(value), axis=-1, keepdims=True)
    slope = np.einsum("...ij,...i->...j", vector, gradient)
    length = np.where(curved, -slope / np.where(curved, value, 1.0), 2.0 * _sign(slope, middle))
    length = np.clip(length, -2.0, 2.0)
    step = np.einsum("...ij,...j->...i", vector, length)
    promised = np.sum(slope * length, axis=-1) / 2.0
    return np.where(finite[..., None], step, 0.0), np.abs(promised)
