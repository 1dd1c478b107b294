"""The joint uncertainty of c′ and φ′ of one fit: samples, regions, moments.

Intercept and slope of a least-squares line with ν degrees of freedom, c′ and tan φ′ where the
points lie on the sliding plane, follow a bivariate t about the true line, with the scale
matrix s² (XᵀX)⁻¹. Its two halves are strongly and negatively correlated: a line that starts
higher is flatter. Error bars taken one at a time describe a rectangle most of whose corners
the data exclude.

A drawn line with c′ < 0 is treated as the fit treats one: it is put to c′ = 0 with the slope
that least squares then gives, tan φ′ + c′ Σσ / Σσ² over the normal stresses of the tests.
Likewise a line that falls with stress is put to the level line, c′ + tan φ′ Σσ / n, and where
neither leaves a strength there is none. No draw is thrown away: to draw again until c′ >= 0
leaves the steeper lines and so makes weak data look strong.

Source: Draper & Smith, Applied Regression Analysis, on joint confidence regions; the
sampling draws distance and direction of a bivariate t (``students_t``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from slipmargin.strength.envelope.fit import EnvelopeFit
from slipmargin.strength.envelope.students_t import Bivariate, outline
from slipmargin.strength.errors import InputError, need
from slipmargin.strength.stress_plane import SLIDING_PLANE, StressPlane

__all__ = ["JointStrength"]

Floats = NDArray[np.float64]

_FLATTEST = 1e-5
"""Least slope of a drawn line: checks take angles above 0 deg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointStrength(Bivariate):
    """The distribution of the line of one fit, and so of (c′, φ′).

    Parameters
    ----------
    intercept, slope
        The line that the errors belong to [kPa, -], the centre; its intercept may lie below
        zero, where the fit reports a line through the origin.
    factor
        Lower triangle L with L Lᵀ the scale matrix; its first row is zero for a line
        through the origin.
    degrees_of_freedom
        Of the t distribution.
    slope_per_intercept
        Σσ / Σσ² over the tests [1/kPa]: what the slope loses for each kPa that a line with an
        intercept below zero is lifted.
    mean_normal
        Mean normal stress of the tests [kPa].
    through_origin
        Whether c′ = 0 was stated.
    plane
        The plane of the line. Lines are drawn there and each is carried over to c′ and φ′ by
        itself, so nothing is lost that a first-order covariance leaves out.

    Examples
    --------
    >>> import numpy as np
    >>> from slipmargin.strength import JointStrength, ShearTests, fit_envelope
    >>> tests = ShearTests.of([25.0, 50.0, 100.0, 150.0], [20.3, 35.2, 65.8, 94.9])
    >>> joint = JointStrength.of(fit_envelope(tests))
    >>> cohesion, tangent = joint.draw(np.random.default_rng(1).random((1000, 2)))
    >>> bool(np.corrcoef(cohesion, tangent)[0, 1] < -0.5)  # the two are tied
    True
    """

    intercept: float
    slope: float
    factor: Floats
    degrees_of_freedom: int
    slope_per_intercept: float
    mean_normal: float
    through_origin: bool = False
    plane: StressPlane = SLIDING_PLANE

    @classmethod
    def of(cls, fit: EnvelopeFit) -> JointStrength:
        """The distribution a fit leaves.

        Raises
        ------
        InputError
            Tests that show no scatter, or readings in forces with an intercept.
        """
        need("fit", fit, EnvelopeFit, "the fit that fit_envelope gives")
        if fit.error_std is None:
            raise InputError(
                "tests",
                f"{len(fit.tests.names)}",
                "too few tests to know the uncertainty of their line",
            )
        line, normal = fit.error_line, fit.tests.normal
        if fit.tests.unit == "N" and not line.through_origin:
            raise InputError("specimen", "none", "a cohesion in kPa needs the specimen's width")
        of_intercept, of_slope, joint = (float(v) for v in line.variance_factors)
        s = fit.error_std
        if line.through_origin:
            factor = s * np.array([[0.0, 0.0], [0.0, math.sqrt(of_slope)]])
        else:
            factor = s * np.linalg.cholesky(np.array([[of_intercept, joint], [joint, of_slope]]))
        return cls(
            intercept=float(line.intercept),
            slope=float(line.slope),
            factor=factor,
            degrees_of_freedom=fit.degrees_of_freedom,
            slope_per_intercept=float(np.sum(normal) / np.sum(normal**2)),
            mean_normal=float(np.mean(normal)),
            through_origin=line.through_origin,
            plane=fit.plane,
        )

    @property
    def centre(self) -> tuple[float, float]:
        """c′ and tan φ′ that soil allows nearest to the centre, which are the fitted ones."""
        (cohesion,), (tan,) = self.at(np.zeros((1, 2)))
        return float(cohesion), float(tan)

    @property
    def share_lifted(self) -> float:
        """Share of the draws whose c′ lies below zero and is put to zero."""
        if self.through_origin:
            return 0.0
        spread = float(self.factor[0, 0])
        if spread == 0.0:
            return float(self.intercept < 0.0)
        return float(scipy.special.stdtr(self.degrees_of_freedom, -self.intercept / spread))

    def at(self, shift: Floats) -> tuple[Floats, Floats]:
        """c′ [kPa] and tan φ′ [-] at shifts from the centre, each pair a strength."""
        moved = shift @ self.factor.T
        return self.lifted(self.intercept + moved[:, 0], self.slope + moved[:, 1])

    def pairs(self, uniforms: Floats) -> tuple[Floats, Floats]:
        """As ``draw``, with the friction angle in degrees."""
        cohesion, tan = self.draw(uniforms)
        return cohesion, np.degrees(np.arctan(tan))

    def lifted(self, intercept: Floats, slope: Floats) -> tuple[Floats, Floats]:
        """The strengths that soil allows, nearest to given lines by the least squares of the tests.

        c′ [kPa] is not below zero, and tan φ′ [-] above zero if only by a hair.
        """
        lifted = slope + intercept * self.slope_per_intercept
        from_origin = np.where(intercept < 0.0, lifted, slope)
        level = np.where(slope < 0.0, intercept + slope * self.mean_normal, intercept)
        return self._strength(np.maximum(level, 0.0), np.maximum(from_origin, _FLATTEST))

    def _strength(self, intercept: Floats, slope: Floats) -> tuple[Floats, Floats]:
        """c′ and tan φ′ of lines, none so steep that no strength has it."""
        return self.plane.strength(intercept, np.minimum(slope, self.plane.steepest_draw))

    def region(
        self, confidence: float, points: int = 180, *, single: bool = False
    ) -> tuple[Floats, Floats]:
        """Outline of the joint confidence region.

        Parameters
        ----------
        confidence
            Such as 0.95.
        points
            On the outline; a line through the origin has an interval of two.
        single
            Draw the smaller outline whose shadows on the axes are the intervals of c′ and
            slope alone; the interval of any one factor is found along it.

        Returns
        -------
        cohesion, friction_angle
            [kPa] and [deg], cut at c′ >= 0 and φ′ >= 0. Where the tests leave nothing of it
            there, the interval of two that lines through the origin have.
        """
        judged = 1 if single or self.through_origin else 2
        circle = outline(self.degrees_of_freedom, confidence, judged, points)
        lines = np.array([self.intercept, self.slope]) + circle @ self.factor.T
        if not self.through_origin:
            lines = _not_below_zero(_not_below_zero(lines, 0), 1)
        if self.through_origin or not len(lines):
            # factor[1, 1] is the standard error of a slope whose intercept is known; circle[0, 0]
            # is the radius
            middle = self.slope + min(self.intercept, 0.0) * self.slope_per_intercept
            reach = circle[0, 0] * self.factor[1, 1]
            ends = np.maximum([middle - reach, middle + reach], 0.0)
            lines = np.stack([np.zeros(2), ends], axis=1)
        cohesion, tan = self._strength(lines[:, 0], lines[:, 1])
        return cohesion, np.degrees(np.arctan(tan))


def _not_below_zero(outline: Floats, axis: int) -> Floats:
    """The part of a closed convex outline, shape (n, 2), that is not below zero in one axis."""
    outline = outline[:-1]  # its last point is its first
    ends = np.roll(outline, -1, axis=0)
    here, there = outline[:, axis], ends[:, axis]
    inside, crosses = here >= 0.0, (here >= 0.0) != (there >= 0.0)
    share = np.divide(here, here - there, out=np.zeros_like(here), where=crosses)
    crossing = outline + share[:, None] * (ends - outline)
    crossing[:, axis] = 0.0
    both = np.stack([outline, crossing], axis=1).reshape(-1, 2)
    kept = both[np.stack([inside, crosses], axis=1).ravel()]
    return np.concatenate([kept, kept[:1]])
