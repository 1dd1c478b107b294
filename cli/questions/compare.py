"""Versions of a scenario side by side: which inputs differ, and what that does to each factor."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from slipmargin.cli.as_json import document, written
from slipmargin.cli.page.blocks import Block, Cell, Factor, Table, Verdict, Words
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.check import CheckOutcome, Outcome, evaluate, strength_cells
from slipmargin.cli.questions.owed import SHOWN_BY_THE_FACTORS
from slipmargin.cli.questions.result import Result
from slipmargin.cli.scenario.inputs import Given, differing
from slipmargin.cli.scenario.read import Scenario, load
from slipmargin.stability.uncertainty.field_words import soil_words
from slipmargin.strength import InputError, Notice, Severity

__all__ = [
    "SideBySide",
    "Variants",
    "load_pair",
    "load_variants",
    "side_by_side",
]

AS_WRITTEN = "as written"
"""Name of a scenario without any of its variants."""


@dataclass(frozen=True, slots=True)
class SideBySide(Result):
    """What the checks of several versions of a scenario give, in the order of their ``names``.

    ``inputs`` are, of each version, those that differ from those of the first, before and after.
    """

    names: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    inputs: tuple[Mapping[str, tuple[Given | None, Given | None]], ...]

    @property
    def rows(self) -> dict[tuple[str, str], list[Factor | float | None]]:
        """Every factor, and every degree of utilisation, by check and limit state: one a
        version, ``None`` where a version has none.
        """
        found: dict[tuple[str, str], list[Factor | float | None]] = {}
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

    def document(self) -> dict[str, Any]:
        """The document of ``compare``."""
        checks: dict[str, dict[str, dict[str, Any]]] = {}
        for (label, state), (before, after) in self.rows.items():
            one = after if before is None else before
            kind = "factors" if isinstance(one, Factor) else "utilisation"
            checks.setdefault(label, {"factors": {}}).setdefault(kind, {})[state] = {
                when: held.value if isinstance(held, Factor) else held
                for when, held in (("before", before), ("after", after))
            }
        new = [{"at": where, **written(notice)} for where, notice in self.new_notices(1)]
        return document(
            {
                "before": self.names[0],
                "after": self.names[1],
                "inputs": _inputs(self.inputs[1]),
                "checks": [{"label": label, **by} for label, by in checks.items()],
                "new_notices": new,
            }
        )

    def _strengths(self) -> list[tuple[str, ...]]:
        """c′ and φ′ of every soil whose strength is not the same in all versions."""
        every = [one.scenario.soils for one in self.outcomes]
        found = []
        for name in dict.fromkeys(name for soils in every for name in soils):
            held = [strength_cells(soils[name]) if name in soils else None for soils in every]
            for half, words in enumerate(("c′ [kPa]", "φ′ [deg]")):
                cells = ["-" if one is None else one[half] for one in held]
                if len(set(cells)) > 1:
                    found.append((soil_words(name), words, *cells))
        return found

    def blocks(self) -> Iterator[Block]:
        """Inputs that differ, every factor in each version, and what only a later one warns of."""
        for name, changed in list(zip(self.names, self.inputs, strict=True))[1:]:
            if changed:
                rows = [(path, *map(_given, pair)) for path, pair in changed.items()]
                yield Table("", ("Input", self.names[0], name), rows)
            else:
                yield Words(f"{name}: no input differs from {self.names[0]}.")
        if strengths := self._strengths():
            yield Table("", ("Strength used", "", *self.names), strengths)
        yield Table(
            "",
            ("Check", "Limit state", *self.names),
            tuple((*at, *map(_cell, row)) for at, row in self.rows.items()),
            range(2, 2 + len(self.names)),
        )
        for index, name in enumerate(self.names[1:], start=1):
            if new := self.new_notices(index):
                yield Words(f"New with {name}", "strong")
                yield notice_list(new)


def _factors(check: CheckOutcome) -> dict[str, Factor | float]:
    """Factors of safety by limit state, and degrees of utilisation, as numbers, by its set too."""
    found: dict[str, Factor | float] = {
        name: Factor(factor, None if target is None else float(target.value))
        for name, factor, target in check.judged
    }
    for design in check.designs:
        for state, held in design.limit_states.items():
            found[f"{state}, {design.factor_set.name}"] = float(held.utilisation)
    return found


def _given(one: Given | None) -> str:
    return "left out" if one is None else one.text


def _cell(one: Factor | float | None) -> Cell:
    match one:
        case None:
            return "-"
        case float():
            return level_verdict(one)
    met = one.target is None or one.value >= one.target
    return one.text if met else Verdict(f"{one.text} misses", "bad")


def _warnings(outcome: Outcome) -> list[tuple[str, Notice]]:
    return [
        (where, n)
        for where, n in outcome.every_notice
        if n.severity != Severity.INFO and n.code not in SHOWN_BY_THE_FACTORS
    ]


def side_by_side(
    scenarios: Mapping[str, Scenario], kind: type[SideBySide] | None = None
) -> SideBySide:
    """Run the checks of some versions, each under its name, and set them side by side.
    ``FileError``: a check that cannot be run.
    """
    first = next(iter(scenarios.values()))
    return (kind or SideBySide)(
        tuple(scenarios),
        tuple(evaluate(one) for one in scenarios.values()),
        tuple(differing(first.written, one.written) for one in scenarios.values()),
    )


def load_variants(scenario: Scenario) -> dict[str, Scenario]:
    """A scenario as it is written and every variant of it, by name. ``InputError``: a scenario
    without variants. ``FileError`` as ``load``.
    """
    if not scenario.variants:
        raise InputError("--variants", "none", "this scenario has no [[variants]]")
    return {
        AS_WRITTEN if name is None else name: load(
            scenario.path, variant=name, allow_outside=scenario.written.allow_outside
        )
        for name in (None, *scenario.variants)
    }


def load_pair(
    first: Path, second: Path | None, variants: Sequence[str], *, allow_outside: bool = False
) -> dict[str, Scenario]:
    """The two versions that are to be compared, by name.

    They are two files, or of one file two variants, or one and the file as written; ``variants``
    are up to two names, one of each version, or one of both files. ``InputError``: one version
    alone, or more than two variants. ``FileError`` as ``load``.
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


@dataclass(frozen=True, slots=True)
class Variants(SideBySide):
    """A scenario as it is written beside its variants."""

    def document(self) -> dict[str, Any]:
        """That of ``check`` for each version."""
        versions = [
            {"name": name, "inputs": _inputs(inputs), **outcome.document()}
            for name, inputs, outcome in zip(self.names, self.inputs, self.outcomes, strict=True)
        ]
        return document({"versions": versions})
