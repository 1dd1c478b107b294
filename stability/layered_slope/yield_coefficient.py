"""The shaking at which a layered slope is at its limit: k_h where the lowest factor is 1.

The coefficient of one circle is a root that takes no search. No circle yields before the one
that governs there, so that the search at the root of one circle gives the next, and the roots
close in on the lowest from above; they are few, and the last search confirms the factor of 1.
"""

from __future__ import annotations

import numpy as np

from slipmargin.stability.layered_slope.governing import factors_on, governing_circles
from slipmargin.stability.layered_slope.inputs import SlipCircle
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles

__all__ = ["yield_coefficients"]

_MOST = 2.0  # largest coefficient looked for
_SEARCHES, _CLOSE = 8, 1e-4  # of the factor
_COARSE, _FINE, _ROUNDS = 33, 9, 3


def yield_coefficients(section: Section, circles: Circles, given: SlipCircle | None) -> Float:
    """Yield coefficients, shape (samples,); 0 where the slope slides unshaken.

    nan where there is none up to 2, where Spencer's method has no solution at it, and where the
    search does not come to rest. It begins with ``circles`` (samples, 1); where one is
    ``given`` none is searched for. The section's own shaking does not count.
    """
    size = circles.x.shape[0]
    k_h = np.full(size, -1.0)
    for _ in range(_SEARCHES):
        before, k_h = k_h, _root(section, circles)
        one = governing_circles(section.with_amounts(seismic_coefficient=k_h), given, size)
        factor, circles = one.factor[:, 0], one.circles
        solved = one.settled & np.isfinite(one.tangent[:, 0])
        close = np.abs(factor - 1.0) < _CLOSE
        unshaken = (k_h == 0.0) & (factor <= 1.0)
        if given is not None or np.all(close | unshaken | (k_h == before)):
            break
    return np.where(solved & (close | unshaken), k_h, np.nan)


def _root(section: Section, circles: Circles) -> Float:
    """The least k_h at which circles (samples, 1) have a factor of 1 or less; where they have
    none up to 2, the largest at which they have a factor.
    """
    size = circles.x.shape[0]
    low, high = np.zeros(size), np.full(size, _MOST)
    rows = np.arange(size)
    for round_ in range(1 + _ROUNDS):
        count = _FINE if round_ else _COARSE
        k_h = np.linspace(low, high, count, axis=1)
        each = rows.repeat(count)
        shaken = section.take(each).with_amounts(seismic_coefficient=k_h.reshape(-1))
        factor, _ = factors_on(shaken, circles.at(each))
        factor = factor.reshape(size, count)
        down, known = factor <= 1.0, np.isfinite(factor)
        last = count - 1 - np.argmax(known[:, ::-1], axis=1)
        place = np.where(np.any(down, axis=1), np.argmax(down, axis=1), last)
        left = np.maximum(place - 1, 0)
        low, high = k_h[rows, left], k_h[rows, place]
        over, under = factor[rows, left] - 1.0, 1.0 - factor[rows, place]
    between = (over > 0.0) & (under >= 0.0)
    share = over / np.where(between, over + under, 1.0)
    return np.where(between, low + share * (high - low), high)
