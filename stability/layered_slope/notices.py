"""What must be said beside the factor of a layered slope."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.ground.points import GROUND_LINE_SHORT
from slipmargin.stability.ground.shaking import PSEUDO_STATIC
from slipmargin.stability.ground.standing_water import STILL_POOL
from slipmargin.stability.ground.tension_crack import searched_crack_limited
from slipmargin.stability.ground.water_line import (
    HYDROSTATIC,
    NO_WATER,
    WATER_LINE_SHORT,
    high_pore_pressure_ratio,
)
from slipmargin.stability.layered_slope.inputs import LayeredSlopeInputs
from slipmargin.stability.layered_slope.section import Float, Section
from slipmargin.stability.layered_slope.values import Described
from slipmargin.stability.soil import Soil
from slipmargin.strength import Notice

__all__ = ["FROM_OTHERS", "layered_notices"]

_STEEP_SHARE = 0.3  # of n; common practice, no source
_PULL = 0.02  # of the weight; less is no matter
_AT_END = 1e-3  # of the height
_MINOR = 1e-3  # of a factor
_REACH = 3.5  # heights
_THRUST_SHARE = 0.15

_METHOD = Notice.info(
    "circles-searched",
    "Spencer's method on circular slip surfaces, cut off at firm ground. A surface of another "
    "shape, above all one along a thin weak seam, may have a lower factor: let firm ground begin "
    "at the foot of such a seam, so that surfaces run along it.",
    "Spencer (1967), Géotechnique 17(1)",
)
_GIVEN = Notice.caution(
    "other-mechanisms-not-searched",
    "Only the given circle was checked. Another may have a lower factor: leave circle out to "
    "search for it.",
)
_UNSETTLED = Notice.stop(
    "search-not-converged",
    "The search for the worst surface did not come to rest; do not use this factor.",
)
FROM_OTHERS = Notice.caution(
    "circles-of-other-samples",
    "There are too many samples to search each: its factor is the lowest on circles found for a "
    "few of them, and may be about 1 % too high where it is near 1, and much too high where it is "
    "far below 1. Check by itself any sample on which a decision hangs.",
)
_DEEP = Notice.caution(
    "deep-mechanism",
    f"The worst surface reaches more than {_REACH:g} times the height beyond the slope, where the "
    "search ends or soon will: the deeper, the lower the factor. Give the firm_ground_depth below, "
    "or a deeper layer that is stronger.",
)
_NO_SOLUTION = Notice.stop(
    "no-spencer-solution",
    "On the governing surface forces and moments cannot both be in equilibrium with forces of one "
    "inclination between slices, mostly since the ground near the crest would have to pull. The "
    "factor given is Bishop's simplified one, not Spencer's. Give a tension_crack_depth, or "
    "search_tension_crack = true.",
)
_STEEP_EXIT = Notice.caution(
    "steep-exit",
    "The surface comes out of the ground so steeply that the slices there carry much more than "
    "their weight. A surface of another shape with a flatter exit may have a lower factor.",
    "Whitman & Bailey (1967), J. Soil Mech. Found. Div. 93(4) (from memory)",
)
_UNCRACKED = Notice.caution(
    "no-tension-crack",
    "No tension crack stands behind the crest, so cohesion is counted up to the ground. A crack, "
    "above all one full of water, lowers the factor: tension_crack_depth, or "
    "search_tension_crack = true.",
)
_DRY_CRACK = Notice.info(
    "tension-crack-dry",
    "The tension crack is dry. Rain fills cracks: run a case with tension_crack_water_depth = "
    '"full" as well.',
)
_SHALLOW_CRACK = Notice.caution(
    "crack-shallower-than-water",
    "The crack is shallower than the water depth asked for; it was taken as brim-full.",
)
_LINE_AT_GROUND = Notice.caution(
    "water-line-at-ground",
    "The raised water line would stand above the ground in places; there it is taken at the "
    "ground, as water that runs off.",
)
_LEVEL_OF_POOL = Notice.caution(
    "water-level-of-pool",
    "No water line is given: the water in the slope is taken to stand as high as the pool. Water "
    "mostly stands higher behind the face, and stays when a pool is drawn down.",
)
_SUPPORT = Notice.info(
    "support-counted",
    "The support force is counted on in full as a load on every surface that passes below its "
    "head. Its capacity, its anchorage behind the surface and its corrosion are not checked.",
)


def layered_notices(
    check: LayeredSlopeInputs,
    section: Section,
    one: Described,
    shallow: Float,
    *,
    settled: bool,
    samples: int,
) -> Iterator[Notice]:
    """The notices owed beside target, strength caveats and rare values.

    ``section`` and ``one`` are those of the samples that are told of, ``shallow`` their lowest
    factors of surfaces too shallow to count; ``settled``: the search came to rest;
    ``samples``: how many there are in all.
    """
    yield from check.of_samples(samples)
    yield from _search(check, section, one, shallow, settled=settled)
    yield from _equilibrium(one)
    yield from _crack(check, section, one)
    yield from _water(check, section, one)
    yield from _loads(check)
    yield from _soils(check, one)


def _search(
    check: LayeredSlopeInputs, section: Section, one: Described, shallow: Float, *, settled: bool
) -> Iterator[Notice]:
    yield _METHOD if check.circle is None else _GIVEN
    if not settled:
        yield _UNSETTLED
    ax, _, bx, _ = one.circles.ends
    ground, slack = section.ground, _AT_END * section.size
    if np.any((ax < ground.x[0] - slack) | (bx > ground.x[-1] + slack)):
        yield GROUND_LINE_SHORT
    if check.circle is not None:
        return
    rising = np.flatnonzero(np.diff(ground.y) > 0.0)
    low = ground.x[rising[0]] - _REACH * section.size
    high = ground.x[rising[-1] + 1] + _REACH * section.size
    if np.any((ax < low) | (bx > high)):
        yield _DEEP
    thin = shallow[:, None]
    lower = thin < one.factor * (1.0 - _MINOR)
    if np.any(lower):
        least = float(np.max(section.amounts.least_depth))
        yield Notice.caution(
            "shallow-slip",
            f"Surfaces that reach less than {least:.3g} m deep (least_slip_depth) have a lower "
            f"factor, down to {factor_text(float(np.min(thin[lower])))} of those tried: a skin "
            "of the face, or slivers at the edge of a load, which ravel before anything deeper "
            "moves.",
        )


def _equilibrium(one: Described) -> Iterator[Notice]:
    known = np.isfinite(one.factor)
    if np.any(known & np.isnan(one.tangent)):
        yield _NO_SOLUTION
        return
    weight = np.sum(one.slices.soil_weight, axis=-1)
    pull = np.maximum(-np.min(one.between, axis=-1), 0.0)
    if np.any(known & (pull > _PULL * weight)):
        worst = np.unravel_index(int(np.argmax(np.where(known, pull / weight, 0.0))), pull.shape)
        parts = one.between[worst] < -1e-3 * weight[worst]
        reach = float(np.ptp(one.slices.edge[worst][parts]))
        yield Notice.caution(
            "tension-between-slices",
            f"The equilibrium asks for a pull of up to {float(pull[worst]):.3g} kN/m between "
            f"slices, over {reach:.2g} m, which soil does not give; mostly near the crest. A "
            "tension crack takes it away.",
        )
    outside = _outside_middle(one)
    if np.any(known & (outside > _THRUST_SHARE)):
        yield Notice.info(
            "thrust-line-outside",
            f"The line of thrust leaves the moving mass over {float(np.max(outside)):.0%} of "
            "its length. The factor is little moved by it; a tension crack or a flatter exit "
            "mostly brings it back.",
        )
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.min(one.share, axis=-1)
    if np.any(known & (share < _STEEP_SHARE)):
        yield _STEEP_EXIT


def _outside_middle(one: Described) -> Float:
    """Share of the length over which the line of thrust lies outside of the mass.

    Moments about the middle of each base, from the toe up, give its height at each side.
    """
    s, lam = one.slices, np.where(np.isfinite(one.tangent), one.tangent, 0.0)
    width = np.diff(s.edge)
    base = (s.foot[..., 1:] + s.foot[..., :-1]) / 2.0
    force = one.between
    moment = np.zeros(force.shape)  # of the force at a side about the level zero
    for index in range(width.shape[-1]):
        left, right = force[..., index], force[..., index + 1]
        lever = lam * (left + right) * width[..., index] / 2.0
        step = (left - right) * base[..., index] - lever + s.moment[..., index]
        moment[..., index + 1] = moment[..., index] - step
    with np.errstate(invalid="ignore", divide="ignore"):
        height = moment / np.where(np.abs(force) > 0.0, force, np.nan)
    inner = height[..., 1:-1]
    bad = (inner < s.foot[..., 1:-1]) | (inner > s.ground[..., 1:-1])
    counts = np.abs(force[..., 1:-1]) > 0.02 * np.max(np.abs(force), axis=-1, keepdims=True)
    share = np.where(bad & counts, (width[..., 1:] + width[..., :-1]) / 2.0, 0.0)
    result: Float = np.sum(share, axis=-1) / np.sum(width, axis=-1)
    return result


def _crack(check: LayeredSlopeInputs, section: Section, one: Described) -> Iterator[Notice]:
    if check.tension_crack_depth is None and not check.search_tension_crack:
        if any(np.any(s.strength.cohesion > 0.0) for s in fields.soils(check)):
            yield _UNCRACKED
        return
    filled, crack = section.amounts.crack_water, one.circles.crack
    asked = np.any(np.isfinite(filled))
    if asked and not np.any(one.slices.crack_water > 0.0):
        yield _DRY_CRACK
    limit = section.amounts.crack_depth[:, None]
    if check.search_tension_crack:
        if np.any((crack > 0.999 * limit) & (limit > 0.0)):
            yield searched_crack_limited(limit, strength="strength", give="tension_crack_depth")
    elif asked and np.any(np.asarray(check.tension_crack_water_depth) > np.min(limit)):
        yield _SHALLOW_CRACK


def _water(check: LayeredSlopeInputs, section: Section, one: Described) -> Iterator[Notice]:
    ratio = np.asarray(check.pore_pressure_ratio)
    pooled = bool(np.any(check.standing_water_level > 0.0))
    if section.water is not None or pooled:
        yield HYDROSTATIC
        for soil in _once(check):
            yield from soil.saturation_notices(True)
    elif not np.any(ratio > 0.0):
        yield NO_WATER
    if section.water is not None:
        ax, _, bx, _ = one.circles.ends
        x = section.water.x
        if np.any((ax < x[0] - 1e-6) | (bx > x[-1] + 1e-6)):
            yield WATER_LINE_SHORT
        rise = np.max(section.amounts.water_rise)
        raised = section.water.level(section.ground.x) + rise
        if rise > 0.0 and np.any(raised > section.ground.y + 1e-6 * section.size):
            yield _LINE_AT_GROUND
    elif pooled:
        yield _LEVEL_OF_POOL
    yield from high_pore_pressure_ratio(ratio)
    length = one.slices.length
    lifted = (one.normal < 0.0) & (length > 1e-6 * section.size) & (one.slices.uplift > 0.0)
    share = np.sum(np.where(lifted, length, 0.0), axis=-1) / np.sum(length, axis=-1)
    if np.any(share > 0.1):
        yield Notice.caution(
            "no-effective-stress",
            f"Over {float(np.max(share)):.0%} of the slip surface water carries more than the "
            "whole normal stress, so that friction works against the slope there.",
        )


def _once(check: LayeredSlopeInputs) -> list[Soil]:
    """Each soil once, by its name."""
    found: dict[str, Soil] = {}
    for soil in fields.soils(check):
        found.setdefault(soil.name, soil)
    return list(found.values())


def _loads(check: LayeredSlopeInputs) -> Iterator[Notice]:
    shaken = np.asarray(check.horizontal_seismic_coefficient) > 0.0
    if np.any(shaken):
        yield PSEUDO_STATIC
    if np.any((shaken | check.has_motion) & (np.asarray(check.standing_water_level) > 0.0)):
        yield STILL_POOL
    if np.any(check.support_force > 0.0):
        yield _SUPPORT


def _soils(check: LayeredSlopeInputs, one: Described) -> Iterator[Notice]:
    length = one.slices.length
    with np.errstate(invalid="ignore", divide="ignore"):
        stress = one.normal / np.where(length > 0.0, length, np.nan)
    names = [layer.soil.name for layer in check.layers]
    for soil in _once(check):
        here = np.isin(one.slices.layer, [i for i, name in enumerate(names) if name == soil.name])
        yield from soil.stress_range_notices(stress[np.broadcast_to(here, stress.shape)])
        yield from soil.undrained_notices()
