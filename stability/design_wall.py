"""The limit states of a retaining wall under partial factors.

Forces are those of the check with design strengths, factored as effects. What the surcharge
adds is the difference of two balances, with it and without it; all else is permanent, water
and shaking included. A force that helps takes the favourable factor and one that hinders the
unfavourable one, each by its own direction: water behind and uplift hinder, water in front
helps, whatever their common source.

    sliding      γ_G H_g + γ_Q H_q against (V tan δ_d + a_d B) / γ_R;h + f_p P_p / γ_R;e,
                 V of favourable permanent forces
    bearing      V_d against q_u B′ / γ_R;v, with the weights unfavourable and favourable,
                 inclination and eccentricity of the factored load
    overturning  overturning against righting moment, by the set of static equilibrium

Every one is also looked at without the surcharge, and the worse counts.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stability.design_result import DesignLimitState, utilisation, with_design_strengths
from stability.partial_factors import FactorSet
from stability.retaining_wall import RetainingWall
from stability.retaining_wall_values import RetainingWallValues
from stability.wall_balance import bearing_on_base, retaining_wall
from stability.wall_equilibrium import Force, Sums, add_up, base_reaction
from stability.wall_section import WallSection
from strength import Numeric

__all__ = ["WallDesign", "design_wall"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallDesign:
    """Limit states of a wall under one set, and what its notices hang on.

    Parameters
    ----------
    limit_states
        Sliding, overturning and bearing.
    stands
        Where the theory has a thrust for the design strengths.
    eccentricity_share
        Largest |e| / B of the factored loads in bearing [-]; nan where nothing presses.
    """

    limit_states: dict[str, DesignLimitState]
    stands: NDArray[np.bool_]
    eccentricity_share: Floats


@dataclass(frozen=True, slots=True)
class _Multipliers:
    """Factors by direction: outward, inward, downward, upward."""

    out: float
    inward: float
    down: float
    up: float

    def on(self, force: Force) -> Force:
        across, along = np.asarray(force.horizontal), np.asarray(force.vertical)
        return Force(
            horizontal=across * np.where(across > 0.0, self.out, self.inward),
            vertical=along * np.where(along > 0.0, self.down, self.up),
            x=force.x,
            y=force.y,
        )


class _Balance:
    """The wall with the strengths of one set, with the surcharge and without it."""

    def __init__(self, check: RetainingWall, factors: FactorSet, section: WallSection) -> None:
        self.factors, self.section = factors, section
        self.check: RetainingWall = with_design_strengths(check, factors)
        bare = dataclasses.replace(self.check, surcharge=0.0)
        self.bare = retaining_wall(bare, section)
        loaded = np.any(np.asarray(check.surcharge) > 0.0)
        self.loaded = retaining_wall(self.check, section) if loaded else None

    @property
    def stands(self) -> NDArray[np.bool_]:
        """Where the theory has a thrust."""
        found = np.isfinite(self.bare.active_coefficient)
        return np.asarray(found & np.isfinite(self.bare.seismic_coefficient))

    def cases(self, *, pressing: bool) -> Iterable[Sums]:
        """Factored sums, without the surcharge and with it.

        ``pressing`` has the downward forces unfavourable, as bearing may.
        """
        f = self.factors
        bad, good = f.permanent_unfavourable, f.permanent_favourable
        weight = f.factors["structural_permanent_unfavourable"]
        ground = _Multipliers(bad, good, *((bad, good) if pressing else (good, bad)))
        wall = _Multipliers(weight, good, weight if pressing else good, weight)
        structure, usual, opposite = _forces(self.bare)
        permanent = add_up(
            usual=(*map(wall.on, structure), *map(ground.on, usual)),
            opposite=map(ground.on, opposite),
        )
        yield permanent
        if self.loaded is None:
            return
        bad, good = f.variable_unfavourable, f.variable_favourable
        added = {
            name: np.asarray(getattr(self.loaded, value)) - getattr(self.bare, value)
            for name, value in _SUMS.items()
        }
        lifts = added["vertical"] < 0.0
        vertical = np.where(lifts, good if pressing else bad, bad if pressing else good)
        yield Sums(
            vertical=permanent.vertical + vertical * added["vertical"],
            horizontal=permanent.horizontal + bad * added["horizontal"],
            righting=permanent.righting + vertical * added["righting"],
            overturning=permanent.overturning + bad * added["overturning"],
        )


_SUMS = {
    "vertical": "vertical_force",
    "horizontal": "horizontal_force",
    "righting": "righting_moment",
    "overturning": "overturning_moment",
}


def _forces(
    v: RetainingWallValues,
) -> tuple[tuple[Force, ...], tuple[Force, ...], tuple[Force, ...]]:
    """Forces of the wall itself, the other usual ones, and those that lift or push inward.

    The thrust on a key has no arm: it acts below the toe and is left out of the moments.
    """
    structure = (
        Force(
            horizontal=v.wall_inertia,
            vertical=v.wall_weight,
            x=v.wall_arm,
            y=v.wall_centroid_height,
        ),
        Force(vertical=v.key_weight, x=v.key_arm),
    )
    usual = (
        Force(
            horizontal=v.heel_soil_inertia,
            vertical=v.heel_soil_weight,
            x=v.heel_soil_arm,
            y=v.heel_soil_centroid_height,
        ),
        Force(
            horizontal=v.thrust_horizontal,
            vertical=v.thrust_vertical,
            x=v.thrust_arm,
            y=v.thrust_height,
        ),
        Force(
            horizontal=v.thrust_increment_horizontal,
            vertical=v.thrust_increment_vertical,
            x=v.thrust_increment_arm,
            y=v.thrust_increment_height,
        ),
        Force(
            horizontal=v.water_thrust,
            vertical=v.water_on_back,
            x=v.water_on_back_arm,
            y=np.asarray(v.water_height_behind) / 3.0,
        ),
        Force(horizontal=v.key_thrust),
        Force(vertical=v.water_on_toe, x=v.water_on_toe_arm),
    )
    opposite = (
        Force(vertical=-np.asarray(v.uplift), x=v.uplift_arm),
        Force(
            horizontal=-np.asarray(v.water_thrust_in_front),
            y=np.asarray(v.water_height_in_front) / 3.0,
        ),
    )
    return structure, usual, opposite


def design_wall(check: RetainingWall, factors: FactorSet) -> WallDesign:
    """Degrees of utilisation of a wall under one set of partial factors.

    Parameters
    ----------
    check
        A wall whose fields are good; scalars or arrays that broadcast.
    factors
        The set; overturning is held to the set of static equilibrium that it names.
    """
    section = check.section()
    balance = _Balance(check, factors, section)
    standing = _Balance(check, factors.overturning, section)
    bearing, eccentricity = _bearing(balance)
    return WallDesign(
        limit_states={
            "sliding": _sliding(balance),
            "overturning": _overturning(standing),
            "bearing": bearing,
        },
        stands=balance.stands & standing.stands,
        eccentricity_share=eccentricity,
    )


def _sliding(balance: _Balance) -> DesignLimitState:
    wall, factors, bare = balance.check, balance.factors, balance.bare
    tan = np.tan(np.radians(bare.sliding_friction_angle))
    held = np.asarray(wall.base_adhesion) * bare.base_width
    passive = np.asarray(wall.passive_fraction) * bare.passive_resistance
    cases = []
    for sums in balance.cases(pressing=False):
        base = (np.maximum(sums.vertical, 0.0) * tan + held) / factors.sliding
        cases.append((sums.horizontal, base + passive / factors.earth_resistance))
    return _governing(
        cases,
        balance,
        unit="kN/m",
        says="horizontal force against friction and adhesion on the base and what is counted "
        "of the passive resistance",
        used=("sliding", "earth_resistance"),
    )


def _overturning(balance: _Balance) -> DesignLimitState:
    return _governing(
        [(sums.overturning, sums.righting) for sums in balance.cases(pressing=False)],
        balance,
        unit="kN·m/m",
        says="overturning against righting moment about the toe, as loss of static equilibrium",
        used=(),
    )


def _bearing(balance: _Balance) -> tuple[DesignLimitState, Floats]:
    width = np.asarray(balance.bare.base_width)
    cases, share = [], np.full((), np.nan)
    for pressing in (True, False):
        for sums in balance.cases(pressing=pressing):
            reaction = base_reaction(sums.vertical, sums.righting, sums.overturning, width)
            _, _, factor, _, _ = bearing_on_base(
                balance.check, balance.section, sums.vertical, sums.horizontal, reaction
            )
            down = np.maximum(sums.vertical, 0.0)
            # nothing presses: the wall floats, which is no pass
            carried = np.where(sums.vertical > 0.0, factor * down / balance.factors.bearing, 0.0)
            cases.append((np.where(down > 0.0, down, np.nan), carried))
            share = np.fmax(share, np.abs(reaction.eccentricity) / width)
    state = _governing(
        cases,
        balance,
        unit="kN/m",
        says="vertical force on the base against its bearing capacity on the effective width",
        used=("bearing",),
    )
    return state, share


_ON_FORCES = (
    "permanent_unfavourable",
    "permanent_favourable",
    "variable_unfavourable",
    "variable_favourable",
    "structural_permanent_unfavourable",
)
_ON_STRENGTHS = ("tan_friction_angle", "cohesion")


def _governing(
    cases: Sequence[tuple[Numeric, Numeric]],
    balance: _Balance,
    *,
    unit: str,
    says: str,
    used: tuple[str, ...],
) -> DesignLimitState:
    """The case of the highest utilisation, element by element."""
    stands = balance.stands
    effects, resistances = ([np.asarray(case[i], dtype=float) for case in cases] for i in (0, 1))
    shape = np.broadcast_shapes(stands.shape, *(one.shape for one in (*effects, *resistances)))
    effect, resistance = (
        np.stack([np.broadcast_to(one, shape) for one in side]) for side in (effects, resistances)
    )
    level = np.where(stands, utilisation(effect, resistance), np.inf)
    worst = np.argmax(level, axis=0)[None]

    def at_worst(table: Floats) -> Floats:
        governing: Floats = np.take_along_axis(table, worst, axis=0)[0]
        return governing[()]

    by_name = balance.factors.factors
    return DesignLimitState(
        effect=at_worst(effect),
        resistance=at_worst(resistance),
        utilisation=at_worst(level),
        unit=unit,
        says=says,
        set_name=balance.factors.name,
        factors={name: by_name[name] for name in (*_ON_FORCES, *_ON_STRENGTHS, *used)},
    )
