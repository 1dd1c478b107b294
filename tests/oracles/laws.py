"""Laws of monotony: which way a factor or a thrust must go when one input grows alone.

Every law is one call of a check with arrays before the growth and one after it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability import (
    EarthPressure,
    InfiniteSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
)
from slipmargin.stability.check import factors_alone
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import Strength

Floats = Any
Inputs = dict[str, Floats]
SLACK = 1e-9


@dataclass(frozen=True)
class Law:
    """What an input does.

    ``draw`` gives arrays of inputs, ``work`` the outputs of them, ``grows`` the input that is
    made larger by up to ``most`` of ``step``, ``way`` +1 where the output rises with it; one
    in ``share`` of the cases asked for is run, and ``slack`` is what a search may be off.
    """

    draw: Callable[[np.random.Generator, int], Inputs]
    work: Callable[[Inputs], Floats]
    grows: str
    step: float
    way: int
    share: int = 1
    slack: float = SLACK


@dataclass(frozen=True)
class Checked:
    """Pairs compared, how many went the wrong way, and by how much at worst."""

    pairs: int
    broken: int
    worst: float


def check(law: Law, cases: int, seed: int) -> Checked:
    """Hold random pairs to a law."""
    rng = np.random.default_rng(seed)
    n = max(cases // law.share, 1)
    inputs = law.draw(rng, n)
    before = law.work(inputs)
    grown = inputs[law.grows] + law.step * rng.uniform(0.05, 1.0, n)
    after = law.work(inputs | {law.grows: grown})
    both = np.isfinite(before) & np.isfinite(after) & (before > 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        wrong = np.where(both, law.way * (before - after) / np.abs(before), -np.inf)
    # without limit before, a growth that lowers may end it, and one that raises may not
    wrong = np.where(np.isinf(before) & ~np.isinf(after) & (law.way > 0), np.inf, wrong)
    broken = wrong > law.slack
    return Checked(int(both.sum()), int(broken.sum()), float(np.max(wrong, initial=0.0)))


def _soil(of: Inputs) -> Soil:
    return Soil(
        strength=Strength(cohesion=of["c"], friction_angle=of["phi"]),
        unit_weight=of["gamma"],
        saturated_unit_weight=of["gamma"] + 1.5,
    )


def _strengths(rng: np.random.Generator, n: int) -> Inputs:
    return {
        "c": rng.uniform(2.0, 25.0, n),
        "phi": rng.uniform(18.0, 38.0, n),
        "gamma": rng.uniform(16.0, 21.0, n),
    }


_NOT_FIELDS = ("c", "phi", "gamma")


def _fields(of: Inputs) -> Inputs:
    return {name: value for name, value in of.items() if name not in _NOT_FIELDS}


def _factor(of_kind: Any) -> Callable[[Inputs], Floats]:
    def work(of: Inputs) -> Floats:
        return np.asarray(factors_alone(of_kind(soil=_soil(of), **_fields(of)))["sliding"])

    return work


def _infinite(rng: np.random.Generator, n: int) -> Inputs:
    depth = rng.uniform(1.0, 5.0, n)
    return _strengths(rng, n) | {
        "slope_angle": rng.uniform(10.0, 38.0, n),
        "depth": depth,
        "water_table_depth": depth * rng.uniform(0.3, 0.9, n),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.15, n),
        "root_cohesion": rng.uniform(0.0, 4.0, n),
    }


def _dry(rng: np.random.Generator, n: int) -> Inputs:
    drawn = _infinite(rng, n) | {"surcharge": rng.uniform(0.0, 20.0, n)}
    return {name: value for name, value in drawn.items() if name != "water_table_depth"}


def _submerged(rng: np.random.Generator, n: int) -> Inputs:
    drawn = _infinite(rng, n) | {"submerged": True}
    return {name: value for name, value in drawn.items() if name != "water_table_depth"}


def _given_plane(rng: np.random.Generator, n: int) -> Inputs:
    face = rng.uniform(50.0, 88.0, n)
    return _strengths(rng, n) | {
        "height": rng.uniform(3.0, 15.0, n),
        "face_angle": face,
        # a steeper plane may be lifted by its water, and friction then works the other way
        "plane_angle": np.minimum(face - rng.uniform(12.0, 25.0, n), 48.0),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.15, n),
        "pore_pressure_ratio": rng.uniform(0.0, 0.15, n),
        "support_force": rng.uniform(0.0, 20.0, n),
        "support_angle": rng.uniform(-10.0, 30.0, n),
    }


def _cracked(rng: np.random.Generator, n: int) -> Inputs:
    drawn = _given_plane(rng, n)
    height = rng.uniform(6.0, 15.0, n)
    face, plane = np.radians(drawn["face_angle"]), np.radians(drawn["plane_angle"])
    depth = height * (1.0 - (1.0 / np.tan(face) + 0.05) * np.tan(plane))
    return drawn | {
        "height": height,
        "pore_pressure_ratio": np.zeros(n),
        "tension_crack_distance": 0.05 * height,
        "tension_crack_water_depth": rng.uniform(0.0, 0.7, n) * depth,
    }


def _searched(rng: np.random.Generator, n: int) -> Inputs:
    return _strengths(rng, n) | {
        "height": rng.uniform(3.0, 15.0, n),
        "face_angle": rng.uniform(45.0, 85.0, n),
        "upper_slope_angle": rng.uniform(0.0, 8.0, n),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.15, n),
        "surcharge": rng.uniform(0.0, 20.0, n),
    }


def _wet_searched(rng: np.random.Generator, n: int) -> Inputs:
    return _searched(rng, n) | {"pore_pressure_ratio": rng.uniform(0.0, 0.3, n)}


def _rotation(rng: np.random.Generator, n: int) -> Inputs:
    return _strengths(rng, n) | {
        "height": rng.uniform(4.0, 15.0, n),
        "face_angle": rng.uniform(30.0, 80.0, n),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.12, n),
        "pore_pressure_ratio": rng.uniform(0.0, 0.3, n),
        "firm_ground_depth": rng.uniform(1.0, 10.0, n),
    }


def _held_by_friction(rng: np.random.Generator, n: int) -> Inputs:
    """Where water does not carry all of the normal stress, and friction does not lower the factor:
    the check says so with a stop on steep, wet slopes.
    """
    return _rotation(rng, n) | {
        "face_angle": rng.uniform(30.0, 65.0, n),
        "pore_pressure_ratio": rng.uniform(0.0, 0.15, n),
    }


def _thrust(side: str, theory: str) -> Callable[[Inputs], Floats]:
    def work(of: Inputs) -> Floats:
        held = EarthPressure(soil=_soil(of), side=side, theory=theory, **_fields(of))
        return np.asarray(held.evaluate(leave_out=("overall",)).values.thrust)

    return work


def _pressed(rng: np.random.Generator, n: int) -> Inputs:
    return _strengths(rng, n) | {
        "phi": rng.uniform(26.0, 40.0, n),
        "c": rng.uniform(0.0, 3.0, n),
        "height": rng.uniform(3.0, 9.0, n),
        "surcharge": rng.uniform(5.0, 20.0, n),
    }


def _by_coulomb(rng: np.random.Generator, n: int) -> Inputs:
    return _pressed(rng, n) | {
        "c": np.zeros(n),
        "wall_friction_angle": rng.uniform(0.0, 8.0, n),
        "wall_batter": rng.uniform(0.0, 10.0, n),
        "backfill_slope_angle": rng.uniform(0.0, 10.0, n),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.12, n),
    }


def _walls(rng: np.random.Generator, n: int) -> Inputs:
    return {
        "phi": rng.uniform(28.0, 38.0, n),
        "heel": rng.uniform(1.5, 3.0, n),
        "surcharge": rng.uniform(0.0, 15.0, n),
        "base_friction_angle": rng.uniform(16.0, 26.0, n),
        "horizontal_seismic_coefficient": rng.uniform(0.0, 0.1, n),
        "below": rng.uniform(28.0, 38.0, n),
    }


def _of_wall(state: str) -> Callable[[Inputs], Floats]:
    def work(of: Inputs) -> Floats:
        held = RetainingWall(
            backfill=Soil(
                strength=Strength(cohesion=0.0, friction_angle=of["phi"]), unit_weight=18.0
            ),
            foundation=Soil(
                strength=Strength(cohesion=2.0, friction_angle=of["below"]), unit_weight=19.0
            ),
            wall=Wall(
                unit_weight=24.0, shape="cantilever", stem_height=4.0, stem_top_thickness=0.3,
                stem_bottom_thickness=0.45, toe_width=0.8, heel_width=of["heel"],
                base_thickness=0.5,
            ),
            embedment=0.8,
            **{k: v for k, v in of.items() if k not in ("phi", "heel", "below")},
        )  # fmt: skip
        return np.asarray(held.evaluate(leave_out=("overall",)).factors_of_safety[state])

    return work


SEARCH = 2e-6
_INFINITE, _PLANE, _TURN = _factor(InfiniteSlope), _factor(PlanarWedge), _factor(Rotational)
_ACTIVE, _PASSIVE = _thrust("active", "rankine"), _thrust("passive", "rankine")
_LEANING, _PUSHED = _thrust("active", "coulomb"), _thrust("passive", "coulomb")

LAWS: dict[str, Law] = {
    "infinite slope rises with cohesion": Law(_infinite, _INFINITE, "c", 8.0, 1),
    "infinite slope rises with the friction angle": Law(_infinite, _INFINITE, "phi", 6.0, 1),
    "infinite slope rises with roots": Law(_infinite, _INFINITE, "root_cohesion", 4.0, 1),
    "infinite slope rises as its water falls": Law(
        _infinite, _INFINITE, "water_table_depth", 1.0, 1
    ),
    "infinite slope falls with shaking": Law(
        _infinite, _INFINITE, "horizontal_seismic_coefficient", 0.1, -1
    ),
    "infinite slope falls with its angle": Law(_dry, _INFINITE, "slope_angle", 6.0, -1),
    "infinite slope falls with its depth": Law(_dry, _INFINITE, "depth", 2.0, -1),
    "infinite slope falls with a load": Law(_dry, _INFINITE, "surcharge", 20.0, -1),
    "infinite slope below still water falls with shaking": Law(
        _submerged, _INFINITE, "horizontal_seismic_coefficient", 0.1, -1
    ),
    "plane rises with cohesion": Law(_given_plane, _PLANE, "c", 8.0, 1),
    "plane rises with the friction angle": Law(_given_plane, _PLANE, "phi", 6.0, 1),
    "plane rises with support": Law(_given_plane, _PLANE, "support_force", 20.0, 1),
    "plane falls with shaking": Law(
        _given_plane, _PLANE, "horizontal_seismic_coefficient", 0.1, -1
    ),
    "plane falls with pore pressure": Law(_given_plane, _PLANE, "pore_pressure_ratio", 0.1, -1),
    "plane falls with water in its crack": Law(
        _cracked, _PLANE, "tension_crack_water_depth", 0.3, -1
    ),
    "critical plane rises with cohesion": Law(_searched, _PLANE, "c", 8.0, 1, 4, SEARCH),
    "critical plane rises with the friction angle": Law(
        _searched, _PLANE, "phi", 6.0, 1, 4, SEARCH
    ),
    "critical plane falls with height": Law(_searched, _PLANE, "height", 4.0, -1, 4, SEARCH),
    "critical plane falls with the face": Law(_searched, _PLANE, "face_angle", 4.0, -1, 4, SEARCH),
    "critical plane falls with the ground behind": Law(
        _searched, _PLANE, "upper_slope_angle", 4.0, -1, 4, SEARCH
    ),
    "critical plane falls with a load": Law(_searched, _PLANE, "surcharge", 20.0, -1, 4, SEARCH),
    "critical plane falls with shaking": Law(
        _searched, _PLANE, "horizontal_seismic_coefficient", 0.1, -1, 4, SEARCH
    ),
    "critical plane falls with pore pressure": Law(
        _wet_searched, _PLANE, "pore_pressure_ratio", 0.1, -1, 4, SEARCH
    ),
    "rotation rises with cohesion": Law(_rotation, _TURN, "c", 8.0, 1, 100, SEARCH),
    "rotation rises with the friction angle": Law(
        _held_by_friction, _TURN, "phi", 6.0, 1, 100, SEARCH
    ),
    "rotation falls with height": Law(_rotation, _TURN, "height", 4.0, -1, 100, SEARCH),
    "rotation falls with the face": Law(_rotation, _TURN, "face_angle", 6.0, -1, 100, SEARCH),
    "rotation falls with shaking": Law(
        _rotation, _TURN, "horizontal_seismic_coefficient", 0.1, -1, 100, SEARCH
    ),
    "rotation falls with pore pressure": Law(
        _rotation, _TURN, "pore_pressure_ratio", 0.1, -1, 100, SEARCH
    ),
    "rotation falls as firm ground lies deeper": Law(
        _rotation, _TURN, "firm_ground_depth", 3.0, -1, 100, SEARCH
    ),
    "active thrust falls with cohesion": Law(_pressed, _ACTIVE, "c", 4.0, -1),
    "active thrust falls with the friction angle": Law(_pressed, _ACTIVE, "phi", 5.0, -1),
    "active thrust rises with a load": Law(_pressed, _ACTIVE, "surcharge", 20.0, 1),
    "passive thrust rises with cohesion": Law(_pressed, _PASSIVE, "c", 4.0, 1),
    "passive thrust rises with the friction angle": Law(_pressed, _PASSIVE, "phi", 5.0, 1),
    "Coulomb's thrust rises with shaking": Law(
        _by_coulomb, _LEANING, "horizontal_seismic_coefficient", 0.1, 1
    ),
    "Coulomb's thrust rises with the ground behind": Law(
        _by_coulomb, _LEANING, "backfill_slope_angle", 5.0, 1
    ),
    "Coulomb's thrust falls with the friction angle": Law(_by_coulomb, _LEANING, "phi", 5.0, -1),
    "Coulomb's resistance falls with shaking": Law(
        _by_coulomb, _PUSHED, "horizontal_seismic_coefficient", 0.1, -1
    ),
    "Coulomb's resistance rises with wall friction": Law(
        _by_coulomb, _PUSHED, "wall_friction_angle", 4.0, 1
    ),
} | {
    f"{state} of a wall {'rises' if way > 0 else 'falls'} with {words}": Law(
        _walls, _of_wall(state), grows, step, way, 4
    )
    for grows, step, way, words, states in (
        ("phi", 4.0, 1, "the fill's friction angle", ("sliding", "overturning", "bearing")),
        ("base_friction_angle", 4.0, 1, "friction on its base", ("sliding",)),
        ("below", 3.0, 1, "the friction angle below it", ("bearing",)),
        ("heel", 0.5, 1, "its heel", ("sliding", "overturning")),
        ("surcharge", 15.0, -1, "a load on the fill", ("sliding", "overturning")),
        ("horizontal_seismic_coefficient", 0.1, -1, "shaking", ("sliding", "overturning")),
    )
    for state in states
}
