"""Which features of the program published values touch, and which none does.

The features are read from the declarations: every field and limit state of every check, and
the steps of a fit. A row touches a field where it gives it another value than its default and
does not name it ``idle``; ``tests/published`` holds every such field to moving what the row
expects. Rows of one example count once; what follows from the theory alone does not count.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from typing import Any

from slipmargin.cli.verification.rows import Row
from slipmargin.stability import KINDS, fields

__all__ = ["FIT_STEPS", "Feature", "checks_in", "covered", "features", "touched"]

FIT_STEPS: Mapping[str, tuple[str, ...]] = {
    "units": ("parse",),
    "raw_readings": ("hanger_load", "dial"),
    "stresses_from_forces": ("shear_tests",),
    "area_correction": ("area_factor",),
    "record_peak": (),
    "dilatancy": (),
    "drainage": ("TIME_FACTOR_50", "TIME_FACTOR_90", "degree_of_drainage"),
    "repeated_readings": (),
    "reading_bands": (),
    "transfer_file": (),
    "triaxial": ("cell_pressure",),
    "best_fit": ("fit_line", "line.slope", "line.intercept", "best_fit.friction_angle"),
    "intercept_zero": ("zero", "cohesionless"),
    "intercept_non_negative": ("non_negative",),
    "standard_error": ("standard_error_tan", "standard_error_cohesion"),
    "correlation": ("correlation",),
    "residual_std": ("residual_std", "line.residual_variance"),
    "r_squared": ("r_squared",),
    "interval": ("student_t", "interval.friction_angle", "interval.cohesion"),
    "band": ("mean_limits", "standard_error"),
    "cautious": ("cautious.friction_angle", "cautious.cohesion"),
    "joint_region": (),
    "power_curve": ("fit_power_curve",),
    "robust_line": ("theil_sen",),
}
"""Steps of a fit, each with the calls, inputs, columns and places of a row that touch it."""

_OF_CHECK = {
    "coulomb": "earth_pressure",
    "curved_slip": "earth_pressure",
    "rankine": "earth_pressure",
    "bearing_factors": "retaining_wall.bearing",
    "shape_factors": "retaining_wall.bearing",
    "inclination_factors": "retaining_wall.bearing",
    "superposed_capacity": "retaining_wall.bearing",
    "Footing": "retaining_wall.bearing",
}
"""Check whose field of the same name a part of the computation takes, or its limit state."""

_OF_BEARING = {
    "method": "bearing_method",
    "depth": "bearing_depth_factors",
    "cohesion": "foundation.cohesion",
    "friction_angle": "foundation.friction_angle",
    "unit_weight": "foundation.unit_weight",
}
"""Field of a wall that a part of its bearing capacity takes under a name of its own."""

_USUAL = (0.0, "vesic")  # what is given so is not touched

_SOIL = ("cohesion", "friction_angle", "unit_weight", "saturated_unit_weight")


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """How many published results touch a field or limit state of a check, or a step of the fit.

    ``independent`` are worked examples, tables and data sets, independent of each other, ``read``
    those of them whose numbers were read, not recalled.
    """

    name: str
    independent: int
    read: int


def features() -> tuple[str, ...]:
    """Every field and limit state of every check, and every step of the fit."""
    found = [f"fit.{step}" for step in FIT_STEPS]
    for kind, check in KINDS.items():
        found += [f"{kind}.{state}" for state in check.LIMIT_STATES]
        found += [f"{kind}.{name}" for name in _names(check)]
    return tuple(dict.fromkeys(found))


def _names(record: type, before: str = "") -> Iterator[str]:
    for name, declaration, _ in fields.of(record):
        match declaration:
            case fields.SoilField():
                yield from (f"{before}{name}.{one}" for one in _SOIL)
            case fields.Part(kind=kind):
                yield from _names(kind, f"{before}{name}.")
            case _ if name != "target":
                yield before + name


def checks_in(row: Row) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Each check that a row evaluates, itself or for a question: its kind and its fields."""
    name = row.call.split(".")[0]
    if name in KINDS:
        yield name, row.inputs
    for held in row.inputs.values():
        if isinstance(held, Mapping) and held.get("kind") in KINDS:
            yield held["kind"], held


def touched(row: Row) -> frozenset[str]:
    """Features that a row touches."""
    if not row.expected:
        return frozenset()
    found = set()
    name = row.call.split(".")[0]
    for kind, given in checks_in(row):
        found |= {f"{kind}.{one}" for one in _given(KINDS[kind], given)}
        found |= {f"{kind}.{state}" for state in _states(row, kind)}
    if name in _OF_CHECK:
        kind, _, state = _OF_CHECK[name].partition(".")
        own = {one: one for one, *_ in fields.of(KINDS[kind])} | (_OF_BEARING if state else {})
        found |= {f"{kind}.{state}"} if state else set()
        found |= {f"{kind}.{own[k]}" for k, v in row.inputs.items() if k in own and v not in _USUAL}
    here = {name, *row.expected, row.inputs.get("intercept")}
    here |= {"cohesionless"} if row.inputs.get("cohesionless") else set()
    tables = row.inputs.get("readings", ())  # of one soil, or of each of several
    columns = chain(*tables) if isinstance(tables, list) else tables
    here |= {column.partition(" [")[0] for column in columns}
    found |= {f"fit.{step}" for step, marks in FIT_STEPS.items() if here & set(marks)}
    found -= {f"{kind}.{one}" for kind, _ in checks_in(row) for one in row.idle}
    if "field" in row.inputs:  # the one that is sought
        found |= {f"{kind}.{row.inputs['field']}" for kind, _ in checks_in(row)}
    return frozenset(found)


def _states(row: Row, kind: str) -> Iterator[str]:
    """Limit states whose factor a row holds, straight or by what it takes to reach a level."""
    states = KINDS[kind].LIMIT_STATES
    for place in row.expected:
        last = place.rpartition(".")[2]
        if last in states:
            yield last
        elif states and (last == "factor_of_safety" or not row.call.endswith(kind)):
            yield states[0]


def _given(record: type, given: Mapping[str, Any], before: str = "") -> Iterator[str]:
    """Fields that are given another value than their default."""
    for name, declaration, default in fields.of(record):
        held = given.get(name, default)
        if name not in given or held == default:
            continue
        match declaration:
            case fields.SoilField():
                whole = {**held, **held.get("strength", {})}
                yield from (f"{before}{name}.{one}" for one in _SOIL if whole.get(one))
            case fields.Part(kind=kind, many=many):
                for one in held if many else (held,):
                    yield from _given(kind, one, f"{before}{name}.")
            case _:
                yield before + name


def covered(rows: Iterable[Row]) -> tuple[Feature, ...]:
    """Every feature, with what touches it among these rows."""
    examples: dict[str, dict[str, bool]] = {name: {} for name in features()}
    for row in rows:
        if row.is_published:
            for name in touched(row) & set(examples):
                at = examples[name]
                at[row.example] = at.get(row.example, False) or not row.from_memory
    return tuple(
        Feature(name=name, independent=len(one), read=sum(one.values()))
        for name, one in examples.items()
    )
