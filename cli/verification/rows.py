"""Check values as data: a file a kind of check or fit, a row an example or a table.

Every row names its source and says whether it was recalled rather than read. A number may
differ by half a unit of its last printed digit, and by more only for a reason that the row
gives. A value that does not reproduce is left out, and named with both numbers.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from importlib.resources import files
from typing import Any, Literal, get_args

__all__ = ["BASES", "Basis", "Row", "half_unit", "published_rows", "rows_of"]

Basis = Literal["printed", "chart reading", "other method", "identity", "common practice"]

BASES: tuple[str, ...] = get_args(Basis)
"""What a row rests on. ``other method``: a published number found by another method, so that
the tolerance is a band of agreement. An ``identity`` follows from the theory, and ``common
practice`` has no source: both are no published numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One example, table or data set.

    Parameters
    ----------
    kind, topic
        Kind of check or fit (the name of the file), and what of it.
    id, source
        Name of the row, and where its numbers stand.
    from_memory, from_memory_what
        Whether the numbers were recalled rather than read, and which of them.
    basis
        One of ``BASES``.
    example
        Rows that share it rest on the same example or data, and count as one.
    call
        What is asked: a kind of check, or a name of ``run.REACHED``; dots lead on to a part
        of what that gives.
    inputs
        Fields and parameters by name, in the program's own units.
    each
        Inputs of which one entry after the other is put in, where a list is no array.
    idle
        Fields that are given but do not move what is expected.
    expected
        What is published, a number or a table in which nan is not tabulated, by its place in
        the result; by the last name of ``call`` where that is the result itself.
    scale
        One of the published unit in that of the program, by place, 1 where not given.
    rtol, atol, rtol_key, atol_key, tolerance_reason
        Tolerance, relative to the published value and absolute; by place; and why it is not
        half a unit of the last printed digit.
    left_out, left_out_why
        What is published and does not reproduce, as ``expected``, and why where it is known.
    units, note
        Of the numbers; what else there is to know.
    """

    kind: str
    id: str
    source: str
    from_memory: bool
    call: str
    inputs: Mapping[str, Any]
    expected: Mapping[str, Any]
    topic: str = ""
    basis: Basis = "printed"
    example: str = ""
    from_memory_what: str = ""
    each: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    scale: Mapping[str, Any] = field(default_factory=dict)
    rtol: float = 0.0
    atol: float = 0.0
    rtol_key: Mapping[str, Any] = field(default_factory=dict)
    atol_key: Mapping[str, Any] = field(default_factory=dict)
    tolerance_reason: str = ""
    left_out: Mapping[str, Any] = field(default_factory=dict)
    left_out_why: str = ""
    units: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if self.basis not in BASES:
            raise ValueError(f"{self.id}: the basis {self.basis!r} is none of {BASES}")
        unknown = {*self.rtol_key, *self.atol_key, *self.scale} - {*self.expected, *self.left_out}
        if unknown:
            raise ValueError(f"{self.id}: a tolerance of nothing that is expected: {unknown}")
        own = self.rtol or self.atol or self.rtol_key or self.atol_key
        if own and self.basis in ("printed", "chart reading") and not self.tolerance_reason:
            raise ValueError(f"{self.id}: a tolerance of its own without a reason")

    @property
    def is_published(self) -> bool:
        """Whether it holds numbers that stand in a publication."""
        return bool(self.expected) and self.basis not in ("identity", "common practice")


def half_unit(printed: Any) -> float:
    """Half a unit of the last printed digit of a number."""
    exponent = Decimal(str(printed)).as_tuple().exponent
    return 0.5 * 10.0**exponent if isinstance(exponent, int) else float("nan")


def _plain(given: Any) -> Any:
    """The same with floats in place of decimals."""
    if isinstance(given, Mapping):
        return {key: _plain(one) for key, one in given.items()}
    if isinstance(given, list):
        return [_plain(one) for one in given]
    return float(given) if isinstance(given, Decimal) else given


def rows_of(kind: str, cases: Iterable[Mapping[str, Any]]) -> tuple[Row, ...]:
    """Rows from the tables of a file.

    ``same_as`` takes over every key of an earlier row that is not given anew, its inputs one
    by one, and with them its example: the same numbers, run another way.
    """
    known: dict[str, dict[str, Any]] = {}
    for case in cases:
        own = dict(case)
        base = known[own.pop("same_as")] if "same_as" in own else {}
        whole = {"topic": kind, "example": own["id"]} | base | own
        if "expected" in own:  # what is said by place of the other belongs to its own
            whole |= {key: own.get(key, {}) for key in ("rtol_key", "atol_key", "left_out")}
        whole["inputs"] = base.get("inputs", {}) | own.get("inputs", {})
        if own["id"] in known:
            raise ValueError(f"{kind}: two rows are named {own['id']}")
        known[own["id"]] = whole
    if not known:
        raise ValueError(f"{kind}: no rows")
    printed = ("expected", "left_out")
    return tuple(
        Row(kind=kind, **{k: v if k in printed else _plain(v) for k, v in case.items()})
        for case in known.values()
    )


def published_rows(kind: str) -> tuple[Row, ...]:
    """The rows that ship for a kind."""
    path = files("slipmargin.cli.verification") / "published" / f"{kind}.toml"
    text = path.read_text(encoding="utf-8")
    return rows_of(kind, tomllib.loads(text, parse_float=Decimal)["case"])
