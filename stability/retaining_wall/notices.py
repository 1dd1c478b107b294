"""What must be said beside the factors of a retaining wall."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import target_notices
from slipmargin.stability.design.customary_targets import (
    CUSTOMARY,
    CUSTOMARY_SOURCE,
    below_customary,
)
from slipmargin.stability.earth_pressure.coefficients import inner_plane_angle
from slipmargin.stability.earth_pressure.notices import (
    COMPARED,
    LEAST_THRUST,
    cohesion_notices,
    elastic_loads,
)
from slipmargin.stability.earth_pressure.surcharge import StripLoad
from slipmargin.stability.earth_pressure.thrust import MINIMUM_FRICTION
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.ground.newmark import newmark_notices
from slipmargin.stability.helping_load import LeastUnderLoad, helping_load_notices
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.retaining_wall.balance import retaining_wall, weight_over_heel
from slipmargin.stability.retaining_wall.bearing_notices import bearing_notices
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Notice, Numeric, distinct

__all__ = ["wall_notices"]

_MINOR = 1e-9
_STRAIGHT = 0.98  # share of the back on one line from which it is called plane


def _some(condition: object) -> bool:
    return bool(np.any(np.asarray(condition)))


def wall_notices(
    wall: RetainingWallInputs,
    section: WallSection,
    values: RetainingWallValues,
    least: Mapping[str, LeastUnderLoad],
    stands: NDArray[np.bool_],
    by_method: Mapping[str, Numeric],
) -> tuple[Notice, ...]:
    """The notices of a retaining wall.

    Parameters
    ----------
    wall, section, values
        The check, its section and its intermediates.
    least
        Factors over what part of the loads is there.
    stands
        Where the theory has an answer.
    by_method
        Factor against bearing by each method.
    """
    lowest = {name: one.lowest for name, one in least.items()}
    weighed = retaining_wall(wall, section, weighing=wall.loads) if wall.loads else values
    return distinct(
        (
            *wall.backfill.strength.caveats,
            *wall.foundation.strength.caveats,
            *rare_values(wall),
            *wall.backfill.chord_notices("the thrust on the wall"),
            *wall.foundation.chord_notices("sliding and bearing of the base"),
            *_no_answer(stands),
            *target_notices(lowest, wall.target),
            *_customary(lowest),
            *_reaction(wall, values, np.fmax(values.toe_pressure, weighed.toe_pressure)),
            *_theory(wall, section),
            *_loads(wall, section, values, least),
            *_strips_and_lines(wall, section, values, weighed),
            *_water(wall, values),
            *_base(wall, values),
            *bearing_notices(wall.bearing_method, by_method),
            *_strengths(wall, values),
            *_in_front(wall),
            _not_covered(),
        )
    )


def _no_answer(stands: NDArray[np.bool_]) -> Iterator[Notice]:
    if np.all(stands):
        return
    yield Notice.stop(
        "no-active-pressure",
        f"For {1.0 - float(np.mean(stands)):.1%} of the values the backfill cannot stand at "
        "its slope (with its shaking), and the theory has no thrust; the factors there are "
        "given as 0.",
    )


def _customary(lowest: Mapping[str, Numeric]) -> Iterator[Notice]:
    for name, least in CUSTOMARY.items():
        if (found := float(np.min(lowest[name]))) < least:
            yield below_customary(name, found, least, CUSTOMARY_SOURCE)


def _reaction(
    wall: RetainingWallInputs, values: RetainingWallValues, toe_pressure: Numeric
) -> Iterator[Notice]:
    width = np.asarray(values.base_width)
    pressing = np.asarray(values.vertical_force) > 0.0
    if _some(np.asarray(values.vertical_force) <= 0.0):
        yield Notice.stop(
            "no-contact",
            "Water and thrust carry the whole weight of the wall: nothing presses on the "
            "base, and the wall floats.",
        )
        return
    away = np.abs(values.eccentricity) / width
    share = float(np.max(np.where(pressing & np.isfinite(away), away, 0.0)))
    side = "toe" if _some(np.asarray(values.eccentricity) > 0.0) else "heel"
    if share >= 0.5:
        yield Notice.stop(
            "resultant-outside-base",
            "The resultant passes outside the base: the wall turns over by this model, and "
            "no base pressure balances it.",
        )
    elif share > 1.0 / 3.0:
        yield Notice.stop(
            "resultant-near-edge",
            f"The resultant is {share:.2f} B from the middle of the base, beyond B/3: it "
            f"stands on a narrow strip at the {side}, and small changes turn the wall over.",
            "EN 1997-1:2004, 6.5.4 asks for special precautions there (from memory)",
        )
    elif share > 1.0 / 6.0 + _MINOR:
        yield Notice.caution(
            "resultant-outside-middle-third",
            f"The resultant is {share:.2f} B from the middle of the base, beyond B/6: part "
            "of the base lifts, and the pressure is a triangle.",
            "Middle-third rule; NAVFAC DM-7.02 (1986), ch. 3 (from memory)",
        )
    if share > 1.0 / 6.0 + _MINOR and _some(np.asarray(wall.base_adhesion) > 0.0):
        yield Notice.caution(
            "adhesion-on-lifted-base",
            "Adhesion is counted on the whole base, though part of it lifts.",
        )
    if wall.allowable_bearing is not None and _some(toe_pressure > wall.allowable_bearing):
        yield Notice.stop(
            "allowable-bearing-exceeded",
            f"The pressure at the toe reaches {float(np.nanmax(toe_pressure)):.0f} kPa, "
            "above the allowable bearing pressure that was given.",
        )


def _theory(wall: RetainingWallInputs, section: WallSection) -> Iterator[Notice]:
    phi, beta = wall.backfill.strength.friction_angle, wall.backfill_slope_angle
    if wall.theory == "rankine":
        reach = section.height * np.tan(
            np.radians(inner_plane_angle(phi, backfill_slope_angle=beta))
        )
        if _some(section.top_to_heel < reach):
            yield Notice.info(
                "heel-short-for-rankine",
                "The wall cuts the inner slip plane that rises from the heel, so the "
                "state Rankine assumes on the vertical plane is not complete. The thrust "
                "then dips as steeply as the friction on a rough back lets it; taking it "
                "parallel to the backfill is customary and pushes harder.",
                "Das, Principles of Foundation Engineering, ch. 8",
            )
            return
        return
    if _some(section.width - np.asarray(section.face_foot) > 0.1 * section.height):
        yield Notice.caution(
            "coulomb-behind-a-heel",
            "Coulomb's thrust is taken on the back face of the stem and the soil on the "
            "heel is not counted. A wedge does not slide on a stem with a heel behind it; "
            "rankine, on the plane through the heel, is customary for such a wall.",
            "Das, Principles of Foundation Engineering, ch. 8",
        )
    if _some(np.asarray(section.face_share) < _STRAIGHT):
        yield Notice.caution(
            "back-not-plane",
            "The back is not one plane. Coulomb's thrust is taken on its tallest straight "
            "part, extended up and down, for the full height.",
        )
    if _some(np.asarray(section.face_batter) > 45.0 - 0.5 * np.asarray(phi)):
        yield Notice.caution(
            "back-flatter-than-slip-plane",
            "The back is flatter than the inner slip plane, so the soil slips on itself "
            "and not on the back. Use rankine, with the soil over the back as part of the "
            "wall.",
        )
    if wall.wall_friction_angle is None:
        yield Notice.info("smooth-back", "No wall friction angle is given: the back is smooth.")
    elif _some(np.asarray(wall.wall_friction_angle) > phi):
        yield Notice.caution(
            "wall-friction-above-backfill",
            "The wall friction angle exceeds the backfill's friction angle and was cut to it.",
            "EN 1997-1:2004, 9.5.1 (from memory)",
        )


def _loads(
    wall: RetainingWallInputs,
    section: WallSection,
    values: RetainingWallValues,
    least: Mapping[str, LeastUnderLoad],
) -> Iterator[Notice]:
    if _some(np.asarray(wall.surcharge) > 0.0):
        strip = StripLoad(pressure=wall.surcharge, distance=0.0, width=section.top_to_heel)
        weighed = retaining_wall(wall, section, weighing=(*wall.loads, strip))
        yield _not_counted(
            "surcharge-only-pushes",
            "Surcharge adds to the thrust; its weight over the heel is not counted on.",
            "With it the factor in bearing falls to {}: check it with the load there.",
            weighed.factor_bearing,
            least["bearing"].lowest,
        )
    yield from helping_load_notices(least, counted=False, load=wall.load_name)
    if _some(np.asarray(wall.horizontal_seismic_coefficient) > 0.0):
        yield Notice.info(
            "pseudo-static",
            "Shaking is a constant force here: Mononobe-Okabe thrust with its increment at "
            "0.6 of the height, and the inertia of the wall, its key and the soil counted with "
            "it. Loss of strength and vertical shaking are not covered. A peak_acceleration "
            "gives a displacement.",
            "Seed & Whitman (1970)",
        )
        wet = _some(np.asarray(values.water_height_behind) > 0.0)
        if wet and not wall.free_water_behind:
            yield Notice.caution(
                "hydrodynamic-pressure-left-out",
                "The water behind is taken to move with the grains of the fill. In open gravel "
                "or rock it moves by itself and presses more: free_water_behind adds that.",
                "EN 1998-5:2004, Annex E (from memory)",
            )
    moved = newmark_notices(wall, values, values.yield_seismic_coefficient)
    if moved:
        moved.append(
            Notice.caution(
                "displacement-of-sliding-alone",
                "Yield coefficient and displacement are those of the wall sliding on its base. It "
                "may tilt, or move with the ground around it, at less shaking.",
            )
        )
    yield from moved
    toe = float(np.max(values.toe_soil_weight))
    if toe > 0.0:
        yield _not_counted(
            "toe-soil-not-counted",
            f"Soil on the toe, up to {toe:.1f} kN/m, may be dug away: neither its weight nor its "
            "moment is counted. Its depth counts as overburden beside the base in bearing.",
            "With its weight the factor in bearing falls to {}.",
            values.bearing_factor_with_toe_soil,
            0.99 * np.asarray(values.factor_bearing),
        )
    if wall.wall.key_depth is not None:
        yield Notice.info(
            "base-key",
            "The base key deepens the passive side, which helps only by passive_fraction, "
            "and takes active pressure on its own back.",
        )
        yield from _lowering_key(wall, values)


def _strips_and_lines(
    wall: RetainingWallInputs,
    section: WallSection,
    values: RetainingWallValues,
    weighed: RetainingWallValues,
) -> Iterator[Notice]:
    if not wall.loads:
        return
    slopes = _some(np.asarray(wall.backfill_slope_angle) > 0.0)
    shaken = _some(np.asarray(wall.horizontal_seismic_coefficient) > 0.0)
    left_out = "slope, batter, movement and shaking of the loads"
    yield elastic_loads(left_out, acts=slopes or shaken)
    weight = float(np.max(weight_over_heel(wall.loads, section)["vertical"]))
    if weight > 0.0:
        yield _not_counted(
            "load-over-heel",
            f"Strips or lines of load over the heel, up to {weight:.1f} kN/m, press as if they "
            "began at the plane of the thrust; their weight is not counted on.",
            "With it the factor in bearing falls to {}: the lower one is given.",
            weighed.factor_bearing,
            values.factor_bearing,
        )


def _not_counted(code: str, text: str, lowered: str, with_it: Numeric, given: Numeric) -> Notice:
    """The notice of a weight that is left out: a caution where it would lower the factor in
    bearing, which ``lowered`` then says.
    """
    bearing = np.asarray(with_it)
    if not _some(bearing < np.asarray(given) * (1.0 - _MINOR)):
        return Notice.info(code, text)
    fallen = factor_text(float(np.nanmin(bearing)))
    return Notice.caution(code, f"{text} {lowered.format(fallen)}")


def bearing_rises(
    least: Mapping[str, LeastUnderLoad],
    still: Mapping[str, Numeric] | None,
    factors: Mapping[str, Numeric],
    load: str,
) -> tuple[Notice, ...]:
    """The notice owed where a push outward raises the factor in bearing.

    Parameters
    ----------
    least
        Factors over what part of the loads is there.
    still, factors
        Lowest factors without shaking, ``None`` where there is none, and with it.
    load
        What the load is called.
    """
    found = least["bearing"]
    pushes = []
    if _some(found.all_of_it > found.none * (1.0 + _MINOR)):
        pushes.append(f"with the {load}")
    if still is not None:
        calm, shaken = np.broadcast_arrays(still["bearing"], factors["bearing"])
        rises = (shaken > calm * (1.0 + _MINOR)) & (calm > 0.0)
        if _some(rises):
            least_calm = float(np.min(calm[rises]))
            pushes.append(f"with shaking (without it, down to {factor_text(least_calm)})")
    if not pushes:
        return ()
    return (
        Notice.caution(
            "bearing-rises",
            f"The factor in bearing rises {' and '.join(pushes)}: the resultant starts toward "
            "the heel, and a push outward brings it to the middle of the base. That is no "
            "reserve: the case without the push governs there.",
        ),
    )


def _lowering_key(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    none = dataclasses.replace(wall.wall, key_depth=None, key_width=None, key_position=None)
    bare = retaining_wall(dataclasses.replace(wall, wall=none)).factor_sliding
    found, bare = np.broadcast_arrays(values.factor_sliding, bare)
    lowered = bare > found * (1.0 + _MINOR)
    if not _some(lowered):
        return
    at = int(np.argmax(np.where(lowered, bare / np.where(found > 0.0, found, 1.0), 0.0)))
    without = float(bare.flat[at])
    shown = f"{without:.2f}" if np.isfinite(without) else "without end"
    yield Notice.caution(
        "key-lowers-sliding",
        f"The key lowers the factor against sliding: without it the factor is {shown}. The "
        "pressure on its back is more than the passive resistance it adds at this "
        "passive_fraction.",
    )


def _water(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    behind = np.asarray(values.water_height_behind)
    before = np.asarray(values.water_height_in_front)
    if not _some(behind > 0.0):
        yield Notice.info(
            "no-water-assumed",
            "No water stands behind the wall in this check. Where drains can clog, run a "
            "wet case as well: water often outweighs the soil.",
        )
    if _some(before > 0.0):
        yield Notice.caution(
            "water-in-front-counted",
            "Water in front holds the wall up in this check. Its level can fall faster than "
            "that behind: run that case as well.",
        )
    if wall.uplift_method == "creep_line" and _some(behind > before):
        yield from _creeping(wall, values)
    submerged = _some(behind > 0.0) or _some(before > 0.0)
    yield from wall.backfill.saturation_notices(_some(behind > 0.0))
    yield from wall.foundation.saturation_notices(submerged)


def _creeping(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    gradient = np.asarray(values.creep_gradient)
    buoyant = np.asarray(wall.foundation.weight_below_water) - wall.water_unit_weight
    critical = buoyant / wall.water_unit_weight
    steepest = float(np.nanmax(gradient))
    boils = _some((gradient >= critical) & (np.asarray(wall.embedment) > 0.0))
    text = (
        f"Uplift by the line of creep, which loses {steepest:.2f} of head a metre, counts on even "
        "ground below and drains that do not cut in; the water behind presses in full. "
    )
    text += (
        "So steep a flow upward in front boils the ground there."
        if boils
        else "Flow upward in front takes weight and resistance from the ground there."
    )
    notice = Notice.stop if boils else Notice.caution
    source = "EM 1110-2-2502 (1989), line of creep (from memory)"
    yield notice("seepage-below-base", text, source)


def _base(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    strength = wall.foundation.strength
    if wall.base_friction_angle is None:
        yield Notice.info(
            "base-friction-assumed",
            "No base friction angle is given: 2/3 of the foundation's friction angle.",
            CUSTOMARY_SOURCE,
        )
    elif _some(np.asarray(wall.base_friction_angle) > strength.friction_angle):
        yield Notice.caution(
            "base-friction-above-foundation",
            "The base friction angle exceeds the foundation's friction angle: the soil below "
            "would slide first.",
        )
    if _some(np.asarray(wall.base_adhesion) > strength.cohesion):
        yield Notice.caution(
            "adhesion-above-foundation",
            "The base adhesion exceeds the foundation's cohesion: the soil below would slide "
            "first.",
        )
    fraction = np.asarray(wall.passive_fraction)
    if _some(fraction > 0.0):
        counted = float(np.max(fraction * values.passive_resistance))
        yield Notice.caution(
            "passive-resistance-counted",
            f"Up to {counted:.1f} kN/m of passive resistance in front is counted. It needs "
            "far more movement than the active side, and digging, scour, frost or shrinkage "
            "take it away.",
            "EN 1997-1:2004, 9.3.2.2 and 9.5.3 (from memory)",
        )


def _strengths(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    backfill, foundation = wall.backfill, wall.foundation
    yield from _governing_thrust(wall, values)
    if _some(np.asarray(backfill.strength.cohesion) > 0.0):
        counted = np.maximum(values.theory_thrust, values.minimum_thrust)
        whole = np.asarray(values.thrust_without_cohesion)
        yield from cohesion_notices(whole - counted, whole)
        crack = float(np.nanmax(values.tension_crack_depth))
        if crack > 0.0:
            yield Notice.caution(
                "dry-crack-assumed",
                f"The backfill may crack to {crack:.2f} m; no pull is counted there, and no "
                "water in the crack. Rain fills cracks: give a water_table_depth as well.",
            )
    phi = np.radians(np.asarray(backfill.strength.friction_angle))
    yield from backfill.stress_range_notices(
        values.mean_vertical_stress * (1.0 - np.sin(phi)), "on the slip plane (mean)"
    )
    pressing = np.maximum(values.vertical_force, 0.0) / np.asarray(values.base_width)
    yield from foundation.stress_range_notices(pressing, "on the base (mean)")


def _governing_thrust(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    """Which thrust is taken where it is not that of the theory."""
    theory, wedge, least = (
        np.asarray(one, dtype=float)
        for one in (values.theory_thrust, values.trial_wedge_thrust, values.minimum_thrust)
    )
    harder = wedge > theory * (1.0 + COMPARED) + LEAST_THRUST
    if _some(harder & ~(least > wedge)):
        worst = float(np.nanmax(wedge - theory))
        yield Notice.caution(
            "trial-wedge-governs",
            f"A trial wedge under a level water table presses up to {worst:.1f} kN/m harder "
            f"than {wall.theory}, which takes buoyancy and cracks at the plane of the thrust. "
            "The wedge's thrust is taken, at the height of the other.",
        )
    moment = theory * values.theory_thrust_height
    if _some((least > np.fmax(theory, wedge)) | (least * values.minimum_thrust_height > moment)):
        worst = float(np.nanmax(np.where(np.isfinite(least), least, np.nan)))
        yield Notice.caution(
            "minimum-thrust-governs",
            f"The minimum earth pressure governs the thrust or its moment: up to {worst:.1f} "
            f"kN/m, that of a fill with φ′ = {MINIMUM_FRICTION:g}° and c′ = 0. Cohesion is not "
            "counted on for more.",
            "DIN 4085; EAB, EB 4 (from memory)",
        )


def _in_front(wall: RetainingWallInputs) -> Iterator[Notice]:
    fall = np.asarray(wall.ground_fall_in_front)
    if not _some(fall > 0.0):
        return
    yield Notice.caution(
        "ground-falls-away",
        "Bearing takes the fall of the ground in front by Vesić's factors, whatever the "
        "method. Overall stability down that slope is not checked here: it may govern.",
        "Vesić (1975), Foundation Engineering Handbook (from memory)",
    )
    phi = np.asarray(wall.foundation.strength.friction_angle)
    if _some((phi > 0.0) & (fall >= phi)):
        yield Notice.stop(
            "ground-in-front-too-steep",
            "The ground in front falls as steeply as its friction angle or more: the factors "
            "do not hold, and without cohesion that slope does not stand.",
        )


def _not_covered() -> Notice:
    return Notice.info(
        "not-covered",
        "Not covered here: the strength of the wall itself, settlement, soft layers at depth, "
        "drainage, compaction and frost.",
    )
