"""The reviewer's question: agreement with the commands it gathers, and its verdicts.

A dry slope without cohesion is judged by hand: F = tan φ′ / tan β, whatever its depth, and the
joint region of a line through the origin is the interval of its angle.
"""

from __future__ import annotations

import math
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

READINGS = """test,normal_stress [kPa],shear_stress [kPa]
1,25,17.1
2,50,33.0
3,100,67.5
4,150,99.4
"""

SITE = """
title = "A slope of sand"

[soils.sand]
unit_weight = "18 kN/m^3"
[soils.sand.strength]
{strength}

[[checks]]
kind = "infinite_slope"
label = "Slope"
soil = "sand"
slope_angle = "{slope:.9f} deg"
depth = "3 m"
{target}

[reliability]
samples = 1000
"""
FITTED = 'readings = "box.csv"\nintercept = "zero"'
STATED = 'cohesion = "0 kPa"\nfriction_angle = "33 deg"'


@pytest.fixture
def site(tmp_path: Path) -> Callable[..., Path]:
    def write(
        strength: str = FITTED, slope: float = 22.0, target: str = "", more: str = ""
    ) -> Path:
        (tmp_path / "box.csv").write_text(READINGS, encoding="utf-8")
        path = tmp_path / "slope.toml"
        text = SITE.format(strength=strength, slope=slope, target=target)
        path.write_text(text + more, encoding="utf-8")
        return path

    return write


def limits(slipmargin: Run, path: Path) -> tuple[float, float, float]:
    """Tangents of the fitted angle and of its 95 % limits."""
    fit = slipmargin("check", path, "--json").json["soils"]["sand"]["fit"]
    angles = [fit["best_fit"]["friction_angle_deg"], *fit["interval"]["friction_angle_deg"]]
    best, low, high = (math.tan(math.radians(angle)) for angle in angles)
    return best, low, high


@pytest.mark.parametrize(
    ("share", "verdict"),
    [(0.98, "holds"), (1.0, "hangs_on_the_reading"), (1.02, "misses")],
)
def test_the_verdict_follows_the_limits_of_the_angle(
    slipmargin: Run, site: Callable[..., Path], share: float, verdict: str
) -> None:
    """The slope is such that the target is met just above, within or below the interval."""
    best, low, high = limits(slipmargin, site())
    ends = {0.98: low * 0.9, 1.0: best * 0.999, 1.02: high * 1.01}
    slope = math.degrees(math.atan(ends[share] / 1.5))
    path = site(slope=slope, target="target = 1.5")
    found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
    assert found["verdict"] == verdict
    tan = math.tan(math.radians(slope))
    assert found["over_region"] == pytest.approx([low / tan, high / tan], rel=1e-9)
    assert found["region_crosses_target"] == (verdict == "hangs_on_the_reading")


def test_the_angle_at_which_the_target_is_met_is_that_of_the_closed_form(
    slipmargin: Run, site: Callable[..., Path]
) -> None:
    path = site(slope=25.0, target="target = 1.5")
    fit = slipmargin("check", path, "--json").json["soils"]["sand"]["fit"]
    found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
    wanted = 1.5 * math.tan(math.radians(25.0))
    error = fit["standard_error"]["tan_friction_angle"]
    best = math.tan(math.radians(fit["best_fit"]["friction_angle_deg"]))
    assert found["break_even"] == {
        "soil": "sand",
        "friction_angle_deg": pytest.approx(math.degrees(math.atan(wanted)), abs=1e-6),
        "standard_errors": pytest.approx((wanted - best) / error, rel=1e-6),
    }
    assert found["break_even"]["standard_errors"] > 0.0


WALL = """
title = "A wall on sand"

[soils.fill]
unit_weight = "18 kN/m^3"
[soils.fill.strength]
{strength}

[soils.base]
unit_weight = "18 kN/m^3"
[soils.base.strength]
{strength}

[[checks]]
kind = "retaining_wall"
label = "Wall"
backfill = "fill"
foundation = "base"
embedment = "1 m"
target = 1.35
[checks.wall]
shape = "gravity"
unit_weight = "24 kN/m^3"
height = "4 m"
top_width = "1 m"
base_width = "2.2 m"
back_offset = "0 m"

[reliability]
samples = 1000
"""


def test_a_wall_holds_only_where_both_its_soils_may_be_as_weak_as_their_tests_allow(
    slipmargin: Run, site: Callable[..., Path]
) -> None:
    path = site()
    angles = [math.degrees(math.atan(tan)) for tan in limits(slipmargin, path)]

    def check(*of: str) -> float:
        fill, base = (f'cohesion = "0 kPa"\nfriction_angle = "{one} deg"' for one in of)
        text = WALL.replace("{strength}", fill, 1).replace("{strength}", base)
        path.write_text(text, encoding="utf-8")
        return float(
            slipmargin("check", path, "--json").json["checks"][0]["factors_of_safety"]["sliding"]
        )

    best, low, high = (repr(angle) for angle in angles)
    ends = check(low, low), check(high, high)
    alone = min(check(low, best), check(best, low))
    path.write_text(WALL.format(strength=FITTED), encoding="utf-8")
    found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
    assert ends[0] < 0.99 * alone
    assert found["over_region"] == pytest.approx(ends, rel=1e-9)


def test_partial_factors_are_reviewed_by_their_utilisation(
    slipmargin: Run, site: Callable[..., Path]
) -> None:
    """Design tan φ′ is tan φ′ / 1.25 in DA1-2: EN 1997-1:2004, Table A.4."""
    basis = '[basis]\nmethod = "partial"\nsets = ["DA1-2"]\n'
    path = site(STATED, slope=30.0, more=basis)
    found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
    level = math.tan(math.radians(30.0)) * 1.25 / math.tan(math.radians(33.0))
    held = found["utilisation"]["DA1-2"]
    assert held["utilisation"] == pytest.approx(level, rel=1e-9)
    needed = math.degrees(math.atan(1.25 * math.tan(math.radians(30.0))))
    assert held["break_even"]["friction_angle_deg"] == pytest.approx(needed, abs=1e-6)
    assert (held["verdict"], found["verdict"], found["target"]) == ("misses", "misses", None)
    assert "under DA1-2 misses 1" in found["says"]


def test_without_a_target_there_is_no_verdict(slipmargin: Run, site: Callable[..., Path]) -> None:
    found = slipmargin("review", site(), "--json").json["checks"][0]["factors"]["sliding"]
    assert found["verdict"] is None
    assert found["break_even"] is None
    assert "no target is given" in found["says"]


def test_a_stated_strength_holds_or_misses_and_says_that_nothing_was_varied(
    slipmargin: Run, site: Callable[..., Path]
) -> None:
    for slope, verdict in ((20.0, "holds"), (28.0, "misses")):
        path = site(STATED, slope=slope, target="target = 1.5")
        found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
        assert (found["verdict"], found["probability_below_target"]) == (verdict, None)
        assert "the strength is stated" in found["says"]


def test_tests_too_few_for_a_region_never_hold(
    slipmargin: Run, site: Callable[..., Path], tmp_path: Path
) -> None:
    path = site('readings = "two.csv"', slope=10.0, target="target = 1.5")
    (tmp_path / "two.csv").write_text("\n".join(READINGS.splitlines()[:3]), encoding="utf-8")
    found = slipmargin("review", path, "--json").json["checks"][0]["factors"]["sliding"]
    assert found["factor"] > 3.0
    assert found["verdict"] == "hangs_on_the_reading"


@pytest.fixture(scope="module")
def wall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three checks of the demo, with few samples, so that it is quick."""
    folder = tmp_path_factory.mktemp("wall")
    shutil.copytree(
        Path(__file__).parents[2] / "scenarios" / "fennel-rise", folder, dirs_exist_ok=True
    )
    path = folder / "cut-and-wall.toml"
    head, *checks = path.read_text(encoding="utf-8").split("[[checks]]")
    left_out = ("wet season", "Cut face, rotation", "Thrust on")
    kept = [one for one in checks if not any(words in one for words in left_out)]
    text = "[[checks]]".join([head, *kept])
    path.write_text(f"{text}\n[reliability]\nsamples = 1000\n", encoding="utf-8")
    return path


def test_a_review_agrees_with_the_commands_it_gathers(slipmargin: Run, wall: Path) -> None:
    found = {
        one["label"]: one["factors"] for one in slipmargin("review", wall, "--json").json["checks"]
    }
    checked = slipmargin("check", wall, "--json").json["checks"]
    read = {
        one["label"]: one for one in slipmargin("interpretations", wall, "--json").json["checks"]
    }
    sampled = {
        one["label"]: one for one in slipmargin("reliability", wall, "--json").json["checks"]
    }
    swept = {
        one["label"]: one for one in slipmargin("sweep", wall, "--json").json["sweeps"][0]["checks"]
    }
    verdicts = set()
    for check in checked:
        label, factors = check["label"], found[check["label"]]
        assert {state: one["factor"] for state, one in factors.items()} == check[
            "factors_of_safety"
        ]
        for state, one in factors.items():
            verdicts.add(one["verdict"])
            if state == "overall":
                continue  # judged by its bound
            rows = read[label]["interpretations"]
            values = [row["factors_of_safety"][state] for row in rows]
            assert one["readings"]["lowest"]["factor"] == min(values)
            assert one["readings"]["highest"]["factor"] == max(values)
            careful = [r["factors_of_safety"][state] for r in rows if r["name"] == "cautious"]
            assert one["cautious"] == min(careful)
            chances = sampled[label]["factors"][state]
            for name in ("probability_below_target", "probability_below_one"):
                assert one[name] == chances[name]
            met = [v >= one["target"] for v in (one["factor"], *values, *one["over_region"])]
            judged = "holds" if all(met) else "hangs_on_the_reading" if any(met) else "misses"
            assert one["verdict"] == judged
            crossing = swept[label]["break_even_by_limit_state"][state]["target"]
            if crossing is not None and one["break_even"]["soil"] == "bank":
                assert one["break_even"]["friction_angle_deg"] == pytest.approx(crossing, abs=1e-6)
    assert verdicts == {"holds", "hangs_on_the_reading", "misses"}
    overall = found["Foot wall"]["overall"]
    bound = overall["readings"]["lowest"]["factor"]
    assert overall["target"] < bound < overall["factor"]
    assert overall["verdict"] == "holds"


def test_the_text_fits_eighty_columns_with_a_line_a_limit_state(
    slipmargin: Run, wall: Path, tmp_path: Path
) -> None:
    picture = tmp_path / "review.png"
    label = "Bank above the cut, dry"
    ran = slipmargin("review", wall, "--check", label, "--plot", picture)
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert re.search(r"^  sliding +1\.6.* hangs$", ran.out, re.MULTILINE)
    assert f"{label}: 1.6" in ran.out
    assert "Foot wall" not in ran.out
    assert picture.stat().st_size > 10_000


def test_a_scenario_without_factors_is_refused(slipmargin: Run, site: Callable[..., Path]) -> None:
    path = site()
    text = path.read_text(encoding="utf-8").split("[[checks]]")[0]
    path.write_text(text, encoding="utf-8")
    ran = slipmargin("review", path)
    assert (ran.code, "no check here has a factor of safety" in ran.err) == (2, True)


def test_a_strength_map_says_where_the_region_crosses_the_target(
    slipmargin: Run, site: Callable[..., Path]
) -> None:
    """On the line F = 1.5 of a slope without cohesion tan φ′ is 1.5 tan β."""
    best, low, _ = limits(slipmargin, site())
    wanted = 0.5 * (best + low)
    path = site(slope=math.degrees(math.atan(wanted / 1.5)), target="target = 1.5")
    words = ("strength-map", path, "--soil", "sand")
    region = slipmargin(*words, "--json").json["checks"][0]["region"]
    assert region["meets"] == "part"
    (place,) = region["crosses"]
    assert place["cohesion_kpa"] == 0.0
    # between the two ends of its interval the crossing is taken as straight
    angle = math.degrees(math.atan(wanted))
    assert place["friction_angle_deg"] == pytest.approx(angle, abs=0.02)
    printed = f"φ′ {place['friction_angle_deg']:.1f} deg, c′ 0.0 kPa"
    said = " ".join(slipmargin(*words).out.split())
    assert f"the 95 % region crosses the line, at {printed}" in said
