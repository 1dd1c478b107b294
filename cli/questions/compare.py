"""Versions of a scenario side by side: which inputs differ, and what that does to each factor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from slipmargin.cli.as_json import SCHEMA, check_document, notices, number
from slipmargin.cli.questions.check import CheckOutcome, Outcome, evaluate
from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.scenario.inputs import Given, differing
from slipmargin.cli.scenario.read import Scenario, load
from slipmargin.cli.words import CAUTION
from slipmargin.strength import InputError, Notice, Severity

__all__ = [
    "SideBySide",
    "compare_document",
    "load_pair",
    "load_variants",
    "side_by_side",
    "variants_document",
]

AS_WRITTEN = "as written"
"""Name of a scenario without any of its variants."""


@dataclass(frozen=True, slots=True)
class SideBySide:
    """What the checks of several versions of a scenario give.

    Parameters
    ----------
    names
        Of the versions, in order.
    outcomes
        What each gave.
    inputs
        Of each version, the inputs that differ from those of the first, before and after.
    """

    names: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    inputs: tuple[Mapping[str, tuple[Given | None, Given | None]], ...]

    @property
    def rows(self) -> dict[tuple[str, str], list[Factor | None]]:
        """Every factor, and every degree of utilisation, by check and limit state: one a
        version, ``None`` where a version has none.
        """
        found: dict[tuple[str, str], list[Factor | None]] = {}
        for index, outcome in enumerate(self.outcomes):
            for check in outcome.checks:
                for state, factor in _factors(check).items():
                    row = found.setdefault((check.entry.label, state), [None] * len(self.names))
                    row[index] = factor
        return found

    def new_notices(self, index: int) -> list[tuple[str, Notice]]:
        """What one version warns of, by check, and the first does not."""
        before, after = (_warnings(self.outcomes[one]) for one in (0, index))
        known = {(where, notice.code) for where, notice in before}
        return [(where, notice) for where, notice in after if (where, notice.code) not in known]


@dataclass(frozen=True, slots=True)
class Factor:
    """A factor of safety, or a degree of utilisation, and whether it meets what is asked."""

    value: float
    meets: bool | None
    is_level: bool = False


def _factors(check: CheckOutcome) -> dict[str, Factor]:
    found = {
        name: Factor(factor, None if target is None else factor >= float(target.value))
        for name, factor, target in check.judged
    }
    for design in check.designs:
        for state, held in design.limit_states.items():
            name = f"{state}, {design.factor_set.name}"
            found[name] = Factor(float(held.utilisation), bool(held.passes), is_level=True)
    return found


def _warnings(outcome: Outcome) -> list[tuple[str, Notice]]:
    found = [("", n) for n in outcome.scenario.notices]
    found += [(soil.name, n) for soil in outcome.scenario.soils.values() for n in soil.notices]
    found += [(check.entry.label, n) for check in outcome.checks for n in check.notices]
    return [
        (where, n)
        for where, n in found
        if n.severity != Severity.INFO and n.code not in SHOWN_BY_THE_FACTORS
    ]


def side_by_side(scenarios: Mapping[str, Scenario]) -> SideBySide:
    """Run the checks of some versions, each under its name, and set them side by side.

    Raises
    ------
    FileError
        A check that cannot be run.
    """
    first = next(iter(scenarios.values()))
    return SideBySide(
        tuple(scenarios),
        tuple(evaluate(one) for one in scenarios.values()),
        tuple(differing(first, one) for one in scenarios.values()),
    )


def load_variants(scenario: Scenario) -> dict[str, Scenario]:
    """A scenario as it is written and every variant of it, by name.

    Raises
    ------
    InputError
        A scenario without variants.
    FileError
        As ``load``.
    """
    if not scenario.variants:
        raise InputError("--variants", "none", "this scenario has no [[variants]]")
    return {
        AS_WRITTEN if name is None else name: load(
            scenario.path, variant=name, allow_outside=scenario.allow_outside
        )
        for name in (None, *scenario.variants)
    }


def load_pair(
    first: Path, second: Path | None, variants: Sequence[str], *, allow_outside: bool = False
) -> dict[str, Scenario]:
    """The two versions that are to be compared, by name.

    Parameters
    ----------
    first, second
        Their files; of one file two variants are compared, or one with the file as written.
    variants
        Up to two names: one of each version, or one of both files.
    allow_outside
        As for ``load``.

    Raises
    ------
    InputError
        One version alone, or more than two variants.
    FileError
        As ``load``.
    """
    if len(variants) > 2:
        raise InputError("--variant", ", ".join(variants), "name two at most")
    pair: tuple[str | None, str | None]
    if len(variants) == 2:
        pair = variants[0], variants[1]
    elif variants:
        pair = (None if second is None else variants[0]), variants[0]
    elif second is None:
        allowed = "give a second scenario to compare with, or a --variant of this one"
        raise InputError("SCENARIO.toml", str(first), allowed)
    else:
        pair = None, None
    found: dict[str, Scenario] = {}
    for path, variant in zip((first, second or first), pair, strict=True):
        name = path.name if variant is None else f"{path.name}, {variant}"
        if second is None:
            name = variant or AS_WRITTEN
        elif first.name == second.name:
            name = name.replace(path.name, str(path))
        name += " (again)" * (name in found)
        found[name] = load(path, variant=variant, allow_outside=allow_outside)
    return found


def compare_document(found: SideBySide) -> dict[str, Any]:
    """The document of ``compare``."""
    checks: dict[str, dict[str, dict[str, Any]]] = {}
    for (label, state), (before, after) in found.rows.items():
        one = before or after
        kind = "utilisation" if one is not None and one.is_level else "factors"
        checks.setdefault(label, {"factors": {}}).setdefault(kind, {})[state] = {
            "before": None if before is None else number(before.value),
            "after": None if after is None else number(after.value),
        }
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "before": found.names[0],
        "after": found.names[1],
        "inputs": _inputs(found.inputs[1]),
        "checks": [{"label": label, **by} for label, by in checks.items()],
        "new_notices": [
            {"at": where, **notices([notice])[0]} for where, notice in found.new_notices(1)
        ],
    }


def _inputs(differing: Mapping[str, tuple[Given | None, Given | None]]) -> list[dict[str, Any]]:
    return [
        {
            "field": path,
            "before": None if before is None else before.value,
            "after": None if after is None else after.value,
            "unit": (before or after or Given(None)).unit,
        }
        for path, (before, after) in differing.items()
    ]


def variants_document(found: SideBySide) -> dict[str, Any]:
    """The document of ``check --variants``: that of ``check`` for each version."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "versions": [
            {"name": name, "inputs": _inputs(inputs), **check_document(outcome)}
            for name, inputs, outcome in zip(found.names, found.inputs, found.outcomes, strict=True)
        ],
    }
