"""The shaking at which a slope is at its limit: k_h where the factor is 1.

At F = 1 every spiral requires a cohesion that is linear in k_h, so that the most over all
spirals is convex: Newton's method from one hardest spiral to the next closes in from above.
Ground without end in front, or a skin without cohesion, may give way before.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.critical_spiral import hardest_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import LoadedSlope

__all__ = ["yield_coefficients"]

_LEAST, _MOST = -1.0, 5.0
_STEPS, _CLOSE = 25, 1e-5  # what is left is its square
_BISECTIONS = 50
_ASIDE, _WATER = 1e-3, 1024


def yield_coefficients(slope: LoadedSlope, c: Float, tan: Float) -> Float:
    """Yield coefficients of strengths (slopes,), between -1 and 5; nan where no friction and no
    firm ground hold the ground in front. Below zero the slope does not stand by itself.
    """
    limit = _limit(slope, c, tan)
    k_h = np.minimum(np.full(c.size, 0.2), limit)
    for _ in range(_STEPS):
        hardest = hardest_spirals(_shaken(slope, k_h), tan)
        aside = _shaken(slope, k_h + _ASIDE)
        needed = cohesion_required(aside, hardest.spirals(aside, tan), _WATER)[0][:, 0]
        with np.errstate(invalid="ignore"):  # no spiral stands there, and none moves
            rate = (needed - hardest.cohesion) / _ASIDE
        moving = np.isfinite(hardest.cohesion) & (rate > 0.0)
        step = np.where(moving, (c - hardest.cohesion) / np.where(moving, rate, 1.0), 0.0)
        before, k_h = k_h, np.clip(k_h + np.clip(step, -0.5, 0.5), _LEAST, limit)
        if np.all(np.abs(k_h - before) < _CLOSE):
            break
    return np.where((limit > _LEAST) & (tan > 0.0) | (slope.firm_level is not None), k_h, np.nan)


def _shaken(slope: LoadedSlope, k_h: Float) -> LoadedSlope:
    return replace(slope, seismic_coefficient=k_h)


def _limit(slope: LoadedSlope, c: Float, tan: Float) -> Float:
    """The k_h at which endless ground slides, or a skin without cohesion."""
    low, high = np.full(c.size, _LEAST), np.full(c.size, _MOST)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        shaken = _shaken(slope, middle)
        stands = deep_tangent(shaken) <= tan
        stands &= (c > 0.0) | (skin_tangent(shaken) <= tan)
        low, high = np.where(stands, middle, low), np.where(stands, high, middle)
    return low
