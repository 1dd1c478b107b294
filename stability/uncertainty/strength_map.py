"""Factors of safety over the plane of c′ and φ′, and the pairs that explain a failure.

The map is one call of a check with two-dimensional arrays for one soil's strength. The
line of a factor over it is found by root, at each friction angle, in the cohesion: factors
rise with cohesion, so there is at most one.

Source: back-analysis of a failed slope by the line of (c′, φ′) pairs that give a factor of
1 is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.check import Check, factors_alone, lowest_of
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.strength import InputError, Numeric

__all__ = ["factor_line", "factor_map"]

Floats = NDArray[np.float64]

_HIGHEST_COHESION = 1e5


def factor_map(
    check: Check,
    soil: str,
    cohesion: Floats,
    friction_angle: Floats,
    answers: Callable[[Check], Mapping[Any, Numeric]] = factors_alone,
) -> Mapping[Any, Floats]:
    """Factors over a grid of strengths of one soil.

    Parameters
    ----------
    check
        Any check with a factor of safety.
    soil
        Name of the soil.
    cohesion, friction_angle
        Axes of the grid [kPa], shape (m,), and [deg], shape (n,).
    answers
        What is mapped of the check; its factors by limit state by default.

    Returns
    -------
    mapping
        By limit state, or by what ``answers`` names, shape (m, n).

    Examples
    --------
    >>> import numpy as np
    >>> from slipmargin.stability.uncertainty.strength_map import factor_map
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=30.0, depth=2.0)
    >>> factors = factor_map(slope, "soil", np.array([0.0, 5.0]), np.array([30.0, 35.0]))
    >>> factors["sliding"].round(2).tolist()
    [[1.0, 1.21], [1.32, 1.53]]
    """
    c, phi = np.meshgrid(cohesion, friction_angle, indexing="ij")
    changed = with_soil_strength(check, soil, c.ravel(), phi.ravel())
    return {
        name: np.broadcast_to(np.asarray(f, dtype=float), c.size).reshape(c.shape)
        for name, f in answers(changed).items()
    }


def factor_line(
    check: Check,
    soil: str,
    friction_angle: Floats,
    level: float = 1.0,
    limit_state: str | None = None,
) -> tuple[Floats, Floats]:
    """Pairs of strength that give a factor of safety.

    Parameters
    ----------
    check
        A check whose factor rises with cohesion.
    soil
        Name of the soil.
    friction_angle
        Angles at which a cohesion is looked for [deg], shape (n,).
    level
        The factor; 1 for a slope that has failed.
    limit_state
        Which factor; the lowest of them by default.

    Returns
    -------
    cohesion, friction_angle
        [kPa] and [deg]. Angles at which no cohesion of zero or more gives the factor are
        left out.

    Raises
    ------
    InputError
        A search that did not settle.

    Examples
    --------
    The strengths that explain a slope of 35 deg that has failed, 2 m deep and dry:

    >>> import numpy as np
    >>> from slipmargin.stability.uncertainty.strength_map import factor_line
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=35.0, depth=2.0)
    >>> cohesion, friction_angle = factor_line(slope, "soil", np.array([25.0, 30.0, 35.0]))
    >>> cohesion.round(1).tolist()
    [5.7, 3.0, 0.0]
    """

    def gap(cohesion: Floats, angle: Floats) -> Floats:
        changed = with_soil_strength(check, soil, cohesion.ravel(), angle.ravel())
        others = set() if limit_state is None else {*check.limit_states} - {limit_state}
        factor = lowest_of(changed.factors_alone(leave_out={*check.SLOW, *others}))
        factor = np.broadcast_to(np.asarray(factor, dtype=float), cohesion.size)
        result: Floats = np.minimum(factor, 1e9).reshape(cohesion.shape) - level
        return result

    zero = np.zeros_like(friction_angle)
    without = gap(zero, friction_angle)
    angles = friction_angle[without <= 0.0]
    if not angles.size:
        return np.empty(0), np.empty(0)
    top = np.full_like(angles, 1.0)
    while np.any(short := gap(top, angles) < 0.0) and top.max() <= _HIGHEST_COHESION:
        top = np.where(short, 2.0 * top, top)
    usable = gap(top, angles) >= 0.0
    angles, top = angles[usable], top[usable]
    if not angles.size:
        return np.empty(0), np.empty(0)
    from scipy.optimize import elementwise  # noqa: PLC0415  (slow to load, rarely needed)

    function: Callable[..., Floats] = gap
    found = elementwise.find_root(
        function,
        (np.zeros_like(angles), top),
        args=(angles,),
        tolerances={"xatol": 1e-10, "xrtol": 1e-12},
    )
    if not np.all(found.success):
        raise InputError("strength", f"{level:g}", "no pair was found for this factor")
    return np.asarray(found.x, dtype=float), angles
