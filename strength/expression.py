"""The equation behind a traced number, written out.

Of ``np.where`` the branch that holds is written; a guard that does nothing and a term that is
zero drop out, and a number that has a symbol stands by it. Angles are written in degrees, as on
a pocket calculator set to degrees.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import Any, NamedTuple

from slipmargin.strength.traced import Traced, value_of
from slipmargin.strength.working import digits

__all__ = ["reason", "written"]

_SUM, _NEGATIVE, _PRODUCT, _POWER, _CLOSED = 1, 2, 3, 4, 5
"""How tightly an operation binds."""

_TRIGONOMETRIC = frozenset({"sin", "cos", "tan"})
_INVERSE = {"arctan": "atan", "arcsin": "asin"}
_IN_RADIANS = frozenset({"radians", "arctan2", *_INVERSE})
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
            return self._pattern(number)
        if operation in _TRIGONOMETRIC:
            return self._trigonometric(operation, operands[0])
        if operation in _IN_RADIANS:
            return _Piece(f"π / 180 * {self.angle(number).held(_PRODUCT + 1)}", _PRODUCT)
        if operation == "degrees":
            return self.angle(operands[0])
        if operation in _FUNCTIONS:
            return _Piece(f"{_FUNCTIONS[operation]}({self.text(operands[0]).text})")
        if operation in ("power", "square"):
            base, exponent = (*operands, 2.0)[:2]
            above = self.text(exponent).held(_CLOSED)
            return _Piece(f"{self.text(base).held(_CLOSED)}^{above}", _POWER)
        return _combined(number, self.text, self.text)

    def _trigonometric(self, name: str, angle: Any) -> _Piece:
        if name == "tan" and (ratio := _ratio_of(angle)) is not None:
            return self.text(ratio)
        turned = self.angle(angle)
        even = name == "cos" and turned.binds == _NEGATIVE
        return _Piece(f"{name}({turned.text[1:] if even else turned.text})")

    def _pattern(self, number: Traced) -> _Piece:
        text = number.operation.format(*(self.text(one).held(_CLOSED) for one in number.operands))
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
            return self._angle_of(*operands)
        if operation in _INVERSE:
            return _Piece(f"{_INVERSE[operation]}({self.text(first).text})")
        if operation in ("multiply", "divide"):
            # of a product, one factor is the angle: the first, unless it is a bare number
            turned = operation == "multiply" and not isinstance(first, Traced)
            ways = (self.text, self.angle) if turned else (self.angle, self.text)
            return _combined(number, *ways)
        if operation in _COMBINED:
            return _combined(number, self.angle, self.angle)
        return _Piece(f"180 / π * {self.behind(number).held(_PRODUCT + 1)}", _PRODUCT)

    def _angle_of(self, top: Any, bottom: Any) -> _Piece:
        found = f"atan({_quotient(top, bottom, self.text, self.text).text})"
        if float(value_of(bottom)) >= 0.0:
            return _Piece(found)
        return _Piece(f"{found} {'-' if float(value_of(top)) < 0.0 else '+'} 180", _SUM)

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


def _negative(one: Any, way: _Way, _: _Way) -> _Piece:
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
        return _negative(right, way_right, way_right)
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


_COMBINED: dict[str, Callable[..., _Piece]] = {
    "negative": _negative,
    "positive": lambda one, way, _: way(one),
    "add": _sum,
    "subtract": _difference,
    "multiply": _product,
    "divide": _quotient,
    "maximum": functools.partial(_limited, "max", max),
    "minimum": functools.partial(_limited, "min", min),
}
"""What writes an operation, each operand in a way of its own."""


def _combined(number: Traced, way: _Way, way_right: _Way) -> _Piece:
    if number.operation not in _COMBINED:
        raise TypeError(f"{number.operation} is not written out")
    return _COMBINED[number.operation](*number.operands, way, way_right)


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
