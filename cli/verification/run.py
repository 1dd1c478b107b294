"""Runs check values through the program and compares.

Every number is compared by itself: a table of ninety cells is ninety checks. A number
reproduces where it differs by no more than the rounding of the published one. A method that
fails, or gives nothing or not a number, does not reproduce.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from typing import Any

import numpy as np

from slipmargin.cli.as_json import SCHEMA, number
from slipmargin.cli.verification.rows import Row, published_rows
from slipmargin.cli.words import CAUTION
from slipmargin.stability import KINDS
from slipmargin.strength import InputError

__all__ = ["ENOUGH", "METHODS", "compare", "run_row", "verify_document"]

Method = Callable[[Mapping[str, Any]], Mapping[str, Any]]

_TOPICS = ("bearing_capacity", "reliability", "partial_factors")

METHODS: dict[str, Mapping[str, Method]] = {
    kind: import_module(f"slipmargin.cli.verification.{kind}").METHODS
    for kind in ("strength", "shear_tests", *KINDS, *_TOPICS)
}
"""What runs the rows of a kind, by kind and name; a kind has a module of its name here."""

ENOUGH = 5
"""Independent published values from which a topic counts as well covered."""


def verify_document(kind: str | None = None) -> dict[str, Any]:
    """Run every row, or those of one kind, as the document of ``verify``.

    Raises
    ------
    InputError
        A kind that has no check values.
    """
    if kind is not None and kind not in METHODS:
        raise InputError("KIND", kind, "known: " + ", ".join(METHODS))
    kinds = METHODS if kind is None else (kind,)
    rows = [row for one in kinds for row in published_rows(one)]
    checks = [check for row in rows for check in run_row(row)]
    return {"schema": SCHEMA, "caution": CAUTION, "checks": checks, "counts": _counts(rows, checks)}


def run_row(row: Row) -> list[dict[str, Any]]:
    """Compare every number of a row; none is passed over."""
    found: Mapping[str, Any] = {}
    failure = ""
    try:
        found = METHODS[row.kind][row.method](row.inputs)
    except Exception as error:  # whatever breaks, the other rows are still to be run
        failure = f"{type(error).__name__}: {error}"
    return [check for name in row.expected for check in compare(row, name, found, failure)]


def compare(
    row: Row, quantity: str, found: Mapping[str, Any], failure: str = ""
) -> list[dict[str, Any]]:
    """Published against computed, one entry a number."""
    published = np.asarray(row.expected[quantity], dtype=float)
    computed = np.full(published.shape, np.nan)
    try:
        computed = np.broadcast_to(np.asarray(found[quantity], dtype=float), published.shape)
    except KeyError:
        failure = failure or f"{row.method} gives no {quantity}"
    except (TypeError, ValueError) as error:
        failure = f"{quantity}: {error}"
    relative, absolute = row.tolerance(quantity)
    tabulated = np.isfinite(published)
    if not tabulated.any():
        raise ValueError(f"{row.id}: nothing is tabulated for {quantity}")
    checks = []
    for index in zip(*np.nonzero(np.atleast_1d(tabulated)), strict=True):
        place = index if published.ndim else ()
        printed, got = float(published[place]), float(computed[place])
        tolerance = absolute + relative * abs(printed)
        difference = got - printed
        cell = f"[{','.join(str(i) for i in place)}]" if published.ndim else ""
        check = {
            "id": row.id,
            "topic": row.topic,
            "kind": row.kind,
            "source": row.source,
            "from_memory": row.from_memory,
            "basis": row.basis,
            "quantity": quantity + cell,
            "published": printed,
            "computed": number(got),
            "difference": number(difference),
            "tolerance": tolerance,
            "reproduces": bool(abs(difference) <= tolerance),  # false for nan
        }
        said = {
            "units": row.units,
            "from_memory_what": row.from_memory_what,
            "note": row.note,
            "failure": failure,
        }
        checks.append(check | {name: text for name, text in said.items() if text})
    return checks


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
