"""Search for the critical spiral of many slopes at once.

Three unknowns: the stations of exit and entry and the opening angle. A coarse grid finds the
neighbourhood, kept apart by the piece of ground on which each end lies, since a toe
mechanism and a deep one, or a bench alone and the whole cut, are separate maxima. The best
few neighbourhoods are then polished together: a stencil of 27 spirals around each, a step
to the top of the quadratic through it, and a smaller stencil.

The strength enters through y = 1 / F. A slope that requires the cohesion c_r(tan φ) stands
with the factor F when

    c_r(y tan φ′) = y c′

and the smallest such F over all spirals is wanted. For one spiral that is a root in y, found
by Newton's method; since c_r is stationary at the critical spiral, spiral and root can be
improved in turn and settle together.

Ends on the face stay a hundredth of the height away from its corners: under a load at the
very edge of a crest ever smaller masses are ever worse, and mean nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground_line import Float
from slipmargin.stability.rotational.log_spiral import (
    WIDEST_OPENING,
    LoadedSlope,
    Spiral,
    cohesion_required,
    spiral_through,
)
from slipmargin.stability.rotational.spiral_ends import REACH, entries, exits

__all__ = ["Critical", "critical_spirals", "hardest_spirals"]

_NARROWEST, _CLOSEST, _SMALLEST = 1e-3, 1e-5, 1e-2
_OPENINGS = np.geomspace(0.02, 2.6, 12)
_LANES = 8
_POLISHES, _REPEATS = 12, 4
_STEP = 0.45
_NEAR, _NEAR_ON_FACE = 0.1, 2e-3
_ENDS_HELD = np.array([0.0, 1.0, 1.0])
_STENCIL = np.stack(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
_CENTRE = 13
_COARSE_WATER, _FINE_WATER, _LAST_WATER = 8, 128, 1024
_LEAST_Y, _STEEPEST = 1e-9, 1e3
_LEAST_COHESION = 1e-7
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
    tried = exits(slope, on_face).vertex.shape[1] * entries(slope, on_face).vertex.shape[1]
    each = tried * _OPENINGS.size
    water = 1 if slope.water is None else _COARSE_WATER
    rows = max(1, _SPIRALS_AT_ONCE // (each * water))
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
    free: NDArray[np.bool_]
    near: Float
    height: Float
    unknowns: Float

    def spiral(self, x: Float) -> tuple[Float, Float, Float]:
        """Exit and entry stations [m] and opening [rad] at unknowns (slopes, lanes, ..., 3)."""

        def across(values: NDArray[Any]) -> NDArray[Any]:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        near = across(self.near)
        out = np.exp(x[..., 0]) - near
        return (
            across(self.exit_vertex) - np.where(across(self.free), out, 0.0),
            across(self.entry_vertex) + np.exp(x[..., 1]),
            np.exp(x[..., 2]),
        )

    def held(self, x: Float) -> Float:
        """Unknowns (slopes, lanes, ..., 3) brought back within their limits."""

        def across(values: Float) -> Float:
            return values.reshape(values.shape + (1,) * (x.ndim - 3))

        height = across(self.height)
        far = np.log(REACH * height)
        nearest = np.log(across(self.near) + _SMALLEST * height)
        return np.stack(
            (
                np.clip(x[..., 0], nearest, far),
                np.clip(x[..., 1], np.log(_CLOSEST * height), far),
                np.clip(x[..., 2], np.log(_NARROWEST), np.log(WIDEST_OPENING)),
            ),
            axis=-1,
        )


class _Search:
    """One chunk of slopes on its way from a grid to the critical spirals."""

    def __init__(
        self, slope: LoadedSlope, c: Float, tan: Float, on_face: bool, reduce: bool
    ) -> None:
        self.slope, self.c, self.tan, self.reduce = slope, c, tan, reduce
        self.exits, self.entries = exits(slope, on_face), entries(slope, on_face)
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
        """The y from c_r ≈ 0.2 γH (1 - tan φ / tan φ_f)², φ_f the angle of the face."""
        if not self.reduce:
            return np.ones(self.c.size)
        way = self.slope.ground.directions
        steepest = np.max(np.abs(np.angle(way)), axis=1)
        stress = 0.2 * self.slope.unit_weight * self.slope.height
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

    def _coarse(self, y: Float, rounds: int) -> tuple[_Lanes, Float]:
        """Best spiral of every pair of groups, the best pairs first, and a better y."""
        out, back = self.exits, self.entries
        start = (out.vertex - out.distance)[:, :, None, None]
        end = (back.vertex + back.distance)[:, None, :, None]
        opening = _OPENINGS[None, None, None, :]
        for _ in range(rounds):
            needs, _, _ = self._needs(
                start, end, opening, y[:, None, None, None], _COARSE_WATER, upright=False
            )
            lanes = self._leading(needs)
            if self.reduce:
                start_, end_, opening_ = (part[:, :1] for part in lanes.spiral(lanes.unknowns))
                y = self._root(start_, end_, opening_, y[:, None], _COARSE_WATER, 3)[:, 0]
        return lanes, y

    def _leading(self, needs: Float) -> _Lanes:
        n, _, _, width = needs.shape
        rows = np.arange(n)
        values, picks = [], []
        for e in self.exits.groups:
            for f in self.entries.groups:
                block = needs[:, e, f, :].reshape(n, -1)
                k = np.argmax(block, axis=1)
                values.append(block[rows, k])
                i, rest = np.divmod(k, (f.stop - f.start) * width)
                j, m = np.divmod(rest, width)
                picks.append((i + e.start, j + f.start, m))
        value = np.stack(values, axis=1)
        keep = np.argsort(-value, axis=1)[:, :_LANES]
        # the grid is some tenths off; what lies further down is not worth a lane
        close = value >= np.max(value, axis=1, keepdims=True) - self._slack(value)
        keep = keep[:, : int(np.max(np.sum(close, axis=1)))]
        i, j, m = (
            np.take_along_axis(np.stack([p[axis] for p in picks], axis=1), keep, axis=1)
            for axis in range(3)
        )

        def of(table: Float, index: NDArray[np.intp]) -> Float:
            return np.broadcast_to(table, (n, table.shape[1]))[rows[:, None], index]

        out, back = of(self.exits.distance, i), of(self.entries.distance, j)
        height = self.height[:, None]
        # in front of the toe the distance may well go down to nothing; on a face it is a size
        in_front = of(self.exits.vertex, i) <= self.slope.ground.stations[:, :1]
        near = np.where(in_front, _NEAR, _NEAR_ON_FACE) * height
        logs = np.stack((np.log(out + near), np.log(back), np.log(_OPENINGS[m])), axis=-1)
        return _Lanes(
            exit_vertex=of(self.exits.vertex, i),
            entry_vertex=of(self.entries.vertex, j),
            free=out > 0.0,
            near=near,
            height=height,
            unknowns=logs,
        )

    def _slack(self, cohesion: Float) -> Float:
        """How far below the best cohesion [kPa] of a slope another may be and still win."""
        stress = (self.slope.unit_weight * self.height)[:, None]
        best: Float = np.max(cohesion, axis=1, keepdims=True)
        return 0.4 * np.abs(np.where(np.isfinite(best), best, 0.0)) + 0.01 * stress

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
        step = np.broadcast_to(np.where(lanes.free[..., None], _STEP, _STEP * _ENDS_HELD), x.shape)
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
                # a stencil that shrank on a ridge gets another start
                step = np.maximum(step, first / 4.0)
        return self._settle(lanes, x, y, follow=follow)

    def _as_cut(self, lanes: _Lanes, x: Float, y: Float) -> Float:
        """Unknowns with the opening that was left, so that a stencil sees both sides of it."""
        tan = self.tan[:, None] * y
        spiral = spiral_through(self.slope, *lanes.spiral(x), tan, upright=True)
        return np.concatenate((x[..., :2], np.log(spiral.opening)[..., None]), axis=-1)

    def _value(self, lanes: _Lanes, x: Float, y: Float) -> Float:
        return self._needs(*lanes.spiral(x), y, _FINE_WATER)[0]

    def _settle(self, lanes: _Lanes, x: Float, y: Float, *, follow: bool) -> Critical:
        """The best lane of each slope, its root found to the last digits and put back."""
        water = _FINE_WATER if self.slope.water is None else _LAST_WATER
        if follow:
            y = self._root(*lanes.spiral(x), y, _FINE_WATER, 2)
            usable = np.isfinite(self._value(lanes, x, y))
            order = np.where(usable, y, -np.inf)
        else:
            order = self._value(lanes, x, y)
        lane = np.argmax(order, axis=1)[:, None]
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
