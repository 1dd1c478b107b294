"""The specimen in the shear box: its plane, and what rests on it beside the load.

Nominal stresses use the initial area. 1 N/mm² = 1000 kPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from strength.errors import InputError

__all__ = ["Specimen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen:
    """A specimen.

    Parameters
    ----------
    shape
        ``square`` or ``circle``.
    width
        Side or diameter of the shear plane [mm].
    height
        Height [mm], for the record.
    added_normal_force
        Weight of cap, hanger and soil above the plane [N], added to every normal force read.

    Raises
    ------
    InputError
        A shape that is not known, a width or height not above zero, a negative force.
    """

    shape: Literal["square", "circle"]
    width: float
    height: float | None = None
    added_normal_force: float = 0.0

    def __post_init__(self) -> None:
        if self.shape not in ("square", "circle"):
            raise InputError("shape", self.shape, "allowed: square, circle")
        name = "width" if self.shape == "square" else "diameter"
        if not (math.isfinite(self.width) and self.width > 0.0):
            raise InputError(name, self.width, "allowed: above 0 mm")
        if self.height is not None and not (math.isfinite(self.height) and self.height > 0.0):
            raise InputError("height", self.height, "allowed: above 0 mm")
        if not (math.isfinite(self.added_normal_force) and self.added_normal_force >= 0.0):
            raise InputError(
                "added_normal_force", self.added_normal_force, "allowed: from 0 N upward"
            )

    @property
    def area(self) -> float:
        """Initial area of the shear plane [mm²]."""
        return self.width**2 if self.shape == "square" else math.pi * self.width**2 / 4.0

    @property
    def kpa_per_newton(self) -> float:
        """Nominal stress of a unit force on the plane [kPa/N]."""
        return 1000.0 / self.area
