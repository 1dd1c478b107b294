"""What each input moves: every input of a check swung over its plausible range.

A fitted strength is swung along its joint doubt: of all pairs on the outline whose shadows
are the intervals of c′ and φ′, the one that gives the lowest and the one that gives the
highest factor. Beside it stands what swinging c′ and φ′ one at a time would say, and both at
their worst: those corners are pairs the tests exclude, so that the swing is mostly too wide.

Where no range is given the documented default is a share of the value: see ``DEFAULT_SHARES``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stability.result import Check
from strength import InputError, Numeric

__all__ = ["DEFAULT_SHARES", "Swing", "ranked", "swing_field", "swing_strength"]

Floats = NDArray[np.float64]

DEFAULT_SHARES = {
    "unit_weight": 0.05,
    "angle": 0.05,
    "ground_angle": 0.05,
    "length": 0.10,
    "stress": 0.20,
    "force_per_length": 0.10,
    "ratio": 0.20,
}
"""Half-width of a plausible range as a share of the value, by dimension: this project's own.

The share of a unit weight spans the 3 to 7 % coefficient of variation that Duncan (2000),
J. Geotech. Geoenviron. Eng. 126(4), Table 1, gives (from memory); the others are judgement.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """How far one input moves the lowest factor of a check.

    Parameters
    ----------
    name
        The input.
    low, high
        Range it was swung over, in its own unit; for a strength the pairs in words.
    at_low, at_high
        Lowest factor at the two ends; for a strength over its region.
    default_range
        Whether the range is the documented default.
    """

    name: str
    low: str
    high: str
    at_low: float
    at_high: float
    default_range: bool = False

    @property
    def width(self) -> float:
        """How far the factor moves."""
        return abs(self.at_high - self.at_low)


def swing_field(
    name: str,
    unit: str,
    with_value: Callable[[Numeric], Check],
    low: float,
    high: float,
    *,
    default_range: bool = False,
) -> Swing | None:
    """Swing one field between two values; ``None`` where an end cannot be."""
    try:
        factors = with_value(np.array([low, high])).evaluate().lowest
    except InputError:
        return None
    ends = [float(factor) for factor in np.broadcast_to(factors, (2,))]
    if not np.all(np.isfinite(ends)):
        return None
    return Swing(
        name=name,
        low=f"{low:.4g} {unit}".strip(),
        high=f"{high:.4g} {unit}".strip(),
        at_low=ends[0],
        at_high=ends[1],
        default_range=default_range,
    )


def swing_strength(
    name: str,
    with_pair: Callable[[Numeric, Numeric], Check],
    cohesion: Floats,
    friction_angle: Floats,
) -> Swing | None:
    """Swing a strength over given pairs, such as the outline of its joint region.

    Parameters
    ----------
    name
        The strength.
    with_pair
        Gives the check with cohesion [kPa] and friction angle [deg] replaced.
    cohesion, friction_angle
        The pairs, shape (n,); those that are no strengths are left out.
    """
    kept = (cohesion >= 0.0) & (friction_angle > 0.0)
    c, phi = cohesion[kept], friction_angle[kept]
    if not c.size:
        return None
    try:
        factors = np.broadcast_to(with_pair(c, phi).evaluate().lowest, c.shape)
    except InputError:
        return None
    finite = np.where(np.isfinite(factors), factors, np.nan)
    if np.all(np.isnan(finite)):
        return None
    lowest, highest = int(np.nanargmin(finite)), int(np.nanargmax(finite))
    words = [f"c′ {c[i]:.1f} kPa, φ′ {phi[i]:.1f} deg" for i in (lowest, highest)]
    return Swing(
        name=name,
        low=words[0],
        high=words[1],
        at_low=float(finite[lowest]),
        at_high=float(finite[highest]),
    )


def ranked(swings: Sequence[Swing]) -> list[Swing]:
    """Widest first."""
    return sorted(swings, key=lambda swing: -swing.width)
