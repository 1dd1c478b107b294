"""Tables of a scenario file held against the models of their keys, and what is wrong with them."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from slipmargin.cli.scenario.readers import nearest, reader_of
from slipmargin.cli.scenario.schema import model_of, models_in, names_of
from slipmargin.strength import InputError, Notice
from slipmargin.strength.errors import MISSING

__all__ = ["made", "validated"]

Model = TypeVar("Model", bound=BaseModel)
Record = TypeVar("Record")


def made(record: type[Record], *models: BaseModel, **more: Any) -> Record:
    """A record of the program from the keys of some models that it has, where they are given."""
    fields = {field.name for field in dataclasses.fields(record)}  # type: ignore[arg-type]
    pairs = (pair for model in models for pair in model)
    given = {name: value for name, value in pairs if name in fields and value is not None}
    return record(**{**given, **more})


def validated(model: type[Model], data: object, place: str, notices: list[Notice]) -> Model:
    """Validate a table; the first thing wrong is raised as an ``InputError``."""
    found: list[Notice] = []
    try:
        result = model.model_validate(data, context={"notices": found})
    except ValidationError as error:
        raise _first(error, model, place) from None
    prefix = f"{place}." if place else ""
    notices += [dataclasses.replace(notice, text=prefix + notice.text) for notice in found]
    return result


def _first(error: ValidationError, model: type[BaseModel], place: str) -> InputError:
    problems = error.errors(include_url=False)
    # a misspelt key also leaves its own name missing: the misspelling is the news
    problem = min(problems, key=lambda one: one["type"] != "extra_forbidden")
    where = place
    for step in problem["loc"]:
        where += f"[{step}]" if isinstance(step, int) else f"{'.' if where else ''}{step}"
    given, kind = problem["input"], problem["type"]
    if kind in ("extra_forbidden", "missing"):
        owner, key = _owner(model, problem["loc"][:-1]), str(problem["loc"][-1])
        if kind == "missing":
            return InputError(where, MISSING, _wanted(owner.model_fields.get(key)))
        return InputError(where, key, f"unknown key; {nearest(key, names_of(owner))}")
    if kind == "list_type" and isinstance(given, dict):
        return InputError(where, f"[{where}]", f"write [[{where}]]: it may stand more than once")
    if kind == "dict_type" and isinstance(given, list):
        allowed = f"write [{where}], or [{where}.NAME], in single brackets"
        return InputError(where, f"[[{where}]]", allowed)
    if kind == "refused":
        context = problem.get("ctx", {})
        shown = given if isinstance(given, str) else context.get("shown", given)
        return InputError(where, shown, str(context["allowed"]))
    return InputError(where, given, problem["msg"])


def _wanted(field: FieldInfo | None) -> str:
    """What a key that is missing would take, in words."""
    if field is None:
        return "it is needed"
    if (reader := reader_of(field)) is not None:
        return reader.wanted()
    if field.annotation is str:
        return "a text in quotes"
    return "a table of its own" if models_in(field.annotation) else "it is needed"


def _owner(model: type[BaseModel], steps: Sequence[int | str]) -> type[BaseModel]:
    """The model that a path of keys leads to."""
    for step in steps:
        # a step that is no field is a place in a list, or a name of the user's own
        model = (model_of(model, step) if isinstance(step, str) else None) or model
    return model
