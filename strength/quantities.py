"""Quantities as people write them: text with a unit in, numbers out, and nothing guessed.

Inside the program stresses are kPa, unit weights kN/m³, lengths m, angles deg; forces on a
specimen are N. A quantity without a unit, or with one of another kind, is refused. A mass
where a force is meant is taken as its weight, and said so.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from slipmargin.strength.errors import InputError
from slipmargin.strength.notice import Notice

if TYPE_CHECKING:
    import pint

__all__ = [
    "COMMON",
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
kilo- = 1000 = k-
mega- = 1e6 = M-
metre = [length] = m = meter
second = [time] = s = sec
gram = [mass] = g
radian = [angle] = rad
division = [division] = div
degree = 0.017453292519943295 * radian = deg
millimetre = 0.001 * metre = mm = millimeter
centimetre = 0.01 * metre = cm = centimeter
inch = 0.0254 * metre = in
foot = 0.3048 * metre = ft = feet
minute = 60 * second = min
hour = 3600 * second = h = hr
day = 86400 * second = d
newton = 1000 * gram * metre / second ** 2 = N
pascal = newton / metre ** 2 = Pa
kilogram_force = 9.80665 * newton = kgf
gram_force = 0.00980665 * newton = gf
tonne_force = 9806.65 * newton = tonnef = tf = tonf_metric
pound = 453.59237 * gram = lb = lbm
pound_force = 4.4482216152605 * newton = lbf
kip = 1000 * pound_force
ton_force = 2000 * pound_force = tonf = tonf_short
tonne = 1e6 * gram = t
pcf = pound_force / foot ** 3
kcf = 1000 * pcf
psf = pound_force / foot ** 2
ksf = 1000 * psf
tsf = 2000 * psf
psi = pound_force / inch ** 2
ksi = 1000 * psi
bar = 100000 * pascal
"""


@dataclass(frozen=True, slots=True)
class _Dimension:
    canonical: str
    meaning: str
    examples: str
    mass_form: str = ""

    @property
    def wanted(self) -> str:
        return f"give {self.meaning} with its unit, such as {self.examples}"


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

COMMON: dict[str, dict[str, float]] = {
    "length": {"m": 1.0, "mm": 0.001, "cm": 0.01, "in": 0.0254, "ft": 0.3048},
    "displacement": {"mm": 1.0, "m": 1000.0, "cm": 10.0, "in": 25.4},
    "area": {"cm^2": 100.0, "mm^2": 1.0, "m^2": 1000000.0, "in^2": 645.16},
    "angle": {"deg": 1.0, "rad": 57.29577951308232},
    "ground_angle": {"deg": 1.0, "rad": 57.29577951308232},
    "stress": {
        "kPa": 1.0,
        "Pa": 0.001,
        "MPa": 1000.0,
        "kN/m^2": 1.0,
        "psf": 0.04788025898033584,
        "ksf": 47.88025898033584,
        "tsf": 95.76051796067168,
        "psi": 6.894757293168362,
        "kgf/cm^2": 98.0665,
    },
    "force": {
        "N": 1.0,
        "kN": 1000.0,
        "kgf": 9.80665,
        "gf": 0.00980665,
        "lbf": 4.4482216152605,
        "kip": 4448.2216152605,
    },
    "force_per_length": {"kN/m": 1.0, "N/m": 0.001, "lbf/ft": 0.014593902937206362},
    "unit_weight": {"kN/m^3": 1.0, "pcf": 0.1570874638462462, "lbf/ft^3": 0.1570874638462462},
    "time": {"min": 1.0, "s": 0.016666666666666666, "h": 60.0},
    "divisions": {"div": 1.0},
    "ring_constant": {"N/div": 1.0, "kgf/div": 9.80665, "lbf/div": 4.4482216152605},
    "rate": {"mm/min": 1.0, "in/min": 25.4},
    "velocity": {"m/s": 1.0, "cm/s": 0.01, "in/s": 0.0254, "ft/s": 0.3048},
}
"""Factors of the units in daily use, as pint gives them, so that it is loaded for others only."""

# digits from 0 to 9 alone: \d and float() take those of every script, which few readers can check
_PLAIN = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
NUMBER = re.compile(rf"[+-]?{_PLAIN}(?:[eE][+-]?[0-9]+)?")
"""A number as files write it: digits from 0 to 9, a decimal point."""

_RATIO = re.compile(rf"\s*({_PLAIN})\s*([VH])\s*:\s*({_PLAIN})\s*([VH])\s*", re.IGNORECASE)
_POWER = r"[A-Za-z_]+(?: ?(?:\^|\*\*) ?[0-9]{1,2})?"
_UNIT_TEXT = re.compile(rf"{_POWER}(?: ?[*/ ] ?{_POWER})*")  # products and quotients of powers


@dataclass(frozen=True, slots=True)
class Parsed:
    """A number in the unit of its dimension, and the notice its wording earned, if any."""

    value: float
    notice: Notice | None = None


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # noqa: PLC0415  (a quarter of a second, which few units are worth)

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None, cache_folder=None)
    registry.load_definitions(_UNITS.strip().splitlines())
    return registry


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
    """Factor from a unit, such as ``lbf/ft^3``, to the program's own for a key of ``DIMENSIONS``.

    And whether a mass stood for a force (taken at 9.80665 m/s²). A unit that is not known or is
    of another kind is an ``InputError`` without a place.
    """
    text = _tidy(unit)
    for spelt in (text, _respelt(text)):
        if spelt in COMMON[dimension]:
            return COMMON[dimension][spelt], False
    return _parsed_factor(unit, text, dimension)


def _parsed_factor(unit: str, text: str, dimension: str) -> tuple[float, bool]:
    kind = DIMENSIONS[dimension]
    if not _UNIT_TEXT.fullmatch(text) or len(text) > 40:
        raise InputError("", unit, kind.wanted)
    registry = _registry()
    import pint  # noqa: PLC0415

    try:
        given = registry.parse_units(_respelt(text).replace("^", "**"))
        if given.is_compatible_with(kind.canonical):
            return float(registry.Quantity(1.0, given).to(kind.canonical).magnitude), False
        if kind.mass_form and given.is_compatible_with(kind.mass_form):
            weight = registry.Quantity(STANDARD_GRAVITY, given * registry.parse_units("m/s**2"))
            return float(weight.to(kind.canonical).magnitude), True
    except (pint.PintError, ValueError, TypeError, OverflowError, AttributeError, KeyError):
        raise InputError("", unit, f"unit not known; {kind.wanted}") from None
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
