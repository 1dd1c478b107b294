"""The part of a given circle that is a slip surface."""

from __future__ import annotations

import numpy as np

from slipmargin.stability.ground.points import Line
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.slices import Circles, arc_crossings
from slipmargin.strength import InputError, Numeric

__all__ = ["given_circle"]

_TRIED = 400  # places between the ends, for the foot of a crack


def given_circle(section: Section, x: Numeric, y: Numeric, radius: Numeric, size: int) -> Circles:
    """The widest piece of the lower arc that lies in the ground, shape (samples, 1), of ``size``
    samples. It ends at the ground on the left, and at the ground or the foot of the tension crack
    on the right. ``InputError``: a circle that holds no ground, or whose surface would overhang.
    """
    x, y, radius = (
        np.broadcast_to(np.asarray(one, dtype=float).reshape(-1), (size,))[:, None]
        for one in (x, y, radius)
    )
    blank = np.zeros((size, 1))
    circle = Circles(x, y, radius, blank, blank, blank)
    left, right = _piece(circle, section.ground)
    crack = section.amounts.crack_depth[:, None]
    if np.any(crack > 0.0):
        right = _at_crack(section, circle, left, right, crack)
    if np.any(np.isnan(left) | np.isnan(right)) or np.any(right - left < 1e-6 * section.size):
        raise InputError(
            "circle",
            f"({float(x.flat[0]):g}, {float(y.flat[0]):g}), radius {float(radius.flat[0]):g} m",
            "its lower half cuts no piece off the ground (with a tension crack, none in front of "
            "the crack's foot); its centre stands above both ends of the piece",
        )
    start, end = (np.arcsin(np.clip((place - x) / radius, -1.0, 1.0)) for place in (left, right))
    return Circles(x, y, radius, start, end, np.broadcast_to(crack, x.shape))


def _piece(circle: Circles, line: Line) -> tuple[Float, Float]:
    """Ends of the widest piece of the lower arc below a line; nan where there is none."""
    crossings = []
    for place in arc_crossings(circle, line):
        lower = line.level(place) < circle.y
        crossings.append(np.where(lower, place, np.nan))
    ordered = np.sort(np.stack(crossings, axis=-1), axis=-1)  # nan last
    a, b = ordered[..., :-1], ordered[..., 1:]
    middle = (a + b) / 2.0
    over = circle.radius[..., None] ** 2 - (middle - circle.x[..., None]) ** 2
    arc = circle.y[..., None] - np.sqrt(np.maximum(over, 0.0))
    width = np.where(line.level(middle) > arc, b - a, -1.0)
    width = np.where(np.isnan(width), -1.0, width)
    best = np.argmax(width, axis=-1)[..., None]
    found = np.take_along_axis(width, best, axis=-1)[..., 0] > 0.0
    left, right = (np.take_along_axis(one, best, axis=-1)[..., 0] for one in (a, b))
    return np.where(found, left, np.nan), np.where(found, right, np.nan)


def _at_crack(section: Section, circle: Circles, left: Float, right: Float, crack: Float) -> Float:
    """Where the arc meets the foot of a crack of a depth below the ground, by halving."""

    def deeper(place: Float) -> Float:
        arc = circle.y - np.sqrt(np.maximum(circle.radius**2 - (place - circle.x) ** 2, 0.0))
        depth: Float = section.ground.level(place) - arc - crack
        return depth

    places = left + (right - left) * np.linspace(0.0, 1.0, _TRIED)
    inside = deeper(places) > 0.0
    found = np.any(inside, axis=1, keepdims=True)
    last = _TRIED - 1 - np.argmax(inside[:, ::-1], axis=1)[:, None]
    low, high = (
        np.take_along_axis(places, np.minimum(one, _TRIED - 1), axis=1) for one in (last, last + 1)
    )
    for _ in range(60):
        middle = (low + high) / 2.0
        within = deeper(middle) > 0.0
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    return np.where(found, low, np.nan)
