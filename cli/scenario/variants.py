"""Variants of a scenario: the same file with a few of its fields replaced.

A variant is put into the tables of the file before anything is read from them, so that it is
held against the same limits as if it had been written there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from pydantic import BaseModel

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.paths import field_path
from slipmargin.cli.scenario.readers import nearest
from slipmargin.cli.scenario.schema import ScenarioModel, SoilModel, model_of, names_of
from slipmargin.stability import KINDS
from slipmargin.strength import InputError

__all__ = ["label_of", "with_variant"]

_BY_PATH = ("soils", "checks")
_NO_INPUTS = ("title", "variants")
_LEFT_OUT = object()


def label_of(index: int, table: dict[str, Any]) -> str:
    """The label of a check, or the one it is given without one."""
    label = table.get("label")
    if isinstance(label, str):
        return label
    return f"{str(table.get('kind')).replace('_', ' ')} {index + 1}"


def with_variant(table: dict[str, Any], top: ScenarioModel, name: str | None) -> dict[str, Any]:
    """The tables of a scenario, left as they are, with one of its variants put in.

    ``top`` is the outermost table, validated. Without a name every field stays, and the paths of
    all variants are still held against the file. Refused are an unknown variant, one named twice,
    and a path that leads to no field.
    """
    names = [one.name for one in top.variants]
    for index, one in enumerate(names):
        if one in names[:index]:
            raise InputError(f"variants[{index}].name", one, "give each variant its own name")
    if name is not None and name not in names:
        allowed = nearest(name, names) if names else "this scenario has no [[variants]]"
        raise InputError("--variant", name, f"unknown variant; {allowed}" if names else allowed)
    asked = table
    for index, variant in enumerate(top.variants):
        place = f"variants[{index}] ({variant.name[:40]})"
        if not (variant.set or variant.leave_out):
            raise InputError(place, "empty", "name a field to replace under [variants.set]")
        changed = table
        for path, value in variant.set.items():
            changed = _changed(changed, path, value, f"{place}.set")
        for path in variant.leave_out:
            changed = _changed(changed, path, _LEFT_OUT, f"{place}.leave_out")
        if variant.name == name:
            asked = changed
    return asked


def _changed(table: dict[str, Any], path: str, value: Any, place: str) -> dict[str, Any]:
    """The tables with one field replaced, or left out; those given stay as they are."""
    head = path.split(".", maxsplit=1)[0]
    known = [name for name in names_of(ScenarioModel) if name not in _NO_INPUTS]
    if head not in known:
        hint = nearest(head, known)
        raise InputError(place, path, f"write soils.NAME.FIELD or checks.LABEL.FIELD; {hint}")
    put = _Put(path, value, place)
    if head not in _BY_PATH:
        changed: dict[str, Any] = put.into(table, ScenarioModel, path.split("."))
        return changed
    checks = table.get("checks", [])
    labels = [label_of(index, check) for index, check in enumerate(checks)]
    found = field_path(path, table["soils"], labels, place=place)
    if found.soil:
        soils = table["soils"]
        new = put.into(soils[found.soil], SoilModel, found.steps)
        return {**table, "soils": {**soils, found.soil: new}}
    index = labels.index(found.label)
    kind = checks[index].get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise InputError(place, path, f"the check is of no known kind: {kind!r}")
    new = put.into(checks[index], check_model(kind), found.steps)
    return {**table, "checks": [*checks[:index], new, *checks[index + 1 :]]}


@dataclass(frozen=True, slots=True)
class _Put:
    """Puts a value at the end of a path; ``place`` is where the path stands."""

    path: str
    value: Any
    place: str

    def into(self, held: Any, model: type[BaseModel] | None, steps: Sequence[str]) -> Any:
        """A copy of a table or list with the value in it; tables on the way are made."""
        step, rest = steps[0], steps[1:]
        if isinstance(held, list):
            if not (step.isascii() and step.isdigit() and int(step) < len(held)):
                self._refuse(f"give the place in the list, 0 to {len(held) - 1}")
            index = int(step)
            new = [] if self.value is _LEFT_OUT else [self.value]
            new = [self.into(held[index], model, rest)] if rest else new
            return [*held[:index], *new, *held[index + 1 :]]
        if not isinstance(held, dict):
            self._refuse(f"what stands before {step!r} is no table")
        if model is not None and step not in names_of(model):
            self._refuse(f"unknown key; {nearest(step, names_of(model))}")
        if rest:
            inner = None if model is None else model_of(model, step)
            return {**held, step: self.into(held.get(step, {}), inner, rest)}
        if self.value is _LEFT_OUT and step not in held:
            self._refuse("it is not there to be left out")
        others = {key: value for key, value in held.items() if key != step}
        return others if self.value is _LEFT_OUT else {**held, step: self.value}

    def _refuse(self, allowed: str) -> NoReturn:
        raise InputError(self.place, self.path, allowed)
