"""Search for the worst rotation of a wall with its ground, at given strengths.

Three unknowns: the distance of the exit in front of the toe, that of the surface behind the
heel, and the opening angle between them. A coarse grid finds the neighbourhoods, the best of
each opening angle; the best few are polished side by side: a stencil of 27 rotations around
each, a step to the top of the quadratic through it, and a smaller stencil. At the edge of a
load the worst rotation lies on a ridge, on which a stencil of one direction gets stuck: there
it is turned at every step and shrinks slowly. The unknowns are logarithms of the distances
over the height, moved up by a little so that an end can lie at the toe or the heel itself.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.retaining_wall.overall_mechanism import Rotation, WallInGround, rotation

__all__ = ["REACH", "rotation_at", "worst_rotation"]

Float = NDArray[np.float64]

REACH = 20.0
"""Furthest ends that are looked at [heights of the wall]."""

_AHEAD = np.concatenate(([0.0], np.geomspace(0.02, 8.0, 11)))
_BEHIND = np.concatenate(([0.0], np.geomspace(0.01, 8.0, 11)))
_OPENINGS = np.geomspace(0.02, 2.8, 14)
_WIDEST, _NEAR = 3.1, 0.02
_LOWEST, _HIGHEST = np.log([[_NEAR, _NEAR, 1e-3], [REACH, REACH, _WIDEST]])
_LANES, _POLISHES, _ON_RIDGES = 6, 24, 60
_FAST, _SLOWLY = 0.3, 0.6  # how a stencil shrinks
_STENCIL = np.stack(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
_UNTURNED = (np.eye(3),) * _POLISHES
_TURNS = tuple(np.linalg.qr(np.random.default_rng(3).normal(size=(_ON_RIDGES, 3, 3)))[0])
_ROUGH, _FINE = 1e-2, 1e-4  # the value is flat at the top: its error goes with the square
_FIRST_STEP, _STEP_NEARBY = 0.4, 0.05


def worst_rotation(
    ground: WallInGround, near: Float | None = None, *, rough: bool = False
) -> Float:
    """The unknowns of the rotation of each wall that lacks most cohesion, (walls, 1, 3).

    ``near`` are unknowns that an earlier search found, at other strengths: only the top of
    their neighbourhood is looked for. ``rough`` is good enough to start from at other
    strengths.
    """
    if near is None:
        lanes, size = _neighbourhoods(ground), _FIRST_STEP
    else:
        lanes, size = near, _STEP_NEARBY
    step = np.full(lanes.shape[:2], size)
    turns, shrink = (_TURNS, _SLOWLY) if ground.edged else (_UNTURNED, _FAST)
    enough = _ROUGH if rough else _FINE
    for turn in turns:
        # walls do not know of each other: each rests once its own steps are small
        going = np.any(step >= enough, axis=1, keepdims=True)
        if not np.any(going):
            break
        trial = _held(lanes[:, :, None, :] + step[:, :, None, None] * (_STENCIL @ turn))
        flat = rotation_at(ground, trial.reshape(trial.shape[0], -1, 3))
        found = flat.missing_cohesion.reshape(trial.shape[:3])
        k = np.argmax(found, axis=2)[:, :, None]
        top = np.take_along_axis(found, k, axis=2)[:, :, 0]
        reach = step[..., None]
        free = (lanes - reach >= _LOWEST) & (lanes + reach <= _HIGHEST)
        jump = _to_the_top(found, free | ground.edged) @ turn
        leap = _held(lanes + step[:, :, None] * jump)
        leaps = rotation_at(ground, leap).missing_cohesion >= top
        place = np.take_along_axis(trial, k[..., None], axis=2)[:, :, 0]
        # at a limit the best of a stencil may be a second copy of its centre
        stays = np.all(place == lanes, axis=-1)
        still = np.where(leaps, np.max(np.abs(jump), axis=-1) < 1.0, stays)
        moved = np.where(leaps[..., None], leap, place)
        lanes = np.where(going[..., None], moved, lanes)
        step = np.where(going, np.where(still, shrink, 1.5) * step, step)
    last = rotation_at(ground, lanes)
    lane = np.argmax(last.missing_cohesion, axis=1)[:, None]
    best: Float = np.take_along_axis(lanes, lane[..., None], axis=1)
    return best


def rotation_at(ground: WallInGround, unknowns: Float) -> Rotation:
    """The rotations of each wall by their unknowns (walls, rotations, 3)."""
    size = np.exp(unknowns)
    return rotation(
        ground,
        ground.height * np.maximum(size[..., 0] - _NEAR, 0.0),
        ground.height * np.maximum(size[..., 1] - _NEAR, 0.0),
        size[..., 2],
    )


def _neighbourhoods(ground: WallInGround) -> Float:
    """Unknowns of the best few of a coarse grid, each of an opening angle of its own."""
    ahead, behind, opening = (
        axis.reshape(1, -1) for axis in np.meshgrid(_AHEAD, _BEHIND, _OPENINGS, indexing="ij")
    )
    start = np.log(np.stack((ahead + _NEAR, behind + _NEAR, opening), axis=-1))
    missing = rotation_at(ground, start).missing_cohesion
    by_opening = missing.reshape(ground.height.shape[0], -1, _OPENINGS.size)
    best = np.argmax(by_opening, axis=1) * _OPENINGS.size + np.arange(_OPENINGS.size)
    value = np.take_along_axis(missing, best, axis=1)
    order = np.argsort(-value, axis=1)[:, :_LANES]
    lanes: Float = start[0, np.take_along_axis(best, order, axis=1)]
    return lanes


def _to_the_top(found: Float, free: NDArray[np.bool_]) -> Float:
    """Step [stencil spacings] to the top of the quadratic through stencils (..., 27), along the
    axes that are free (..., 3): a stencil is cut off at the limits of the others.
    """
    finite = np.all(np.isfinite(found), axis=-1)
    cube = np.where(finite[..., None], found, 0.0).reshape(*found.shape[:-1], 3, 3, 3)
    gradient = np.empty((*finite.shape, 3))
    curvature = np.empty((*finite.shape, 3, 3))
    for i in range(3):
        line = np.moveaxis(cube, i - 3, -1)[..., 1, 1, :]
        gradient[..., i] = (line[..., 2] - line[..., 0]) / 2.0
        curvature[..., i, i] = line[..., 2] - 2.0 * line[..., 1] + line[..., 0]
        for j in range(i):
            plane = np.moveaxis(cube, (i - 3, j - 3), (-1, -2))[..., 1, :, :]
            mixed = plane[..., 2, 2] - plane[..., 2, 0] - plane[..., 0, 2] + plane[..., 0, 0]
            curvature[..., i, j] = curvature[..., j, i] = mixed / 4.0
    gradient = np.where(free, gradient, 0.0)
    curvature = np.where(free[..., None] & free[..., None, :], curvature, 0.0)
    bend, axes = np.linalg.eigh(curvature)
    steepness = np.einsum("...ij,...i->...j", axes, gradient)
    domed = bend < -1e-9 * np.max(np.abs(bend), axis=-1, keepdims=True)
    length = np.where(domed, -steepness / np.where(domed, bend, 1.0), 2.0 * np.sign(steepness))
    step = np.einsum("...ij,...j->...i", axes, np.clip(length, -3.0, 3.0))
    return np.where(finite[..., None], step, 0.0)


def _held(unknowns: Float) -> Float:
    return np.clip(unknowns, _LOWEST, _HIGHEST)
