"""Spencer's factor of safety, by force and moment equilibrium, and Bishop's simplified one.

Spencer: all forces between slices have one inclination θ. With λ = tan θ, what a slice hands
to its neighbours has the horizontal part

    e = (F D - R) / d,    d = F (cos α + λ sin α) + tan φ′ (sin α - λ cos α)

where D = V sin α - H cos α is what drives the slice along its base and
R = c′ l + tan φ′ (V cos α + H sin α - U) what would resist without its neighbours. All slices
together are in equilibrium where

    Σ e = 0    and    Σ e m = Σ M / r,    m = (λ x - y) / r

x and y from the centre of the circle, r its radius. Newton's method finds both unknowns; a
solution counts only where both equations hold again with it and d is well above zero on every
slice: near zero, the base would carry without limit (the trouble of m_α).

Bishop: the forces between slices are horizontal, and the moment about the centre decides.

Sources: Spencer (1967), Géotechnique 17(1); Bishop (1955), Géotechnique 5(1); the trouble of
m_α: Whitman & Bailey (1967), J. Soil Mech. Found. Div. 93(4) (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.layered_slope.section import Float, Section, picked
from slipmargin.stability.layered_slope.slices import Slices

__all__ = [
    "LEAST_SHARE",
    "Solution",
    "Strengths",
    "bishop",
    "interslice",
    "normal_force",
    "spencer",
    "strengths",
]

LEAST_SHARE = 0.05
"""Least d / F, and least m_α, at which an equation is taken to have a solution. What is near it
is far too high, so that no search ends there; a factor above it is warned of (``notices``)."""

_STEPS, _MORE_STEPS = 7, 16
_MOST_F, _MOST_K = 0.3, 0.25  # of F; of λ, in one step
_TOLERANCE, _TOLERANCE_K = 1e-9, 1e-7
_LEAST_TANGENT, _MOST_TANGENT = -0.15, 3.0
"""Of λ: forces between slices lean with the slope. Further equations' roots lie beyond, which no
stresses in ground have."""
_STARTS = (0.2, 0.6)  # of λ
_RESIDUAL = 1e-7


@dataclass(frozen=True, slots=True)
class Strengths:
    """Strength on the bases: ``cohesion`` times base length [kN/m], and ``tan_friction_angle``."""

    cohesion: Float
    tan_friction_angle: Float


@dataclass(frozen=True, slots=True)
class Solution:
    """Factors of circles and their λ, arrays of shape (samples, circles); nan for no solution."""

    factor: Float
    tangent: Float


def strengths(section: Section, slices: Slices) -> Strengths:
    """Straight envelopes of the layers on the bases that lie in them."""
    cohesion, tan = (
        one[slices.layer, np.arange(one.shape[1])[:, None, None]]
        for one in (section.amounts.cohesion, section.amounts.tan_friction_angle)
    )
    return Strengths(cohesion * slices.length, tan)


def bishop(slices: Slices, held: Strengths, steps: int = 40) -> tuple[Float, Float]:
    """Bishop's simplified factor, and the least m_α.

    On a surface that follows firm ground the moment of the normal forces counts too.
    """
    s, c, t = slices, held.cohesion, held.tan_friction_angle
    turn, lever = s.arms
    push = np.sum(s.vertical * s.across + s.horizontal * s.up - s.uplift * lever, axis=-1)
    push = push - np.sum(s.moment, axis=-1) / s.radius
    down = s.vertical - s.uplift * s.cos
    bent = np.any(np.abs(lever) > 1e-9)
    held_up, rub = c * s.sin, t * s.sin
    cohesive, rubbed = np.sum(c * turn, axis=-1), t * turn
    factor = np.ones(np.broadcast_shapes(push.shape, t.shape[:-1]))
    with np.errstate(divide="ignore", invalid="ignore"):
        for step in range(steps):
            inverse = 1.0 / factor[..., None]
            share = s.cos + rub * inverse
            normal = (down - held_up * inverse) / share
            resisting = cohesive + _dot(normal, rubbed)
            driving = push - _dot(normal, lever) if bent else push
            last, factor = factor, resisting / driving
            factor = np.where(driving > 0.0, np.maximum(factor, 0.02), np.inf)
            if step % 4 == 3 and np.all(
                (np.abs(factor - last) <= 1e-9 * factor) | ~np.isfinite(factor)
            ):
                break
    return factor, np.min(share, axis=-1)


def spencer(
    slices: Slices, held: Strengths, start: Float, tangent: Float | float = 0.2
) -> Solution:
    """Spencer's factor by Newton's method, from first guesses of F and λ of shape
    (samples, circles).
    """
    factor = np.where(np.isfinite(start), start, 1.0)
    lam = np.broadcast_to(np.asarray(tangent, dtype=float), factor.shape)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found = _solved(slices, held, factor, lam, _STEPS)
        if np.any(rest := np.isnan(found.factor) & slices.valid):
            # the few that need long, or another start, are not waited for by all
            again = _from_other_starts(picked(slices, rest), picked(held, rest))
            found.factor[rest], found.tangent[rest] = again.factor, again.tangent
    return found


def _from_other_starts(slices: Slices, held: Strengths) -> Solution:
    """Factors and λ of the circles of one sample, from Bishop's factor and other guesses of λ."""
    first = bishop(slices, held)[0][0]
    first = np.where(np.isfinite(first), first, 1.0)
    factor, tangent = np.full(first.shape, np.nan), np.full(first.shape, np.nan)
    for start in _STARTS:
        left = np.isnan(factor)
        if not np.any(left):
            break
        guess = first[left][None]
        some, part = picked(slices, left[None]), picked(held, left[None])
        one = _solved(some, part, guess, np.full_like(guess, start), _MORE_STEPS)
        factor[left], tangent[left] = one.factor[0], one.tangent[0]
    return Solution(factor, tangent)


def _solved(slices: Slices, held: Strengths, factor: Float, lam: Float, steps: int) -> Solution:
    forces = _Forces.of(slices, held)
    factor, lam = _newton(forces, factor, lam, steps)
    return Solution(np.where(slices.valid & _holds(forces, factor, lam), factor, np.nan), lam)


@dataclass(frozen=True, slots=True)
class _Forces:
    """What Newton's method needs of slices, forces over the weight of the mass."""

    sin: Float
    cos: Float
    across: Float
    up: Float
    tan: Float
    drive: Float
    resist: Float
    turning: Float

    @classmethod
    def of(cls, s: Slices, held: Strengths) -> _Forces:
        weight = np.sum(s.soil_weight, axis=-1, keepdims=True)
        weight = np.where(weight > 0.0, weight, 1.0)
        tan = held.tan_friction_angle
        return cls(
            sin=s.sin,
            cos=s.cos,
            across=s.across,
            up=s.up,
            tan=tan,
            drive=s.driving / weight,
            resist=held.cohesion / weight + tan * (s.pressing / weight),
            turning=np.sum(s.moment, axis=-1) / s.radius / weight[..., 0],
        )


def _dot(a: Float, b: Float) -> Float:
    total: Float = np.einsum("...i,...i->...", a, b)
    return total


def _newton(s: _Forces, factor: Float, lam: Float, steps: int) -> tuple[Float, Float]:
    """F and λ after so many steps at most."""
    for _ in range(steps):
        f, k = factor[..., None], lam[..., None]
        bend = f * s.sin - s.tan * s.cos
        d = f * s.cos + s.tan * s.sin + k * bend
        e = (f * s.drive - s.resist) / d
        m = k * s.across - s.up
        by_f = (s.drive - e * (s.cos + k * s.sin)) / d
        by_k = -e * bend / d
        force, moment = np.sum(e, axis=-1), _dot(e, m) - s.turning
        a, b = np.sum(by_f, axis=-1), np.sum(by_k, axis=-1)
        p, q = _dot(by_f, m), _dot(by_k, m) + _dot(e, s.across)
        over = a * q - b * p
        move_f = -(force * q - moment * b) / over
        move_k = -(a * moment - p * force) / over
        # short steps keep d above zero
        short = np.minimum(
            1.0, np.minimum(_MOST_F * factor / np.abs(move_f), _MOST_K / np.abs(move_k))
        )
        usable = np.isfinite(short) & np.isfinite(move_f) & np.isfinite(move_k)
        factor = np.where(usable, factor + short * move_f, factor)
        lam = np.where(usable, lam + short * move_k, lam)
        still = (np.abs(move_f) <= _TOLERANCE * factor) & (np.abs(move_k) <= _TOLERANCE_K)
        if not np.any(usable & ~still):
            break
    return factor, lam


def _holds(s: _Forces, factor: Float, lam: Float) -> NDArray[np.bool_]:
    """Whether both equations hold in a solution, and stresses in ground may be such."""
    f, k = factor[..., None], lam[..., None]
    d = f * (s.cos + k * s.sin) + s.tan * (s.sin - k * s.cos)
    e = (f * s.drive - s.resist) / d
    moment = _dot(e, k * s.across - s.up) - s.turning
    residual = np.maximum(np.abs(np.sum(e, axis=-1)), np.abs(moment))
    share = np.min(d, axis=-1) / factor
    balanced = (residual < _RESIDUAL) & (share > LEAST_SHARE)
    return np.asarray(balanced & (lam > _LEAST_TANGENT) & (lam < _MOST_TANGENT))


def normal_force(slices: Slices, held: Strengths, factor: Float, tangent: Float) -> Float:
    """Effective normal force on each base [kN/m] in a solution; ``tangent`` 0 and Bishop's
    factor give Bishop's where no load is horizontal.
    """
    e = interslice(slices, held, factor, tangent)
    result: Float = slices.pressing + e * (slices.sin - tangent[..., None] * slices.cos)
    return result


def interslice(slices: Slices, held: Strengths, factor: Float, tangent: Float) -> Float:
    """Horizontal part e of what each slice hands to its neighbours [kN/m]."""
    s, c, t = slices, held.cohesion, held.tan_friction_angle
    f, k = factor[..., None], tangent[..., None]
    resist = c + t * s.pressing
    e: Float = (f * s.driving - resist) / (f * (s.cos + k * s.sin) + t * (s.sin - k * s.cos))
    return e
