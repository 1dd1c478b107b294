"""The strength a soil is given in a check: c′, φ′ and what is known of their origin.

τ_f = c′ + σ′ tan φ′, the Mohr-Coulomb criterion in effective stress.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strength.errors import InputError
from strength.notice import Notice

__all__ = ["Numeric", "Strength"]

Numeric = float | NDArray[np.float64]
"""A scalar or an array that broadcasts with the other fields."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Effective strength of one soil.

    Parameters
    ----------
    cohesion
        Effective cohesion c′ [kPa], not negative.
    friction_angle
        Effective friction angle φ′ [deg], 0 to below 90.
    tested_range
        Lowest and highest effective normal stress of the tests behind it [kPa];
        ``None`` where it is not known.
    caveats
        Notices of the tests and the fit that every user of the strength must see.

    Raises
    ------
    InputError
        A negative or non-finite cohesion, or an angle outside 0 to 90 deg.
    """

    cohesion: Numeric
    friction_angle: Numeric
    tested_range: tuple[float, float] | None = None
    caveats: tuple[Notice, ...] = ()

    def __post_init__(self) -> None:
        cohesion = np.asarray(self.cohesion, dtype=float)
        if not np.all(np.isfinite(cohesion) & (cohesion >= 0.0)):
            raise InputError("cohesion", self.cohesion, "allowed: from 0 kPa upward")
        angle = np.asarray(self.friction_angle, dtype=float)
        if not np.all((angle >= 0.0) & (angle < 90.0)):
            raise InputError(
                "friction_angle",
                self.friction_angle,
                "allowed: from 0 to below 90 deg",
            )

    @property
    def tan_friction_angle(self) -> Numeric:
        """Tangent of φ′ [-]."""
        return np.tan(np.radians(self.friction_angle))

    def shear_strength(self, normal_stress: Numeric) -> Numeric:
        """Shear strength [kPa] at an effective normal stress [kPa]."""
        return self.cohesion + np.asarray(normal_stress) * self.tan_friction_angle
