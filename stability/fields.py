"""Declares what a check takes and gives: symbol, unit, meaning, limits.

The declarations are the only description of a field. Validation, the scenario schema, the
sweep list, the JSON names and the working are all read from them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, field
from typing import Any, Literal

import numpy as np

from slipmargin.strength import InputError
from slipmargin.strength.errors import need_record

__all__ = [
    "UNITS",
    "USUAL_HEIGHT",
    "Amount",
    "Choice",
    "Flag",
    "Given",
    "Ground",
    "Part",
    "SoilField",
    "amount",
    "amounts",
    "choice",
    "flag",
    "given",
    "ground",
    "json_name",
    "of",
    "part",
    "parts",
    "soil",
    "soils",
    "validate",
]

Dimension = Literal[
    "angle",
    "ground_angle",
    "length",
    "stress",
    "unit_weight",
    "force_per_length",
    "velocity",
    "ratio",
]

UNITS: dict[str, str] = {
    "angle": "deg",
    "ground_angle": "deg",
    "length": "m",
    "stress": "kPa",
    "unit_weight": "kN/m³",
    "force_per_length": "kN/m",
    "moment_per_length": "kN·m/m",
    "velocity": "m/s",
    "ratio": "",
}
"""Unit in which each dimension stands inside the program."""

_USUAL: dict[str, tuple[float, float]] = {
    "angle": (1.0, 90.0),  # below it mostly radians
    "ground_angle": (1.0, 90.0),
    "length": (0.005, 1000.0),
    "stress": (0.1, 1000.0),
    "unit_weight": (9.0, 27.0),
    "force_per_length": (0.1, 10_000.0),
    "velocity": (0.005, 3.0),
    "ratio": (0.0, np.inf),
}
"""Sizes in use, by dimension: common practice, no source."""

USUAL_HEIGHT = (0.15, 100.0)
"""Heights of slopes and walls, and depths of slips, in use [m]: common practice, no source."""

_JSON_SUFFIX = {
    "deg": "_deg",
    "m": "_m",
    "m²": "_m2",
    "kPa": "_kpa",
    "kN/m³": "_kn_per_m3",
    "kN/m": "_kn_per_m",
    "kN·m/m": "_knm_per_m",
    "": "",
}


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity taken by a check. ``low`` and ``high`` are limits of the theory; an open
    limit is not itself allowed. ``ground_angle`` also reads as a slope ratio.
    ``everywhere`` marks a quantity that is given once for a whole scenario. ``words`` may stand
    in its place, as "full" for the depth of water in a crack. ``usual`` is the range of sizes
    in practice, where that of the dimension is too wide.
    """

    dimension: Dimension
    symbol: str
    says: str
    low: float = -np.inf
    high: float = np.inf
    open_low: bool = False
    open_high: bool = False
    everywhere: bool = False
    words: tuple[str, ...] = ()
    usual: tuple[float, float] | None = None

    @property
    def usual_range(self) -> tuple[float, float]:
        """Sizes outside of which a value is rare, mostly by a slip of unit; zero is no size."""
        return self.usual or _USUAL[self.dimension]

    @property
    def unit(self) -> str:
        """Unit inside the program."""
        return UNITS[self.dimension]

    @property
    def allowed(self) -> str:
        """The limits as a phrase."""
        return self._limits + "".join(f', or "{word}"' for word in self.words)

    @property
    def _limits(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        low, high = np.isfinite(self.low), np.isfinite(self.high)
        over = "above" if self.open_low else "from"
        upto = "below" if self.open_high else "up to"
        if low and high:
            return f"allowed: {over} {self.low:g} {upto} {self.high:g}{unit}"
        if low:
            return f"allowed: {over} {self.low:g}{unit}" + ("" if self.open_low else " upward")
        if high:
            return f"allowed: {upto} {self.high:g}{unit}"
        return f"allowed: any finite value{' in' + unit if unit else ''}"

    def check(self, name: str, value: object) -> None:
        """Raise ``InputError`` where any element lies outside the limits."""
        if isinstance(value, str):
            if value not in self.words:
                raise InputError(name, value, self.allowed)
            return
        if isinstance(value, list | tuple):
            raise InputError(name, value, "give a number, or an array of numpy")
        values = np.asarray(value, dtype=float)
        above = values > self.low if self.open_low else values >= self.low
        below = values < self.high if self.open_high else values <= self.high
        good = np.isfinite(values) & above & below
        if not np.all(good):
            first = float(values[~good].flat[0]) if values.ndim else float(values)
            raise InputError(name, f"{first:g} {self.unit}".strip(), self.allowed)


@dataclass(frozen=True, slots=True)
class Choice:
    """One word out of a few."""

    options: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Flag:
    """True or false."""

    says: str


@dataclass(frozen=True, slots=True)
class SoilField:
    """A soil, named in a scenario; ``suffix`` ends its symbols where a check has several.
    ``along_curve``: a curved envelope is followed itself, not by its chord.
    """

    says: str
    suffix: str = ""
    along_curve: bool = False


@dataclass(frozen=True, slots=True)
class Ground:
    """A line or outline of points [m], each (x, y)."""

    says: str


@dataclass(frozen=True, slots=True)
class Part:
    """A group of fields of its own; ``many`` for a list of such groups."""

    kind: type
    says: str
    many: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """A quantity that a check gives; its equation is what its kernel does.

    ``origin`` says in words where the quantity comes from if no equation gives it.
    ``hangs_on`` names symbols; where all of them are zero or not there the quantity says
    nothing and the working leaves it out. A quantity may hang on itself.
    """

    unit: str
    symbol: str
    says: str
    source: str = ""
    origin: str = ""
    hangs_on: tuple[str, ...] = ()


def _declared(declaration: object, default: Any) -> Any:
    return field(default=default, metadata={"declares": declaration})


def amount(
    dimension: Dimension,
    symbol: str,
    says: str,
    *,
    default: Any = MISSING,
    low: float = -np.inf,
    high: float = np.inf,
    above: float | None = None,
    below: float | None = None,
    everywhere: bool = False,
    words: tuple[str, ...] = (),
    usual: tuple[float, float] | None = None,
) -> Any:
    """Declare a quantity a check takes; ``above`` and ``below`` are open limits, ``words`` may
    stand in its place, and a size outside ``usual`` is asked about.
    """
    return _declared(
        Amount(
            dimension,
            symbol,
            says,
            low if above is None else above,
            high if below is None else below,
            above is not None,
            below is not None,
            everywhere,
            words,
            usual,
        ),
        default,
    )


def choice(options: tuple[str, ...], says: str, *, default: Any = MISSING) -> Any:
    """Declare a word out of a few."""
    return _declared(Choice(options, says), default)


def flag(says: str, *, default: bool) -> Any:
    """Declare a yes or no."""
    return _declared(Flag(says), default)


def soil(says: str, *, suffix: str = "", along_curve: bool = False, default: Any = MISSING) -> Any:
    """Declare a soil; ``suffix`` ends its symbols where a check has several."""
    return _declared(SoilField(says, suffix, along_curve), default)


def ground(says: str, *, default: Any = None) -> Any:
    """Declare a line of points [m]."""
    return _declared(Ground(says), default)


def part(kind: type, says: str, *, default: Any = MISSING) -> Any:
    """Declare a group of fields."""
    return _declared(Part(kind, says), default)


def parts(kind: type, says: str) -> Any:
    """Declare a list of groups of fields, none by default."""
    return _declared(Part(kind, says, many=True), ())


def given(
    unit: str,
    symbol: str,
    says: str,
    *,
    source: str = "",
    origin: str = "",
    hangs_on: tuple[str, ...] = (),
) -> Any:
    """Declare a quantity a check gives."""
    declaration = Given(unit, symbol, says, source, origin, hangs_on)
    return field(metadata={"declares": declaration})


def of(record: Any) -> Iterator[tuple[str, Any, Any]]:
    """Name, declaration and default of each declared field of a dataclass or instance."""
    for entry in dataclasses.fields(record):
        declaration = entry.metadata.get("declares")
        if declaration is not None:
            yield entry.name, declaration, entry.default


def amounts(record: Any, prefix: str = "") -> Iterator[tuple[str, Amount, float]]:
    """Path, declaration and value of each scalar quantity that is given, groups included."""
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        if held is None:
            continue
        match declaration:
            case Amount() if np.ndim(held) == 0 and not isinstance(held, str):
                yield prefix + name, declaration, float(held)
            case Part(many=True):
                for index, one in enumerate(held):
                    yield from amounts(one, f"{prefix}{name}.{index}.")
            case Part():
                yield from amounts(held, f"{prefix}{name}.")
            case _:
                pass


def soils(record: Any) -> Iterator[Any]:
    """Each soil that is given, groups included."""
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        match declaration:
            case SoilField() if held is not None:
                yield held
            case Part(many=many) if held is not None:
                for one in held if many else (held,):
                    yield from soils(one)
            case _:
                pass


def json_name(name: str, declaration: Given) -> str:
    """Name of a given quantity in JSON: its own name and its unit."""
    return name + _JSON_SUFFIX[declaration.unit]


def validate(record: Any) -> None:
    """Hold every declared field of an input record against its limits.

    Raises
    ------
    InputError
        Naming the field, what it holds and what is allowed. ``None`` passes where it is
        the default.
    """
    for name, declaration, default in of(record):
        value = getattr(record, name)
        if value is None and default is None:
            continue
        match declaration:
            case Amount():
                declaration.check(name, value)
            case Choice(options=options):
                if value not in options:
                    raise InputError(name, value, "allowed: " + ", ".join(options))
            case SoilField():
                need_record(name, value, "a Soil")
            case Part(many=many):
                for index, one in enumerate(value if many else (value,)):
                    try:
                        validate(one)
                    except InputError as error:
                        place = f"{name}[{index}]" if many else name
                        raise error.within(place) from None
            case _:
                pass
