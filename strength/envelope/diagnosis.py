"""What a diagnosis of a fitted line says: each test's pull, the bend, a robust line."""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.strength.envelope.comparison import EnvelopeComparison
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Pair

__all__ = ["Curvature", "Diagnosis", "Influence"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """One test and its hold on the line.

    ``residual`` is its shear stress less that of the line [unit of the tests], ``leverage`` its
    share in the line's height at its own stress, 0 to 1. ``deleted_residual`` is the residual in
    standard deviations of the other tests' scatter, ``None`` without a degree of freedom to
    spare; ``without`` the pair fitted to the other tests under the same rule for the intercept,
    ``None`` where they give none.
    """

    name: str
    normal: float
    shear: float
    residual: float
    leverage: float
    deleted_residual: float | None
    without: Pair | None


@dataclass(frozen=True, slots=True)
class Curvature:
    """A quadratic term added to the line: its size [1/unit of the tests], t and p-value."""

    quadratic: float
    t: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """What the tests say about the line that was fitted to them.

    Parameters
    ----------
    influences
        One row a test, in order of normal stress.
    curvature
        ``None`` without a degree of freedom to spare.
    robust
        Theil-Sen pair; ``None`` where its slope is not above zero.
    comparison
        The line beside a power curve.
    notices
        What follows from it.
    """

    influences: tuple[Influence, ...]
    curvature: Curvature | None
    robust: Pair | None
    comparison: EnvelopeComparison
    notices: tuple[Notice, ...]
