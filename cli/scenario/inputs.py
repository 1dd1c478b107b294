"""Every input of a scenario under the path that names it, as it is written."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel

from slipmargin.cli.scenario.readers import Unit, reader_of
from slipmargin.cli.scenario.written import Written
from slipmargin.strength.quantities import DIMENSIONS

__all__ = ["Given", "differing", "inputs_of"]

_OF_THE_SITE = ("groundwater_unit_weight", "basis")


@dataclass(frozen=True, slots=True)
class Given:
    """What an input holds, in the unit of the program; an empty unit where it has none."""

    value: Any
    unit: str = ""

    @property
    def text(self) -> str:
        """The value as it is shown."""
        if isinstance(self.value, float):
            return f"{self.value:.6g} {self.unit}".strip()
        return str(self.value)


def inputs_of(written: Written) -> dict[str, dict[str, Given]]:
    """Inputs by path, one group for the site, each soil and each check; left out: defaults.

    What asks a question (sweeps, ranges, distributions) is no input of a factor.
    """
    given, folder = _given(written.top, ""), written.folder
    found = {"site": {path: one for path, one in given if path.startswith(_OF_THE_SITE)}}
    for name, soil in written.soils.items():
        path = f"soils.{name}"
        found[path] = dict(_given(soil, f"{path}."))
        ring = None if soil.apparatus is None else soil.apparatus.ring_calibration
        for key, file in (
            ("strength.readings", soil.strength.readings),
            ("strength.beside", soil.strength.beside),
            ("apparatus.ring_calibration", ring),
        ):
            if file is not None:
                folder.file(f"{path}.{key}", file)
                found[path][f"{path}.{key}"] = Given(f"{file}, sha256 {folder.digest(file)[:12]}")
    for check in written.checks:
        path = f"checks.{check.label}"
        found[path] = dict(_given(check.model, f"{path}."))
        found[path].pop(f"{path}.label", None)
    return found


def _given(model: BaseModel, prefix: str) -> Iterator[tuple[str, Given]]:
    for name, info in type(model).model_fields.items():
        reader = reader_of(info)
        dimension = reader.dimension if isinstance(reader, Unit) else ""
        unit = DIMENSIONS[dimension].canonical if dimension in DIMENSIONS else ""
        if name != "description":
            yield from _of_value(getattr(model, name), prefix + (info.alias or name), unit)


def _of_value(value: Any, path: str, unit: str) -> Iterator[tuple[str, Given]]:
    if isinstance(value, BaseModel):
        yield from _given(value, f"{path}.")
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield from _of_value(one, f"{path}.{key}", unit)
    elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
        for index, one in enumerate(value):
            yield from _of_value(one, f"{path}.{index}", unit)
    elif value is not None:
        yield path, Given(value.tolist() if isinstance(value, np.ndarray) else value, unit)


def differing(before: Written, after: Written) -> dict[str, tuple[Given | None, Given | None]]:
    """Inputs that two scenarios do not share, by path; ``None`` where one has no such input.

    A soil or a check that only one of them has is one input, not all of its own.
    """
    first, second = inputs_of(before), inputs_of(after)
    found: dict[str, tuple[Given | None, Given | None]] = {}
    for group in {**first, **second}:
        if group not in first or group not in second:
            found[group] = (_as_whole(first.get(group)), _as_whole(second.get(group)))
            continue
        one, other = first[group], second[group]
        found |= {
            path: (one.get(path), other.get(path))
            for path in {**one, **other}
            if not _same(one.get(path), other.get(path))
        }
    return found


def _as_whole(group: Mapping[str, Given] | None) -> Given | None:
    if group is None:
        return None
    kinds = (one.value for path, one in group.items() if path.endswith(".kind"))
    return Given(str(next(kinds, "soil")).replace("_", " "))


def _same(one: Given | None, other: Given | None) -> bool:
    """Whether two inputs are one, however their units were written."""
    if one is None or other is None or one.unit != other.unit:
        return one == other
    numbers = isinstance(one.value, float) and isinstance(other.value, float)
    return math.isclose(one.value, other.value) if numbers else one == other
