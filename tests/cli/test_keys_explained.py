"""Keys explained where they are typed: the JSON Schema, and the commented scenario of a kind."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.json_schema import json_schema
from slipmargin.cli.scenario.read import FileError, load
from slipmargin.stability import KINDS

Run = Callable[..., Any]


def keys_of(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every key of a scenario with what is said of it."""
    for name, one in {"scenario": schema, **schema["$defs"]}.items():
        for key, said in one.get("properties", {}).items():
            yield f"{name}.{key}", said


def test_every_key_has_a_meaning_and_an_example() -> None:
    for name, said in keys_of(json_schema()):
        assert "examples" in said, f"say what {name} means in cli/scenario/json_schema.py"
        meaning, _, example = said["description"].partition(" Example: ")
        assert len(meaning.split()) > 1, name
        assert json.loads(example) == said["examples"][0], name


def test_the_conventions_of_signs_and_axes_are_said() -> None:
    keys = dict(keys_of(json_schema()))
    for name, words in {
        "planar_wedge.ground_line": "x to the right, y upward",
        "planar_wedge.support_angle": "below horizontal",
        "earth_pressure.wall_batter": "positive where the fill rests on it",
        "earth_pressure.vertical_seismic_coefficient": "positive upward",
        "infinite_slope.depth": "Vertical depth",
        "retaining_wall.wall.points": "counter-clockwise",
    }.items():
        assert words in keys[name]["description"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_example_of_a_check_is_read(kind: str) -> None:
    schema = json_schema()["$defs"][kind]
    examples = {key: said["examples"][0] for key, said in schema["properties"].items()}
    read = check_model(kind).model_validate(examples, context={"notices": []})
    assert read.model_fields_set == set(examples)


@pytest.mark.parametrize("kind", KINDS)
def test_a_commented_scenario_of_every_kind_runs_and_names_every_key(
    slipmargin: Run, tmp_path: Path, kind: str
) -> None:
    folder = tmp_path / "new"
    assert slipmargin("start", folder, "--kind", kind).code == 0
    file = folder / "scenario.toml"
    text = file.read_text(encoding="utf-8")
    assert text.startswith("#:schema ./scenario.schema.json\n# Preliminary")
    assert "$schema" in json.loads((folder / "scenario.schema.json").read_text(encoding="utf-8"))
    assert slipmargin("check", file).code == 0
    keys = re.findall(r"^(?:# )?([a-z_]+) = ", text, flags=re.MULTILINE)
    assert set(check_model(kind).model_fields) - {*keys} <= {
        "wall", "layers", "strip_loads", "line_loads", "circle"
    }  # fmt: skip
    file.write_text(re.sub(r"^# (?=[a-z_]+ = )", "", text, flags=re.MULTILINE), encoding="utf-8")
    assert "unknown key" not in _refusal(file)


def _refusal(file: Path) -> str:
    try:
        load(file)
    except FileError as error:
        return str(error)
    return ""


def test_an_unknown_kind_leaves_no_folder_behind(slipmargin: Run, tmp_path: Path) -> None:
    ran = slipmargin("start", tmp_path / "new", "--kind", "planar")
    assert (ran.code, "planar_wedge" in ran.err) == (2, True)
    assert not (tmp_path / "new").exists()
