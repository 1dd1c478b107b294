"""How a factor of safety is written, in every table, picture, notice and sheet.

Two decimals, cut and never rounded up: what is printed is at most the factor, so that it
meets a level of two decimals only where the factor does. The sliders of the sheet write
theirs in the same way.
"""

from __future__ import annotations

import math

import numpy as np

from slipmargin.strength import Numeric

__all__ = ["factor_shown", "factor_text"]


def factor_text(factor: float) -> str:
    """One factor of safety as it is written.

    Examples
    --------
    >>> from slipmargin.stability.factor_text import factor_text
    >>> factor_text(1.2957), factor_text(0.9999), factor_text(1.15)
    ('1.29', '0.99', '1.15')
    """
    if math.isinf(factor):
        return "no limit"
    if math.isnan(factor):
        return "-"
    text = f"{factor:.2f}"
    return text if float(text) <= factor else f"{(round(factor * 100.0) - 1) / 100.0:.2f}"


def factor_shown(factor: Numeric) -> str:
    """A factor as it is written; of an array the range and the count."""
    values = np.asarray(factor, dtype=float)
    ends = [factor_text(float(end)) for end in (values.min(), values.max())]
    return ends[0] if values.ndim == 0 else f"{ends[0]} to {ends[1]} ({values.size} values)"
