"""What many tests begin with: soils and walls, and the text of small scenarios."""

from __future__ import annotations

from typing import Any

from slipmargin.stability import RetainingWall, Soil, Wall
from slipmargin.strength import Strength

BANK = """\
[soils.bank]
unit_weight = "18.5 kN/m^3"
[soils.bank.strength]
cohesion = "4 kPa"
friction_angle = "31 deg"
"""
SLOPE = """\
[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "28 deg"
depth = "1.8 m"
"""
SWEEP = """\
[[sweeps]]
vary = "soils.bank.friction_angle"
from = "24 deg"
to = "36 deg"
"""


def soil(c: Any = 0.0, phi: Any = 30.0, gamma: Any = 18.0, sat: Any = None) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=sat)


def cantilever(**fields: Any) -> Wall:
    usual = {
        "unit_weight": 24.0,
        "stem_height": 5.3,
        "stem_top_thickness": 0.3,
        "stem_bottom_thickness": 0.5,
        "toe_width": 0.8,
        "heel_width": 2.2,
        "base_thickness": 0.6,
    }
    return Wall(**(usual | fields))


def retaining_wall(**fields: Any) -> RetainingWall:
    usual = {
        "backfill": soil(0.0, 32.0, 18.0, 20.0),
        "foundation": soil(5.0, 31.0, 18.5, 20.0),
        "wall": cantilever(),
        "embedment": 1.0,
    }
    return RetainingWall(**(usual | fields))
