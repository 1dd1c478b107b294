"""What must be said beside sampled factors: draws left out, no limit, an index that misleads."""

from __future__ import annotations

from collections.abc import Mapping

from slipmargin.stability.uncertainty.reliability import FactorDoubt
from slipmargin.strength import Notice

__all__ = ["reliability_notices"]

_LEAST_SHARE = 0.001
_APART = 1.5  # probabilities whose ratio is less are close enough for a quick check
_ERRORS = 3.0
_SKEWED = 1.1


def reliability_notices(factors: Mapping[str, FactorDoubt]) -> list[Notice]:
    """The notices of the sampled factors of one check, by limit state."""
    found = _drawn_again(max(doubt.drawn_again for doubt in factors.values()))
    for state, doubt in factors.items():
        found += _no_limit(state, doubt)
        found += _index(state, doubt)
    return found


def _drawn_again(share: float) -> list[Notice]:
    if share < _LEAST_SHARE:
        return []
    return [
        Notice.caution(
            "impossible-draws-left-out",
            f"{share:.1%} of the draws are impossible, such as an angle below zero, and were "
            "drawn again. What is left may be stronger than the doubt as stated.",
        )
    ]


def _no_limit(state: str, doubt: FactorDoubt) -> list[Notice]:
    if doubt.unlimited == 0.0:
        return []
    return [
        Notice.caution(
            "factors-without-limit",
            f"In {doubt.unlimited:.2g} of the samples nothing drives {state}, and the factor has "
            "no limit: it has no mean and no standard deviation. Percentiles and probabilities "
            "hold.",
        )
    ]


def _index(state: str, doubt: FactorDoubt) -> list[Notice]:
    """Where the reliability index would give another probability than the samples do."""
    index = doubt.second_moment.reliability_index
    sampled = doubt.probability_below_one
    normal = doubt.second_moment.probability_below_one["normal"]
    # an index that does not exist compares as close
    if not abs(normal - sampled) > _ERRORS * doubt.sampling_error:
        return []
    if max(normal, sampled) < _APART * min(normal, sampled):
        return []
    low, middle, high = (doubt.percentiles[level] for level in ("5", "50", "95"))
    down, up = middle - low, high - middle
    if max(up, down) > _SKEWED * min(up, down):
        why = (
            f"the factor is skewed, its 5 % value {down:.2f} below its median and its 95 % value "
            + (f"{up:.2f} above it" if up < float("inf") else "without limit")
        )
    else:
        why = (
            "the index follows the factor along a straight line through the means of the inputs, "
            "and the factor does not"
        )
    return [
        Notice.caution(
            "index-and-probability-differ",
            f"{state}: a reliability index of {index:.2f} would mean P(F < 1) = {normal:.2g} if "
            f"the factor were normal; the samples give {sampled:.2g}, as {why}. Go by the samples.",
        )
    ]
