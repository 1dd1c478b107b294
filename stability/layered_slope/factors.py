"""Spencer's factor of slices whose strength may be a curve.

A concave curve lies below each of its tangents, so the tangent at a base's own stress is the
one that counts. Bases start from the stress of their own weight; each round solves on the
tangents there and takes the stresses that come out.
"""

from __future__ import annotations

import numpy as np

from slipmargin.stability.layered_slope.section import Float, Section, picked
from slipmargin.stability.layered_slope.slices import Slices
from slipmargin.stability.layered_slope.spencer import (
    LEAST_SHARE,
    Solution,
    Strengths,
    bishop,
    normal_force,
    spencer,
    strengths,
)

__all__ = ["lowest_factors", "spencer_factors", "strengths_on"]

_ROUNDS = 6
LEAST_STRESS = 2.0
"""Stress below which no tangent is taken, since at nothing it stands upright; the base has the
strength at its stress there [kPa]."""


def _curve_tangents(section: Section, slices: Slices, stress: Float) -> Strengths:
    """Straight envelopes, and tangents of the curved ones at an effective stress [kPa]."""
    straight = strengths(section, slices)
    cohesion, tan = straight.cohesion, straight.tan_friction_angle
    amounts = section.amounts
    for index, curved in enumerate(section.curved):
        if not curved:
            continue
        here = slices.layer == index
        bend = amounts.exponent[index][:, None, None]
        ratio = np.maximum(stress, 0.0) / section.reference[index]
        shear = amounts.coefficient[index][:, None, None] * section.reference[index] * ratio**bend
        upright = stress < LEAST_STRESS
        slope = np.where(upright, 0.0, bend * shear / np.where(upright, 1.0, stress))
        cohesion = np.where(here, (shear - slope * stress) * slices.length, cohesion)
        tan = np.where(here, slope, tan)
    return Strengths(cohesion, tan)


def strengths_on(section: Section, slices: Slices, factor: Float, tangent: Float) -> Strengths:
    """Strengths on the bases in a known solution."""
    held = strengths(section, slices)
    if not any(section.curved):
        return held
    stress = _overburden(slices)
    for _ in range(4 * _ROUNDS):
        held = _curve_tangents(section, slices, stress)
        stress = _stress(slices, held, factor, tangent)
    return held


def spencer_factors(section: Section, slices: Slices, guess: Float, tangent: Float) -> Solution:
    """Spencer's factors of circles from a first guess of F and λ."""
    if not any(section.curved):
        return spencer(slices, strengths(section, slices), guess, tangent)
    held = _curve_tangents(section, slices, _overburden(slices))
    found = spencer(slices, held, guess, tangent)
    for _ in range(_ROUNDS - 1):
        known = np.isfinite(found.factor)
        guess = np.where(known, found.factor, guess)
        tangent = np.where(known, found.tangent, tangent)
        held = _curve_tangents(section, slices, _stress(slices, held, guess, tangent))
        found = spencer(slices, held, guess, tangent)
    return found


def lowest_factors(
    section: Section, slices: Slices, guess: Float, tangent: Float
) -> tuple[Float, Float]:
    """Factors for a search, and their λ.

    A surface on which Spencer's equations have no solution is not passed over, since it may
    be the worst one: it goes by Bishop's factor, and its λ is nan. One that comes out of the
    ground more steeply than passive failure does, at 45° - φ′/2, is passed over: a flatter exit
    has a lower factor. nan where there is neither.
    """
    found = spencer_factors(section, slices, guess, tangent)
    factor, lam = found.factor, np.where(np.isfinite(found.factor), found.tangent, np.nan)
    without = np.isnan(factor) & slices.valid
    if np.any(without):
        held = strengths(section, slices)
        if any(section.curved):
            held = _curve_tangents(section, slices, _overburden(slices))
        some, part = picked(slices, without), picked(held, without)
        other, share = bishop(some, part)
        # slices of no width, if any, stand first and lie in the same layer
        passive = np.pi / 4.0 - np.arctan(part.tan_friction_angle[..., 0]) / 2.0
        flat = np.min(some.sin, axis=-1) >= -np.sin(passive)
        good = flat & (share > LEAST_SHARE) & np.isfinite(other)
        factor[without] = np.where(good, other, np.nan)[0]
    return factor, lam


def _stress(slices: Slices, held: Strengths, factor: Float, tangent: Float) -> Float:
    with np.errstate(divide="ignore", invalid="ignore"):
        return _over_base(normal_force(slices, held, factor, tangent), slices)


def _overburden(slices: Slices) -> Float:
    return _over_base(slices.vertical * slices.cos - slices.uplift, slices)


def _over_base(force: Float, slices: Slices) -> Float:
    return force / np.where(slices.length > 0.0, slices.length, np.inf)
