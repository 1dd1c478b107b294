"""Equations of the areas and arms of a wall's section, for the shapes that have them.

A cantilever is a slab and a stem with an upright back, a gravity wall a trapezoid. An outline
of points keeps the words of its declarations.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from slipmargin.stability.fields import Follows
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs

__all__ = ["section_equations"]

_HEEL_WET = "(γ_sat_1 - γ_1) * A_sw"
_TOE_WET = "(γ_sat_2 - γ_w - γ_2)"


def section_equations(check: RetainingWallInputs, values: Any) -> dict[str, Follows]:
    """Section, soil on heel and toe, and water on the toe."""
    heel_wet = bool(values.heel_soil_area_below_water > 0.0)
    toe_wet = bool(values.toe_soil_area_below_water > 0.0)
    found = {
        "heel_soil_weight": "γ_1 * A_s" + (f" + {_HEEL_WET}" if heel_wet else ""),
        "toe_soil_weight": "γ_2 * A_t" + (f" + {_TOE_WET} * A_tw" if toe_wet else ""),
    }
    if check.wall.shape == "cantilever":
        found |= _cantilever(heel_wet=heel_wet, toe_wet=toe_wet)
    elif check.wall.shape == "gravity":
        found |= _gravity(heel_wet=heel_wet, toe_wet=toe_wet)
    return {name: Follows(equation) for name, equation in found.items()}


def _cantilever(*, heel_wet: bool, toe_wet: bool) -> dict[str, str]:
    upright, sloped = "h_s * b_st", "h_s * (b_sb - b_st) / 2"
    block, rise = "b_heel * h_s", "b_heel^2 * tan(β) / 2"
    wet_x = f" + {_HEEL_WET} * (B - b_heel / 2)" if heel_wet else ""
    wet_y = f" + {_HEEL_WET} * (t_b + h_w) / 2" if heel_wet else ""
    return {
        "base_width": "b_toe + b_sb + b_heel",
        "wall_height": "h_s + t_b",
        "top_to_heel": "b_heel",
        "wall_area": "B * t_b + h_s * (b_st + b_sb) / 2",
        "wall_arm": f"(B * t_b * B / 2 + {upright} * (b_toe + b_sb - b_st / 2)"
        f" + {sloped} * (b_toe + 2 * (b_sb - b_st) / 3)) / A_w",
        "wall_centroid_height": f"(B * t_b * t_b / 2 + {upright} * (t_b + h_s / 2)"
        f" + {sloped} * (t_b + h_s / 3)) / A_w",
        "heel_soil_area": f"{block} + {rise}",
        "heel_soil_area_below_water": "b_heel * (h_w - t_b)",
        "heel_soil_arm": f"(γ_1 * ({block} * (B - b_heel / 2) + {rise} * (B - b_heel / 3))"
        f"{wet_x}) / W_s",
        "heel_soil_centroid_height": f"(γ_1 * ({block} * (t_b + h_s / 2)"
        f" + {rise} * (H + b_heel * tan(β) / 3)){wet_y}) / W_s",
    } | _in_front(_area_before_stem, _moment_before_stem, toe_wet=toe_wet)


def _area_before_stem(level: str) -> str:
    return f"b_toe * ({level} - t_b) + (b_sb - b_st) / h_s * ({level} - t_b)^2 / 2"


def _moment_before_stem(level: str) -> str:
    up, lean = f"({level} - t_b)", "(b_sb - b_st) / h_s"
    return f"(b_toe^2 * {up} + b_toe * {lean} * {up}^2 + ({lean})^2 * {up}^3 / 3) / 2"


def _gravity(*, heel_wet: bool, toe_wet: bool) -> dict[str, str]:
    front, rise = "(b_base - b_off - b_top)", "b_off^2 * tan(β) / 2"
    wet_x = f" + {_HEEL_WET} * (B - b_off * h_w / (3 * H))" if heel_wet else ""
    wet_y = f" + {_HEEL_WET} * 2 * h_w / 3" if heel_wet else ""
    return {
        "base_width": "b_base",
        "wall_height": "h_g",
        "top_to_heel": "b_off",
        "wall_area": "H * (b_base + b_top) / 2",
        "wall_arm": f"(H * {front} / 2 * 2 * {front} / 3 + H * b_top * (B - b_off - b_top / 2)"
        " + H * b_off / 2 * (B - 2 * b_off / 3)) / A_w",
        "wall_centroid_height": "H / 3 * (b_base + 2 * b_top) / (b_base + b_top)",
        "heel_soil_area": f"b_off * H / 2 + {rise}",
        "heel_soil_area_below_water": "b_off * h_w^2 / (2 * H)",
        "heel_soil_arm": f"(γ_1 * A_s * (B - b_off / 3){wet_x}) / W_s",
        "heel_soil_centroid_height": f"(γ_1 * (b_off * H / 2 * 2 * H / 3"
        f" + {rise} * (H + b_off * tan(β) / 3)){wet_y}) / W_s",
    } | _in_front(_area_before_face, _moment_before_face, toe_wet=toe_wet)


def _area_before_face(level: str) -> str:
    return f"(b_base - b_off - b_top) / H * {level}^2 / 2"


def _moment_before_face(level: str) -> str:
    return f"((b_base - b_off - b_top) / H)^2 * {level}^3 / 6"


def _in_front(
    area: Callable[[str], str], moment: Callable[[str], str], *, toe_wet: bool
) -> dict[str, str]:
    below = "min(h_t, D)"
    soil_arm = f"{moment('D')} / A_t"
    if toe_wet:
        soil_arm = f"(γ_2 * {moment('D')} + {_TOE_WET} * {moment(below)}) / W_t"
    return {
        "toe_soil_area": area("D"),
        "toe_soil_area_below_water": area(below),
        "toe_soil_arm": soil_arm,
        "water_on_toe_area": area("h_t"),
        "water_on_toe_arm": f"{moment('h_t')} / A_f",
    }
