"""Doubts that go together, refusals of a sample, and what a sample says of itself."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slipmargin.stability import InfiniteSlope, PlanarWedge, Soil
from slipmargin.stability.uncertainty.doubts import CorrelatedDoubt, FieldDoubt
from slipmargin.stability.uncertainty.evaluation import evaluation
from slipmargin.stability.uncertainty.reliability import (
    lognormal_probability,
    normal_probability,
    reliability,
    second_moment,
    variance_indices,
)
from slipmargin.stability.uncertainty.replaced import with_soil_field
from slipmargin.strength import InputError, Strength

SLOPE = InfiniteSlope(
    soil=Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=18.0, name="bank"),
    slope_angle=30.0,
    depth=3.0,
)
HELD = PlanarWedge(  # anchors take more than drives: the factor has no limit
    soil=SLOPE.soil, height=4.0, face_angle=60.0, plane_angle=40.0, support_force=1e4
)
RHO = -0.6
FACTOR = np.linalg.cholesky(np.array([[1.0, RHO], [RHO, 1.0]]))


def doubt(field: str, law: Any, *, of_soil: bool = False) -> FieldDoubt:
    def change(check: Any, values: Any) -> Any:
        if of_soil:
            return with_soil_field(check, "bank", field, values[field])
        return dataclasses.replace(check, **{field: values[field]})

    return FieldDoubt(
        f"bank.{field}" if of_soil else field,
        f"bank.{field}" if of_soil else field,
        law.ppf,
        float(law.mean()),
        float(law.std()),
        lambda check, values: change(check, {field: next(iter(values.values()))}),
        lambda values: values > 0.0,
    )


def pair(one: Any, other: Any) -> CorrelatedDoubt:
    members = (doubt("root_cohesion", one), doubt("depth", other))
    return CorrelatedDoubt(
        tuple(
            dataclasses.replace(
                member,
                change=lambda check, values, field=member.field: dataclasses.replace(
                    check, **{field: values[field]}
                ),
            )
            for member in members
        ),
        FACTOR,
    )


def test_ranks_go_together_and_each_keeps_its_own_distribution() -> None:
    laws = stats.lognorm(0.4, scale=4.0), stats.uniform(2.0, 1.5)
    both = pair(*laws)
    assert both.dimensions == 2
    assert both.name == "root_cohesion with depth"
    drawn, kept = both.draw(np.random.default_rng(0).random((40_000, 2)))
    assert kept.all()
    for values, law in zip(drawn.values(), laws, strict=True):
        assert stats.kstest(values, law.cdf).pvalue > 0.01
    ranks = stats.spearmanr(*drawn.values()).statistic
    assert ranks == pytest.approx(6.0 / math.pi * math.asin(RHO / 2.0), abs=0.015)


def test_a_draw_impossible_in_one_member_is_impossible() -> None:
    both = pair(stats.norm(1.0, 2.0), stats.norm(3.0, 0.1))
    drawn, kept = both.draw(np.random.default_rng(1).random((2000, 2)))
    assert_allclose(kept, (drawn["root_cohesion"] > 0.0) & (drawn["depth"] > 0.0))
    assert 0.2 < np.mean(~kept) < 0.4


def test_first_order_spread_of_a_pair_counts_its_correlation() -> None:
    """F = a c_r + b(d): var = (a s_c)² + (b′ s_d)² + 2 ρ (a s_c)(b′ s_d), by differences."""
    laws = stats.norm(4.0, 0.05), stats.norm(3.0, 0.01)
    both = pair(*laws)
    assert both.centre() == {"root_cohesion": 4.0, "depth": 3.0}
    at = dataclasses.replace(SLOPE, root_cohesion=4.0)

    def factor(**changed: float) -> float:
        return float(dataclasses.replace(at, **changed).evaluate().lowest)

    by_cohesion = (factor(root_cohesion=4.05) - factor(root_cohesion=3.95)) / 2.0
    by_depth = (factor(depth=3.01) - factor(depth=2.99)) / 2.0
    expected = math.sqrt(by_cohesion**2 + by_depth**2 + 2.0 * RHO * by_cohesion * by_depth)
    found = second_moment(SLOPE, [both])["sliding"]
    assert found.mean == pytest.approx(factor())
    assert found.std == pytest.approx(expected, rel=1e-4)
    assert found.reliability_index == pytest.approx((factor() - 1.0) / expected, rel=1e-4)
    sampled = reliability(SLOPE, [both], samples=40_000, rng=np.random.default_rng(2))["sliding"]
    assert sampled.std == pytest.approx(expected, rel=0.02)


def test_a_field_known_for_certain_has_no_spread_and_no_index() -> None:
    certain = dataclasses.replace(doubt("depth", stats.norm(3.0, 0.1)), std=0.0)
    found = second_moment(SLOPE, [certain])["sliding"]
    assert found.std == 0.0
    assert math.isnan(found.reliability_index)


def test_a_factor_without_limit_has_no_first_order_spread() -> None:
    found = second_moment(HELD, [doubt("surcharge", stats.norm(5.0, 0.1))])["sliding"]
    assert found.mean == math.inf
    assert math.isnan(found.std)
    assert math.isnan(found.reliability_index)


def test_a_sample_of_one_is_refused() -> None:
    with pytest.raises(InputError, match="from 2 upward"):
        reliability(
            SLOPE,
            [doubt("depth", stats.norm(3.0, 0.1))],
            samples=1,
            rng=np.random.default_rng(0),
        )


def test_doubts_of_which_hardly_any_draw_is_possible_are_refused() -> None:
    never = dataclasses.replace(
        doubt("depth", stats.norm(3.0, 0.1)), possible=lambda values: values > 4.0
    )
    with pytest.raises(InputError, match="hardly any draw is possible") as refused:
        reliability(SLOPE, [never], samples=10, rng=np.random.default_rng(0))
    assert refused.value.value == "depth"


def test_progress_is_told_up_to_the_number_asked_for() -> None:
    seen: list[int] = []
    reliability(
        SLOPE,
        [doubt("depth", stats.norm(3.0, 0.1))],
        samples=(1 << 16) + 10,
        rng=np.random.default_rng(0),
        progress=seen.append,
    )
    assert seen == [1 << 16, (1 << 16) + 10]


def test_the_sampling_error_is_that_of_a_count_and_of_the_next_failure_where_none_was_seen() -> (
    None
):
    depths = doubt("depth", stats.norm(3.0, 0.3))

    def sampled(angle: float) -> Any:
        check = dataclasses.replace(SLOPE, slope_angle=angle)
        rng = np.random.default_rng(4)
        return reliability(check, [depths], samples=400, rng=rng, targets={"sliding": 1.2})[
            "sliding"
        ]

    safe, some = sampled(20.0), sampled(35.0)
    assert safe.probability_below_one == 0.0
    p = 1.0 / 402.0
    assert safe.sampling_error == pytest.approx(math.sqrt(p * (1.0 - p) / 400.0))
    p = some.probability_below_one
    assert 0.1 < p < 0.9
    assert some.sampling_error == pytest.approx(math.sqrt(p * (1.0 - p) / 400.0))
    assert some.probability_below_target == 1.0
    gone = sampled(60.0)
    assert gone.probability_below_one == 1.0
    assert gone.sampling_error == pytest.approx(safe.sampling_error)


def test_mean_and_spread_are_those_of_the_sample_over_several_portions() -> None:
    """The factor of the slope falls as 1/d; its sample is drawn again and evaluated at once."""
    law = stats.norm(3.0, 0.2)
    samples = 150_000
    found = reliability(
        SLOPE,
        [doubt("depth", law)],
        samples=samples,
        rng=np.random.default_rng(8),
        targets={"sliding": 1.05},
    )["sliding"]
    rng = np.random.default_rng(8)
    uniforms = np.concatenate([rng.random((1 << 16, 1)) for _ in range(3)])[:samples, 0]
    check = dataclasses.replace(SLOPE, depth=law.ppf(uniforms))
    factors = np.asarray(check.evaluate().lowest)
    assert found.mean == pytest.approx(factors.mean(), rel=1e-12)
    assert found.std == pytest.approx(factors.std(ddof=1), rel=1e-9)
    assert found.probability_below_one == np.mean(factors < 1.0)
    assert found.probability_below_target == np.mean(factors < 1.05)
    for level, value in found.percentiles.items():
        assert value == pytest.approx(np.percentile(factors, float(level)), rel=3e-4)


def test_sobol_points_are_spread_more_evenly_than_chance() -> None:
    """Without friction F = c / (γ d sin β cos β), linear in c: its mean is that of c."""
    law = stats.uniform(5.0, 10.0)
    clay = dataclasses.replace(
        SLOPE,
        soil=dataclasses.replace(SLOPE.soil, strength=Strength(cohesion=10.0, friction_angle=0.0)),
    )
    samples = 1 << 12
    cohesion = FieldDoubt(
        "c",
        "c",
        law.ppf,
        10.0,
        float(law.std()),
        lambda check, values: with_soil_field(check, "bank", "cohesion", values["c"]),
        lambda values: values > 0.0,
    )
    exact = float(clay.evaluate().lowest)
    errors = {}
    for sampling in ("random", "sobol"):
        off = [
            reliability(
                clay,
                [cohesion],
                samples=samples,
                rng=np.random.default_rng(seed),
                sampling=sampling,
            )["sliding"].mean
            - exact
            for seed in range(10)
        ]
        errors[sampling] = float(np.sqrt(np.mean(np.square(off))))
    chance = exact * float(law.std()) / 10.0 / math.sqrt(samples)
    assert 0.4 * chance < errors["random"] < 2.0 * chance
    assert errors["sobol"] < 0.05 * chance


def test_factors_without_limit_have_percentiles_without_limit_and_no_mean() -> None:
    found = reliability(
        HELD,
        [doubt("surcharge", stats.norm(5.0, 0.1))],
        samples=70_000,
        rng=np.random.default_rng(0),
    )["sliding"]
    assert set(found.percentiles) == {"5", "25", "50", "75", "95"}
    assert found.probability_below_one == 0.0
    assert set(found.percentiles.values()) == {np.inf}
    assert np.isnan(found.mean)
    assert np.isnan(found.std)


def test_indices_of_two_doubts_that_multiply_are_those_of_their_product() -> None:
    """Known answer: F ∝ x y, uniform about 1, V = (1 + v)² - 1, S = v / V, T = v (1 + v) / V."""
    dry = InfiniteSlope(
        soil=Soil(
            strength=Strength(cohesion=10.0, friction_angle=0.0), unit_weight=18.0, name="bank"
        ),
        slope_angle=30.0,
        depth=3.0,
    )
    wide = stats.uniform(0.4, 1.2)

    def scaled(name: str) -> FieldDoubt:
        def change(check: Any, values: Any) -> Any:
            if name == "c":
                return with_soil_field(check, "bank", "cohesion", 10.0 * values["c"])
            return dataclasses.replace(check, depth=3.0 / values["d"])

        return FieldDoubt(name, name, wide.ppf, 1.0, float(wide.std()), change, lambda v: v > 0.0)

    found = variance_indices(
        dry, [scaled("c"), scaled("d")], samples=40_000, rng=np.random.default_rng(6)
    )["sliding"]
    v = float(wide.var())
    whole = (1.0 + v) ** 2 - 1.0
    for name in ("c", "d"):
        assert found.first_order[name] == pytest.approx(v / whole, abs=0.02)
        assert found.total[name] == pytest.approx(v * (1.0 + v) / whole, abs=0.02)


def test_a_factor_that_does_not_vary_has_no_indices() -> None:
    found = variance_indices(
        HELD,
        [doubt("surcharge", stats.norm(5.0, 0.1))],
        samples=16,
        rng=np.random.default_rng(0),
    )["sliding"]
    assert math.isnan(found.first_order["surcharge"])
    assert math.isnan(found.total["surcharge"])


def test_closed_probabilities_are_those_of_scipy() -> None:
    assert normal_probability(1.4, 0.3, 1.1) == pytest.approx(stats.norm(1.4, 0.3).cdf(1.1))
    variance = math.log1p((0.3 / 1.4) ** 2)
    law = stats.lognorm(math.sqrt(variance), scale=1.4 / math.sqrt(1.0 + (0.3 / 1.4) ** 2))
    assert law.mean() == pytest.approx(1.4)
    assert law.std() == pytest.approx(0.3)
    assert lognormal_probability(1.4, 0.3, 1.1) == pytest.approx(law.cdf(1.1))


def test_a_check_that_searches_for_nothing_is_evaluated_itself() -> None:
    by = evaluation(SLOPE, [doubt("depth", stats.norm(3.0, 0.1))], 1_000_000)
    assert by.errors == {}
