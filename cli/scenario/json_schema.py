"""The JSON Schema of a scenario: what every key means, what it takes, and an example of it.

Meanings and examples are read from the declarations of the keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.examples import example_of, examples_given, key_words, toml
from slipmargin.cli.scenario.readers import reader_of
from slipmargin.cli.scenario.schema import ScenarioModel, SoilModel, SweepModel, model_of, models_in
from slipmargin.stability import KINDS, fields

__all__ = ["json_schema"]


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a scenario, for editors."""
    definitions: dict[str, Any] = {}

    def placed(model: type[BaseModel]) -> dict[str, Any]:
        schema = model.model_json_schema(ref_template="#/$defs/{model}")
        groups = schema.pop("$defs", {})
        _explain(model, schema, groups)
        definitions.update({**groups, model.__name__: schema})
        return {"$ref": f"#/$defs/{model.__name__}"}

    placed(ScenarioModel)
    top = definitions.pop("ScenarioModel")
    top["properties"]["soils"]["additionalProperties"] = placed(SoilModel)
    checks = []
    for kind in KINDS:
        model = check_model(kind)
        schema = model.model_json_schema(ref_template=f"#/$defs/{kind}.{{model}}")
        groups = schema.pop("$defs", {})
        _explain_fields(model, schema, KINDS[kind], examples_given(kind), groups)
        definitions |= {f"{kind}.{name}": one for name, one in groups.items()}
        definitions[kind] = schema
        checks.append({"$ref": f"#/$defs/{kind}"})
    top["properties"]["checks"]["items"] = {"oneOf": checks}
    top["properties"]["sweeps"]["items"] = placed(SweepModel)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **top,
        "$defs": definitions,
    }


def _explain(model: type[BaseModel], schema: dict[str, Any], groups: dict[str, Any]) -> None:
    """Put meaning and example of every key into the schema of a model and of those in it."""
    for name, info in model.model_fields.items():
        example = (info.examples or [None])[0]
        _put(schema["properties"][info.alias or name], info, info.description, example)
        for inner in models_in(info.annotation):
            _explain(inner, groups[inner.__name__], groups)


def _explain_fields(
    model: type[BaseModel],
    schema: dict[str, Any],
    record: Any,
    examples: Sequence[Any],
    groups: dict[str, Any],
) -> None:
    """The same for the declared fields of a check, and of the groups of fields in it."""
    keys, of = schema["properties"], model.model_fields
    if "kind" in keys:
        _put(keys["kind"], of["kind"], "Kind of the check.", keys["kind"]["const"])
        _put(keys["label"], of["label"], "Name of the check, its own among all.", "Cut face")
    for name, declaration, _ in fields.of(record):
        if name not in keys:
            continue
        inner = model_of(model, name)
        if inner is None:
            example = example_of(name, declaration, examples)
        else:
            held = [getattr(one, name) for one in examples if getattr(one, name)]
            parts = [part for one in held for part in (one if declaration.many else (one,))]
            _explain_fields(inner, groups[name], declaration.kind, parts, groups)
            members = groups[name]["properties"]
            needed = groups[name].get("required", members)
            example = {key: members[key]["examples"][0] for key in needed}
            example = [example] if declaration.many else example
        _put(keys[name], of[name], key_words(declaration), example)


def _put(schema: dict[str, Any], info: FieldInfo, meaning: str | None, example: Any) -> None:
    """A meaning before what is said of the form, and an example, as a file writes it."""
    reader = reader_of(info)
    form = ""
    if reader is not None and "additionalProperties" not in schema:
        form = reader.json_schema().get("description", "")
    said = form if form.startswith("A ") else ""
    schema["description"] = f"{meaning} {said}".strip() + f" Example: {toml(example)}"
    schema["examples"] = [example]
