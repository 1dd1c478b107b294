"""Writes tables as TOML text; the writer knows no more than the fuzzer needs."""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(table: Mapping[str, Any]) -> str:
    return "\n".join(_lines(table, ())) + "\n"


def _lines(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    inner = []
    for key, value in table.items():
        many = isinstance(value, list) and value and all(isinstance(v, dict) for v in value)
        if isinstance(value, dict) or many:
            inner.append((key, value))
        else:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in inner:
        name = ".".join(map(_key, (*path, key)))
        for one in value if isinstance(value, list) else [value]:
            yield f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            yield from _lines(one, (*path, key))


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return _text(value)
        case int() | float():
            return _number(value)
        case list():
            return "[" + ", ".join(map(_value, value)) + "]"
        case dict():
            return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    assert isinstance(value, datetime.date)
    return value.isoformat()


def _number(value: float) -> str:
    if isinstance(value, int):
        return hex(value) if value > 10**300 else str(value)
    if math.isfinite(value):
        return repr(value)
    return "nan" if math.isnan(value) else ("inf" if value > 0.0 else "-inf")
