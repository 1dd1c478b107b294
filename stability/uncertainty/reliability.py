"""Probability that a factor of safety falls short, given the doubt in its inputs.

Strengths that were fitted bring the joint distribution of their line; other fields may be
given distributions of their own. Samples run through the checks as arrays, in chunks, so
that memory does not grow with their number.

What is not in it: variation of the ground from place to place, error of the model itself,
bias in sampling and testing, and human error. A probability printed here is a measure of
what the stated doubts do to the factor, not the chance that the ground fails.

Sources: first-order second-moment and the reliability index (mean - 1) / standard deviation
as in Duncan (2000), J. Geotech. Geoenviron. Eng. 126(4); indices of variance by Saltelli's
scheme with Jansen's estimators, Saltelli et al. (2010), Comput. Phys. Commun. 181.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.stability.check import Check
from slipmargin.stability.uncertainty.doubts import Doubt
from slipmargin.stability.uncertainty.evaluation import Evaluation, evaluation, factors_of_draws
from slipmargin.stability.uncertainty.possible_draws import possible_draws
from slipmargin.stability.uncertainty.tally import Tally
from slipmargin.strength import InputError

__all__ = [
    "FactorDoubt",
    "Indices",
    "SecondMoment",
    "lognormal_probability",
    "normal_probability",
    "reliability",
    "second_moment",
    "variance_indices",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SecondMoment:
    """First-order mean, standard deviation and reliability index, and the probability that a
    factor with these falls below 1, by the law it may have; nan where undefined.
    """

    mean: float
    std: float
    reliability_index: float
    probability_below_one: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Indices:
    """Share of the variance of a factor that each doubt explains, alone and in all."""

    first_order: Mapping[str, float]
    total: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorDoubt:
    """What the samples say of one factor of safety.

    ``mean`` is nan where a doubt has no mean, ``std`` where it has no standard deviation: what
    a sample shows of them is chance, and grows with it.
    ``sampling_error`` is the standard error of ``probability_below_one`` that the finite
    number of samples leaves. Percentiles are read from a fine histogram of ln F, to four
    digits. ``interpolation_error`` is the largest relative error found against direct
    searches where factors were read from a grid of curves; ``None`` where they were not.
    ``drawn_again`` is the share of the draws that are impossible, such as a water table above
    the ground. ``unlimited`` is the share in which nothing drives the movement; where there is
    any, neither a mean nor a standard deviation exists, and percentiles may be infinite.
    ``variance_shares`` are those of ``variance_indices``, where they were worked out.
    """

    mean: float
    std: float
    percentiles: Mapping[str, float]
    probability_below_one: float
    probability_below_target: float | None
    sampling_error: float
    second_moment: SecondMoment
    interpolation_error: float | None = None
    drawn_again: float = 0.0
    unlimited: float = 0.0
    variance_shares: Indices | None = None


def normal_probability(
    mean: float | Floats, std: float | Floats, level: float = 1.0
) -> float | Floats:
    """Probability that a normal factor lies below a level: Φ((level - mean) / std)."""
    result: float | Floats = scipy.special.ndtr((level - np.asarray(mean)) / np.asarray(std))
    return result


def lognormal_probability(
    mean: float | Floats, std: float | Floats, level: float = 1.0
) -> float | Floats:
    """Probability that a lognormal factor lies below a level.

    With V = std / mean, ln F has the variance ln(1 + V²) and the mean ln(mean) less half of
    it. Source: Duncan (2000), J. Geotech. Geoenviron. Eng. 126(4).

    Examples
    --------
    A mean factor of 1.5 with a standard deviation of 0.3:

    >>> from slipmargin.stability.uncertainty.reliability import lognormal_probability
    >>> round(float(lognormal_probability(1.5, 0.3)), 3)
    0.026
    """
    variance = np.log1p((np.asarray(std) / np.asarray(mean)) ** 2)
    centre = np.log(mean) - variance / 2.0
    result: float | Floats = scipy.special.ndtr((math.log(level) - centre) / np.sqrt(variance))
    return result


def reliability(
    check: Check,
    doubts: Sequence[Doubt],
    *,
    samples: int,
    rng: np.random.Generator,
    targets: Mapping[str, float] | None = None,
    sampling: Literal["random", "sobol"] = "random",
    progress: Callable[[int], None] | None = None,
    by: Evaluation | None = None,
) -> Mapping[str, FactorDoubt]:
    """Sample the doubts and run them through a check.

    Parameters
    ----------
    check
        Any check with a factor of safety.
    doubts
        Independent of each other; impossible draws are drawn again.
    samples
        Number of possible samples.
    rng
        Source of randomness.
    targets
        Factor of safety asked for, by limit state.
    sampling
        ``random``, or ``sobol`` for scrambled Sobol points.
    progress
        Called with the number of samples done.
    by
        How factors are found, where ``evaluation`` was called before.

    Raises
    ------
    InputError
        No doubt at all, a silly number of samples, or doubts of which hardly any draw is
        possible.

    Examples
    --------
    A friction angle known to a standard deviation of 2 deg, on a dry slope of 25 deg:

    >>> import numpy as np
    >>> from scipy.stats import norm
    >>> from slipmargin.stability.uncertainty.doubts import FieldDoubt
    >>> from slipmargin.stability.uncertainty.reliability import reliability
    >>> from slipmargin.stability.uncertainty.replaced import with_soil_field
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> angle = norm(30.0, 2.0)
    >>> def change(check, drawn):
    ...     return with_soil_field(check, "soil", "friction_angle", drawn["friction_angle"])
    >>> doubt = FieldDoubt(
    ...     name="friction angle",
    ...     field="friction_angle",
    ...     quantile=angle.ppf,
    ...     mean=30.0,
    ...     std=2.0,
    ...     change=change,
    ...     possible=lambda values: (values > 0.0) & (values < 90.0),
    ... )
    >>> rng = np.random.default_rng(1)
    >>> found = reliability(slope, [doubt], samples=1 << 14, rng=rng, sampling="sobol")["sliding"]
    >>> round(found.probability_below_one, 3), round(float(angle.cdf(25.0)), 3)
    (0.006, 0.006)
    """
    if not doubts:
        raise InputError("uncertain", "none", "nothing in this check carries a doubt to sample")
    if samples < 2:
        raise InputError("samples", samples, "allowed: from 2 upward")
    tallies: dict[str, Tally] = {}
    by = by or evaluation(check, doubts, samples)
    done = tried = 0
    for drawn, size, tried in possible_draws(doubts, samples, rng, sampling):  # noqa: B007
        for name, factors in by.factors(drawn).items():
            tally = tallies.setdefault(name, Tally((targets or {}).get(name)))
            tally.add(np.broadcast_to(factors, (size,)))
        done += size
        if progress is not None:
            progress(done)
    linear = second_moment(check, doubts, by.leave_out)
    lost, moments = 1.0 - done / tried, _moments(doubts)
    return {
        name: _summary(tally, linear[name], by.errors.get(name), lost, moments)
        for name, tally in tallies.items()
    }


def _moments(doubts: Sequence[Doubt]) -> int:
    return min(doubt.moments for doubt in doubts)


def _summary(
    tally: Tally, moment: SecondMoment, error: float | None, drawn_again: float, moments: int
) -> FactorDoubt:
    p = tally.below_one / tally.count
    # with no or all failures seen, the error is that of the next one (rule of succession)
    q = (tally.below_one + 1) / (tally.count + 2)
    spread = p if 0.0 < p < 1.0 else q
    limited = tally.unlimited == 0
    return FactorDoubt(
        mean=tally.mean if moments >= 1 and limited else math.nan,
        std=math.sqrt(tally.squares / (tally.count - 1)) if moments >= 2 and limited else math.nan,
        percentiles=tally.percentiles((5, 25, 50, 75, 95)),
        probability_below_one=p,
        probability_below_target=(
            None if tally.target is None else tally.below_target / tally.count
        ),
        sampling_error=math.sqrt(spread * (1.0 - spread) / tally.count),
        second_moment=moment,
        interpolation_error=error,
        drawn_again=drawn_again,
        unlimited=tally.unlimited / tally.count,
    )


def second_moment(
    check: Check, doubts: Sequence[Doubt], leave_out: Collection[str] | None = None
) -> Mapping[str, SecondMoment]:
    """First-order second-moment: the factor at the means, and its spread by differences.

    Central differences of one standard deviation along each principal direction. The mean is
    nan where a doubt has none, the others where it has no standard deviation. Slow limit
    states are left out, or those named.
    """
    left_out = check.SLOW if leave_out is None else leave_out
    # all in one call: the means first, then both ends of each direction
    centres = [doubt.centre() for doubt in doubts]
    ends = [
        (place, values)
        for place, doubt in enumerate(doubts)
        for pair in doubt.around()
        for values in pair
    ]
    drawn = [
        {
            name: np.array([mean, *(moved[name] if at == place else mean for at, moved in ends)])
            for name, mean in centre.items()
        }
        for place, centre in enumerate(centres)
    ]
    found = factors_of_draws(check, doubts, drawn, leave_out=left_out)
    result = {}
    moments = _moments(doubts)
    for name, factors in found.items():
        factor, *moved = np.broadcast_to(factors, (1 + len(ends),)).tolist()
        pairs = zip(moved[::2], moved[1::2], strict=True)
        variance = sum(((up - down) / 2.0) ** 2 for up, down in pairs)
        known = moments >= 2 and math.isfinite(variance)
        std = math.sqrt(variance) if known else math.nan
        index = (factor - 1.0) / std if std > 0.0 else math.nan
        laws = {"normal": normal_probability, "lognormal": lognormal_probability}
        below = {law: float(of(factor, std)) if std > 0.0 else math.nan for law, of in laws.items()}
        result[name] = SecondMoment(factor if moments else math.nan, std, index, below)
    return result


def variance_indices(
    check: Check,
    doubts: Sequence[Doubt],
    *,
    samples: int,
    rng: np.random.Generator,
    by: Evaluation | None = None,
) -> Mapping[str, Indices]:
    """First-order and total indices of variance, each doubt as one group.

    They are nan where a doubt has no variance, or the factor none. c′ and φ′ of one fit form one
    doubt and are never parted. ``samples`` is the size of each of the two base samples; the rest is
    as in ``reliability``.
    """
    groups = []
    for doubt in doubts:
        parts = [drawn[0] for drawn, _, _ in possible_draws([doubt], 2 * samples, rng)]
        groups.append({name: np.concatenate([one[name] for one in parts]) for name in parts[0]})
    a = [{k: v[:samples] for k, v in group.items()} for group in groups]
    b = [{k: v[samples:] for k, v in group.items()} for group in groups]
    by = by or evaluation(check, doubts, 4 * samples)
    at_a, at_b = by.factors(a), by.factors(b)
    has_variance = _moments(doubts) >= 2
    first: dict[str, dict[str, float]] = {name: {} for name in at_a}
    total: dict[str, dict[str, float]] = {name: {} for name in at_a}
    for place, doubt in enumerate(doubts):
        mixed = [b[i] if i == place else a[i] for i in range(len(doubts))]
        at_mixed = by.factors(mixed)
        for name in at_a:
            both = np.concatenate([at_a[name], at_b[name]])
            limited = np.all(np.isfinite(both)) and np.all(np.isfinite(at_mixed[name]))
            variance = float(np.var(both)) if limited and has_variance else math.nan
            if variance > 0.0:
                residual = float(np.mean((at_b[name] - at_mixed[name]) ** 2)) / 2.0
                effect = float(np.mean((at_a[name] - at_mixed[name]) ** 2)) / 2.0
                first[name][doubt.name] = 1.0 - residual / variance
                total[name][doubt.name] = effect / variance
            else:
                first[name][doubt.name] = total[name][doubt.name] = math.nan
    return {name: Indices(first[name], total[name]) for name in at_a}
