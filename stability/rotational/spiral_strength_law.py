"""The strength law of a slope that fails on a log-spiral.

A reduced friction angle φ_m and the cohesion c_r(tan φ_m) that the hardest spiral requires
at it are one point of the law, found without a root: every strength with
c′ / tan φ′ = c_r / tan φ_m has the factor tan φ′ / tan φ_m. With the scale s,

    t = c_r / (c_r + s tan φ_m),    G = 1 / (c_r + s tan φ_m)

and, since the hardest spiral is stationary, dG/dt follows from dc_r/d tan φ_m at that
spiral. Towards t = 0 the spiral closes up to the face and G - G(0) goes with t^⅔: over
x = ∛t the curve is smooth. Cubics with these slopes join the points. How far off one is tells
the cubic of the stretch beside it, drawn on; where neither agrees, two spirals take turns, and
the next points lie close to where the cubics on either side meet.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.critical_spiral import critical_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.spiral import LoadedSlope
from slipmargin.stability.rotational.spiral_family import Family, hardest_along
from slipmargin.stability.strength_law import StrengthLaw

__all__ = ["spiral_strength_law"]

_NODES = 2049
_FIRST = 33
_CLOSE = np.concatenate(([0.0], np.geomspace(1e-5, 0.02, 9)))  # the curve starts off steeply
_ROUNDS, _ACCURACY = 4, 2e-6
# sums over a phreatic line are less smooth, and slow; of cracks many curves are drawn
_FEWER_ROUNDS, _LESS_ACCURACY = 3, 1e-5
_FURTHER = 3.0
_LOOKED_AT = np.array([0.25, 0.5, 0.75])
_NARROW, _BESIDE, _ALIKE, _LEAST_STEP = 5e-4, 0.02, 0.25, 1e-7

Points = tuple[Float, Float, Float, Float]
"""x = ∛t from the lowest on, G, dG/dx and tan φ_m."""


def spiral_strength_law(slope: LoadedSlope) -> StrengthLaw:
    """The law of one slope, between the tan φ_m below which ground without end slides at any
    cohesion and that at which no cohesion is needed.
    """
    low_tan = float(np.max(deep_tangent(slope)))
    high_tan = float(np.max(skin_tangent(slope)))
    if not slope.scales:
        # what lies behind the face or on its edge can be worse than its skin
        bare = critical_spirals(slope, np.zeros(1), np.ones(1))
        high_tan = max(high_tan, float(bare.inverse[0]))
    scale = float(slope.unit_weight[0] * slope.height[0])
    low, high = np.arctan(low_tan), np.arctan(high_tan)
    shares = np.concatenate((_CLOSE, np.linspace(0.0, 1.0, _FIRST)[1:-1]))
    family = hardest_along(slope, np.tan(low + (high - low) * shares))
    slow = slope.wet or slope.crack_depth is not None
    accuracy, rounds = (_LESS_ACCURACY, _FEWER_ROUNDS) if slow else (_ACCURACY, _ROUNDS)
    for _ in range(rounds - 1):
        more = _wanted(_points(family, scale, high_tan), scale, accuracy)
        if not more.size:
            break
        family = hardest_along(slope, more, family)
    points = _points(family, scale, high_tan)
    root = np.sqrt(StrengthLaw.nodes(_NODES))
    x, known = np.cbrt(np.square(root)), points[0]
    within = np.minimum(x, known[-1])
    stretch = np.clip(np.searchsorted(known, within, side="right") - 1, 0, known.size - 2)
    g, slope_g = _cubic(points, stretch, within)
    slope_g[1:] /= 1.5 * np.sqrt(x[1:])
    if low_tan > 0.0:
        endless = (1.0 - root**2) / (scale * low_tan)
        governs = (x > known[-1]) | (endless < g)
        g = np.where(governs, endless, g)
        slope_g = np.where(governs, -2.0 * root / (scale * low_tan), slope_g)
    # towards φ = 0 surfaces may grow without end and G leave its last node upright; a
    # parabola stays below it
    slope_g[-1] = 2.0 * (g[-1] - g[-2]) * (_NODES - 1) - slope_g[-2]
    return StrengthLaw(scale, g, slope_g)


def _points(family: Family, scale: float, high_tan: float) -> Points:
    """The points of the law, and its end, where no cohesion is needed. Less friction needs more
    cohesion: what needs no more is left out.
    """
    tan, change = family.tan, family.hardest.rate
    needed = np.maximum(family.hardest.cohesion, 0.0)
    value = 1.0 / (needed + scale * tan)
    x = np.cbrt(needed * value)
    rate = -3.0 * (change + scale) * np.square(x) / (scale * (change * tan - needed))
    kept = _rising(x)
    x, value, rate, tan = x[kept], value[kept], rate[kept], tan[kept]
    top = 1.0 / (scale * high_tan)
    return np.append(0.0, x), np.append(top, value), np.append(0.0, rate), np.append(high_tan, tan)


def _rising(x: Float) -> NDArray[np.intp]:
    """Places that rise, left by taking out, one by one, what is at odds with most others."""
    kept = np.flatnonzero(np.isfinite(x) & (x > _LEAST_STEP))
    while True:
        at_odds = np.triu(x[kept][:, None] > x[kept] - _LEAST_STEP, 1)
        count = np.sum(at_odds, axis=0) + np.sum(at_odds, axis=1)
        if not np.any(count):
            return kept
        kept = np.delete(kept, kept.size - 1 - np.argmax(count[::-1]))


def _cubic(points: Points, stretch: NDArray[np.intp], at: Float) -> tuple[Float, Float]:
    """Values and slopes of the cubics of stretches between points, drawn on beyond them."""
    x, y, rate, _ = points
    wide = x[stretch + 1] - x[stretch]
    t = (at - x[stretch]) / wide
    u = 1.0 - t
    start, rise = y[stretch], y[stretch + 1] - y[stretch]
    first, last = rate[stretch], rate[stretch + 1]
    value = start + rise * t * t * (3.0 - 2.0 * t) + wide * t * u * (first * u - last * t)
    turned = 6.0 * t * u * rise / wide + first * u * (1.0 - 3.0 * t) + last * t * (1.0 - 3.0 * u)
    return value, turned


def _wanted(points: Points, scale: float, accuracy: float) -> Float:
    """The tan φ_m of further points: where the curves on either side of a stretch meet, or in
    the middle of one that is not predicted.
    """
    x, y, _, tan = points
    here = np.arange(x.size - 1)
    beside = np.maximum(here - 1, 0), np.minimum(here + 1, here[-1])
    low, high = x[:-1], x[1:]
    wide = high - low
    looked_at = low + _LOOKED_AT[:, None] * wide
    own, _ = _cubic(points, here, looked_at)
    own_error = np.square((looked_at - low) * (high - looked_at))  # in proportion, if smooth
    off = np.full(here.size, np.inf)
    for other in beside:
        drawn_on, _ = _cubic(points, other, looked_at)
        error = np.square((looked_at - x[other]) * (x[other + 1] - looked_at))
        share = own_error / np.maximum(error - own_error, _ALIKE * own_error)
        apart = np.max(share * np.abs(drawn_on - own), axis=0)
        off = np.where(other == here, off, np.minimum(off, apart))
    poor = (off > accuracy * y[:-1]) & (wide > _NARROW)
    left, right = beside
    over = _cubic(points, right, low)[0] - y[:-1], y[1:] - _cubic(points, left, high)[0]
    meet = poor & (over[0] > 0.0) & (over[1] < 0.0) & (left < here) & (right > here)
    share = np.where(meet, over[0] / np.where(meet, over[0] - over[1], 1.0), 0.5)
    shares = np.stack((share - _BESIDE * meet, share + _BESIDE * meet))
    at = low + np.clip(shares, _BESIDE, 1.0 - _BESIDE) * wide
    drawn_on = np.minimum(*(_cubic(points, other, at)[0] for other in beside))
    curve = np.where(meet, drawn_on, _cubic(points, here, at)[0])
    # of the curve itself, between those of the ends, of which the last may be infinite
    more = (1.0 - at**3) / (scale * np.maximum(curve, 1e-300))
    return np.unique(np.clip(more, tan[1:], np.minimum(tan[:-1], _FURTHER * tan[1:]))[:, poor])
