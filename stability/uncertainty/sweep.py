"""How factors of safety move with one input: a sweep and its break-even values.

A sweep is one call of the check with an array in one field. A break-even value is a root
of the factor less a level, found between two neighbours of the sweep and put back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.stability.check import Check, factors_alone, lowest_of
from slipmargin.strength import InputError, Numeric

__all__ = [
    "Sweep",
    "break_even",
    "sweep",
]

Floats = NDArray[np.float64]

_NEAR = 1e-10  # of a break-even value
_SECANTS = 8


@dataclass(frozen=True, slots=True)
class Sweep:
    """Factors over the values of one input, by limit state."""

    values: Floats
    factors_of_safety: Mapping[str, Floats]

    @property
    def lowest(self) -> Floats:
        """Lowest factor over the limit states."""
        result: Floats = np.min(np.stack(list(self.factors_of_safety.values())), axis=0)
        return result

    @property
    def elasticity(self) -> Floats:
        """D ln F / d ln x of the lowest factor, by differences; nan where it has none."""
        positive = np.isfinite(self.lowest) & (self.lowest > 0.0) & (self.values > 0.0)
        factor = np.where(positive, self.lowest, np.nan)
        value = np.where(positive, self.values, np.nan)
        if value.size < 3:
            return np.full_like(value, np.nan)
        rate = np.gradient(np.log(factor), np.log(value), edge_order=2)
        return np.asarray(rate, dtype=float)


def sweep(with_value: Callable[[Numeric], Check], values: Floats) -> Sweep:
    """Evaluate a check over the values of one input, in one call, without slow limit states.

    Parameters
    ----------
    with_value
        Gives the check with the input replaced.
    values
        Values of the input, shape (n,).

    Examples
    --------
    >>> import numpy as np
    >>> from slipmargin.stability.uncertainty.replaced import with_soil_field
    >>> from slipmargin.stability.uncertainty.sweep import sweep
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> swept = sweep(
    ...     lambda angle: with_soil_field(slope, "soil", "friction_angle", angle),
    ...     np.array([25.0, 30.0, 35.0]),
    ... )
    >>> swept.factors_of_safety["sliding"].round(2).tolist()
    [1.0, 1.24, 1.5]
    """
    check = with_value(values)
    try:
        found = factors_alone(check)
    except InputError:  # a limit state without an answer is left out here
        found = check.evaluate(leave_out=check.SLOW).factors_of_safety
    return Sweep(
        values,
        {
            name: np.broadcast_to(np.asarray(factor, dtype=float), values.shape)
            for name, factor in found.items()
        },
    )


def break_even(
    with_value: Callable[[Numeric], Check],
    values: Floats,
    factors: Floats,
    level: float,
    limit_state: str | None = None,
    *,
    factors_of: Callable[[Check], Mapping[str, Numeric]] = factors_alone,
) -> float | None:
    """Value of the input at which the factor equals a level.

    Parameters
    ----------
    with_value
        Gives the check with the input replaced.
    values, factors
        A sweep over the input, which brackets the crossing.
    level
        Factor of safety looked for.
    limit_state
        Which factor; the lowest of them by default.
    factors_of
        Gives the factors of a check, such as that of one limit state alone.

    Returns
    -------
    float or None
        The crossing; of several the first in the order of ``values``; ``None`` where the
        sweep does not cross the level.
    """

    def gap(value: float) -> float:
        factors = factors_of(with_value(value))
        factor = lowest_of(factors) if limit_state is None else factors[limit_state]
        return float(factor) - level

    above = factors - level
    usable = np.isfinite(above)
    for i in range(len(values) - 1):
        if not (usable[i] and usable[i + 1]) or above[i] * above[i + 1] > 0.0:
            continue
        low, high = float(values[i]), float(values[i + 1])
        near = _near_root(gap, values, above, i)
        if near is not None:
            return near
        at_low, at_high = gap(low), gap(high)
        if at_low == 0.0:
            return low
        if at_high == 0.0:
            return high
        if at_low * at_high < 0.0:
            return float(scipy.optimize.brentq(gap, low, high, xtol=_NEAR, rtol=1e-11))
    return None


def _near_root(
    gap: Callable[[float], float], values: Floats, above: Floats, i: int
) -> float | None:
    """Root between a value of a sweep and the next, by secants from where the sweep's own curve
    crosses; ``None`` where they leave the two values or do not settle, as at a jump.
    """
    low, high = float(values[i]), float(values[i + 1])
    beside = slice(max(i - 1, 0), i + 3)
    x, y = values[beside], above[beside]
    steps = np.diff(y)
    if not (np.all(steps > 0.0) or np.all(steps < 0.0)):
        x, y = values[i : i + 2], above[i : i + 2]
        steps = np.diff(y)
    if not np.all(np.isfinite(y)) or not np.all(steps):
        return None
    # the polynomial of x through these values of y, at y = 0 (Lagrange), and the rate there
    apart = np.where(np.eye(len(y), dtype=bool), 1.0, y[:, None] - y)
    at_zero = np.where(np.eye(len(y), dtype=bool), 1.0, -y)
    last = float(np.sum(x * np.prod(at_zero / apart, axis=1)))
    rate = float((above[i + 1] - above[i]) / (high - low))
    gap_last = gap(last) if low <= last <= high else np.nan
    for _ in range(_SECANTS):
        root = last - gap_last / rate
        if not low <= root <= high:
            return None
        if abs(root - last) <= _NEAR:
            return root
        gap_root = gap(root)
        if gap_root == gap_last:
            return None
        rate = (gap_root - gap_last) / (root - last)
        last, gap_last = root, gap_root
    return None
