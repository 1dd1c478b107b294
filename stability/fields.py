"""Declares what a check takes and gives: symbol, unit, meaning, limits.

A declaration stands in the type of its field: ``depth: Annotated[Numeric, Amount(...)]``. It is
the only description of a field. Validation, the scenario schema, the sweep list, the JSON names,
the docstrings and the working are all read from it.
"""

from __future__ import annotations

import dataclasses
import inspect
import operator
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import KW_ONLY, dataclass, field
from functools import cache
from typing import Any, Literal, TypeVar, get_type_hints

import numpy as np

from slipmargin.strength import InputError
from slipmargin.strength.errors import need_record
from slipmargin.strength.traced import some

__all__ = [
    "UNITS",
    "USUAL_HEIGHT",
    "Amount",
    "Choice",
    "Described",
    "Flag",
    "Given",
    "Ground",
    "Part",
    "SoilField",
    "amounts",
    "changed",
    "described",
    "documented",
    "elements",
    "given",
    "given_if_any",
    "held_in",
    "json_name",
    "of",
    "refuse",
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


T = TypeVar("T")


def documented(kind: type[T]) -> type[T]:
    """A record of inputs whose docstring lists its fields as they are declared."""
    kind.__doc__ = _Docstring(kind.__doc__)  # type: ignore[assignment]
    return kind


@dataclass(frozen=True, slots=True)
class _Docstring:
    """The docstring of a record, written when it is read."""

    says: str | None

    def __get__(self, _: object, owner: type) -> str:
        text = inspect.cleandoc(self.says or "")
        head, examples, rest = text.partition("\n\nExamples\n")
        listed = "\n".join(_listed(owner))
        return f"{head}\n\nParameters\n----------\n{listed}{examples}{rest}\n"


def _listed(kind: type) -> Iterator[str]:
    for name, declaration, default in of(kind):
        told = declaration.says
        match declaration:
            case Amount(symbol=symbol, unit=unit, allowed=allowed):
                held = "Numeric"
                told = f"{symbol}{f' [{unit}]' if unit else ''}: {told} A{allowed[1:]}."
            case Choice(options=options):
                held, told = "str", f"{told} Allowed: {', '.join(options)}."
            case Flag():
                held = "bool"
            case SoilField():
                held = "Soil"
            case Part(kind=part, many=many):
                held = f"tuple of {part.__name__}" if many else part.__name__
            case _:
                held = "points"
        stands = "" if default is dataclasses.MISSING else f", default {default!r}"
        yield f"{name} : {held}{stands}"
        yield textwrap.fill(told, 88, initial_indent="    ", subsequent_indent="    ")


@dataclass(frozen=True, slots=True)
class Described:
    """A field in words: its path, and what it means and takes.

    In a path ``[]`` stands behind a list of groups of fields. ``everywhere`` marks one that is
    given once for a whole scenario.
    """

    path: str
    symbol: str
    unit: str
    says: str
    takes: str
    everywhere: bool


def described(kind: Any, before: str = "") -> Iterator[Described]:
    """Each field that a check may be given, groups followed by the fields in them."""
    for name, declaration, _ in of(kind):
        path, symbol, unit, takes = before + name, "", "", ""
        match declaration:
            case Amount():
                symbol, unit = declaration.symbol, declaration.unit
                takes = declaration.allowed.removeprefix("allowed: ")
            case Choice(options=options):
                takes = ", ".join(options)
            case Part(many=many):
                takes = "a list" if many else "a table"
            case _:
                pass
        everywhere = isinstance(declaration, Amount) and declaration.everywhere
        yield Described(path, symbol, unit, declaration.says, takes, everywhere)
        if isinstance(declaration, Part):
            inner = f"{path}[]." if declaration.many else f"{path}."
            yield from described(declaration.kind, inner)


def held_in(record: Any, prefix: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Path, declaration and value of each field that is given, groups opened."""
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        match declaration:
            case _ if held is None:
                pass
            case Part(many=True):
                for index, one in enumerate(held):
                    yield from held_in(one, f"{prefix}{name}.{index}.")
            case Part():
                yield from held_in(held, f"{prefix}{name}.")
            case _:
                yield prefix + name, declaration, held


def amounts(record: Any) -> Iterator[tuple[str, Amount, float]]:
    """Path, declaration and value of each scalar quantity that is given, groups included."""
    for path, declaration, held in held_in(record):
        if isinstance(declaration, Amount) and np.ndim(held) == 0 and not isinstance(held, str):
            yield path, declaration, float(held)


def soils(record: Any) -> Iterator[Any]:
    """Each soil that is given, groups included."""
    return (held for _, kind, held in held_in(record) if isinstance(kind, SoilField))


def changed(record: T, change: Callable[[str, Any, Any], Any]) -> T:
    """The record with what ``change`` gives for the name, declaration and value of each field that
    is given, groups opened; the record itself where nothing changes.
    """
    new: dict[str, Any] = {}
    for name, declaration, _ in of(record):
        held = getattr(record, name)
        match declaration:
            case _ if held is None:
                now = None
            case Part(many=True):
                now = tuple(changed(one, change) for one in held)
                now = now if any(map(operator.is_not, now, held)) else held
            case Part():
                now = changed(held, change)
            case _:
                now = change(name, declaration, held)
        if now is not held:
            new[name] = now
    return dataclasses.replace(record, **new) if new else record  # type: ignore[type-var]


def elements(record: Any, rows: Any, shape: tuple[int, ...]) -> Any:
    """The record with some elements of its arrays, flat; scalars and lines of points stay.

    Parameters
    ----------
    record
        A check or a group of fields, soils and strengths included.
    rows, shape
        Places in the flat array of the shape to which its arrays broadcast.
    """
    lines = {name for name, declaration, _ in of(record) if isinstance(declaration, Ground)}
    changes = {}
    for entry in dataclasses.fields(record):
        held = getattr(record, entry.name)
        if entry.name in lines or not entry.init:
            continue
        if isinstance(held, np.ndarray) and held.ndim:
            changes[entry.name] = np.broadcast_to(held, shape).reshape(-1)[rows]
        elif dataclasses.is_dataclass(held) and not isinstance(held, type):
            some = elements(held, rows, shape)
            if some is not held:
                changes[entry.name] = some
        elif isinstance(held, tuple) and held and dataclasses.is_dataclass(held[0]):
            changes[entry.name] = tuple(elements(one, rows, shape) for one in held)
    return dataclasses.replace(record, **changes) if changes else record


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


def refuse(record: Any, name: str, where: Any, allowed: str) -> None:
    """Raise ``InputError`` on a field of a record if ``where`` holds in any case."""
    if some(where):
        raise InputError(name, getattr(record, name), allowed)
