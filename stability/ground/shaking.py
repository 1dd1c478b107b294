"""Shaking as a constant horizontal force."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.fields import amount
from slipmargin.strength import Numeric

__all__ = ["ShakingInputs"]


@dataclass(frozen=True, kw_only=True)
class ShakingInputs:
    """A pseudo-static force; scalars or arrays that broadcast."""

    __slots__ = ()

    horizontal_seismic_coefficient: Numeric = amount(
        "ratio", "k_h", "Horizontal force over weight, outward.", default=0.0, low=0.0, high=1.0
    )
