"""A curved envelope in a search that takes straight lines: the tangent at the surface's own stress.

A concave curve lies below each of its tangents, so the factor of any tangent is an upper
bound. By virtual work the factor changes with the stress σ at which the tangent touches as

    dF/dσ ∝ 1 - σ′_n / σ

with σ′_n the mean effective normal stress of the critical surface of that tangent. So the
critical surface of the tangent at the last surface's own stress never has a higher factor
than that surface, and the factor falls to the least over all tangents, where the tangent
touches at the surface's own mean stress.

What it leaves out: the stress differs along a surface, and the mean of a concave curve is
less than the curve at the mean. Where the stress runs evenly from nothing to twice its mean,
as on a plane below level ground, the curve's own mean is 2ⁿ / (1 + n) of what is counted.

Source: the tangent as an upper bound is the generalised tangential technique of Yang & Yin
(2004), J. Eng. Mech. 130(3) (from memory).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import CheckResult
from slipmargin.strength import InputError, Notice, Numeric, Pair, PowerCurve

__all__ = ["LEAST_STRESS", "along_tangents", "factor_along", "least_tangent"]

Floats = NDArray[np.float64]

_MOST_TANGENTS = 80
_CLOSE = 3e-5  # of a stress; the factor is off by the square of it
LEAST_STRESS = 1e-3
"""Stress below which no tangent is taken, since at nothing it stands upright [kPa]."""


def along_tangents(
    check: Any, curve: PowerCurve, along_line: Callable[[Any], CheckResult]
) -> CheckResult:
    """The result of a check of one soil, whose values hold ``effective_normal_stress``, on the
    tangent to its envelope at the stress of its own critical surface; ``along_line`` runs the check
    with a straight one. ``InputError``: a curve that bends upward, or as ``along_line``.
    """
    found: list[CheckResult] = []

    def of_line(line: Any) -> tuple[Numeric, Numeric]:
        found[:] = [along_line(line)]
        return found[0].factors_of_safety["sliding"], found[0].values.effective_normal_stress

    factor_along(check, curve, of_line)
    return dataclasses.replace(found[0], notices=(*found[0].notices, _said(curve)))


def factor_along(
    check: Any, curve: PowerCurve, of_line: Callable[[Any], tuple[Numeric, Numeric]]
) -> Numeric:
    """The factor of such a check, from the factor and the mean effective normal stress [kPa] of
    the critical surface that ``of_line`` gives of the check with a straight envelope;
    ``InputError`` as ``along_tangents``.
    """
    if np.any(np.asarray(curve.exponent) > 1.0):
        raise InputError(
            "envelope",
            f"power, exponent {float(np.max(curve.exponent)):.3f}",
            "above 1 it bends upward, which no soil does, and its tangents have no cohesion that "
            'a check could take; use envelope = "line"',
        )
    strength = check.soil.strength

    def of_pair(pair: Pair) -> tuple[Numeric, Numeric]:
        straight = dataclasses.replace(check.soil, strength=strength.with_pair(pair))
        return of_line(dataclasses.replace(check, soil=straight))

    return least_tangent(curve, of_pair)


def least_tangent(curve: PowerCurve, of_line: Callable[[Pair], tuple[Numeric, Numeric]]) -> Numeric:
    """Factor of the tangent at the mean stress of its own critical surface; ``of_line`` gives the
    factor of a pair, and the mean effective normal stress [kPa] of its critical surface, nan where
    it has none. Coefficient and exponent of the curve are scalars or arrays.
    """
    pair = curve.chord
    # logarithms of the stress a tangent touches at, and of that its surface has
    at = at_before = found_before = np.full(1, np.nan)
    last: Numeric = np.inf
    for _ in range(_MOST_TANGENTS):
        factor, own = of_line(pair)
        # a skin has no stress of its own, and keeps the tangent that it has
        known = np.where(np.isfinite(own), np.maximum(own, LEAST_STRESS), np.exp(at))
        found = np.log(known)
        with np.errstate(invalid="ignore"):  # nothing drives: no limit less no limit
            still = (np.abs(factor - last) <= 1e-10 * np.abs(factor)) | (factor == last)
            settled = still | (np.abs(found - at) <= _CLOSE)
        if np.all(settled | ~np.isfinite(found)):
            break
        last = factor
        further = _further(at_before, found_before, at, found)
        at_before, found_before, at = at, found, further
        touched = np.where(np.isfinite(at), np.exp(at), LEAST_STRESS)
        pair = curve.tangent_at(touched.reshape(np.shape(own))[()])
    return factor


def _further(at_before: Floats, found_before: Floats, at: Floats, found: Floats) -> Floats:
    """Where the line through two steps says that both stresses are one; the last of them where
    they do not close in.
    """
    first, second = at - at_before, found - found_before
    even = np.isfinite(first) & (np.abs(second) < 0.9 * np.abs(first))
    share = np.where(even, second, 0.0) / np.where(even, first, 1.0)
    further: Floats = np.where(even, at + (found - at) / (1.0 - share), found)
    return further


def _said(curve: PowerCurve) -> Notice:
    bend = float(np.min(curve.exponent))
    most = (1.0 + bend) / 2.0**bend - 1.0
    return Notice.caution(
        "curved-envelope-at-mean-stress",
        "The strength is a curve; it is counted at the mean effective normal stress of the "
        "critical surface. Where the stress differs along the surface the curve gives less: up "
        f"to about {most:.1%} less with this exponent.",
    )
