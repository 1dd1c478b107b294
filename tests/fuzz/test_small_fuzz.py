"""A short run of the fuzzer; ``run.py`` beside this file is the long one.

Its limit of time is only there to end what would hang: the long run holds the real one.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from chance import Dice, FromBytes
from command_inputs import OF_THE_SCENARIO, OFTEN, WORDS, Case, case, commands
from outcome import judge
from run import numbered, smaller
from scenario_inputs import check_table, keys_of, scenario_files
from toml_text import toml_text

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.schema import ScenarioModel, SoilModel, model_of
from slipmargin.stability import KINDS

HANGS = 20.0  # s
IN_A_TEST = 700
FOR_THE_LONG_RUN = {"batch", "handbook", "report", "verify", "strength-map", "review", "methods"}
"""Commands that take too long to be met here by chance."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "case").mkdir()
    return tmp_path / "case"


def test_a_command_line_gives_a_result_or_a_clean_refusal(folder: Path) -> None:
    seen = set()
    for number in range(IN_A_TEST):
        one = numbered(1, number)
        if one.words[0] in FOR_THE_LONG_RUN or "--plot" in one.words:
            continue
        found = judge(one, folder, HANGS)
        assert found.kind != "violation", (number, found.detail)
        seen.add((one.words[0], found.kind))
    assert {("fit", "result"), ("fit", "refusal"), ("check", "result")} <= seen


@pytest.mark.parametrize(
    "words", [("check", "s.toml"), ("fit", "lab.csv"), ("fit", "lab.ags"), ("fit", "lab.xlsx")]
)
def test_any_bytes_give_a_clean_refusal(words: tuple[str, str], folder: Path) -> None:
    for seed in range(25):
        dice = Dice(seed)
        content = dice.choice([b"", b"PK\x03\x04"]) + dice.randbytes(dice.randint(0, 200))
        assert judge(Case(words, {words[1]: content}), folder, HANGS).kind == "refusal"


def test_every_command_and_every_option_is_tried() -> None:
    assert set(commands()) == set(OFTEN)
    takes = {
        str(one.name)
        for command in commands().values()
        for one in command.params
        if not getattr(one, "is_flag", False)
    }
    assert takes <= {*WORDS, *OF_THE_SCENARIO}


def test_every_key_of_a_scenario_is_tried() -> None:
    def keys(model: Any) -> set[tuple[str, str]]:
        inner = [model_of(model, key) for key, _, _ in keys_of(model)]
        own = {(model.__name__, key) for key, _, _ in keys_of(model)}
        return own.union(*(keys(one) for one in inner if one is not None))

    def note(table: Any, model: Any) -> None:
        for key, value in table.items() if isinstance(table, dict) else ():
            drawn.add((model.__name__, key))
            inner = model_of(model, key)
            if inner is not None:
                many = value if isinstance(value, list) else [value]
                if "dict" in str(model.model_fields[key].annotation):
                    many = list(value.values()) if isinstance(value, dict) else []
                for one in many:
                    note(one, inner)

    models = [ScenarioModel, SoilModel, *map(check_model, KINDS)]
    wanted = set().union(*map(keys, models))
    drawn: set[tuple[str, str]] = set()
    for seed in range(2000):
        _, table = scenario_files(Dice(seed), wanted=("sweeps", "variants", "basis"))
        note(table, ScenarioModel)
        for soil in table["soils"].values():
            note(soil, SoilModel)
        for kind in KINDS:
            note(check_table(Dice(seed), ["bank"], kind), check_model(kind))
        if wanted <= drawn:
            break
    assert wanted - drawn == set()


def test_the_same_number_and_the_same_bytes_give_the_same_input() -> None:
    assert numbered(3, 14) == numbered(3, 14)
    content = Dice(0).randbytes(4000)
    assert case(FromBytes(content)) == case(FromBytes(content))


SOUND = {
    "title": "x",
    "soils": {
        "a": {
            "unit_weight": "18 kN/m^3",
            "strength": {"cohesion": "4 kPa", "friction_angle": "31 deg"},
        }
    },
    "checks": [{"kind": "infinite_slope", "soil": "a", "slope_angle": "28 deg", "depth": "2 m"}],
}


def sound(*words: str, **tables: Any) -> Case:
    return Case(("check", "s.toml", *words), {"s.toml": toml_text(SOUND | tables).encode()})


def fail(*_: object, **__: object) -> None:
    raise KeyError("no such thing")


def hang(*_: object, **__: object) -> None:
    while True:
        pass


@pytest.mark.parametrize(
    ("instead", "seconds", "detail"),
    [
        (fail, HANGS, "KeyError at"),
        (hang, 0.05, "out of time"),
        (lambda *_, **__: bytearray(10**15), HANGS, "out of memory"),
    ],
    ids=["fault", "hang", "memory"],
)
def test_the_judge_tells_results_from_refusals_and_violations(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    instead: Callable[..., None],
    seconds: float,
    detail: str,
) -> None:
    import outcome

    assert judge(sound("--json"), folder).kind == "result"
    assert judge(Case(("check", "s.toml"), {"s.toml": b"title = 3"}), folder).kind == "refusal"
    monkeypatch.setattr(outcome.question, "evaluate", instead)
    assert detail in judge(sound(), folder, seconds).detail


def test_a_broken_input_is_made_smaller(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import outcome

    monkeypatch.setattr(outcome.question, "evaluate", fail)
    long = sound("--json", "--notes", sheet={"project": "x", "revision": "B"}, sweeps=[])
    least = smaller(long, judge(long, folder).detail, folder)
    assert least.words == ("check", "s.toml")
    assert b"sheet" not in least.files["s.toml"]
    assert least.files["s.toml"].startswith(b'title = "x"\n[soils.a]')
    assert b"checks" not in least.files["s.toml"]
