"""What must be said beside sampled factors: draws left out, no limit, an index that misleads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from slipmargin.stability.uncertainty.reliability import FactorDoubt
from slipmargin.strength import Notice

__all__ = ["reliability_notices"]

_LEAST_SHARE = 0.001
_APART = 1.5  # probabilities whose ratio is less are close enough for a quick check
_ERRORS = 3.0
_SKEWED = 1.1


def reliability_notices(factors: Mapping[str, FactorDoubt]) -> Iterator[Notice]:
    """The notices of the sampled factors of one check, by limit state."""
    share = max(doubt.drawn_again for doubt in factors.values())
    if share >= _LEAST_SHARE:
        yield Notice.caution(
            "impossible-draws-left-out",
            f"{share:.1%} of the draws are impossible, such as an angle below zero, and were "
            "drawn again. What is left may be stronger than the doubt as stated.",
        )
    for state, doubt in factors.items():
        if doubt.unlimited > 0.0:
            yield Notice.caution(
                "factors-without-limit",
                f"In {doubt.unlimited:.2g} of the samples nothing drives {state}, and the factor "
                "has no limit: it has no mean and no standard deviation. Percentiles and "
                "probabilities hold.",
            )
        yield from _index(state, doubt)


def _index(state: str, doubt: FactorDoubt) -> Iterator[Notice]:
    """Where the reliability index would give another probability than the samples do."""
    index = doubt.second_moment.reliability_index
    sampled = doubt.probability_below_one
    normal = doubt.second_moment.probability_below_one["normal"]
    # an index that does not exist compares as close
    close = not abs(normal - sampled) > _ERRORS * doubt.sampling_error
    if close or max(normal, sampled) < _APART * min(normal, sampled):
        return
    low, middle, high = (doubt.percentiles[level] for level in ("5", "50", "95"))
    down, up = middle - low, high - middle
    why = (
        "the index follows the factor along a straight line through the means of the inputs, and "
        "the factor does not"
    )
    if max(up, down) > _SKEWED * min(up, down):
        why = (
            f"the factor is skewed, its 5 % value {down:.2f} below its median and its 95 % value "
            + (f"{up:.2f} above it" if up < float("inf") else "without limit")
        )
    yield Notice.caution(
        "index-and-probability-differ",
        f"{state}: a reliability index of {index:.2f} would mean P(F < 1) = {normal:.2g} if "
        f"the factor were normal; the samples give {sampled:.2g}, as {why}. Go by the samples.",
    )
