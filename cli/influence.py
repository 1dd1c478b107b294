"""What each input of a scenario moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cli.as_json import SCHEMA, notices, number
from cli.files import table_csv
from cli.scenario import CheckEntry, FileError, Scenario, SoilEntry
from cli.varied import VariedField, find_field, read_value
from cli.words import CAUTION, plane_alone
from stability import fields
from stability.influence import DEFAULT_SHARES, Swing, ranked, swing_field, swing_strength
from stability.sensitivity import SOIL_FIELDS, with_soil_strength
from strength import InputError, JointStrength

__all__ = ["CheckInfluence", "find_influence", "influence_csv", "influence_document"]


@dataclass(frozen=True, slots=True)
class CheckInfluence:
    """Every input of one check, widest swing first."""

    entry: CheckEntry
    base: float
    swings: tuple[Swing, ...]


def find_influence(scenario: Scenario) -> list[CheckInfluence]:
    """Swing every input of every check with a factor.

    Raises
    ------
    FileError
        A stated range that cannot be, or names no field.
    """
    try:
        stated = {
            path: _range(find_field(scenario, path, place=f"ranges.{path}"), path, model.range)
            for path, model in scenario.doubt.ranges.items()
        }
        return [
            CheckInfluence(
                entry, float(entry.check.evaluate().lowest), _swings(scenario, entry, stated)
            )
            for entry in scenario.checks
            if entry.check.LIMIT_STATES
        ]
    except FileError:
        raise
    except InputError as error:
        raise FileError(scenario.path, error) from None


def _range(varied: VariedField, path: str, given: Sequence[str | float]) -> tuple[float, float]:
    place = f"ranges.{path}.range"
    low, high = (read_value(value, varied.dimension, place) for value in given)
    if not low < high:
        raise InputError(place, given[1], "the second must be above the first")
    for value in (low, high):
        varied.limits.check(place, value)
    return low, high


def _swings(
    scenario: Scenario, entry: CheckEntry, stated: dict[str, tuple[float, float]]
) -> tuple[Swing, ...]:
    found: list[Swing | None] = []
    for name in dict.fromkeys(entry.soils.values()):
        soil = scenario.soils[name]
        found += _of_strength(entry, soil)
        for field in SOIL_FIELDS:
            path = f"soils.{name}.{field}"
            fitted = soil.fit is not None and field in ("cohesion", "friction_angle")
            held = getattr(soil.soil.strength, field, None)
            held = getattr(soil.soil, field, None) if held is None else held
            if not fitted and held is not None:
                found.append(_of_field(scenario, entry, path, float(held), stated))
    for field_path, value in _amounts(entry.check):
        path = f"checks.{entry.label}.{field_path}"
        found.append(_of_field(scenario, entry, path, value, stated))
    kept = [swing for swing in found if swing is not None and swing.width > 0.0]
    return tuple(ranked(kept))


def _amounts(record: Any, prefix: str = "") -> list[tuple[str, float]]:
    """Path and value of every scalar quantity that is given and could be wrong."""
    found = []
    for name, declaration, _ in fields.of(record):
        held = getattr(record, name)
        if held is None or name == "target":
            continue
        match declaration:
            case fields.Amount(everywhere=False) if np.ndim(held) == 0:
                found.append((prefix + name, float(held)))
            case fields.Part(many=True):
                for index, one in enumerate(held):
                    found += _amounts(one, f"{prefix}{name}.{index}.")
            case fields.Part():
                found += _amounts(held, f"{prefix}{name}.")
            case _:
                pass
    return found


def _of_field(
    scenario: Scenario,
    entry: CheckEntry,
    path: str,
    value: float,
    stated: dict[str, tuple[float, float]],
) -> Swing | None:
    varied = find_field(scenario, path)
    limits = varied.limits
    default = path not in stated
    if default:
        reach = DEFAULT_SHARES[limits.dimension] * abs(value)
        if reach == 0.0:
            return None
        low, high = value - reach, value + reach
        try:
            limits.check(path, low)
            limits.check(path, high)
        except InputError:
            return None
    else:
        low, high = stated[path]
    return swing_field(
        path,
        limits.unit,
        lambda new: varied.put(entry.check, new),
        low,
        high,
        default_range=default,
    )


def _of_strength(entry: CheckEntry, soil: SoilEntry) -> list[Swing | None]:
    """The strength along its joint region, and what one at a time would say."""
    fit = soil.fit
    if fit is None or fit.interval is None:
        return []
    try:
        joint = JointStrength.of(fit)
    except InputError:
        return []

    def with_pair(cohesion: Any, angle: Any) -> Any:
        return with_soil_strength(entry.check, soil.name, cohesion, angle)

    level = fit.confidence
    c, phi = joint.region(level, single=True)
    found = [
        swing_strength(
            f"{soil.name}: c′ and φ′ jointly",
            with_pair,
            np.append(np.maximum(c, 0.0), joint.cohesion),
            np.append(phi, float(fit.best_fit.friction_angle)),
        )
    ]
    interval = fit.interval
    best = (float(fit.best_fit.cohesion), float(fit.best_fit.friction_angle))
    if interval.cohesion is not None:
        ends = np.maximum(np.array(interval.cohesion), 0.0)
        found.append(swing_strength(f"{soil.name}: c′ alone", with_pair, ends, np.full(2, best[1])))
        angles = np.array(interval.friction_angle)
        found.append(
            swing_strength(f"{soil.name}: φ′ alone", with_pair, np.full(2, best[0]), angles)
        )
        corners_c, corners_phi = np.meshgrid(ends, angles)
        found.append(
            swing_strength(
                f"{soil.name}: both at their worst",
                with_pair,
                corners_c.ravel(),
                corners_phi.ravel(),
            )
        )
    return found


def influence_document(found: Sequence[CheckInfluence]) -> dict[str, Any]:
    """The document of ``influence``."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "checks": [
            {
                "label": one.entry.label,
                "notices": notices(plane_alone(one.entry.check)),
                "lowest_factor": number(one.base),
                "swings": [
                    {
                        "input": swing.name,
                        "low": swing.low,
                        "high": swing.high,
                        "factor_at_low": number(swing.at_low),
                        "factor_at_high": number(swing.at_high),
                        "default_range": swing.default_range,
                    }
                    for swing in one.swings
                ],
            }
            for one in found
        ],
    }


def influence_csv(found: Sequence[CheckInfluence]) -> str:
    """One row a check and input."""
    rows = [
        [one.entry.label, s.name, s.low, s.high, s.at_low, s.at_high]
        for one in found
        for s in one.swings
    ]
    return table_csv(["check", "input", "low", "high", "factor_at_low", "factor_at_high"], rows)
