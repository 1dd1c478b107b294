"""Sources of uncertainty: how each is drawn, put into a check, and how far it spreads."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from slipmargin.stability.check import Check
from slipmargin.strength.envelope.joint import JointStrength
from slipmargin.strength.envelope.joint_curve import JointCurve

__all__ = ["CorrelatedDoubt", "CurveDoubt", "Doubt", "FieldDoubt", "StrengthDoubt"]

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
class StrengthDoubt:
    """The joint doubt in a fitted strength; ``change`` puts c′ and tan φ′ in a check."""

    name: str
    joint: JointStrength
    change: Change
    dimensions: int = 3

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """c′ and tan φ′, each pair a strength."""
        c, tan = self.joint.draw(uniforms)
        return {"cohesion": c, "tan_friction_angle": tan}, np.ones(len(c), dtype=bool)

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those pairs."""
        return self.change(check, values)

    def centre(self) -> Mapping[str, float]:
        """The fitted pair."""
        return self._values(self.joint.centre)

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """Along the columns of the factor of the covariance (of the scale without one)."""
        return [(self._values(up), self._values(down)) for up, down in self.joint.around()]

    @property
    def moments(self) -> int:
        """Those of the t distribution."""
        return self.joint.moments

    @staticmethod
    def _values(pair: tuple[float, float]) -> Mapping[str, float]:
        return {"cohesion": pair[0], "tan_friction_angle": pair[1]}


@dataclass(frozen=True, slots=True)
class CurveDoubt:
    """The joint doubt in a fitted curve; ``change`` puts coefficient and exponent in a check."""

    name: str
    joint: JointCurve
    change: Change
    dimensions: int = 3

    def draw(self, uniforms: Floats) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Coefficients and exponents, each pair a strength."""
        coefficient, exponent = self.joint.draw(uniforms)
        return {"coefficient": coefficient, "exponent": exponent}, np.ones(
            len(exponent), dtype=bool
        )

    def apply(self, check: Check, values: Mapping[str, Floats | float]) -> Check:
        """The check with those curves."""
        return self.change(check, values)

    def centre(self) -> Mapping[str, float]:
        """The fitted curve."""
        return self._values(self.joint.centre)

    def around(self) -> Sequence[tuple[Mapping[str, float], Mapping[str, float]]]:
        """In height and in exponent, which are not correlated."""
        return [(self._values(up), self._values(down)) for up, down in self.joint.around()]

    @property
    def moments(self) -> int:
        """Those of the t distribution."""
        return self.joint.moments

    @staticmethod
    def _values(pair: tuple[float, float]) -> Mapping[str, float]:
        return {"coefficient": pair[0], "exponent": pair[1]}


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
        together = ndtr(ndtri(uniforms) @ self.factor.T)
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
