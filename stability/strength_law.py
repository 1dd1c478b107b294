"""How a factor of safety depends on c′ and φ′ when everything else is fixed.

Let geometry, water and loads be fixed, and let a mechanism resist with c′ R + (tan φ′) N
against a drive D, none of which knows the strength. Its factor (c′ R + tan φ′ N) / D is
homogeneous of degree one in (c′, tan φ′), and so is the minimum over all mechanisms. With
strength reduction the mechanism may depend on tan φ′ / F, but c′ / F and tan φ′ / F still
decide together whether it moves, so the factor is homogeneous again. Hence, for any scale
s [kPa],

    F = (c′ + s tan φ′) G(t),    t = c′ / (c′ + s tan φ′),    0 <= t <= 1

with G a curve of one variable: the law covers φ′ = 0 (t = 1) and c′ = 0 (t = 0) alike. On a
plane G is a minimum of straight lines in t, hence concave. Near t = 0 the critical surface
closes up to the face and G grows with √t, which is why √t is the variable to interpolate in.

A million strengths through a critical-surface search therefore cost one curve and one
interpolation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import Numeric

__all__ = ["StrengthLaw", "mean_stress"]

_SMALL = 1e-6
_CHUNK = 1 << 15  # stays in the processor's cache, and keeps memory flat


@dataclass(frozen=True, slots=True)
class StrengthLaw:
    """The curve G of one slope, on nodes equally spaced in √t from 0 to 1.

    Parameters
    ----------
    scale
        The stress s [kPa]; γH is a good choice.
    value
        G at the nodes [1/kPa].
    slope
        dG/d√t at the nodes [1/kPa].
    """

    scale: float
    value: NDArray[np.float64]
    slope: NDArray[np.float64]

    @staticmethod
    def nodes(count: int) -> NDArray[np.float64]:
        """The values of t at which G is wanted for ``count`` nodes."""
        return np.linspace(0.0, 1.0, count) ** 2

    def factor(self, cohesion: Numeric, tan_friction_angle: Numeric) -> NDArray[np.float64]:
        """Factor of safety for cohesion [kPa] and tan φ′ [-], of any shape.

        Cubic Hermite interpolation between nodes.
        """
        c, tan = np.broadcast_arrays(
            np.asarray(cohesion, dtype=float), np.asarray(tan_friction_angle, dtype=float)
        )
        out = np.empty(c.shape)
        flat_c, flat_tan, flat_out = c.reshape(-1), tan.reshape(-1), out.reshape(-1)
        for start in range(0, flat_out.size, _CHUNK):
            part = slice(start, start + _CHUNK)
            flat_out[part] = self._factor(flat_c[part], flat_tan[part])
        return out

    def _factor(
        self, cohesion: NDArray[np.float64], tan_friction_angle: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        last = self.value.size - 1
        combined = cohesion + self.scale * tan_friction_angle
        with np.errstate(divide="ignore", invalid="ignore"):
            position = np.sqrt(np.where(combined > 0.0, cohesion / combined, 0.0)) * last
        index = np.minimum(position.astype(np.intp), last - 1)
        x = position - index
        y = 1.0 - x
        g0, g1 = self.value[index], self.value[index + 1]
        s0, s1 = self.slope[index] / last, self.slope[index + 1] / last
        curve = (g0 * (1.0 + 2.0 * x) + s0 * x) * y * y + (g1 * (1.0 + 2.0 * y) - s1 * y) * x * x
        result: NDArray[np.float64] = combined * curve
        return result


def mean_stress(
    factor: Callable[[Numeric, Numeric], NDArray[np.float64]],
    cohesion: Numeric,
    tan_friction_angle: Numeric,
    scale: float,
) -> NDArray[np.float64]:
    """Mean effective normal stress [kPa] on the critical surface of each strength.

    It is (∂F/∂ tan φ′) / (∂F/∂c′); what friction gives follows from Euler's theorem on
    homogeneous functions. nan without friction.

    Parameters
    ----------
    factor
        Factor of cohesion [kPa] and tan φ′ [-].
    cohesion, tan_friction_angle
        [kPa] and [-].
    scale
        A stress of the slope [kPa], such as γH.
    """
    c, tan = np.asarray(cohesion, dtype=float), np.asarray(tan_friction_angle, dtype=float)
    step = _SMALL * (c + scale * tan)
    held = factor(c, tan)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = (factor(c + step, tan) - held) / step  # nan without any strength
        return np.where(tan > 0.0, (held - c * rate) / (tan * rate), np.nan)
