"""What must not be parted from factors that are worked out anew: swept, sampled, mapped.

The notices of a check belong to it as it stands in the scenario. Whoever asks a further
question of it reads them beside the answer.
"""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from typing import TYPE_CHECKING

from slipmargin.cli.questions.as_used import as_used
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.stability import Check
from slipmargin.stability.check import left_out_notice
from slipmargin.strength import InputError, Notice, Severity
from slipmargin.strength.notice import distinct

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis

__all__ = ["SHOWN_BY_THE_FACTORS", "of_the_checks", "owed"]

SHOWN_BY_THE_FACTORS = frozenset(
    {"below-target", "below-customary-factor", "planar-search-unconservative"}
)


def owed(
    scenario: Scenario,
    entry: CheckEntry,
    shown: Collection[str],
    *,
    by_sets: bool = False,
    samples: int = 1,
) -> tuple[Notice, ...]:
    """The notices of weight caution or stop of a check as used, and what the question adds.

    ``shown`` are the limit states that the question answers for; ``by_sets`` says that it answers
    for degrees of utilisation too, ``samples`` how many it puts into the check at once.
    """
    check = entry.check
    result = as_used(check, check.SLOW)
    answered = (*result.factors_of_safety, *check.SLOW)
    found = list(scenario.notices)
    for name in entry.soil_names:
        found += scenario.soils[name].notices
    found += [n for n in result.notices if n.code not in SHOWN_BY_THE_FACTORS]
    found = [notice for notice in found if notice.severity != Severity.INFO]
    found += [left_out_notice(one) for one in answered if one not in shown]
    found += check.of_samples(samples)
    basis = scenario.basis
    if basis is not None and basis.sets:
        found += _of_sets(basis, check) if by_sets else [_NO_SETS]
    return distinct(found)


def of_the_checks(scenario: Scenario) -> frozenset[Notice]:
    """The notices that ``check`` prints of a scenario, but for those of slow limit states."""
    found = list(scenario.notices)
    for soil in scenario.soils.values():
        found += soil.notices
    for entry in scenario.checks:
        with suppress(InputError):  # of a check that was not asked about
            found += as_used(entry.check, entry.check.SLOW).notices
    return frozenset(found)


_NO_SETS = Notice.caution(
    "partial-factors-left-out",
    "These factors are of strengths and loads as they are: no set of partial factors is applied "
    "to them. `check` gives the degrees of utilisation.",
)


def _of_sets(basis: Basis, check: Check) -> list[Notice]:
    """What must not be parted from degrees of utilisation."""
    return [
        notice
        for design in basis.design(check, leave_out=check.SLOW)
        for notice in design.notices
        if notice.severity != Severity.INFO
    ]
