"""Quantities: definitions, an independent registry, and what is refused."""

from __future__ import annotations

import contextlib
import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from slipmargin.strength import InputError, quantities
from slipmargin.strength.quantities import COMMON, DIMENSIONS, parse, unit_factor

ALMOST = st.text("0123456789.eE+-kPaNmgfindet/^*()% ", max_size=20)

LBF, FOOT, INCH = 4.4482216152605, 0.3048, 0.0254  # N, m: by definition since 1959


@pytest.mark.parametrize(
    ("unit", "dimension", "factor"),
    [
        # by definition: the pound of 0.45359237 kg and the foot of 0.3048 m (1959),
        # standard gravity 9.80665 m/s² (CGPM 1901)
        ("Pa", "stress", 1e-3),
        ("MPa", "stress", 1e3),
        ("kN/m^2", "stress", 1.0),
        ("N/mm2", "stress", 1e3),
        ("psf", "stress", LBF / FOOT**2 / 1e3),
        ("lbf/ft^2", "stress", LBF / FOOT**2 / 1e3),
        ("ksf", "stress", LBF / FOOT**2),
        ("tsf", "stress", 2.0 * LBF / FOOT**2),
        ("psi", "stress", LBF / INCH**2 / 1e3),
        ("kgf/cm^2", "stress", 98.0665),
        ("bar", "stress", 100.0),
        ("kN", "force", 1000.0),
        ("gf", "force", 9.80665e-3),
        ("kgf", "force", 9.80665),
        ("lbf", "force", LBF),
        ("kip", "force", 1e3 * LBF),
        ("tonf", "force", 2e3 * LBF),
        ("tf", "force", 9806.65),
        ("pcf", "unit_weight", LBF / FOOT**3 / 1e3),
        ("kgf/m^3", "unit_weight", 9.80665e-3),
        ("ft", "length", FOOT),
        ("in", "displacement", 25.4),
        ("cm^2", "area", 100.0),
        ("rad", "angle", 180.0 / math.pi),
        ("h", "time", 60.0),
        ("in/min", "rate", 25.4),
    ],
)
def test_units_of_the_trade_have_their_defined_factors(
    unit: str, dimension: str, factor: float
) -> None:
    assert_allclose(unit_factor(unit, dimension), (factor, False), rtol=1e-12)


@pytest.mark.parametrize(
    ("unit", "dimension", "spelling"),
    [
        ("psi", "stress", "psi"),
        ("psf", "stress", "pound_force / foot ** 2"),
        ("ksi", "stress", "ksi"),
        ("pcf", "unit_weight", "pound_force / foot ** 3"),
        ("kip", "force", "kip"),
        ("tf", "force", "metric_ton * standard_gravity"),
        ("kN/m^3", "unit_weight", "kN / m ** 3"),
        ("lbf/ft", "force_per_length", "pound_force / foot"),
        ("kgf/cm^2", "stress", "kilogram_force / cm ** 2"),
        ("ft/s", "velocity", "foot / second"),
        ("km", "length", "km"),
        ("hours", "time", "hours"),
    ],
)
def test_factors_agree_with_the_default_registry_of_pint(
    unit: str, dimension: str, spelling: str
) -> None:
    theirs = pint.UnitRegistry().Quantity(1.0, spelling).to(DIMENSIONS[dimension].canonical)
    assert_allclose(unit_factor(unit, dimension)[0], theirs.magnitude, rtol=1e-12)


@settings(max_examples=60, deadline=None)
@given(value=st.one_of(st.floats(1e-6, 1e6), st.floats(-1e6, -1e-6), st.just(0.0)))
def test_a_number_survives_its_way_through_text(value: float) -> None:
    assert parse(f"{value!r} kPa", "stress").value == value
    assert_allclose(parse(f"{value!r} psf", "stress").value, value * 0.0478802589803358)


@pytest.mark.parametrize("text", ["1e300 kPa", "-2e9 kPa", "1e-300 kPa", "-1e-10 kPa"])
def test_a_size_that_nothing_in_the_ground_has_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"too large|too small"):
        parse(text, "stress")
    with pytest.raises(InputError, match="allowed"):
        parse(float(text.split(maxsplit=1)[0]), "ratio")


@pytest.mark.parametrize(
    ("text", "angle"),
    [
        ("1V:2H", math.degrees(math.atan(0.5))),
        ("2H:1V", math.degrees(math.atan(0.5))),
        ("1v : 1.5h", math.degrees(math.atan(1 / 1.5))),
        ("50 %", math.degrees(math.atan(0.5))),
        ("27 deg", 27.0),
        ("27°", 27.0),
    ],
)
def test_a_slope_may_be_written_as_the_trade_does(text: str, angle: float) -> None:
    assert_allclose(parse(text, "ground_angle").value, angle, rtol=1e-12)


def test_a_slope_ratio_is_no_friction_angle() -> None:
    for text in ("1V:2H", "50 %"):
        with pytest.raises(InputError):
            parse(text, "angle")


def test_a_mass_where_a_force_is_meant_becomes_its_weight_and_says_so() -> None:
    hanger = parse("500 g", "force", "added_normal_force")
    assert_allclose(hanger.value, 0.5 * 9.80665, rtol=1e-12)
    assert hanger.notice is not None
    assert hanger.notice.code == "mass-read-as-weight"
    assert "500 g" in hanger.notice.text
    density = parse("1.9 Mg/m^3", "unit_weight")
    assert_allclose(density.value, 1.9 * 9.80665, rtol=1e-12)
    assert density.notice is not None
    assert "density" in density.notice.text
    assert parse("500 gf", "force").notice is None


def test_a_short_ton_is_pointed_out() -> None:
    ton = parse("1.2 tonf", "force")
    assert ton.notice is not None
    assert ton.notice.code == "ton-taken-as-short"
    assert parse("1.2 tf", "force").notice is None


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        (18.5, "unit_weight", "no unit"),
        ("18.5", "unit_weight", "no unit"),
        ("18.5 kPa", "unit_weight", "give a unit weight"),
        ("18,5 kN/m^3", "unit_weight", "decimal sign as a point"),
        ("abc", "stress", "does not begin with a number"),
        ("5 furlongs", "length", "unit not known"),
        ("5 m; import os", "length", "length with its unit"),
        ("5 m*", "length", "length with its unit"),
        ("5 m)", "length", "length with its unit"),
        ("nan kPa", "stress", "does not begin with a number"),
        ("1e400 kPa", "stress", "too large"),
        ("5 kg", "stress", "give a stress"),
        ("30 mm", "angle", "give an angle"),
        (None, "stress", "no unit"),
        ("0.15", "ratio", "bare number"),
        (True, "ratio", "bare number"),
        (math.inf, "ratio", "finite"),
        (10**400, "ratio", "finite"),
    ],
)
def test_what_is_no_quantity_is_refused_with_its_place(
    text: object, dimension: str, message: str
) -> None:
    with pytest.raises(InputError, match=message) as caught:
        parse(text, dimension, "soils.bank.field")
    assert caught.value.place == "soils.bank.field"


@pytest.mark.parametrize("digits", ["٠١٢٣٤٥٦٧٨٩", "０１２３４５６７８９", "०१२३४५६७८९"])
def test_digits_are_those_from_0_to_9(digits: str) -> None:
    """Arabic-Indic, full-width, Devanagari: refused, not taken for their namesakes."""
    d = digits
    for text, dimension in (
        (f"{d[1]}{d[8]}.{d[5]} kN/m^3", "unit_weight"),
        (f"1{d[8]} kN/m^3", "unit_weight"),
        (f"18 kN/m^{d[3]}", "unit_weight"),
        (f"{d[1]}V:{d[2]}H", "ground_angle"),
        (f"{d[5]}{d[0]} %", "ground_angle"),
    ):
        with pytest.raises(InputError):
            parse(text, dimension)
    with pytest.raises(InputError, match="in digits from 0 to 9"):
        parse(f"{d[3]}{d[0]} deg", "angle")


def test_a_ratio_is_a_bare_number() -> None:
    assert parse(0.15, "ratio").value == 0.15
    assert parse(2, "ratio").value == 2.0


@settings(max_examples=100, deadline=None)
@given(text=st.text(max_size=60) | ALMOST, dimension=st.sampled_from([*DIMENSIONS, "ratio"]))
def test_any_text_is_read_or_refused_and_nothing_else(text: str, dimension: str) -> None:
    with contextlib.suppress(InputError):
        assert math.isfinite(parse(text, dimension).value)


def test_a_slope_too_small_to_be_one_is_refused() -> None:
    with pytest.raises(InputError, match="too small to be told from zero"):
        parse("1V:1" + "0" * 120 + "H", "ground_angle", "slope_angle")


def test_the_factors_at_hand_are_those_of_the_unit_library() -> None:
    assert set(COMMON) <= set(DIMENSIONS)
    for dimension, factors in COMMON.items():
        for unit, factor in factors.items():
            assert (factor, False) == quantities._parsed_factor(unit, unit, dimension)
            assert unit_factor(unit, dimension) == (factor, False)


def test_daily_units_are_read_without_the_unit_library() -> None:
    code = (
        "import sys; from slipmargin.strength.quantities import parse; "
        "parse('18.5 kN/m^3', 'unit_weight'); parse('36 cm²', 'area'); "
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
