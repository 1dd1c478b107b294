"""What a number means, as the cell of a table."""

from __future__ import annotations

import math

import numpy as np

from slipmargin.cli.page.blocks import Cell, Verdict
from slipmargin.stability.design.result import level_text
from slipmargin.strength import Numeric

__all__ = ["level_verdict", "number_cell", "probability_text", "verdict"]


def verdict(factor: float, target: float | None) -> Verdict:
    """What a factor means against 1 and its target."""
    if math.isnan(factor):
        return Verdict("not available", "open")
    if factor < 1.0:
        return Verdict("below 1", "bad")
    if target is None:
        return Verdict("no target", "open")
    return Verdict("meets", "good") if factor >= target else Verdict("misses", "bad")


def level_verdict(found: Numeric | None) -> Cell:
    """A degree of utilisation, marked by whether it is within 1."""
    if found is None:
        return ""
    level = float(np.asarray(found))
    if math.isnan(level):
        return Verdict("not available", "open")
    shown = level_text(level)
    return Verdict(shown, "good") if level <= 1.0 else Verdict(f"{shown} over", "bad")


def probability_text(share: float | None, samples: int) -> str:
    """A sampled probability; where no sample showed it, its limit at 95 % confidence."""
    if share is None:
        return ""
    return f"{share:.2g}" if share > 0.0 else f"<{3.0 / samples:.0e}".replace("e-0", "e-")


def number_cell(value: Numeric | None, form: str = ".2f") -> str:
    """A number; a dash where it does not exist, an empty cell where none is given."""
    if value is None:
        return ""
    number = float(value)
    return "-" if math.isnan(number) else f"{number:{form}}"
