"""Alters the kernels one quantity at a time, and counts what ``verify`` finds out.

    python tests/alteration/run.py [--share 0.01] [--kind KIND]

Every number that a kernel gives is made one percent too large, by itself: of a record each
field, of a table each entry, of a tuple each place. And every field of a check that a
published row holds is made one percent too large at the door of the check, which alters every
term it stands in: the shaking, the surcharge, the water. An alteration is found out where a
row no longer reproduces. What is not found out either rests on nothing published, which
``verify`` says of its feature, or hides in the rounding of what is printed.

Prints a line an alteration that is not found out, and the counts as a table.
"""

from __future__ import annotations

import argparse
import copy
import dataclasses
import functools
import importlib
import sys
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import numpy as np

from slipmargin.cli.verification.features import checks_in
from slipmargin.cli.verification.rows import Row, published_rows
from slipmargin.cli.verification.run import TOPICS, run_row
from slipmargin.stability import KINDS, fields

KERNELS = {
    "fit": "strength.line strength.envelope.cautious strength.envelope.power_curve "
    "strength.envelope.diagnostics strength.laboratory.specimen strength.laboratory.triaxial "
    "strength.laboratory.drainage strength.laboratory.area_correction",
    "infinite_slope": "stability.infinite_slope.column",
    "planar_wedge": "stability.planar_wedge.forces stability.planar_wedge.design",
    "rotational": "stability.rotational.log_spiral",
    "earth_pressure": "stability.earth_pressure.coefficients stability.earth_pressure.surcharge "
    "stability.earth_pressure.trial_wedge stability.earth_pressure.wall_profile "
    "stability.earth_pressure.wedge_route stability.earth_pressure.thrust",
    "retaining_wall": "stability.retaining_wall.equilibrium stability.retaining_wall.section "
    "stability.retaining_wall.bearing_factors stability.retaining_wall.bearing_capacity "
    "stability.retaining_wall.thrust stability.retaining_wall.overall_mechanism",
    "layered_slope": "stability.layered_slope.spencer",
    "design": "stability.design.partial_factors",
    "reliability": "stability.uncertainty.reliability",
}
"""Modules of the kernels, by what they belong to."""

ROWS = {
    "fit": ("strength", "shear_tests"),
    "earth_pressure": ("earth_pressure", "retaining_wall"),
    "retaining_wall": ("retaining_wall", "bearing_capacity"),
    "design": ("partial_factors",),
}
"""Topics whose rows ask for these kernels, where they are not those of the same name."""

Part = str | int | None


def kernels(owner: str) -> Iterator[tuple[str, str, Callable[..., Any]]]:
    """Module, name and function of each public function of the modules of an owner."""
    for home in KERNELS[owner].split():
        try:
            module = importlib.import_module(f"slipmargin.{home}")
        except ModuleNotFoundError:
            continue
        for name in getattr(module, "__all__", ()):
            found = getattr(module, name)
            if callable(found) and not isinstance(found, type):
                yield home, name, found


def numbers_of(given: Any) -> list[Part]:
    """The parts of what a kernel gives that hold numbers."""
    if dataclasses.is_dataclass(given) and not isinstance(given, type):
        names = [one.name for one in dataclasses.fields(given)]
        return [name for name in names if _is_number(getattr(given, name, None))]
    if isinstance(given, dict):
        return [name for name, one in given.items() if _is_number(one)]
    if isinstance(given, tuple):
        return [k for k, one in enumerate(given) if _is_number(one)]
    return [None] if _is_number(given) else []


def _is_number(one: Any) -> bool:
    # symbols of a working are numbers that remember their expression: left as they are
    if isinstance(one, bool) or one is None or type(one).__name__ == "Traced":
        return False
    try:
        return np.asarray(one).dtype.kind == "f" and bool(np.any(np.asarray(one) != 0.0))
    except (TypeError, ValueError):
        return False


def altered(given: Any, part: Part, share: float) -> Any:
    """What a kernel gives, one number of it too large."""
    if isinstance(given, dict):
        held = given.get(part)
        return given | {part: held * share} if _is_number(held) else given
    if isinstance(part, str):
        held = getattr(given, part, None)
        return dataclasses.replace(given, **{part: held * share}) if _is_number(held) else given
    if isinstance(part, int):
        return tuple(
            one * share if k == part and _is_number(one) else one for k, one in enumerate(given)
        )
    return given * share if _is_number(given) else given


@contextmanager
def in_place_of(kernel: Callable[..., Any], other: Callable[..., Any]) -> Iterator[None]:
    """Put another function in every place that holds a kernel."""
    held = [
        (place, name)
        for key, place in list(sys.modules.items())
        if key.startswith("slipmargin.")
        for name, value in list(vars(place).items())
        if value is kernel
    ]
    for place, name in held:
        setattr(place, name, other)
    try:
        yield
    finally:
        for place, name in held:
            setattr(place, name, kernel)


def clear_memories() -> None:
    """Forget what functions remember, which an alteration would not reach."""
    for key, place in list(sys.modules.items()):
        if key.startswith("slipmargin."):
            for value in list(vars(place).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()


def fails(rows: list[Row]) -> bool:
    clear_memories()
    return any(not check["reproduces"] for row in rows for check in run_row(row))


def seen(
    rows: list[Row], every: list[tuple[str, str, Callable[..., Any]]]
) -> dict[tuple[str, str, Part], list[Row]]:
    """Which rows ask for which number of which kernel."""
    found: dict[tuple[str, str, Part], list[Row]] = defaultdict(list)
    now: set[tuple[str, str, Part]] = set()

    def watched(home: str, name: str, kernel: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(kernel)
        def watching(*given: Any, **named: Any) -> Any:
            got = kernel(*given, **named)
            now.update((home, name, part) for part in numbers_of(got))
            return got

        return watching

    with ExitStack() as stack:
        for home, name, kernel in every:
            stack.enter_context(in_place_of(kernel, watched(home, name, kernel)))
        for row in rows:
            now.clear()
            clear_memories()
            run_row(row)
            for key in now:
                found[key].append(row)
    return dict(sorted(found.items(), key=str))


def of_kernels(owner: str, rows: list[Row], share: float) -> Iterator[tuple[str, bool | None]]:
    """Each number of each kernel, and whether it is found out; none where no row asks."""
    every = list(kernels(owner))
    asked = seen(rows, every)
    for home, name, kernel in every:
        parts = [key for key in asked if key[:2] == (home, name)]
        if not parts:
            yield f"{home}.{name}", None
        for key in parts:

            @functools.wraps(kernel)
            def wrong(*given: Any, **named: Any) -> Any:
                return altered(kernel(*given, **named), key[2], share)

            with in_place_of(kernel, wrong):
                where = "" if key[2] is None else f"[{key[2]}]"
                yield f"{home}.{name}{where}", fails(asked[key])
    clear_memories()


def of_fields(owner: str, rows: list[Row], share: float) -> Iterator[tuple[str, bool]]:
    """Each amount that a row gives a check of this kind, and whether it is found out."""
    held: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        for kind, given in checks_in(row):
            if kind == owner:
                for path in _amounts(KINDS[kind], given, ()):
                    name = ".".join(part for part in path if isinstance(part, str))
                    root = () if row.call.split(".")[0] in KINDS else ("check",)
                    held[name].append(_with(row, (*root, *path), share))
    for name, of_name in held.items():
        yield f"{owner}.{name}", fails(of_name)


def _amounts(record: type, given: Any, before: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    for name, declaration, _ in fields.of(record):
        one = given.get(name)
        match declaration:
            case fields.Amount() if _is_number(np.asarray(one, dtype=object).astype(object)) or (
                one and not isinstance(one, str | bool)
            ):
                yield (*before, name)
            case fields.SoilField() if one:
                yield from ((*before, name, "strength", part) for part in one["strength"])
                yield from ((*before, name, part) for part in one if part.endswith("weight"))
            case fields.Part(kind=kind, many=False) if one:
                yield from _amounts(kind, one, (*before, name))
            case _:
                pass


def _with(row: Row, path: tuple[Any, ...], share: float) -> Row:
    inputs = copy.deepcopy(dict(row.inputs))
    holder: Any = inputs
    for part in path[:-1]:
        holder = holder[part]
    value = holder[path[-1]]
    holder[path[-1]] = (np.asarray(value, dtype=float) * share).tolist()
    return dataclasses.replace(row, inputs=inputs)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--share", type=float, default=0.01)
    parser.add_argument("--kind", choices=tuple(KERNELS))
    asked = parser.parse_args()
    share = 1.0 + asked.share
    warnings.simplefilter("ignore")
    table = []
    for owner in KERNELS if asked.kind is None else (asked.kind,):
        topics = [one for one in ROWS.get(owner, (owner,)) if one in TOPICS]
        rows = [row for topic in topics for row in published_rows(topic) if row.expected]
        of_owner = list(of_kernels(owner, rows, share)) + (
            list(of_fields(owner, rows, share)) if owner in KINDS else []
        )
        for name, found in of_owner:
            if not found:
                print(f"{'not found out' if found is False else 'no row asks'}: {name}", flush=True)
        counts = [sum(found is one for _, found in of_owner) for one in (True, False, None)]
        table.append((owner, *counts))
    print("\n| of | found out | not found out | no row asks |\n| --- | ---: | ---: | ---: |")
    for owner, *counts in [*table, ("all", *(sum(row[k] for row in table) for k in (1, 2, 3)))]:
        print(f"| {owner} | " + " | ".join(map(str, counts)) + " |")


if __name__ == "__main__":
    main()
