"""What an earth pressure must not be parted from: broken assumptions and unconservative cases."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.thrust import MINIMUM_FRICTION
from slipmargin.stability.earth_pressure.values import EarthPressureValues
from slipmargin.stability.earth_pressure.wall_profile import WallProfile
from slipmargin.stability.earth_pressure.wedge_route import thrust_by_theory
from slipmargin.strength import Notice, Numeric, distinct
from slipmargin.strength.traced import some

__all__ = [
    "COMPARED",
    "LEAST_THRUST",
    "NO_WATER",
    "cohesion_notices",
    "earth_pressure_notices",
    "elastic_loads",
]

_PASSIVE_FRICTION_SHARE = 1.0 / 3.0  # of φ′, beyond which plane slip misleads; common practice
_USUAL_FRICTION_SHARE = 2.0 / 3.0  # of φ′, smooth concrete: EN 1997-1:2004, 9.5.1(6)
_SLACK = 1e-9
COMPARED = 0.01  # share by which a trial wedge may press harder without a word
LEAST_THRUST = 0.05  # kN/m
_COHESION_SHARE = 1.0 / 3.0  # of the load, carried without a further word

_MOVEMENT_GROUND = "EN 1997-1:2004, Annex C.3"

NO_WATER = Notice.info(
    "no-water-assumed",
    "No water stands behind the wall in this check. Where drains can clog, run a wet case as "
    "well: water often outweighs the soil.",
)
"""What is owed of a dry wall."""


def _highest(value: Numeric) -> float:
    return float(np.nanmax(np.asarray(value, dtype=float)))


def earth_pressure_notices(profile: WallProfile, values: EarthPressureValues) -> tuple[Notice, ...]:
    """Notices owed by an earth pressure check, soils first."""
    return distinct(
        (
            *_soil_notices(profile),
            *_movement_notices(profile),
            *_wall_notices(profile, values),
            *_cohesion_notices(profile, values),
            *_load_notices(profile),
            *_shaking_notices(profile, values),
            *(() if profile.wet else (NO_WATER,)),
            *_comparison_notices(profile, values),
        )
    )


def _soil_notices(profile: WallProfile) -> Iterator[Notice]:
    for layer, (above, below) in zip(profile.layers, profile.ground.layers, strict=True):
        soil = layer.soil
        yield from soil.strength.caveats
        yield from soil.saturation_notices(some(below.thickness > 0.0))
        stress = np.stack(np.broadcast_arrays(above.upper, below.lower))
        yield from soil.stress_range_notices(stress, "(vertical) down the wall")
        yield from soil.chord_notices("earth pressure")
        yield from soil.undrained_notices()


def _movement_notices(profile: WallProfile) -> Iterator[Notice]:
    check = profile.check
    yield Notice.info(
        "compaction-left-out",
        "Pressure from compacting the fill is left out; near the top of a stiff wall it can "
        "exceed the pressure given here.",
    )
    if check.theory == "at_rest":
        if profile.cohesive:
            yield Notice.info("cohesion-not-counted", "At rest, cohesion takes nothing off.")
        for layer, one in zip(profile.layers, profile.coefficients, strict=True):
            most = coefficients.rankine(layer.soil.strength.friction_angle, side="passive")
            if not some(one.still > most * (1.0 + _SLACK)):
                continue
            yield Notice.caution(
                "at-rest-above-passive",
                "The coefficient at rest exceeds the passive one: soil so overconsolidated "
                "would have failed. Take the passive coefficient as the limit.",
                "Mayne & Kulhawy (1982)",
            )
        return
    if check.side == "passive":
        yield Notice.info(
            "passive-needs-movement",
            "Passive resistance needs a wall movement of several per cent of its height; "
            "half of it comes with a movement about a tenth as large.",
            _MOVEMENT_GROUND,
        )
    else:
        yield Notice.info(
            "active-needs-movement",
            "Active pressure needs a wall that can move away by some thousandths of its "
            "height. A wall that is held carries the pressure at rest, which is larger.",
            _MOVEMENT_GROUND,
        )


def _wall_notices(profile: WallProfile, values: EarthPressureValues) -> Iterator[Notice]:
    check, delta = profile.check, profile.check.wall_friction_angle
    angles = [layer.soil.strength.friction_angle for layer in profile.layers]

    def above(share: float) -> bool:
        return any(some(delta > phi * share + _SLACK) for phi in angles)

    passive = check.side == "passive"
    by_plane = check.theory in ("coulomb", "trial_wedge")
    if passive and by_plane and above(_PASSIVE_FRICTION_SHARE):
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.asarray(values.static_coefficient) / np.asarray(values.annex_c_coefficient)
        beside = ""
        if some(np.isfinite(ratio)):
            beside = (
                f" Here the plane gives {_highest(ratio):.2f} times the coefficient of a curved "
                "surface (EN 1997-1 Annex C)."
            )
        yield Notice.caution(
            "coulomb-passive-unconservative",
            "Wall friction above a third of the friction angle: passive soil slips on a "
            "curved surface, and a plane overstates its resistance." + beside + " Use theory "
            "annex_c.",
            "EN 1997-1:2004, Annex C; common practice for the limit of a third",
        )
    if above(_USUAL_FRICTION_SHARE):
        yield Notice.caution(
            "wall-friction-high",
            "Wall friction above two thirds of the friction angle is more than smooth "
            "concrete or steel gives; only concrete cast against the soil is rougher.",
            "EN 1997-1:2004, 9.5.1",
        )
    run, rise = np.diff(np.asarray(check.corners), axis=0).T
    steepest = np.degrees(np.max(np.arctan2(rise, run), initial=-0.5 * np.pi))
    slope = np.maximum(check.end_slope, steepest)
    inner = [coefficients.inner_plane_angle(phi, backfill_slope_angle=slope) for phi in angles]
    if not passive and by_plane and any(some(check.wall_batter > one + _SLACK) for one in inner):
        yield Notice.caution(
            "second-slip-plane",
            "The back face leans so far that the fill may slip on a second plane within "
            "itself before it slips on the wall. Check the thrust on the vertical plane "
            "through the heel (theory rankine) with the weight of the fill on the face.",
        )
    if check.theory == "annex_c":
        turns = [one.curved_slip.turn for one in profile.coefficients if one.curved_slip]
        if any(some(turn < -_SLACK) for turn in turns):
            yield Notice.caution(
                "annex-c-outside-range",
                "The slip line turns the other way (little wall friction, sloping ground or "
                "batter): outside the range of the annex. Its value is still one that a stress "
                "field in balance carries; tables of Caquot & Kerisel lie lower, by up to 29 % "
                "where the ground falls and the back is battered. Take the lower one where a "
                "design hangs on it.",
                "EN 1997-1:2004, Annex C.2",
            )


def cohesion_notices(carried: Numeric, whole: Numeric) -> Iterator[Notice]:
    """What must be said of cohesion that takes ``carried`` off a thrust that is ``whole``
    without it [kN/m].
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.asarray(carried) / whole
    most = float(np.nanmax(np.where(np.isfinite(share), share, 0.0)))
    yield Notice.caution(
        "cohesion-reduces-thrust",
        f"Cohesion takes up to {_highest(carried):.1f} kN/m off the thrust ({most:.0%}). Over "
        "the years cohesion in a fill softens and goes: run a case without it.",
    )
    if most > _COHESION_SHARE:
        yield Notice.caution(
            "cohesion-carries-load",
            f"Cohesion of the fill carries up to {most:.0%} of its load, more than a third. "
            "The check hangs on a strength that water, cracks and time take away, and that "
            "a line through a few tests overstates most easily.",
        )


def _cohesion_notices(profile: WallProfile, values: EarthPressureValues) -> Iterator[Notice]:
    check = profile.check
    if check.theory == "at_rest" or not profile.cohesive:
        return
    if check.side == "passive":
        yield Notice.caution(
            "cohesion-in-passive-resistance",
            "Cohesion is counted in the passive resistance. It may be lost where soil dries, "
            "softens or is dug up.",
        )
        return
    whole = values.weight_thrust + values.surcharge_thrust
    yield from cohesion_notices(-values.cohesion_thrust, whole)
    least = values.minimum_thrust
    if some(least > values.earth_thrust + LEAST_THRUST):
        yield Notice.caution(
            "minimum-thrust-larger",
            f"The thrust by this theory is below the minimum earth pressure of a soil with "
            f"cohesion, up to {_highest(least):.1f} kN/m (φ′ = {MINIMUM_FRICTION:g}° and "
            "c′ = 0). Design a wall for no less.",
            "DIN 4085; EAB, EB 4 (from memory)",
        )
    depth = _highest(values.tension_crack_depth)
    if depth <= 0.0:
        return
    if not check.tension_crack:
        yield Notice.caution(
            "tension-counted",
            f"Down to {depth:.2f} m the soil is taken to pull on the wall. Soil cracks and "
            "does not pull; the thrust given is too low.",
        )
    elif not some(check.tension_crack_water_depth > 0.0):
        yield Notice.caution(
            "dry-crack-assumed",
            f"The soil may crack to {depth:.2f} m; the crack is taken as dry. Rain fills "
            "cracks: run a case with tension_crack_water_depth as well.",
        )


def _load_notices(profile: WallProfile) -> Iterator[Notice]:
    check = profile.check
    if check.loads and check.theory != "trial_wedge":
        yield elastic_loads(
            check, "batter, slope and movement of the wall, and shaking of the loads,"
        )
    if check.side == "passive" and (check.loads or some(check.surcharge > 0.0)):
        yield Notice.caution(
            "surcharge-in-passive-resistance",
            "Load on the ground is counted in the passive resistance; it must always be there.",
        )
    if check.layers and check.theory in ("coulomb", "annex_c") and len(check.layers) > 1:
        yield Notice.info(
            "layers-by-their-own-coefficient",
            "Each layer presses by its own coefficient, as if its slip plane went on to "
            "the ground in one soil.",
        )


def elastic_loads(check: Any, left_out: str) -> Notice:
    """How the strip and line loads of a wall press, and what that leaves out: a caution where
    that is there and would push more.
    """
    slopes = some(check.backfill_slope_angle > 0.0)
    more = slopes or some(check.horizontal_seismic_coefficient > 0.0)
    return (Notice.caution if more else Notice.info)(
        "elastic-load-pressure",
        "Strip and line loads press by elastic theory on a rigid, vertical wall, at the "
        f"level of its top; {left_out} are left out.",
        "Boussinesq (1885), doubled; NAVFAC DM-7.02",
    )


def _shaking_notices(profile: WallProfile, values: EarthPressureValues) -> Iterator[Notice]:
    check = profile.check
    if not profile.shaken:
        return
    where = (
        "the increment acts at 0.6 of the height, the static part where it acts without shaking"
        if check.side == "active"
        else "the thrust is taken at the height of the static one"
    )
    yield Notice.info(
        "pseudo-static",
        f"Shaking is a constant force here (Mononobe-Okabe); {where}. Loss of strength and "
        "displacement are not covered.",
        "Seed & Whitman (1970)",
    )
    yield from _vertical_notices(profile, values)
    if some(values.water_thrust > 0.0):
        yield Notice.caution(
            "hydrodynamic-pressure-left-out",
            "Water is taken to move with the soil: its weight adds to the shaking force and "
            "its pressure stays hydrostatic. Pressure from shaken free water, in open fill "
            "or in front of the wall, and excess pore pressure are left out.",
            "EN 1998-5:2004, Annex E",
        )


def _vertical_notices(profile: WallProfile, values: EarthPressureValues) -> Iterator[Notice]:
    """Where the same shaking with its vertical part the other way, or none, is worse."""
    check = profile.check
    lift = np.asarray(check.vertical_seismic_coefficient)
    if not some(lift != 0.0):
        return
    turned = replace(check, vertical_seismic_coefficient=-lift)
    other = thrust_by_theory(WallProfile.of(turned))
    active, thrust = check.side == "active", np.asarray(values.earth_thrust)
    worst = (np.fmax if active else np.fmin)(other["total"], other["static_thrust"])
    worse = (worst - thrust) * (1.0 if active else -1.0) > LEAST_THRUST
    if some(worse):
        far = _highest(worst[worse]) if active else float(np.min(worst[worse]))
        more = "more" if active else "less"
        yield Notice.caution(
            "vertical-shaking-both-ways",
            "Vertical shaking acts both ways, and the wall must stand without it too: with the "
            "vertical part turned round, or with no shaking, the thrust comes to "
            f"{far:.1f} kN/m, {more} than here. Design for the worst of them.",
            "EN 1998-5:2004, 7.3.2.2 (from memory)",
        )


def _comparison_notices(profile: WallProfile, values: EarthPressureValues) -> Iterator[Notice]:
    check = profile.check
    wedge, thrust = values.trial_wedge_thrust, values.earth_thrust
    if some(wedge > thrust * (1.0 + COMPARED) + LEAST_THRUST):
        worst = _highest(wedge - thrust)
        yield Notice.caution(
            "trial-wedge-higher",
            f"A trial wedge under a level water table presses up to {worst:.1f} kN/m harder "
            f"than {check.theory}, which takes buoyancy and cracks at the wall. Use theory "
            "trial_wedge.",
        )
        return
    parts = profile.inclined and (profile.wet or profile.cohesive)
    if check.side == "passive" and check.theory in ("rankine", "coulomb") and parts:
        yield Notice.caution(
            "passive-wedge-not-compared",
            "Behind a slope or a batter, buoyancy and cohesion are taken at the wall; a wedge "
            "under a level water table resisted up to 6 % less in trials.",
        )
    several = len(profile.layers) > 1 and check.theory != "at_rest" and check.side == "active"
    if several and parts:
        yield Notice.caution(
            "inclined-layers-not-compared",
            "With layers behind a slope or a batter, buoyancy and cracks are taken at the "
            "wall; a wedge under a level water table can press harder. Compare one soil by "
            "theory trial_wedge.",
        )
