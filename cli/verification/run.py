"""Runs check values through the program and compares.

A row names what is called, and a published number by its place in the result; nothing is
computed here. Every number is compared by itself: a table of ninety cells is ninety checks. A
number reproduces where it differs by no more than the rounding of the published one. A call
that fails, or gives nothing or not a number, does not reproduce.
"""

from __future__ import annotations

import inspect
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import is_dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import Any, get_args, get_type_hints

import numpy as np
from numpy.typing import NDArray

from slipmargin.cli.as_json import document, number
from slipmargin.cli.verification.features import covered
from slipmargin.cli.verification.rows import Row, half_unit, published_rows
from slipmargin.stability import KINDS, Check
from slipmargin.stability.uncertainty import sweep as sweeps
from slipmargin.stability.uncertainty.replaced import with_field, with_soil_field
from slipmargin.strength import (
    Apparatus,
    EnvelopeFit,
    InputError,
    ShearTests,
    Specimen,
    fit_envelope,
    read_readings,
    reduce_readings,
)

__all__ = ["ENOUGH", "REACHED", "TOPICS", "break_even", "compare", "fit", "run_row",
           "shear_tests", "verify_document"]  # fmt: skip

TOPICS = ("strength", "shear_tests", *KINDS, "bearing_capacity", "reliability", "partial_factors")
"""Kinds of check and fit that have rows, in the order in which they are run."""

ENOUGH = 5
"""Independent published values from which a topic counts as well covered."""

_NAMES = {
    "strength.line": "fit_line student_t",
    "strength.envelope.power_curve": "fit_power_curve",
    "strength.envelope.diagnostics": "theil_sen",
    "strength.quantities": "parse",
    "strength.laboratory.area_correction": "area_factor",
    "strength.laboratory.drainage": "TIME_FACTOR_50 TIME_FACTOR_90 degree_of_drainage",
    "stability.earth_pressure.coefficients": "bell_cohesion coulomb curved_slip "
    "rankine seismic_angle",
    "stability.earth_pressure.surcharge": "LineLoad",
    "stability.retaining_wall.bearing_factors": "bearing_factors inclination_factors shape_factors",
    "stability.retaining_wall.bearing_capacity": "Footing superposed_capacity",
    "stability.retaining_wall.equilibrium": "add_up base_reaction",
    "stability.design.partial_factors": "ACTIONS EQUILIBRIUM RECOMMENDED SLOPE_RESISTANCES "
    "STRENGTHS WALL_RESISTANCES design_friction_angle factor_set",
    "stability.design.basis": "CUSTOMARY_TARGETS design_check",
    "stability.uncertainty.reliability": "lognormal_probability normal_probability",
    "cli.verification.run": "break_even fit shear_tests",
}

REACHED = {name: module for module, names in _NAMES.items() for name in names.split()}
"""What a row may call besides a kind of check, and where it stands; some command reaches it."""


def shear_tests(
    readings: Mapping[str, Any],
    specimen: Specimen | None = None,
    apparatus: Apparatus | None = None,
) -> ShearTests:
    """Points of a readings file with these columns, a row a test."""
    rows = zip(*readings.values(), strict=True)
    lines = [["test", *readings], *([k, *row] for k, row in enumerate(rows))]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_text("\n".join(",".join(map(str, line)) for line in lines), encoding="utf-8")
        return reduce_readings(read_readings(path, apparatus), specimen)


def fit(
    readings: Mapping[str, Any],
    specimen: Specimen | None = None,
    apparatus: Apparatus | None = None,
    intercept: str = "non_negative",
    confidence: float = 0.95,
    cohesionless: bool = False,
) -> EnvelopeFit:
    """Envelope of a readings file with these columns."""
    return fit_envelope(
        shear_tests(readings, specimen, apparatus),
        intercept=intercept,
        confidence=confidence,
        cohesionless=cohesionless,
    )


def break_even(check: Check, field: str, values: NDArray[np.float64], level: float) -> float | None:
    """Value of a field, or of one of a soil, at which a sweep over it meets a level."""
    soil, _, name = field.rpartition(".")

    def with_value(value: Any) -> Check:
        if soil:
            return with_soil_field(check, soil, name, value)
        return with_field(check, (name,), value)

    swept = sweeps.sweep(with_value, values)
    return sweeps.break_even(with_value, values, swept.lowest, level)


def verify_document(
    kind: str | None = None, *, progress: Callable[[str, int, int], None] | None = None
) -> dict[str, Any]:
    """Run every row, or those of one kind, as the document of ``verify``.

    ``progress`` is told the rows done of all. ``InputError``: a kind that has no check values.
    """
    if kind is not None and kind not in TOPICS:
        raise InputError("KIND", kind, "known: " + ", ".join(TOPICS))
    rows = [row for one in (TOPICS if kind is None else (kind,)) for row in published_rows(one)]
    checks: list[dict[str, Any]] = []
    for done, row in enumerate(rows, start=1):
        checks += run_row(row)
        if progress is not None:
            progress("check values", done, len(rows))
    return document(
        {
            "checks": checks,
            "counts": _counts(rows, checks),
            "features": [one for one in covered(rows) if _is_of(one.name, kind)],
            "left_out": [
                {name: check[name] for name in _OF_LEFT_OUT if name in check}
                for row in rows
                for check in left_out(row)
            ],
        }
    )


_OF_LEFT_OUT = ("id", "source", "quantity", "published", "computed", "from_memory", "note")


def _is_of(feature: str, kind: str | None) -> bool:
    """Whether a feature belongs to a kind that is asked for by itself."""
    owner = feature.partition(".")[0]
    return kind is None or owner == ("fit" if kind in ("strength", "shear_tests") else kind)


def run_row(row: Row) -> list[dict[str, Any]]:
    """Compare every number of a row; none is passed over."""
    found: list[Any] = []
    failure = ""
    try:
        found = [_called(row.call, inputs, row.expected) for inputs in _one_by_one(row)]
    except Exception as error:  # whatever breaks, the other rows are still to be run
        failure = f"{type(error).__name__}: {error}"
    return [check for place in row.expected for check in compare(row, place, found, failure)]


def left_out(row: Row) -> list[dict[str, Any]]:
    """What is published and does not reproduce, with both numbers."""
    if not row.left_out:
        return []
    return run_row(
        replace(
            row,
            expected=row.left_out,
            left_out={},
            scale=_of(row.scale, row.left_out),
            rtol_key=_of(row.rtol_key, row.left_out),
            atol_key=_of(row.atol_key, row.left_out),
            note=row.left_out_why,
        )
    )


def _of(by_place: Mapping[str, Any], places: Iterable[str]) -> dict[str, Any]:
    return {place: by_place[place] for place in places if place in by_place}


def _one_by_one(row: Row) -> Iterator[Mapping[str, Any]]:
    if not row.each:
        yield row.inputs
        return
    for entries in zip(*(row.inputs[name] for name in row.each), strict=True):
        yield {**row.inputs, **dict(zip(row.each, entries, strict=True))}


def _called(call: str, inputs: Mapping[str, Any], wanted: Iterable[str] = ()) -> Any:
    """What a call gives: of a kind its evaluation, or another method that is named.

    A slow limit state is worked out where one of the places ``wanted`` asks for it.
    """
    name, *way = call.split(".")
    if name in KINDS:
        if not way:
            asked = {place.rpartition(".")[2] for place in wanted}
            return _with(KINDS[name], inputs).evaluate(leave_out={*KINDS[name].SLOW} - asked)
        found: Any = KINDS[name]
    else:
        found = getattr(import_module(f"slipmargin.{REACHED[name]}"), name)
    if callable(found):
        own = inspect.signature(found).parameters
        rest = {key: given for key, given in inputs.items() if key not in own} if way else {}
        found = _with(found, {key: given for key, given in inputs.items() if key not in rest})
        for part in way:
            found = getattr(found, part)
        if way:
            found = _with(found, rest)
    return found


def _with(function: Any, inputs: Mapping[str, Any]) -> Any:
    hints = get_type_hints(function)  # of a class its fields, those of what it builds on included
    return function(**{name: _made(given, hints.get(name)) for name, given in inputs.items()})


def _made(given: Any, hint: Any) -> Any:
    """What a row gives, as the kind of thing that is asked for: a table is a record of the
    program, a check of its ``kind`` or the result of a ``call``; a list is an array.
    """
    if isinstance(given, Mapping):
        rest = {key: value for key, value in given.items() if key not in ("call", "kind")}
        if "call" in given:
            return _called(given["call"], rest)
        makers = [KINDS[given["kind"]]] if "kind" in given else list(_records(hint))
        fitting = [one for one in makers if set(rest) <= set(inspect.signature(one).parameters)]
        return _with(fitting[0], rest) if fitting else given
    if isinstance(given, list) and not any(isinstance(one, str) for one in given):
        if any(isinstance(one, Mapping) for one in given):
            return tuple(_made(one, hint) for one in given)
        return np.array(given, dtype=float)
    return given


def _records(hint: Any) -> Iterator[Any]:
    """Records that a type names, within others too."""
    if is_dataclass(hint):
        yield hint
    for part in get_args(hint):
        yield from _records(part)


def _at(found: Any, place: str, call: str) -> Any:
    for part in () if place == call.rpartition(".")[2] else place.split("."):
        found = found[part] if isinstance(found, Mapping) else getattr(found, part)
    return found


def compare(row: Row, place: str, found: list[Any], failure: str = "") -> list[dict[str, Any]]:
    """Published against computed, one entry a number; ``found`` are the results of the row."""
    printed = np.asarray(row.expected[place], dtype=object)
    published = printed.astype(float)
    computed = np.full(published.shape, np.nan)
    try:
        if not failure:
            values = [np.asarray(_at(one, place, row.call), dtype=float) for one in found]
            whole = np.stack(values) if row.each else values[0]
            whole = whole / np.asarray(row.scale.get(place, 1.0))
            computed = np.broadcast_to(whole, published.shape)
    except (AttributeError, KeyError):
        failure = f"{row.call} gives no {place}"
    except (TypeError, ValueError) as error:
        failure = f"{place}: {error}"
    tabulated = np.isfinite(published)
    if not tabulated.any():
        raise ValueError(f"{row.id}: nothing is tabulated for {place}")
    allowed = _allowed(row, place, printed)
    checks = []
    for index in zip(*np.nonzero(np.atleast_1d(tabulated)), strict=True):
        cell = index if published.ndim else ()
        wanted, got, tolerance = (float(one[cell]) for one in (published, computed, allowed))
        difference = got - wanted
        check = {
            "id": row.id,
            "topic": row.topic,
            "kind": row.kind,
            "source": row.source,
            "from_memory": row.from_memory,
            "basis": row.basis,
            "quantity": place + (f"[{','.join(str(i) for i in cell)}]" if cell else ""),
            "published": wanted,
            "computed": number(got),
            "difference": number(difference),
            "tolerance": tolerance,
            "reproduces": bool(abs(difference) <= tolerance),  # false for nan
        }
        said = {
            "units": row.units,
            "from_memory_what": row.from_memory_what,
            "note": row.note,
            "tolerance_reason": row.tolerance_reason,
            "failure": failure,
        }
        checks.append(check | {name: text for name, text in said.items() if text})
    return checks


def _allowed(row: Row, place: str, printed: NDArray[Any]) -> NDArray[np.float64]:
    """What a number may differ by: half a unit of its last digit, or what its row says."""
    relative = np.asarray(row.rtol_key.get(place, row.rtol), dtype=float)
    absolute = np.asarray(row.atol_key.get(place, row.atol), dtype=float)
    if not relative.any() and not absolute.any():
        # a number that lies just on the edge of its rounding
        return np.asarray(np.vectorize(half_unit, otypes=[float])(printed) * (1.0 + 1e-9))
    return np.broadcast_to(absolute + relative * np.abs(printed.astype(float)), printed.shape)


def _counts(rows: Iterable[Row], checks: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    rows, checks = list(rows), list(checks)
    kinds: dict[str, Any] = {}
    for kind in dict.fromkeys(row.kind for row in rows):
        of_kind = [row for row in rows if row.kind == kind]
        topics = dict.fromkeys(row.topic for row in of_kind)
        kinds[kind] = _count(of_kind, checks) | {
            "topics": {
                topic: _count([row for row in of_kind if row.topic == topic], checks)
                for topic in topics
            }
        }
    whole = _count(rows, checks)
    del whole["fewer_than_five"]
    return whole | {"kinds": kinds}


def _count(rows: list[Row], checks: list[Mapping[str, Any]]) -> dict[str, Any]:
    """Numbers of values, and of the examples they come from.

    Values of one example are not independent of each other; an example counts as from memory
    where no row of it was read.
    """
    published = {(row.kind, row.id): row.is_published for row in rows}
    here = [check for check in checks if (check["kind"], check["id"]) in published]
    printed = [check for check in here if published[check["kind"], check["id"]]]
    examples = {row.example for row in rows if row.is_published}
    read = {row.example for row in rows if row.is_published and not row.from_memory}
    return {
        "values": len(here),
        "reproduce": sum(check["reproduces"] for check in here),
        "published": len(printed),
        "not_published": len(here) - len(printed),
        "from_memory": sum(check["from_memory"] for check in printed),
        "independent": len(examples),
        "independent_from_memory": len(examples - read),
        "fewer_than_five": len(examples) < ENOUGH,
    }
