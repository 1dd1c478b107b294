"""A soil with a curved envelope: every question follows the curve, or refuses to be asked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from slipmargin.strength import PowerCurve
from slipmargin.strength.envelope.joint_curve import JointCurve

READINGS = """\
test,normal_stress [kPa],shear_stress [kPa]
1,20,21.5
2,50,42.9
3,100,75.3
4,200,124.5
5,300,168.0
"""

SITE = """\
title = "Bent"
[soils.bank]
unit_weight = "19 kN/m^3"
saturated_unit_weight = "20 kN/m^3"
[soils.bank.strength]
readings = "lab.csv"
envelope = "power"
[[checks]]
kind = "infinite_slope"
label = "Skin"
soil = "bank"
slope_angle = "33 deg"
depth = "2 m"
water_table_depth = "1 m"
target = 1.3
[[checks]]
kind = "planar_wedge"
label = "Face"
soil = "bank"
height = "9 m"
face_angle = "60 deg"
target = 1.3
[[sweeps]]
vary = "checks.Skin.slope_angle"
from = "20 deg"
to = "40 deg"
steps = 9
[reliability]
samples = 4000
"""

PAIR = "soils.bank.friction_angle"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "lab.csv").write_text(READINGS)
    path = tmp_path / "bent.toml"
    path.write_text(SITE)
    return path


def by_hand(site: Any, angle: float = 33.0) -> float:
    """The skin on the printed curve, in plain floats."""
    curve = site.json["soils"]["bank"]["power_curve"]
    beta = np.radians(angle)
    weight = 19.0 * 1.0 + 20.0 * 1.0
    effective = weight * np.cos(beta) ** 2 - 9.81 * np.cos(beta) ** 2
    pa = curve["reference_pressure_kpa"]
    strength = curve["coefficient"] * pa * (effective / pa) ** curve["exponent"]
    return float(strength / (weight * np.sin(beta) * np.cos(beta)))


def test_check_and_sweep_lie_on_the_curve_at_the_stress_of_each_slope(
    slipmargin, site: Path
) -> None:
    checked = slipmargin("check", site, "--json")
    assert checked.json["checks"][0]["factors_of_safety"]["sliding"] == pytest.approx(
        by_hand(checked), rel=1e-6
    )
    swept = slipmargin("sweep", site, "--json").json["sweeps"][0]
    factors = swept["checks"][0]["factors_of_safety"]["sliding"]
    expected = [by_hand(checked, angle) for angle in swept["values"]]
    np.testing.assert_allclose(factors, expected, rtol=1e-6)


def test_the_samples_of_a_curve_lie_about_the_factor_of_the_check(slipmargin, site: Path) -> None:
    checked = slipmargin("check", site, "--json").json["checks"]
    sampled = slipmargin("reliability", site, "--json").json["checks"]
    for check, doubt in zip(checked, sampled, strict=True):
        factor = check["factors_of_safety"]["sliding"]
        found = doubt["factors"]["sliding"]
        assert found["percentiles"]["50"] == pytest.approx(factor, rel=0.005)
        assert found["second_moment"]["mean"] == pytest.approx(factor, rel=1e-6)
    beside = sampled[1]["factors"]["rotation"]["percentiles"]["50"]
    assert beside == pytest.approx(checked[1]["factors_of_safety"]["rotation"], rel=0.01)


def test_a_curve_is_swung_along_its_own_region(slipmargin, site: Path) -> None:
    checked = slipmargin("check", site, "--json")
    factor = checked.json["checks"][0]["factors_of_safety"]["sliding"]
    swings = slipmargin("influence", site, "--json").json["checks"][0]["swings"]
    (joint,) = [swing for swing in swings if swing["input"] == "bank: A and n jointly"]
    assert joint["factor_at_low"] < factor < joint["factor_at_high"]
    assert not any("friction" in swing["input"] for swing in swings)


def test_the_reading_as_used_is_the_curve_where_it_slides(slipmargin, site: Path) -> None:
    for check in slipmargin("interpretations", site, "--json").json["checks"]:
        rows = {row["name"]: row for row in check["interpretations"]}
        for field in ("cohesion_kpa", "friction_angle_deg"):
            assert rows["as used"][field] == pytest.approx(rows["power curve"][field], rel=1e-9)
        assert rows["as used"]["factors_of_safety"] == rows["power curve"]["factors_of_safety"]


def test_the_cautious_reading_is_what_the_check_gives_of_the_cautious_value(
    slipmargin, site: Path
) -> None:
    read = slipmargin("interpretations", site, "--json").json["checks"]
    site.write_text(SITE.replace('envelope = "power"', 'envelope = "power"\nvalue = "cautious"'))
    for before, check in zip(read, slipmargin("check", site, "--json").json["checks"], strict=True):
        rows = {row["name"]: row["factors_of_safety"] for row in before["interpretations"]}
        for state, factor in check["factors_of_safety"].items():
            assert rows["cautious"][state] == pytest.approx(factor, rel=1e-6)
            assert rows["cautious"][state] < rows["as used"][state]


@pytest.mark.parametrize(
    "words",
    [
        ("strength-map", "--soil", "bank"),
        ("back-analysis", "--check", "Face"),
        ("sweep", "--vary", PAIR, "--from", "20 deg", "--to", "30 deg"),
    ],
    ids=lambda words: words[0],
)
def test_what_asks_for_a_pair_is_refused(slipmargin, site: Path, words: tuple[str, ...]) -> None:
    ran = slipmargin(words[0], site, *words[1:])
    assert ran.code == 2
    assert "no straight line stands in for it" in ran.err.replace("\n", " ")


def test_the_table_of_soils_and_the_fit_show_the_curve(slipmargin, site: Path) -> None:
    table = slipmargin("check", site).out
    row = table.partition("check  ")[0]
    assert "τ = 0.737 pa (σ′/pa)^0.749" in row
    assert "A 0.716 to 0.757" in " ".join(row.split())
    lab = site.with_name("lab.csv")
    fitted = slipmargin("fit", lab, "--envelope", "power", "--json").json["fit"]["power_curve"]
    low, high = fitted["interval"]["exponent"]
    # two-sided 95 % of Student's t with 3 degrees of freedom
    assert high - low == pytest.approx(2.0 * 3.182446 * fitted["standard_error"]["exponent"])
    assert "exponent n" in slipmargin("fit", lab, "--envelope", "power").out


def test_a_sheet_names_the_parts_it_could_not_make(slipmargin, site: Path) -> None:
    site.write_text(
        SITE + f'[[sweeps]]\nvary = "{PAIR}"\nfrom = "20 deg"\nto = "30 deg"\nsteps = 5\n'
    )
    out = site.with_suffix(".md")
    assert slipmargin("report", site, "-o", out).code == 0
    text = " ".join(out.read_text().replace("\\", "").split())
    for part in ("Sweep of φ′ of bank", "Strength map: bank"):
        assert text.count(f"Not on this sheet: {part}") >= 2  # in its place and among the notices
    assert "Sweep of slope angle of Skin" in text


def test_a_part_that_fails_leaves_the_rest_of_the_sheet_and_a_stop(
    slipmargin, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise ValueError("operands could not be broadcast together")

    monkeypatch.setattr("slipmargin.cli.sheet.sensitivities.find_influence", fails)
    out = site.with_suffix(".md")
    assert slipmargin("report", site, "-o", out).code == 0
    text = " ".join(out.read_text().split())
    summary = text.partition("Laboratory data and fit")[0]
    assert "Not on this sheet: What each input moves" in summary
    assert "operands could not be broadcast" in summary


def test_draws_of_a_curve_have_the_spread_of_its_fit() -> None:
    curve = PowerCurve(
        coefficient=0.75,
        exponent=0.8,
        tested_range=(20.0, 200.0),
        variances=(4e-4, 9e-4, 3e-4),
        degrees_of_freedom=60,
    )
    drawn = JointCurve(curve).draw(np.random.default_rng(3).random((200_000, 2)))
    spread = np.cov(*drawn) * 58.0 / 60.0
    np.testing.assert_allclose(spread, [[4e-4, 3e-4], [3e-4, 9e-4]], rtol=0.03)


def test_a_draw_that_bends_upward_is_put_to_the_line_of_its_height() -> None:
    curve = PowerCurve(
        coefficient=0.7,
        exponent=0.97,
        tested_range=(20.0, 200.0),
        variances=(4e-4, 9e-3, 1.5e-3),
        degrees_of_freedom=3,
    )
    joint = JointCurve(curve)
    rng = np.random.default_rng(5)
    coefficient, exponent = joint.draw(rng.random((50_000, 2)))
    level = exponent == 1.0
    assert exponent.max() == 1.0
    assert np.mean(level) == pytest.approx(joint.share_bent_upward, abs=0.01)
    # where height and exponent are not correlated, the heights do not know the exponents
    height = coefficient * np.exp(joint.log_ratio * exponent)
    np.testing.assert_allclose(np.median(height[level]), np.median(height), rtol=0.01)
