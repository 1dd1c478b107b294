"""A fitted envelope: the line or curve, what is known of it, and the strength it gives."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.envelope.power_curve import Parameter, PowerCurve
from slipmargin.strength.envelope.strength import Strength
from slipmargin.strength.errors import InputError, need_one_of
from slipmargin.strength.laboratory.shear_tests import ShearTests
from slipmargin.strength.line import Line, student_t
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Numeric, Pair
from slipmargin.strength.short_table import ShortTable, shown
from slipmargin.strength.stress_plane import StressPlane

__all__ = ["TRAVELLING", "FittedEnvelope", "Interpretation", "Interval", "fit_table"]

Floats = NDArray[np.float64]

TRAVELLING = frozenset(
    {
        "two-tests",
        "one-test",
        "few-tests",
        "tested-range-unknown",
        "curved-envelope-used",
        "power-exponent-above-one",
        "rare-value",
        "lever-or-constant-forgotten",
        "dial-zero-not-given",
        "pore-pressure-not-given",
        "tested-too-fast",
        "drainage-not-shown",
        "no-peak-before-the-end",
        "still-falling",
        "still-rising",
        "residual-still-falling",
        "short-travel",
        "end-of-test-above-critical-state",
    }
)
"""Notices of a fit and its tests that follow its strength into every check."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Two-sided limits at one confidence; cohesion is ``None`` where it was not fitted."""

    confidence: float
    cohesion: tuple[float, float] | None
    friction_angle: tuple[float, float]


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

    def __str__(self) -> str:
        pair = f"c′ = {self.cohesion:.1f} kPa, φ′ = {self.friction_angle:.1f} deg"
        return f"{self.name}: {pair}" + (f" ({self.note})" if self.note else "")

    @property
    def strength(self) -> Strength | Pair:
        """What a check takes of it: the curve where there is one, else the pair."""
        return Pair(self.cohesion, self.friction_angle) if self.curve is None else self.curve


@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class FittedEnvelope:
    """An envelope and its uncertainty, as it is drawn and worked; see ``EnvelopeFit``.

    All figures are of the straight line, except ``curve`` and ``cautious_curve``. The lines,
    residuals and standard deviations stand on the plane of the points, ``tests.plane``; pairs,
    limits and standard errors are those of c′ and φ′.

    Parameters
    ----------
    tests
        The points it was fitted to.
    intercept
        How the intercept was treated; ``through_origin`` tells what came of it.
    line, error_line
        The line reported, and the line that errors, limits and cautious value belong to:
        another one only where a free intercept below zero was put to zero.
    best_fit, cautious
        Pairs; ``cautious`` is ``None`` where the tests cannot give one.
    standard_error_cohesion, standard_error_tan, correlation
        Of ``error_line``; ``None`` where the tests cannot tell.
    interval
        Two-sided Student-t limits, or ``None``.
    residual_std
        Of the points about ``error_line`` [unit of the tests], ``None`` without scatter.
    error_std
        Standard deviation the errors rest on: the largest of that of the residuals, of the
        reading bands, and of the means of repeated readings.
    envelope, curve, cautious_curve
        ``line`` or ``power``, and the power curves; ``None`` for a line, and the cautious
        one where the tests cannot give it.
    """

    tests: ShearTests
    intercept: str
    confidence: float
    through_origin: bool
    line: Line
    error_line: Line
    best_fit: Pair
    cautious: Pair | None
    standard_error_cohesion: float | None
    standard_error_tan: float | None
    correlation: float | None
    interval: Interval | None
    residual_std: float | None
    error_std: float | None
    r_squared: float
    notices: tuple[Notice, ...]
    envelope: str = "line"
    curve: PowerCurve | None = None
    cautious_curve: PowerCurve | None = None

    @property
    def cohesion_assumed(self) -> bool:
        """Whether c′ = 0 was stated beforehand and not found."""
        return self.intercept == "zero"

    @property
    def origin_words(self) -> str:
        """How the line came to start at the origin, to follow other words; empty if not."""
        if self.cohesion_assumed:
            return ", c′ = 0 assumed"
        return ", line through the origin" if self.through_origin else ""

    @property
    def degrees_of_freedom(self) -> int:
        """Tests less the number of parameters of ``error_line``."""
        return self.error_line.degrees_of_freedom

    @property
    def normal_range(self) -> tuple[float, float]:
        """Lowest and highest normal stress tested, on the sliding plane [unit of the tests]."""
        normal, _ = self.on_sliding_plane
        return float(normal.min()), float(normal.max())

    @property
    def plane(self) -> StressPlane:
        """The plane of the points and of the lines through them."""
        return self.tests.plane

    @property
    def on_sliding_plane(self) -> tuple[Floats, Floats]:
        """Normal and shear stress of the tests on the sliding plane [unit of the tests]."""
        tests = self.tests
        return tests.plane.on_sliding_plane(tests.normal, tests.shear, self.best_fit)

    @property
    def standard_error_friction_angle(self) -> float | None:
        """Standard error of φ′ [deg], to first order; ``None`` where the tests cannot tell."""
        if self.standard_error_tan is None:
            return None
        tan = float(self.best_fit.tan_friction_angle)
        return math.degrees(self.standard_error_tan / (1.0 + tan**2))

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """What is known of A and n of a curve, and of c′ and φ′."""
        unit = self.tests.unit
        cohesion = "cohesion c′" if unit == "kPa" else "intercept"
        error, assumed = self.standard_error_friction_angle, self.cohesion_assumed
        curve = self.curve
        of_curve = () if curve is None else curve.parameters(self.confidence, self.cautious_curve)
        return of_curve + tuple(
            Parameter(
                name,
                of,
                getattr(self.best_fit, half),
                standard_error,
                getattr(self.interval, half, None),
                getattr(self.cautious, half, None),
                stated,
            )
            for half, name, of, standard_error, stated in (
                ("cohesion", cohesion, unit, self.standard_error_cohesion, assumed),
                ("friction_angle", "friction angle φ′", "deg", error, False),
            )
        )

    @property
    def of_tests(self) -> str:
        """How many tests it rests on, and of what kind."""
        count = len(self.tests.names)
        return f"{count} {self.plane.of_tests}test{'' if count == 1 else 's'}"

    def residual(self, test: int) -> float:
        """How far a test lies above the envelope, line or curve [unit of the tests]."""
        if self.curve is None:
            return float(self.line.residuals[test])
        at = float(self.tests.normal[test])
        return float(self.tests.shear[test] - self.curve.shear_strength(at))

    def mean_limits(self, normal_stress: Numeric) -> tuple[Numeric, Numeric] | None:
        """Two-sided limits of the mean line at a normal stress, both on ``plane``.

        They are those of ``error_line``; ``None`` where the tests cannot tell.
        """
        if self.error_std is None:
            return None
        t = student_t((1.0 + self.confidence) / 2.0, self.degrees_of_freedom)
        margin = t * self.error_line.standard_error(normal_stress, self.error_std**2)
        height = self.error_line.value(normal_stress)
        return height - margin, height + margin

    def strength(self, value: str = "best_fit") -> Strength:
        """The strength a check may use, along the line or the curve as it was asked for.

        That is the ``best_fit``, which brings the cautious value with it where there is one, or
        the ``cautious`` value.

        Raises
        ------
        InputError
            A cautious value the tests cannot give, a negative cohesion, or an intercept
            that is only known as a force.
        """
        found = replace(self._strength(value), value=value)
        if value != "best_fit":
            return found
        try:
            return replace(found, cautious=self.strength("cautious"))
        except InputError:
            return found

    def _strength(self, value: str) -> Strength:
        need_one_of("value", value, ("best_fit", "cautious"))
        caveats = tuple(n for n in self.notices if n.code in TRAVELLING)
        best, curved = value == "best_fit", self.curve is not None
        pair, curve = (self.best_fit, self.curve) if best else (self.cautious, self.cautious_curve)
        if curved and curve is not None:
            return Strength.from_curve(curve, caveats)
        if curved or pair is None:
            raise InputError(
                "value",
                "cautious",
                f"{len(self.tests.names)} tests do not give a usable lower limit; use best_fit "
                "or add tests",
            )
        if self.tests.unit == "N" and pair.cohesion != 0.0:
            raise InputError(
                "specimen",
                "none",
                "the readings are forces, and a cohesion in kPa needs the specimen's width or "
                'diameter (or set intercept = "zero")',
            )
        if pair.cohesion < 0.0:
            raise InputError(
                "intercept",
                "free",
                f"it gives a negative cohesion, {pair.cohesion:.2f} kPa, which no check accepts; "
                "use non_negative or zero",
            )
        tested_range = self.normal_range if self.tests.unit == "kPa" else None
        return Strength.of_pair(pair, tested_range=tested_range, caveats=caveats)

    def __repr__(self) -> str:
        return fit_table(self, self.notices).text()

    def _repr_html_(self) -> str:
        """The line, its uncertainty and the notices, for a notebook."""
        return fit_table(self, self.notices).html()


def fit_table(fit: FittedEnvelope, notices: tuple[Notice, ...]) -> ShortTable:
    """The line and its uncertainty, with the notices that go with it."""
    rows = [
        (
            one.name,
            shown(one.best_fit, one.unit),
            shown(one.standard_error, one.unit),
            "assumed" if one.assumed else _limits(one.limits, one.unit),
            shown(one.cautious, one.unit),
            one.unit,
        )
        for one in fit.parameters
    ]
    tan = shown(fit.best_fit.tan_friction_angle), shown(fit.standard_error_tan)
    return ShortTable(
        title=f"Strength {'curve and ' if fit.curve else ''}line from {fit.of_tests}, "
        + fit.tests.state.replace("_", " ")
        + fit.origin_words,
        header=("", "best fit", "std. error", f"{fit.confidence:.0%} limits", "cautious", "unit"),
        rows=[*rows, ("tan φ′", *tan, "-", "-", "")],
        notices=notices,
    )


def _limits(limits: tuple[float, float] | None, unit: str) -> str:
    return "-" if limits is None else f"{shown(limits[0], unit)} to {shown(limits[1], unit)}"
