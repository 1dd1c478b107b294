"""Shaking as a constant horizontal force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from slipmargin.stability.fields import Amount
from slipmargin.strength import Numeric

__all__ = ["SeismicCoefficient", "ShakingInputs"]

SeismicCoefficient = Annotated[
    Numeric, Amount("ratio", "k_h", "Horizontal force over weight, outward.", low=0.0, high=1.0)
]


@dataclass(frozen=True, kw_only=True)
class ShakingInputs:
    """A pseudo-static force; scalars or arrays that broadcast."""

    __slots__ = ()

    horizontal_seismic_coefficient: SeismicCoefficient = 0.0
