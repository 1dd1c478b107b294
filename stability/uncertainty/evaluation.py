"""How the factors of drawn values are found: by the check itself, or read from a grid of curves."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import Check
from slipmargin.stability.law_family import MOST_FIELDS, LawFamily
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.stability.uncertainty.doubts import CorrelatedDoubt, Doubt, FieldDoubt, JointDoubt
from slipmargin.stability.uncertainty.possible_draws import drawn_at

__all__ = ["Evaluation", "evaluation", "factors_of_draws"]

Floats = NDArray[np.float64]
Evaluator = Callable[[Sequence[Mapping[str, Floats]]], Mapping[str, Floats]]

_DIRECT = 2000  # samples up to which a search for each is cheaper than a grid of curves
_PROBES = 24
_WORST_ERROR = 0.02


@dataclass(frozen=True, slots=True)
class Evaluation:
    """What turns drawn values into factors, and what is left out of them.

    ``errors`` are the measured relative errors of the limit states that are not exact.
    """

    factors: Evaluator
    leave_out: Collection[str]
    errors: Mapping[str, float] = field(default_factory=dict)


def evaluation(
    check: Check,
    doubts: Sequence[Doubt],
    samples: int,
    leave_out: Collection[str] | None = None,
) -> Evaluation:
    """The quickest way to the factors of so many samples.

    A searched surface under a few doubts beside the strength goes through a grid of curves,
    held against direct searches; everything else through the check itself. ``leave_out`` are the
    limit states that are not sampled, by default the slow ones.
    """
    rng = np.random.default_rng(samples)
    left_out = set(check.SLOW if leave_out is None else leave_out)
    exact = Evaluation(partial(factors_of_draws, check, doubts, leave_out=left_out), left_out)

    members = [member for doubt in doubts for member in _members(doubt)]
    others = [m for m in members if isinstance(m, FieldDoubt) and not _of_strength(m)]
    if not 0 < len(others) <= MOST_FIELDS or samples <= _DIRECT:
        return exact
    ends = np.array([0.5 / samples, 1.0 - 0.5 / samples])
    ranges = []
    for member in others:
        low, high = (float(v) for v in member.quantile(ends))
        trial = np.linspace(low, high, 2001)
        trial = trial[member.possible(trial)]
        if not trial.size:
            return exact
        ranges.append((float(trial[0]), float(trial[-1])))

    def law_at(state: str, values: Sequence[float]) -> StrengthLaw | None:
        moved = check
        for member, value in zip(others, values, strict=True):
            moved = member.apply(moved, {member.field: value})
        return moved.behind(state).strength_law()

    states = [state for state in check.limit_states if state not in left_out]
    families = {
        state: family
        for state in states
        if (family := LawFamily.build(partial(law_at, state), ranges)) is not None
    }

    def by_families(drawn: Sequence[Mapping[str, Floats]]) -> Mapping[str, Floats]:
        moved = check
        values: dict[str, Floats] = {}
        for doubt, given in zip(doubts, drawn, strict=True):
            values |= given
            for member in _members(doubt):
                if _of_strength(member):
                    moved = member.apply(moved, given)
        strength = moved.soil.strength  # type: ignore[attr-defined]
        fields = [values[m.field] for m in others]
        found = {s: np.asarray(one.factor_of(strength, fields)) for s, one in families.items()}
        if len(found) < len(states):
            found |= factors_of_draws(check, doubts, drawn, leave_out={*left_out, *found})
        return {state: found[state] for state in states}

    if not families:
        return exact
    drawn, kept = drawn_at(doubts, rng.random((8 * _PROBES, sum(d.dimensions for d in doubts))))
    some = np.flatnonzero(kept)[:_PROBES]
    probes = [{k: v[some] for k, v in values.items()} for values in drawn]
    searched, near = exact.factors(probes), by_families(probes)
    errors: dict[str, float] = {}
    for state, one in searched.items():
        if state not in families:
            continue
        error = float(np.max(np.abs(near[state] / one - 1.0), initial=0.0, where=one > 0.0))
        if error < _WORST_ERROR:
            errors[state] = error
        else:
            del families[state]
    return Evaluation(by_families, left_out, errors) if families else exact


def _members(doubt: Doubt) -> tuple[JointDoubt | FieldDoubt, ...]:
    if isinstance(doubt, CorrelatedDoubt):
        return doubt.members
    return (doubt,) if isinstance(doubt, (JointDoubt, FieldDoubt)) else ()


def _of_strength(member: JointDoubt | FieldDoubt) -> bool:
    if isinstance(member, JointDoubt):
        return True
    return member.field.endswith((".cohesion", ".friction_angle"))


def factors_of_draws(
    check: Check,
    doubts: Sequence[Doubt],
    drawn: Sequence[Mapping[str, Floats | float]],
    *,
    leave_out: Collection[str],
) -> dict[str, Floats]:
    """Factors of a check with drawn values in it, straight from the check, by limit state."""
    for doubt, values in zip(doubts, drawn, strict=True):
        check = doubt.apply(check, values)
    found = check.factors_alone(leave_out=leave_out)
    return {k: np.asarray(v, dtype=float) for k, v in found.items()}
