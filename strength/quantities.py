"""Quantities as people write them: text with a unit in, numbers out, and nothing guessed.

Inside the program stresses are kPa, unit weights kN/m³, lengths m, angles deg; forces on a
specimen are N. A quantity without a unit, or with one of another kind, is refused. A mass
where a force is meant is taken as its weight, and said so.
"""

from __future__ import annotations

import math
import re
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

_UNITS = """
m metre meter = 1 L
g gram = 1 M
s sec second = 1 T
deg degree = 1 A
div division = 1 D
rad radian = 57.29577951308232 deg
mm millimetre millimeter = 0.001 m
cm centimetre centimeter = 0.01 m
in inch = 0.0254 m
ft foot feet = 0.3048 m
min minute = 60 s
h hr hour = 3600 s
d day = 86400 s
N newton = 1000 g*m/s^2
Pa pascal = 1 N/m^2
bar = 100000 Pa
lb lbm pound = 453.59237 g
t tonne = 1000000 g
gf gram_force = 0.00980665 N
kgf kilogram_force = 9.80665 N
tf tonnef tonf_metric tonne_force = 9806.65 N
lbf pound_force = 4.4482216152605 N
kip = 1000 lbf
tonf tonf_short ton_force = 2000 lbf
pcf = 1 lbf/ft^3
kcf = 1000 pcf
psf = 1 lbf/ft^2
ksf = 1000 psf
tsf = 2000 psf
psi = 1 lbf/in^2
ksi = 1000 psi
"""
"""Units by their names, in terms of others; L, M, T, A and D are length, mass, time, angle and
divisions of a dial.
"""

_PREFIXES = {"k": 1000, "kilo": 1000, "M": 1_000_000, "mega": 1_000_000}


@dataclass(frozen=True, slots=True)
class _Dimension:
    canonical: str
    meaning: str
    examples: str
    mass_form: str = ""


DIMENSIONS: dict[str, _Dimension] = {
    "length": _Dimension("m", "a length", '"2.4 m", "8 ft"'),
    "displacement": _Dimension("mm", "a length", '"1.2 mm", "0.05 in"'),
    "area": _Dimension("mm^2", "an area", '"36 cm^2"'),
    "angle": _Dimension("deg", "an angle", '"30 deg", "0.52 rad"'),
    "ground_angle": _Dimension("deg", "an angle", '"27 deg", "1V:2H", "2H:1V", "50 %"'),
    "stress": _Dimension("kPa", "a stress", '"100 kPa", "2000 psf"', "kg/m^2"),
    "force": _Dimension("N", "a force", '"350 N", "350 gf", "80 lbf"', "g"),
    "force_per_length": _Dimension("kN/m", "a force per length", '"50 kN/m"', "kg/m"),
    "unit_weight": _Dimension("kN/m^3", "a unit weight", '"18.5 kN/m^3", "118 pcf"', "kg/m^3"),
    "time": _Dimension("min", "a time", '"12 min", "2 h"'),
    "divisions": _Dimension("div", "a reading in divisions", '"12 div"'),
    "ring_constant": _Dimension("N/div", "a force per division", '"1.85 N/div"', "kg/div"),
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
_FACTOR = re.compile(r"([*/ ]?) ?([A-Za-z_]+)(?: ?(?:\^|\*\*) ?([0-9]{1,2}))?")
_BASES = "LMTAD"


@dataclass(frozen=True, slots=True)
class Parsed:
    """A number in the unit of its dimension, and the notice its wording earned, if any."""

    value: float
    notice: Notice | None = None


@cache
def _defined() -> dict[str, tuple[str, str]]:
    """Number and unit text that each name of a unit stands for."""
    found: dict[str, tuple[str, str]] = {}
    for names, _, meaning in (line.partition(" = ") for line in _UNITS.strip().splitlines()):
        number, _, unit = meaning.partition(" ")
        found |= dict.fromkeys(names.split(), (number, unit))
    return found


_Size = tuple[Fraction, tuple[tuple[str, int], ...]]
"""A number, and the power of each of L, M, T, A and D that it counts in."""


def _named(name: str) -> _Size:
    """Size of one unit.

    Raises
    ------
    KeyError
        A name that is none.
    """
    if name in _BASES:
        return Fraction(1), ((name, 1),)
    for prefix, times in {"": 1, **_PREFIXES}.items():
        for stem in (name.removeprefix(prefix), name.removeprefix(prefix).removesuffix("s")):
            if name.startswith(prefix) and stem in _defined():
                number, unit = _defined()[stem]
                size, powers = _size(unit)
                return times * Fraction(number) * size, powers
    raise KeyError(name)


@cache
def _size(unit: str) -> _Size:
    """Size of a product or quotient of powers of units, which it must be; see ``_named``."""
    size, powers = Fraction(1), dict.fromkeys(_BASES, 0)
    for sign, name, power in _FACTOR.findall(unit):
        times = int(power or 1) * (-1 if sign == "/" else 1)
        one, of = _named(name)
        size *= one**times
        for base, count in of:
            powers[base] += count * times
    return size, tuple((base, count) for base, count in powers.items() if count)


def _tidy(unit: str) -> str:
    text = unit.strip().replace("²", "^2").replace("³", "^3").replace("°", "deg")
    text = text.replace("·", "*")
    return re.sub(r"\b(mm|cm|m|ft|in)([23])\b", r"\1^\2", text, flags=re.IGNORECASE)


_SPELLED = (
    "Pa kPa MPa N kN kgf gf lbf kip tonf tf mm cm m in ft deg rad min h s "
    "psf ksf tsf psi ksi pcf kcf bar kg g lb t div"
)
_SPELLINGS = {word.lower(): word for word in _SPELLED.split()}
"""Units as they are spelt, by their letters in lower case."""


def _respelt(text: str) -> str:
    """Unit text with the case of its letters put right; a small m never becomes mega."""

    def spelling(word: re.Match[str]) -> str:
        known = _SPELLINGS.get(word.group().lower(), word.group())
        return word.group() if known == "MPa" and word.group()[0] == "m" else known

    return re.sub(r"[A-Za-z_]+", spelling, text)


@lru_cache(maxsize=512)
def unit_factor(unit: str, dimension: str) -> tuple[float, bool]:
    """Factor from a unit to the program's own for a dimension.

    Parameters
    ----------
    unit
        Unit text, such as ``lbf/ft^3``.
    dimension
        A key of ``DIMENSIONS``.

    Returns
    -------
    factor, from_mass
        The factor, and whether a mass stood for a force (taken at 9.80665 m/s²).

    Raises
    ------
    InputError
        A unit that is not known or is of another kind; its place is empty.
    """
    kind, text = DIMENSIONS[dimension], _tidy(unit)
    wanted = f"give {kind.meaning} with its unit, such as {kind.examples}"
    if not _UNIT_TEXT.fullmatch(text) or len(text) > 40:
        raise InputError("", unit, wanted)
    try:
        try:
            size, powers = _size(text)
        except KeyError:
            size, powers = _size(_respelt(text))
        own, of = _size(kind.canonical)
        if powers == of:
            return float(size / own), False
        if kind.mass_form and powers == _size(kind.mass_form)[1]:
            weight = Fraction(str(STANDARD_GRAVITY)) * _size("m/s^2")[0]
            return float(size * weight / own), True
    except KeyError:
        raise InputError("", unit, f"unit not known; {wanted}") from None
    except OverflowError:
        raise InputError("", unit, f"it is too large; {wanted}") from None
    raise InputError("", unit, wanted)


def parse(text: object, dimension: str, place: str = "") -> Parsed:
    """Read a quantity.

    Parameters
    ----------
    text
        A number and its unit in one string; a bare number for ``ratio``.
    dimension
        A key of ``DIMENSIONS``, or ``ratio``. A ``ground_angle`` may also be written as a
        slope: ``1V:2H``, ``2H:1V`` or ``50 %``.
    place
        Where the text stands, for the message.

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
    wanted = f"give {kind.meaning} with its unit, such as {kind.examples}"
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
        what = {"2": "mass on an area", "3": "mass density"}.get(kind.mass_form[-1], "mass")
        return Notice.info(
            "mass-read-as-weight",
            f"{where}{text.strip()} is a {what}; it was taken as its weight at "
            f"{STANDARD_GRAVITY} m/s², {value:.4g} {kind.canonical}.",
        )
    if re.search(r"\btonf\b", unit):
        return Notice.caution(
            "ton-taken-as-short",
            f"{where}{text.strip()}: tonf was read as the US short ton (2000 lbf). Write tf for "
            "the metric ton-force.",
        )
    return None
