"""What must not be parted from factors that are worked out anew: swept, sampled, mapped.

The notices of a check belong to it as it stands in the scenario. Whoever asks a further
question of it reads them beside the answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.stability import Check, CheckResult
from slipmargin.stability.design.customary_targets import judged_states
from slipmargin.stability.planar_wedge.rotation_beside import Beside
from slipmargin.strength import Notice, Severity
from slipmargin.strength.notice import distinct

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis

__all__ = ["SHOWN_BY_THE_FACTORS", "owed"]

SHOWN_BY_THE_FACTORS = frozenset(
    {"below-target", "below-customary-factor", "planar-search-unconservative"}
)


def owed(
    scenario: Scenario,
    entry: CheckEntry,
    result: CheckResult,
    beside: Beside | None,
    *,
    by_sets: bool = False,
) -> tuple[Notice, ...]:
    """The notices of weight caution or stop of a check as used, and what the question adds.

    Parameters
    ----------
    scenario, entry
        Where the check stands.
    result, beside
        What it gave, and the rotation beside it.
    by_sets
        The question answers for degrees of utilisation too.
    """
    found = list(scenario.notices)
    for name in dict.fromkeys(entry.soils.values()):
        found += scenario.soils[name].notices
    found += [n for n in result.notices if n.code not in SHOWN_BY_THE_FACTORS]
    found = [notice for notice in found if notice.severity != Severity.INFO]
    found += () if beside is None else beside.notices
    found += _left_out(entry.check)
    basis = scenario.basis
    if basis is not None and basis.sets:
        found += _of_sets(basis, entry.check, beside) if by_sets else [_NO_SETS]
    return distinct(found)


def _left_out(check: Any) -> list[Notice]:
    found = []
    if "overall" in judged_states(check):
        found.append(
            Notice.caution(
                "overall-left-out",
                "The overall stability of the ground around the wall is not among these factors, "
                "and may be lower: `check` gives it.",
            )
        )
    return found


_NO_SETS = Notice.caution(
    "partial-factors-left-out",
    "These factors are of strengths and loads as they are: no set of partial factors is applied "
    "to them. `check` gives the degrees of utilisation.",
)


def _of_sets(basis: Basis, check: Check, beside: Beside | None) -> list[Notice]:
    """What must not be parted from degrees of utilisation."""
    held = [check, *([] if beside is None or beside.check is None else [beside.check])]
    return [
        notice
        for one in held
        for design in basis.design(one, around=False)
        for notice in design.notices
        if notice.severity != Severity.INFO
    ]
