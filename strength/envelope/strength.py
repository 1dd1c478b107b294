"""The strength a soil is given in a check: c′, φ′ and what is known of their origin.

τ_f = c′ + σ′ tan φ′, the Mohr-Coulomb criterion in effective stress; or a power curve
through the origin, for which c′ and φ′ are then the chord over its tested range.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.envelope.power_curve import PowerCurve
from slipmargin.strength.errors import InputError
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Numeric, Pair
from slipmargin.strength.traced import value_of

__all__ = ["Numeric", "Strength"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength(Pair):
    """Effective strength of one soil.

    Parameters
    ----------
    cohesion
        Effective cohesion c′ [kPa], not negative.
    friction_angle
        Effective friction angle φ′ [deg], 0 to below 90; see ``of_tangent``.
    tested_range
        Lowest and highest effective normal stress of the tests behind it [kPa];
        ``None`` where it is not known.
    caveats
        Notices of the tests and the fit that every user of the strength must see.
    curve
        A curved envelope, which ``shear_strength`` then follows; see ``from_curve``.
    value
        What it is of its tests: ``stated``, ``best_fit`` or ``cautious``.
    cautious
        Of a best fit, the cautious value of the same tests; ``None`` where they give none.

    Raises
    ------
    InputError
        A negative or non-finite cohesion, an angle outside 0 to 90 deg, or a pair that is
        not the chord of the curve beside it.

    Examples
    --------
    >>> from slipmargin.strength import Strength
    >>> sand = Strength(cohesion=0.0, friction_angle=30.0)
    >>> round(float(sand.shear_strength(100.0)), 1)
    57.7
    """

    tested_range: tuple[float, float] | None = None
    caveats: tuple[Notice, ...] = ()
    curve: PowerCurve | None = None
    value: str = "stated"
    cautious: Strength | None = None

    def __post_init__(self) -> None:
        cohesion = _numbers("cohesion", self.cohesion)
        if not np.all(np.isfinite(cohesion) & (cohesion >= 0.0)):
            raise InputError("cohesion", self.cohesion, "allowed: from 0 kPa upward")
        angle = _numbers("friction_angle", self.friction_angle)
        if not np.all((angle >= 0.0) & (angle < 90.0)):
            raise InputError(
                "friction_angle",
                self.friction_angle,
                "allowed: from 0 to below 90 deg",
            )
        if self.curve is not None:
            # a pair changed beside an unchanged curve would change nothing on a plane, silently
            chord = self.curve.chord
            for name, given, wanted in (
                ("cohesion", cohesion, chord.cohesion),
                ("friction_angle", angle, chord.friction_angle),
            ):
                if not np.all(given == wanted):
                    raise InputError(
                        name,
                        getattr(self, name),
                        "the strength is a power curve and its pair follows from it; "
                        'use envelope = "line" to vary cohesion or friction angle',
                    )

    @classmethod
    def from_curve(cls, curve: PowerCurve, caveats: tuple[Notice, ...] = ()) -> Strength:
        """Strength along a curve.

        Cohesion and friction angle are the chord of the curve over its tested range: not
        above the curve there, and above it at lower stresses.
        """
        return cls.of_pair(
            curve.chord, tested_range=curve.tested_range, caveats=caveats, curve=curve
        )

    @classmethod
    def of_pair(cls, pair: Pair, **others: Any) -> Strength:
        """The strength of a pair; ``others`` are further fields."""
        return cls(pair.cohesion, pair.friction_angle, known_tangent=pair.known_tangent, **others)

    @classmethod
    def of_tangent(cls, cohesion: Numeric, tan_friction_angle: Numeric, **others: Any) -> Strength:
        """The strength of a line: its intercept [kPa] and its slope, tan φ′ [-].

        Examples
        --------
        >>> from slipmargin.strength import Strength
        >>> round(float(Strength.of_tangent(cohesion=0.0, tan_friction_angle=1.0).friction_angle))
        45
        """
        return cls.of_pair(Pair.of_tangent(cohesion, tan_friction_angle), **others)

    def with_pair(self, pair: Pair, **others: Any) -> Strength:
        """The same along the straight line of another pair; ``others`` are further changes."""
        return dataclasses.replace(
            self,
            cohesion=pair.cohesion,
            friction_angle=pair.friction_angle,
            known_tangent=pair.known_tangent,
            curve=None,
            **others,
        )

    def shear_strength(self, normal_stress: Numeric) -> Numeric:
        """Shear strength [kPa] at an effective normal stress [kPa]."""
        if self.curve is not None:
            return self.curve.shear_strength(normal_stress)
        return Pair.shear_strength(self, normal_stress)

    def tangent_at(self, normal_stress: Numeric) -> Pair:
        """The pair that holds at an effective normal stress [kPa].

        Raises
        ------
        InputError
            A stress not above zero, where the strength is a curve.
        """
        if self.curve is not None:
            return self.curve.tangent_at(normal_stress)
        return Pair(self.cohesion, self.friction_angle, known_tangent=self.known_tangent)


def _numbers(place: str, value: Numeric) -> NDArray[np.float64]:
    try:
        return np.asarray(value_of(value), dtype=float)
    except (TypeError, ValueError):
        raise InputError(place, value, "give a number, or an array of numbers") from None
