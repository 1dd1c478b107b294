"""What reads one value of a scenario file: a quantity, a word, a line of points."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError, core_schema

from slipmargin.strength import InputError
from slipmargin.strength.errors import shown_value
from slipmargin.strength.quantities import DIMENSIONS, parse

__all__ = ["Points", "Reader", "Unit", "Word", "nearest", "reader_of"]


def nearest(word: str, known: Sequence[str]) -> str:
    """A hint at the known word nearest to an unknown one, and the list of all."""
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.4)
    hint = f"did you mean {close[0]!r}? " if close else ""
    return f"{hint}known: {', '.join(known)}"


def _refused(allowed: str, shown: object = None) -> PydanticCustomError:
    context = {"allowed": allowed}
    if shown is not None:
        context["shown"] = shown_value(shown)
    return PydanticCustomError("refused", "{allowed}", context)


class Reader:
    """Reads one value of a scenario; says in the JSON schema what it takes."""

    def read(self, value: Any, _info: ValidationInfo, /) -> Any:
        """The value in the program's own terms, or a refusal."""
        raise NotImplementedError

    def json_schema(self) -> dict[str, Any]:
        """What an editor may offer."""
        raise NotImplementedError

    def wanted(self) -> str:
        """What is to be added where it is missing, in words."""
        schema = self.json_schema()
        said: str = schema.get("description") or "one of " + ", ".join(schema["enum"])
        return said[0].lower() + said[1:].removesuffix(".")

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Let pydantic call ``read``."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Let pydantic call ``json_schema``."""
        return self.json_schema()


@dataclasses.dataclass(frozen=True)
class Unit(Reader):
    """A quantity read from unit text, held against its limits."""

    dimension: str
    check: Callable[[str, object], None] | None = None
    words: tuple[str, ...] = ()

    def read(self, value: Any, info: ValidationInfo, /) -> float | str:
        """The quantity as a float, or the word for it; its notice goes to the context."""
        place = str(info.field_name)
        if isinstance(value, str) and value in self.words:
            return value
        try:
            parsed = parse(value, self.dimension, place)
            if self.check is not None:
                self.check(place, parsed.value)
        except InputError as error:
            known = "".join(f', or "{word}"' for word in self.words)
            allowed = error.allowed.removesuffix(known) + known
            raise _refused(allowed, error.value) from None
        if parsed.notice is not None and info.context is not None:
            info.context["notices"].append(parsed.notice)
        return parsed.value

    def json_schema(self) -> dict[str, Any]:
        """A string with a unit, or a bare number."""
        if self.dimension == "ratio":
            return {"type": "number", "description": "A bare number."}
        examples = DIMENSIONS[self.dimension].examples
        words = "".join(f', or "{word}"' for word in self.words)
        return {
            "type": "string",
            "description": f"A quantity with its unit, such as {examples}{words}.",
        }


@dataclasses.dataclass(frozen=True)
class Word(Reader):
    """A word out of a few."""

    options: tuple[str, ...]

    def read(self, value: Any, _info: ValidationInfo, /) -> str:
        """The word, if it is one of them."""
        if not isinstance(value, str) or value not in self.options:
            hint = nearest(value, self.options) if isinstance(value, str) else ""
            raise _refused(hint or "allowed: " + ", ".join(self.options))
        return value

    def json_schema(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.options)}


class Points(Reader):
    """A line of points [m]."""

    def read(self, value: Any, _info: ValidationInfo, /) -> Any:
        """The points as an array of shape (n, 2)."""
        wanted = "give points as [[x, y], ...], each a number in metres or a length with its unit"
        if not isinstance(value, list) or not 2 <= len(value) <= 1000:
            raise _refused(f"{wanted}, 2 to 1000 of them")
        points = []
        for point in value:
            if not isinstance(point, list) or len(point) != 2:
                raise _refused(wanted, point)
            try:
                points.append(
                    [parse(v, "length" if isinstance(v, str) else "ratio").value for v in point]
                )
            except InputError as error:
                raise _refused(wanted, error.value) from None
        return np.array(points)

    def json_schema(self) -> dict[str, Any]:
        """An array of pairs."""
        pair = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2}
        return {"type": "array", "items": pair, "description": "Points [x, y], in metres."}


def reader_of(info: FieldInfo) -> Reader | None:
    """What reads the value of a key; ``None`` for a plain one, or a group."""
    return next(_readers_in(info.annotation, info.metadata), None)


def _readers_in(annotation: Any, metadata: Sequence[Any] = ()) -> Iterator[Reader]:
    for one in (*metadata, *getattr(annotation, "__metadata__", ())):
        if isinstance(one, Reader):
            yield one
    for part in getattr(annotation, "__args__", ()):
        yield from _readers_in(part)
