"""The main job: every check of a scenario, with its factors held against what is asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.as_json import document, fit_body, of_laboratory, targets_asked
from slipmargin.cli.page.blocks import Block, Cell, Factor, Table, Verdict, Words
from slipmargin.cli.page.cells import level_verdict, verdict
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.as_used import as_used
from slipmargin.cli.questions.result import Result, notices_at, of_check, of_its_file
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.stability import CheckResult, fields
from slipmargin.stability.design.customary_targets import Target, missed_targets
from slipmargin.stability.uncertainty.field_words import soil_words
from slipmargin.strength import Notice, Severity, distinct
from slipmargin.strength.working import printed

if TYPE_CHECKING:
    from slipmargin.stability.design.result import DesignResult

__all__ = [
    "CheckOutcome",
    "Outcome",
    "evaluate",
    "factors_table",
    "soils_table",
    "strength_cells",
    "utilisation_table",
    "variants_words",
]

_SHOWN_IN_THE_TABLE = frozenset({"below-target", "planar-search-unconservative"})


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """A check and what it gave.

    ``designs`` are the check held to each set of partial factors; ``basis_notices`` is what the
    targets have to say.
    """

    entry: CheckEntry
    result: CheckResult
    designs: tuple[DesignResult, ...] = ()
    basis_notices: tuple[Notice, ...] = ()

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Of the check and of the basis of design."""
        found = [*self.result.notices, *self.basis_notices]
        found += [notice for design in self.designs for notice in design.notices]
        return distinct(found)

    @property
    def judged(self) -> list[tuple[str, float, Target | None]]:
        """Name, factor and target of every limit state."""
        return [
            (name, float(np.asarray(factor)), self.entry.targets.get(name))
            for name, factor in self.result.factors_of_safety.items()
        ]

    @property
    def meets_target(self) -> bool | None:
        """Whether all that is judged meets its target; ``None`` where nothing has one."""
        held = [
            factor >= float(target.value) for _, factor, target in self.judged if target is not None
        ]
        return all(held) if held else None

    @property
    def resists(self) -> list[bool]:
        """Whether each limit state is within its design resistance, under each set."""
        return [
            bool(np.all(state.passes))
            for design in self.designs
            for state in design.limit_states.values()
        ]

    def document(self) -> dict[str, Any]:
        """Of this check alone, as a part of a document."""
        entry, result = self.entry, self.result
        soils = {field: name for field, name in entry.soils.items() if "." not in field}
        found: dict[str, Any] = {
            "label": entry.label,
            "kind": entry.kind,
            "soil": soils.pop("soil", None),
            **soils,
            "factors_of_safety": result.factors_of_safety,
            **targets_asked(entry),
            "meets_target": self.meets_target,
            "values": _values(result),
            "notices": self.notices,
        }
        if result.parts:
            found["parts"] = {state: _values(part.result) for state, part in result.parts.items()}
        if self.designs:
            found["design"] = [_design(design) for design in self.designs]
        return found


@dataclass(frozen=True, slots=True)
class Outcome(Result):
    """A scenario and what its checks gave."""

    scenario: Scenario
    checks: tuple[CheckOutcome, ...]

    @property
    def fails(self) -> bool:
        """Whether a target is missed or anything says stop."""
        missed = any(one.meets_target is False or not all(one.resists) for one in self.checks)
        return missed or any(n.severity == Severity.STOP for _, n in self.every_notice)

    @property
    def every_notice(self) -> list[tuple[str, Notice]]:
        """Of the scenario, its soils and its checks, each with its place."""
        return notices_at(self.checks, self.scenario)

    def document(self) -> dict[str, Any]:
        """The document of ``check``."""
        scenario = self.scenario
        found = {
            "soils": {name: _soil(entry) for name, entry in scenario.soils.items()},
            "checks": [check.document() for check in self.checks],
            "notices": scenario.notices,
        }
        return document(found, scenario)

    def blocks(self) -> Iterator[Block]:
        """One screen: strengths, factors against targets, notices, the caution."""
        scenario = self.scenario
        yield Words(scenario.title, "strong")
        yield soils_table(scenario, brief=True)
        yield factors_table(self.checks, brief=True)
        if self.checks and self.checks[0].designs:
            yield utilisation_table(self.checks)
        shown = notices_at((), scenario)
        known = {notice for _, notice in shown}
        shown += [
            (where, notice)
            for where, notice in notices_at(self.checks)
            if notice.code not in _SHOWN_IN_THE_TABLE and notice not in known
        ]
        yield notice_list(shown)
        yield from variants_words(scenario)


@of_its_file
def evaluate(scenario: Scenario) -> Outcome:
    """Run every check; a ``FileError`` names the check and the field that cannot be used."""
    outcomes, basis = [], scenario.basis
    for entry in scenario.checks:
        with of_check(entry):
            result = as_used(entry.check)
            designs = () if basis is None else basis.design(entry.check)
            missed = missed_targets(entry.check, result.factors_of_safety, entry.targets)
            outcomes.append(CheckOutcome(entry, result, designs, tuple(missed)))
    return Outcome(scenario, tuple(outcomes))


def _values(result: CheckResult) -> dict[str, Any]:
    return {
        fields.json_name(name, declaration): getattr(result.values, name)
        for name, declaration, _ in fields.of(result.values)
    }


def _soil(entry: SoilEntry) -> dict[str, Any]:
    strength = entry.soil.strength
    found: dict[str, Any] = {
        "cohesion_kpa": strength.cohesion,
        "friction_angle_deg": strength.friction_angle,
        "source": "stated" if entry.fit is None else "fitted",
    }
    if strength.curve is not None:
        # the pair above is its chord; the checks that follow the curve do not use it
        found["power_curve"] = {
            "coefficient": strength.curve.coefficient,
            "exponent": strength.curve.exponent,
            "reference_pressure_kpa": strength.curve.reference_pressure,
        }
    if entry.fit is not None:
        found["fit"] = fit_body(entry.fit, entry.value)
        found["laboratory"] = of_laboratory(entry.laboratory)
    return found | {"notices": entry.notices}


def _design(design: DesignResult) -> dict[str, Any]:
    """A check held to one set of partial factors."""
    return {
        "set": design.factor_set.name,
        "source": design.factor_set.source,
        "factors": design.factor_set.factors,
        "soils": [
            {
                "name": one.name,
                "characteristic": {
                    "cohesion_kpa": one.cohesion,
                    "friction_angle_deg": one.friction_angle,
                },
                "design": {
                    "cohesion_kpa": one.design_cohesion,
                    "friction_angle_deg": one.design_friction_angle,
                },
                "cohesion_factor": one.cohesion_factor,
                "tan_friction_angle_factor": one.tan_friction_angle_factor,
            }
            for one in design.soils
        ],
        "limit_states": {
            name: {
                "effect": state.effect,
                "resistance": state.resistance,
                "unit": state.unit,
                "utilisation": state.utilisation,
                "passes": state.passes.tolist(),
                "says": state.says,
                "set": state.set_name,
                "factors": state.factors,
            }
            for name, state in design.limit_states.items()
        },
        "utilisation_on_cautious": design.on_cautious or None,
        "notices": design.notices,
    }


def variants_words(scenario: Scenario) -> Iterator[Words]:
    """Which variants a scenario has, where it is looked at as it is written."""
    if scenario.variants and scenario.variant is None:
        names = ", ".join(scenario.variants)
        yield Words(f"Variants: {names}. --variant NAME takes one, check --variants them all.")


def soils_table(scenario: Scenario, *, brief: bool = False) -> Table:
    """The strengths the checks used, with their weights unless ``brief``, and their source."""
    heads = ("Soil", "Description", "c′ [kPa]", "φ′ [deg]", "γ [kN/m³]", "γ below water [kN/m³]",
             "Strength from")  # fmt: skip
    rows = [
        (
            soil_words(entry.name),
            entry.description,
            *strength_cells(entry),
            *(
                "not given" if weight is None else f"{float(weight):.1f}"
                for weight in (entry.soil.unit_weight, entry.soil.saturated_unit_weight)
            ),
            _origin(entry),
        )
        for entry in scenario.soils.values()
    ]
    if not brief:
        return Table("Soils and the strengths used", heads, rows, {2, 3, 4, 5})
    short = [(row[0], row[2], row[3], row[-1]) for row in (heads, *rows)]
    return Table("", short[0], tuple(short[1:]), {1, 2})


def strength_cells(entry: SoilEntry) -> tuple[str, str]:
    """c′ [kPa] and φ′ [deg] of a soil, as a table shows them."""
    strength = entry.soil.strength
    if strength.curve is not None:
        return "curve", "curve"
    return f"{float(strength.cohesion):.1f}", f"{float(strength.friction_angle):.1f}"


def _origin(entry: SoilEntry) -> str:
    """Where the strength of a soil came from, and the limits of its line."""
    fit, interval = entry.fit, None if entry.fit is None else entry.fit.interval
    if fit is None:
        return "stated"
    text = f"{fit.of_tests}, {fit.tests.state.replace('_', ' ')}"
    curve = entry.soil.strength.curve
    text = text + fit.origin_words if curve is None else f"{curve.equation}; {text}"
    text += f", cautious at {fit.confidence:.0%}" if entry.value == "cautious" else ""
    if curve is not None:
        limits = {one.name[-1]: one.limits for one in fit.parameters if one.limits and not one.unit}
        known = ", ".join(
            "{} {:.3f} to {:.3f}".format(name, *ends) for name, ends in limits.items()
        )
        return text + (f"; {fit.confidence:.0%} limits: {known}" if known else "")
    if interval is None:
        return text
    known = "φ′ {:.1f} to {:.1f}".format(*interval.friction_angle)
    if interval.cohesion is not None:
        known = "c′ {:.1f} to {:.1f}, ".format(*interval.cohesion) + known
    return f"{text}; {interval.confidence:.0%} limits of the line: {known}"


def factors_table(checks: Iterable[CheckOutcome], *, brief: bool = False) -> Table:
    """Every factor against its target; thrusts where a check has no factor."""
    rows: list[tuple[Cell, ...]] = []
    for check in checks:
        soils = ", ".join(map(soil_words, check.entry.soil_names))
        names = (check.entry.label, *([] if brief else [soils]))
        if not check.judged:
            what = f"thrust {printed(float(np.asarray(check.result.values.thrust)), 'kN/m')} kN/m"
            rows.append((*names, what, "", "", Verdict("no factor", "open")))
        for state, factor, target in check.judged:
            wanted = None if target is None else float(target.value)
            text = "" if target is None else target.text
            rows.append((*names, state, Factor(factor, wanted), text, verdict(factor, wanted)))
    second = () if brief else ("Soils",)
    return Table(
        "" if brief else "Factors of safety against their targets, at the strengths used",
        ("Check", *second, "Limit state", "Factor", "Target", "Verdict"),
        rows,
        {2 + len(second), 3 + len(second)},
        ruler=True,
    )


def utilisation_table(checks: Sequence[CheckOutcome]) -> Table:
    """Degree of utilisation under every set of partial factors, and beside it, where soils are
    fitted, that on their cautious values.
    """
    careful = any(design.on_cautious for check in checks for design in check.designs)
    sets = [one.factor_set.name for one in checks[0].designs]
    if careful:
        sets = [text for name in sets for text in (name, f"{name}, cautious value")]
    rows: list[tuple[Cell, ...]] = []
    for check in checks:
        for state in check.designs[0].limit_states:
            cells: list[Cell] = []
            for design in check.designs:
                level = design.utilisation.get(state)
                # without a best fit the strength is the cautious one already
                cautious = design.on_cautious.get(state, level)
                cells += [level_verdict(one) for one in (level, cautious)[: 1 + careful]]
            rows.append((check.entry.label, state, *cells))
    return Table(
        "Partial factors: degree of utilisation, at most 1",
        ("Check", "Limit state", *sets),
        rows,
        range(2, 2 + len(sets)),
    )
