"""Typesets the equations of the working: the syntax tree of a line, then MathML.

A long line becomes several pieces that a page may break between: at the signs of a sum, and
at the bar of a fraction that is wider than a page.
"""

from __future__ import annotations

import ast
import re
from functools import lru_cache

from slipmargin.strength.working import FUNCTIONS, digits

__all__ = ["linear", "mathml"]

_WIDEST = 56
"""Signs in a line above which it is broken into pieces."""

_WORD = re.compile(r"\d[\d.]*(?:e[+-]?\d+)?|[^\W\d][\w′″]*(?:,\w+)*")
"""A number or a symbol, which may have two subscripts with a comma between them."""

_SUM, _PRODUCT, _POWER = 1, 2, 3
_SIGNS = {ast.Add: "+", ast.Sub: "−", ast.Mult: "·", ast.Div: "/"}
_FENCE = '<mo stretchy="true" fence="true" form="{}">{}</mo>'


@lru_cache(maxsize=4096)
def mathml(text: str) -> str:
    """MathML of an equation as ``strength.working`` writes it, in symbols or with its numbers, with
    or without ``SYMBOL =`` in front; pieces stand in a row.
    """
    name, equals, rest = text.rpartition(" = ")
    pieces = _Tree(rest).pieces()
    if equals:
        pieces[0] = f"{_symbol(name)}{_sign('=')}{pieces[0]}"
    return " ".join(_piece(piece) for piece in pieces)


def _piece(inner: str) -> str:
    of = 'displaystyle="true" xmlns="http://www.w3.org/1998/Math/MathML" display="inline"'
    return f"<math {of}>{_row(inner)}</math>"


def _row(inner: str) -> str:
    return f"<mrow>{inner}</mrow>"


def _sign(sign: str) -> str:
    return f"<mo>{sign}</mo>"


def _fenced(inner: str, left: str = "(", right: str = ")") -> str:
    """Between signs as high as what stands there."""
    return _row(_FENCE.format("prefix", left) + inner + _FENCE.format("postfix", right))


def linear(text: str) -> str:
    """The same on one line of plain text, with the signs of print."""
    shown = text.replace(" * ", " · ").replace("^2", "²").replace("^3", "³")
    shown = shown.replace("sqrt(", "√(").replace("sum(", "Σ(")
    return re.sub(r"(?<![\w])-|(?<= )-(?= )", "−", shown)


def _symbol(name: str) -> str:
    """A symbol with its prime and its subscript."""
    base, _, below = name.partition("_")
    primes = base.count("′")
    letters = base.replace("′", "")
    symbol = f"<mi>{letters}</mi>" if len(letters) == 1 else f"<mtext>{letters}</mtext>"
    kind = "mtext" if len(below) > 1 else "mn" if below.isdigit() else "mi"
    under, above = f"<{kind}>{below}</{kind}>", _row("<mi>′</mi>" * primes)
    if below:
        tag = "msubsup" if primes else "msub"
        return f"<{tag}>{symbol}{under}{above if primes else ''}</{tag}>"
    return f"<msup>{symbol}{above}</msup>" if primes else symbol


class _Tree:
    """The syntax tree of one line; names that Python would not take stand behind others."""

    def __init__(self, text: str) -> None:
        self.names: dict[str, str] = {}

        def stand_in(match: re.Match[str]) -> str:
            word = match.group()
            if word[0].isdigit() or word in FUNCTIONS or word == "sum":
                return word
            key = f"v{len(self.names)}"
            self.names[key] = word
            return key

        safe = _WORD.sub(stand_in, text)
        self.root = ast.parse(safe.replace("^", "**"), mode="eval").body

    def pieces(self) -> list[str]:
        """MathML in pieces that may stand on lines of their own."""
        return self._pieces(self.root)

    def _pieces(self, node: ast.expr) -> list[str]:
        if self._width(node) <= _WIDEST:
            return [self.mathml(node)]
        match node:
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub() as op, right=right):
                before, after = self._pieces(left), self._pieces(right)
                if isinstance(op, ast.Sub) and _level(right) == _SUM:
                    after = _wrapped(after)
                return [*before, _after(op) + after[0], *after[1:]]
            case ast.BinOp(left=left, op=ast.Mult() | ast.Div() as op, right=right):
                before, after = self._pieces(left), self._pieces(right)
                if _level(left) == _SUM:
                    before = _wrapped(before)
                if _level(right) == _SUM or (isinstance(op, ast.Div) and _level(right) < _POWER):
                    after = _wrapped(after)
                return [*before, _after(op) + after[0], *after[1:]]
            case ast.Call(func=ast.Name(id="sqrt" | "atan" | "ln" as name), args=[inner]):
                within = _wrapped(self._pieces(inner))
                sign = _sign("√") if name == "sqrt" else _function(name)
                return [sign + within[0], *within[1:]]
            case ast.Call(func=ast.Name(id="abs"), args=[inner]):
                return _wrapped(self._pieces(inner), "|", "|")
        return [self.mathml(node)]

    def _width(self, node: ast.expr) -> int:
        """Roughly how many signs wide a line is."""
        match node:
            case ast.Constant(value=value):
                return len(digits(float(value)))  # type: ignore[arg-type]
            case ast.Name(id=name):
                return len(self.names.get(name, name))
            case ast.BinOp(left=left, op=ast.Div(), right=right):
                return max(self._width(left), self._width(right))
            case ast.BinOp(left=left, right=right):
                return self._width(left) + self._width(right) + 2
            case ast.UnaryOp(operand=operand):
                return self._width(operand) + 1
            case ast.Call(func=ast.Name(id=name), args=args):
                return len(name) + 2 + sum(self._width(one) + 1 for one in args)
        raise AssertionError(ast.dump(node))

    def mathml(self, node: ast.expr, least: int = 0) -> str:
        """MathML of a node, in parentheses where it binds less than ``least``."""
        if _level(node) < least:
            return _fenced(self.mathml(node))
        match node:
            case ast.Constant(value=value):
                return _number(float(value))  # type: ignore[arg-type]
            case ast.Name(id=name):
                return _symbol(self.names.get(name, name))
            case ast.UnaryOp(operand=operand):
                return _sign("−") + self.mathml(operand, _PRODUCT)
            case ast.BinOp():
                return self._operation(node)
            case ast.Call(func=ast.Name(id=name), args=args):
                return self._call(name, args)
        raise AssertionError(ast.dump(node))

    def _operation(self, node: ast.BinOp) -> str:
        left, op, right = node.left, node.op, node.right
        if isinstance(op, ast.Div):
            return f"<mfrac>{_row(self.mathml(left))}{_row(self.mathml(right))}</mfrac>"
        if isinstance(op, ast.Pow):
            return self._power(left, right)
        own = _PRODUCT if isinstance(op, ast.Mult) else _SUM
        # a sum that is taken away keeps its parentheses
        after = own + 1 if isinstance(op, ast.Sub) else own
        return self.mathml(left, own) + _sign(_SIGNS[type(op)]) + self.mathml(right, after)

    def _call(self, name: str, args: list[ast.expr]) -> str:
        if name == "sqrt":
            return f"<msqrt>{_row(self.mathml(args[0]))}</msqrt>"
        if name == "abs":
            return _fenced(self.mathml(args[0]), "|", "|")
        if name == "sum":
            return _sign("∑") + self.mathml(args[0], _PRODUCT)
        return _function(name) + _fenced(_sign(",").join(self.mathml(one) for one in args))

    def _power(self, base: ast.expr, exponent: ast.expr) -> str:
        raised = self.mathml(base)
        match base:
            case ast.Call(func=ast.Name(id="sin" | "cos" | "tan" as name), args=[inner]):
                power = f"<msup>{_function(name)}{_row(self.mathml(exponent))}</msup>"
                return power + _fenced(self.mathml(inner))
            case ast.Constant():
                pass
            case ast.Name(id=name) if "′" not in self.names.get(name, name):
                pass
            case _:
                raised = _fenced(raised)
        return f"<msup>{_row(raised)}{_row(self.mathml(exponent))}</msup>"


def _level(node: ast.expr) -> int:
    """How tightly a node binds; a fraction as drawn needs no parentheses."""
    match node:
        case ast.BinOp(op=ast.Add() | ast.Sub()) | ast.UnaryOp():
            return _SUM
        case ast.Call(func=ast.Name(id="sum")):
            return _SUM
        case ast.BinOp(op=ast.Mult()):
            return _PRODUCT
    return _POWER


def _wrapped(pieces: list[str], left: str = "(", right: str = ")") -> list[str]:
    """Pieces between parentheses that do not stretch, since they stand on several lines."""
    sign = '<mo stretchy="false">{}</mo>'
    first, *rest = pieces
    *most, last = [sign.format(left) + first, *rest]
    return [*most, last + sign.format(right)]


def _after(op: ast.operator) -> str:
    """The sign at the head of a piece, which stands between it and the one before."""
    return f'<mo form="infix">{_SIGNS[type(op)]}</mo>'


def _function(name: str) -> str:
    return f"<mi>{_WRITTEN.get(name, name)}</mi>"


_WRITTEN = {"atan": "arctan", "asin": "arcsin"}


def _number(value: float) -> str:
    mantissa, _, power = digits(value).partition("e")
    number = f"<mn>{mantissa}</mn>"
    if not power:
        return number
    sign = _sign("−") if power.startswith("-") else ""
    return (
        f"{number}{_sign('·')}<msup><mn>10</mn>{_row(f'{sign}<mn>{abs(int(power))}</mn>')}</msup>"
    )
