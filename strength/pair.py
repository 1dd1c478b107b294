"""A strength as two numbers that belong together."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Numeric", "Pair"]

Numeric = float | NDArray[np.float64]
"""A scalar or an array that broadcasts with the other fields."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Cohesion [kPa, or N where no area is known] and friction angle [deg].

    ``known_tangent`` is the friction angle with its tangent, where that is what was found: it
    counts as long as the angle is that one.
    """

    cohesion: Numeric
    friction_angle: Numeric
    known_tangent: tuple[Numeric, Numeric] | None = field(
        default=None, repr=False, compare=False, kw_only=True
    )

    @classmethod
    def of_tangent(cls, cohesion: Numeric, tan_friction_angle: Numeric) -> Pair:
        """The pair of a cohesion and the tangent of the friction angle [-]."""
        angle: Numeric = np.degrees(np.arctan(tan_friction_angle))
        if type(tan_friction_angle) is float:
            angle = float(angle)
        return Pair(cohesion, angle, known_tangent=(angle, tan_friction_angle))

    @property
    def tan_friction_angle(self) -> Numeric:
        """Tangent of φ′ [-]."""
        angle, tangent = self.known_tangent or (None, 0.0)
        if angle is self.friction_angle:
            return tangent
        return np.tan(np.radians(self.friction_angle))

    def shear_strength(self, normal_stress: Numeric) -> Numeric:
        """Shear strength at a normal stress, both in the unit of the cohesion."""
        return self.cohesion + normal_stress * self.tan_friction_angle
