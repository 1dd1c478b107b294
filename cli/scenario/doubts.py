"""Turns what a scenario says of uncertainties into those that a check can be sampled over."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from slipmargin.cli.scenario.entries import CheckEntry, Scenario
from slipmargin.cli.scenario.files import naming
from slipmargin.cli.scenario.schema import UncertainModel
from slipmargin.cli.scenario.varied import VariedField, find_field, read_value
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.doubts import (
    CorrelatedDoubt,
    CurveDoubt,
    Doubt,
    FieldDoubt,
    JointDoubt,
    StrengthDoubt,
)
from slipmargin.stability.uncertainty.replaced import with_soil_field, with_strength
from slipmargin.strength import EnvelopeFit, InputError, Notice, Pair, PowerCurve, Strength
from slipmargin.strength.envelope.joint import JointStrength
from slipmargin.strength.envelope.joint_curve import JointCurve
from slipmargin.strength.errors import MISSING

__all__ = ["curve_putter", "doubts_of", "field_doubts"]

_NEEDS = {
    "normal": ("mean", "std"),
    "lognormal": ("mean", "std"),
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
}


_LEAST_SHARE = 0.001
"""A smaller share of the draws is not worth a sentence."""

_MATTERS = 0.05
"""From this share of the draws on, it bears on the probabilities: this project's own."""


def doubts_of(scenario: Scenario, entry: CheckEntry) -> tuple[list[Doubt], list[Notice]]:
    """The uncertainties that move one check, and what had to be left out. ``FileError``: A
    distribution or a correlation that cannot be.
    """
    with naming(scenario.path):
        uncertain = field_doubts(scenario)
        doubts: list[Doubt] = []
        notices: list[Notice] = []
        for name in entry.soil_names:
            fit = scenario.soils[name].fit
            if fit is None:
                if not any(varied.path.soil == name for _, varied in uncertain.values()):
                    notices.append(_no_doubt(name, "its strength is stated without one"))
                continue
            if scenario.soils[name].value == "cautious":
                notices.append(
                    Notice.info(
                        "sampled-about-best-fit",
                        f"{name}: samples lie about the best fit; the cautious value allows for "
                        "the same uncertainty in another way.",
                    )
                )
            try:
                doubt, owed = _of_fit(name, fit)
            except InputError as error:
                why = "its tests are too few to show scatter"
                if error.place == "exponent":
                    why = "its curve bends upward"
                elif fit.error_std is not None:
                    why = "its readings are forces, and no specimen makes stresses of them"
                notices.append(_no_doubt(name, why))
                continue
            doubts.append(doubt)
            notices += owed
        own = [
            doubt
            for path, (doubt, varied) in uncertain.items()
            if any(one is entry for one in varied.entries)
        ]
        doubts += _correlated(scenario, own)
        return doubts, notices


def _no_doubt(name: str, why: str) -> Notice:
    return Notice.caution(
        "strength-doubt-unknown",
        f"{name}: {why}; its uncertainty is left out, so the spread printed is too small.",
    )


def _of_joint(name: str, moments: int) -> Iterator[Notice]:
    """What a reader of the samples must know of the distribution behind them."""
    if moments == 0:
        yield Notice.caution(
            "no-mean",
            f"{name}: three tests leave so little known that the strength has no mean and no "
            "standard deviation, and a sample only seems to show them; none is printed. "
            "Percentiles and probabilities hold.",
        )
    elif moments == 1:
        yield Notice.info(
            "no-standard-deviation",
            f"{name}: with two degrees of freedom the strength has no standard deviation, and a "
            "sample only seems to show one; none is printed, nor a reliability index, which "
            "counts in it. Percentiles and probabilities hold.",
        )


def _put_right(code: str, share: float, text: str, source: str = "") -> list[Notice]:
    """That a share of the draws was treated as the fit would treat them."""
    if share < _LEAST_SHARE:
        return []
    notice = Notice.caution if share >= _MATTERS else Notice.info
    return [notice(code, text, source)]


def _of_fit(name: str, fit: EnvelopeFit) -> tuple[Doubt, list[Notice]]:
    """The joint uncertainty of a fitted line or curve, and what a reader must know of it."""
    doubt: JointDoubt
    if fit.curve is None:
        line = JointStrength.of(fit)
        doubt = StrengthDoubt(f"soils.{name}", line, _pair(name))
        share = line.share_lifted
        right = _put_right(
            "draws-put-to-zero-cohesion",
            share,
            f"{name}: {share:.1%} of the drawn lines meet the axis below zero; each was put to "
            "c′ = 0 with the slope that least squares then gives, as the fit does. If this "
            "soil has no cohesion at all, low probabilities at low stress are too low, by up "
            "to three times: state cohesionless = true where you know it.",
            "simulated series of tests, in DEVELOPERS.md",
        )
    else:
        curve = JointCurve(fit.curve)
        doubt = CurveDoubt(f"soils.{name}", curve, curve_putter(name, fit.curve))
        share = curve.share_bent_upward
        right = _put_right(
            "draws-put-to-a-line",
            share,
            f"{name}: {share:.1%} of the drawn curves bend upward, which no soil does; each was "
            "put to the line through the origin that least squares then gives.",
        )
    return doubt, [*_of_joint(name, doubt.moments), *right]


def curve_putter(name: str, curve: PowerCurve) -> Callable[[Check, Mapping[str, Any]], Check]:
    """What puts coefficient and exponent, by those names, into a check."""

    def change(check: Check, values: Mapping[str, Any]) -> Check:
        moved = PowerCurve(
            coefficient=values["coefficient"],
            exponent=values["exponent"],
            tested_range=curve.tested_range,
            reference_pressure=curve.reference_pressure,
        )
        return with_strength(check, name, Strength.from_curve(moved))

    return change


def _pair(name: str) -> Callable[[Check, Mapping[str, Any]], Check]:
    def change(check: Check, values: Mapping[str, Any]) -> Check:
        pair = Pair.of_tangent(values["cohesion"], values["tan_friction_angle"])
        return with_soil_field(check, name, "strength", pair)

    return change


def field_doubts(scenario: Scenario) -> dict[str, tuple[FieldDoubt, VariedField]]:
    """The distributions a scenario gives to its fields, none of them half of a fitted strength."""
    found = {}
    for path, model in scenario.top.uncertain.items():
        place = f"uncertain.{path}"
        varied = find_field(scenario, path, place=place)
        if varied.fit(scenario) is not None:
            allowed = "a fitted strength brings its own joint distribution; take this out"
            raise InputError(place, varied.path.field, allowed)
        found[path] = (_field_doubt(path, place, model, varied), varied)
    return found


def _field_doubt(path: str, place: str, model: UncertainModel, varied: VariedField) -> FieldDoubt:
    from scipy import stats

    wanted = _NEEDS[model.distribution]
    values: dict[str, float] = {}
    for name in ("mean", "std", "low", "mode", "high"):
        given = getattr(model, name)
        if (given is None) != (name not in wanted):
            allowed = f"a {model.distribution} distribution takes {', '.join(wanted)}"
            raise InputError(f"{place}.{name}", MISSING if given is None else given, allowed)
        if given is not None:
            values[name] = read_value(given, varied.dimension, f"{place}.{name}")
    _possible(place, model.distribution, values)
    law: Any
    match model.distribution:
        case "normal":
            law = stats.norm(values["mean"], values["std"])
        case "lognormal":
            variance = math.log1p((values["std"] / values["mean"]) ** 2)
            centre = values["mean"] * math.exp(-variance / 2.0)
            law = stats.lognorm(math.sqrt(variance), scale=centre)
        case "uniform":
            law = stats.uniform(values["low"], values["high"] - values["low"])
        case _:
            width = values["high"] - values["low"]
            law = stats.triang((values["mode"] - values["low"]) / width, values["low"], width)

    def change(check: Check, new: Mapping[str, Any]) -> Check:
        return varied.put(check, new[path])

    mean, std = float(law.mean()), float(law.std())
    return FieldDoubt(path, path, law.ppf, mean, std, change, varied.limits.holds)


def _possible(place: str, distribution: str, values: Mapping[str, float]) -> None:
    if "std" in values and not values["std"] > 0.0:
        raise InputError(f"{place}.std", f"{values['std']:g}", "allowed: above 0")
    if distribution == "lognormal" and not values["mean"] > 0.0:
        raise InputError(f"{place}.mean", f"{values['mean']:g}", "allowed: above 0")
    if "low" in values:
        if not values["low"] < values["high"]:
            raise InputError(f"{place}.high", f"{values['high']:g}", "it must be above low")
        mode = values.get("mode", values["low"])
        if not values["low"] <= mode <= values["high"]:
            raise InputError(f"{place}.mode", f"{mode:g}", "it must lie between low and high")


def _correlated(scenario: Scenario, own: list[FieldDoubt]) -> list[Doubt]:
    """Fields that are correlated become one uncertainty; the others stay as they are."""
    names = [doubt.name for doubt in own]
    every = list(scenario.top.uncertain)
    matrix = np.eye(len(own))
    linked: set[str] = set()
    for index, model in enumerate(scenario.top.correlations):
        place = f"correlations[{index}]"
        for path in model.between:
            if path not in every:
                raise InputError(f"{place}.between", path, "name two fields of [uncertain]")
        if not -1.0 < model.coefficient < 1.0:
            allowed = "allowed: above -1 and below 1"
            raise InputError(f"{place}.coefficient", model.coefficient, allowed)
        first, second = model.between
        if first == second:
            raise InputError(f"{place}.between", first, "name two different fields")
        if first in names and second in names:
            i, j = names.index(first), names.index(second)
            matrix[i, j] = matrix[j, i] = model.coefficient
            linked |= {first, second}
    group = [i for i, name in enumerate(names) if name in linked]
    alone: list[Doubt] = [doubt for doubt in own if doubt.name not in linked]
    if not group:
        return alone
    part = matrix[np.ix_(group, group)]
    if np.linalg.eigvalsh(part).min() < 1e-12:
        shown = ", ".join(f"{m.coefficient:g}" for m in scenario.top.correlations)
        raise InputError(
            "correlations",
            shown,
            "together they are not positive definite: no numbers are correlated so",
        )
    members = tuple(own[i] for i in group)
    return [*alone, CorrelatedDoubt(members, np.linalg.cholesky(part).astype(float))]
