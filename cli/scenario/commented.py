"""A commented scenario with one check of a kind, written from the declarations of its fields.

What the check needs is filled in from the example it gives of itself; every other key stands
behind a ``#``, with what it means and a value it may hold.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from slipmargin.cli.scenario.examples import (
    example_of,
    examples_given,
    key_words,
    needed_fields,
    toml,
    written_value,
)
from slipmargin.stability import KINDS, Soil, fields
from slipmargin.strength import InputError

__all__ = ["commented_scenario"]

_WIDTH = 96
_COLUMN = 40


def commented_scenario(kind: str) -> str:
    """The text of the file; refuses a kind that is not known."""
    if kind not in KINDS:
        raise InputError("--kind", kind, "known: " + ", ".join(KINDS))
    examples = examples_given(kind)
    example = examples[0]
    words = kind.replace("_", " ")
    lines = [
        "#:schema ./scenario.schema.json",
        *_comment(
            f"{words.capitalize()}, to be changed to yours, then: slipmargin check scenario.toml. "
            "What is needed is filled in; a line behind # is left out, and shows what may stand "
            "there. Every quantity carries its unit; angles of ground may be written as "
            f'"1V:2H" too. Equations, assumptions and limits: slipmargin methods {kind}'
        ),
        "",
        f"title = {toml(words.capitalize())}",
        *_soils(example),
        "",
        "[[checks]]",
        f"kind = {toml(kind)}",
        f"label = {toml(words.capitalize())}",
        *_fields(example, examples, needed_fields(example), "checks"),
    ]
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ")


def _soils(example: Any) -> Iterator[str]:
    found: dict[str, Soil] = {soil.name: soil for soil in fields.soils(example)}
    for name, soil in found.items():
        yield ""
        yield f"[soils.{name}]"
        yield _key("unit_weight", f"{soil.unit_weight:g} kN/m^3", "Above water.")
        if soil.saturated_unit_weight is not None:
            wet = f"{soil.saturated_unit_weight:g} kN/m^3"
            yield _key("saturated_unit_weight", wet, "Below water.")
        yield f"[soils.{name}.strength]"
        yield '# stated; or fitted: readings = "shear-box.csv", with state, intercept and value'
        yield _key("cohesion", f"{soil.strength.cohesion:g} kPa", "Effective, c′.")
        yield _key("friction_angle", f"{soil.strength.friction_angle:g} deg", "Effective, φ′.")


def _fields(record: Any, examples: Sequence[Any], needed: set[str], table: str) -> Iterator[str]:
    """A line a field, then the groups of fields, each a table of its own."""
    groups = []
    for name, declaration, _ in fields.of(record):
        if isinstance(declaration, fields.Part):
            groups.append((name, declaration))
        elif not getattr(declaration, "everywhere", False):
            held = getattr(record, name)
            if name in needed and held is not None:
                yield _key(name, written_value(declaration, held), key_words(declaration))
            else:
                example = example_of(name, declaration, examples)
                yield _key(name, example, key_words(declaration), left_out=True)
    for name, declaration in groups:
        held = getattr(record, name)
        members = (held if declaration.many else (held,)) if held else ()
        path = f"{table}.{name}"
        head = f"[[{path}]]" if declaration.many else f"[{path}]"
        if name not in needed:
            keys = ", ".join(key for key, _, _ in fields.of(declaration.kind))
            yield from _comment(f"{declaration.says} {head} with {keys}")
            continue
        for number, one in enumerate(members):
            yield ""
            yield f"{head}{'' if number else f'  # {declaration.says}'}"
            given = {field for field, _, _ in fields.of(one) if getattr(one, field) is not None}
            yield from _fields(one, [one], given, path)


def _key(name: str, value: Any, words: str, *, left_out: bool = False) -> str:
    line = f"{'# ' if left_out else ''}{name} = {toml(value)}"
    beside = f"{line:<{_COLUMN}}  # {words}"
    return beside if len(beside) <= _WIDTH else "\n".join([*_comment(words), line])
