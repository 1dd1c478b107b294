"""Quantities that are possible but rare: mostly a slip of unit or of column.

The ranges are common practice, no source. Nothing is refused for them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from stability import fields
from stability.soil import Soil
from strength import EnvelopeFit, Notice, Specimen

__all__ = ["rare_in_check", "rare_in_fit", "rare_in_soil"]

_UNIT_WEIGHT = (13.0, 24.0)
_SATURATED = (14.0, 25.0)
_OF_A_WALL = (14.0, 27.0)
_COHESION = 60.0
_FRICTION_ANGLE = 45.0
_SPECIMEN = (30.0, 310.0)
_LENGTH = (0.15, 100.0)
_LENGTHS = frozenset({"height", "depth", "stem_height"})


def rare_in_soil(
    soil: Soil, fit: EnvelopeFit | None = None, specimen: Specimen | None = None
) -> tuple[Notice, ...]:
    """What looks like a slip in the description of one soil."""
    found = []
    strength = soil.strength
    weights = [("unit weight", soil.unit_weight, _UNIT_WEIGHT)]
    if soil.saturated_unit_weight is not None:
        weights.append(("saturated unit weight", soil.saturated_unit_weight, _SATURATED))
        if np.any(np.asarray(soil.saturated_unit_weight) < soil.unit_weight):
            found.append(
                Notice.caution(
                    "saturated-lighter-than-moist",
                    f"{soil.name}: the unit weight below water, "
                    f"{float(soil.saturated_unit_weight):g} kN/m³, is less than that above it, "
                    f"{float(soil.unit_weight):g} kN/m³. Water makes no soil lighter.",
                )
            )
    for what, held, (low, high) in weights:
        value = float(np.asarray(held))
        if not low <= value <= high:
            found.append(_rare(soil.name, what, f"{value:g} kN/m³", f"{low:g} to {high:g}"))
    pair = float(np.max(strength.cohesion)), float(np.max(strength.friction_angle))
    found += _rare_pair(soil.name, *pair, fitted=fit is not None)
    found += _rare_specimen(soil.name, specimen)
    return tuple(found)


def rare_in_fit(fit: EnvelopeFit, specimen: Specimen | None) -> tuple[Notice, ...]:
    """What looks like a slip in readings that were fitted by themselves."""
    cohesion = float(fit.best_fit.cohesion) if fit.tests.unit == "kPa" else 0.0
    found = _rare_pair("the fit", cohesion, float(fit.best_fit.friction_angle), fitted=True)
    return (*found, *_rare_specimen("the fit", specimen))


def _rare_pair(where: str, cohesion: float, angle: float, *, fitted: bool) -> list[Notice]:
    slip = ", swapped columns" if fitted else ""
    return [
        _rare(where, what, f"{value:.1f} {unit}", f"up to {most:g}", slip)
        for what, value, most, unit in (
            ("cohesion", cohesion, _COHESION, "kPa"),
            ("friction angle", angle, _FRICTION_ANGLE, "deg"),
        )
        if value > most
    ]


def _rare_specimen(where: str, specimen: Specimen | None) -> list[Notice]:
    low, high = _SPECIMEN
    if specimen is None or low <= specimen.width <= high:
        return []
    return [_rare(where, "width of the specimen", f"{specimen.width:g} mm", f"{low:g} to {high:g}")]


def rare_in_check(label: str, check: Any) -> tuple[Notice, ...]:
    """What looks like a slip in the sizes of one check."""
    found = []
    for path, declaration, value in fields.amounts(check):
        name = path.rpartition(".")[2]
        words = name.replace("_", " ")
        if name in _LENGTHS and declaration.dimension == "length":
            low, high = _LENGTH
        elif name == "unit_weight":
            low, high = _OF_A_WALL
        else:
            continue
        if not low <= value <= high:
            text = f"{value:g} {declaration.unit}"
            found.append(_rare(label, words, text, f"{low:g} to {high:g}"))
    return tuple(found)


def _rare(where: str, what: str, value: str, usual: str, slip: str = "") -> Notice:
    return Notice.caution(
        "rare-value",
        f"{where}: {what} {value} is rare; {usual} is usual. Look for a slip of unit{slip}.",
        "common practice, no source",
    )
