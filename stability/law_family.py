"""Many samples of strength and of a few other fields through a critical-surface search.

For fixed geometry, water and loads one curve answers for every strength (``strength_law``).
Where other fields vary too, curves are drawn on a grid of their values, and a sample is read
from the four curves on either side of it in each direction, by Lagrange's cubic. The price
is one search a node instead of one a sample; the error is measured against direct searches
and reported with the result.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.strength_law import StrengthLaw, mean_stress
from slipmargin.stability.tangents import least_tangent
from slipmargin.strength import InputError, Numeric, Pair, Strength

__all__ = ["MOST_FIELDS", "LawFamily"]

Floats = NDArray[np.float64]

MOST_FIELDS = 3
"""With more fields the grid costs more than it saves."""

_NODES = {1: 9, 2: 7, 3: 5}
_REACH = 4  # nodes a cubic needs


@dataclass(frozen=True, slots=True)
class LawFamily:
    """Curves of one slope on a grid of other fields.

    Parameters
    ----------
    axes
        Values of each field at the nodes, rising.
    laws
        One curve a node, in the order of ``itertools.product``.
    """

    axes: tuple[Floats, ...]
    laws: tuple[StrengthLaw, ...]

    @classmethod
    def build(
        cls,
        law_at: Callable[[Sequence[float]], StrengthLaw | None],
        ranges: Sequence[tuple[float, float]],
    ) -> LawFamily | None:
        """Draw the curves; ``None`` where some node has none.

        Parameters
        ----------
        law_at
            Gives the curve for one value of each field.
        ranges
            Lowest and highest value of each field that samples will take.
        """
        count = _NODES[len(ranges)]
        axes = tuple(np.linspace(low, high, count) for low, high in ranges)
        laws = []
        for values in itertools.product(*axes):
            try:
                law = law_at([float(v) for v in values])
            except InputError:
                return None
            if law is None:
                return None
            laws.append(law)
        return cls(axes, tuple(laws))

    def factor(
        self, cohesion: Numeric, tan_friction_angle: Numeric, fields: Sequence[Floats]
    ) -> Floats:
        """Factors of safety.

        Parameters
        ----------
        cohesion, tan_friction_angle
            [kPa] and [-], shape (n,).
        fields
            Values of the other fields, each of shape (n,); beyond the grid they are held at
            its edge.
        """
        shape = np.broadcast_shapes(np.shape(cohesion), np.shape(tan_friction_angle))
        n = max([int(np.prod(shape)), *(np.size(f) for f in fields)])
        c = np.broadcast_to(cohesion, (n,))
        tan = np.broadcast_to(tan_friction_angle, (n,))
        starts, weights = zip(
            *(
                _cubic(axis, np.broadcast_to(f, (n,)))
                for axis, f in zip(self.axes, fields, strict=True)
            ),
            strict=True,
        )
        counts = [axis.size for axis in self.axes]
        out = np.zeros(n)
        for place, node in enumerate(itertools.product(*(range(count) for count in counts))):
            offsets = [index - start for index, start in zip(node, starts, strict=True)]
            near = np.ones(n, dtype=bool)
            for offset in offsets:
                near &= (offset >= 0) & (offset < _REACH)
            members = np.flatnonzero(near)
            if not members.size:
                continue
            weight = np.ones(members.size)
            for offset, share in zip(offsets, weights, strict=True):
                weight *= share[members, offset[members]]
            out[members] += weight * self.laws[place].factor(c[members], tan[members])
        return np.maximum(out, 0.0)

    def factor_of(self, strength: Strength, fields: Sequence[Floats]) -> Numeric:
        """Factors of strengths, along their envelopes where these are curved.

        Parameters
        ----------
        strength
            Scalars or arrays of shape (n,).
        fields
            As for ``factor``.
        """
        if strength.curve is None:
            return self.factor(strength.cohesion, strength.tan_friction_angle, fields)

        def factor(cohesion: Numeric, tan_friction_angle: Numeric) -> Floats:
            return self.factor(cohesion, tan_friction_angle, fields)

        def of_line(pair: Pair) -> tuple[Numeric, Numeric]:
            held = pair.cohesion, pair.tan_friction_angle
            return factor(*held), mean_stress(factor, *held, self.laws[0].scale)

        return least_tangent(strength.curve, of_line)


def _cubic(axis: Floats, values: Floats) -> tuple[NDArray[np.intp], Floats]:
    """First of the four nodes about each value, and their Lagrange weights, shape (n, 4)."""
    step = axis[1] - axis[0]
    position = np.clip((values - axis[0]) / step, 0.0, axis.size - 1.0)
    start = np.clip(position.astype(np.intp) - 1, 0, axis.size - _REACH)
    x = position - start
    weights = np.stack(
        [
            -(x - 1.0) * (x - 2.0) * (x - 3.0) / 6.0,
            x * (x - 2.0) * (x - 3.0) / 2.0,
            -x * (x - 1.0) * (x - 3.0) / 2.0,
            x * (x - 1.0) * (x - 2.0) / 6.0,
        ],
        axis=1,
    )
    return start, weights
