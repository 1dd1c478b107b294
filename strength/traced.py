"""Numbers that remember how they came about, so that a kernel prints its own working.

A kernel is plain numpy on its inputs. Run once more on traced numbers, it gives the same
values, each with the operations behind it; written out, these are the equations of the case
at hand. ``np.where`` takes the branch that holds, a guard that does nothing and a term that
is zero drop out, and a number that has a symbol stands by it. Angles are written in degrees,
as on a pocket calculator set to degrees.

A form that is stable but not the textbook's stands in a small function of its own, which
says how it is written: :func:`written_as`.
"""

from __future__ import annotations

import copy
import dataclasses
import functools
import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any, ParamSpec, TypeVar

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from strength.working import digits

__all__ = ["Traced", "named", "reason", "traced_copy", "value_of", "written", "written_as"]

P = ParamSpec("P")
R = TypeVar("R")

_SUM, _PRODUCT, _POWER, _CLOSED = 1, 2, 3, 4
_TRIGONOMETRIC = frozenset({"sin", "cos", "tan"})
_INVERSE = {"arctan": "atan", "arcsin": "asin"}
_FUNCTIONS = {"absolute": "abs", "log": "ln", "sqrt": "sqrt", "exp": "exp"}
_COMPARED = {
    "equal": ("=", "≠"),
    "not_equal": ("≠", "="),
    "less": ("<", "≥"),
    "less_equal": ("≤", ">"),
    "greater": (">", "≤"),
    "greater_equal": ("≥", "<"),
}
_BOTH = frozenset({"bitwise_and", "bitwise_or", "logical_and", "logical_or"})
_PLAIN = frozenset({np.shape, np.ndim, np.size, np.broadcast_shapes, np.result_type})


class Traced(NDArrayOperatorsMixin):
    """A scalar, the operation that gave it, and what that was applied to.

    Parameters
    ----------
    value
        The number itself, or a truth value.
    operation
        Name of a numpy function, or a pattern with ``{0}`` and so on; empty for a number
        that was given.
    operands
        Numbers and traced numbers.
    symbol
        How it is written once it has a name.
    case
        For a bare number out of ``np.where``: the condition that gave it.
    """

    __slots__ = ("case", "operands", "operation", "symbol", "value")
    __hash__ = object.__hash__

    def __init__(
        self,
        value: Any,
        operation: str = "",
        operands: tuple[Any, ...] = (),
        symbol: str = "",
        case: Any = None,
    ) -> None:
        self.value = value
        self.operation = operation
        self.operands = operands
        self.symbol = symbol
        self.case = case

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **options: Any) -> Any:
        if method != "__call__" or options.keys() - {"dtype"}:
            return NotImplemented
        return Traced(ufunc(*map(value_of, inputs), **options), ufunc.__name__, inputs)

    def __array_function__(self, function: Any, _types: Any, args: Any, options: Any) -> Any:
        match args:
            case (condition, yes, no) if function is np.where:
                taken = yes if bool(value_of(condition)) else no
                return taken if isinstance(taken, Traced) else Traced(float(taken), case=condition)
            case (number, low, high) if function is np.clip:
                return np.minimum(np.maximum(number, low), high)
        if function in _PLAIN:
            return function(*map(value_of, args), **options)
        raise TypeError(f"numpy.{function.__name__} is not written out; use an operation that is")

    def __array__(self, *_args: Any, **_options: Any) -> Any:
        raise TypeError("a traced number was turned into a bare array in the middle of a kernel")

    def __float__(self) -> float:
        return float(self.value)

    def __bool__(self) -> bool:
        return bool(self.value)

    def __repr__(self) -> str:
        return f"Traced({self.symbol or written(self)[0]} = {digits(float(self))})"


def value_of(number: Any) -> Any:
    """The bare number."""
    return number.value if isinstance(number, Traced) else number


def written_as(pattern: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declare how a function is written where its stable form is not the textbook's.

    Parameters
    ----------
    pattern
        In the language of :mod:`strength.working`, with ``{0}``, ``{1}`` and so on in place
        of the arguments by position. ``atan`` gives degrees.
    """

    def decorate(function: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(function)
        def run(*args: P.args, **options: P.kwargs) -> R:
            if not any(isinstance(one, Traced) for one in args):
                return function(*args, **options)
            found = function(*map(value_of, args), **options)  # type: ignore[arg-type]
            return Traced(found, pattern, args)  # type: ignore[return-value]

        WRITTEN.append((run, pattern))
        return run

    return decorate


WRITTEN: list[tuple[Callable[..., Any], str]] = []
"""Every function that declares how it is written, with its pattern."""


def named(symbol: str, number: Any) -> Any:
    """The number under a symbol, by which it is written from here on; bare ones pass."""
    if isinstance(number, Traced) and not number.symbol:
        number.symbol = symbol
        inner = number.operands[0] if number.operation == "degrees" else None
        if isinstance(inner, Traced) and not inner.symbol and inner.operation != "radians":
            # the angle in radians is written by the same symbol from here on
            number.operands = (Traced(inner.value, inner.operation, inner.operands),)
            inner.operation = "radians"
            inner.operands = (Traced(number.value, symbol=symbol),)
    return number


def traced_copy(record: Any, symbols: Mapping[str, str], parts: Mapping[str, Any]) -> Any:
    """A frozen record with its numbers traced under their symbols.

    Parameters
    ----------
    record
        A dataclass; it is not checked again.
    symbols
        Field to symbol; a field that is ``None`` stays so.
    parts
        Field to what stands in its place.
    """
    found = copy.copy(record)
    changed = dict(parts)
    for name, symbol in symbols.items():
        held = getattr(record, name)
        if held is not None:
            changed[name] = Traced(float(held), symbol=symbol)
    for field in dataclasses.fields(record):
        if field.name in changed:
            object.__setattr__(found, field.name, changed[field.name])
    return found


def written(number: Any) -> tuple[str, dict[str, float]]:
    """The equation behind a number down to the next symbols, and the value of each symbol.

    Empty where the number was given, or comes from a search.
    """
    if not isinstance(number, Traced) or not number.operation:
        return "", {}
    writer = _Writer()
    text, _ = writer.behind(number)
    return text, writer.known


def reason(number: Any) -> str:
    """Why a bare number stands for a value: the condition that gave it, or nothing."""
    if not isinstance(number, Traced) or not isinstance(number.case, Traced):
        return ""
    return _Writer().condition(number.case, holds=bool(number.case))


class _Writer:
    """Writes one expression; collects the values of the symbols that stand in it."""

    def __init__(self) -> None:
        self.known: dict[str, float] = {}

    def text(self, number: Any) -> tuple[str, int]:
        """An operand, and how tightly it binds."""
        if isinstance(number, Traced):
            if number.symbol:
                self.known[number.symbol] = float(number)
                return number.symbol, _CLOSED
            if number.operation:
                return self.behind(number)
        return self._constant(float(value_of(number)))

    def condition(self, number: Any, *, holds: bool) -> str:
        """A condition in words, as it turned out; empty where it has none."""
        if not isinstance(number, Traced):
            return ""
        operands = number.operands
        if number.operation in _BOTH:
            joined = number.operation in ("bitwise_and", "logical_and")
            # the parts that made it turn out so
            found = [
                self.condition(one, holds=holds)
                for one in operands
                if bool(value_of(one)) == holds or joined == holds
            ]
            return " and ".join(filter(None, found)) if joined == holds else (found or [""])[0]
        if number.operation not in _COMPARED:
            return ""
        sign = _COMPARED[number.operation][0 if holds else 1]
        left, right = (self.text(one)[0] for one in operands)
        return f"{left} {sign} {right}"

    def _constant(self, value: float) -> tuple[str, int]:
        if value == math.pi:
            self.known["π"] = math.pi
            return "π", _CLOSED
        text = digits(value)
        return (text, _CLOSED) if value >= 0.0 and "e" not in text else (f"({text})", _CLOSED)

    def behind(self, number: Traced) -> tuple[str, int]:
        """What gave a number."""
        operation, operands = number.operation, number.operands
        if "{" in operation:
            return self._pattern(operation, operands)
        if operation in _TRIGONOMETRIC:
            return f"{operation}({self.angle(operands[0])[0]})", _CLOSED
        if operation in ("arctan", "arcsin", "arctan2", "radians"):
            text, binds = self.angle(number)
            return f"π / 180 * {_held(text, binds, _PRODUCT + 1)}", _PRODUCT
        if operation == "degrees":
            return self.angle(operands[0])
        if operation in _FUNCTIONS:
            return f"{_FUNCTIONS[operation]}({self.text(operands[0])[0]})", _CLOSED
        match operation, operands:
            case "negative", (one,):
                return f"-{_held(*self.text(one), _PRODUCT)}", _SUM
            case "positive", (one,):
                return self.text(one)
            case "square", (one,):
                return self._power(one, 2.0)
            case "power" | "float_power", (base, exponent):
                return self._power(base, exponent)
            case ("add" | "subtract"), (left, right):
                return self._sum(operation, left, right, self.text)
            case "multiply", (left, right):
                return self._product(left, right, self.text)
            case ("divide" | "true_divide"), (left, right):
                return self._quotient(left, right, self.text)
            case ("maximum" | "minimum"), (left, right):
                return self._limited(number, operation, left, right)
        raise TypeError(f"{operation} is not written out")

    def _pattern(self, pattern: str, operands: Iterable[Any]) -> tuple[str, int]:
        texts = [_held(*self.text(one), _CLOSED) for one in operands]
        text = pattern.format(*texts)
        for name in _TRIGONOMETRIC:
            text = _without(text, f"{name}(atan(tan(", name)
        return text, _SUM

    def angle(self, number: Any) -> tuple[str, int]:
        """An angle that is held in radians, written in degrees."""
        if isinstance(number, Traced) and number.operation:
            operation, operands = number.operation, number.operands
            match operation, operands:
                case "radians", (one,):
                    return self.text(one)
                case ("arctan" | "arcsin"), (one,):
                    inner = one.operands[0] if isinstance(one, Traced) and one.operands else None
                    if operation == "arctan" and inner is not None and one.operation == "tan":
                        return self.angle(inner)
                    return f"{_INVERSE[operation]}({self.text(one)[0]})", _CLOSED
                case "arctan2", (top, bottom):
                    text, _ = self._quotient(top, bottom, self.text)
                    return f"atan({text})", _CLOSED
                case ("add" | "subtract"), (left, right):
                    return self._sum(operation, left, right, self.angle)
                case "multiply", (left, right):
                    if isinstance(left, Traced):
                        return self._product(left, right, self.angle, self.text)
                    return self._product(left, right, self.text, self.angle)
                case ("divide" | "true_divide"), (left, right):
                    return self._quotient(left, right, self.angle, self.text)
                case "negative", (one,):
                    return f"-{_held(*self.angle(one), _PRODUCT)}", _SUM
                case ("maximum" | "minimum"), (left, right):
                    return self._limited(number, operation, left, right, self.angle)
            text, binds = self.text(number)
            return f"180 / π * {_held(text, binds, _PRODUCT + 1)}", _PRODUCT
        return self._constant(math.degrees(float(value_of(number))))

    def _sum(self, operation: str, left: Any, right: Any, write: Any) -> tuple[str, int]:
        # two terms without a value say more than one that is left
        if float(value_of(right)) == 0.0 and float(value_of(left)) != 0.0:
            return write(left)
        if float(value_of(left)) == 0.0 and (
            float(value_of(right)) != 0.0 or not isinstance(left, Traced)
        ):
            if operation == "add":
                return write(right)
            return f"-{_held(*write(right), _PRODUCT)}", _SUM
        before, after = write(left)[0], write(right)
        if operation == "add":
            text = after[0]
            if text.startswith("-"):
                return f"{before} - {text[1:]}", _SUM
            return f"{before} + {text}", _SUM
        return f"{before} - {_held(*after, _PRODUCT)}", _SUM

    def _product(
        self, left: Any, right: Any, write: Any, write_right: Any = None
    ) -> tuple[str, int]:
        write_right = write_right or write
        for one, other, way in ((left, right, write_right), (right, left, write)):
            if not isinstance(one, Traced) or not (one.symbol or one.operation):
                if float(value_of(one)) == 1.0:
                    return way(other)
                if float(value_of(one)) == 0.5:
                    return f"{_held(*way(other), _PRODUCT)} / 2", _PRODUCT
        before, after = write(left), write_right(right)
        return f"{_held(*before, _PRODUCT)} * {_held(*after, _PRODUCT)}", _PRODUCT

    def _quotient(
        self, left: Any, right: Any, write: Any, write_right: Any = None
    ) -> tuple[str, int]:
        if not isinstance(right, Traced) and float(right) == 1.0:
            return write(left)
        before, after = write(left), (write_right or write)(right)
        return f"{_held(*before, _PRODUCT)} / {_held(*after, _PRODUCT + 1)}", _PRODUCT

    def _power(self, base: Any, exponent: Any) -> tuple[str, int]:
        above, binds = self.text(exponent)
        return f"{_held(*self.text(base), _CLOSED)}^{_held(above, binds, _CLOSED)}", _POWER

    def _limited(
        self, number: Traced, operation: str, left: Any, right: Any, write: Any = None
    ) -> tuple[str, int]:
        """The larger or the smaller; a bare limit that does nothing is not written."""
        write = write or self.text
        for one, other in ((left, right), (right, left)):
            bare = not isinstance(other, Traced) or not (other.symbol or other.operation)
            if bare and value_of(one) == number.value and value_of(other) != number.value:
                return write(one)
        name = operation[:3]
        return f"{name}({write(left)[0]}, {write(right)[0]})", _CLOSED


def _held(text: str, binds: int, least: int) -> str:
    """In parentheses where it binds less than its place asks for."""
    return text if binds >= least else f"({text})"


def _without(text: str, opening: str, name: str) -> str:
    """``name(atan(tan(x)))`` as ``name(x)``, wherever it stands."""
    while (start := text.find(opening)) >= 0:
        inner = start + len(opening)
        depth, end = 1, inner
        while depth:
            depth += {"(": 1, ")": -1}.get(text[end], 0)
            end += 1
        text = f"{text[:start]}{name}({text[inner : end - 1]}){text[end + 2 :]}"
    return text
