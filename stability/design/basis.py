"""Basis of design: what a check is held to, global factors or partial factors.

``global``: a least factor of safety for each limit state, sliding, overturning and bearing of
a wall, ``overall`` of the ground around it and ``slope`` for sliding of the ground. Which limit
state is judged against which is stated in :mod:`stability.design.customary_targets`.

``partial``: sets of partial factors (:mod:`stability.design.partial_factors`), each applied in turn
and shown beside the others. None applies by default.

How a set acts on a slope is stated in :mod:`stability.design.slope`, how on a wall in
:mod:`stability.design.wall`.

Sources: EN 1997-1:2004, 2.4.7.3 and Annex A; customary values beside the table below.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from slipmargin.stability.check import Check, not_run_notice
from slipmargin.stability.design.customary_targets import (
    CUSTOMARY_TARGETS,
    OVERALL,
    Target,
    targets_of,
)
from slipmargin.stability.design.notices import (
    best_fit_notices,
    set_notices,
    untouched_by_level,
    wall_design_notices,
)
from slipmargin.stability.design.overall import design_overall
from slipmargin.stability.design.partial_factors import RECOMMENDED, FactorSet, factor_set
from slipmargin.stability.design.result import (
    DesignLimitState,
    DesignResult,
    best_fits,
    design_soils,
    with_cautious_strengths,
)
from slipmargin.stability.design.slope import design_slope
from slipmargin.stability.design.wall import design_wall
from slipmargin.stability.design.wall_loads import WATER
from slipmargin.strength import InputError, Notice, Numeric, distinct

__all__ = ["CUSTOMARY_TARGETS", "METHODS", "Basis", "Target", "design_check", "utilisations"]

METHODS = ("global", "partial")


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What checks are held to.

    Parameters
    ----------
    method
        ``global`` or ``partial``.
    targets
        Global: least factor by limit state, ``sliding``, ``overturning``, ``bearing``,
        ``overall`` or ``slope``; those left out take the customary value, ``overall`` that of
        ``slope`` where it is given.
    sets
        Partial: names of sets, recommended or own.
    own_sets
        Partial: sets of one's own, such as a national annex, by name.
    water_factors
        Partial: ``single_source`` (the default) gives water on a wall one factor,
        ``by_direction`` another to each of its forces that helps.

    Raises
    ------
    InputError
        An unknown method, limit state, set or way to factor water, a target not above zero,
        no set for a partial basis, or fields of the other method.
    """

    method: str
    targets: Mapping[str, Numeric] = field(default_factory=dict)
    sets: tuple[str, ...] = ()
    own_sets: Mapping[str, FactorSet] = field(default_factory=dict)
    water_factors: str | None = None

    def __post_init__(self) -> None:
        if self.method not in METHODS:
            raise InputError("method", self.method, "allowed: " + ", ".join(METHODS))
        partial = self.method == "partial"
        other = METHODS[0] if partial else METHODS[1]
        foreign = {"sets": self.sets or self.own_sets, "water_factors": self.water_factors}
        for name, given in ({"targets": self.targets} if partial else foreign).items():
            if given:
                raise InputError(name, str(given), f'allowed only with method = "{other}"')
        if self.water_factors not in (None, *WATER):
            raise InputError("water_factors", self.water_factors, "allowed: " + ", ".join(WATER))
        states = (*CUSTOMARY_TARGETS, OVERALL)
        for name, value in self.targets.items():
            if name not in states:
                raise InputError(f"targets.{name}", str(value), "allowed: " + ", ".join(states))
            if not np.all(np.isfinite(value) & (np.asarray(value) > 0.0)):
                raise InputError(f"targets.{name}", value, "allowed: above 0")
        if partial and not self.sets:
            known = ", ".join(RECOMMENDED | dict(self.own_sets))
            named = "name the sets to be shown, which your code or national annex decides: "
            raise InputError("sets", "nothing", named + known)
        repeated = {name for name in self.sets if self.sets.count(name) > 1}
        if repeated:
            raise InputError("sets", ", ".join(sorted(repeated)), "name each set once")
        for name in self.sets:
            factor_set(name, self.own_sets)

    @property
    def water(self) -> str:
        """How water on a wall is factored."""
        return WATER[0] if self.water_factors is None else self.water_factors

    @property
    def factor_sets(self) -> tuple[FactorSet, ...]:
        """The sets asked for, in order; none for a global basis."""
        return tuple(factor_set(name, self.own_sets) for name in self.sets)

    def targets_of(self, check: Check) -> dict[str, Target]:
        """The target of each limit state of a check that has one; for a partial basis those
        that the check states.
        """
        return targets_of(check, self.targets if self.method == "global" else None)

    def utilisations(self, check: Check) -> dict[str, dict[str, Numeric]]:
        """Degrees of utilisation by set and limit state; see ``utilisations``."""
        return {one.name: utilisations(check, one, self.water) for one in self.factor_sets}

    def design(self, check: Check, *, leave_out: Collection[str] = ()) -> tuple[DesignResult, ...]:
        """The check held to every set asked for, side by side; see ``design_check``."""
        return tuple(
            dataclasses.replace(one, notices=distinct((*one.notices, *self.set_notices())))
            for one in (
                design_check(check, factors, self.water, leave_out=leave_out)
                for factors in self.factor_sets
            )
        )

    def set_notices(self) -> tuple[Notice, ...]:
        """What is owed by the choice of sets."""
        pair = [name for name in ("DA1-1", "DA1-2") if name in self.sets]
        if len(pair) != 1:
            return ()
        text = (
            f"Only {pair[0]} is asked for. Design Approach 1 wants both of its combinations, DA1-1 "
            "and DA1-2, satisfied."
        )
        source = "EN 1997-1:2004, 2.4.7.3.4.2 (from memory)"
        return (Notice.caution("other-combination-missing", text, source),)


def design_check(
    check: Check, factors: FactorSet, water: str = WATER[0], *, leave_out: Collection[str] = ()
) -> DesignResult:
    """A check, scalars or arrays that broadcast, held to one set of partial factors.

    Parameters
    ----------
    water
        How water on a wall is factored, one of ``WATER``.
    leave_out
        Limit states that are not worked out.

    Raises
    ------
    InputError
        As the check's own ``evaluate``, also for its design strengths.
    """
    states, notices = _states(check, factors, water, leave_out)
    soils = design_soils(check, factors)
    fits = best_fits(check)
    on_cautious: dict[str, Numeric] = {}
    if states and any(strength.cautious is not None for strength in fits.values()):
        careful = with_cautious_strengths(check)
        found, _ = _states(careful, factors, water, leave_out)
        on_cautious = {name: state.utilisation for name, state in found.items()}
    return DesignResult(
        factor_set=factors,
        soils=soils,
        limit_states=states,
        notices=distinct(
            (
                *(best_fit_notices(fits) if states else ()),
                *notices,
                *set_notices(check, factors, soils, states),
            )
        ),
        on_cautious=on_cautious,
    )


def utilisations(check: Check, factors: FactorSet, water: str = WATER[0]) -> dict[str, Numeric]:
    """Degree of utilisation by limit state under one set, and nothing beside it; slow limit
    states are left out. ``InputError`` as ``design_check``.
    """
    if check.STRUCTURE == "wall":
        # what its notices hang on takes longer than its levels
        wall: Any = check
        states = design_wall(wall, factors, water).limit_states
    else:
        states, _ = _states(check, factors, water, check.SLOW)
    return {name: state.utilisation for name, state in states.items()}


_Found = tuple[dict[str, DesignLimitState], list[Notice]]


def _states(check: Check, factors: FactorSet, water: str, leave_out: Collection[str]) -> _Found:
    """Every limit state of a check under one set, and the notices of its structure."""
    match check.STRUCTURE:
        case "wall":
            return _wall(check, factors, water, leave_out)
        case "slope":
            return design_slope(check, factors, leave_out)
    if check.LIMIT_STATES:
        text = (
            f"No rule is known here for partial factors on {', '.join(check.LIMIT_STATES)}: only "
            "the strengths are factored, and no limit state is judged by this set."
        )
        return {}, [Notice.caution("no-partial-factors", text)]
    text = "This check has no limit state of its own: only its strengths are factored."
    return {}, [Notice.info("no-limit-state", text)]


def _wall(check: Any, factors: FactorSet, water: str, leave_out: Collection[str]) -> _Found:
    notices = untouched_by_level(check.evaluate(leave_out=check.SLOW))
    design = design_wall(check, factors, water)
    other = design_wall(check, factors, next(one for one in WATER if one != water))
    states = dict(design.limit_states)
    if "overall" not in leave_out:
        try:
            states["overall"] = design_overall(check, factors)
        except InputError as error:
            notices.append(not_run_notice("overall", error))
    return states, [*notices, *wall_design_notices(design, other, water)]
