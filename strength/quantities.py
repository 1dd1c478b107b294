"""Quantities as people write them: text with a unit in, numbers out, and nothing guessed.

Inside the program stresses are kPa, unit weights kN/m³, lengths m, angles deg; forces on a
specimen are N. A quantity without a unit, or with one of another kind, is refused. A mass
where a force is meant is taken as its weight, and said so.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

from slipmargin.strength.errors import InputError
from slipmargin.strength.notice import Notice

__all__ = [
    "DIMENSIONS",
    "LARGEST",
    "NUMBER",
    "STANDARD_GRAVITY",
    "Parsed",
    "parse",
    "unit_factor",
]

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s²], by definition (CGPM 1901)."""

LARGEST, SMALLEST = 1e9, 1e-9
"""Sizes [in the program's unit] between which any quantity of the ground lies, or is zero."""

_BASE = ("m", "s", "g", "deg", "div")

_UNITS = {
    "metre meter": "1 m",
    "second sec": "1 s",
    "gram": "1 g",
    "degree": "1 deg",
    "division": "1 div",
    "rad radian": f"{180.0 / math.pi} deg",
    "mm millimetre millimeter": "0.001 m",
    "cm centimetre centimeter": "0.01 m",
    "in inch": "0.0254 m",
    "ft foot feet": "0.3048 m",
    "min minute": "60 s",
    "h hour hr": "60 min",
    "d day": "24 h",
    "t tonne": "1000 kg",
    "lb lbm pound": "453.59237 g",
    "N newton": "1 kg*m/s^2",
    "Pa pascal": "1 N/m^2",
    "bar": "100 kPa",
    "gf gram_force": "0.00980665 N",
    "tf tonnef tonf_metric tonne_force": "1000 kgf",
    "lbf pound_force": "4.4482216152605 N",
    "kip": "1000 lbf",
    "tonf tonf_short ton_force": "2000 lbf",
    "pcf": "1 lbf/ft^3",
    "kcf": "1 kip/ft^3",
    "psf": "1 lbf/ft^2",
    "ksf": "1 kip/ft^2",
    "tsf": "1 tonf/ft^2",
    "psi": "1 lbf/in^2",
    "ksi": "1 kip/in^2",
}
"""Names of units, each with its size in others."""

_DEFINED = {name: size for names, size in _UNITS.items() for name in names.split()}
_PREFIXES = {"kilo": 1000, "mega": 10**6, "k": 1000, "M": 10**6}
_SPELLINGS = {name.lower(): name for name in (*_BASE, *_DEFINED, "kPa", "MPa", "kN", "kg")}
"""Units as they are spelt, by their letters in lower case."""


@dataclass(frozen=True, slots=True)
class _Dimension:
    """A kind of quantity; ``mass`` is what stands for its force where a mass is given."""

    canonical: str
    meaning: str
    examples: str
    mass: str = ""

    @property
    def wanted(self) -> str:
        return f"give {self.meaning} with its unit, such as {self.examples}"


DIMENSIONS: dict[str, _Dimension] = {
    "length": _Dimension("m", "a length", '"2.4 m", "8 ft"'),
    "displacement": _Dimension("mm", "a length", '"1.2 mm", "0.05 in"'),
    "area": _Dimension("mm^2", "an area", '"36 cm^2"'),
    "angle": _Dimension("deg", "an angle", '"30 deg", "0.52 rad"'),
    "ground_angle": _Dimension("deg", "an angle", '"27 deg", "1V:2H", "2H:1V", "50 %"'),
    "stress": _Dimension("kPa", "a stress", '"100 kPa", "2000 psf"', "mass on an area"),
    "force": _Dimension("N", "a force", '"350 N", "350 gf", "80 lbf"', "mass"),
    "force_per_length": _Dimension("kN/m", "a force per length", '"50 kN/m"', "mass"),
    "unit_weight": _Dimension(
        "kN/m^3", "a unit weight", '"18.5 kN/m^3", "118 pcf"', "mass density"
    ),
    "time": _Dimension("min", "a time", '"12 min", "2 h"'),
    "divisions": _Dimension("div", "a reading in divisions", '"12 div"'),
    "ring_constant": _Dimension("N/div", "a force per division", '"1.85 N/div"', "mass"),
    "rate": _Dimension("mm/min", "a rate of displacement", '"0.05 mm/min"'),
    "velocity": _Dimension("m/s", "a velocity", '"0.4 m/s", "16 in/s"'),
}
"""Kinds of quantity, with the unit each stands in inside the program."""

# digits from 0 to 9 alone: \d and float() take those of every script, which few readers can check
_PLAIN = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
NUMBER = re.compile(rf"[+-]?{_PLAIN}(?:[eE][+-]?[0-9]+)?")
"""A number as files write it: digits from 0 to 9, a decimal point."""

_RATIO = re.compile(rf"\s*({_PLAIN})\s*([VH])\s*:\s*({_PLAIN})\s*([VH])\s*", re.IGNORECASE)
_POWER = r"[A-Za-z_]+(?: ?(?:\^|\*\*) ?[0-9]{1,2})?"
_UNIT_TEXT = re.compile(rf"{_POWER}(?: ?[*/ ] ?{_POWER})*")  # products and quotients of powers
_FACTOR = re.compile(r"([*/ ]?) ?([A-Za-z_]+)(?: ?(?:\^|\*\*) ?([0-9]+))?")


@dataclass(frozen=True, slots=True)
class Parsed:
    """A number in the unit of its dimension, and the notice its wording earned, if any."""

    value: float
    notice: Notice | None = None


@cache
def _unit(name: str) -> tuple[Fraction, Mapping[str, int]]:
    """Size in base units, and powers of those; of a unit that is not known a ``KeyError``."""
    if name in _BASE:
        return Fraction(1), {name: 1}
    if name in _DEFINED:
        number, unit = _DEFINED[name].split()
        size, powers = _measured(unit)
        return Fraction(number) * size, powers
    for prefix, times in _PREFIXES.items():
        whole = name.removeprefix(prefix)
        if whole != name and (whole in _BASE or whole in _DEFINED):
            size, powers = _unit(whole)
            return times * size, powers
    if name.endswith("s") and len(name) > 2:  # a letter and an s may be two units
        return _unit(name[:-1])
    raise KeyError(name)


def _measured(text: str) -> tuple[Fraction, Mapping[str, int]]:
    """Size and powers of a product or quotient of powers of units."""
    size, powers = Fraction(1), Counter[str]()
    for sign, name, exponent in _FACTOR.findall(text):
        of_one, parts = _unit(name)
        times = int(exponent or 1) * (-1 if sign == "/" else 1)
        size *= of_one**times
        for base, power in parts.items():
            powers[base] += power * times
    return size, {base: power for base, power in powers.items() if power}


def _tidy(unit: str) -> str:
    text = unit.strip().replace("²", "^2").replace("³", "^3").replace("°", "deg")
    text = text.replace("·", "*")
    text = re.sub(r"\b(mm|cm|m|ft|in)([23])\b", r"\1^\2", text, flags=re.IGNORECASE)
    return re.sub(r"[A-Za-z_]+", _respelt, text)


def _respelt(word: re.Match[str]) -> str:
    """A unit with the case of its letters put right; a small m never becomes mega."""
    known = _SPELLINGS.get(word.group().lower(), word.group())
    return word.group() if known == "MPa" and word.group()[0] == "m" else known


@lru_cache(maxsize=512)
def unit_factor(unit: str, dimension: str) -> tuple[float, bool]:
    """Factor from a unit, such as ``lbf/ft^3``, to the program's own for a key of ``DIMENSIONS``.

    And whether a mass stood for a force (taken at 9.80665 m/s²). A unit that is not known or is
    of another kind is an ``InputError`` without a place.
    """
    text, kind = _tidy(unit), DIMENSIONS[dimension]
    if not _UNIT_TEXT.fullmatch(text) or len(text) > 40:
        raise InputError("", unit, kind.wanted)
    try:
        size, powers = _measured(text)
    except KeyError:
        raise InputError("", unit, f"unit not known; {kind.wanted}") from None
    own, wanted = _measured(kind.canonical)
    if powers == wanted:
        return float(size / own), False
    if kind.mass and _measured(f"{text}*m/s^2")[1] == wanted:
        return float(size * Fraction(str(STANDARD_GRAVITY)) / own), True
    raise InputError("", unit, kind.wanted)


def parse(text: object, dimension: str, place: str = "") -> Parsed:
    """Read a quantity.

    The text is a number and its unit, of a key of ``DIMENSIONS``, or a bare number for ``ratio``.
    A ``ground_angle`` may also be written as a slope: ``1V:2H``, ``2H:1V`` or ``50 %``.

    Raises
    ------
    InputError
        No unit, an unknown or wrong unit, or a number that is not finite.

    Examples
    --------
    A slope and a unit of the trade, in degrees and kN/m³:

    >>> from slipmargin.strength.quantities import parse
    >>> round(parse("1V:2H", "ground_angle").value, 2)
    26.57
    >>> round(parse("118 pcf", "unit_weight").value, 2)
    18.54
    """
    if dimension == "ratio":
        return Parsed(_ratio(text, place))
    kind = DIMENSIONS[dimension]
    wanted = kind.wanted
    if not isinstance(text, str):
        raise InputError(place, text, f"it has no unit; {wanted}")
    if dimension == "ground_angle" and (slope := _slope(text)) is not None:
        if 0.0 < abs(slope) < SMALLEST:
            raise InputError(place, text, f"it is too small to be told from zero; {wanted}")
        return Parsed(slope)
    stripped = text.strip()
    number = NUMBER.match(stripped)
    if number is None:
        foreign = any(sign.isdecimal() and not sign.isascii() for sign in text)
        digits = " in digits from 0 to 9" if foreign else ""
        raise InputError(place, text, f"it does not begin with a number{digits}; {wanted}")
    unit = stripped[number.end() :].strip()
    if not unit:
        raise InputError(place, text, f"it has no unit; {wanted}")
    if unit[0] in ",.":
        raise InputError(place, text, f"write the decimal sign as a point; {wanted}")
    try:
        factor, from_mass = unit_factor(unit, dimension)
    except InputError as error:
        raise InputError(place, text, error.allowed) from None
    value = float(number.group()) * factor
    if not abs(value) <= LARGEST:
        raise InputError(place, text, f"it is too large; {wanted}")
    if 0.0 < abs(value) < SMALLEST:
        raise InputError(place, text, f"it is too small to be told from zero; {wanted}")
    return Parsed(value, _wording_notice(text, unit, value, kind, from_mass, place))


def _ratio(value: object, place: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InputError(place, value, "give a bare number, such as 0.15")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InputError(place, value, "give a finite number")
    if abs(number) > LARGEST or 0.0 < abs(number) < SMALLEST:
        raise InputError(place, value, f"allowed: 0, or a size of {SMALLEST:g} to {LARGEST:g}")
    return number


def _slope(text: str) -> float | None:
    """Angle [deg] of a slope written as a ratio or in percent."""
    if (ratio := _RATIO.fullmatch(text)) and ratio[2].upper() != ratio[4].upper():
        first, second = float(ratio[1]), float(ratio[3])
        rise, run = (first, second) if ratio[2].upper() == "V" else (second, first)
        return math.degrees(math.atan2(rise, run))
    stripped = text.strip()
    if stripped.endswith("%") and NUMBER.fullmatch(stripped[:-1].strip()):
        return math.degrees(math.atan(float(stripped[:-1]) / 100.0))
    return None


def _wording_notice(
    text: str, unit: str, value: float, kind: _Dimension, from_mass: bool, place: str
) -> Notice | None:
    where = f"{place}: " if place else ""
    if from_mass:
        return Notice.info(
            "mass-read-as-weight",
            f"{where}{text.strip()} is a {kind.mass}; it was taken as its weight at "
            f"{STANDARD_GRAVITY} m/s², {value:.4g} {kind.canonical}.",
        )
    if re.search(r"\btonf\b", unit):
        return Notice.caution(
            "ton-taken-as-short",
            f"{where}{text.strip()}: tonf was read as the US short ton (2000 lbf). Write tf for "
            "the metric ton-force.",
        )
    return None
