"""Shaking as a constant horizontal force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from slipmargin.stability.fields import Amount
from slipmargin.strength import Notice, Numeric

__all__ = ["PSEUDO_STATIC", "SeismicCoefficient", "ShakingInputs"]

PSEUDO_STATIC = Notice.caution(
    "pseudo-static",
    "Shaking is a constant force here, and the ground keeps its strength: pore pressure that "
    "shaking builds up in loose wet ground, and softening, are not in the factor. A "
    "peak_acceleration gives a displacement.",
)
"""Owed where a slope is shaken."""

SeismicCoefficient = Annotated[
    Numeric, Amount("ratio", "k_h", "Horizontal force over weight, outward.", low=0.0, high=1.0)
]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class ShakingInputs:
    """A pseudo-static force; scalars or arrays that broadcast."""

    __slots__ = ()

    horizontal_seismic_coefficient: SeismicCoefficient = 0.0
