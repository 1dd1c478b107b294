"""A strength as two numbers that belong together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Numeric", "Pair"]

Numeric = float | NDArray[np.float64]
"""A scalar or an array that broadcasts with the other fields."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Cohesion [kPa, or N where no area is known] and friction angle [deg]."""

    cohesion: Numeric
    friction_angle: Numeric

    def shear_strength(self, normal_stress: Numeric) -> Numeric:
        """Shear strength at a normal stress, both in the unit of the cohesion."""
        return self.cohesion + np.asarray(normal_stress) * np.tan(np.radians(self.friction_angle))
