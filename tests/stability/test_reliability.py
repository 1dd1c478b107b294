"""Probabilities against closed forms and each other."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats
from scipy.stats import norm

from slipmargin.stability import InfiniteSlope, PlanarWedge, Rotational, Soil
from slipmargin.stability.uncertainty.doubts import FieldDoubt, StrengthDoubt
from slipmargin.stability.uncertainty.evaluation import evaluation
from slipmargin.stability.uncertainty.reliability import (
    FactorDoubt,
    reliability,
    second_moment,
    variance_indices,
)
from slipmargin.stability.uncertainty.reliability_notices import reliability_notices
from slipmargin.stability.uncertainty.replaced import with_soil_field
from slipmargin.strength import InputError, Pair, ShearTests, Strength, fit_envelope, fit_line
from slipmargin.strength.envelope.joint import JointStrength


def series_about(b: float, n: int, scatter: float, c: float = 0.0, seed: int = 1) -> ShearTests:
    rng = np.random.default_rng(seed)
    normal = np.linspace(30.0, 200.0, n)
    return series(normal, c + b * normal + rng.normal(0.0, scatter, n))


def series(normal: Any, shear: Any) -> ShearTests:
    n = len(normal)
    return ShearTests(
        names=tuple(f"{i}" for i in range(n)),
        normal=np.asarray(normal),
        shear=np.asarray(shear),
    )


def strength_doubt(fit: Any) -> StrengthDoubt:
    def change(check: Any, values: Any) -> Any:
        return with_soil_field(check, "bank", "strength", Pair.of_tangent(**values))

    return StrengthDoubt("bank", JointStrength.of(fit), change)


def slope(c: float, phi: float, beta: float, **more: Any) -> InfiniteSlope:
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=18.0, name="bank")
    return InfiniteSlope(soil=soil, slope_angle=beta, depth=3.0, **more)


@pytest.mark.parametrize("sampling", ["random", "sobol"])
def test_sampling_meets_the_closed_form_of_a_cohesionless_slope(sampling: str) -> None:
    fit = fit_envelope(series_about(0.62, 5, 6.0), intercept="zero")
    b, se = float(fit.line.slope), float(fit.standard_error_tan)
    beta = math.degrees(math.atan(b - 1.6 * se))
    below, below_zero = stats.t.cdf([(math.tan(math.radians(beta)) - b) / se, -b / se], 4)
    exact = (below - below_zero) / (1.0 - below_zero)
    check = slope(0.0, 30.0, beta)
    for seed in range(20):
        found = reliability(
            check,
            [strength_doubt(fit)],
            samples=20_000,
            rng=np.random.default_rng(seed),
            sampling=sampling,
        )["sliding"]
        assert abs(found.probability_below_one - exact) < 3.0 * found.sampling_error


def test_sampling_meets_the_closed_form_of_a_linear_case() -> None:
    """The factor of a dry slope is linear in (c′, tan φ′), so it follows a t of its own."""
    fit = fit_envelope(series_about(0.6, 6, 2.0, c=25.0))
    check = slope(10.0, 30.0, 38.0)
    weights = np.array(
        [
            float(with_pair(check, 1.0, 1e-9).evaluate().lowest),
            float(with_pair(check, 0.0, 45.0).evaluate().lowest),
        ]
    )
    joint = JointStrength.of(fit)
    mean = weights @ [joint.intercept, joint.slope]
    spread = math.sqrt(weights @ joint.factor @ joint.factor.T @ weights)
    level = mean - 1.5 * spread
    exact = stats.t.cdf(-1.5, joint.degrees_of_freedom)
    for seed in range(20):
        found = reliability(
            check,
            [strength_doubt(fit)],
            samples=20_000,
            rng=np.random.default_rng(seed),
            targets={"sliding": level},
        )["sliding"]
        error = math.sqrt(exact * (1.0 - exact) / 20_000)
        assert abs(found.probability_below_target - exact) < 3.0 * error


def with_pair(check: InfiniteSlope, c: float, phi: float) -> InfiniteSlope:
    return dataclasses.replace(
        check,
        soil=dataclasses.replace(check.soil, strength=Strength(cohesion=c, friction_angle=phi)),
    )


def test_the_sampled_covariance_is_that_of_the_fit() -> None:
    fit = fit_envelope(series_about(0.6, 12, 2.0, c=30.0))
    joint = JointStrength.of(fit)
    rng = np.random.default_rng(5)
    sampled = np.cov(*joint.draw(rng.random((400_000, 2))))
    nu = joint.degrees_of_freedom
    assert_allclose(sampled, nu / (nu - 2) * joint.factor @ joint.factor.T, rtol=0.03)


def test_the_joint_region_covers_the_truth_as_often_as_stated() -> None:
    inside = 0
    for seed in range(1500):
        fit = fit_envelope(series_about(0.6, 5, 4.0, c=40.0, seed=seed), intercept="free")
        inside += fit.line.distance(40.0, 0.6) / 2.0 <= stats.f.ppf(0.95, 2, 3)
    assert 0.93 <= inside / 1500 <= 0.97


def test_perfectly_known_strength_has_no_spread() -> None:
    fit = fit_envelope(series_about(0.6, 5, 0.0, c=5.0))
    found = reliability(
        slope(5.0, 31.0, 25.0),
        [strength_doubt(fit)],
        samples=1000,
        rng=np.random.default_rng(0),
    )["sliding"]
    assert found.std < 1e-9 * found.mean


def test_the_spread_shrinks_as_one_over_the_root_of_the_number_of_tests() -> None:
    spreads = []
    for n in (200, 800):
        fit = fit_envelope(series_about(0.6, n, 4.0, c=10.0))
        spreads.append(second_moment(slope(5.0, 31.0, 25.0), [strength_doubt(fit)])["sliding"].std)
    assert spreads[0] / spreads[1] == pytest.approx(2.0, rel=0.15)


def weight_doubt(mean: float, std: float) -> FieldDoubt:
    law = stats.norm(mean, std)
    return FieldDoubt(
        "bank.unit_weight",
        "unit_weight",
        law.ppf,
        mean,
        std,
        lambda check, values: with_soil_field(check, "bank", "unit_weight", values["unit_weight"]),
        lambda values: values > 0.0,
    )


def test_first_order_second_moment_agrees_with_sampling_for_small_doubts() -> None:
    fit = fit_envelope(series_about(0.6, 30, 1.0, c=20.0))
    doubts = [strength_doubt(fit), weight_doubt(18.0, 0.3)]
    found = reliability(
        slope(5.0, 31.0, 25.0), doubts, samples=200_000, rng=np.random.default_rng(2)
    )["sliding"]
    assert found.second_moment.mean == pytest.approx(found.mean, rel=2e-3)
    assert found.second_moment.std == pytest.approx(found.std, rel=2e-2)
    index = (found.second_moment.mean - 1.0) / found.second_moment.std
    assert found.second_moment.reliability_index == pytest.approx(index)


def test_percentiles_are_those_of_the_sample() -> None:
    fit = fit_envelope(series_about(0.6, 6, 3.0, c=20.0))
    joint = JointStrength.of(fit)
    check = slope(5.0, 31.0, 25.0)
    found = reliability(check, [strength_doubt(fit)], samples=50_000, rng=np.random.default_rng(9))[
        "sliding"
    ]
    c, tan = joint.draw(np.random.default_rng(10).random((400_000, 2)))
    phi = np.degrees(np.arctan(tan))
    factors = (
        with_soil_field(
            with_soil_field(check, "bank", "cohesion", c), "bank", "friction_angle", phi
        )
        .evaluate()
        .lowest
    )
    for level, value in found.percentiles.items():
        assert value == pytest.approx(float(np.percentile(factors, float(level))), rel=0.02)


def test_indices_of_variance_of_a_linear_case_are_the_shares_of_variance() -> None:
    """Known answer: F = q₁ + q₂ with independent parts of variance 4 and 1."""
    fields = {"surcharge": (20.0, 0.02), "root_cohesion": (10.0, 0.01)}
    check = slope(5.0, 31.0, 25.0)
    doubts = []
    for field, (mean, std) in fields.items():
        doubts.append(
            FieldDoubt(
                field,
                field,
                stats.norm(mean, std).ppf,
                mean,
                std,
                lambda c, v, field=field: dataclasses.replace(c, **{field: v[field]}),
                lambda values: values > 0.0,
            )
        )
    moments = {
        d.name: second_moment(
            dataclasses.replace(check, **{f: m for f, (m, _) in fields.items()}), [d]
        )["sliding"].std
        ** 2
        for d in doubts
    }
    found = variance_indices(check, doubts, samples=20_000, rng=np.random.default_rng(4))["sliding"]
    whole = sum(moments.values())
    for name, part in moments.items():
        assert found.first_order[name] == pytest.approx(part / whole, abs=0.03)
        assert found.total[name] == pytest.approx(part / whole, abs=0.03)


def probability(shear: list[float], level: float) -> float:
    fit = fit_envelope(series([25.0, 50.0, 100.0, 150.0], shear))
    found = reliability(
        slope(5.0, 31.0, 25.0),
        [strength_doubt(fit)],
        samples=50_000,
        rng=np.random.default_rng(1),
        targets={"sliding": level},
    )["sliding"]
    assert found.drawn_again == 0.0
    assert found.probability_below_target is not None
    return found.probability_below_target


def test_a_reading_that_tips_the_intercept_below_zero_does_not_make_the_slope_safer() -> None:
    """One reading moved by 1 kPa may not change a probability by more than a little."""
    above, below = [17.5, 28.0, 63.0, 92.0], [16.5, 28.0, 63.0, 92.0]
    signs = [float(fit_line([25.0, 50.0, 100.0, 150.0], one).intercept) for one in (above, below)]
    assert signs[0] > 0.0 > signs[1]
    at_above, at_below = probability(above, 1.25), probability(below, 1.25)
    assert 0.02 < at_above < 0.5
    assert at_below == pytest.approx(at_above, rel=0.25)


def test_without_a_mean_or_a_deviation_none_is_given() -> None:
    """A t with one degree of freedom has no mean, with two no standard deviation."""
    for count, has_mean, has_std in ((3, False, False), (4, True, False), (5, True, True)):
        fit = fit_envelope(series_about(0.6, count, 2.0, c=20.0))
        found = reliability(
            slope(5.0, 31.0, 25.0),
            [strength_doubt(fit), weight_doubt(18.0, 0.8)],
            samples=2000,
            rng=np.random.default_rng(1),
        )["sliding"]
        assert math.isfinite(found.mean) == has_mean
        assert math.isfinite(found.std) == has_std
        assert math.isfinite(found.second_moment.mean) == has_mean
        assert math.isfinite(found.second_moment.std) == has_std
        assert math.isfinite(found.second_moment.reliability_index) == has_std
        assert found.percentiles["5"] < found.percentiles["95"]
        shares = variance_indices(
            slope(5.0, 31.0, 25.0),
            [strength_doubt(fit), weight_doubt(18.0, 0.8)],
            samples=200,
            rng=np.random.default_rng(1),
        )["sliding"]
        assert math.isfinite(shares.total["bank"]) == has_std


def test_second_moments_move_along_the_lines_that_soil_allows() -> None:
    """At c′ = 0 a lower line is put to the axis as the fit does it, and keeps its slope in turn."""
    fit = fit_envelope(series([25.0, 50.0, 100.0, 150.0, 200.0], [14.0, 29.0, 62.0, 96.0, 123.0]))
    joint = JointStrength.of(fit)
    assert joint.intercept < 0.0
    check = slope(5.0, 31.0, 25.0)
    found = second_moment(check, [strength_doubt(fit)])["sliding"]
    best = fit.best_fit
    at_best = with_pair(check, float(best.cohesion), float(best.friction_angle)).evaluate().lowest
    assert found.mean == pytest.approx(float(at_best))
    sides = [
        [
            float(with_pair(check, c, math.degrees(math.atan(tan))).evaluate().lowest)
            for c, tan in ends
        ]
        for ends in joint.around()
    ]
    by_hand = math.hypot(*((up - down) / 2.0 for up, down in sides))
    assert found.std == pytest.approx(by_hand)


def flattening_slope(mean: float, std: float) -> Mapping[str, FactorDoubt]:
    """A dry slope of sand whose angle is doubted, down to a level ground."""
    angle = norm(mean, std)
    doubt = FieldDoubt(
        name="slope_angle",
        field="slope_angle",
        quantile=angle.ppf,
        mean=mean,
        std=std,
        change=lambda check, drawn: dataclasses.replace(
            check, slope_angle=np.maximum(drawn["slope_angle"], 1e-5)
        ),
        possible=lambda values: values < 90.0,
    )
    check = slope(0.0, 33.0, mean)
    return reliability(check, [doubt], samples=20_000, rng=np.random.default_rng(3))


def test_a_factor_without_limit_has_no_mean_and_says_so() -> None:
    found = flattening_slope(10.0, 7.0)["sliding"]
    assert found.unlimited == pytest.approx(norm(10.0, 7.0).cdf(0.0), abs=0.01)
    assert math.isnan(found.mean)
    assert math.isnan(found.std)
    # the flattest 7.7 % have no limit, and so has the 95 % value
    assert math.isinf(found.percentiles["95"])
    assert math.isfinite(found.percentiles["75"])
    assert "factors-without-limit" in {n.code for n in reliability_notices({"sliding": found})}
    steep = flattening_slope(24.0, 3.0)["sliding"]
    assert steep.unlimited == 0.0
    assert math.isfinite(steep.mean)


def test_an_index_that_the_samples_do_not_bear_out_says_why() -> None:
    skewed = flattening_slope(24.0, 5.0)["sliding"]
    # F = tan φ′ / tan β is below 1 where β is above φ′
    exact = norm(24.0, 5.0).sf(33.0)
    assert skewed.probability_below_one == pytest.approx(exact, abs=0.004)
    (notice,) = reliability_notices({"sliding": skewed})
    assert notice.code == "index-and-probability-differ"
    assert "skewed" in notice.text
    index = skewed.second_moment.reliability_index
    assert f"{norm.cdf(-index):.2g}" in notice.text
    # a factor that is linear in what is doubted has nothing to explain
    linear = weight_doubt(18.0, 1.0)
    check = slope(5.0, 20.0, 25.0)
    plain = reliability(check, [linear], samples=20_000, rng=np.random.default_rng(3))
    assert not list(reliability_notices(plain))


def test_a_sample_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="doubt"):
        reliability(slope(5.0, 31.0, 25.0), [], samples=100, rng=np.random.default_rng(0))


@pytest.mark.parametrize("kind", [PlanarWedge, Rotational])
def test_a_grid_of_curves_gives_what_direct_searches_give(kind: Any) -> None:
    fit = fit_envelope(series_about(0.6, 6, 2.0, c=20.0))
    soil = Soil(
        strength=Strength(cohesion=10.0, friction_angle=31.0), unit_weight=18.0, name="bank"
    )
    check = kind(soil=soil, height=6.0, face_angle=60.0)
    doubts = [strength_doubt(fit), weight_doubt(18.0, 0.8)]
    by = evaluation(check, doubts, 100_000)
    assert set(by.errors) == set(check.limit_states)
    assert max(by.errors.values()) < 1e-3
    rng = np.random.default_rng(3)
    c, tan = JointStrength.of(fit).draw(rng.random((60, 2)))
    weights = rng.normal(18.0, 0.8, 60)
    kept = (c > 0.0) & (tan > 0.0)
    drawn = [
        {"cohesion": c[kept], "tan_friction_angle": tan[kept]},
        {"unit_weight": weights[kept]},
    ]
    moved = check
    for doubt, values in zip(doubts, drawn, strict=True):
        moved = doubt.apply(moved, values)
    found = by.factors(drawn)
    for state, direct in moved.factors_alone().items():
        assert_allclose(found[state], direct, rtol=2e-3)


def test_few_samples_are_searched_one_by_one() -> None:
    soil = Soil(
        strength=Strength(cohesion=10.0, friction_angle=31.0), unit_weight=18.0, name="bank"
    )
    check = PlanarWedge(soil=soil, height=6.0, face_angle=60.0)
    assert evaluation(check, [weight_doubt(18.0, 0.8)], 100).errors == {}
