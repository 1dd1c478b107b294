"""One reading of some tests, as it stands beside others."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.strength.envelope.strength import Strength

__all__ = ["Interpretation"]


@dataclass(frozen=True, slots=True)
class Interpretation:
    """One reading of the tests: cohesion [kPa], friction angle [deg], and what it is.

    ``curve`` is the strength along a curved envelope, of which the pair is a tangent.
    """

    name: str
    cohesion: float
    friction_angle: float
    note: str
    curve: Strength | None = None
