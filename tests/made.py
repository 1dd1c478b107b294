"""What several tests share: soils and walls, the text of small scenarios, a general search."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.optimize import differential_evolution

from slipmargin.stability import RetainingWall, Soil, Wall
from slipmargin.stability.design.partial_factors import EQUILIBRIUM, FactorSet
from slipmargin.stability.retaining_wall.overall_mechanism import rotation
from slipmargin.stability.retaining_wall.overall_stability import wall_in_ground
from slipmargin.strength import Strength

_ONES: dict[str, Any] = dict.fromkeys(EQUILIBRIUM.factors, 1.0)
UNFACTORED = FactorSet(name="unfactored", **_ONES, equilibrium=FactorSet(name="ones", **_ONES))
"""Every factor 1: the degree of utilisation is then the inverse of the factor of safety."""

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


CANTILEVER: dict[str, Any] = {
    "unit_weight": 24.0,
    "stem_height": 5.3,
    "stem_top_thickness": 0.3,
    "stem_bottom_thickness": 0.5,
    "toe_width": 0.8,
    "heel_width": 2.2,
    "base_thickness": 0.6,
}


def cantilever(**fields: Any) -> Wall:
    return Wall(**(CANTILEVER | fields))


def retaining_wall(**fields: Any) -> RetainingWall:
    usual = {
        "backfill": soil(0.0, 32.0, 18.0, 20.0),
        "foundation": soil(5.0, 31.0, 18.5, 20.0),
        "wall": cantilever(),
        "embedment": 1.0,
    }
    return RetainingWall(**(usual | fields))


def most_cohesion_missing(wall: RetainingWall, factor: float) -> float:
    """What the worst rotation of a wall lacks at a factor [kPa], by a general search."""
    section = wall.section()
    ground = wall_in_ground(wall, section, ()).reduced(np.array([factor]))
    height = float(section.height)

    def lack(x: Any) -> Any:
        ahead, behind = (height * np.maximum(np.exp(one) - 0.02, 0.0)[None] for one in x[:2])
        missing = rotation(ground, ahead, behind, np.exp(x[2])[None]).missing_cohesion
        return -np.maximum(missing[0], -1e3)

    search = differential_evolution(
        lack,
        [(math.log(0.02), 1.5), (math.log(0.02), 1.5), (math.log(0.01), math.log(3.0))],
        rng=np.random.default_rng(5),
        vectorized=True,
        updating="deferred",
        popsize=40,
        maxiter=150,
        polish=False,
    )
    return -float(search.fun)
