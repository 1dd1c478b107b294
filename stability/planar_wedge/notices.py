"""What must not be parted from the factor of a planar wedge."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from slipmargin.stability.ground.flat import COLUMN
from slipmargin.stability.ground.newmark import newmark_notices
from slipmargin.stability.ground.shaking import PSEUDO_STATIC
from slipmargin.stability.ground.standing_water import STILL_POOL, drawdown_notices
from slipmargin.stability.ground.tension_crack import searched_crack_limited
from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.ground import GroundLine, runs_out
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.stability.planar_wedge.limits import ROUNDING_OF_DEPTH
from slipmargin.stability.planar_wedge.values import PlanarWedgeValues
from slipmargin.strength import Notice

__all__ = ["displacement_notices", "drawn_down_notices", "planar_notices"]

_STEEP = 75.0  # Taylor (1948), ch. 16: a plane is close to the critical surface near 90 deg only
_CLOSED_UP = 1e-5  # deg
_ROUNDING = 1.0 + 1e-12
_AT_THE_END = 1e-4  # of the run

_UNSETTLED = Notice.stop(
    "search-not-converged",
    "The search for the critical surface did not end; the factor may be too high.",
)
_GIVEN = Notice.caution(
    "other-mechanisms-not-searched",
    "Only the given plane was checked. Sliding on another plane, along a curved surface or on two "
    "planes meeting in a wedge, and toppling, were not, and may have a lower factor: leave "
    "plane_angle out to search for it.",
)
_NO_LIMITS = Notice.info(
    "limits-of-planes-left-out",
    "The greatest height, the steepest face and the support needed are not given for a searched "
    "plane: the rotation of the same slope may stand at less. A sweep of the height or the face "
    "angle takes the rotation with it.",
)
_ALONG_THE_TOP = Notice.caution(
    "plane-runs-along-upper-slope",
    "The critical plane runs along the upper slope without end: that slope governs. Check it as an "
    "infinite slope; block and forces shown here have no meaning.",
)
_IN_THE_FACE = Notice.caution(
    "no-critical-plane-inside",
    "With c′ = 0 the factor has no minimum inside the slope: the critical plane closes up to the "
    "face and the factor is that of ravelling of the face. Weight and forces shown here are those "
    "of a vanishing block.",
)
_RAVELS = Notice.info(
    "surface-ravelling-governs",
    "The face is no steeper than φ′ and c′ = 0: grains rolling off the surface govern. Check the "
    "face as an infinite slope, with its water.",
)
_WEIGHED_DRY = Notice.info(
    "weighed-above-water",
    "Water acts on the block, but the whole block is weighed with the unit weight above water. Run "
    "a case with the saturated unit weight as well.",
)
_NO_WATER = Notice.caution(
    "no-water-assumed",
    "No water is in this check. Rain fills cracks and raises pore pressure; run a wet case as "
    "well.",
)
_WATER_BELOW = Notice.caution(
    "water-below-plane",
    "The water lies below the slip plane, so that none acts on the block. Check that the water "
    "line given is the highest to come.",
)
_LINE_AT_GROUND = Notice.info(
    "water-line-at-ground",
    "Raised so far, the water line reaches the ground somewhere; it is taken no higher than the "
    "ground there.",
)
_LIFTS = Notice.stop(
    "block-lifts",
    "The effective normal force on the plane is negative: water, shaking or the support lifts the "
    "block off its plane, and the factor is not meaningful.",
)
_NOTHING_DRIVES = Notice.caution(
    "nothing-drives-the-block",
    "Nothing drives the block down its plane: the support force is larger than needed, or the "
    "plane lies level. Check that it cannot push the block upward.",
)
_LOAD_BEHIND = Notice.info(
    "load-behind-block", "The load stands behind the block that slides, and does nothing to it."
)
_SUPPORT = Notice.info(
    "support-counted",
    "The support force is counted on in full as a load. Its capacity, its anchorage behind the "
    "plane and its corrosion are not checked.",
)
_UNCRACKED = Notice.info(
    "no-tension-crack",
    "No tension crack is assumed, so cohesion is counted on up to the ground surface. A crack "
    "lowers the factor; water in it lowers it further.",
)
_CRACK_BEHIND = Notice.info(
    "crack-behind-critical-plane",
    "The critical plane daylights in front of the tension crack, which does nothing then.",
)
_SHALLOW_CRACK = Notice.caution(
    "crack-shallower-than-water",
    "On the critical plane the crack is shallower than the water depth asked for; it was taken as "
    "brim-full.",
)
_CRACK_AT_CREST = Notice.caution(
    "crack-at-crest",
    "The worst tension crack stands at the crest, the limit of the search: one in the face may be "
    "worse. Give tension_crack_distance for a crack that can form.",
)
_OF_PLANES_ALONE = Notice.caution(
    "displacement-of-plane-alone",
    "Yield coefficient and displacement are those of planes. The rotation of the same slope may "
    "yield at less shaking, and move further: its own values say so.",
)


def planar_notices(
    wedge: PlanarWedgeInputs, case: Case, values: PlanarWedgeValues, *, converged: bool
) -> Iterator[Notice]:
    """All notices of a planar wedge but those of its strength and its target; inputs and results
    are scalar, or have one dimension of samples.
    """
    if not converged:
        yield _UNSETTLED
    if wedge.plane_angle is None:
        yield from _searched_plane(case, values)
    else:
        yield _GIVEN
    yield from _strength(wedge, case, values)
    yield from _water(wedge, case, values)
    yield from _forces(case, values)
    yield from _crack(wedge, case, values)


def _searched_plane(case: Case, values: PlanarWedgeValues) -> Iterator[Notice]:
    yield _NO_LIMITS
    slope = case.slope
    face = np.degrees(np.arctan2(slope.height, slope.crest_x))
    if np.any(face < _STEEP):
        yield Notice.caution(
            "planar-search-unconservative",
            f"The face stands at {float(np.min(face)):.0f} deg. On slopes flatter than about "
            f"{_STEEP:.0f} deg a curved surface is more critical than any plane, and a planar "
            "search overstates stability: take the lower of its factor and that of the rotation.",
            "Taylor (1948), Fundamentals of Soil Mechanics, ch. 16",
        )
    if np.any(runs_out(slope, values.plane_angle) & np.isfinite(values.factor_of_safety)):
        yield _ALONG_THE_TOP
    at_end = np.asarray(values.plane_run) > slope.end_x * (1.0 - _AT_THE_END)
    if isinstance(slope, GroundLine) and case.crack_x is None and np.any(at_end):
        yield Notice.caution(
            "critical-plane-at-end-of-ground-line",
            f"The critical plane comes out where the ground line ends, {slope.end_x:g} m from the "
            "toe: a flatter one further back may have a lower factor. Give more of the ground "
            "behind the crest.",
        )


def _strength(wedge: PlanarWedgeInputs, case: Case, values: PlanarWedgeValues) -> Iterator[Notice]:
    yield from wedge.soil.stress_range_notices(values.effective_normal_stress, "on the slip plane")
    bare = np.asarray(case.cohesion) <= 0.0
    if wedge.plane_angle is None and np.any(bare):
        face = np.asarray(case.slope.face_angle)
        if np.any(bare & (np.asarray(values.plane_angle) > face - _CLOSED_UP)):
            yield _IN_THE_FACE
        steepest_held = np.asarray(case.tan_friction_angle) * _ROUNDING
        if np.any(bare & (np.tan(np.radians(face)) <= steepest_held)):
            yield _RAVELS
    yield from wedge.soil.undrained_notices()


def _water(wedge: PlanarWedgeInputs, case: Case, values: PlanarWedgeValues) -> Iterator[Notice]:
    acts = np.any(values.uplift > 0.0)
    if case.water is not None:
        wet = bool(np.any(values.wet_area > 0.0))
        yield from wedge.soil.saturation_notices(wet)
    elif acts and wedge.soil.saturated_unit_weight is not None:
        yield _WEIGHED_DRY
    if not acts:
        yield _NO_WATER if case.water is None else _WATER_BELOW
    if _reaches_ground(case):
        yield _LINE_AT_GROUND
    shaken = np.any(case.loads.seismic_coefficient > 0.0)
    if shaken and np.any(case.loads.pool_level > 0.0):
        yield STILL_POOL


def _reaches_ground(case: Case) -> bool:
    """Whether a water line that was raised stands at the ground or above it anywhere."""
    water = case.water
    if water is None or water.line is None or not np.any(np.greater(water.rise, 0.0)):
        return False
    line, slope = water.line, case.slope.taken(COLUMN)
    rise = np.asarray(water.rise, dtype=float).reshape(-1, 1)
    places = (slope.corners_x, line.x[(line.x > 0.0) & (line.x <= slope.end_x)])
    return any(bool(np.any(line.level(x) + rise > slope.ground_y(x))) for x in places)


def drawn_down_notices(wedge: PlanarWedgeInputs, values: PlanarWedgeValues) -> Iterator[Notice]:
    """What the slope is without its pool; nothing in large runs, which do not ask."""
    drawn = values.drawdown_factor
    if np.any(np.isfinite(drawn)):
        remark = "It is that on the plane. "
        yield from drawdown_notices(drawn, values.factor_of_safety, wedge.target, remark)


def _forces(case: Case, values: PlanarWedgeValues) -> Iterator[Notice]:
    loads = case.loads
    if np.any(values.normal_force < 0.0):
        yield _LIFTS
    if np.any(values.driving_force <= 0.0):
        yield _NOTHING_DRIVES
    if np.any((loads.surcharge > 0.0) & (values.loaded_length <= 0.0)):
        yield _LOAD_BEHIND
    if np.any(loads.support_force > 0.0):
        yield _SUPPORT
    if np.any(loads.seismic_coefficient > 0.0):
        yield PSEUDO_STATIC


def displacement_notices(wedge: PlanarWedgeInputs, values: PlanarWedgeValues) -> Iterator[Notice]:
    """What must not be parted from the displacement in shaking."""
    yield from newmark_notices(wedge, values, values.yield_seismic_coefficient)
    if wedge.has_motion and wedge.plane_angle is None:
        yield _OF_PLANES_ALONE


def _crack(wedge: PlanarWedgeInputs, case: Case, values: PlanarWedgeValues) -> Iterator[Notice]:
    given, searched = wedge.tension_crack_distance is not None, wedge.search_tension_crack
    if not given and not searched:
        if np.any(case.cohesion > 0.0):
            yield _UNCRACKED
        return
    depth = np.asarray(values.tension_crack_depth)
    if given and np.any(depth <= 0.0):
        yield _CRACK_BEHIND
    asked = np.asarray(case.loads.crack_water_depth)
    if np.any(np.isfinite(asked) & (values.crack_water_depth < asked - ROUNDING_OF_DEPTH)):
        yield _SHALLOW_CRACK
    if searched and np.any(depth > 0.999999 * np.asarray(values.deepest_crack)):
        yield searched_crack_limited(
            values.deepest_crack, strength="strength", give="tension_crack_distance"
        )
    distance = np.asarray(values.tension_crack_distance)
    if searched and np.any(distance < 1e-6 * np.asarray(case.slope.height)):
        yield _CRACK_AT_CREST
