"""The strength law of a slope that fails on a log-spiral.

A reduced friction angle φ_m and the cohesion c_r(tan φ_m) that the hardest spiral requires
at it are one point of the law, found without a root: every strength with
c′ / tan φ′ = c_r / tan φ_m has the factor tan φ′ / tan φ_m. With the scale s,

    t = c_r / (c_r + s tan φ_m),    G = 1 / (c_r + s tan φ_m)

and, since the hardest spiral is stationary, dG/d√t follows from dc_r/d tan φ_m at that
spiral. Between points the curve is a cubic with these slopes; points are added until the
cubic predicts them.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.critical_spiral import critical_spirals, hardest_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.spiral import LoadedSlope
from slipmargin.stability.strength_law import StrengthLaw

__all__ = ["spiral_strength_law"]

_NODES = 2049
_FIRST = 13
_CLOSE = np.concatenate(([0.0], np.geomspace(1e-5, 0.03, 6)))  # the curve starts off steeply
_ROUNDS, _ACCURACY = 8, 2e-6
# sums over a phreatic line are less smooth, and slow; of cracks many curves are drawn
_FEWER_ROUNDS, _LESS_ACCURACY = 4, 1e-5


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
    angle = low + (high - low) * np.concatenate((_CLOSE, np.linspace(0.0, 1.0, _FIRST)[1:-1]))
    root, value, rate = _points(slope, scale, angle)
    top = np.array([high]), np.zeros(1), np.array([1.0 / (scale * high_tan)]), np.zeros(1)
    angle, root, value, rate = _joined((angle, root, value, rate), top)
    slow = slope.wet or slope.crack_depth is not None
    accuracy, rounds = (_LESS_ACCURACY, _FEWER_ROUNDS) if slow else (_ACCURACY, _ROUNDS)
    wanting = np.ones(angle.size - 1, dtype=bool)
    for _ in range(rounds):
        rate[-1] = _last_rate(root, value, rate)
        middle = (angle[:-1] + angle[1:])[wanting] / 2.0
        there = (middle, *_points(slope, scale, middle))
        near, _ = _hermite(there[1], root[::-1], value[::-1], rate[::-1])
        wrong = np.abs(near / there[2] - 1.0) > accuracy
        again = dict.fromkeys(middle[wrong])
        angle, root, value, rate = _joined((angle, root, value, rate), there)
        wanting = np.array([a in again or b in again for a, b in pairwise(angle)])
        if not np.any(wanting):
            break
    rate[-1] = _last_rate(root, value, rate)
    node = np.sqrt(StrengthLaw.nodes(_NODES))
    g, slope_g = _hermite(np.minimum(node, root[0]), root[::-1], value[::-1], rate[::-1])
    if low_tan > 0.0:
        endless = (1.0 - node**2) / (scale * low_tan)
        governs = (node > root[0]) | (endless < g)
        g = np.where(governs, endless, g)
        slope_g = np.where(governs, -2.0 * node / (scale * low_tan), slope_g)
    # towards φ = 0 surfaces may grow without end and G leave its last node upright; a
    # parabola stays below it
    slope_g[-1] = 2.0 * (g[-1] - g[-2]) * (_NODES - 1) - slope_g[-2]
    return StrengthLaw(scale, g, slope_g)


def _points(slope: LoadedSlope, scale: float, angle: Float) -> tuple[Float, Float, Float]:
    """√t, G and dG/d√t at reduced friction angles [rad]."""
    tan = np.tan(angle)
    hardest = hardest_spirals(slope, tan)
    needed, change = np.maximum(hardest.cohesion, 0.0), hardest.rate
    value = 1.0 / (needed + scale * tan)
    root = np.sqrt(needed * value)
    return root, value, -(change + scale) * 2.0 * root / (scale * (change * tan - needed))


def _hermite(at: Float, x: Float, y: Float, rate: Float) -> tuple[Float, Float]:
    """Values and rates of the cubics through points with their rates; x grows."""
    low = np.clip(np.searchsorted(x, at, side="right") - 1, 0, x.size - 2)
    wide = x[low + 1] - x[low]
    t = (at - x[low]) / wide
    u = 1.0 - t
    rise, first, last = y[low + 1] - y[low], rate[low], rate[low + 1]
    value = y[low] + rise * t * t * (3.0 - 2.0 * t) + wide * t * u * (first * u - last * t)
    turned = 6.0 * t * u * rise / wide + first * u * (1.0 - 3.0 * t) + last * t * (1.0 - 3.0 * u)
    return value, turned


def _last_rate(root: Float, value: Float, rate: Float) -> float:
    """dG/d√t at t = 0, where it is a limit, from a parabola through the point beside it."""
    return float(2.0 * (value[-2] - value[-1]) / (root[-2] - root[-1]) - rate[-2])


def _joined(one: tuple[Float, ...], other: tuple[Float, ...]) -> tuple[Float, ...]:
    """Two sets of points in order of the angle; a point that does not go on falling in √t,
    as where no spiral needs cohesion any more, is left out.
    """
    angle = np.concatenate((one[0], other[0]))
    order = np.argsort(angle)
    columns = [np.concatenate(pair)[order] for pair in zip(one, other, strict=True)]
    root = columns[1]
    falling = np.concatenate(([True], root[1:] < np.minimum.accumulate(root)[:-1] - 1e-9))
    falling &= root > root[-1] + 1e-9
    falling[-1] = True
    return tuple(column[falling] for column in columns)
