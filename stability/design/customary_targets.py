"""Which limit state is judged against which target: the one list that every question asks.

The target that a check states is that of sliding, of ground or wall, of the ``rotation`` of
the slope of a searched plane and of ``overall`` stability around a wall. Overturning and
bearing have customary values of their own, so that one number can never speak for them. What a
check does not state is taken from the basis of design, and last of all from custom, which is
marked as such. A check without a target is judged only where a basis of global factors is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.stability.check import OF_THE_CHECK, Check, below_target, in_words
from slipmargin.stability.factor_text import factor_text
from slipmargin.strength import Notice, Numeric
from slipmargin.strength.traced import some

__all__ = [
    "CUSTOMARY_SOURCE",
    "CUSTOMARY_TARGETS",
    "OVERALL",
    "Target",
    "below_customary",
    "margin",
    "missed_targets",
    "targets_of",
]

OVERALL = "overall"
"""Limit state of the ground around a wall."""

_STATED = "stated for the check"


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A least factor of safety [-], where it comes from, and whether it is only customary."""

    value: Numeric
    source: str
    customary: bool = False

    @property
    def text(self) -> str:
        """The target as it is written; a customary one is named so."""
        value = float(np.max(self.value))
        text = f"{value:.2f}" if round(value, 2) == value else f"{value:g}"
        return f"customary {text}" if self.customary else text


CUSTOMARY_SOURCE = (
    "Das, Principles of Foundation Engineering, ch. 8 (customary values, from memory)"
)
_SLOPES = "USACE EM 1110-2-1902 (2003), Table 3-1, long term with steady seepage (from memory)"

CUSTOMARY_TARGETS = {
    name: Target(value=least, source=source, customary=True)
    for name, least, source in (
        ("slope", 1.5, _SLOPES),
        ("sliding", 1.5, CUSTOMARY_SOURCE),
        ("overturning", 2.0, CUSTOMARY_SOURCE),
        ("bearing", 3.0, CUSTOMARY_SOURCE),
    )
}
"""Customary least factors of safety, without shaking, each with its source; that of a slope
is that of the ground around a wall too."""


def below_customary(name: str, factor: float, target: Target) -> Notice:
    """The notice owed when a factor misses the customary value of its limit state."""
    return Notice.caution(
        "below-customary-factor",
        f"The factor of safety against {in_words(name)}, {factor_text(factor)}, is below the "
        f"customary {float(np.max(target.value)):g}.",
        target.source,
    )


def targets_of(check: Check, stated: Mapping[str, Numeric] | None = None) -> dict[str, Target]:
    """The target of each limit state of a check that is held to one; ``stated`` are those of a
    basis of global factors, as in ``Basis``, ``None`` without such a basis.

    Examples
    --------
    >>> from slipmargin.stability.design.customary_targets import targets_of
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> targets_of(slope), targets_of(slope, {"slope": 1.3})["sliding"].value
    ({}, 1.3)
    """
    own = getattr(check, "target", None)
    if own is None and stated is None:
        return {}
    found = {state: _target(check, state, own, stated or {}) for state in check.limit_states}
    return {state: target for state, target in found.items() if target is not None}


def _target(
    check: Check, state: str, own: Numeric | None, stated: Mapping[str, Numeric]
) -> Target | None:
    if own is not None and state in OF_THE_CHECK:
        return Target(value=own, source=_STATED)
    # the ground of a slope has one name for all; where there is a wall, each keeps its own
    names: tuple[str, ...] = ("slope",) if check.STRUCTURE == "slope" else (state,)
    if state == OVERALL:
        names = (OVERALL, "slope")
    for name in names:
        if name in stated:
            return Target(value=stated[name], source="stated in the basis of design")
    return CUSTOMARY_TARGETS.get(names[-1])


def margin(factors: Mapping[str, Numeric], targets: Mapping[str, Target]) -> Numeric:
    """Lowest factor over its target [-]: 1 where the last of the targets is just met;
    ``ValueError``: no factor has a target.
    """
    shares = [
        np.asarray(factor, dtype=float) / np.asarray(targets[state].value, dtype=float)
        for state, factor in factors.items()
        if state in targets
    ]
    result: Numeric = np.min(np.stack(np.broadcast_arrays(*shares)), axis=0)
    return result


def missed_targets(
    check: Check, factors: Mapping[str, Numeric], targets: Mapping[str, Target]
) -> Iterator[Notice]:
    """What is owed by the targets of a check, as ``targets_of`` gives them, with its factors by
    limit state; for those that it states it speaks itself.
    """
    for name, target in targets.items():
        if name not in factors or target.source == _STATED:
            continue
        if not some(factors[name] < target.value):
            continue
        lowest = float(np.min(factors[name]))
        if target.customary:
            yield below_customary(name, lowest, target)
        else:
            yield below_target(name, lowest, target.value)
    customary = {name: one for name, one in targets.items() if one.customary}
    if customary:
        yield _customary(check, customary)


def _customary(check: Any, targets: Mapping[str, Target]) -> Notice:
    listed = ", ".join(f"{name} {float(one.value):g}" for name, one in targets.items())
    shaken = some(getattr(check, "horizontal_seismic_coefficient", 0.0) > 0.0)
    return Notice.info(
        "customary-target",
        f"No target is given for {listed}: customary values, not a requirement of this job."
        + (" They are meant for loads without shaking." if shaken else ""),
        "; ".join(dict.fromkeys(one.source for one in targets.values())),
    )
