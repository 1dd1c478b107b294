"""What must be said beside a rotational factor of safety."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from slipmargin.stability.ground.ground_line import Float
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
from slipmargin.stability.rotational.case import Case, Found
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.spiral import LEAST_SHARE, LoadedSlope
from slipmargin.stability.rotational.values import RotationalValues
from slipmargin.strength import Notice

__all__ = ["rotational_notices"]

_DEEP, _USED, _AT_CREST = 0.5, 0.999, 1e-3
_RESIDUAL = 1e-7

_BOUND = Notice.info(
    "upper-bound",
    "One soil, one rigid mass on a log-spiral: the factor is a kinematic upper bound, a little "
    "above the exact one (1.4 % for a vertical cut with φ′ = 0). A weaker layer, a joint or a "
    "soft base is not in it.",
    "Chen (1975), Limit Analysis and Soil Plasticity, ch. 9",
)
_UNSETTLED = Notice.stop(
    "search-not-converged",
    "The search for the worst surface did not settle on every slope; do not use these factors.",
)
_CRACK_WATER = Notice.caution(
    "crack-water-alone",
    "Water stands in the tension crack, but no pore pressure acts on the slip surface below it in "
    "this check. Water that seeps from the foot of the crack lowers the factor further: give a "
    "pore pressure ratio or a water line as well.",
)
_CRACK_AT_CREST = Notice.caution(
    "crack-at-crest",
    "The worst tension crack stands at the crest, where water in it pushes on the least soil. For "
    "a crack that is known to stand farther back give tension_crack_distance.",
)
_LIFTED = Notice.stop(
    "no-effective-stress",
    "Water carries more than the whole normal stress on the slip surface, so that friction works "
    "against the slope instead of for it.",
)
_POOL = Notice.info(
    "pool-holds-the-slope",
    "The pool's pressure on the face and the water at its level in the ground are counted, the "
    "ground below it as saturated. Waves and flow from the slope into the pool are not. A lower "
    "pool may be worse than a full one: sweep standing_water_level.",
)
_SUPPORT = Notice.info(
    "support-counted",
    "The support force is counted on in full as a load on the face, on every surface that comes "
    "out below it. Its capacity, its anchorage behind the surface and its corrosion are not "
    "checked.",
)
_UNCRACKED = Notice.caution(
    "no-tension-crack",
    "No tension crack stands behind the crest in this check, so cohesion is counted up to the "
    "ground. A crack, above all one full of water, lowers the factor.",
    "Terzaghi (1943): a vertical cut cracked to half its height stands 2.67 instead of 3.85 "
    "c/γ tan(45° + φ/2)",
)
_NO_COHESION = Notice.caution(
    "no-cohesion",
    "Without cohesion the worst surface lies in the skin of the steepest face, unless a load "
    "stands on its edge: the factor is that of an infinite slope, of no depth, and the face "
    "ravels before anything deeper moves. A face steeper than φ′ does not stand.",
)
_ENDLESS = Notice.stop(
    "endless-ground-governs",
    "The ground in front of the slope or behind its crest is taken to go on without end, and at "
    "great depth it slides as a whole before the slope does, whatever the cohesion. The factor "
    "is that of an infinite slope. Give a ground_line that ends, or a firm_ground_depth.",
)
_UNBOUNDED = Notice.caution(
    "deep-mechanism",
    "No surface is the worst: the deeper it passes below the toe, the lower the factor, down to "
    "the limit given here, and none can be drawn. Firm ground at any depth raises the factor: "
    "give its firm_ground_depth. Softer ground would lower it.",
    "Taylor (1937): circles of φ = 0 on faces flatter than about 53°",
)


def rotational_notices(
    check: RotationalInputs, case: Case, found: Found, values: RotationalValues
) -> Iterator[Notice]:
    """The notices owed beside target and strength caveats, of slopes with what was found."""
    slope = case.slope
    yield _BOUND
    if np.any(found.residual > _RESIDUAL):
        yield _UNSETTLED
    if np.any(found.deep):
        yield _ENDLESS
    yield from _strength(check, values)
    yield from _crack(check, slope, values)
    yield from _water(check, slope, values)
    if np.any(found.lifted):
        yield _LIFTED
    yield from _ground(check, slope, values)
    if np.any(found.unbounded):
        yield _UNBOUNDED
    else:
        yield from _depth(slope, values)
    edge = case.edge_factor(found.factor)
    if edge is not None:
        level = slope.ground.vertices.imag
        least = float(np.max(level[:, slope.crest] - level[:, slope.load_foot]))
        yield Notice.caution(
            "edge-of-crest",
            "The edge of the crest is weaker than the slope: where the load stands on it, small "
            f"pieces break off with a factor of {edge:.2f}, the smallest first. The factor of "
            f"the slope counts the load on masses that come out at least {least:.3g} m below the "
            f"edge, {LEAST_SHARE:.0%} of its height. Keep the load back from the edge, or hold "
            "the edge.",
        )


def _strength(check: RotationalInputs, values: RotationalValues) -> Iterator[Notice]:
    strength = check.soil.strength
    cohesion = np.asarray(strength.cohesion)
    stated = 0.0 if check.tension_crack_depth is None else check.tension_crack_depth
    cracked = check.search_tension_crack or np.any(np.asarray(stated) > 0.0)
    bare = bool(np.any(cohesion == 0.0))
    if np.any(cohesion > 0.0) and not cracked:
        yield _UNCRACKED
    if bare:
        yield _NO_COHESION
    yield from check.soil.undrained_notices()
    stresses = (
        values.effective_normal_stress,
        values.mean_effective_stress,
        values.highest_effective_stress,
        np.zeros(int(bare)),  # a skin carries nothing
    )
    yield from check.soil.stress_range_notices(
        np.concatenate([np.ravel(one) for one in stresses]),
        "(from its mean on the slip surface to the highest effective overburden)",
    )


def _crack(
    check: RotationalInputs, slope: LoadedSlope, values: RotationalValues
) -> Iterator[Notice]:
    if slope.crack_depth is None or slope.crack_water is None:
        return
    dry = slope.water is None and not np.any(slope.pore_pressure_ratio > 0.0)
    if np.any(slope.crack_water > 0.0) and dry:
        yield _CRACK_WATER
    if check.search_tension_crack:
        yield searched_crack_limited(
            slope.crack_depth, strength="unreduced strength", give="tension_crack_depth"
        )
    behind = np.ravel(values.entry_x) - slope.ground.vertices[:, slope.crest].real
    used = np.nan_to_num(np.ravel(values.tension_crack_depth))
    free = check.tension_crack_distance is None
    if free and np.any((used > 0.0) & (behind < _AT_CREST * slope.height)):
        yield _CRACK_AT_CREST
    if np.all(used < _USED * slope.crack_depth) and not check.search_tension_crack:
        yield Notice.info(
            "crack-used-in-part",
            f"The worst surface ends in the crack at {float(np.max(used)):.2f} m, above its foot.",
        )


def _water(
    check: RotationalInputs, slope: LoadedSlope, values: RotationalValues
) -> Iterator[Notice]:
    if slope.wet:
        yield from check.soil.saturation_notices(True)
    if slope.water is not None:
        yield HYDROSTATIC
        if _beyond(values, slope.water.x):
            yield WATER_LINE_SHORT
    elif not slope.wet and not np.any(np.asarray(check.pore_pressure_ratio) > 0.0):
        yield NO_WATER
    if slope.pool_level is not None:
        yield _POOL
        if np.any(slope.seismic_coefficient > 0.0):
            yield STILL_POOL
    yield from high_pore_pressure_ratio(check.pore_pressure_ratio)


def _ground(
    check: RotationalInputs, slope: LoadedSlope, values: RotationalValues
) -> Iterator[Notice]:
    if slope.support_force is not None:
        yield _SUPPORT
    if np.any(np.asarray(check.horizontal_seismic_coefficient) > 0.0):
        yield PSEUDO_STATIC
    if check.ground_line is not None and _beyond(values, slope.ground.vertices.real[0]):
        yield GROUND_LINE_SHORT
    above = np.ravel(values.exit_y) - np.min(slope.ground.vertices.imag)
    if np.any(above > 1e-6 * slope.height):
        yield Notice.info(
            "exits-above-toe",
            f"The worst surface comes out on the face, up to {float(np.nanmax(above)):.3g} m above "
            "the lowest ground.",
        )


def _depth(slope: LoadedSlope, values: RotationalValues) -> Iterator[Notice]:
    depth = np.nan_to_num(np.ravel(values.depth_below_toe))
    share = np.max(depth / slope.height)
    if share < 1e-9:
        return
    text = (
        f"The worst surface passes {float(np.max(depth)):.3g} m below the toe. Firm ground above "
        "that depth would raise the factor (firm_ground_depth); softer ground would lower it."
    )
    if share > _DEEP:
        yield Notice.caution("deep-mechanism", text)
    else:
        yield Notice.info("passes-below-toe", text)


def _beyond(values: RotationalValues, ends: Float) -> bool:
    """Whether the surface leaves a line at either of its ends."""
    slack = 1e-9 * float(np.ptp(ends)) + 1e-9
    left = np.asarray(values.exit_x) < ends.min() - slack
    return bool(np.any(left | (np.asarray(values.entry_x) > ends.max() + slack)))
