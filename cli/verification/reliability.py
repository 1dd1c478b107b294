"""Runs the check values of reliability."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from slipmargin.stability.uncertainty.reliability import lognormal_probability, normal_probability

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def pf_normal(i: Inputs) -> Found:
    """Probability below 1 of a normal factor."""
    return {"pf": normal_probability(i["F"], i["sigma"])}


def pf_lognormal(i: Inputs) -> Found:
    """Probability below 1 of a lognormal factor."""
    return {"pf": lognormal_probability(i["F"], i["V"] * i["F"])}


def pf_lognormal_threshold(i: Inputs) -> Found:
    """Probability of a lognormal quantity below a threshold."""
    return {"pf": lognormal_probability(i["mean"], i["V"] * i["mean"], i["threshold"])}


def pf_from_beta(i: Inputs) -> Found:
    """Probability of failure at each reliability index."""
    digits = i.get("digits", 1)
    return {
        f"pf_{beta:.{digits}f}".replace(".", "_"): normal_probability(1.0 + beta, 1.0)
        for beta in i["betas"]
    }


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f for f in (pf_normal, pf_lognormal, pf_lognormal_threshold, pf_from_beta)
}
"""By the name a row calls it."""
