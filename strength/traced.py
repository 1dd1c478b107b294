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
from typing import Any, NamedTuple, ParamSpec, TypeVar

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from slipmargin.strength.working import digits

__all__ = [
    "Traced",
    "named",
    "reason",
    "sourced",
    "traced_copy",
    "value_of",
    "worded",
    "written",
    "written_as",
]

P = ParamSpec("P")
R = TypeVar("R")

_SUM, _NEGATIVE, _PRODUCT, _POWER, _CLOSED = 1, 2, 3, 4, 5
_TRIGONOMETRIC = frozenset({"sin", "cos", "tan"})
_INVERSE = {"arctan": "atan", "arcsin": "asin"}
_IN_RADIANS = frozenset({"radians", "arctan", "arctan2", "arcsin"})
_FUNCTIONS = {"absolute": "abs", "log": "ln", "sqrt": "sqrt", "exp": "exp"}
_COMPARED = {
    "equal": ("=", "≠"),
    "not_equal": ("≠", "="),
    "less": ("<", "≥"),
    "less_equal": ("≤", ">"),
    "greater": (">", "≤"),
    "greater_equal": ("≥", "<"),
}
_JOINED = {"bitwise_and": True, "logical_and": True, "bitwise_or": False, "logical_or": False}
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
        For a bare number out of ``np.where``: the condition that gave it; for one that no
        equation gives, words: see :func:`worded`.

    ``source`` is where its equation stands in print: see :func:`sourced`.
    """

    __slots__ = ("case", "operands", "operation", "source", "symbol", "value")
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
        self.source = ""

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **options: Any) -> Any:
        if method != "__call__" or options.keys() - {"dtype"}:
            return NotImplemented
        if ufunc is np.subtract and (left := _left_of(*inputs)) is not None:
            return left
        found = Traced(ufunc(*map(value_of, inputs), **options), ufunc.__name__, inputs)
        if ufunc is np.positive:
            found.source = inputs[0].source
        return found

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
            found = function(*map(value_of, args), **options)
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


def sourced(number: R, source: str) -> R:
    """The number with the place where its equation stands in print; bare ones pass."""
    if isinstance(number, Traced) and number.operation:
        number.source = source
    return number


def worded(number: Any, words: str) -> Any:
    """A number that was given, with words that say where it comes from; bare ones pass."""
    if isinstance(number, Traced):
        number.case = words
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
    text = writer.behind(number).text
    return text, writer.known


def reason(number: Any) -> str:
    """Why a bare number stands for a value: the condition that gave it, or nothing."""
    if not isinstance(number, Traced) or not isinstance(number.case, Traced):
        return ""
    return _Writer().condition(number.case, holds=bool(number.case))


class _Piece(NamedTuple):
    """A piece of an equation, and how tightly it binds."""

    text: str
    binds: int = _CLOSED

    def held(self, least: int) -> str:
        """In parentheses where it binds less than its place asks for."""
        return self.text if self.binds >= least else f"({self.text})"


_Way = Callable[[Any], _Piece]


class _Writer:
    """Writes one expression; collects the values of the symbols that stand in it."""

    def __init__(self) -> None:
        self.known: dict[str, float] = {}
        self._unary: dict[str, Callable[[Any, _Way], _Piece]] = {
            "negative": _negative,
            "positive": lambda one, way: way(one),
            "square": lambda one, _: self._power(one, 2.0),
        }
        self._binary: dict[str, Callable[..., _Piece]] = {
            "add": _sum,
            "subtract": _difference,
            "multiply": _product,
            "divide": _quotient,
            "maximum": functools.partial(_limited, "max", max),
            "minimum": functools.partial(_limited, "min", min),
        }

    def text(self, number: Any) -> _Piece:
        """An operand."""
        if isinstance(number, Traced) and number.symbol:
            self.known[number.symbol] = float(number)
            return _Piece(number.symbol)
        if isinstance(number, Traced) and number.operation:
            return self.behind(number)
        return self._constant(float(value_of(number)))

    def _constant(self, value: float) -> _Piece:
        if value == math.pi:
            self.known["π"] = math.pi
            return _Piece("π")
        text = digits(value)
        return _Piece(text if value >= 0.0 and "e" not in text else f"({text})")

    def behind(self, number: Traced) -> _Piece:  # noqa: PLR0911 - one a form
        """What gave a number."""
        operation, operands = number.operation, number.operands
        if not operation.isidentifier():
            return self._pattern(operation, operands)
        if operation in _TRIGONOMETRIC:
            if operation == "tan" and (ratio := _ratio_of(operands[0])) is not None:
                return self.text(ratio)
            turned = self.angle(operands[0])
            even = operation == "cos" and turned.binds == _NEGATIVE
            return _Piece(f"{operation}({turned.text[1:] if even else turned.text})")
        if operation in _IN_RADIANS:
            return _Piece(f"π / 180 * {self.angle(number).held(_PRODUCT + 1)}", _PRODUCT)
        if operation == "degrees":
            return self.angle(operands[0])
        if operation in _FUNCTIONS:
            return _Piece(f"{_FUNCTIONS[operation]}({self.text(operands[0]).text})")
        if operation == "power":
            return self._power(*operands)
        return self._combined(operation, operands, self.text, self.text)

    def _combined(self, operation: str, operands: Any, left: _Way, right: _Way) -> _Piece:
        if operation in self._unary:
            return self._unary[operation](operands[0], left)
        if operation in self._binary:
            return self._binary[operation](*operands, left, right)
        raise TypeError(f"{operation} is not written out")

    def _power(self, base: Any, exponent: Any) -> _Piece:
        above = self.text(exponent).held(_CLOSED)
        return _Piece(f"{self.text(base).held(_CLOSED)}^{above}", _POWER)

    def _pattern(self, pattern: str, operands: Iterable[Any]) -> _Piece:
        text = pattern.format(*(self.text(one).held(_CLOSED) for one in operands))
        for name in _TRIGONOMETRIC:
            text = _without(text, f"{name}(atan(tan(", name)
        return _Piece(text, _binding(text))

    def angle(self, number: Any) -> _Piece:  # noqa: PLR0911 - one a form
        """An angle that is held in radians, written in degrees."""
        if not isinstance(number, Traced) or not number.operation:
            return self._constant(math.degrees(float(value_of(number))))
        operation, operands = number.operation, number.operands
        first = operands[0]
        if operation == "radians":
            return self.text(first)
        if operation == "arctan" and getattr(first, "operation", "") == "tan":
            return self.angle(first.operands[0])
        if operation == "arctan2":
            top, bottom = operands
            found = f"atan({_quotient(top, bottom, self.text, self.text).text})"
            if float(value_of(bottom)) >= 0.0:
                return _Piece(found)
            half_turn = "-" if float(value_of(top)) < 0.0 else "+"
            return _Piece(f"{found} {half_turn} 180", _SUM)
        if operation in _INVERSE:
            return _Piece(f"{_INVERSE[operation]}({self.text(first).text})")
        if operation in ("multiply", "divide"):
            # of a product, one factor is the angle: the first, unless it is a bare number
            turned = operation == "multiply" and not isinstance(first, Traced)
            ways = (self.text, self.angle) if turned else (self.angle, self.text)
            return self._combined(operation, operands, *ways)
        if operation in self._unary or operation in self._binary:
            return self._combined(operation, operands, self.angle, self.angle)
        return _Piece(f"180 / π * {self.behind(number).held(_PRODUCT + 1)}", _PRODUCT)

    def condition(self, number: Any, *, holds: bool) -> str:
        """A condition in words, as it turned out; empty where it has none."""
        if not isinstance(number, Traced):
            return ""
        operation, operands = number.operation, number.operands
        if operation in _JOINED:
            both = _JOINED[operation] == holds
            # the parts that made it turn out so
            parts = [one for one in operands if both or bool(value_of(one)) == holds]
            found = [text for one in parts if (text := self.condition(one, holds=holds))]
            return " and ".join(found if both else found[:1])
        if operation not in _COMPARED:
            return ""
        sign = _COMPARED[operation][0 if holds else 1]
        return f"{self.text(operands[0]).text} {sign} {self.text(operands[1]).text}"


def _left_of(whole: Any, part: Any) -> Any:
    """Of a - (a - b) it is b that is left; nothing of another difference."""
    if isinstance(part, Traced) and part.operation == "subtract" and part.operands[0] is whole:
        return part.operands[1]
    return None


def _bare(number: Any) -> float | None:
    """A number that stands in the kernel as it is; none of one that came about."""
    if isinstance(number, Traced) and (number.symbol or number.operation):
        return None
    return float(value_of(number))


def _ratio_of(angle: Any) -> Any:
    """What the arc tangent was taken of that an angle is, in degrees or radians."""
    while isinstance(angle, Traced) and not angle.symbol:
        if angle.operation == "arctan":
            return angle.operands[0]
        if angle.operation not in ("radians", "degrees"):
            break
        (angle,) = angle.operands
    return None


def _negative(one: Any, way: _Way) -> _Piece:
    positive = way(one)
    if positive.binds == _NEGATIVE:
        return _Piece(positive.text[1:], _PRODUCT)
    return _Piece(f"-{positive.held(_PRODUCT)}", _NEGATIVE)


def _sum(left: Any, right: Any, way: _Way, way_right: _Way) -> _Piece:
    if float(value_of(right)) == 0.0 and (float(value_of(left)) != 0.0 or _bare(left) is None):
        return way(left)
    if float(value_of(left)) == 0.0:
        return way_right(right)
    after = way_right(right).text
    sign, after = ("-", after[1:]) if after.startswith("-") else ("+", after)
    return _Piece(f"{way(left).text} {sign} {after}", _SUM)


def _difference(left: Any, right: Any, way: _Way, way_right: _Way) -> _Piece:
    if float(value_of(right)) == 0.0:
        return way(left)
    if float(value_of(left)) == 0.0:
        return _negative(right, way_right)
    after = way_right(right)
    if after.binds == _NEGATIVE:
        return _Piece(f"{way(left).text} + {after.text[1:]}", _SUM)
    return _Piece(f"{way(left).text} - {after.held(_PRODUCT)}", _SUM)


def _product(left: Any, right: Any, way: _Way, way_right: _Way) -> _Piece:
    if _bare(left) == 0.5:
        return _Piece(f"{way_right(right).held(_PRODUCT)} / 2", _PRODUCT)
    first, second = way(left), way_right(right)
    if first.text == "1":
        return second
    if second.text == "1":
        return first
    return _Piece(f"{first.held(_NEGATIVE)} * {second.held(_PRODUCT)}", _sign_of(first))


def _quotient(left: Any, right: Any, way: _Way, way_right: _Way) -> _Piece:
    first, second = way(left), way_right(right)
    if second.text == "1":
        return first
    return _Piece(f"{first.held(_NEGATIVE)} / {second.held(_PRODUCT + 1)}", _sign_of(first))


def _sign_of(first: _Piece) -> int:
    """How tightly a product binds that this begins: a minus in front of it stays in front."""
    return _NEGATIVE if first.binds == _NEGATIVE else _PRODUCT


def _limited(name: str, choose: Any, left: Any, right: Any, way: _Way, way_right: _Way) -> _Piece:
    """The larger or the smaller; a bare limit that does nothing is not written."""
    first, second = float(value_of(left)), float(value_of(right))
    if first != second:
        if _bare(right) is not None and choose(first, second) == first:
            return way(left)
        if _bare(left) is not None and choose(first, second) == second:
            return way_right(right)
    pieces = (way(left), way_right(right))
    return _Piece(f"{name}({', '.join(_among(name, piece) for piece in pieces)})")


def _among(name: str, piece: _Piece) -> str:
    """One of several in ``name(...)``, or those of its own where it is such a choice itself."""
    inner = piece.binds == _CLOSED and piece.text.startswith(f"{name}(")
    return piece.text[len(name) + 1 : -1] if inner else piece.text


def _binding(text: str) -> int:
    """How tightly a text binds, by the operations outside its parentheses."""
    depth, found = 0, _CLOSED
    for at, sign in enumerate(text):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth == 0 and sign in "+-*/^":
            binds = _POWER if sign == "^" else _PRODUCT if sign in "*/" else _SUM
            found = min(found, _SUM if at == 0 else binds)
    return found


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
