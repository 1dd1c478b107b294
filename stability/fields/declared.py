"""The declarations of what a check takes and gives: symbol, unit, meaning, limits."""

from __future__ import annotations

import dataclasses
from dataclasses import KW_ONLY, dataclass, field
from functools import cache
from typing import Any, Literal, get_type_hints

import numpy as np

from slipmargin.strength import InputError

__all__ = [
    "UNITS",
    "USUAL_HEIGHT",
    "Amount",
    "Choice",
    "Dimension",
    "Flag",
    "Given",
    "Ground",
    "Part",
    "SoilField",
    "given",
    "given_if_any",
    "json_name",
    "of",
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
    """A quantity taken by a check. ``low`` and ``high`` are limits of the theory; ``above`` and
    ``below`` are limits that are not themselves allowed. ``ground_angle`` also reads as a slope
    ratio. ``everywhere`` marks a quantity that is given once for a whole scenario. ``words`` may
    stand in its place, as "full" for the depth of water in a crack. ``usual`` is the range of
    sizes in practice, where that of the dimension is too wide.
    """

    dimension: Dimension
    symbol: str
    says: str
    _: KW_ONLY
    low: float = -np.inf
    high: float = np.inf
    above: float = -np.inf
    below: float = np.inf
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
    def ends(self) -> tuple[float, float]:
        """The limits as numbers, allowed themselves or not."""
        return max(self.low, self.above), min(self.high, self.below)

    @property
    def _limits(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        least, most = self.ends
        over = "above" if self.above >= self.low else "from"
        upto = "below" if self.below <= self.high else "up to"
        if np.isfinite(least) and np.isfinite(most):
            return f"allowed: {over} {least:g} {upto} {most:g}{unit}"
        if np.isfinite(least):
            return f"allowed: {over} {least:g}{unit}" + (" upward" if over == "from" else "")
        if np.isfinite(most):
            return f"allowed: {upto} {most:g}{unit}"
        return f"allowed: any finite value{' in' + unit if unit else ''}"

    def holds(self, values: Any) -> Any:
        """Whether each of the values is finite and within the limits."""
        low = (values >= self.low) & (values > self.above)
        return np.isfinite(values) & low & (values <= self.high) & (values < self.below)

    def check(self, name: str, value: object) -> None:
        """Raise ``InputError`` where any element lies outside the limits."""
        if isinstance(value, str):
            if value not in self.words:
                raise InputError(name, value, self.allowed)
            return
        if isinstance(value, list | tuple):
            raise InputError(name, value, "give a number, or an array of numpy")
        values = np.asarray(value, dtype=float)
        good = self.holds(values)
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


def given(unit: str, symbol: str, says: str, **further: Any) -> Any:
    """Declare a quantity a check gives. All of them are numbers, so the type need not say it."""
    return field(metadata={"declares": Given(unit, symbol, says, **further)})


def given_if_any(unit: str, symbol: str, says: str, **further: Any) -> Any:
    """Declare one that the working leaves out where it is nothing."""
    return given(unit, symbol, says, hangs_on=(symbol,), **further)


_Taken = Amount | Choice | Flag | SoilField | Ground | Part


@cache
def _declared(kind: type) -> tuple[tuple[str, Any, Any], ...]:
    own = dataclasses.fields(kind)
    found = tuple((e.name, e.metadata["declares"], e.default) for e in own if e.metadata)
    if found:
        return found
    types = get_type_hints(kind, include_extras=True)
    return tuple(
        (entry.name, one, entry.default)
        for entry in own
        for one in getattr(types[entry.name], "__metadata__", ())
        if isinstance(one, _Taken)
    )


def of(record: Any) -> tuple[tuple[str, Any, Any], ...]:
    """Name, declaration and default of each declared field of a dataclass or instance."""
    return _declared(record if isinstance(record, type) else type(record))


def json_name(name: str, declaration: Given) -> str:
    """Name of a given quantity in JSON: its own name and its unit."""
    return name + _JSON_SUFFIX[declaration.unit]
