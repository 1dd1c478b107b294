"""Samples the doubts of a scenario through its checks."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.as_json import document
from slipmargin.cli.page.blocks import Block, Cell, Table, Words
from slipmargin.cli.page.cells import number_cell, probability_text
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.as_used import quick
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.result import Result, lines_csv, notices_at, of_check, of_its_file
from slipmargin.cli.scenario.doubts import doubts_of
from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.scenario.schema import ReliabilityModel
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.doubts import Doubt
from slipmargin.stability.uncertainty.evaluation import evaluation
from slipmargin.stability.uncertainty.field_words import soil_words
from slipmargin.stability.uncertainty.reliability import (
    FactorDoubt,
    reliability,
    variance_indices,
)
from slipmargin.stability.uncertainty.reliability_notices import reliability_notices
from slipmargin.strength import InputError, Notice

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["CheckReliability", "Reliability", "run_reliability"]

MOST_SAMPLES = 10**9
INDEX_SAMPLES = 4096
_PERCENTILES = ("5", "50", "95")
_NOT_COVERED = (
    "Not in these probabilities: variation of the ground from place to place, error of the "
    "model, bias in sampling and testing, human error."
)
"""Said wherever a probability is printed."""


@dataclass(frozen=True, slots=True)
class CheckReliability:
    """What sampling says of one check."""

    entry: CheckEntry
    doubts: tuple[str, ...]
    factors: Mapping[str, FactorDoubt]
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class Reliability(Result):
    """Every check that has a doubt, with the number of samples and the seed used."""

    samples: int
    seed: int
    checks: tuple[CheckReliability, ...]

    def document(self) -> dict[str, Any]:
        """The document of ``reliability``."""
        return document(self) | {"not_covered": _NOT_COVERED}

    def csv(self) -> str:
        """One row a check and limit state."""
        header = ["check", "limit_state", "mean", "std", "p5", "p50", "p95"]
        header += ["probability_below_one", "sampling_error", "probability_below_target"]
        lines = (
            {"check": one["label"], "limit_state": state, **factor}
            | {f"p{level}": value for level, value in factor["percentiles"].items()}
            for one in self.document()["checks"]
            for state, factor in one["factors"].items()
        )
        return lines_csv(header, lines)

    def tables(self) -> Iterator[Block]:
        """One row a factor: spread, probabilities with their own error, index."""
        rows: list[tuple[Cell, ...]] = []
        for one in self.checks:
            for state, doubt in one.factors.items():
                spread = [factor_text(doubt.percentiles[level]) for level in _PERCENTILES]
                rows.append(
                    (
                        one.entry.label,
                        state,
                        factor_text(doubt.mean),
                        number_cell(doubt.std),
                        *spread,
                        probability_text(doubt.probability_below_one, self.samples),
                        f"{doubt.sampling_error:.1g}",
                        probability_text(doubt.probability_below_target, self.samples),
                        number_cell(doubt.second_moment.reliability_index),
                    )
                )
        heads = ("Check", "Limit state", "Mean", "Std", *(f"{one} %" for one in _PERCENTILES))
        yield Table(
            f"Factors over {self.samples} samples of the doubt, seed {self.seed}",
            (*heads, "P(F<1)", "±", "P(F<target)", "Index"),
            rows,
            range(2, 11),
        )
        for one in self.checks:
            for state, doubt in one.factors.items():
                if doubt.variance_shares is not None:
                    shares = ", ".join(
                        f"{soil_words(name.removeprefix('soils.'))} {share:.0%}"
                        for name, share in doubt.variance_shares.total.items()
                    )
                    yield Words(f"{one.entry.label}, {state}: share of the spread: {shares}.")
        yield Words(_NOT_COVERED)

    def blocks(self) -> Iterator[Block]:
        """The table, and what must not be parted from it."""
        yield from self.tables()
        yield notice_list(notices_at(self.checks))

    def figure(self) -> Figure:
        """Range of every factor, one bar a factor."""
        from slipmargin.stability.uncertainty.reliability_plot import FactorRange, plot_ranges

        return plot_ranges(
            [
                FactorRange(
                    label=one.entry.label + (f": {state}" if len(one.factors) > 1 else ""),
                    percentiles=doubt.percentiles,
                    probability_below_one=doubt.probability_below_one,
                    target=one.entry.target(state),
                    used=float(quick(one.entry.check)[state]),
                )
                for one in self.checks
                for state, doubt in one.factors.items()
            ]
        )


@of_its_file
def run_reliability(
    scenario: Scenario,
    *,
    samples: int | None = None,
    seed: int | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    shares: bool = True,
) -> Reliability:
    """Sample every check that has a doubt.

    Without ``shares`` what each doubt brings to the spread is not worked out. ``FileError``: doubts
    that cannot be, or none at all.
    """
    asked = scenario.top.reliability
    count = asked.samples if samples is None else samples
    root = asked.seed if seed is None else seed
    if not 100 <= count <= MOST_SAMPLES:
        raise InputError("samples", count, f"allowed: from 100 up to {MOST_SAMPLES}")
    if root < 0:
        raise InputError("seed", root, "allowed: from 0 upward")
    found: list[CheckReliability] = []
    undoubted: list[str] = []
    for entry in scenario.judged:
        doubts, left_out = doubts_of(scenario, entry)
        if not doubts:
            undoubted.append(entry.label)
            continue
        with of_check(entry):
            factors = _sampled(entry, doubts, count, root, asked, progress, shares=shares)
        names = tuple(doubt.name for doubt in doubts)
        always = owed(scenario, entry, factors, samples=count)
        said = (*left_out, *reliability_notices(factors), *always)
        found.append(CheckReliability(entry, names, factors, said))
    if not found:
        raise InputError(
            "uncertain", "none", "no check carries a doubt: fit a strength, or add [uncertain]"
        )
    if undoubted:
        notice = Notice.caution(
            "no-doubt-stated",
            f"Not sampled, as no input of theirs has a stated doubt: {', '.join(undoubted)}. That "
            "is not to say that there is none.",
        )
        found[0] = dataclasses.replace(found[0], notices=(*found[0].notices, notice))
    return Reliability(count, root, tuple(found))


def _sampled(
    entry: CheckEntry,
    doubts: Sequence[Doubt],
    count: int,
    root: int,
    asked: ReliabilityModel,
    progress: Callable[[str, int, int], None] | None,
    *,
    shares: bool,
) -> Mapping[str, FactorDoubt]:
    """The factors of one check over the samples, and what each doubt brings to their spread."""

    def report(done: int) -> None:
        if progress is not None:
            progress(entry.label, done, count)

    check = entry.check
    by = evaluation(check, doubts, count, {*check.limit_states} - {*quick(check)})
    factors = reliability(
        check,
        doubts,
        samples=count,
        rng=np.random.default_rng(root),
        targets={state: float(one.value) for state, one in entry.targets.items()},
        sampling="sobol" if asked.sampling == "sobol" else "random",
        progress=report,
        by=by,
    )
    if not shares or len(doubts) < 2 or any(doubt.moments < 2 for doubt in doubts):
        return factors  # no shares of a variance that is not there
    indices = variance_indices(
        check,
        doubts,
        samples=min(INDEX_SAMPLES, count),
        rng=np.random.default_rng(root),
        by=by,
    )
    return {
        state: dataclasses.replace(doubt, variance_shares=indices.get(state))
        for state, doubt in factors.items()
    }
