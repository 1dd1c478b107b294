"""Lowest ratio of two cubics over an interval, for many pairs at once.

A trial plane's factor is strength over drive, and along a pencil of planes both are
polynomials of degree three or less. For a trial ratio F the lowest point of
numerator - F denominator has a closed form; stepping F to the ratio found there ends at the
lowest ratio of the whole interval, not merely at a local one, and the last step proves it.

Source: Dinkelbach (1967), On nonlinear fractional programming, Management Science 13(7).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Polynomial", "lowest_ratio", "plus", "polynomial_value", "times"]

Polynomial = Sequence[Any] | NDArray[np.float64]
"""Coefficients from the constant upward, each a scalar or an array."""

_STEPS = 100


def times(*factors: Polynomial) -> Polynomial:
    """Product of polynomials."""
    product: list[Any] = [1.0]
    for factor in factors:
        terms: list[Any] = [0.0] * (len(product) + len(factor) - 1)
        for i, a in enumerate(product):
            for j, b in enumerate(factor):
                terms[i + j] = terms[i + j] + a * b
        product = terms
    return product


def plus(*terms: Polynomial) -> Polynomial:
    """Sum of polynomials."""
    total: list[Any] = [0.0] * max(len(term) for term in terms)
    for term in terms:
        for power, coefficient in enumerate(term):
            total[power] = total[power] + coefficient
    return total


def polynomial_value(polynomial: Polynomial, v: Any) -> Any:
    """Value at v."""
    value = polynomial[-1]
    for coefficient in polynomial[-2::-1]:
        value = value * v + coefficient
    return value


def lowest_ratio(
    numerator: Polynomial,
    denominator: Polynomial,
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Lowest value of numerator over denominator where the denominator is above zero, its place,
    and whether the search ended; over intervals of v of shape (n,).

    Both are polynomials in v of degree three or less. The ratio is ``inf`` where the denominator
    is nowhere above zero, and 0 where the numerator falls below zero anywhere.
    """
    top, bottom = _cubics(numerator, low.size), _cubics(denominator, low.size)
    most_driven = _lowest_place(-bottom, low, high)
    ratio = np.full(low.size, np.inf)
    place = most_driven
    for start in (most_driven, low, high, *_stationary_places(top, bottom)):
        ratio, place = _better(top, bottom, np.clip(start, low, high), ratio, place)

    open_ones = np.flatnonzero(np.isfinite(ratio))
    for _ in range(_STEPS):
        if open_ones.size == 0:
            break
        part_top, part_bottom = top[:, open_ones], bottom[:, open_ones]
        before = ratio[open_ones]
        trial = _lowest_place(part_top - before * part_bottom, low[open_ones], high[open_ones])
        after, where = _better(part_top, part_bottom, trial, before, place[open_ones])
        ratio[open_ones], place[open_ones] = after, where
        open_ones = open_ones[after < before * (1.0 - 4.0 * np.finfo(float).eps)]
    converged = np.ones(low.size, dtype=bool)
    converged[open_ones] = False

    weakest = _lowest_place(top, low, high)
    none_left = polynomial_value(top, weakest) < 0.0
    return (
        np.where(none_left, 0.0, ratio),
        np.where(none_left, weakest, place),
        converged | none_left,
    )


def _cubics(polynomial: Polynomial, size: int) -> NDArray[np.float64]:
    cubics = np.zeros((4, size))
    for power, coefficient in enumerate(polynomial):
        cubics[power] = coefficient
    return cubics


def _better(
    top: NDArray[np.float64],
    bottom: NDArray[np.float64],
    trial: NDArray[np.float64],
    ratio: NDArray[np.float64],
    place: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The lower of the ratio so far and that at a trial place."""
    drive = polynomial_value(bottom, trial)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        at_trial = np.where(drive > 0.0, polynomial_value(top, trial) / drive, np.inf)
    lower = at_trial < ratio
    return np.where(lower, at_trial, ratio), np.where(lower, trial, place)


def _lowest_place(
    cubic: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Where a cubic is lowest in an interval: at its one hollow or at an end."""
    _, first, second, third = cubic
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        root = np.sqrt(np.maximum(second**2 - 3.0 * third * first, 0.0))
        hollow = np.where(second > 0.0, -first / (second + root), (root - second) / (3.0 * third))
    hollow = np.clip(np.where(np.isfinite(hollow), hollow, low), low, high)
    lowest, place = polynomial_value(cubic, low), low
    for trial in (high, hollow):
        value = polynomial_value(cubic, trial)
        lower = value < lowest
        lowest, place = np.where(lower, value, lowest), np.where(lower, trial, place)
    return place


def _stationary_places(
    top: NDArray[np.float64], bottom: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where the ratio is level if the cubic terms are left out; a start where they are not."""
    a = top[2] * bottom[1] - top[1] * bottom[2]
    half_b = top[2] * bottom[0] - top[0] * bottom[2]
    c = top[1] * bottom[0] - top[0] * bottom[1]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        q = -(half_b + np.copysign(np.sqrt(np.maximum(half_b**2 - a * c, 0.0)), half_b))
        first, second = q / a, c / q
    return np.nan_to_num(first), np.nan_to_num(second)
