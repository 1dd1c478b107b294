"""A soil as the checks see it: a strength and its weights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from slipmargin.strength import InputError, Notice, Numeric, Severity, Strength
from slipmargin.strength.errors import need
from slipmargin.strength.rare_values import USUAL_COHESION, USUAL_FRICTION_ANGLE, rare_value
from slipmargin.strength.traced import value_of

__all__ = ["Soil"]

_UNIT_WEIGHT = (13.0, 24.0)
_SATURATED = (14.0, 25.0)
"""Usual unit weights [kN/m³]: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """One soil.

    Parameters
    ----------
    strength
        Effective strength.
    unit_weight
        Unit weight above water [kN/m³].
    saturated_unit_weight
        Unit weight below water [kN/m³]; ``None`` takes ``unit_weight`` there too.
    name
        As the reader knows it.
    cohesionless
        Declared to have no cohesion.

    Raises
    ------
    InputError
        A unit weight that is not above zero.

    Examples
    --------
    >>> from slipmargin.stability import Soil
    >>> from slipmargin.strength import Strength
    >>> bank = Soil(strength=Strength(cohesion=4.0, friction_angle=31.0), unit_weight=18.5)
    >>> bank.weight_below_water
    18.5
    """

    strength: Strength
    unit_weight: Numeric
    saturated_unit_weight: Numeric | None = None
    name: str = "soil"
    cohesionless: bool = False

    def __post_init__(self) -> None:
        need("strength", self.strength, Strength, "a Strength, such as fit.strength() gives")
        for field in ("unit_weight", "saturated_unit_weight"):
            weight = getattr(self, field)
            if weight is None:
                continue
            values = np.asarray(value_of(weight), dtype=float)
            if not np.all(np.isfinite(values) & (values > 0.0)):
                raise InputError(field, weight, "a unit weight is above 0 kN/m³")

    @classmethod
    def example(
        cls, name: str = "bank", cohesion: float = 6.0, friction_angle: float = 31.0
    ) -> Soil:
        """A soil for the examples that checks give."""
        strength = Strength(cohesion=cohesion, friction_angle=friction_angle)
        return cls(name=name, strength=strength, unit_weight=18.0, saturated_unit_weight=20.0)

    @property
    def weight_below_water(self) -> Numeric:
        """Unit weight used below water [kN/m³]."""
        return (
            self.unit_weight if self.saturated_unit_weight is None else self.saturated_unit_weight
        )

    def need_heavier_than_water(self, water_unit_weight: Numeric) -> None:
        """Refuse a soil below water that would float in it.

        Raises
        ------
        InputError
            Anywhere not above ``water_unit_weight`` [kN/m³] below water.
        """
        below = self.weight_below_water
        if np.any(np.asarray(below) <= water_unit_weight):
            allowed = f"{self.name} lies below water and must be heavier than water"
            raise InputError("saturated_unit_weight", below, allowed)

    def rare_values(self) -> tuple[Notice, ...]:
        """Questions about numbers that look like a slip; arrays are left alone.

        Of a strength from tests the fit has asked already.
        """
        found = []
        strength, (least, most) = self.strength, USUAL_COHESION
        # the intercept of a line may come out as small as it likes
        usual_cohesion = (0.0 if strength.tested_range is not None else least, most)
        pair = [
            ("cohesion", strength.cohesion, "kPa", usual_cohesion),
            ("friction angle", strength.friction_angle, "deg", USUAL_FRICTION_ANGLE),
        ]
        asked = any(notice.code == "rare-value" for notice in strength.caveats)
        sizes = [] if asked else pair
        sizes.append(("unit weight", self.unit_weight, "kN/m³", _UNIT_WEIGHT))
        if self.saturated_unit_weight is not None:
            below = self.saturated_unit_weight
            sizes.append(("saturated unit weight", below, "kN/m³", _SATURATED))
            if np.ndim(below) == np.ndim(self.unit_weight) == 0 and below < self.unit_weight:
                found.append(
                    Notice.caution(
                        "saturated-lighter-than-moist",
                        f"{self.name}: the unit weight below water, {float(below):g} kN/m³, is "
                        f"less than that above it, {float(self.unit_weight):g} kN/m³. Water makes "
                        "no soil lighter.",
                    )
                )
        for what, value, unit, usual in sizes:
            if np.ndim(value) == 0:
                found += rare_value(f"{self.name}: {what}", float(value), unit, usual)
        return tuple(found)

    def saturation_notices(self, submerged: bool) -> Iterator[Notice]:
        """The notice owed when soil lies below water and no saturated weight is given."""
        if submerged and self.saturated_unit_weight is None:
            yield Notice.caution(
                "saturated-unit-weight-missing",
                f"Part of {self.name} lies below water and no saturated unit weight is given; "
                "its unit weight above water was used there.",
            )

    def undrained_notices(self) -> Iterator[Notice]:
        """The notice owed when nothing but cohesion resists."""
        if np.any(np.asarray(self.strength.friction_angle) <= 0.0):
            yield Notice.caution(
                "no-friction",
                f"{self.name}: φ′ = 0, so cohesion alone resists and pore pressure takes nothing "
                "from it. That is an undrained strength, for the time right after cutting or "
                "loading; it does not hold in the long term.",
            )

    def chord_notices(self, use: str) -> Iterator[Notice]:
        """The notice owed by what takes the chord of a curved envelope; ``use`` names it."""
        if self.strength.curve is not None:
            yield Notice.caution(
                "curved-strength-as-line",
                f"The strength of {self.name} is a curve; {use} uses its chord over the tested "
                "stresses, which overstates the strength outside them.",
            )

    def stress_range_notices(
        self, normal_stress: Numeric, where: str = "on the slip surface"
    ) -> Iterator[Notice]:
        """The notice owed when an operating stress lies outside the tested range.

        Parameters
        ----------
        normal_stress
            Effective normal stress at which the strength is used [kPa]; any shape, the
            lowest and highest finite values count.
        where
            Place of that stress, as it reads after the figures.
        """
        tested = self.strength.tested_range
        stress = np.asarray(normal_stress, dtype=float)
        stress = stress[np.isfinite(stress)]
        if tested is None or stress.size == 0:
            return
        low, high = float(stress.min()), float(stress.max())
        slack = 1e-9 * tested[1]
        beyond, most = [], max(tested[0] - low, high - tested[1])
        if low < tested[0] - slack:
            beyond.append(f"{tested[0] - low:.1f} kPa below the lowest")
        if high > tested[1] + slack:
            beyond.append(f"{high - tested[1]:.1f} kPa above the highest")
        if not beyond:
            return
        used = f"{low:.1f} kPa" if high - low < 0.05 else f"{low:.1f} to {high:.1f} kPa"
        yield Notice(
            "outside-tested-stress-range",
            Severity.CAUTION,
            f"{self.name}: effective normal stress {used} {where}, {' and '.join(beyond)} "
            f"tested ({tested[0]:.1f} to {tested[1]:.1f} kPa): an extrapolation. Envelopes "
            "bend; cohesion at low stress is the part most often overstated.",
            weight=most,
        )
