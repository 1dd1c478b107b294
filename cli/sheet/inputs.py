"""Every input of a check, so that the calculation can be redone from paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from slipmargin.cli.page.blocks import Table
from slipmargin.stability import Check, fields

__all__ = ["inputs_table"]


def inputs_table(check: Check, label: str) -> Table:
    """What a check was given, coordinates of lines and outlines included."""
    return Table(f"Inputs of: {label}", ("Input", "Symbol", "Value"), tuple(_rows(check)))


def _rows(record: Any, before: str = "", number: str = "") -> Iterator[tuple[str, str, str]]:
    for name, declaration, default in fields.of(record):
        held = getattr(record, name)
        if held is None or held is False:
            continue
        says = before + name.replace("_", " ")
        match declaration:
            case fields.Amount(symbol=symbol, unit=unit):
                # a load or an angle of zero that nobody gave says nothing
                if isinstance(held, str) or np.any(np.asarray(held) != 0.0) or default != 0.0:
                    yield says, symbol + number, _amount(held, unit)
            case fields.Choice():
                yield says, "", str(held).replace("_", " ")
            case fields.Flag():
                yield says, "", "yes"
            case fields.SoilField():
                yield says, "", held.name
            case fields.Ground():
                yield f"{says}, x and y", "", _points(held)
            case fields.Part(many=True):
                for index, one in enumerate(held, start=1):
                    yield from _rows(one, f"{says} {index}: ", f"_{index}")
            case fields.Part():
                yield from _rows(held, f"{says}: ", number)
            case _:
                pass


def _amount(held: Any, unit: str) -> str:
    if isinstance(held, str):
        return held
    values = np.atleast_1d(np.asarray(held, dtype=float))
    return ", ".join(f"{value:.6g}" for value in values) + (f" {unit}" if unit else "")


def _points(held: Any) -> str:
    return ", ".join(f"({x:.6g}, {y:.6g})" for x, y in np.asarray(held, dtype=float)) + " m"
