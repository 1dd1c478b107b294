"""Samples the doubts of a scenario through its checks."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.as_json import SCHEMA, notices, number, targets_asked
from slipmargin.cli.files import table_csv
from slipmargin.cli.questions.as_used import quick
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.scenario.doubts import doubts_of
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario
from slipmargin.cli.scenario.schema import ReliabilityModel
from slipmargin.cli.words import CAUTION
from slipmargin.stability.uncertainty.reliability import (
    Doubt,
    FactorDoubt,
    Indices,
    evaluation,
    reliability,
    variance_indices,
)
from slipmargin.stability.uncertainty.reliability_notices import reliability_notices
from slipmargin.strength import InputError, Notice

__all__ = [
    "NOT_COVERED",
    "CheckReliability",
    "reliability_csv",
    "reliability_document",
    "run_reliability",
]

MOST_SAMPLES = 10**9
INDEX_SAMPLES = 4096
NOT_COVERED = (
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
    indices: Mapping[str, Indices]
    notices: tuple[Notice, ...]


def run_reliability(
    scenario: Scenario,
    *,
    samples: int | None = None,
    seed: int | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    shares: bool = True,
) -> tuple[list[CheckReliability], int, int]:
    """Sample every check that has a doubt; returns the results, samples and seed used.

    Without ``shares`` what each doubt brings to the spread is not worked out.

    Raises
    ------
    FileError
        Doubts that cannot be, or none at all.
    """
    asked = scenario.doubt.sampling
    count = asked.samples if samples is None else samples
    root = asked.seed if seed is None else seed
    if not 100 <= count <= MOST_SAMPLES:
        problem = InputError("samples", count, f"allowed: from 100 up to {MOST_SAMPLES}")
        raise FileError(scenario.path, problem)
    if root < 0:
        raise FileError(scenario.path, InputError("seed", root, "allowed: from 0 upward"))
    found: list[CheckReliability] = []
    undoubted: list[str] = []
    for entry in scenario.checks:
        if not entry.check.LIMIT_STATES:
            continue
        doubts, left_out = doubts_of(scenario, entry)
        if not doubts:
            undoubted.append(entry.label)
            continue
        try:
            factors, indices = _sampled(entry, doubts, count, root, asked, progress, shares=shares)
        except InputError as error:
            raise FileError(scenario.path, error.within(f"checks ({entry.label})")) from None
        names = tuple(doubt.name for doubt in doubts)
        said = (
            *left_out,
            *reliability_notices(factors),
            *owed(scenario, entry, factors),
        )
        found.append(CheckReliability(entry, names, factors, indices, said))
    if not found:
        problem = InputError(
            "uncertain", "none", "no check carries a doubt: fit a strength, or add [uncertain]"
        )
        raise FileError(scenario.path, problem)
    if undoubted:
        notice = Notice.caution(
            "no-doubt-stated",
            f"Not sampled, as no input of theirs has a stated doubt: {', '.join(undoubted)}. That "
            "is not to say that there is none.",
        )
        found[0] = dataclasses.replace(found[0], notices=(*found[0].notices, notice))
    return found, count, root


def _sampled(
    entry: CheckEntry,
    doubts: Sequence[Doubt],
    count: int,
    root: int,
    asked: ReliabilityModel,
    progress: Callable[[str, int, int], None] | None,
    *,
    shares: bool,
) -> tuple[dict[str, FactorDoubt], dict[str, Indices]]:
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
        return dict(factors), {}  # no shares of a variance that is not there
    indices = variance_indices(
        check,
        doubts,
        samples=min(INDEX_SAMPLES, count),
        rng=np.random.default_rng(root),
        by=by,
    )
    return dict(factors), dict(indices)


def reliability_document(
    found: Sequence[CheckReliability], samples: int, seed: int
) -> dict[str, Any]:
    """The document of ``reliability``."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "not_covered": NOT_COVERED,
        "samples": samples,
        "seed": seed,
        "checks": [
            {
                "label": one.entry.label,
                **targets_asked(one.entry),
                "doubts": list(one.doubts),
                "factors": {
                    name: _factor(doubt, one.indices.get(name))
                    for name, doubt in one.factors.items()
                },
                "notices": notices(one.notices),
            }
            for one in found
        ],
    }


def _factor(doubt: FactorDoubt, indices: Indices | None) -> dict[str, Any]:
    document: dict[str, Any] = {
        "mean": number(doubt.mean),
        "std": number(doubt.std),
        "percentiles": {k: number(v) for k, v in doubt.percentiles.items()},
        "probability_below_one": doubt.probability_below_one,
        "probability_below_target": doubt.probability_below_target,
        "sampling_error": doubt.sampling_error,
        "drawn_again": doubt.drawn_again,
        "interpolation_error": number(doubt.interpolation_error),
        "second_moment": {
            "mean": number(doubt.second_moment.mean),
            "std": number(doubt.second_moment.std),
            "reliability_index": number(doubt.second_moment.reliability_index),
        },
    }
    if indices is not None:
        document["variance_shares"] = {
            "first_order": {k: number(v) for k, v in indices.first_order.items()},
            "total": {k: number(v) for k, v in indices.total.items()},
        }
    return document


def reliability_csv(found: Sequence[CheckReliability]) -> str:
    """One row a check and limit state."""
    header = ["check", "limit_state", "mean", "std", "p5", "p50", "p95"]
    header += ["probability_below_one", "sampling_error", "probability_below_target"]
    rows = [
        [
            one.entry.label,
            state,
            doubt.mean,
            doubt.std,
            *(doubt.percentiles[level] for level in ("5", "50", "95")),
            doubt.probability_below_one,
            doubt.sampling_error,
            doubt.probability_below_target,
        ]
        for one in found
        for state, doubt in one.factors.items()
    ]
    return table_csv(header, rows)
