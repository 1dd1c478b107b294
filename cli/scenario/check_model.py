"""The keys of a check, as a pydantic model made from what the check declares.

A check's fields are declared once, beside its kernel; nothing about them is repeated here.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, StrictBool, StrictStr, create_model

from slipmargin.cli.scenario.readers import Points, Unit, Word
from slipmargin.cli.scenario.schema import STRICT
from slipmargin.stability import KINDS, fields

__all__ = ["as_record", "check_model"]


@cache
def check_model(kind: str) -> type[BaseModel]:
    """The model of one kind of check."""
    extra: dict[str, Any] = {"kind": (Literal[kind], ...), "label": (StrictStr | None, None)}
    return _model(kind, KINDS[kind], extra)


def _model(name: str, record: type, extra: dict[str, Any]) -> type[BaseModel]:
    members = dict(extra)
    for field, declaration, default in fields.of(record):
        if isinstance(declaration, fields.Amount) and declaration.everywhere:
            continue
        kind = _annotation(field, declaration)
        required = default is dataclasses.MISSING
        members[field] = (kind, ...) if required else (kind | None, default)
    model: type[BaseModel] = create_model(name, __config__=STRICT, **members)
    return model


def _annotation(name: str, declaration: object) -> Any:
    match declaration:
        case fields.Amount():
            reader = Unit(declaration.dimension, declaration.check, declaration.words)
            return Annotated[float, reader]
        case fields.Choice(options=options):
            return Annotated[str, Word(options)]
        case fields.Flag():
            return StrictBool
        case fields.SoilField():
            return StrictStr
        case fields.Ground():
            return Annotated[Any, Points()]
        case fields.Part(kind=kind, many=many):
            model = _model(name, kind, {})
            return list[model] if many else model  # type: ignore[valid-type]
    raise TypeError(f"no annotation for {declaration!r}")


def as_record(
    model: BaseModel, record: type, soils: Callable[[str, str], object], everywhere: dict[str, Any]
) -> Any:
    """The domain object that a validated model describes.

    ``soils`` gives a soil by the field that asks and its name; ``everywhere`` holds the
    quantities given once for the whole scenario.
    """
    values: dict[str, Any] = {}
    for field, declaration, default in fields.of(record):
        if isinstance(declaration, fields.Amount) and declaration.everywhere:
            if field in everywhere:
                values[field] = everywhere[field]
            continue
        value = getattr(model, field)
        if value is None and default is not dataclasses.MISSING:
            continue
        match declaration:
            case fields.SoilField():
                value = soils(field, value)
            case fields.Part(kind=kind, many=True):
                value = tuple(
                    as_record(v, kind, _within(soils, f"{field}[{i}]"), everywhere)
                    for i, v in enumerate(value)
                )
            case fields.Part(kind=kind) if isinstance(value, BaseModel):
                value = as_record(value, kind, _within(soils, field), everywhere)
            case _:
                pass
        values[field] = value
    return record(**values)


def _within(soils: Callable[[str, str], object], group: str) -> Callable[[str, str], object]:
    return lambda field, name: soils(f"{group}.{field}", name)
