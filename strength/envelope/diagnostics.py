"""Diagnostics of a fitted line that change decisions.

With r the residuals, h the leverages, p the fitted parameters and n the tests,

    s₍ᵢ₎² = (Σ r² - rᵢ² / (1 - hᵢ)) / (n - p - 1),   tᵢ = rᵢ / (s₍ᵢ₎ √(1 - hᵢ))

is the deleted (externally studentised) residual: the test judged by the scatter of the
others. Over the tests it follows Student's t with n - p - 1 degrees of freedom; the largest
is held to the Bonferroni limit. Curvature is the t-test of a quadratic term added to the
line. All of it is about the line, also where the strength is a power curve.

Sources: Cook & Weisberg (1982), Residuals and Influence in Regression, for deleted
residuals and their limit; Hoaglin & Welsch (1978), Am. Statistician 32(1), for leverage
above 2 p / n; Theil (1950), Sen (1968) for the robust line. Thresholds marked as this
project's own are conventions, not findings.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.envelope.comparison import compare_envelopes
from slipmargin.strength.envelope.diagnosis import Curvature, Diagnosis, Influence
from slipmargin.strength.envelope.diagnostic_notices import diagnostic_notices
from slipmargin.strength.envelope.fit import EnvelopeFit
from slipmargin.strength.errors import need
from slipmargin.strength.laboratory.soil_class import soil_class as published_class
from slipmargin.strength.line import Line, fit_line
from slipmargin.strength.pair import Pair
from slipmargin.strength.stress_plane import SLIDING_PLANE, StressPlane

__all__ = ["Curvature", "Diagnosis", "Influence", "diagnose", "theil_sen"]

Floats = NDArray[np.float64]


def diagnose(fit: EnvelopeFit, soil_class: str | None = None) -> Diagnosis:
    """Diagnose the line of a fit.

    Parameters
    ----------
    fit
        The fit.
    soil_class
        USCS symbol of the described soil, to hold the values against published ranges.

    Raises
    ------
    InputError
        A symbol that is not known.
    """
    need("fit", fit, EnvelopeFit, "the fit that fit_envelope gives")
    tests = fit.tests
    published = None if soil_class is None else published_class(soil_class)
    x, y, origin, plane = tests.normal, tests.shear, fit.through_origin, tests.plane
    found = Diagnosis(
        influences=_influences(fit),
        curvature=_curvature(fit.line, x),
        robust=theil_sen(x, y, through_origin=origin, plane=plane),
        comparison=compare_envelopes(x, y, through_origin=origin, curve=plane.takes_curve),
        notices=(),
    )
    return replace(found, notices=diagnostic_notices(fit, found, published))


def theil_sen(
    normal_stress: ArrayLike,
    shear_stress: ArrayLike,
    *,
    through_origin: bool = False,
    plane: StressPlane = SLIDING_PLANE,
) -> Pair | None:
    """Robust line: the median of the slopes between all pairs of tests.

    The intercept makes the median residual zero. Through the origin, the slope is the
    median ratio of shear to normal stress. ``None`` where no slope exists or it is not
    above zero. The stresses act on ``plane``.
    """
    normal = np.asarray(normal_stress, dtype=float)
    shear = np.asarray(shear_stress, dtype=float)
    if through_origin:
        loaded = normal > 0.0
        if not loaded.any():
            return None
        intercept, slope = 0.0, float(np.median(shear[loaded] / normal[loaded]))
    elif np.ptp(normal) > 0.0:
        run = normal[:, np.newaxis] - normal
        rise = shear[:, np.newaxis] - shear
        slope = float(np.median(rise[run > 0.0] / run[run > 0.0]))
        intercept = float(np.median(shear - slope * normal))
    else:
        return None
    return plane.pair(intercept, slope)


def _influences(fit: EnvelopeFit) -> tuple[Influence, ...]:
    tests, line = fit.tests, fit.line
    leverage = line.leverage(tests.normal)
    deleted = _deleted_residuals(line, leverage)
    without = _without_each(fit)
    return tuple(
        Influence(
            name=name,
            normal=float(tests.normal[i]),
            shear=float(tests.shear[i]),
            residual=float(line.residuals[i]),
            leverage=float(leverage[i]),
            deleted_residual=float(deleted[i]) if math.isfinite(deleted[i]) else None,
            without=without[i],
        )
        for i, name in enumerate(tests.names)
    )


def _deleted_residuals(line: Line, leverage: Floats) -> Floats:
    spare = line.degrees_of_freedom - 1
    if spare < 1:
        return np.full(leverage.shape, np.nan)
    squares = float(line.residual_variance) * line.degrees_of_freedom
    free = np.where(leverage < 1.0 - 1e-12, 1.0 - leverage, np.nan)
    # rounding leaves a little where the other tests lie on one line
    others = np.maximum(squares - line.residuals**2 / free, 1e-24 * squares)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(line.residuals / np.sqrt(others / spare * free))


def _without_each(fit: EnvelopeFit) -> list[Pair | None]:
    """The pair without each test in turn, all in one call."""
    tests, count = fit.tests, len(fit.tests.names)
    fewest = 1 if fit.intercept == "zero" else 2
    if count - 1 < fewest:
        return [None] * count
    kept = np.array([[j for j in range(count) if j != i] for i in range(count)])
    normal, shear = tests.normal[kept], tests.shear[kept]
    line = fit_line(normal, shear, intercept=fit.intercept != "zero")
    intercept, slope = line.intercept, line.slope
    if fit.intercept == "non_negative":
        refitted = intercept < 0.0
        slope = np.where(refitted, fit_line(normal, shear, intercept=False).slope, slope)
        intercept = np.where(refitted, 0.0, intercept)
    return [tests.plane.pair(a, b) for a, b in zip(intercept, slope, strict=True)]


def _curvature(line: Line, normal: Floats) -> Curvature | None:
    """The t-test of a quadratic term, by the part of x² that the line cannot follow."""
    spare = line.degrees_of_freedom - 1
    if spare < 1:
        return None
    scale = float(np.max(np.abs(normal)))
    square = (normal / scale) ** 2
    bend = fit_line(normal, square, intercept=not line.through_origin).residuals
    length = float(np.sum(bend**2))
    if length < 1e-20:
        return None  # two stresses only
    taken = float(np.sum(bend * line.residuals)) ** 2 / length
    squares = float(line.residual_variance) * line.degrees_of_freedom
    quadratic = float(np.sum(bend * line.residuals)) / length
    left = max(squares - taken, 1e-24 * squares)
    if left == 0.0:
        return None  # the points lie on the line
    t = quadratic / math.sqrt(left / spare / length)
    return Curvature(quadratic / scale**2, t, float(2.0 * scipy.special.stdtr(spare, -abs(t))))
