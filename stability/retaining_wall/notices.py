"""What must be said beside the factors of a retaining wall."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import target_notices
from slipmargin.stability.design.customary_targets import CUSTOMARY_TARGETS, below_customary
from slipmargin.stability.earth_pressure.coefficients import inner_plane_angle
from slipmargin.stability.earth_pressure.notices import (
    COMPARED,
    LEAST_THRUST,
    NO_WATER,
    cohesion_notices,
    elastic_loads,
)
from slipmargin.stability.earth_pressure.surcharge import StripLoad
from slipmargin.stability.earth_pressure.thrust import MINIMUM_FRICTION
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.ground.newmark import newmark_notices
from slipmargin.stability.helping_load import LeastUnderLoad, helping_load_notices
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.retaining_wall.balance import answers, retaining_wall, weight_over_heel
from slipmargin.stability.retaining_wall.base_notices import (
    front_notices,
    reaction_notices,
    resistance_notices,
)
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.values import RetainingWallValues
from slipmargin.strength import Notice, Numeric, distinct
from slipmargin.strength.traced import some

__all__ = ["wall_notices"]

_MINOR = 1e-9
_STRAIGHT = 0.98  # share of the back on one line from which it is called plane
_NOT_COVERED = Notice.info(
    "not-covered",
    "Not covered here: the strength of the wall itself, settlement, soft layers at depth, "
    "drainage, compaction and frost.",
)


def wall_notices(
    wall: RetainingWallInputs,
    values: RetainingWallValues,
    least: Mapping[str, LeastUnderLoad],
    by_method: Mapping[str, Numeric],
) -> tuple[Notice, ...]:
    """The notices of a retaining wall.

    ``least`` has its factors over what part of the loads is there, ``by_method`` the factor in
    bearing by each method.
    """
    lowest = {name: one.lowest for name, one in least.items()}
    weighed = retaining_wall(wall, weighing=wall.loads) if wall.loads else values
    return distinct(
        (
            *wall.backfill.strength.caveats,
            *wall.foundation.strength.caveats,
            *rare_values(wall),
            *wall.backfill.chord_notices("the thrust on the wall"),
            *wall.foundation.chord_notices("sliding and bearing of the base"),
            *_no_answer(answers(values)),
            *target_notices(lowest, wall.target),
            *_customary(lowest),
            *reaction_notices(wall, values, np.fmax(values.toe_pressure, weighed.toe_pressure)),
            *_theory(wall),
            *_loads(wall, values, least),
            *_strips_and_lines(wall, values, weighed),
            *_water(wall, values),
            *resistance_notices(wall, values, by_method),
            *_strengths(wall, values),
            *front_notices(wall),
            _NOT_COVERED,
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
    for name, factor in lowest.items():
        target = CUSTOMARY_TARGETS[name]
        if some(factor < target.value):
            yield below_customary(name, float(np.min(factor)), target)


def _theory(wall: RetainingWallInputs) -> Iterator[Notice]:
    section, phi = wall.section(), wall.backfill.strength.friction_angle
    inner = inner_plane_angle(phi, backfill_slope_angle=wall.backfill_slope_angle)
    if wall.theory == "rankine":
        if some(section.top_to_heel < section.height * np.tan(np.radians(inner))):
            yield Notice.info(
                "heel-short-for-rankine",
                "The wall cuts the inner slip plane that rises from the heel, so the "
                "state Rankine assumes on the vertical plane is not complete. The thrust "
                "then dips as steeply as the friction on a rough back lets it; taking it "
                "parallel to the backfill is customary and pushes harder.",
                "Das, Principles of Foundation Engineering, ch. 8",
            )
        return
    if some(section.width - section.face_foot > 0.1 * section.height):
        yield Notice.caution(
            "coulomb-behind-a-heel",
            "Coulomb's thrust is taken on the back face of the stem and the soil on the "
            "heel is not counted. A wedge does not slide on a stem with a heel behind it; "
            "rankine, on the plane through the heel, is customary for such a wall.",
            "Das, Principles of Foundation Engineering, ch. 8",
        )
    if some(section.face_share < _STRAIGHT):
        yield Notice.caution(
            "back-not-plane",
            "The back is not one plane. Coulomb's thrust is taken on its tallest straight "
            "part, extended up and down, for the full height.",
        )
    if some(section.face_batter > inner + _MINOR):
        yield Notice.caution(
            "back-flatter-than-slip-plane",
            "The back is flatter than the inner slip plane, so the soil slips on itself "
            "and not on the back. Use rankine, with the soil over the back as part of the "
            "wall.",
        )
    if wall.wall_friction_angle is None:
        yield Notice.info("smooth-back", "No wall friction angle is given: the back is smooth.")
    elif some(wall.wall_friction_angle > phi):
        yield Notice.caution(
            "wall-friction-above-backfill",
            "The wall friction angle exceeds the backfill's friction angle and was cut to it.",
            "EN 1997-1:2004, 9.5.1 (from memory)",
        )


def _loads(
    wall: RetainingWallInputs, values: RetainingWallValues, least: Mapping[str, LeastUnderLoad]
) -> Iterator[Notice]:
    if some(wall.surcharge > 0.0):
        heel = wall.section().top_to_heel
        strip = StripLoad(pressure=wall.surcharge, distance=0.0, width=heel)
        weighed = retaining_wall(wall, weighing=(*wall.loads, strip))
        yield _not_counted(
            "surcharge-only-pushes",
            "Surcharge adds to the thrust; its weight over the heel is not counted on.",
            "With it the factor in bearing falls to {}: check it with the load there.",
            weighed.factor_bearing,
            least["bearing"].lowest,
        )
    yield from helping_load_notices(least, counted=False, load=wall.load_name)
    if some(wall.horizontal_seismic_coefficient > 0.0):
        yield Notice.info(
            "pseudo-static",
            "Shaking is a constant force here: Mononobe-Okabe thrust with its increment at "
            "0.6 of the height, and the inertia of the wall, its key and the soil counted with "
            "it. Loss of strength and vertical shaking are not covered. A peak_acceleration "
            "gives a displacement.",
            "Seed & Whitman (1970)",
        )
        wet = some(values.water_height_behind > 0.0)
        if wet and not wall.free_water_behind:
            yield Notice.caution(
                "hydrodynamic-pressure-left-out",
                "The water behind is taken to move with the grains of the fill. In open gravel "
                "or rock it moves by itself and presses more: free_water_behind adds that.",
                "EN 1998-5:2004, Annex E (from memory)",
            )
    yield from newmark_notices(wall, values, values.yield_seismic_coefficient)
    if wall.has_motion:
        yield Notice.caution(
            "displacement-of-sliding-alone",
            "Yield coefficient and displacement are those of the wall sliding on its base. It may "
            "tilt, or move with the ground around it, at less shaking.",
        )
    toe = float(np.max(values.toe_soil_weight))
    if toe > 0.0:
        yield _not_counted(
            "toe-soil-not-counted",
            f"Soil on the toe, up to {toe:.1f} kN/m, may be dug away: neither its weight nor its "
            "moment is counted. Its depth counts as overburden beside the base in bearing.",
            "With its weight the factor in bearing falls to {}.",
            values.bearing_factor_with_toe_soil,
            0.99 * values.factor_bearing,
        )
    if wall.wall.key_depth is not None:
        yield Notice.info(
            "base-key",
            "The base key deepens the passive side, which helps only by passive_fraction, "
            "and takes active pressure on its own back.",
        )
        yield from _lowering_key(wall, values)


def _strips_and_lines(
    wall: RetainingWallInputs, values: RetainingWallValues, weighed: RetainingWallValues
) -> Iterator[Notice]:
    if not wall.loads:
        return
    yield elastic_loads(wall, "slope, batter, movement and shaking of the loads")
    weight = float(np.max(weight_over_heel(wall, wall.loads).vertical))
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
    if not some(with_it < given * (1.0 - _MINOR)):
        return Notice.info(code, text)
    fallen = factor_text(float(np.nanmin(with_it)))
    return Notice.caution(code, f"{text} {lowered.format(fallen)}")


def _lowering_key(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    none = dataclasses.replace(wall.wall, key_depth=None, key_width=None, key_position=None)
    bare = retaining_wall(dataclasses.replace(wall, wall=none)).factor_sliding
    found, bare = np.broadcast_arrays(values.factor_sliding, bare)
    lowered = bare > found * (1.0 + _MINOR)
    if not some(lowered):
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
    behind, before = values.water_height_behind, values.water_height_in_front
    wet, wet_in_front = some(behind > 0.0), some(before > 0.0)
    if not wet:
        yield NO_WATER
    if wet_in_front:
        yield Notice.caution(
            "water-in-front-counted",
            "Water in front holds the wall up in this check. Its level can fall faster than "
            "that behind: run that case as well.",
        )
    if wall.uplift_method == "creep_line" and some(behind > before):
        yield from _creeping(wall, values)
    yield from wall.backfill.saturation_notices(wet)
    yield from wall.foundation.saturation_notices(wet or wet_in_front)


def _creeping(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    gradient = values.creep_gradient
    buoyant = wall.foundation.weight_below_water - wall.water_unit_weight
    critical = buoyant / wall.water_unit_weight
    boils = some((gradient >= critical) & (wall.embedment > 0.0))
    ending = "Flow upward in front takes weight and resistance from the ground there."
    if boils:
        ending = "So steep a flow upward in front boils the ground there."
    yield (Notice.stop if boils else Notice.caution)(
        "seepage-below-base",
        f"Uplift by the line of creep, which loses {float(np.nanmax(gradient)):.2f} of head a "
        "metre, counts on even ground below and drains that do not cut in; the water behind "
        f"presses in full. {ending}",
        "EM 1110-2-2502 (1989), line of creep (from memory)",
    )


def _strengths(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    backfill, foundation = wall.backfill, wall.foundation
    yield from _governing_thrust(wall, values)
    if some(backfill.strength.cohesion > 0.0):
        counted = np.maximum(values.theory_thrust, values.minimum_thrust)
        whole = values.thrust_without_cohesion
        yield from cohesion_notices(whole - counted, whole)
        crack = float(np.nanmax(values.tension_crack_depth))
        if crack > 0.0:
            yield Notice.caution(
                "dry-crack-assumed",
                f"The backfill may crack to {crack:.2f} m; no pull is counted there, and no "
                "water in the crack. Rain fills cracks: give a water_table_depth as well.",
            )
    phi = np.radians(backfill.strength.friction_angle)
    yield from backfill.stress_range_notices(
        values.mean_vertical_stress * (1.0 - np.sin(phi)), "on the slip plane (mean)"
    )
    pressing = np.maximum(values.vertical_force, 0.0) / values.base_width
    yield from foundation.stress_range_notices(pressing, "on the base (mean)")
    for soil in {id(one): one for one in (backfill, foundation)}.values():
        yield from soil.undrained_notices()


def _governing_thrust(wall: RetainingWallInputs, values: RetainingWallValues) -> Iterator[Notice]:
    """Which thrust is taken where it is not that of the theory."""
    theory, wedge, least = values.theory_thrust, values.trial_wedge_thrust, values.minimum_thrust
    harder = wedge > theory * (1.0 + COMPARED) + LEAST_THRUST
    if some(harder & ~(least > wedge)):
        worst = float(np.nanmax(wedge - theory))
        yield Notice.caution(
            "trial-wedge-governs",
            f"A trial wedge under a level water table presses up to {worst:.1f} kN/m harder "
            f"than {wall.theory}, which takes buoyancy and cracks at the plane of the thrust. "
            "The wedge's thrust is taken, at the height of the other.",
        )
    moment = theory * values.theory_thrust_height
    if some((least > np.fmax(theory, wedge)) | (least * values.minimum_thrust_height > moment)):
        worst = float(np.nanmax(least))
        yield Notice.caution(
            "minimum-thrust-governs",
            f"The minimum earth pressure governs the thrust or its moment: up to {worst:.1f} "
            f"kN/m, that of a fill with φ′ = {MINIMUM_FRICTION:g}° and c′ = 0. Cohesion is not "
            "counted on for more.",
            "DIN 4085; EAB, EB 4 (from memory)",
        )
