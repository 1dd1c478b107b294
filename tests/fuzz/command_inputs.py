"""Command lines with their files: every command, every option, cheap ones most often."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import typer
from chance import Dice
from scenario_inputs import NASTY_TEXT, field_path, scenario_files, value_at, written
from table_inputs import CALIBRATION, readings_file

from slipmargin.cli.main import app
from slipmargin.cli.questions.methods import METHODS

__all__ = ["OFTEN", "OF_THE_SCENARIO", "WORDS", "Case", "case", "commands"]


@dataclass(frozen=True)
class Case:
    """A command line, and the files of the folder that it runs in."""

    words: tuple[str, ...]
    files: dict[str, bytes]


OFTEN = {  # of 10,000 inputs; what draws or samples takes a hundred times as long as a fit
    "fit": 6500, "check": 3300, "compare": 60, "interpretations": 60, "sweep": 50, "start": 60,
    "reliability": 20, "methods": 4, "back-analysis": 10, "influence": 6, "review": 3,
    "strength-map": 2, "schema": 2, "report": 1, "batch": 0.5, "verify": 0.2, "handbook": 0.05,
}  # fmt: skip
SOUND = {
    "intercept",
    "envelope",
    "confidence",
    "soil_class",
    "stated",
    "working",
    "as_json",
    "notes",
}
"""Options that any fit takes; a tame one is given no others by chance."""

PICTURES = 0.01
"""Hundredths in which a picture is drawn."""

VARIANTS = ("wet", "berm")
WORDS: dict[str, tuple[list[str], list[str]]] = {
    "state": (["peak", "peak", "end_of_test", "residual"], []),
    "intercept": (["non_negative", "free", "zero"], ["x"]),
    "specimen": (["square 60 mm", "circle 2.5 in"], ["square 60 mm x 25 mm", "square 0 mm", "60"]),
    "envelope": (["line", "line", "power"], []),
    "confidence": (["0.9", "0.5"], ["0.999999", "1", "nan", "x"]),
    "soil_class": (["SM", "CH"], ["GW", "XX"]),
    "sample": (["BH1"], ["x"]),
    "test_kind": (["direct_shear", "triaxial"], []),
    "lever_ratio": (["10"], ["1", "0", "-1", "1e300", "nan"]),
    "ring_constant": (["1.85 N/div"], ["0.2 kgf/div", "0 N/div", "1.85"]),
    "dial_zero": (["2 div"], ["-3 div", "1e9 div", "x"]),
    "ring_calibration": (["ring.csv"], ["none.csv"]),
    "stated": (["4 kPa 31 deg"], ["0 kPa, 30 deg", "31 deg", "4 31", "x"]),
    "variant": (list(VARIANTS), []),
    "steps": (["3"], ["2", "5", "1", "0", "x"]),
    "second_steps": (["2"], ["4", "-1"]),
    "samples": (["100"], ["128", "99", "0", "-5", "1e3"]),
    "seed": (["7"], ["0", "-1"]),
    "kind": ([*METHODS], ["x"]),
    "folder": (["new"], ["new/deep", "s.toml", ".", "a\x01b"]),
    "csv": (["o.csv"], ["s.toml", "no/o.csv", ".", "o\x1b.csv"]),
    "output": (["o.md"], ["s.toml", "no/o.md", "o.exe", "."]),
    "resume": (["old.jsonl"], ["s.toml", "none.jsonl"]),
    "jobs": (["1"], ["0", "x"]),
    "plot": (["o.svg", "o.png"], ["o.exe"]),
    "readings": (["lab.csv"], []),
    "scenario": (["s.toml"] * 20, ["none.toml", ".", "lab.csv"]),
    "first": (["s.toml"], []),
}
"""Words for the options and arguments of a name: those that mostly do, and others."""

OF_THE_SCENARIO: dict[str, Callable[[Dice, dict[str, Any]], Any]] = {
    "soil": lambda d, t: d.choice([*t["soils"], *["nowhere"] * d.wild]),
    "label": lambda d, t: _label(d, t),  # noqa: PLW0108  (it stands below)
    "check_label": lambda d, t: _label(d, t),  # noqa: PLW0108
    "vary": field_path,
    "second": field_path,
    "start": lambda d, t: written(d, d.between(5.0, 25.0), "angle"),
    "stop": lambda d, t: written(d, d.between(20.0, 45.0), "angle"),
    "second_start": lambda d, t: value_at(d, "cohesion"),
    "second_stop": lambda d, t: value_at(d, "cohesion"),
}


def value_of(name: str, dice: Dice, table: dict[str, Any]) -> str:
    """A word for an option or an argument."""
    if name in OF_THE_SCENARIO:
        return str(OF_THE_SCENARIO[name](dice, table))
    sound, others = WORDS[name]
    return dice.choice(sound + others if dice.wild else sound)


def _label(dice: Dice, table: dict[str, Any]) -> str:
    check = dice.choice(table["checks"])
    said = str(check.get("kind", "x")).replace("_", " ") + " 1"
    label = check.get("label", said)
    return label if isinstance(label, str) and not (dice.wild and dice.rare(10)) else "nowhere"


@cache
def commands() -> dict[str, Any]:
    """Every command of the program."""
    group: Any = typer.main.get_command(app)
    return dict(group.commands)


def case(dice: Dice) -> Case:
    """A command line, mostly one that can be answered."""
    dice.wild = dice.rare(62)
    name = dice.choices(list(OFTEN), list(OFTEN.values()))[0]
    files: dict[str, bytes] = {}
    table: dict[str, Any] = {"soils": {"bank": {}}, "checks": [{"kind": "rotational"}]}
    words = [name]
    takes_scenario = any(one.name == "scenario" for one in commands()[name].params)
    if takes_scenario or name in ("compare", "batch"):
        heavy = OFTEN[name] < 100  # one check will do
        wanted = ("variants",) if name == "compare" or dice.rare(4) else ()
        wanted += ("sweeps",) if name == "sweep" and dice.rare(50) else ()
        files, table = scenario_files(dice, checks=1 if heavy else 2, wanted=wanted)
    if takes_scenario:
        words.append(value_of("scenario", dice, table))
    words += _needed(dice, name, files, table)
    words += _options(dice, name, table, words)
    if dice.wild and dice.rare(1):
        words.insert(dice.randint(1, len(words)), dice.choice([*NASTY_TEXT, "--nothing", "-x"]))
    kept = [word.replace("\x00", "") for word in words]  # no system hands one over
    return Case(tuple(word.encode("utf-8", "replace").decode() for word in kept), files)


NEEDED = {
    "methods": ("", "kind"), "verify": ("", "kind"), "start": ("", "folder"),
    "reliability": ("--samples", "samples"), "back-analysis": ("--check", "check_label"),
    "strength-map": ("--soil", "soil"), "report": ("-o", "output"), "handbook": ("-o", "output"),
}  # fmt: skip
"""Option, if it is one, and name of what a command does little or nothing without."""


def _needed(dice: Dice, name: str, files: dict[str, bytes], table: dict[str, Any]) -> list[str]:
    """Words that a command cannot do without, for the most part."""
    if name == "fit":
        return _fit(dice, files, table)
    if name == "compare":
        return _compare(dice, files)
    if name == "batch":
        return _batch(dice, files)
    if name == "sweep" and ("sweeps" not in table or dice.rare(30)):
        path = field_path(dice, table)
        ends = ["--from", str(value_at(dice, path)), "--to", str(value_at(dice, path))]
        return ["--vary", path, *ends, "--steps", value_of("steps", dice, table)]
    if name not in NEEDED or (name != "verify" and dice.rare(3)):
        return []
    option, wanted = NEEDED[name]
    return [*[option] * bool(option), value_of(wanted, dice, table)]


def _fit(dice: Dice, files: dict[str, bytes], table: dict[str, Any]) -> list[str]:
    if dice.rare(6):
        made, tables = scenario_files(dice, checks=1)
        files |= made
        table |= tables
        return ["s.toml", "--soil", value_of("soil", dice, table)]
    made = readings_file(dice)
    files[made.name] = made.content
    words = [made.name]
    if made.forces and dice.rare(80):
        words += ["--specimen", value_of("specimen", dice, table)]
    if made.raw and dice.rare(95):
        words += ["--lever-ratio", "10", "--dial-zero", value_of("dial_zero", dice, table)]
        if dice.rare(30):
            files["ring.csv"] = dice.choice(CALIBRATION)
            words += ["--ring-calibration", value_of("ring_calibration", dice, table)]
        else:
            words += ["--ring-constant", value_of("ring_constant", dice, table)]
    if len(made.kinds) > 1 and dice.rare(80):
        words += ["--test-kind", dice.choice(made.kinds)]
    return words


def _compare(dice: Dice, files: dict[str, bytes]) -> list[str]:
    if dice.rare(40):
        return ["s.toml", "--variant", dice.choice(VARIANTS)]
    others, _ = scenario_files(dice, checks=2)
    files["b.toml"] = others.pop("s.toml") if dice.rare(30) else files["s.toml"]
    for name, content in others.items():
        files.setdefault(name, content)
    if dice.rare(60):
        old, new = dice.choice([(b"deg", b"rad"), (b"2", b"3"), (b"1", b"1.5"), (b"5 ", b"6 ")])
        files["b.toml"] = files["b.toml"].replace(old, new, 1)
    return ["s.toml", "b.toml"]


def _batch(dice: Dice, files: dict[str, bytes]) -> list[str]:
    files["b.toml"] = dice.choice([b"title = 3", b"", b"[tool]\nx = 1", b"\xff", files["s.toml"]])
    files["old.jsonl"] = dice.choice([b"", b"{", b'{"path": "s.toml", "ok": true}\n', b"x\n"])
    return [".", "--jobs", "1"]


def _options(dice: Dice, name: str, table: dict[str, Any], words: list[str]) -> list[str]:
    """Options beside those that a command cannot do without."""
    found = []
    for one in commands()[name].params:
        long = next((word for word in one.opts if word.startswith("--")), None)
        if long is None or long in words or one.name in ("help", "jobs"):
            continue
        if name == "fit" and not dice.wild and one.name not in SOUND:
            continue
        if one.name == "variants" and "variants" not in table and not dice.rare(2):
            continue
        if one.is_flag:
            often = {"as_json": 95.0, "working": 2.0, "notes": 4.0}.get(one.name, 12.0)
            found += [long] if dice.rare(often) else []  # text takes longer to lay out than a fit
        elif one.name == "plot":
            found += [long, value_of("plot", dice, table)] if dice.rare(PICTURES) else []
        elif one.name == "variant":
            held = "variants" in table
            found += [long, dice.choice(VARIANTS)] if dice.rare(60 if held else 0.5) else []
        elif dice.rare(1.5 if dice.wild else 0.3) or (name == "fit" and dice.rare(4)):
            found += [long, value_of(str(one.name), dice, table)]
    return found
