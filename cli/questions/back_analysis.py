"""Back-analysis: the strengths that explain why a slope has failed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.as_json import document
from slipmargin.cli.page.blocks import Block, Table, Words
from slipmargin.cli.page.cells import number_cell
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.as_used import quick
from slipmargin.cli.questions.result import Result, lines_csv, of_check, of_its_file
from slipmargin.cli.questions.strength_map import StrengthMap, map_strength
from slipmargin.cli.scenario.read import Scenario
from slipmargin.cli.scenario.readers import nearest
from slipmargin.stability.uncertainty.replaced import no_pair
from slipmargin.stability.uncertainty.strength_map import factor_line
from slipmargin.strength import InputError, Notice, Pair

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["FailedSlope", "explain_failure"]


@dataclass(frozen=True, slots=True)
class FailedSlope(Result):
    """Pairs that give a slope a factor of 1, and the strength map around them.

    ``pairs`` are cohesions [kPa] and friction angles [deg] by limit state, sliding the first.
    """

    label: str
    soil: str
    pairs: Mapping[str, tuple[Any, Any]]
    around: StrengthMap

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What must not be parted from the pairs."""
        own = (one for one in self.around.checks if one.entry.label == self.label)
        found = next(own).notices
        if "rotation" not in self.pairs:
            return found
        return (
            Notice.caution(
                "plane-back-analysed",
                "These pairs are those of the searched plane. The rotation of the same slope "
                "needs more strength: a slope that failed had at most the strengths of the "
                "rotation, which are given as well.",
            ),
            *found,
        )

    def document(self) -> dict[str, Any]:
        """The document of ``back-analysis``."""
        found = {
            state: [Pair(float(c), float(phi)) for c, phi in zip(*pairs, strict=True)]
            for state, pairs in self.pairs.items()
        }
        return document(
            {
                "label": self.label,
                "soil": self.soil,
                "pairs": found["sliding"],
                "pairs_by_limit_state": found,
                "notices": self.notices,
            }
        )

    def csv(self) -> str:
        """One row a pair."""
        found = self.document()["pairs_by_limit_state"]
        heads = ["cohesion_kpa", "friction_angle_deg", "limit_state"]
        return lines_csv(heads, ({**one, "limit_state": s} for s in found for one in found[s]))

    def blocks(self) -> Iterator[Block]:
        """A few of the pairs."""
        columns = [
            {float(phi): float(c) for c, phi in zip(*pairs, strict=True)}
            for pairs in self.pairs.values()
        ]
        angles = sorted({phi for column in columns for phi in column})
        rows = [
            (f"{phi:.1f}", *(number_cell(column.get(phi)) for column in columns))
            for phi in angles[:: max(1, len(angles) // 12)]
        ]
        several = len(columns) > 1
        heads = ("φ′ [deg]", *(f"c′{f', {s}' if several else ''} [kPa]" for s in self.pairs))
        title = f"{self.label}: strengths of {self.soil} that give a factor of 1"
        yield Table(title, heads, rows, range(len(heads)))
        if not columns[0]:
            yield Words("None: at no friction angle does a cohesion of zero or more give it.")
        yield notice_list(("", notice) for notice in self.notices)
        yield Words(
            "A back-analysis leans on the geometry and the water at failure; it finds a line "
            "of pairs, never one pair."
        )

    def figure(self) -> Figure:
        """The pairs on the strength map around them."""
        return self.around.figure((self.label, *self.pairs["sliding"]))


@of_its_file
def explain_failure(scenario: Scenario, label: str, soil: str | None = None) -> FailedSlope:
    """The pairs of strength of one soil, by default the first, that give a slope a factor of 1.
    ``FileError``: a check that does not exist, is no slope, or does not have the soil; a soil of a
    curved envelope.
    """
    entry = scenario.entry(label, "--check")
    slopes = [e for e in scenario.checks if e.check.STRUCTURE == "slope"]
    if entry not in slopes:
        allowed = "name a slope: " + (", ".join(e.label for e in slopes) or "there is none")
        raise InputError("--check", label, allowed)
    known = entry.soil_names
    if soil is not None and soil not in known:
        raise InputError("--soil", soil, nearest(soil, known))
    soil = known[0] if soil is None else soil
    if scenario.soils[soil].soil.strength.curve is not None:
        raise no_pair(f"soils.{soil}")
    angles = np.linspace(0.5, 60.0, 120)
    with of_check(entry):
        pairs = {
            state: factor_line(entry.check, soil, angles, limit_state=state)
            for state in quick(entry.check)
        }
    return FailedSlope(label, soil, pairs, map_strength(scenario, soil))
