"""The plane on which a test shows its stresses at failure, and what a line drawn there means.

A shear box shows them on the sliding plane itself, where the line is the envelope:

    τ = c′ + σ′ tan φ′

A triaxial test shows principal stresses. On the plane of the largest shear stress, at 45° to
them, the normal stress is s′ = (σ′₁ + σ′₃)/2 and the shear stress t = (σ′₁ - σ′₃)/2, and the
same envelope is the line

    t = a + s′ sin φ′,    c′ = a / cos φ′

A line and its uncertainty are carried over both ways, the covariance to first order (the
delta method); nothing else differs between the two kinds of test.

Limits: compression only.

Source: the transformation stands in any text on soil mechanics; Das, Principles of
Geotechnical Engineering, 7th ed., sect. 12.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.pair import Numeric, Pair

__all__ = ["PLANE_OF_LARGEST_SHEAR", "SLIDING_PLANE", "TEST_KINDS", "StressPlane"]

Floats = NDArray[np.float64]

_STEEPEST_ANGLE = 85.0  # [deg] of a drawn line: this project's own; a sine of 1 has no strength


class StressPlane:
    """How points on one plane of a specimen, and a line through them, are read.

    As it stands here it is that of a shear box, where the line is the envelope.

    Attributes
    ----------
    test_kind, kind_words, of_tests
        ``direct_shear`` or ``triaxial``; where it stands beside another; before ``test`` and
        ``tests``: empty, or the kind with a space.
    normal_symbol, shear_symbol, intercept_symbol
        Of the line on this plane.
    normal_words, normal_plural, shear_words
        What the stresses are.
    angle_function
        ``atan`` or ``asin``: φ′ of a slope.
    headings
        Of the columns of a table of points.
    point_names
        Of the two stresses in JSON [kPa], beside those on the sliding plane; empty where
        they are the same.
    steepest, steepest_draw
        Slope from which no friction angle has it, and slope to which a drawn line is held.
    has_circles
        Whether the points are circles on the sliding plane: the normal stress their centres,
        the shear stress their radii.
    takes_curve, where_bent
        Whether a power curve may be fitted to the points, and what to do where they bend.
    """

    test_kind, kind_words, of_tests = "direct_shear", "shear box", ""
    normal_symbol, shear_symbol, intercept_symbol = "σ′", "τ", "c′"
    normal_words, normal_plural, shear_words = "normal stress", "normal stresses", "shear stress"
    angle_function = "atan"
    headings: tuple[str, str] = ("normal", "shear")
    point_names: tuple[str, ...] = ()
    steepest, steepest_draw = math.inf, 1e5
    has_circles, takes_curve = False, True
    where_bent = 'Consider envelope = "power".'

    def strength(self, intercept: ArrayLike, slope: ArrayLike) -> tuple[Floats, Floats]:
        """c′ [kPa] and tan φ′ [-] of a line; nan where no friction angle has its slope."""
        return np.asarray(intercept, dtype=float), np.asarray(slope, dtype=float)

    def line(self, pair: Pair) -> tuple[Numeric, Numeric]:
        """Intercept [kPa] and slope [-] on this plane of a strength."""
        return pair.cohesion, pair.tan_friction_angle

    def covariance(
        self,
        intercept: ArrayLike,  # noqa: ARG002  (the line is the envelope)
        slope: ArrayLike,  # noqa: ARG002
        covariance: tuple[ArrayLike, ArrayLike, ArrayLike],
    ) -> tuple[Floats, Floats, Floats]:
        """Variances of c′ and tan φ′, and their covariance, to first order.

        ``covariance`` holds the variance of the intercept, that of the slope, their covariance.
        """
        of_intercept, of_slope, joint = (np.asarray(part, dtype=float) for part in covariance)
        return of_intercept, of_slope, joint

    def on_sliding_plane(
        self,
        normal: ArrayLike,
        shear: ArrayLike,
        pair: Pair,  # noqa: ARG002  (they act there)
    ) -> tuple[Floats, Floats]:
        """Normal and shear stress [kPa] on the sliding plane of stresses known on this one."""
        return np.asarray(normal, dtype=float), np.asarray(shear, dtype=float)

    def envelope(self, normal: Floats, shear: Floats) -> tuple[Floats, Floats]:
        """A curve on this plane, given by points in order, as the envelope it stands for."""
        return normal, shear

    def pair(self, intercept: ArrayLike, slope: ArrayLike) -> Pair | None:
        """The strength of one line; ``None`` where the slope is no friction angle above zero."""
        if not 0.0 < float(np.asarray(slope)) < self.steepest:
            return None
        return Pair.of_tangent(*(float(one) for one in self.strength(intercept, slope)))


class _PlaneOfLargestShear(StressPlane):
    """Of a triaxial test: s′ and t, and the Mohr circle about s′ with radius t."""

    test_kind, kind_words, of_tests = "triaxial", "triaxial", "triaxial "
    normal_symbol, shear_symbol, intercept_symbol = "s′", "t", "a"
    normal_words, normal_plural = "circle centre s′", "circle centres s′"
    shear_words = "circle radius t"
    angle_function = "asin"
    headings = ("s′", "t")
    point_names = ("mean_stress_kpa", "half_deviator_stress_kpa")
    steepest, steepest_draw = 1.0, math.sin(math.radians(_STEEPEST_ANGLE))
    has_circles, takes_curve = True, False
    where_bent = "Fit the tests of the stresses that the check works at."

    def strength(self, intercept: ArrayLike, slope: ArrayLike) -> tuple[Floats, Floats]:
        sine = _sine(slope)
        cosine = np.sqrt(1.0 - sine**2)
        return np.asarray(intercept / cosine), np.asarray(sine / cosine)

    def line(self, pair: Pair) -> tuple[Numeric, Numeric]:
        cosine = 1.0 / np.hypot(1.0, pair.tan_friction_angle)
        return pair.cohesion * cosine, pair.tan_friction_angle * cosine

    def covariance(
        self,
        intercept: ArrayLike,
        slope: ArrayLike,
        covariance: tuple[ArrayLike, ArrayLike, ArrayLike],
    ) -> tuple[Floats, Floats, Floats]:
        of_intercept, of_slope, joint = (np.asarray(part, dtype=float) for part in covariance)
        sine = _sine(slope)
        cosine = np.sqrt(1.0 - sine**2)
        # dc/da = 1/cos φ′; dc/db = a sin φ′ / cos³ φ′; d tan φ′/db = 1/cos³ φ′
        by_a, by_b = 1.0 / cosine, np.asarray(intercept) * sine / cosine**3
        of_tan = 1.0 / cosine**3
        return (
            np.asarray(by_a**2 * of_intercept + 2.0 * by_a * by_b * joint + by_b**2 * of_slope),
            np.asarray(of_tan**2 * of_slope),
            np.asarray(of_tan * (by_a * joint + by_b * of_slope)),
        )

    def on_sliding_plane(
        self, normal: ArrayLike, shear: ArrayLike, pair: Pair
    ) -> tuple[Floats, Floats]:
        s, t = np.asarray(normal, dtype=float), np.asarray(shear, dtype=float)
        cosine = 1.0 / np.hypot(1.0, pair.tan_friction_angle)
        return np.asarray(s - t * pair.tan_friction_angle * cosine), np.asarray(t * cosine)

    def envelope(self, normal: Floats, shear: Floats) -> tuple[Floats, Floats]:
        # where the circles about s′ with these radii touch the curve that holds them all
        sine = np.clip(np.gradient(shear, normal), -1.0, 1.0)
        return normal - shear * sine, shear * np.sqrt(1.0 - sine**2)


def _sine(slope: ArrayLike) -> Floats:
    """Sine of φ′; nan where there is no such angle."""
    sine = np.asarray(slope, dtype=float)
    return np.where(np.abs(sine) < 1.0, sine, np.nan)


SLIDING_PLANE = StressPlane()
"""The plane of a shear box."""

PLANE_OF_LARGEST_SHEAR: StressPlane = _PlaneOfLargestShear()
"""The plane of s′ and t."""

TEST_KINDS = tuple(plane.test_kind for plane in (SLIDING_PLANE, PLANE_OF_LARGEST_SHEAR))
"""Kinds of test."""
