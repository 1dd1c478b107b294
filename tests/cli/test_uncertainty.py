"""Interpretations, influence, reliability, strength map and back-analysis, as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

SITE = """\
title = "Doubt"
[soils.bank]
unit_weight = "18.5 kN/m^3"
saturated_unit_weight = "20.0 kN/m^3"
[soils.bank.strength]
readings = "lab.csv"
[soils.bank.strength.stated_by]
who = "a line by eye"
cohesion = "12 kPa"
friction_angle = "35 deg"
[soils.bank.specimen]
shape = "square"
width = "60 mm"
[soils.fill]
unit_weight = "18 kN/m^3"
[soils.fill.strength]
cohesion = "0 kPa"
friction_angle = "33 deg"

[[checks]]
kind = "infinite_slope"
label = "Bank"
soil = "bank"
slope_angle = "26 deg"
depth = "2.5 m"
water_table_depth = "1.5 m"
target = 1.3

[[checks]]
kind = "planar_wedge"
label = "Face"
soil = "bank"
height = "5 m"
face_angle = "60 deg"
target = 1.3

[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "fill"
foundation = "bank"
embedment = "0.6 m"
target = 1.5
[checks.wall]
unit_weight = "24 kN/m^3"
shape = "gravity"
height = "3 m"
top_width = "0.6 m"
base_width = "1.9 m"
back_offset = "0 m"

[reliability]
samples = 4000
seed = 7
[uncertain."soils.bank.unit_weight"]
distribution = "normal"
mean = "18.5 kN/m^3"
std = "0.8 kN/m^3"
[uncertain."soils.fill.friction_angle"]
distribution = "normal"
mean = "33 deg"
std = "2 deg"
"""

READINGS = """\
test,state,normal_force [N],shear_force [N]
1,peak,90,70
2,peak,180,131
3,peak,270,176
4,peak,360,240
5,peak,540,338
1,end_of_test,90,55
2,end_of_test,180,110
3,end_of_test,360,215
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "lab.csv").write_text(READINGS, encoding="utf-8")
    path = tmp_path / "site.toml"
    path.write_text(SITE, encoding="utf-8")
    return path


def strict(text: str):
    def refuse(word: str) -> None:
        raise AssertionError(word)

    return json.loads(text, parse_constant=refuse)


def test_interpretations_stand_side_by_side_for_every_check(slipmargin, site: Path) -> None:
    ran = slipmargin("interpretations", site, "--json")
    assert (ran.code, ran.err) == (0, "")
    checks = {c["label"]: c["interpretations"] for c in strict(ran.out)["checks"]}
    assert set(checks) == {"Bank", "Face", "Wall"}
    names = {row["name"] for row in checks["Bank"]}
    assert names >= {
        "peak",
        "end of test",
        "zero intercept",
        "cautious",
        "power curve",
        "stated by a line by eye",
    }
    for row in checks["Bank"]:
        assert set(row) >= {"name", "cohesion_kpa", "friction_angle_deg", "factors_of_safety"}
    peak, eye = (
        next(r for r in checks["Bank"] if r["name"] == n)
        for n in ("peak", "stated by a line by eye")
    )
    assert eye["factors_of_safety"]["sliding"] > peak["factors_of_safety"]["sliding"]


def test_an_interpretation_is_what_stating_it_gives(slipmargin, site: Path) -> None:
    rows = slipmargin("interpretations", site, "--json").json["checks"][0]["interpretations"]
    row = next(r for r in rows if r["name"] == "cautious")
    pair = (row["cohesion_kpa"], row["friction_angle_deg"])
    head, tail = SITE.split('readings = "lab.csv"')
    tail = tail.split("[soils.fill]", 1)[1]
    stated = f'cohesion = "{pair[0]!r} kPa"\nfriction_angle = "{pair[1]!r} deg"\n[soils.fill]'
    site.write_text((head + stated + tail).split("[reliability]", maxsplit=1)[0], encoding="utf-8")
    factors = slipmargin("check", site, "--json").json["checks"][0]["factors_of_safety"]
    assert factors["sliding"] == pytest.approx(row["factors_of_safety"]["sliding"], rel=1e-9)


def test_a_stated_strength_far_from_the_tests_is_called_doubtful(slipmargin, site: Path) -> None:
    soil = slipmargin("check", site, "--json").json["soils"]["bank"]
    codes = {notice["code"] for notice in soil["notices"]}
    assert any(code.startswith("stated-strength") for code in codes)
    assert soil["laboratory"]["stated"][0]["joint_probability"] < 0.05


def test_reliability_prints_the_document_and_repeats_with_its_seed(slipmargin, site: Path) -> None:
    ran = slipmargin("reliability", site, "--json")
    assert (ran.code, ran.err) == (0, "")
    document = strict(ran.out)
    assert (document["samples"], document["seed"]) == (4000, 7)
    assert ran.out == slipmargin("reliability", site, "--json").out
    assert ran.out != slipmargin("reliability", site, "--seed", "8", "--json").out
    for check in document["checks"]:
        for factor in check["factors"].values():
            assert set(factor) >= {
                "mean",
                "std",
                "percentiles",
                "probability_below_one",
                "probability_below_target",
                "sampling_error",
                "second_moment",
            }
            assert set(factor["percentiles"]) >= {"5", "50", "95"}
            moment = factor["second_moment"]
            if_normal = ndtr(-moment["reliability_index"])
            assert moment["probability_below_one"]["normal"] == pytest.approx(if_normal)
            assert 0.0 <= moment["probability_below_one"]["lognormal"] <= 1.0
            shares = factor["variance_shares"]["total"]
            assert all(-0.1 < share < 1.2 for share in shares.values())
    assert "Not in these probabilities" in slipmargin("reliability", site).out


@pytest.mark.parametrize(("tests", "mean", "std"), [(3, False, False), (4, True, False)])
def test_a_mean_or_a_deviation_that_does_not_exist_is_not_printed(
    tests: int, mean: bool, std: bool, slipmargin, site: Path
) -> None:
    lab = site.with_name("lab.csv")
    lab.write_text("\n".join(lab.read_text(encoding="utf-8").splitlines()[: tests + 1]) + "\n")
    ran = slipmargin("reliability", site, "--samples", "500", "--json")
    for check in strict(ran.out)["checks"]:
        codes = {notice["code"] for notice in check["notices"]}
        assert ("no-mean" in codes) == (not mean)
        assert ("no-standard-deviation" in codes) == (mean and not std)
        for factor in check["factors"].values():
            assert (factor["mean"] is not None) == mean
            assert (factor["std"] is not None) == std
            assert factor["drawn_again"] < 0.01
            assert factor["percentiles"]["5"] is not None
            moments = factor["second_moment"]
            assert (moments["mean"] is not None) == mean
            assert (moments["std"], moments["reliability_index"]) == (None, None)
            assert [*moments["probability_below_one"].values()] == [None, None]
    text = slipmargin("reliability", site, "--samples", "500").out
    assert " - " in text
    assert "nan" not in text


def test_sobol_points_give_the_same_probabilities(slipmargin, site: Path) -> None:
    plain = slipmargin("reliability", site, "--samples", "20000", "--json").json
    site.write_text(SITE.replace("seed = 7", 'seed = 7\nsampling = "sobol"'), encoding="utf-8")
    even = slipmargin("reliability", site, "--samples", "20000", "--json").json
    for a, b in zip(plain["checks"], even["checks"], strict=True):
        for state, factor in a["factors"].items():
            error = 4.0 * factor["sampling_error"] + 1e-3
            other = b["factors"][state]["probability_below_one"]
            assert other == pytest.approx(factor["probability_below_one"], abs=error)


def test_the_strength_map_holds_the_factors_of_single_runs(slipmargin, site: Path) -> None:
    document = strict(slipmargin("strength-map", site, "--soil", "bank", "--json").out)
    assert set(document["regions"]) == {"50%", "95%"}
    i, j = 30, 40
    c, phi = document["cohesion_kpa"][i], document["friction_angle_deg"][j]
    head, tail = SITE.split('readings = "lab.csv"')
    tail = tail.split("[soils.fill]", 1)[1]
    stated = f'cohesion = "{c!r} kPa"\nfriction_angle = "{phi!r} deg"\n[soils.fill]'
    site.write_text((head + stated + tail).split("[reliability]", maxsplit=1)[0], encoding="utf-8")
    single = {x["label"]: x for x in slipmargin("check", site, "--json").json["checks"]}
    for check in document["checks"]:
        for state, grid in check["factors_of_safety"].items():
            expected = single[check["label"]]["factors_of_safety"][state]
            assert grid[i][j] == pytest.approx(expected, rel=1e-6)


def test_back_analysis_pairs_give_a_factor_of_one_when_put_back(slipmargin, site: Path) -> None:
    document = strict(slipmargin("back-analysis", site, "--check", "Face", "--json").out)
    assert document["label"] == "Face"
    pair = document["pairs"][len(document["pairs"]) // 2]
    head, tail = SITE.split('readings = "lab.csv"')
    tail = tail.split("[soils.fill]", 1)[1]
    stated = (
        f'cohesion = "{pair["cohesion_kpa"]!r} kPa"\n'
        f'friction_angle = "{pair["friction_angle_deg"]!r} deg"\n[soils.fill]'
    )
    site.write_text((head + stated + tail).split("[reliability]", maxsplit=1)[0], encoding="utf-8")
    checks = {x["label"]: x for x in slipmargin("check", site, "--json").json["checks"]}
    assert checks["Face"]["factors_of_safety"]["sliding"] == pytest.approx(1.0, abs=1e-6)


def test_the_joint_swing_is_narrower_than_both_at_their_worst(slipmargin, site: Path) -> None:
    document = strict(slipmargin("influence", site, "--json").out)
    bank = next(c for c in document["checks"] if c["label"] == "Bank")
    width = {s["input"]: abs(s["factor_at_high"] - s["factor_at_low"]) for s in bank["swings"]}
    assert width["bank: c′ and φ′ jointly"] < width["bank: both at their worst"]
    assert list(width.values()) == sorted(width.values(), reverse=True)


def test_a_stated_range_replaces_the_default(slipmargin, site: Path) -> None:
    site.write_text(
        SITE + '[ranges."checks.Bank.depth"]\nrange = ["1 m", "4 m"]\n', encoding="utf-8"
    )
    document = slipmargin("influence", site, "--json").json
    swing = next(s for s in document["checks"][0]["swings"] if s["input"] == "checks.Bank.depth")
    assert (swing["low"], swing["high"], swing["default_range"]) == ("1 m", "4 m", False)


@pytest.mark.parametrize(
    ("command", "more"),
    [
        ("sweep", ["--vary", "soils.bank.friction_angle", "--from", "25 deg", "--to", "40 deg"]),
        ("influence", []),
        ("reliability", []),
        ("strength-map", ["--soil", "bank"]),
        ("back-analysis", ["--check", "Face"]),
    ],
)
def test_every_question_has_a_table_and_a_picture(
    slipmargin, site: Path, command: str, more: list[str]
) -> None:
    table, picture = site.parent / "table.csv", site.parent / "picture.svg"
    ran = slipmargin(command, site, *more, "--csv", table, "--plot", picture)
    assert ran.code == 0, ran.err
    assert "Preliminary" in ran.out
    assert len(table.read_text(encoding="utf-8").splitlines()) > 2
    assert picture.read_text(encoding="utf-8").startswith("<?xml")


def test_two_fields_are_swept_at_once(slipmargin, site: Path) -> None:
    words = ["--vary", "soils.bank.friction_angle", "--from", "25 deg", "--to", "40 deg",
             "--steps", "4", "--second", "checks.Bank.depth", "--second-from", "1 m",
             "--second-to", "3 m", "--second-steps", "3"]  # fmt: skip
    document = strict(slipmargin("sweep", site, *words, "--json").out)["sweeps"][0]
    (check,) = document["checks"]
    grid = check["factors_of_safety"]["sliding"]
    assert (len(grid), len(grid[0])) == (4, 3)
    words = ["--vary", "checks.Bank.depth", "--from", "1 m", "--to", "3 m", "--steps", "3"]
    site.write_text(
        SITE.replace('readings = "lab.csv"', 'readings = "lab.csv"\nintercept = "non_negative"'),
        encoding="utf-8",
    )
    single = slipmargin("sweep", site, *words, "--json").json["sweeps"][0]["checks"][0]
    assert len(single["factors_of_safety"]["sliding"]) == 3


def test_a_formula_in_a_label_is_disarmed_in_a_table(slipmargin, site: Path) -> None:
    site.write_text(SITE.replace('label = "Bank"', "label = '=HYPERLINK(\"x\")'"), encoding="utf-8")
    table = site.parent / "t.csv"
    assert slipmargin("interpretations", site, "--csv", table).code == 0
    assert "'=HYPERLINK" in table.read_text(encoding="utf-8")


BAD = {
    "distribution": ('"normal"', '"nomral"', ["distribution", "nomral", "did you mean 'normal'"]),
    "std": ('std = "0.8 kN/m^3"', 'std = "-0.8 kN/m^3"', ["std", "above 0"]),
    "std unit": ('std = "0.8 kN/m^3"', 'std = "0.8 kPa"', ["std", "a unit weight"]),
    "missing parameter": ('std = "0.8 kN/m^3"\n', "", ["std", "missing", "mean, std"]),
    "extra parameter": (
        'std = "0.8 kN/m^3"',
        'std = "0.8 kN/m^3"\nlow = "1 kN/m^3"',
        ["low", "normal"],
    ),
    "unknown field": ("soils.bank.unit_weight", "soils.bank.unitweight", ["unitweight", "known"]),
    "fitted strength": (
        'uncertain."soils.bank.unit_weight"]\ndistribution = "normal"\nmean = "18.5 kN/m^3"\n'
        'std = "0.8 kN/m^3"',
        'uncertain."soils.bank.cohesion"]\ndistribution = "normal"\nmean = "5 kPa"\nstd = "1 kPa"',
        ["fitted strength", "joint"],
    ),
    "correlation": (
        "[reliability]",
        "[[correlations]]\nbetween = ['soils.bank.unit_weight', 'soils.fill.friction_angle']\n"
        "coefficient = 1.4\n[reliability]",
        ["coefficient", "1.4", "below 1"],
    ),
    "correlation of a stranger": (
        "[reliability]",
        "[[correlations]]\nbetween = ['soils.bank.unit_weight', 'soils.x.y']\n"
        "coefficient = 0.4\n[reliability]",
        ["soils.x.y", "[uncertain]"],
    ),
    "samples": ("samples = 4000", "samples = 0", ["samples", "from 100"]),
    "seed": ("seed = 7", "seed = -7", ["seed"]),
}


@pytest.mark.parametrize("name", BAD)
def test_an_impossible_doubt_is_refused_in_one_message(slipmargin, site: Path, name: str) -> None:
    old, new, words = BAD[name]
    assert old in SITE
    site.write_text(SITE.replace(old, new, 1), encoding="utf-8")
    ran = slipmargin("reliability", site, "--json")
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.strip().splitlines()) == 1
    for word in words:
        assert word in ran.err


def test_correlations_that_contradict_each_other_are_refused(slipmargin, site: Path) -> None:
    third = (
        '[uncertain."checks.Wall.surcharge"]\ndistribution = "uniform"\nlow = "0 kPa"\n'
        'high = "9 kPa"\n'
    )
    pairs = [
        ("soils.bank.unit_weight", "soils.fill.friction_angle", 0.9),
        ("soils.bank.unit_weight", "checks.Wall.surcharge", 0.9),
        ("soils.fill.friction_angle", "checks.Wall.surcharge", -0.9),
    ]
    text = "".join(
        f"[[correlations]]\nbetween = ['{a}', '{b}']\ncoefficient = {r}\n" for a, b, r in pairs
    )
    site.write_text(SITE + third + text, encoding="utf-8")
    ran = slipmargin("reliability", site, "--json")
    assert (ran.code, ran.out) == (2, "")
    assert "not positive definite" in ran.err


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["strength-map", "--soil", "bnak"], ["bnak", "did you mean 'bank'"]),
        (["back-analysis", "--check", "Bnk"], ["Bnk", "did you mean 'Bank'"]),
        (["back-analysis", "--check", "Wall"], ["Wall", "name a slope", "Bank"]),
        (["influence", "--plot", "x.gif"], ["x.gif", ".png"]),
    ],
)
def test_a_question_about_nothing_is_refused(
    slipmargin, site: Path, command: list[str], words: list[str]
) -> None:
    ran = slipmargin(command[0], site, *command[1:])
    assert (ran.code, ran.out) == (2, "")
    for word in words:
        assert word in ran.err


@pytest.mark.parametrize(
    "command",
    [["interpretations"], ["influence"], ["reliability"], ["strength-map", "--soil", "bank"]],
)
def test_a_searched_plane_never_answers_without_its_warning(
    slipmargin, site: Path, command: list[str]
) -> None:
    document = slipmargin(command[0], site, *command[1:], "--json").json
    for check in document["checks"]:
        codes = {notice["code"] for notice in check["notices"]}
        assert bool({"rotation-governs", "plane-governs"} & codes) == (check["label"] == "Face")
    text = " ".join(slipmargin(command[0], site, *command[1:]).out.split())
    assert "rotation governs" in text


TURNED = """
[[checks]]
kind = "rotational"
label = "Turned"
soil = "bank"
height = "5 m"
face_angle = "60 deg"
target = 1.3
"""


@pytest.mark.parametrize(
    "command",
    [["interpretations"], ["influence"], ["reliability"], ["strength-map", "--soil", "bank"]],
)
def test_the_rotation_beside_a_plane_is_that_of_a_check_of_its_own(
    slipmargin, site: Path, command: list[str]
) -> None:
    def checks() -> dict[str, dict]:
        ran = slipmargin(command[0], site, *command[1:], "--json")
        return {one["label"]: one for one in ran.json["checks"]}

    face = checks()["Face"]
    text = site.read_text(encoding="utf-8")
    plane = text[text.index('kind = "planar_wedge"') :].split("\n[[", maxsplit=1)[0]
    site.write_text(text.replace("[[checks]]\n" + plane, TURNED), encoding="utf-8")
    own = checks()["Turned"]
    match command[0]:
        case "interpretations":
            # a curved envelope is read at the stress of its own check, which a plane has
            rows = zip(face["interpretations"], own["interpretations"], strict=True)
            pairs = [
                (one["factors_of_safety"]["rotation"], two["factors_of_safety"]["sliding"])
                for one, two in rows
                if one["friction_angle_deg"] == two["friction_angle_deg"]
            ]
            assert len(pairs) >= 5
            found, known = ([pair[i] for pair in pairs] for i in (0, 1))
        case "influence":
            assert face["governs"] == "rotation"
            found, known = ([one["lowest_factor"]] for one in (face, own))
            for swing in own["swings"]:
                name = swing["input"].replace("Turned", "Face")
                same = next(one for one in face["swings"] if one["input"] == name)
                found += [same["factor_at_low"], same["factor_at_high"]]
                known += [swing["factor_at_low"], swing["factor_at_high"]]
        case "reliability":
            found = [face["factors"]["rotation"][key] for key in ("mean", "std")]
            known = [own["factors"]["sliding"][key] for key in ("mean", "std")]
        case _:
            found = face["factors_of_safety"]["rotation"]
            known = own["factors_of_safety"]["sliding"]
    np.testing.assert_allclose(
        np.array(found, dtype=float), np.array(known, dtype=float), rtol=2e-6
    )


def test_a_doubt_in_a_crack_moves_the_plane_and_the_rotation(slipmargin, site: Path) -> None:
    text = site.read_text(encoding="utf-8").replace(
        'face_angle = "60 deg"', 'face_angle = "60 deg"\ntension_crack_distance = "1.2 m"'
    )
    site.write_text(text, encoding="utf-8")
    path = "checks.Face.tension_crack_distance"
    doubt = f'[uncertain."{path}"]\ndistribution = "uniform"\nlow = "0.3 m"\nhigh = "1.8 m"\n'
    site.write_text(text + doubt, encoding="utf-8")
    checks = slipmargin("reliability", site, "--samples", 200, "--json").json["checks"]
    face = next(one for one in checks if one["label"] == "Face")
    for state in ("sliding", "rotation"):
        factor = face["factors"][state]
        assert factor["variance_shares"]["total"][path] > 0.001
        assert factor["std"] > 0.0


def test_the_factors_of_a_power_curve_are_those_of_the_pair_beside_them(
    slipmargin, site: Path
) -> None:
    text = site.read_text(encoding="utf-8")
    site.write_text(text + TURNED, encoding="utf-8")
    found = {}
    for check in slipmargin("interpretations", site, "--json").json["checks"]:
        for row in check["interpretations"]:
            if row["name"] == "power curve" and row["soil"] == "bank":
                found[check["label"]] = row
    assert set(found) == {"Bank", "Face", "Wall", "Turned"}
    head, tail = (SITE + TURNED).split('readings = "lab.csv"')
    tail = tail.split("[soils.fill]", 1)[1].replace(SITE[SITE.index("[reliability]") :], "")
    for label, row in found.items():
        stated = (
            f'cohesion = "{row["cohesion_kpa"]!r} kPa"\n'
            f'friction_angle = "{row["friction_angle_deg"]!r} deg"\n[soils.fill]'
        )
        site.write_text(head + stated + tail, encoding="utf-8")
        checks = slipmargin("check", site, "--json").json["checks"]
        single = next(one for one in checks if one["label"] == label)
        for state, factor in row["factors_of_safety"].items():
            if state != "rotation":  # which takes the curve at a stress of its own
                assert factor == pytest.approx(single["factors_of_safety"][state], rel=1e-6), label


THREE = """test,normal_force [N],shear_force [N]
a,180,130
b,360,281
c,540,335
"""


def test_three_tests_that_bound_no_strength_lend_no_numbers(slipmargin, site: Path) -> None:
    (site.parent / "lab.csv").write_text(THREE, encoding="utf-8")
    low = slipmargin("fit", site.parent / "lab.csv", "--specimen", "square 60 mm", "--json").json
    assert low["fit"]["interval"]["friction_angle_deg"][0] < 0.0
    document = strict(slipmargin("influence", site, "--json").out)
    bank = next(c for c in document["checks"] if c["label"] == "Bank")
    first, *others = bank["swings"]
    assert (first["low"], first["bounded"]) == ("not bounded by these tests", False)
    assert (first["factor_at_low"], first["factor_at_high"]) == (None, None)
    assert not any("φ′" in swing["input"] for swing in others)
    out = slipmargin("influence", site).out
    assert "not bounded" in " ".join(out.split())
    assert "nan" not in out
    table, picture = site.parent / "swings.csv", site.parent / "swings.svg"
    ran = slipmargin("influence", site, "--csv", table, "--plot", picture)
    assert ran.code == 0, ran.err
    assert "nan" not in table.read_text(encoding="utf-8")


def test_a_stated_spread_replaces_the_default_range(slipmargin, site: Path) -> None:
    document = strict(slipmargin("influence", site, "--json").out)
    wall = next(c for c in document["checks"] if c["label"] == "Wall")
    swing = next(s for s in wall["swings"] if s["input"] == "soils.fill.friction_angle")
    # the middle 95 % of a normal distribution: 1.95996 standard deviations to either side
    assert [float(swing[end].split()[0]) for end in ("low", "high")] == pytest.approx(
        [33.0 - 2.0 * 1.95996, 33.0 + 2.0 * 1.95996], abs=0.005
    )
    assert swing["default_range"] is False


def test_a_line_of_water_is_moved_up_and_down(slipmargin, tmp_path: Path) -> None:
    path = tmp_path / "wet.toml"
    head = SITE[SITE.index("[soils.fill]") : SITE.index("[[checks]]")]
    lines = {"drawn": 2.0, "lowered": 1.8, "raised": 2.2}
    found = {}
    for name, level in lines.items():
        text = f"""title = "Wet"\n{head}
[[checks]]
kind = "rotational"
label = "Slope"
soil = "fill"
height = "6 m"
face_angle = "25 deg"
water_line = [[0, {level - 2.0!r}], [6, {level!r}], [30, {level!r}]]
"""
        path.write_text(text, encoding="utf-8")
        if name == "drawn":
            document = strict(slipmargin("influence", path, "--json").out)
        found[name] = slipmargin("check", path, "--json")
    swings = document["checks"][0]["swings"]
    swing = next(s for s in swings if s["input"] == "checks.Slope.water_line")
    assert (swing["low"], swing["default_range"]) == ("lowered 0.2 m", True)
    lowered = found["lowered"].json["checks"][0]["factors_of_safety"]["sliding"]
    # a search for several lines of water and for one stop at other places about the same top
    assert swing["factor_at_low"] == pytest.approx(lowered, rel=1e-6)
    assert swing["factor_at_high"] <= swing["factor_at_low"]


def test_beside_a_held_half_a_sweep_moves_it_as_the_tests_tie_the_two(
    slipmargin, site: Path
) -> None:
    """A least-squares line turns about the mean point of its tests (Draper & Smith, ch. 1)."""
    words = ("--from", "24 deg", "--to", "38 deg", "--steps", "5", "--json")
    out = slipmargin("sweep", site, "--vary", "soils.bank.friction_angle", *words).out
    (found,) = strict(out)["sweeps"]
    area = 0.06 * 0.06 * 1000.0
    peak = [line.split(",") for line in READINGS.splitlines() if ",peak," in line]
    normal, shear = (np.array([float(row[k]) for row in peak]) / area for k in (2, 3))
    slope, intercept = np.polyfit(normal, shear, 1)
    assert found["as_used"] == pytest.approx(np.degrees(np.arctan(slope)), rel=1e-9)
    tied = found["tied"]
    assert tied["vary"] == "soils.bank.cohesion"
    assert tied["unit"] == "kPa"
    assert tied["at"][0] == pytest.approx(found["limits"][0], rel=1e-12)
    assert tied["at"][-1] == pytest.approx(found["limits"][1], rel=1e-12)
    through_middle = shear.mean() - normal.mean() * np.tan(np.radians(tied["at"]))
    np.testing.assert_allclose(tied["values"], np.maximum(through_middle, 0.0), rtol=1e-9)
    assert tied["values"][4] != pytest.approx(intercept)  # half way in angle, not in its tangent
    bank = found["checks"][0]
    slope_only = SITE.partition("[[checks]]")[2].partition("[[checks]]")[0]
    for place in (0, 8):
        pair = f'cohesion = "{tied["values"][place]!r} kPa"\nfriction_angle = '
        (site.parent / "stated.toml").write_text(
            'title = "Stated"\n[soils.bank]\nunit_weight = "18.5 kN/m^3"\n'
            'saturated_unit_weight = "20.0 kN/m^3"\n[soils.bank.strength]\n'
            f'{pair}"{tied["at"][place]!r} deg"\n[[checks]]{slope_only}',
            encoding="utf-8",
        )
        out = slipmargin("check", site.parent / "stated.toml", "--json").out
        alone = strict(out)["checks"][0]["factors_of_safety"]["sliding"]
        assert bank["factors_of_safety_tied"]["sliding"][place] == pytest.approx(alone, rel=1e-9)
    assert (
        bank["factors_of_safety_held"]["sliding"][0] < bank["factors_of_safety_held"]["sliding"][8]
    )


def test_nothing_moves_along_with_a_stated_strength_or_another_field(
    slipmargin, site: Path
) -> None:
    for field, start, stop in (
        ("soils.fill.friction_angle", "30 deg", "36 deg"),
        ("soils.bank.unit_weight", "17 kN/m^3", "20 kN/m^3"),
        ("checks.Bank.depth", "1 m", "3 m"),
    ):
        words = ("--from", start, "--to", stop, "--steps", "5", "--json")
        out = slipmargin("sweep", site, "--vary", field, *words).out
        (found,) = strict(out)["sweeps"]
        assert "tied" not in found
        assert all("factors_of_safety_tied" not in check for check in found["checks"])
        assert found["as_used"] == pytest.approx(
            {"fill": 33.0, "bank": 18.5, "Bank": 2.5}[field.split(".")[1]]
        )


@pytest.mark.parametrize(
    "words",
    [
        ("reliability", "--samples", "100"),
        ("strength-map", "--soil", "fill"),
        ("sweep", "--vary", "soils.fill.cohesion", "--from", "1 kPa", "--to", "9 kPa",
         "--steps", "65"),
    ],
    ids=lambda words: words[0],
)  # fmt: skip
def test_many_samples_of_a_layered_slope_are_said_to_go_by_circles_of_others(
    slipmargin, tmp_path: Path, words: tuple[str, ...]
) -> None:
    path = tmp_path / "layers.toml"
    head = SITE[SITE.index("[soils.fill]") : SITE.index("[[checks]]")]
    path.write_text(
        f"""title = "Layers"\n{head}
[[checks]]
kind = "layered_slope"
label = "Slope"
ground_line = [[0, 0], [8, 4], [40, 4]]
layers = [{{ soil = "fill" }}]
[uncertain."soils.fill.friction_angle"]
distribution = "normal"
mean = "33 deg"
std = "2 deg"
""",
        encoding="utf-8",
    )
    ran = slipmargin(words[0], path, *words[1:], "--json")
    assert ran.code == 0, ran.err
    assert "circles-of-other-samples" in ran.out
