"""Turns what a scenario says of doubts into doubts that a check can be sampled over."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from cli.scenario import CheckEntry, FileError, Scenario
from cli.schema import UncertainModel
from cli.varied import VariedField, find_field, read_value
from stability import Check
from stability.reliability import CorrelatedDoubt, Doubt, FieldDoubt, StrengthDoubt
from stability.sensitivity import with_soil_strength
from strength import InputError, Notice
from strength.joint import JointStrength

__all__ = ["doubts_of", "field_doubts"]

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
    """The doubts that move one check, and what had to be left out.

    Raises
    ------
    FileError
        A distribution or a correlation that cannot be.
    """
    try:
        uncertain = field_doubts(scenario)
        doubts: list[Doubt] = []
        notices: list[Notice] = []
        for name in dict.fromkeys(entry.soils.values()):
            fit = scenario.soils[name].fit
            if fit is None:
                if not any(path.startswith(f"soils.{name}.") for path in scenario.doubt.uncertain):
                    notices.append(_no_doubt(name, "its strength is stated without one"))
                continue
            if scenario.soils[name].value == "cautious":
                notices.append(
                    Notice.info(
                        "sampled-about-best-fit",
                        f"{name}: samples lie about the best fit; the cautious value allows for "
                        "the same doubt in another way.",
                    )
                )
            try:
                joint = JointStrength.of(fit)
            except InputError:
                few = fit.error_std is None
                why = "its tests are too few to show scatter"
                lacking = "its readings are forces, and no specimen makes stresses of them"
                notices.append(_no_doubt(name, why if few else lacking))
                continue
            doubts.append(StrengthDoubt(f"soils.{name}", joint, _pair(name)))
            notices += _of_joint(name, joint)
        own = [
            doubt
            for path, (doubt, varied) in uncertain.items()
            if any(mover[0] is entry for mover in varied.movers)
        ]
        doubts += _correlated(scenario, own)
        return doubts, notices
    except FileError:
        raise
    except InputError as error:
        raise FileError(scenario.path, error) from None


def _no_doubt(name: str, why: str) -> Notice:
    return Notice.caution(
        "strength-doubt-unknown",
        f"{name}: {why}; its doubt is left out, so the spread printed is too small.",
    )


def _of_joint(name: str, joint: JointStrength) -> list[Notice]:
    """What a reader of the samples must know of the distribution behind them."""
    notices = []
    if joint.moments == 0:
        notices.append(
            Notice.caution(
                "no-mean",
                f"{name}: three tests leave so little known that the doubt has no mean and no "
                "standard deviation, and a sample only seems to show them; none is printed. "
                "Percentiles and probabilities hold.",
            )
        )
    elif joint.moments == 1:
        notices.append(
            Notice.info(
                "no-standard-deviation",
                f"{name}: with two degrees of freedom the doubt has no standard deviation, and a "
                "sample only seems to show one; none is printed, nor a reliability index, which "
                "counts in it. Percentiles and probabilities hold.",
            )
        )
    share = joint.share_lifted
    if share >= _LEAST_SHARE:
        notice = Notice.caution if share >= _MATTERS else Notice.info
        notices.append(
            notice(
                "draws-put-to-zero-cohesion",
                f"{name}: {share:.1%} of the drawn lines meet the axis below zero; each was put to "
                "c′ = 0 with the slope that least squares then gives, as the fit does. If this "
                "soil has no cohesion at all, low probabilities at low stress are too low, by up "
                "to three times: state cohesionless = true where you know it.",
                "simulated series of tests, in DEVELOPERS.md",
            )
        )
    return notices


def _pair(name: str) -> Callable[[Check, Mapping[str, Any]], Check]:
    def change(check: Check, values: Mapping[str, Any]) -> Check:
        return with_soil_strength(check, name, values["cohesion"], values["friction_angle"])

    return change


def field_doubts(scenario: Scenario) -> dict[str, tuple[FieldDoubt, VariedField]]:
    """The distributions a scenario gives to its fields.

    Raises
    ------
    InputError
        A field that does not exist, a fitted strength, impossible parameters.
    """
    found = {}
    for path, model in scenario.doubt.uncertain.items():
        place = f"uncertain.{path}"
        varied = find_field(scenario, path, place=place)
        head, _, rest = path.partition(".")
        name, _, field = rest.rpartition(".")
        of_strength = head == "soils" and field in ("cohesion", "friction_angle")
        if of_strength and scenario.soils[name].fit is not None:
            allowed = "a fitted strength brings its own joint distribution; take this out"
            raise InputError(place, field, allowed)
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
            raise InputError(f"{place}.{name}", "missing" if given is None else given, allowed)
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

    return FieldDoubt(
        path, path, law.ppf, float(law.mean()), float(law.std()), change, _allowed(varied)
    )


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


def _allowed(varied: VariedField) -> Callable[[Any], Any]:
    limits = varied.limits

    def possible(values: Any) -> Any:
        low = values > limits.low if limits.open_low else values >= limits.low
        high = values < limits.high if limits.open_high else values <= limits.high
        return low & high

    return possible


def _correlated(scenario: Scenario, own: list[FieldDoubt]) -> list[Doubt]:
    """Fields that are correlated become one doubt; the others stay as they are."""
    names = [doubt.name for doubt in own]
    every = list(scenario.doubt.uncertain)
    matrix = np.eye(len(own))
    linked: set[str] = set()
    for index, model in enumerate(scenario.doubt.correlations):
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
        shown = ", ".join(f"{m.coefficient:g}" for m in scenario.doubt.correlations)
        raise InputError("correlations", shown, "together they are no correlation matrix")
    members = tuple(own[i] for i in group)
    return [*alone, CorrelatedDoubt(members, np.linalg.cholesky(part).astype(float))]
