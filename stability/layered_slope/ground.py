"""The section of a check, read from its fields and held against what can be."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from slipmargin.stability.fields import refuse
from slipmargin.stability.ground.flat import flattened
from slipmargin.stability.ground.points import Line, run_to_the_right
from slipmargin.stability.ground.support import support_components
from slipmargin.stability.ground.surcharge_strip import strip_edges
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE, open_crack_depth
from slipmargin.stability.layered_slope.inputs import LayeredSlopeInputs
from slipmargin.stability.layered_slope.section import Amounts, Float, Section
from slipmargin.strength import InputError

__all__ = ["section_of"]

_LEAST_SHARE = 0.05  # of the height, the least depth of a slip surface
_UPRIGHT = 1e-6  # of the height, the run a vertical face is given
_NOWHERE = -1e30


def section_of(check: LayeredSlopeInputs, shape: tuple[int, ...]) -> Section:
    """The section of a check, its numbers flattened from ``shape``; ``InputError``: fields that
    contradict each other, or ground, layers or water that cannot be.
    """
    flat = flattened(shape)
    ground = _ground(check)
    size = float(np.ptp(ground.y))
    toe = float(np.min(ground.y))
    tops = _tops(check)
    water = _water(check, ground)
    crest = _crest_of(ground)
    near, far = strip_edges(ground.x[crest], check.surcharge_setback, check.surcharge_width)
    along, up = support_components(check.support_force, check.support_angle)
    support_x, support_y = _support(check, ground, flat)
    firm = -np.inf if check.firm_ground_depth is None else toe - np.asarray(check.firm_ground_depth)
    pooled = np.asarray(check.standing_water_level) > 0.0
    filled = check.tension_crack_water_depth
    filled = np.inf if isinstance(filled, str) else filled
    strengths = [layer.soil.strength for layer in check.layers]
    curves = [one.curve for one in strengths]
    least = check.least_slip_depth
    amounts = {
        "water_unit_weight": flat(check.water_unit_weight),
        "water_rise": flat(check.water_line_rise),
        "pore_pressure_ratio": flat(check.pore_pressure_ratio),
        "seismic_coefficient": flat(check.horizontal_seismic_coefficient),
        "surcharge": flat(check.surcharge),
        "load_start": flat(near),
        "load_end": flat(far),
        "pool": flat(np.where(pooled, toe + np.asarray(check.standing_water_level), _NOWHERE)),
        "support_along": flat(along),
        "support_up": flat(up),
        "support_x": support_x,
        "support_y": support_y,
        "firm": flat(firm),
        "crack_water": flat(filled),
        "least_depth": flat(_LEAST_SHARE * size if least is None else least),
    }
    soils = [layer.soil for layer in check.layers]
    rows = {
        "cohesion": [one.cohesion for one in strengths],
        "tan_friction_angle": [one.tan_friction_angle for one in strengths],
        "coefficient": [np.nan if one is None else one.coefficient for one in curves],
        "exponent": [np.nan if one is None else one.exponent for one in curves],
        "unit_weight": [soil.unit_weight for soil in soils],
        "saturated_unit_weight": [soil.weight_below_water for soil in soils],
    }
    for name, values in rows.items():
        amounts[name] = np.stack(np.broadcast_arrays(*(flat(value) for value in values)))
    section = Section(
        ground=ground,
        tops=tops,
        water=water,
        amounts=Amounts(**amounts, crack_depth=np.zeros(1)),
        curved=tuple(one is not None for one in curves),
        reference=tuple(np.nan if one is None else one.reference_pressure for one in curves),
        size=size,
        searches_crack=check.search_tension_crack or check.tension_crack_depth is not None,
    )
    return section.with_amounts(crack_depth=_crack(check, section, crest, flat))


def _ground(check: LayeredSlopeInputs) -> Line:
    x, y = run_to_the_right(check.ground_line, 2).T.copy()
    run, rise = np.diff(x), np.diff(y)
    for wrong, allowed in (
        (y[-1] <= y[0], "the slope rises to the right: mirror the points"),
        ((run == 0.0) & (rise < 0.0), "a vertical face must rise to the right"),
    ):
        refuse(check, "ground_line", wrong, allowed)
    # a vertical face leans by a hair, so that there is one height over each x
    hair = _UPRIGHT * float(np.ptp(y))
    for index in np.flatnonzero(run < hair):
        x[index + 1 :] += max(0.0, x[index] + hair - x[index + 1])
    return Line(x, y)


def _crest_of(ground: Line) -> int:
    """Upper end of the last piece at least half as steep as the steepest."""
    steep = np.arctan2(np.diff(ground.y), np.diff(ground.x))
    return int(np.flatnonzero(steep >= 0.5 * np.max(steep))[-1]) + 1


def _tops(check: LayeredSlopeInputs) -> tuple[Line, ...]:
    if not check.layers:
        raise InputError("layers", "none", "give at least one layer, [[checks.layers]] with a soil")
    if check.layers[0].top is not None:
        begins = "leave it out: the first layer begins at the ground"
        raise InputError("layers[0].top", "given", begins)
    found = []
    for index, layer in enumerate(check.layers[1:], start=1):
        place = f"layers[{index}].top"
        if layer.top is None:
            raise InputError(place, "missing", "every layer below the first needs its top")
        found.append(Line.of(place, layer.top))
    return tuple(found)


def _water(check: LayeredSlopeInputs, ground: Line) -> Line | None:
    pool = np.asarray(check.standing_water_level)
    by_ratio = np.any(check.pore_pressure_ratio > 0.0)
    for name, given in (
        ("water_line", check.water_line is not None),
        ("standing_water_level", np.any(pool > 0.0)),
    ):
        if by_ratio and given:
            allowed = "give a water_line, with a pool or without, or a pore_pressure_ratio"
            raise InputError(name, "given", allowed)
    if check.water_line is None:
        raised = np.asarray(check.water_line_rise) != 0.0
        refuse(check, "water_line_rise", raised, "allowed only beside a water_line")
        return None
    line = Line.of("water_line", check.water_line)
    # both are straight between points, so that it is enough to look there
    x = np.concatenate((line.x, ground.x))
    lowest = np.min(ground.y) + np.max(pool)
    over = float(np.max(line.level(x) - np.maximum(ground.level(x), lowest)))
    allowed = (
        f"it stands up to {over:.3g} m above the ground (beyond its ends it goes on level): let it "
        "come out at the toe, and give a pool in front by its standing_water_level"
    )
    refuse(check, "water_line", over > 1e-6 * float(np.ptp(ground.y)), allowed)
    return line


def _support(check: LayeredSlopeInputs, ground: Line, flat: Any) -> tuple[Float, Float]:
    if not np.any(check.support_force > 0.0):
        return np.full(1, _NOWHERE), np.zeros(1)
    if check.support_height is None:
        where = "say at what height above the toe the support acts"
        raise InputError("support_height", "missing", where)
    height, size = flat(check.support_height), float(np.ptp(ground.y))
    level = np.min(ground.y) + height
    if np.any(height > size):
        allowed = f"allowed: up to the height, {size:g} m"
        raise InputError("support_height", float(np.max(height)), allowed)
    place = np.full(level.shape, np.nan)
    for x, y in zip(pairwise(ground.x), pairwise(ground.y), strict=True):
        inside = np.isnan(place) & (y[1] > y[0]) & (level >= y[0]) & (level <= y[1])
        place = np.where(inside, np.interp(level, y, x), place)
    return place, level


def _crack(check: LayeredSlopeInputs, section: Section, crest: int, flat: Any) -> Float:
    given = check.tension_crack_depth
    if not check.search_tension_crack:
        deep = np.zeros(1) if given is None else flat(given)
        if np.any(deep >= section.size):
            allowed = f"a crack is less deep than the slope is high, {section.size:g} m"
            raise InputError("tension_crack_depth", float(np.max(deep)), allowed)
        filled = given is None and check.tension_crack_water_depth != 0.0
        missing = "there is no crack: give its tension_crack_depth, or search_tension_crack = true"
        refuse(check, "tension_crack_water_depth", filled, missing)
        return deep
    searched = "leave it out where search_tension_crack is true"
    refuse(check, "tension_crack_depth", given is not None, searched)
    amounts = section.amounts
    x, top = section.ground.x[crest], section.ground.y[crest]
    bounds = [top, *(float(line.level(np.array(x))) for line in section.tops)]
    depth = np.zeros(1)
    for index, bound in enumerate(bounds):
        below = max([-np.inf, *bounds[index + 1 :]])
        if min(bound, top) <= max(below, top - DEEPEST_SHARE * section.size):
            continue
        # a curve passes through the origin and holds no crack open
        cohesion = 0.0 if section.curved[index] else amounts.cohesion[index]
        held = open_crack_depth(
            cohesion,
            amounts.tan_friction_angle[index],
            unit_weight=amounts.unit_weight[index],
            water_unit_weight=amounts.water_unit_weight,
            water_depth=amounts.crack_water,
        )
        depth = np.maximum(depth, held)
    return np.minimum(depth, DEEPEST_SHARE * section.size)
