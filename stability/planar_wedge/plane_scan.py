"""The lowest value over planes of any inclination: a scan, and narrower scans about its hollows.

Used where a plane's factor is no simple function of its angle. Every angle at which the factor may
bend or jump, since the plane meets a corner of the ground or the edge of a load there, is itself
looked at, and just before and after it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

__all__ = ["SCANNED", "lowest_plane"]

Array = NDArray[np.float64]

SCANNED = 40
"""Planes looked at before any bend is."""

_NEAR_END = 1e-4
_HOLLOWS = 3
_HALVINGS = 16
_BESIDE = 1e-9


def lowest_plane(
    value_at: Callable[[Array], Array], least: Array, steepest: Array, bends: Array
) -> Array:
    """Angle with the lowest value, for each of n samples [deg].

    ``value_at`` gives values at angles [deg] of shape (n, any). The ends of the range from
    ``least`` to ``steepest`` are left out. At ``bends``, of shape (n, any), nan for none, the value
    bends or jumps.
    """
    range_ = (steepest - least)[:, None]
    # closer together toward both ends, where the value changes fastest
    shares = np.linspace(_NEAR_END, 1.0 - _NEAR_END, SCANNED)
    even = least[:, None] + range_ * np.sin(0.5 * np.pi * shares) ** 2
    bends = np.where(np.isnan(bends), even[:, :1], bends)
    near = _BESIDE * range_
    angle = np.concatenate((even, bends - near, bends, bends + near), axis=1)
    angle = np.sort(np.clip(angle, even[:, :1], even[:, -1:]), axis=1)
    value = value_at(angle)
    walled = np.pad(value, ((0, 0), (1, 1)), constant_values=np.inf)
    hollow = (value <= walled[:, :-2]) & (value <= walled[:, 2:])
    # any of the lowest hollows may hold the lowest value
    order = np.argsort(np.where(hollow, value, np.inf), axis=1, kind="stable")
    last = angle.shape[1] - 1
    columns = min(_HOLLOWS, int(np.max(np.sum(hollow & np.isfinite(value), axis=1), initial=1)))
    at = order[:, : max(columns, 1)]
    low, middle, high = (
        np.take_along_axis(angle, np.clip(at + side, 0, last), axis=1) for side in (-1, 0, 1)
    )
    lowest = np.take_along_axis(value, at, axis=1)
    for _ in range(_HALVINGS):
        left, right = (low + middle) / 2.0, (middle + high) / 2.0
        beside = value_at(np.concatenate((left, right), axis=1))
        at_left, at_right = beside[:, : at.shape[1]], beside[:, at.shape[1] :]
        to_left = (at_left < lowest) & (at_left <= at_right)
        to_right = (at_right < lowest) & ~to_left
        low = np.where(to_left, low, np.where(to_right, middle, left))
        high = np.where(to_left, middle, np.where(to_right, high, right))
        middle = np.where(to_left, left, np.where(to_right, right, middle))
        lowest = np.where(to_left, at_left, np.where(to_right, at_right, lowest))
    best = np.argmin(lowest, axis=1)[:, None]
    chosen: Array = np.take_along_axis(middle, best, axis=1)[:, 0]
    return chosen
