"""Runs the check values of the retaining wall."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from slipmargin.stability import EarthPressure, RetainingWall, Soil
from slipmargin.stability.earth_pressure.profile import Layer, layer_overburden
from slipmargin.stability.retaining_wall.bearing_capacity import superposed_capacity
from slipmargin.stability.retaining_wall.bearing_factors import (
    bearing_factors,
    depth_factors,
    inclination_factors,
)
from slipmargin.stability.retaining_wall.equilibrium import Force, add_up, base_reaction
from slipmargin.stability.retaining_wall.section import Wall, region, wall_section
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def soil(c: float, phi: float, gamma: float) -> Soil:
    """A soil above water."""
    return Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)


def check(backfill: Soil, wall: Wall, **fields: Any) -> RetainingWall:
    """A wall at the ground's surface, on an ordinary soil where none is given."""
    usual: dict[str, Any] = {"foundation": soil(5.0, 31.0, 18.5), "embedment": 0.0}
    return RetainingWall(backfill=backfill, wall=wall, **(usual | fields))


def shares_on_base(i: Inputs, backfill_weight: float, foundation_weight: float) -> dict[str, Any]:
    """Soils of an example that takes shares k1, k2 of the foundation's φ and c on the base."""
    return {
        "backfill": soil(0.0, i["phi1"], backfill_weight),
        "foundation": soil(i["c2"], i["phi2"], foundation_weight),
        "base_friction_angle": i["k1"] * i["phi2"],
        "base_adhesion": i["k2"] * i["c2"],
    }


def das_cantilever(i: Inputs) -> Found:
    """A whole cantilever wall, line by line."""
    wall = Wall(
        unit_weight=i["gamma_c"],
        stem_height=i["stem_h"],
        stem_top_thickness=i["stem_top"],
        stem_bottom_thickness=i["stem_b"],
        toe_width=i["toe"],
        heel_width=i["heel"],
        base_thickness=i["base_t"],
    )
    result = check(
        wall=wall,
        backfill_slope_angle=i["alpha"],
        embedment=i["D"],
        passive_fraction=1.0,
        **shares_on_base(i, i["gamma1"], i["gamma2"]),
    ).evaluate()
    v: Any = result.values
    qu = das_bearing(i["phi2"], i["c2"], i["D"], i["gamma2"], v)
    return {
        "H": v.thrust_plane_height,
        "Pa": v.thrust,
        "Ph": v.thrust_horizontal,
        "Pv": v.thrust_vertical,
        "V": v.vertical_force,
        "Mr": v.righting_moment,
        "Mo": v.overturning_moment,
        "FS_overturning": result.factors_of_safety["overturning"],
        "Pp": v.passive_resistance,
        "FS_sliding": result.factors_of_safety["sliding"],
        "e": v.eccentricity,
        "q_toe": v.toe_pressure,
        "q_heel": v.heel_pressure,
        "qu": qu,
        "FS_bearing": qu / v.toe_pressure,
    }


def das_bearing(phi: float, c: float, depth: float, gamma: float, v: Any) -> Any:
    """Das mixes Vesić's N, Hansen's depth factors on B′ and Meyerhof's inclination factors."""
    tilt = inclination_factors(
        "meyerhof",
        phi,
        cohesion=c,
        vertical_force=v.vertical_force,
        horizontal_force=v.horizontal_force,
        area=v.effective_width,
    )
    return superposed_capacity(
        cohesion=c,
        overburden=gamma * depth,
        unit_weight=gamma,
        width=v.effective_width,
        factors=bearing_factors("vesic", phi),
        modifiers=(depth_factors("hansen", phi, depth / v.effective_width), tilt),
    )


def wall_from_weights(i: Inputs) -> Found:
    """Printed weights and arms; the last is the vertical part of the thrust."""
    unit, incl = i.get("unit", 1.0), math.radians(i["incl"])
    thrust = 0.5 * i["gamma"] * i["H"] ** 2 * i["Ka"] * unit
    forces = [Force(vertical=w, x=x) for w, x in zip(i["weights"], i["arms"], strict=True)]
    push = Force(horizontal=thrust * math.cos(incl), y=i["H"] / 3.0)
    sums = add_up((*forces, push), ())
    base = base_reaction(sums.vertical, sums.righting, sums.overturning, i["B"])
    held = sums.vertical * math.tan(math.radians(i["k1"] * i["phi2"])) + i["k2"] * i["c2"] * i["B"]
    return {
        "Pa": thrust,
        "Ph": push.horizontal,
        "V": sums.vertical,
        "Mr": sums.righting,
        "Mo": sums.overturning,
        "FS_overturning": sums.righting / sums.overturning,
        "FS_sliding": (held + i.get("Pp", 0.0)) / sums.horizontal,
        "FS_sliding_no_Pp": held / sums.horizontal,
        "e": base.eccentricity,
        "q_toe": base.toe_pressure,
        "q_heel": base.heel_pressure,
    }


def craig_cantilever(i: Inputs) -> Found:
    """A whole cantilever wall under a surcharge."""
    wall = Wall(
        unit_weight=i["gamma_c"],
        stem_height=i["H"] - i["base_t"],
        stem_top_thickness=i["stem_t"],
        stem_bottom_thickness=i["stem_t"],
        toe_width=i["B"] - i["heel"] - i["stem_t"],
        heel_width=i["heel"],
        base_thickness=i["base_t"],
    )
    result = check(
        wall=wall,
        backfill=soil(0.0, i["phi"], i["gamma"]),
        surcharge=i["q"],
        base_friction_angle=i["delta_base"],
    ).evaluate()
    v: Any = result.values
    return {
        "V": v.vertical_force,
        "W_soil": v.heel_soil_weight,
        "Ka": v.active_coefficient,
        "P_surcharge": v.thrust_from_surcharge,
        "P_soil": v.thrust - v.thrust_from_surcharge,
        "Mr": v.righting_moment,
        "e": v.eccentricity,
        "q_toe": v.toe_pressure,
        "q_heel": v.heel_pressure,
        "FS_sliding": result.factors_of_safety["sliding"],
    }


def gravity(i: Inputs) -> Wall:
    """Masonry with a vertical back."""
    return Wall(
        unit_weight=i["gamma_m"],
        shape="gravity",
        height=i["H"],
        top_width=i["top"],
        base_width=i["base"],
        back_offset=0.0,
    )


def trapezoid_gravity(i: Inputs) -> Found:
    """Pressures on the base: of the whole check, or where the fill ends lower, of its parts."""
    wall = gravity(i)
    if "h" not in i:
        v: Any = check(wall=wall, backfill=soil(0.0, i["phi"], i["gamma"])).evaluate().values
        return {"q_toe": v.toe_pressure, "q_heel": v.heel_pressure}
    section = wall_section(wall)
    fill: Any = EarthPressure(soil=soil(0.0, i["phi"], i["gamma"]), height=i["h"]).evaluate().values
    push = Force(horizontal=fill.thrust, y=fill.thrust_height)
    weight = Force(vertical=wall.unit_weight * section.wall.area, x=section.wall.x)
    sums = add_up((weight, push), ())
    base = base_reaction(sums.vertical, sums.righting, sums.overturning, section.width)
    return {"q_toe": base.toe_pressure, "q_heel": base.heel_pressure}


def cyclopedia_gravity(i: Inputs) -> Found:
    """The parts of a gravity wall; arms are measured from the back."""
    wall = gravity(i)
    section = wall_section(wall)
    fill = Layer(soil=soil(0.0, 0.0, i["gamma"]), thickness=i["H"])
    return {
        "area": section.wall.area,
        "W": wall.unit_weight * section.wall.area,
        "xbar_from_back": section.width - section.wall.x,
        "P": i["K"] * layer_overburden((fill,)).effective_sum,
    }


def jrc_a4_actions(i: Inputs) -> Found:
    """Sizes and weights of a wall under sloping ground."""
    wall = Wall(
        unit_weight=i["gamma_c"],
        stem_height=i["H"],
        stem_top_thickness=i["stem_t"],
        stem_bottom_thickness=i["stem_t"],
        toe_width=i["toe"],
        heel_width=i["B"] - i["toe"] - i["stem_t"],
        base_thickness=i["base_t"],
    )
    section = wall_section(wall)
    whole = (section.front[0], *section.back, *reversed(section.front))
    w_base = i["gamma_c"] * region(whole, below=i["base_t"]).area
    v: Any = (
        check(
            wall=wall,
            backfill=soil(0.0, i["phi"], i["gamma"]),
            backfill_slope_angle=i["beta"],
            surcharge=i["p"],
        )
        .evaluate()
        .values
    )
    return {
        "b_heel": v.base_width - i["toe"] - i["stem_t"],
        "h_f": v.thrust_plane_height - i["base_t"],
        "H_heel": v.thrust_plane_height,
        "W_stem": v.wall_weight - w_base,
        "W_base": w_base,
        "W_wall": v.wall_weight,
        "W_fill": v.heel_soil_weight,
        "W_G": v.wall_weight + v.heel_soil_weight,
        "Q_q": i["p"] * section.top_to_heel,
        "Ka_beta": v.active_coefficient,
    }


def middle_third(i: Inputs) -> Found:
    """A resultant a third of the width from the toe."""
    base = base_reaction(i["V"], i["V"] * i["B"] / 3.0, 0.0, i["B"])
    return {"q_toe": base.toe_pressure, "q_heel": base.heel_pressure}


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        das_cantilever,
        wall_from_weights,
        craig_cantilever,
        trapezoid_gravity,
        cyclopedia_gravity,
        jrc_a4_actions,
        middle_third,
    )
}
"""By the name a row calls it."""
