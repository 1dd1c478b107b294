"""Numbers that remember how they came about, so that a kernel prints its own working.

A kernel is plain numpy on its inputs. Run once more on traced numbers, it gives the same
values, each with the operations behind it; written out (``expression``), these are the
equations of the case at hand.

A form that is stable but not the textbook's stands in a small function of its own, which
says how it is written: :func:`written_as`.
"""

from __future__ import annotations

import copy
import dataclasses
import functools
from collections.abc import Callable, Mapping
from typing import Any, ParamSpec, TypeVar

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from slipmargin.strength.working import digits

__all__ = [
    "Traced",
    "named",
    "some",
    "sourced",
    "traced_copy",
    "value_of",
    "worded",
    "written_as",
]

P = ParamSpec("P")
R = TypeVar("R")

_PLAIN = frozenset({np.shape, np.ndim, np.size, np.broadcast_shapes, np.result_type})


class Traced(NDArrayOperatorsMixin):
    """A number or truth value, the operation that gave it, and what that was applied to.

    Parameters
    ----------
    operation
        Name of a numpy function, or a pattern with ``{0}`` and so on; empty for a number
        that was given.
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
        if ufunc is np.subtract and getattr(inputs[1], "operation", "") == "subtract":
            whole, left = inputs[1].operands
            if whole is inputs[0]:  # of a - (a - b) it is b that is left
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
        return f"Traced({self.symbol or self.operation} = {digits(float(self))})"


def value_of(number: Any) -> Any:
    """The bare number."""
    return number.value if isinstance(number, Traced) else number


def some(condition: Any) -> bool:
    """Whether a condition holds in any case."""
    return bool(np.any(value_of(condition)))


def written_as(pattern: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declare how a function is written where its stable form is not the textbook's.

    The pattern is in the language of :mod:`strength.working`, with ``{0}``, ``{1}`` and so on in
    place of the arguments by position. ``atan`` gives degrees.
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
    """A frozen record, not checked again, with the numbers of ``symbols`` traced under them.

    A field that is ``None`` stays so; ``parts`` are fields with what stands in their place.
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
