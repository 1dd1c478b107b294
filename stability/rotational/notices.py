"""What must be said beside a rotational factor of safety."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.spiral import LEAST_SHARE, LoadedSlope
from slipmargin.stability.rotational.values import RotationalValues
from slipmargin.strength import Notice

Flags = NDArray[np.bool_]

__all__ = ["HIGH_PORE_PRESSURE_RATIO", "rotational_notices"]

HIGH_PORE_PRESSURE_RATIO = 0.6
"""Above this a pore pressure ratio is more than water up to the ground gives: γ_w/γ is about
0.5 (common practice, no source)."""

_DEEP, _USED, _AT_CREST = 0.5, 0.999, 1e-3
_RESIDUAL = 1e-7

_BOUND = Notice.info(
    "upper-bound",
    "One soil, one rigid mass on a log-spiral: the factor is a kinematic upper bound, a little "
    "above the exact one (1.4 % for a vertical cut with φ′ = 0). A weaker layer, a joint or a "
    "soft base is not in it.",
    "Chen (1975), Limit Analysis and Soil Plasticity, ch. 9",
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
_POOL = Notice.info(
    "pool-holds-the-slope",
    "The pool's pressure on the face and the water at its level in the ground are counted, the "
    "ground below it as saturated. Waves, flow from the slope into the pool and, in shaking, the "
    "moving water are not. A lower pool may be worse than a full one: sweep "
    "standing_water_level.",
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
_NO_FRICTION = Notice.info(
    "no-friction",
    "With φ′ = 0 the spiral is a circle and cohesion is the undrained strength: a statement "
    "about the time right after cutting or loading, in which pore pressure does not count.",
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
    check: RotationalInputs,
    slope: LoadedSlope,
    values: RotationalValues,
    *,
    residual: Float,
    endless: Flags,
    unbounded: Flags,
    lifted: Flags,
    edge: float | None,
) -> tuple[Notice, ...]:
    """The notices owed beside target and strength caveats.

    ``residual`` is what each root left of its equation; ``endless`` says where ground without
    end governs, ``unbounded`` where no surface is the worst; ``lifted`` where more
    friction lowers the factor; ``edge`` is the factor of the edge of the crest where that is
    lower.
    """
    return (
        *_trust(residual, endless),
        *_strength(check, values),
        *_crack(check, slope, values),
        *_water(check, slope, values, lifted),
        *_ground(check, slope, values),
        *_depth(slope, values, unbounded),
        *_edge(slope, edge),
    )


def _trust(residual: Float, endless: Flags) -> list[Notice]:
    notices = [_BOUND]
    if np.any(residual > _RESIDUAL):
        notices.append(
            Notice.stop(
                "search-not-converged",
                "The search for the worst surface did not settle on every slope; do not use "
                "these factors.",
            )
        )
    if np.any(endless):
        notices.append(_ENDLESS)
    return notices


def _strength(check: RotationalInputs, values: RotationalValues) -> list[Notice]:
    strength = check.soil.strength
    notices = []
    if np.any(np.asarray(strength.cohesion) > 0.0) and not _cracked(check):
        notices.append(_UNCRACKED)
    if np.any(np.asarray(strength.cohesion) == 0.0):
        notices.append(_NO_COHESION)
    if np.any(np.asarray(strength.friction_angle) == 0.0):
        notices.append(_NO_FRICTION)
    stresses = np.concatenate(
        [
            np.ravel(one)
            for one in (
                values.effective_normal_stress,
                values.mean_effective_stress,
                values.highest_effective_stress,
            )
        ]
    )
    if np.any(np.asarray(strength.cohesion) == 0.0):
        stresses = np.append(stresses, 0.0)  # a skin carries nothing
    notices += check.soil.stress_range_notices(
        stresses, "(from its mean on the slip surface to the highest effective overburden)"
    )
    return notices


def _cracked(check: RotationalInputs) -> bool:
    depth = 0.0 if check.tension_crack_depth is None else check.tension_crack_depth
    return check.search_tension_crack or bool(np.any(np.asarray(depth) > 0.0))


def _crack(check: RotationalInputs, slope: LoadedSlope, values: RotationalValues) -> list[Notice]:
    if slope.crack_depth is None or slope.crack_water is None:
        return []
    notices = []
    dry = slope.water is None and not np.any(slope.pore_pressure_ratio > 0.0)
    if np.any(slope.crack_water > 0.0) and dry:
        notices.append(_CRACK_WATER)
    if check.search_tension_crack:
        notices.append(
            Notice.info(
                "searched-crack-limited",
                f"The crack is searched down to {float(np.max(slope.crack_depth)):.2f} m, what the "
                "unreduced strength (and water in the crack) holds open, and half the height at "
                "most. A crack known to be deeper has to be given: tension_crack_depth.",
                "Terzaghi (1943), Theoretical Soil Mechanics (from memory)",
            )
        )
    behind = np.asarray(values.entry_x, dtype=float).reshape(-1)
    behind = behind - slope.ground.vertices[:, slope.crest].real
    used = np.nan_to_num(np.asarray(values.tension_crack_depth, dtype=float).reshape(-1))
    free = check.tension_crack_distance is None
    if free and np.any((used > 0.0) & (behind < _AT_CREST * slope.height)):
        notices.append(_CRACK_AT_CREST)
    if np.all(used < _USED * slope.crack_depth) and not check.search_tension_crack:
        notices.append(
            Notice.info(
                "crack-used-in-part",
                f"The worst surface ends in the crack at {float(np.max(used)):.2f} m, above its "
                "foot.",
            )
        )
    return notices


def _water(
    check: RotationalInputs, slope: LoadedSlope, values: RotationalValues, lifted: Flags
) -> list[Notice]:
    notices: list[Notice] = []
    ratio = np.asarray(check.pore_pressure_ratio)
    if check.water_line is not None:
        notices += check.soil.saturation_notices(True)
        notices.append(
            Notice.info(
                "pressure-below-water-line",
                "Pore pressure is taken as hydrostatic under the water line; suction above it "
                "and the easing of the pressure where flow is inclined are not counted on.",
            )
        )
        if slope.water is not None and _beyond(values, slope.water.x):
            notices.append(
                Notice.caution(
                    "water-line-short",
                    "The worst surface reaches beyond the ends of the water line, which was "
                    "taken to go on level there.",
                )
            )
    elif slope.pool_level is not None:
        notices += [*check.soil.saturation_notices(True), _POOL]
    elif not np.any(ratio > 0.0):
        notices.append(
            Notice.caution(
                "no-water-assumed",
                "No water is in this check. Most slides come with rain; run a wet case as well.",
            )
        )
    if np.any(ratio > HIGH_PORE_PRESSURE_RATIO):
        notices.append(
            Notice.caution(
                "high-pore-pressure-ratio",
                f"A pore pressure ratio of {float(np.max(ratio)):.2g} is more than still water up "
                "to the ground would give, about 0.5. Check where it comes from.",
            )
        )
    if np.any(lifted):
        notices.append(
            Notice.stop(
                "no-effective-stress",
                "Water carries more than the whole normal stress on the slip surface, so that "
                "friction works against the slope instead of for it.",
            )
        )
    return notices


def _ground(check: RotationalInputs, slope: LoadedSlope, values: RotationalValues) -> list[Notice]:
    notices = []
    if slope.support_force is not None:
        notices.append(_SUPPORT)
    if np.any(np.asarray(check.horizontal_seismic_coefficient) > 0.0):
        notices.append(
            Notice.info(
                "pseudo-static",
                "Shaking is a constant force here; loss of strength is not covered. A "
                "peak_acceleration gives a displacement.",
            )
        )
    if check.ground_line is not None and _beyond(values, slope.ground.vertices.real[0]):
        notices.append(
            Notice.caution(
                "ground-line-short",
                "The worst surface reaches beyond the ground line, which was taken to go on "
                "level at both ends. Add points there.",
            )
        )
    above = np.ravel(values.exit_y) - np.min(slope.ground.vertices.imag)
    if np.any(above > 1e-6 * slope.height):
        notices.append(
            Notice.info(
                "exits-above-toe",
                f"The worst surface comes out on the face, up to {float(np.nanmax(above)):.3g} m "
                "above the lowest ground.",
            )
        )
    return notices


def _depth(slope: LoadedSlope, values: RotationalValues, unbounded: Flags) -> list[Notice]:
    if np.any(unbounded):
        return [_UNBOUNDED]
    depth = np.nan_to_num(np.asarray(values.depth_below_toe, dtype=float).reshape(-1))
    share = np.max(depth / slope.height)
    if share < 1e-9:
        return []
    notice = Notice.caution if share > _DEEP else Notice.info
    return [
        notice(
            "deep-mechanism" if share > _DEEP else "passes-below-toe",
            f"The worst surface passes {float(np.max(depth)):.3g} m below the toe. Firm ground "
            "above that depth would raise the factor (firm_ground_depth); softer ground would "
            "lower it.",
        )
    ]


def _edge(slope: LoadedSlope, factor: float | None) -> list[Notice]:
    if factor is None:
        return []
    level = slope.ground.vertices.imag
    least = float(np.max(level[:, slope.crest] - level[:, slope.load_foot]))
    return [
        Notice.caution(
            "edge-of-crest",
            "The edge of the crest is weaker than the slope: where the load stands on it, small "
            f"pieces break off with a factor of {factor:.2f}, the smallest first. The factor of "
            f"the slope counts the load on masses that come out at least {least:.3g} m below the "
            f"edge, {LEAST_SHARE:.0%} of its height. Keep the load back from the edge, or hold "
            "the edge.",
        )
    ]


def _beyond(values: RotationalValues, ends: Float) -> bool:
    slack = 1e-9 * float(np.ptp(ends)) + 1e-9
    left = np.asarray(values.exit_x) < ends.min() - slack
    return bool(np.any(left | (np.asarray(values.entry_x) > ends.max() + slack)))
