"""Every refusal: exit code 2, one message with file, place, value and what is allowed."""

from __future__ import annotations

from pathlib import Path

import pytest
from made import BANK, SLOPE, SWEEP

SOUND = (
    """\
title = "Bad input"

"""
    + BANK
    + """\

[soils.lab]
unit_weight = "18.5 kN/m^3"
[soils.lab.strength]
readings = "lab.csv"
[soils.lab.specimen]
shape = "square"
width = "60 mm"

"""
    + SLOPE
    + "target = 1.5\n\n"
    + SWEEP
    + "steps = 5\n"
)

READINGS = """\
test,normal_force [N],shear_force [N]
1,90,73
2,180,127
3,360,235
4,540,343
"""


def write(folder: Path, scenario: str = SOUND, readings: str = READINGS) -> Path:
    (folder / "lab.csv").write_text(readings, encoding="utf-8")
    path = folder / "site.toml"
    path.write_text(scenario, encoding="utf-8")
    return path


def assert_refused(ran, *words: str) -> None:
    assert ran.code == 2
    assert ran.out == ""
    message = ran.err.strip()
    assert "Traceback" not in message
    assert len(message.splitlines()) == 1, message
    for word in words:
        assert word in message, message


def test_the_sound_scenario_runs(slipmargin, tmp_path: Path) -> None:
    assert slipmargin("check", write(tmp_path), "--json").code == 0
    assert slipmargin("sweep", tmp_path / "site.toml", "--json").code == 0


SCENARIO_CASES = {
    "no unit": ('"18.5 kN/m^3"', '"18.5"', ["soils.bank.unit_weight", "18.5", "no unit"]),
    "bare number": ('depth = "1.8 m"', "depth = 1.8", ["depth", "1.8", "no unit"]),
    "wrong unit": ('depth = "1.8 m"', 'depth = "1.8 kPa"', ["depth", "1.8 kPa", "a length"]),
    "unknown unit": ('depth = "1.8 m"', 'depth = "1.8 cubits"', ["depth", "cubits", "not known"]),
    "decimal comma": ('"1.8 m"', '"1,8 m"', ["depth", "1,8 m", "point"]),
    "not finite": ('"1.8 m"', '"nan m"', ["depth", "nan m"]),
    "overflow": ('"1.8 m"', '"1e999 m"', ["depth", "too large"]),
    "negative depth": ('"1.8 m"', '"-1.8 m"', ["depth", "-1.8", "above 0 m"]),
    "impossible angle": ('"28 deg"', '"95 deg"', ["slope_angle", "95", "below 90"]),
    "impossible friction": ('"31 deg"', '"95 deg"', ["friction_angle", "95", "below 90"]),
    "negative cohesion": ('"4 kPa"', '"-4 kPa"', ["cohesion", "-4", "from 0 kPa"]),
    "zero unit weight": ('"18.5 kN/m^3"', '"0 kN/m^3"', ["unit_weight", "above 0"]),
    "ratio with unit": ("target = 1.5", 'target = "1.5 kPa"', ["target", "bare number"]),
    "ratio as boolean": ("target = 1.5", "target = true", ["target", "bare number"]),
    "unknown key": ("depth =", "dpeth =", ["dpeth", "unknown key", "depth"]),
    "unknown top key": ("title =", 'titel = "x"\ntitle =', ["titel", "did you mean 'title'"]),
    "unknown soil key": ("cohesion =", "cohesoin =", ["cohesoin", "did you mean 'cohesion'"]),
    "unknown kind": ('"infinite_slope"', '"infinit_slope"', ["kind", "'infinite_slope'"]),
    "missing kind": ('kind = "infinite_slope"\n', "", ["kind is missing: add it; one of inf"]),
    "unknown soil": ('soil = "bank"', 'soil = "bnak"', ["soil", "bnak", "did you mean 'bank'"]),
    "missing field": ('depth = "1.8 m"\n', "", ["depth is missing: add it", '"2.4 m"']),
    "missing title": ('title = "Bad input"\n', "", ["title is missing: add it"]),
    "checks in single brackets": ("[[checks]]", "[checks]", ["write [[checks]]"]),
    "soils in double brackets": ("[soils.bank]", "[[soils]]", ["[[soils]]", "[soils.NAME]"]),
    "label of another kind": ('label = "Bank"', "label = 3", ["label", "string"]),
    "duplicate label": (
        "[[sweeps]]",
        '[[checks]]\nkind = "infinite_slope"\nlabel = "Bank"\nsoil = "bank"\n'
        'slope_angle = "28 deg"\ndepth = "1 m"\n[[sweeps]]',
        ["label", "Bank", "its own"],
    ),
    "both strengths": (
        'cohesion = "4 kPa"',
        'cohesion = "4 kPa"\nreadings = "lab.csv"',
        ["not both"],
    ),
    "half a strength": ('friction_angle = "31 deg"\n', "", ["friction_angle is missing: add it"]),
    "fit option beside stated": (
        'cohesion = "4 kPa"',
        'cohesion = "4 kPa"\nstate = "peak"',
        ["state"],
    ),
    "unknown state": ('"lab.csv"', '"lab.csv"\nstate = "paek"', ["state", "paek", "peak"]),
    "state not in readings": (
        '"lab.csv"',
        '"lab.csv"\nstate = "residual"',
        ["state", "residual", "peak"],
    ),
    "unknown intercept": (
        '"lab.csv"',
        '"lab.csv"\nintercept = "none"',
        ["intercept", "none", "zero"],
    ),
    "impossible confidence": (
        '"lab.csv"',
        '"lab.csv"\nconfidence = 1.0',
        ["confidence", "below 1"],
    ),
    "missing readings": ('"lab.csv"', '"lost.csv"', ["readings", "lost.csv", "no such file"]),
    "readings outside": (
        '"lab.csv"',
        '"../lab.csv"',
        ["readings", "../lab.csv", "--allow-outside"],
    ),
    "width of a circle": ('shape = "square"', 'shape = "circle"', ["specimen.width", "diameter"]),
    "unknown shape": ('"square"', '"hexagon"', ["shape", "hexagon", "square, circle"]),
    "water table above ground": (
        'depth = "1.8 m"',
        'depth = "1.8 m"\nwater_table_depth = "-1 m"',
        ["water_table_depth", "from 0 m"],
    ),
    "seepage without water": (
        'depth = "1.8 m"',
        'depth = "1.8 m"\nseepage_angle = "10 deg"',
        ["seepage_angle", "water_table_depth"],
    ),
    "not TOML": ("[[checks]]", "[[checks", ["not valid TOML", "line"]),
}


@pytest.mark.parametrize("name", SCENARIO_CASES)
@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
def test_a_bad_scenario_is_refused_in_one_message(
    slipmargin, tmp_path: Path, name: str, as_json: bool
) -> None:
    old, new, words = SCENARIO_CASES[name]
    assert old in SOUND
    path = write(tmp_path, SOUND.replace(old, new, 1))
    ran = slipmargin("check", path, *(["--json"] if as_json else []))
    assert_refused(ran, "site.toml", *words)


READINGS_CASES = {
    "empty": ("", ["header"]),
    "header only": ("test,normal_force [N],shear_force [N]\n", ["no reading"]),
    "no unit": (READINGS.replace(" [N]", "", 1), ["normal_force", "brackets"]),
    "wrong unit": (READINGS.replace("[N]", "[kPa]", 1), ["normal_force", "a force"]),
    "mixed kinds": (READINGS.replace("shear_force [N]", "shear_stress [kPa]"), ["normal_stress"]),
    "no test column": (READINGS.replace("test", "tset", 1), ["tset", "did you mean test"]),
    "ragged": (READINGS.replace("2,180,127", "2,180"), ["row 3", "2 fields"]),
    "decimal comma": (READINGS.replace("2,180,127", "2,180,127,5"), ["row 3", "point"]),
    "word for a number": (READINGS.replace("127", "much"), ["row 3", "shear_force", "much"]),
    "not finite": (READINGS.replace("127", "inf"), ["row 3", "inf"]),
    "negative": (READINGS.replace("127", "-127"), ["row 3", "-127"]),
    "one test": ("test,normal_force [N],shear_force [N]\n1,90,73\n", ["1 test", "two tests"]),
    "one stress": (
        "test,normal_force [N],shear_force [N]\n1,90,73\n2,90,75\n",
        ["two different normal stresses"],
    ),
    "falling": (
        "test,normal_force [N],shear_force [N]\n1,90,300\n2,180,127\n3,360,80\n",
        ["must rise"],
    ),
    "band upside down": (
        "test,normal_force [N],shear_force_low [N],shear_force_high [N]\n1,90,80,70\n2,180,1,2\n",
        ["row 2", "above its high"],
    ),
    "half a band": ("test,normal_force [N],shear_force_low [N]\n1,90,80\n", ["both ends"]),
}


@pytest.mark.parametrize("name", READINGS_CASES)
def test_bad_readings_are_refused_by_fit_and_by_check(
    slipmargin, tmp_path: Path, name: str
) -> None:
    content, words = READINGS_CASES[name]
    path = write(tmp_path, readings=content)
    assert_refused(
        slipmargin("fit", tmp_path / "lab.csv", "--specimen", "square 60 mm", "--json"),
        "lab.csv",
        *words,
    )
    assert_refused(slipmargin("check", path, "--json"), ".csv" if "row" in words[0] else "", *words)


def test_a_file_that_is_not_there_is_refused(slipmargin, tmp_path: Path) -> None:
    assert_refused(slipmargin("check", tmp_path / "no.toml", "--json"), "no.toml", "no such file")
    assert_refused(slipmargin("fit", tmp_path / "no.csv"), "no.csv", "no file")


SWEEP_CASES = {
    "unknown field": (["soils.bank.colour", "1 deg", "2 deg"], ["colour", "friction_angle"]),
    "unknown soil": (["soils.bnk.cohesion", "1 kPa", "2 kPa"], ["bnk", "did you mean 'bank'"]),
    "unknown check": (["checks.Bnk.depth", "1 m", "2 m"], ["did you mean 'Bank'"]),
    "not a path": (["depth", "1 m", "2 m"], ["soils.NAME.FIELD"]),
    "reversed": (["soils.bank.friction_angle", "36 deg", "24 deg"], ["to", "above from"]),
    "empty range": (["soils.bank.friction_angle", "24 deg", "24 deg"], ["to", "above from"]),
    "no unit": (["soils.bank.friction_angle", "24", "36"], ["from", "no unit"]),
    "out of limits": (["checks.Bank.slope_angle", "10 deg", "95 deg"], ["slope_angle", "below 90"]),
    "unused soil": (["soils.lab.friction_angle", "24 deg", "36 deg"], ["no check"]),
}


@pytest.mark.parametrize("name", SWEEP_CASES)
def test_a_bad_sweep_is_refused(slipmargin, tmp_path: Path, name: str) -> None:
    (vary, low, high), words = SWEEP_CASES[name]
    path = write(tmp_path)
    ran = slipmargin("sweep", path, "--vary", vary, "--from", low, "--to", high, "--json")
    assert_refused(ran, "site.toml", *words)


@pytest.mark.parametrize("steps", ["0", "1", "1000000000"])
def test_a_senseless_number_of_steps_is_refused(slipmargin, tmp_path: Path, steps: str) -> None:
    words = ["--vary", "soils.bank.friction_angle", "--from", "24 deg", "--to", "36 deg"]
    ran = slipmargin("sweep", write(tmp_path), *words, "--steps", steps, "--json")
    assert_refused(ran, "steps", steps, "allowed: from 2")


def test_an_output_file_that_exists_is_left_alone(slipmargin, tmp_path: Path) -> None:
    path = write(tmp_path)
    target = tmp_path / "out.csv"
    target.write_text("mine", encoding="utf-8")
    assert_refused(slipmargin("sweep", path, "--csv", target), "out.csv", "--force")
    assert target.read_text(encoding="utf-8") == "mine"
    assert slipmargin("sweep", path, "--csv", target, "--force").code == 0
    assert target.read_text(encoding="utf-8").splitlines()[1].startswith("vary,value,")


def test_a_table_given_to_check_names_the_command_for_it(slipmargin, tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "lab.txt").write_text(READINGS, encoding="utf-8")
    for name in ("lab.csv", "lab.txt"):
        ran = slipmargin("check", tmp_path / name)
        assert_refused(ran, name, "table of readings", f"slipmargin fit {name}")


def test_a_scenario_without_checks_says_so(slipmargin, tmp_path: Path) -> None:
    ran = slipmargin("check", write(tmp_path, SOUND.partition("[[checks]]")[0]))
    assert ran.code == 0
    assert "The scenario holds no check" in ran.out


def test_start_does_not_overwrite(slipmargin, tmp_path: Path) -> None:
    assert slipmargin("start", tmp_path / "new").code == 0
    assert_refused(slipmargin("start", tmp_path / "new"), "scenario.toml", "--force")


def test_a_negative_intercept_is_refused_by_checks_but_shown_by_fit(
    slipmargin, tmp_path: Path
) -> None:
    steep = "test,normal_force [N],shear_force [N]\n1,90,50\n2,180,120\n3,360,260\n"
    path = write(
        tmp_path, SOUND.replace('"lab.csv"', '"lab.csv"\nintercept = "free"'), readings=steep
    )
    assert_refused(
        slipmargin("check", path, "--json"), "soils.lab", "intercept", "negative cohesion"
    )
    shown = slipmargin("fit", tmp_path / "lab.csv", "--intercept", "free", "--json")
    assert shown.code == 0
    assert shown.json["fit"]["best_fit"]["intercept_n"] < 0.0


def test_a_decimal_comma_is_recognised(slipmargin, tmp_path) -> None:
    path = tmp_path / "site.toml"
    path.write_text('title = "x"\n[[checks]]\ntarget = 1,5\n', encoding="utf-8")
    ran = slipmargin("check", path)
    assert (ran.code, ran.out) == (2, "")
    assert "line 3" in ran.err
    assert "decimal point, not a comma" in ran.err


@pytest.mark.parametrize("question", ["check", "sweep", "review", "interpretations", "influence"])
def test_every_question_names_the_file_and_the_check_it_cannot_work_out(
    slipmargin, tmp_path: Path, question: str
) -> None:
    wedge = """
[[checks]]
kind = "planar_wedge"
label = "Face"
soil = "bank"
height = "5 m"
face_angle = "25 deg"
plane_angle = "40 deg"

"""
    path = tmp_path / "site.toml"
    path.write_text(f'title = "Above the face"\n{BANK}{wedge}{SWEEP}', encoding="utf-8")
    assert_refused(slipmargin(question, path), "site.toml: checks (Face)", "plane_angle", "40 deg")
