"""Sources of uncertainty: how each is drawn, put into a check, and how far it spreads."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol, TypeVar

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.stability.check import Check
from slipmargin.strength.envelope.joint import JointStrength
from slipmargin.strength.envelope.joint_curve import JointCurve

__all__ = [
    "CorrelatedDoubt",
    "CurveDoubt",
    "Doubt",
    "FieldDoubt",
    "JointDoubt",
    "StrengthDoubt",
]

T = TypeVar("T")

Floats = NDArray[np.float64]
Change = Callable[[Check, Mapping[str, Floats | float]], Check]


class Doubt(Protocol):
    """One independent source of doubt."""

    @property
    def name(self) -> str:
        """As the reader knows it."""
        ...

    @property
    def dimensions(self) -> int:
        """Number of uniform variates one draw takes."""
        ...

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Values by field for points of the unit cube, and which of them are possible."""
        ...

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those values in it."""
        ...

    def centre(self) -> Mapping[str, float]:
        """Best estimates."""
        ...

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """One standard deviation either way along each principal direction."""
        ...

    @property
    def moments(self) -> int:
        """How many moments it has, two at most: without one no mean, without two no spread."""
        ...


@dataclass(frozen=True, slots=True)
class JointDoubt:
    """Two numbers of a fitted envelope that are drawn together; ``change`` puts them in a check."""

    name: str
    joint: JointStrength | JointCurve
    change: Change
    dimensions: int = 2

    NAMES: ClassVar[tuple[str, str]]

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Pairs, each of them a strength."""
        first, second = self.joint.draw(uniforms)
        return self._named((first, second)), np.ones(len(second), dtype=bool)

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those pairs."""
        return self.change(check, values)

    def centre(self) -> Mapping[str, float]:
        """The fitted pair."""
        return self._named(self.joint.centre)

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """Along the two directions of the joint distribution that are not correlated."""
        return [(self._named(up), self._named(down)) for up, down in self.joint.around()]

    @property
    def moments(self) -> int:
        """Those of the t distribution."""
        return self.joint.moments

    def _named(self, pair: tuple[T, T]) -> Mapping[str, T]:
        return dict(zip(self.NAMES, pair, strict=True))


class StrengthDoubt(JointDoubt):
    """The joint uncertainty in the c′ and tan φ′ of a fitted line."""

    __slots__ = ()
    NAMES = ("cohesion", "tan_friction_angle")


class CurveDoubt(JointDoubt):
    """The joint uncertainty in the coefficient and exponent of a fitted curve."""

    __slots__ = ()
    NAMES = ("coefficient", "exponent")


@dataclass(frozen=True, slots=True)
class FieldDoubt:
    """A distribution of one field: ``quantile`` takes probabilities to values."""

    name: str
    field: str
    quantile: Callable[[Floats], Floats]
    mean: float
    std: float
    change: Change
    possible: Callable[[Floats], NDArray[np.bool_]]
    dimensions: int = 1
    moments: int = 2

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Values, and which of them the field allows."""
        values = self.quantile(uniforms[:, 0])
        return {self.field: values}, self.possible(values)

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those values."""
        return self.change(check, values)

    def centre(self) -> Mapping[str, float]:
        """The mean."""
        return {self.field: self.mean}

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """One standard deviation."""
        ends = {self.field: self.mean + self.std}, {self.field: self.mean - self.std}
        return [ends] if self.std else []


@dataclass(frozen=True, slots=True)
class CorrelatedDoubt:
    """Fields whose ranks go together: a normal copula over their own distributions.

    ``factor`` is the lower triangle of the correlation matrix, in the order of ``members``.
    """

    members: tuple[FieldDoubt, ...]
    factor: Floats

    @property
    def name(self) -> str:
        """All the fields."""
        return " with ".join(member.name for member in self.members)

    @property
    def dimensions(self) -> int:
        """One a field."""
        return len(self.members)

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Values by field, and which of the draws are possible in all of them."""
        together = scipy.special.ndtr(scipy.special.ndtri(uniforms) @ self.factor.T)
        values: dict[str, Floats] = {}
        kept = np.ones(len(uniforms), dtype=bool)
        for place, member in enumerate(self.members):
            drawn, possible = member.draw(together[:, place : place + 1])
            values |= drawn
            kept &= possible
        return values, kept

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those values."""
        for member in self.members:
            check = member.apply(check, values)
        return check

    def centre(self) -> Mapping[str, float]:
        """The means."""
        return {name: value for member in self.members for name, value in member.centre().items()}

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """Columns of the factor, each field in its own standard deviations."""

        def moved(column: Floats) -> Mapping[str, float]:
            pairs = zip(self.members, column, strict=True)
            return {m.field: float(m.mean + m.std * share) for m, share in pairs}

        return [(moved(column), moved(-column)) for column in self.factor.T]

    @property
    def moments(self) -> int:
        """Least of its members."""
        return min(member.moments for member in self.members)
